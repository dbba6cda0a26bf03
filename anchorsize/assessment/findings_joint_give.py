"""How much what joints carry leans on what they are held by: how stiff that is, and heat that lengthens the pipe behind one.

Where joints share a fitting, among them or with supports, their stiffness decides who carries what. It is seldom known well: a pipe
behind a joint stands for a pump's casing, a nozzle, an anchor.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from anchorsize.assessment.findings import load_scale
from anchorsize.assessment.findings_support_data import HEAT, LEANS_ON_JOINTS, SHORTENED, Cases
from anchorsize.assessment.findings_support_give import MUCH, Used, joined, most_used, used_in_rows
from anchorsize.assessment.holding import Holding, Wrench, holding, share_out, stiffness_known
from anchorsize.assessment.refusing import Refused
from anchorsize.assessment.results import Finding, SupportResult
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
DECIDES = 0.25
"""Share of the most that a support or joint gets from which a change of it is told: common practice, no source."""

FELT = 0.01
"""Share of the loads under which what a support carries, or a change of it, is not told: common practice, no source."""

WARMER, COLDER = ("So much warmer", "warmer"), ("So much colder", "colder")
SHORTER = ("So shortened", "so")
LETS_GO = {"rest": "lifts", "thrust_block": "lifts", "strut": "comes free in its gap", "guide": "comes free in its gap"}

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
        f"{used.shown} (as given at most {given.words} {given.shown}). Where that is an estimate (a pump, a nozzle, an anchor), judge the case with "
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
    return used_in_rows(replace(study, joints={**study.joints, joint.name: held}), option, len(shares))


def pipe_length(study: Study, option: str, cases: Cases) -> tuple[Finding, ...]:
    """What a pipe behind a joint does to it and to all else that holds as heat or pressure change its length.

    Nothing where that is little beside the loads and decides nothing: no support lets go or wakes, nor does the most that one or a joint
    gets change much. A pipe under pressure p shortens by ν p d/(2 t) L/E besides what the force along it stretches it: hoop stress of a
    thin wall (strength of materials).
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
        shorter = [_shortened(pipe, float(case.joints[name].pressure)) for case in cases.values()]
        then = _with_length(study, held, place, np.array([[warm, -warm, -short] for short in shorter]), cases)
        forces, heat, pressure = _forces(cases), {WARMER: 0, COLDER: 1}, {SHORTER: 2}
        for ways, told in (
            (heat, partial(_heat, pipe=pipe, longer=warm)),
            (pressure, partial(_pressure, shorter=max(shorter))),
        ):
            changed = _changed(forces, then, list(ways.values()))
            blocked = max(changed.values(), default=0.0) > NOTICED * greatest
            decided = _decided(study, cases, then, ways, forces_told=blocked)
            if blocked or decided:
                found.append(told(study, name, forces=changed if blocked else {}, decided=decided))
    return tuple(found)


def _shortened(pipe: PipeBehind, pressure: float) -> float:
    """By how much pressure [Pa] shortens a pipe whose ends are free [m]."""
    inside = float(pipe.outside) - 2.0 * float(pipe.wall)
    hoop = pressure * inside / (2.0 * float(pipe.wall))
    return float(pipe.poisson) * hoop / float(pipe.modulus) * float(pipe.length)


@dataclass(frozen=True)
class _Then:
    """What joints and supports give with the pipe longer, in each case and by each change of its length (cases, changes, …)."""

    joints: dict[str, Wrench]
    supports: dict[str, SupportResult]


_Ways = Mapping[tuple[str, str], int]
"""Words that begin a sentence with a change of length, and that follow a figure, and the place of that change."""


def _with_length(study: Study, held: Holding, place: int, longer: Array, cases: Cases) -> _Then:
    """What all that holds gives with the pipe behind one joint so much ``longer`` (cases, changes) [m]; NaN where nothing balances."""
    joint = study.joints[held.joints[place]]
    moved = -longer[..., None] * study.openings[joint.at].outward
    push = np.concatenate([moved, np.zeros_like(moved)], axis=-1) @ np.asarray(held.mounts.stiffness)[place].T
    force, moment = push[..., :3], push[..., 3:]
    reaction = np.stack([case.reaction_force for case in cases.values()])[:, None] - force
    about_origin = np.stack([case.reaction_moment for case in cases.values()])[:, None] - momentum.transfer(
        force, moment, joint.center, np.zeros(3)
    )
    shared = share_out(study, "", held, reaction, about_origin, Refused(longer.shape))
    own = shared.joints[joint.name]
    return _Then({**shared.joints, joint.name: (own[0] + force, own[1] + moment)}, shared.supports)


def _forces(cases: Cases) -> dict[str, Array]:
    """Forces (cases, 3) [N] of all that holds, as given."""
    first = next(iter(cases.values()))
    joints = {f"joint '{name}'": [case.joints[name].reaction_force for case in cases.values()] for name in first.joints}
    supports = {f"support '{name}'": [case.supports[name].force for case in cases.values()] for name in first.supports}
    return {name: np.stack(forces) for name, forces in (joints | supports).items()}


def _changed(forces: dict[str, Array], then: _Then, changes: list[int]) -> dict[str, float]:
    """By how much those forces [N] change at most, in any case."""
    new = {f"joint '{name}'": wrench[0] for name, wrench in then.joints.items()}
    new |= {f"support '{name}'": support.force for name, support in then.supports.items()}
    by = {name: np.linalg.norm(new[name][:, changes] - given[:, None], axis=-1) for name, given in forces.items()}
    return {name: float(np.max(np.nan_to_num(change))) for name, change in by.items()}


def _decided(study: Study, cases: Cases, then: _Then, ways: _Ways, forces_told: bool) -> str:
    """Sentences on what a change of length decides: supports that let go or wake, the most that a support or joint gets."""
    said = []
    for (lead, _), change in ways.items():
        turned = [words for name in then.supports for words in _turned(name, cases, then.supports[name], change)]
        more = [f"{len(turned) - HELD_NAMED} more let go or come to carry"] if len(turned) > HELD_NAMED else []
        if turned:
            said.append(f" {lead}, {joined(turned[:HELD_NAMED] + more)}.")
    return "".join(said + _greatest(study, cases, then, ways, forces_told))


def _turned(name: str, cases: Cases, then: SupportResult, change: int) -> list[str]:
    """That a support lets go where it carries as given, or comes to carry where it idles."""
    given = {case: float(np.linalg.norm(result.supports[name].force)) for case, result in cases.items()}
    new = {case: float(np.linalg.norm(np.nan_to_num(then.force[row, change]))) for row, case in enumerate(cases)}
    open_then = {case for row, case in enumerate(cases) if then.idle[row, change]}
    idle_now = {case for case, result in cases.items() if result.supports[name].idle}
    lets_go = _felt(cases, {case: force for case, force in given.items() if case in open_then}, max(given.values()))
    wakes = _felt(cases, {case: force for case, force in new.items() if case in idle_now}, max(new.values()))
    verb = LETS_GO.get(then.support.kind, "goes slack")
    return [
        f"'{name}' {does} in {_cases(listed)}"
        for does, listed in ((verb, lets_go), ("comes to carry", wakes))
        if listed
    ]


def _felt(cases: Cases, forces: dict[str, float], most: float) -> list[str]:
    """All cases in which a force [N] is more than next to nothing of the ``most``; none where none is felt beside its case's loads."""
    if not any(force > FELT * load_scale(cases[case]) for case, force in forces.items()):
        return []
    return [f"'{case}'" for case, force in forces.items() if force > FELT * most]


def _cases(names: list[str]) -> str:
    return joined(names) if len(names) <= HELD_NAMED else f"{len(names)} cases"


def _greatest(study: Study, cases: Cases, then: _Then, ways: _Ways, forces_told: bool) -> list[str]:
    """The greatest forces and moments over all cases that a change of length alters much."""
    least, found = FELT * max(load_scale(case) for case in cases.values()), []
    if not forces_told:
        for name, support in then.supports.items():
            given = max(float(np.linalg.norm(case.supports[name].force)) for case in cases.values())
            both = ", along and across together," if support.support.friction else ""
            found.append((f"force of '{name}'{both}", given, support.force, least, "force"))
    for name, (_, moment) in then.joints.items():
        given = max(float(np.linalg.norm(case.joints[name].reaction_moment)) for case in cases.values())
        wide = max(float(case.joints[name].reaction_diameter) for case in cases.values())
        # on a ring of this diameter a moment M does as much as an axial force 4 M/G
        found.append((f"moment on joint '{name}'", given, moment, least * wide / 4.0, "moment"))
    said = []
    for what, given, vectors, floor, unit in found:
        new = {after: float(np.max(np.linalg.norm(vectors[:, row], axis=-1))) for (_, after), row in ways.items()}
        if any(abs(each - given) > max(DECIDES * given, floor) for each in new.values()):
            shown = [f"{show(each, unit, study.units)} {after}" for after, each in new.items() if np.isfinite(each)]
            said.append(f" The greatest {what} is {joined(shown)}, {show(given, unit, study.units)} as given.")
    return said


def _heat(
    study: Study, name: str, *, pipe: PipeBehind, longer: float, forces: dict[str, float], decided: str
) -> Finding:
    against = f", and what holds the fitting stands against that with up to {_most(study, forces)}" if forces else ""
    return Finding(
        HEAT,
        None,
        f"HEAT IS NOT COUNTED: each {WARMS:.0f} K ({WARMS * 1.8:.0f} °F) by which the pipe behind joint '{name}' "
        f"({show(float(pipe.length), 'length', study.units)}) is warmer or colder than when it was bolted up changes its length by "
        f"{show(longer, 'length', study.units)} (steel, 12e-6 per K, from memory){against}.{decided} "
        "The fitting, up to each support, and the supports grow as well: that is NOT in these figures and may be more. "
        "Where the line changes its temperature, have it calculated with its anchors (pipe stress calculation).",
    )


def _pressure(study: Study, name: str, *, shorter: float, forces: dict[str, float], decided: str) -> Finding:
    changes, push = "", ""
    if forces:
        changes = f": it changes the forces by up to {_most(study, forces)}"
        push = " Supports along that pipe take less of the push, and the joint more, than shown."
    return Finding(
        SHORTENED,
        None,
        f"PRESSURE SHORTENS the pipe behind joint '{name}' by up to {show(shorter, 'length', study.units)} (Poisson's ratio × hoop stress × "
        f"length / modulus), which is not counted{changes}.{push}{decided}",
    )


def _most(study: Study, forces: dict[str, float]) -> str:
    least = SMALL * max(forces.values())
    named = sorted((each for each in forces if forces[each] >= least), key=lambda each: -forces[each])[:HELD_NAMED]
    return joined([f"{show(forces[each], 'force', study.units)} at {each}" for each in named])
