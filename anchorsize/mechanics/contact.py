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
from anchorsize.mechanics.contact_rows import JointRows, given_joint
from anchorsize.mechanics.face_integrals import Face, take_rows
from anchorsize.mechanics.inputs import Array

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


class Assembled(NamedTuple):
    """The joint as tightened, before any load; leading axes (...) those of bolts and face."""

    closing: Array
    """(..., 3) the field c [m, -, -] by which the bolts press the flange into the face; NaN without an assembly."""
    status: NDArray[np.int8]
    """(...) ``SOLVED``, ``NO_ASSEMBLY`` or ``GIVEN_UP`` of :class:`ContactStatus`."""

    def rows(self, shape: tuple[int, ...]) -> Assembled:
        """Return the same with rows last: (3, 1) and (1,) where one assembly serves the whole batch ``shape``."""
        if self.status.size == 1:
            return Assembled(self.closing.reshape(3, 1), self.status.reshape(1))
        closing = np.broadcast_to(self.closing, (*shape, 3)).reshape(-1, 3).T
        return Assembled(closing, np.broadcast_to(self.status, shape).reshape(-1))

    def take(self, rows: slice) -> Assembled:
        """Return some rows only; one that serves every row stays."""
        return self if self.status.size == 1 else Assembled(self.closing[:, rows], self.status[rows])


def _as_force(load: Array, reach: Array) -> Array:
    """Return the greatest of a force and two moments (3, rows), as a force (rows) [N]."""
    moment: Array = np.maximum(np.abs(load[1]), np.abs(load[2]))
    return np.asarray(np.maximum(np.abs(load[0]), moment / reach))


def _assemble(joint: JointRows) -> tuple[Array, NDArray[np.int8]]:
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


def _under_load(joint: JointRows, closing: Array, change: Array) -> one_sided.OneSidedSystem:
    """Return the system of the assembled joint with an external load (3, rows).

    A bolt with a preload but no stiffness is a constant force: it counts as load.
    """
    springy = joint.stiffness > 0.0
    load = change
    if np.any((joint.preload != 0.0) & ~springy):
        load = change - one_sided.over_bolts(joint.points, np.where(springy, 0.0, joint.preload))
    tightening = np.sum(joint.preload, axis=0)
    return one_sided.OneSidedSystem(
        load=load,
        change=change,
        points=joint.points,
        stiffness=joint.stiffness,
        stretch=np.divide(
            joint.preload,
            joint.stiffness,
            out=np.zeros(np.broadcast_shapes(joint.preload.shape, springy.shape)),
            where=springy,
        ),
        face=joint.face,
        modulus=joint.modulus,
        closing=closing,
        reach=joint.reach,
        scale=np.maximum(_as_force(change, joint.reach), tightening),
    )


class _Found(NamedTuple):
    """The state of a block of rows at its displacements, rows last."""

    displacement: Array
    tension: Array
    clamp: Array
    contact: Array
    status: NDArray[np.int8]
    passes: NDArray[np.int64]


def _as_one_piece(system: one_sided.OneSidedSystem, products: Array) -> tuple[Array, Array]:
    """Return the displacement (3, R) of the joint as if nothing could come loose, and what it leaves unbalanced (3, R)."""
    whole = one_sided.unloosened(system, products)
    diagonal = whole[[0, 3, 5]]
    moved = one_sided.solve_symmetric(whole, np.where(diagonal > 0.0, diagonal, 1.0), system.change)
    return moved, one_sided.times(np.broadcast_to(whole, (6, moved.shape[1])), moved) - system.change


def _closed(system: one_sided.OneSidedSystem, joint: JointRows, products: Array) -> tuple[_Found, NDArray[np.bool_]]:
    """Return the state of the joint as if nothing could come loose, and the rows in which nothing does: there it is exact.

    One linear system gives the answer, and no part of the face has to be cut off and integrated. These are most rows of most
    studies. The face must be closed before the load as well as under it.
    """
    moved, left = _as_one_piece(system, products)
    stretch = system.stretch + one_sided.at_bolts(system.points, moved)
    fast = _as_force(left, system.reach) <= one_sided.TOLERANCE * system.scale
    fast &= np.all((stretch >= 0.0) | (system.stiffness == 0.0), axis=0)
    clamp = contact = np.zeros(moved.shape[1])
    if system.face is not None:
        pressed = system.closing - moved
        fast &= (system.face.extremes(system.closing)[0] >= 0.0) & (system.face.extremes(pressed)[0] >= 0.0)
        moments = system.face.moments(np.array([[1.0], [0.0], [0.0]]))
        contact = np.broadcast_to(moments[0], fast.shape)
        clamp = system.modulus * (moments[:3] * pressed).sum(axis=0)
    tension = np.where(joint.stiffness > 0.0, system.stiffness * stretch, joint.preload)
    solved = np.full(fast.shape, ContactStatus.SOLVED, dtype=np.int8)
    return _Found(moved, tension, clamp, contact, solved, np.ones(fast.shape, dtype=np.int64)), fast


def _find(system: one_sided.OneSidedSystem, joint: JointRows, assembly: NDArray[np.int8]) -> _Found:
    """Return the state of a block of rows: at once where nothing comes loose, by least energy where something does."""
    products = system.products()
    found, fast = _closed(system, joint, products)
    rows = np.flatnonzero(~(fast & (assembly == ContactStatus.SOLVED)))
    if rows.size == 0:
        return found
    hard = system if rows.size == fast.size else system.take(rows)
    least = one_sided.minimize(hard)
    if products.ndim == 3 and hard is not system:
        products = products[..., rows]
    springs = one_sided.springs_at(hard, products, least.displacement)
    stiffness, preload = take_rows(joint.stiffness, rows), take_rows(joint.preload, rows)
    found = _Found._make(np.array(part) for part in found)
    found.displacement[:, rows], found.status[rows], found.passes[rows] = least
    found.tension[:, rows] = np.where(stiffness > 0.0, springs.tension, preload)
    found.clamp[rows], found.contact[rows] = springs.push[0], springs.contact
    status = np.where(assembly == ContactStatus.SOLVED, found.status, assembly).astype(np.int8)
    return found._replace(status=status)


def _result(system: one_sided.OneSidedSystem, found: _Found) -> ContactResult:
    """Return bolt tensions and the state of the face of one block of rows."""
    moved = found.displacement
    nothing = np.full(moved.shape[1], np.nan)
    least, greatest, lift_off, rising = nothing, nothing, nothing, moved
    if system.face is not None:
        pressed = system.closing - moved
        lowest, highest = system.face.extremes(pressed)
        least, greatest = (system.modulus * np.maximum(value, 0.0) for value in (lowest, highest))
        open_share = np.clip(1.0 - found.contact / system.face.area(), 0.0, 1.0)
        lift_off = np.where(lowest > 0.0, 0.0, open_share)  # exactly none where none, whatever the rounding
        rising = -pressed
    tilt = np.hypot(rising[1], rising[2])
    tilted = tilt * system.reach > _LEVEL * one_sided.travel(rising, system.reach)
    toward = np.where(tilted, np.arctan2(rising[2], rising[1]) % (2.0 * np.pi), np.nan)
    ok = found.status == ContactStatus.SOLVED

    all_known = bool(np.all(ok))

    def known(value: Array) -> Array:
        return value if all_known else np.where(ok, value, np.nan)

    return ContactResult(
        displacement=known(moved).T,
        bolt_tension=known(found.tension).T,
        clamp=known(found.clamp),
        pressure_min=known(least),
        pressure_max=known(greatest),
        lift_off=known(lift_off),
        opens_toward=known(toward),
        converged=ok,
        status=found.status,
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


def _solve_rows(joint: JointRows, change: Array, assembled: Assembled) -> ContactResult:
    """Return the results of all rows, a block at a time; ``assembled`` holds rows, or one that serves all."""
    count, bolts = change.shape[1], joint.points.shape[1]
    out = _empty(count, bolts)
    for first in range(0, count, BLOCK):
        block = slice(first, first + BLOCK)
        part, tight = joint.take(block), assembled.take(block)
        system = _under_load(part, tight.closing, change[:, block])
        found = _find(system, part, tight.status)
        for name, piece in _result(system, found)._asdict().items():
            getattr(out, name)[block] = piece
    return out


def assemble(xy: ArrayLike, preload: ArrayLike, face: Face | None, foundation_modulus: ArrayLike = 0.0) -> Assembled:
    """Return the joint as the preloads alone press it together, for :func:`solve_preloaded_joint` under one load after another.

    Arguments and errors as there.
    """
    given = given_joint(xy, 0.0, preload, face, foundation_modulus)
    joint, count = given.joint(given.shape), int(np.prod(given.shape))
    closing, status = np.empty((3, count)), np.empty(count, dtype=np.int8)
    with np.errstate(invalid="ignore", over="ignore", divide="ignore"):
        for first in range(0, count, BLOCK):
            block = slice(first, first + BLOCK)
            closing[:, block], status[block] = _assemble(joint.take(block))
    return Assembled(closing.T.reshape(*given.shape, 3), status.reshape(given.shape))


def closed_change(
    N: ArrayLike,
    M1: ArrayLike,
    M2: ArrayLike,
    xy: ArrayLike,
    bolt_stiffness: ArrayLike,
    face: Face,
    foundation_modulus: ArrayLike,
) -> Array:
    """Return by how much a load changes the field c (..., 3) [m, -, -] while no bolt is slack and the whole face is closed.

    The face pressure is then κ (c + change), linear in the load. Arguments and errors as in :func:`solve_preloaded_joint`.
    """
    given = given_joint(xy, bolt_stiffness, 0.0, face, foundation_modulus)
    loads = [np.asarray(load, dtype=float) for load in (N, M2, -np.asarray(M1, dtype=float))]
    shape = np.broadcast_shapes(given.shape, *(load.shape for load in loads))
    change = np.stack([np.broadcast_to(load, shape).reshape(-1) for load in loads])
    joint = given.joint(shape)
    nothing = np.zeros((3, 1))
    with np.errstate(invalid="ignore", over="ignore", divide="ignore"):
        system = _under_load(joint, nothing, change)
        moved, _ = _as_one_piece(system, system.products())
    return -moved.T.reshape(*shape, 3)


def solve_preloaded_joint(
    N: ArrayLike,
    M1: ArrayLike,
    M2: ArrayLike,
    xy: ArrayLike,
    bolt_stiffness: ArrayLike,
    preload: ArrayLike,
    face: Face | None,
    foundation_modulus: ArrayLike = 0.0,
    assembled: Assembled | None = None,
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
    assembled : what :func:`assemble` gives for the same bolts and face, where it is known already

    Returns
    -------
    ContactResult, leading axes (...) those of the arguments broadcast together. A row counts as converged when the forces, and the
    moments over the reach of the joint, balance within 1e-10 of the greatest of |N|, |M1| and |M2| over that reach, and ΣF (or
    within the rounding of a stiff face that barely touches). A row without an answer says why in ``status``; it raises nothing.

    Raises
    ------
    ValueError : if a stiffness or preload is negative, a modulus not positive where there is a face, or the shapes do not fit
    """
    given = given_joint(xy, bolt_stiffness, preload, face, foundation_modulus)
    loads = [np.asarray(load, dtype=float) for load in (N, M2, -np.asarray(M1, dtype=float))]
    shape = np.broadcast_shapes(given.shape, *(load.shape for load in loads))
    change = np.stack([np.broadcast_to(load, shape).reshape(-1) for load in loads])
    known = assemble(xy, preload, face, foundation_modulus) if assembled is None else assembled
    with np.errstate(invalid="ignore", over="ignore", divide="ignore"):  # rows that are not finite come out as given up
        rows = _solve_rows(given.joint(shape), change, known.rows(shape))
    return ContactResult._make(part.reshape((*shape, *part.shape[1:])) for part in rows)
