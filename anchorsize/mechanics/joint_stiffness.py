"""Stiffness of a joint as the fitting feels it: bolts and face, and the pipe behind them, as 6×6 matrices.

Local matrices are about the bolt-circle center, rows and columns along a, e1, e2 [m] and about a, e1, e2 [rad]
(:mod:`anchorsize.mechanics.frames`); :func:`anchorsize.mechanics.rigid_body.in_world_axes` turns them into world
axes. Parts one behind the other add their flexibilities; a part that does not give in some direction has a zero
there.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from anchorsize.mechanics.face_integrals import Face
from anchorsize.mechanics.inputs import Array, not_negative, positive


def given_stiffness(axial: ArrayLike, shear: ArrayLike, bending: ArrayLike, torsion: ArrayLike) -> Array:
    """Return the local stiffness (..., 6, 6) of a joint that is equally stiff about every line in its plane.

    Parameters
    ----------
    axial, shear : (...) [N/m]
    bending, torsion : (...) [N·m/rad]

    Raises
    ------
    ValueError
        If a stiffness is not above zero.
    """
    parts = [
        positive(f"the {name} stiffness of a joint", value)
        for name, value in (("axial", axial), ("shear", shear), ("bending", bending), ("torsion", torsion))
    ]
    a, s, b, t = np.broadcast_arrays(*parts)
    diagonal = np.stack([a, s, s, t, b, b], axis=-1)
    return np.asarray(diagonal[..., None] * np.eye(6))


def shear_shape(outside: ArrayLike, wall: ArrayLike, poisson: ArrayLike) -> Array:
    """Return the shear coefficient κ of a hollow circular section [-]: effective over whole area.

    κ = 6(1+ν)(1+m²)² / [(7+6ν)(1+m²)² + (20+12ν)m²], m = inside/outside. Source: G. R. Cowper, The shear coefficient in
    Timoshenko's beam theory, Journal of Applied Mechanics 33 (1966) (from memory).

    Parameters
    ----------
    outside, wall : (...) outside diameter and wall thickness [m]
    poisson : (...) Poisson's ratio ν [-]

    Raises
    ------
    ValueError
        If a length is not above zero, or the wall is thicker than the radius.
    """
    outside, wall = positive("the outside diameter of a pipe", outside), positive("the wall of a pipe", wall)
    if np.any(2.0 * wall > outside):
        raise ValueError("the wall of a pipe cannot be thicker than its outside radius")
    nu, m2 = np.asarray(poisson, dtype=float), np.square(1.0 - 2.0 * wall / outside)
    spread = np.square(1.0 + m2)
    kappa: Array = 6.0 * (1.0 + nu) * spread / ((7.0 + 6.0 * nu) * spread + (20.0 + 12.0 * nu) * m2)
    return kappa


def pipe_flexibility(
    outside: ArrayLike, wall: ArrayLike, length: ArrayLike, modulus: ArrayLike, poisson: ArrayLike
) -> Array:
    """Return the local flexibility (..., 6, 6) at the joint of a straight pipe that runs along +a to a fixed end.

    Timoshenko beam: L/EA along, L³/3EI + L/κGA across, L/EI about e1 and e2, L/GJ about a; a force across turns the end by
    L²/2EI. Pressure stiffening and ovalization are left out. Source: any text on the strength of materials.

    Parameters
    ----------
    outside, wall, length : (...) outside diameter, wall and length to the fixed end [m]
    modulus : (...) E [Pa]
    poisson : (...) Poisson's ratio [-], over −1 and not over 0.5

    Raises
    ------
    ValueError
        If a length or the modulus is not above zero, the wall is thicker than the radius, or Poisson's ratio is out of
        range.
    """
    kappa = shear_shape(outside, wall, poisson)
    nu = np.asarray(poisson, dtype=float)
    if np.any((nu <= -1.0) | (nu > 0.5)):
        raise ValueError("Poisson's ratio of a pipe must be over -1 and not over 0.5")
    length, modulus = positive("the length of a pipe", length), positive("the modulus of a pipe", modulus)
    outer = np.asarray(outside, dtype=float)
    inner = outer - 2.0 * np.asarray(wall, dtype=float)
    area = np.pi / 4.0 * (outer**2 - inner**2)
    bending = modulus * np.pi / 64.0 * (outer**4 - inner**4)
    shear_modulus = modulus / (2.0 * (1.0 + nu))
    along = length / (modulus * area)
    sideways = length**3 / (3.0 * bending) + length / (kappa * shear_modulus * area)
    slope, turn = length**2 / (2.0 * bending), length / bending
    twist = turn * modulus / (2.0 * shear_modulus)  # the polar second moment of a ring is twice I
    flexibility = np.zeros((*np.broadcast_shapes(along.shape, sideways.shape, twist.shape), 6, 6))
    for row, column, value in (
        (0, 0, along),
        (1, 1, sideways),
        (2, 2, sideways),
        (3, 3, twist),
        (4, 4, turn),
        (5, 5, turn),
        # The fixed end lies on the +a side: a push along e1 turns the joint about −e2, a push along e2 about +e1.
        (1, 5, -slope),
        (5, 1, -slope),
        (2, 4, slope),
        (4, 2, slope),
    ):
        flexibility[..., row, column] = value
    return flexibility


def clamped_flexibility(
    xy: ArrayLike, bolt_stiffness: ArrayLike, face: Face | None, foundation_modulus: ArrayLike = 0.0
) -> Array:
    """Return the local flexibility (..., 6, 6) of bolts and face while the whole face stays closed.

    Both act at once, as the springs of :func:`anchorsize.mechanics.contact.solve_preloaded_joint` do. In its plane and
    about its axis a clamped joint that does not slip gives nothing: zeros there.

    Parameters
    ----------
    xy : (..., n, 2) places of the bolts along e1 and e2 [m]
    bolt_stiffness : (..., n) [N/m], 0 for a missing bolt
    face : the face, or None
    foundation_modulus : (...) stiffness of the face per area [Pa/m]

    Raises
    ------
    ValueError
        If a stiffness is negative, or bolts and face leave the joint free to tilt or part.
    """
    xy = np.asarray(xy, dtype=float)
    k = not_negative("the stiffness of a bolt", bolt_stiffness)
    modulus = not_negative("the foundation modulus of a face", foundation_modulus)
    ones = np.ones(xy.shape[:-1])
    basis = np.stack([ones, xy[..., 0], xy[..., 1]], axis=-1)
    stiffness = np.swapaxes(basis, -1, -2) @ (k[..., None] * basis)
    if face is not None:
        sums = modulus * face.moments(np.array([1.0, 0.0, 0.0]).reshape(3, *([1] * np.ndim(face.area()))))
        one, x, y, xx, xy_, yy = sums
        rows = [np.stack(row, axis=-1) for row in ((one, x, y), (x, xx, xy_), (y, xy_, yy))]
        stiffness = stiffness + np.stack(rows, axis=-2)
    reach = np.sqrt(np.maximum(stiffness[..., 1, 1], stiffness[..., 2, 2]))
    if np.any(np.linalg.det(stiffness) <= 1e-12 * stiffness[..., 0, 0] * reach**4):
        raise ValueError("bolts and face leave the joint free to tilt: bolts in one line or in one place, and no face")
    opening = np.linalg.inv(stiffness)
    # The joint opens by u + βx + γy while the fitting moves by −u along a; a turn ψ2 about e2 moves the place x by −xψ2
    # along a, so β = ψ2, and likewise γ = −ψ1.
    to_motion = np.zeros((6, 3))
    to_motion[0, 0], to_motion[5, 1], to_motion[4, 2] = -1.0, 1.0, -1.0
    return np.asarray(to_motion @ opening @ to_motion.T)


def joint_from_flexibility(*parts: ArrayLike) -> Array:
    """Return the local stiffness (..., 6, 6) of parts one behind the other: the inverse of the sum of their flexibilities.

    Parameters
    ----------
    parts : (..., 6, 6) flexibilities about the bolt-circle center [m/N, rad/N, rad/(N·m)]

    Raises
    ------
    ValueError
        If in some direction no part gives at all, so that no finite stiffness exists.
    """
    total: Array = np.asarray(sum(np.asarray(part, dtype=float) for part in parts))
    if np.any(np.diagonal(total, axis1=-2, axis2=-1) <= 0.0):
        raise ValueError(
            "in some direction nothing in the joint gives (clamped bolts do not shear): add the pipe behind it, give its"
            " stiffness, or take it as rigid"
        )
    stiffness = np.linalg.inv(total)
    return np.asarray(0.5 * (stiffness + np.swapaxes(stiffness, -1, -2)))
