"""What supports are made of, and what that can carry: rods, posts, base plates, thrust blocks and gravity blocks.

Shapes: every argument is an array (...) broadcast as numpy does. SI units. Allowables of soil, concrete and steel
come from the caller; none is assumed here. A factor is resistance over demand, infinite where nothing is asked.
"""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from anchorsize.mechanics.contact import ContactResult, solve_preloaded_joint
from anchorsize.mechanics.face_integrals import Rectangle
from anchorsize.mechanics.inputs import Array, not_negative, positive

GRAVITY: Final = 9.80665
"""Standard acceleration of free fall [m/s²], as fixed in ISO 80000-3."""


def factor_reached(resistance: ArrayLike, demand: ArrayLike) -> Array:
    """Return resistance over demand (...) [-], both in one unit; infinite where the demand is zero or helps (is negative)."""
    demand = np.asarray(demand, dtype=float)
    asked = ~(demand <= 0.0)  # NaN counts as asked, so that it comes out as NaN
    return np.asarray(np.where(asked, np.asarray(resistance) / np.where(asked, demand, 1.0), np.inf))


def axial_stiffness(area: ArrayLike, length: ArrayLike, modulus: ArrayLike) -> Array:
    """Return the stiffness EA/L of a rod or post [N/m].

    Parameters
    ----------
    area : (...) section [m²]; for a rod threaded all along its tensile stress area
    length : (...) [m]
    modulus : (...) E [Pa]

    Raises
    ------
    ValueError
        If a value is not above zero.
    """
    return positive("modulus", modulus) * positive("section area", area) / positive("length", length)


def sideways_stiffness(modulus: ArrayLike, second_moment: ArrayLike, length: ArrayLike) -> Array:
    """Return the stiffness of the free top of a post against a force across it, 3EI/L³ [N/m], its foot held.

    Shear is left out. Source: any text on the strength of materials.

    Parameters
    ----------
    modulus : (...) E [Pa]
    second_moment : (...) least second moment of area I [m⁴]
    length : (...) L [m]

    Raises
    ------
    ValueError
        If a value is not above zero.
    """
    bending = positive("modulus", modulus) * positive("second moment of area", second_moment)
    return np.asarray(3.0 * bending / positive("length", length) ** 3)


def soil_stiffness(subgrade_modulus: ArrayLike, area: ArrayLike) -> Array:
    """Return the stiffness of a block bearing on soil, modulus of subgrade reaction × area [N/m].

    Source: Winkler foundation, any text on foundations.

    Parameters
    ----------
    subgrade_modulus : (...) pressure per settlement [Pa/m]
    area : (...) bearing area [m²]

    Raises
    ------
    ValueError
        If a value is not above zero.
    """
    return positive("modulus of subgrade reaction", subgrade_modulus) * positive("bearing area", area)


def axial_stress(force: ArrayLike, area: ArrayLike) -> Array:
    """Return force/area [Pa], for a rod on its root area or a post on its section.

    Parameters
    ----------
    force : (...) [N]
    area : (...) [m²]

    Raises
    ------
    ValueError
        If an area is not above zero.
    """
    return np.asarray(force, dtype=float) / positive("section area", area)


def euler_load(
    modulus: ArrayLike, second_moment: ArrayLike, length: ArrayLike, effective_length_factor: ArrayLike
) -> Array:
    """Return the elastic buckling load of a post, π²EI/(KL)² [N].

    Holds for slender posts; a stocky one yields first, so check its stress as well. Source: L. Euler; any text on the
    strength of materials.

    Parameters
    ----------
    modulus : (...) E [Pa]
    second_moment : (...) least second moment of area I [m⁴]
    length : (...) L [m]
    effective_length_factor : (...) K [-]: 1 between pins, 2 for a free-standing post

    Raises
    ------
    ValueError
        If a value is not above zero.
    """
    bending = positive("modulus", modulus) * positive("second moment of area", second_moment)
    effective = positive("effective length factor", effective_length_factor) * positive("length", length)
    return np.pi**2 * bending / effective**2


def base_plate(
    uplift: ArrayLike,
    bending1: ArrayLike,
    bending2: ArrayLike,
    anchors: ArrayLike,
    anchor_stiffness: ArrayLike,
    preload: ArrayLike,
    size: tuple[ArrayLike, ArrayLike],
    foundation_modulus: ArrayLike,
) -> ContactResult:
    """Solve a rigid rectangular base plate, or a footing without anchors, on a foundation that only pushes.

    The plate is the joint of :func:`anchorsize.mechanics.contact.solve_preloaded_joint`: e1, e2 in its plane, a = e1 × e2
    pointing into the foundation. Pressures are those on the concrete or soil.

    Parameters
    ----------
    uplift : (...) force on the plate away from the foundation; negative presses it down [N]
    bending1, bending2 : (...) moments on the plate about e1 and e2 through its center [N·m]
    anchors : (..., n, 2) places of the anchor bolts [m]; n may be 0
    anchor_stiffness : (..., n) [N/m]
    preload : (..., n) tension of each anchor before the load [N]
    size : width along e1 and depth along e2, each (...) [m]
    foundation_modulus : (...) pressure per settlement [Pa/m]

    Raises
    ------
    ValueError
        If a stiffness or preload is negative, or a dimension or modulus is not above zero.
    """
    plate = Rectangle(*size)
    return solve_preloaded_joint(
        uplift, bending1, bending2, anchors, anchor_stiffness, preload, plate, foundation_modulus
    )


def bearing_area(
    thrust: ArrayLike, allowable: ArrayLike, factor: ArrayLike = 1.0, own_pressure: ArrayLike = 0.0
) -> Array:
    """Return the area a thrust block must bear on, factor × thrust/(allowable − factor × own pressure) [m²].

    The soil under a block that is pressed down carries the block as well, and its weight grows with the area. Infinite where the
    soil does not bear that weight. Source: AWWA M23, thrust-block design (from memory); the weight by statics.

    Parameters
    ----------
    thrust : (...) [N]
    allowable : (...) bearing pressure of the soil, the user's [Pa]
    factor : (...) required factor [-]
    own_pressure : (...) what the block's weight presses this area with along the thrust [Pa], 0 where it is pushed sideways

    Raises
    ------
    ValueError
        If the thrust or its own pressure is negative, or another value is not above zero.
    """
    asked = positive("required factor", factor)
    needed = asked * not_negative("thrust", thrust)
    left = positive("allowable bearing pressure", allowable) - asked * not_negative("own pressure", own_pressure)
    return np.asarray(np.where(left > 0.0, needed / np.where(left > 0.0, left, 1.0), np.inf))


def sliding_resistance(normal: ArrayLike, friction: ArrayLike, passive: ArrayLike = 0.0) -> Array:
    """Return what holds a block against sliding, μN + passive earth force [N]; a base that is lifted gives no friction.

    Parameters
    ----------
    normal : (...) force between block and ground, uplift taken off [N]
    friction : (...) μ of the base [-]
    passive : (...) passive less active earth force on the block [N]

    Raises
    ------
    ValueError
        If the friction coefficient is negative.
    """
    grip = not_negative("friction coefficient of the base", friction) * np.maximum(normal, 0.0)
    return np.asarray(grip + np.asarray(passive, dtype=float))


class BasePressure(NamedTuple):
    """Pressure under a rectangular base, linear from its pressed edge to the other; every part (...)."""

    greatest: Array
    """At the pressed edge [Pa]; infinite where the resultant lies beyond the base, which nothing then balances."""
    least: Array
    """At the other edge [Pa]; 0 where that has come off, or where nothing is balanced."""
    contact: Array
    """Length of the base that presses, from the pressed edge [m]; 0 where nothing is balanced."""


def base_pressure(normal: ArrayLike, moment: ArrayLike, length: ArrayLike, width: ArrayLike) -> BasePressure:
    """Return the pressure of a rigid base on soil that only pushes, in one direction along its length.

    With e = M/N: N/A (1 ± 6e/L) while e ≤ L/6, the triangle 2N/(3B(L/2 − e)) up to e = L/2. A base that nothing presses
    and nothing tips has no pressure. Source: any text on foundations.

    Parameters
    ----------
    normal : (...) resultant N that presses the base down [N]
    moment : (...) about the middle of the base, of either sign [N·m]
    length : (...) L, the side along which the moment acts [m]
    width : (...) B, the side across it [m]

    Raises
    ------
    ValueError
        If a side is not above zero.
    """
    long, wide = positive("length of the base", length), positive("width of the base", width)
    force, tips, long, wide = np.broadcast_arrays(
        np.asarray(normal, dtype=float), np.abs(np.asarray(moment, dtype=float)), long, wide
    )
    balanced = (force > 0.0) & (tips < force * long / 2.0)
    pressed = np.where(balanced, force, 1.0)
    off = np.where(balanced, tips, 0.0) / pressed
    whole = off <= long / 6.0
    mean, tilt = pressed / (long * wide), 6.0 * off / long
    contact = np.where(whole, long, 3.0 * (long / 2.0 - off))
    edge = np.where(whole, mean * (1.0 + tilt), 2.0 * pressed / (wide * contact))
    idle = (force == 0.0) & (tips == 0.0)
    none = np.where(idle, 0.0, np.where(np.isnan(force) | np.isnan(tips), np.nan, np.inf))
    return BasePressure(
        greatest=np.where(balanced, edge, none),
        least=np.where(balanced & whole, np.maximum(mean * (1.0 - tilt), 0.0), 0.0),
        contact=np.where(balanced, contact, 0.0),
    )


def block_mass(
    uplift: ArrayLike,
    horizontal: ArrayLike,
    overturning: ArrayLike,
    friction: ArrayLike,
    arm: ArrayLike,
    factors: tuple[ArrayLike, ArrayLike, ArrayLike],
    passive: ArrayLike = 0.0,
) -> Array:
    """Return the least mass of a block that holds uplift, sliding and overturning with the required factors [kg].

    Uplift: W ≥ f U. Sliding: μ(W − U) + passive ≥ f H. Overturning: W arm ≥ f M. NaN where none suffices: sliding asked of
    a base without friction, or overturning without an arm.

    Parameters
    ----------
    uplift : (...) upward force U, negative where it presses down [N]
    horizontal : (...) H [N]
    overturning : (...) moment M of the loads about the edge [N·m]
    friction : (...) μ of the base [-]
    arm : (...) level distance from the edge to the center of gravity [m]
    factors : required factors against uplift, sliding and overturning, each (...) [-]
    passive : (...) passive less active earth force [N]

    Raises
    ------
    ValueError
        If friction or arm is negative, or a factor is not above zero.
    """
    lift, slide, tip = (positive("required factor", factor) for factor in factors)
    mu, lever = not_negative("friction coefficient of the base", friction), not_negative("arm of the weight", arm)
    up = np.asarray(uplift, dtype=float)
    to_grip = slide * np.abs(horizontal) - np.asarray(passive, dtype=float)
    moment = tip * np.asarray(overturning, dtype=float)
    grip = np.where(mu > 0.0, to_grip / np.where(mu > 0.0, mu, 1.0), np.nan) + up
    stand = np.where(lever > 0.0, moment / np.where(lever > 0.0, lever, 1.0), np.nan)
    weights = np.broadcast_arrays(
        lift * np.maximum(up, 0.0), np.where(to_grip > 0.0, grip, 0.0), np.where(moment > 0.0, stand, 0.0)
    )
    return np.asarray(np.max(np.maximum(weights, 0.0), axis=0) / GRAVITY)
