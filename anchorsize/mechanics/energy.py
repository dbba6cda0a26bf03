"""Energy at the openings: total head, the loss between them, pressure from a loss, and nearness to boiling.

Steady flow of an incompressible fluid. Pressures are over the surroundings unless a name says otherwise. Source: the
steady-flow energy equation between sections, as in White, Fluid Mechanics, section 3.6 (section number from memory).
"""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

from anchorsize.mechanics.momentum import STANDARD_GRAVITY

Array: TypeAlias = NDArray[np.float64]

GAIN_TOLERANCE = 1e-3
"""Gain of head that data rounded to three or four figures may show, as a share of the largest head [-]: common
practice, no source; the same 0.1 % that continuity allows."""


def total_head(
    pressure: ArrayLike,
    velocity: ArrayLike,
    elevation: ArrayLike,
    density: ArrayLike,
    alpha: ArrayLike = 1.0,
    g: ArrayLike = STANDARD_GRAVITY,
) -> Array:
    """Return the total head p/(ρg) + α v²/(2g) + z [m].

    Parameters
    ----------
    pressure : (...) pressure [Pa]
    velocity : (...) mean velocity [m/s]
    elevation : (...) height over a datum [m]
    density : (...) density [kg/m³]
    alpha : (...) kinetic-energy factor of the velocity profile [-], 1 for a uniform one
    g : (...) acceleration of free fall [m/s²]
    """
    pressure, velocity, elevation, density, alpha, g = (
        np.asarray(value, dtype=float) for value in (pressure, velocity, elevation, density, alpha, g)
    )
    head: Array = pressure / (density * g) + alpha * velocity**2 / (2.0 * g) + elevation
    return head


def jet_velocity(head: ArrayLike, elevation: ArrayLike, g: ArrayLike = STANDARD_GRAVITY) -> Array:
    """Return the velocity √(2g(H − z)) of a jet in the open into which a total head turns without loss [m/s]; 0 where it does not reach.

    Parameters
    ----------
    head : (...) total head H [m]
    elevation : (...) height z of the jet over the datum of the head [m]
    g : (...) acceleration of free fall [m/s²]
    """
    over = np.asarray(head, dtype=float) - np.asarray(elevation, dtype=float)
    return np.asarray(np.sqrt(2.0 * np.asarray(g, dtype=float) * np.maximum(over, 0.0)))


def head_loss(mass_flow_out: ArrayLike, head: ArrayLike) -> Array:
    """Return the head lost between the openings, per unit weight of the fluid that enters [m].

    −Σ ṁᵢHᵢ / Σ ṁ in, over all openings at once: in a dividing or joining flow one stream may gain from another, and
    only the sum has to lose. 0 where nothing flows.

    Parameters
    ----------
    mass_flow_out : (..., k) mass flows, positive out of the fitting [kg/s]
    head : (..., k) total heads [m]
    """
    flow = np.asarray(mass_flow_out, dtype=float)
    lost = -np.sum(flow * np.asarray(head, dtype=float), axis=-1)
    entering = np.broadcast_to(-np.sum(np.minimum(flow, 0.0), axis=-1), lost.shape)
    return np.asarray(np.divide(lost, entering, out=np.zeros(lost.shape), where=entering > 0.0))


def implied_loss_coefficient(loss: ArrayLike, velocity: ArrayLike, g: ArrayLike = STANDARD_GRAVITY) -> Array:
    """Return the loss coefficient K = 2g h/v² that a head loss means [-]; NaN where the fluid stands.

    Parameters
    ----------
    loss : (...) head lost [m]
    velocity : (...) velocity that the coefficient is on [m/s]
    g : (...) acceleration of free fall [m/s²]
    """
    doubled = 2.0 * np.asarray(g, dtype=float) * np.asarray(loss, dtype=float)
    square = np.square(np.asarray(velocity, dtype=float))
    doubled, square = np.broadcast_arrays(doubled, square)
    return np.asarray(np.divide(doubled, square, out=np.full(square.shape, np.nan), where=square > 0.0))


def is_gain(loss: ArrayLike, scale: ArrayLike, tolerance: ArrayLike = GAIN_TOLERANCE) -> NDArray[np.bool_]:
    """Return where a fluid that nothing drives would gain head, so that the data contradict themselves.

    Parameters
    ----------
    loss : (...) head lost [m]
    scale : (...) largest pressure plus velocity head of the openings [m]
    tolerance : (...) share of the scale that rounding of the data may bring [-]
    """
    allowed = np.asarray(tolerance, dtype=float) * np.abs(np.asarray(scale, dtype=float))
    return np.asarray(np.asarray(loss, dtype=float) < -allowed)


def loss_pressure(loss_coefficient: ArrayLike, velocity: ArrayLike, density: ArrayLike) -> Array:
    """Return the pressure that a loss costs, K ρv²/2 [Pa].

    Parameters
    ----------
    loss_coefficient : (...) loss coefficient K [-]
    velocity : (...) velocity that the coefficient is on [m/s]
    density : (...) density [kg/m³]
    """
    square = np.square(np.asarray(velocity, dtype=float))
    lost: Array = 0.5 * np.asarray(loss_coefficient, dtype=float) * np.asarray(density, dtype=float) * square
    return lost


def pressure_from_losses(
    known_pressure: ArrayLike,
    known_velocity: ArrayLike,
    known_elevation: ArrayLike,
    velocity: ArrayLike,
    elevation: ArrayLike,
    loss: ArrayLike,
    density: ArrayLike,
    downstream: ArrayLike = True,
    g: ArrayLike = STANDARD_GRAVITY,
) -> Array:
    """Return the pressure at an opening from that at another one and the loss between them [Pa].

    Parameters
    ----------
    known_pressure, known_velocity, known_elevation : (...) state of the opening that is known [Pa], [m/s], [m]
    velocity, elevation : (...) velocity [m/s] and height [m] of the opening that is asked for
    loss : (...) pressure lost between the two [Pa], positive, see :func:`loss_pressure`
    density : (...) density [kg/m³]
    downstream : (...) whether the opening that is asked for lies downstream of the known one
    g : (...) acceleration of free fall [m/s²]

    Raises
    ------
    ValueError
        If a loss is negative: a fitting gives the fluid no energy.
    """
    loss, density = np.asarray(loss, dtype=float), np.asarray(density, dtype=float)
    if np.any(loss < 0.0):
        raise ValueError("a loss must not be negative: a fitting gives the fluid no energy")
    dynamic = 0.5 * density * (np.square(np.asarray(known_velocity, float)) - np.square(np.asarray(velocity, float)))
    drop = np.asarray(known_elevation, dtype=float) - np.asarray(elevation, dtype=float)
    static = density * np.asarray(g, dtype=float) * drop
    on_the_way = np.where(np.asarray(downstream), -loss, loss)
    pressure: Array = np.asarray(known_pressure, dtype=float) + dynamic + static + on_the_way
    return pressure


def vapor_margin(pressure: ArrayLike, ambient: ArrayLike, vapor_pressure: ArrayLike) -> Array:
    """Return how far the absolute pressure lies over the vapor pressure [Pa]; negative where the fluid would boil.

    Parameters
    ----------
    pressure : (...) pressure over the surroundings [Pa]
    ambient : (...) absolute pressure of the surroundings [Pa]
    vapor_pressure : (...) absolute vapor pressure of the fluid [Pa]
    """
    absolute = np.asarray(pressure, dtype=float) + np.asarray(ambient, dtype=float)
    margin: Array = absolute - np.asarray(vapor_pressure, dtype=float)
    return margin
