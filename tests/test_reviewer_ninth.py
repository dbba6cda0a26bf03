"""Changing flow beside a pressure from losses, and a gas in a fitting that weighs as if full of water. Cases invented."""

from __future__ import annotations

import math

import pytest

from anchorsize import CaseFileError, assess, parse_case

PIPE = """\
case_file: 1
title: straight pipe, accelerated
fluid: {name: water, density: 1000 kg/m^3}
openings:
  in: {center: [0, 0, 0 m], outward: [-1, 0, 0], bore: 100 mm}
  out: {center: [10, 0, 0 m], outward: [1, 0, 0], bore: 100 mm}
joints:
  J: {at: in, bolts: {count: 8, size: M16, circle: 180 mm}}
allow: {bolt_tension: 160 MPa, bolt_shear: 95 MPa}
cases:
  start:
    in: {flow_in: 20 L/s, flow_change: -50 L/s^2, pressure: PRESSURE}
    out: {exit: free_jet, flow_change: 50 L/s^2}
"""


def test_a_pressure_from_losses_is_refused_beside_a_changing_flow():
    """The steady balance leaves the inertia of the water out, which may be all there is."""
    with pytest.raises(CaseFileError) as refused:
        parse_case(PIPE.replace("PRESSURE", "from losses, loss_coefficient: 0"), "t")
    (problem,) = refused.value.problems
    assert (problem.line, problem.kind) == (12, "contradiction")
    assert "'from losses' is of a steady flow, and the flow changes at 'in', 'out'" in str(problem)
    assert "ρ L/A × flow_change" in problem.hint


def test_with_the_pressure_of_the_hint_a_smooth_straight_pipe_is_not_pulled():
    """No friction, no bend: nothing acts on it along its axis (statics); ρ L/A dQ/dt = 1000 · 10/(π/4 · 0.1²) · 0.05 Pa."""
    inertia = 1000 * 10 / (math.pi / 4 * 0.1**2) * 0.05
    case = assess(parse_case(PIPE.replace("PRESSURE", f"{inertia!r} Pa"), "t")).cases["start"]
    assert float(case.reaction_force[0]) == pytest.approx(0.0, abs=1e-6 * inertia * math.pi / 4 * 0.1**2)


VENT = """\
case_file: 1
title: vent of a steam line
fluid: {name: water, density: 1000 kg/m^3}
ambient: 101.325 kPa
fitting: {mass: 30 kg, mass_center: [300, 0, 80 mm], contents: 60 L, contents_center: [250, 0, 60 mm]}
openings:
  in: {center: [0, 0, 0 mm], outward: [-1, 0, 0], bore: 150 mm}
  out: {center: [400, 0, -300 mm], outward: [0, 0, -1], bore: 100 mm}
joints:
  J: {at: in, bolts: {count: 8, size: M20, circle: 240 mm}}
allow: {bolt_tension: 160 MPa, bolt_shear: 95 MPa}
cases:
  steam:
    CONTENTS
    in: {pressure: 5 bar, density: DENSITY}
    out: {exit: free_jet, gas: {mass_flow: 2 kg/s, stagnation_temperature: 300 degC, k: 1.3, molar_mass: 18.02 g/mol}}
"""


@pytest.mark.parametrize(
    ("contents", "density", "told"),
    [
        ("contents: full", "3 kg/m^3", True),
        ("dynamic_factor: 1", "3 kg/m^3", True),
        ("contents: empty", "3 kg/m^3", False),
        ("contents: full", "950 kg/m^3", False),  # water comes and flashes: it does stand full
    ],
)
def test_a_gas_in_a_fitting_that_weighs_as_if_full_is_doubted(contents: str, density: str, told: bool):
    """60 L of water pull with 588.4 N."""
    text = VENT.replace("CONTENTS", contents).replace("DENSITY", density)
    found = [each for each in assess(parse_case(text, "t")).warnings if each.kind == "contents weigh as the fluid"]
    assert len(found) == told
    for each in found:
        assert each.doubtful
        assert "588.4 N: write contents: empty in the case" in each.message


def test_the_head_that_a_changing_flow_takes_is_no_loss():
    """Nothing is lost in the smooth pipe: no coefficient and no doubt come of the head that its inertia takes."""
    inertia = 1000 * 10 / (math.pi / 4 * 0.1**2) * 0.05
    judged = assess(parse_case(PIPE.replace("PRESSURE", f"{inertia!r} Pa"), "t"))
    assert judged.cases["start"].energy is None
    assert not [each for each in judged.warnings if "head" in each.message]
    assert "Head lost" not in str(judged)
