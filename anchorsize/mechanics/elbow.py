"""How much more easily an elbow bends than straight pipe of its section, for a bent pipe turns oval.

Flexibility factors of ASME B31.3 Appendix D (von Kármán), from memory: k = 1.65/h of a smooth bend, 1.52/h^(5/6) of a mitered
one, by the flexibility characteristic h = t R₁/r²; at least 1, in the plane of the bend and out of it alike. Torsion is that
of straight pipe. That pressure stiffens a wide thin elbow is left out, which is on the side that bends more.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from anchorsize.mechanics.inputs import Array, positive


def bend_characteristic(centerline_radius: ArrayLike, outside: ArrayLike, wall: ArrayLike) -> Array:
    """Return the flexibility characteristic (...) [-] of a smooth bend, h = t R/r² with r = (outside − t)/2, the mean radius.

    Parameters
    ----------
    centerline_radius : (...) R [m]
    outside : (...) outside diameter of the pipe [m]
    wall : (...) t [m], under half the outside diameter

    Raises
    ------
    ValueError
        If one of them, or the mean radius, is not above zero.
    """
    radius, thick = positive("the radius of a bend", centerline_radius), positive("the wall of a pipe", wall)
    return np.asarray(thick * radius / _mean_radius(outside, thick) ** 2)


def miter_characteristic(
    centerline_radius: ArrayLike, half_angle: ArrayLike, outside: ArrayLike, wall: ArrayLike, cuts: int
) -> Array:
    """Return the flexibility characteristic (...) [-] of a mitered bend of equal cuts whose pieces touch an arc.

    Closely spaced it is (cot θ/2) s t/r² = t R/r², for the cuts lie s = 2 R tan θ apart along the centerline; widely spaced, from
    s = r (1 + tan θ) on or where there is but one, (1 + cot θ)/2 · t/r. ASME B31.3 Appendix D, from memory.

    Parameters
    ----------
    centerline_radius : (...) R of the arc [m]
    half_angle : (...) θ, half the angle between the pieces at a cut [rad], under a quarter turn
    outside : (...) outside diameter of the pipe [m]
    wall : (...) t [m], under half the outside diameter
    cuts : number of cuts

    Raises
    ------
    ValueError
        If one of them, or the mean radius, is not above zero.
    """
    tangent = np.tan(positive("half the angle of a miter", half_angle))
    thick = positive("the wall of a pipe", wall)
    mean = _mean_radius(outside, thick)
    closely = bend_characteristic(centerline_radius, outside, thick)
    widely = 0.5 * (1.0 + 1.0 / tangent) * thick / mean
    apart = 2.0 * np.asarray(centerline_radius, dtype=float) * tangent >= mean * (1.0 + tangent)
    return np.where((cuts == 1) | apart, widely, closely)


def flexibility_factor(characteristic: ArrayLike, mitered: bool = False, flanged: int = 0) -> Array:
    """Return the flexibility factor k (...) [-] of an elbow: how often the bending of straight pipe of its section it bends.

    1.65/h of a smooth bend, 1.52/h^(5/6) of a mitered one; times h^(1/6) for each end at which a flange keeps it round; at
    least 1. ASME B31.3 Appendix D, from memory.

    Parameters
    ----------
    characteristic : (...) h [-]
    mitered : whether it is welded from cut pipe
    flanged : number of ends with a flange, 0 to 2

    Raises
    ------
    ValueError
        If the characteristic is not above zero.
    """
    h = positive("the flexibility characteristic of an elbow", characteristic)
    free = 1.52 / h ** (5.0 / 6.0) if mitered else 1.65 / h
    return np.maximum(free * h ** (flanged / 6.0), 1.0)


def _mean_radius(outside: ArrayLike, wall: Array) -> Array:
    return positive("the mean radius of a pipe", 0.5 * (np.asarray(outside, dtype=float) - wall))
