"""The worked lines of a whole assessment: those that every case shares, then case by case under headings."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from anchorsize.assessment.asking import Ask, in_force
from anchorsize.assessment.checks import LAYOUT
from anchorsize.assessment.checks_supports import SupportAsk
from anchorsize.assessment.evaluation import reaction_diameter
from anchorsize.assessment.results import CANCELED, Assessment, CaseResult, JointResult
from anchorsize.assessment.scale import action_scale, given_in
from anchorsize.present.report import (
    worked_contact,
    worked_flow,
    worked_joint,
    worked_loads,
    worked_sharing,
    worked_supports,
    worked_thrusts,
    worked_tightening,
)
from anchorsize.present.report.judged import Judged, finish
from anchorsize.present.report.steps import Quantity, Step, Workings
from anchorsize.present.report.worked_checks import check_lines
from anchorsize.present.report.worked_joint import Pattern
from anchorsize.study import Array, Joint, Study

STATES = ("at the least preload", "at the mean preload", "at the greatest preload")


@dataclass(frozen=True)
class Part:
    """Worked lines under one heading."""

    heading: str
    steps: list[Step]


@dataclass(frozen=True)
class Worked:
    """The lines that hold in every case, and those of each case by its name."""

    common: list[Part]
    cases: dict[str, list[Part]]


@dataclass(frozen=True)
class _Built:
    """What the lines of every case use of a joint."""

    joint: Joint
    axes: dict[str, Quantity]
    ring: dict[str, Quantity]
    group: Pattern
    stiff: dict[str, Quantity]
    planes: dict[str, dict[str, Quantity]]


class _Parts:
    """Collects parts; an empty one is left out."""

    def __init__(self, known_to: Mapping[str, float] | None = None) -> None:
        self.parts: list[Part] = []
        self.known_to = known_to or {}

    def new(self, heading: str) -> Workings:
        """Workings under a new heading."""
        work = Workings(known_to=self.known_to)
        self.parts.append(Part(heading, work.steps))
        return work

    def filled(self) -> list[Part]:
        return [part for part in self.parts if part.steps]


def worked(assessment: Assessment) -> Worked:
    """Work every line of an assessment out.

    Raises
    ------
    LineError
        A line does not give what the assessment has.
    """
    study, common = assessment.study, _Parts()
    area = worked_flow.areas(common.new("Openings"), study)
    first = next(iter(assessment.cases.values()))
    built = {name: _joint(common, assessment, study.joints[name], result) for name, result in first.joints.items()}
    for joint in built.values():
        _layout(common, assessment, first, joint)
    stiff = {name: joint.stiff for name, joint in built.items()}
    work = common.new("Stiffness of joints and supports, by which they share the reaction")
    shared = worked_sharing.sharing(work, study, assessment.option, stiff)
    cases = {name: _case(assessment, case, area, built, shared) for name, case in assessment.cases.items()}
    return Worked(common.filled(), cases)


def _joint(common: _Parts, assessment: Assessment, joint: Joint, result: JointResult) -> _Built:
    axes = worked_loads.frame(common.new(f"Axes of joint '{joint.name}'"), assessment.study, joint)
    opening = assessment.study.openings[joint.at]
    ring = worked_joint.gasket(common.new(f"Gasket of joint '{joint.name}'"), joint, reaction_diameter(joint, opening))
    group = worked_joint.pattern(common.new(f"Bolt pattern of joint '{joint.name}'"), joint)
    clamped = result.clamping
    stiff: dict[str, Quantity] = {}
    planes: dict[str, dict[str, Quantity]] = {}
    if clamped is not None:
        worked_tightening.preload(common.new(f"Preload of joint '{joint.name}'"), joint, clamped, group)
        work = common.new(f"Stiffness of joint '{joint.name}'")
        stiff = worked_tightening.stiffness(work, joint, clamped, group)
        if stiff:
            stiff |= worked_contact.closed_stiffness(work, group, stiff)
            work = common.new(f"Face of joint '{joint.name}' before any load")
            for state, preload in zip(STATES, (clamped.least, clamped.mean, clamped.greatest), strict=True):
                planes[state] = worked_contact.assembled(work, preload, group, stiff, state)
    return _Built(joint, axes, ring, group, stiff, planes)


def _case(
    assessment: Assessment,
    case: CaseResult,
    area: dict[str, Quantity],
    built: dict[str, _Built],
    shared: worked_sharing.Sharing | None,
) -> list[Part]:
    study, parts = assessment.study, _Parts(_known_to(assessment.study, case))
    work = parts.new("Flow, pressure and thrust")
    worked_flow.pressures(work, study, case, area)
    worked_flow.flows(work, study, case, area)
    thrusts = worked_thrusts.thrusts(work, study, case, area)
    reaction = worked_loads.loads(parts.new("Loads and reaction"), study, case, thrusts)
    alone = len(case.joints) == 1 and not case.supports
    if shared is not None:
        work = parts.new("Who carries the reaction")
        worked_sharing.carried(work, shared, case)
        worked_loads.shared(work, study, case)
    _support_lines(parts, case, study.up)
    for name, joint in built.items():
        _of_joint(parts, assessment, case, joint, area[study.joints[name].at], reaction if alone else None)
    return parts.filled()


def _known_to(study: Study, case: CaseResult) -> dict[str, float]:
    """What forces [N] and moments [N·m] of a case can be known to: rounding of all that was added up to find them."""
    wrenches = {name: (joint.reaction_force, joint.reaction_moment) for name, joint in case.joints.items()}
    scale = action_scale(case.loads, given_in(study, wrenches, case.supports))
    return {"force": CANCELED * float(scale.force), "moment": CANCELED * float(scale.moment)}


def _support_lines(parts: _Parts, case: CaseResult, up: Array) -> None:
    """The checks of the supports of a case."""
    work = parts.new("Checks of the supports")
    demands = [
        (
            check,
            f"{check.words}, {check.where}",
            worked_supports.demand(work, check, SupportAsk(result.support, result, up)),
        )
        for check in case.checks
        if (result := case.supports.get(check.where)) is not None
    ]
    finish(work, demands)


def _of_joint(
    parts: _Parts,
    assessment: Assessment,
    case: CaseResult,
    built: _Built,
    area: Quantity,
    reaction: dict[str, Quantity] | None,
) -> None:
    joint, result = built.joint, case.joints[built.joint.name]
    work = parts.new(f"What is asked of joint '{joint.name}'")
    acting = worked_loads.actions(work, joint, result, reaction, built.axes)
    axial = worked_joint.demand(work, result, case.openings[joint.at], area, built.ring, acting["N_L"])
    worked_joint.bolt_loads(parts.new(f"Bolts of joint '{joint.name}'"), result, built.group, axial, acting)
    clamped, carried, change = result.clamping, result.service, {}
    if clamped is not None and carried is not None:
        work = parts.new(f"Joint '{joint.name}' as tightened")
        if built.stiff:
            worked_contact.solution(
                work, joint, result, clamped, carried, built.group, built.stiff, axial, acting, built.planes
            )
            work = parts.new(f"Joint '{joint.name}' while its face is closed")
            change = worked_contact.closed_share(work, built.stiff, axial, acting)
        else:
            worked_joint.bounds(work, joint, clamped, carried, built.group, axial)
    shown = {**built.ring, **acting, "N": axial, "A": area}
    if built.stiff:
        shown["D_o"] = built.stiff["D_o"]
    stated = assessment.study.cases[case.name]
    ask = Ask(joint, result, in_force(assessment.study, joint, stated), stated.rating_factor)
    work = parts.new(f"Checks of joint '{joint.name}'")
    previous = None if joint.cycles_between is None else assessment.cases[joint.cycles_between[0]]
    rest = built.planes.get(STATES[0], {})
    check_lines(
        work,
        [
            Judged(work, check, ask, built.group, shown, rest, change, previous)
            for check in case.checks
            if check.where == joint.name and check.check not in LAYOUT
        ],
    )


def _layout(common: _Parts, assessment: Assessment, case: CaseResult, built: _Built) -> None:
    """Checks of layout, which are the same in every case."""
    joint, result = built.joint, case.joints[built.joint.name]
    work = common.new(f"Checks of the layout of joint '{joint.name}'")
    ask = Ask(joint, result, in_force(assessment.study, joint, assessment.study.cases[case.name]))
    found = [check for check in case.checks if check.where == joint.name and check.check in LAYOUT]
    check_lines(work, [Judged(work, check, ask, built.group, {}, {}, {}, None) for check in found])
