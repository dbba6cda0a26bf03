"""Open discharge of a gas against API 520 Part II, isentropic tables, a root finder and worked examples."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from anchorsize.mechanics import gas, momentum

ATMOSPHERE = 101325.0
BAR = 1e5
ratio = st.floats(1.05, 1.67)
warmth = st.floats(200.0, 1200.0)
molar = st.floats(0.002, 0.2)


def thrust(mass_flow, velocity, pressure, area, ambient):
    """Thrust of a discharge as the reaction takes it: pressure over the surroundings and momentum of the opening."""
    flow = velocity * area
    density = mass_flow / flow if flow else 1.0
    return sum(momentum.thrust(pressure - ambient, area, density, flow))


@given(st.floats(5.0, 500.0), warmth, ratio, molar)
def test_choked_thrust_is_the_reaction_of_api_520(mass_flow, total, k, molar_mass):
    """API 520 Part II, reaction of an open discharge in SI: F = 129 W √(kT/((k + 1)M)) + 0.1 A P.

    W in kg/s, T in K, M in kg/kmol, A in mm², P in bar over the surroundings at the outlet. The constant is given to
    three figures (recalled), so the first term may differ by 0.5/129.
    """
    area = gas.sonic_pressure(mass_flow, 1.0, total, k, molar_mass) / (3.0 * ATMOSPHERE)  # exit at 3 atm
    state = gas.open_discharge(mass_flow, area, total, k, molar_mass, ATMOSPHERE)
    assert state.pressure > ATMOSPHERE
    force = thrust(mass_flow, state.velocity, state.pressure, area, ATMOSPHERE)
    momentum = 129 * mass_flow * np.sqrt(k * total / ((k + 1) * molar_mass * 1000))
    over = 0.1 * (area * 1e6) * (state.pressure - ATMOSPHERE) / BAR
    assert force == pytest.approx(momentum + over, abs=0.5 / 129 * momentum)


def test_steam_valve_by_api_520():
    """API 520 Part II in US units, F = (W/366) √(kT/((k + 1)M)): 7750 lbf printed in a public calculation of it.

    The exact divisor is 367.3: the standard's stands 0.36 % on the safe side, hence 0.4 % and not more than printed.
    """
    mass_flow, total = 418950 * 0.45359237 / 3600, 1460 / 1.8
    area = 50.03 * 0.0254**2
    velocity = gas.open_discharge(mass_flow, area, total, 1.3, 0.018, ATMOSPHERE).velocity
    force = thrust(mass_flow, velocity, ATMOSPHERE, area, ATMOSPHERE) / 4.4482216
    assert force == pytest.approx(7750, rel=0.004)
    assert force < 7750


@given(warmth, ratio, molar, st.floats(0.001, 2.0))
def test_choked_limit_is_continuous(total, k, molar_mass, area):
    at_limit = ATMOSPHERE / gas.sonic_pressure(1.0, area, total, k, molar_mass)
    below, above = (
        gas.open_discharge(at_limit * (1 + step), area, total, k, molar_mass, ATMOSPHERE) for step in (-1e-9, 1e-9)
    )
    assert below.pressure == ATMOSPHERE < above.pressure
    assert below.mach == pytest.approx(1.0, abs=1e-8)
    assert above.mach == pytest.approx(1.0, abs=1e-12)
    for low, high in zip(below, above, strict=True):
        assert low == pytest.approx(high, rel=1e-7)


@pytest.mark.parametrize(
    ("mach", "temperature_ratio"),
    # NACA Report 1135, subsonic table for k = 1.4, T/T₀ to four decimals (from memory)
    [(0.2, 0.9921), (0.5, 0.9524), (0.8, 0.8865), (1.0, 0.8333)],
)
def test_isentropic_table(mach, temperature_ratio):
    total, molar_mass = 400.0, 0.02896
    static = total * temperature_ratio
    density = ATMOSPHERE * molar_mass / (8.314462618 * static)
    velocity = mach * np.sqrt(1.4 * ATMOSPHERE / density)
    state = gas.open_discharge(density * velocity, 1.0, total, 1.4, molar_mass, ATMOSPHERE)
    # 5e-5 on T/T₀ moves the mass flow by 3e-5 of it and the Mach number by less than 1e-4
    assert state.mach == pytest.approx(mach, abs=1e-4)
    assert state.temperature / total == pytest.approx(temperature_ratio, abs=1e-4)


@given(st.floats(0.01, 0.99), warmth, ratio, molar)
def test_subsonic_temperature_against_a_root_finder(share, total, k, molar_mass):
    """Energy and continuity at the pressure of the surroundings, solved by bracketing."""
    flow = share * ATMOSPHERE / gas.sonic_pressure(1.0, 1.0, total, k, molar_mass)
    R = 8.314462618 / molar_mass
    cp = k * R / (k - 1)

    def unbalance(t):
        return t + (flow * R * t / ATMOSPHERE) ** 2 / (2 * cp) - total

    state = gas.open_discharge(flow, 1.0, total, k, molar_mass, ATMOSPHERE)
    assert state.pressure == ATMOSPHERE
    assert state.temperature == pytest.approx(brentq(unbalance, 1e-3 * total, total, xtol=1e-9), rel=1e-7)
    assert state.density * state.velocity == pytest.approx(flow, rel=1e-12)
    assert state.mach < 1.0


def test_no_flow_is_statics():
    state = gas.open_discharge(0.0, 0.1, 300.0, 1.4, 0.029, ATMOSPHERE)
    assert state.velocity == 0.0
    assert state.temperature == 300.0
    assert thrust(0.0, state.velocity, state.pressure, 0.1, ATMOSPHERE) == 0.0


@pytest.mark.parametrize(
    ("mass_flow", "velocity", "pressure", "ambient", "area", "printed", "half_digit"),
    [
        # Farokhi, Aircraft Propulsion, Example 3.3: gross thrust (as computed by a public companion of the book)
        (250.0, 4000.0, 200e3, 100e3, np.pi, 1314159.3, 0.05),
        # de Nevers, Fluid Mechanics for Chemical Engineers, 3rd ed., Example 7.8 (same kind of source)
        (1000.0, 3000.0, 135e3, 100e3, 7.0, 3.245e6, 500.0),
        # Murugaperumal, Gas Dynamics and Jet Propulsion, Example 7.1, at two back pressures (same kind of source)
        (12.0, 2000.0, 1e5, 1e5, 335e-4, 24e3, 500.0),
        (12.0, 2000.0, 1e5, 0.25e5, 335e-4, 26512.5, 0.05),
    ],
)
def test_thrust_of_published_examples(mass_flow, velocity, pressure, ambient, area, printed, half_digit):
    assert thrust(mass_flow, velocity, pressure, area, ambient) == pytest.approx(printed, abs=half_digit)


def test_thrust_at_another_back_pressure():
    """Pao, Fluid Mechanics, Example 14 of chapter 4 (as computed by a public companion); printed truncated."""
    area, flow = np.pi / 4 * 4.0**2, 8.5 / 32.2
    velocity = (1000.0 - (16.5 - 14.7) * area) / flow
    assert velocity == pytest.approx(3702, abs=1.0)
    assert thrust(flow, velocity, 16.5, area, 1.0) == pytest.approx(1172, abs=1.0)


def test_sonic_air_jet_broadcasts():
    flows = np.linspace(0.0, 5.0, 7)
    state = gas.open_discharge(flows, np.array([[0.01], [0.02]]), 300.0, 1.4, 0.029, ATMOSPHERE)
    assert state.velocity.shape == (2, 7)
    assert np.all(state.pressure >= ATMOSPHERE)


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"mass_flow": -1.0}, "mass flow of a gas discharge must not be negative"),
        ({"k": 1.0}, "k of a gas must be over 1"),
        ({"area": 0.0}, "the exit area of a gas discharge must be positive"),
        ({"stagnation_temperature": -5.0}, "the stagnation temperature of a gas discharge must be positive"),
        ({"molar_mass": 0.0}, "the molar mass of a gas discharge must be positive"),
        ({"ambient": [1e5, -1.0]}, "the absolute ambient pressure of a gas discharge must be positive"),
        ({"k": np.nan}, "k of a gas must be over 1"),
    ],
)
def test_impossible_gases_are_refused(change, message):
    sound = {"mass_flow": 1.0, "area": 0.1, "stagnation_temperature": 300.0, "k": 1.4, "molar_mass": 0.03}
    with pytest.raises(ValueError, match=message):
        gas.open_discharge(**{**sound, "ambient": ATMOSPHERE, **change})
