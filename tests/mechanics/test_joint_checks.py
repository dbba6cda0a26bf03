"""Lift-off, slip, Eurocode resistances and bolt spacing against published figures, statics and numerical integration.

Unless said otherwise the tolerance is half of the last printed digit.
"""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import dblquad, quad

from anchorsize.mechanics import joint_checks as jc
from anchorsize.mechanics.flange_code import equivalent_pressure

forces = st.floats(0.0, 1e6)
moments = st.floats(0.0, 1e5)
diameters = st.floats(0.02, 2.0)
hollows = st.floats(0.0, 0.95)


def test_kern_of_a_chimney() -> None:
    """Sarkar, Strength of Materials, Problem 14.2: kern 0.39 m for 2 m outside, 1.5 m inside (as computed by a public companion)."""
    assert jc.kern_radius(1.5, 2.0) == pytest.approx(0.39, abs=0.005)


@given(clamp=forces, moment=moments, outside=diameters, hollow=hollows)
def test_closed_face_pressure_balances_the_load(clamp: float, moment: float, outside: float, hollow: float) -> None:
    """Integrating the linear pressure between least and greatest over the annulus gives clamp and moment back."""
    inside = hollow * outside
    least, greatest = jc.closed_face_pressure(clamp, moment, inside, outside)
    mean, slope = (least + greatest) / 2, (greatest - least) / outside
    area, _ = quad(lambda r: 2 * np.pi * r, inside / 2, outside / 2)
    second, _ = quad(lambda r: np.pi * r**3, inside / 2, outside / 2)
    # The mean is a sum of two near opposite pressures where the clamp is small beside the moment.
    assert mean * area == pytest.approx(clamp, rel=1e-7, abs=1e-14 * moment / outside + 1e-9)
    # The slope is a difference of two near pressures where the moment is small beside the clamp.
    assert slope * second == pytest.approx(moment, rel=1e-7, abs=1e-10 * clamp * outside + 1e-9)


@given(axial=st.floats(-1e6, 1e6), moment=moments, outside=diameters, hollow=hollows)
def test_clamp_equal_to_the_demand_just_closes_the_face(
    axial: float, moment: float, outside: float, hollow: float
) -> None:
    inside = hollow * outside
    demand = jc.lift_off_demand(axial, moment, jc.kern_radius(inside, outside))
    least, greatest = jc.closed_face_pressure(demand - max(axial, 0.0), moment, inside, outside)
    assert least == pytest.approx(0.0, abs=1e-9 * max(greatest, demand / outside**2))


@given(axial=forces, moment=moments, G=diameters)
def test_ring_demand_is_the_equivalent_pressure_force(axial: float, moment: float, G: float) -> None:
    """The rule of equivalent pressure (Kellogg; formula pair printed in an engineering note) as a force on π G²/4."""
    demand = jc.lift_off_demand(axial, moment, jc.kern_radius(G, G))
    assert demand == pytest.approx(equivalent_pressure(0.0, moment, axial, G) * np.pi * G**2 / 4, rel=1e-12)


def friction_at(center: float, inside: float, outside: float) -> tuple[float, float]:
    """Shear force and torsion of a Coulomb face (unit friction stress) that turns about a point ``center`` off its middle."""

    def pull(radius: float, angle: float) -> float:
        x, y = radius * np.cos(angle) - center, radius * np.sin(angle)
        return radius * x / np.hypot(x, y)

    def twist(radius: float, angle: float) -> float:
        x, y = radius * np.cos(angle) - center, radius * np.sin(angle)
        return radius * (x * radius * np.cos(angle) + y * radius * np.sin(angle)) / np.hypot(x, y)

    shear, _ = dblquad(pull, 0.0, 2 * np.pi, inside / 2, outside / 2, epsabs=1e-7)
    torsion, _ = dblquad(twist, 0.0, 2 * np.pi, inside / 2, outside / 2, epsabs=1e-7)
    return abs(shear), abs(torsion)


@pytest.mark.parametrize("center", [0.1, 0.4, 1.1, 3.0])
def test_ring_slip_rule_is_on_the_safe_side(center: float) -> None:
    """Any true slipping state of an annulus, by integration over it, is found to slip: utilization of at least 1."""
    inside, outside = 1.4, 2.0
    shear, torsion = friction_at(center, inside, outside)
    clamp = jc.annulus_area(inside, outside)
    radius = jc.friction_radius(inside, outside)
    assert jc.slip_utilization_ring(shear, torsion, clamp, 1.0, radius) >= 1.0


def test_ring_slip_rule_is_exact_at_its_ends() -> None:
    inside, outside = 1.4, 2.0
    clamp, radius = jc.annulus_area(inside, outside), jc.friction_radius(inside, outside)
    pure_twist, _ = quad(lambda r: 2 * np.pi * r**2, inside / 2, outside / 2)
    assert jc.slip_utilization_ring(0.0, pure_twist, clamp, 1.0, radius) == pytest.approx(1.0, rel=1e-9)
    assert jc.slip_utilization_ring(0.3 * clamp, 0.0, clamp, 0.3, radius) == pytest.approx(1.0, rel=1e-12)


@given(
    shear=forces, torsion=moments, clamp=st.floats(1.0, 1e6), friction=st.floats(0.05, 0.6), more=st.floats(1.0, 1e5)
)
def test_slip_falls_with_clamp_and_scales_with_load(
    shear: float, torsion: float, clamp: float, friction: float, more: float
) -> None:
    found = jc.slip_utilization_ring(shear, torsion, clamp, friction, 0.07)
    assert jc.slip_utilization_ring(shear, torsion, clamp + more, friction, 0.07) <= found
    assert jc.slip_utilization_ring(-2 * shear, -2 * torsion, clamp, friction, 0.07) == pytest.approx(2 * found)


def test_no_clamp_holds_no_shear() -> None:
    assert jc.slip_utilization_bolt([5.0, 0.0, 5.0], [0.0, 0.0, -10.0], 0.2).tolist() == [np.inf, 0.0, np.inf]


def test_en_1993_1_8_preload_and_slip() -> None:
    """SCI/BCSA P363, M20 and M24 class 8.8 (recalled): 137.2 kN; 54.9 and 110 kN for one and two planes; 79.1 kN."""
    preload = jc.preload_en_1993_1_8(800e6, np.array([245e-6, 353e-6]))
    assert preload[0] / 1e3 == pytest.approx(137.2, abs=0.05)
    resistance = jc.slip_resistance_en_1993_1_8(preload, 0.0, 0.5, 1.0, np.array([[1], [2]]), 1.25) / 1e3
    assert resistance[0, 0] == pytest.approx(54.9, abs=0.05)
    assert resistance[1, 0] == pytest.approx(110, abs=0.5)
    assert resistance[0, 1] == pytest.approx(79.1, abs=0.05)


@given(tension=st.floats(-1e5, 5e5), more=st.floats(0.0, 1e5))
def test_en_slip_resistance_falls_with_tension_to_zero(tension: float, more: float) -> None:
    arguments = (0.5, 1.0, 1, 1.25)
    found = jc.slip_resistance_en_1993_1_8(137.2e3, tension, *arguments)
    assert 0.0 <= jc.slip_resistance_en_1993_1_8(137.2e3, tension + more, *arguments) <= found
    assert found <= jc.slip_resistance_en_1993_1_8(137.2e3, 0.0, *arguments)


def test_en_slip_resistance_under_a_tension_equal_to_the_preload() -> None:
    """EN 1993-1-8, Equation 3.8b (from memory; no printed example at hand): a fifth of the slip resistance is left."""
    left = jc.slip_resistance_en_1993_1_8(100e3, [0.0, 100e3], 0.5, 0.85, 2, 1.25)
    assert left[1] == pytest.approx(left[0] / 5, rel=1e-12)


def test_en_1993_1_8_punching() -> None:
    """Engineer's calculation sheet to EN 1993-1-8 Table 3.4, M20 in 8 mm S235 (printed): 130.288 kN."""
    assert jc.punching_resistance_en_1993_1_8(30e-3, 8e-3, 360e6, 1.25) / 1e3 == pytest.approx(130.288, abs=0.0005)


def test_greatest_spacing_worked_by_hand() -> None:
    """TEMA rule by hand (from memory; no printed example at hand): M20, 30 mm flange, m = 2: 2·20 + 180/2.5 = 112 mm."""
    assert jc.greatest_bolt_spacing(20e-3, 30e-3, 2.0) == pytest.approx(112e-3, rel=1e-12)


@given(d=st.floats(0.01, 0.1), t=st.floats(0.005, 0.2), m=st.floats(0.0, 6.5), scale=st.floats(0.1, 10.0))
def test_greatest_spacing_scales_and_shrinks_with_a_harder_gasket(d: float, t: float, m: float, scale: float) -> None:
    spacing = jc.greatest_bolt_spacing(d, t, m)
    assert jc.greatest_bolt_spacing(scale * d, scale * t, m) == pytest.approx(scale * spacing, rel=1e-12)
    assert jc.greatest_bolt_spacing(d, t, m + 1.0) < spacing
    assert spacing > 2 * d


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: jc.kern_radius(0.2, 0.1), "must not be smaller"),
        (lambda: jc.lift_off_demand(1.0, 1.0, 0.0), "kern radius must be greater than zero"),
        (lambda: jc.closed_face_pressure(-1.0, 0.0, 0.1, 0.2), "clamp must not be negative"),
        (lambda: jc.friction_radius(0.2, 0.2), "larger than the inside"),
        (lambda: jc.slip_utilization_bolt(1.0, 1.0, -0.1), "slip coefficient must not be negative"),
        (lambda: jc.greatest_bolt_spacing(0.016, 0.0, 2.0), "flange thickness must be greater than zero"),
    ],
)
def test_bad_input_is_named(call, message: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(ValueError, match=message):
        call()
