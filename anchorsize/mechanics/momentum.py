"""Thrust of openings, weights and the unsteady term: the loads that fluid and gravity put on a fitting.

One control surface runs along the inside of the fitting and across its openings. For uniform, swirl-free
openings the linear and the angular momentum balance then reduce to one force at the center of each opening,
T = pA + beta rho Q²/A against its outward normal, whichever way the fluid goes. Source of the balance: Reynolds
transport theorem for momentum, as in White, Fluid Mechanics, sections 3.4 and 3.5 (section numbers from memory).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from anchorsize.mechanics.inputs import Array, positive

STANDARD_GRAVITY = 9.80665
"""Standard acceleration of free fall [m/s²], ISO 80000-3 (conventional value)."""


def thrust(
    pressure: ArrayLike,
    area: ArrayLike,
    density: ArrayLike,
    flow: ArrayLike,
    beta: ArrayLike = 1.0,
    pressed_area: ArrayLike | None = None,
) -> tuple[Array, Array]:
    """Return the pressure part and the momentum part of an opening's thrust [N].

    Parameters
    ----------
    pressure : (...) pressure at the opening over the surroundings [Pa]
    area : (...) area of the opening [m²], positive
    density : (...) density of the fluid at the opening [kg/m³]
    flow : (...) volume flow [m³/s]; its sign has no effect
    beta : (...) momentum-flux factor of the velocity profile [-], 1 for a uniform one
    pressed_area : (...) area that the pressure pushes on [m²], positive, where it is not that of the opening: behind a bellows its
        effective area, behind a sliding coupling that of the pipe's outside (pressure thrust of an expansion joint, EJMA Standards;
        AWWA M11 takes the outside of the pipe: both from memory)

    Returns
    -------
    (pressure part, momentum part), each (...): p A (or p times the pressed area) and beta rho Q²/A [N]

    Raises
    ------
    ValueError
        If an area is not positive.
    """
    area = positive("the area of an opening", area)
    pressed = area if pressed_area is None else positive("the pressed area of an opening", pressed_area)
    flow = np.asarray(flow, dtype=float)
    pressure_part = np.asarray(pressure, dtype=float) * pressed
    momentum_part = np.asarray(beta, dtype=float) * np.asarray(density, dtype=float) * flow * flow / area
    return pressure_part, momentum_part


def push(thrust: ArrayLike, outward: ArrayLike) -> Array:
    """Return the force −T n [N] that an opening's thrust puts on the fitting.

    Parameters
    ----------
    thrust : (...) thrust T [N]
    outward : (..., 3) unit normal of the opening, out of the fitting

    Returns
    -------
    (..., 3) force on the fitting [N], acting through the center of the opening
    """
    force: Array = -np.asarray(thrust, dtype=float)[..., None] * np.asarray(outward, dtype=float)
    return force


def moment_about_origin(force: ArrayLike, at: ArrayLike) -> Array:
    """Return the moment r × F about the world origin of a force [N·m].

    Parameters
    ----------
    force : (..., 3) force [N]
    at : (..., 3) point it acts through [m]

    Returns
    -------
    (..., 3) moment [N·m]
    """
    return np.cross(np.asarray(at, dtype=float), np.asarray(force, dtype=float))


def weight(mass: ArrayLike, up: ArrayLike, g: ArrayLike = STANDARD_GRAVITY) -> Array:
    """Return the force of gravity on a mass [N].

    Parameters
    ----------
    mass : (...) mass [kg]
    up : (..., 3) unit vector against gravity
    g : (...) acceleration of free fall [m/s²]

    Returns
    -------
    (..., 3) force [N], −m g up
    """
    pull = np.asarray(mass, dtype=float) * np.asarray(g, dtype=float)
    force: Array = -pull[..., None] * np.asarray(up, dtype=float)
    return force


def unsteady_force(density: ArrayLike, centers: ArrayLike, flow_change_out: ArrayLike) -> Array:
    """Return the force on the fitting from a changing flow of an incompressible fluid [N].

    The momentum held inside is rho ∮ r (v·n) dA when the divergence of the velocity is zero, so it depends on
    the flows and the centers of the openings alone. The force on the fitting is minus its rate of change,
    −rho Σ rᵢ dQᵢ/dt. The sum does not depend on the origin as long as the flow changes add up to zero.
    Source: the divergence theorem applied to the storage term of the momentum balance; derived here.

    Parameters
    ----------
    density : (...) density of the fluid [kg/m³]
    centers : (..., k, 3) centers of the openings [m]
    flow_change_out : (..., k) rate of change of the outward flows [m³/s²]

    Returns
    -------
    (..., 3) force on the fitting [N]
    """
    change = np.asarray(flow_change_out, dtype=float)
    moment_of_change = np.sum(change[..., None] * np.asarray(centers, dtype=float), axis=-2)
    force: Array = -np.asarray(density, dtype=float)[..., None] * moment_of_change
    return force


def transfer(force: ArrayLike, moment: ArrayLike, from_point: ArrayLike, to_point: ArrayLike) -> Array:
    """Return the moment of a force and moment about another point [N·m].

    Parameters
    ----------
    force : (..., 3) force [N]
    moment : (..., 3) moment about ``from_point`` [N·m]
    from_point, to_point : (..., 3) points [m]

    Returns
    -------
    (..., 3) moment about ``to_point`` [N·m], M + (from − to) × F
    """
    arm = np.asarray(from_point, dtype=float) - np.asarray(to_point, dtype=float)
    moved: Array = np.asarray(moment, dtype=float) + np.cross(arm, np.asarray(force, dtype=float))
    return moved
