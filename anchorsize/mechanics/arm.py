"""How much a piece of pipe bends between the place where it is held and a point that it carries.

Unit-load method for slender pipe (Mohr): what a unit force at the point does in bending and torsion all along the way. Shear,
stretch and the ovalization of bends are left out, all of which only add to it. Source: any text on the strength of
materials; derived here.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from anchorsize.mechanics.inputs import Array, positive
from anchorsize.mechanics.rigid_body import cross_matrix

POISSON = 0.3
"""Poisson's ratio of steel [-]."""

_SIMPSON = ((0.0, 1.0 / 6.0), (0.5, 4.0 / 6.0), (1.0, 1.0 / 6.0))  # exact where a piece has one section


def arm_flexibility(
    from_point: ArrayLike, to_point: ArrayLike, at: ArrayLike, outside: ArrayLike, wall: ArrayLike, modulus: ArrayLike
) -> Array:
    """Return the flexibility (..., 3, 3) [m/N] that a way along straight pieces of steel pipe gives a point: forces to movements.

    ∫ Rᵀ (1 + ν t tᵀ) R ds/EI with R F = r × F, r from the place on the way to the point, t along the way: bending over EI and torsion
    over GJ = EI/(1 + ν), for the polar second moment of a ring is twice I; ν = 0.3. A straight piece held at one end gives the
    other L³/3EI across and nothing along.

    Parameters
    ----------
    from_point, to_point : (..., n, 3) ends of the pieces [m], in any order; pieces of no length give nothing
    at : (..., 3) the point, rigidly joined to the end of the way [m]
    outside : (..., n, 2) outside diameter at both ends of each piece [m]
    wall : (...) wall thickness [m]
    modulus : (...) E [Pa]

    Raises
    ------
    ValueError
        If a diameter, the wall or the modulus is not above zero.
    """
    begin, end = np.asarray(from_point, dtype=float), np.asarray(to_point, dtype=float)
    outer, thick = positive("the outside diameter of a pipe", outside), positive("the wall of a pipe", wall)
    stiff, point = positive("a modulus", modulus)[..., None], np.asarray(at, dtype=float)[..., None, :]
    length = np.linalg.norm(end - begin, axis=-1)
    along = (end - begin) / np.where(length > 0.0, length, 1.0)[..., None]
    twist = np.eye(3) + POISSON * along[..., :, None] * along[..., None, :]
    total: Array = np.zeros((3, 3))
    for share, weight in _SIMPSON:
        lever = cross_matrix(point - begin - share * (end - begin))
        diameter = outer[..., 0] + share * (outer[..., 1] - outer[..., 0])
        inner = np.maximum(diameter - 2.0 * thick[..., None], 0.0)
        bending = stiff * np.pi / 64.0 * (diameter**4 - inner**4)
        parts = (weight * length / bending)[..., None, None] * (np.swapaxes(lever, -1, -2) @ twist @ lever)
        total = total + np.sum(parts, axis=-3)
    return total
