"""A rigid body on springs that may act one way or after a gap, and that may slide: the least of its energy, row by row.

With the motion q (displacement of the pivot, rotation × reach, all in [m]) a support's point moves by δ = g·q along
its direction and by τ = (t1·q, t2·q) across it. Its force along the direction is

    f = k [max(0, low − δ) − max(0, δ − high)],

a two-way spring with set load s having low = high = s/k, one with a gap low = −gap and high = gap, a one-way one high
= ∞. For a *fixed* friction limit L the force across is the elastic spring −kₜ τ cut back to the length L. Equilibrium
is then the least of

    E(q) = ½ qᵀK q − w·q + Σ ∫(−f)dδ + Σ ∫(cut-back kₜ τ)dτ,

convex with a continuous gradient. Newton's method with an exact search along each step reaches the least from
anywhere: where K is positive definite it always exists, and without friction, where the gradient is piecewise linear,
the last step is exact. Coulomb's limit L = μ f is no part of an energy; :mod:`anchorsize.mechanics.restraint` looks
for it around this.

Rows are the first axis of every array here; 1 serves all rows. Source: derived here; Newton's method as in Boyd and
Vandenberghe, Convex Optimization, section 9.5 (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from anchorsize.mechanics.inputs import Array

TOLERANCE: Final = 1e-10
"""Residual over the greatest load or set load that counts as equilibrium [-]."""

PASSES: Final = 50
"""Newton steps after which a row is given up."""

OUT_OF_REACH: Final = 1e6
"""A row has no equilibrium when its supports would need forces of this many times the loads [-]."""

SOLVED: Final = 0
NO_EQUILIBRIUM: Final = 1
GIVEN_UP: Final = 2

_ROUNDING = 64.0 * np.finfo(float).eps
_SPARE = 1e-10  # share of the whole stiffness added to what resists a Newton step, so that free motions give long steps
_SEARCHES = 80  # trials of the search along a step
_SLOPE_LEFT = 1e-3  # share of the slope that may be left at its end


@dataclass(frozen=True)
class SpringBody:
    """A batch of bodies on springs; see the module for the symbols. R rows, n supports."""

    stiffness: Array
    """(R, 6, 6) K of what holds it both ways [N/m]."""
    load: Array
    """(R, 6) w [N]."""
    along: Array
    """(R, n, 6) g [-]."""
    across: Array
    """(R, n, 2, 6) t1 and t2 [-]."""
    spring: Array
    """(R, n) k [N/m]."""
    low: Array
    """(R, n) movement under which the spring pushes [m]."""
    high: Array
    """(R, n) movement over which the spring pulls back [m], infinite for a one-way one."""
    stick: Array
    """(R, n) kₜ [N/m], 0 without friction."""
    limit: Array
    """(R, n) L [N]; infinite for supports that always stick."""
    spare: Array
    """(R, 6, 6) next to nothing of the stiffness with every support in contact [N/m]."""
    scale: Array
    """(R) greatest of loads and set loads [N]."""

    def take(self, rows: NDArray[np.intp] | slice) -> SpringBody:
        """Return some rows only; one row that serves all stays."""
        parts = {part.name: getattr(self, part.name) for part in fields(self)}
        return replace(self, **{name: value if len(value) == 1 else value[rows] for name, value in parts.items()})


class Forces(NamedTuple):
    """What the supports do at one motion."""

    along: Array
    """(R, n) f [N]."""
    across: Array
    """(R, n, 2) friction forces [N]."""
    excess: Array
    """(R, 6) gradient of E: what is left unbalanced, as the wrench that springs need beyond the load [N]."""


class Minimum(NamedTuple):
    """Where the energy is least."""

    motion: Array
    """(R, 6) q [m]; the last one tried where the status is not ``SOLVED``."""
    status: NDArray[np.int8]
    """(R) ``SOLVED``, ``NO_EQUILIBRIUM`` or ``GIVEN_UP``."""
    passes: NDArray[np.int64]
    """(R) evaluations used."""


def times(matrix: Array, vector: Array) -> Array:
    """Return matrices (..., m, n) times vectors (..., n)."""
    return np.asarray((matrix @ vector[..., None])[..., 0])


def _spring_force(body: SpringBody, moved: Array) -> Array:
    return np.asarray(body.spring * (np.maximum(body.low - moved, 0.0) - np.maximum(moved - body.high, 0.0)))


def _friction_force(body: SpringBody, slid: Array) -> Array:
    """Return the forces across (R, n, 2): elastic, cut back to the limit, against the movement."""
    if not np.any(body.stick > 0.0):
        return np.zeros_like(slid)
    elastic = body.stick[..., None] * slid
    size = np.hypot(elastic[..., 0], elastic[..., 1])
    share = np.where(size > body.limit, body.limit / np.where(size > 0.0, size, 1.0), 1.0)
    return np.asarray(-share[..., None] * elastic)


def movements(body: SpringBody, motion: Array) -> tuple[Array, Array]:
    """Return δ (R, n) and τ (R, n, 2) [m] for motions (R, 6)."""
    return times(body.along, motion), np.asarray(np.einsum("rnsi,ri->rns", body.across, motion))


def forces_at(body: SpringBody, motion: Array) -> Forces:
    """Return the forces of the supports and what they leave unbalanced at motions (R, 6)."""
    moved, slid = movements(body, motion)
    push, drag = _spring_force(body, moved), _friction_force(body, slid)
    excess = times(body.stiffness, motion) - body.load - times(np.swapaxes(body.along, -1, -2), push)
    excess = excess - np.einsum("rnsi,rns->ri", np.broadcast_to(body.across, (len(drag), *body.across.shape[1:])), drag)
    return Forces(push, drag, excess)


def curvature(body: SpringBody, motion: Array) -> Array:
    """Return the second derivatives of E (R, 6, 6) from what is in contact and what sticks."""
    moved, slid = movements(body, motion)
    taut = (moved < body.low) | (moved > body.high) | (body.low == body.high)
    active = (body.spring * taut)[..., None] * body.along
    total = body.stiffness + np.swapaxes(body.along, -1, -2) @ active
    if not np.any(body.stick > 0.0):
        return np.asarray(total)
    far = np.hypot(slid[..., 0], slid[..., 1])
    slips = body.stick * far > body.limit
    safe = np.where(far > 0.0, far, 1.0)
    stiff = np.where(slips, np.where(slips, body.limit, 0.0) / safe, body.stick)
    toward = slid / safe[..., None]
    radial = np.einsum("rns,rnsi->rni", toward, np.broadcast_to(body.across, (len(slid), *body.across.shape[1:])))
    sideways = np.swapaxes(body.across, -1, -2) @ (stiff[..., None, None] * body.across)
    lost = np.swapaxes(radial, -1, -2) @ (np.where(slips, stiff, 0.0)[..., None] * radial)
    return np.asarray(total + sideways.sum(axis=1) - lost)


def in_equilibrium(body: SpringBody, motion: Array, excess: Array) -> NDArray[np.bool_]:
    """Return where what is left over is under the tolerance, or under the rounding of stiff springs."""
    moved, _ = movements(body, motion)
    stretched = np.abs(moved) + np.minimum(np.abs(body.low), np.abs(body.high))
    stored = np.max(body.spring * stretched, axis=-1, initial=0.0)
    stored = stored + np.max(np.abs(body.stiffness), axis=(-1, -2)) * np.max(np.abs(motion), axis=-1)
    left = np.max(np.abs(excess), axis=-1)
    return np.asarray(left <= TOLERANCE * body.scale + _ROUNDING * stored)


def _out_of_reach(body: SpringBody, motion: Array) -> NDArray[np.bool_]:
    """Return where a motion shows that no forces within reason can hold the load.

    In equilibrium loads and supports do no work on any small motion. On this one the load works η; what resists it can
    work no more than its force times its movement ε, so forces of η/ε are needed: with ε = 0 that is a proof. One-way
    supports that the motion opens, and friction at its limit, resist nothing or a known amount.
    """
    way = motion / np.maximum(np.max(np.abs(motion), axis=-1, keepdims=True), 1e-300)
    moved, slid = movements(body, way)
    one_way = np.isinf(body.high)
    against = np.where(body.spring > 0.0, np.where(one_way, np.maximum(-moved, 0.0), np.abs(moved)), 0.0)
    far = np.hypot(slid[..., 0], slid[..., 1])
    endless = np.isinf(body.limit) & (body.stick > 0.0)
    against = np.maximum(against, np.where(endless, far, 0.0))
    whole = np.max(np.abs(body.spare), axis=(-1, -2)) / _SPARE
    held = np.sqrt(
        np.maximum(np.einsum("ri,rij,rj->r", way, np.broadcast_to(body.stiffness, (len(way), 6, 6)), way), 0.0)
    )
    resist = np.max(against, axis=-1, initial=0.0) + held / np.sqrt(np.where(whole > 0.0, whole, 1.0))
    drag = np.sum(np.where(body.stick > 0.0, np.where(endless, 0.0, body.limit), 0.0) * far, axis=-1)
    work = np.einsum("ri,ri->r", np.broadcast_to(body.load, way.shape), way) - drag
    return np.asarray((work > 1e-9 * body.scale) & (work > OUT_OF_REACH * body.scale * resist))


def _share_of_step(body: SpringBody, motion: Array, step: Array) -> Array:
    """Return the share (R) of each step that leads to the least energy along it, or 1 where it falls all along.

    The slope along the step never falls, so its zero is bracketed and found by halving mixed with secants.
    """
    (moved, slid), (going, sliding) = movements(body, motion), movements(body, step)
    pull = np.einsum("ri,ri->r", times(body.stiffness, motion) - body.load, step)
    bend = np.einsum("ri,ri->r", times(body.stiffness, step), step)

    def slope(share: Array) -> Array:
        push = _spring_force(body, moved + share[:, None] * going)
        drag = _friction_force(body, slid + share[:, None, None] * sliding)
        return np.asarray(pull + share * bend - np.sum(push * going, axis=-1) - np.sum(drag * sliding, axis=(-1, -2)))

    low, high = np.zeros(len(step)), np.ones(len(step))
    at_low, at_high = slope(low), slope(high)
    first = np.abs(at_low)
    best = np.ones(len(step))
    open_ = at_high > _SLOPE_LEFT * first
    for number in range(_SEARCHES):
        if not np.any(open_):
            break
        gap = at_high - at_low
        secant = low - at_low * (high - low) / np.where(gap > 0.0, gap, 1.0)
        middle = 0.5 * (low + high)
        trial = np.where(open_, middle if number % 3 == 2 else np.clip(secant, low, high), best)
        there = slope(trial)
        best = np.where(open_, trial, best)
        open_ &= np.abs(there) > _SLOPE_LEFT * first
        rising = there > 0.0
        high, at_high = np.where(rising, trial, high), np.where(rising, there, at_high)
        low, at_low = np.where(rising, low, trial), np.where(rising, at_low, there)
    return best


def minimize(body: SpringBody, start: Array) -> Minimum:
    """Return the motions with the least energy, all rows at once, from a start (R, 6).

    A row that does not come to rest is tied to the ground by springs that are next to nothing, then by half of them.
    That always comes to rest; if nothing else holds the body it moves out twice as far, and the difference is a motion
    that shows it.
    Rows with a load or stiffness that is not finite are given up.
    """
    found = _descend(body, start)
    rows = np.flatnonzero((found.status == GIVEN_UP) & np.isfinite(found.motion).all(axis=-1))
    if rows.size == 0:
        return found
    part, still = body.take(rows), np.zeros((rows.size, 6))
    firm, loose = (
        _descend(replace(part, stiffness=part.stiffness + tie * part.spare, spare=0.0 * part.spare), still)
        for tie in (1.0, 0.5)
    )
    again = _descend(part, firm.motion)
    lost = (again.status != SOLVED) & _out_of_reach(part, loose.motion - firm.motion)
    found.motion[rows] = again.motion
    found.status[rows] = np.where(lost, NO_EQUILIBRIUM, again.status)
    found.passes[rows] += firm.passes + loose.passes + again.passes
    return found


def _descend(body: SpringBody, start: Array) -> Minimum:
    """Take Newton steps from a start (R, 6); rows leave the set once they are in equilibrium or past hope."""
    count = len(start)
    motion = start.copy()
    status, passes = np.full(count, GIVEN_UP, dtype=np.int8), np.zeros(count, dtype=np.int64)
    rows = np.arange(count)
    for number in range(1, PASSES + 1):
        at = motion[rows]
        excess = forces_at(body, at).excess
        passes[rows] = number
        done = in_equilibrium(body, at, excess)
        lost = np.zeros_like(done)
        if number > 2:
            # A body that nothing holds drifts off along such a motion, and is short of a wrench along one.
            lost = (_out_of_reach(body, at) | _out_of_reach(body, -excess)) & ~done
        status[rows[done]], status[rows[lost]] = SOLVED, NO_EQUILIBRIUM
        stay = np.flatnonzero(~(done | lost) & np.isfinite(excess).all(axis=-1))
        if stay.size == 0:
            break
        if stay.size < rows.size:
            rows, at, excess, body = rows[stay], at[stay], excess[stay], body.take(stay)
        resisting = curvature(body, at) + body.spare
        step: Array = np.asarray(np.linalg.solve(resisting, -excess[..., None])[..., 0], dtype=float)
        motion[rows] = at + _share_of_step(body, at, step)[:, None] * step
    return Minimum(motion, status, passes)
