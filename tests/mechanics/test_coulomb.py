"""Friction that has settled: hand statics row by row, and Coulomb's law as a property of what is found."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from anchorsize.mechanics import coulomb, restraint, spring_body
from anchorsize.mechanics.spring_body import SpringBody

JOINT, REST, STICK, MU = np.array([2e6, 1e6, 3e6]), 4e6, 5e6, 0.3
# level pull along x and y, and what presses the rest (or lifts it): sticking, at the limit from either side, sliding, lifted
PULLS = np.array(
    [[300.0, 0.0], [0.0, 400.0], [3e3, -4e3], [-200.0, 100.0], [900.0, 50.0], [10.0, 0.0], [5e3, 1e3], [0.0, 0.0]]
)
PRESSES = np.array([1e3, 2e3, 1e3, 3e3, 5e3, -500.0, -2e3, 700.0])
RIGID_TURNS = np.diag([*JOINT, 1e9, 1e9, 1e9])


def rest_at_origin(friction: float) -> restraint.Supports:
    return restraint.Supports(
        np.zeros((1, 3)),
        [[0.0, 0.0, 1.0]],
        [restraint.Action.ONE_WAY],
        [REST],
        friction=[friction],
        stick_stiffness=[STICK],
    )


def by_hand(pull: np.ndarray, press: float) -> tuple[float, np.ndarray, bool]:
    """Force on the rest and friction: springs side by side share the press; friction sticks up to μ f.

    Where it slides the body moves by u with K u + μ f u/|u| = P, which is one equation for |u| along each trial direction;
    it is found by repeating u ← P/(K + μ f/|u|), a contraction.
    """
    force = max(press, 0.0) * REST / (REST + JOINT[2])
    moved = pull / (JOINT[:2] + STICK)
    if STICK * np.hypot(*moved) <= MU * force:
        return force, -STICK * moved, False
    for _ in range(500):
        moved = pull / (JOINT[:2] + MU * force / max(float(np.hypot(*moved)), 1e-300))
    return force, -MU * force * moved / np.hypot(*moved), force > 0.0


@pytest.fixture(scope="module")
def rows() -> restraint.Restraint:
    forces = np.concatenate([PULLS, -PRESSES[:, None]], axis=1)
    mounts = restraint.Mounts(np.zeros((1, 3)), RIGID_TURNS[None], (False,))
    return restraint.solve_restraint(forces, np.zeros((8, 3)), rest_at_origin(MU), mounts)


@pytest.mark.parametrize("row", range(8))
def test_a_rest_under_pull_and_press_by_hand(rows: restraint.Restraint, row: int) -> None:
    force, drag, slides = by_hand(PULLS[row], float(PRESSES[row]))
    assert rows.converged.all()
    assert rows.single.all()
    assert rows.support_force[row, 0] == pytest.approx(force, abs=1e-6)
    assert rows.friction_force[row, 0] == pytest.approx([*drag, 0.0], abs=1e-5)
    wanted = (
        restraint.SupportState.SLIDING
        if slides
        else restraint.SupportState.CARRYING
        if force
        else restraint.SupportState.OPEN
    )
    assert rows.state[row, 0] == wanted


def test_without_friction_nothing_is_repeated(rows: restraint.Restraint) -> None:
    """Evaluations are counted over all rounds: more with friction than without, where the rest is open or it is not."""
    forces = np.concatenate([PULLS, -PRESSES[:, None]], axis=1)
    mounts = restraint.Mounts(np.zeros((1, 3)), RIGID_TURNS[None], (False,))
    smooth = restraint.solve_restraint(forces, np.zeros((8, 3)), rest_at_origin(0.0), mounts)
    assert np.all(smooth.iterations >= 1)
    assert np.all(smooth.iterations <= 10)
    assert np.all(rows.iterations > smooth.iterations)
    assert np.all(rows.iterations <= 100)
    assert np.all(smooth.friction_force == 0.0)


@settings(max_examples=10)  # each example is six rows, solved from two starts
@given(st.integers(0, 2**32 - 1))
def test_friction_obeys_coulomb_in_every_row(seed: int) -> None:
    """At most μ f, exactly that where it slides, the stick spring's force where it does not; against the movement in each case.

    A share of 1e-7 of the loads is allowed: the limits settle to 1e-9 of them, and rounds may magnify what is left.
    """
    rng = np.random.default_rng(seed)
    root = rng.normal(size=(6, 6))
    mounts = restraint.Mounts(np.zeros((1, 3)), 1e6 * (root @ root.T + np.eye(6))[None], (False,))
    points, directions = rng.normal(size=(2, 3, 3))
    directions /= np.linalg.norm(directions, axis=-1, keepdims=True)
    mu = np.array([0.3, 0.5, 0.0])
    supports = restraint.Supports(
        points, directions, [1, 1, 1], [3e6, 2e6, 4e6], friction=mu, stick_stiffness=[2e6, 3e6, 1.0]
    )
    loads = rng.normal(size=(6, 6)) * 10.0 ** rng.uniform(0, 5, (6, 1))
    found = restraint.solve_restraint(loads[:, :3], loads[:, 3:], supports, mounts)
    for row in np.flatnonzero(found.converged):
        near = 1e-7 * np.abs(loads[row]).max()
        moved = found.motion[row, :3] + np.cross(found.motion[row, 3:], points)
        across = moved - np.sum(moved * directions, axis=-1, keepdims=True) * directions
        for support in range(3):
            limit = mu[support] * found.support_force[row, support]
            drag, stick = found.friction_force[row, support], np.array([2e6, 3e6, 0.0])[support] * across[support]
            assert np.linalg.norm(drag) <= limit + near
            if np.linalg.norm(stick) < limit - near:
                assert drag == pytest.approx(-stick, abs=near)
            elif np.linalg.norm(stick) > limit + near and limit > near:
                assert drag == pytest.approx(-limit * stick / np.linalg.norm(stick), abs=near)


# A block on a plane, dragged along x and pressed down: sideways and downward motion coupled so that more friction takes
# press away. Its forces are linear in the friction limit L, so f = f0 − c L, and with L = μ f they are known.
COUPLED, PLANE, DRAG, PRESS = np.array([[1.0, 1.9], [1.9, 4.0]]), 100.0, 50.0, 1.0


def sliding_by_hand(
    mu: float, coupled: np.ndarray = COUPLED, drag: float = DRAG, press: float = PRESS, plane: float = PLANE
) -> tuple[float, np.ndarray]:
    """Force of the plane and motion (x, z) while sliding toward x: three linear equations for x, z and f."""
    matrix = np.array([[coupled[0, 0], coupled[0, 1], mu], [coupled[1, 0], coupled[1, 1], -1.0], [0.0, plane, 1.0]])
    x, z, force = np.linalg.solve(matrix, [drag, -press, 0.0])
    assert x > 0.0
    assert force > 0.0
    return float(force), np.array([x, z])


def block(rows: int, unit: float = 1.0) -> SpringBody:
    """The block on its plane and, beside it, on another support that is slack: a second one in every row."""
    stiffness = np.tile(np.eye(6), (rows, 1, 1))
    stiffness[:, [[0], [2]], [0, 2]] = COUPLED
    pull = np.zeros(6)
    pull[[0, 2]] = DRAG, -PRESS
    z = np.eye(6)[2]
    return SpringBody(
        stiffness=unit * stiffness,
        load=unit * np.tile(pull, (rows, 1)),
        along=np.tile([z, -z], (rows, 1, 1)),
        across=np.tile(np.eye(6)[:2], (rows, 2, 1, 1)),
        spring=unit * np.full((rows, 2), PLANE),
        low=np.tile([0.0, -1e3], (rows, 1)),
        high=np.full((rows, 2), np.inf),
        stick=unit * np.full((rows, 2), 1e4),
        limit=np.full((rows, 2), np.inf),
        spare=unit * 1e-10 * np.tile(np.eye(6), (rows, 1, 1)) * 1e4,
        scale=unit * np.full(rows, DRAG),
    )


@pytest.mark.parametrize("unit", [1.0, 2.0**-40])
def test_friction_that_takes_its_own_press_away_settles_where_statics_says(unit: float) -> None:
    """Repeating L = μ f alone swings wider and wider once μ c > 1; with c = 1.9 all but the first rows need damping.

    The last row has no friction; the one before it has it on the slack support alone.
    """
    mu = np.array([0.1, 0.53, 1.0, 3.0, 0.0, 0.0])
    friction = np.stack([mu, np.where(np.arange(6) % 2 == 0, 0.4, 0.0)], axis=1)
    body = block(6, unit)
    body.stick[5] = 0.0
    settled, single = coulomb.find(body, friction, 6)
    assert settled.status.tolist() == [spring_body.SOLVED] * 6
    assert single.all()
    assert settled.passes[5] == spring_body.minimize(body, np.zeros((6, 6))).passes[5]  # no rounds without friction
    for row in range(6):
        force, motion = sliding_by_hand(mu[row])
        assert settled.motion[row, [0, 2]] == pytest.approx(motion, rel=1e-6)
        if mu[row]:
            assert settled.limit[row] / unit == pytest.approx([mu[row] * force, 0.0], rel=1e-6, abs=1e-6)
    alone, _ = coulomb.find(block(1, unit), friction[:1], 1)
    assert alone.motion[0] == pytest.approx(settled.motion[0], rel=1e-12)
    assert alone.passes[0] == settled.passes[0]


def test_one_coefficient_serves_every_row_and_a_row_that_nothing_holds_is_left_out() -> None:
    """Rows: sliding; the joint gone, so that even sticking does not hold the upward pull; sliding again, half the load."""
    body = block(3)
    body.stiffness[1] = 0.0
    body.load[1] = np.eye(6)[2]
    body.spring[1, 1] = 0.0
    body.load[2] *= 0.5
    force, motion = sliding_by_hand(0.6)
    each = np.array([[0.6, 0.0], [0.9, 0.0], [0.6, 0.0]])
    for friction in (each[:1], each):
        settled, single = coulomb.find(body, friction, 3)
        assert settled.status.tolist() == [spring_body.SOLVED, spring_body.NO_EQUILIBRIUM, spring_body.SOLVED]
        assert single.tolist() == [True, True, True]
        assert settled.motion[0, [0, 2]] == pytest.approx(motion, rel=1e-6)
        assert settled.limit[0, 0] == pytest.approx(0.6 * force, rel=1e-6)
        assert settled.motion[2, [0, 2]] == pytest.approx(0.5 * motion, rel=1e-6)


@pytest.mark.parametrize("size", [1.0, 2.0**30, 2.0**-30])
def test_two_answers_are_told_of_the_row_that_has_them(size: float) -> None:
    """Sideways and upward motion coupled by −0.9 of a stiffness: clear of the plane, or stuck to it, for a push of 1.15.

    Clear: the upward motion is (−1 + 0.9 × 1.15)/(1 − 0.81) > 0. Stuck and stiff: pressed by 1, 1.15 under 1.3 × 1. A push of
    0.5 leaves the first alone: −1 + 0.9 × 0.5 < 0; nor does 1.15 with friction of 0.2 stick.
    """
    body = block(3, size)
    body.stiffness[:] = size * np.eye(6)
    body.stiffness[:, 0, 2] = body.stiffness[:, 2, 0] = -0.9 * size
    body.load[:] = 0.0
    body.load[:, 0], body.load[:, 2] = size * np.array([0.5, 1.15, 1.15]), -size
    body.load[:, 5] = 5.0 * size  # a greater load, on a turn that the joint takes
    body = replace(
        body, spring=1e4 * body.spring, scale=size * np.full(3, 5.0), spare=1e2 * body.spare, stick=1e2 * body.stick
    )
    friction = np.array([[1.3, 0.0], [1.3, 0.0], [0.2, 0.0]])
    settled, single = coulomb.find(body, friction, 3)
    assert settled.status.tolist() == [spring_body.SOLVED] * 3
    assert single.tolist() == [True, False, True]
    # the answer told is the stuck one
    assert settled.motion[1] == pytest.approx([0.0, 0.0, 0.0, 0.0, 0.0, 5.0], abs=1e-4)
    assert settled.limit[1] / size == pytest.approx([1.3, 0.0], abs=1e-4)


def test_the_limits_settle_as_exactly_beside_a_row_of_far_greater_forces() -> None:
    """Whether friction has settled is judged row by row."""
    body = block(3)
    for array in (body.load, body.stiffness, body.spring, body.stick, body.spare, body.scale):
        array[1] *= 1e12
    settled, _ = coulomb.find(body, np.array([[0.8, 0.0]]), 3)
    force, motion = sliding_by_hand(0.8)
    assert settled.status.tolist() == [spring_body.SOLVED] * 3
    assert settled.limit[:, 0] == pytest.approx(0.8 * force * np.array([1.0, 1e12, 1.0]), rel=1e-7)
    assert settled.motion[:, [0, 2]] == pytest.approx(np.tile(motion, (3, 1)), rel=1e-7)


def test_evaluations_of_every_round_are_counted(monkeypatch: pytest.MonkeyPatch) -> None:
    """Those of the sticking start, and of all rounds from either start."""
    counts: list[int] = []
    minimize = spring_body.minimize

    def counted(body: SpringBody, start: np.ndarray) -> spring_body.Minimum:
        found = minimize(body, start)
        counts.append(int(found.passes[0]))
        return found

    monkeypatch.setattr(spring_body, "minimize", counted)
    settled, _ = coulomb.find(block(1), np.array([[0.8, 0.0]]), 1)
    assert settled.passes.tolist() == [sum(counts)]
    assert 5 < len(counts) <= 100
    assert sum(counts) <= 300


def test_where_one_start_does_not_settle_the_other_one_answers(monkeypatch: pytest.MonkeyPatch) -> None:
    """Much friction on a stiff plane: rounds from one start swing on, those from the other one come to what statics says.

    Of the four rows two settle from full sticking alone, two from no friction alone.
    """
    monkeypatch.setattr(coulomb, "REPETITIONS", 120)
    # coupling, drag, press, stiffness of the plane, of sticking, coefficient
    cases = np.array(
        [
            [0.953, 36.9, 0.826, 1265.0, 247.0, 7.01],
            [1.24, 21.5, 0.46, 1900.0, 43500.0, 2.51],
            [1.2, 29.4, 0.91, 1600.0, 1500.0, 8.38],
            [1.19, 43.4, 1.28, 2100.0, 92600.0, 3.5],
        ]
    )
    coupling, drag, press, plane, stick, mu = cases.T
    body = block(4)
    body.stiffness[:, 0, 2] = body.stiffness[:, 2, 0] = coupling
    body.load[:, 0], body.load[:, 2], body.scale[:] = drag, -press, drag
    body.spring[:], body.stick[:] = plane[:, None], stick[:, None]
    settled, single = coulomb.find(body, np.stack([mu, 0.0 * mu], axis=1), 4)
    assert settled.status.tolist() == [spring_body.SOLVED] * 4
    assert single.all()
    for row in range(4):
        coupled = np.array([[1.0, coupling[row]], [coupling[row], 4.0]])
        force, motion = sliding_by_hand(mu[row], coupled, drag[row], press[row], plane[row])
        assert settled.motion[row, [0, 2]] == pytest.approx(motion, rel=1e-6)
        assert settled.limit[row] == pytest.approx([mu[row] * force, 0.0], rel=1e-6, abs=1e-6)


def test_a_plane_that_is_barely_touched_settles_to_the_accuracy_of_the_loads() -> None:
    """Lifted until a hundred-millionth of the drag presses on the plane: its friction need not settle any closer than loads do."""
    drawn, pressed = (sliding_by_hand(0.8, press=press)[0] for press in (0.0, 1.0))
    wanted = 1e-8 * DRAG
    press = (wanted - drawn) / (pressed - drawn)  # the force of the plane is linear in the press
    assert sliding_by_hand(0.8, press=press)[0] == pytest.approx(wanted, rel=1e-6)
    body = block(1)
    body.load[0, 2] = -press
    body.scale[0] = abs(press)
    settled, _ = coulomb.find(body, np.array([[0.8, 0.0]]), 1)
    assert settled.status.tolist() == [spring_body.SOLVED]
    assert settled.limit[0, 0] == pytest.approx(0.8 * wanted, abs=1e-8 * abs(press))


def test_a_start_that_has_not_settled_proves_no_second_answer(monkeypatch: pytest.MonkeyPatch) -> None:
    """Stuck for good from the sticking start; after one round from no friction its limit is that of the unheld motion.

    Statics of the stuck block: nearly no motion along x, so the plane carries the press alone, k/(k + 4) of it.
    """
    monkeypatch.setattr(coulomb, "REPETITIONS", 1)
    body = block(1)
    body.load[0, 0] = 0.5
    body.stick[:] = 1e9
    body.scale[:] = 1.0
    settled, single = coulomb.find(body, np.array([[2.0, 0.0]]), 1)
    assert settled.status.tolist() == [spring_body.SOLVED]
    assert single.tolist() == [True]
    assert settled.limit[0] == pytest.approx([2.0 * PLANE / (PLANE + 4.0), 0.0], abs=1e-6)
