"""Fatigue of a bolt between two operating cases by the Goodman line.

Shapes: every argument is an array (...) broadcast as numpy does, SI units. Equations are from memory of the sources
named; checks stand in ``tests/mechanics/test_fatigue.py``.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from anchorsize.mechanics.checks import utilization
from anchorsize.mechanics.inputs import Array, positive


class StressCycle(NamedTuple):
    """Least, mean and alternating (half range) stress of a bolt between two states [Pa], each (...)."""

    least: Array
    mean: Array
    alternating: Array


def stress_cycle(tension_one: ArrayLike, tension_other: ArrayLike, area: ArrayLike) -> StressCycle:
    """Return the stress cycle of a bolt whose service tension swings between two cases.

    Parameters
    ----------
    tension_one, tension_other : (...) service tension in either case, preload included [N]; the order is free
    area : (...) tensile stress area [m²]

    Raises
    ------
    ValueError
        If an area is not above zero.
    """
    section = positive("tensile stress area", area)
    one = np.asarray(tension_one, dtype=np.float64) / section
    other = np.asarray(tension_other, dtype=np.float64) / section
    return StressCycle(np.minimum(one, other), (one + other) / 2.0, np.abs(one - other) / 2.0)


def goodman_alternating_stress(least: ArrayLike, endurance_limit: ArrayLike, tensile_strength: ArrayLike) -> Array:
    """Return the alternating stress that the Goodman line allows [Pa], Se (Sut − σ_least)/(Sut + Se).

    The least stress is held, as preload holds it in a bolted joint, and the cycle grows upward from it: alternating and
    mean stress grow alike until σa/Se + σm/Sut = 1. Zero where the least stress reaches the tensile strength.
    Source: Shigley's Mechanical Engineering Design, 9th edition, section 8-11, load line of unit slope (from memory).

    Parameters
    ----------
    least : (...) least stress of the cycle [Pa]
    endurance_limit : (...) fully corrected endurance limit Se of the threaded bolt, notch included [Pa]
    tensile_strength : (...) Sut [Pa]

    Raises
    ------
    ValueError
        If endurance limit or tensile strength is not above zero.
    """
    Se = positive("endurance limit", endurance_limit)
    Sut = positive("tensile strength", tensile_strength)
    return Se * np.maximum(Sut - np.asarray(least, dtype=np.float64), 0.0) / (Sut + Se)


def goodman_utilization(cycle: StressCycle, endurance_limit: ArrayLike, tensile_strength: ArrayLike) -> Array:
    """Return the alternating stress of ``cycle`` over what the Goodman line allows from its least stress [-].

    Arguments, source and errors as :func:`goodman_alternating_stress`.
    """
    allowed = goodman_alternating_stress(cycle.least, endurance_limit, tensile_strength)
    return utilization(cycle.alternating, allowed)
