"""A torque and its gasket: what was not judged of it, what crushes it at the least, and which gasket a torque is for."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st

from anchorsize import assess, parse_case
from anchorsize.cli import main
from anchorsize.present.boltup import sheet_dict, sheet_html
from anchorsize.present.brief import brief_report
from anchorsize.present.losses import losses_text
from anchorsize.present.text import check_report
from anchorsize.present.windows import windows_dict, windows_text
from anchorsize.studies.boltup import boltup
from anchorsize.studies.lost_bolt import one_lost, without
from anchorsize.studies.repaired import repaired
from anchorsize.studies.torque import window

FOUND = (Path(__file__).parents[1] / "examples" / "elbow_as_found.yaml").read_text()
JOINT = "basin flange"
REUSED, LOOSE = ", condition: reused", "[100, 55, 100, 100, 100, 100, 100, 100 N*m]\n      target_torque: 100 N*m"
AGAIN = re.search(r"      target_nut_factor: .*\n", FOUND)[0]
NEW = FOUND.replace(REUSED, "").replace(LOOSE, "100 N*m").replace(AGAIN, "")
LOUD = "THE GASKET IS NOT CHECKED"
RING = re.search(r"    gasket: .*\n", NEW)[0]
LIMIT = re.search(r"  gasket_pressure_greatest: .*\n", NEW)[0]
SOFT = re.compile(r"    bolt_modulus: .*\n")
# two bolts loose beside a missing one: the pull of the rest stands far off the center
UNEVEN = SOFT.sub(
    "", FOUND.replace(LOOSE, "[80, 100, 100, 100, -, 5, 5, 80 N*m]\n      target_torque: 60 N*m")
).replace('class: "8.8"', 'class: "8.8", missing: [5]')


def joined(text):
    return " ".join(text.split())


def limited(text, pressure):
    return text.replace(LIMIT, f"  gasket_pressure_greatest: {float(pressure)!r} Pa\n")


def sheet(text, mended=False):
    study = parse_case(text, "t.yaml")
    assessment, before = assess(repaired(study) if mended else study), assess(study) if mended else None
    page = str(sheet_html(assessment, boltup(assessment, None, study if mended else None), before))
    return joined(re.sub(r"<[^>]+>", " ", page.split("</style>")[-1])).replace("&#39;", "'")


def everywhere(text):
    """The full and the short check, and the sheet."""
    assessment = assess(parse_case(text, "t.yaml"))
    return joined(check_report(assessment, 80)), joined(brief_report(assessment, 80)), sheet(text)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (
            NEW.replace(RING, ""),
            ", neither for its seal (joint lift-off, gasket seating, gasket in service) nor for crushing, at joint 'basin flange': too "
            "little torque leaks, too much crushes it. Supply gasket with inside, outside, m and y and allow / gasket_pressure_greatest.",
        ),
        (
            NEW.replace(LIMIT, ""),
            " for crushing at joint 'basin flange': too much torque crushes it. Supply allow / gasket_pressure_greatest.",
        ),
        (
            NEW.replace(", m: 2, y: 11 MPa", ""),
            " for its seal (gasket seating, gasket in service) at joint 'basin flange': too little torque leaks. Supply gasket / y, "
            "gasket / m.",
        ),
    ],
)
def test_a_torque_judged_without_its_gasket_is_told_beside_the_verdict(tmp_path, text, words):
    for said in everywhere(text):
        head = said.split("Not checked")[0].split("What stands out")[0]
        assert LOUD + words in head
        assert "HOLDS" in head
    (tmp_path / "t.yaml").write_text(text)
    assert CliRunner().invoke(main, ["check", str(tmp_path / "t.yaml")]).exit_code == 0
    page = tmp_path / "r.md"
    CliRunner().invoke(main, ["report", str(tmp_path / "t.yaml"), "--no-limits", "-o", str(page)])
    assert page.read_text().index(LOUD) < page.read_text().index("On site")


def test_a_gasket_that_was_judged_is_not_called_unjudged():
    assert not any(LOUD in said for said in everywhere(NEW))
    untightened = re.sub(r"    tightening:\n(      .*\n)+", "", NEW)
    assert LOUD not in check_report(assess(parse_case(untightened, "t.yaml")), 80)


def crushing(text, lost=()):
    study = parse_case(text, "t.yaml")
    study = without(study, JOINT, lost) if lost else study
    cases = assess(study).cases.values()
    return [check for case in cases for check in case.checks if check.check == "gasket crushing"]


def as_tightened(text):
    """Greatest pressure at the rim from the balance of bolts and ring alone, by a linear system for the plane p = a + b x + c y."""
    joint = assess(parse_case(text, "t.yaml")).cases["drained"].joints[JOINT]
    study = parse_case(text, "t.yaml").joints[JOINT]
    pull = np.where(study.carrying, joint.clamping.greatest, 0.0)
    outer, inner = float(study.gasket.outside) / 2.0, float(study.gasket.inside) / 2.0
    area, second = np.pi * (outer**2 - inner**2), np.pi / 4.0 * (outer**4 - inner**4)
    wanted = [pull.sum(), *(pull @ study.bolts.xy)]
    plane = np.linalg.solve(np.diag([area, second, second]), wanted)
    return plane[0] + outer * np.hypot(plane[1], plane[2])


def test_uneven_torques_crush_the_gasket_by_what_they_press_at_the_least():
    least = as_tightened(UNEVEN)
    made = crushing(limited(UNEVEN, 0.5 * least))
    assert len(made) == len(parse_case(UNEVEN, "t").cases)
    for check in made:
        assert float(check.demand) == pytest.approx(least, rel=1e-9)
        assert float(check.utilization) == pytest.approx(2.0, rel=1e-9)
        assert check.words == "gasket crushing (at least)"
        assert check.source.startswith("at least")
    assert assess(parse_case(limited(UNEVEN, 0.5 * least), "t")).verdict == "fails"


def test_what_is_not_crushed_at_the_least_stays_unjudged_and_says_why():
    text = limited(UNEVEN, 1.01 * as_tightened(UNEVEN))
    assert crushing(text) == []
    for said in everywhere(text):
        assert f"{LOUD} for crushing at joint 'basin flange': too much torque crushes it. Supply bolt_modulus:" in said
        assert "only the stiffness tells how hard" in said


@settings(max_examples=25, deadline=None)
@given(st.lists(st.floats(10.1, 100.0), min_size=8, max_size=8))
def test_the_least_is_no_more_than_the_contact_solution_before_any_load(torques):
    """Whatever the torques of bolts that are not loose: the face solved with the stiffness known is pressed as hard at the least."""
    each = ", ".join(f"{value!r}" for value in torques)
    stiff = limited(FOUND.replace(LOOSE, f"[{each} N*m]\n      target_torque: 60 N*m"), 1.0)
    least = as_tightened(stiff)
    light = re.sub(r"  mass: .*\n", "  mass: 0.001 kg\n", stiff)
    solved = assess(parse_case(light, "t")).cases["drained"].joints[JOINT].service.pressure_max_greatest
    assert least <= float(solved) * (1.0 + 1e-3)


def test_a_bolt_lost_in_the_table_is_judged_as_without_it():
    for pressure in (0.4, 0.9, 1.5):
        text = limited(UNEVEN, pressure * as_tightened(UNEVEN))
        study = parse_case(text, "t.yaml")
        today = {(name, c.check) for name, case in assess(study).cases.items() for c in case.checks if not c.holds}
        for row in one_lost(study, JOINT):
            alone = assess(without(study, JOINT, (row.bolt,))).cases
            failing = {(name, c.check) for name, case in alone.items() for c in case.checks if not c.holds}
            assert {(each.case, each.check) for each in row.new} == failing - today
            uses = {(name, c.check): float(c.utilization) for name, case in alone.items() for c in case.checks}
            if row.bolt in study.joints[JOINT].loose:  # nothing is lost with it
                assert row.worsened is None
                continue
            assert row.worsened.utilization == pytest.approx(uses[row.worsened.case, row.worsened.check], rel=1e-9)


def test_the_table_names_what_grows_most_and_says_so():
    study = parse_case(UNEVEN, "t.yaml")
    said = losses_text(one_lost(study, JOINT), assess(study), 80)[0]
    assert "what grows most" in said
    assert "(failing first)" in said


def test_no_torque_in_a_bound_is_not_said_of_the_joint_itself():
    study = parse_case(limited(UNEVEN.replace(REUSED, ""), 2e6), "t.yaml")
    found = window(study, JOINT)
    assert not found.exists
    words = "in the bound without stiffness; with bolt_modulus given the answer may differ"
    assert words in joined(windows_text([found], 80, "metric")[0])
    assert windows_dict([found])[JOINT]["stiffness_wanting"] == ["bolt_modulus"]
    stiff = window(parse_case(limited(NEW, 2e6), "t.yaml"), JOINT)
    assert not stiff.exists
    assert "bound" not in joined(windows_text([stiff], 80, "metric")[0])
    assert windows_dict([stiff])[JOINT]["stiffness_wanting"] == []


def test_a_demand_that_is_a_bound_is_called_one():
    text = limited(UNEVEN, 9e9)
    failing = {c.check for case in assess(parse_case(text, "t")).cases.values() for c in case.checks if not c.holds}
    assert "joint lift-off" in failing
    brief = joined(brief_report(assess(parse_case(text, "t")), 80))
    assert "Joint lift-off: a bound for want of stiffness: the true demand may be less." in brief


def test_a_gasket_to_renew_has_its_taking_apart_told():
    said = sheet(FOUND)
    assert said.index("TAKE APART FIRST") < said.index("FIT FIRST") < said.index("Passes at")
    assert "in two rounds" in said
    assert "TAKE APART FIRST" in sheet(FOUND, True)
    assert "TAKE APART" not in sheet(NEW)
    assessment = assess(parse_case(NEW, "t"))
    assert sheet_dict(assessment, boltup(assessment))["take_apart"] is None


def test_what_no_torque_mends_is_not_offered_without_its_bolts():
    gone = NEW.replace('class: "8.8"', 'class: "8.8", missing: [5]')
    assert "NOT to be tightened without bolt 5: widest bolt gap fails then" in sheet(gone)
    wide = re.sub(r"bolt_spacing_greatest: .*\n", "bolt_spacing_greatest: 1 m\n", gone)
    assert "Tightened without bolt 5 ONLY where the engineer says so" in sheet(wide)
    none = limited(wide, 2e6)
    assert not window(parse_case(none, "t"), JOINT).exists
    assert "NOT to be tightened without bolt 5: no torque holds then." in sheet(none)
    assert "ONLY where the engineer" not in sheet(none)


def test_the_repaired_torque_is_for_the_gasket_of_the_file_only():
    study = repaired(parse_case(FOUND, "t.yaml"))
    words = "the torque holds ONLY for a new gasket of the figures in the file (ring"
    for said in (check_report(assess(study), 80), brief_report(assess(study), 80)):
        head = joined(said).split("On site")[0]
        assert words in head
        assert "Another kind or size wants its own calculation." in head
        assert "m 2, y 11 MPa, crushed over 65 MPa" in head
    assert words in sheet(FOUND, True)
    assert words not in check_report(assess(repaired(parse_case(NEW, "t"))), 80)
