"""The preloaded joint on a one-sided face, against published cases, closed forms and scipy."""

from __future__ import annotations

import numpy as np
import pytest

from anchorsize.mechanics.contact import ContactResult, solve_preloaded_joint
from anchorsize.mechanics.face_integrals import Annulus, Rectangle
from anchorsize.mechanics.inputs import Array
from tests.reference_joint import Plate, ReferenceJoint, Ring

NO_BOLTS = np.zeros((0, 2)), np.zeros(0), np.zeros(0)
RING = Annulus(0.115, 0.160)
MODULUS = 2.5e11  # gasket of 500 MPa, 2 mm thick [Pa/m]
K, F = 3.2e8, 40e3


def circle(count: int, radius: float = 0.09, first: float = 0.0) -> Array:
    angle = first + np.arange(count) * 2.0 * np.pi / count
    return radius * np.column_stack([np.cos(angle), np.sin(angle)])


def on_face_alone(push: float, M1: float, M2: float, face: Annulus | Rectangle) -> ContactResult:
    """Return the pressure under a footing; any modulus gives the same pressure."""
    return solve_preloaded_joint(-push, M1, M2, *NO_BOLTS, face, 1e9)


# --- published examples -----------------------------------------------------------------------------------------


def test_chimney_base_wholly_in_compression() -> None:
    """Bansal, Strength of Materials, Problem 10.19: 530.54 and 349.46 kPa (printed), tolerance half the last digit."""
    weight = 22e3 * 20.0 * np.pi / 4 * (4.0**2 - 2.0**2)
    wind = 2.0 / 3.0 * 1e3 * 4.0 * 20.0
    result = on_face_alone(weight, wind * 10.0, 0.0, Annulus(2.0, 4.0))
    assert result.pressure_max / 1e3 == pytest.approx(530.54, abs=0.005)
    assert result.pressure_min / 1e3 == pytest.approx(349.46, abs=0.005)
    assert result.lift_off == 0.0


def test_kern_of_a_hollow_chimney() -> None:
    """Sarkar, Strength of Materials, Problem 14.2: no tension up to an eccentricity of 0.39 m (printed, so 0.385 to 0.395)."""
    eccentricity = np.array([0.385, 0.395])
    result = on_face_alone(1.0, 0.0, -eccentricity, Annulus(1.5, 2.0))
    assert result.lift_off[0] == 0.0
    assert result.lift_off[1] > 0.0


def test_base_of_a_gravity_wall() -> None:
    """Sarkar, Strength of Materials, Problem 14.3: toe 112.38, heel 55.62 kPa (printed), half the last digit.

    One meter of wall; the weights of its rectangular and triangular parts and the water about the middle of the base.
    """
    block, wedge, water = 22.4e3 * 1.0 * 6.0, 22.4e3 * 3.0 * 6.0 / 2, 10e3 * 5.5**2 / 2
    about_middle = block * (0.5 - 2.0) + wedge * (2.0 - 2.0) + water * 5.5 / 3
    result = on_face_alone(block + wedge, 0.0, -about_middle, Rectangle(4.0, 1.0))
    assert result.pressure_max / 1e3 == pytest.approx(112.38, abs=0.005)
    assert result.pressure_min / 1e3 == pytest.approx(55.62, abs=0.005)


def test_square_footing_far_outside_the_kern() -> None:
    """Stack-foundation thread of a structural engineers' mailing list (J. MacLean, 2000), printed: 9.6 ksf about a side and
    9.0 ksf about a diagonal of a 10 ft square at 4.41 ft. The load is not printed and is taken from the side formula
    2P/(3B(B/2 − e)), so that only the diagonal is a check; half the last digit.
    """
    ksf, foot = 47880.26, 0.3048
    side, e = 10 * foot, 4.41 * foot
    load = 9.6 * ksf * 1.5 * side * (side / 2 - e)
    square = Rectangle(side, side)
    straight = on_face_alone(load, 0.0, -load * e, square)
    diagonal = on_face_alone(load, load * e / np.sqrt(2), -load * e / np.sqrt(2), square)
    assert straight.pressure_max / ksf == pytest.approx(9.6, rel=1e-9)
    assert diagonal.pressure_max / ksf == pytest.approx(9.0, abs=0.05)
    assert straight.lift_off == pytest.approx(1.0 - 3.0 * (0.5 - 0.441), rel=1e-9)  # pressed length 3 (B/2 − e)


def test_square_footing_where_side_and_diagonal_are_alike() -> None:
    """Same thread: both peaks are equal at e/B = 0.43 (printed), so the diagonal is ahead at 0.425 and behind at 0.435."""
    e = np.array([0.425, 0.435])
    square = Rectangle(1.0, 1.0)
    straight = on_face_alone(1.0, 0.0, -e, square).pressure_max
    diagonal = on_face_alone(1.0, 0.0 + e / np.sqrt(2), -e / np.sqrt(2), square).pressure_max
    assert diagonal[0] > straight[0]
    assert diagonal[1] < straight[1]


def test_joint_of_two_springs() -> None:
    """Machine-design exam review notes (after Juvinall and Marshek), Problem M1a (printed): bolt twice as stiff as the members,
    2250 lbf of preload, 10 % of the clamp left at 6075 lbf, bolt force then 6300 lbf. Half the last digit.
    """
    pound = 4.4482216152605
    area = float(RING.area())
    result = solve_preloaded_joint(6075 * pound, 0.0, 0.0, np.zeros((1, 2)), 2e9, 2250 * pound, RING, 1e9 / area)
    assert result.bolt_tension[0] / pound == pytest.approx(6300, abs=0.5)
    assert result.clamp / pound == pytest.approx(225, abs=0.5)


def test_load_share_of_a_bolt() -> None:
    """Shigley's Mechanical Engineering Design, 9th ed., Example 8-4 (answers recalled): kb = 5.21, km = 8.95 Mlbf/in, C = 0.368.

    Six bolts, half the last digit: the shares are of kb and km per bolt.
    """
    kb, km = 5.21, 8.95
    modulus = 6 * km / float(RING.area())
    result = solve_preloaded_joint(6.0, 0.0, 0.0, circle(6), kb, 14.4, RING, modulus)
    np.testing.assert_allclose(result.bolt_tension - 14.4, 0.368, atol=0.0005)


def test_round_base_tilting_about_its_rim() -> None:
    """Question bank on eccentric load on a circular base (after Bhandari, Design of Machine Elements), Question 1 (printed):
    20 kN at 160 mm, rim of 200 mm radius, four bolts on 150 mm straddling the load plane, 4777.6 N on the far ones.

    The pivot at the rim is the limit of a rigid face. With κA = 1e15 times the bolts' stiffness the pressed sliver is
    within 1e-5 of the rim, which is within half the last digit.
    """
    face = Annulus(0.0, 0.4)
    k = 1e8
    result = solve_preloaded_joint(
        0.0, 0.0, 20e3 * 0.16, circle(4, 0.15, np.pi / 4), k, 0.0, face, 4e15 * k / face.area()
    )
    assert result.bolt_tension.max() == pytest.approx(4777.6, abs=0.05)
    assert result.converged


def test_equivalent_pressure_is_the_loss_of_gasket_load() -> None:
    """Equivalent pressure 16M/(πG³) + 4F/(πG²) (formula of the Kellogg rule as printed in an engineering note; no example).

    A thin gasket ring under bolts of constant force loses, at its least pressed point, the line load that this pressure would
    take off: G/4 times it. The ring is 1e-4 G wide, so 1e-3 is allowed.
    """
    G, force, moment = 0.2, 41e3, 7.3e3
    width = 1e-4 * G
    face = Annulus(G - width, G + width)
    result = solve_preloaded_joint(force, 0.0, moment, circle(8), 0.0, 200e3, face, 1e12)
    line_load = (8 * 200e3 / face.area() - result.pressure_min) * width
    assert line_load == pytest.approx((16 * moment / (np.pi * G**3) + 4 * force / (np.pi * G**2)) * G / 4, rel=1e-3)


# --- closed forms -----------------------------------------------------------------------------------------------


def test_nothing_comes_loose() -> None:
    """One linear spring: tilt M2/(Σkx² + κI), bolts take k δ of the load, the face the rest; I = π(D⁴ − d⁴)/64."""
    N, M1, M2 = 60e3, -900.0, 1500.0
    xy = circle(8, first=np.pi / 8)
    area, inertia = np.pi / 4 * (0.16**2 - 0.115**2), np.pi / 64 * (0.16**4 - 0.115**4)
    u = N / (8 * K + MODULUS * area)
    tilt = 8 * K * 0.09**2 / 2 + MODULUS * inertia
    rise = u + M2 / tilt * xy[:, 0] - M1 / tilt * xy[:, 1]
    result = solve_preloaded_joint(N, M1, M2, xy, K, F, RING, MODULUS)
    np.testing.assert_allclose(result.displacement, [u, M2 / tilt, -M1 / tilt], rtol=1e-11)
    np.testing.assert_allclose(result.bolt_tension, F + K * rise, rtol=1e-12)
    assert result.clamp == pytest.approx(8 * F - N * MODULUS * area / (8 * K + MODULUS * area), rel=1e-12)
    least = 8 * F / area - MODULUS * (u + np.hypot(M1, M2) / tilt * 0.08)
    assert result.pressure_min == pytest.approx(least, rel=1e-11)
    assert result.opens_toward == pytest.approx(np.arctan2(-M1, M2) % (2 * np.pi), rel=1e-9)
    assert result.iterations == 1


def test_wholly_open_joint_hangs_on_its_bolts() -> None:
    """All of N and M on the bolts: t = N/n + 2 M x/(n R²) whatever the preload was."""
    N, M2 = 700e3, 2e3
    xy = circle(8)
    result = solve_preloaded_joint(N, 0.0, M2, xy, K, F, RING, MODULUS)
    assert result.lift_off == 1.0
    assert result.clamp == 0.0
    np.testing.assert_allclose(result.bolt_tension, N / 8 + M2 * xy[:, 0] / (8 * 0.09**2 / 2), rtol=1e-9)


def test_disk_half_in_contact() -> None:
    """No-tension disk: neutral axis through the center at e = 3πR/16, peak 3P/(2R²) (∫s and ∫s² of a half disk)."""
    radius, push = 0.35, 12e3
    result = on_face_alone(push, 0.0, -push * 3 * np.pi * radius / 16, Annulus(0.0, 2 * radius))
    assert result.lift_off == pytest.approx(0.5, abs=1e-10)
    assert result.pressure_max == pytest.approx(1.5 * push / radius**2, rel=1e-9)
    assert result.opens_toward == pytest.approx(np.pi, abs=1e-9)


def test_kern_radius_of_rings() -> None:
    """(R² + r²)/(4R): no lift-off just inside it, lift-off just outside."""
    inside = np.array([0.0, 0.3, 0.9])
    kern = (1.0 + inside**2) / 4.0
    at = kern * np.array([[1 - 1e-6], [1 + 1e-6]])
    result = on_face_alone(1.0, at, 0.0, Annulus(2 * inside, 2.0))
    assert np.all(result.lift_off[0] == 0.0)
    assert np.all(result.lift_off[1] > 0.0)
    np.testing.assert_allclose(result.pressure_min[0] * np.pi * (1 - inside**2), 0.0, atol=2e-6)


def test_unequal_preloads_tilt_the_assembled_face() -> None:
    """With no load: t = F, clamp = ΣF and q = ΣF/A ± (ΣFx) R/I, as a column section within its kern."""
    xy = circle(4)
    preload = np.array([46e3, 40e3, 34e3, 40e3])
    result = solve_preloaded_joint(0.0, 0.0, 0.0, xy, K, preload, RING, MODULUS)
    area, inertia = np.pi / 4 * (0.16**2 - 0.115**2), np.pi / 64 * (0.16**4 - 0.115**4)
    swing = (12e3 * 0.09) * 0.08 / inertia
    np.testing.assert_allclose(result.bolt_tension, preload, rtol=1e-10)
    assert result.clamp == pytest.approx(160e3, rel=1e-10)
    assert result.pressure_max == pytest.approx(160e3 / area + swing, rel=1e-10)
    assert result.pressure_min == pytest.approx(160e3 / area - swing, rel=1e-10)
    assert result.opens_toward == pytest.approx(np.pi, abs=1e-9)


def test_a_missing_bolt_is_no_bolt() -> None:
    xy = circle(6)
    here = np.array([1.0, 1.0, 0.0, 1.0, 1.0, 1.0])
    zeroed = solve_preloaded_joint(90e3, 700.0, 1500.0, xy, K * here, F * here, RING, MODULUS)
    left_out = solve_preloaded_joint(90e3, 700.0, 1500.0, np.delete(xy, 2, axis=0), K, F, RING, MODULUS)
    np.testing.assert_allclose(np.delete(zeroed.bolt_tension, 2), left_out.bolt_tension, rtol=1e-9)
    assert zeroed.bolt_tension[2] == 0.0


# --- a second opinion -------------------------------------------------------------------------------------------


@pytest.mark.slow
def test_two_hundred_random_joints_against_scipy() -> None:
    """Tensions and clamp within 1e-6 of the greatest load of the joint."""
    random = np.random.default_rng(7)
    opened = slack = 0
    for number in range(200):
        count = int(random.integers(3, 13))
        xy = circle(count, 0.09, random.uniform(0, 2 * np.pi)) * random.uniform(0.95, 1.05, (count, 1))
        k = K * random.uniform(0.4, 1.6, count)
        preload = F * random.uniform(0.5, 1.5, count)
        modulus = MODULUS * 10.0 ** random.uniform(-1, 2)
        total = preload.sum()
        load = total * random.normal(0, 1, 3) * [0.8, 0.06, 0.06]
        if number % 3 == 2:
            sides = 0.16 * random.uniform(0.7, 1.0, 2)
            face, own = Plate(*sides), Rectangle(*sides)
        else:
            inside = 0.16 * random.uniform(0.0, 0.9)
            face, own = Ring(inside, 0.16), Annulus(inside, 0.16)
        joint = ReferenceJoint(xy, k, preload, face, modulus)
        tension, clamp, left = joint.under(load, joint.assembled())
        scale = max(total, abs(load[0]), np.max(np.abs(load[1:])) / 0.09)
        assert left < 1e-7 * scale, "scipy has to be there itself"
        result = solve_preloaded_joint(*load, xy, k, preload, own, modulus)
        assert result.converged
        np.testing.assert_allclose(result.bolt_tension, tension, atol=1e-6 * scale)
        assert result.clamp == pytest.approx(clamp, abs=1e-6 * scale)
        opened += int(result.lift_off > 0.0)
        slack += int(np.any(result.bolt_tension == 0.0))
    assert opened > 50, "too few of the joints open for this to be a test"
    assert slack > 10
