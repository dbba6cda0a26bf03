"""Demands, utilizations and interaction rules of bolts and their holes.

A utilization is demand over allowable: 1 is just held, more is not. Interactions take the two ratios of a bolt,
tension demand over tension allowable and shear demand over shear allowable, and return one utilization.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from anchorsize.mechanics.inputs import Array

EN_TENSION_SHARE = 1.4
"""Divisor of the tension ratio where shear acts with it [-]: EN 1993-1-8, Table 3.4."""


def stress_tension(force: ArrayLike, area: ArrayLike) -> Array:
    """Return the tensile stress of a bolt [Pa]; under compression it has none.

    Parameters
    ----------
    force : (...) tension of the bolt [N]
    area : (...) area that carries it [m²]
    """
    stress: Array = np.maximum(np.asarray(force, dtype=float), 0.0) / np.asarray(area, dtype=float)
    return stress


def stress_shear(force: ArrayLike, area: ArrayLike) -> Array:
    """Return the mean shear stress of a bolt [Pa], whatever the sign of the shear.

    Parameters
    ----------
    force : (...) shear of the bolt [N]
    area : (...) area that it shears [m²]
    """
    stress: Array = np.abs(np.asarray(force, dtype=float)) / np.asarray(area, dtype=float)
    return stress


def hole_bearing(shear: ArrayLike, diameter: ArrayLike, thickness: ArrayLike) -> Array:
    """Return the bearing stress of a bolt on its hole, V/(d t) [Pa].

    Mean pressure on the projected area; common practice, as in Shigley's Mechanical Engineering Design, 10th edition,
    Equation 8-56 (from memory).

    Parameters
    ----------
    shear : (...) shear force of the bolt [N]
    diameter : (...) bolt diameter [m]
    thickness : (...) thickness of the plate that bears [m]
    """
    projected = np.asarray(diameter, dtype=float) * np.asarray(thickness, dtype=float)
    return stress_shear(shear, projected)


def _ratios(tension: ArrayLike, shear: ArrayLike) -> tuple[Array, Array]:
    """Return the tension ratio without compression and the shear ratio without sign."""
    return np.maximum(np.asarray(tension, dtype=float), 0.0), np.abs(np.asarray(shear, dtype=float))


def interaction_circular(tension: ArrayLike, shear: ArrayLike) -> Array:
    """Return the utilization √(t² + s²) of the elliptical rule t² + s² ≤ 1.

    The rule stands in the Commentary of AISC 360 to Section J3.7 (from memory). As a square root it scales with the
    loads, as every other utilization does.

    Parameters
    ----------
    tension, shear : (...) demand over allowable [-]; negative tension counts as none
    """
    t, s = _ratios(tension, shear)
    return np.sqrt(t * t + s * s)


def interaction_linear(tension: ArrayLike, shear: ArrayLike) -> Array:
    """Return the utilization t + s, the most cautious of the rules (common practice, no source).

    Parameters
    ----------
    tension, shear : (...) demand over allowable [-]; negative tension counts as none
    """
    t, s = _ratios(tension, shear)
    return t + s


def interaction_en_1993_1_8(tension: ArrayLike, shear: ArrayLike) -> Array:
    """Return the utilization max(s + t/1.4, t) of EN 1993-1-8, Table 3.4, combined shear and tension.

    The rule s + t/1.4 ≤ 1 is asked for together with t ≤ 1.

    Parameters
    ----------
    tension, shear : (...) demand over design resistance [-]; negative tension counts as none
    """
    t, s = _ratios(tension, shear)
    return np.maximum(s + t / EN_TENSION_SHARE, t)


def least_spacing(xy: ArrayLike, present: ArrayLike) -> Array:
    """Return the least center-to-center distance between bolts that are there [m].

    Parameters
    ----------
    xy : (..., n, 2) places of the bolts [m]
    present : (..., n) whether a bolt stands in the place

    Returns
    -------
    (...) least distance [m]; infinite with fewer than two bolts
    """
    xy = np.asarray(xy, dtype=float)
    present = np.asarray(present, dtype=bool)
    batch = np.broadcast_shapes(xy.shape[:-1], present.shape)[:-1]
    least = np.full(batch, np.inf)
    # One bolt against all after it: the working memory grows with n, not with n².
    for bolt in range(xy.shape[-2] - 1):
        gap = np.linalg.norm(xy[..., bolt + 1 :, :] - xy[..., bolt : bolt + 1, :], axis=-1)
        both = present[..., bolt + 1 :] & present[..., bolt : bolt + 1]
        least = np.minimum(least, np.where(both, gap, np.inf).min(axis=-1))
    return least


def greatest_gap(xy: ArrayLike, present: ArrayLike) -> Array:
    """Return the greatest center-to-center distance between bolts that are neighbors round the origin [m].

    Bolts follow each other by their angle about the bolt-circle center; a missing bolt widens the gap it leaves. NaN with
    fewer than two bolts.

    Parameters
    ----------
    xy : (..., n, 2) places of the bolts [m]
    present : (..., n) True where there is a bolt
    """
    xy = np.asarray(xy, dtype=float)
    there = np.asarray(present, dtype=bool)
    shape = np.broadcast_shapes(xy.shape[:-1], there.shape)
    xy, there = np.broadcast_to(xy, (*shape, 2)), np.broadcast_to(there, shape)
    angle = np.where(there, np.arctan2(xy[..., 1], xy[..., 0]), np.inf)
    order = np.argsort(angle, axis=-1, kind="stable")
    placed = np.take_along_axis(xy, order[..., None], axis=-2)
    count = there.sum(axis=-1)
    place = np.arange(xy.shape[-2])
    following = np.where(place + 1 < count[..., None], place + 1, 0)
    step = np.take_along_axis(placed, following[..., None], axis=-2) - placed
    gaps = np.where(place < count[..., None], np.linalg.norm(step, axis=-1), -np.inf)
    return np.where(count > 1, gaps.max(axis=-1), np.nan)


def utilization(demand: ArrayLike, allowable: ArrayLike) -> Array:
    """Return demand over allowable [-] for a check 'at most'.

    Parameters
    ----------
    demand, allowable : (...) in the same unit

    Returns
    -------
    (...) 0 where nothing is demanded, infinite where something is and nothing is allowed
    """
    demand, allowable = np.asarray(demand, dtype=float), np.asarray(allowable, dtype=float)
    if np.all(allowable > 0.0):  # all but always; one pass, and the layout of the demand is kept
        return np.asarray(np.maximum(demand / allowable, 0.0))
    demand, allowable = np.broadcast_arrays(demand, allowable)
    # NaN (a missing bolt) is no "nothing allowed": it divides through to NaN.
    spent = np.full(demand.shape, np.inf)
    ratio = np.divide(demand, allowable, out=spent, where=~(allowable <= 0.0))
    return np.where(demand <= 0.0, 0.0, ratio)


def utilization_at_least(demand: ArrayLike, allowable: ArrayLike) -> Array:
    """Return allowable over demand [-] for a check 'at least', such as a least bolt spacing.

    Parameters
    ----------
    demand : (...) what is there
    allowable : (...) what must be there at least, in the same unit
    """
    return utilization(allowable, demand)


def margin(utilization: ArrayLike) -> Array:
    """Return the margin 1/u − 1 [-] of a utilization (...) [-]; infinite where u is 0."""
    utilization = np.asarray(utilization, dtype=float)
    inverse = np.full(utilization.shape, np.inf)
    np.divide(1.0, utilization, out=inverse, where=utilization != 0.0)
    return inverse - 1.0
