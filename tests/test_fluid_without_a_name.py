"""A fluid without a name is water only where its density is water's; else no table lends it a vapor pressure."""

from __future__ import annotations

import pandas as pd
import pytest
from iapws import IAPWS97

from anchorsize.assessment import assess
from anchorsize.assessment.hot import LIQUID
from anchorsize.casefile import parse_case
from anchorsize.casefile.build import GAS
from anchorsize.present.text import check_report
from anchorsize.studies.many import judge_frame
from anchorsize.study import Study

ATMOSPHERE = 101325.0  # Pa, the standard atmosphere of ISO 2533

# Invented: a level bend at 0.5 bar below the air outside.
BEND = """
case_file: 1
title: Suction bend of a solvent pump (invented)
units: metric
fluid: FLUID
fitting: {mass: 20 kg, mass_center: [0.1, 0, 0 m], contents: 2 L, contents_center: [0.1, 0, 0 m]}
openings:
  inlet: {center: [0, 0, 0 m], outward: [-1, 0, 0], bore: 100 mm}
  outlet: {center: [0.2, 0.2, 0 m], outward: [0, 1, 0], bore: 100 mm}
cases:
  normal:
    inlet: {flow_in: 10 L/s, pressure: -0.5 bar}
    outlet: {pressure: -0.5 bar}
"""
AS_WATER = "No fluid / name was given: taken as water, by its density."
NOT_WATER = "No fluid / name was given, and its density is not that of water: no table is asked about it."


def study(fluid: str) -> Study:
    return parse_case(BEND.replace("FLUID", fluid), "bend.yaml")


def said(found: Study) -> list[str]:
    return [line for line in assess(found).assumptions if "fluid / name" in line]


# Water by IAPWS-IF97 at 1 atm: 971.8 kg/m³ at 80 °C, 3 % of it 29.2; 999.1 at 15 °C; 943.1 at 120 °C under its own pressure.
@pytest.mark.parametrize(
    "fluid",
    [
        "{density: 1000 kg/m^3}",
        "{density: 901 kg/m^3}",
        "{density: 1029 kg/m^3}",
        "{density: 944 kg/m^3, temperature: 80 degC}",
        "{density: 1000 kg/m^3, temperature: 80 degC}",
        "{density: 943 kg/m^3, temperature: 120 degC}",
        "{density: 851 kg/m^3, temperature: 190 degC}",
    ],
)
def test_density_of_water_is_taken_as_water_and_told_once(fluid: str) -> None:
    found = study(fluid)
    assert found.fluid.name == "water"
    assert said(found) == [AS_WATER]
    assert found.fluid.vapor_pressure is not None


@pytest.mark.parametrize(
    ("fluid", "name"),
    [
        ("{density: 790 kg/m^3, temperature: 80 degC}", "liquid"),
        ("{density: 942 kg/m^3, temperature: 80 degC}", "liquid"),
        ("{density: 1002 kg/m^3, temperature: 80 degC}", "liquid"),
        ("{density: 1000 kg/m^3, temperature: -5 degC}", "liquid"),
        ("{density: 849 kg/m^3, temperature: 120 degC}", "liquid"),
        ("{density: 899 kg/m^3}", "liquid"),
        ("{density: 1031 kg/m^3}", "liquid"),
        ("{density: 13550 kg/m^3}", "liquid"),
        ("{density: 8 kg/m^3}", "gas"),
    ],
)
def test_another_density_leaves_the_fluid_without_a_name(fluid: str, name: str) -> None:
    found = study(fluid)
    assert found.fluid.name == name
    assert said(found) == [NOT_WATER]
    assert (found.fluid.vapor_pressure, found.fluid.viscosity, found.fluid.bulk_modulus) == (None, None, None)
    assert not [row for row in found.provenance if "water" in f"{row.what}{row.table}"]


def test_report_of_a_solvent_does_not_judge_boiling_by_water() -> None:
    report = " ".join(check_report(assess(study("{density: 790 kg/m^3, temperature: 80 degC}")), 80).split())
    assert "fluid: liquid, 790" in report
    assert "Whether the liquid boils anywhere is not checked: no vapor pressure of 'liquid' is known" in report
    assert "fluid: water" not in report


def test_what_the_file_says_of_an_unnamed_fluid_is_used() -> None:
    found = study("{density: 790 kg/m^3, temperature: 80 degC, vapor_pressure: 108 kPa}")
    assert float(found.fluid.vapor_pressure or 0.0) == pytest.approx(108e3)
    assert any("would boil there" in each.message for each in assess(found).warnings)  # at 101.3 − 50 kPa


def test_without_name_and_density_it_is_water_at_its_temperature() -> None:
    found = study("{temperature: 80 degC}")
    assert float(found.fluid.density) == pytest.approx(IAPWS97(T=353.15, P=ATMOSPHERE / 1e6).rho, rel=1e-4)
    assert said(found) == ["No fluid / name was given: taken as water."]


@pytest.mark.parametrize("fluid", ["{name: water, density: 790 kg/m^3, temperature: 80 degC}", "water"])
def test_a_name_that_is_given_stays_and_nothing_is_said(fluid: str) -> None:
    found = study(fluid)
    assert found.fluid.name == "water"
    assert said(found) == []


def test_gas_ends_where_boiling_is_judged() -> None:
    assert GAS == LIQUID


def test_rows_of_a_list_are_each_judged_as_a_file_of_their_own():
    """A row of water keeps its boiling beside one of another density."""
    base = (
        "case_file: 1\nfluid: {density: 1000 kg/m^3}\nopenings: {inlet: {center: [0, 0, 0 m], outward: [-1, 0, 0], bore: 100 mm}}\n"
        "joints: {main: {at: inlet, bolts: {count: 4, size: M16, circle: 160 mm}}}\nallow: {bolt_tension: 160 MPa, bolt_shear: 95 MPa}\n"
        "cases: {shut: {inlet: {flow_in: 0 L/s, pressure: 100 kPa}}}\n"
    )
    both, alone = (
        judge_frame(pd.DataFrame({"id": names, "fluid/density [kg/m^3]": values}), base)
        for names, values in ((["a", "b"], ["1000", "790"]), (["a"], ["1000"]))
    )
    columns = [name for name in both.columns if name in alone.columns]
    assert both[columns].iloc[0].to_dict() == alone[columns].iloc[0].to_dict()
