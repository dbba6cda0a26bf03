"""Gasket widths and reaction diameter of a flat ring gasket.

Source: ASME BPVC Section VIII Division 1, Mandatory Appendix 2, Table 2-5.2, facing sketch 1a (flat contact over
the whole width), from memory. The code states its square-root rule in inches, b = 0.5 √b0, and rounds it for
millimeters (coefficient 2.5, limit 6 mm). Here the inch rule is carried over exactly, coefficient 2.52 and limit
6.35 mm, so that b stays continuous where the rule changes.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from anchorsize.mechanics.inputs import Array

INCH = 0.0254
"""One inch [m], exact (ISO 80000-3)."""

NARROW_LIMIT = 0.25 * INCH
"""Basic width up to which the whole of it counts as effective [m]: 1/4 in."""


def basic_width(inside: ArrayLike, outside: ArrayLike) -> Array:
    """Return the basic seating width b0 = N/2 [m], N being the width of contact.

    Parameters
    ----------
    inside, outside : (...) contact diameters of the gasket [m]

    Raises
    ------
    ValueError
        If an outside diameter is not larger than the inside diameter, or an inside diameter is negative.
    """
    inside, outside = np.asarray(inside, dtype=float), np.asarray(outside, dtype=float)
    if np.any(inside < 0.0) or np.any(outside <= inside):
        raise ValueError("the outside contact diameter of a gasket must be larger than the inside one")
    width: Array = 0.25 * (outside - inside)
    return width


def effective_width(basic: ArrayLike) -> Array:
    """Return the effective seating width b [m] of a basic width b0 (...) [m].

    b = b0 up to 1/4 in, else 0.5 √b0 in inches.
    """
    basic = np.asarray(basic, dtype=float)
    return np.where(basic <= NARROW_LIMIT, basic, 0.5 * np.sqrt(basic * INCH))


def reaction_diameter(inside: ArrayLike, outside: ArrayLike) -> Array:
    """Return the gasket reaction diameter G = outside − 2b [m].

    For narrow gaskets b = N/2, and outside − 2b is the mean contact diameter that the code asks for there: one
    formula serves both of its cases.

    Parameters
    ----------
    inside, outside : (...) contact diameters of the gasket [m]

    Raises
    ------
    ValueError
        As :func:`basic_width`.
    """
    diameter: Array = np.asarray(outside, dtype=float) - 2.0 * effective_width(basic_width(inside, outside))
    return diameter
