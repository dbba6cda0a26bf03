"""One torque without a target on threads that a repair cleans: for which friction it is, is asked wherever the gasket goes.

And what was not checked is told of the joint as found apart from what its repair leaves open.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from anchorsize.assessment import assess
from anchorsize.assessment.findings_target import FRICTION_AS_FOUND
from anchorsize.casefile import parse_case
from anchorsize.present.boltup import sheet_dict, written_text
from anchorsize.present.text import verdict_text
from anchorsize.studies.boltup import boltup
from anchorsize.studies.repaired import repaired

WYE = (Path(__file__).parent.parent / "examples" / "wye_missing_bolt.yaml").read_text(encoding="utf-8")
ASKED = "ASK BEFORE TIGHTENING: the torque counts on the friction as found, also for threads cleaned, greased or new (K 0.2)"


def called(condition, text=WYE):
    return text.replace("y: 11 MPa}", f"y: 11 MPa, condition: {condition}}}")


GREASE = ("torque: 210 N*m,", "torque: 210 N*m, lubricant: graphite grease,")
ALL_IN = ("missing: [3], ", "")
NO_GASKET = tuple(line for line in WYE.splitlines() if "gasket" in line and "leaks" not in line)
BARE = "\n".join(line for line in WYE.splitlines() if line not in NO_GASKET)


def found(text):
    return [w for w in assess(parse_case(text, "t")).warnings if w.kind == FRICTION_AS_FOUND]


def loud(text):
    assessment = assess(parse_case(text, "t"))
    return " ".join(written_text(assessment, boltup(assessment), "sheet.html").split())


@pytest.mark.parametrize("text", [called("reused"), called("new"), BARE, called("reused").replace(*ALL_IN)])
def test_it_is_asked_and_the_repair_stands_on_a_doubtful_figure(text):
    study = parse_case(text, "t")
    (as_found,), (after,) = (
        [w for w in assess(each).warnings if w.kind == FRICTION_AS_FOUND] for each in (study, repaired(study))
    )
    for each in (as_found, after):
        assert ASKED in each.message
        # 0.2 over 0.075, the least of table nut_factors, is 2.7
        assert "it pulls 2.7 times as hard" in each.message
    assert (as_found.doubtful, after.doubtful) == (False, True)
    assert ASKED in loud(text)
    said = " ".join(verdict_text(assess(repaired(study)), 80).split())
    assert "ON DOUBTFUL INPUT" in said
    assert said.count("ASK BEFORE TIGHTENING") == 1


def test_it_is_not_where_the_threads_stay_are_said_or_were_not_used():
    assert not found(called("in_place"))  # told of bolt 3 alone there: its torque is not for it
    assert not found(WYE)  # not said: the same, if it stays
    assert not found(called("reused").replace(*GREASE))
    assert not found(called("new").replace(*ALL_IN))  # a first bolting
    assert not found(called("new").replace("torque: 210 N*m", "preload: 52 kN"))  # K only turns it into a torque


def test_what_was_not_checked_is_told_of_the_joint_as_found_apart_from_its_repair():
    study = parse_case(called("reused"), "t")
    before, after = ({each.check for each in assess(state).not_checked} for state in (study, repaired(study)))
    assert before - after == {"gasket seating", "gasket in service"}  # a used gasket has no factors of a new one
    assessment = assess(study)
    told = sheet_dict(assessment, boltup(assessment))["not_checked"]
    assert told.endswith("; as found: gasket seating, gasket in service.")
    for name in after:
        assert name in told.split(";")[0]
    plain = assess(parse_case(WYE, "t"))
    assert "as found" not in sheet_dict(plain, boltup(plain))["not_checked"]
