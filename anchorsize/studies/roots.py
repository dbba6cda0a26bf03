"""Zeros of a function that is evaluated in batches: brackets on a grid, then bisection to the last bit."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from anchorsize.study import Array

GREATEST_ROUNDS = 2000  # more than the exponent range of a double takes


def brackets(x: Array, y: Array) -> tuple[Array, Array]:
    """Neighboring grid points (lows, highs) between which ``y`` (m,) over ``x`` (m,) changes sign or touches zero."""
    sign = np.sign(y)
    here = (sign[:-1] * sign[1:] < 0) | ((sign[1:] == 0) & (sign[:-1] != 0))
    return x[:-1][here], x[1:][here]


def bisect(
    function: Callable[[Array], Array],
    low: Array,
    high: Array,
    ways: int = 2,
    tolerance: float = 0.0,
    sign_low: Array | None = None,
) -> Array:
    """Zeros of ``function`` between ``low`` and ``high`` (m,), all at once.

    Each bracket must hold a sign change; of several, the first that the parts show is followed. Every round cuts each bracket into
    ``ways`` parts in one call of ``function``, which pays where a call costs the same for one row as for many. Ends when every
    bracket is within ``tolerance`` of its upper end (relative), or cannot be cut any more in floating point. ``sign_low`` (m,)
    are the signs at ``low``, where they are known.
    """
    low, high = np.array(low, dtype=float), np.array(high, dtype=float)
    if low.size == 0:
        return low
    start = (np.sign(function(low)) if sign_low is None else sign_low)[:, None]
    shares = np.arange(1, ways) / ways
    for _ in range(GREATEST_ROUNDS):
        inner = low[:, None] + (high - low)[:, None] * shares
        stuck = np.all((inner <= low[:, None]) | (inner >= high[:, None]))
        if stuck or np.all(high - low <= tolerance * np.abs(high)):
            break
        same = np.sign(function(inner.ravel())).reshape(inner.shape) == start
        passed = np.cumprod(same, axis=1).sum(axis=1)  # parts from the lower end without a change of sign
        edges = np.concatenate([low[:, None], inner, high[:, None]], axis=1)
        low = np.take_along_axis(edges, passed[:, None], axis=1)[:, 0]
        high = np.take_along_axis(edges, passed[:, None] + 1, axis=1)[:, 0]
    return high
