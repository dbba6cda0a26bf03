"""Energy audit against worked examples, and the algebra between its functions."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from iapws import IAPWS97

from anchorsize.mechanics import energy
from anchorsize.mechanics.momentum import push, thrust

speed = st.floats(0.0, 30.0)
height = st.floats(-50.0, 50.0)


def test_reducing_elbow_of_cengel():
    """Cengel & Cimbala, Fluid Mechanics, 2nd ed., Example 6-2 (as computed by a public companion of the book).

    Inlet pressure of a frictionless elbow that vents to air, then the support force; half of the last digit.
    """
    rho, flow, beta = 1000.0, 14.0 / 1000.0, 1.03
    area = np.array([113e-4, 7e-4])
    v1, v2 = flow / area
    p1 = energy.pressure_from_losses(0.0, v2, 0.3, v1, 0.0, 0.0, rho, downstream=False, g=9.81)
    assert p1 / 1e3 == pytest.approx(202.2, abs=0.05)
    outward = np.array([[-1.0, 0, 0], [np.cos(np.pi / 6), 0, np.sin(np.pi / 6)]])
    pressure_part, momentum_part = thrust(np.array([p1, 0.0]), area, rho, flow, beta)
    force = push(pressure_part + momentum_part, outward).sum(axis=0)
    assert -force[0] == pytest.approx(-2053, abs=0.5)
    assert -force[2] == pytest.approx(144, abs=0.5)


def test_nozzle_of_subramanya():
    """Subramanya, 1000 Solved Problems in Fluid Mechanics, Example 5.6 (as computed by a public companion)."""
    flow, rho = 0.06, 998.0
    v1, v2 = flow / (np.pi / 4 * np.array([0.15, 0.05]) ** 2)
    p1 = energy.pressure_from_losses(0.0, v2, 0.0, v1, 0.0, 0.0, rho, downstream=False)
    assert p1 / 1e3 == pytest.approx(460.2, abs=0.05)


def test_bend_of_leeds():
    """Outlet pressure downstream and the resultant of a 45° reducing bend: Leeds CIVE1400 sheet (recalled).

    Printed to three figures: 34 400 N at 14°.
    """
    area = np.pi / 4 * np.array([0.6, 0.3]) ** 2
    v1, v2 = 0.45 / area
    p2 = energy.pressure_from_losses(145e3, v1, 0.0, v2, 0.0, 0.0, 1000.0)
    outward = np.array([[-1.0, 0], [np.sqrt(0.5), np.sqrt(0.5)]])
    force = push(sum(thrust(np.array([145e3, p2]), area, 1000.0, 0.45)), outward).sum(axis=0)
    assert np.hypot(*force) == pytest.approx(34400, abs=50)
    assert np.degrees(np.arctan(-force[1] / force[0])) == pytest.approx(14, abs=0.5)


def test_inclined_jet_of_daugherty():
    """Daugherty & Franzini, 8th ed., Example 6.4 (as computed by a public companion): horizontal jet force 475 lbf.

    The figure is printed truncated, hence a whole pound. The tank is the known state, the jet is at no pressure; the
    velocity that leaves no pressure follows from the head. Work is in the example's own foot-pound units.
    """
    gamma, g, rho = 55.0, 32.2, 1.94 * 55 / 62.4
    head = energy.total_head(30 * 144, 0.0, 35.0, gamma / g, g=g) - 20.0
    velocity = np.sqrt(2 * g * head)
    assert energy.pressure_from_losses(30 * 144, 0.0, 35.0, velocity, 20.0, 0.0, gamma / g, g=g) == pytest.approx(
        0.0, abs=1e-9 * 30 * 144
    )
    assert rho * 3.81 * velocity * np.cos(np.radians(20)) == pytest.approx(475, abs=1.0)


def test_data_that_gain_energy_are_found():
    """Khan, Fluid Mechanics, Example 5.1: 175 kPa in and 160 kPa out of a bend that narrows from 0.3 to 0.15 m.

    The pressures of the example are known not to fit Bernoulli's equation: 125 kPa more would be lost than there is.
    """
    v1, v2 = 0.3 / (np.pi / 4 * np.array([0.3, 0.15]) ** 2)
    heads = energy.total_head([175e3, 160e3], [v1, v2], 0.0, 1000.0)
    loss = energy.head_loss([-300.0, 300.0], heads)
    assert loss < 0.0
    assert energy.is_gain(loss, heads.max())
    # The frictionless outlet pressure of the same bend leaves nothing to find.
    p2 = energy.pressure_from_losses(175e3, v1, 0.0, v2, 0.0, 0.0, 1000.0)
    fair = energy.total_head([175e3, p2], [v1, v2], 0.0, 1000.0)
    assert not energy.is_gain(energy.head_loss([-300.0, 300.0], fair), fair.max())


@given(speed, st.floats(0.1, 30.0), height, height, st.floats(0.0, 20.0), st.booleans())
def test_pressure_from_losses_gives_back_its_loss_coefficient(v0, v, z0, z, k, downstream):
    loss = energy.loss_pressure(k, v, 990.0)
    p = energy.pressure_from_losses(2e5, v0, z0, v, z, loss, 990.0, downstream)
    known, asked = energy.total_head(2e5, v0, z0, 990.0), energy.total_head(p, v, z, 990.0)
    lost = energy.head_loss([-5.0, 5.0], [known, asked] if downstream else [asked, known])
    # rounding of heads up to 500 m against velocity heads down to 0.5 mm
    assert energy.implied_loss_coefficient(lost, v) == pytest.approx(k, rel=1e-9, abs=1e-8)


@given(height, height)
def test_no_flow_is_statics(z0, z):
    p = energy.pressure_from_losses(1e5, 0.0, z0, 0.0, z, energy.loss_pressure(3.0, 0.0, 1000.0), 1000.0)
    assert p == pytest.approx(1e5 + 1000.0 * 9.80665 * (z0 - z), rel=1e-12, abs=1e-6)
    assert energy.head_loss([0.0, 0.0], [3.0, 4.0]) == 0.0
    assert np.isnan(energy.implied_loss_coefficient(0.0, 0.0))


def test_loss_of_a_dividing_flow_is_weighted_by_the_streams():
    # 3 kg/s at 10 m in; 1 kg/s leaves at 11 m and 2 kg/s at 8 m: (30 − 11 − 16)/3 m
    assert energy.head_loss([-3.0, 1.0, 2.0], [10.0, 11.0, 8.0]) == pytest.approx(1.0)


def test_arrays_broadcast():
    heads = energy.total_head(np.full((4, 2), 1e5), [1.0, 2.0], 0.0, np.full((4, 1), 1000.0))
    assert heads.shape == (4, 2)
    assert energy.head_loss([-1.0, 1.0], heads).shape == (4,)
    assert energy.implied_loss_coefficient(np.ones((3, 1)), np.array([0.0, 1.0])).shape == (3, 2)


def test_vapor_margin_is_zero_on_the_saturation_line():
    saturated = IAPWS97(T=333.15, x=0).P * 1e6
    assert energy.vapor_margin(saturated - 101325.0, 101325.0, saturated) == pytest.approx(0.0, abs=1e-9)
    assert energy.vapor_margin([-95e3, 0.0], 101325.0, saturated)[0] < 0.0
    assert energy.vapor_margin([-95e3, 0.0], 101325.0, saturated)[1] > 0.0


def test_a_negative_loss_is_refused():
    with pytest.raises(ValueError, match="a loss must not be negative"):
        energy.pressure_from_losses(1e5, 1.0, 0.0, 2.0, 0.0, -1.0, 1000.0)


def test_gain_is_judged_against_the_heads():
    """A share of 1/1000 of the greatest head may come from rounding of the data; the sign of the scale has no meaning."""
    loss = [-0.2, -0.04, 0.0, 0.2]
    assert energy.is_gain(loss, 100.0).tolist() == [True, False, False, False]
    assert energy.is_gain(loss, -100.0).tolist() == [True, False, False, False]
    assert energy.is_gain(loss, 100.0, 0.01).tolist() == [False] * 4
    assert not energy.is_gain(0.0, 0.0)


@given(st.floats(1e-6, 0.9))
def test_head_loss_of_a_small_flow(flow):
    """What is lost per weight of fluid does not depend on how much of it flows."""
    assert energy.head_loss([-flow, flow], [10.0, 7.0]) == pytest.approx(3.0, rel=1e-12)


def test_a_loss_lowers_the_pressure_on_the_way_unless_said_otherwise():
    assert energy.pressure_from_losses(1000.0, 2.0, 1.0, 2.0, 1.0, 300.0, 998.0) == 700.0
    assert energy.pressure_from_losses(1000.0, 2.0, 1.0, 2.0, 1.0, 300.0, 998.0, downstream=False) == 1300.0


def test_heads_by_hand():
    """p/ρg + α v²/2g + z with g = 10: 2000/10⁴ + 2·9/20 + 4, and a uniform profile unless said otherwise."""
    assert energy.total_head(2000.0, 3.0, 4.0, 1000.0, 2.0, 10.0) == pytest.approx(0.2 + 0.9 + 4.0)
    assert energy.total_head(2000.0, 3.0, 4.0, 1000.0, g=10.0) == pytest.approx(0.2 + 0.45 + 4.0)
