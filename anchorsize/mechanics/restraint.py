"""A rigid fitting on joints and supports: who carries what, one-way supports, gaps, set loads and friction resolved
exactly.

World axes; motions and wrenches as in :mod:`anchorsize.mechanics.rigid_body`. A support acts along its direction n,
that of the force it puts on the fitting, and moves by δ along it:

    two-way (strut, guide)          f = s − k δ, or −k (δ ∓ gap) once the gap is used up
    one-way (rest, hanger, tie, …)  f = max(0, s − k (δ + gap)): pushing or pulling makes no difference to the force
    constant (spring hanger)        f = s

Joints and six-way anchors are *mounts*, each a 6×6 stiffness about its center, or rigid. A rigid mount lets nothing
move: every support then gives its set load and the mount carries the rest, exactly.

A one-way support with friction μ also resists being moved across n, by a spring kₜ that slides at μ f (elastic,
perfectly plastic, against the whole movement from the start; the order in which loads came is not followed), see
:mod:`anchorsize.mechanics.coulomb`. Without friction the answer is the least of a convex energy
(:mod:`anchorsize.mechanics.spring_body`), found exactly. Source: derived here.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import IntEnum
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from anchorsize.mechanics import coulomb, rigid_body, spring_body
from anchorsize.mechanics.inputs import Array, not_negative
from anchorsize.mechanics.spring_body import SpringBody

BLOCK: Final = 4096
"""Rows solved at a time."""


class Action(IntEnum):
    """How a support acts along its direction."""

    TWO_WAY = 0
    ONE_WAY = 1
    CONSTANT = 2


class SupportState(IntEnum):
    """What a support does in one row."""

    CARRYING = 0
    OPEN = 1
    """No force: a slack hanger, a lifted rest, a strut within its gap."""
    SLIDING = 2
    """Carrying, with its friction used up."""
    SET_LOAD = 3
    """It gives its set load, whatever the loads: a constant force, or a support beside a rigid joint."""


class RestraintStatus(IntEnum):
    """Why a row has a result, or none."""

    SOLVED = spring_body.SOLVED
    NO_EQUILIBRIUM = spring_body.NO_EQUILIBRIUM
    """Joints and supports cannot hold the load, friction or not; ``unbalanced`` is what they are short of."""
    GIVEN_UP = spring_body.GIVEN_UP
    """Not in equilibrium after the last pass, friction that does not settle, or an input that is not a finite number."""
    SLIDES = coulomb.SLIDES
    """It would be held if every rest stuck, but not with the friction that the forces on the rests allow."""


@dataclass(frozen=True)
class Supports:
    """n supports; arrays may carry batch axes (...)."""

    point: ArrayLike
    """(..., n, 3) [m]."""
    direction: ArrayLike
    """(..., n, 3) unit vectors: direction of the force on the fitting."""
    action: ArrayLike
    """(n,) :class:`Action`."""
    stiffness: ArrayLike
    """(..., n) k [N/m]; not used for a constant force."""
    gap: ArrayLike = 0.0
    """(..., n) movement before it acts [m]."""
    set_load: ArrayLike = 0.0
    """(..., n) force at no movement [N]."""
    friction: ArrayLike = 0.0
    """(..., n) μ of a one-way support [-]."""
    stick_stiffness: ArrayLike | None = None
    """(..., n) kₜ [N/m]; None takes k, common practice with no source."""
    bend: ArrayLike = 0.0
    """(..., n) how far each point moves along its direction [m] beside the rigid motion; added to its movement."""


@dataclass(frozen=True)
class Mounts:
    """m joints and six-way anchors; arrays may carry batch axes (...)."""

    center: ArrayLike
    """(..., m, 3) [m]."""
    stiffness: ArrayLike
    """(..., m, 6, 6) about the center, in world axes [N/m, N, N·m/rad]; not used for a rigid mount."""
    rigid: tuple[bool, ...]
    """Which of them are rigid; one at most."""


class Restraint(NamedTuple):
    """Who carries what; NaN in rows that are not ``converged``, but for ``unbalanced``. Batch axes (...)."""

    motion: Array
    """(..., 6) displacement of the world origin [m] and rotation [rad]."""
    support_force: Array
    """(..., n) force along the direction, on the fitting [N]."""
    friction_force: Array
    """(..., n, 3) force across it, on the fitting [N]."""
    movement: Array
    """(..., n) δ of each support's point along its direction [m]."""
    clearance: Array
    """(..., n) how far a support is from carrying [m], 0 where it carries."""
    state: NDArray[np.int8]
    """(..., n) :class:`SupportState`; without meaning where not converged."""
    mount_wrench: Array
    """(..., m, 6) force [N] and moment about its center [N·m] of each mount, on the fitting."""
    unbalanced: Array
    """(..., 6) force [N] and moment about the origin [N·m] that nothing balances; rounding where converged."""
    converged: NDArray[np.bool_]
    """(...) whether the row has a result."""
    status: NDArray[np.int8]
    """(...) :class:`RestraintStatus`."""
    single: NDArray[np.bool_]
    """(...) False where friction also allows another answer; True without friction, where there is only one."""
    iterations: NDArray[np.int64]
    """(...) evaluations."""


@dataclass(frozen=True)
class _Setting:
    """Inputs as arrays of rows (R or 1 first), rotations still about the origin."""

    line: Array
    across: Array
    action: NDArray[np.int64]
    spring: Array
    gap: Array
    set_load: Array
    friction: Array
    stick: Array
    bend: Array
    center: Array
    mount: Array
    rigid: int | None
    to_scaled: Array

    def take(self, rows: slice) -> _Setting:
        def part(value: Array) -> Array:
            return value if len(value) == 1 else value[rows]

        return replace(
            self,
            line=part(self.line),
            across=part(self.across),
            spring=part(self.spring),
            gap=part(self.gap),
            set_load=part(self.set_load),
            friction=part(self.friction),
            stick=part(self.stick),
            bend=part(self.bend),
            center=part(self.center),
            mount=part(self.mount),
        )


def _rows(value: ArrayLike, shape: tuple[int, ...], tail: tuple[int, ...]) -> Array:
    """Return (..., *tail) as rows (R, *tail), or one row where it serves the whole batch."""
    array = np.asarray(value, dtype=float)
    array = np.broadcast_to(array, np.broadcast_shapes(array.shape, tail))
    if array.size == int(np.prod(tail, dtype=int)) and array.ndim >= len(tail):
        return array.reshape(1, *tail)
    return np.ascontiguousarray(np.broadcast_to(array, (*shape, *tail))).reshape(-1, *tail)


def _check(supports: Supports, mounts: Mounts) -> NDArray[np.int64]:
    """Return the actions; ValueError where the supports contradict themselves."""
    action = np.asarray(supports.action, dtype=np.int64).reshape(-1)
    gap, friction = not_negative("the gap of a support", supports.gap), not_negative("friction", supports.friction)
    load = np.asarray(supports.set_load, dtype=float)
    direction = np.asarray(supports.direction, dtype=float)
    stiffness = np.asarray(supports.stiffness, dtype=float)
    springy = action != Action.CONSTANT
    if np.any(springy & ~((stiffness > 0.0) | np.isnan(stiffness)) | (springy & np.isinf(stiffness))):
        raise ValueError("the stiffness of a support must be greater than zero and finite")
    if np.any((gap > 0.0) & (load != 0.0)):
        raise ValueError("a support with a gap cannot have a set load: it does not touch")
    if np.any((action == Action.ONE_WAY) & (load < 0.0)):
        raise ValueError("the set load of a support that acts one way cannot be negative")
    if np.any((action == Action.CONSTANT) & (gap > 0.0)):
        raise ValueError("a support with a constant force has no gap")
    if np.any((action != Action.ONE_WAY) & (friction > 0.0)):
        raise ValueError("friction is for supports that act one way")
    if np.any(np.abs(np.linalg.norm(direction, axis=-1) - 1.0) > 1e-6):
        raise ValueError("the direction of a support must be a unit vector")
    if sum(mounts.rigid) > 1:
        raise ValueError("two rigid joints: how they share the load is not determined; give one of them a stiffness")
    return action


def _setting(supports: Supports, mounts: Mounts, shape: tuple[int, ...]) -> _Setting:
    action = _check(supports, mounts)
    n, m = action.size, len(mounts.rigid)
    point, direction = _rows(supports.point, shape, (n, 3)), _rows(supports.direction, shape, (n, 3))
    spring = np.where(action == Action.CONSTANT, 0.0, _rows(supports.stiffness, shape, (n,)))
    stick = spring if supports.stick_stiffness is None else _rows(supports.stick_stiffness, shape, (n,))
    friction = _rows(supports.friction, shape, (n,))
    center = _rows(mounts.center, shape, (m, 3))
    mount = _rows(mounts.stiffness, shape, (m, 6, 6))
    if any(mounts.rigid):
        mount = np.where(np.array(mounts.rigid)[:, None, None], 0.0, mount)
    # Pivot amid the parts and rotations as movements at their distance, so that far-off origins and mixed units do no harm.
    places = np.concatenate([part.mean(axis=0) for part in (point, center)])
    pivot = places.mean(axis=0) if len(places) else np.zeros(3)
    reach = np.max(np.linalg.norm(places - pivot, axis=-1), initial=0.0)
    if reach <= 1e-12 * np.max(np.abs(places), initial=0.0):  # all in one place, but for the rounding of the pivot
        reach = 1.0
    unscale = np.diag([1.0, 1.0, 1.0, *([1.0 / reach] * 3)])
    sideways = rigid_body.across(direction)
    return _Setting(
        line=rigid_body.line(point, direction),
        across=rigid_body.line(np.broadcast_arrays(point[..., None, :], sideways)[0], sideways),
        action=action,
        spring=spring,
        gap=_rows(supports.gap, shape, (n,)),
        set_load=_rows(supports.set_load, shape, (n,)),
        friction=friction,
        stick=np.where(friction > 0.0, stick, 0.0),
        bend=_rows(supports.bend, shape, (n,)),
        center=center,
        mount=rigid_body.stiffness_about_origin(mount, center),
        rigid=mounts.rigid.index(True) if any(mounts.rigid) else None,
        to_scaled=(rigid_body.shift(-pivot) @ unscale)[None],
    )


def _body(setting: _Setting, load: Array) -> SpringBody:
    """Return the springs in scaled motions q, which ``to_scaled`` turns into motions about the origin."""
    turn = setting.to_scaled
    back = np.swapaxes(turn, -1, -2)
    spring, springy = setting.spring, setting.spring > 0.0
    low = np.where(springy, setting.set_load / np.where(springy, spring, 1.0), 0.0) - setting.gap - setting.bend
    high = np.where(setting.action == Action.ONE_WAY, np.inf, low + 2.0 * setting.gap)
    given = np.where(springy, 0.0, setting.set_load)
    along, across = setting.line @ turn, setting.across @ turn[:, None]
    stiffness = back @ setting.mount.sum(axis=1) @ turn
    whole = stiffness + np.swapaxes(along, -1, -2) @ (spring[..., None] * along)
    whole = whole + (np.swapaxes(across, -1, -2) @ (setting.stick[..., None, None] * across)).sum(axis=1)
    greatest = np.maximum(np.max(np.diagonal(whole, axis1=-2, axis2=-1), axis=-1), 1e-200)
    work = spring_body.times(back, load + spring_body.times(np.swapaxes(setting.line, -1, -2), given))
    asked = np.max(np.abs(spring_body.times(back, load)), axis=-1)
    return SpringBody(
        stiffness=stiffness,
        load=work,
        along=along,
        across=across,
        spring=spring,
        low=low,
        high=high,
        stick=setting.stick,
        limit=np.full((1, spring.shape[-1]), np.inf),
        spare=1e-10 * greatest[:, None, None] * np.eye(6),
        scale=np.maximum(asked, np.max(np.abs(setting.set_load), axis=-1, initial=0.0)),
    )


def _states(setting: _Setting, body: SpringBody, forces: spring_body.Forces) -> NDArray[np.int8]:
    pull = np.linalg.norm(forces.across, axis=-1)
    slides = (body.stick > 0.0) & (forces.along > 0.0) & (pull >= body.limit * (1.0 - 1e-9))
    # A spring that acts both ways without a gap always touches, also where it happens to carry nothing.
    parts = (setting.action == Action.ONE_WAY) | (setting.gap > 0.0)
    state = np.where((forces.along == 0.0) & parts, SupportState.OPEN, SupportState.CARRYING)
    state = np.where(slides, SupportState.SLIDING, state)
    fixed = (setting.action == Action.CONSTANT) | ((setting.rigid is not None) & (setting.set_load != 0.0))
    return np.where(fixed, SupportState.SET_LOAD, state).astype(np.int8)


def _solve_rows(setting: _Setting, load: Array) -> Restraint:
    """Return the results of one block of rows."""
    count = len(load)
    body = _body(setting, load)
    if setting.rigid is None:
        found, single = coulomb.find(body, setting.friction, count)
    else:
        sure = np.where(np.isfinite(load).all(axis=-1), RestraintStatus.SOLVED, RestraintStatus.GIVEN_UP)
        still, none = np.zeros((count, 6)), np.zeros(count, dtype=np.int64)
        limit = np.broadcast_to(body.limit, (count, body.spring.shape[-1]))
        found, single = coulomb.Settled(still, limit, sure.astype(np.int8), none), np.ones(count, dtype=np.bool_)
    body = replace(body, limit=found.limit)
    forces = spring_body.forces_at(body, found.motion)
    moved, _ = spring_body.movements(body, found.motion)
    motion = spring_body.times(setting.to_scaled, found.motion)
    constant = np.where(setting.spring > 0.0, 0.0, setting.set_load)
    push = forces.along + constant
    ways = setting.across[..., :3]
    drag = np.einsum("rns,rnsi->rni", forces.across, np.broadcast_to(ways, (count, *ways.shape[1:])))
    lack = np.linalg.solve(np.swapaxes(setting.to_scaled, -1, -2), -forces.excess[..., None])[..., 0]
    at_origin = -spring_body.times(setting.mount, motion[:, None, :])
    if setting.rigid is not None:
        at_origin[:, setting.rigid] = -lack
        lack = np.zeros_like(lack)
    to_center = np.swapaxes(rigid_body.shift(-setting.center), -1, -2)
    clear = np.maximum(np.minimum(moved - body.low, body.high - moved), 0.0)
    ok = found.status == RestraintStatus.SOLVED

    def known(value: Array) -> Array:
        return np.where(ok.reshape(-1, *([1] * (value.ndim - 1))), value, np.nan)

    return Restraint(
        motion=known(motion),
        support_force=known(push),
        friction_force=known(drag),
        movement=known(moved + setting.bend),
        clearance=known(np.where(setting.action == Action.CONSTANT, 0.0, clear)),
        state=np.broadcast_to(_states(setting, body, forces), push.shape),
        mount_wrench=known(spring_body.times(to_center, at_origin)),
        unbalanced=np.asarray(lack, dtype=float),
        converged=ok,
        status=found.status,
        single=single,
        iterations=found.passes,
    )


def solve_restraint(force: ArrayLike, moment: ArrayLike, supports: Supports, mounts: Mounts) -> Restraint:
    """Solve who carries what, each row by itself.

    Parameters
    ----------
    force : (..., 3) sum of the loads on the fitting [N]
    moment : (..., 3) their moment about the world origin [N·m]
    supports, mounts : what holds the fitting

    Returns
    -------
    Restraint, leading axes (...) those of the arguments broadcast together. A row without an answer says why in
    ``status``; it raises nothing. Support forces are the only ones that balance the load unless ``single`` is False; the motion is
    one of several where a free motion is left (:func:`hold`).

    Raises
    ------
    ValueError : if a stiffness is not positive and finite, a gap or friction negative, a set load at odds with the
        support, a direction no unit vector, or two mounts are rigid
    """
    loads = [np.asarray(part, dtype=float) for part in (force, moment)]
    batches = [part.shape[:-1] for part in loads]
    own = ((supports.point, 2), (supports.direction, 2), (mounts.center, 2), (mounts.stiffness, 3))
    batches += [np.shape(value)[:-tail] for value, tail in own]
    springs = (
        supports.stiffness,
        supports.gap,
        supports.set_load,
        supports.friction,
        supports.stick_stiffness,
        supports.bend,
    )
    batches += [np.shape(value)[:-1] for value in springs if value is not None]
    shape = np.broadcast_shapes(*batches)
    load = np.concatenate([np.broadcast_to(part, (*shape, 3)).reshape(-1, 3) for part in loads], axis=-1)
    setting = _setting(supports, mounts, shape)
    with np.errstate(invalid="ignore", over="ignore", divide="ignore"):  # rows that are not finite come out as given up
        blocks = [
            _solve_rows(setting.take(slice(first, first + BLOCK)), load[first : first + BLOCK])
            for first in range(0, max(len(load), 1), BLOCK)
        ]
    return Restraint._make(
        np.concatenate(parts).reshape((*shape, *parts[0].shape[1:])) for parts in zip(*blocks, strict=True)
    )


def hold(supports: Supports, mounts: Mounts) -> list[rigid_body.FreeMotion]:
    """Return the motions that nothing restrains even with every support in contact; empty where the fitting is held.

    For one set of supports without batch axes. Friction is not counted. A one-way support counts as holding both ways, so
    what is free here needs another support, whatever the load.

    Raises
    ------
    ValueError : as :func:`solve_restraint`
    """
    if any(mounts.rigid):
        return []
    setting = _setting(supports, mounts, ())
    line, spring = setting.line[0], setting.spring[0]
    about_origin = setting.mount[0].sum(axis=0) + line.T @ (spring[:, None] * line)
    places = np.concatenate([np.asarray(supports.point, dtype=float), np.asarray(mounts.center, dtype=float)])
    return rigid_body.free_motions(about_origin, float(np.max(np.linalg.norm(places, axis=-1), initial=0.0)) or 1.0)
