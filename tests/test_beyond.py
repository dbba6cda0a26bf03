"""What a line goes on through: pressure pushes on the effective area of a bellows, on the pipe's outside at a sliding coupling.

Source of the thrust: EJMA Standards (pressure thrust of an expansion joint, p times its effective area); AWWA M11 (outside of the pipe
at a coupling), both from memory. Expected forces are worked out here from p, areas and directions, or by a load from outside that adds
what the area has over the bore.
"""

from __future__ import annotations

import json
import math

import numpy as np
import pytest
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st

from anchorsize.assessment import assess
from anchorsize.assessment.findings_beyond import ON_BORE_ALONE, wider
from anchorsize.casefile import CaseFileError, parse_case
from anchorsize.cli import main
from anchorsize.mechanics.momentum import thrust
from anchorsize.present.supports_verdict import verdict_lines
from anchorsize.present.text import check_report
from anchorsize.studies.supports import compare

BORE = math.pi / 4 * 0.1593**2
RHO = 999.7  # water at 10 °C
BEND = """
case_file: 1
title: Riser bend below an expansion joint, cooling loop (invented)
units: metric
up: [0, 0, 1]
fluid: {name: water, density: 999.7 kg/m^3}
fitting: {mass: 20 kg, mass_center: [0.15, 0, 0.05 m]}
openings:
  inlet:  {center: [0, 0, 0 m], outward: [-1, 0, 0], bore: 159.3 mm}
  outlet: {center: [0.23, 0, 0.23 m], outward: [0, 0, 1], bore: 159.3 mm}
joints:
  main:
    at: inlet
    reference: [0, 0, 1]
    bolts: {count: 8, size: M20, circle: 240 mm, first_at: 22.5 deg, class: "8.8"}
allow: {bolt_tension: 160 MPa, bolt_shear: 95 MPa}
cases:
  flow:    {inlet: {flow_in: 50 L/s, pressure: 600 kPa}, outlet: {pressure: 590 kPa}}
  slam:    {dynamic_factor: 1.5, inlet: {flow_in: 0 L/s, pressure: 850 kPa}, outlet: {pressure: 848 kPa}}
  suction: {inlet: {flow_in: 0 L/s, pressure: -40 kPa}, outlet: {pressure: -42 kPa}}
  blanked: {inlet: {flow_in: 0 L/s, pressure: 600 kPa}, outlet: capped}
"""
AREA = 28060e-6
WITH = f"{BEND}beyond: {{outlet: {{effective_area: 28060 mm²}}}}\n"


def cases_of(text):
    return assess(parse_case(text, "t")).cases


def problems(text):
    with pytest.raises(CaseFileError) as raised:
        parse_case(text, "t")
    return str(raised.value)


def test_pressure_pushes_on_the_effective_area_and_momentum_stays():
    found = cases_of(WITH)
    speed = 0.05 / BORE
    assert found["flow"].openings["outlet"].thrust == pytest.approx(590e3 * AREA + RHO * 0.05 * speed, rel=1e-9)
    assert found["slam"].openings["outlet"].thrust == pytest.approx(1.5 * 848e3 * AREA, rel=1e-9)
    assert found["suction"].openings["outlet"].thrust == pytest.approx(-42e3 * AREA, rel=1e-9)
    assert found["blanked"].openings["outlet"].thrust == 0.0
    assert found["flow"].openings["outlet"].velocity == pytest.approx(speed, rel=1e-9)
    assert found["flow"].openings["inlet"].pressure_thrust == pytest.approx(600e3 * BORE, rel=1e-9)


def test_it_is_the_load_from_outside_that_adds_what_the_area_has_over_the_bore():
    factor = {"flow": (1.0, 590e3), "slam": (1.5, 848e3), "suction": (1.0, -42e3)}
    loads = [
        f"{{name: more in {name}, force: [0, 0, {-k * p * (AREA - BORE)} N], at: [0.23, 0, 0.23 m], cases: [{name}]}}"
        for name, (k, p) in factor.items()
    ]
    known, found = cases_of(f"{BEND}external: [{', '.join(loads)}]\n"), cases_of(WITH)
    for name, case in found.items():
        np.testing.assert_allclose(case.reaction_force, known[name].reaction_force, rtol=1e-9, atol=1e-6)
        np.testing.assert_allclose(case.reaction_moment, known[name].reaction_moment, rtol=1e-9, atol=1e-6)
        np.testing.assert_allclose(
            case.joints["main"].external_tension, known[name].joints["main"].external_tension, rtol=1e-8, atol=1e-3
        )


@given(st.floats(-1e5, 1e7), st.floats(1e-4, 10.0), st.floats(1.0, 5.0), st.floats(-10.0, 10.0))
def test_a_pressed_area_scales_the_pressure_part_alone(pressure, area, times, flow):
    on_bore, pressed = thrust(pressure, area, RHO, flow), thrust(pressure, area, RHO, flow, 1.0, times * area)
    assert pressed[0] == pytest.approx(times * on_bore[0], rel=1e-12)
    assert pressed[1] == on_bore[1]


def test_no_pressed_area_is_negative():
    with pytest.raises(ValueError, match="pressed area"):
        thrust(1e5, 0.01, RHO, 0.0, 1.0, -0.02)


def test_the_bore_is_told_as_the_least_and_what_more_comes_to():
    assessment = assess(parse_case(BEND, "t"))
    (told,) = [w for w in assessment.warnings if w.kind == ON_BORE_ALONE]
    # half a bore more at the greatest pressure times factor: 1.5 · 848 kPa · 19931 mm² / 2 = 12.68 kN
    assert pytest.approx(12676, abs=1) == 0.5 * 1.5 * 848e3 * BORE
    assert "with up to 12.68 kN more, in 'slam'" in told.message
    assert "{outlet: {effective_area: 29896 mm²}}" in told.message  # 1.5 · 19930.9 mm²
    _, then = wider(assessment.study, assessment.option, assessment.cases)
    assert set(then) == {"flow", "slam", "suction"}
    by_hand = cases_of(f"{BEND}beyond: {{outlet: {{effective_area: {1.5 * BORE} m^2}}}}\n")
    for name, case in then.items():
        np.testing.assert_allclose(case.reaction_force, by_hand[name].reaction_force, rtol=1e-9)
    said = " ".join(check_report(assessment, 80).split())
    assert "Pressure at 'outlet' pushes on the bore alone." in said


def test_nothing_is_told_where_the_area_is_given_and_the_line_is_no_hose():
    assessment = assess(parse_case(WITH, "t"))
    kinds = {w.kind for w in assessment.warnings}
    assert not kinds & {ON_BORE_ALONE, "line not anchored", "closed end not anchored"}
    assert {"line not anchored", "closed end not anchored"} & {w.kind for w in assess(parse_case(BEND, "t")).warnings}
    said = " ".join(check_report(assessment, 80).split())
    # 28060 / 19931 = 1.408
    assert "beyond 'outlet' pressure pushes on 28,060 mm², the effective area given, 1.408 times the bore" in said
    assert "on the bore alone" not in said


def test_a_check_that_fails_with_it_is_named_here_and_in_the_comparison():
    failing = BEND.replace("bolt_shear: 95 MPa", "bolt_shear: 22 MPa")
    more = f"{failing}beyond: {{outlet: {{effective_area: {1.5 * BORE} m^2}}}}\n"
    failed = [
        {c.check for case in cases_of(each).values() for c in case.checks if not c.holds} for each in (failing, more)
    ]
    assert failed == [set(), {"tension with shear"}]  # the file that writes the area out is the reference
    (told,) = [w for w in assess(parse_case(failing, "t")).warnings if w.kind == ON_BORE_ALONE]
    assert "With it tension with shear of 'main' FAILS in 'slam'" in told.message
    said = " ".join(verdict_lines(compare(parse_case(failing, "t"))))
    assert "NOT COUNTED: that pressure pushes on more than the bore of 'outlet'" in said
    assert "with that 'bolts alone' FAILS. Write its effective_area under beyond." in said


def test_the_reviewer_gets_the_step_and_the_program_the_area(tmp_path):
    file = tmp_path / "bend.yaml"
    file.write_text(WITH, encoding="utf-8")
    run = CliRunner().invoke(main, ["report", str(file), "--no-limits", "-o", str(tmp_path / "r.md")])
    assert run.exit_code == 0, run.output
    text = (tmp_path / "r.md").read_text(encoding="utf-8")
    assert "Pressure thrust on the effective area beyond" in text
    assert "EJMA" in text
    data = json.loads(CliRunner().invoke(main, ["check", str(file), "--json"]).output)
    assert data["cases"]["flow"]["openings"]["outlet"]["effective_area_m2"] == pytest.approx(AREA)
    assert data["cases"]["flow"]["openings"]["inlet"]["effective_area_m2"] is None


def test_what_cannot_be_is_told_with_its_line():
    assert "'oulet' is no opening of this file" in problems(WITH.replace("beyond: {outlet", "beyond: {oulet"))
    assert "joint 'main' stands at 'inlet'" in problems(WITH.replace("beyond: {outlet", "beyond: {inlet"))
    said = problems(WITH.replace("28060 mm²", "81 cm^2"))
    assert "less than the bore of opening 'outlet'" in said
    assert "not what it has over the bore" in said
    assert "beyond / outlet" in problems(WITH.replace("{effective_area: 28060 mm²}", "{}"))
    free = WITH.replace("outlet: {pressure: 590 kPa}", "outlet: free_jet")
    free = free.replace("outlet: {pressure: 848 kPa}", "outlet: free_jet").replace(
        "outlet: {pressure: -42 kPa}", "outlet: capped"
    )
    assert "opening 'outlet' is connected in no case" in problems(free)


def test_the_bore_itself_is_an_area():
    same = cases_of(f"{BEND}beyond: {{outlet: {{effective_area: {BORE} m^2}}}}\n")
    for name, case in cases_of(BEND).items():
        np.testing.assert_allclose(same[name].reaction_force, case.reaction_force, rtol=1e-12)
