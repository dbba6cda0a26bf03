"""A bolt found far too tight: stretched over yield, however sound it looks, so a joint that is taken apart gets a new one."""

from __future__ import annotations

import html
import re

import pytest

from anchorsize.assessment import StudyError, assess
from anchorsize.assessment.findings_preload import TWIST, overstretched
from anchorsize.assessment.findings_tightening import far_looser
from anchorsize.casefile import parse_case
from anchorsize.present.boltup import sheet_html
from anchorsize.present.boltup_first import check_first
from anchorsize.present.repaired import repair_dict
from anchorsize.studies.boltup import boltup

CASE = """\
case_file: 1
title: drop elbow with one bolt overtight (invented)
fluid: {name: water, density: 1000 kg/m^3}
openings:
  top: {center: [0, 0, 0 m], outward: [0, 0, 1], bore: 102 mm}
joints:
  head:
    at: top
    reference: [0, 1, 0]
    bolts: {count: 8, size: M16, circle: 190 mm, first_at: 22.5 deg, class: "8.8", missing: [3]}
    gasket: {inside: 115 mm, outside: 157 mm, condition: reused}
    tightening: {torque: [80, 80, 0, 80, 290, 80, 80, 80 N*m], target_torque: 80 N*m, nut_factor: 0.2, scatter: 30 %,
      target_nut_factor: 0.16, target_lubricant: nickel paste}
allow: {bolt_tension: 170 MPa, bolt_shear: 100 MPa}
cases:
  shut: {top: {flow_in: 0 L/s, pressure: 8 bar}}
"""


def read(text: str):
    assessment = assess(parse_case(text, "t"))
    plan = boltup(assessment)
    page = " ".join(html.unescape(re.sub("<[^>]*>", " ", sheet_html(assessment, plan))).split())
    return assessment, check_first(plan, "metric"), page


def test_bolts_over_yield_by_pull_and_twist_by_hand():
    """1.3 · 290/(0.2 · 0.016) = 118 kN on 157 mm² is 750 MPa, over the 640 MPa of 8.8 (ISO 898-1) by the pull alone.

    At 230 N·m the pull is 595 MPa; half the torque, 115 N·m, twists it by 16 T/(π d³) on 14.14 mm, 207 MPa, and √(595² + 3 · 207²) is
    695 MPa, over yield too. At 150 N·m those are 388, 135 and 453 MPa, under it.
    """
    for torque, gone in (("290", (5,)), ("230", (5,)), ("150", ()), ("80", ())):
        joint = parse_case(CASE.replace("290", torque), "t").joints["head"]
        assert overstretched(joint) == gone
    no_yield = parse_case(CASE.replace(', class: "8.8"', ""), "t").joints["head"]
    assert overstretched(no_yield) == ()


def test_the_bolt_is_named_wherever_the_repair_is_told():
    assessment, first, page = read(CASE)
    (told,) = (w.message for w in assessment.warnings if w.kind == TWIST)
    assert "the torque as found brought bolt 5 to" in told
    assert told.endswith("REPLACE bolt 5, nut too: over yield for good.")
    tick = "Bolt 5 was found OVERTIGHT, over yield by the torque found: a NEW one in its place, nut too, however sound it looks."
    assert tick in first
    assert "Once bolt 3 is in, bolt 5 is REPLACED, a NEW gasket is fitted and every bolt is at 80 N·m" in page
    data = repair_dict(assessment)
    assert data["replaced"] == {"head": [5]}
    assert data["words"].startswith("With bolt 3 fitted, bolt 5 replaced, all at 80 N·m")


def test_where_the_gasket_stays_or_nobody_says_it_the_engineer_is_asked_first():
    ask = "ASK the engineer before it is turned."
    assert any("OVERTIGHT" in line and line.endswith(ask) for line in read(CASE.replace("reused", "in_place"))[1])
    not_said = read(CASE.replace(", condition: reused", ""))[1]
    assert any("OVERTIGHT" in line and line.endswith("If the gasket stays, ASK first.") for line in not_said)


def test_bolts_that_are_sound_are_not_told_of():
    assessment, first, page = read(CASE.replace("290", "110"))
    assert not any("OVERTIGHT" in line for line in first)
    assert "REPLACED, a" not in page
    assert repair_dict(assessment)["replaced"] == {}


def test_a_torque_found_that_would_have_broken_the_bolt_says_which_and_what_to_write():
    """1.3 · 400/(0.2 · 0.016 · 157 mm²) = 1035 MPa, over the 800 MPa of class 8.8 (ISO 898-1)."""
    with pytest.raises(StudyError, match="as found, bolt 5 would be pulled at 1035 MPa") as caught:
        assess(parse_case(CASE.replace("290", "400"), "t"))
    assert "write it as one to be replaced, bolts / missing: [5]" in str(caught.value)
    text = CASE.replace("290", "-").replace("missing: [3]", "missing: [3, 5]")
    assert "Once bolts 3 and 5 are in" in read(text)[2]


def test_beside_one_overtight_bolt_the_others_are_not_far_looser():
    """Three bolts of four at 70, 195 and 70: the others of one at 70 are 195 and 70, and it has the lesser of them."""
    four = CASE.replace("count: 8", "count: 4").replace("[80, 80, 0, 80, 290, 80, 80, 80 N*m]", "[70, 195, 0, 70 N*m]")
    assert far_looser(parse_case(four, "t").joints["head"]) == {}
    assert list(far_looser(parse_case(four.replace("[70, 195, 0, 70", "[70, 195, 0, 40"), "t").joints["head"])) == [4]
