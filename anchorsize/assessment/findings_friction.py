"""What the joint owes to friction at its supports, which may be gone when it is needed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from anchorsize.assessment.evaluation import evaluate
from anchorsize.assessment.findings_support_data import HOLDS_BY_FRICTION
from anchorsize.assessment.movement import farthest, pipe_moment
from anchorsize.assessment.results import CaseResult, Finding, JointResult, StudyError
from anchorsize.study import Study, Support
from anchorsize.units import over_one, show

Cases = Mapping[str, CaseResult]

OWED = 0.05
"""Share of what acts on a joint without friction from which its relief by friction is told: common practice, no source."""

FRICTION_RELIEVES = "friction relieves the joint"

_JUDGE = "It may be lost to vibration, ice or a post that lifts: judge also with friction: 0."


class _Relief(NamedTuple):
    case: str
    without: float
    off: float


def friction_credited(study: Study, option: str, cases: Cases) -> tuple[Finding, ...]:
    """Say by how much friction at the supports eases the joint, by evaluating the cases again without it.

    Of a study with one row. Nothing is said where no friction acts, or where nothing can be evaluated without it.
    """
    supports = study.supports.get(option, ())
    rubbing = [each for each in supports if each.friction and _acts(each, cases)]
    if not rubbing or not study.joints:
        return ()
    smooth = tuple(replace(each, friction=0.0) if each in rubbing else each for each in supports)
    try:
        without = evaluate(replace(study, supports={option: smooth}), option)
    except StudyError:
        return ()
    names = ", ".join(each.name for each in rubbing)
    raised = "".join(_raised(study, each, cases, without) for each in rubbing)
    return (*_flipped(names, cases, without), *_eased(study, (names, raised), cases, without))


def _acts(support: Support, cases: Cases) -> bool:
    return any(np.any(case.supports[support.name].friction) for case in cases.values() if support.name in case.supports)


def _flipped(names: str, cases: Cases, without: Cases) -> list[Finding]:
    """The checks that hold with friction and not without it."""
    held = {(name, c.check, c.where) for name, case in cases.items() for c in case.checks if bool(np.all(c.holds))}
    lost = [
        (name, check)
        for name, case in without.items()
        for check in case.checks
        if not bool(np.all(check.holds)) and (name, check.check, check.where) in held
    ]
    if not lost:
        return []
    name, worst = max(lost, key=lambda pair: float(pair[1].utilization))
    more = f" and {len(lost) - 1} more" if len(lost) > 1 else ""
    return [
        Finding(
            HOLDS_BY_FRICTION,
            None,
            f"Holds only by friction at {names}: without it {worst.words} of '{worst.where}' in '{name}'{more} fails (utilization "
            f"{over_one(float(worst.utilization))}). {_JUDGE}",
        )
    ]


def _raised(study: Study, support: Support, cases: Cases, without: Cases) -> str:
    """By how much friction raises the force of its own support, friction included, in the case in which it is greatest; else nothing."""

    def greatest(of: Cases) -> tuple[float, str]:
        forces = ((float(np.linalg.norm(case.supports[support.name].force)), name) for name, case in of.items())
        return max(forces)

    (rubbed, case), (bare, _) = greatest(cases), greatest(without)
    if rubbed <= (1.0 + OWED) * bare:
        return ""
    before, after = (show(force, "force", study.units) for force in (bare, rubbed))
    return f" It raises the greatest force of {support.name}, along and across together, from {before} to {after} ('{case}')."


def _eased(study: Study, told: tuple[str, str], cases: Cases, without: Cases) -> list[Finding]:
    """What friction takes off each joint where most is left without it; ``told`` names its supports, and says by how much it loads them more."""
    names, raised = told
    found = []
    for joint in study.joints:
        parts = [
            f"{show(most.off, kind, study.units)} of {show(most.without, kind, study.units)} of {word} ('{most.case}')"
            for word, kind in (("shear", "force"), ("torsion", "moment"), ("bending", "moment"))
            if (most := _most(joint, word, cases, without)) is not None
        ]
        beyond = _beyond(study, joint, cases, without)
        if parts or beyond:
            eases = f"eases joint '{joint}': it takes off {', '.join(parts)}. " if parts else "is counted on. "
            message = f"Friction at {names} {eases}{beyond}{raised.strip()}{' ' if raised else ''}{_JUDGE}"
            found.append(Finding(FRICTION_RELIEVES, None, message))
    return found


def _beyond(study: Study, joint: str, cases: Cases, without: Cases) -> str:
    """What the pipe behind a joint gets at its fixed end, and how far the fitting moves, without friction; where it makes little odds, nothing."""
    pipes = (_greatest_pipe_moment(study, joint, each) for each in (cases, without))
    moves = (None if (most := farthest(study, each)) is None else (most.value, most.case) for each in (cases, without))
    told = []
    for what, kind, (counted, bare) in (
        (f"the moment in the pipe behind '{joint}', at its fixed end, is", "moment", pipes),
        ("the fitting moves", "length", moves),
    ):
        if counted is not None and bare is not None and bare[0] > (1.0 + OWED) * counted[0]:
            now, then = (show(each[0], kind, study.units) for each in (counted, bare))
            told.append(f"{what} up to {then} ('{bare[1]}') in place of {now}")
    return f"Without it {' and '.join(told)}. " if told else ""


def _greatest_pipe_moment(study: Study, joint: str, cases: Cases) -> tuple[float, str] | None:
    moments = [
        (moment, name)
        for name, case in cases.items()
        if joint in case.joints and (moment := pipe_moment(study, joint, case.joints[joint])) is not None
    ]
    return max(moments, default=None)


def _most(joint: str, word: str, cases: Cases, without: Cases) -> _Relief | None:
    """The case with most on the joint without friction, of those in which that takes some off; None where that is little in every case."""
    reliefs = [
        _Relief(name, bare, bare - _size(case.joints[joint], word))
        for name, case in cases.items()
        if joint in case.joints and joint in without[name].joints
        for bare in (_size(without[name].joints[joint], word),)
    ]
    told = [each for each in reliefs if each.off > OWED * each.without]
    return max(told, key=lambda each: each.without, default=None)


def _size(result: JointResult, word: str) -> float:
    return abs(float(np.asarray({"shear": result.shear, "torsion": result.torsion, "bending": result.bending}[word])))
