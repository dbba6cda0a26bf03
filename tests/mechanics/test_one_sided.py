"""One-way bolts and face: the energy against its own differences, the algebra against numpy, the least against scipy."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog
from scipy.optimize import minimize as by_scipy

from anchorsize.mechanics import one_sided
from anchorsize.mechanics.face_integrals import Annulus, Face, Rectangle

seeds = st.integers(0, 2**32 - 1)
UPPER = np.triu_indices(3)


def packed(matrices: np.ndarray) -> np.ndarray:
    """Return symmetric (R, 3, 3) as (6, R)."""
    return np.asarray(matrices[:, UPPER[0], UPPER[1]].T)


def whole(six: np.ndarray) -> np.ndarray:
    """Return (6, R) as symmetric (R, 3, 3)."""
    full = np.zeros((six.shape[1], 3, 3))
    full[:, UPPER[0], UPPER[1]] = full[:, UPPER[1], UPPER[0]] = six.T
    return full


def any_system(seed: int, rows: int = 3, own_points: bool = True, face: bool = True) -> one_sided.OneSidedSystem:
    """Bolts in several states on a face, in numbers near one, so that differences are exact to many digits."""
    rng = np.random.default_rng(seed)
    shape = (5, rows) if own_points else (5,)
    places = rng.uniform(-1.0, 1.0, (2, *shape))
    kinds: list[Face] = [Annulus(0.8 * np.ones(1), 2.0 * np.ones(1)), Rectangle(1.5 * np.ones(1), np.full(rows, 1.2))]
    load = rng.normal(size=(3, rows))
    return one_sided.OneSidedSystem(
        load=load,
        change=load,
        points=np.concatenate([np.ones((1, *shape)), places]),
        stiffness=np.where(rng.random((5, rows)) < 0.2, 0.0, rng.uniform(0.5, 2.0, (5, rows))),
        stretch=rng.uniform(0.1, 1.0, (5, rows)),
        face=kinds[seed % 2] if face else None,
        modulus=np.array([1.7]),
        closing=np.array([[0.4], [0.1], [-0.2]]),
        reach=np.array([1.3]),
        scale=np.full(rows, 3.0),
    )


@settings(max_examples=25)  # three rows of five bolts each
@given(seeds, st.booleans(), st.booleans())
def test_forces_and_curvature_are_the_derivatives_of_the_energy(seed: int, own_points: bool, face: bool) -> None:
    """Central differences of 1e-4 on quantities of about one: their error is of the order of 1e-8, at a kink 1e-4."""
    system = any_system(seed, own_points=own_points, face=face)
    products, step = system.products(), 1e-4
    at = np.random.default_rng(seed + 1).normal(size=(3, 3)) * 0.5
    here = one_sided.springs_at(system, products, at)
    for axis in range(3):
        shift = np.zeros((3, 1))
        shift[axis] = step
        up, down = (one_sided.springs_at(system, products, at + sign * shift) for sign in (1, -1))
        assert (up.energy - down.energy) / (2 * step) == pytest.approx(here.excess[axis], abs=1e-6)
        slope = ((up.excess - down.excess) / (2 * step)).T
        assert slope == pytest.approx(whole(here.curvature)[:, axis], abs=3e-3)


@given(seeds)
def test_tension_and_contact_of_each_part(seed: int) -> None:
    """Bolts pull as k max(0, s + δ) at their place; an open face pushes nothing, a closed one κ (c − δ) over its area."""
    system = any_system(seed)
    at = np.array([[0.3, -9.0, 9.0], [0.2, 0.0, 0.1], [-0.1, 0.0, 0.2]])
    found = one_sided.springs_at(system, system.products(), at)
    for bolt in range(5):
        for row in range(3):
            moved = system.points[:, bolt, row] @ at[:, row]
            pull = system.stiffness[bolt, row] * max(0.0, system.stretch[bolt, row] + moved)
            assert found.tension[bolt, row] == pytest.approx(pull, rel=1e-12)
    assert system.face is not None
    area = np.broadcast_to(system.face.area(), 3)
    assert found.contact[1:] == pytest.approx([area[1], 0.0])
    assert found.push[:, 1] == pytest.approx([1.7 * 9.4 * area[1], *(found.push[1:, 1])])
    assert found.push[:, 2].tolist() == [0.0, 0.0, 0.0]


@given(seeds)
def test_algebra_of_symmetric_systems(seed: int) -> None:
    rng = np.random.default_rng(seed)
    root = rng.normal(size=(4, 3, 3))
    matrices, right = root @ np.swapaxes(root, -1, -2) + 0.1 * np.eye(3), rng.normal(size=(3, 4))
    six = packed(matrices)
    assert one_sided.times(six, right) == pytest.approx(np.einsum("rij,jr->ir", matrices, right))
    solved = one_sided.solve_symmetric(six, six[[0, 3, 5]], right)
    assert solved == pytest.approx(np.linalg.solve(matrices, right.T[..., None])[..., 0].T, rel=1e-6, abs=1e-9)


def test_what_does_not_resist_gives_a_long_step() -> None:
    """Nothing about the first or the last axis: the movement is the force over 1e-24 of the reserve, not a division by zero."""
    six = np.array([[0.0], [0.0], [0.0], [2.0], [0.0], [0.0]])
    found = one_sided.solve_symmetric(six, np.array([[1.0], [2.0], [4.0]]), np.array([[3.0], [6.0], [8.0]]))
    assert found[:, 0] == pytest.approx([3e24, 3.0, 2e24], rel=1e-9)


@given(seeds)
def test_sums_over_bolts_and_movements_at_bolts(seed: int) -> None:
    rng = np.random.default_rng(seed)
    points, many, values, moved = (rng.normal(size=size) for size in ((3, 5), (3, 5, 4), (5, 4), (3, 4)))
    for row in range(4):
        assert one_sided.over_bolts(points, values)[:, row] == pytest.approx(points @ values[:, row])
        assert one_sided.over_bolts(many, values)[:, row] == pytest.approx(many[..., row] @ values[:, row])
        assert one_sided.over_bolts(many, values[:, :1])[:, row] == pytest.approx(many[..., row] @ values[:, 0])
        assert one_sided.at_bolts(points, moved)[:, row] == pytest.approx(points.T @ moved[:, row])
        assert one_sided.at_bolts(many, moved)[:, row] == pytest.approx(many[..., row].T @ moved[:, row])
        assert one_sided.at_bolts(many, moved[:, :1])[:, row] == pytest.approx(many[..., row].T @ moved[:, 0])


@given(seeds)
def test_travel_bounds_the_movement_within_reach(seed: int) -> None:
    """|u| + r (|β| + |γ|), met in a corner of the square of half-side r."""
    moved = np.random.default_rng(seed).normal(size=(3, 2))
    corners = np.array([[1.0, x, y] for x in (2.0, -2.0) for y in (2.0, -2.0)])
    assert one_sided.travel(moved, np.array([2.0])) == pytest.approx(np.max(np.abs(corners @ moved), axis=0))


@given(seeds, st.booleans())
def test_unloosened_curvature_is_that_of_everything_in_contact(seed: int, face: bool) -> None:
    system = replace(
        any_system(seed, face=face), closing=np.array([[50.0], [0.0], [0.0]]), stretch=np.full((5, 3), 50.0)
    )
    products = system.products()
    closed = one_sided.springs_at(system, products, np.zeros((3, 3))).curvature
    assert np.broadcast_to(one_sided.unloosened(system, products), (6, 3)) == pytest.approx(closed, rel=1e-9, abs=1e-12)


def can_be_held(system: one_sided.OneSidedSystem, row: int) -> bool:
    """Whether bolts that pull and a face that pushes can balance the load at all, by scipy's linear program."""
    points = system.points if system.points.ndim == 2 else system.points[..., row]
    x, y = np.array([(x, y) for x in (-0.75, 0.75) for y in (-0.6, 0.6)]).T
    if isinstance(system.face, Annulus):
        angles = np.linspace(0.0, 2.0 * np.pi, 240)
        x, y = np.cos(angles), np.sin(angles)
    columns = np.concatenate([points[:, system.stiffness[:, row] > 0.0], -np.stack([np.ones_like(x), x, y])], axis=1)
    return bool(linprog(np.ones(columns.shape[1]), A_eq=columns, b_eq=system.load[:, row]).status == 0)


@settings(max_examples=15)  # each example is three searches by scipy
@given(seeds, st.booleans())
def test_least_energy_against_scipy(seed: int, own_points: bool) -> None:
    """scipy's BFGS from where the search ends finds nothing lower, and from afar nothing lower either."""
    system = any_system(seed, own_points=own_points)
    free = one_sided.springs_at(replace(system, load=np.zeros((3, 3))), system.products(), np.zeros((3, 3)))
    system = replace(system, load=system.load, change=system.load - free.excess)
    found = one_sided.minimize(system)
    for row in np.flatnonzero(found.status == one_sided.SOLVED):
        one = system.take(np.array([row]))

        def energy(at: np.ndarray, one: one_sided.OneSidedSystem = one) -> tuple[float, np.ndarray]:
            springs = one_sided.springs_at(one, one.products(), at[:, None])
            return float(springs.energy[0]), springs.excess[:, 0]

        # a load that is barely held moves the joint far: rounding grows with it
        lowest, far = energy(found.displacement[:, row])[0], 1.0 + np.abs(found.displacement[:, row]).max()
        assert by_scipy(energy, np.zeros(3), jac=True).fun >= lowest - 1e-9 * (1.0 + abs(lowest))
        assert np.abs(energy(found.displacement[:, row])[1]).max() <= 1e-9 * far
    for row in np.flatnonzero(found.status != one_sided.SOLVED):
        assert not can_be_held(system, int(row))


@settings(max_examples=25)
@given(seeds)
def test_ordinary_joints_settle_in_few_evaluations(seed: int) -> None:
    """Newton's method on an energy that is nearly quadratic: bolts hold the load here in either direction of the pull."""
    system = any_system(seed)
    found = one_sided.minimize(
        replace(system, stiffness=np.ones((5, 3)), stretch=np.full((5, 3), 0.5), load=0.3 * system.load)
    )
    assert np.all(found.passes[found.status == one_sided.SOLVED] <= 20)


def test_a_stiff_face_is_balanced_to_rounding_and_a_soft_one_beside_it_to_the_last_digit() -> None:
    """Four bolts of 1 N/m, 1 m stretched, draw a flange through 0.4 m onto a face: κA (0.4 − u) = 4 (1 + u).

    With κ = 1e14 a step of the last digit of 0.4 m is worth 1e-2 N, far over the tolerance: that must not count.
    """
    ring, modulus = Annulus(np.array([1.0]), np.array([2.0])), np.array([1e14, 3.0])
    area = float(ring.area()[0])
    places = np.array([[1.0, 0.0, -1.0, 0.0], [0.0, 1.0, 0.0, -1.0]])
    system = one_sided.OneSidedSystem(
        load=np.zeros((3, 2)),
        change=np.stack([modulus * area * 0.4 - 4.0, np.zeros(2), np.zeros(2)]),
        points=np.concatenate([np.ones((1, 4)), places]),
        stiffness=np.ones((4, 1)),
        stretch=np.ones((4, 1)),
        face=ring,
        modulus=modulus,
        closing=np.array([[0.4], [0.0], [0.0]]),
        reach=np.array([1.0]),
        scale=np.full(2, 4.0),
    )
    found = one_sided.minimize(system)
    assert found.status.tolist() == [one_sided.SOLVED, one_sided.SOLVED]
    expected = (modulus * area * 0.4 - 4.0) / (modulus * area + 4.0)
    assert found.displacement[0] == pytest.approx(expected, abs=1e-10)
    # tipped by hand, the same joint tilts about its axes by the moment over Σky² + κI
    moment = np.array([[0.0, 0.0], [0.1, 0.1], [0.2, 0.2]])
    tipped = replace(system, load=moment, change=system.change + moment)
    tilt = one_sided.minimize(tipped)
    assert tilt.status.tolist() == [one_sided.SOLVED, one_sided.SOLVED]
    second = np.pi * (2.0**4 - 1.0) / 64.0
    assert tilt.displacement[1] == pytest.approx(0.1 / (2.0 + modulus * second), rel=1e-6, abs=1e-12)
    assert tilt.displacement[2] == pytest.approx(0.2 / (2.0 + modulus * second), rel=1e-6, abs=1e-12)
