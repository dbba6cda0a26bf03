"""Stiffness of bolts, clamped members and gasket, and how an external load is shared between bolt and face.

Shapes: every argument is an array (...) broadcast as numpy does; per-bolt values carry the bolt axis last. SI units.
Equations written from memory of the books named, none copied; checked in ``tests/mechanics/test_stiffness.py``
against published worked examples.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from anchorsize.mechanics.inputs import Array, not_negative, positive


def bolt_stiffness(
    grip: ArrayLike,
    thread_length: ArrayLike,
    shank_area: ArrayLike,
    tensile_area: ArrayLike,
    modulus: ArrayLike,
) -> Array:
    """Return the axial stiffness of a bolt over its grip [N/m]: plain shank and threaded part in series.

    k = E / ((grip − thread)/A_shank + thread/A_s). Head, nut and the thread inside the nut are not counted.

    Source: Shigley's Mechanical Engineering Design, 9th edition, Equation 8-17 (from memory).

    Parameters
    ----------
    grip : (...) length between the faces under head and nut [m]
    thread_length : (...) threaded length within the grip [m]: 0 for none, the grip for a stud threaded all along
    shank_area, tensile_area : (...) areas of shank and thread [m²]
    modulus : (...) modulus of the bolt [Pa]

    Raises
    ------
    ValueError
        If a value is not above zero, or the thread length is negative or longer than the grip.
    """
    length = positive("grip", grip)
    thread = not_negative("thread length in the grip", thread_length)
    if np.any(thread > length):
        raise ValueError("the thread length within the grip cannot exceed the grip")
    shank_flexibility = (length - thread) / positive("shank area", shank_area)
    thread_flexibility = thread / positive("tensile stress area", tensile_area)
    return positive("bolt modulus", modulus) / (shank_flexibility + thread_flexibility)


def member_stiffness(
    grip: ArrayLike,
    diameter: ArrayLike,
    face_diameter: ArrayLike,
    modulus: ArrayLike,
    half_angle: ArrayLike = np.pi / 6.0,
) -> Array:
    """Return the stiffness of the metal members that one bolt clamps [N/m]: two equal pressure cones, back to back.

    Each cone starts at the face under head or nut and opens at ``half_angle`` to the middle of the grip:
    k_cone = π E d tan α / ln[(2 t tan α + D − d)(D + d) / ((2 t tan α + D + d)(D − d))], t = grip/2; k = k_cone/2.

    Valid where the members are at least as wide as the cones; what is wider adds nothing.
    Source: Shigley, 9th edition, Equations 8-19 to 8-22, where 30° is recommended (from memory).

    Parameters
    ----------
    grip : (...) [m]
    diameter : (...) bolt diameter d, taken as that of the hole too [m]
    face_diameter : (...) diameter D of the face under head and nut [m]
    modulus : (...) modulus of the members [Pa]
    half_angle : (...) α [rad]

    Raises
    ------
    ValueError
        If a value is not above zero, a face is not larger than the bolt, or α is 90° or more.
    """
    d = positive("bolt diameter", diameter)
    face = positive("face diameter under head or nut", face_diameter)
    if np.any(face <= d):
        raise ValueError("the face under head or nut must be larger than the bolt")
    angle = positive("half-angle of the pressure cone", half_angle)
    if np.any(angle >= np.pi / 2.0):
        raise ValueError("the half-angle of the pressure cone must be under 90°")
    spread = positive("grip", grip) * np.tan(angle)
    cone = np.log((spread + face - d) * (face + d) / ((spread + face + d) * (face - d)))
    return np.pi * positive("member modulus", modulus) * d * np.tan(angle) / cone / 2.0


def annulus_area(inside: ArrayLike, outside: ArrayLike) -> Array:
    """Return the area between two diameters [m²].

    Parameters
    ----------
    inside, outside : (...) diameters [m]; the inside one may be zero

    Raises
    ------
    ValueError
        If the inside diameter is negative or the outside one not larger.
    """
    inner = not_negative("inside diameter", inside)
    outer = positive("outside diameter", outside)
    if np.any(outer <= inner):
        raise ValueError("the outside diameter of the face must be larger than the inside diameter")
    return np.pi / 4.0 * (outer - inner) * (outer + inner)


def face_modulus_of_gasket(modulus: ArrayLike, thickness: ArrayLike) -> Array:
    """Return the pressure per closing E_g/t_g [Pa/m] of a flat gasket of modulus (...) [Pa] and thickness (...) [m].

    Source: uniaxial compression of a thin layer, friction and bulging neglected; exact for that model.
    """
    return positive("gasket modulus", modulus) / positive("gasket thickness", thickness)


def face_modulus_of_members(stiffness: ArrayLike, count: ArrayLike, area: ArrayLike) -> Array:
    """Return the pressure per closing [Pa/m] of a metal-to-metal face: ``count`` members of ``stiffness`` [N/m] on ``area`` [m²].

    Smears the members of all bolts evenly over the face, so that a uniform closing meets count × stiffness.
    Source: equality of total stiffness; the even spread is an assumption of this project.
    """
    return positive("member stiffness", stiffness) * positive("bolt count", count) / positive("face area", area)


def load_factor(bolt: ArrayLike, face: ArrayLike) -> Array:
    """Return the share C = k_b/(k_b + k_m) [-] of an added tension that the bolts take while the face stays closed.

    ``bolt`` and ``face`` (...) [N/m] are both per bolt or both for the whole joint. Raises ValueError unless above zero.
    Source: Shigley, 9th edition, Equation (f) of section 8-7; VDI 2230 load factor with n = 1 (from memory).
    """
    k_bolt = positive("bolt stiffness", bolt)
    return k_bolt / (k_bolt + positive("face stiffness", face))


def greatest_tension_bound(greatest_preload: ArrayLike, external: ArrayLike) -> Array:
    """Return an upper bound on the service tension [N] without stiffness data: all external tension on the greatest preload.

    An external compression is not credited. Source: the whole load on the bolts (load factor 1); a bound, not an estimate.
    """
    return not_negative("preload", greatest_preload) + np.maximum(external, 0.0)


def least_clamp_bound(least_preload: ArrayLike, external: ArrayLike) -> Array:
    """Return a lower bound on the clamp [N] without stiffness data: all external tension off the least preload.

    Negative where the external tension exceeds the preload: by as much the face is pulled open. An external compression
    is not credited. Source: the whole load off the face (load factor 0); a bound, not an estimate.
    """
    return not_negative("preload", least_preload) - np.maximum(external, 0.0)
