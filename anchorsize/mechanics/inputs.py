"""Guards on the arrays that enter the mechanics: convert to float64 and say which value is out of range.

NaN passes every guard: it marks a value that does not exist (a missing bolt, a pitch nobody gave) and runs through
the arithmetic to the result.
"""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array: TypeAlias = NDArray[np.float64]


def positive(name: str, value: ArrayLike) -> Array:
    """Return ``value`` (...) as float64; ValueError naming it if any element is zero or below."""
    array = np.asarray(value, dtype=np.float64)
    if np.any(array <= 0.0):
        raise ValueError(f"{name} must be greater than zero (least given: {np.nanmin(array):g})")
    return array


def not_negative(name: str, value: ArrayLike) -> Array:
    """Return ``value`` (...) as float64; ValueError naming it if any element is below zero."""
    array = np.asarray(value, dtype=np.float64)
    if np.any(array < 0.0):
        raise ValueError(f"{name} must not be negative (least given: {np.nanmin(array):g})")
    return array


def share(name: str, value: ArrayLike) -> Array:
    """Return ``value`` (...) as float64; ValueError naming it unless every element lies in [0, 1)."""
    array = np.asarray(value, dtype=np.float64)
    if np.any((array < 0.0) | (array >= 1.0)):
        raise ValueError(f"{name} must be a share from 0 up to, not including, 1 (0.3 means 30 %)")
    return array
