"""At which pressures and flows of a case its liquid boils: no check counts that, so that limits say it beside."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from anchorsize.assessment.hot import ambient_of, least_pressure, may_boil
from anchorsize.assessment.states import opening_states
from anchorsize.mechanics.energy import vapor_margin
from anchorsize.studies.curve import scaled
from anchorsize.study import Study


@dataclass(frozen=True)
class BoilsFrom:
    """The steady gauge pressure [Pa] or flow [m³/s], as limits name it, past which the liquid boils, and the opening where it does first."""

    value: float
    opening: str


def boils_below(study: Study, name: str, own: float) -> BoilsFrom | None:
    """Where a case begins to boil as its given pressures fall together, flows held; None where it boils at none above zero.

    ``own`` [Pa] is the pressure that is named. Losses and heights are held, the rest is in proportion, so that two multiples tell all.
    """
    pressures = np.array([0.0, 1.0])
    found = [
        BoilsFrom(-none / (once - none) * own, opening)
        for opening, none, once in _margins(scaled(study, name, 1.0, pressures), name)
        if none < 0.0 and once > none
    ]
    return max(found, key=lambda each: each.value, default=None)


def boils_above(study: Study, name: str, own: float, squared: bool) -> BoilsFrom | None:
    """Where a case begins to boil as its given flows rise together along the rule; None where no flow makes it boil.

    ``own`` [m³/s] is the flow of the case. Losses, velocity heads and pressures that follow the rule ``square`` go with the square of
    the flow, the rest is held, so that two multiples tell all.
    """
    flows = np.array([1.0, 2.0])
    found = []
    for opening, one, two in _margins(scaled(study, name, flows, flows**2 if squared else 1.0), name):
        held, rises = (4.0 * one - two) / 3.0, (two - one) / 3.0
        if held > 0.0 > rises:
            found.append(BoilsFrom(float(np.sqrt(-held / rises)) * own, opening))
    return min(found, key=lambda each: each.value, default=None)


def _margins(moved: Study, name: str) -> Iterator[tuple[str, float, float]]:
    """How far the openings with liquid stay over boiling [Pa] at the two multiples that a study was moved to."""
    case, vapor = moved.cases[name], moved.fluid.vapor_pressure
    if vapor is None:
        return
    for opening, each in opening_states(moved, case).items():
        if may_boil(case, opening, each):
            first, second = np.broadcast_to(vapor_margin(least_pressure(each), ambient_of(moved), vapor), (2,))
            yield opening, float(first), float(second)
