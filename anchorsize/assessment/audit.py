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
    """Total heads of the openings before any surge; None where nothing flows, a gas leaves or the flow changes."""
    if not steady_liquid(case):
        return None
    liquid = {name: o for name, o in openings.items() if o.exit != "capped"}
    if not any(np.any(np.asarray(o.mass_flow) != 0.0) for o in liquid.values()):
        return None
    heads = _heads(study, liquid)
    flows = np.stack(np.broadcast_arrays(*(o.mass_flow for o in liquid.values())), axis=-1)
    loss = energy.head_loss(flows, heads)
    fastest = max(liquid, key=lambda name: float(np.max(liquid[name].velocity)))
    return EnergyAudit(
        head_loss=loss,
        loss_coefficient=energy.implied_loss_coefficient(loss, liquid[fastest].velocity),
        velocity_at=fastest,
        gains=np.asarray(energy.is_gain(loss, np.max(np.abs(heads), axis=-1))),
    )


@dataclass(frozen=True)
class Leg:
    """Head lost [m] between the opening that all streams share and one that is a stream's own, and the coefficient [-] that it
    means on the velocity there; both may be negative, since one stream can drive another."""

    head_loss: float
    loss_coefficient: float


def leg_audit(study: Study, case: Case, openings: dict[str, OpeningResult]) -> dict[str, Leg]:
    """The head that each stream of a dividing or joining flow loses, by the opening that is its own; for a case with one row.

    Empty where a single stream runs through, where several come in and several go out, where a gas leaves or the flow changes.
    """
    if not steady_liquid(case):
        return {}
    flowing = {name: o for name, o in openings.items() if o.exit != "capped" and float(o.mass_flow) != 0.0}
    enter, leave = ([n for n, o in flowing.items() if (float(o.mass_flow) > 0.0) is out] for out in (False, True))
    if len(flowing) < 3 or 1 not in (len(enter), len(leave)):
        return {}
    (shared,), own, sign = (enter, leave, 1.0) if len(enter) == 1 else (leave, enter, -1.0)
    head = dict(zip(flowing, _heads(study, flowing).tolist(), strict=True))
    lost = {name: sign * (head[shared] - head[name]) for name in own}
    return {
        name: Leg(loss, float(energy.implied_loss_coefficient(loss, flowing[name].velocity)))
        for name, loss in lost.items()
    }


def steady_liquid(case: Case) -> bool:
    """Whether heads tell a loss: of a gas the balance is another, and of a flow that changes inertia takes or gives some."""
    return all(state.gas is None and not np.any(np.asarray(state.flow_change) != 0.0) for state in case.states.values())


def _heads(study: Study, openings: dict[str, OpeningResult]) -> Array:
    """Total heads (..., k) [m] before any surge, over the lowest of the openings: where the origin lies must not matter."""
    up = [np.asarray(frames.part_along(study.openings[name].center, study.up)) for name in openings]
    lowest = np.min(np.stack(np.broadcast_arrays(*up), axis=-1), axis=-1)
    heads = [
        energy.total_head(o.pressure - o.surge_rise, o.velocity, height - lowest, o.density)
        for o, height in zip(openings.values(), up, strict=True)
    ]
    return np.stack(np.broadcast_arrays(*heads), axis=-1)
