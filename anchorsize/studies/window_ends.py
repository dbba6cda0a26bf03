"""The two ends of a tightening window: brackets in batches of multiples, narrowed until they count as found."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from anchorsize.study import Array

LEAST_SHARE = 1e-6  # of the greatest tightening looked at
EVEN, NEAR = 31, 16  # multiples judged in one batch: evenly spread, and on either side of where an end should be
CLOSER = 4.0  # how much nearer each of the latter lies than the one before
TOLERANCE = 1e-10  # relative width at which an end of the window counts as found
GREATEST_ROUNDS = 40  # the even ones alone narrow a bracket below the tolerance in seven


@dataclass(frozen=True)
class Uses:
    """Greatest utilization of the checks that want more and of those that want less, by rising multiples (m,).

    The ``by`` arrays name the check, with its case, that each is of; empty where there is no such check.
    """

    multiples: Array
    more: Array
    less: Array
    more_by: Sequence[str]
    less_by: Sequence[str]


@dataclass(frozen=True)
class End:
    """One end of the window: where it is, the check that sets it, and the bracket (low, high) it was found in."""

    at: float
    by: str | None
    bracket: tuple[int, int] | None = None


def ends(uses: Callable[[Array], Uses], top: float) -> tuple[End, End]:
    """The least and the greatest multiple up to ``top`` at which the checks hold, from brackets that are narrowed together."""
    found = uses(np.linspace(top * LEAST_SHARE, top, EVEN))
    for _ in range(GREATEST_ROUNDS):
        least, greatest = _least_end(found), _greatest_end(found)
        # a joint's pressure and clamp go about in proportion to its tightening: these are the straighter lines
        asked = np.concatenate(
            [
                _closer(found.multiples, 1.0 / np.maximum(found.more, 1e-300) - 1.0, least.bracket),
                _closer(found.multiples, 1.0 - found.less, greatest.bracket),
            ]
        )
        if not asked.size:
            break
        found = _merged(found, uses(np.unique(asked)))
    return least, greatest


def _least_end(found: Uses) -> End:
    """The first multiple from below at which the checks that want more hold."""
    holds = found.more <= 1.0
    first = int(np.argmax(holds))
    if not holds[first]:
        return End(np.inf, found.more_by[-1])
    if first == 0:
        return End(float(found.multiples[0]), None)
    return End(float(found.multiples[first]), found.more_by[first], (first - 1, first))


def _greatest_end(found: Uses) -> End:
    """The last multiple from below up to which the checks that want less hold."""
    holds = found.less <= 1.0
    over = int(np.argmin(holds))
    if holds[over]:
        return End(float(found.multiples[-1]), None)
    if over == 0:
        return End(0.0, found.less_by[0])
    return End(float(found.multiples[over - 1]), found.less_by[over], (over - 1, over))


def _closer(x: Array, y: Array, bracket: tuple[int, int] | None) -> Array:
    """Multiples to judge next inside a bracket: evenly spread, and closer and closer to where a straight line puts the end."""
    if bracket is None:
        return np.zeros(0)
    low, high = x[bracket[0]], x[bracket[1]]
    if high - low <= TOLERANCE * high:
        return np.zeros(0)
    below, above = y[bracket[0]], y[bracket[1]]
    share = below / (below - above) if np.isfinite(below - above) and below != above else 0.5
    steps = (high - low) * CLOSER ** -np.arange(1.0, NEAR + 1.0)
    line = low + share * (high - low)
    points = np.concatenate([np.linspace(low, high, EVEN)[1:-1], line - steps, line + steps])
    inside: Array = points[(points > low) & (points < high)]
    return inside


def _merged(one: Uses, other: Uses) -> Uses:
    multiples, first = np.unique(np.concatenate([one.multiples, other.multiples]), return_index=True)
    more_by, less_by = [*one.more_by, *other.more_by], [*one.less_by, *other.less_by]
    return Uses(
        multiples,
        np.concatenate([one.more, other.more])[first],
        np.concatenate([one.less, other.less])[first],
        [more_by[i] for i in first],
        [less_by[i] for i in first],
    )
