"""Torque and preload of a bolt: nut-factor form, friction form, scatter, relaxation, stress while tightening.

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


def mean_bearing_diameter(face_diameter: ArrayLike, hole_diameter: ArrayLike) -> Array:
    """Return the mean diameter D_Km of the annulus that turns under nut or head, (face + hole)/2 [m].

    Source: VDI 2230 Part 1 (from memory).

    Parameters
    ----------
    face_diameter, hole_diameter : (...) [m]

    Raises
    ------
    ValueError
        If a diameter is not above zero or the face is not larger than the hole.
    """
    face = positive("bearing face diameter", face_diameter)
    hole = positive("hole diameter", hole_diameter)
    if np.any(face <= hole):
        raise ValueError("the bearing face under nut or head must be larger than the hole")
    return (face + hole) / 2.0


def preload_from_torque(torque: ArrayLike, torque_arm: ArrayLike) -> Array:
    """Return the mean preload F (...) [N] of a bolt tightened with ``torque`` [N·m] at ``torque_arm`` T/F [m]."""
    return not_negative("torque", torque) / positive("torque per preload", torque_arm)


def torque_from_preload(preload: ArrayLike, torque_arm: ArrayLike) -> Array:
    """Return the torque (...) [N·m] whose mean preload is ``preload`` [N] at ``torque_arm`` T/F [m]."""
    return not_negative("preload", preload) * positive("torque per preload", torque_arm)


def scatter_from_tightening_factor(tightening_factor: ArrayLike) -> Array:
    """Return the scatter ±s (...) [-] about the mean from α_A = F_greatest/F_least (...) [-], at least 1.

    s = (α_A − 1)/(α_A + 1), the inverse of α_A = (1 + s)/(1 − s). Raises ValueError for α_A below 1.
    Source: VDI 2230 Part 1, definition of α_A (from memory).
    """
    factor = np.asarray(tightening_factor, dtype=np.float64)
    if np.any(factor < 1.0):
        raise ValueError("the tightening factor is greatest over least preload and cannot be below 1")
    return (factor - 1.0) / (factor + 1.0)


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


def torque_window(
    least_preload_wanted: ArrayLike,
    greatest_preload_allowed: ArrayLike,
    torque_arm: ArrayLike,
    scatter: ArrayLike,
    relaxation: ArrayLike = 0.0,
) -> Range:
    """Return the torques [N·m] between which both limits on the preload [N] hold, scatter and relaxation included.

    ``least`` brings the least preload up to the one wanted, ``greatest`` the greatest up to the one allowed. Where
    ``least`` is above ``greatest`` no torque serves at that scatter.
    Source: inverse of :func:`preload_range` and :func:`preload_from_torque`.

    Parameters
    ----------
    least_preload_wanted, greatest_preload_allowed : (...) [N]
    torque_arm : (...) torque per preload [m]
    scatter, relaxation : (...) shares [-]

    Raises
    ------
    ValueError
        If a share lies outside [0, 1), a preload is negative or the torque arm is not above zero.
    """
    spread = preload_range(1.0, scatter, relaxation)
    return Range(
        torque_from_preload(least_preload_wanted, torque_arm) / spread.least,
        torque_from_preload(greatest_preload_allowed, torque_arm) / spread.greatest,
    )


def preload_from_stress(stress: ArrayLike, tensile_area: ArrayLike) -> Array:
    """Return the preload (...) [N] that puts ``stress`` [Pa] (a share of yield or proof, say) on the tensile stress area [m²]."""
    return not_negative("bolt stress", stress) * positive("tensile stress area", tensile_area)


def tightening_stress(
    preload: ArrayLike,
    pitch: ArrayLike,
    pitch_diameter: ArrayLike,
    minor_diameter: ArrayLike,
    thread_friction: ArrayLike,
) -> Array:
    """Return the von Mises stress in the thread while the bolt is being tightened [Pa]: tension with torsion.

    σ = F/A0 on the stress diameter d0 = (d2 + d3)/2; the torsion is taken as fully plastic over the section (polar
    modulus π d0³/12), so σ_red = σ √(1 + 3 k²) with k = τ/σ = 3 (d2/2) tan(φ + ρ′)/d0. Bearing friction acts under the nut
    and does not twist the thread.

    The stress is proportional to the preload. Source: VDI 2230 Part 1, assembly preload at a share of the yield
    strength (from memory).

    Parameters
    ----------
    preload : (...) [N]
    pitch, pitch_diameter, minor_diameter : (...) P, d2 and d3 of the bolt thread [m]
    thread_friction : (...) μ_G [-]

    Raises
    ------
    ValueError
        If a length is not above zero, or preload or friction is negative.
    """
    d0 = (positive("pitch diameter", pitch_diameter) + positive("minor diameter", minor_diameter)) / 2.0
    tension = not_negative("preload", preload) / (np.pi * d0**2 / 4.0)
    torsion_to_tension = 3.0 * _thread_arm(pitch, pitch_diameter, thread_friction) / d0
    return tension * np.sqrt(1.0 + 3.0 * torsion_to_tension**2)
