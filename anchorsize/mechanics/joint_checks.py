"""Lift-off and slip of a bolted joint by closed forms, greatest bolt spacing.

The closed forms take the face as evenly clamped and still closed and give the external load wholly to the clamp: they
are bounds on the safe side, to be said as bounds. The contact solver gives the joint as it is. Shapes: every argument is an array (...)
broadcast as numpy does, SI units. Equations are from memory of the sources named; checks stand in
``tests/mechanics/test_joint_checks.py``.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from anchorsize.mechanics.checks import utilization
from anchorsize.mechanics.inputs import Array, not_negative, positive
from anchorsize.mechanics.stiffness import annulus_area


class FacePressure(NamedTuple):
    """Least and greatest pressure on a face [Pa], each (...)."""

    least: Array
    greatest: Array


def kern_radius(inside: ArrayLike, outside: ArrayLike) -> Array:
    """Return the kern radius (Do² + Di²)/(8 Do) of an annular face [m].

    A resultant within it keeps the whole face closed. A thin ring, both diameters G, has G/4; a disc Do/8.
    Source: any strength-of-materials book, for example Sarkar, Strength of Materials, Problem 14.2.

    Parameters
    ----------
    inside, outside : (...) diameters of the face [m]

    Raises
    ------
    ValueError
        If an outside diameter is smaller than the inside one, or an inside one is negative.
    """
    inner = not_negative("inside diameter", inside)
    outer = positive("outside diameter", outside)
    if np.any(outer < inner):
        raise ValueError("the outside diameter of the face must not be smaller than the inside diameter")
    return (outer**2 + inner**2) / (8.0 * outer)


def lift_off_demand(axial: ArrayLike, bending: ArrayLike, kern: ArrayLike) -> Array:
    """Return the total even clamp that just keeps the whole face closed, N + M/kern [N].

    To be compared with the sum of the least preloads. A bound on the safe side: no part of the load is given to the
    bolts, and an axial load that closes the joint is not credited. With the kern G/4 of a ring it is the force of the
    equivalent pressure, π G²/4 · (16 M/(π G³) + 4 N/(π G²)).

    Parameters
    ----------
    axial : (...) axial demand, positive opening [N]
    bending : (...) resultant bending moment [N·m]
    kern : (...) kern radius of the face [m]
    """
    moment = np.abs(np.asarray(bending, dtype=np.float64))
    return np.maximum(axial, 0.0) + moment / positive("kern radius", kern)


def closed_face_pressure(clamp: ArrayLike, bending: ArrayLike, inside: ArrayLike, outside: ArrayLike) -> FacePressure:
    """Return the least and greatest pressure on a closed annular face, F/A ∓ M/(A kern) [Pa].

    Valid while the least is not negative; a negative least says that the face lifts off there and the contact solver is
    needed. Source: combined compression and bending of a section, any strength-of-materials book.

    Parameters
    ----------
    clamp : (...) total clamp on the face [N]
    bending : (...) resultant bending moment that the face carries [N·m]
    inside, outside : (...) diameters of the face [m]
    """
    area = annulus_area(inside, outside)
    even = not_negative("clamp", clamp) / area
    tilt = np.abs(np.asarray(bending, dtype=np.float64)) / (area * kern_radius(inside, outside))
    return FacePressure(even - tilt, even + tilt)


def slip_utilization_bolt(shear: ArrayLike, clamp: ArrayLike, friction: ArrayLike) -> Array:
    """Return |shear| over friction under each bolt, μ times its clamp [-].

    Infinite where a bolt has no clamp left but shear to carry. Source: Coulomb friction.

    Parameters
    ----------
    shear : (...) resultant shear of the bolt, from shear force and torsion [N]
    clamp : (...) least clamp at the bolt [N]
    friction : (...) slip coefficient [-]
    """
    grip = not_negative("slip coefficient", friction) * np.maximum(clamp, 0.0)
    return utilization(np.abs(shear), grip)


def friction_radius(inside: ArrayLike, outside: ArrayLike) -> Array:
    """Return the radius at which the friction of an evenly pressed annulus acts against torsion [m].

    (Do³ − Di³)/(3 (Do² − Di²)). Source: even-pressure disc clutch, Shigley's Mechanical Engineering Design, 9th edition,
    Equation 16-30 (from memory).

    Parameters
    ----------
    inside, outside : (...) diameters of the face [m]

    Raises
    ------
    ValueError
        If an outside diameter is not larger than the inside one, or an inside one is negative.
    """
    moment = np.pi / 12.0 * (np.asarray(outside, dtype=np.float64) ** 3 - np.asarray(inside, dtype=np.float64) ** 3)
    return moment / annulus_area(inside, outside)


def slip_utilization_ring(
    shear: ArrayLike,
    torsion: ArrayLike,
    clamp: ArrayLike,
    friction: ArrayLike,
    radius: ArrayLike,
    off_center: ArrayLike = 0.0,
) -> Array:
    """Return the slip utilization of the whole face, |V|/(μ F) + (|T| + |V| e)/(μ F r (1 − e²/r²)) [-].

    The straight line between slipping by shear alone and turning by torsion alone; the true limit curve of a Coulomb face
    is convex and runs outside it. Where bending moves the clamp by e off the center, a shear through the center also turns
    the joint about the clamp, and an unevenly pressed ring turns more easily: its friction radius is taken as r (1 − e²/r²),
    which stays under the turning capacity by quadrature for rings of a width up to 0.6 of the outside diameter and e up to
    1.4 kern radii. Infinite from e = r on. Source: derived here, limit analysis of a Coulomb face.

    Parameters
    ----------
    shear : (...) resultant shear force on the joint [N]
    torsion : (...) torsion on the joint [N·m]
    clamp : (...) least total clamp [N]
    friction : (...) slip coefficient [-]
    radius : (...) friction radius of the evenly pressed face [m]
    off_center : (...) how far the clamp's resultant stands off the center, e [m]
    """
    even = positive("friction radius", radius)
    e = np.asarray(off_center, dtype=np.float64)
    left = np.maximum(even - e * e / even, 0.0)
    turning = np.abs(torsion) + np.abs(shear) * e
    with np.errstate(divide="ignore"):
        added = np.where(turning > 0.0, turning / np.where(left > 0.0, left, np.where(turning > 0.0, 0.0, 1.0)), 0.0)
    return slip_utilization_bolt(np.abs(shear) + added, clamp, friction)


def greatest_bolt_spacing(diameter: ArrayLike, flange_thickness: ArrayLike, gasket_factor: ArrayLike) -> Array:
    """Return the greatest bolt spacing that keeps the gasket pressed between bolts, 2 d + 6 t/(m + 0.5) [m].

    Along the bolt circle, center to center. Source: TEMA Standards, bolt spacing (from memory; no published worked
    example at hand).

    Parameters
    ----------
    diameter : (...) bolt diameter [m]
    flange_thickness : (...) [m]
    gasket_factor : (...) gasket factor m [-]
    """
    thickness = positive("flange thickness", flange_thickness)
    return 2.0 * positive("bolt diameter", diameter) + 6.0 * thickness / (not_negative("m", gasket_factor) + 0.5)
