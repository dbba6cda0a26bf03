"""How much what joints carry leans on what they are held by: how stiff that is, and heat that lengthens the pipe behind one.

Where joints share a fitting, among them or with supports, their stiffness decides who carries what. It is seldom known well: a pipe
behind a joint stands for a pump's casing, a nozzle, an anchor.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from anchorsize.assessment.evaluation import evaluate
from anchorsize.assessment.findings import load_scale
from anchorsize.assessment.findings_support_data import HEAT, LEANS_ON_JOINTS, SHORTENED, Cases
from anchorsize.assessment.findings_support_give import MUCH, Used, most_used
from anchorsize.assessment.holding import Holding, holding, share_out, stiffness_known
from anchorsize.assessment.refusing import Refused, raise_at_once
from anchorsize.assessment.results import CaseResult, Finding, StudyError
from anchorsize.mechanics import momentum
from anchorsize.study import Array, Joint, JointStiffness, PipeBehind, Study
from anchorsize.units import show

SHARES = (3.0, 1.0 / 3.0)
"""By which the stiffness of a joint is multiplied to see what leans on it: common practice, no source."""

SHARE_WORDS = ("3 times", "a third of")

EXPANSION = 12e-6
"""Thermal expansion of steel [1/K]: usual value, from memory."""

WARMS = 10.0  # K of warming told
HELD_NAMED, SMALL = (
    3,
    0.01,
)  # joints and supports that are told of, those that get most, and from which share of the most

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


def pipe_length(study: Study, option: str, cases: Cases) -> tuple[Finding, ...]:
    """What a pipe behind a joint does to it and to all else that holds as heat or pressure change its length.

    Nothing where that is little beside the loads. A pipe under pressure p shortens by ν p d/(2 t) L/E besides what the force along it
    stretches it: hoop stress of a thin wall (strength of materials).
    """
    held = holding(study, option)
    if held is None:
        return ()
    greatest = max(load_scale(case) for case in cases.values())
    found = []
    for place, name in enumerate(held.joints):
        pipe = study.joints[name].pipe_behind
        if pipe is None or held.mounts.rigid[place]:
            continue
        warm = EXPANSION * WARMS * float(pipe.length)
        heat = _forces_of_length(study, held, place, dict.fromkeys(cases, warm), cases)
        if max(heat.values(), default=0.0) > NOTICED * greatest:
            found.append(_heat(study, name, pipe, warm, heat))
        shorter = {case: -_shortened(pipe, float(result.joints[name].pressure)) for case, result in cases.items()}
        pressure = _forces_of_length(study, held, place, shorter, cases)
        if max(pressure.values(), default=0.0) > NOTICED * greatest:
            found.append(_pressure(study, name, -min(shorter.values()), pressure))
    return tuple(found)


def _shortened(pipe: PipeBehind, pressure: float) -> float:
    """By how much pressure [Pa] shortens a pipe whose ends are free [m]."""
    inside = float(pipe.outside) - 2.0 * float(pipe.wall)
    hoop = pressure * inside / (2.0 * float(pipe.wall))
    return float(pipe.poisson) * hoop / float(pipe.modulus) * float(pipe.length)


def _heat(study: Study, name: str, pipe: PipeBehind, longer: float, forces: dict[str, float]) -> Finding:
    return Finding(
        HEAT,
        None,
        f"HEAT IS NOT COUNTED: each {WARMS:.0f} K ({WARMS * 1.8:.0f} °F) by which the pipe behind joint '{name}' "
        f"({show(float(pipe.length), 'length', study.units)}) is warmer or colder than when it was bolted up changes its length by "
        f"{show(longer, 'length', study.units)} (steel, 12e-6 per K, from memory), and what holds the fitting stands against that with "
        f"up to {_most(study, forces)}. Where the line changes its temperature, have it calculated with its anchors (pipe stress calculation).",
    )


def _pressure(study: Study, name: str, shorter: float, forces: dict[str, float]) -> Finding:
    return Finding(
        SHORTENED,
        None,
        f"PRESSURE SHORTENS the pipe behind joint '{name}' by up to {show(shorter, 'length', study.units)} (Poisson's ratio × hoop stress × "
        f"length / modulus), which is not counted: it changes the forces by up to {_most(study, forces)}. Supports along that pipe take "
        "less of the push, and the joint more, than shown.",
    )


def _most(study: Study, forces: dict[str, float]) -> str:
    least = SMALL * max(forces.values())
    named = sorted((each for each in forces if forces[each] >= least), key=lambda each: -forces[each])[:HELD_NAMED]
    return " and ".join(f"{show(forces[each], 'force', study.units)} at {each}" for each in named)


def _forces_of_length(
    study: Study, held: Holding, place: int, longer: dict[str, float], cases: Cases
) -> dict[str, float]:
    """How much the forces [N] of joints and supports change at most, in any case, by a pipe so much ``longer`` [m] in each."""
    joint = study.joints[held.joints[place]]
    outward = study.openings[joint.at].outward
    changed: dict[str, float] = {}
    for name, case in cases.items():
        push = np.asarray(held.mounts.stiffness)[place] @ np.concatenate([-longer[name] * outward, np.zeros(3)])
        force, moment = push[:3], momentum.transfer(push[:3], push[3:], joint.center, np.zeros(3))
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
