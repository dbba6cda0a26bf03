"""What an installer is told of a joint as found: how little torque is enough, what is not judged, and which state the sheet leads to."""

from __future__ import annotations

import json
import re
from functools import cache
from pathlib import Path

import pytest
from click.testing import CliRunner
from scipy.optimize import brentq

from anchorsize import assess, parse_case
from anchorsize.assessment.findings_lubricant import LUBRICANTS, lubricant_rows
from anchorsize.assessment.findings_tightening import far_looser
from anchorsize.cli import main
from anchorsize.present.boltup import sheet_dict, sheet_html
from anchorsize.present.pages.flange import ordinal
from anchorsize.present.plain_words import PLAIN, in_plain_words
from anchorsize.present.text import check_report
from anchorsize.present.windows import windows_dict, windows_text
from anchorsize.reference import load
from anchorsize.studies.boltup import boltup
from anchorsize.studies.lost_bolt import without
from anchorsize.studies.repaired import repaired
from anchorsize.studies.torque import window

FOUND = (Path(__file__).parents[1] / "examples" / "elbow_as_found.yaml").read_text()
JOINT = "basin flange"
REUSED, LOOSE = ", condition: reused", "[100, 55, 100, 100, 100, 100, 100, 100 N*m]\n      target_torque: 100 N*m"
AGAIN = re.search(r"      target_nut_factor: .*\n", FOUND)[0]
NEW = FOUND.replace(REUSED, "").replace(LOOSE, "100 N*m").replace(AGAIN, "")
GAP = FOUND.replace('class: "8.8"', 'class: "8.8", missing: [5]')


def joined(text):
    return " ".join(text.split())


def run(folder, text, *words):
    """A command on a file of this text: its name, then its options."""
    (folder / "t.yaml").write_text(text)
    return CliRunner().invoke(main, [words[0], str(folder / "t.yaml"), *words[1:]])


@cache  # many tests ask of the same sheets
def sheet(text):
    """Machine output and page as plain text."""
    assessment = assess(parse_case(text, "t.yaml"))
    plan = boltup(assessment)
    page = str(sheet_html(assessment, plan))
    return sheet_dict(assessment, plan), joined(re.sub(r"<[^>]+>", " ", page.split("</style>")[-1])).replace(
        "&#39;", "'"
    )


def told(text):
    found = window(parse_case(text, "t.yaml"), JOINT)
    return windows_dict([found])[JOINT], joined(windows_text([found], 80, "metric")[0])


@pytest.mark.parametrize(
    ("text", "why"),
    [
        (NEW.replace("y: 11 MPa", "y: 11 MPa, condition: reused"), "wants a new gasket"),
        (NEW.replace(", m: 2, y: 11 MPa", ""), "gasket seating not checked (wants gasket / y)"),
    ],
)
def test_no_lower_end_is_told_where_the_seal_was_not_checked(text, why):
    data, said = told(text)
    assert (data["torque_least_Nm"], data["preload_least_N"]) == (None, None)
    assert data["least_not_known_for"] == ["gasket seating", "gasket in service"]
    assert {each["check"] for each in data["not_counted"]} == {"gasket seating", "gasket in service"}
    assert "LOWER END NOT KNOWN: gasket seating" in said
    assert why in said
    assert "from " not in said.split("LOWER")[0] + said.split("up to")[1].split("scatter")[0]
    assert data["torque_greatest_Nm"] == pytest.approx(told(NEW)[0]["torque_greatest_Nm"], rel=1e-9)


def test_the_lower_end_of_a_new_gasket_is_where_its_seating_is():
    """W_m2 = π b G y at most the least preloads, 0.7 n T/(K d): ASME BPVC VIII-1 App. 2 with T = K F d, solved by a root finder."""

    def used(torque):
        checks = assess(parse_case(NEW.replace("100 N*m", f"{torque!r} N*m"), "t")).cases["pumping"].checks
        return next(float(check.utilization) for check in checks if check.check == "gasket seating")

    data, said = told(NEW)
    assert data["least_by"].startswith("gasket seating")
    assert data["torque_least_Nm"] == pytest.approx(brentq(lambda torque: used(torque) - 1.0, 5.0, 90.0), rel=1e-8)
    assert (data["not_counted"], data["least_not_known_for"]) == ([], [])
    assert "NOT" not in said


def test_slip_that_is_not_counted_is_named_beside_the_lower_end():
    data, said = told(NEW.replace("    face_friction: 0.15\n", ""))
    assert data["torque_least_Nm"] > 0.0
    assert [each["check"] for each in data["not_counted"]] == ["joint slip", "slip at the bolts"]
    assert "! NOT COUNTED in the lower end: joint slip and slip at the bolts not checked (wants face_friction)" in said


def test_every_place_that_prints_a_window_says_what_is_not_in_it(tmp_path):
    words = "LOWER END NOT KNOWN: gasket seating and gasket in service not checked"
    for options in ((), ("--brief",)):
        assert words in joined(run(tmp_path, FOUND, "check", *options).output)
    silent = NEW.replace(", m: 2, y: 11 MPa", "")
    unknown = "LOWER END NOT KNOWN: gasket seating not checked (wants gasket / y)"
    data, page = sheet(silent)
    assert unknown in page
    assert data["tightening"]["torque_least_Nm"] is None
    assert unknown in joined(
        run(tmp_path, silent, "size", "--counts", "8", "--sizes", "M16", "--classes", "8.8").output
    )


def test_the_window_once_repaired_is_that_of_a_file_with_everything_put_right(tmp_path):
    right = windows_dict([window(parse_case(NEW, "t"), JOINT)])[JOINT]
    data = json.loads(run(tmp_path, GAP, "check", "--json").output)
    ends = ("torque_least_Nm", "torque_greatest_Nm")
    after = data["when_repaired"]["tightening"][JOINT]
    assert [after[end] for end in ends] == pytest.approx([right[end] for end in ends], rel=1e-8)
    shown = sheet(GAP)[0]
    assert shown["tightening_of"] == "as repaired"
    assert [shown["tightening"][end] for end in ends] == pytest.approx([right[end] for end in ends], rel=1e-8)
    said = joined(run(tmp_path, GAP, "check", "--brief").output)
    assert f"once repaired: torque from {right['torque_least_Nm']:.2f} N·m (gasket seating" in said


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("gasket_pressure_greatest: 65 MPa", "gasket_pressure_greatest: 20 MPa", "at most "),
        ("y: 11 MPa", "y: 60 MPa", "at least "),
        ("y: 11 MPa", "y: 300 MPa", "no torque does, for gasket seating"),
    ],
)
def test_a_target_outside_the_window_is_marked_at_its_table(tmp_path, old, new, words):
    data, page = sheet(FOUND.replace(old, new))
    assert data["outside_the_window"].startswith(f"THESE TORQUES DO NOT HOLD: {words}")
    assert data["outside_the_window"] in page
    assert page.index("THESE TORQUES DO NOT HOLD") < page.index("Torque of each pass")
    assert "Torque window" in page
    fixed = data["tightening"]["torque_greatest_Nm" if words == "at most " else "torque_least_Nm"]
    if words != "no torque does, for gasket seating":
        inside = FOUND.replace(old, new).replace(
            "target_torque: 100", f"target_torque: {fixed * (0.99 if words == 'at most ' else 1.01)!r}"
        )
        assert sheet(inside)[0]["outside_the_window"] is None
        assert assess(repaired(parse_case(inside, "t"))).verdict == "holds"
    ended = run(tmp_path, FOUND.replace(old, new), "boltup", "-o", str(tmp_path / "s.html"))
    assert "THESE TORQUES DO NOT HOLD" in ended.output
    assert sheet(FOUND)[0]["outside_the_window"] is None


def test_a_bolt_lost_is_not_judged_where_the_joint_without_it_is_not(tmp_path):
    """Every row agrees with the joint without that bolt, and so does the exit code."""
    text = NEW.replace("  bolt_spacing_greatest: 80 mm\n", "")
    study = parse_case(text, "t")
    assert assess(study).verdict == "holds"
    ended = run(tmp_path, text, "check", "--one-lost", "--json")
    rows = json.loads(ended.output)["one_bolt_lost"]
    single = {row["bolt"]: assess(without(study, JOINT, (row["bolt"],))) for row in rows}
    assert {bolt: each.verdict for bolt, each in single.items()} == {row["bolt"]: row["verdict"] for row in rows}
    assert not any(row["holds"] for row in rows)
    assert all([each["check"] for each in row["not_judged"]] == ["widest bolt gap"] for row in rows)
    assert ended.exit_code == run(tmp_path, text, "check", "--without", "3").exit_code == 3
    said = joined(run(tmp_path, text, "check", "--one-lost").output)
    assert "With any one bolt lost: NOT FULLY JUDGED" in said
    assert "widest bolt gap of 'basin flange' is then needed for this job: supply allow / bolt_spacing_greatest" in said
    assert run(tmp_path, text, "check").exit_code == 0
    wide = NEW.replace("bolt_spacing_greatest: 80 mm", "bolt_spacing_greatest: 200 mm")
    assert run(tmp_path, wide, "check", "--one-lost").exit_code == 0
    assert "With any one bolt lost: HOLDS." in joined(run(tmp_path, wide, "check", "--one-lost").output)
    assert run(tmp_path, NEW, "check", "--one-lost").exit_code == 1  # a bolt lost leaves 127 mm where 80 are allowed
    assert "With any one bolt lost: DOES NOT HOLD, whichever it is (widest bolt gap fails then)." in sheet(NEW)[1]


def test_a_weight_that_nobody_gave_is_loud(tmp_path):
    text = re.sub(r"  mass: .*\n  mass_center: .*\n", "", NEW)
    words = "WEIGHT NOT GIVEN: the fitting's mass is not given"
    for options in (("check",), ("check", "--brief"), ("boltup", "-o", str(tmp_path / "s.html"))):
        head = joined(run(tmp_path, text, *options).output).split("Rests on the allowables")[0]
        assert words in head
        assert words not in joined(run(tmp_path, NEW, *options, *(["--force"] if "-o" in options else [])).output)
    data, page = sheet(text)
    assert words in page
    assert "WEIGHT NOT KNOWN" in page.split("Before loosening any bolt")[0]
    assert data["empty_weight_N"] is None
    assert "WEIGHT NOT KNOWN" not in sheet(NEW)[1]
    report = tmp_path / "r.md"
    assert run(tmp_path, text, "report", "--no-limits", "-o", str(report)).exit_code == 0
    assert words in report.read_text().split("Governs")[0]


def test_a_shape_without_wall_has_no_weight_either():
    shape = "  shape: {kind: elbow, start: [0, 0, 0 m], direction: [1, 0, 0], bore: 107 mm, turn: 90 deg, toward: [0, 0, -1], radius: 150 mm}\n"
    text = re.sub(r"fitting:\n(  .*\n)+\nopenings:\n(  .*\n)+", f"fitting:\n{shape}", NEW)
    assert "WEIGHT NOT GIVEN" in check_report(assess(parse_case(text, "t")), 80).split("Governs")[0]


@pytest.mark.parametrize(
    ("lubricant", "factor", "share"),
    [
        ("copper grease", 0.2, "25% to 67% harder"),  # 0.20/0.16 and 0.20/0.12
        ("Anti-Seize paste", 0.2, "25% to 67% harder"),
        ("molybdenum disulfide", 0.2, "67% to 82% harder"),  # 0.20/0.12 and 0.20/0.11
        ("graphite", 0.2, "122% harder"),  # 0.20/0.09
        ("dry", 0.12, "20% to 66% less"),  # 1 - 0.12/0.15 and 1 - 0.12/0.35
        ("copper grease", 0.16, None),
        ("dry", 0.2, None),
        ("light oil", 0.15, None),
        ("the one in the blue tin", 0.2, None),
        ("aluminum foil", 0.3, None),  # no oil in it
    ],
)
def test_a_nut_factor_that_the_lubricant_has_not_is_told(lubricant, factor, share):
    text = NEW.replace("nut_factor: 0.2", f"nut_factor: {factor}").replace("lubricant: dry", f"lubricant: {lubricant}")
    found = [w for w in assess(parse_case(text, "t")).warnings if w.kind == "nut factor is not the lubricant's"]
    assert len(found) == (share is not None)
    for each in found:
        assert each.doubtful
        assert share in each.message
        for row in lubricant_rows(lubricant):
            assert f"'{row['condition']}'" in each.message
            assert row["source"] in each.message


def test_every_row_that_a_lubricant_names_is_in_the_table():
    conditions = {row["condition"] for row in load("nut_factors").rows}
    assert {name for _, names in LUBRICANTS for name in names} <= conditions


@pytest.mark.parametrize(("torque", "loose"), [(79.0, [2]), (81.0, []), (0.0, []), (100.0, [])])
def test_a_bolt_far_looser_than_the_others_is_told(torque, loose):
    """Under 0.8 of the median of the others; one at nothing is told as loose."""
    text = FOUND.replace("[100, 55,", f"[100, {torque},")
    study = parse_case(text, "t")
    assert list(far_looser(study.joints[JOINT])) == loose
    head = check_report(assess(study), 80).split("Governs")[0]
    assert ("FAR LOOSER" in head) is bool(loose)
    data, page = sheet(text)
    assert any("Bolt 2 was found FAR LOOSER" in line for line in data["check_first"]) is bool(loose)
    assert ("bolt 2 at 79% of their median" in page) is bool(loose)


def test_the_repaired_sheet_still_says_what_was_found_loose(tmp_path):
    page = tmp_path / "s.html"
    assert run(tmp_path, GAP, "boltup", "--repaired", "-o", str(page)).exit_code == 0
    assert "Bolt 2 was found FAR LOOSER" in page.read_text()
    assert "FIT FIRST, without pressure: bolt 5 (M16) and a NEW gasket." in page.read_text()


def test_the_sheet_leads_to_the_whole_joint():
    data, page = sheet(GAP)
    assert "8 × M16" in data["joint_facts"]["Bolts"]
    assert data["joint_facts"]["Bolts"].endswith("7 present, bolt 5 MISSING")
    assert "FIT FIRST, without pressure: bolt 5 (M16) and a NEW gasket." in page
    assert page.count("→") == 7  # one order, of all eight bolts
    assert "1 → 5 → 3 → 7 → 2 → 6 → 4 → 8" in page
    assert "NOT to be tightened without bolt 5: widest bolt gap fails then, whatever the torque." in page
    assert "ONLY where the engineer" not in sheet(FOUND)[1]
    assert "FIT FIRST, without pressure: a NEW gasket." in sheet(FOUND)[1]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (GAP, "STOP, as found it DOES NOT HOLD. In service: take it out of service (pressure off, locked out). Not in service: do not start it as it is. Once bolt 5 is in, a NEW gasket is fitted and every bolt is at 100 N·m (73.76 ft·lbf): HOLDS, on the same assumptions"),
        (GAP.replace("65 MPa", "20 MPa"), "STOP, as found it DOES NOT HOLD. In service: take it out of service (pressure off, locked out). Not in service: do not start it. Once bolt 5 is in, a NEW gasket is fitted and every bolt is at 100 N·m (73.76 ft·lbf): still DOES NOT HOLD"),
        (FOUND, "STOP, as found it is NOT FULLY JUDGED. In service: ask the engineer at once whether it may stay in. Not in service: do not start it as it is. Once a NEW gasket is fitted"),
        (NEW.replace("100 N*m", "100 N*m\n      target_torque: 230 N*m"), "STOP: as found it holds, but not as this sheet leads to."),
    ],
)  # fmt: skip
def test_the_bar_says_which_verdict_to_follow(text, words):
    data, page = sheet(text)
    assert data["as_found"].startswith(words)
    assert data["as_found"] in page
    assert page.count("STOP") == 1
    assert ("go back to the engineer" in page.lower()) is ("HOLDS, on the same" not in data["as_found"])


def test_a_sheet_that_leads_to_what_does_not_hold_ends_so(tmp_path):
    text = NEW.replace("100 N*m", "100 N*m\n      target_torque: 230 N*m")
    assert run(tmp_path, text, "check").exit_code == 0
    assert run(tmp_path, text, "boltup", "--json").exit_code == 1
    assert run(tmp_path, NEW, "boltup", "--json").exit_code == 0


def test_the_repaired_state_does_not_contradict_itself():
    found = parse_case(GAP, "t")
    assert "bolt 5 is missing, so what the file has for it under torque is not used" in " ".join(
        assess(found).assumptions
    )
    assert "missing, so" not in " ".join(assess(repaired(found)).assumptions)
    bounds = "Where bolts are missing and the stiffness"
    assert bounds not in " ".join(assess(found).assumptions)
    soft = parse_case(GAP.replace("    bolt_modulus: 205 GPa\n", ""), "t")
    assert bounds in " ".join(assess(soft).assumptions)


@pytest.mark.parametrize("name", ["r.html", "r.md"])
def test_report_and_limits_of_the_repaired_state(tmp_path, name):
    page = tmp_path / name
    ended = run(tmp_path, GAP, "report", "--repaired", "--no-limits", "-o", str(page))
    assert ended.exit_code == 0
    assert "bolt 5 fitted" in ended.stderr
    text = page.read_text()
    bar = "The repaired state, not the joint as found. Holds ONLY when bolt 5 is in, a NEW gasket is fitted and every bolt is at 100 N·m"
    assert text.index(bar) < text.index("HOLDS: all")
    assert "as if repaired" in text
    assert "The repaired state" not in _written(tmp_path, NEW, name)
    assert run(tmp_path, GAP, "report", "--repaired", "--without", "2", "-o", str(tmp_path / "n.md")).exit_code == 2


def _written(folder, text, name):
    page = folder / f"other {name}"
    run(folder, text, "report", "--no-limits", "-o", str(page))
    return page.read_text()


def test_limits_of_the_repaired_state_are_those_of_a_file_put_right(tmp_path):
    ask = ("limits", "--case", "shut in", "--points", "3", "--json")
    mended, right = run(tmp_path, GAP, *ask, "--repaired"), run(tmp_path, NEW, *ask)
    assert (mended.exit_code, right.exit_code) == (0, 0)
    ends = [json.loads(each.stdout)["cases"]["shut in"]["pressure_Pa"] for each in (mended, right)]
    assert ends[0] == pytest.approx(ends[1], rel=1e-9)
    assert run(tmp_path, GAP, *ask).exit_code == 1


def test_words_of_the_trade_are_told_once_and_only_those_used(tmp_path):
    page, brief = sheet(FOUND)[1], joined(run(tmp_path, FOUND, "check", "--brief").output)
    for text in (page, brief):
        assert text.count("In plain words:") == 1
        meant = text.split("In plain words:")[1]
        assert "utilization = share of what is allowed that is used" in meant
        assert "nut factor K = friction" in meant
    assert in_plain_words("nothing of the kind") == ""
    assert all(re.search(found, word, re.IGNORECASE) for found, word, _ in PLAIN)
    assert "the gap" not in page.lower()
    assert "closed the gap" not in sheet(NEW.replace("  bolt_shear: 90 MPa\n", ""))[1]


@pytest.mark.parametrize(
    ("turn", "words"),
    [(1, "1st"), (2, "2nd"), (3, "3rd"), (4, "4th"), (11, "11th"), (12, "12th"), (21, "21st"), (112, "112th")],
)
def test_turns_are_told_as_no_number_of_a_bolt(turn, words):
    assert ordinal(turn) == words
