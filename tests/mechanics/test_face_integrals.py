"""Closed-form face integrals against handbook figures, a published table and numerical integration."""

from __future__ import annotations

import itertools
from collections.abc import Callable

import mpmath
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from anchorsize.mechanics.face_integrals import SMALL_ANGLE, Annulus, Face, Rectangle
from anchorsize.mechanics.inputs import Array

POWERS = ((0, 0), (1, 0), (0, 1), (2, 0), (1, 1), (0, 2))

angles = st.floats(0.0, 2.0 * np.pi)
offsets = st.floats(-1.5, 1.5)


def line(offset: float, angle: float, steepness: float = 1.0) -> Array:
    """Return the field that is positive ahead of a line at a distance ``offset`` from the center, facing ``angle``."""
    return steepness * np.array([-offset, np.cos(angle), np.sin(angle)])


def by_strips(half_height: Callable[[float], float], half_width: float, field: Array) -> Array:
    """Integrate x^i y^j over the part of a shape |y| < half_height(x), |x| < half_width where the field is positive."""
    f0, f1, f2 = (float(value) for value in field)

    def strip(x: float, i: int, j: int) -> float:
        low, high = -half_height(x), half_height(x)
        at_axis = f0 + f1 * x
        if f2 > 0.0:
            low = max(low, -at_axis / f2)
        elif f2 < 0.0:
            high = min(high, -at_axis / f2)
        elif at_axis <= 0.0:
            return 0.0
        return x**i * (high ** (j + 1) - low ** (j + 1)) / (j + 1) if high > low else 0.0

    def edge(x: float, side: float) -> float:
        return f0 + f1 * x + f2 * side * half_height(x)

    # kinks of the strip's length stand where the line meets the outline: bracketed on a grid, then bisected
    grid = half_width * np.sin(np.linspace(-np.pi / 2, np.pi / 2, 401))
    kinks = []
    for side in (-1.0, 1.0):
        for a, b in itertools.pairwise(grid):
            if edge(a, side) * edge(b, side) < 0.0:
                for _ in range(60):
                    middle = 0.5 * (a + b)
                    a, b = (middle, b) if edge(a, side) * edge(middle, side) > 0.0 else (a, middle)
                kinks.append(a)
    stops = [-half_width, *sorted(kinks), half_width]
    pieces = list(itertools.pairwise(stops))

    def smooth(a: float, b: float, i: int, j: int) -> float:
        # x = mean − half · cos v takes the square-root ends of a circle out of the integrand
        mean, half = 0.5 * (a + b), 0.5 * (b - a)
        return quad(lambda v: strip(mean - half * np.cos(v), i, j) * half * np.sin(v), 0.0, np.pi, epsabs=1e-12)[0]

    return np.array([sum(smooth(a, b, i, j) for a, b in pieces) for i, j in POWERS])


def disk_by_strips(radius: float, field: Array) -> Array:
    return by_strips(lambda x: np.sqrt(max(radius * radius - x * x, 0.0)), radius, field)


LINES = [(0.0, 0.3), (0.2, 1.1), (-0.35, 2.0), (0.7, 4.0), (0.95, 5.5), (-0.9, 0.0), (0.5, np.pi / 2), (-1.2, 1.0)]


@pytest.mark.parametrize(("offset", "angle"), LINES)
def test_ring_against_numerical_integration(offset: float, angle: float) -> None:
    field = line(offset, angle)
    expected = disk_by_strips(1.0, field) - disk_by_strips(0.6, field)
    np.testing.assert_allclose(Annulus(1.2, 2.0).moments(field), expected, atol=1e-9)  # quadrature asked for 1e-12


@pytest.mark.parametrize(("offset", "angle"), LINES)
def test_rectangle_against_numerical_integration(offset: float, angle: float) -> None:
    field = line(offset, angle)
    expected = by_strips(lambda x: 0.45, 0.7, field)  # noqa: ARG005
    np.testing.assert_allclose(Rectangle(1.4, 0.9).moments(field), expected, atol=1e-9)


def test_half_disk_as_in_handbooks_of_sections() -> None:
    """Half disk of radius R: area πR²/2, centroid 4R/3π, both second moments about the center πR⁴/8 (from memory)."""
    radius = 0.3
    a, sx, sy, xx, xy, yy = Annulus(0.0, 2 * radius).moments(np.array([0.0, 1.0, 0.0]))
    assert a == pytest.approx(np.pi * radius**2 / 2, rel=1e-14)
    assert sx / a == pytest.approx(4 * radius / (3 * np.pi), rel=1e-14)
    assert xx == pytest.approx(np.pi * radius**4 / 8, rel=1e-14)
    assert yy == pytest.approx(np.pi * radius**4 / 8, rel=1e-14)
    assert abs(sy) < 1e-16
    assert abs(xy) < 1e-16


def test_whole_faces_as_in_handbooks_of_sections() -> None:
    """Ring: I = π(D⁴ − d⁴)/64 about a diameter; rectangle: bh³/12 and hb³/12 (from memory)."""
    everywhere = np.array([1.0, 0.0, 0.0])
    ring = Annulus(0.115, 0.160)
    second = np.pi * (0.160**4 - 0.115**4) / 64
    np.testing.assert_allclose(ring.moments(everywhere)[[0, 3, 5]], [ring.area(), second, second], rtol=1e-14)
    plate = Rectangle(0.3, 0.2)
    np.testing.assert_allclose(
        plate.moments(everywhere), [0.06, 0, 0, 0.2 * 0.3**3 / 12, 0, 0.3 * 0.2**3 / 12], rtol=1e-14, atol=1e-18
    )


THIN_RING = [  # k, Cc, Ct, z, j
    (0.05, 0.600, 3.008, 0.490, 0.760),
    (0.10, 0.852, 2.887, 0.480, 0.766),
    (0.20, 1.218, 2.661, 0.459, 0.776),
    (0.25, 1.370, 2.551, 0.448, 0.779),
    (0.30, 1.510, 2.442, 0.438, 0.781),
    (0.40, 1.765, 2.224, 0.416, 0.784),
    (0.50, 2.000, 2.000, 0.393, 0.786),
    (0.60, 2.224, 1.765, 0.369, 0.784),
]


@pytest.mark.parametrize(("k", "cc", "ct", "z", "j"), THIN_RING)
def test_thin_base_ring_constants(k: float, cc: float, ct: float, z: float, j: float) -> None:
    """Brownell and Young, Process Equipment Design, Table 10.2 (recalled): neutral axis at k D from the pressed side.

    The third decimal of the table is off by up to one in some entries (Ct = 2.661 is 2.6607, j = 0.786 is 0.7854), so
    0.0015 is allowed. Forces are per thickness, radius and peak stress.
    """
    radius, thickness = 1.0, 1e-5
    ring = Annulus(2 * radius - thickness, 2 * radius + thickness)
    line_at = radius * (1.0 - 2.0 * k)
    pressed, pulled = np.array([-line_at, 1.0, 0.0]), np.array([line_at, -1.0, 0.0])
    force, lever, peak = [], [], (radius - line_at, radius + line_at)
    for field in (pressed, pulled):
        a, sx, _, xx, _, _ = ring.moments(field)
        force.append(field[0] * a + field[1] * sx)
        lever.append((field[0] * sx + field[1] * xx) / force[-1])
    assert force[0] / (thickness * radius * peak[0]) == pytest.approx(cc, abs=0.0015)
    assert force[1] / (thickness * radius * peak[1]) == pytest.approx(ct, abs=0.0015)
    assert lever[0] / (2 * radius) == pytest.approx(z, abs=0.0015)
    assert (lever[0] - lever[1]) / (2 * radius) == pytest.approx(j, abs=0.0015)


@pytest.mark.parametrize("half_angle", [1e-3, 1e-2, 0.1, 0.2499, 0.2501, 1.0])
def test_a_sliver_keeps_its_digits(half_angle: float) -> None:
    """Against the same segment in 40-digit arithmetic: θ − sin θ cos θ cancels, and a sliver still needs its area."""
    with mpmath.workdps(40):
        cosine = mpmath.mpf(float(np.cos(half_angle)))
        theta = mpmath.acos(cosine)
        area = float(theta - mpmath.sin(theta) * cosine)
        first = float(mpmath.mpf(2) / 3 * mpmath.sin(theta) ** 3)
        push = float(mpmath.mpf(2) / 3 * mpmath.sin(theta) ** 3 - cosine * (theta - mpmath.sin(theta) * cosine))
    field = np.array([-np.cos(half_angle), 1.0, 0.0])
    a, sx, *_ = Annulus(0.0, 2.0).moments(field)
    # no absolute tolerance: the area is of the order of θ³. A cosine of about 1 has lost θ² of its digits by rounding of its
    # own, which is in the expected value as well
    assert a == pytest.approx(area, rel=1e-13, abs=0.0)
    assert sx == pytest.approx(first, rel=1e-13, abs=0.0)
    # the two halves of the push agree to θ²: that many digits are lost, and as many again where the area is a plain difference
    lost = half_angle**2 if half_angle < SMALL_ANGLE else half_angle**4
    assert field[0] * a + sx == pytest.approx(push, rel=1e-15 / lost + 1e-13, abs=0.0)


FACES: list[Face] = [Annulus(0.0, 2.0), Annulus(1.2, 2.0), Annulus(1.98, 2.0), Rectangle(1.6, 1.1)]


@pytest.mark.parametrize("face", FACES)
@given(offset=offsets, angle=angles, log_steepness=st.floats(-12, 12))
def test_two_sides_make_the_whole(face: Face, offset: float, angle: float, log_steepness: float) -> None:
    field = line(offset, angle, 10.0**log_steepness)
    whole = face.moments(np.array([1.0, 0.0, 0.0]))
    np.testing.assert_allclose(face.moments(field) + face.moments(-field), whole, atol=1e-13)


@pytest.mark.parametrize("face", FACES)
@given(offset=offsets, angle=angles)
def test_extremes_hold_over_the_face_and_are_met_when_all_is_pressed(face: Face, offset: float, angle: float) -> None:
    field = line(offset, angle)
    low, high = face.extremes(field)
    whole, part = face.moments(np.array([1.0, 0.0, 0.0]))[0], face.moments(field)[0]
    assert (part == pytest.approx(whole, rel=1e-14)) or low < 0.0
    assert part > 0.0 or high <= 1e-15
    rim = np.linspace(0.0, 2.0 * np.pi, 721)
    x, y = float(face.reach()) * np.cos(rim), float(face.reach()) * np.sin(rim)
    if isinstance(face, Annulus):  # the rim itself, on a half-degree grid
        values = field[0] + field[1] * x + field[2] * y
        assert low == pytest.approx(values.min(), abs=2e-5)
        assert high == pytest.approx(values.max(), abs=2e-5)


@given(offset=offsets, angle=angles, turn=angles)
def test_a_ring_does_not_know_where_e1_is(offset: float, angle: float, turn: float) -> None:
    ring = Annulus(1.2, 2.0)
    a, sx, sy, xx, xy, yy = ring.moments(line(offset, angle))
    b, tx, ty, uu, uv, vv = ring.moments(line(offset, angle + turn))
    c, s = np.cos(turn), np.sin(turn)
    turned = np.array([[c, -s], [s, c]])
    assert b == pytest.approx(a, abs=1e-13)
    np.testing.assert_allclose([tx, ty], turned @ [sx, sy], atol=1e-13)
    second = turned @ np.array([[xx, xy], [xy, yy]]) @ turned.T
    np.testing.assert_allclose([uu, uv, vv], [second[0, 0], second[0, 1], second[1, 1]], atol=1e-13)


@pytest.mark.parametrize("face", FACES)
def test_limits_of_the_field(face: Face) -> None:
    whole = face.moments(np.array([1.0, 0.0, 0.0]))
    nothing = np.zeros(6)
    far = [
        ([-5.0, 1.0, 0.0], nothing),
        ([5.0, 1.0, 1.0], whole),
        ([0.0, 0.0, 0.0], nothing),
        ([-1.0, 0.0, 0.0], nothing),
    ]
    nearly_flat = [([1.0, 1e-300, -1e-300], whole), ([-1.0, 1e-300, 1e-300], nothing), ([1e-30, 0.0, 0.0], whole)]
    for field, expected in far + nearly_flat:
        np.testing.assert_allclose(face.moments(np.array(field)), expected, atol=1e-15)
    tangent = float(face.reach())
    assert face.moments(np.array([-tangent, 1.0, 0.0]))[0] == pytest.approx(0.0, abs=1e-12)
    assert face.moments(np.array([tangent, 1.0, 0.0]))[0] == pytest.approx(whole[0], abs=1e-12)


def test_batches_broadcast() -> None:
    fields = np.stack([line(0.1 * i, 0.7 * i) for i in range(5)], axis=-1)
    outside = np.array([[2.0], [3.0]])
    together = Annulus(1.0, outside).moments(fields)
    assert together.shape == (6, 2, 5)
    for i in range(2):
        for j in range(5):
            one = Annulus(1.0, float(outside[i, 0])).moments(fields[:, j])
            assert one.shape == (6,)
            np.testing.assert_array_equal(together[:, i, j], one)
    sides = Rectangle(outside, 1.0).moments(fields)
    assert sides.shape == (6, 2, 5)
    np.testing.assert_array_equal(sides[:, 1, 3], Rectangle(3.0, 1.0).moments(fields[:, 3]))


def test_impossible_faces_are_refused() -> None:
    with pytest.raises(ValueError, match="inside diameter of a face must be less"):
        Annulus(0.2, 0.2)
    with pytest.raises(ValueError, match="inside diameter of a face must not be negative"):
        Annulus(-0.1, 0.2)
    with pytest.raises(ValueError, match="width of a face must be greater"):
        Rectangle(0.0, 1.0)


@pytest.mark.parametrize("order", [1, -1])
def test_one_impossible_ring_among_good_ones_is_refused(order: int) -> None:
    for inside, outside in (([0.1, 0.2], 0.2), ([0.1, 0.3], [0.2, 0.2])):
        with pytest.raises(ValueError, match="less than its outside diameter"):
            Annulus(inside[::order], outside if isinstance(outside, float) else outside[::order])


@pytest.mark.parametrize("order", [1, -1])
def test_one_impossible_rectangle_among_good_ones_is_refused(order: int) -> None:
    for width, depth in (([0.1, 0.0], 0.2), (0.1, [0.2, 0.0])):
        sides = [side[::order] if isinstance(side, list) else side for side in (width, depth)]
        with pytest.raises(ValueError, match="must be"):
            Rectangle(*sides)


def test_a_sliver_among_others_keeps_its_digits() -> None:
    """θ − sin θ cos θ by its series, to θ⁹ in exact fractions: (2/3) θ³ (1 − θ²/5 + 2θ⁴/105 − …), here for 1e-3 and 1e-2 rad."""
    half_angles = np.array([1e-3, 1.0, 1e-2, 3.0])
    fields = np.stack([-np.cos(half_angles), np.ones(4), np.zeros(4)])
    found = Annulus(0.0, 2.0).moments(fields)[0]
    for place in (0, 2):
        theta = np.arccos(np.cos(half_angles[place]))  # as far as the cosine still knows it
        series = 2.0 / 3.0 * theta**3 * (1.0 - theta**2 / 5.0 + 2.0 * theta**4 / 105.0)
        assert found[place] == pytest.approx(series, rel=1e-10, abs=0.0)
    assert found[[1, 3]] == pytest.approx(half_angles[[1, 3]] - 0.5 * np.sin(2.0 * half_angles[[1, 3]]), rel=1e-12)
