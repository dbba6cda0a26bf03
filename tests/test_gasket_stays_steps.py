"""An existing flange whose gasket stays: one order on the sheet, in the turn and with the passes that the bolts found there allow."""

from __future__ import annotations

import html
import re

import pytest

from anchorsize.assessment import assess
from anchorsize.assessment.findings_preload import overstretched
from anchorsize.assessment.findings_target import new_threads
from anchorsize.assessment.results import NotReachedError
from anchorsize.casefile import CaseFileError, parse_case
from anchorsize.present.boltup import sheet_dict, sheet_html
from anchorsize.present.boltup_first import check_first, steps
from anchorsize.present.boltup_passes import first_for_tight, off, order_made
from anchorsize.present.on_site import on_site_text
from anchorsize.studies.boltup import boltup
from anchorsize.studies.repaired import repaired

FOUND = "[180, 180, 60, 180, 180, 180, 0, 180 N*m]"
CASE = f"""\
case_file: 1
title: cap on a wash-water header, as found (invented)
fluid: {{name: water, density: 1000 kg/m^3}}
openings:
  head: {{center: [0, 0, 0 m], outward: [0, 0, 1], bore: 159 mm}}
joints:
  riser:
    at: head
    reference: [0, 1, 0]
    bolts: {{count: 8, size: M20, circle: 240 mm, first_at: 22.5 deg, class: "8.8"}}
    gasket: {{inside: 169 mm, outside: 212 mm, condition: in_place}}
    tightening: {{torque: {FOUND}, target_torque: 180 N*m, nut_factor: 0.2, scatter: 30 %, lubricant: dry}}
allow: {{bolt_tension: 150 MPa, bolt_shear: 90 MPa}}
cases:
  shut: {{head: {{flow_in: 0 L/s, pressure: 3 bar}}}}
"""
GONE = CASE.replace("180, 180, 60", "180, 180, 0").replace("first_at", "missing: [3], first_at")
OWN = (
    "target_torque: [180, 180, 120, 180, 180, 180, 120, 180 N*m], target_nut_factor: "
    "[0.2, 0.2, 0.133, 0.2, 0.2, 0.2, 0.133, 0.2], target_lubricant: moly paste"
)
OWN_THREADS = CASE.replace("target_torque: 180 N*m", OWN)
SOFT = CASE.replace('class: "8.8"', 'class: "4.6"')
ONE_OVER = CASE.replace(FOUND, "[180, 180, 180, 180, 520, 180, 180, 180 N*m]")


def read(text: str):
    assessment = assess(parse_case(text, "t"))
    plan = boltup(assessment)
    page = re.sub(r"<style>.*?</style>", " ", str(sheet_html(assessment, plan)), flags=re.DOTALL)
    return assessment, plan, " ".join(html.unescape(re.sub("<[^>]*>", " ", page)).split())


# -- nothing is cut -----------------------------------------------------------------------------------------------------


def test_no_line_of_the_head_ends_in_the_middle():
    assessment, _, page = read(SOFT)
    assert (
        "Bolts 1, 2, 4, 5, 6 and 8 to be REPLACED, nut too, over yield for good: the engineer says how, since the gasket stays."
        in page
    )
    long = [w.message for w in assessment.warnings if "pull and twist together" in w.message]
    assert max(map(len, long)) > 300
    assert all(message in page for message in long)


def test_a_long_name_is_cut_and_what_is_said_of_it_is_not():
    name = "riser " + "n" * 400
    page = read(SOFT.replace("  riser:", f"  {name}:"))[2]
    assert "nut too, over yield for good: the engineer says how" in page
    assert f"Joint '{name[:149]}…': the torque as found" in page


# -- bolts over yield beside a gasket that stays ------------------------------------------------------------------------


@pytest.mark.parametrize(("text", "over"), [(SOFT, (1, 2, 4, 5, 6, 8)), (ONE_OVER, (5,))])
def test_bolts_to_be_replaced_leave_one_instruction(text, over):
    """1.3 · 180/(0.2 · 0.02) = 58.5 kN on 244.8 mm² is 239 MPa; half the torque twists d = 17.65 mm by 12 T/(π d³) = 62 MPa at least, and
    √(239² + 3 · 62²) = 262 MPa is over the 240 MPa of class 4.6 (ISO 898-1). 520 N·m pull 690 MPa, over the 660 MPa of 8.8.
    """
    assessment, plan, page = read(text)
    assert overstretched(plan.joint) == over
    assert (plan.lacking, plan.groups, steps(plan)) == ("stretched", (), ())
    assert "The engineer decides how" in page
    assert "Do NOT tighten on this sheet." in page
    for words in (
        "Passes at",
        "Torque of each pass",
        "one round at full torque",
        "DO NOT USE THE TORQUE",
        "every bolt is at",
    ):
        assert words not in page
    assert "a target that no bolt exceeds" not in page  # it would not mend a bolt over yield
    assert sheet_dict(assessment, plan)["no_torque"].startswith("NO TORQUE IS GIVEN, and no repair is judged")
    assert "the engineer decides how" in " ".join(on_site_text(assessment, 80).split())
    with pytest.raises(NotReachedError, match="over yield, to be REPLACED, and the gasket stays"):
        repaired(parse_case(text, "t"))


def test_they_leave_it_without_a_target_too():
    assert read(SOFT.replace(" target_torque: 180 N*m,", ""))[1].lacking == "stretched"


def test_where_nobody_says_whether_the_gasket_stays_that_way_ends_with_the_engineer():
    page = read(SOFT.replace(", condition: in_place", ""))[2]
    assert (
        "If the gasket STAYS: bolts 1, 2, 4, 5, 6 and 8, over yield, cannot be replaced by this sheet: go back to the engineer; "
        "do NOT tighten on this sheet." in page
    )
    assert "Torque of each pass, NOT if the gasket STAYS" in page


# -- the passes ---------------------------------------------------------------------------------------------------------


def test_nuts_at_the_target_get_a_round_as_a_check_and_no_passes():
    _, plan, page = read(CASE)
    first, check, _, last = steps(plan)
    assert first.startswith(
        "Bolts 7 and 3 ONE AFTER THE OTHER, in this order: hand-tight, then at once as tight as the engineer says; NO other nut"
    )
    assert check == "Then as a CHECK one round at full torque, bolts 3 and 7 left out, in this order:"
    assert last.startswith("Last, at full torque, bolts 3 and 7 left out, bolt by bolt")
    # the cross pattern of 8, 1 5 3 7 2 6 4 8 (ASME PCC-1), without 3 and 7
    assert order_made(plan) == (1, 5, 2, 6, 4, 8)
    assert "1 → 5 → 2 → 6 → 4 → 8" in page
    assert "60%" not in page
    assert "it covers 180 N·m (132 ft·lbf)" in page


def test_bolts_with_a_torque_of_their_own_get_their_passes_alone():
    """30, 60 and 100 % of 120 N·m are 36, 72 and 120 N·m."""
    assessment, plan, page = read(OWN_THREADS)
    assert "hand-tight, then at once at 30%, 60%, 100% of its torque;" in steps(plan)[0]
    assert steps(plan)[1] == "Then as a CHECK one round at full torque, in this order:"
    passes = sheet_dict(assessment, plan)["passes"]
    assert [[(g["bolts"], round(g["torque_Nm"], 6)) for g in each["groups"]] for each in passes] == [
        [([3, 7], 36.0)],
        [([3, 7], 72.0)],
        [([1, 2, 4, 5, 6, 8], 180.0), ([3, 7], 120.0)],
    ]
    assert "1, 2, 4, 5, 6, 8 (K 0.2) – – 180 / 132" in page


@pytest.mark.parametrize(
    ("tight", "first"),
    [("50", 0), ("54", 1), ("100", 1), ("108", 2), ("150", 2), ("180", 2)],
)
def test_a_pass_is_left_out_where_no_tight_nut_would_turn(tight, first):
    """30 and 60 % of 180 N·m are 54 and 108 N·m: a wrench set to no more than a nut has does not turn it."""
    found = ", ".join("0" if bolt == 7 else tight for bolt in range(1, 9))
    plan = read(CASE.replace(FOUND, f"[{found} N*m]"))[1]
    assert off(plan) == (7,)
    assert first_for_tight(plan) == first


def test_a_gasket_that_goes_gets_every_pass():
    text = CASE.replace("in_place", "reused")
    plan = read(text)[1]
    assert steps(plan)[1] == "Passes at 30%, 60%, 100% of the final torque, each in this order:"
    assert order_made(plan) == (1, 5, 3, 7, 2, 6, 4, 8)


# -- the turn of loose bolts --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "turn"),
    [
        (CASE, (7, 3)),
        (GONE, (3, 7)),
        (CASE.replace(FOUND, "[90, 180, 0, 180, 5, 180, 60, 180 N*m]"), (3, 5, 7, 1)),
        (
            CASE.replace(FOUND, "[0, 180, 60, 180, 180, 180, 0, 180 N*m]").replace(
                "first_at", "missing: [7], first_at"
            ),
            (7, 1, 3),
        ),
    ],
)
def test_the_missing_go_first_then_what_carries_least(text, turn):
    plan = read(text)[1]
    assert off(plan) == turn
    told = f"Bolts {', '.join(map(str, turn[:-1]))} and {turn[-1]}"
    assert steps(plan)[0].startswith(f"{told} ONE AFTER THE OTHER, in this order:")
    assert any(line.startswith(f"{told}, to go in:") for line in check_first(plan, "metric"))


# -- the head of the sheet ----------------------------------------------------------------------------------------------


def test_the_head_names_no_torque_for_bolts_that_must_not_get_it():
    own = "bolts 3 and 7 are as tight as the engineer says and every other bolt is at 180 N·m (132.8 ft·lbf)"
    assert f"Once {own}: " in read(CASE)[2]
    assert f"Once bolt 3 is in, {own}: " in read(GONE)[2]
    assert "every bolt is at 180" not in read(CASE)[2]
    assert "every bolt is at 180 N·m" in read(CASE.replace("in_place", "reused"))[2]


# -- one class for a joint ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("was", "now", "hint"),
    [
        ('class: "8.8"', 'class: ["8.8", "8.8", "4.6"]', "a joint has one class: .*under missing.*the weaker class"),
        ('class: "8.8"', 'class: {all: "8.8", 3: "4.6"}', "a joint has one class: "),
        ("size: M20", "size: [M20, M16]", "bolts of one circle have one size: .*{x, y, size}"),
    ],
)
def test_bolts_that_differ_are_told_how_to_be_written(was, now, hint):
    with pytest.raises(CaseFileError, match=f"a single text is expected here .*{hint}"):
        parse_case(CASE.replace(was, now), "t")


# -- one order for a line in service ------------------------------------------------------------------------------------

TAKE_OUT = "In service: take it out of service (pressure off, locked out)"


@pytest.mark.parametrize(
    ("text", "even"),
    [
        (GONE, "CAUTION: even repaired this joint is not fully judged. Do not start it again before the engineer"),
        (
            GONE.replace("3 bar", "300 bar"),
            "STOP: even repaired this joint does not hold. Do not start it again; go back",
        ),
        (GONE.replace("condition: in_place", "condition: new"), None),
    ],
)
def test_a_repair_that_is_not_fully_judged_leaves_the_joint_as_found_its_order(text, even):
    """The file has bolt 3 missing: a line in service runs without it now, whatever the repair comes to."""
    study = parse_case(text, "t")
    before = assess(study)
    after = assess(repaired(study))
    page = re.sub(
        r"<style>.*?</style>", " ", str(sheet_html(after, boltup(after, None, study), before)), flags=re.DOTALL
    )
    words = " ".join(html.unescape(re.sub("<[^>]*>", " ", page)).split())
    assert words.count("In service:") == words.count(TAKE_OUT) == 1
    assert even is None or even in words
    assert ("even repaired" in words) is (even is not None)


def test_contradicting_pressures_give_the_same_order_as_the_missing_bolt():
    flow = GONE.replace("openings:", "openings:\n  foot: {center: [0, 0, -0.2 m], outward: [0, 0, -1], bore: 159 mm}")
    flow = flow.replace(
        "flow_in: 0 L/s, pressure: 3 bar}}", "flow_in: 20 L/s, pressure: 3 bar}, foot: {pressure: 5 bar}}"
    )
    for text in (
        flow,
        flow.replace("missing: [3], ", "").replace(FOUND.replace("180, 180, 60", "180, 180, 0"), "180 N*m"),
    ):
        assessment, _, page = read(text)
        order = (
            TAKE_OUT if "missing" in text or assessment.verdict == "fails" else "In service: ask the engineer at once"
        )
        assert "contradict each other" in page
        assert page.count("In service:") == page.count(order) >= 1


# -- nothing is taken out that the sheet has no torque to put back --------------------------------------------------------

WAITS = CASE.replace(FOUND, "[180, 180, 180, 100, 0, 180, 180, 180 N*m]").replace("first_at", "missing: [5], first_at")
WAITS = WAITS.replace("lubricant: dry", "target_nut_factor: 0.15, target_lubricant: nickel paste")


def test_where_the_engineer_decides_no_bolt_comes_out_and_no_turn_is_shown():
    assessment, plan, page = read(WAITS)
    assert plan.lacking == "held back"
    ticks = " ".join(check_first(plan, assessment.study.units))
    assert (
        "Bolt 4 was found FAR LOOSER than the others: look from outside, and ASK the engineer before it is turned or taken out."
        in ticks
    )
    assert "Bolt 5, to go in when the engineer says so:" in ticks
    assert "one bolt out at a time" not in page
    assert "inspect or replace it before tightening" not in page
    assert "Do NOT tighten on this sheet." in page
    assert "FIT ONLY when the engineer says so, without pressure: bolt 5 (M20)." in page
    assert "FIT FIRST" not in page
    assert "its turn, black first" not in page
    assert "Order of tightening" not in str(sheet_html(assessment, plan))
    assert "its turn, black first" in read(GONE)[2]


# -- one rule for the threads of every bolt that comes out ------------------------------------------------------------------

STATED = CASE.replace("target_torque: 180 N*m", "target_torque: 180 N*m, target_nut_factor: 0.2")


@pytest.mark.parametrize(
    ("text", "banned"),
    [
        (CASE, (3, 7)),  # nothing said of the threads
        (STATED, (3, 7)),  # the friction found, for all: nobody says what is on threads that were out
        (
            CASE.replace(
                "nut_factor: 0.2", "target_nut_factor: [0.2, 0.2, 0.14, 0.2, 0.2, 0.2, 0.2, 0.2], nut_factor: 0.2"
            ),
            (7,),
        ),
        (STATED.replace("scatter", "target_lubricant: dry, scatter"), ()),  # so somebody says it
    ],
)
def test_the_torque_of_a_bolt_that_comes_out_does_not_hang_on_the_other_bolts(text, banned):
    assert new_threads(parse_case(text, "t").joints["riser"]) == banned


def test_nothing_is_put_on_the_nuts_that_stay_tight_whatever_the_target_says():
    assessment, plan, page = read(STATED.replace("scatter", "target_lubricant: dry, scatter"))
    ticks = " ".join(check_first(plan, assessment.study.units))
    assert (
        "Threads and nut faces of bolts 3 and 7: lubricant: dry. Nothing is put on the others, whose nuts stay tight."
        in ticks
    )
    assert "all alike" not in ticks
    assert "30%, bolts 7 and 3 only" in page
