"""A bolt that is there but loose carries nothing: a joint with loose bolts is the joint without them, wherever it is judged."""

from __future__ import annotations

import json
import math
import re
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st

from anchorsize.assessment import StudyError, assess, evaluate
from anchorsize.assessment.findings_target import only_loosened
from anchorsize.assessment.findings_tightening import far_looser, without_clamp
from anchorsize.casefile import parse_case
from anchorsize.cli import main
from anchorsize.present.pictures.bolt_view import bolt_alt
from anchorsize.present.text import check_report
from anchorsize.studies.envelope import envelope
from anchorsize.studies.lost_bolt import one_lost, without
from anchorsize.studies.many import judge_frame
from anchorsize.studies.repaired import repaired
from anchorsize.studies.rows import judge_rows
from anchorsize.studies.torque import windows

JOINT = "riser"
FOUND = """\
case_file: 1
title: elbow on a riser, two bolts found loose (invented)
fluid: {name: water, density: 1000 kg/m^3}
fitting: {mass: 14 kg, mass_center: [0.05, 0, 0.15 m], contents: 2 L, contents_center: [0.05, 0, 0.15 m]}
openings:
  inlet: {center: [0, 0, 0 m], outward: [0, 0, -1], bore: 102 mm}
  outlet: {center: [0.2, 0, 0.3 m], outward: [1, 0.4, 0], bore: 80 mm}
joints:
  riser:
    at: inlet
    reference: [1, 0, 0]
    bolts: {count: 8, size: M16, circle: 180 mm, first_at: 22.5 deg, class: "8.8"}
    gasket: {inside: 115 mm, outside: 158 mm, thickness: 3 mm, modulus: 400 MPa, m: 2, y: 11 MPa, condition: new}
    flange: {thickness: 20 mm, rating: 40 bar}
    tightening: {torque: [90, 90, 0, 0, 90, 90, 90, 90 N*m], nut_factor: 0.2, scatter: 20 %}
    grip: 46 mm
    bolt_modulus: 205 GPa
    face_friction: 0.2
allow:
  bolt_tension: 160 MPa
  bolt_shear: 95 MPa
  bolt_spacing_greatest: 80 mm
  gasket_pressure_greatest: 80 MPa
  bolt_stress_operating: 170 MPa
  bolt_stress_seating: 170 MPa
  endurance_limit: 50 MPa
cases:
  run: {inlet: {flow_in: 12 L/s, pressure: 6 bar}, outlet: {pressure: 5.8 bar}}
  still: {inlet: {flow_in: 0 L/s, pressure: 9 bar}, outlet: capped}
"""
TORQUES = "torque: [90, 90, 0, 0, 90, 90, 90, 90 N*m]"
BOLTS = 'first_at: 22.5 deg, class: "8.8"'
METAL = FOUND.replace(", thickness: 3 mm, modulus: 400 MPa", "").replace(
    "    face_friction", "    members: {modulus: 200 GPa, face_diameter: 24 mm}\n    face_friction"
)
BOUNDS = FOUND.replace("    bolt_modulus: 205 GPa\n", "")
CYCLES = FOUND.replace("    face_friction", "    cycles_between: [run, still]\n    face_friction")
TARGET = FOUND.replace(TORQUES, f"{TORQUES}, target_torque: 90 N*m")


def torques(text, values):
    return text.replace(TORQUES, f"torque: [{', '.join(f'{value:.9g}' for value in values)} N*m]")


def study_of(text):
    return parse_case(text, "t.yaml")


def gone(text, bolts):
    """The same file with bolts missing, and every other one as tight as the tight ones."""
    return torques(text, [90.0] * 8).replace(BOLTS, f"{BOLTS}, missing: [{', '.join(map(str, bolts))}]")


def run(folder, text, command, *words):
    path = folder / "t.yaml"
    path.write_text(text)
    return CliRunner().invoke(main, [command, str(path), *words], env={"COLUMNS": "80", "NO_COLOR": "1"})


def joined(text):
    return " ".join(text.split())


def figures(text):
    """Everything that a joint is judged by, by case."""
    made = assess(study_of(text))
    told = {}
    for name, case in made.cases.items():
        joint = case.joints[JOINT]
        told[name, "external tension"] = joint.external_tension
        told[name, "shear"] = joint.bolt_shear
        told[name, "preload"] = np.stack([joint.clamping.least, joint.clamping.mean, joint.clamping.greatest])
        told[name, "at most"] = joint.service.tension_bound
        told[name, "clamp at least"] = joint.service.clamp_bound
        if joint.service.tension is not None:
            told[name, "service tension"] = joint.service.tension
            told[name, "lift-off"] = joint.service.lift_off_use
            told[name, "pressed hardest"] = joint.service.pressure_max_greatest
        for check in case.checks:
            told[name, check.check] = np.array([check.demand, check.utilization, check.holds], dtype=float)
    return made.verdict, {(each.check, each.needed) for each in made.not_checked}, told


@settings(max_examples=25, deadline=None)
@given(
    text=st.sampled_from([FOUND, METAL, BOUNDS, CYCLES]),
    loose=st.dictionaries(st.integers(1, 8), st.floats(0.0, 8.9), min_size=1, max_size=7),
)
def test_a_joint_with_loose_bolts_is_the_joint_without_them(text, loose):
    found = torques(text, [loose.get(bolt, 90.0) for bolt in range(1, 9)])
    try:
        verdict, wanting, told = figures(found)
    except StudyError as error:
        with pytest.raises(StudyError) as same:
            figures(gone(text, sorted(loose)))
        assert str(error) == f"{same.value}; bolts that are loose carry nothing"
        return
    other, lacks, expected = figures(gone(text, sorted(loose)))
    assert (verdict, wanting) == (other, lacks)
    assert told.keys() == expected.keys()
    for key, values in told.items():
        np.testing.assert_allclose(values, expected[key], rtol=1e-9, atol=1e-6, err_msg=str(key))


def test_the_gap_beside_loose_bolts_by_hand(tmp_path):
    """Bolts 2 and 5 of eight are three places, 135°, apart on 180 mm: 2 · 90 mm · sin 67.5° = 166.3 mm."""
    made = assess(study_of(FOUND))
    for case in made.cases.values():
        (gap,) = [check for check in case.checks if check.check == "widest bolt gap"]
        assert float(gap.demand) == pytest.approx(0.180 * math.sin(math.radians(67.5)), rel=1e-12)
        assert not gap.holds
    ended = run(tmp_path, FOUND, "check")
    assert ended.exit_code == 1
    assert "166.3 mm" in ended.output
    assert made.verdict == "fails"


def test_what_the_loose_bolts_do_not_carry_the_others_do_by_hand():
    """A plain pull shared by six in place of eight, with bolts 1 and 5 opposite each other loose: a sixth each, no bolt more."""
    text = re.sub(r"fitting: .*\n", "fitting: {mass: 0 kg, mass_center: [0, 0, 0 m]}\n", FOUND)
    text = re.sub(r"  outlet: .*\n", "", text).replace(", outlet: capped", "")
    text = re.sub(r"  run: .*\n", "", text)
    study = study_of(torques(text, [0, 90, 90, 90, 4, 90, 90, 90]))
    joint = evaluate(study)["still"].joints[JOINT]
    pull = float(joint.axial_demand)
    assert pull > 9e5 * math.pi / 4.0 * 0.102**2
    expected = np.array([0.0, 1.0, 1.0, 1.0, 0.0, 1.0, 1.0, 1.0]) * pull / 6.0
    assert joint.external_tension == pytest.approx(expected, rel=1e-9, abs=1e-6)


@pytest.mark.parametrize(("torque", "loose"), [(0.0, (4,)), (5.0, (4,)), (8.99, (4,)), (9.01, ()), (60.0, ())])
def test_loose_is_under_a_tenth_of_the_tightest_of_its_size(torque, loose):
    """A tenth of 90 N·m is 9 N·m; what the file says of a missing bolt does not count."""
    text = torques(FOUND, [90.0, 90.0, 90.0, torque, 90.0, 90.0, 90.0, 900.0]).replace(BOLTS, f"{BOLTS}, missing: [8]")
    joint = study_of(text).joints[JOINT]
    assert joint.loose == without_clamp(joint) == loose
    by_preload = replace(joint.tightening, torque=None, preload=joint.tightening.torque * 100.0)
    assert replace(joint, tightening=by_preload).loose == loose
    assert joint.carrying.tolist() == [number not in (*loose, 8) for number in range(1, 9)]


def test_each_size_is_held_against_its_own():
    joint = study_of(torques(FOUND, [90, 8, 90, 8, 90, 8, 90, 0])).joints[JOINT]
    sizes = ("M16", "M8") * 4
    two = replace(joint, bolts=replace(joint.bolts, sizes=sizes))
    assert joint.loose == (2, 4, 6, 8)
    assert two.loose == (8,)
    # nothing on any bolt of a size, while those of the other are tight
    small = replace(two, tightening=replace(two.tightening, torque=np.array([90.0, 0.0] * 4)))
    assert small.loose == (2, 4, 6, 8)


def test_where_nothing_is_tightened_yet_every_bolt_counts():
    none, tight = (study_of(torques(FOUND, [value] * 8)) for value in (0.0, 90.0))
    joint = none.joints[JOINT]
    assert joint.loose == ()
    assert bool(np.all(joint.carrying))
    assert without_clamp(joint) == tuple(range(1, 9))
    for name, case in evaluate(none).items():
        np.testing.assert_allclose(
            case.joints[JOINT].external_tension, evaluate(tight)[name].joints[JOINT].external_tension, rtol=1e-12
        )
    made = assess(none)
    (told,) = [each.message for each in made.warnings if each.kind == "loose bolts"]
    assert told.endswith("are LOOSE (found at 0) and have no clamp. Tighten them before pressure comes on.")
    assert not any("carries nothing" in line.replace("\n", " ") for line in made.assumptions)


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.lists(st.sampled_from([0.0, 5.0, 8.0, 40.0, 90.0]), min_size=8, max_size=8), min_size=1, max_size=5),
    st.lists(st.lists(st.booleans(), min_size=8, max_size=8), min_size=1, max_size=3),
    st.sampled_from([("M16",) * 8, ("M16", "M20") * 4]),
)
def test_every_row_of_a_batch_is_what_it_is_alone(torque, present, sizes):
    """Torques (m, n) and bolts present (k, 1, n) give the carrying bolts (k, m, n)."""
    joint = study_of(FOUND).joints[JOINT]

    def carrying(values, there):
        bolts = replace(joint.bolts, sizes=sizes, present=np.array(there))
        return replace(joint, bolts=bolts, tightening=replace(joint.tightening, torque=np.array(values))).carrying

    together = np.broadcast_to(carrying(torque, np.array(present)[:, None, :]), (len(present), len(torque), len(sizes)))
    for row, there in zip(together, present, strict=True):
        for found, values in zip(row, torque, strict=True):
            assert found.tolist() == np.broadcast_to(carrying(values, there), 8).tolist()


def test_rows_judged_together_are_judged_as_alone():
    values = np.array([[90.0] * 8, [90, 90, 0, 0, 90, 90, 90, 90], [90, 5, 90, 90, 90, 0, 90, 90]])
    study = study_of(FOUND)
    joint = study.joints[JOINT]

    def tightened(torque):
        new = replace(joint, tightening=replace(joint.tightening, torque=torque))
        return replace(study, joints={JOINT: new})

    together = judge_rows(tightened(values), (3,))
    for row, torque in enumerate(values):
        alone = judge_rows(tightened(torque), ())
        assert alone.keys == together.keys
        np.testing.assert_allclose(together.utilization[:, row], alone.utilization, rtol=1e-9, atol=1e-9)


@pytest.mark.parametrize("spacing", ["  bolt_spacing_greatest: 80 mm\n", "  bolt_spacing_greatest: 200 mm\n", ""])
def test_a_list_is_judged_row_by_row(spacing):
    """A row whose bolts are all tight needs no check of a gap that another row leaves."""
    base = FOUND.replace("  bolt_spacing_greatest: 80 mm\n", spacing)
    base = base.replace(TORQUES, "torque: {all: 90 N*m, 3: 90 N*m}")
    values = [90.0, 5.0, 0.0, 60.0]
    told = judge_frame(pd.DataFrame({"riser/tightening/torque/3 [N*m]": values}), base)
    alone = [assess(study_of(base.replace("3: 90 N*m", f"3: {value} N*m"))) for value in values]
    assert told["verdict"].tolist() == [each.verdict for each in alone]
    use = [float(each.governing[1].utilization) for each in alone]
    assert told["utilization"].tolist() == pytest.approx(use, rel=1e-9)


def test_a_gap_beside_a_loose_bolt_must_be_judged():
    text = FOUND.replace("  bolt_spacing_greatest: 80 mm\n", "")
    made, tight = assess(study_of(text)), assess(study_of(torques(text, [90.0] * 8)))
    assert (made.verdict, tight.verdict) == ("incomplete", "holds")
    assert [item.check for item in made.not_checked if item.needed] == ["widest bolt gap"]


def test_the_repaired_joint_carries_with_every_bolt():
    after, whole = assess(repaired(study_of(TARGET))), assess(study_of(torques(FOUND, [90.0] * 8)))
    assert after.study.joints[JOINT].loose == ()
    for name, case in after.cases.items():
        ours, theirs = case.joints[JOINT], whole.cases[name].joints[JOINT]
        np.testing.assert_allclose(ours.external_tension, theirs.external_tension, rtol=1e-12)
        np.testing.assert_allclose(ours.service.tension, theirs.service.tension, rtol=1e-12)
        assert [float(check.utilization) for check in case.checks] == pytest.approx(
            [float(check.utilization) for check in whole.cases[name].checks], rel=1e-12
        )


@pytest.mark.parametrize("text", [FOUND, TARGET, BOUNDS])
def test_the_window_of_the_same_torque_on_every_bolt_counts_them_all(text):
    """Its ends are those of the joint found tight all round: slip at a bolt hangs on how many share the load."""
    (found,), (whole,) = (windows(assess(study_of(each)), [JOINT]) for each in (text, torques(text, [90.0] * 8)))
    assert found.evened
    assert (found.least, found.greatest) == pytest.approx((whole.least, whole.greatest), rel=1e-9)
    assert (found.least_by, found.greatest_by) == (whole.least_by, whole.greatest_by)
    assert found.least_by.startswith("slip at the bolts")


def test_a_bolt_lost_beside_loose_ones():
    """Each row is the joint without that bolt; to lose a loose one changes nothing."""
    study = study_of(FOUND)
    for row in one_lost(study, JOINT):
        alone = assess(without(study, JOINT, (row.bolt,)))
        assert row.verdict == alone.verdict
        if row.bolt in (3, 4):
            assert row.worsened is None
            assert row.new == ()
        else:
            assert row.worsened is not None


def test_far_looser_is_not_told_of_a_loose_bolt_twice():
    """Of 90 N·m, 70 is under 0.8, and 5 is loose: each is told once, and the median is that of the bolts that carry."""
    study = study_of(torques(FOUND, [90, 90, 5, 70, 90, 90, 90, 90]))
    joint = study.joints[JOINT]
    assert far_looser(joint) == pytest.approx({4: 70.0 / 90.0})
    head = joined(check_report(assess(study), 80).split("Governs")[0])
    assert "bolt 3 is LOOSE (found at 5 N·m) and has no clamp to speak of; judged as carrying nothing" in head
    assert "FAR LOOSER than the others: bolt 4 at 78% of their median" in head


@pytest.mark.parametrize(
    ("values", "words"),
    [
        (
            (0, 0),
            "bolts 3 and 4 are LOOSE (found at 0) and have no clamp; judged as carrying nothing, like missing ones.",
        ),
        (
            (0, 5),
            "bolts 3 and 4 are LOOSE (found bolt 3 at 0, bolt 4 at 5 N·m) and have no clamp to speak of; judged as carrying nothing, like "
            "missing ones.",
        ),
        (
            (5, 90),
            "bolt 3 is LOOSE (found at 5 N·m) and has no clamp to speak of; judged as carrying nothing, like a missing one.",
        ),
    ],
)
def test_the_finding_says_what_was_found(values, words):
    made = assess(study_of(torques(FOUND, [90, 90, *values, 90, 90, 90, 90])))
    (told,) = [each.message for each in made.warnings if each.kind == "loose bolts"]
    assert told.startswith(f"Joint 'riser': {words} Find out why before")
    assert any(
        "under 10% of the tightest of its size" in line and "carries nothing" in line for line in made.assumptions
    )


def test_a_loose_bolt_where_the_gasket_stays_is_no_tight_nut():
    text = TARGET.replace("condition: new", "condition: in_place").replace("target_torque: 90", "target_torque: 80")
    joint = study_of(torques(text, [90, 90, 5, 0, 90, 90, 90, 60])).joints[JOINT]
    assert only_loosened(joint) == (1, 2, 5, 6, 7)


def test_tables_pictures_and_machine_output_say_loose(tmp_path):
    said = run(tmp_path, FOUND, "check").output
    for bolt in (3, 4):
        assert re.search(rf"^  {bolt} +M16 .* - .* loose$", said, re.MULTILINE)
    assert len(re.findall(r"pulled$|pressed$", said, re.MULTILINE)) == 2 * 6
    data = json.loads(run(tmp_path, FOUND, "check", "--json").output)
    for case in data["cases"].values():
        joint = case["joints"][JOINT]
        assert joint["loose"] == [3, 4]
        assert {each["number"]: each["external_tension_N"] for each in joint["bolts"]}[3] == 0.0
    sheet = json.loads(run(tmp_path, FOUND, "boltup", "--json").output)
    assert (sheet["missing"], sheet["loose"]) == ([], [3, 4])
    made = assess(study_of(FOUND))
    alt = bolt_alt(made, "still", JOINT)
    assert "bolts 3, 4 loose" in alt
    assert " 0 N at bolt" not in alt
    assert not {3, 4} & {bolt for each in envelope(made) for bolt in (each.least_bolt, each.greatest_bolt)}


@pytest.mark.parametrize("text", [FOUND, METAL, BOUNDS, TARGET, torques(CYCLES, [90, 90, 90, 5, 90, 90, 90, 90])])
def test_the_report_is_written_and_every_worked_line_recomputes(tmp_path, text):
    """A worked line that does not come to what was judged stops the report."""
    for kind in ("md", "html") if text == TARGET else ("md",):
        ended = run(tmp_path, text, "report", "--full", "-o", str(tmp_path / f"r.{kind}"))
        assert ended.exit_code in (0, 1), ended.output
    page = (tmp_path / "r.md").read_text()
    assert "| loose | - |" in page
    assert "LOOSE (found" in page


@pytest.mark.parametrize("words", [(), ("--repaired",)])
def test_the_sheet_is_written_and_agrees(tmp_path, words):
    page = tmp_path / "sheet.html"
    ended = run(tmp_path, TARGET, "boltup", "-o", str(page), *words)
    assert ended.exit_code == (0 if words else 1), ended.output
    assert "Bolts 3 and 4 were found LOOSE" in page.read_text()
    assert ("judged as carrying nothing" in page.read_text()) is not bool(words)
