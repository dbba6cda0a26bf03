"""Coulomb friction on a body with springs: the friction limits that agree with the forces they come from.

With fixed limits the equilibrium is the least of an energy and can always be found
(:mod:`anchorsize.mechanics.spring_body`). Coulomb's law sets the limit to μ f, which is no part of any energy. So:
solve with fixed limits, set them to μ f, and again, with damping where they do not come closer. With stiff joints an
answer exists, since limits and forces stay bounded (Brouwer); with much friction there may be several, so it is
sought from full sticking and from no friction. That both meet is no proof that there is only one, that they do not is
a proof that there are two.

Source: the repetition from fixed limits (Tresca) to Coulomb friction is the usual one in contact mechanics (from
memory).
"""

from __future__ import annotations

from dataclasses import replace
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from anchorsize.mechanics import spring_body
from anchorsize.mechanics.inputs import Array
from anchorsize.mechanics.spring_body import SpringBody

REPETITIONS: Final = 300
"""Rounds after which friction that does not settle is given up."""

CLOSE: Final = 1e-9
"""Change of the friction limits over the loads that counts as settled [-]."""

SLIDES: Final = 3
"""Status of a row that would be held if everything stuck, but not with the friction that its forces allow."""


class Settled(NamedTuple):
    """Motions (R, 6), limits (R, n), status and evaluations (R) once friction has settled, or not."""

    motion: Array
    limit: Array
    status: NDArray[np.int8]
    passes: NDArray[np.int64]


def _settle(body: SpringBody, friction: Array, motion: Array, limit: Array) -> Settled:
    """Repeat with limits μ f until they stay, from a start; the step is halved where they do not come closer."""
    count = len(motion)
    friction = np.broadcast_to(friction, limit.shape)
    out = Settled(motion.copy(), limit.copy(), np.full(count, spring_body.GIVEN_UP, np.int8), np.zeros(count, np.int64))
    rows, share, before = np.arange(count), np.ones(count), np.full(count, np.inf)
    for _ in range(REPETITIONS):
        part = replace(body, limit=out.limit[rows])
        found = spring_body.minimize(part, out.motion[rows])
        out.passes[rows] += found.passes
        good = found.status == spring_body.SOLVED
        out.motion[rows[good]] = found.motion[good]
        wanted = friction[rows] * np.maximum(spring_body.forces_at(part, found.motion).along, 0.0)
        off = np.max(np.abs(wanted - out.limit[rows]), axis=-1)
        settled = good & (off <= CLOSE * np.maximum(body.scale, np.max(wanted, axis=-1)))
        out.status[rows[settled]] = spring_body.SOLVED
        out.status[rows[found.status == spring_body.NO_EQUILIBRIUM]] = SLIDES
        share = np.where(off < 0.9 * before, share, np.maximum(0.5 * share, 1.0 / 64.0))
        out.limit[rows] += np.where(good & ~settled, share, 0.0)[:, None] * (wanted - out.limit[rows])
        stay = np.flatnonzero(good & ~settled)
        if stay.size == 0:
            break
        rows, share, before, body = rows[stay], share[stay], off[stay], body.take(stay)
    return out


def _limits(body: SpringBody, friction: Array, motion: Array) -> Array:
    return np.asarray(friction * np.maximum(spring_body.forces_at(body, motion).along, 0.0))


def find(body: SpringBody, friction: Array, count: int) -> tuple[Settled, NDArray[np.bool_]]:
    """Return the motions and limits of all rows, and whether a second start led to the same answer."""
    sticking = spring_body.minimize(body, np.zeros((count, 6)))
    shape = (count, body.spring.shape[-1])
    limit = np.broadcast_to(body.limit, shape).copy()
    out = Settled(sticking.motion, limit, sticking.status, sticking.passes)
    single = np.ones(count, dtype=np.bool_)
    rough = np.broadcast_to(np.any(friction > 0.0, axis=-1), (count,))
    rows = np.flatnonzero(rough & (sticking.status == spring_body.SOLVED))
    if rows.size == 0:
        return out, single
    part, mu = body.take(rows), friction if len(friction) == 1 else friction[rows]
    start = sticking.motion[rows]
    first = _settle(part, mu, start, np.broadcast_to(_limits(part, mu, start), (rows.size, shape[1])).copy())
    second = _settle(part, mu, np.zeros_like(start), np.zeros((rows.size, shape[1])))
    both = (first.status == spring_body.SOLVED) & (second.status == spring_body.SOLVED)
    apart = np.max(np.abs(first.limit - second.limit), axis=-1) > 1e-6 * part.scale
    single[rows] = ~(both & apart)
    only_second = (first.status != spring_body.SOLVED) & (second.status == spring_body.SOLVED)
    out.motion[rows] = np.where(only_second[:, None], second.motion, first.motion)
    out.limit[rows] = np.where(only_second[:, None], second.limit, first.limit)
    out.status[rows] = np.where(only_second, second.status, first.status)
    out.passes[rows] += first.passes + second.passes
    return out, single
