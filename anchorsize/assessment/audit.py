"""The energy audit of a case: what head is lost between its openings, and which loss coefficient that means."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from anchorsize.assessment.results import OpeningResult
from anchorsize.mechanics import energy, frames
from anchorsize.study import Array, Case, Study


@dataclass(frozen=True)
class EnergyAudit:
    """Head lost (...) [m] per weight of fluid that enters, the coefficient (...) [-] that it means on the velocity at the
    opening ``velocity_at``, and whether the data would gain head (...), which contradicts itself."""

    head_loss: Array
    loss_coefficient: Array
    velocity_at: str
    gains: Array


def energy_audit(study: Study, case: Case, openings: dict[str, OpeningResult]) -> EnergyAudit | None:
    """Total heads of the openings before any surge; None where nothing flows or a gas leaves."""
    if any(state.gas is not None for state in case.states.values()):
        return None
    liquid = {name: o for name, o in openings.items() if o.exit != "capped"}
    if not any(np.any(np.asarray(o.mass_flow) != 0.0) for o in liquid.values()):
        return None
    up = [np.asarray(frames.part_along(study.openings[name].center, study.up)) for name in liquid]
    lowest = np.min(np.stack(np.broadcast_arrays(*up), axis=-1), axis=-1)  # where the origin lies must not matter
    heads = np.stack(
        np.broadcast_arrays(
            *(
                energy.total_head(o.pressure - o.surge_rise, o.velocity, height - lowest, o.density)
                for o, height in zip(liquid.values(), up, strict=True)
            )
        ),
        axis=-1,
    )
    flows = np.stack(np.broadcast_arrays(*(o.mass_flow for o in liquid.values())), axis=-1)
    loss = energy.head_loss(flows, heads)
    fastest = max(liquid, key=lambda name: float(np.max(liquid[name].velocity)))
    return EnergyAudit(
        head_loss=loss,
        loss_coefficient=energy.implied_loss_coefficient(loss, liquid[fastest].velocity),
        velocity_at=fastest,
        gains=np.asarray(energy.is_gain(loss, np.max(np.abs(heads), axis=-1))),
    )
