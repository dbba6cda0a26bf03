"""Stripping of engaged threads: shear area of bolt thread and of nut or tapped thread, strength, length needed.

Shapes: every argument is an array (...) broadcast as numpy does, SI units. Written from memory of FED-STD-H28/2B,
Appendix B, and VDI 2230 Part 1 (length of engagement), which give the same areas; no published worked example was at
hand, so that ``tests/mechanics/test_thread_engagement.py`` measures the areas on the basic profile of ISO 68-1.
The widening of a nut and the bending of the threads under load, which lower the strength by up to about a quarter for
standard hexagon nuts (from memory), are not counted.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from anchorsize.mechanics.inputs import Array, positive

TAN_FLANK = np.tan(np.pi / 6.0)
"""Slope of the thread flank, half-angle 30° [-]: ISO 68-1, ASME B1.1."""


def _shear_area(length: ArrayLike, pitch: ArrayLike, cut: Array, tooth: Array) -> Array:
    """Area [m²] of engaged teeth ``tooth`` wide [m] cut along a cylinder of diameter ``cut`` [m]."""
    turns = positive("length of engagement", length) / positive("thread pitch", pitch)
    return np.pi * cut * turns * tooth


def bolt_thread_area(
    length: ArrayLike, pitch: ArrayLike, bolt_pitch_diameter: ArrayLike, nut_minor_diameter: ArrayLike
) -> Array:
    """Return the area over which the bolt thread strips, π D1 (L/P) [P/2 + (d2 − D1) tan 30°] [m²].

    The bolt thread shears at the tips of the nut thread. Least area: least d2 and greatest D1 of the tolerances.

    Parameters
    ----------
    length : (...) length of full engagement L [m]
    pitch : (...) P [m]
    bolt_pitch_diameter : (...) d2 of the bolt thread [m]
    nut_minor_diameter : (...) D1 of the nut thread [m]

    Raises
    ------
    ValueError
        If a length is not above zero, or the threads do not overlap.
    """
    cut = positive("minor diameter of the nut thread", nut_minor_diameter)
    pitch_diameter = positive("pitch diameter of the bolt thread", bolt_pitch_diameter)
    tooth = np.asarray(pitch, dtype=np.float64) / 2.0 + (pitch_diameter - cut) * TAN_FLANK
    return _shear_area(length, pitch, cut, positive("width of the bolt thread at the nut's minor diameter", tooth))


def nut_thread_area(
    length: ArrayLike, pitch: ArrayLike, bolt_major_diameter: ArrayLike, nut_pitch_diameter: ArrayLike
) -> Array:
    """Return the area over which the nut or tapped thread strips, π d (L/P) [P/2 + (d − D2) tan 30°] [m²].

    The nut thread shears at the tips of the bolt thread. Least area: least d and greatest D2 of the tolerances.

    Parameters
    ----------
    length : (...) length of full engagement L [m]
    pitch : (...) P [m]
    bolt_major_diameter : (...) d of the bolt thread [m]
    nut_pitch_diameter : (...) D2 of the nut thread [m]

    Raises
    ------
    ValueError
        If a length is not above zero, or the threads do not overlap.
    """
    cut = positive("major diameter of the bolt thread", bolt_major_diameter)
    pitch_diameter = positive("pitch diameter of the nut thread", nut_pitch_diameter)
    tooth = np.asarray(pitch, dtype=np.float64) / 2.0 + (cut - pitch_diameter) * TAN_FLANK
    return _shear_area(length, pitch, cut, positive("width of the nut thread at the bolt's major diameter", tooth))


def stripping_strength(
    bolt_area: ArrayLike, nut_area: ArrayLike, bolt_shear_strength: ArrayLike, nut_shear_strength: ArrayLike
) -> Array:
    """Return the pull at which the weaker of the two threads strips [N].

    Proportional to the length of engagement through both areas, so that the length needed for a pull F is L F/strength.

    Parameters
    ----------
    bolt_area, nut_area : (...) shear areas of :func:`bolt_thread_area` and :func:`nut_thread_area` [m²]
    bolt_shear_strength, nut_shear_strength : (...) shear strength (or allowable shear stress) of the two materials [Pa]

    Raises
    ------
    ValueError
        If a value is not above zero.
    """
    bolt = positive("shear area of the bolt thread", bolt_area) * positive(
        "shear strength of the bolt", bolt_shear_strength
    )
    nut = positive("shear area of the nut thread", nut_area) * positive("shear strength of the nut", nut_shear_strength)
    return np.minimum(bolt, nut)
