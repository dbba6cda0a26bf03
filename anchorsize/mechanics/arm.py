"""How much a piece of pipe bends between the place where it is held and a point that it carries.

Slender pipe (Mohr): what a load does to a point in bending and torsion all along the way. Bends count by their flexibility
factor (:mod:`anchorsize.mechanics.elbow`). Shear and stretch are left out, which only add to it. Source: any text on the
strength of materials; derived here.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from anchorsize.mechanics.inputs import Array, positive

POISSON = 0.3
"""Poisson's ratio of steel [-]."""

_SIMPSON = ((0.0, 1.0 / 6.0), (0.5, 4.0 / 6.0), (1.0, 1.0 / 6.0))  # exact where a piece has one section


def arm_movement(
    from_point: ArrayLike,
    to_point: ArrayLike,
    at: ArrayLike,
    force: ArrayLike,
    moment: ArrayLike,
    outside: ArrayLike,
    wall: ArrayLike,
    modulus: ArrayLike,
    k: ArrayLike = 1.0,
) -> Array:
    """Return how far a point moves (..., 3) [m] where a way along straight pieces of steel pipe, held at its start, bends and twists.

    ∫ dθ × (p − s) along the way, dθ = (k + (1 + ν − k) t tᵀ) M ds/EI with t along the way and M = M₀ + F × s, what the load asks of the
    place s: bending over EI, k times that in a bend, and torsion over GJ = EI/(1 + ν), for the polar second moment of a ring is twice I;
    ν = 0.3.

    Parameters
    ----------
    from_point, to_point : (..., n, 3) ends of the pieces [m] that the load bends, in any order; pieces of no length give nothing
    at : (..., 3) the point p, rigidly joined to the end of the way [m]
    force : (..., 3) the load [N], which enters at or beyond the end of the pieces
    moment : (..., 3) its moment M₀ about the origin [N·m]
    outside : (..., n, 2) outside diameter at both ends of each piece [m]
    wall : (...) wall thickness [m]
    modulus : (...) E [Pa]
    k : (..., n) flexibility factor of each piece [-]: 1 of straight pipe

    Raises
    ------
    ValueError
        If a diameter, the wall, the modulus or a flexibility factor is not above zero.
    """
    begin, end = np.asarray(from_point, dtype=float), np.asarray(to_point, dtype=float)
    outer, thick = positive("the outside diameter of a pipe", outside), positive("the wall of a pipe", wall)
    stiff, point = positive("a modulus", modulus)[..., None], np.asarray(at, dtype=float)[..., None, :]
    more = positive("a flexibility factor", k)[..., None]
    pull, about = (np.asarray(each, dtype=float)[..., None, :] for each in (force, moment))
    length = np.linalg.norm(end - begin, axis=-1)
    along = (end - begin) / np.where(length > 0.0, length, 1.0)[..., None]
    total: Array = np.zeros(3)
    for share, weight in _SIMPSON:
        place = begin + share * (end - begin)
        diameter = outer[..., 0] + share * (outer[..., 1] - outer[..., 0])
        inner = np.maximum(diameter - 2.0 * thick[..., None], 0.0)
        bending = stiff * np.pi / 64.0 * (diameter**4 - inner**4)
        asked = about + np.cross(pull, place)
        twist = along * np.sum(asked * along, axis=-1, keepdims=True)
        turned = more * (asked - twist) + (1.0 + POISSON) * twist
        parts = (weight * length / bending)[..., None] * np.cross(turned, point - place)
        total = total + np.sum(parts, axis=-2)
    return total


def arm_flexibility(
    from_point: ArrayLike,
    to_point: ArrayLike,
    at: ArrayLike,
    outside: ArrayLike,
    wall: ArrayLike,
    modulus: ArrayLike,
    k: ArrayLike = 1.0,
) -> Array:
    """Return the flexibility (..., 3, 3) [m/N] that a way along straight pieces of steel pipe gives a point: forces to movements.

    :func:`arm_movement` by a unit force along each axis at the point itself: ∫ Rᵀ (k + (1 + ν − k) t tᵀ) R ds/EI with R F = r × F,
    r from the place on the way to the point. A straight piece held at one end gives the other L³/3EI across and nothing along. Arguments and
    errors as there.
    """
    unit, point = np.eye(3), np.asarray(at, dtype=float)[..., None, :]
    begin, end, outer = (np.asarray(each, dtype=float)[..., None, :, :] for each in (from_point, to_point, outside))
    thick, stiff = (np.asarray(each, dtype=float)[..., None] for each in (wall, modulus))
    more = np.atleast_1d(np.asarray(k, dtype=float))[..., None, :]
    moved = arm_movement(begin, end, point, unit, np.cross(point, unit), outer, thick, stiff, more)
    return np.swapaxes(moved, -1, -2)
