"""What a person should notice about a surge beside a flow: a wave that reaches the fitting runs through it to every opening."""

from __future__ import annotations

import numpy as np

from anchorsize.assessment.findings_flow import MATTERS, NO_PRESSURE, NOTICED, listed
from anchorsize.assessment.results import CaseResult, Finding
from anchorsize.study import OpeningState, Study
from anchorsize.units import show


def notice_surge(study: Study, cases: dict[str, CaseResult]) -> list[Finding]:
    """Cases in which fluid flows and a surge is counted at some of the openings that pipes go on from, less or not at others.

    Where nothing flows the pressures themselves are compared (:mod:`anchorsize.assessment.findings_flow`).
    """
    found = []
    for name, result in cases.items():
        states = study.cases[name].states
        rises = {
            each: float(o.surge_rise)
            for each, o in result.openings.items()
            if o.exit == "connected" and states[each].gas is None
        }
        if any(float(o.mass_flow) != 0.0 for o in result.openings.values()):
            found += _not_everywhere(study, result, states, rises)
    return found


def _not_everywhere(
    study: Study, result: CaseResult, states: dict[str, OpeningState], rises: dict[str, float]
) -> list[Finding]:
    """The openings that lack what the greatest rise is at another; those said to have none are taken at their word."""
    top = max(rises, key=lambda name: rises[name], default=None)
    if top is None or rises[top] <= NO_PRESSURE:
        return []
    greatest = max(abs(float(result.openings[name].pressure)) for name in rises)
    lacking = {
        name: rises[top] - rise
        for name, rise in rises.items()
        if rises[top] - rise > NOTICED * greatest and not _said_to_have_none(states[name])
    }
    if not lacking:
        return []
    named = listed(list(lacking))
    told = " and ".join(_counted(study, result, name) for name in lacking)
    return [
        Finding(
            "surge not at every opening",
            result.name,
            f"The surge raises the pressure at '{top}' by {show(rises[top], 'pressure', study.units)}, yet {told}. A wave that reaches a "
            f"fitting runs through it and raises all its openings alike: the thrust at {named} is too small, and what the bolts and "
            "supports carry is wrong. Write the surge at each opening with pipe: {inside: …}, the bore of the one line in which it runs, "
            f"or pressure: from losses at {named}, which rises with it. Where the valve that closes is in the fitting itself, or the "
            "pressure written holds the rise already, say so with surge: {stopped_flow: 0 L/s, wave_speed: 1000 m/s} there.",
            doubtful=max(lacking.values()) > MATTERS * greatest,
        )
    ]


def _counted(study: Study, result: CaseResult, name: str) -> str:
    """What an opening counts with."""
    o, system = result.openings[name], study.units
    rise = float(o.surge_rise)
    of_it = f"with {show(rise, 'pressure', system)} of rise only" if rise > 0.0 else "without any rise"
    return f"'{name}' counts {of_it} ({show(float(o.pressure), 'pressure', system)})"


def _said_to_have_none(state: OpeningState) -> bool:
    return state.surge is not None and not np.any(state.surge.stopped_flow)
