"""Dynamic load factors: how much more than its static value a load asks when it comes fast.

The structure is taken as one undamped, elastic mode, the usual bound. Sources are beside each function.
"""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array: TypeAlias = NDArray[np.float64]

SUDDEN_LOAD_FACTOR = 2.0
"""Factor of a load that comes at once and stays [-]: exact for one undamped mode, and common practice when nothing
better is known of the load or of the structure."""


def ramp_factor(rise_time: ArrayLike, period: ArrayLike) -> Array:
    """Return the factor of a load that rises evenly and then stays [-], 1 + |sin πr|/(πr) with r = rise time/period.

    Source: Biggs, Introduction to Structural Dynamics, response to a ramp (from memory).

    Parameters
    ----------
    rise_time : (...) time in which the load rises [s]
    period : (...) natural period of the structure [s], positive
    """
    ratio = np.asarray(rise_time, dtype=float) / np.asarray(period, dtype=float)
    return np.asarray(1.0 + np.abs(np.sinc(ratio)))


def ramp_factor_bound(rise_time: ArrayLike, period: ArrayLike) -> Array:
    """Return a bound of :func:`ramp_factor` without its dips [-]: 2, or 1 + 1/(πr) where that is less.

    For use when the period is only roughly known, since the dips fall on whole numbers of periods. Follows from
    |sin| ≤ 1.

    Parameters
    ----------
    rise_time : (...) time in which the load rises [s]
    period : (...) natural period of the structure [s], positive
    """
    ratio = np.asarray(rise_time, dtype=float) / np.asarray(period, dtype=float)
    return np.asarray(1.0 + 1.0 / np.maximum(np.pi * ratio, 1.0))


def gap_factor(gap: ArrayLike, static_deflection: ArrayLike) -> Array:
    """Return the factor of a steady force that crosses a gap before a support stops it [-], 1 + √(1 + 2h/δ).

    Energy balance of a force that moves through gap h and then deflects the support elastically; 2 with no gap.
    Source: impact factor of a falling weight, as in Gere, Mechanics of Materials, section 2.8 (from memory).

    Parameters
    ----------
    gap : (...) gap h that the force closes [m], not negative
    static_deflection : (...) deflection δ of the support under the same force when still [m], positive
    """
    ratio = np.asarray(gap, dtype=float) / np.asarray(static_deflection, dtype=float)
    factor: Array = 1.0 + np.sqrt(1.0 + 2.0 * ratio)
    return factor
