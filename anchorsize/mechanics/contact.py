"""A bolted joint as it is: preloaded bolts that pull and never push, a face that pushes and never pulls.

Frames and signs as in :mod:`anchorsize.mechanics.frames`: e1, e2 in the plane of the joint, a = e1 × e2 from the fitting to
the pipe; loads on the fitting about the bolt-circle center, N along −a (positive = opening the joint), M1 about e1, M2
about e2. The flange is rigid and moves by δ(x, y) = u + β x + γ y from the assembled joint, opening positive:

    bolt i   t = max(0, F + k δ)                      F its tension after tightening, with no external load
    face     q = κ max(0, c0 + c1 x + c2 y − δ)       κ = E_g/t_g, modulus of the gasket over its thickness
    balance  Σt − ∫q dA = N,   Σt x − ∫q x dA = M2,   Σt y − ∫q y dA = −M1

The field c is that of the assembled joint: the flange resting on the one-sided face under the tensions F. Like preloads on
a regular circle press the face evenly, c0 = ΣF/(κA); preloads as found, or a missing bolt, tilt it and may leave part of
the face open before any load comes. Metal on metal is a large κ; a base plate without anchors is a joint with no bolts.

Source: joint of two springs (bolt and clamped parts) as in Shigley's Mechanical Engineering Design, 9th edition, sections 8-7
and 8-12, here with the parts free to open and the bolts apart; derived in :mod:`anchorsize.mechanics.one_sided`.
"""

from __future__ import annotations

from enum import IntEnum
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from anchorsize.mechanics import one_sided
from anchorsize.mechanics.face_integrals import Face, in_rows, take_rows
from anchorsize.mechanics.inputs import Array, not_negative

BLOCK: Final = 4096
"""Rows solved at a time: with a dozen bolts their arrays stay in a second-level cache."""

_LEVEL = 1e-12  # rise over the joint, as a share of its travel, under which a flange counts as not tilted


class ContactStatus(IntEnum):
    """Why a row has a result, or none."""

    SOLVED = one_sided.SOLVED
    NO_ASSEMBLY = 1
    """The preloads alone cannot rest on the face: their resultant falls outside it, or there is no face."""
    NO_EQUILIBRIUM = one_sided.NO_EQUILIBRIUM
    """Bolts and face cannot hold the load, or only with forces of a million times the loads."""
    GIVEN_UP = one_sided.GIVEN_UP
    """Not in equilibrium after the last pass, or an input is not a finite number."""


class ContactResult(NamedTuple):
    """The joint under load; NaN in every row that is not ``converged``. Batch axes (...), n bolts."""

    displacement: Array
    """(..., 3) u [m], β, γ [rad] from the assembled joint, opening positive."""
    bolt_tension: Array
    """(..., n) service tension of each bolt [N]."""
    clamp: Array
    """(...) force between the faces [N]."""
    pressure_min: Array
    """(...) least pressure on the face [Pa]; NaN without a face."""
    pressure_max: Array
    """(...) greatest pressure on the face [Pa]; NaN without a face."""
    lift_off: Array
    """(...) share of the face that carries no pressure [-]; NaN without a face."""
    opens_toward: Array
    """(...) direction in which the face pressure falls, or without a face the flange rises [rad], from e1 toward e2, clockwise
    looking from the fitting to the pipe, in [0, 2π); NaN where there is no tilt."""
    converged: NDArray[np.bool_]
    """(...) whether the row has a result."""
    status: NDArray[np.int8]
    """(...) :class:`ContactStatus`."""
    iterations: NDArray[np.int64]
    """(...) evaluations of the joint, the assembled one not counted."""


class _Joint(NamedTuple):
    """The inputs of a batch with rows last: (…, rows), or (…, 1) where one serves all."""

    points: Array
    stiffness: Array
    preload: Array
    face: Face | None
    modulus: Array
    reach: Array

    def take(self, rows: slice) -> _Joint:
        face = None if self.face is None else self.face.take(rows)
        points = self.points if self.points.ndim == 2 else take_rows(self.points, rows)
        stiffness, preload = take_rows(self.stiffness, rows), take_rows(self.preload, rows)
        return _Joint(points, stiffness, preload, face, take_rows(self.modulus, rows), take_rows(self.reach, rows))


def _bolts_in_rows(values: Array, shape: tuple[int, ...]) -> Array:
    """Return (..., n) as (n, rows), or (n, 1) where one set of bolts serves the batch."""
    bolts = values.shape[-1]
    if values.size == bolts:
        return values.reshape(bolts, 1)
    return np.broadcast_to(values, (*shape, bolts)).reshape(-1, bolts).T


def _points(xy: Array, shape: tuple[int, ...]) -> Array:
    """Return (..., n, 2) as rows 1, x, y: (3, n) where one pattern serves the batch, else (3, n, rows)."""
    ones = np.ones((*xy.shape[:-1], 1))
    points = np.concatenate([ones, xy], axis=-1)
    if xy.size == 2 * xy.shape[-2]:
        return points.reshape(-1, 3).T
    points = np.broadcast_to(points, (*shape, *points.shape[-2:]))
    return np.ascontiguousarray(points.reshape(-1, *points.shape[-2:]).transpose(2, 1, 0))


def _reach(points: Array, face: Face | None) -> Array:
    """Return the length (1 or rows) [m] that turns moments into forces: how far bolts and face stand from the center."""
    bolts = np.max(np.hypot(points[1], points[2]), axis=0, initial=0.0)
    reach = np.maximum(bolts, 0.0 if face is None else face.reach())
    return np.atleast_1d(np.where(reach > 0.0, reach, 1.0))


def _joint(
    xy: Array, stiffness: Array, preload: Array, face: Face | None, modulus: Array, shape: tuple[int, ...]
) -> _Joint:
    points = _points(xy, shape)
    rows = None if face is None else face.in_rows(shape)
    k, tightened = _bolts_in_rows(stiffness, shape), _bolts_in_rows(preload, shape)
    return _Joint(points, k, tightened, rows, in_rows(modulus, shape), _reach(points, rows))


def _as_force(load: Array, reach: Array) -> Array:
    """Return the greatest of a force and two moments (3, rows), as a force (rows) [N]."""
    moment: Array = np.maximum(np.abs(load[1]), np.abs(load[2]))
    return np.asarray(np.maximum(np.abs(load[0]), moment / reach))


def _assemble(joint: _Joint) -> tuple[Array, NDArray[np.int8]]:
    """Return the field c (3, rows) by which the bolts press the flange into the face, and its status (rows)."""
    tightening = one_sided.over_bolts(joint.points, joint.preload)
    if joint.face is None:
        slack = np.all(joint.preload == 0.0, axis=0)
        return np.zeros((3, slack.size)), np.where(slack, 0, ContactStatus.NO_ASSEMBLY).astype(np.int8)
    sizes = (tightening.shape[1], joint.modulus.size, joint.reach.size, np.size(joint.face.area()))
    load = -np.broadcast_to(tightening, (3, max(sizes)))
    system = one_sided.OneSidedSystem(
        load=load,
        change=load,
        points=np.empty((3, 0)),
        stiffness=np.empty((0, 1)),
        stretch=np.empty((0, 1)),
        face=joint.face,
        modulus=joint.modulus,
        closing=np.zeros((3, 1)),
        reach=joint.reach,
        scale=np.broadcast_to(_as_force(load, joint.reach), load.shape[1:]),
    )
    found = one_sided.minimize(system)
    failed = np.where(found.status == one_sided.NO_EQUILIBRIUM, ContactStatus.NO_ASSEMBLY, found.status)
    return np.where(failed == ContactStatus.SOLVED, -found.displacement, np.nan), failed.astype(np.int8)


def _under_load(joint: _Joint, closing: Array, change: Array) -> one_sided.OneSidedSystem:
    """Return the system of the assembled joint with an external load (3, rows).

    A bolt with a preload but no stiffness is a constant force: it counts as load.
    """
    springy = joint.stiffness > 0.0
    constant = one_sided.over_bolts(joint.points, np.where(springy, 0.0, joint.preload))
    tightening = np.sum(joint.preload, axis=0)
    return one_sided.OneSidedSystem(
        load=change - constant,
        change=change,
        points=joint.points,
        stiffness=joint.stiffness,
        stretch=np.where(springy, joint.preload, 0.0) / np.where(springy, joint.stiffness, 1.0),
        face=joint.face,
        modulus=joint.modulus,
        closing=closing,
        reach=joint.reach,
        scale=np.maximum(_as_force(change, joint.reach), tightening),
    )


def _result(
    system: one_sided.OneSidedSystem, joint: _Joint, found: one_sided.Minimum, status: NDArray[np.int8]
) -> ContactResult:
    """Return bolt tensions and the state of the face at the displacements found, one block of rows."""
    moved = found.displacement
    springs = one_sided.springs_at(system, system.products(), moved)
    tension = np.where(joint.stiffness > 0.0, springs.tension, joint.preload)
    nothing = np.full(moved.shape[1], np.nan)
    least, greatest, lift_off, rising = nothing, nothing, nothing, moved
    if system.face is not None:
        pressed = system.closing - moved
        lowest, highest = system.face.extremes(pressed)
        least, greatest = (system.modulus * np.maximum(value, 0.0) for value in (lowest, highest))
        open_share = np.clip(1.0 - springs.contact / system.face.area(), 0.0, 1.0)
        lift_off = np.where(lowest > 0.0, 0.0, open_share)  # exactly none where none, whatever the rounding
        rising = -pressed
    tilt = np.hypot(rising[1], rising[2])
    tilted = tilt * system.reach > _LEVEL * one_sided.travel(rising, system.reach)
    toward = np.where(tilted, np.arctan2(rising[2], rising[1]) % (2.0 * np.pi), np.nan)
    ok = status == ContactStatus.SOLVED

    def known(value: Array) -> Array:
        return np.where(ok, value, np.nan)

    return ContactResult(
        displacement=known(moved).T,
        bolt_tension=known(tension).T,
        clamp=known(springs.push[0]),
        pressure_min=known(least),
        pressure_max=known(greatest),
        lift_off=known(lift_off),
        opens_toward=known(toward),
        converged=ok,
        status=status,
        iterations=found.passes,
    )


def _empty(rows: int, bolts: int) -> ContactResult:
    return ContactResult(
        displacement=np.empty((rows, 3)),
        bolt_tension=np.empty((rows, bolts)),
        clamp=np.empty(rows),
        pressure_min=np.empty(rows),
        pressure_max=np.empty(rows),
        lift_off=np.empty(rows),
        opens_toward=np.empty(rows),
        converged=np.empty(rows, dtype=np.bool_),
        status=np.empty(rows, dtype=np.int8),
        iterations=np.empty(rows, dtype=np.int64),
    )


def _solve_rows(joint: _Joint, change: Array, one_joint: bool) -> ContactResult:
    """Return the results of all rows, a block at a time; ``one_joint`` says that the rows differ by their load only."""
    count, bolts = change.shape[1], joint.points.shape[1]
    out = _empty(count, bolts)
    assembled = _assemble(joint) if one_joint else None
    for first in range(0, count, BLOCK):
        block = slice(first, first + BLOCK)
        part = joint.take(block)
        closing, status = assembled or _assemble(part)
        system = _under_load(part, closing, change[:, block])
        found = one_sided.minimize(system)
        status = np.where(status == ContactStatus.SOLVED, found.status, status)
        for name, piece in _result(system, part, found, status)._asdict().items():
            getattr(out, name)[block] = piece
    return out


def solve_preloaded_joint(
    N: ArrayLike,
    M1: ArrayLike,
    M2: ArrayLike,
    xy: ArrayLike,
    bolt_stiffness: ArrayLike,
    preload: ArrayLike,
    face: Face | None,
    foundation_modulus: ArrayLike = 0.0,
) -> ContactResult:
    """Solve a preloaded joint for its bolt tensions and face pressure, each row by itself.

    Parameters
    ----------
    N : (...) axial load on the fitting, positive opens the joint [N]
    M1, M2 : (...) bending on the fitting about e1 and e2 [N·m]
    xy : (..., n, 2) places of the bolts along e1 and e2 from the bolt-circle center [m]; n may be 0
    bolt_stiffness : (..., n) stiffness k of the bolts [N/m]; 0 for a missing bolt, whose preload is 0 too. A bolt with
        preload but no stiffness pulls with a constant force
    preload : (..., n) tension F of each bolt after tightening, with no external load [N]
    face : the gasket or face, :class:`~anchorsize.mechanics.face_integrals.Annulus` or ``Rectangle``; None without one.
        Its dimensions may carry the batch axes
    foundation_modulus : (...) κ = E_g/t_g, stiffness of the face per area [Pa/m]; must be positive where there is a face

    Returns
    -------
    ContactResult, leading axes (...) those of the arguments broadcast together. A row counts as converged when the forces, and the
    moments over the reach of the joint, balance within 1e-10 of the greatest of |N|, |M1| and |M2| over that reach, and ΣF (or
    within the rounding of a stiff face that barely touches). A row without an answer says why in ``status``; it raises nothing.

    Raises
    ------
    ValueError : if a stiffness or preload is negative, a modulus not positive where there is a face, or the shapes do not fit
    """
    xy = np.asarray(xy, dtype=float)
    stiffness = not_negative("the stiffness of a bolt", bolt_stiffness)
    tightened = not_negative("the preload of a bolt", preload)
    modulus = np.asarray(foundation_modulus, dtype=float)
    if face is not None and np.any(modulus <= 0.0):
        raise ValueError("the foundation modulus of a face must be positive")
    if xy.ndim < 2 or xy.shape[-1] != 2:
        raise ValueError("the places of the bolts must be pairs x, y: (..., n, 2)")
    bolts = xy.shape[-2]
    stiffness = np.broadcast_to(stiffness, np.broadcast_shapes(stiffness.shape, (bolts,)))
    tightened = np.broadcast_to(tightened, np.broadcast_shapes(tightened.shape, (bolts,)))
    loads = [np.asarray(load, dtype=float) for load in (N, M2, -np.asarray(M1, dtype=float))]
    face_shape = () if face is None else np.shape(face.area())
    own = np.broadcast_shapes(xy.shape[:-2], stiffness.shape[:-1], tightened.shape[:-1], modulus.shape, face_shape)
    shape = np.broadcast_shapes(own, *(load.shape for load in loads))

    change = np.stack([np.broadcast_to(load, shape).reshape(-1) for load in loads])
    joint = _joint(xy, stiffness, tightened, face, modulus, shape)
    with np.errstate(invalid="ignore", over="ignore", divide="ignore"):  # rows that are not finite come out as given up
        rows = _solve_rows(joint, change, one_joint=int(np.prod(own)) == 1)
    return ContactResult._make(part.reshape((*shape, *part.shape[1:])) for part in rows)
