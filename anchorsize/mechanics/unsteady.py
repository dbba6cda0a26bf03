"""The moment of a changing flow in a fitting whose centerlines are known.

The force of a changing flow needs only the openings (:func:`anchorsize.mechanics.momentum.unsteady_force`). Its moment
needs the way that the fluid takes between them.
"""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array: TypeAlias = NDArray[np.float64]


def unsteady_moment(density: ArrayLike, path_moments: ArrayLike, flow_change_out: ArrayLike) -> Array:
    """Return the moment on the fitting about the world origin from a changing flow of an incompressible fluid [N·m].

    The angular momentum held in a run of pipe is ρQ ∫ r × dr along its centerline. With a path from one common point
    of the fitting to each opening, the moment on the fitting is −ρ Σ dQᵢ/dt ∫ᵢ r × dr. As long as the flow changes add
    up to zero, it does not matter which common point is taken. Source: the storage term of the angular-momentum
    balance; derived here.

    Exact for straight runs. In a bend of bore d and centerline radius R it is exact for a filament; how the velocity
    is spread over the bore changes the share of the arc about its own center by about (d/4R)² of it.

    Parameters
    ----------
    density : (...) density of the fluid [kg/m³]
    path_moments : (..., k, 3) ∫ r × dr from the common point to each opening
        (:func:`anchorsize.mechanics.centerline.path_moment`) [m²]
    flow_change_out : (..., k) rate of change of the outward flows [m³/s²]

    Returns
    -------
    (..., 3) moment on the fitting [N·m]
    """
    change = np.asarray(flow_change_out, dtype=float)[..., None]
    rate = np.sum(change * np.asarray(path_moments, dtype=float), axis=-2)
    moment: Array = -np.asarray(density, dtype=float)[..., None] * rate
    return moment
