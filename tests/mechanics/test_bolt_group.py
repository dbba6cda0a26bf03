"""The linear bolt group where only the places, or only the stiffnesses, differ from row to row, and next to far larger patterns."""

from __future__ import annotations

import numpy as np
import pytest

from anchorsize.mechanics import bolt_group
from anchorsize.mechanics.inputs import Array

XY = np.array([[0.2, 0.0], [0.05, 0.2], [-0.2, 0.1], [-0.1, -0.2]])  # invented
WEIGHT = np.array([1.0, 2.0, 0.5, 1.5])
LOADS = np.array([[3.0, -1.0, 4.0], [0.5, 0.2, -0.7], [-0.3, 0.4, 0.1]])  # a row a load of three bolts patterns


def least_norm(balance: Array, weight: Array, right: Array) -> Array:
    """Forces f that balance ``right`` with the least Σ f²/k: springs under a rigid flange (numpy's least squares)."""
    root = np.sqrt(weight)
    return root * np.linalg.lstsq(balance * root, right, rcond=None)[0]


@pytest.mark.parametrize(
    ("xy", "weight"),
    [
        (XY, WEIGHT * np.array([[1.0], [3.0], [0.2]]) + np.eye(3, 4)),
        (XY * np.array([1.0, 0.5, 2.0])[:, None, None] + np.eye(4, 2), WEIGHT),
    ],
)
def test_only_places_or_only_stiffnesses_by_row(xy: Array, weight: Array) -> None:
    """Three loads on three patterns against least squares of each."""
    group = bolt_group.pattern(xy, weight)
    tensions = bolt_group.tensions_of(group, *LOADS)
    shears = bolt_group.shears_of(group, *LOADS)
    for row in range(3):
        (x, y), k = np.broadcast_to(xy, (3, 4, 2))[row].T, np.broadcast_to(weight, (3, 4))[row]
        first, second, third = LOADS[:, row]
        pull = least_norm(np.stack([np.ones(4), x, -y]), k, np.array([first, third, second]))
        assert tensions[row] == pytest.approx(pull, abs=1e-12)
        none, one = np.zeros(4), np.ones(4)
        balance = np.block([[one, none], [none, one], [y, -x]])
        drag = least_norm(balance, np.tile(k, 2), np.array([first, second, third]))
        assert shears[row].T.reshape(-1) == pytest.approx(drag, abs=1e-12)


def test_a_pattern_is_judged_by_itself() -> None:
    """Stiffness has any unit: beside a pattern 1e30 times as stiff, four spread bolts are still spread."""
    assert bolt_group.capability(XY, np.stack([WEIGHT, 1e30 * WEIGHT])).tolist() == [3, 3]
    lone = np.array([[0.0, 0.0, 1.0, 0.0], [0.0, 0.0, 1e30, 1e30]])
    assert bolt_group.capability(XY, lone).tolist() == [1, 2]


def test_a_pattern_that_cannot_is_found_beside_one_that_can() -> None:
    """Four spread bolts hold anything; the first two alone lie in a line and leave M1, the first alone leaves a torsion of 1."""
    weights = np.array([[1.0, 1.0, 1.0, 1.0], [1.0, 0.0, 1.0, 0.0]])
    places = np.array([[0.2, 0.0], [0.0, 0.2], [-0.2, 0.0], [0.0, -0.2]])
    group = bolt_group.pattern(places, weights)
    (found,) = bolt_group.unable(group, (np.zeros(2), np.ones(2), np.ones(2)), (np.ones(2), np.ones(2), np.ones(2)))
    assert found.rows.tolist() == [False, True]
    assert found.moment == pytest.approx([0.0, 1.0], abs=1e-12)
    alone = bolt_group.pattern(places, np.array([[1.0, 0.0, 0.0, 0.0], [1.0, 0.0, 1.0, 0.0]]))
    (found,) = bolt_group.unable(alone, (), (np.zeros(2), np.zeros(2), np.ones(2)))
    assert found.rows.tolist() == [True, False]
    assert found.moment == pytest.approx([1.0, 0.0], abs=1e-12)


def test_what_is_left_over_is_told_by_force_and_moment() -> None:
    """Two bolts on a diagonal hold the bending about the normal to it; of M1 = 7.27 N·m, M2 = 0 they leave 7.27·cos 45° = 5.141 N·m."""
    line = bolt_group.pattern(np.array([[0.1, 0.1], [-0.1, -0.1]]), np.ones(2))
    (found,) = bolt_group.unable(line, (np.array(50.0), np.array(7.27), np.array(0.0)))
    assert float(found.moment) == pytest.approx(7.27 / np.sqrt(2.0), rel=1e-12)
    assert float(found.force) == pytest.approx(0.0, abs=1e-12)
    why = found.why(float(found.rank), float(found.force), float(found.moment))
    assert why == "bolts in one line cannot balance the axial force and bending: 5.141 N·m left over"
    none = bolt_group.pattern(np.array([[0.1, 0.1]]), np.zeros(1))
    (found,) = bolt_group.unable(none, (np.array(50.0), np.array(3.0), np.array(4.0)))
    assert found.why(0.0, float(found.force), float(found.moment)).endswith(": 50 N and 5 N·m left over")


def test_what_is_left_over_is_told_without_its_sign_and_shear_apart_from_torsion() -> None:
    """Without any bolt all of it is left over: of 6 N and 8 N their resultant of 10 N, whatever the sign of the rest."""
    none = bolt_group.pattern(np.array([[0.1, 0.1]]), np.zeros(1))
    pulled, sheared = bolt_group.unable(
        none, tuple(map(np.array, (-50.0, 3.0, -4.0))), tuple(map(np.array, (6.0, -8.0, -2.0)))
    )  # type: ignore[arg-type]
    assert (float(pulled.force), float(pulled.moment)) == pytest.approx((50.0, 5.0))
    assert (float(sheared.force), float(sheared.moment)) == pytest.approx((10.0, 2.0))
    assert sheared.why(0.0, 10.0, 2.0).endswith("cannot balance the shear and torsion: 10 N and 2 N·m left over")
    assert sheared.why(0.0, 1e-15, 2.0).endswith(": 2 N·m left over")  # 1e-15 N is rounding beside 2 N·m
    assert sheared.why(0.0, 10.0, 1e-15).endswith(": 10 N left over")


@pytest.mark.parametrize("unit", [1e-12, 1.0, 1e12])
def test_the_unit_of_stiffness_does_not_matter(unit: float) -> None:
    group, other = bolt_group.pattern(XY, WEIGHT), bolt_group.pattern(XY, unit * WEIGHT)
    assert other.center == pytest.approx(WEIGHT @ XY / WEIGHT.sum())
    assert other.rank == 3
    np.testing.assert_allclose(bolt_group.tensions_of(other, *LOADS), bolt_group.tensions_of(group, *LOADS), rtol=1e-9)
    np.testing.assert_allclose(bolt_group.shears_of(other, *LOADS), bolt_group.shears_of(group, *LOADS), rtol=1e-9)


@pytest.mark.parametrize("size", [1e-12, 1.0, 1e12])
@pytest.mark.parametrize("turn", [0.0, 0.5, np.pi / 2, 2.0, np.pi])
def test_places_and_lines_wherever_they_lie(turn: float, size: float) -> None:
    """Two bolts in one place, two and three in one line that misses the center, three apart; beside one another, too."""
    c, s = np.cos(turn), np.sin(turn)
    turned = size * np.array([[c, s], [-s, c]])
    sets = np.array(
        [
            [[0.3, 0.7], [0.3, 0.7], [0.3, 0.7]],
            [[0.3, 0.7], [0.3, -0.2], [0.3, 0.7]],
            [[0.3, 0.7], [0.3, -0.2], [0.3, 0.1]],
            [[0.3, 0.7], [0.3, -0.2], [0.1, 0.1]],
        ]
    )
    assert bolt_group.capability(sets @ turned, np.ones(3)).tolist() == [1, 2, 2, 3]
    far = np.concatenate([sets @ turned, 1e12 * sets @ turned])
    assert bolt_group.capability(far, np.ones(3)).tolist() == [1, 2, 2, 3] * 2
