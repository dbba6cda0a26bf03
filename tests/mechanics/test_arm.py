"""What a piece of pipe gives at a point that it carries, against cantilevers and cranks by hand and a quadrature by scipy."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.spatial.transform import Rotation

from anchorsize.mechanics.arm import POISSON, arm_flexibility, arm_movement

Z = np.eye(3)[2]
OUTSIDE, WALL, MODULUS = 0.1683, 0.0071, 205e9


def bending(outside: float) -> float:
    """EI of the pipe [N·m²], second moment of a ring."""
    return float(MODULUS * np.pi / 64.0 * (outside**4 - (outside - 2 * WALL) ** 4))


EI = bending(OUTSIDE)


def pipe(points: list[np.ndarray], at: np.ndarray, outside: float = OUTSIDE) -> np.ndarray:
    """Flexibility at a point of a pipe of one section that runs through the points."""
    ends = np.full((len(points) - 1, 2), outside)
    return arm_flexibility(np.array(points[:-1]), np.array(points[1:]), at, ends, WALL, MODULUS)


def test_a_straight_arm_by_hand():
    """L³/3EI across and nothing along (strength of materials), in one piece, in two, and with a piece of no length."""
    reach = 1.3
    expected = np.diag([reach**3 / 3 / EI, reach**3 / 3 / EI, 0.0])
    for points in ([0 * Z, reach * Z], [0 * Z, 0.5 * Z, reach * Z], [0 * Z, 0.5 * Z, 0.5 * Z, reach * Z]):
        assert pipe(points, reach * Z) == pytest.approx(expected, rel=1e-9, abs=1e-20)


@pytest.mark.parametrize(("a", "b"), [(1.3, 0.4), (0.5, 0.8)])
def test_a_crank_by_hand(a: float, b: float):
    """Unit load along a crank a, b: a³/3EI + b³/3EI + a b²/GJ across both, b³/3EI + a b²/EI along the first; GJ = EI/(1 + ν)."""
    corner, end = np.array([0, 0, a]), np.array([b, 0, a])
    crank = pipe([0 * Z, corner, end], end)
    assert crank[1, 1] == pytest.approx((a**3 / 3 + b**3 / 3 + (1 + 0.3) * a * b**2) / EI, rel=1e-9)
    assert crank[2, 2] == pytest.approx((b**3 / 3 + a * b**2) / EI, rel=1e-9)
    assert crank[0, 0] == pytest.approx(a**3 / 3 / EI, rel=1e-9)
    assert crank[0, 2] == pytest.approx(-(a**2) * b / 2 / EI, rel=1e-9)  # the end of the run turns by a²/2EI


def test_a_point_off_the_end_hangs_rigidly_from_it():
    """An unloaded stub of b turns with the end of the run: a³/3 + a² b + a b², Mohr."""
    a, b = 0.9, 0.5
    assert pipe([0 * Z, a * Z], (a + b) * Z)[0, 0] == pytest.approx((a**3 / 3 + a**2 * b + a * b**2) / EI, rel=1e-9)


X = np.eye(3)[0]


def tip(reach: float, force: np.ndarray, moment: np.ndarray, felt: float) -> np.ndarray:
    """How the end of a cantilever along Z moves by a load whose way is the first ``felt`` of it."""
    return arm_movement([0 * Z], [felt * Z], reach * Z, force, moment, [[OUTSIDE] * 2], WALL, MODULUS)


@pytest.mark.parametrize("a", [0.2, 0.9, 1.3])
def test_the_end_of_a_cantilever_by_a_load_short_of_it(a: float):
    """P a² (3L − a)/6EI by a force at a, M a (2L − a)/2EI by a moment there, T a/GJ at a lever by a torque: Roark, Table 8.1 (from memory)."""
    reach, push, turn = 1.3, 1700.0, 900.0
    by_force = tip(reach, push * X, np.cross(a * Z, push * X), a)
    assert by_force == pytest.approx([push * a**2 * (3 * reach - a) / 6 / EI, 0.0, 0.0], rel=1e-9)
    by_moment = tip(reach, 0 * X, turn * np.cross(Z, X), a)
    assert by_moment == pytest.approx([turn * a * (2 * reach - a) / 2 / EI, 0.0, 0.0], rel=1e-9)
    lever = 0.4
    twisted = arm_movement([0 * Z], [a * Z], a * Z + lever * X, 0 * X, turn * Z, [[OUTSIDE] * 2], WALL, MODULUS)
    assert twisted == pytest.approx([0.0, lever * turn * a * (1 + 0.3) / EI, 0.0], rel=1e-9)


def test_an_even_load_is_the_sum_of_its_lumps():
    """w L⁴/8EI (strength of materials): 200 lumps along the arm, each felt up to its own place, in one call."""
    reach, even, lumps = 1.3, 600.0, 200
    at = (np.arange(lumps) + 0.5) * reach / lumps
    force = np.full((lumps, 1), even * reach / lumps) * X
    places = at[:, None] * Z
    felt = places[:, None, :]
    moved = arm_movement(
        np.zeros((lumps, 1, 3)),
        felt,
        reach * Z,
        force,
        np.cross(places, force),
        np.full((lumps, 1, 2), OUTSIDE),
        WALL,
        MODULUS,
    )
    assert moved.sum(axis=0)[0] == pytest.approx(even * reach**4 / 8 / EI, rel=1e-5)


@pytest.mark.parametrize("ends", [(0.20, 0.17), (0.17, 0.20), (0.1683, 0.1683)])
def test_a_taper_against_a_quadrature(ends: tuple[float, float]):
    """∫ (L − s)²/EI(s) ds by scipy; three points of a Simpson rule come within 0.6 % for diameters a sixth apart, enough for a warning."""
    reach = 1.1
    there = arm_flexibility([0 * Z], [reach * Z], reach * Z, [ends], WALL, MODULUS)[0, 0]
    expected = quad(lambda s: (reach - s) ** 2 / bending(ends[0] + s / reach * (ends[1] - ends[0])), 0, reach)[0]
    assert there == pytest.approx(expected, rel=6e-3)


def test_a_wall_thicker_than_the_radius_is_a_solid_bar():
    thick = arm_flexibility([0 * Z], [Z], Z, [[0.05, 0.05]], 0.03, MODULUS)
    assert thick[0, 0] == pytest.approx(1 / 3 / (MODULUS * np.pi / 64 * 0.05**4), rel=1e-12)


# to a millimeter, so that turning the points does not round away the length of a piece
numbers = st.integers(-2000, 2000).map(lambda each: each / 1000.0)


@given(
    st.lists(st.tuples(numbers, numbers, numbers), min_size=3, max_size=4),
    st.tuples(numbers, numbers, numbers),
    st.integers(0, 99),
)
def test_flexibility_is_symmetric_never_negative_and_turns_with_the_pipe(points, at, seed):
    """Maxwell and Betti; and a frame of its own for the whole gives the same."""
    line, at = [np.array(point) for point in points], np.array(at)
    found = pipe(line, at)
    size = max(float(np.abs(found).max()), 1e-30)
    assert found == pytest.approx(found.T, abs=1e-12 * size)
    assert np.linalg.eigvalsh(found).min() >= -1e-12 * size
    turn = Rotation.random(rng=np.random.default_rng(seed)).as_matrix()
    turned = pipe([turn @ point for point in line], turn @ at)
    assert turned == pytest.approx(turn @ found @ turn.T, abs=1e-10 * size)
    assert pipe(line[::-1], at) == pytest.approx(found, abs=1e-12 * size)  # which end comes first does not matter


@pytest.mark.parametrize(("outside", "wall", "modulus"), [(0.0, 0.01, 2e11), (0.1, 0.0, 2e11), (0.1, 0.01, 0.0)])
def test_impossible_pipes_are_refused(outside: float, wall: float, modulus: float):
    with pytest.raises(ValueError, match="must be"):
        arm_flexibility([0 * Z], [Z], Z, [[outside, outside]], wall, modulus)


def test_the_ratio_of_poisson_is_that_of_steel():
    assert POISSON == 0.3
