"""A rating given that no flange of its designation has is doubted: one wrong figure would turn the verdict."""

from __future__ import annotations

import pytest

from anchorsize.assessment import Assessment, assess
from anchorsize.assessment.results import Finding
from anchorsize.casefile import parse_case
from tests.test_rating_material import CASE

KIND = "rating over its class"
PN10 = "EN 1092-1 PN 10 DN 80"
CLASS150 = "ASME B16.5 class 150 NPS 3"


def judged(rating: str, flange: str | None, pressure: str = "12 bar", more: str = "") -> Assessment:
    text = CASE.replace("BOLTS", '"8.8"').replace("PRESSURE", pressure).replace("RATING", rating)
    text = text.replace("FLANGE", flange) if flange else text.replace("designation: FLANGE, ", "")
    if flange and flange.startswith("EN"):  # drilled 8 x M16 on 160 mm (EN 1092-1)
        text = text.replace("count: 4, size: 5/8 in, circle: 152.4 mm", "count: 8, size: M16, circle: 160 mm")
    return assess(parse_case(text.replace("cases:\n", f"cases:\n{more}"), "spool.yaml"))


def told(result: Assessment) -> list[Finding]:
    return [each for each in result.warnings if each.kind == KIND]


@pytest.mark.parametrize(
    ("rating", "flange", "given", "most"),
    [
        # EN 1092-1: no flange stands more than its PN in bar
        ("16 bar", PN10, "1600 kPa", "1000 kPa"),
        ("40 bar", PN10, "4 MPa", "1000 kPa"),
        ("10.3 bar", PN10, "1030 kPa", "1000 kPa"),
        ("25 bar", "EN 1092-1 PN 16 DN 80", "2.5 MPa", "1600 kPa"),
        # ASME B16.5 Table 2-1.1, up to 38 degC: class 150 has 19.6 bar, class 300 has 51.1 bar
        ("51.1 bar", CLASS150, "5.11 MPa", "1960 kPa"),
        ("425 psi", CLASS150, "2.93 MPa", "1960 kPa"),  # 1.5 x 285 psi, the pressure of its test, rounded up to 25 psi
    ],
)
def test_a_rating_over_the_greatest_of_its_class_is_doubted(rating: str, flange: str, given: str, most: str) -> None:
    result = judged(rating, flange)
    (finding,) = told(result)
    assert result.doubtful
    assert finding.doubtful
    for words in ("Joint 'main'", f"the rating given, {given}", f"'{flange}'", most, "rating_factor"):
        assert words in finding.message


def test_the_verdict_that_such_a_figure_turns_is_not_a_plain_one() -> None:
    """12 bar are over the 10 bar of PN 10, whatever else stands in the file."""
    assert judged("10 bar", PN10).verdict == "fails"
    turned = judged("16 bar", PN10)
    assert [
        check.holds for case in turned.cases.values() for check in case.checks if check.check == "flange rating"
    ] == [True]
    assert turned.doubtful


@pytest.mark.parametrize(
    ("rating", "flange"),
    [
        ("10 bar", PN10),
        ("1 MPa", PN10),
        ("145 psi", PN10),
        ("9.2 bar", PN10),
        ("from table", PN10),
        ("285 psi", CLASS150),  # ASME B16.5 in psi, group 1.1
        ("290 psi", CLASS150),  # other materials of ASME B16.5 in psi, from memory
        ("20 bar", CLASS150),  # the same in bar
        ("51.7 bar", "ASME B16.5 class 300 NPS 3"),  # 750 psi, other materials, from memory
        ("40 bar", None),  # no designation
        ("40 bar", "AWWA C207 class D NPS 4"),  # of a standard without tabled ratings
    ],
)
def test_a_rating_that_a_flange_may_have_is_not(rating: str, flange: str | None) -> None:
    assert told(judged(rating, flange)) == []


def test_a_test_pressure_by_rating_factor_is_no_rating_over_its_class() -> None:
    test = "  test: {rating_factor: 1.5, low: {flow_in: 0 L/s, pressure: 15 bar}, high: {pressure: 15 bar, exit: capped}}\n"
    assert told(judged("10 bar", PN10, pressure="5 bar", more=test)) == []
