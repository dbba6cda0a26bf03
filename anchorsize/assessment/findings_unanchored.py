"""What a line beyond an opening pulls on the fitting where it is a hose, or ends in something that is not anchored.

Behind a connected opening without a joint the pipe is taken to hold nothing, as behind an untied bellows. The wall of a slack hose
carries T = p·A + β·ρ·Q·v: where its free length takes no load from the side, pressure and the stream that turns in it (of curvature
κ, per length: p·A·κ + β·ρ·Q·v·κ) are balanced by T·κ alone. So does the wall of a pipe that ends in a closed valve, with Q = 0. This pull
outward is just as great as the thrust that pushes the fitting inward there.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np

from anchorsize.assessment.evaluation import case_or_none
from anchorsize.assessment.findings_flow import NO_PRESSURE, NOTICED, listed
from anchorsize.assessment.results import CaseResult, Finding
from anchorsize.assessment.states import opening_states
from anchorsize.study import Array, External, Study
from anchorsize.units import convert, figures, over_one, show
from anchorsize.units.kinds import System

CLOSED_END_LOOSE = "closed end not anchored"
LINE_LOOSE = "line not anchored"  # kinds of finding


def pulls_if_loose(study: Study, result: CaseResult) -> dict[str, float]:
    """What the wall of the line beyond would pull the fitting with [N], outward at its opening, were it not anchored.

    That is the thrust of the opening, the dynamic factor of the case included. By the openings under pressure whose pipe beyond holds
    nothing; none without joints, none where the file has that pull under external, and none where it has the area of a bellows or
    coupling, which pull nothing.
    """
    jointed = {joint.at for joint in study.joints.values()}
    return {
        name: float(o.thrust)
        for name, o in result.openings.items()
        if jointed
        and name not in jointed
        and o.exit == "connected"
        and study.openings[name].effective_area is None
        and float(o.thrust) > NO_PRESSURE * float(study.openings[name].area)
        and pulled_already(study, result.name, name) < (1.0 - NOTICED) * float(o.thrust)
    }


def pulled_already(study: Study, case: str, end: str) -> float:
    """What the loads from outside that act in line with an opening in a case pull outward there [N]; 0 where they push.

    In line is within its bore, at the opening or anywhere beyond it: a force may be moved along its line.
    """
    opening = study.openings[end]
    reach = np.sqrt(float(opening.area) / np.pi)

    def in_line(at: Array) -> bool:
        along = float((at - opening.center) @ opening.outward)
        off = float(np.linalg.norm(at - opening.center - along * opening.outward))
        return bool(off <= reach and along >= -reach)

    pulls = sum(
        float(load.force @ opening.outward) for load in study.external if load.acts_in(case) and in_line(load.at)
    )
    return max(pulls, 0.0)


def pulls_given(study: Study, case: str) -> dict[str, float]:
    """What external pulls outward [N] in a case at the openings whose pipe beyond holds nothing, where that is no small part of the thrust.

    It may be the pull of a hose, which the file has as one figure whatever flows. None without joints. The flows of the case may be (...).
    """
    jointed = {joint.at for joint in study.joints.values()}
    openings = opening_states(study, study.cases[case])
    found = {
        end: pulled_already(study, case, end)
        for end, o in openings.items()
        if jointed and end not in jointed and o.exit == "connected"
    }
    greatest = {end: float(np.max(np.abs(openings[end].thrust))) for end in found}
    return {end: pull for end, pull in found.items() if pull > NOTICED * greatest[end] > 0.0}


def notice_unanchored(study: Study, option: str, cases: dict[str, CaseResult]) -> list[Finding]:
    """The cases in which an opening without flow may be a closed end, each by itself, then those with flow in one sentence."""
    pulls = {name: pulls_if_loose(study, result) for name, result in cases.items()}
    still, flowing = (
        {
            name: {
                end: pull for end, pull in each.items() if (float(cases[name].openings[end].mass_flow) != 0.0) is flows
            }
            for name, each in pulls.items()
        }
        for flows in (False, True)
    )
    found = [_closed_end(study, option, cases[name], each) for name, each in still.items() if each]
    return found + _flowing_line(study, option, cases, {name: each for name, each in flowing.items() if each})


def _closed_end(study: Study, option: str, result: CaseResult, pulls: dict[str, float]) -> Finding:
    then = {result.name: then_with(study, option, result.name, pulls)}
    return Finding(
        CLOSED_END_LOOSE,
        result.name,
        f"No fluid flows at {listed(list(pulls))}, and the pipe beyond holds nothing here. If the line beyond is a hose or ends in a closed "
        f"valve, and that end is not anchored, its wall pulls the fitting with {_formula(study, result, pulls)} = {_sizes(study, result, pulls)}: "
        f"judge it as capped too{at_the_joint(study, result, then[result.name])}.{fails_then({result.name: result}, then)}",
    )


def _flowing_line(
    study: Study, option: str, cases: dict[str, CaseResult], pulls: dict[str, dict[str, float]]
) -> list[Finding]:
    """All cases in which fluid flows through such openings, by the one with the greatest pull."""
    if not pulls:
        return []
    worst = max(pulls, key=lambda name: sum(pulls[name].values()))
    then = {name: then_with(study, option, name, each) for name, each in pulls.items()}
    ends, result = pulls[worst], cases[worst]
    where = listed(list(dict.fromkeys(end for each in pulls.values() for end in each)))
    most = f" at most, in '{worst}'" if len(pulls) > 1 else ""
    others = "; likewise, each with its own pull, in the other cases" if len(pulls) > 1 else ""
    return [
        Finding(
            LINE_LOOSE,
            None if len(pulls) > 1 else worst,
            f"Fluid flows at {where} into or out of a pipe that holds nothing here, as an untied bellows does. A hose, or any line not "
            f"anchored beyond, pulls the fitting outward there with {_formula(study, result, ends)} = {_sizes(study, result, ends)}{most}"
            f"{at_the_joint(study, result, then[worst])}.{fails_then(cases, then)} Where it is so, write under external "
            f"{' and '.join(_entries(study, worst, ends))}{others}.",
        )
    ]


@dataclass(frozen=True)
class Loose:
    """Openings whose lines may pull, the greatest pull [N] at one of them, with its case, and whether all holds with those of any case."""

    ends: tuple[str, ...]
    pull: float
    case: str
    holds: bool


def loose(study: Study, option: str, cases: dict[str, CaseResult]) -> Loose | None:
    """What becomes of an option where all such lines pull, in every case by itself; None where there are none."""
    pulls = {name: each for name, result in cases.items() if (each := pulls_if_loose(study, result))}
    if not pulls:
        return None
    pull, worst = max((max(each.values()), name) for name, each in pulls.items())
    then = [then_with(study, option, name, each) for name, each in pulls.items()]
    holds = all_hold(then)
    return Loose(tuple(dict.fromkeys(end for each in pulls.values() for end in each)), pull, worst, holds)


def _formula(study: Study, result: CaseResult, pulls: dict[str, float]) -> str:
    """The pull at these openings as a formula."""
    case = study.cases[result.name]
    flows = any(float(result.openings[end].mass_flow) != 0.0 for end in pulls)
    shaped = any(float(case.states[end].beta) != 1.0 for end in pulls)
    thrust = f"p·A + {'β·' if shaped else ''}ρ·Q·v" if flows else "p·A"
    factor = float(case.dynamic_factor)
    if factor == 1.0:
        return thrust
    return f"{f'({thrust})' if flows else thrust} × the dynamic factor {figures(factor, 3)}"


def _sizes(study: Study, result: CaseResult, pulls: dict[str, float]) -> str:
    """Each pull, with what the file has outward there and may mean as part of it."""
    told = []
    for end, pull in pulls.items():
        already = pulled_already(study, result.name, end)
        told.append(show(pull, "force", study.units))
        if already > NOTICED * pull:
            told[-1] += (
                f" (beside the {show(already, 'force', study.units)} outward that external has there; where those are part of it, write "
                "the whole in their place)"
            )
    return " and ".join(told)


def _entries(study: Study, case: str, pulls: dict[str, float]) -> list[str]:
    """The loads from outside as the file has them."""
    return [
        f'{{name: "line at {load.name}", force: {_vector(load.force, "force", study.units)}, at: '
        f'{_vector(load.at, "length", study.units)}, cases: ["{case}"]}}'
        for load in _as_external(study, case, pulls)
    ]


def _vector(vector: Array, kind: str, system: System) -> str:
    """A vector (3,) as a case file has it, rounding read as zero."""
    converted, unit = convert(np.asarray(vector), kind, system)
    parts = np.asarray(converted)
    parts = np.where(np.abs(parts) <= 1e-9 * np.linalg.norm(parts), 0.0, parts)
    return f"[{', '.join(figures(float(part), 5) for part in parts)} {unit}]"


def _as_external(study: Study, case: str, pulls: dict[str, float]) -> tuple[External, ...]:
    """These pulls as loads from outside at the centers of their openings, in one case."""
    return tuple(
        External(
            end, pull * study.openings[end].outward, np.zeros(3), np.asarray(study.openings[end].center), cases=(case,)
        )
        for end, pull in pulls.items()
    )


def then_with(study: Study, option: str, case: str, pulls: dict[str, float]) -> CaseResult | None:
    """A case judged with these pulls [N], outward at their openings, beside its own loads, fatigue left out; None where it cannot be."""
    pulled = replace(study, external=(*study.external, *_as_external(study, case, pulls)))
    return case_or_none(pulled, study.cases[case], option)


def all_hold(cases: Iterable[CaseResult | None]) -> bool:
    """Whether all cases can be judged and every check of them holds."""
    return all(case is not None and all(bool(check.holds) for check in case.checks) for case in cases)


def at_the_joint(study: Study, result: CaseResult, then: CaseResult | None) -> str:
    """What these pulls change at the one joint; nothing where others share them."""
    if len(result.joints) != 1 or then is None:
        return ""
    ((name, joint),) = then.joints.items()
    here = result.joints[name]
    actions = (
        ("axial demand", "force", here.axial_demand, joint.axial_demand),
        ("shear", "force", here.shear, joint.shear),
        ("bending", "moment", here.bending, joint.bending),
    )
    told = [
        f"the {what} {show(float(there), kind, study.units)} in place of {show(float(now), kind, study.units)}"
        for what, kind, now, there in actions
        if abs(float(there) - float(now)) > NOTICED * max(abs(float(there)), abs(float(now)))
    ]
    return f" (at joint '{name}' that makes {' and '.join(told)})" if told else ""


def fails_then(cases: dict[str, CaseResult], then: dict[str, CaseResult | None]) -> str:
    """The worst of the checks that fail with the pulls and hold without, or that the case cannot be judged so; empty where none does."""
    lost = [name for name, case in then.items() if case is None]
    if lost:
        return f" With it joints and supports cannot be judged in {listed(lost)}: they may not hold."
    holds = {
        (name, check.check, check.where): float(check.utilization)
        for name in then
        for check in cases[name].checks
        if bool(check.holds)
    }
    new = [
        (name, check)
        for name, case in then.items()
        if case is not None
        for check in case.checks
        if not check.holds and (name, check.check, check.where) in holds
    ]
    if not new:
        return ""
    name, check = max(new, key=lambda pair: float(pair[1].utilization))
    return (
        f" With it {check.words} of '{check.where}' FAILS in '{name}': utilization {over_one(float(check.utilization))} in place of "
        f"{holds[name, check.check, check.where]:.3g}."
    )
