"""A surge that stops less than the file has running through the same opening, where the same stop of all of that may not hold."""

from __future__ import annotations

from dataclasses import replace

from anchorsize.assessment.evaluation import case_or_none
from anchorsize.assessment.findings_unanchored import fails_then
from anchorsize.assessment.hot import LIQUID
from anchorsize.assessment.results import CaseResult, Finding
from anchorsize.study import Study, Surge
from anchorsize.units import show

SURGE_PARTLY = "surge stops less than flows"

STOPS = 0.9
"""Share of the greatest flow that a surge must stop to be taken for a stop of all of it: common practice, no source."""


def notice_partly(study: Study, option: str, cases: dict[str, CaseResult]) -> list[Finding]:
    """By opening, that its greatest surge stops less than another case sends through; doubtful where that, stopped alike, fails.

    A case that says at the opening that nothing stops its flow (``stopped_flow`` of 0) is taken at its word.
    """
    return [finding for opening in study.openings for finding in _at(study, option, cases, opening)]


def _at(study: Study, option: str, cases: dict[str, CaseResult], opening: str) -> list[Finding]:
    surges = {
        name: case.states[opening].surge
        for name, case in study.cases.items()
        if name in cases and opening in case.states
    }
    stops = {name: float(surge.stopped_flow) for name, surge in surges.items() if surge is not None}
    runs = {
        name: abs(float(o.flow))
        for name, result in cases.items()
        for o in (result.openings[opening],)
        if stops.get(name) != 0.0 and float(o.mass_flow) != 0.0 and float(o.density) > LIQUID
    }
    stopped, run = (max(of, key=lambda name: of[name], default=None) for of in (stops, runs))
    surge = None if stopped is None else surges[stopped]
    if stopped is None or surge is None or run is None or not 0.0 < stops[stopped] < STOPS * runs[run]:
        return []
    then = _stopping(study, option, stopped, opening, replace(surge, stopped_flow=runs[run]))
    system, fails = study.units, fails_then(cases, {stopped: then})
    rise = ""
    if then is not None:
        whole, part = (float(result.openings[opening].surge_rise) for result in (then, cases[stopped]))
        rise = (
            f": stopped alike, that adds {show(whole, 'pressure', system)} in place of {show(part, 'pressure', system)}"
        )
    return [
        Finding(
            SURGE_PARTLY,
            None,
            f"The surge judged at '{opening}' in '{stopped}' stops {show(stops[stopped], 'flow', system)}, where '{run}' runs "
            f"{show(runs[run], 'flow', system)} through it{rise}.{fails} Write a case that stops it; where nothing does so fast, write in "
            f"'{run}' at '{opening}' surge: {{stopped_flow: 0 L/s}}.",
            doubtful=bool(fails),
        )
    ]


def _stopping(study: Study, option: str, case: str, opening: str, surge: Surge) -> CaseResult | None:
    """A case with another surge at an opening; None where it cannot be judged so."""
    given = study.cases[case]
    states = {**given.states, opening: replace(given.states[opening], surge=surge)}
    return case_or_none(study, replace(given, states=states), option)
