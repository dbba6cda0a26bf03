"""How much what joints carry leans on what they are held by: how stiff that is, and heat that lengthens the pipe behind one.

Where joints share a fitting, among them or with supports, their stiffness decides who carries what. It is seldom known well: a pipe
behind a joint stands for a pump's casing, a nozzle, an anchor.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from anchorsize.assessment.evaluation import evaluate
from anchorsize.assessment.findings_support_data import HEAT, LEANS_ON_JOINTS, Cases
from anchorsize.assessment.findings_support_give import MUCH, Used, most_used
from anchorsize.assessment.holding import Holding, holding, share_out, stiffness_known
from anchorsize.assessment.refusing import Refused, raise_at_once
from anchorsize.assessment.results import CaseResult, Finding, StudyError
from anchorsize.mechanics import momentum
from anchorsize.study import Array, Joint, JointStiffness, Study
from anchorsize.units import show

SHARES = (3.0, 1.0 / 3.0)
"""By which the stiffness of a joint is multiplied to see what leans on it: common practice, no source."""

SHARE_WORDS = ("3 times", "a third of")

EXPANSION = 12e-6
"""Thermal expansion of steel [1/K]: usual value, from memory."""

WARMS = 10.0  # K of warming told
HELD_NAMED = 3  # joints and supports that are told of, those that get most

NOTICED = 0.05  # share of the greatest load from which what that gives is told: common practice, no source

JOINT_STIFFNESS = "stiffness of joints"


def stiffness_of_joints(study: Study, option: str, cases: Cases) -> tuple[Finding, ...]:
    """What becomes of the option where a joint is held stiffer or softer than given; nothing where that changes little."""
    known = [joint for joint in study.joints.values() if stiffness_known(joint)]
    if len(study.joints) + len(study.supports.get(option, ())) < 2 or not any(case.joints for case in cases.values()):
        return ()
    found, (given,) = [], most_used(cases, 1)
    for joint in known:
        changed = [
            (words, used)
            for words, used in zip(SHARE_WORDS, _with_stiffness(study, option, joint), strict=False)
            if (used.fails and not given.fails) or used.used > MUCH * given.used
        ]
        if changed:
            found.append(_told(joint, changed, given))
    return tuple(found)


def _told(joint: Joint, changed: list[tuple[str, Used]], given: Used) -> Finding:
    turned = [pair for pair in changed if pair[1].fails and not given.fails]
    words, used = max(turned or changed, key=lambda pair: pair[1].used)
    of = "the stiffness given" if isinstance(joint.stiffness, JointStiffness) else "the stiffness of the pipe behind it"
    return Finding(
        LEANS_ON_JOINTS if turned else JOINT_STIFFNESS,
        None,
        f"How stiffly joint '{joint.name}' is held decides who carries what: with {words} {of}: {'FAILS, ' if turned else ''}{used.words} "
        f"{used.used:.3g} (as given {given.used:.3g} at most). Where that is an estimate (a pump, a nozzle, an anchor), judge the case with "
        "the least and the greatest that it may be.",
    )


def _with_stiffness(study: Study, option: str, joint: Joint) -> list[Used]:
    """The most used check with the joint held by those shares of its stiffness; empty where it cannot be judged so."""
    shares = np.array(SHARES)
    if isinstance(joint.stiffness, JointStiffness):
        own = joint.stiffness
        held = replace(
            joint,
            stiffness=JointStiffness(
                own.axial * shares, own.shear * shares, own.bending * shares, own.torsion * shares
            ),
        )
    else:
        assert joint.pipe_behind is not None  # nothing else makes its stiffness known
        held = replace(joint, pipe_behind=replace(joint.pipe_behind, modulus=joint.pipe_behind.modulus * shares))
    refused = Refused(shares.shape)
    try:
        cases = evaluate(replace(study, joints={**study.joints, joint.name: held}), option, refused)
    except StudyError:
        return []
    return [] if refused.reasons else most_used(cases, len(shares))


def heat_between(study: Study, option: str, cases: Cases) -> tuple[Finding, ...]:
    """What a pipe behind a joint does to it and to all else that holds when it warms; nothing where that is little beside the loads."""
    held = holding(study, option)
    if held is None:
        return ()
    greatest = max(sum(float(np.linalg.norm(load.force)) for load in case.loads) for case in cases.values())
    found = []
    for place, name in enumerate(held.joints):
        pipe = study.joints[name].pipe_behind
        if pipe is None or held.mounts.rigid[place]:
            continue
        longer = EXPANSION * WARMS * float(pipe.length)
        stands = _forces_of_heat(study, held, place, longer, cases)
        if max(stands.values(), default=0.0) <= NOTICED * greatest:
            continue
        most = sorted(stands, key=lambda each: -stands[each])[:HELD_NAMED]
        listed = " and ".join(f"{show(stands[each], 'force', study.units)} at {each}" for each in most)
        found.append(
            Finding(
                HEAT,
                None,
                f"HEAT IS NOT COUNTED: each {WARMS:.0f} K ({WARMS * 1.8:.0f} °F) by which the pipe behind joint '{name}' "
                f"({show(float(pipe.length), 'length', study.units)}) is warmer or colder than when it was bolted up changes its length by "
                f"{show(longer, 'length', study.units)} (steel, 12e-6 per K, from memory), and what holds the fitting stands against that with "
                f"up to {listed}. Where the line changes its temperature, have it calculated with its anchors (pipe stress calculation).",
            )
        )
    return tuple(found)


def _forces_of_heat(study: Study, held: Holding, place: int, longer: float, cases: Cases) -> dict[str, float]:
    """How much the forces [N] of joints and supports change at most, in any case, by a pipe that is so much longer [m]."""
    joint = study.joints[held.joints[place]]
    moved = np.concatenate([-longer * study.openings[joint.at].outward, np.zeros(3)])
    push = np.asarray(held.mounts.stiffness)[place] @ moved
    force, moment = push[:3], momentum.transfer(push[:3], push[3:], joint.center, np.zeros(3))
    changed: dict[str, float] = {}
    for name, case in cases.items():
        try:
            then = share_out(
                study, name, held, case.reaction_force - force, case.reaction_moment - moment, raise_at_once
            )
        except StudyError:
            continue
        now = _forces(case)
        for each, (given, _) in then.joints.items():
            own = given + (force if each == joint.name else 0.0)
            _raise(changed, f"joint '{each}'", own - now[each])
        for each, support in then.supports.items():
            _raise(changed, f"support '{each}'", support.force - now[each])
    return changed


def _forces(case: CaseResult) -> dict[str, Array]:
    joints = {name: joint.reaction_force for name, joint in case.joints.items()}
    return joints | {name: support.force for name, support in case.supports.items()}


def _raise(greatest: dict[str, float], name: str, change: Array) -> None:
    greatest[name] = max(greatest.get(name, 0.0), float(np.linalg.norm(change)))
