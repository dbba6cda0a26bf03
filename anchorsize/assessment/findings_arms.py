"""Arms that bend: the fitting counts as rigid, yet a long one gives as much at a support as the joint that holds it.

A support may then stop the sway of an arm and not its turning. What the joint gets is no longer that of a rigid body, and neither
softening the support nor leaving it out bounds it: the moment at the joint may turn its sign. So the option is worked out once
more with the arm as a slender beam (:mod:`anchorsize.assessment.arms`), and what that changes is told beside the rigid body's figures.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial

import numpy as np

from anchorsize.assessment.arms import arm_to, as_beams
from anchorsize.assessment.holding import motion_alone, stiffness_known, support_stiffness
from anchorsize.assessment.movement import pipe_moment
from anchorsize.assessment.results import CaseResult, Check, Finding
from anchorsize.study import Array, Joint, JointStiffness, Study, Support
from anchorsize.units import over_one, show

TENTH = 0.1
"""Share of what the joint gives from which that of the arm is told: common practice, no source."""

NAMED = 5  # moments and forces that are told one by one; more are counted
NOTICED = 0.01  # share of itself from which a change is told

LIMBER_ARM = "limber arm"

NOT_AS_BEAM = "No figure was worked out with the arm bending."

Cases = Mapping[str, CaseResult]


@dataclass(frozen=True)
class _Asked:
    """What is compared: its words, its kind of quantity and it itself (k,) [N or N·m] in a case."""

    what: str
    kind: str
    of: Callable[[CaseResult], Array]


@dataclass(frozen=True)
class _Limber:
    """A support on an arm: its lever from the joint [m], and how often the give of the joint, and of both, the arm gives there."""

    support: Support
    lever: float
    of_joint: float
    of_both: float
    words: str


def limber_arms(study: Study, supports: tuple[Support, ...], cases: Cases) -> tuple[Finding, ...]:
    """Supports at whose place the arm from a joint bends noticeably beside what the joint gives; spring hangers pull as set."""
    found: list[Finding] = []
    for joint in study.joints.values():
        # a joint taken as rigid starves its supports, which is told by itself
        if stiffness_known(joint):
            found += _of_joint(study, joint, supports, cases)
    return tuple(found)


def _of_joint(study: Study, joint: Joint, supports: tuple[Support, ...], cases: Cases) -> list[Finding]:
    arms = [_limber(study, joint, each) for each in supports if each.kind != "spring_hanger"]
    limber = [arm for arm in arms if arm.of_both >= 1.0]
    told = limber or [arm for arm in arms if arm.of_joint > TENTH]
    if not told:
        return []
    times = " and ".join(f"{arm.of_both if limber else arm.of_joint:.2g}" for arm in told)
    beside = "joint and support give way" if limber else "the joint gives way"
    lead = f"The arm from joint '{joint.name}' counts as rigid, yet bends {times} times as much as {beside}: {_listed(study, told)}."
    beams = as_beams(study, supports, cases)
    bent = [NOT_AS_BEAM] if beams is None else [_changed(study, joint, supports, cases, beams)]
    turned = [] if beams is None else [*_fails(cases, beams), *_wakes(study, supports, cases, beams)]
    idle = [] if beams is None else _idles(supports, cases, beams)
    holds = [] if beams is None or turned else ["Each check that holds then holds too."]
    if limber or turned:
        means = (
            "Their shares of the loads are NOT to be trusted: bending at the joint (nozzle moment) and support force may be larger than "
            "shown. Have the arm calculated as a beam (pipe stress calculation), or put the support near the joint; a softer joint does "
            "not make up for it."
        )
    else:
        means = "Bending at the joint (nozzle moment), support force, gaps and movements may be larger than shown."
    words = dict.fromkeys(arm.words for arm in told)
    return [
        Finding(
            LIMBER_ARM,
            None,
            " ".join([lead, *bent, *turned, *idle, *holds, means, *words]),
            doubtful=bool(limber or turned),
        )
    ]


def _changed(study: Study, joint: Joint, supports: tuple[Support, ...], cases: Cases, beams: Cases) -> str:
    """What the arm as a beam makes of bending, pipe behind and support forces, each in the case where that is greatest."""
    asked = [_Asked("bending at the joint", "moment", lambda case: _bending(case, joint.name))]
    if joint.pipe_behind is not None:
        end = "the fixed end of the pipe behind"
        asked.append(
            _Asked(
                end, "moment", lambda case: np.array([pipe_moment(study, joint.name, case.joints[joint.name]) or 0.0])
            )
        )
    springs = [each.name for each in supports if each.kind != "spring_hanger"]
    asked += [_Asked(f"'{name}'", "force", partial(_pushes, name=name)) for name in springs]
    told = []
    for each in asked:
        worst = max(beams, key=lambda name: float(np.linalg.norm(each.of(beams[name]))))
        both = [each.of(beams[worst]), each.of(cases[worst])]
        sizes = [float(np.linalg.norm(value)) for value in both]
        turned = float(both[0] @ both[1]) < -((NOTICED * max(sizes)) ** 2)
        if turned or abs(sizes[0] - sizes[1]) > NOTICED * max(sizes):
            then, rigid = (show(size, each.kind, study.units) for size in sizes)
            told.append(f"{each.what} {then}{' the other way' * turned} in place of {rigid} in '{worst}'")
    rest = f"; {len(told) - NAMED} more differ" if len(told) > NAMED else ""
    gives = "; ".join(told[:NAMED]) + rest if told else "greatest moments and support forces within 1 %"
    return f"As a slender beam (bending and torsion only) it gives: {gives}."


def _push(case: CaseResult, name: str) -> float:
    return float(case.supports[name].push)


def _bending(case: CaseResult, joint: str) -> Array:
    held = case.joints[joint]
    return np.array([float(held.bending1), float(held.bending2)])


def _pushes(case: CaseResult, name: str) -> Array:
    return np.array([_push(case, name)])


def _size(case: CaseResult, name: str) -> float:
    return abs(_push(case, name))


def _fails(cases: Cases, beams: Cases) -> list[str]:
    """The worst of the checks that hold with the arm rigid and fail with it bending."""
    fails = [(name, check) for name, case in beams.items() for check in case.checks if not check.holds]
    new = [(name, check, before) for name, check in fails if (before := _same(cases[name], check)) and before.holds]
    if not new:
        return []
    name, check, before = max(new, key=lambda each: float(each[1].utilization))
    return [
        f"Then {check.words} of '{check.where}' FAILS in '{name}': utilization {over_one(float(check.utilization))}, as a rigid body "
        f"{float(before.utilization):.3g}."
    ]


def _wakes(study: Study, supports: tuple[Support, ...], cases: Cases, beams: Cases) -> list[str]:
    """Supports that a rigid arm leaves idle in a case and a bending one does not, each in the case where it then carries most."""
    told = []
    for each in supports:
        where = [name for name in _differ(each, beams, cases) if not np.all(beams[name].supports[each.name].idle)]
        if where:
            most = max(where, key=lambda name: _size(beams[name], each.name))
            force = show(_size(beams[most], each.name), "force", study.units)
            told.append(f"'{each.name}' then carries {force} in '{most}', where as a rigid body it leaves it idle.")
    return told


def _idles(supports: tuple[Support, ...], cases: Cases, beams: Cases) -> list[str]:
    """Supports that carry in a case with the arm rigid, and nothing with it bending."""
    told = []
    for each in supports:
        where = [name for name in _differ(each, beams, cases) if np.all(beams[name].supports[each.name].idle)]
        if where:
            told.append(f"'{each.name}' then carries nothing in {', '.join(repr(name) for name in where)}.")
    return told


def _differ(support: Support, beams: Cases, cases: Cases) -> list[str]:
    """Cases in which a support idles either with the arm bending or with it rigid, and not both."""
    return [
        name
        for name in cases
        if bool(np.all(beams[name].supports[support.name].idle))
        != bool(np.all(cases[name].supports[support.name].idle))
    ]


def _same(case: CaseResult, asked: Check) -> Check | None:
    """The same check of another evaluation."""
    return next((each for each in case.checks if (each.check, each.where) == (asked.check, asked.where)), None)


def _listed(study: Study, arms: list[_Limber]) -> str:
    """Kind, name and lever of their supports."""
    return ", ".join(
        f"{arm.support.kind.replace('_', ' ').capitalize()} '{arm.support.name}' ({show(arm.lever, 'length', study.units)})"
        for arm in arms
    )


def _limber(study: Study, joint: Joint, support: Support) -> _Limber:
    """What arm, joint and support give at the support, along its line, or of an anchor along the worst line."""
    arm = arm_to(study, joint, support.at)
    gives, from_joint = arm.flexibility(), _joint_gives(study, joint, support.at)
    own = _support_gives(study, support)
    lever = float(np.linalg.norm(support.at - joint.center))
    return _Limber(
        support, lever, _ratio(gives, from_joint, support), _ratio(gives, from_joint + own, support), arm.words
    )


def _ratio(arm: Array, rest: Array, support: Support) -> float:
    if support.kind == "anchor":
        return float(np.max(np.linalg.eigvals(np.linalg.solve(rest, arm)).real))
    n = support.toward
    return float(n @ arm @ n) / float(n @ rest @ n)


def _joint_gives(study: Study, joint: Joint, at: Array) -> Array:
    """Flexibility (3, 3) [m/N] of a joint alone at a point: movements by a unit force along each axis."""
    pull = np.eye(3)
    motion = motion_alone(study, joint, (-pull, -np.cross(at - joint.center, pull)))
    return np.asarray((motion[:, :3] + np.cross(motion[:, 3:], at)).T)


def _support_gives(study: Study, support: Support) -> Array:
    """Flexibility (3, 3) [m/N] of a support; of one that acts along a line only along that."""
    along = np.multiply.outer(support.toward, support.toward)
    if support.kind != "anchor":
        return np.asarray(along / float(support_stiffness(support, study.up)))
    if not isinstance(support.six_way, JointStiffness):
        return np.zeros((3, 3))
    return np.asarray(along / support.six_way.axial + (np.eye(3) - along) / support.six_way.shear)
