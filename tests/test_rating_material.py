"""A flange rating from the table is that of carbon steel: it is told, and doubted beside stainless bolts."""

from __future__ import annotations

import pytest

from anchorsize.assessment import Assessment, assess
from anchorsize.assessment.results import Finding
from anchorsize.casefile import parse_case

KIND = "rating of another material"

# All figures invented. No flow and no weight that matters: the pressure alone asks for the rating.
CASE = """\
case_file: 1
title: dosing spool
units: metric
fluid: {name: water, temperature: 80 degC}
fitting: {mass: 0.01 kg, mass_center: [0, 0, 0.1 m], contents: 0.01 L, contents_center: [0, 0, 0.1 m]}
openings:
  low: {center: [0, 0, 0 m], outward: [0, 0, -1], bore: 78 mm}
  high: {center: [0, 0, 0.2 m], outward: [0, 0, 1], bore: 78 mm}
joints:
  main:
    at: low
    reference: [1, 0, 0]
    bolts: {count: 4, size: 5/8 in, circle: 152.4 mm, first_at: 45 deg, class: BOLTS}
    gasket: {inside: 89 mm, outside: 127 mm}
    flange: {designation: FLANGE, rating: RATING}
allow: {bolt_tension: 150 MPa}
cases:
  run: {low: {flow_in: 0 L/s, pressure: PRESSURE}, high: {pressure: PRESSURE, exit: capped}}
"""
B16 = "ASME B16.5 class 150 NPS 3"


def judged(
    bolts: str = "B8M class 2", pressure: str = "12 bar", rating: str = "from table", flange: str = B16
) -> Assessment:
    text = CASE.replace("BOLTS", bolts).replace("PRESSURE", pressure).replace("RATING", rating)
    return assess(parse_case(text.replace("FLANGE", flange), "spool.yaml"))


def told(result: Assessment) -> list[Finding]:
    return [each for each in result.warnings if each.kind == KIND]


def used(result: Assessment) -> float:
    (check,) = (check for case in result.cases.values() for check in case.checks if check.check == "flange rating")
    return float(check.utilization)


def test_a_rating_that_a_stainless_flange_may_not_have_is_doubted() -> None:
    """ASME B16.5 group 1.1, class 150 has 19.2 bar at 50 °C and 17.7 bar at 100 °C: 18.3 bar at 80 °C, by hand.

    Group 2.3 (304L, 316L) has 15.3 and 13.3 bar there (from memory): 14.1 bar, which the demand below passes.
    """
    result = judged(pressure="15.5 bar")
    assert used(result) * 18.3 > 14.1
    assert result.doubtful
    (finding,) = told(result)
    assert finding.doubtful
    assert "ASME B16.5 group 1.1" in finding.message
    assert "1830 kPa" in finding.message
    assert f"holds at {used(result):.3f}" in finding.message
    assert f"lower by more than {100 * (1 - used(result)):.2g} % fails it" in finding.message


def test_where_a_stainless_flange_holds_too_it_is_told_without_doubt() -> None:
    result = judged(pressure="4 bar")
    assert used(result) < 0.6
    (finding,) = told(result)
    assert not finding.doubtful


def test_a_rating_that_fails_as_it_is_needs_no_doubt() -> None:
    result = judged(pressure="30 bar")
    assert used(result) > 1.0
    (finding,) = told(result)
    assert not finding.doubtful
    assert "holds" not in finding.message


@pytest.mark.parametrize(("bolts", "rating"), [("B7", "from table"), ("B8M class 2", "14.1 bar")])
def test_nothing_is_found_of_carbon_steel_bolts_or_of_a_rating_that_was_given(bolts: str, rating: str) -> None:
    assert not told(judged(bolts, "10 bar", rating))


@pytest.mark.parametrize(
    ("flange", "group"), [(B16, "ASME B16.5 group 1.1"), ("EN 1092-1 PN 16 DN 80", "EN 1092-1 group 3E0")]
)
def test_the_material_of_a_rating_from_the_table_is_among_the_assumptions(flange: str, group: str) -> None:
    """The groups as the standards name them: carbon steel is 1.1 in ASME B16.5 and 3E0 in EN 1092-1."""
    (line,) = (each for each in judged("B7", "10 bar", flange=flange).assumptions if "carbon steel" in each)
    assert "'main'" in line
    assert group in line


def test_a_rating_that_was_given_is_of_no_table() -> None:
    assert not any("carbon steel" in each for each in judged("B7", "10 bar", "18 bar").assumptions)
