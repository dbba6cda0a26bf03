"""Whatever a file says of tightening, gasket and missing bolts: a sheet and a report come out, or an error in words; no NaN is printed."""

from __future__ import annotations

import html
import re
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from anchorsize.assessment import StudyError, assess
from anchorsize.casefile import CaseFileError, parse_case
from anchorsize.present.boltup import sheet_dict, sheet_html, written_text
from anchorsize.present.text import check_report
from anchorsize.studies.boltup import boltup
from anchorsize.studies.repaired import repaired

WYE = (Path(__file__).parent.parent / "examples" / "wye_missing_bolt.yaml").read_text(encoding="utf-8")
GIVEN = "torque: 210 N*m, nut_factor: 0.2, scatter: 30 %, relaxation: 10 %"
TIGHT = (
    "torque: 210 N*m",
    "torque: 0 N*m",
    "torque: {all: 210 N*m, 5: 0 N*m}",
    "torque: {all: 210 N*m, 3: 0 N*m}",
    "torque: {all: 210 N*m, 5: 60 N*m, 6: 400 N*m}",
    "preload: 50 kN",
    "preload: 0 kN",
    "preload: {all: 50 kN, 5: 0 kN}",
)
FRICTION = (
    "",
    ", nut_factor: 0.2",
    ", nut_factor: {all: 0.2, 6: 0.15}, lubricant: dry",
    ", thread_friction: 0.14, bearing_friction: 0.14, bearing_diameter: 26 mm",
)
TARGET = (
    "",
    ", target_torque: 210 N*m",
    ", target_torque: 150 N*m, target_nut_factor: 0.14, target_lubricant: paste",
    ", target_torque: {all: 210 N*m, 3: 160 N*m}, target_nut_factor: {all: 0.2, 3: 0.15}",
    ", target_torque: 2000 N*m",
)
CONDITION = ("", ", condition: new", ", condition: reused", ", condition: in_place")
MISSING = ("missing: [3], ", "")


def variant(tight, friction, target, condition, missing):
    text = WYE.replace(GIVEN, f"{tight}{friction}{target}, scatter: 30 %").replace("missing: [3], ", missing)
    return text.replace("y: 11 MPa}", f"y: 11 MPa{condition}}}")


def shown(text):
    """All that a person reads of a file: None where it says that it cannot be judged."""
    try:
        study = parse_case(text, "t")
        assessment = assess(study)
    except (CaseFileError, StudyError):
        return None
    told = [_of(assessment)]
    try:
        mended = assess(repaired(study))
    except StudyError:
        return told[0]
    told.append(_of(mended, study, assessment))
    return "\n".join(told)


def _of(assessment, study=None, before=None):
    plan = boltup(assessment, before=study)
    page = html.unescape(re.sub(r"<(style|svg).*?</\1>|<[^>]*>", " ", sheet_html(assessment, plan, before), flags=re.S))
    facts = str(sheet_dict(assessment, plan, before))
    return " ".join([page, facts, written_text(assessment, plan, "s.html", before), check_report(assessment, 80)])


@settings(max_examples=40, deadline=None)
@given(*(st.sampled_from(each) for each in (TIGHT, FRICTION, TARGET, CONDITION, MISSING)))
def test_something_readable_comes_out(tight, friction, target, condition, missing):
    said = shown(variant(tight, friction, target, condition, missing))
    if said is not None:
        assert not re.search(r"\b(nan|NaN|inf)\b", said)


def test_a_joint_in_which_nothing_is_tightened_gets_no_torque_and_says_why():
    told = shown(variant("torque: 0 N*m", ", nut_factor: 0.2", "", "", ""))
    assert "NO TARGET TORQUE: the file has no bolt tightened, as found; say the torque to tighten to" in told
    assert "Torque: none given (supply target_torque under tightening)" in told
