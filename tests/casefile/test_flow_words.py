"""Velocity profiles, loss coefficients by name and wave speeds from the pipe, as the case file states them."""

from __future__ import annotations

import math

import pytest
from scipy.integrate import quad

from anchorsize.assessment import assess, evaluate
from anchorsize.casefile import CaseFileError, parse_case
from tests.cases import ELBOW


def with_inlet(keys, inlet="flow_in: 20 L/s, pressure: 60 kPa"):
    return ELBOW.replace("flow_in: 20 L/s, pressure: 60 kPa", f"{inlet}, {keys}")


def inlet(text):
    return parse_case(text, "f").cases["run"].states["inlet"]


def said(text):
    with pytest.raises(CaseFileError) as caught:
        parse_case(text, "f")
    return [str(problem) for problem in caught.value.problems]


def test_laminar_factor_against_integration():
    # u/V = 2 (1 − r²) over the circle, area element 2 r dr of a unit area
    by_integration = quad(lambda r: (2 * (1 - r**2)) ** 2 * 2 * r, 0, 1)[0]
    assert inlet(with_inlet("profile: laminar")).beta == pytest.approx(by_integration)


@pytest.mark.parametrize("n", [5.0, 7.0, 9.0])
def test_power_law_factor_against_integration(n):
    mean = quad(lambda r: (1 - r) ** (1 / n) * 2 * r, 0, 1)[0]
    square = quad(lambda r: (1 - r) ** (2 / n) * 2 * r, 0, 1)[0]
    assert inlet(with_inlet(f"profile: power law, exponent: {n}")).beta == pytest.approx(square / mean**2)


def test_reynolds_number_gives_the_exponent_seven_at_110_000():
    # Nikuradse's exponent at Re = 1.1e5 is 7
    by_exponent = inlet(with_inlet("profile: power law, exponent: 7")).beta
    assert inlet(with_inlet("profile: power law, reynolds: 1.1e5")).beta == pytest.approx(by_exponent)


def test_profile_multiplies_the_momentum_of_its_opening():
    plain, laminar = (evaluate(parse_case(text, "f"))["run"] for text in (ELBOW, with_inlet("profile: laminar")))
    momentum = {load.source: load.force[0] for load in plain.loads}["inlet momentum"]
    assert {load.source: load.force[0] for load in laminar.loads}["inlet momentum"] == pytest.approx(momentum * 4 / 3)


def test_loss_coefficient_by_name_is_the_printed_one():
    # Hydraulic Institute: long-radius flanged 90 degree elbow, K = 0.2 (range 0.14 to 0.23)
    text = with_inlet(
        "loss_coefficient: from table, loss_of: 'elbow 90: long radius, flanged'",
        "flow_in: 20 L/s, pressure: from losses",
    )
    study = parse_case(text, "f")
    state = study.cases["run"].states["inlet"]
    assert state.losses is not None
    assert state.losses.coefficient == 0.2
    assert any("0.14 to 0.23" in note for note in study.notes)
    assert any(row.table == "loss_coefficients" for row in study.provenance)


def test_wave_speed_of_a_pipe_by_hand():
    """Thin-wall formula by hand: with D/e of 1000 the thick-wall terms change the speed by under 0.1 %.

    Joukowsky's Δp = ρ a Δv follows from the momentum of the column that the front stops: ρ A a dt of mass loses Δv while Δp A
    acts for dt. A and Δv are those of the pipe that the front runs in, 1 m wide here, whatever the bore of the opening.
    """
    text = with_inlet(
        "surge: {stopped_flow: 20 L/s, pipe: {inside: 1 m, wall: 1 mm, modulus: 200 GPa, poisson: 0.3, anchoring: throughout}}"
    ).replace("density: 1000 kg/m^3", "density: 1000 kg/m^3, bulk_modulus: 2.2 GPa")
    surge = inlet(text).surge
    assert surge is not None
    by_hand = math.sqrt(2.2e9 / 1000 / (1 + 0.91 * 2.2e9 * 1.0 / (200e9 * 0.001)))
    assert surge.wave_speed == pytest.approx(by_hand, rel=1e-3)
    opening = evaluate(parse_case(text, "f"))["run"].openings["inlet"]
    assert opening.surge_rise == pytest.approx(1000 * by_hand * 0.02 / (math.pi / 4 * 1.0**2), rel=1e-3)


def test_a_given_wave_speed_runs_in_a_pipe_of_another_bore():
    """Joukowsky by hand, ρ a Q / A, with the area of a pipe of 1 m; at an opening that follows from losses the same, for still water has one head."""
    surge = "surge: {stopped_flow: 20 L/s, wave_speed: 1000 m/s, pipe: {inside: 1 m}}"
    rise = 1000 * 1000 * 0.02 / (math.pi / 4)
    assert evaluate(parse_case(with_inlet(surge), "f"))["run"].openings["inlet"].surge_rise == pytest.approx(
        rise, rel=1e-12
    )
    still = ELBOW.replace(
        "stopped: {inlet: {flow_in: 0 L/s, pressure: 60 kPa}, outlet: capped}",
        f"stopped: {{inlet: {{flow_in: 0 L/s, pressure: 60 kPa, {surge}}}, outlet: {{pressure: from losses, loss_coefficient: 0}}}}",
    )
    judged = assess(parse_case(still, "f"))
    outlet = judged.cases["stopped"].openings["outlet"]
    assert outlet.pressure == pytest.approx(60e3 + rise - 1000 * 9.80665 * 0.2, rel=1e-12)
    assert not [w for w in judged.warnings if w.kind == "still fluid disagrees"]
    # beside a flow it runs through the fitting as well
    run = with_inlet(surge).replace("outlet: free_jet", "outlet: {pressure: from losses, loss_coefficient: 0}", 1)
    assert float(evaluate(parse_case(run, "f"))["run"].openings["outlet"].surge_rise) == pytest.approx(rise, rel=1e-12)


@pytest.mark.parametrize(
    ("keys", "message"),
    [
        ("surge: {stopped_flow: 1 L/s, pipe: {inside: 1 m, wall: 1 mm}}", "'modulus' is missing"),
        ("profile: laminar, beta: 1.2", "a profile, and a beta"),
        ("profile: power law", "a power law needs exponent or reynolds"),
        ("profile: power law, exponent: 7, reynolds: 1e5", "a power law needs exponent or reynolds"),
        ("profile: laminar, reynolds: 1e5", "'reynolds' without a power law"),
        ("profile: power law, reynolds: 2000", "'2000' must not be less than"),
        ("profile: plug", "not one of the words known here"),
        ("loss_coefficient: 2", "a loss coefficient that nothing asks for"),
        ("surge: {stopped_flow: 1 L/s}", "'wave_speed' is missing"),
        (
            "surge: {stopped_flow: 1 L/s, wave_speed: 1 km/s, pipe: {inside: 1 m, wall: 1 mm, modulus: 200 GPa, poisson: 0.3, "
            "anchoring: throughout}}",
            "a wave speed, and a pipe",
        ),
        (
            "surge: {stopped_flow: 1 L/s, pipe: {inside: 1 m, wall: 1 mm, modulus: 200 GPa, poisson: 0.3, anchoring: glue}}",
            "not one of the words known here",
        ),
    ],
)
def test_bad_words_of_flow_are_said_with_their_line(keys, message):
    found = said(with_inlet(keys))
    assert any(message in line and line.startswith("f:14: ") for line in found), found


@pytest.mark.parametrize(
    ("keys", "message"),
    [
        ("loss_coefficient: from table", "'loss_of' is missing"),
        ("loss_coefficient: from table, loss_of: 'elbow 90: of glass'", "elbow 90"),
        ("loss_coefficient: 2, loss_of: 'elbow 90: long radius, flanged'", "'loss_of' that nothing asks for"),
    ],
)
def test_bad_names_of_losses_are_said(keys, message):
    found = said(with_inlet(keys, "flow_in: 20 L/s, pressure: from losses"))
    assert any(message in line for line in found), found
