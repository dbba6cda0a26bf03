"""Torque and preload of a bolt: nut-factor form, friction form, scatter, relaxation.

Both forms of the torque reduce to one number, the *torque arm* T/F [m], so that everything after it is written once.
Shapes: every argument is an array (...) broadcast as numpy does; per-bolt values carry the bolt axis last. NaN marks a
missing bolt and stays NaN. SI units.

Equations of this module are written from memory of the standards named, none copied; each is checked in
``tests/mechanics/test_tightening.py`` against published worked examples and tables.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from anchorsize.mechanics.inputs import Array, not_negative, positive, share

COS_FLANK = np.cos(np.pi / 6.0)  # flank half-angle 30° of ISO metric and Unified threads (ISO 68-1, ASME B1.1)


class Range(NamedTuple):
    """Least and greatest value of a quantity that scatters, each (...)."""

    least: Array
    greatest: Array


def torque_arm_from_nut_factor(nut_factor: ArrayLike, diameter: ArrayLike) -> Array:
    """Return the torque per preload T/F = K D [m].

    Source: T = K D F, as in Shigley's Mechanical Engineering Design, 9th edition, Equation 8-27 (from memory).

    Parameters
    ----------
    nut_factor : (...) K [-]
    diameter : (...) nominal bolt diameter D [m]

    Raises
    ------
    ValueError
        If either is not above zero.
    """
    return positive("nut factor", nut_factor) * positive("bolt diameter", diameter)


def _thread_arm(pitch: ArrayLike, pitch_diameter: ArrayLike, thread_friction: ArrayLike) -> Array:
    """Return the thread torque per preload [m], (d2/2) tan(helix angle + friction angle), friction raised by the flank."""
    d2 = positive("pitch diameter", pitch_diameter)
    helix = positive("thread pitch", pitch) / (np.pi * d2)
    friction = not_negative("thread friction", thread_friction) / COS_FLANK
    slide = 1.0 - friction * helix
    if np.any(slide <= 0.0):
        raise ValueError("thread friction times helix slope reaches 1: the nut cannot be turned by any torque")
    arm: Array = d2 / 2.0 * (helix + friction) / slide
    return arm


def torque_arm_from_friction(
    pitch: ArrayLike,
    pitch_diameter: ArrayLike,
    thread_friction: ArrayLike,
    bearing_friction: ArrayLike,
    bearing_diameter: ArrayLike,
) -> Array:
    """Return the torque per preload T/F [m] from thread and bearing friction.

    T/F = (d2/2) tan(φ + ρ′) + μ_K D_Km/2 with tan φ = P/(π d2), tan ρ′ = μ_G/cos 30°. For small angles this is the
    usual 0.159 P + 0.577 d2 μ_G + μ_K D_Km/2; the full form is used because it meets the printed VDI 2230 table to the last
    digit, where the short one runs some tenths of a percent low.

    Source: ISO 16047, torque equation; VDI 2230 Part 1, assembly torque M_A; Shigley, 9th edition, Equation 8-26 (from
    memory).

    Parameters
    ----------
    pitch, pitch_diameter : (...) P and d2 of the thread [m]
    thread_friction, bearing_friction : (...) μ_G and μ_K [-]
    bearing_diameter : (...) mean bearing diameter D_Km [m]

    Raises
    ------
    ValueError
        If a length is not above zero, a friction is negative, or no torque can turn the thread.
    """
    thread = _thread_arm(pitch, pitch_diameter, thread_friction)
    bearing = positive("mean bearing diameter", bearing_diameter)
    return thread + not_negative("bearing friction", bearing_friction) * bearing / 2.0


def thread_share(
    pitch: ArrayLike, pitch_diameter: ArrayLike, thread_friction: ArrayLike, torque_arm: ArrayLike
) -> Array:
    """Return the share of the torque that the thread takes and that twists the bolt [-]; the rest goes into the bearing face.

    Source: ISO 16047, thread torque; VDI 2230 Part 1 (from memory).

    Parameters
    ----------
    pitch, pitch_diameter : (...) P and d2 of the thread [m]
    thread_friction : (...) μ_G [-]
    torque_arm : (...) T/F of thread and bearing face together [m]

    Raises
    ------
    ValueError
        If a length is not above zero, the friction is negative, or no torque can turn the thread.
    """
    return _thread_arm(pitch, pitch_diameter, thread_friction) / positive("torque per preload", torque_arm)


def twisted_stress(preload: ArrayLike, twist: ArrayLike, tensile_area: ArrayLike) -> Array:
    """Return the equivalent stress √(σ² + 3τ²) of a bolt while it is tightened [Pa].

    σ = F/A_s; τ = M/(π d0³/12), the torsion of a section that yields right through, with d0 the diameter of A_s.
    Source: VDI 2230 Part 1, assembly stress (from memory), the form behind its table of assembly preloads.

    Parameters
    ----------
    preload : (...) F [N]
    twist : (...) torque M in the thread [N·m]
    tensile_area : (...) A_s [m²]

    Raises
    ------
    ValueError
        If the area is not above zero.
    """
    area = positive("tensile area", tensile_area)
    across = np.sqrt(4.0 * area / np.pi)
    pull = np.asarray(preload, dtype=float) / area
    shear = 12.0 * np.asarray(twist, dtype=float) / (np.pi * across**3)
    stress: Array = np.sqrt(pull**2 + 3.0 * shear**2)
    return stress


def preload_from_torque(torque: ArrayLike, torque_arm: ArrayLike) -> Array:
    """Return the mean preload F (...) [N] of a bolt tightened with ``torque`` [N·m] at ``torque_arm`` T/F [m]."""
    return not_negative("torque", torque) / positive("torque per preload", torque_arm)


def torque_from_preload(preload: ArrayLike, torque_arm: ArrayLike) -> Array:
    """Return the torque (...) [N·m] whose mean preload is ``preload`` [N] at ``torque_arm`` T/F [m]."""
    return not_negative("preload", preload) * positive("torque per preload", torque_arm)


def preload_range(mean: ArrayLike, scatter: ArrayLike, relaxation: ArrayLike = 0.0) -> Range:
    """Return the least and the greatest preload [N] from mean, scatter and loss.

    Least = F (1 − s)(1 − loss), greatest = F (1 + s). Relaxation lowers the least only: before it has set in, the bolt
    carries the whole greatest preload.
    Source: definition of a symmetric scatter; the one-sided relaxation is common practice, no source.

    Parameters
    ----------
    mean : (...) preload aimed at [N]
    scatter : (...) s [-]
    relaxation : (...) share of the preload lost after tightening [-]

    Raises
    ------
    ValueError
        If a share lies outside [0, 1) or a preload is negative.
    """
    force = not_negative("preload", mean)
    spread = share("scatter", scatter)
    kept = 1.0 - share("relaxation", relaxation)
    return Range(force * (1.0 - spread) * kept, force * (1.0 + spread))
