"""Conservation of mass at the openings of a fitting in steady flow: what runs in runs out."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from anchorsize.mechanics.inputs import Array

GREATEST_IMBALANCE = 1e-3
"""Share of what runs through a fitting by which stated flows may differ and still count as balanced [-]."""


def solve_unknown(mass_flows_out: ArrayLike, unknown: int | None = None) -> Array:
    """Return the outward mass flows with the one unknown flow filled in [kg/s].

    Parameters
    ----------
    mass_flows_out : (..., k) mass flows, positive out of the fitting [kg/s]; NaN where unknown
    unknown : place of the unknown flow on the last axis, the same in every row; ``None`` takes the NaN of each
        row, and rows without one are returned as they are

    Returns
    -------
    (..., k) mass flows [kg/s]; a solved row adds up to zero

    Raises
    ------
    ValueError
        If a row has more than one unknown flow, or ``unknown`` is no place on the last axis.
    """
    flows = np.array(mass_flows_out, dtype=float)
    openings = flows.shape[-1]
    missing = np.isnan(flows)
    if unknown is not None:
        if not -openings <= unknown < openings:
            raise ValueError(f"opening {unknown} does not exist: there are {openings}")
        missing[..., unknown] = True
    if np.any(missing.sum(axis=-1) > 1):
        worst = missing.reshape(-1, openings)[np.argmax(missing.sum(axis=-1))]
        places = ", ".join(str(place) for place in np.flatnonzero(worst))
        raise ValueError(f"the flows of openings {places} are all unknown: continuity can solve one")
    known = np.where(missing, 0.0, flows)
    return np.where(missing, -known.sum(axis=-1, keepdims=True), flows)


def imbalance(mass_flows_out: ArrayLike) -> tuple[Array, Array]:
    """Return how far the mass flows are from balance.

    Parameters
    ----------
    mass_flows_out : (..., k) mass flows, positive out of the fitting [kg/s]

    Returns
    -------
    absolute : (...) sum of the flows, positive where more runs out than in [kg/s]
    relative : (...) the same over the larger of the total inflow and the total outflow [-]; 0 where nothing flows

    Raises
    ------
    ValueError
        If a flow is NaN, that is, still unknown.
    """
    flows = np.asarray(mass_flows_out, dtype=float)
    if np.any(np.isnan(flows)):
        raise ValueError("a flow is unknown: solve it before asking for the imbalance")
    absolute = flows.sum(axis=-1)
    through = np.maximum(np.maximum(flows, 0.0).sum(axis=-1), np.maximum(-flows, 0.0).sum(axis=-1))
    relative = np.divide(absolute, through, out=np.zeros_like(through), where=through > 0.0)
    return absolute, relative
