"""The parts of the search for a body's least energy: the share of a step, and when a row is at rest or lost."""

from __future__ import annotations

from dataclasses import fields, replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

from anchorsize.mechanics import spring_body
from tests.mechanics.test_spring_body import any_body, energy

seeds = st.integers(0, 2**32 - 1)
UNIT = np.eye(6)
CREEPING = 16  # rows of this seed do not all come to an end by steps alone


def in_units(body: spring_body.SpringBody, force: float) -> spring_body.SpringBody:
    """The same body, forces counted in another unit."""
    names = ("stiffness", "load", "spring", "stick", "limit", "spare", "scale")
    return replace(body, **{name: force * getattr(body, name) for name in names})


def one_row(body: spring_body.SpringBody, row: int) -> spring_body.SpringBody:
    return body.take(np.array([row]))


@settings(max_examples=10)  # three rows each
@given(seeds, st.booleans(), st.sampled_from([0.1, 1.0, 10.0, 1e3]), st.sampled_from([1.0, 2.0**-30]))
def test_a_search_along_a_step_ends_at_its_least_energy(seed: int, friction: bool, length: float, force: float) -> None:
    """The slope of the energy there is a thousandth of what it was, or the step is whole and the energy falls all along.

    Slopes are differences of the energy written out; scipy's root of the slope says where the least lies.
    """
    body = in_units(any_body(seed, friction=friction), force)
    rng = np.random.default_rng(seed + 2)
    at = rng.normal(size=(3, 6)) * 0.5
    step = -length / force * spring_body.forces_at(body, at).excess
    share = spring_body._share_of_step(body, at, step)
    for row in range(3):

        def slope(part: float, row: int = row) -> float:
            one = one_row(body, row)
            return float(spring_body.forces_at(one, (at[row] + part * step[row])[None]).excess[0] @ step[row])

        near = 1e-4 / np.linalg.norm(step[row])
        ends = [energy(body, row, at[row] + (share[row] + sign * near) * step[row]) for sign in (1, -1)]
        assert (ends[0] - ends[1]) / (2 * near) == pytest.approx(
            slope(share[row]), rel=1e-2, abs=1e-3 * abs(slope(0.0))
        )
        assert slope(0.0) < 0.0
        if slope(1.0) <= 0.0:
            assert share[row] == 1.0
        else:
            least = brentq(slope, 0.0, 1.0)
            assert slope(share[row]) <= 1.001e-3 * -slope(0.0)
            assert slope(share[row]) >= 1.001e-3 * slope(0.0) or share[row] == 1.0
            assert energy(body, row, at[row] + share[row] * step[row]) <= energy(
                body, row, at[row] + least * step[row]
            ) + 1e-3 * abs(slope(0.0) * (share[row] - least)) + 1e-9 * abs(energy(body, row, at[row]))


@pytest.mark.parametrize("force", [1.0, 2.0**-30])
@pytest.mark.parametrize("friction", [False, True])
def test_a_search_along_a_step_takes_few_trials(friction: bool, force: float, monkeypatch: pytest.MonkeyPatch) -> None:
    """Halving alone would take a dozen, both ends counted, for a thousandth of an even slope; a chord finds it sooner."""
    calls: list[int] = []
    spring_force = spring_body._spring_force

    def counted(body: spring_body.SpringBody, moved: np.ndarray) -> np.ndarray:
        calls.append(len(moved))
        return spring_force(body, moved)

    monkeypatch.setattr(spring_body, "_spring_force", counted)
    numbers = []
    for seed in range(20):
        body = in_units(any_body(seed, rows=2, friction=friction), force)
        at = np.random.default_rng(seed).normal(size=(2, 6)) * 0.5
        step = -spring_body.forces_at(body, at).excess / force
        calls.clear()
        spring_body._share_of_step(body, at, step)
        numbers.append(len(calls))
    assert np.mean(numbers) <= 10.0
    assert max(numbers) <= 20


def stretched(rows: int) -> spring_body.SpringBody:
    """Bodies with nothing but two supports along x, both of them slack, and no stiffness of their own."""
    return spring_body.SpringBody(
        stiffness=np.zeros((rows, 6, 6)),
        load=np.zeros((rows, 6)),
        along=np.tile(UNIT[0], (rows, 2, 1)),
        across=np.zeros((rows, 2, 2, 6)),
        spring=np.zeros((rows, 2)),
        low=np.zeros((rows, 2)),
        high=np.zeros((rows, 2)),
        stick=np.zeros((rows, 2)),
        limit=np.full((rows, 2), np.inf),
        spare=np.zeros((rows, 6, 6)),
        scale=np.ones(rows),
    )


@pytest.mark.parametrize("size", [1.0, 1e6, 1e-6])
def test_bodies_at_rest_leave_no_more_than_the_tolerance_in_any_direction(size: float) -> None:
    rows = np.arange(12)
    excess = np.zeros((12, 6))
    excess[rows, rows % 6] = np.where(rows < 6, 0.9, -1.1) * spring_body.TOLERANCE * size
    body = replace(stretched(12), scale=np.full(12, size))
    assert spring_body.in_equilibrium(body, np.zeros((12, 6)), excess).tolist() == [True] * 6 + [False] * 6


def test_rounding_of_stiff_springs_is_no_lack_of_balance() -> None:
    """A force of k × movement is known to units of its last place: four of them may be left, a thousand may not.

    Rows: a stiff spring moved one way, the other way; its set load alone, of either sign; a stiff joint moved; one whose
    stiffness is a coupling, moved backward; and nothing stiff at all, however far it moves.
    """
    body = stretched(7)
    stiff, motion = 1e12, np.zeros((7, 6))
    body.spring[:4] = [[stiff, 0.0]] * 4
    motion[:2, 0] = [0.75, -0.75]
    body.low[2:4] = body.high[2:4] = [[0.75], [-0.75]]
    body.high[2, 0], body.low[3, 0] = np.inf, -0.75
    body.stiffness[4] = stiff * np.diag(UNIT[2])
    motion[4, 2] = 0.75
    body.stiffness[5, 1, 2] = body.stiffness[5, 2, 1] = -stiff
    motion[5, 1] = -0.75
    motion[6, 4] = 1e6
    place = float(np.spacing(0.75 * stiff))
    few, many = (np.tile(times * place * UNIT[3], (7, 1)) for times in (4.0, 1000.0))
    assert spring_body.in_equilibrium(body, motion, few).tolist() == [True] * 6 + [False]
    assert not np.any(spring_body.in_equilibrium(body, motion, many))


# what stands in the way of a load of 1 N along x: joint, spring along x and its upper movement, friction stiffness and limit
WAYS = {
    "nothing": (None, 0.0, np.inf, 0.0, np.inf, True),
    "a joint along the load": (UNIT[0], 0.0, np.inf, 0.0, np.inf, False),
    "a joint across the load": (UNIT[1], 0.0, np.inf, 0.0, np.inf, True),
    "a joint of next to nothing": (1e-8 * UNIT[0], 0.0, np.inf, 0.0, np.inf, True),
    "a soft joint": (1e-3 * UNIT[0], 0.0, np.inf, 0.0, np.inf, False),
    "a support that opens": (None, 2.0, np.inf, 0.0, np.inf, True),
    "a support both ways": (None, 2.0, 0.0, 0.0, np.inf, False),
    "friction under the load": (None, 0.0, np.inf, 5.0, 0.99, True),
    "friction over the load": (None, 0.0, np.inf, 5.0, 1.01, False),
    "friction without a limit": (None, 0.0, np.inf, 5.0, np.inf, False),
    "no friction, whatever its limit": (None, 0.0, np.inf, 0.0, 3.0, True),
}


@pytest.mark.parametrize(
    "size", [1.0, 1e-20, 1e20, 10.0 ** np.linspace(-40, 40, 11)], ids=["1", "small", "great", "any"]
)
@pytest.mark.parametrize("force", [1.0, 2.0**-40, 2.0 ** np.linspace(40, -40, 11)], ids=["1", "small", "any"])
@pytest.mark.parametrize("second", [0, 1])
def test_what_a_motion_shows_about_a_load(size: float | np.ndarray, force: float | np.ndarray, second: int) -> None:
    """A motion along the load shows that nothing holds it, unless something on its way does; its size does not matter.

    The friction acts along x too. The other support of every row is slack and holds nothing.
    """
    rows = len(WAYS)
    body = stretched(rows)
    body.across[:, second] = [UNIT[0], UNIT[1]]
    for row, (joint, spring, high, stick, limit, _) in enumerate(WAYS.values()):
        if joint is not None:
            body.stiffness[row] = np.outer(joint, joint)
        body.spring[row, second], body.high[row, second] = spring, high
        body.stick[row, second], body.limit[row, second] = stick, limit
        body.limit[row, 1 - second] = 10.0
    units, sizes = (np.broadcast_to(np.asarray(value, dtype=float), rows) for value in (force, size))
    body = replace(
        body,
        load=units[:, None] * np.tile(UNIT[0], (rows, 1)),
        scale=units.copy(),
        stiffness=units[:, None, None] * body.stiffness,
        spare=1e-10 * units[:, None, None] * np.eye(6),
        spring=units[:, None] * body.spring,
        stick=units[:, None] * body.stick,
        limit=units[:, None] * body.limit,
    )
    lost = [way[-1] for way in WAYS.values()]
    motion = sizes[:, None] * np.tile(UNIT[0], (rows, 1))
    assert spring_body._out_of_reach(body, motion).tolist() == lost
    assert spring_body._out_of_reach(body, motion[:, [1, 0, 2, 3, 4, 5]]).tolist() == [False] * rows  # works nothing
    assert spring_body._out_of_reach(body, -motion).tolist() == [False] * rows
    assert spring_body._out_of_reach(body, 0.0 * motion).tolist() == [False] * rows
    # turned round, a support acting one way is pressed instead of opened
    turned = replace(body, load=-body.load)
    pressed = [way and name != "a support that opens" for way, name in zip(lost, WAYS, strict=True)]
    assert spring_body._out_of_reach(turned, -motion).tolist() == pressed
    for row in range(rows):
        assert spring_body._out_of_reach(one_row(body, row), motion[[row]])[0] == lost[row]


def held_by_friction(seed: int, rows: int, share: float) -> spring_body.SpringBody:
    """Bodies held in four motions by a joint, in the other two by one friction alone, under a share of what that holds.

    The load works f·τ on the two free motions with a friction force f that statics alone gives: |f| is made share × L.
    """
    rng = np.random.default_rng(seed)
    lines, across, load = (rng.normal(size=(rows, *shape)) for shape in ((4, 6), (1, 2, 6), (6,)))
    limit, stick = rng.uniform(0.5, 2.0, (2, rows, 1))
    free = np.linalg.svd(lines)[2][:, 4:]
    slid = np.einsum("rsi,rzi->rzs", across[:, 0], free)
    force = np.linalg.solve(slid, np.einsum("rzi,ri->rz", free, load)[..., None])[..., 0]
    load *= (share * limit[:, 0] / np.linalg.norm(force, axis=-1))[:, None]
    joint = np.einsum("rki,rkj->rij", lines, lines)
    together = joint + np.einsum("rn,rnsi,rnsj->rij", stick, across, across)
    none = np.zeros((rows, 1))
    return spring_body.SpringBody(
        stiffness=joint,
        load=load,
        along=np.zeros((rows, 1, 6)),
        across=across,
        spring=none,
        low=none,
        high=none + np.inf,
        stick=stick,
        limit=limit,
        spare=1e-10 * np.max(np.abs(together), axis=(-1, -2))[:, None, None] * np.eye(6),
        scale=np.max(np.abs(load), axis=-1),
    )


def test_a_load_just_over_the_friction_is_found_to_be_so() -> None:
    """At 99 % of what friction can hold every row comes to rest, at 101.5 % none; that is shown even where steps creep.

    Rounding decides whether a creeping row is shown to have no equilibrium or is given up, which is no wrong answer either.
    """
    under, over = held_by_friction(CREEPING, 12, 0.99), held_by_friction(CREEPING, 12, 1.015)
    both = [np.concatenate([getattr(under, part.name), getattr(over, part.name)]) for part in fields(over)]
    found = spring_body.minimize(spring_body.SpringBody(*both), np.zeros((24, 6)))
    assert found.status[:12].tolist() == [spring_body.SOLVED] * 12
    assert not np.any(found.status[12:] == spring_body.SOLVED)
    assert np.sum(found.status[12:] == spring_body.NO_EQUILIBRIUM) >= 9
    assert found.passes[12:].max() > spring_body.PASSES >= found.passes[:12].max()


def test_evaluations_are_counted(monkeypatch: pytest.MonkeyPatch) -> None:
    calls: list[int] = []
    forces_at = spring_body.forces_at

    def counted(body: spring_body.SpringBody, motion: np.ndarray) -> spring_body.Forces:
        calls.append(len(motion))
        return forces_at(body, motion)

    monkeypatch.setattr(spring_body, "forces_at", counted)
    over = held_by_friction(CREEPING, 12, 1.015)
    most = 0
    for row in (8, 10):
        calls.clear()
        alone = spring_body.minimize(one_row(over, row), np.zeros((1, 6)))
        assert alone.status[0] != spring_body.SOLVED
        assert alone.passes.tolist() == [len(calls)]
        most = max(most, len(calls))
    assert most > spring_body.PASSES


def test_a_row_that_needs_another_round_ends_in_balance_too(monkeypatch: pytest.MonkeyPatch) -> None:
    """With two steps a round many bodies take a second one, from where weak ties to the ground leave them."""
    monkeypatch.setattr(spring_body, "PASSES", 2)
    again = 0
    for seed in range(10):
        body = any_body(seed)
        found = spring_body.minimize(body, np.zeros((3, 6)))
        for row in np.flatnonzero(found.status == spring_body.SOLVED):
            slope = [
                (
                    energy(body, row, found.motion[row] + 1e-5 * axis)
                    - energy(body, row, found.motion[row] - 1e-5 * axis)
                )
                / 2e-5
                for axis in UNIT
            ]
            assert slope == pytest.approx(np.zeros(6), abs=1e-4)
            again += int(found.passes[row] > 2)
    assert again > 2


def test_a_start_that_is_no_number_is_given_up_and_holds_up_no_other_row() -> None:
    over = held_by_friction(CREEPING, 12, 1.015)
    start = np.zeros((12, 6))
    start[0, 3] = np.nan
    found = spring_body.minimize(over, start)
    assert found.status[0] == spring_body.GIVEN_UP
    assert not np.any(found.status == spring_body.SOLVED)
    assert np.sum(found.status[1:] == spring_body.NO_EQUILIBRIUM) >= 8


def test_bodies_without_supports() -> None:
    """A joint alone gives the answer of its linear equations; without one, nothing is held."""
    full = any_body(5, rows=2, friction=False)
    stiffness = full.stiffness.copy()
    stiffness[1] = np.diag([0.0, 1.0, 1.0, 1.0, 1.0, 1.0])
    bare = {name: getattr(full, name)[:, :0] for name in ("along", "across", "spring", "low", "high", "stick", "limit")}
    body = replace(full, stiffness=stiffness, **bare)
    found = spring_body.minimize(body, np.zeros((2, 6)))
    assert found.status.tolist() == [spring_body.SOLVED, spring_body.NO_EQUILIBRIUM]
    assert found.motion[0] == pytest.approx(np.linalg.solve(stiffness[0], body.load[0]), rel=1e-8)
