"""Where nobody says whether the gasket stays, what is done if it does and what is done if it goes are told apart."""

from __future__ import annotations

import html
import re

import pytest

from anchorsize.assessment import assess
from anchorsize.casefile import parse_case
from anchorsize.present.boltup import sheet_dict, sheet_html
from anchorsize.studies.boltup import boltup
from anchorsize.studies.repaired import repaired
from tests.test_gasket_stays_steps import CASE, GONE, WAITS

REUSED = ", condition: in_place", ", condition: reused"
NOBODY = ", condition: in_place", ""
STAYS, REPLACED = "If the gasket STAYS: ", "If REPLACED: "
APART = (
    "TAKE APART FIRST: line drained, fitting held; loosen the nuts in the order below, in two rounds (first a half turn each, then free; "
    "stop if anything flows); old gasket out, faces cleaned, new gasket "
)
FACES = "Faces clean and whole, old gasket off; gasket new, of the right kind and size, dry and centered."
ALONE = "Pressure off, the missing in first, one bolt out at a time, all others left as they are."


def read(text: str, mended: bool = False):
    study = parse_case(text, "t")
    before = assess(study) if mended else None
    assessment = assess(repaired(study) if mended else study)
    plan = boltup(assessment, before=study if mended else None)
    page = re.sub(r"<style>.*?</style>", " ", str(sheet_html(assessment, plan, before)), flags=re.DOTALL)
    return " ".join(html.unescape(re.sub("<[^>]*>", " ", page)).split()), sheet_dict(assessment, plan, before)


@pytest.mark.parametrize("mended", [False, True])
def test_each_way_has_its_own_start(mended):
    said, data = read(GONE.replace(*NOBODY), mended)
    stays = f"{STAYS}FIT FIRST, without pressure: bolt 3 (M20). Bolts 3 and 7 ONE AFTER THE OTHER"
    goes = f"{REPLACED}{APART}and bolt 3 in."
    order = [said.index(words) for words in (stays, goes, "All nuts hand-tight; the flanges", "Passes at")]
    assert order == sorted(order)
    assert said.count("FIT FIRST") == said.count("TAKE APART FIRST") == 1
    assert data["if_gasket_replaced"] == goes
    assert data["when_fitted"] == f"{STAYS}FIT FIRST, without pressure: bolt 3 (M20)."
    assert data["take_apart"] is None  # for that is where the file says so


@pytest.mark.parametrize("mended", [False, True])
def test_what_is_ticked_for_one_way_says_which(mended):
    said, data = read(GONE.replace(*NOBODY), mended)
    assert said.count(FACES) == said.count(REPLACED + FACES) == 1
    assert said.count(ALONE) == said.count(STAYS + ALONE) == 1
    ask = next(i for i, line in enumerate(data["check_first"]) if line.startswith("ASK whether the gasket stays"))
    assert data["check_first"][ask + 1] == REPLACED + FACES


def test_where_the_engineer_decides_if_it_stays_no_bolt_comes_out_unasked():
    said, data = read(WAITS.replace(*NOBODY))
    assert "one bolt out at a time" not in said
    assert (
        "Bolt 4 was found FAR LOOSER than the others: find out why; inspect or replace it before tightening. If the gasket STAYS: look from "
        "outside, and ASK the engineer before it is turned or taken out." in data["check_first"]
    )
    assert f"{STAYS}FIT ONLY when the engineer says so, without pressure: bolt 5 (M20)." in said
    assert "FIT FIRST" not in said
    assert f"{REPLACED}{APART}and bolt 5 in." in said


def test_with_every_bolt_there_nothing_is_fitted_first():
    said, data = read(CASE.replace(*NOBODY))
    assert "FIT FIRST" not in said
    assert f"{STAYS}Bolts 7 and 3 ONE AFTER THE OTHER" in said
    assert data["if_gasket_replaced"] == f"{REPLACED}{APART}in."


@pytest.mark.parametrize("text", [GONE, GONE.replace(*REUSED), GONE.replace("in_place", "new")])
def test_where_the_file_says_there_is_one_way(text):
    said, data = read(text)
    assert REPLACED not in said
    assert STAYS not in said
    assert data["if_gasket_replaced"] is None
    apart = "TAKE APART FIRST" in said
    assert apart is (text != GONE)
    assert (data["take_apart"] or "").startswith(APART if apart else "")
