"""Zeros of a function that is evaluated in batches: brackets on a grid, then bisection to the last bit."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from anchorsize.study import Array

GREATEST_HALVINGS = 2000  # more than the exponent range of a double takes


def brackets(x: Array, y: Array) -> tuple[Array, Array]:
    """Neighboring grid points (lows, highs) between which ``y`` (m,) over ``x`` (m,) changes sign or touches zero."""
    sign = np.sign(y)
    here = (sign[:-1] * sign[1:] < 0) | ((sign[1:] == 0) & (sign[:-1] != 0))
    return x[:-1][here], x[1:][here]


def bisect(function: Callable[[Array], Array], low: Array, high: Array) -> Array:
    """Zeros of ``function`` between ``low`` and ``high`` (m,), all at once.

    Each bracket must hold a sign change. Ends when no bracket can be halved any more in floating point, so the result is exact
    to one unit in the last place of the argument, whatever its scale.
    """
    low, high = np.array(low, dtype=float), np.array(high, dtype=float)
    if low.size == 0:
        return low
    sign_low = np.sign(function(low))
    for _ in range(GREATEST_HALVINGS):
        middle = 0.5 * (low + high)
        if np.all((middle <= low) | (middle >= high)):
            break
        same = np.sign(function(middle)) == sign_low
        low, high = np.where(same, middle, low), np.where(same, high, middle)
    return high
