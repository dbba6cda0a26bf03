"""Lift-off, slip and bolt spacing against published figures, statics and numerical integration.

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
    # numbers under 1e-300 have no digits left to agree in
    assert least == pytest.approx(0.0, abs=max(1e-9 * max(greatest, demand / outside**2), 1e-300))


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


def test_the_sense_of_a_load_does_not_matter() -> None:
    """Moments and shears count by their size, axial load by its pull alone."""
    assert jc.lift_off_demand([2.0, -2.0], [-3.0, 3.0], 0.5).tolist() == [8.0, 6.0]
    assert jc.closed_face_pressure(10.0, -0.3, 0.1, 0.2) == jc.closed_face_pressure(10.0, 0.3, 0.1, 0.2)
    assert jc.slip_utilization_bolt([-3.0, 3.0], 10.0, 0.6) == pytest.approx([0.5, 0.5])


def turning_capacity(off_center: float, inside: float, outside: float) -> float:
    """Torsion that an annulus under 1 N of clamp at μ = 1 resists when pressed in a plane whose resultant stands ``off_center``.

    Upper-bound theorem of limit analysis: the least work over all centers of turning, here along the line of the tilt,
    ∫ p |r − c| dA, the moment being taken about the clamp's resultant (through which friction has no arm to balance).
    """
    r, w = np.polynomial.legendre.leggauss(40)
    r = 0.25 * (outside - inside) * r + 0.25 * (outside + inside)
    angle = np.linspace(0.0, 2.0 * np.pi, 400, endpoint=False)
    x, y = r[:, None] * np.cos(angle), r[:, None] * np.sin(angle)
    area = (w * r)[:, None] * np.ones_like(angle)
    pressure = area * (1.0 + off_center * x * area.sum() / np.sum(area * x * x))
    pressure /= pressure.sum()
    return float(min(np.sum(pressure * np.hypot(x - c, y)) for c in np.linspace(-outside, outside, 401)))


@pytest.mark.parametrize("inside", [1.4, 1.0])
@pytest.mark.parametrize("share", [0.0, 0.5, 1.0])
def test_an_uneven_clamp_turns_more_easily_and_the_rule_stays_under_it(inside: float, share: float) -> None:
    outside = 2.0
    off_center = share * float(jc.kern_radius(inside, outside))
    radius = float(jc.friction_radius(inside, outside))
    torsion = turning_capacity(off_center, inside, outside)
    used = float(jc.slip_utilization_ring(0.0, torsion, 1.0, 1.0, radius, off_center))
    assert used >= 1.0 - 1e-3  # the search for the center and the sums are within a thousandth
    if share == 0.0:
        assert used == pytest.approx(1.0, abs=1e-3)


def test_shear_turns_the_joint_about_a_clamp_off_its_center() -> None:
    """By hand: r = 2, e = 1 leave 2 (1 − 1/4) = 1.5; V = 3 turns by 3·1; μF = 10; (3 + (6 + 3)/1.5)/10, whatever the signs."""
    for shear, torsion in ((3.0, 6.0), (-3.0, 6.0), (3.0, -6.0)):
        assert jc.slip_utilization_ring(shear, torsion, 20.0, 0.5, 2.0, 1.0) == pytest.approx(0.9, rel=1e-12)
    assert jc.slip_utilization_ring(3.0, 6.0, 20.0, 0.5, 2.0) == pytest.approx((3.0 + 6.0 / 2.0) / 10.0, rel=1e-12)


@pytest.mark.parametrize("off_center", [2.0, 2.5])
def test_a_clamp_at_the_friction_radius_resists_no_turning(off_center: float) -> None:
    used = jc.slip_utilization_ring([0.0, 0.0, 1.0, -1.0], [0.0, 1e-9, 0.0, 1.0], 20.0, 0.5, 2.0, off_center)
    assert used.tolist() == [0.0, np.inf, np.inf, np.inf]
