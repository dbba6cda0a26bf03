"""The restrained fitting one direction at a time, by root finding; and mirrored, in other units, in blocks and far from the origin."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from scipy.optimize import brentq

from anchorsize.mechanics import restraint
from anchorsize.mechanics.inputs import Array
from anchorsize.mechanics.restraint import Action, Mounts, Restraint, RestraintStatus, Supports, SupportState

FREE = Mounts(np.zeros((0, 3)), np.zeros((0, 6, 6)), ())
NOTHING = Supports(np.zeros((0, 3)), np.zeros((0, 3)), [], np.zeros(0))
X, Y, Z = np.eye(3)
JOINT = np.array([2e6, 3e6, 1e6, 4e5, 5e5, 6e5])  # invented
AT = np.array([0.4, -0.3, 0.2])


def held_on(stiffness: Array, center: Array = AT) -> Mounts:
    return Mounts(center[None], np.diag(stiffness)[None], (False,))


def law(kind: Action, k: float, gap: float, load: float, moved: float) -> float:
    """Force of a support, as the head of the module says it."""
    if kind == Action.CONSTANT:
        return load
    if kind == Action.ONE_WAY:
        return max(0.0, load - k * (moved + gap))
    beyond = max(abs(moved) - gap, 0.0)
    return load - k * float(np.copysign(beyond, moved))


def unbalanced(moved: float, kind: Action, k: float, gap: float, load: float, axis: int, push: float) -> float:
    return float(JOINT[axis] * moved - push - law(kind, k, gap, load, moved))


# kind, stiffness, gap, set load
KINDS = [
    (Action.TWO_WAY, 5e6, 0.0, 0.0),
    (Action.TWO_WAY, 5e6, 0.0, 700.0),
    (Action.TWO_WAY, 5e6, 0.0, -700.0),
    (Action.TWO_WAY, 5e6, 2e-4, 0.0),
    (Action.ONE_WAY, 5e6, 0.0, 0.0),
    (Action.ONE_WAY, 5e6, 0.0, 700.0),
    (Action.ONE_WAY, 5e6, 2e-4, 0.0),
    (Action.CONSTANT, 5e6, 0.0, 700.0),
    (Action.CONSTANT, 5e6, 0.0, -700.0),
]
PUSHES = np.array([-3000.0, -1000.0, -100.0, 0.0, 100.0, 1000.0, 3000.0])


@pytest.mark.parametrize("units", [2.0**-40, 1.0, 2.0**40])
@pytest.mark.parametrize("axis", [0, 1, 2])
def test_one_direction_by_root_finding(axis: int, units: float) -> None:
    """Each kind alone along an axis through the joint: k₀ δ = F + f(δ), with δ from scipy; forces in other units too."""
    for number, (kind, spring, free, given) in enumerate(KINDS):
        supports = Supports([AT], [np.eye(3)[axis]], [kind], [spring * units], [free], [given * units])
        force = np.zeros((len(PUSHES), 3))
        force[:, axis] = PUSHES * units
        found = restraint.solve_restraint(force, np.cross(AT, force), supports, held_on(JOINT * units))
        assert found.converged.all()
        assert found.single.all()
        for row, push in enumerate(PUSHES):
            moved = brentq(unbalanced, -1.0, 1.0, (kind, spring, free, given, axis, push), xtol=1e-16, rtol=1e-14)
            force_by_law = law(kind, spring, free, given, moved)
            assert found.movement[row, 0] == pytest.approx(moved, abs=1e-12)
            assert found.support_force[row, 0] / units == pytest.approx(force_by_law, abs=1e-5)
            wrench = found.mount_wrench[row, 0] / units
            assert wrench[axis] == pytest.approx(-JOINT[axis] * moved, abs=1e-5)
            assert np.abs(np.delete(wrench, axis)).max() < 1e-5
            if kind == Action.CONSTANT:
                state, clear = SupportState.SET_LOAD, 0.0
            elif kind == Action.ONE_WAY:
                state = SupportState.CARRYING if force_by_law > 1e-6 else SupportState.OPEN
                clear = max(0.0, moved + free - given / spring)
            else:
                state = SupportState.OPEN if free > 0.0 and abs(moved) < free else SupportState.CARRYING
                clear = max(0.0, free - abs(moved)) if free > 0.0 else 0.0
            assert found.state[row, 0] == state, (number, row)
            assert found.clearance[row, 0] == pytest.approx(clear, abs=1e-12)


# --- all sorts together, without friction -------------------------------------------------------------------------

RNG = np.random.default_rng(20260104)
ROWS = 40
COUNT = 6
WAYS = RNG.normal(size=(COUNT, 3))
SUPPORTS = Supports(
    point=RNG.normal(size=(COUNT, 3)),
    direction=WAYS / np.linalg.norm(WAYS, axis=-1, keepdims=True),
    action=[0, 0, 1, 1, 1, 2],
    stiffness=[1e6, 2e6, 3e6, 5e6, 1e7, 1.0],
    gap=[0.0, 1e-3, 0.0, 2e-3, 0.0, 0.0],
    set_load=[-500.0, 0.0, 400.0, 0.0, 0.0, 300.0],
)
MOUNTS = Mounts(RNG.normal(size=(2, 3)), np.stack([np.diag(JOINT), np.diag(JOINT[::-1])]), (False, False))
FORCES, MOMENTS = RNG.normal(size=(2, ROWS, 3)) * 3e3
PLAIN = restraint.solve_restraint(FORCES, MOMENTS, SUPPORTS, MOUNTS)
GREATEST = float(np.abs(PLAIN.support_force).max())


def in_units(length: float, force: float) -> tuple[Array, Array, Supports, Mounts]:
    blocks = force * np.block(
        [[np.full((3, 3), 1.0 / length), np.ones((3, 3))], [np.ones((3, 3)), np.full((3, 3), length)]]
    )
    supports = replace(
        SUPPORTS,
        point=length * np.asarray(SUPPORTS.point),
        stiffness=force / length * np.asarray(SUPPORTS.stiffness),
        gap=length * np.asarray(SUPPORTS.gap),
        set_load=force * np.asarray(SUPPORTS.set_load),
    )
    mounts = replace(MOUNTS, center=length * np.asarray(MOUNTS.center), stiffness=np.asarray(MOUNTS.stiffness) * blocks)
    return force * FORCES, force * length * MOMENTS, supports, mounts


def test_every_sort_of_row_is_there_and_in_balance() -> None:
    assert PLAIN.converged.all()
    assert set(PLAIN.state.reshape(-1)) == {SupportState.CARRYING, SupportState.OPEN, SupportState.SET_LOAD}
    assert len(set(PLAIN.iterations)) > 2
    points, ways = np.asarray(SUPPORTS.point), np.asarray(SUPPORTS.direction)
    pushes = PLAIN.support_force[..., None] * ways
    joints = PLAIN.mount_wrench
    np.testing.assert_allclose(FORCES + pushes.sum(axis=1) + joints[..., :3].sum(axis=1), 0.0, atol=1e-9 * GREATEST)
    about = np.cross(points, pushes).sum(axis=1) + np.cross(MOUNTS.center, joints[..., :3]).sum(axis=1)
    np.testing.assert_allclose(MOMENTS + about + joints[..., 3:].sum(axis=1), 0.0, atol=1e-9 * GREATEST)
    for row in range(ROWS):
        for place in range(COUNT):
            kind, k, gap, load = (
                np.asarray(each)[place]
                for each in (SUPPORTS.action, SUPPORTS.stiffness, SUPPORTS.gap, SUPPORTS.set_load)
            )
            expected = law(Action(kind), k, gap, load, PLAIN.movement[row, place])
            assert PLAIN.support_force[row, place] == pytest.approx(expected, abs=1e-9 * GREATEST)


@pytest.mark.parametrize(("length", "force"), [(2.0**-20, 1.0), (2.0**20, 1.0), (1.0, 2.0**-40), (1.0, 2.0**40)])
def test_other_units_and_a_far_greater_one_beside(length: float, force: float) -> None:
    """Powers of two are exact: the same evaluations, alone and in a batch with the plain rows."""
    other = in_units(length, force)
    found = restraint.solve_restraint(*other)
    assert found.iterations.tolist() == PLAIN.iterations.tolist()
    np.testing.assert_allclose(found.support_force / force, PLAIN.support_force, atol=1e-9 * GREATEST)
    if length == 1.0:
        both = restraint.solve_restraint(
            np.stack([FORCES, other[0]]),
            np.stack([MOMENTS, other[1]]),
            replace(
                SUPPORTS,
                stiffness=np.stack([np.asarray(SUPPORTS.stiffness), other[2].stiffness])[:, None],
                set_load=np.stack([np.asarray(SUPPORTS.set_load), other[2].set_load])[:, None],
            ),
            replace(MOUNTS, stiffness=np.stack([MOUNTS.stiffness, other[3].stiffness])[:, None]),
        )
        assert both.iterations.tolist() == [PLAIN.iterations.tolist()] * 2
        np.testing.assert_allclose(both.support_force[0], PLAIN.support_force, atol=1e-9 * GREATEST)


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_set_loads_alone(sign: float) -> None:
    """No other load: struts and constant forces strain the fitting against one-way stops, as the law of each says."""
    given = (
        np.abs(np.random.default_rng(5).normal(size=(ROWS, COUNT))) * sign * np.array([2e3, 0.0, 0.0, 0.0, 0.0, 2e3])
    )
    found = restraint.solve_restraint(
        np.zeros(3), np.zeros(3), replace(SUPPORTS, set_load=given, gap=[0.0, 2e-4, 0.0, 1e-4, 5e-5, 0.0]), MOUNTS
    )
    assert found.converged.all()
    assert found.iterations.max() > 3
    for place, gap in ((2, 0.0), (3, 1e-4), (4, 5e-5)):
        k = np.asarray(SUPPORTS.stiffness)[place]
        expected = np.maximum(0.0, -k * (found.movement[:, place] + gap))
        np.testing.assert_allclose(found.support_force[:, place], expected, atol=1e-6)
    pushes = found.support_force[..., None] * np.asarray(SUPPORTS.direction)
    np.testing.assert_allclose(pushes.sum(axis=1) + found.mount_wrench[..., :3].sum(axis=1), 0.0, atol=1e-6)


def test_everything_turned_round() -> None:
    """Loads, directions and set loads of struts and constant forces against the other way: the motions turn round, exactly."""
    here = replace(SUPPORTS, action=[0, 0, 0, 0, 0, 2])
    there = replace(here, set_load=-np.asarray(here.set_load))
    one, other = (
        restraint.solve_restraint(sign * FORCES, sign * MOMENTS, supports, MOUNTS)
        for sign, supports in ((1.0, here), (-1.0, there))
    )
    assert one.iterations.tolist() == other.iterations.tolist()
    np.testing.assert_array_equal(one.support_force, -other.support_force)
    np.testing.assert_array_equal(one.state, other.state)


FIELDS = {
    "point": np.asarray(SUPPORTS.point) * np.array([1.0, 1.5, 0.7])[:, None, None],
    "direction": np.stack([np.roll(SUPPORTS.direction, turn, axis=1) for turn in range(3)]),
    "stiffness": np.asarray(SUPPORTS.stiffness) * np.array([[1.0], [1.5], [0.7]]),
    "gap": np.asarray(SUPPORTS.gap) * np.array([[1.0], [1.5], [0.7]]),
    "set_load": np.asarray(SUPPORTS.set_load) * np.array([[1.0], [1.5], [0.7]]),
    "friction": np.array([[0.0] * COUNT, [0.0, 0.0, 0.1, 0.0, 0.0, 0.0], [0.0, 0.0, 0.0, 0.0, 0.05, 0.0]]),
    "stick_stiffness": np.array([[1e6], [2e6], [3e6]]) * np.ones(COUNT),
}
BESIDE = {
    "center": np.asarray(MOUNTS.center) * np.array([1.0, 1.5, 0.7])[:, None, None],
    "stiffness": np.asarray(MOUNTS.stiffness) * np.array([1.0, 1.5, 0.7])[:, None, None, None],
}


def close(whole: Restraint, row: int, alone: Restraint) -> None:
    assert whole.status[row] == alone.status
    np.testing.assert_allclose(whole.support_force[row], alone.support_force, atol=1e-6 * GREATEST)
    np.testing.assert_allclose(whole.mount_wrench[row], alone.mount_wrench, atol=1e-6 * GREATEST)
    np.testing.assert_array_equal(whole.state[row], alone.state)


@pytest.mark.parametrize("name", [*FIELDS, *(f"mount {name}" for name in BESIDE)])
def test_one_load_and_one_input_of_several_rows(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """The rows come from that input alone; in blocks of two, in which the rest is one row for all."""
    fixed = replace(SUPPORTS, friction=FIELDS["friction"][1]) if name == "stick_stiffness" else SUPPORTS

    def with_(row: int | None) -> tuple[Supports, Mounts]:
        values = {**FIELDS, **{f"mount {key}": value for key, value in BESIDE.items()}}
        value = values[name] if row is None else values[name][row]
        if name.startswith("mount "):
            return fixed, replace(MOUNTS, **{name.removeprefix("mount "): value})
        return replace(fixed, **{name: value}), MOUNTS

    monkeypatch.setattr(restraint, "BLOCK", 2)
    together = restraint.solve_restraint(FORCES[0], MOMENTS[0], *with_(None))
    assert together.motion.shape == (3, 6)
    for row in range(3):
        close(together, row, restraint.solve_restraint(FORCES[0], MOMENTS[0], *with_(row)))


def test_blocks_of_loads_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(restraint, "BLOCK", 3)
    found = restraint.solve_restraint(FORCES[:7], MOMENTS[:7], SUPPORTS, MOUNTS)
    assert found.iterations.tolist() == PLAIN.iterations[:7].tolist()
    np.testing.assert_array_equal(found.support_force, PLAIN.support_force[:7])
    none = restraint.solve_restraint(np.zeros((0, 3)), np.zeros(3), SUPPORTS, MOUNTS)
    assert none.support_force.shape == (0, COUNT)
    assert none.status.shape == (0,)


def test_one_gap_for_all_supports_of_a_row() -> None:
    """Two stops along x and two rows: the gap of a row is that of both its stops, by hand (k₀ = 2 MN/m, 1 MN/m each)."""
    supports = Supports([AT - X, AT + X], [-X, -X], [Action.ONE_WAY] * 2, [1e6, 1e6], gap=[[0.0], [1e-3]])
    found = restraint.solve_restraint([4e3, 0.0, 0.0], np.cross(AT, [4e3, 0, 0]), supports, held_on(JOINT))
    assert found.support_force == pytest.approx(np.array([[1000.0, 1000.0], [500.0, 500.0]]), rel=1e-9)


@pytest.mark.parametrize("far", [1e2, 1e4])
def test_far_from_the_origin(far: float) -> None:
    """The same fitting at a distance d: stiffnesses about the origin grow as d² and leave a rounding of 1e-16 d² of the forces."""
    away = far * np.array([1.0, -1.0, 0.5])
    supports = replace(SUPPORTS, point=np.asarray(SUPPORTS.point) + away)
    mounts = replace(MOUNTS, center=np.asarray(MOUNTS.center) + away)
    found = restraint.solve_restraint(FORCES, MOMENTS + np.cross(away, FORCES), supports, mounts)
    assert found.converged.all()
    np.testing.assert_allclose(found.support_force, PLAIN.support_force, atol=(1e-9 + 1e-14 * far**2) * GREATEST)
    np.testing.assert_allclose(found.mount_wrench, PLAIN.mount_wrench, atol=(1e-9 + 1e-14 * far**2) * GREATEST)
    assert np.max(np.abs(found.iterations - PLAIN.iterations)) == 0


# --- rigid mounts, and nothing at all ------------------------------------------------------------------------------


@pytest.mark.parametrize("rigid", [0, 1])
def test_the_stiffness_of_a_rigid_mount_is_not_used(rigid: int) -> None:
    """It may be anything, as one that was never worked out. The supports give their set loads, the mount the rest."""
    unknown = np.array(MOUNTS.stiffness)
    unknown[rigid] = np.nan
    mounts = Mounts(MOUNTS.center, unknown, (rigid == 0, rigid == 1))
    found = restraint.solve_restraint(FORCES, MOMENTS, replace(SUPPORTS, friction=[0, 0, 0.3, 0.3, 0, 0]), mounts)
    assert found.status.tolist() == [RestraintStatus.SOLVED] * ROWS
    assert found.single.all()
    assert not found.iterations.any()
    points, ways, load = (np.asarray(each) for each in (SUPPORTS.point, SUPPORTS.direction, SUPPORTS.set_load))
    pushes = load[:, None] * ways
    force = FORCES + pushes.sum(axis=0)
    moment = MOMENTS + np.cross(points, pushes).sum(axis=0) - np.cross(np.asarray(MOUNTS.center)[rigid], force)
    np.testing.assert_allclose(found.mount_wrench[:, rigid], -np.concatenate([force, moment], axis=-1), atol=1e-9)
    np.testing.assert_array_equal(found.mount_wrench[:, 1 - rigid], 0.0)
    np.testing.assert_array_equal(found.unbalanced, 0.0)
    # with neither movement nor set load there is no force
    states = np.where(load == 0.0, SupportState.OPEN, SupportState.SET_LOAD)
    np.testing.assert_array_equal(found.state, np.broadcast_to(states, (ROWS, COUNT)))


@pytest.mark.parametrize("place", range(6))
def test_a_rigid_mount_under_a_load_that_is_no_number(place: int) -> None:
    wrench = np.ones((2, 6))
    wrench[1, place] = np.nan
    mounts = replace(MOUNTS, rigid=(True, False))
    found = restraint.solve_restraint(wrench[:, :3], wrench[:, 3:], SUPPORTS, mounts)
    assert found.status.tolist() == [RestraintStatus.SOLVED, RestraintStatus.GIVEN_UP]
    assert np.isnan(found.mount_wrench[1]).all()


def test_nothing_holds_nothing() -> None:
    found = restraint.solve_restraint(
        [[0, 0, 0], [0, 0, -5.0], [0, 0, 0]], [[0, 0, 0], [0, 0, 0], [0, 3.0, 0]], NOTHING, FREE
    )
    assert found.converged.tolist() == [True, False, False]
    np.testing.assert_allclose(
        np.abs(found.unbalanced), [[0.0] * 6, [0, 0, 5.0, 0, 0, 0], [0, 0, 0, 0, 3.0, 0]], atol=1e-9
    )
    assert len(restraint.hold(NOTHING, FREE)) == 6


@pytest.mark.parametrize("size", [1e-7, 1.0, 1e7])
def test_a_load_may_leave_free_motions_alone(size: float) -> None:
    """One strut along x takes the load along it, all else is free; a mount at its end takes all, and leaves nothing free."""
    strut = Supports([[0.0, size, 0.0]], [X], [Action.TWO_WAY], [1e6])
    found = restraint.solve_restraint([-200.0, 0, 0], [0, 0, 200.0 * size], strut, FREE)
    assert found.status == RestraintStatus.SOLVED
    assert found.support_force == pytest.approx([200.0])
    assert len(restraint.hold(strut, FREE)) == 5
    springs = np.array([1e6] * 3 + [1e6 * size**2] * 3)
    assert restraint.hold(strut, held_on(springs, np.array([0.0, size, 0.0]))) == []
    assert restraint.hold(NOTHING, held_on(JOINT, np.zeros(3))) == []
    first, second = (springs * keep for keep in ([1, 1, 0, 1, 0, 1], [1, 1, 0, 1, 0, 0]))
    two = Mounts(np.zeros((2, 3)), np.stack([np.diag(first), np.diag(second)]), (False, False))
    free = sorted(restraint.hold(strut, two), key=lambda each: each.turns)
    assert [each.turns for each in free] == [False, True]
    np.testing.assert_allclose(np.abs([each.direction for each in free]), [Z, Y], atol=1e-9)


# --- friction ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("units", [1e-9, 1.0, 1e9])
def test_a_rest_with_friction_beside_one_without(units: float) -> None:
    """Both under 1 kN by hand; 900 N sideways over a joint of 2 MN/m take 300 N of the one rest at μ 0.3, none of the other.

    The rest is off the joint, so that its drag turns the joint; 100 N it holds by its stick stiffness: 4/(4 + 2) of them.
    """
    stiff = np.array([2e6, 2e6, 1.0, 1e12, 1e12, 1e12]) * units
    points = AT + np.array([[0.5, 0.0, 0.0], [-0.5, 0.0, 0.0]])
    rests = Supports(points, [Z, Z], [1, 1], [1e6 * units] * 2, friction=[0.3, 0.0], stick_stiffness=[4e6 * units] * 2)
    force = np.array([[0.0, 900.0, -2000.0], [0.0, 100.0, -2000.0]]) * units
    found = restraint.solve_restraint(force, np.cross(AT, force), rests, held_on(stiff))
    assert found.converged.all()
    assert found.support_force / units == pytest.approx(np.full((2, 2), 1000.0), rel=1e-6)
    drag = np.array([300.0, 100.0 * 4.0 / 6.0])
    np.testing.assert_allclose(found.friction_force[:, 0, 1] / units, -drag, rtol=1e-5)
    np.testing.assert_allclose(found.friction_force[:, 1] / units, 0.0, atol=1e-9)
    # what the joint must turn against: the drag at 0.5 m from it
    np.testing.assert_allclose(found.mount_wrench[:, 0, 5] / units, 0.5 * drag, rtol=1e-5)
    assert found.state.tolist() == [[SupportState.SLIDING, SupportState.CARRYING], [SupportState.CARRYING] * 2]


# --- refusals ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"gap": [0, 0, 0, 0, 0, 1e-3], "set_load": 0.0}, "constant force has no gap"),
        ({"gap": 1e-3, "set_load": 0.0}, "constant force has no gap"),
        ({"direction": 0.5 * np.asarray(SUPPORTS.direction)}, "unit vector"),
        ({"direction": np.asarray(SUPPORTS.direction) * [[1], [1], [1], [1], [1], [0.99]]}, "unit vector"),
    ],
)
def test_one_of_several_supports_that_contradicts_itself(change: dict[str, Any], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        restraint.solve_restraint(FORCES, MOMENTS, replace(SUPPORTS, **change), MOUNTS)


@pytest.mark.parametrize("count", range(1, 8))
def test_all_parts_in_one_place(count: int) -> None:
    """Stops at the center of the joint itself: they share 4 kN with it by their stiffness, 1 MN/m each beside 2 MN/m."""
    stops = Supports([AT] * count, [-X] * count, [Action.ONE_WAY] * count, [1e6] * count)
    found = restraint.solve_restraint([4e3, 0.0, 0.0], np.cross(AT, [4e3, 0.0, 0.0]), stops, held_on(JOINT))
    assert found.support_force == pytest.approx(4e3 / (2 + count), rel=1e-9)
