"""Bolts found far looser beside a gasket that stays: put right one after the other, and what their side is pressed with meanwhile."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from anchorsize.assessment import assess
from anchorsize.assessment.taken_out import parts_without
from anchorsize.casefile import parse_case
from anchorsize.present.boltup import sheet_html
from anchorsize.present.boltup_first import check_first, steps
from anchorsize.present.on_site import on_site_text
from anchorsize.studies.boltup import boltup

RING = "{inside: 170 mm, outside: 218 mm, condition: in_place}"
CASE = f"""\
case_file: 1
title: elbow under a tank (invented)
fluid: {{name: water, density: 1000 kg/m^3}}
openings:
  tank: {{center: [0, 0, 0 m], outward: [0, 0, 1], bore: 159 mm}}
joints:
  roof:
    at: tank
    reference: [1, 0, 0]
    bolts: {{count: 8, size: M20, circle: 240 mm, first_at: 22.5 deg, class: "8.8"}}
    gasket: {RING}
    tightening:
      torque: [150, 150, 150, 150, 40, 30, 35, 150 N*m]
      target_torque: [150, 150, 150, 150, 105, 105, 105, 150 N*m]
      target_nut_factor: [0.2, 0.2, 0.2, 0.2, 0.14, 0.14, 0.14, 0.2]
      nut_factor: 0.2
allow: {{bolt_tension: 150 MPa, bolt_shear: 90 MPa}}
cases:
  full: {{tank: {{flow_in: 0 L/s, pressure: 60 kPa}}}}
"""
FOUND = "[150, 150, 150, 150, 40, 30, 35, 150 N*m]"


def joint(found: str = FOUND):
    return parse_case(CASE.replace(FOUND, found), "t").joints["roof"]


def out(found: str = FOUND) -> str:
    plan = boltup(assess(parse_case(CASE.replace(FOUND, found), "t")))
    return next(line for line in check_first(plan, "metric") if "FAR LOOSER" in line)


def off_center(torques: np.ndarray) -> float:
    """How far off the middle the resultant of such torques at one friction lies [m], bolts evenly on a circle of 240 mm."""
    angles = np.deg2rad(22.5 + 45.0 * np.arange(8))
    about = [torques @ np.cos(angles), torques @ np.sin(angles)]
    return float(0.12 * np.hypot(*about) / torques.sum())


def test_the_flanges_part_where_the_resultant_leaves_the_kern():
    """Kern of the ring by hand, (109² + 85²) / (4 · 109) = 43.8 mm; with bolt 6 out the resultant is 45.0 mm off, as found 39.2 mm."""
    kern = (0.109**2 + 0.085**2) / (4 * 0.109)
    found = np.array([150.0, 150, 150, 150, 40, 30, 35, 150])
    without_6 = np.where(np.arange(8) == 5, 0.0, found)
    assert off_center(found) < kern < off_center(without_6)
    assert parts_without(joint()) == (5, 6, 7)
    assert "With any of bolts 5, 6 and 7 out the flanges can part there, and the gasket with them: ASK" in out()
    tighter = "[150, 150, 150, 150, 100, 100, 100, 150 N*m]"
    assert parts_without(joint(tighter)) == ()
    assert out(tighter).endswith("one bolt out at a time, all others left as they are.")


@given(st.lists(st.integers(30, 150), min_size=8, max_size=8))
def test_whatever_was_found(torques):
    """Bolts all tight enough to count; loose ones clamp nothing."""
    found = np.array(torques, dtype=float)
    closed = joint("[" + ", ".join(map(str, torques)) + " N*m]")
    kern = (0.109**2 + 0.085**2) / (4 * 0.109)
    for bolt in parts_without(closed):
        assert off_center(np.where(np.arange(8) == bolt - 1, 0.0, found)) > kern * (1.0 - 1e-9)
    assert set(parts_without(closed)) <= set(closed.bolts.numbers)


def test_a_joint_without_a_ring_or_looser_bolts_is_not_judged():
    assert parts_without(joint("[150, 150, 150, 150, 150, 150, 150, 150 N*m]")) == ()
    bare = parse_case(CASE.replace(f"    gasket: {RING}\n", ""), "t").joints["roof"]
    assert parts_without(bare) == ()


def test_the_passes_leave_out_bolts_that_the_torque_is_not_for():
    """A target without a friction of its own for the bolts that come out; one that tight nuts reach only by being loosened."""
    own = CASE.replace("      target_nut_factor: [0.2, 0.2, 0.2, 0.2, 0.14, 0.14, 0.14, 0.2]\n", "")
    _, passes, _, last = steps(boltup(assess(parse_case(own, "t"))))
    assert passes == "Then as a CHECK one round at full torque, bolts 5, 6 and 7 left out, in this order:"
    assert last.startswith("Last, at full torque, bolts 5, 6 and 7 left out, bolt by bolt")
    assert not any("left out" in line for line in steps(boltup(assess(parse_case(CASE, "t")))))


def test_no_steps_are_printed_where_nothing_is_to_be_tightened():
    held = CASE.replace("[150, 150, 150, 150, 105", "[120, 120, 120, 120, 105").replace("0.14, 150", "0.14, 120")
    assessment = assess(parse_case(held, "t"))
    plan = boltup(assessment)
    assert plan.lacking == "held back"
    assert steps(plan) == ()
    page = sheet_html(assessment, plan)
    assert "Do NOT tighten on this sheet." in page
    assert "hand-tight, then" not in page
    assert 'class="steps"' not in page


def test_no_steps_are_referred_to_where_there_are_none():
    held = CASE.replace("[150, 150, 150, 150, 105", "[120, 120, 120, 120, 105").replace("0.14, 150", "0.14, 120")
    gone = held.replace("circle:", "missing: [6], circle:").replace("40, 30, 35", "40, 0, 35")
    assessment = assess(parse_case(gone, "t"))
    plan = boltup(assessment)
    assert plan.lacking == "held back"
    assert "same steps" not in sheet_html(assessment, plan)


def test_a_line_with_a_bolt_gone_gets_one_order_whatever_was_not_judged():
    """Its gasket stays, so that its seal is not judged: with a bolt gone it is taken out of service, with all in the engineer is asked."""
    gone = CASE.replace("circle:", "missing: [6], circle:").replace("40, 30, 35", "150, 0, 150")
    for text, order in (
        (gone, "take it out of service (pressure off, locked out)"),
        (CASE, "ask the engineer at once"),
    ):
        assessment = assess(parse_case(text, "t"))
        said = " ".join(f"{sheet_html(assessment, boltup(assessment))} {on_site_text(assessment, 200)}".split())
        assert assessment.verdict != "holds"
        assert order in said
        assert ("ask the engineer at once" in said) == (text is CASE)


@pytest.mark.parametrize(
    ("told", "tight"),
    [
        (
            CASE,
            "Bolts 6, 7 and 5 ONE AFTER THE OTHER, in this order: hand-tight, then at once at 30%, 60%, 100% of its torque;",
        ),
        (
            CASE.replace("circle:", "missing: [6], circle:").replace("40, 30, 35", "40, 0, 35"),
            "Bolts 6, 7 and 5 ONE AFTER THE OTHER, in this order: hand-tight, then at once at 30%, 60%, 100% of its torque;",
        ),
        (
            CASE.replace("[0.2, 0.2, 0.2, 0.2, 0.14, 0.14, 0.14, 0.2]", "[0.2, 0.2, 0.2, 0.2, 0.14, 0.14, 0.2, 0.2]"),
            "Bolts 6, 7 and 5 ONE AFTER THE OTHER, in this order: hand-tight, then at once at 30%, 60%, 100% of its torque (bolt 7: as tight as the "
            "engineer says);",
        ),
        (
            CASE.replace("40, 30, 35", "150, 150, 35")
            .replace("105, 105, 105", "150, 150, 105")
            .replace("0.14, 0.14, 0.14", "0.2, 0.2, 0.14"),
            "Bolt 7: hand-tight, then at 30%, 60%, 100% of its torque;",
        ),
    ],
)
def test_they_are_never_all_slack_at_once(told, tight):
    first = steps(boltup(assess(parse_case(told, "t"))))[0]
    assert first.startswith(f"{tight} NO other nut is loosened;")
