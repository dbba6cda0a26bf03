"""Who carries what: against every combination of open and closed supports, published examples and hand statics."""

from __future__ import annotations

from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog
from scipy.spatial.transform import Rotation

from anchorsize.mechanics import restraint, rigid_body

FREE = restraint.Mounts(np.zeros((0, 3)), np.zeros((0, 6, 6)), ())
RIGID = restraint.Mounts(np.zeros((1, 3)), np.zeros((1, 6, 6)), (True,))
SEED = st.integers(0, 2**32 - 1)
X, Y, Z = np.eye(3)


def held_on(*stiffness: float) -> restraint.Mounts:
    """One joint at the origin with a diagonal stiffness."""
    return restraint.Mounts(np.zeros((1, 3)), np.diag(np.array(stiffness, dtype=float))[None], (False,))


def guides(point: np.ndarray) -> tuple[list[np.ndarray], list[np.ndarray]]:
    """Supports that leave only the up-and-down motion and the turn about y: two across, two against turning."""
    return [point, point, point + Z, point + X], [X, Y, Y, Y]


def random_system(
    rng: np.random.Generator, n: int, friction: float = 0.0
) -> tuple[restraint.Supports, restraint.Mounts]:
    """A joint with a well-conditioned stiffness somewhere, and n supports of all kinds around it."""
    root = rng.normal(size=(6, 6))
    stiffness = 1e6 * (root @ root.T + 0.3 * np.eye(6))
    direction = rng.normal(size=(n, 3))
    direction /= np.linalg.norm(direction, axis=1, keepdims=True)
    action = rng.choice([0, 1, 1, 1, 2], size=n)
    gap = np.where((action != 2) & (rng.random(n) < 0.4), rng.uniform(0, 1e-3, n), 0.0)
    load = np.where((gap == 0.0) & (rng.random(n) < 0.5), rng.uniform(0, 800, n), 0.0)
    supports = restraint.Supports(
        point=rng.normal(size=(n, 3)),
        direction=direction,
        action=action,
        stiffness=10 ** rng.uniform(5, 7.5, n),
        gap=gap,
        set_load=load,
        friction=np.where(action == 1, friction * rng.random(n), 0.0),
    )
    return supports, restraint.Mounts(rng.normal(size=(1, 3)), stiffness[None], (False,))


def by_enumeration(load: np.ndarray, supports: restraint.Supports, mounts: restraint.Mounts) -> list[np.ndarray]:
    """Support forces of every combination of open and closed supports that contradicts nothing."""
    action, k = np.asarray(supports.action), np.asarray(supports.stiffness)
    gap, s = np.asarray(supports.gap), np.asarray(supports.set_load)
    rows = rigid_body.line(supports.point, supports.direction)
    base = rigid_body.stiffness_about_origin(mounts.stiffness, mounts.center).sum(axis=0)
    choices = [
        {0: ("both",) if gap[i] == 0.0 else ("open", "below", "above"), 1: ("open", "below"), 2: ("given",)}[
            int(action[i])
        ]
        for i in range(len(k))
    ]
    answers = []
    for pick in product(*choices):
        matrix, right = base.copy(), load.copy()
        rest = np.zeros(len(k))  # force at no movement
        slope = np.zeros(len(k))
        for i, what in enumerate(pick):
            if what in ("both", "below"):
                rest[i], slope[i] = s[i] - k[i] * gap[i], k[i]
            elif what == "above":
                rest[i], slope[i] = k[i] * gap[i], k[i]
            elif what == "given":
                rest[i] = s[i]
        matrix += rows.T @ (slope[:, None] * rows)
        motion = np.linalg.solve(matrix, right + rows.T @ rest)
        moved = rows @ motion
        force = rest - slope * moved
        fits = True
        for i, what in enumerate(pick):
            if what == "below" or (what == "both" and action[i] == 1):
                fits &= force[i] >= 0.0
            elif what == "above":
                fits &= force[i] <= 0.0
            elif what == "open" and action[i] == 1:
                fits &= s[i] - k[i] * (moved[i] + gap[i]) <= 0.0
            elif what == "open":
                fits &= abs(moved[i]) <= gap[i]
        if fits:
            answers.append(force)
    return answers


@pytest.mark.parametrize("block", range(10))
def test_all_combinations_of_open_and_closed(block: int) -> None:
    """300 random systems: exactly one combination fits, and it is the one found."""
    for seed in range(30 * block, 30 * block + 30):
        rng = np.random.default_rng(seed)
        supports, mounts = random_system(rng, int(rng.integers(1, 7)))
        load = rng.normal(size=6) * 2e3
        answers = by_enumeration(load, supports, mounts)
        assert len(answers) == 1
        found = restraint.solve_restraint(load[:3], load[3:], supports, mounts)
        assert found.converged
        np.testing.assert_allclose(found.support_force, answers[0], atol=1e-6 * max(np.abs(answers[0]).max(), 1.0))


def test_gap_before_a_stop() -> None:
    """Hibbeler, Mechanics of Materials, Example 4.9: 16.61 and 3.39 kN (as computed by a public companion of the book).

    A bar of 5 mm, 1.2 m long, fixed at one end, 20 kN at 0.4 m, a stop 1 mm beyond the other end.
    """
    area_modulus = np.pi / 4 * 0.005**2 * 200e9
    mounts = held_on(area_modulus / 0.4, 1e6, 1e6, 1e6, 1e6, 1e6)
    supports = restraint.Supports([[0.4, 0, 0]], [-X], [restraint.Action.ONE_WAY], [area_modulus / 0.8], gap=[1e-3])
    found = restraint.solve_restraint([20e3, 0, 0], np.zeros(3), supports, mounts)
    assert found.support_force[0] == pytest.approx(3.39e3, abs=5.0)
    assert -found.mount_wrench[0, 0] == pytest.approx(16.61e3, abs=5.0)


@pytest.mark.parametrize(("sunk", "middle", "end"), [(0.0, 15e3, 4.5e3), (0.02, 14.625e3, 4.69e3)])
def test_middle_support_that_has_sunk(sunk: float, middle: float, end: float) -> None:
    """Sarkar, Strength of Materials, Problem 12.8 (as computed by a public companion): beam on three supports, one sunk.

    The middle of the beam is the fitting: simply supported it has the stiffness 48 EI/L³ and moves as under 5/8 of the
    load. 15 and 4.5 kN are printed to 0.1, 14.625 to 0.001, 4.69 kN to 0.01; the support is 1e7 times stiffer than the beam.
    """
    spring = 48 * 200e3 / 8.0**3
    mounts = held_on(1e6, 1e6, spring, 1e6, 1e6, 1e6)
    supports = restraint.Supports([[0, 0, 0]], [Z], [restraint.Action.ONE_WAY], [1e7 * spring], gap=[sunk])
    found = restraint.solve_restraint([0, 0, -5 / 8 * 24e3], np.zeros(3), supports, mounts)
    # On this model the ends carry half of what the middle leaves of the whole 24 kN.
    assert found.support_force[0] == pytest.approx(middle, abs=0.5)
    assert (24e3 - found.support_force[0]) / 2 == pytest.approx(end, abs=5.0)


@pytest.mark.parametrize(
    ("span", "weights", "at_end", "tolerance"),
    [
        (3.708, [(4354, 1.583), (500, 3.291), (638, 11.166)], 4224, 0.5),
        (15.5, [(95, 0.25), (1025, 8.125), (453, 17.5)], 1050, 0.5),
    ],
)
def test_hangers_under_overhanging_pipe(
    span: float, weights: list[tuple[float, float]], at_end: float, tolerance: float
) -> None:
    """Page, Estimator's Piping Man-Hour Manual, 5th edition, hanger load calculations: H-1 4224 lb, H-6 1050 lb, printed to 1 lb.

    Pounds and feet: statics does not mind. Stiffness must not matter, so two unequal ones are tried.
    """
    points, ways = guides(np.zeros(3))
    load = sum(weight for weight, _ in weights)
    moment = sum(weight * arm for weight, arm in weights)
    for soft in (1e3, 1e6):
        supports = restraint.Supports(
            [*points, np.zeros(3), span * X], [*ways, Z, Z], [0, 0, 0, 0, 1, 1], [1e5] * 4 + [1e5, soft]
        )
        found = restraint.solve_restraint([0, 0, -load], [0, moment, 0], supports, FREE)
        assert found.converged
        assert found.support_force[5] == pytest.approx(at_end, abs=tolerance)
        assert found.support_force[4] == pytest.approx(load - moment / span, rel=1e-6)


def test_fixed_end_of_the_same_line() -> None:
    """The same book, H-1 section: 1268 lb remain at the fixed end, printed to 1 lb."""
    weights = np.array([[4354, 1.583], [500, 3.291], [638, 11.166]])
    assert weights[:, 0].sum() - weights.prod(axis=1).sum() / 3.708 == pytest.approx(1268, abs=0.5)
    points, ways = guides(np.zeros(3))
    supports = restraint.Supports([*points, np.zeros(3), 3.708 * X], [*ways, Z, Z], [0] * 4 + [1, 1], [1e5] * 6)
    found = restraint.solve_restraint([0, 0, -weights[:, 0].sum()], [0, weights.prod(axis=1).sum(), 0], supports, FREE)
    assert found.support_force[4] == pytest.approx(1268, abs=0.5)


@settings(max_examples=60, deadline=None)
@given(SEED, st.integers(0, 6), st.floats(0.0, 0.6))
def test_balance_and_one_way_action(seed: int, n: int, friction: float) -> None:
    """Forces and moments of loads, joint and supports add up to nothing; force ≥ 0, clearance ≥ 0, one of them 0; friction cone."""
    rng = np.random.default_rng(seed)
    supports, mounts = random_system(rng, n, friction)
    force, moment = rng.normal(size=(4, 3)) * 3e3, rng.normal(size=(4, 3)) * 1e3
    found = restraint.solve_restraint(force, moment, supports, mounts)
    assert found.converged.all()
    points = np.asarray(supports.point)
    pushes = found.support_force[..., None] * np.asarray(supports.direction) + found.friction_force
    joint = found.mount_wrench
    total = force + pushes.sum(axis=1) + joint[..., :3].sum(axis=1)
    about = moment + np.cross(points, pushes).sum(axis=1) + joint[..., 3:].sum(axis=1)
    about += np.cross(mounts.center, joint[..., :3]).sum(axis=1)
    biggest = max(float(np.abs(force).max()), float(np.abs(pushes).max(initial=0.0)), float(np.abs(joint).max()))
    assert np.abs(total).max() < 1e-7 * biggest
    assert np.abs(about).max() < 1e-7 * biggest
    one_way = np.asarray(supports.action) == 1
    assert np.all(found.support_force[:, one_way] >= 0.0)
    assert np.all(found.clearance >= 0.0)
    assert np.all(found.support_force[:, one_way] * found.clearance[:, one_way] == 0.0)
    drag = np.linalg.norm(found.friction_force, axis=-1)
    limit = np.asarray(supports.friction) * np.maximum(found.support_force, 0.0)
    assert np.all(drag <= limit + 1e-6 * biggest)
    assert np.allclose(np.sum(found.friction_force * np.asarray(supports.direction), axis=-1), 0.0, atol=1e-6 * biggest)
    places = found.motion[:, None, :3] + np.cross(found.motion[:, None, 3:], points)
    np.testing.assert_allclose(np.sum(places * supports.direction, axis=-1), found.movement, atol=1e-9)
    across = places - found.movement[..., None] * np.asarray(supports.direction)
    assert np.all(np.sum(found.friction_force * across, axis=-1) <= 1e-9)
    sliding = found.state == restraint.SupportState.SLIDING
    np.testing.assert_allclose(drag[sliding], limit[sliding], rtol=1e-5, atol=1e-6 * biggest)


@settings(max_examples=40, deadline=None)
@given(SEED, st.floats(0.0, 0.4))
def test_turned_and_moved_world(seed: int, friction: float) -> None:
    """Support forces do not depend on where the origin is or how the axes lie."""
    rng = np.random.default_rng(seed)
    supports, mounts = random_system(rng, 5, friction)
    force, moment = rng.normal(size=3) * 3e3, rng.normal(size=3) * 1e3
    turn, move = Rotation.random(rng=rng).as_matrix(), rng.normal(size=3) * 20
    new = restraint.Supports(
        np.asarray(supports.point) @ turn.T + move,
        np.asarray(supports.direction) @ turn.T,
        supports.action,
        supports.stiffness,
        supports.gap,
        supports.set_load,
        supports.friction,
    )
    turned = rigid_body.in_world_axes(mounts.stiffness, *turn.T)
    new_mounts = restraint.Mounts(np.asarray(mounts.center) @ turn.T + move, turned, (False,))
    there = turn @ force
    one = restraint.solve_restraint(force, moment, supports, mounts)
    other = restraint.solve_restraint(there, turn @ moment + np.cross(move, there), new, new_mounts)
    if one.single and other.single:
        np.testing.assert_allclose(other.support_force, one.support_force, atol=1e-4)
        np.testing.assert_allclose(other.friction_force, one.friction_force @ turn.T, atol=1e-3)


@settings(max_examples=30, deadline=None)
@given(SEED)
def test_ever_stiffer_joint_comes_to_the_rigid_one(seed: int) -> None:
    """Supports of a rigid fitting give their set loads only; a joint 1e7 times as stiff as the rest comes within 1e-4 of that."""
    rng = np.random.default_rng(seed)
    supports, mounts = random_system(rng, 4, 0.3)
    force, moment = rng.normal(size=3) * 3e3, rng.normal(size=3) * 1e3
    stiff = restraint.Mounts(mounts.center, 1e14 * np.eye(6)[None], (False,))
    rigid = restraint.Mounts(mounts.center, mounts.stiffness, (True,))
    near = restraint.solve_restraint(force, moment, supports, stiff)
    exact = restraint.solve_restraint(force, moment, supports, rigid)
    np.testing.assert_allclose(exact.support_force, supports.set_load, rtol=1e-14)
    np.testing.assert_allclose(near.support_force, exact.support_force, atol=1.0)
    np.testing.assert_allclose(near.mount_wrench, exact.mount_wrench, atol=10.0)
    assert np.all(exact.motion == 0.0)


def test_rigid_joint_carries_what_a_spring_hanger_leaves() -> None:
    supports = restraint.Supports([[0.2, 0, 0], [0.3, 0, 0]], [Z, Z], [2, 1], [0.0, 1e6], set_load=[120.0, 0.0])
    found = restraint.solve_restraint([0, 0, -500.0], [0, 50.0, 0], supports, RIGID)
    np.testing.assert_allclose(found.mount_wrench[0], [0, 0, 380.0, 0, -50.0 + 0.2 * 120.0, 0], atol=1e-9)
    assert found.state.tolist() == [restraint.SupportState.SET_LOAD, restraint.SupportState.OPEN]


def test_friction_sticks_then_slides() -> None:
    """A rest under 1 kN, μ 0.3, joint 2 MN/m and rest 4 MN/m sideways: 300 N is the most; by hand before and after."""
    mounts = held_on(2e6, 2e6, 1.0, 1e6, 1e6, 1e6)
    supports = restraint.Supports([[0, 0, 0]], [Z], [1], [1e6], friction=[0.3], stick_stiffness=[4e6])
    force = np.array([[0.0, 300.0, -1000.0], [0.0, 900.0, -1000.0], [0.0, 900.0, 50.0]])
    found = restraint.solve_restraint(force, np.zeros(3), supports, mounts)
    assert found.converged.all()
    np.testing.assert_allclose(found.friction_force[:, 0, 1], [-200.0, -300.0, 0.0], atol=1e-3)
    states = [restraint.SupportState.CARRYING, restraint.SupportState.SLIDING, restraint.SupportState.OPEN]
    assert found.state[:, 0].tolist() == states


@pytest.mark.parametrize(("slope", "holds"), [(0.15, True), (0.29, True), (0.31, False), (0.6, False)])
def test_block_on_a_slope(slope: float, holds: bool) -> None:
    """Four rests on a slope with μ 0.3 hold a block until tan(slope) passes 0.3 (hand statics)."""
    points = [[x, y, 0.0] for x in (-1, 1) for y in (-1, 1)]
    supports = restraint.Supports(points, [Z] * 4, [1] * 4, [1e6] * 4, friction=[0.3] * 4)
    found = restraint.solve_restraint([slope * 1e3, 0, -1e3], np.zeros(3), supports, FREE)
    assert bool(found.converged) == holds
    assert found.status == (restraint.RestraintStatus.SOLVED if holds else restraint.RestraintStatus.SLIDES)


def test_two_answers_with_much_friction() -> None:
    """Sideways and upward motion coupled by −0.9: the rest may be clear, or stuck, when −1 presses and 1.15 pushes (by hand).

    Clear: the upward motion is (w_n + 0.9 w_t)/det > 0. Stuck and stiff: N = 1 and friction 1.15 under 1.3 × 1.
    """
    stiffness = np.eye(6) * 1e3
    stiffness[0, 2] = stiffness[2, 0] = -0.9e3
    mounts = restraint.Mounts(np.zeros((1, 3)), stiffness[None], (False,))
    supports = restraint.Supports([[0, 0, 0]], [Z], [1], [1e7], friction=[1.3])
    found = restraint.solve_restraint([1.15, 0, -1.0], np.zeros(3), supports, mounts)
    assert found.converged
    assert not found.single


def test_lifted_rest_and_slack_hanger_without_a_joint() -> None:
    points, ways = guides(np.zeros(3))
    supports = restraint.Supports([*points, np.zeros(3), X], [*ways, Z, Z], [0] * 4 + [1, 1], [1e6] * 6)
    found = restraint.solve_restraint(
        [[0, 0, -10.0], [0, 0, 10.0], [0, 0, -10.0]], [[0, 5.0, 0], [0, 5.0, 0], [0, 15.0, 0]], supports, FREE
    )
    assert found.status.tolist() == [restraint.RestraintStatus.SOLVED, *[restraint.RestraintStatus.NO_EQUILIBRIUM] * 2]
    # Up is unbalanced in full; a weight beyond the last rest leaves part of its moment, or of its force, unbalanced.
    assert np.linalg.norm(found.unbalanced[1]) > 1.0
    assert np.linalg.norm(found.unbalanced[2]) > 0.1
    assert np.isnan(found.support_force[1:]).all()


@settings(max_examples=60, deadline=None)
@given(SEED, st.integers(4, 10))
def test_no_joint_holds_what_a_linear_program_says(seed: int, n: int) -> None:
    """One-way supports alone hold a load exactly if nonnegative forces balance it; scipy's linear program finds whether."""
    rng = np.random.default_rng(seed)
    points = rng.uniform(-1, 1, size=(n, 3)) * [1.0, 1.0, 0.2]
    supports = restraint.Supports(
        [*points, points[0], points[1], points[2]],
        [*[Z] * n, X, Y, X],
        [1] * n + [0] * 3,
        10 ** rng.uniform(5, 8, n + 3),
    )
    load = np.concatenate([rng.normal(size=2), [-1.0], 0.6 * rng.normal(size=3)]) * 1e3
    rows = rigid_body.line(supports.point, supports.direction)
    limits = [(0, None)] * n + [(None, None)] * 3
    program = linprog(np.zeros(n + 3), A_eq=rows.T, b_eq=-load, bounds=limits)
    found = restraint.solve_restraint(load[:3], load[3:], supports, FREE)
    if program.status == 0:
        assert found.status == restraint.RestraintStatus.SOLVED
    else:
        # A load just past what can be held may be given up on rather than proved impossible; an answer is never invented.
        assert found.status in (restraint.RestraintStatus.NO_EQUILIBRIUM, restraint.RestraintStatus.GIVEN_UP)
        assert not found.converged


def test_what_is_not_held_is_named() -> None:
    """Three rests in one line, with guides that stop all but tipping: the line is the axis that is left free."""
    line = [[0.5, y, 0.2] for y in (-1.0, 0.0, 1.0)]
    points = [*line, [0.5, 0, 0.2], [0.5, 0, 0.2], [0.5, 1.0, 0.2]]
    supports = restraint.Supports(points, [Z, Z, Z, X, Y, X], [1, 1, 1, 0, 0, 0], [1e6] * 6)
    (free,) = restraint.hold(supports, FREE)
    assert free.turns
    np.testing.assert_allclose(np.abs(free.direction), [0, 1, 0], atol=1e-9)
    np.testing.assert_allclose(free.through, [0.5, 0, 0.2], atol=1e-9)


def test_free_translation_is_named() -> None:
    supports = restraint.Supports(
        [[0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 0], [0, 1, 0]], [Z, Z, Z, X, X], [1] * 5, [1e6] * 5
    )
    (free,) = restraint.hold(supports, FREE)
    assert not free.turns
    np.testing.assert_allclose(np.abs(free.direction), [0, 1, 0], atol=1e-9)
    assert restraint.hold(supports, RIGID) == []
    assert restraint.hold(supports, held_on(1, 1, 1, 1, 1, 1)) == []


def test_rows_give_the_same_as_one_at_a_time() -> None:
    rng = np.random.default_rng(7)
    supports, mounts = random_system(rng, 5, 0.3)
    force, gap = rng.normal(size=(6, 1, 3)) * 3e3, np.asarray(supports.gap) * np.array([[1.0], [3.0]])
    many = restraint.Supports(
        supports.point,
        supports.direction,
        supports.action,
        supports.stiffness,
        gap,
        supports.set_load,
        supports.friction,
    )
    found = restraint.solve_restraint(force, np.zeros(3), many, mounts)
    assert found.support_force.shape == (6, 2, 5)
    for i, j in product(range(6), range(2)):
        one = restraint.Supports(
            supports.point,
            supports.direction,
            supports.action,
            supports.stiffness,
            gap[j],
            supports.set_load,
            supports.friction,
        )
        alone = restraint.solve_restraint(force[i, 0], np.zeros(3), one, mounts)
        np.testing.assert_allclose(found.support_force[i, j], alone.support_force, atol=1e-6)


def test_a_row_that_is_no_number_is_given_up() -> None:
    found = restraint.solve_restraint(
        [[0, 0, np.nan], [0, 0, 1.0]], np.zeros(3), restraint.Supports([X], [Z], [0], [1.0]), held_on(*[1] * 6)
    )
    assert found.status.tolist() == [restraint.RestraintStatus.GIVEN_UP, restraint.RestraintStatus.SOLVED]


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"stiffness": [0.0]}, "stiffness of a support must be greater than zero"),
        ({"gap": [-1e-3]}, "gap of a support must not be negative"),
        ({"gap": [1e-3], "set_load": [5.0]}, "gap cannot have a set load"),
        ({"set_load": [-5.0]}, "acts one way cannot be negative"),
        ({"action": [0], "friction": [0.3]}, "friction is for supports that act one way"),
        ({"action": [2], "gap": [0.1]}, "constant force has no gap"),
        ({"direction": [[0, 0, 2.0]]}, "unit vector"),
    ],
)
def test_contradictions_are_refused(change: dict[str, list[float]], message: str) -> None:
    given_ = {"point": [X], "direction": [Z], "action": [1], "stiffness": [1e6]} | change
    with pytest.raises(ValueError, match=message):
        restraint.solve_restraint(np.zeros(3), np.zeros(3), restraint.Supports(**given_), held_on(*[1] * 6))


def test_two_rigid_joints_are_refused() -> None:
    mounts = restraint.Mounts(np.zeros((2, 3)), np.zeros((2, 6, 6)), (True, True))
    with pytest.raises(ValueError, match="two rigid joints"):
        restraint.solve_restraint(np.zeros(3), np.zeros(3), restraint.Supports([X], [Z], [1], [1.0]), mounts)


@given(SEED, st.integers(1, 5))
@settings(deadline=None)
def test_a_point_that_bends_away_is_a_gap_that_widens_and_a_strut_that_is_eased(seed: int, n: int):
    """A movement of a support's point beside the rigid one: of a one-way support more gap, of a two-way one k times less of its force."""
    rng = np.random.default_rng(seed)
    supports, mounts = random_system(rng, n)
    one_way = np.asarray(supports.action) == restraint.Action.ONE_WAY
    two_way = np.asarray(supports.action) == restraint.Action.TWO_WAY
    plain = replace(
        supports,
        gap=np.where(one_way, supports.gap, 0.0),
        set_load=np.where(one_way & (np.asarray(supports.gap) > 0.0), 0.0, supports.set_load),
    )
    idle = one_way & (np.asarray(plain.set_load) == 0.0)
    bend = np.where(idle | two_way, rng.uniform(0.0, 1e-3, n), 0.0)
    other = replace(
        plain,
        gap=np.asarray(plain.gap) + np.where(idle, bend, 0.0),
        set_load=np.asarray(plain.set_load) - np.where(two_way, np.asarray(plain.stiffness) * bend, 0.0),
    )
    force, moment = 3e3 * rng.normal(size=3), 3e3 * rng.normal(size=3)
    bent = restraint.solve_restraint(force, moment, replace(plain, bend=bend), mounts)
    same = restraint.solve_restraint(force, moment, other, mounts)
    size = np.max(np.abs(bent.support_force)) + np.linalg.norm(force)
    assert bent.support_force == pytest.approx(same.support_force, abs=1e-8 * size)
    assert bent.mount_wrench == pytest.approx(same.mount_wrench, abs=1e-7 * size)
    assert bent.movement - bend == pytest.approx(same.movement, abs=1e-11)
