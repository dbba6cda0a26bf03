"""A body on springs with fixed friction limits: its energy against differences, and the least against scipy."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize as by_scipy

from anchorsize.mechanics import spring_body
from anchorsize.mechanics.spring_body import SpringBody

seeds = st.integers(0, 2**32 - 1)


def any_body(seed: int, rows: int = 3, friction: bool = True) -> SpringBody:
    """One-way and two-way supports in several states on a body that its joint holds; numbers near one."""
    rng = np.random.default_rng(seed)
    root = rng.normal(size=(rows, 6, 6))
    along, across = rng.normal(size=(rows, 4, 6)), rng.normal(size=(rows, 4, 2, 6))
    low = rng.uniform(-0.5, 0.5, (rows, 4))
    gap = np.array([0.0, 0.6, np.inf, np.inf])
    return SpringBody(
        stiffness=root @ np.swapaxes(root, -1, -2) + np.eye(6),
        load=rng.normal(size=(rows, 6)),
        along=along,
        across=across,
        spring=rng.uniform(0.5, 2.0, (rows, 4)),
        low=low,
        high=low + gap,
        # in some bodies all of them under one
        stick=np.where([False, False, True, True], rng.uniform(0.5, 2.0, (rows, 4)), 0.0)
        * (friction * (0.4 if seed % 3 == 0 else 1.0)),
        limit=np.where(np.arange(4) == 2, np.inf, rng.uniform(0.1, 1.0, (rows, 4))),
        spare=1e-10 * np.broadcast_to(np.eye(6), (rows, 6, 6)),
        scale=np.full(rows, 2.0),
    )


def energy(body: SpringBody, row: int, q: np.ndarray) -> float:
    """Written out support by support: ½ k (distance past low or high)², and friction ½ kₜ τ² up to L, L τ − L²/2kₜ beyond."""
    total = 0.5 * q @ body.stiffness[row] @ q - body.load[row] @ q
    for support in range(body.spring.shape[1]):
        moved = body.along[row, support] @ q
        past = max(body.low[row, support] - moved, 0.0) + max(moved - body.high[row, support], 0.0)
        total += 0.5 * body.spring[row, support] * past**2
        slid, stick = float(np.linalg.norm(body.across[row, support] @ q)), body.stick[row, support]
        limit = body.limit[row, support]
        if stick * slid > limit:
            total += limit * slid - 0.5 * limit**2 / stick
        else:
            total += 0.5 * stick * slid**2
    return float(total)


def differences(function, at: np.ndarray, step: float = 1e-4) -> np.ndarray:  # type: ignore[no-untyped-def]
    return np.array([(function(at + step * axis) - function(at - step * axis)) / (2 * step) for axis in np.eye(6)])


@settings(max_examples=25)  # three rows of four supports each
@given(seeds, st.booleans())
def test_excess_and_curvature_are_derivatives_of_the_energy(seed: int, friction: bool) -> None:
    """Central differences of 1e-6: good to 1e-8, across a kink of the slope to a quarter of the step times the stiffness there."""
    body = any_body(seed, friction=friction)
    at = np.random.default_rng(seed + 1).normal(size=(3, 6)) * 0.4
    excess = spring_body.forces_at(body, at).excess
    curvature = spring_body.curvature(body, at)
    for row in range(3):
        assert excess[row] == pytest.approx(
            differences(lambda q, row=row: energy(body, row, q), at[row], 1e-6), abs=1e-5
        )
        one = body.take(np.array([row]))
        slope = differences(lambda q, one=one: spring_body.forces_at(one, q[None]).excess[0], at[row], 1e-6)
        kinks = np.min(np.abs(spring_body.movements(one, at[[row]])[0] - np.stack([one.low, one.high])))
        if kinks > 1e-4:
            assert slope == pytest.approx(curvature[row], abs=1e-4)


def test_a_spring_without_a_gap_resists_at_its_very_edge() -> None:
    """At no movement a two-way support stands on low = high: its stiffness counts there, and an open one's does not."""
    body = any_body(1, rows=1, friction=False)
    body = replace(body, low=np.array([[0.0, -0.1, -0.1, -0.1]]), high=np.array([[0.0, 0.1, np.inf, np.inf]]))
    expected = body.stiffness[0] + body.spring[0, 0] * np.outer(body.along[0, 0], body.along[0, 0])
    assert spring_body.curvature(body, np.zeros((1, 6)))[0] == pytest.approx(expected)


@settings(max_examples=15)  # each example is three searches by scipy
@given(seeds, st.booleans(), st.floats(0.01, 100.0))
def test_least_energy_against_scipy(seed: int, friction: bool, size: float) -> None:
    body = any_body(seed, friction=friction)
    body = replace(body, load=size * body.load, scale=size * body.scale)
    found = spring_body.minimize(body, np.zeros((3, 6)))
    assert found.status.tolist() == [spring_body.SOLVED] * 3
    for row in range(3):
        lowest = energy(body, row, found.motion[row])
        other = by_scipy(lambda q, row=row: energy(body, row, q), np.zeros(6)).fun
        assert lowest <= other + 1e-6 * max(1.0, abs(other))
    again = spring_body.minimize(body, found.motion)
    assert again.passes.tolist() == [1, 1, 1]


@settings(max_examples=25)
@given(seeds, st.booleans())
def test_ordinary_bodies_settle_in_few_evaluations(seed: int, friction: bool) -> None:
    """Newton's method with a search along each step, on an energy that is nearly quadratic."""
    found = spring_body.minimize(any_body(seed, friction=friction), np.zeros((3, 6)))
    assert np.all(found.passes <= 25)


@pytest.mark.parametrize("pull", [1.0, 1e9, 1e-9])
def test_what_nothing_holds_is_found_whatever_the_size_of_the_load(pull: float) -> None:
    """A spring upward holds a push down and not a pull up; nor does it hold a push sideways."""
    body = any_body(0, rows=3, friction=False)
    up = np.eye(6)[2]
    body = replace(
        body,
        stiffness=np.zeros((3, 6, 6)),
        load=pull * np.array([-up, up, np.eye(6)[0]]),
        along=np.tile(up, (3, 1, 1)),
        across=np.zeros((3, 1, 2, 6)),
        spring=np.ones((3, 1)),
        low=np.zeros((3, 1)),
        high=np.full((3, 1), np.inf),
        stick=np.zeros((3, 1)),
        limit=np.full((3, 1), np.inf),
        scale=np.full(3, pull),
    )
    found = spring_body.minimize(body, np.zeros((3, 6)))
    assert found.status.tolist() == [spring_body.SOLVED, spring_body.NO_EQUILIBRIUM, spring_body.NO_EQUILIBRIUM]
    assert found.motion[0] == pytest.approx(-pull * up, rel=1e-6, abs=0.0)


@pytest.mark.parametrize(("push", "held"), [(0.99, True), (1.01, False)])
def test_friction_alone_holds_up_to_its_limit(push: float, held: bool) -> None:
    """Nothing but friction of 1 N against a sideways push; the other motions are held."""
    body = any_body(0, rows=1, friction=True)
    side, others = np.eye(6)[:2], np.diag([0.0, 0.0, 1.0, 1.0, 1.0, 1.0])
    body = replace(
        body,
        stiffness=others[None],
        load=push * np.array([[0.6, 0.8, 0.0, 0.0, 0.0, 0.0]]),
        along=np.eye(6)[2].reshape(1, 1, 6),
        across=side.reshape(1, 1, 2, 6),
        spring=np.ones((1, 1)),
        low=np.ones((1, 1)),
        high=np.full((1, 1), np.inf),
        stick=np.full((1, 1), 50.0),
        limit=np.ones((1, 1)),
        scale=np.ones(1),
    )
    found = spring_body.minimize(body, np.zeros((1, 6)))
    assert (found.status[0] == spring_body.SOLVED) == held
    assert (found.status[0] == spring_body.NO_EQUILIBRIUM) == (not held)
    if held:
        assert found.motion[0, :2] == pytest.approx(push / 50.0 * np.array([0.6, 0.8]), rel=1e-6)


def test_loads_that_are_no_numbers_are_given_up_and_the_rest_solved() -> None:
    body = any_body(3)
    load = body.load.copy()
    load[1, 2], load[2, 0] = np.nan, np.inf
    found = spring_body.minimize(replace(body, load=load), np.zeros((3, 6)))
    assert found.status.tolist() == [spring_body.SOLVED, spring_body.GIVEN_UP, spring_body.GIVEN_UP]


@pytest.mark.parametrize("two_way", [False, True])
@pytest.mark.parametrize("side", [1.0, -1.0])
def test_a_stiff_stop_far_off_is_balanced_to_rounding_and_a_soft_one_beside_it_to_the_last_digit(
    two_way: bool, side: float
) -> None:
    """A body on unit springs under 1 N meets a stop half a meter off: it moves to there, or to 1/(1 + k) of the way beyond.

    With k = 1e12 a step of the last digit of 0.5 m is worth 6e-5 N, a million times the tolerance: that must not count.
    """
    body = any_body(0, rows=2, friction=False)
    stop = np.full((2, 1), -0.5)
    body = replace(
        body,
        stiffness=np.tile(np.eye(6), (2, 1, 1)),
        load=-side * np.tile(np.eye(6)[0], (2, 1)),
        along=side * np.tile(np.eye(6)[0], (2, 2, 1)),
        across=np.zeros((2, 2, 2, 6)),
        spring=np.array([[1e12, 0.0], [2.0, 0.0]]),
        low=np.concatenate([stop, np.zeros((2, 1))], axis=1),
        high=np.concatenate([stop if two_way else np.full((2, 1), np.inf), np.full((2, 1), np.inf)], axis=1),
        stick=np.zeros((2, 2)),
        limit=np.full((2, 2), np.inf),
        scale=np.ones(2),
    )
    found = spring_body.minimize(body, np.zeros((2, 6)))
    assert found.status.tolist() == [spring_body.SOLVED, spring_body.SOLVED]
    assert side * found.motion[0, 0] == pytest.approx(-0.5, abs=1e-11)
    assert side * found.motion[1, 0] == pytest.approx(-2.0 / 3.0, abs=1e-10)  # 1 + x = 2 (−0.5 − x)


@pytest.mark.parametrize("force", [1.0, 2.0**-30, 2.0**30])
@pytest.mark.parametrize("order", [1, -1])
def test_what_holds_one_row_does_not_hold_another(force: float, order: int) -> None:
    """A support along z with friction along x and y, by row: pressed; the joint alone; stuck; past its friction; pulled off;
    stuck without a limit; past its friction a hundred times; pulled off and held by the joint. Statics says which hold."""
    x, z = np.eye(6)[0], np.eye(6)[2]
    loads = force * np.array([-z, x, 0.5 * x - z, 1.5 * x - z, z, 5.0 * x - z, 100.0 * x - z, z])
    turns, firm = np.diag([0.0, 0.0, 0.0, 1.0, 1.0, 1.0]), np.eye(6)
    joints = [turns + np.diag([0.0, 1.0, 0.0, 0.0, 0.0, 0.0])] * 8
    joints[0], joints[1], joints[7] = joints[0] + np.diag(x), firm, firm
    stick = np.array([0.0, 0.0, 50.0, 50.0, 0.0, 50.0, 50.0, 50.0])[:, None]
    limit = np.array([1.0, 1.0, 1.0, 1.0, 1.0, np.inf, 1.0, 1.0])[:, None]
    joints[4] = joints[4] + np.diag(x)
    body = SpringBody(
        stiffness=force * np.array(joints)[::order],
        load=loads[::order],
        along=z.reshape(1, 1, 6),
        across=np.eye(6)[:2].reshape(1, 1, 2, 6),
        spring=np.full((1, 1), 4.0 * force),
        low=np.zeros((1, 1)),
        high=np.full((1, 1), np.inf),
        stick=force * stick[::order],
        limit=force * limit[::order],
        spare=1e-10 * 50.0 * force * np.eye(6)[None],
        scale=np.max(np.abs(loads), axis=-1)[::order],
    )
    found = spring_body.minimize(body, np.zeros((8, 6)))
    yes, no = spring_body.SOLVED, spring_body.NO_EQUILIBRIUM
    assert found.status[::order].tolist() == [yes, yes, yes, no, no, yes, no, yes]
    assert found.motion[::order][0] == pytest.approx(-0.25 * z, abs=1e-9)
    assert found.motion[::order][1] == pytest.approx(x, abs=1e-9)
    assert found.motion[::order][2] == pytest.approx(0.01 * x - 0.25 * z, abs=1e-9)
    assert found.motion[::order][5] == pytest.approx(0.1 * x - 0.25 * z, abs=1e-9)
    assert found.motion[::order][7] == pytest.approx(z, abs=1e-9)
