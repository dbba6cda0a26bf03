"""Surge: the pressure rise of a flow that is stopped, the speed of its wave, and what the wave does to a leg of pipe.

Elastic theory of water hammer in one pipe without friction, for rises that keep the fluid liquid. Source: Wylie and
Streeter, Fluid Transients in Systems (wave speed and the factors of anchoring; from memory) and the worked examples
named in the tests.
"""

from __future__ import annotations

from typing import Literal, TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array: TypeAlias = NDArray[np.float64]
Anchoring: TypeAlias = Literal["expansion joints", "upstream end", "throughout"]


def restraint_factor(anchoring: Anchoring, poisson: ArrayLike) -> Array:
    """Return the factor c₁ by which anchoring changes the give of a thin pipe wall [-].

    1 with expansion joints throughout, 1 − ν/2 where the pipe is held at its upstream end only, 1 − ν² where it is
    held against axial movement throughout. Older texts print 5/4 − ν for the second.

    Parameters
    ----------
    anchoring : how the pipe is held along its axis
    poisson : (...) Poisson's ratio ν of the wall [-]

    Raises
    ------
    ValueError
        If the anchoring is none of the three.
    """
    poisson = np.asarray(poisson, dtype=float)
    factors = {"expansion joints": np.ones_like(poisson), "upstream end": 1.0 - 0.5 * poisson,
               "throughout": 1.0 - poisson**2}  # fmt: skip
    if anchoring not in factors:
        raise ValueError(f"anchoring {anchoring!r} is none of: {', '.join(factors)}")
    return np.asarray(factors[anchoring])


def thick_wall_factor(thin_factor: ArrayLike, poisson: ArrayLike, inside: ArrayLike, wall: ArrayLike) -> Array:
    """Return the factor c₁ of a wall of any thickness [-], from that of a thin one.

    2e/D (1 + ν) + c D/(D + e), the exact give of a thick tube (Lamé); it tends to the thin factor c as e/D → 0.
    Common practice takes it where D/e is under 25.

    Parameters
    ----------
    thin_factor : (...) factor c of :func:`restraint_factor` [-]
    poisson : (...) Poisson's ratio ν [-]
    inside : (...) inside diameter D [m]
    wall : (...) wall thickness e [m]
    """
    inside, wall = np.asarray(inside, dtype=float), np.asarray(wall, dtype=float)
    squeeze = 2.0 * wall / inside * (1.0 + np.asarray(poisson, dtype=float))
    factor: Array = squeeze + np.asarray(thin_factor, dtype=float) * inside / (inside + wall)
    return factor


def wave_speed(
    bulk_modulus: ArrayLike,
    density: ArrayLike,
    inside: ArrayLike,
    wall: ArrayLike,
    modulus: ArrayLike,
    restraint: ArrayLike = 1.0,
) -> Array:
    """Return the speed of a pressure wave in a pipe, √(K/ρ) / √(1 + c₁ K D/(E e)) [m/s].

    Parameters
    ----------
    bulk_modulus : (...) bulk modulus K of the fluid [Pa]
    density : (...) density of the fluid [kg/m³]
    inside : (...) inside diameter D [m]
    wall : (...) wall thickness e [m]
    modulus : (...) Young's modulus E of the wall [Pa]; infinite for a rigid pipe
    restraint : (...) factor c₁ [-], see :func:`restraint_factor` and :func:`thick_wall_factor`

    Raises
    ------
    ValueError
        If a property or a dimension is not positive.
    """
    inputs = (bulk_modulus, density, inside, wall, modulus)
    K, rho, D, e, E = (np.asarray(value, dtype=float) for value in inputs)
    if not all(np.all(value > 0.0) for value in (K, rho, D, e, E)):
        raise ValueError("bulk modulus, density, diameter, wall and modulus of a wave speed must be positive")
    give = np.asarray(restraint, dtype=float) * K * D / (E * e)
    speed: Array = np.sqrt(K / (rho * (1.0 + give)))
    return speed


def joukowsky(density: ArrayLike, speed: ArrayLike, stopped_velocity: ArrayLike) -> Array:
    """Return the pressure rise of a sudden stop, ρ a Δv [Pa].

    Parameters
    ----------
    density : (...) density [kg/m³]
    speed : (...) wave speed a [m/s]
    stopped_velocity : (...) velocity taken from the fluid Δv [m/s]
    """
    density, speed = np.asarray(density, dtype=float), np.asarray(speed, dtype=float)
    rise: Array = density * speed * np.asarray(stopped_velocity, dtype=float)
    return rise


def passed_on(area: ArrayLike, all_areas: ArrayLike) -> Array:
    """Return the share of a pressure wave that goes on where lines meet, 2A/ΣA [-].

    The wave comes in one line and meets the others at a short fitting; all have one wave speed. Two lines: under 1 from the narrower
    into the wider, up to 2 from the wider into the narrower. Source: pressure and flow alike at the junction, incident and reflected
    wave in the one line (Wylie and Streeter, Fluid Transients in Systems, from memory).

    Parameters
    ----------
    area : (...) area A of the line in which the wave comes [m²]
    all_areas : (..., k) areas of all lines that meet, that one among them [m²]
    """
    share: Array = 2.0 * np.asarray(area, dtype=float) / np.sum(np.asarray(all_areas, dtype=float), axis=-1)
    return share


def critical_time(length: ArrayLike, speed: ArrayLike) -> Array:
    """Return the time in which a wave runs to the reservoir and back, 2L/a [s].

    Parameters
    ----------
    length : (...) length L of pipe to the nearest reservoir [m]
    speed : (...) wave speed a [m/s]
    """
    time: Array = 2.0 * np.asarray(length, dtype=float) / np.asarray(speed, dtype=float)
    return time


def closure_rise(
    density: ArrayLike, speed: ArrayLike, stopped_velocity: ArrayLike, length: ArrayLike, closing_time: ArrayLike
) -> Array:
    """Return the greatest pressure rise of a stop that takes time [Pa].

    The whole Joukowsky rise when the closing time is at most 2L/a, else that times (2L/a)/t, which is 2ρLΔv/t
    (Michaud). Common practice for a flow that falls evenly; a valve whose area falls evenly may stop most of it late,
    see :func:`closing_valve_rise`. At a point between, L is its distance from the reservoir.

    Parameters
    ----------
    density : (...) density [kg/m³]
    speed : (...) wave speed a [m/s]
    stopped_velocity : (...) velocity taken from the fluid Δv [m/s]
    length : (...) length L of pipe from the reservoir to the point [m], positive
    closing_time : (...) time t in which the flow falls [s]; 0 for a sudden stop

    Raises
    ------
    ValueError
        If a closing time is negative or a length is not positive.
    """
    sudden = joukowsky(density, speed, stopped_velocity)
    echo = critical_time(length, speed)
    closing = np.asarray(closing_time, dtype=float)
    if np.any(echo <= 0.0):
        raise ValueError("the length of pipe up to a closing valve must be positive")
    if np.any(closing < 0.0):
        raise ValueError("a closing time must not be negative")
    rise: Array = sudden * echo / np.maximum(closing, echo)
    return rise


def closing_valve_rise(
    density: ArrayLike,
    speed: ArrayLike,
    stopped_velocity: ArrayLike,
    length: ArrayLike,
    closing_time: ArrayLike,
    pressure: ArrayLike,
) -> Array:
    """Return the greatest pressure rise of a flow stopped by a valve whose area falls evenly with time [Pa].

    p₀ K/2 (K + √(K² + 4)) with K = ρ L Δv/(t p₀), never more than the Joukowsky rise, and that where the closing time is
    at most 2L/a. Rigid column of water without friction that leaves through the valve with √p, into a pressure of 0:
    Wylie and Streeter, Fluid Transients in Systems; from memory. It is over 2ρLΔv/t (Michaud) from K = 3/2 on. Of a valve
    that stops part of the flow only it is a bound; an elastic pipe may see some percent more. Without any p₀ to drive
    the flow, the Joukowsky rise.

    Parameters
    ----------
    density : (...) density ρ [kg/m³]
    speed : (...) wave speed a [m/s]
    stopped_velocity : (...) velocity taken from the fluid Δv [m/s], not negative
    length : (...) length L of pipe from the reservoir to the valve [m], positive
    closing_time : (...) time t in which the area of the valve falls [s]; 0 for a sudden stop
    pressure : (...) pressure p₀ before the rise over that behind the valve [Pa]

    Raises
    ------
    ValueError
        If a velocity or a closing time is negative, or a length is not positive.
    """
    if np.any(np.asarray(stopped_velocity) < 0.0):
        raise ValueError("the velocity that a closing valve stops must not be negative")
    sudden = joukowsky(density, speed, stopped_velocity)
    half = 0.5 * closure_rise(density, speed, stopped_velocity, length, closing_time)  # ρLΔv/t where that is slow
    driving = np.asarray(pressure, dtype=float)
    slow = (np.asarray(closing_time, dtype=float) > critical_time(length, speed)) & (driving > 0.0)
    K = half / np.where(driving > 0.0, driving, 1.0)
    # p₀ K is ρLΔv/t: no product of something huge with something tiny where p₀ is next to nothing
    column = 0.5 * half * (K + np.hypot(K, 2.0))
    rise: Array = np.where(slow, np.minimum(column, sudden), sudden)
    return rise
