"""The rigid flange on springs that act one way: the least of its energy, row by row.

The displacement of the flange is δ = u + β x + γ y, d = (u, β, γ). Bolts pull and never push, t = k max(0, s + δ), with
s = F/k the stretch of the tightened bolt; the face pushes and never pulls, q = κ max(0, c − δ). Equilibrium with a load w
is the least of the energy

    E(d) = ½ Σ k max(0, s + δ)² + ½ κ ∫ max(0, c − δ)² dA − w·d,

which is convex with a continuous gradient, so that every point with no gradient is a least one, and bolt tensions and face
pressure are unique. Newton's method with the curvature of the parts in contact, a cap on the step and a line search that
asks for less energy therefore reaches it from anywhere whenever there is one.

Rows (load cases) are the last axis of every array here; (…, 1) serves all rows. Symmetric 3×3 arrays are kept as the six
sums over 1, x, y, x², xy, y². Source: derived here; the method is the damped Newton method of any text on convex
optimization (e.g. Boyd and Vandenberghe, Convex Optimization, section 9.5; from memory).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from anchorsize.mechanics.face_integrals import Face, take_rows
from anchorsize.mechanics.inputs import Array

TOLERANCE: Final = 1e-10
"""Residual forces, and moments over the reach of the joint, that count as equilibrium, over the greatest load [-]."""

PASSES: Final = 200
"""Evaluations after which a row is given up."""

OUT_OF_REACH: Final = 1e6
"""A row counts as having no equilibrium when bolts and face would need forces of this many times the loads [-]."""

SOLVED: Final = 0
NO_EQUILIBRIUM: Final = 2
GIVEN_UP: Final = 3

_ROUNDING = 16.0 * np.finfo(float).eps
_FIRST_CHECK = 4  # evaluations that nearly every row converges in before it is asked whether it can at all
_LONGEST_STEP = 1e3  # over the displacement so far
_ENOUGH_LESS = 1e-4  # share of the energy promised by the slope that a step must bring
_INTO_BRACKET = (0.15, 0.85)  # where in its bracket the next share of a step may lie
_NARROW = 1e-6  # width of a bracket, over its upper end, under which a step is as good as it gets
_ROW, _COLUMN = (0, 0, 0, 1, 1, 2), (0, 1, 2, 1, 2, 2)


@dataclass(frozen=True)
class OneSidedSystem:
    """A batch of flanges on one-way springs; see the module for the symbols. R rows, n bolts."""

    load: Array
    """(3, R) w [N, N·m, N·m]: what Σt(1, x, y) − ∫q(1, x, y) dA must come to."""
    change: Array
    """(3, R) load less the springs' forces at d = 0 [N, N·m, N·m]."""
    points: Array
    """(3, n) or (3, n, R) rows 1, x, y of the bolts [-, m, m]."""
    stiffness: Array
    """(n, R or 1) k [N/m], 0 for a missing bolt."""
    stretch: Array
    """(n, R or 1) s [m]."""
    face: Face | None
    """The face, its dimensions as rows."""
    modulus: Array
    """(R or 1) κ [Pa/m]."""
    closing: Array
    """(3, R or 1) c [m, -, -], the field by which the face is pressed in at d = 0."""
    reach: Array
    """(R or 1) length that turns moments into forces [m]."""
    scale: Array
    """(R) greatest of the loads, as a force [N]."""

    def products(self) -> Array:
        """Return the six products of 1, x, y at the bolts: (6, n) or (6, n, R)."""
        return np.asarray(self.points[list(_ROW)] * self.points[list(_COLUMN)])

    def take(self, rows: NDArray[np.intp] | slice) -> OneSidedSystem:
        """Return some rows only."""
        return replace(
            self,
            load=take_rows(self.load, rows),
            change=take_rows(self.change, rows),
            points=self.points if self.points.ndim == 2 else take_rows(self.points, rows),
            stiffness=take_rows(self.stiffness, rows),
            stretch=take_rows(self.stretch, rows),
            face=None if self.face is None else self.face.take(rows),
            modulus=take_rows(self.modulus, rows),
            closing=take_rows(self.closing, rows),
            reach=take_rows(self.reach, rows),
            scale=take_rows(self.scale, rows),
        )


class Springs(NamedTuple):
    """Bolts and face at one displacement."""

    tension: Array
    """(n, R) bolt tensions [N]."""
    push: Array
    """(3, R) ∫q(1, x, y) dA [N, N·m, N·m]."""
    contact: Array
    """(R) area of the face in contact [m²]."""
    energy: Array
    """(R) E [N·m]."""
    excess: Array
    """(3, R) gradient of E: forces of the springs less the load [N, N·m, N·m]."""
    curvature: Array
    """(6, R) second derivatives of E from the parts in contact [N/m, N, N·m]."""


class Minimum(NamedTuple):
    """Where the energy is least."""

    displacement: Array
    """(3, R) u [m], β, γ [rad]; without meaning where the status is not ``SOLVED``."""
    status: NDArray[np.int8]
    """(R) ``SOLVED``, ``NO_EQUILIBRIUM`` or ``GIVEN_UP``."""
    passes: NDArray[np.int64]
    """(R) evaluations used."""


def times(symmetric: Array, vector: Array) -> Array:
    """Return the product (3, R) of a symmetric (6, R) with a vector (3, R)."""
    a, b, c, d, e, f = symmetric
    x, y, z = vector
    return np.stack([a * x + b * y + c * z, b * x + d * y + e * z, c * x + e * y + f * z])


def over_bolts(basis: Array, values: Array) -> Array:
    """Return Σ basis × value over the bolts, (m, R): basis (m, n) or (m, n, R), values (n, R or 1)."""
    if basis.ndim == 2:
        return np.asarray(basis @ values)
    return np.asarray(np.einsum("mnr,nr->mr", basis, np.broadcast_to(values, basis.shape[1:])))


def at_bolts(points: Array, displacement: Array) -> Array:
    """Return δ (n, R) [m] at points (3, n) or (3, n, R) for displacements (3, R)."""
    if points.ndim == 2:
        return np.asarray(points.T @ displacement)
    return np.asarray(np.einsum("mnr,mr->nr", points, np.broadcast_to(displacement, (3, points.shape[2]))))


def springs_at(system: OneSidedSystem, products: Array, displacement: Array) -> Springs:
    """Return tensions, face force, energy, gradient and curvature at displacements (3, R)."""
    stretch = np.maximum(system.stretch + at_bolts(system.points, displacement), 0.0)
    tension = system.stiffness * stretch
    energy = 0.5 * np.einsum("nr,nr->r", tension, stretch)
    curvature = over_bolts(products, system.stiffness * (stretch > 0.0))
    push, contact = np.zeros_like(displacement), np.zeros_like(energy)
    if system.face is not None:
        pressed = system.closing - displacement
        moments = system.face.moments(pressed)
        push, contact = system.modulus * times(moments, pressed), moments[0]
        energy = energy + 0.5 * np.einsum("mr,mr->r", push, pressed)
        curvature = curvature + system.modulus * moments
    excess = over_bolts(system.points, tension) - push - system.load
    energy = energy - np.einsum("mr,mr->r", system.load, displacement)
    return Springs(tension, push, contact, energy, excess, curvature)


def unloosened(system: OneSidedSystem, products: Array) -> Array:
    """Return the curvature (6, R or 1) with every bolt taut and the whole face in contact."""
    curvature = over_bolts(products, system.stiffness)
    if system.face is not None:
        everywhere = np.array([[1.0], [0.0], [0.0]])
        curvature = curvature + system.modulus * system.face.moments(everywhere)
    return curvature


def solve_symmetric(symmetric: Array, reserve: Array, right: Array) -> Array:
    """Return the solution (3, R) of a symmetric (6, R) system, by elimination down its diagonal.

    The diagonal is raised by a 1e-12 share, and by next to nothing of ``reserve`` (3, R or 1), so that parts that do not
    resist, as of a joint that hangs on two bolts, give a long step instead of a division by zero.
    """
    a, b, c, d, e, f = symmetric
    a, d, f = (diagonal * (1.0 + 1e-12) + 1e-24 * spare for diagonal, spare in zip((a, d, f), reserve, strict=True))
    ba, ca = b / a, c / a
    d, e, f = d - ba * b, e - ba * c, f - ca * c
    ed = e / d
    f = f - ed * e
    x, y, z = right
    y = y - ba * x
    z = (z - ca * x - ed * y) / f
    y = y / d - ed * z
    return np.stack([x / a - ba * y - ca * z, y, z])


def travel(displacement: Array, reach: Array) -> Array:
    """Return an upper bound (R) [m] of |δ| over the joint."""
    return np.asarray(np.abs(displacement[0]) + reach * (np.abs(displacement[1]) + np.abs(displacement[2])))


def _in_equilibrium(system: OneSidedSystem, springs: Springs, displacement: Array) -> NDArray[np.bool_]:
    """Return where what is left over is under the tolerance, or under the rounding of a stiff, barely closed face."""
    force, about_1, about_2 = np.abs(springs.excess)
    left = np.maximum(force, np.maximum(about_1, about_2) / system.reach)
    rounding = 0.0 * left
    if system.face is not None:
        depth = travel(displacement, system.reach) + travel(system.closing, system.reach)
        rounding = _ROUNDING * system.modulus * springs.contact * depth
    return np.asarray(left <= TOLERANCE * system.scale + rounding)


def _out_of_reach(system: OneSidedSystem, displacement: Array) -> NDArray[np.bool_]:
    """Return where no forces of bolts and face within reason can hold the load.

    In equilibrium the load does as much work as the springs on any small motion. Here the motion is the displacement so far,
    lifted until it closes the face nowhere (without a face: lowered until it stretches no bolt). If the greatest stretch
    of a bolt in it is ε and the load works η > 0 on it, the bolts need at least Σt ≥ η/ε. With ε = 0 that is a proof.
    """
    motion = displacement.copy()
    at = np.where(system.stiffness > 0.0, at_bolts(system.points, motion), -np.inf)
    most = np.max(at, axis=0, initial=-np.inf)
    lift = np.minimum(-most, 0.0)
    if system.face is not None:
        lift = np.maximum(-system.face.extremes(motion)[0], 0.0)
    motion[0] += lift
    stretch = np.maximum(most + lift, 0.0)
    work = np.einsum("mr,mr->r", system.load, motion)
    least_work = 1e-9 * system.scale * travel(motion, system.reach)
    return np.asarray((work > least_work) & (work > OUT_OF_REACH * system.scale * stretch))


class _Search(NamedTuple):
    """Rows still at work: the best point so far, and the step that is tried from it."""

    displacement: Array
    energy: Array
    step: Array
    slope: Array
    """(R) slope of the energy along the step, at its start."""
    share: Array
    """(R) share of the step that is tried."""
    low: Array
    """(2, R) greatest share known to be too short, and the slope there."""
    high: Array
    """(2, R) least share known to be too long, and the slope there; infinite while none is."""

    def take(self, rows: NDArray[np.intp]) -> _Search:
        return _Search(*(part[..., rows] for part in self))


def _newton_step(system: OneSidedSystem, springs: Springs, at: Array, reserve: Array, first: Array) -> Array:
    """Return the Newton step (3, R), no longer than the cap: what lies far outside the contact so far is not foreseen."""
    step = solve_symmetric(springs.curvature, reserve, -springs.excess)
    longest = _LONGEST_STEP * (travel(at, system.reach) + first)
    length = travel(step, system.reach)
    return np.asarray(step * np.minimum(1.0, longest / np.where(length > 0.0, length, 1.0)))


def _next_share(low: Array, high: Array) -> Array:
    """Return the share (R) to try next: where the slope would vanish on a chord, but well within the bracket."""
    width = high[0] - low[0]
    part = -low[1] / (high[1] - low[1])
    return np.asarray(low[0] + width * np.clip(part, *_INTO_BRACKET))


def _advance(search: _Search, trial: Array, springs: Springs, step: Array) -> _Search:
    """Accept the trial where it brings enough less energy, else narrow the bracket about the least along the step.

    The slope grows along the step, by convexity. A whole step on which energy still falls is accepted, as is one that
    brings a share of what its slope promised; near the end, where energies differ by rounding only, the slope must have
    shrunk to less than half. A shortened step must not fall short: over a stiff face a chord alone would creep.
    """
    there = np.einsum("mr,mr->r", springs.excess, search.step)
    change = springs.energy - search.energy
    rounding = _ROUNDING * (np.abs(springs.energy) + np.abs(search.energy))
    accept = (there <= 0.0) | (change <= _ENOUGH_LESS * search.share * search.slope)
    accept |= (change <= rounding) & (there <= -0.5 * search.slope)
    closed = search.high[0] - search.low[0] < _NARROW * search.high[0]
    short = np.isfinite(search.high[0]) & (there < 0.5 * search.slope) & ~closed
    accept &= ~short
    tried = np.stack([search.share, there])
    low = np.where(short, tried, search.low)
    high = np.where(short | accept, search.high, tried)
    start = np.einsum("mr,mr->r", springs.excess, step)
    fresh = np.zeros_like(start)
    return _Search(
        np.where(accept, trial, search.displacement),
        np.where(accept, springs.energy, search.energy),
        np.where(accept, step, search.step),
        np.where(accept, start, search.slope),
        np.where(accept, 1.0, _next_share(low, high)),
        np.where(accept, np.stack([fresh, start]), low),
        np.where(accept, np.inf, high),
    )


def minimize(system: OneSidedSystem) -> Minimum:
    """Return the displacements with the least energy, all rows of a system at once.

    The first trial is the answer of the joint in which nothing has come loose, exact if nothing does. Rows in equilibrium
    leave the set, so that the hard ones do not hold up the rest. The load must be finite; other rows are given up.
    """
    count = system.load.shape[1]
    found = Minimum(np.zeros((3, count)), np.full(count, GIVEN_UP, dtype=np.int8), np.zeros(count, dtype=np.int64))
    products = system.products()
    whole = np.broadcast_to(unloosened(system, products), (6, count))
    reserve = np.where(whole[[0, 3, 5]] > 0.0, whole[[0, 3, 5]], 1.0)
    trial = solve_symmetric(whole, reserve, system.change)
    first = travel(trial, system.reach)
    infinite, none = np.full(count, np.inf), np.zeros(count)
    pair = np.zeros((2, count))
    search = _Search(np.zeros((3, count)), infinite, np.zeros((3, count)), none, np.ones(count), pair, pair + np.inf)
    rows = np.arange(count)
    for number in range(1, PASSES + 1):
        springs = springs_at(system, products, trial)
        done = _in_equilibrium(system, springs, trial)
        hopeless = ~np.isfinite(springs.energy)
        if number >= _FIRST_CHECK:
            lost = _out_of_reach(system, trial) & ~done
            found.status[rows[lost]] = NO_EQUILIBRIUM
            hopeless |= lost
        found.passes[rows] = number
        found.status[rows[done]] = SOLVED
        found.displacement[:, rows[done]] = trial[:, done]
        open_rows = np.flatnonzero(~(done | hopeless))
        if open_rows.size == 0:
            break
        if open_rows.size < rows.size:
            springs = Springs(*(part[..., open_rows] for part in springs))
            rows, trial, first, reserve = rows[open_rows], trial[:, open_rows], first[open_rows], reserve[:, open_rows]
            system, search = system.take(open_rows), search.take(open_rows)
            if products.ndim == 3:
                products = products[..., open_rows]
        step = _newton_step(system, springs, trial, reserve, first)
        search = _advance(search, trial, springs, step)
        trial = search.displacement + search.share * search.step
    return found
