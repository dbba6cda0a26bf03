"""The tightening window with any one bolt lost, the table of lost bolts, and the tightening beside the allowable of bolt tension."""

from __future__ import annotations

import html
import json
import re
from dataclasses import replace

import numpy as np
import pytest
from click.testing import CliRunner

from anchorsize.assessment import Assessment, assess
from anchorsize.assessment.checks import LAYOUT
from anchorsize.assessment.findings_preload import PRELOAD_OVER_TENSION
from anchorsize.casefile import parse_case
from anchorsize.cli import main
from anchorsize.present.losses import losses_dict, losses_text
from anchorsize.present.windows import windows_text
from anchorsize.studies.lost_bolt import any_lost, one_lost, without
from anchorsize.studies.lost_window import lost_window
from anchorsize.studies.torque import window

HEADER = """\
case_file: 1
title: Cooling-water return header wye (invented)
units: metric
up: [0, 0, 1]
fluid: {name: water, temperature: 28 degC}

fitting:
  mass: 74 kg
  mass_center: [0.05, 0, 0.33 m]
  contents: 32 L
  contents_center: [0.04, 0, 0.33 m]
  extra_masses: [{name: branch valve, mass: 38 kg, center: [0.36, 0, 0.66 m]}]

openings:
  inlet:  {center: [0, 0, 0 m], outward: [0, 0, -1], bore: 260 mm}
  run:    {center: [0, 0, 0.70 m], outward: [0, 0, 1], bore: 204 mm}
  branch: {center: [0.417, 0, 0.717 m], outward: [1, 0, 1], bore: 154 mm}

joints:
  base flange:
    at: inlet
    reference: [1, 0, 0]
    bolts: {count: 12, size: M20, circle: 350 mm, first_at: 15 deg, class: "8.8"}
    gasket: {inside: 273 mm, outside: 328 mm, thickness: 4 mm, modulus: 400 MPa, m: 2, y: 11 MPa}
    flange: {outside: 395 mm, thickness: 26 mm, hole: 22 mm, rating: 10 bar}
    tightening: {torque: 160 N*m, nut_factor: 0.2, scatter: 30 %, relaxation: 15 %, lubricant: light machine oil}
    grip: 56 mm
    bolt_modulus: 205 GPa
    face_friction: 0.15

allow:
  bolt_tension: 150 MPa
  bolt_shear: 90 MPa
  tension_with_shear: circular
  hole_bearing: 200 MPa
  bolt_spacing_least: from table
  bolt_spacing_greatest: 180 mm
  gasket_pressure_greatest: 50 MPa

cases:
  normal:
    inlet: {flow_in: 240 m3/h, pressure: 1.7 bar}
    run: {flow_out: 150 m3/h, pressure: 1.6 bar}
    branch: free_jet
  maximum:
    inlet: {flow_in: 380 m3/h, pressure: 1.5 bar}
    run: {flow_out: 200 m3/h, pressure: 1.4 bar}
    branch: free_jet
  branch valve shut:
    inlet: {flow_in: 0 m3/h, pressure: 3 bar}
    run: {flow_out: 0 m3/h, pressure: 2.93 bar}
    branch: capped
  pressure test:
    rating_factor: 1.5
    inlet: {flow_in: 0 m3/h, pressure: 9 bar}
    run: capped
    branch: capped
  drained in wind:
    contents: empty
    inlet: {flow_in: 0 m3/h, pressure: 0 bar}
    run: {flow_out: 0 m3/h, pressure: 0 bar}
    branch: free_jet

external:
  - {name: wind, force: [0, 900, 0 N], at: [0, 0, 0.8 m], cases: [drained in wind]}
"""
FOUND = """\
case_file: 1
title: Booster discharge elbow, as found (invented)
units: us
up: [0, 0, 1]
fluid: {name: water, temperature: 60 degF}
fitting:
  mass: 85 lb
  mass_center: [4.5, 0, -2.5 in]
  shape:
    start: [0, 0, 0 in]
    direction: [1, 0, 0]
    bore: 6.065 in
    wall: 0.28 in
    kind: elbow
    turn: 90 deg
    toward: [0, 0, -1]
    radius: 9 in
joints:
  wall flange:
    at: inlet
    bolts: {count: 8, size: 3/4, circle: 9.5 in, first_at: 0 deg, missing: [5], class: A193 B7}
    gasket: {inside: 6.62 in, outside: 8.75 in, thickness: 1/8 in, m: 2, y: 1600 psi, condition: reused}
    flange: {designation: class 150 NPS 6, rating: from table}
    tightening: {torque: [80, 80, 0, 80, -, 80, 80, 80 ft-lb], target_torque: 80 ft-lb, nut_factor: 0.2, scatter: 30 %, lubricant: none}
    grip: 2 in
    bolt_modulus: 29700 ksi
    face_friction: 0.15
allow:
  bolt_tension: 25 ksi
  bolt_shear: 12 ksi
cases:
  running:
    inlet: {flow_in: 1100 gpm, pressure: 12 psi}
    outlet: free_jet
  gate backed up:
    inlet: {flow_in: 1100 gpm, pressure: 12 psi}
    outlet: {pressure: 2 psi}
  shut off:
    inlet: {flow_in: 0 gpm, pressure: 95 psi}
    outlet: capped
  drained:
    contents: empty
    inlet: {flow_in: 0 gpm, pressure: 0 psi}
    outlet: free_jet
"""
JOINT = "base flange"
AT = "torque: 160 N*m"
TWO_BOLTS = """\
case_file: 1
title: Purge branch on two bolts (invented)
units: metric
up: [0, 0, 1]
fluid: {name: water, density: 1000 kg/m3}
openings:
  inlet: {center: [0, 0, 0 m], outward: [0, 0, -1], bore: 50 mm}
  outlet: {center: [0, 0, 0.3 m], outward: [0, 0, 1], bore: 50 mm}
joints:
  foot:
    at: inlet
    reference: [1, 0, 0]
    bolts: {count: 2, size: M16, circle: 120 mm, class: "8.8"}
    gasket: {inside: 52 mm, outside: 80 mm, thickness: 2 mm, m: 2, y: 11 MPa}
    tightening: {torque: 100 N*m, nut_factor: 0.2}
    face_friction: 0.15
allow: {bolt_tension: 150 MPa, bolt_shear: 90 MPa}
cases:
  shut: {inlet: {flow_in: 0 L/s, pressure: 4 bar}, outlet: capped}
"""


def plain(text: str) -> str:
    """The words of a page or of a terminal on one line."""
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", text)).split())


def judged(text: str) -> Assessment:
    return assess(parse_case(text, "t.yaml"))


def run(tmp_path, text, *words):
    (tmp_path / "t.yaml").write_text(text)
    command, *rest = words
    return CliRunner().invoke(main, [command, str(tmp_path / "t.yaml"), *map(str, rest)])


def failing(torque: float) -> int:
    """How many of the single losses fail at a torque [N·m]."""
    losses = one_lost(parse_case(HEADER.replace(AT, f"torque: {torque!r} N*m"), "t.yaml"), JOINT)
    return sum(row.fails for row in losses)


# The window that stands any one bolt lost.


def test_within_the_window_no_single_loss_fails_and_beyond_either_end_one_does():
    found = lost_window(judged(HEADER), JOINT)
    least, greatest = found.torque * found.least, found.torque * found.greatest
    assert failing(least * (1.0 + 1e-8)) == failing(greatest * (1.0 - 1e-8)) == 0
    assert failing(least * (1.0 - 1e-8)) > 0
    assert failing(greatest * (1.0 + 1e-8)) > 0
    assert failing(320.0) > 0
    whole = window(parse_case(HEADER, "t.yaml"), JOINT)
    assert whole.least < found.least < found.greatest < 320.0 / 160.0 < whole.greatest


@pytest.mark.parametrize("text", [HEADER, FOUND])
def test_all_losses_at_once_give_what_each_gives_alone(text):
    """One batch against the window of each study that lacks a bolt, one after the other; an end is found to 1e-10."""
    shown = judged(text)
    joint = next(iter(shown.study.joints))
    given = shown.study.joints[joint]
    even = replace(given.tightening, torque=np.full(len(given.bolts.numbers), np.max(given.tightening.torque)))
    study = replace(shown.study, joints={joint: replace(given, tightening=even)})
    there = [number for number, is_in in zip(given.bolts.numbers, given.bolts.present, strict=True) if is_in]
    alone = [window(study, joint), *(window(without(study, joint, (number,)), joint) for number in there)]
    found = lost_window(shown, joint)
    assert found.least == pytest.approx(max(each.least for each in alone), rel=1e-9)
    assert found.greatest == pytest.approx(min(each.greatest for each in alone), rel=1e-9)


def test_check_prints_the_window_beside_the_one_of_all_bolts(tmp_path):
    said = plain(run(tmp_path, HEADER.replace(AT, "torque: 320 N*m"), "check", "--one-lost").output)
    assert "'base flange', also with any one bolt missing: torque from" in said
    assert "given: 320.0 N·m, which is TOO MUCH" in said
    assert re.search(r"also with any one bolt missing: [^;]*, bolt \d+ lost\) to [^;]*, bolt \d+ lost\);", said)
    assert "any one bolt missing" not in plain(run(tmp_path, HEADER, "check").output)


def test_machine_output_has_both_windows(tmp_path):
    found = lost_window(judged(HEADER), JOINT)
    for words in (("check", "--one-lost", "--json"), ("boltup", "--json")):
        told = json.loads(run(tmp_path, HEADER, *words).stdout)
        lost, whole = told["tightening_one_bolt_lost"], told["tightening"]
        lost, whole = (each.get(JOINT, each) for each in (lost, whole))
        assert lost["torque_least_Nm"] == pytest.approx(found.torque * found.least, rel=1e-9)
        assert lost["torque_greatest_Nm"] == pytest.approx(found.torque * found.greatest, rel=1e-9)
        assert whole["torque_greatest_Nm"] > lost["torque_greatest_Nm"]
    assert json.loads(run(tmp_path, HEADER, "check", "--json").stdout)["tightening_one_bolt_lost"] == {}


def test_report_and_sheet_tell_the_window_that_stands_a_lost_bolt(tmp_path):
    greatest = f"{lost_window(judged(HEADER), JOINT).greatest * 160.0:.1f} N·m"
    for words in (("report", "--one-lost", "--no-limits"), ("boltup",)):
        page = tmp_path / f"{words[0]}.html"
        assert run(tmp_path, HEADER, *words, "-o", page).exit_code == 0
        assert greatest in plain(page.read_text())
    over = plain_facts(tmp_path, HEADER.replace(AT, "torque: 320 N*m"))["If a bolt is lost"]
    assert "DOES NOT HOLD, whichever it is (gasket crushing fails then). Torque window with any one lost:" in over
    assert over.endswith(", which the target is NOT within.")


def plain_facts(tmp_path, text):
    return json.loads(run(tmp_path, text, "boltup", "--json").stdout)["joint_facts"]


def test_a_bolt_without_which_nothing_can_be_judged_leaves_no_window(tmp_path):
    found = lost_window(judged(TWO_BOLTS), "foot")
    assert not found.exists
    assert not found.serves
    said = plain(windows_text([], 80, "metric", one_lost=[found])[0])
    assert "no torque serves: with bolt 1 lost it cannot be judged" in said
    assert "If a bolt is lost" in plain_facts(tmp_path, TWO_BOLTS)


def test_a_window_needs_a_tightening_and_a_bolt_to_spare():
    assert lost_window(judged(re.sub(r" +tightening: .*\n", "", HEADER)), JOINT) is None
    idle = TWO_BOLTS.replace("count: 2", "count: 2, missing: [2]").replace(
        "4 bar}, outlet: capped", "0 bar}, outlet: capped"
    )
    assert lost_window(judged(idle), "foot").refused == "joint 'foot' would have no bolt left"


# What the sheet says of a lost bolt.


def test_sheet_tells_the_repaired_joint_from_the_joint_as_it_stands(tmp_path):
    told = plain_facts(tmp_path, FOUND)["If a bolt is lost"]
    assert told.startswith("Once repaired as above, with any one bolt lost: NOT FULLY JUDGED; nothing fails")
    assert "widest bolt gap not checked (supply allow / bolt_spacing_greatest" in told
    # a bolt at 9 of 80 ft-lb is no loose one, and slips as the joint stands
    found = FOUND.replace("[80, 80, 0, 80,", "[80, 80, 9, 80,")
    told = plain_facts(tmp_path, found)["If a bolt is lost"]
    losses = any_lost(judged(found), ["wall flange"])
    fails = sum(row.verdict == "fails" for row in losses)
    anew = {each.check for row in losses for each in row.new}
    worse = sum(bool(row.new) for row in losses)
    assert worse < fails  # the others fail as the joint does today
    end = f"DOES NOT HOLD, with {fails} of {len(losses)} (as today; {anew.pop()} fails as well with {worse} of them)."
    assert told.endswith(end)
    assert not anew
    whole = plain_facts(tmp_path, HEADER)["If a bolt is lost"]
    assert whole.startswith("With any one bolt lost: HOLDS. Torque window with any one lost:")
    assert "As it stands" not in whole


def test_the_note_of_a_robust_choice_is_a_record_of_what_was_chosen(tmp_path):
    target = tmp_path / "new.yaml"
    words = ("--counts", "12", "--sizes", "M20", "--torques", "160 N*m", "--robust", "--write", target)
    assert run(tmp_path, HEADER, "size", *words).exit_code == 0
    text = target.read_text().replace("torque: 160 N*m", "torque: 320 N*m")
    (remark,) = parse_case(text, "t.yaml").remarks
    record = "bolts as chosen by size --robust (12 × M20, 160 N*m): every check made held with any one of them missing"
    assert remark.endswith(record)
    assert "DOES NOT HOLD" in plain_facts(tmp_path, text)["If a bolt is lost"]


def test_an_earlier_note_is_taken_out_by_a_later_choice(tmp_path):
    earlier = "P-7; bolts chosen so that every check made holds with any one of them missing (size --robust)"
    text, target = HEADER.replace("    at: inlet\n", f'    note: "{earlier}"\n    at: inlet\n'), tmp_path / "new.yaml"
    run(tmp_path, text, "size", "--counts", "12", "--torques", "200 N*m", "--write", target)
    assert parse_case(target.read_text(), "t.yaml").remarks == ("joints / base flange: P-7",)


# The table of lost bolts.


def test_what_grows_most_under_load_is_told_for_every_bolt():
    """Against the study judged with and without each bolt, one after the other."""
    shown = judged(HEADER)
    today = {(case, c.check): float(c.utilization) for case, found in shown.cases.items() for c in found.checks}
    for row in any_lost(shown, [JOINT]):
        less = assess(without(shown.study, JOINT, (row.bolt,)))
        growth = {
            (case, c.check): float(c.utilization) - today[case, c.check]
            for case, found in less.cases.items()
            for c in found.checks
            if c.check not in LAYOUT
        }
        told = row.worsened_under_load
        assert told.growth == pytest.approx(max(growth.values()), rel=1e-9)
        assert growth[told.case, told.check] == pytest.approx(told.growth, rel=1e-9)


def test_bolts_alike_in_their_layout_are_put_in_order_by_the_load():
    growths = [row.worsened_under_load.growth for row in any_lost(judged(HEADER), [JOINT])]
    assert np.allclose(
        growths, sorted(growths, reverse=True), rtol=0.0, atol=2e-9
    )  # they are put in order by nine decimals
    assert growths[0] > growths[-1] * 1.01


def test_a_layout_check_alike_for_all_bolts_stands_below_the_table_once():
    """12 bolts on 350 mm: neighbors 350 sin 15° = 90.6 mm apart, 350 sin 30° = 175 mm past a lost one; 180 mm is allowed."""
    shown = judged(HEADER)
    said = losses_text(any_lost(shown, [JOINT]), shown, 80)[0]
    assert said.count("widest bolt gap") == 1
    assert "widest bolt gap of 'base flange' grows from 0.503 to 0.972 and holds" in plain(said)
    assert said.count("gasket crushing") == 12
    assert max(map(len, said.splitlines())) <= 80


def test_a_layout_check_that_fails_stays_in_the_table_with_the_one_under_load_below_it():
    shown = judged(HEADER.replace("bolt_spacing_greatest: 180 mm", "bolt_spacing_greatest: 150 mm"))
    said = losses_text(any_lost(shown, [JOINT]), shown, 80)[0]
    assert said.count("  widest bolt gap in ") == said.count("  gasket crushing in") == 12
    assert re.search(r"widest bolt gap in .*0\.604 +1\.17 +FAILS\n.*\n +gasket crushing in +0\.\d+ +0\.\d+", said)
    assert max(map(len, said.splitlines())) <= 80


def test_machine_output_has_the_check_under_load_beside_the_other():
    rows = losses_dict(any_lost(judged(HEADER), [JOINT]))
    assert {row["worsened"]["check"] for row in rows} == {"widest bolt gap"}
    assert all(row["worsened_under_load"]["check"] not in LAYOUT for row in rows)


# Tightening beside the allowable of bolt tension.


def test_the_allowable_of_bolt_tension_is_told_beside_what_tightening_pulls(tmp_path):
    """T / (K d) = 300 × 12 / (0.2 × 0.75) = 24,000 lbf, 30 % more is 31,200 lbf; ASME B1.1: As = 0.7854 (d − 0.9743/n)² = 0.3345 in²."""
    greatest = 31200.0 / (0.7854 * (0.75 - 0.9743 / 10.0) ** 2)
    text = FOUND.replace("target_torque: 80", "target_torque: 300")
    for words in (("check",), ("check", "--brief")):
        said = plain(run(tmp_path, text, *words).output)
        assert "Bolt-tension allowable: 25000 psi, for what the loads add, NOT for the tightening" in said
        assert float(re.search(r"alone pulls up to (\d+) psi \(89% of yield strength", said)[1]) == pytest.approx(
            greatest, rel=1e-3
        )
        assert "of yield strength, checked as bolt proof once repaired)" in said
    fact = plain_facts(tmp_path, text)["Bolt-tension allowable"]
    assert "NOT for the tightening" in fact
    (finding,) = [each for each in judged(text).warnings if each.kind == PRELOAD_OVER_TENSION]
    assert "over allow / bolt_tension, 25000 psi" in finding.message
    assert not finding.doubtful


def test_without_a_class_the_preload_is_said_not_to_be_checked(tmp_path):
    text = FOUND.replace(", class: A193 B7", "")
    assert "(NOT CHECKED against the bolt's strength: supply bolts / class)" in plain(
        run(tmp_path, text, "check").output
    )


@pytest.mark.parametrize(("torque", "over"), [("80 ft-lb", False), ("81 ft-lb", True)])
def test_a_preload_over_the_allowable_is_found_with_no_verdict(torque, over):
    """80 ft·lbf pulls 8,320 lbf at most, 81 ft·lbf 8,424 lbf; allowed are 8,400 lbf here. The verdict is the same."""
    text = FOUND.replace("target_torque: 80 ft-lb", f"target_torque: {torque}").replace("25 ksi", "8400 lbf")
    text = text.replace("bolt_shear: 12 ksi", "bolt_shear: 4000 lbf")
    found = judged(text)
    assert (PRELOAD_OVER_TENSION in {each.kind for each in found.warnings}) is over
    assert found.verdict == judged(text.replace("8400 lbf", "9000 lbf")).verdict


def test_nothing_is_said_of_it_without_a_tightening_or_an_allowable(tmp_path):
    for text in (FOUND.replace("  bolt_tension: 25 ksi\n", ""), re.sub(r" +tightening: .*\n", "", FOUND)):
        assert "Bolt-tension allowable" not in run(tmp_path, text, "check").output
        assert PRELOAD_OVER_TENSION not in {each.kind for each in judged(text).warnings}


# The picture of the face.


@pytest.mark.parametrize(
    ("gone", "named"),
    [
        (", modulus: 400 MPa", "give gasket / modulus."),
        (", thickness: 4 mm", "give gasket / thickness."),
        ("    grip: 56 mm\n", "give grip."),
    ],
)
def test_the_picture_of_the_face_asks_only_for_what_is_missing(tmp_path, gone, named):
    result = run(tmp_path, HEADER.replace(gone, ""), "picture", "--view", "face", "-o", tmp_path / "f.svg")
    assert result.exit_code == 2
    assert result.output.strip().endswith(named)
