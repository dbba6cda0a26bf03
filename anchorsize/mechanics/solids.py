"""Volumes and first moments of the solids that fittings are made of, each in its own frame.

Every solid starts at the origin and runs along +x; where it turns, it turns toward +y. A run of pipe is a disc swept
along a centerline and held square to it, so each solid serves twice: with the bore for the contents and with the
outside for the fitting; their difference is the wall. Volumes and moments are exact; where a function integrates by a
Gauss rule, its error is below rounding and it is said so.

Source of the method: Pappus's second theorem and the first-moment integrals of statics, derived here.
"""

from __future__ import annotations

from typing import NamedTuple, TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array: TypeAlias = NDArray[np.float64]


class Solid(NamedTuple):
    """A volume and its first moment about the origin of the frame it is given in."""

    volume: Array
    """(...) volume [m³]."""
    moment: Array
    """(..., 3) first moment ∫ r dV [m⁴]."""

    @property
    def center(self) -> Array:
        """Return the centroid (..., 3) [m]; NaN where there is no volume."""
        volume = np.asarray(self.volume)[..., None]
        there = np.broadcast_to(volume != 0.0, np.broadcast_shapes(volume.shape, self.moment.shape))
        return np.asarray(np.divide(self.moment, volume, out=np.full(there.shape, np.nan), where=there))


NOTHING = Solid(np.zeros(()), np.zeros(3))
"""No solid at all, to begin a sum with."""


def _unit_interval(count: int) -> tuple[Array, Array]:
    """Return nodes and weights of the Gauss-Legendre rule on 0..1."""
    nodes, weights = np.polynomial.legendre.leggauss(count)
    return 0.5 * (nodes + 1.0), 0.5 * weights


# 24 nodes integrate a quartic times a full turn of sine to rounding; closed forms would cancel at small angles.
_ARC_NODES, _ARC_WEIGHTS = _unit_interval(24)
# Branch bores close to the run bore bring a square-root point near the end of the interval; 64 nodes hold 1e-10 there.
_DISC_NODES, _DISC_WEIGHTS = _unit_interval(64)


def _vector(x: Array, y: Array) -> Array:
    """Return (..., 3) vectors of the x-y plane."""
    x, y = np.broadcast_arrays(x, y)
    return np.stack([x, y, np.zeros_like(x)], axis=-1)


def taper(length: ArrayLike, radius: ArrayLike, end_radius: ArrayLike) -> Solid:
    """Return a straight run whose radius changes evenly, a cylinder where both ends are equal.

    Parameters
    ----------
    length : (...) length L along the axis [m]
    radius, end_radius : (...) radii a at the start and b at the end [m]

    Notes
    -----
    Frustum of a cone: V = πL(a² + ab + b²)/3, first moment πL²(a² + 2ab + 3b²)/12.
    """
    length, a, b = (np.asarray(value, dtype=float) for value in (length, radius, end_radius))
    volume = np.pi * length * (a * a + a * b + b * b) / 3.0
    along = np.pi * length**2 * (a * a + 2.0 * a * b + 3.0 * b * b) / 12.0
    return Solid(volume, _vector(along, np.zeros_like(along)))


def bend(turn: ArrayLike, centerline_radius: ArrayLike, radius: ArrayLike, end_radius: ArrayLike) -> Solid:
    """Return a sector of a torus whose bore radius changes evenly along the angle.

    Parameters
    ----------
    turn : (...) angle θ turned [rad], 0 to 2π
    centerline_radius : (...) radius R of the centerline [m], not under the radius of the solid
    radius, end_radius : (...) radii a at the start and b at the end [m]

    Notes
    -----
    V = πRθ(a² + ab + b²)/3: a disc swept square to its path sweeps its area times the way of its center. A disc at
    angle φ adds (πr²R² + πr⁴/4) along the radius to the moment about the center of curvature, the second term because
    the outer half of the disc goes farther. Exact but for the rounding of the Gauss rule over φ.
    """
    turn, R, a, b = (np.asarray(value, dtype=float) for value in (turn, centerline_radius, radius, end_radius))
    volume = np.pi * R * turn * (a * a + a * b + b * b) / 3.0
    angle = turn[..., None] * _ARC_NODES
    area = np.pi * np.square(a[..., None] + (b - a)[..., None] * _ARC_NODES)
    stretch = np.square(area) / (4.0 * np.pi)  # ∫u² dA of the disc, u outward from the centerline
    first = area * np.square(R)[..., None]
    weights = turn[..., None] * _ARC_WEIGHTS
    along = np.sum(weights * (first + stretch) * np.sin(angle), axis=-1)
    toward = np.sum(weights * (2.0 * first * np.sin(0.5 * angle) ** 2 - stretch * np.cos(angle)), axis=-1)
    return Solid(volume, _vector(along, toward))


def miter_piece(length: ArrayLike, radius: ArrayLike, start_tilt: ArrayLike, end_tilt: ArrayLike) -> Solid:
    """Return a cylinder cut at one or both ends by planes through the ends of its axis.

    Parameters
    ----------
    length : (...) length L of the axis between the cuts [m]
    radius : (...) radius r of the cylinder [m]
    start_tilt, end_tilt : (...) angles α of the cuts from square [rad]; positive cuts shorten the side at +y

    Notes
    -----
    A plane through the axis takes away as much as it adds: V = πr²L. With t = tan α and I = πr⁴/4 the moments are
    (πr²L² + (t₂² − t₁²) I)/2 along x and −(t₁ + t₂) I along y.
    """
    length, radius, start_tilt, end_tilt = (
        np.asarray(value, dtype=float) for value in (length, radius, start_tilt, end_tilt)
    )
    area = np.pi * radius**2
    second = 0.25 * area * radius**2
    start, end = np.tan(start_tilt), np.tan(end_tilt)
    along = 0.5 * (area * length**2 + (end**2 - start**2) * second)
    return Solid(area * length, _vector(along, -(start + end) * second))


def branch_outside_run(length: ArrayLike, radius: ArrayLike, run_radius: ArrayLike, angle: ArrayLike) -> Solid:
    """Return the part of a branch that stands outside the run it leaves.

    The frame starts where the two axes meet; +x runs along the branch, and +y stands across it in the plane of the
    two axes, on the side of the run that the branch leans away from when the angle is under a right one.

    Parameters
    ----------
    length : (...) length L from the meeting of the axes to the end of the branch [m]
    radius : (...) radius r of the branch [m], not over ``run_radius``
    run_radius : (...) radius R of the run [m]
    angle : (...) angle γ between the run and the branch [rad], between 0 and π

    Notes
    -----
    The line of the branch at (u, w) leaves the run at s₀ = (√(R² − w²) − u cos γ)/sin γ. Over the disc of the branch
    V = ∫(L − s₀) dA, with moments ∫(L² − s₀²)/2 dA and ∫u(L − s₀) dA. All but ∫√(R² − w²) dA is elementary; that
    one, a complete elliptic integral, is taken by a Gauss rule in the angle, within 1e-10 of its value.
    """
    L, r, R, angle = (np.asarray(value, dtype=float) for value in (length, radius, run_radius, angle))
    area = np.pi * r**2
    second = 0.25 * area * r**2
    slope = np.pi * (_DISC_NODES - 0.5)  # w = r sin(slope)
    ratio = (r / R)[..., None]
    root = np.sqrt(np.maximum(1.0 - np.square(ratio * np.sin(slope)), 0.0))
    saddle = 2.0 * np.pi * r**2 * R * np.sum(_DISC_WEIGHTS * np.square(np.cos(slope)) * root, axis=-1)
    sine = np.sin(angle)
    along = 0.5 * (area * L**2 - area * R**2 / sine**2 + second)
    return Solid(area * L - saddle / sine, _vector(along, second * np.cos(angle) / sine))


def placed(solid: Solid, origin: ArrayLike, axes: tuple[ArrayLike, ArrayLike, ArrayLike]) -> Solid:
    """Return a solid in the frame in which its own origin and axes are given.

    Parameters
    ----------
    solid : the solid in its own frame
    origin : (..., 3) where its origin stands [m]
    axes : three (..., 3) unit vectors, its x, y and z axes
    """
    turned = [solid.moment[..., k, None] * np.asarray(axis, dtype=float) for k, axis in enumerate(axes)]
    moved = solid.volume[..., None] * np.asarray(origin, dtype=float)
    return Solid(solid.volume, moved + turned[0] + turned[1] + turned[2])


def joined(first: Solid, second: Solid) -> Solid:
    """Return two solids that do not overlap as one."""
    return Solid(first.volume + second.volume, first.moment + second.moment)


def hollowed(outside: Solid, inside: Solid) -> Solid:
    """Return what is left of a solid when another one that lies within it is taken out, such as a wall."""
    return Solid(outside.volume - inside.volume, outside.moment - inside.moment)
