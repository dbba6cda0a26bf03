"""What a person should notice about surges: that none is judged, or that one beside a flow is not counted at every opening."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from anchorsize.assessment.findings_flow import MATTERS, NO_PRESSURE, NOTICED, listed
from anchorsize.assessment.hot import LIQUID
from anchorsize.assessment.results import CaseResult, Finding
from anchorsize.mechanics.surge import joukowsky, passed_on
from anchorsize.study import OpeningState, Study
from anchorsize.units import show
from anchorsize.units.kinds import System

NO_SURGE = "no surge judged"
WAVE_SPEED = 1200.0  # m/s, of water in a steel pipe: common practice, from memory


@dataclass(frozen=True)
class UnjudgedSurge:
    """What a sudden stop may add to the pressure of a joint: the ``rise`` [Pa], where, and of which flow at the joint [m³/s].

    ``velocity`` [m/s] is that in the line with the valve: the joint's own, or the one beyond the opening ``beyond``.
    """

    joint: str
    case: str
    velocity: float
    flow: float
    rise: float
    beyond: str | None = None


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
    return found + _none_judged(study, cases)


def unjudged_surge(study: Study, cases: dict[str, CaseResult]) -> UnjudgedSurge | None:
    """The rise that no case of the file has: the greatest that a liquid under pressure at a joint gets by a valve that stops its flow.

    The valve is at the joint's bore, or in a line through which the fluid leaves: of that wave the share goes on that the areas let pass.
    None where some case has a surge or a flow_change, or a dynamic factor that makes as much of its pressure there, or where nothing
    beyond the fitting can stop the flow: no stream leaves into a pipe that goes on, and no case has pressure without flow at a joint.
    """
    if any(_sudden(study, name) for name in cases):
        return None
    jointed = {joint.at: name for name, joint in study.joints.items()}
    at_joints = [(name, end, result.openings[end]) for name, result in cases.items() for end in jointed]
    running = [
        (name, end, o)
        for name, end, o in at_joints
        if float(o.mass_flow) != 0.0 and float(o.pressure) > NO_PRESSURE and float(o.density) > LIQUID
    ]
    stopped = any(float(o.mass_flow) == 0.0 and float(o.pressure) > NO_PRESSURE for _, _, o in at_joints)
    goes_on = any(
        o.exit == "connected" and float(o.mass_flow) > 0.0
        for name in {name for name, _, _ in running}
        for o in cases[name].openings.values()
    )
    if not running or not (stopped or goes_on):
        return None
    case, end, o = max(running, key=lambda each: _greatest_rise(study, cases[each[0]], each[1])[0])
    rise, valve = _greatest_rise(study, cases[case], end)
    by_factor = [
        float(study.cases[name].dynamic_factor * at.openings[end].pressure)
        for name, at in cases.items()
        if float(study.cases[name].dynamic_factor) > 1.0
    ]
    if max(by_factor, default=0.0) >= float(o.pressure) + rise:
        return None
    at = cases[case].openings[valve]
    beyond = None if valve == end else valve
    return UnjudgedSurge(jointed[end], case, float(at.velocity), abs(float(o.flow)), rise, beyond)


def _greatest_rise(study: Study, result: CaseResult, end: str) -> tuple[float, str]:
    """The rise [Pa] at an opening with a joint, and the opening beyond which the valve is that makes it; its own where that is as much."""
    openings = result.openings
    lines = {
        name: float(study.openings[name].area) for name, o in openings.items() if name == end or o.exit == "connected"
    }
    rises = {end: float(joukowsky(openings[end].density, WAVE_SPEED, openings[end].velocity))}
    for name, area in lines.items():
        o = openings[name]
        if name != end and float(o.mass_flow) > 0.0 and float(o.density) > LIQUID:
            wave = float(joukowsky(o.density, WAVE_SPEED, o.velocity))
            rises[name] = wave * float(passed_on(area, list(lines.values())))
    valve = max(rises, key=lambda name: rises[name] * (1.0 if name == end else 1.0 - NOTICED))
    return rises[valve], valve


def _sudden(study: Study, name: str) -> bool:
    """Whether a case has a surge or a flow that changes; a surge with nothing stopped says that it was thought of."""
    states = study.cases[name].states.values()
    return any(state.surge is not None or float(state.flow_change) != 0.0 for state in states)


def _none_judged(study: Study, cases: dict[str, CaseResult]) -> list[Finding]:
    found = unjudged_surge(study, cases)
    if found is None:
        return []
    end, system = study.joints[found.joint].at, study.units
    flow = show(found.flow, "flow", system)
    factors = any(float(study.cases[name].dynamic_factor) > 1.0 for name in cases)
    return [
        Finding(
            NO_SURGE,
            None,
            f"No surge is judged: no case has a surge or a flow_change{', and no dynamic_factor makes as much' if factors else ''}. A valve "
            f"{_valve(found, system)} {show(found.rise, 'pressure', system)}{_over_rating(study, cases, found)} (a = "
            f"{show(WAVE_SPEED, 'velocity', system)} taken, of water in a steel pipe: common practice, from memory; more where the wall is thick); a slower one raises it less. To "
            f"judge it, write a case without flow that has at '{end}', beside its pressure, surge: {{stopped_flow: {flow}, wave_speed: …, "
            f"closing_time: …, pipe_length: …{_pipe(study, cases, found)}}}, as anchorsize start prints; stopped_flow: 0 L/s there says that "
            "nothing stops it so fast.",
        )
    ]


def _valve(found: UnjudgedSurge, system: System) -> str:
    """Where the valve is, what it stops and how its rise comes about."""
    speed = show(found.velocity, "velocity", system)
    if found.beyond is None:
        return (
            f"that stops the flow of '{found.case}' ({speed} at joint '{found.joint}') within 2L/a, L the length of pipe, raises the pressure "
            "there by about ρ·a·v ="
        )
    return (
        f"in the line beyond '{found.beyond}' that stops its flow in '{found.case}' ({speed} there) within 2L/a, L the length of pipe, raises "
        f"the pressure at joint '{found.joint}' by about 2A/ΣA·ρ·a·v, A the area of that line and ΣA of all that go on, ="
    )


def _pipe(study: Study, cases: dict[str, CaseResult], found: UnjudgedSurge) -> str:
    """The bore by which a surge at the joint has the rise that a valve in another line makes; empty where the valve is in its own."""
    if found.beyond is None:
        return ""
    at = cases[found.case].openings[study.joints[found.joint].at]
    inside = np.sqrt(4.0 / np.pi * float(joukowsky(at.density, WAVE_SPEED, found.flow)) / found.rise)
    return f", pipe: {{inside: {show(float(inside), 'length', study.units)}}}"


def over_rating(study: Study, cases: dict[str, CaseResult], found: UnjudgedSurge) -> tuple[float, float] | None:
    """The pressure of the case with this rise on it and the rating of the flange that it is over [Pa]; None where it is not, or none is given."""
    joint = study.joints[found.joint]
    whole, rating = float(cases[found.case].openings[joint.at].pressure) + found.rise, joint.flange.rating
    return None if rating is None or whole <= float(rating) else (whole, float(rating))


def _over_rating(study: Study, cases: dict[str, CaseResult], found: UnjudgedSurge) -> str:
    """That the pressure of the case with this rise on it is over the rating of the flange; nothing where it is not, or none is given."""
    both = over_rating(study, cases, found)
    if both is None:
        return ""
    shown, allowed = (show(each, "pressure", study.units) for each in both)
    return f", to {shown}, over the flange rating of {allowed}"


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
            "pressure written holds the rise already, say so with surge: {stopped_flow: 0 L/s} there.",
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
