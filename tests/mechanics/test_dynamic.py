"""Dynamic load factors against worked examples and an oscillator integrated in time.

Examples are as computed by a public companion of each book; tolerances are half of the last printed digit.
"""

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from anchorsize.mechanics import dynamic


@pytest.mark.parametrize("ratio", [0.05, 0.5, 0.8, 1.0, 1.5, 2.3])
def test_ramp_against_an_oscillator(ratio):
    """Greatest response of x'' + ω²x = ω²f(t), period 1, f rising over ``ratio`` periods and then held."""
    omega = 2 * np.pi

    def rate(t, state):
        return [state[1], omega**2 * (min(t / ratio, 1.0) - state[0])]

    solved = solve_ivp(rate, (0, ratio + 3), [0, 0], max_step=0.005, rtol=1e-9, atol=1e-11)
    # the peak is read at steps of 1/200 period: (π/200)²/2 of an amplitude of one at most
    assert dynamic.ramp_factor(ratio, 1.0) == pytest.approx(solved.y[0].max(), abs=2e-4)


@pytest.mark.parametrize(
    ("ratio", "published", "tolerance"),
    # Biggs, Introduction to Structural Dynamics, ramp formula (recalled), to the digits given with it
    [(1e-9, 2.0, 0.05), (0.5, 1.637, 0.0005), (1.0, 1.0, 0.05), (1.5, 1.212, 0.0005)],
)
def test_ramp_of_biggs(ratio, published, tolerance):
    assert dynamic.ramp_factor(ratio, 1.0) == pytest.approx(published, abs=tolerance)


def test_bound_holds_and_is_touched():
    ratio = np.linspace(0.0, 6.0, 2001)
    factor, bound = dynamic.ramp_factor(ratio, 1.0), dynamic.ramp_factor_bound(ratio, 1.0)
    assert np.all(factor <= bound + 1e-12)
    assert np.all(bound <= dynamic.SUDDEN_LOAD_FACTOR)
    peaks = np.array([0.5, 1.5, 2.5])
    assert dynamic.ramp_factor_bound(peaks, 1.0) == pytest.approx(dynamic.ramp_factor(peaks, 1.0))


@pytest.mark.parametrize(
    ("load", "area", "printed", "tolerance"),
    # Bansal, Strength of Materials, Problems 4.3 to 4.5: sudden axial loads [N] on areas [mm²], stress [MPa]
    [(50e3, 1000.0, 100.0, 0.5), (100e3, np.pi / 4 * 50**2, 101.86, 0.005), (56e3, 700.0, 160.0, 0.5)],
)
def test_sudden_loads_of_bansal(load, area, printed, tolerance):
    assert dynamic.SUDDEN_LOAD_FACTOR * load / area == pytest.approx(printed, abs=tolerance)
    assert dynamic.gap_factor(0.0, 1.0) == dynamic.SUDDEN_LOAD_FACTOR


def test_sudden_load_on_a_pipe():
    """Hibbeler, Mechanics of Materials, Example 14.8: 150 kip set on a pipe of radii 3 and 2.5 in, 12 in long."""
    static = 150 * 12 / (1e4 * np.pi * (3**2 - 2.5**2))
    assert static == pytest.approx(0.0208, abs=0.00005)
    assert dynamic.gap_factor(0.0, static) * static == pytest.approx(0.0417, abs=0.00005)


def test_falling_collar():
    """Gere, Mechanics of Materials, Example 2-16: 20 kg falls 150 mm on a rod of 15 mm, 2 m long; g = 9.81 m/s²."""
    weight, area = 20 * 9.81, np.pi / 4 * 0.015**2
    static = weight * 2 / (210e9 * area)
    factor = dynamic.gap_factor(0.15, static)
    assert factor * static * 1e3 == pytest.approx(1.79, abs=0.005)
    assert factor * weight / area / 1e6 == pytest.approx(188.13, abs=0.005)


def test_beam_under_a_falling_mass():
    """Pytel & Kiusalaas, Mechanics of Materials, Example 12.5: 80 kg falls 10 mm on the middle of a 1.2 m span."""
    load, inertia = 80 * 9.81, 0.06 * 0.03**3 / 12
    factor = dynamic.gap_factor(0.01, load * 1.2**3 / (48 * 200e9 * inertia))
    assert factor == pytest.approx(5.485, abs=0.0005)
    assert factor * load * 1.2 / 4 * 0.015 / inertia / 1e6 == pytest.approx(143.5, abs=0.05)


def test_weight_dropped_on_a_bar():
    """Wentzell, Machine Design, Example 7.1: 500 lbf falls 1 in on a bar of 2 in, 10 in long; stress in psi."""
    area = np.pi / 4 * 2**2
    static = 500 * 10 / (area * 30e6)
    assert dynamic.gap_factor(1.0, static) * 500 / area == pytest.approx(31061.5, abs=0.05)
