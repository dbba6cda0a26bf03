"""At which pressures and flows of a case its liquid boils: no check counts that, so that limits say it beside."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from anchorsize.assessment.boiling_above import brought
from anchorsize.assessment.hot import ambient_of, least_pressure, may_boil
from anchorsize.assessment.states import opening_states
from anchorsize.mechanics.energy import vapor_margin
from anchorsize.studies.curve import scaled
from anchorsize.study import Array, Study


@dataclass(frozen=True)
class BoilsFrom:
    """The steady gauge pressure [Pa] or flow [m³/s], as limits name it, past which the liquid boils, and the opening where it does first.

    ``opening`` is None for the top of the centerline, where that lies over every opening.
    """

    value: float
    opening: str | None


def boils_below(study: Study, name: str, own: float) -> BoilsFrom | None:
    """Where a case begins to boil as its given pressures fall together, flows held; None where it boils at none above zero.

    ``own`` [Pa] is the pressure that is named. Losses and heights are held, the rest is in proportion, so that two multiples tell all.
    """
    pressures = np.array([0.0, 1.0])
    found = []
    for place, none, once in _margins(scaled(study, name, 1.0, pressures), name):
        rising = once > none
        if np.all(none < 0.0) and np.any(rising):
            found.append(BoilsFrom(float(np.min((none / (none - once))[rising])) * own, place))
    return max(found, key=lambda each: each.value, default=None)


def boils_above(study: Study, name: str, own: float, squared: bool) -> BoilsFrom | None:
    """Where a case begins to boil as its given flows rise together along the rule; None where no flow makes it boil.

    ``own`` [m³/s] is the flow of the case.
    """
    found = [BoilsFrom(low, place) for place, low, _ in _boiling_flows(study, name, own, squared) if low > 0.0]
    return min(found, key=lambda each: each.value, default=None)


def boils_up_to(study: Study, name: str, own: float, squared: bool) -> BoilsFrom | None:
    """Up to which flow a case boils that does so before anything flows, endless where it does at every flow; None of any other.

    ``own`` [m³/s] is the flow of the case.
    """
    found = [BoilsFrom(high, place) for place, low, high in _boiling_flows(study, name, own, squared) if low == 0.0]
    return max(found, key=lambda each: each.value, default=None)


def _boiling_flows(study: Study, name: str, own: float, squared: bool) -> Iterator[tuple[str | None, float, float]]:
    """Places that boil at some flow, with the least and the greatest [m³/s] between which they do: zero, endless where nothing ends it.

    Losses, velocity heads and pressures that follow the rule ``square`` go with the square of the flow, the rest is held, so that two
    multiples tell all.
    """
    flows = np.array([1.0, 2.0])
    for place, one, two in _margins(scaled(study, name, flows, flows**2 if squared else 1.0), name):
        held, rises = (4.0 * one - two) / 3.0, (two - one) / 3.0
        if np.any((held >= 0.0) & (rises >= 0.0)):
            continue
        falls, gains = rises < 0.0, rises > 0.0
        low = np.max(-held[falls] / rises[falls], initial=0.0)
        high = np.min(-held[gains] / rises[gains], initial=np.inf)
        if low < high:
            yield place, float(np.sqrt(low)) * own, float(np.sqrt(high)) * own


def _margins(moved: Study, name: str) -> Iterator[tuple[str | None, Array, Array]]:
    """How far the places with liquid stay over boiling [Pa] at the two multiples that a study was moved to.

    An opening has one margin (1,). A closed place has one (k,) by each way the liquid may come, and boils where all are under zero.
    """
    case, vapor = moved.cases[name], moved.fluid.vapor_pressure
    if vapor is None:
        return
    openings = opening_states(moved, case)
    own: dict[str | None, Array] = {
        opening: least_pressure(each)[..., None] for opening, each in openings.items() if may_boil(case, opening, each)
    }
    for place, pressures in (own | brought(moved, case, openings)).items():
        margin = vapor_margin(pressures, ambient_of(moved), vapor)
        first, second = np.broadcast_to(margin, (2, margin.shape[-1]))
        yield place, first, second
