"""What new users stumbled on in choosing bolts: the window with a bolt lost, and what was written without a word."""

from __future__ import annotations

import json
import re

import pytest
from click.testing import CliRunner

from anchorsize.assessment import assess
from anchorsize.casefile import parse_case
from anchorsize.cli.size import size as command
from anchorsize.studies.lost_bolt import one_lost
from anchorsize.studies.lost_window import lost_window
from anchorsize.studies.torque import window

# A reducing elbow on a pump. Invented.
PUMP = """\
case_file: 1
title: delivery reducer elbow
fluid: {name: water, density: 1000 kg/m^3}
fitting:
  shape: {start: [0, 0, 0 m], direction: [1, 0, 0], bore: 254.5 mm, wall: 9.3 mm, material_density: 7850 kg/m3, kind: reducing_elbow, turn: 90 deg, toward: [0, 0, 1], radius: 254 mm, end_bore: 206.5 mm}
joints:
  nozzle:
    at: inlet
    note: P-101
    reference: [0, 0, 1]
    bolts: {class: "8.8"}
    gasket: {inside: 273 mm, outside: 329 mm, m: 2.75, y: 25.5 MPa, thickness: 2 mm, modulus: 600 MPa}
    flange: {designation: EN 1092-1 PN 16 DN 250}
    tightening: {torque: 300 N*m, nut_factor: 0.18, scatter: 25 %, relaxation: 10 %}
    grip: 54 mm
    bolt_modulus: 205 GPa
    face_friction: 0.15
allow: {bolt_tension: 213 MPa, bolt_shear: 120 MPa, gasket_pressure_greatest: 100 MPa}
cases:
  shut:
    inlet: {flow_in: 0 L/s, pressure: 9 bar}
    outlet: {pressure: 9 bar}
"""


def run(tmp_path, text, *words):
    path = tmp_path / "pump.yaml"
    path.write_text(text)
    return CliRunner().invoke(command, [str(path), *words])


def windows(tmp_path, *words):
    told = json.loads(run(tmp_path, PUMP, "--json", *words).output)["tightening"]["nozzle"]
    return told["torque_least_Nm"], told["torque_greatest_Nm"]


def fails(torque):
    """How many bolts may not be lost at a torque, in the checks of one bolt lost that another command makes."""
    text = PUMP.replace("torque: 300", f"torque: {torque!r}")
    return sum(row.fails for row in one_lost(parse_case(text, "pump.yaml"), "nozzle"))


def test_the_window_of_a_robust_choice_is_that_with_any_one_bolt_lost(tmp_path):
    least, greatest = windows(tmp_path, "--counts", "12", "--robust")
    whole = windows(tmp_path, "--counts", "12")
    assert whole[0] < least < greatest < whole[1]
    assert (fails(least * 1.001), fails(greatest * 0.999)) == (0, 0)
    assert fails(least * 0.999) > 0
    assert fails(greatest * 1.001) > 0
    said = " ".join(run(tmp_path, PUMP, "--counts", "12", "--robust").output.split())
    assert re.search(r"joint 'nozzle' with \d+ x M\d+ on [^:]*, also with any one bolt missing: torque from", said)
    assert " lost) to " in said
    assert "any one bolt missing" not in " ".join(run(tmp_path, PUMP, "--counts", "12").output.split())


def test_every_end_of_a_robust_window_is_one_of_the_windows_it_is_shared_by():
    shown = assess(parse_case(PUMP, "pump.yaml"))
    whole, robust = window(shown.study, "nozzle", shown.cases), lost_window(shown, "nozzle")
    assert robust.least_by.rpartition(", bolt ")[0] == whole.least_by
    assert robust.greatest_by.endswith(" lost")
    assert (robust.torque, robust.given) == (whole.torque, whole.given)


def test_no_window_is_told_without_tightening(tmp_path):
    text = "\n".join(line for line in PUMP.splitlines() if "tightening:" not in line) + "\n"
    assert "Tightening that would do" not in run(tmp_path, text, "--counts", "12", "--robust").output


@pytest.mark.parametrize("words", [(), ("--robust",)])
def test_what_a_written_choice_changed_is_told_in_the_file(tmp_path, words):
    """EN 1092-1: PN 16 DN 250 is 26 mm thick and PN 25 DN 250 32 mm; two of them make 12 mm more of grip."""
    target = tmp_path / "new.yaml"
    result = run(tmp_path, PUMP, "--flanges", "EN 1092-1 PN 25 DN 250", *words, "--write", str(target))
    assert result.exit_code == 0, result.output
    (remark,) = parse_case(target.read_text(), "new.yaml").remarks
    assert remark.startswith("joints / nozzle: P-101; changed by size --write: flange EN 1092-1 PN 25 DN 250 (was ")
    assert "grip 66 mm (was 54 mm)" in remark
    assert " (was 273 mm to 329 mm)" in remark
    assert "the mating flange must be the same" in remark
    assert ("any one of them missing" in remark) == bool(words)


def test_a_choice_that_changes_no_flange_says_nothing_of_one(tmp_path):
    target = tmp_path / "new.yaml"
    assert run(tmp_path, PUMP, "--torques", "400 N*m", "--write", str(target)).exit_code == 0
    assert parse_case(target.read_text(), "new.yaml").remarks == ("joints / nozzle: P-101",)


def test_a_later_choice_tells_what_it_changes_once(tmp_path):
    first, second = tmp_path / "first.yaml", tmp_path / "second.yaml"
    run(tmp_path, PUMP, "--flanges", "EN 1092-1 PN 25 DN 250", "--write", str(first))
    run(tmp_path, first.read_text(), "--flanges", "EN 1092-1 PN 40 DN 250", "--write", str(second))
    text = second.read_text()
    assert text.count("changed by size --write") == text.count("the mating flange must be the same") == 1
    assert "flange EN 1092-1 PN 40 DN 250 (was EN 1092-1 PN 25 DN 250)" in text
