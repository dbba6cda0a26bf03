"""Gasket loads, bolt area and equivalent pressure of a flange by the rules of ASME BPVC Section VIII Division 1, App. 2.

Shapes: every argument is an array (...) broadcast as numpy does, SI units, gauge pressures. Gasket width b and reaction
diameter G come from :mod:`anchorsize.mechanics.gasket`. Equations are from memory of the sources named; checks stand in
``tests/mechanics/test_flange_code.py``.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from anchorsize.mechanics.inputs import Array, not_negative, positive


class BoltArea(NamedTuple):
    """Bolt root area required [m²], each (...): in operation (Am1), for seating (Am2), and the larger of the two (Am)."""

    operating: Array
    seating: Array
    required: Array


def gasket_load_in_service(pressure: ArrayLike, diameter: ArrayLike, width: ArrayLike, factor: ArrayLike) -> Array:
    """Return the clamp that the gasket needs in service, Hp = 2 b π G m p [N]: App. 2, paragraph 2-5(c)(1).

    That is m times the pressure on a ring 2b wide. A vacuum asks for no clamp.

    Parameters
    ----------
    pressure : (...) gauge pressure p [Pa]
    diameter : (...) gasket reaction diameter G [m]
    width : (...) effective seating width b [m]
    factor : (...) gasket factor m [-]

    Raises
    ------
    ValueError
        If a length is not above zero or the factor is negative.
    """
    ring = 2.0 * np.pi * positive("gasket reaction diameter", diameter) * positive("effective gasket width", width)
    return ring * not_negative("gasket factor m", factor) * np.maximum(pressure, 0.0)


def operating_bolt_load(pressure: ArrayLike, diameter: ArrayLike, width: ArrayLike, factor: ArrayLike) -> Array:
    """Return the bolt load required in operation, Wm1 = π G² p/4 + Hp [N]: App. 2, paragraph 2-5(c)(1).

    Parameters, units and errors as :func:`gasket_load_in_service`. ``pressure`` may be an equivalent pressure.
    """
    end_load = np.pi / 4.0 * np.asarray(diameter, dtype=np.float64) ** 2 * np.maximum(pressure, 0.0)
    return end_load + gasket_load_in_service(pressure, diameter, width, factor)


def seating_bolt_load(diameter: ArrayLike, width: ArrayLike, seating_stress: ArrayLike) -> Array:
    """Return the bolt load that seats the gasket, Wm2 = π b G y [N]: App. 2, paragraph 2-5(c)(2).

    Parameters
    ----------
    diameter : (...) gasket reaction diameter G [m]
    width : (...) effective seating width b [m]
    seating_stress : (...) seating stress y [Pa]

    Raises
    ------
    ValueError
        If a length is not above zero or y is negative.
    """
    ring = np.pi * positive("gasket reaction diameter", diameter) * positive("effective gasket width", width)
    return ring * not_negative("gasket seating stress y", seating_stress)


def bolt_area_required(
    operating_load: ArrayLike, seating_load: ArrayLike, stress_hot: ArrayLike, stress_cold: ArrayLike
) -> BoltArea:
    """Return Am1 = Wm1/Sb, Am2 = Wm2/Sa and Am, the larger [m²]: App. 2, paragraph 2-5(d).

    To be compared with the sum Ab of the root areas of the bolts that are there.

    Parameters
    ----------
    operating_load, seating_load : (...) Wm1 and Wm2 [N]
    stress_hot, stress_cold : (...) allowable bolt stress at design temperature Sb, at ambient Sa [Pa]

    Raises
    ------
    ValueError
        If a stress is not above zero or a load is negative.
    """
    operating = not_negative("operating bolt load", operating_load) / positive("allowable bolt stress, hot", stress_hot)
    seating = not_negative("seating bolt load", seating_load) / positive("allowable bolt stress, cold", stress_cold)
    return BoltArea(operating, seating, np.maximum(operating, seating))


def equivalent_pressure(pressure: ArrayLike, bending: ArrayLike, axial: ArrayLike, diameter: ArrayLike) -> Array:
    """Return the pressure that unloads a rigid gasket ring as much as pressure, moment and pull together do [Pa].

    p + 16 |M|/(π G³) + 4 F/(π G²). An axial load that closes the joint is not credited. ``axial`` must not hold the
    pressure end load, which is in ``pressure`` already.
    Source: equivalent-pressure rule attributed to Kellogg, Design of Piping Systems; ASME BPVC Section III NC-3658
    writes the same two terms (from memory).

    Parameters
    ----------
    pressure : (...) gauge pressure [Pa]
    bending : (...) resultant bending moment on the joint [N·m]
    axial : (...) pull on the joint beside the pressure end load [N]
    diameter : (...) gasket reaction diameter G [m]

    Raises
    ------
    ValueError
        If a diameter is not above zero.
    """
    G = positive("gasket reaction diameter", diameter)
    by_moment = 16.0 * np.abs(np.asarray(bending, dtype=np.float64)) / (np.pi * G**3)
    by_pull = 4.0 * np.maximum(axial, 0.0) / (np.pi * G**2)
    return np.asarray(pressure, dtype=np.float64) + by_moment + by_pull
