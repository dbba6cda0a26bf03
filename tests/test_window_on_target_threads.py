"""A tightening window names the threads that it is on, sets the target against its ends and not a torque found on other threads.

Where the gasket stays no tight nut is loosened: no window is told that only loosened nuts could reach.
"""

from __future__ import annotations

import html
import json
import math
import re

import pytest
from click.testing import CliRunner

from anchorsize.assessment import assess
from anchorsize.casefile import parse_case
from anchorsize.cli import main
from anchorsize.studies.lost_window import lost_window
from anchorsize.studies.torque import window

NAME = "header flange"
TIGHT = (
    "torque: 150 N*m, nut_factor: 0.2, lubricant: dry, scatter: 30 %, relaxation: 10 %, target_torque: 120 N*m, "
    "target_nut_factor: 0.11, target_lubricant: molybdenum paste"
)
# Invented: an elbow on an irrigation header, found dry and to be tightened anew with paste, bolt 7 gone.
NEW = f"""
case_file: 1
title: Irrigation header, elbow to the pond, bolt 7 missing (invented)
units: metric
up: [0, 0, 1]
fluid: {{name: water, temperature: 15 degC}}
fitting:
  shape:
    start: [0, 0, 0 m]
    direction: [1, 0, 0]
    bore: 207 mm
    wall: 6.3 mm
    material_density: 7850 kg/m^3
    kind: elbow
    turn: 45 deg
    toward: [0, 0, -1]
    radius: 305 mm
    before: 60 mm
    after: 60 mm
joints:
  {NAME}:
    at: inlet
    reference: [0, 0, 1]
    bolts: {{count: 12, size: M20, circle: 295 mm, first_at: 0 deg, missing: [7], class: "8.8"}}
    gasket: {{inside: 220 mm, outside: 273 mm, thickness: 2 mm, modulus: 400 MPa, m: 2, y: 11 MPa, condition: new}}
    flange: {{outside: 340 mm, thickness: 24 mm, hole: 22 mm, rating: 16 bar}}
    tightening: {{{TIGHT}}}
    grip: 50 mm
    bolt_modulus: 205 GPa
    face_friction: 0.15
allow:
  bolt_tension: 140 MPa
  bolt_shear: 85 MPa
  tension_with_shear: en_1993_1_8
  gasket_pressure_greatest: 60 MPa
cases:
  flowing:
    throttled: true
    inlet: {{flow_in: 50 L/s, pressure: 0.4 bar}}
    outlet: free_jet
  drained:
    contents: empty
    inlet: {{flow_in: 0 L/s, pressure: 0 bar}}
    outlet: free_jet
"""
IN_PLACE = NEW.replace("condition: new", "condition: in_place")
NOT_SAID = NEW.replace(", condition: new", "")
REVERSE = IN_PLACE.replace("torque: 150 N*m, nut_factor: 0.2,", "torque: 200 N*m, nut_factor: 0.11,").replace(
    "target_torque: 120 N*m, target_nut_factor: 0.11", "target_torque: 220 N*m, target_nut_factor: 0.2"
)
OWN = "target_torque: {all: 160 N*m, 7: 90 N*m}, target_nut_factor: {all: 0.2, 7: 0.11}"
ONE_NEW = IN_PLACE.replace("target_torque: 120 N*m, target_nut_factor: 0.11", OWN)
# by hand: b = 0.5 √b0 in inches, b0 half the contact of 26.5 mm (over 1/4 in); reaction diameter G = 273 mm − 2b
B = 0.5 * math.sqrt(0.01325 / 0.0254) * 0.0254
SEATING = math.pi * B * (0.273 - 2.0 * B) * 11e6  # N, the whole ring
LEAST, GREATEST, D = 0.7 * 0.9, 1.3, 0.020  # least and greatest share of the mean preload, bolt diameter [m]


def with_target(target, text=NEW):
    return text.replace("target_torque: 120 N*m, target_nut_factor: 0.11", target)


def of(text):
    return window(parse_case(text, "t"), NAME)


def run(tmp_path, text, *words):
    path = tmp_path / "case.yaml"
    path.write_text(text, encoding="utf-8")
    return CliRunner().invoke(main, [words[0], str(path), *words[1:]])


def section(tmp_path, text, *words):
    """The section on the tightening that would do, one line of text for each sentence."""
    said = run(tmp_path, text, "check", *words).stdout.split("Tightening that would do\n")[1].split("\n\n")[0]
    return [" ".join(line.split()) for line in re.split(r"\n\s+- ", f"\n{said}")[1:]]


def ends(text):
    found = of(text)
    return found.torque * found.least, found.torque * found.greatest


def test_the_ends_are_torques_on_the_threads_of_the_target():
    # 11 bolts seat the ring: T = K D F, with the least preload of all; on the threads found it would take 0.2 / 0.11 as much
    least, greatest = ends(NEW)
    assert least == pytest.approx(SEATING / (11 * LEAST) * 0.11 * D, rel=1e-9)
    assert least == pytest.approx(25.63, abs=0.005)  # as who tried it worked out too
    found_least, found_greatest = ends(NEW.replace(TIGHT, TIGHT.split(", target_torque")[0]))
    assert found_least == pytest.approx(SEATING / (11 * LEAST) * 0.2 * D, rel=1e-9)
    assert (least / found_least, greatest / found_greatest) == pytest.approx((0.55, 0.55), rel=1e-6)


def test_the_upper_end_crushes_an_even_ring():
    text = NEW.replace(", missing: [7]", "")
    area = math.pi / 4.0 * (0.273**2 - 0.220**2)
    crushing = 60e6 * area / (12 * GREATEST) * 0.11 * D
    moment = 60.0  # N·m, over what the empty elbow of 12 kg bends the joint with: its weight 0.3 m out at most
    inertia = math.pi / 64.0 * (0.273**4 - 0.220**4)
    assert 1.0 - moment * 0.1365 / inertia / 60e6 < ends(text)[1] / crushing <= 1.0


@pytest.mark.parametrize(
    ("target", "lies"),
    [
        ("120 N*m", "target: 120.0 N·m, which is within;"),
        ("20 N*m", "target: 20.00 N·m, which is TOO LITTLE;"),
        ("26 N*m", "target: 26.00 N·m, which is CLOSE, only 1.5% over the least;"),  # 26 / 25.63 − 1
        ("200 N*m", "target: 200.0 N·m, which is TOO MUCH;"),
        ("900 N*m", "target: 900.0 N·m, which is TOO MUCH;"),  # over the tensile strength of the bolts
    ],
)
@pytest.mark.parametrize(("found", "shown"), [("40", "40.00"), ("150", "150.0"), ("200", "200.0")])
def test_the_target_is_set_against_the_window_and_what_was_found_is_not(target, lies, found, shown, tmp_path):
    text = with_target(f"target_torque: {target}, target_nut_factor: 0.11").replace(
        "torque: 150 N*m, nut", f"torque: {found} N*m, nut"
    )
    told = section(tmp_path, text)[0]
    assert "the same torque on every bolt from 25.63 N·m (gasket seating in 'flowing')" in told
    assert "; on the threads of the target, K = 0.11 (found: K = 0.2);" in told
    assert lies in told
    assert told.endswith(f"found: {shown} N·m at K = 0.2, on other threads: NO MEASURE for this window")
    assert "given:" not in told


def test_the_window_once_repaired_names_its_threads_too(tmp_path):
    told = section(tmp_path, NEW)[1]
    assert f"once repaired: torque from {SEATING / (12 * LEAST) * 0.11 * D:.2f} N·m" in told
    assert told.endswith(
        "; on the threads of the target, K = 0.11; scatter and loss included; target: 120.0 N·m, which is within"
    )


@pytest.mark.parametrize(
    ("target", "words"),
    [
        ("target_torque: 120 N*m", "; scatter and loss included; given: 150.0 N·m"),
        ("target_torque: 120 N*m, target_nut_factor: 0.2", "; scatter and loss included; given: 150.0 N·m"),
    ],
)
def test_without_other_threads_what_was_found_is_the_measure(target, words, tmp_path):
    told = section(tmp_path, with_target(target).replace(", target_lubricant: molybdenum paste", ""))[0]
    assert told.endswith(words)
    assert "threads" not in told


def test_another_scatter_is_named_and_moves_the_ends(tmp_path):
    text = with_target("target_torque: 150 N*m, target_scatter: 10 %")
    told = section(tmp_path, text)[0]
    assert ends(text)[0] == pytest.approx(SEATING / (11 * 0.9 * 0.9) * 0.2 * D, rel=1e-9)
    assert "; with the scatter of the target, ±10% (found: ±30%);" in told
    assert told.endswith("found: 150.0 N·m with a scatter of ±30%: NO MEASURE for this window")


def test_bolts_of_several_frictions_are_named_with_theirs(tmp_path):
    loose = with_target(
        "target_torque: {all: 160 N*m, 3: 90 N*m}, target_nut_factor: {all: 0.2, 3: 0.11}",
        IN_PLACE.replace("torque: 150 N*m, nut", "torque: {all: 150 N*m, 3: 0 N*m}, nut").replace(", missing: [7]", ""),
    )
    told = section(tmp_path, loose)[0]
    assert "; on the threads of the target, K = 0.11 on bolt 3, 0.2 on the other bolts (found: K = 0.2);" in told


def test_machine_output_has_threads_and_target_beside_the_ends(tmp_path):
    data = json.loads(run(tmp_path, NEW, "check", "--json").stdout)["tightening"][NAME]
    there = [1, 2, 3, 4, 5, 6, 8, 9, 10, 11, 12]
    assert data["torque_least_Nm"] == pytest.approx(SEATING / (11 * LEAST) * 0.11 * D, rel=1e-6)
    assert (data["on_target_threads"], data["target_torque_Nm"], data["target_within"]) == (True, [120.0, 120.0], True)
    assert data["nut_factors"] == [{"nut_factor": 0.11, "bolts": there}]
    assert data["found_nut_factors"] == [{"nut_factor": 0.2, "bolts": there}]
    assert (data["scatter"], data["found_scatter"], data["refused"]) == (0.3, 0.3, None)
    plain = json.loads(run(tmp_path, with_target("target_torque: 120 N*m"), "check", "--json").stdout)
    known = plain["tightening"][NAME]
    assert (known["on_target_threads"], known["target_torque_Nm"], known["target_within"]) == (False, None, None)


def test_where_the_gasket_stays_no_window_is_told_that_only_loosened_nuts_reach(tmp_path):
    for words in ([], ["--one-lost"]):
        told = section(tmp_path, REVERSE, *words)
        assert len(told) == 1
        assert (
            "no torque is given: the target cannot be reached without loosening nuts, and the gasket stays" in told[0]
        )
        assert told[0].endswith("(target: 220.0 N·m; found: 200.0 N·m)")
        assert "up to" not in told[0]
    data = json.loads(run(tmp_path, REVERSE, "check", "--json").stdout)["tightening"][NAME]
    assert (data["exists"], data["torque_least_Nm"], data["torque_greatest_Nm"]) == (False, None, None)
    assert "the gasket stays" in data["refused"]
    assert lost_window(assess(parse_case(REVERSE, "t")), NAME) == of(REVERSE)


def test_report_and_sheet_give_none_either(tmp_path):
    path = tmp_path / "report.html"
    assert run(tmp_path, REVERSE, "report", "-o", str(path)).exit_code in (0, 1)
    page = html.unescape(path.read_text(encoding="utf-8"))
    assert "no torque is given: the target cannot be reached without loosening nuts" in page
    assert "for nuts turned UP to it only" not in page
    sheet = json.loads(run(tmp_path, REVERSE, "boltup", "--json").stdout)
    assert (sheet["tightening"], sheet["tightening_one_bolt_lost"]) == (None, None)
    assert "Torque window" not in sheet["joint_facts"]


def test_a_target_under_what_was_found_is_none_either(tmp_path):
    told = section(
        tmp_path, with_target("target_torque: 100 N*m", IN_PLACE).replace(", target_lubricant: molybdenum paste", "")
    )
    assert "no torque is given" in told[0]
    assert "were found tighter than the target (target: 100.0 N·m; found: 150.0 N·m)" in told[0]


def test_a_tight_bolt_keeps_its_friction_beside_a_new_one():
    """The tight bolts of the window are those of a file whose one friction is that found: a new bolt's own lets its torque alone."""
    mixed, alike = (
        of(ONE_NEW),
        of(with_target("target_torque: 160 N*m", IN_PLACE).replace(", target_lubricant: molybdenum paste", "")),
    )
    assert mixed.torque * mixed.greatest == pytest.approx(alike.torque * alike.greatest, rel=1e-9)
    assert mixed.threads.factors == ((0.2, (1, 2, 3, 4, 5, 6, 8, 9, 10, 11, 12)),)
    assert (mixed.held_back, mixed.found_threads) == (False, None)


def test_once_the_new_bolt_is_in_it_has_its_own_friction(tmp_path):
    told = section(tmp_path, ONE_NEW)
    assert any("once repaired" in line and "K = 0.11 on bolt 7, 0.2 on the other bolts" in line for line in told)


def test_where_nobody_says_whether_the_gasket_stays_the_window_is_for_a_joint_taken_apart(tmp_path):
    told = section(tmp_path, NOT_SAID)[0]
    assert "; for a joint taken apart: if the gasket STAYS, the target is not reached on bolts 1, 2," in told
    assert "taken apart" not in section(tmp_path, NEW)[0]
