"""A bolt missing beside tight ones is that of a joint found in service: what its sheet says of nuts, gasket, torque and the empty hole.

Where the gasket goes every tight nut is loosened in an order, one called new that they squeezed is replaced, and all are tightened from
hand-tight. A file that gives no friction has no nut factor, one without a torque has none that must not be used, and a check that fails
with every bolt in is no reason to fill a hole.
"""

from __future__ import annotations

import math
import re

import pytest

from anchorsize.assessment import assess
from anchorsize.assessment.findings_target import NEW_THREADS, tightened_anew
from anchorsize.casefile import parse_case, starter
from anchorsize.present.boltup import sheet_dict, sheet_html, written_text
from anchorsize.present.boltup_first import steps
from anchorsize.present.boltup_window import as_it_is_words
from anchorsize.present.on_site import on_site_text
from anchorsize.studies.boltup import boltup
from anchorsize.studies.repaired import repair, repaired

# Invented: the elbow that the program starts with, its bolt 6 gone.
ELBOW = starter("elbow")
TORQUE = "torque: 90 N*m, nut_factor: 0.2, scatter: 30 %"
PRELOAD = "preload: 28 kN, scatter: 10 %"
FRICTIONS = "torque: 90 N*m, thread_friction: 0.14, bearing_friction: 0.14, bearing_diameter: 21 mm, lubricant: dry"
AT_TARGET = f"{TORQUE}, target_torque: 90 N*m, target_nut_factor: 0.2"
TIGHT = (1, 2, 3, 4, 5, 7, 8)
NO_FRICTION = "lubricant not stated: ask before tightening; friction not given in the file"
OWN = "the engineer gives bolt 6 a torque of its OWN, not that of the others"


def case(tightening, condition="", missing=True, ring=True):
    text = re.sub(r"tightening: \{torque: 90 N\*m.*", f"tightening: {{{tightening}}}", ELBOW, count=1)
    if missing:
        text = text.replace("count: 8,", "count: 8, missing: [6],")
    if condition:
        text = text.replace("y: 11 MPa}", f"y: 11 MPa, condition: {condition}}}")
    return text if ring else re.sub(r"    gasket: .*\n", "", text)


def sheet(text, mended=False):
    study = parse_case(text, "t")
    assessment = assess(repaired(study) if mended else study)
    before = assess(study) if mended else None
    plan = boltup(assessment, before=study if mended else None)
    return sheet_dict(assessment, plan, before), sheet_html(assessment, plan, before), plan


def on_site(text):
    return " ".join(on_site_text(assess(parse_case(text, "t")), 80).split())


@pytest.mark.parametrize("condition", ["", "new", "reused", "in_place"])
@pytest.mark.parametrize(
    ("tightening", "words"),
    [
        (PRELOAD, NO_FRICTION),
        (FRICTIONS, "dry; friction 0.14 in the thread and 0.14 under the nut. The torque is right"),
    ],
)
def test_what_has_no_nut_factor_is_told_once_for_all_bolts(tightening, words, condition):
    for missing in (True, False):
        text = case(tightening, condition, missing)
        data, page, _ = sheet(text)
        said = words
        if (
            condition == "in_place" and tightening == FRICTIONS
        ):  # the torque is for the nuts that stay tight, on their threads
            those = "bolts 1, 2, 3, 4, 5, 7 and 8: " if missing else ""
            said = words.replace("dry;", f"{those}threads left as found (dry), nothing put on;")
        assert data["joint_facts"]["Lubrication"].startswith(said)
        assert "nan" not in page
        assert "K = nan" not in on_site(text)
        assert data["nut_factor"] is None
    if tightening == PRELOAD:
        assert data["joint_facts"]["Lubrication"] == NO_FRICTION  # and no word of torques that are right


@pytest.mark.parametrize("tightening", [TORQUE, PRELOAD, FRICTIONS, AT_TARGET])
@pytest.mark.parametrize("mended", [False, True])
def test_a_gasket_called_new_beside_a_missing_bolt_is_replaced(tightening, mended):
    text = case(tightening, "new")
    data, page, plan = sheet(text, mended)
    assert data["take_apart"].startswith("TAKE APART FIRST: line drained, fitting held; loosen the nuts in the order")
    assert "squeezed already: FIT A NEW ONE" in data["joint_facts"]["Gasket"]
    assert data["when_fitted"].startswith("FIT FIRST, without pressure: bolt 6 (M16) and a NEW gasket.")
    assert "bolt 6 is in, a NEW gasket is fitted and every bolt is at" in page
    assert ("preload holds ONLY for a new gasket" in page) is (mended and tightening == PRELOAD)
    assert ("torque holds ONLY for a new gasket" in page) is (mended and tightening != PRELOAD)
    assert steps(plan)[0].startswith("All nuts hand-tight")
    assert tightened_anew(parse_case(text, "t").joints["main"]) == TIGHT
    assert repair(assess(parse_case(text, "t"))).new_gaskets == ("main",)
    assert "Gasket: it was squeezed already: fit a new one" in on_site(text)


@pytest.mark.parametrize("tightening", [TORQUE, PRELOAD, FRICTIONS, AT_TARGET])
def test_without_a_gasket_its_nuts_are_loosened_first(tightening):
    text = case(tightening, ring=False)
    data, _, plan = sheet(text)
    assert data["take_apart"].startswith("LOOSEN FIRST, found tight: line drained")
    assert data["take_apart"].endswith("all nuts hand-tight.")
    assert steps(plan)[0].startswith("All nuts hand-tight")
    assert "Nuts: found tight on bolts 1, 2, 3, 4, 5, 7 and 8: loosened first" in on_site(text)


@pytest.mark.parametrize(
    "text",
    [
        case(TORQUE, "new", missing=False),
        case(AT_TARGET, "new", missing=False),
        case(AT_TARGET.replace("90", "0", 1), "new"),
        case(TORQUE, missing=False, ring=False),
        case(AT_TARGET.replace("90", "0", 1), ring=False),
        case(TORQUE),
        case(AT_TARGET),
        case(TORQUE, "in_place"),
        case(PRELOAD, "in_place"),
    ],
)
def test_a_first_bolting_and_a_gasket_that_may_stay_loosen_nothing(text):
    data, page, _ = sheet(text)
    assert data["take_apart"] is None
    assert "NEW gasket" not in page


@pytest.mark.parametrize(("condition", "lead"), [("in_place", "The gasket STAYS: "), ("", "If the gasket STAYS: ")])
def test_a_preload_without_friction_has_no_torque_that_must_not_be_used(condition, lead):
    text = case(PRELOAD, condition)
    data, page, _ = sheet(text)
    assert data["no_torque"].startswith("NO TORQUE IS GIVEN: the case file asks for a preload")
    assert lead + OWN in data["no_torque"]
    assert not [w for w in assess(parse_case(text, "t")).warnings if w.kind == NEW_THREADS]
    assert "DO NOT USE THE TORQUE" not in page
    assert "friction as found" not in page
    assert f"Own torque: {lead}{OWN}" in on_site(text)
    assert "Own torque" not in on_site(case(TORQUE, condition))
    # with a friction there is one, and bolt 6 is not for it
    assert [w for w in assess(parse_case(case(TORQUE, condition), "t")).warnings if w.kind == NEW_THREADS]


def test_a_torque_that_is_not_given_is_not_forbidden_either():
    """A target over the tensile strength: no torque is given, so none is named that bolt 6 must not get."""
    strong = f"{TORQUE}, target_torque: 900 N*m"
    plan = boltup(assess(parse_case(case(strong, "in_place"), "t")))
    assert plan.lacking == "too strong"
    told = written_text(assess(parse_case(case(strong, "in_place"), "t")), plan, "s.html")
    assert "DO NOT USE THE TORQUE" not in told
    assert OWN in " ".join(told.split())


def hole(rating="1 bar", widest="110 mm", tightening=TORQUE):
    """8 × M20 on 240 mm: 91.8 mm = 240 sin 22.5° between neighbors, 169.7 mm = 240 sin 45° beside the hole."""
    return (
        case(tightening, "new")
        .replace("size: M16, circle: 180 mm", "size: M20, circle: 240 mm")
        .replace("outside: 220 mm, thickness: 20 mm, hole: 18 mm", f"outside: 290 mm, thickness: 20 mm, hole: 22 mm, rating: {rating}")
        .replace("bolt_tension: 160 MPa", f"bolt_spacing_greatest: {widest}\n  bolt_tension: 160 MPa")
    )  # fmt: skip


@pytest.mark.parametrize(
    ("text", "why"),
    [
        (hole(), "widest bolt gap fails then"),
        (hole(tightening="torque: [90, 80, 90, 90, 90, 90, 90, 90 N*m], nut_factor: 0.2, scatter: 30 %"), "widest bolt gap fails then"),  # no repair is judged
        (hole(rating="40 bar"), "widest bolt gap fails then"),
        (hole(widest="180 mm"), "flange rating fails, with it in too"),
        (hole(widest="80 mm", rating="40 bar"), "widest bolt gap fails, with it in too"),
    ],
)  # fmt: skip
def test_what_the_empty_hole_does_is_the_reason_to_fill_it(text, why):
    """The rating is too low for the pressure alone in 'shut in', 1.8 bar, whatever bolts are in."""
    assessment = assess(parse_case(text, "t"))
    gap = next(c for c in assessment.cases["shut in"].checks if c.check == "widest bolt gap")
    assert float(gap.demand) == pytest.approx(0.240 * math.sin(math.radians(45.0)), rel=1e-9)
    told = as_it_is_words(boltup(assessment), assessment)
    assert told == f"NOT to be tightened without bolt 6: {why}, whatever the torque."
