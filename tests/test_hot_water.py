"""Water over its boiling point, and other hot fluids: what is known of boiling, what is said where nothing is, and who is warned."""

from __future__ import annotations

import math
import re

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from iapws import IAPWS97

from anchorsize import reference
from anchorsize.assessment import assess
from anchorsize.casefile import parse_case
from anchorsize.casefile.problems import CaseFileError
from anchorsize.present.boltup import sheet_dict, sheet_html
from anchorsize.present.brief import brief_report
from anchorsize.present.limits import limits_text
from anchorsize.present.limits_machine import limits_dict
from anchorsize.present.report.further import limits_section
from anchorsize.present.text import check_report
from anchorsize.studies.boltup import boltup
from anchorsize.studies.limits import Ask, limits
from tests.browser import load
from tests.test_sheet_readable import READABLE, TEE, html, printed, sizes

BORE, DENSITY, KELVIN = 0.1, 954.7, 378.15
ATMOSPHERE = 101325.0  # Pa, the standard atmosphere of ISO 2533
VAPOR = IAPWS97(T=KELVIN, x=0).P * 1e6  # of water at 105 °C

# Invented: a level bend of a heating station, both openings at one height, so that heights add nothing to the pressures.
BEND = """
case_file: 1
title: Outlet bend of a heating station (invented)
units: metric
fluid: {name: water, temperature: 105 degC, density: 954.7 kg/m^3}
fitting: {mass: 20 kg, mass_center: [0.1, 0, 0 m], contents: 2 L, contents_center: [0.1, 0, 0 m]}
openings:
  inlet: {center: [0, 0, 0 m], outward: [-1, 0, 0], bore: 100 mm}
  outlet: {center: [0.2, 0.2, 0 m], outward: [0, 1, 0], bore: 100 mm}
joints:
  exchanger:
    at: inlet
    reference: [0, 0, 1]
    bolts: {count: 8, size: M20, circle: 210 mm, first_at: 22.5 deg, class: "8.8"}
    gasket: {inside: 110 mm, outside: 160 mm, thickness: 2 mm, modulus: 800 MPa}
    tightening: {torque: 200 N*m, nut_factor: 0.16, scatter: 25 %, relaxation: 10 %}
    grip: 50 mm
    bolt_modulus: 200 GPa
allow: {bolt_tension: 500 MPa, bolt_shear: 300 MPa, tension_with_shear: circular}
cases:
  summer:
    inlet: {flow_in: 15 L/s, pressure: 1 bar}
    outlet: {pressure: from losses, loss_coefficient: 2}
  drained:
    contents: empty
    inlet: {flow_in: 0 L/s, pressure: 0 bar}
    outlet: {pressure: 0 bar}
"""
SAME = "{name: water, temperature: 105 degC, density: 954.7 kg/m^3}"
LOW = BEND.replace("pressure: 1 bar", "pressure: 0.1 bar")
FLASHES = "flashes to steam as the pressure goes"


def judged(text):
    return assess(parse_case(text, "t"))


def with_fluid(words, text=BEND):
    assert SAME in text
    return text.replace(SAME, words)


def told(text, kind):
    return [each for each in judged(text).warnings if each.kind == kind]


def one_line(text):
    return " ".join(text.split())


@given(st.floats(min_value=273.15, max_value=473.15))
def test_vapor_pressure_up_to_200_degrees_is_that_of_iapws(kelvin):
    found, origin = reference.vapor_pressure("Water", kelvin)
    # the logarithm interpolated over 2 K: 0.05 %, as the table says
    assert found == pytest.approx(IAPWS97(T=kelvin, x=0).P * 1e6, rel=5e-4)
    assert origin.table == "water_saturation"
    assert origin.status == "computed"


def test_saturation_rows_are_those_of_the_published_formulation():
    """Each row to the six figures that it has; IAPWS-IF97 Table 35 vouches for the reference: 0.263889776 × 10⁷ Pa at 500 K."""
    assert pytest.approx(0.263889776e7, rel=1e-8) == IAPWS97(T=500.0, x=0).P * 1e6
    rows = reference.load("water_saturation").rows
    assert [float(row["temperature_degC"]) for row in rows] == list(np.arange(0.0, 201.0, 2.0))
    for row in rows[1:]:
        exact = IAPWS97(T=float(row["temperature_degC"]) + 273.15, x=0).P * 1e6
        assert float(row["vapor_pressure_Pa"]) == pytest.approx(exact, rel=5.1e-6)


def test_no_vapor_pressure_is_known_of_other_fluids_or_farther_up():
    assert reference.vapor_pressure("diesel", 300.0) is None
    assert reference.vapor_pressure("water", 473.2) is None
    assert reference.vapor_pressure("water", np.array([300.0, 480.0])) is None


def test_water_whose_density_is_the_users_boils_where_it_does():
    """120.9 kPa at 105 °C against 111.3 kPa absolute: it boils, and the origin of the figure is told."""
    found = told(LOW, "cavitation")
    assert {(each.case, each.doubtful) for each in found} == {("summer", True)}
    study = judged(LOW).study
    assert study.fluid.vapor_pressure == pytest.approx(VAPOR, rel=5e-4)
    assert "vapor pressure of water" in {each.what for each in study.provenance}
    assert "IAPWS-IF97" in one_line(check_report(judged(LOW), 80))
    assert not told(BEND, "cavitation")  # 201.3 kPa at the inlet, 197.8 kPa behind the loss


def test_a_vapor_pressure_of_the_users_own_stands_before_the_tables():
    own = judged(with_fluid(SAME.replace("}", ", vapor_pressure: 130 kPa}"))).study
    assert own.fluid.vapor_pressure == pytest.approx(130e3)
    assert "vapor pressure of water" not in {each.what for each in own.provenance}


def test_water_without_a_density_over_100_degrees_is_still_refused():
    with pytest.raises(CaseFileError, match="0 to 100"):
        parse_case(with_fluid("{name: water, temperature: 105 degC}"), "t")


def test_a_drained_fitting_holds_nothing_that_boils():
    assert VAPOR > ATMOSPHERE  # so that liquid at no gauge pressure would
    assert "drained" not in {each.case for each in told(LOW, "cavitation")}
    full = BEND.replace("    contents: empty\n", "")
    assert {each.case for each in told(full, "cavitation")} == {"drained"}


def test_a_liquid_boils_before_the_surge_that_raises_its_pressure():
    slam = BEND.replace(
        "flow_in: 15 L/s, pressure: 1 bar}",
        "flow_in: 0 L/s, pressure: 0.1 bar, surge: {stopped_flow: 15 L/s, wave_speed: 1100 m/s}}",
    ).replace("pressure: from losses, loss_coefficient: 2", "pressure: from losses, loss_coefficient: 0")
    found = judged(slam)
    assert float(found.cases["summer"].openings["inlet"].pressure) > VAPOR  # with the surge it is far over
    assert [each.case for each in found.warnings if each.kind == "cavitation"] == ["summer", "summer"]


@pytest.mark.parametrize("fluid", ["{name: thermal oil, density: 880 kg/m^3}", "{name: diesel, temperature: 20 degC}"])
def test_a_liquid_without_vapor_pressure_is_told_as_not_checked(fluid):
    text = with_fluid(fluid)
    (found,) = told(text, "boiling not checked")
    assert (found.case, found.doubtful) == (None, False)
    assert "fluid / vapor_pressure" in found.message
    assert [(each.where, each.needed) for each in judged(text).not_checked if each.check == "boiling"] == [
        ("fluid", False)
    ]
    assert "boiling of 'fluid'" in one_line(brief_report(judged(text), 80))


@pytest.mark.parametrize(
    "fluid",
    [
        SAME,
        "{name: some gas, density: 12 kg/m^3}",
        "{density: 954.7 kg/m^3}",
        "{name: oil, density: 880 kg/m^3, vapor_pressure: 1 kPa}",
    ],
)
def test_nothing_is_said_of_a_gas_or_where_boiling_is_checked(fluid):
    text = with_fluid(fluid)
    assert not told(text, "boiling not checked")
    assert not [each for each in judged(text).not_checked if each.check == "boiling"]


def test_nothing_is_said_of_a_liquid_that_no_case_holds():
    text = with_fluid("{name: thermal oil, density: 880 kg/m^3}")
    assert not told(text[: text.index("  summer:")] + text[text.index("  drained:") :], "boiling not checked")


def test_a_density_alone_is_still_water_at_15_degrees():
    study = judged(with_fluid("{density: 954.7 kg/m^3}")).study
    assert study.fluid.vapor_pressure == pytest.approx(IAPWS97(T=288.15, x=0).P * 1e6, rel=5e-4)
    assert any("15 °C" in note for note in study.notes)


def limited(text):
    return limits(parse_case(text, "t"), Ask(points=3, cases=("summer",)))


def test_limits_say_below_which_pressure_the_liquid_boils():
    """By hand: outlet and inlet have one height and one bore, so that only the loss K ρ v²/2 stands between them."""
    speed = 0.015 / (math.pi / 4 * BORE**2)
    wanted = VAPOR - ATMOSPHERE + 2 * DENSITY * speed**2 / 2
    found = limited(BEND)
    made = limits_dict(found)["cases"]["summer"]
    assert made["boils_below"] == {"pressure_Pa": pytest.approx(wanted, abs=5e-4 * VAPOR), "opening": "outlet"}
    assert made["pressure"]["intervals"][0]["from_Pa"] == 0.0  # the checks alone hold from there
    words = one_line(limits_text(found, 80))
    assert "The liquid boils, and what holds there is not to be trusted" in words
    shown = re.search(r"'summer' below ([\d.]+) kPa at 'inlet' \(first at 'outlet'\)", words)
    assert shown is not None
    assert float(shown[1]) * 1e3 == pytest.approx(wanted, abs=5e-4 * VAPOR + 5.0)  # shown to 10 Pa
    assert shown[0] in str(limits_section(found, None)).replace("\\'", "'")  # the report prints the same


def test_limits_say_above_which_flow_the_liquid_boils():
    speed = math.sqrt((1e5 + ATMOSPHERE - VAPOR) / DENSITY)  # where K ρ v²/2 with K = 2 takes all that is over boiling
    found = limited(BEND)
    made = limits_dict(found)["cases"]["summer"]["boils_above"]
    # half a mille of the vapor pressure, on the difference of 80 kPa under a root
    assert made == {"flow_m3_s": pytest.approx(speed * math.pi / 4 * BORE**2, rel=5e-4), "opening": "outlet"}


def test_boiling_begins_in_check_where_limits_say():
    made = limits_dict(limited(BEND))["cases"]["summer"]
    for share, boils in ((0.999, True), (1.001, False)):
        pressure = made["boils_below"]["pressure_Pa"] * share
        assert bool(told(BEND.replace("pressure: 1 bar", f"pressure: {pressure} Pa"), "cavitation")) is boils
        flow = made["boils_above"]["flow_m3_s"] / share
        assert bool(told(BEND.replace("15 L/s", f"{flow} m^3/s"), "cavitation")) is boils


def test_limits_of_a_cool_line_under_pressure_say_nothing_of_boiling():
    cool = with_fluid("{name: water, temperature: 15 degC}")
    found = limited(cool)
    assert limits_dict(found)["cases"]["summer"]["boils_below"] is None
    assert "'summer' below" not in one_line(limits_text(found, 80))


@pytest.mark.parametrize(
    ("fluid", "said", "unsaid"),
    [
        (SAME, f"HOT: 105 °C in service. Let it cool before anything is opened: it {FLASHES}.", "may flash"),
        (
            "{name: water, temperature: 75 degC}",
            "HOT: 75 °C in service. Let it cool before anything is opened.",
            "flash",
        ),
        ("{name: water, temperature: 60 degC}", "HOT: 60 °C in service.", "flash"),
        ("{name: water, temperature: 55 degC}", "HOT: 55 °C in service.", "flash"),
        ("{name: water, temperature: 54.9 degC}", "Before loosening any bolt", "HOT"),
        (
            "{name: oil, temperature: 150 degC, density: 880 kg/m^3}",
            "it may flash to vapor as the pressure goes",
            "steam",
        ),
        ("{name: oil, temperature: 150 degC, density: 880 kg/m^3, vapor_pressure: 1 kPa}", "HOT: 150 °C", "flash"),
        ("{name: air, temperature: 90 degC}", "HOT: 90 °C", "flash"),
        (
            "{density: 954.7 kg/m^3, vapor_pressure: 121 kPa}",
            f"HOT: its vapor pressure is that of water over its boiling point. Let it cool before anything is opened: it {FLASHES}.",
            "in service.",
        ),
        (
            "{name: propane, density: 500 kg/m^3, vapor_pressure: 850 kPa}",
            "BOILS when opened: it flashes to vapor",
            "HOT",
        ),
    ],
)
def test_who_opens_the_line_is_told_what_is_hot(fluid, said, unsaid):
    assessment = judged(with_fluid(fluid))
    plan = boltup(assessment, "exchanger")
    warned = sheet_dict(assessment, plan)["cautions"]
    assert any(said in line for line in warned)
    assert not any(unsaid in line for line in warned)
    for text in (check_report(assessment, 80), brief_report(assessment, 80), sheet_html(assessment, plan)):
        assert said in one_line(text)


def test_a_sheet_in_inch_units_tells_the_heat_in_degrees_fahrenheit():
    """105 °C is 221 °F."""
    assessment = judged(BEND.replace("units: metric", "units: us"))
    assert "HOT: 221 °F in service." in sheet_dict(assessment, boltup(assessment, "exchanger"))["cautions"][0]


def test_a_crowded_sheet_of_a_hot_line_is_one_page_to_be_read_at_arms_length(browser, tmp_path):
    cool = "{name: water, temperature: 25 degC}"
    assert cool in TEE
    (tmp_path / "sheet.html").write_text(html(TEE.replace(cool, SAME)), encoding="utf-8")
    page = load(browser, tmp_path / "sheet.html")
    for paper in ("A4", "Letter"):
        count, found = printed(page.pdf(paper))
        assert count == 1
        assert min(sizes(found, "HOT: 105 °C in service")) >= READABLE - 0.01
        assert min(sizes(found, "Hold the fitting by other")) >= READABLE - 0.01
