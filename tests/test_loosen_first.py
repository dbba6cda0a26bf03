"""Nuts found tight that the sheet tightens anew from hand-tight are loosened first; a gasket that they squeezed is replaced."""

from __future__ import annotations

import html as markup
import re

import pytest

from anchorsize.assessment import assess
from anchorsize.casefile import parse_case
from anchorsize.present.boltup import sheet_dict, sheet_html
from anchorsize.present.boltup_first import steps
from anchorsize.present.on_site import on_site_text
from anchorsize.studies.boltup import boltup
from anchorsize.studies.repaired import repair, repaired
from tests.browser import load
from tests.test_sheet_readable import READABLE, TEE, WORKED_WITH, printed, sizes
from tests.test_window_on_target_threads import IN_PLACE, NEW, NOT_SAID, TIGHT

REUSED = NEW.replace("condition: new", "condition: reused")
# a bolt missing beside tight ones is that of a joint found in service, whatever it is to be tightened to; a first bolting has all of them
ONE_TORQUE = NEW.replace(TIGHT, "torque: 120 N*m, nut_factor: 0.11, scatter: 30 %, relaxation: 10 %")
ONE_TARGET = NEW.replace(
    TIGHT, "torque: 120 N*m, nut_factor: 0.11, scatter: 30 %, relaxation: 10 %, target_torque: 120 N*m"
)
FIRST, AT_TARGET = (each.replace(" missing: [7],", "") for each in (ONE_TORQUE, ONE_TARGET))
LOWER = NEW.replace(TIGHT, "torque: 150 N*m, nut_factor: 0.2, lubricant: dry, scatter: 30 %, target_torque: 120 N*m")
GREASED_ONLY = NEW.replace(TIGHT, f"{TIGHT}".replace("target_torque: 120", "target_torque: 150"))
NOT_YET = NEW.replace("torque: 150 N*m, nut", "torque: 0 N*m, nut")
ONE_LOOSE = NEW.replace("torque: 150 N*m, nut", "torque: {all: 150 N*m, 3: 0 N*m}, nut")
CROWDED = TEE.replace("condition: reused", "condition: new")
RING = re.compile(r"    gasket: .*\n|  gasket_pressure_greatest: 60 MPa\n")
NO_RING, LOWER_BARE, GREASED_BARE, ONE_LOOSE_BARE = (
    RING.sub("", each) for each in (NEW, LOWER, GREASED_ONLY, ONE_LOOSE)
)
TOO_STRONG = NEW.replace("target_torque: 120 N*m", "target_torque: 900 N*m")
ROUNDS = "line drained, fitting held; loosen the nuts in the order below, in two rounds (first a half turn each, then free; stop if anything flows)"


def data(text, mended=False):
    study = parse_case(text, "t")
    assessment = assess(repaired(study) if mended else study)
    before = assess(study) if mended else None
    return sheet_dict(assessment, boltup(assessment, before=study if mended else None), before)


@pytest.mark.parametrize("text", [NO_RING, LOWER_BARE, GREASED_BARE, ONE_LOOSE_BARE])
@pytest.mark.parametrize("mended", [False, True])
def test_nuts_found_tight_are_loosened_before_they_are_tightened_anew(text, mended):
    apart = data(text, mended)["take_apart"]
    assert apart.startswith("LOOSEN FIRST, found tight")
    assert ROUNDS in apart
    assert apart.endswith("all nuts hand-tight.")
    assert "gasket" not in apart
    plan = boltup(assess(parse_case(text, "t")))
    assert steps(plan)[0].startswith("All nuts hand-tight")


@pytest.mark.parametrize("text", [NEW, LOWER, GREASED_ONLY, ONE_LOOSE, CROWDED, ONE_TORQUE, ONE_TARGET])
@pytest.mark.parametrize("mended", [False, True])
def test_a_gasket_called_new_that_they_squeezed_is_replaced_before_it_is_pressed_again(text, mended):
    """Loosened, it has been pressed once already: its m and y are those of one that never was."""
    told = data(text, mended)
    assert told["take_apart"].startswith(f"TAKE APART FIRST: {ROUNDS}; old gasket out, faces cleaned, new gasket in; ")
    assert "squeezed already: FIT A NEW ONE" in told["joint_facts"]["Gasket"]
    study = parse_case(text, "t")
    assert repair(assess(study)).new_gaskets == tuple(study.joints)
    assert "a new gasket" in " ".join(repaired(study).notes)


def test_it_is_said_in_the_words_of_a_joint_whose_gasket_is_replaced():
    assert data(REUSED)["take_apart"].startswith(f"TAKE APART FIRST: {ROUNDS}; old gasket out")


def test_threads_are_cleaned_as_the_target_counts_on():
    assert "; threads and nut faces cleaned, lubricant: molybdenum paste; " in data(NO_RING)["take_apart"]
    assert "threads" not in data(LOWER_BARE)["take_apart"]  # the target counts on those found
    own = NO_RING.replace("target_nut_factor: 0.11", "target_nut_factor: {all: 0.2, 7: 0.11}")
    told = data(own)
    assert "; threads and nut faces of bolt 7 cleaned, lubricant: molybdenum paste; " in told["take_apart"]
    assert not any("stay tight" in line for line in told["check_first"])


def test_only_bolts_found_tight_are_named():
    assert data(ONE_LOOSE_BARE)["take_apart"].startswith(
        "LOOSEN FIRST, found tight on bolts 1, 2, 4, 5, 6, 8, 9, 10, 11 and 12: line drained"
    )


@pytest.mark.parametrize("text", [FIRST, AT_TARGET, NOT_YET, IN_PLACE, NOT_SAID])
def test_a_first_bolting_and_what_is_told_otherwise_stay_as_they_are(text):
    assert data(text)["take_apart"] is None


def test_what_is_read_first_says_it_too():
    assert "Gasket: it was squeezed already: fit a new one" in " ".join(
        on_site_text(assess(parse_case(NEW, "t")), 80).split()
    )
    said = " ".join(on_site_text(assess(parse_case(NO_RING, "t")), 80).split())
    assert "Nuts: found tight on bolts 1, 2, 3, 4, 5, 6, 8, 9, 10, 11 and 12: loosened first" in said
    assert "Nuts:" not in on_site_text(assess(parse_case(FIRST, "t")), 80)


@pytest.mark.parametrize(
    ("text", "lead"),
    [
        (NO_RING, "LOOSEN FIRST"),
        (ONE_LOOSE_BARE, "LOOSEN FIRST"),
        (ONE_LOOSE, "TAKE APART FIRST"),
        (CROWDED, "TAKE APART FIRST"),
    ],
)
def test_it_is_read_at_arms_length_on_one_page(text, lead, browser, tmp_path):
    assessment = assess(parse_case(text, "t"))
    page_text = sheet_html(assessment, boltup(assessment))
    assert page_text.count(lead) == 1
    assert markup.unescape(page_text).index(lead) < markup.unescape(page_text).index("All nuts hand-tight;")
    (tmp_path / "sheet.html").write_text(page_text, encoding="utf-8")
    page = load(browser, tmp_path / "sheet.html")
    for paper in ("A4", "Letter"):
        count, found = printed(page.pdf(paper))
        assert count == 1
        working = [size for words in (*WORKED_WITH, lead) for size in sizes(found, words)]
        assert min(working) >= READABLE - 0.01
