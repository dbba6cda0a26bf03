"""Gas or steam leaving an open pipe: the state in the exit plane, subsonic or choked.

One-dimensional flow of an ideal gas of constant k, stagnation temperature kept (no heat, no work). The exit of a pipe
that does not widen is at most sonic. A subsonic jet leaves at the pressure of the surroundings; a choked one leaves at
the pressure that the mass flow needs at the speed of sound. Source: isentropic and adiabatic relations as in NACA
Report 1135, equations for a perfect gas (from memory). With :func:`anchorsize.mechanics.momentum.thrust` a choked exit
gives the reaction formula of API 520 Part II.
"""

from __future__ import annotations

from typing import NamedTuple, TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array: TypeAlias = NDArray[np.float64]

GAS_CONSTANT = 8.31446261815324
"""Molar gas constant [J/(mol·K)], exact since the SI of 2019."""


class GasExit(NamedTuple):
    """State of the gas in the exit plane, each of shape (...)."""

    pressure: Array
    """Absolute pressure [Pa]."""
    temperature: Array
    """Static temperature [K]."""
    density: Array
    """Density [kg/m³]."""
    velocity: Array
    """Velocity [m/s]."""
    mach: Array
    """Velocity over the speed of sound [-]."""


def _require(values: ArrayLike, holds: NDArray[np.bool_], rule: str) -> Array:
    """Return the values as an array; ValueError with the rule where it does not hold."""
    if not np.all(holds):
        raise ValueError(rule)
    return np.asarray(values, dtype=float)


def specific_gas_constant(molar_mass: ArrayLike) -> Array:
    """Return the gas constant per mass [J/(kg·K)] of a molar mass (...) [kg/mol]."""
    constant: Array = GAS_CONSTANT / np.asarray(molar_mass, dtype=float)
    return constant


def sonic_pressure(
    mass_flow: ArrayLike, area: ArrayLike, stagnation_temperature: ArrayLike, k: ArrayLike, molar_mass: ArrayLike
) -> Array:
    """Return the absolute pressure at which a mass flow fills an area at the speed of sound [Pa].

    p* = (ṁ/A) √(2RT₀/(k(k + 1))). See :func:`open_discharge` for the parameters.
    """
    flux = np.asarray(mass_flow, dtype=float) / np.asarray(area, dtype=float)
    k = np.asarray(k, dtype=float)
    warmth = specific_gas_constant(molar_mass) * np.asarray(stagnation_temperature, dtype=float)
    pressure: Array = flux * np.sqrt(2.0 * warmth / (k * (k + 1.0)))
    return pressure


def stagnation_pressure(pressure: ArrayLike, density: ArrayLike, velocity: ArrayLike, k: ArrayLike) -> Array:
    """Return the absolute pressure of a moving gas brought to rest without loss [Pa].

    p₀ = p (1 + (k − 1) M²/2)^(k/(k − 1)), M² = ρ v²/(k p).

    Parameters
    ----------
    pressure : (...) absolute static pressure [Pa]
    density : (...) density [kg/m³]
    velocity : (...) velocity [m/s]
    k : (...) ratio of the specific heats [-], over 1
    """
    pressure, k = np.asarray(pressure, dtype=float), np.asarray(k, dtype=float)
    mach_square = np.asarray(density, dtype=float) * np.square(np.asarray(velocity, dtype=float)) / (k * pressure)
    at_rest: Array = pressure * (1.0 + 0.5 * (k - 1.0) * mach_square) ** (k / (k - 1.0))
    return at_rest


def greatest_velocity(
    pressure: ArrayLike, stagnation_temperature: ArrayLike, k: ArrayLike, molar_mass: ArrayLike, ambient: ArrayLike
) -> Array:
    """Return the velocity of a gas expanded to the surroundings without loss [m/s]; 0 where nothing drives it out.

    v² = 2 c_p T₀ (1 − (p_a/p₀)^((k − 1)/k)). No jet of this gas thrusts with more than ṁ v, whatever the nozzle: one that is
    expanded less or more thrusts with less.

    Parameters
    ----------
    pressure : (...) absolute stagnation pressure p₀ [Pa]
    stagnation_temperature : (...) absolute stagnation temperature T₀ [K]
    k : (...) ratio of the specific heats [-], over 1
    molar_mass : (...) molar mass [kg/mol]
    ambient : (...) absolute pressure of the surroundings p_a [Pa]
    """
    k = np.asarray(k, dtype=float)
    heat = k / (k - 1.0) * specific_gas_constant(molar_mass)
    driven = np.maximum(np.asarray(pressure, dtype=float) / np.asarray(ambient, dtype=float), 1.0)
    square = 2.0 * heat * np.asarray(stagnation_temperature, dtype=float) * (1.0 - driven ** ((1.0 - k) / k))
    return np.asarray(np.sqrt(square))


def open_discharge(
    mass_flow: ArrayLike,
    area: ArrayLike,
    stagnation_temperature: ArrayLike,
    k: ArrayLike,
    molar_mass: ArrayLike,
    ambient: ArrayLike,
) -> GasExit:
    """Return the state of a gas in the exit plane of an open pipe.

    The exit pressure is the larger of the sonic pressure and that of the surroundings; one energy equation,
    T + v²/(2c_p) = T₀ with v = ṁRT/(pA), then gives the temperature on either side, so the two regimes meet exactly.

    Parameters
    ----------
    mass_flow : (...) mass flow [kg/s], not negative
    area : (...) exit area [m²]
    stagnation_temperature : (...) absolute stagnation temperature T₀ [K]
    k : (...) ratio of the specific heats [-], over 1
    molar_mass : (...) molar mass [kg/mol]
    ambient : (...) absolute pressure of the surroundings [Pa]

    Raises
    ------
    ValueError
        If an input is outside what is said here.
    """
    mass_flow = np.asarray(mass_flow, dtype=float)
    mass_flow = _require(mass_flow, mass_flow >= 0.0, "the mass flow of a gas discharge must not be negative")
    k = np.asarray(k, dtype=float)
    k = _require(k, k > 1.0, "the ratio of specific heats k of a gas must be over 1")
    named = {
        "exit area": area,
        "stagnation temperature": stagnation_temperature,
        "molar mass": molar_mass,
        "absolute ambient pressure": ambient,
    }
    area, total, molar_mass, ambient = (
        _require(value, np.asarray(value, dtype=float) > 0.0, f"the {name} of a gas discharge must be positive")
        for name, value in named.items()
    )
    sonic = sonic_pressure(mass_flow, area, total, k, molar_mass)
    pressure = np.maximum(sonic, ambient)
    constant = specific_gas_constant(molar_mass)
    per_kelvin = mass_flow * constant / (pressure * area)  # velocity per kelvin of static temperature
    bend = per_kelvin**2 * (k - 1.0) / (2.0 * k * constant)
    temperature = 2.0 * total / (1.0 + np.sqrt(1.0 + 4.0 * bend * total))
    velocity = per_kelvin * temperature
    mach = velocity / np.sqrt(k * constant * temperature)
    return GasExit(
        pressure=pressure,
        temperature=temperature,
        density=pressure / (constant * temperature),
        velocity=velocity,
        mach=mach,
    )
