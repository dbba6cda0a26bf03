"""Small motions of a rigid body against rotations by scipy, and motions that nothing resists against their definition."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.linalg import null_space, svdvals
from scipy.spatial.transform import Rotation

from anchorsize.mechanics import rigid_body

seeds = st.integers(0, 2**32 - 1)


@given(seeds)
def test_points_move_as_a_small_rotation_moves_them(seed: int) -> None:
    """A rotation of 1e-6 rad by scipy: what it leaves out of the linear motion is of the order of its square."""
    rng = np.random.default_rng(seed)
    points, normals = rng.normal(size=(2, 4, 3))
    move, turn = rng.normal(size=(2, 3)) * 1e-6
    motion = np.concatenate([move, turn])
    expected = move + Rotation.from_rotvec(turn).apply(points) - points
    assert (rigid_body.shift(points) @ motion)[:, :3] == pytest.approx(expected, abs=1e-10)
    assert (rigid_body.shift(points) @ motion)[:, 3:] == pytest.approx(np.tile(turn, (4, 1)))
    assert rigid_body.line(points, normals) @ motion == pytest.approx(np.sum(expected * normals, axis=-1), abs=1e-10)
    assert rigid_body.shift(points.tolist()) == pytest.approx(rigid_body.shift(points))


@given(seeds)
def test_stiffness_in_world_axes_of_several_joints(seed: int) -> None:
    """Energy of a motion is the same in either frame, for each of a batch of frames."""
    rng = np.random.default_rng(seed)
    turns = Rotation.random(5, rng=rng).as_matrix()
    local = rng.normal(size=(5, 6, 6))
    local = local @ np.swapaxes(local, -1, -2)
    motion = rng.normal(size=6)
    world = rigid_body.in_world_axes(local, turns[..., 0], turns[..., 1], turns[..., 2])
    for turn, own, whole in zip(turns, local, world, strict=True):
        seen = np.concatenate([turn.T @ motion[:3], turn.T @ motion[3:]])
        assert motion @ whole @ motion == pytest.approx(seen @ own @ seen, rel=1e-9)


def test_two_vectors_across_make_a_right_handed_frame() -> None:
    directions = np.concatenate([np.random.default_rng(5).normal(size=(200, 3)), np.eye(3), -np.eye(3)])
    directions /= np.linalg.norm(directions, axis=-1, keepdims=True)
    frames = np.concatenate([directions[:, None], rigid_body.across(directions)], axis=1)
    assert frames @ np.swapaxes(frames, -1, -2) == pytest.approx(np.tile(np.eye(3), (206, 1, 1)), abs=1e-12)
    assert np.linalg.det(frames) == pytest.approx(np.ones(206))
    assert rigid_body.across([0.0, 0.6, 0.8]) @ [0.0, 0.6, 0.8] == pytest.approx(np.zeros(2))


def test_a_point_on_a_turning_arm_by_hand() -> None:
    """One radian about z, small as it were, moves the point 3 m out along x by 3 m along y, besides the shift."""
    moved = rigid_body.shift([3, 0, 0]) @ [0.5, 0.0, 0.0, 0.0, 0.0, 1.0]
    assert moved.tolist() == [0.5, 3.0, 0.0, 0.0, 0.0, 1.0]


def springs(lines: np.ndarray, stiffness: float = 1e6) -> np.ndarray:
    return stiffness * lines.T @ lines


@given(seeds, st.integers(0, 6), st.floats(0.1, 10.0), st.floats(1e-13, 1e9))
def test_free_motions_span_what_no_spring_feels(seed: int, count: int, reach: float, stiffness: float) -> None:
    """The null space of the springs' lines by scipy; every motion named lies in it, and together they are all of it."""
    rng = np.random.default_rng(seed)
    lines = rigid_body.line(rng.normal(size=(count, 3)) * reach, rng.normal(size=(count, 3)))
    free = null_space(lines, rcond=1e-4) if count else np.eye(6)
    share = svdvals(lines / [1, 1, 1, reach, reach, reach]) if count else np.ones(1)
    assume(
        not np.any((share < 1e-2 * share[0]) & (share > 1e-8 * share[0]))
    )  # whether that is free is a matter of the limit
    found = rigid_body.free_motions(springs(lines, stiffness), reach)
    assert len(found) == free.shape[1]
    assert [motion.turns for motion in found] == sorted(motion.turns for motion in found)
    slides = null_space(lines[:, :3]).shape[1] if count else 3
    assert sum(not motion.turns for motion in found) == slides
    for motion in found:
        assert np.linalg.norm(motion.direction) == pytest.approx(1.0)
        assert motion.through @ motion.direction == pytest.approx(0.0, abs=1e-5)
        if motion.turns:  # a screw slides as well, which is not said: only the turn must be one of the free ones
            part = free[3:] @ np.linalg.lstsq(free[3:], motion.direction, rcond=None)[0]
            assert part == pytest.approx(motion.direction, abs=1e-6)
        else:
            assert motion.through.tolist() == [0.0, 0.0, 0.0]
            assert lines[:, :3] @ motion.direction == pytest.approx(np.zeros(count), abs=1e-6)
    if free.shape[1] == 1 and found[0].turns:
        move, turn = free[:3, 0], free[3:, 0]
        assert np.cross(found[0].direction, turn) == pytest.approx(np.zeros(3), abs=1e-6)
        assert found[0].through == pytest.approx(np.cross(turn, move) / (turn @ turn), rel=1e-4, abs=1e-6)


def named(stiffness: np.ndarray, reach: float = 1.0) -> list[tuple[bool, list[float], list[float]]]:
    found = rigid_body.free_motions(stiffness, reach)
    return [
        (m.turns, (np.round(m.direction, 9) + 0.0).tolist(), (np.round(m.through, 9) + 0.0).tolist()) for m in found
    ]


X, Y, Z, NOWHERE = [1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0], [0.0, 0.0, 0.0]


@pytest.mark.parametrize("reach", [1.0, 0.01, 5.0])
def test_a_free_body_moves_and_turns_along_each_axis(reach: float) -> None:
    expected = [(False, axis, NOWHERE) for axis in (X, Y, Z)] + [(True, axis, NOWHERE) for axis in (X, Y, Z)]
    assert named(np.zeros((6, 6)), reach) == expected


def test_a_body_on_pins_turns_about_the_line_through_them() -> None:
    """Held at (0, 2, 1) and (5, 2, 1) in all directions: it turns about the line along x through (0, 2, 1)."""
    points = np.repeat([[0.0, 2.0, 1.0], [5.0, 2.0, 1.0]], 3, axis=0)
    lines = rigid_body.line(points, np.tile(np.eye(3), (2, 1)))
    assert named(springs(lines), 5.0) == [(True, X, [0.0, 2.0, 1.0])]


def test_a_body_on_a_table_slides_and_spins() -> None:
    """Three feet along z leave x and y, and the turn about z, said about the origin since any axis would do."""
    lines = rigid_body.line([[0.0, 0.0, 0.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0]], np.tile(Z, (3, 1)))
    assert named(springs(lines)) == [(False, X, NOWHERE), (False, Y, NOWHERE), (True, Z, NOWHERE)]


def test_a_held_body_has_no_free_motion() -> None:
    assert rigid_body.free_motions(np.eye(6), 1.0) == []


@given(seeds, st.integers(1, 4), st.integers(1, 6))
def test_plain_rows_span_the_same_and_lead_in_columns_of_their_own(seed: int, count: int, width: int) -> None:
    """Ranks by numpy, of rows of −1, 0 and 1 that may depend on each other; each row begins with a 1 that stands alone."""
    rows = np.random.default_rng(seed).integers(-1, 2, (count, width)).astype(float)
    plain = rigid_body._plain_basis(rows)
    rank = np.linalg.matrix_rank(rows)
    assert plain.shape == (rank, width)
    assert np.linalg.matrix_rank(np.concatenate([rows, plain])) == rank
    leads = [int(np.flatnonzero(np.abs(row) > 1e-9)[0]) for row in plain]
    assert leads == sorted(set(leads))
    assert plain[:, leads] == pytest.approx(np.eye(rank))


@pytest.mark.parametrize("stiffness", [1e-15, 1.0, 1e15])
def test_how_stiff_the_springs_are_does_not_matter(stiffness: float) -> None:
    """Only their proportion counts: no stiffness is too low to hold, and none so high that it holds more."""
    assert rigid_body.free_motions(stiffness * np.eye(6), 1.0) == []
    assert named(stiffness * np.diag([1.0, 2.0, 0.0, 3.0, 0.0, 1.0])) == [(False, Z, NOWHERE), (True, Y, NOWHERE)]
