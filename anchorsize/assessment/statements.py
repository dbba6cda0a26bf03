"""Sentences that stand beside every result: what was assumed, the cautions, and who decides."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from anchorsize.assessment.asking import in_force
from anchorsize.assessment.checks_actions import asked_of, pressure_words, unlimited
from anchorsize.assessment.clamping import joint_stiffnesses, stiffness_wanting
from anchorsize.assessment.findings_hot_bolts import all_hot_bolts
from anchorsize.mechanics.surge import critical_time
from anchorsize.study import LOOSE, Case, JointStiffness, Provenance, Study, Surge
from anchorsize.units import show

CAUTIONS = (
    "Before loosening any bolt, fitting or tightening one: line out of service, pressure off, lock the source out, drain, check that it is "
    "so. No bolt is turned under pressure, unless the responsible engineer's written procedure says so.",
    "Hold the fitting by other means before its last bolts come out; it may drop, rise or swing.",
    "Do not stand in line with an open or capped outlet while the line is being pressurized.",
)

DEFERRAL = (
    "This calculation supports a decision, it does not make one: the codes that apply to the line, the allowables set under them, and "
    "review by a licensed engineer decide."
)

WHOSE_SPACING_RULE = (
    "The formula of bolt_spacing_greatest (TEMA) is a rule for flanges whose bolting is designed anew; the drilling of a standard flange is "
    "proven by its standard, often stands wider than that, and a lost bolt doubles the gap it leaves."
)

SPACING_RULE = f"{WHOSE_SPACING_RULE} Where another limit is right, state it: allow / bolt_spacing_greatest, a length."


# What the finite-element record under tests/fe says of the rigid flange; a test holds this sentence against the record.
RIGID_FLANGE = (
    "Against finite elements of steel ring flanges 0.6 to 3 bolt diameters thick (8 and 12 bolts), the rigid flange put the greatest "
    "bolt tension -12 to +57 % off (-12 to +19 % from 2 diameters up; minus is unsafe) and the clamp left on the face up to 49 % too "
    "high (23 % from 2 diameters up)."
)

PULL_ALONE = (
    "Bolt proof and the torque windows count the pull in a bolt alone, not the twist of tightening; where both together pass 90 % of yield "
    "at a torque given, that is told (of bolts tightened cold)."
)
BASIC_PROFILE = (
    "Thread stripping is of the basic profile over the engagement given: threads at the limits of 6g and 6H have about a fifth less area "
    "(M20), and VDI 2230 takes 0.8 P off the length (both from memory); give a length and thread shear allowables that leave room for it."
)


PIPE_WEIGHT = (
    "The weight of the pipe behind a joint and of what fills it loads neither joint nor supports: right where the supports are set after "
    "it has sagged under both. Supports set before it is let go or filled take part of it. To find what they take, for a level pipe of "
    "length L and weight w per length, put under external, at the joint's center, w L/2 down and the moment w L²/12 that turns this end "
    "of the pipe up: forces of the supports and movements then hold (nearly, where bolts and gasket are not stiff beside the pipe), "
    "those of the joint do not. Judge its bolts in a file that has these forces of the supports under external, in place of the supports "
    "and of these two loads."
)
PIPE_LENGTH = (
    "The pipe behind a joint keeps its length but for the force along it: that pressure shortens it by Poisson's ratio × hoop stress × "
    "length / modulus, and heat lengthens it, is not counted; supports that hold along it feel both."
)


def assumptions(study: Study, option: str) -> tuple[str, ...]:
    """What the result rests on, in the order of weight."""
    lines = [
        "Steady flow, uniform and free of swirl at every opening; pressures are gauge.",
        "The flange and the fitting are rigid; bolt loads are linear over the bolt group, in proportion to "
        + _share_rule(study)
        + ".",
        "Bolt shear is shared out like the tension, with torsion about the stiffness center of the bolts present.",
        "External tensions and shears come from outside loads, before preload; friction carries none of the bolt shear.",
        "Neither the strength and tilting of the flange itself as its bolts are tightened and loaded, nor the pressure under head and nut, is "
        "judged: a flange rating counts pressure and loads, and the ends of a torque window know bolts and gasket only.",
        "Corrosion, and whatever else fluid, soil or air do to bolts, flanges and supports in time, is not judged.",
    ]
    lines += _of_surges(study)
    lines += _of_pipes_beyond(study) + _of_caps(study)
    if any(joint.gasket is not None and joint.gasket.reaction_diameter is None for joint in study.joints.values()):
        lines.append(
            "Pressure acts out to the gasket reaction diameter G by ASME BPVC VIII-1 App. 2: outside diameter less 2b, with b0 half the "
            "contact width, b = b0 up to 1/4 in (6.35 mm) and b = 0.5 √b0 (in inches) beyond."
        )
    lines += _of_raised_faces(study)
    lines += _of_ratings(study)
    if any(
        ring.condition is None and not (ring.m is None and ring.y is None)
        for joint in study.joints.values()
        if (ring := joint.gasket) is not None
    ):
        lines.append(
            "The gasket factors m and y are for a new gasket; nothing is said here of one that was used before."
        )
    if any(joint.tightening is not None for joint in study.joints.values()):
        lines.append(
            "Service tension and face: bolts pull and never push, the gasket ring pushes and never pulls, both linear; scatter and "
            "relaxation bound the preload, all bolts at the same end of it at once (bolts that scatter apart open the face earlier and "
            "press it harder in places than shown); bolts are tightened in turn without loss to each other."
        )
        lines.append(RIGID_FLANGE)
        lines.append(PULL_ALONE)
        lines += _of_hot_bolts(study)
        if any(joint.thread_engagement is not None for joint in study.joints.values()):
            lines.append(BASIC_PROFILE)
        lines += _of_bounds(study)
        if any(
            (joint.bolts.missing or joint.loose) and joint.tightening is not None and joint_stiffnesses(joint) is None
            for joint in study.joints.values()
        ):
            lines.append(
                "Where bolts are missing and the stiffness of bolts and gasket is not known, the bounds of bolt tension and clamp are "
                "estimates: the contact solution has been seen up to 7 % over them (23 % where the joint is pressed together)."
            )
    if any(joint.loose for joint in study.joints.values()):
        lines.append(
            f"A bolt found at under {LOOSE:.0%} of the tightest of its size, or at nothing while others are tight, is loose and carries "
            "nothing, as if it were missing (common practice, no source)."
        )
    if any(
        joint.tightening is not None and joint.grip is not None and joint.thread_length_in_grip is None
        for joint in study.joints.values()
    ):
        lines.append("No thread length in the grip was given: the whole grip counts as threaded (a stud).")
    lines += _of_supports(study, option)
    if any(np.any(np.asarray(case.dynamic_factor) != 1.0) for case in study.cases.values()):
        lines.append(
            "Dynamic factors multiply the thrusts of their case, not the weights, the outside loads or the pressure annulus of the joint; a "
            "pressure that rises in the event itself belongs into the pressure or a surge, where the annulus follows it."
        )
    lines += _of_nozzles(study)
    if _form_left_open(study):
        lines.append("No form of tension with shear was chosen: the linear form, the strictest of the three, is used.")
    return (*lines, *study.notes)


def _of_bounds(study: Study) -> list[str]:
    """Which joints are judged by bounds, and what to supply so that they are solved."""
    return [
        f"Joint '{name}': bolt tension and clamp are bounds, for the stiffness of bolts and gasket is not known; supply "
        f"{', '.join(stiffness_wanting(joint))} of the joint."
        for name, joint in study.joints.items()
        if joint.tightening is not None and joint_stiffnesses(joint) is None
    ]


def _of_hot_bolts(study: Study) -> list[str]:
    """That the strength of hot bolts is that at room temperature, and what would be left of it."""
    return [
        f"Joint '{found.joint}': the strength of class {found.grade} is that at room temperature; "
        + ("what is left of it" if found.share is None else f"some {found.share:.0%} of it is left")
        + f" at {show(found.temperature, 'temperature', study.units)}"
        + (" is not known." if found.share is None else " (from memory).")
        for found in all_hot_bolts(study)
    ]


def _of_surges(study: Study) -> list[str]:
    """How a slow stop raises the pressure, and that a surge runs through where a pressure follows from the one that it raises."""
    slow = {
        f"'{name}'": {wave.falls_evenly == "valve_area" for wave in waves}
        for name, case in study.cases.items()
        if (waves := _slow_stops(case))
    }
    by_flow, by_area = ([name for name, ways in slow.items() if way in ways] for way in (False, True))
    cases = [
        f"'{name}'"
        for name, case in study.cases.items()
        if any(state.surge is not None and np.any(state.surge.stopped_flow) for state in case.states.values())
        and any(state.losses is not None and state.surge is None for state in case.states.values())
    ]
    evenly = f"A stop that takes longer than 2L/a raises the pressure by 2ρLv/t (Michaud): flow falling evenly during closing (in {', '.join(by_flow)})."
    area = (
        "A valve whose area falls evenly with time raises the pressure by p₀K/2 (K + √(K² + 4)), K = ρLv/(t p₀), p₀ the pressure at the "
        "opening before it, rigid column theory (from memory), letting out to the air; by 2ρLv/t (Michaud) where that is more and ρ·a·v at "
        f"the most (in {', '.join(by_area)})."
    )
    return (
        [evenly] * bool(by_flow)
        + [area] * bool(by_area)
        + [
            "A surge runs through the fitting: pressure from losses rises with the pressure that it starts from, as at both ends of a short "
            f"fitting full of liquid (in {', '.join(cases)}); flows, and the loss they make, are those before the surge. "
            "Where it does not run through, write surge with stopped_flow 0 at that opening."
        ]
        * bool(cases)
    )


def _slow_stops(case: Case) -> list[Surge]:
    """The surges of a case that stop a flow more slowly than 2L/a."""
    return [
        wave
        for state in case.states.values()
        if (wave := state.surge) is not None
        and np.any(wave.stopped_flow)
        and wave.closing_time is not None
        and wave.pipe_length is not None
        and np.any(critical_time(wave.pipe_length, wave.wave_speed) < wave.closing_time)
    ]


def _of_raised_faces(study: Study) -> list[str]:
    """How far out the gaskets are taken to be pressed."""
    rings = {name: joint for name, joint in study.joints.items() if joint.gasket is not None}
    cut = [
        f"'{name}' ({show(float(np.max(ring.outside)), 'length', study.units)} of {show(float(np.max(ring.rim)), 'length', study.units)})"
        for name, joint in rings.items()
        if (ring := joint.gasket) is not None and np.any(np.asarray(ring.outside) != ring.rim)
    ]
    open_ended = [
        f"'{name}'" for name, joint in rings.items() if joint.flange.raised_face is None and not joint.flange.flat
    ]
    lines = []
    if cut:
        lines.append(
            f"The gasket of joint {', '.join(cut)} reaches past the raised face: it is pressed out to the raised face only, which is its outside "
            "diameter in face pressure, G, b0 and the checks of seating, lift-off and crushing; flange / raised_face: flat where both "
            "flanges are flat."
        )
    if open_ended:
        lines.append(
            f"The gasket of joint {', '.join(open_ended)} is pressed over its whole width, for no raised face is known; where one ends "
            "before the ring, write flange / raised_face, its diameter."
        )
    return lines


def rated_group(row: Provenance) -> str:
    """The standard and material group that a rating from the table is of, such as 'ASME B16.5 group 1.1'."""
    return row.source.split(",")[0]


def _of_ratings(study: Study) -> list[str]:
    """What material the ratings from the table are of: every group in it is carbon steel."""
    groups: dict[str, list[str]] = {}
    for name, joint in study.joints.items():
        if joint.flange.rating_row is not None:
            groups.setdefault(rated_group(joint.flange.rating_row), []).append(name)
    return [
        f"Joint {_quoted(names)}: the rating from the table is of carbon steel ({group}). Flanges of stainless steel stand less, others less "
        "or more: write the rating of their material as flange / rating."
        for group, names in groups.items()
    ]


def _of_pipes_beyond(study: Study) -> list[str]:
    """Who holds where a pipe goes on behind an opening that no joint of the study stands at."""
    if not study.going_on:
        return []
    lines = [
        f"The pipe that goes on at {_quoted(study.going_on)} holds nothing, as behind an untied bellows or a sliding coupling whose far side is "
        "anchored by itself: joints and supports of this file take all of the reaction. What a hose, a tied bellows or a firmly joined "
        "pipe there pulls or pushes belongs into external."
    ]
    if study.pressed_on_bore:
        lines.append(
            f"Pressure at {_quoted(study.pressed_on_bore)} pushes on the bore alone. A bellows pushes on its effective area, a sliding coupling on the "
            "pipe's outside, both on more than the bore and into the fitting: write beyond / effective_area."
        )
    return lines


def _quoted(names: Sequence[str]) -> str:
    return ", ".join(f"'{name}'" for name in names)


def _of_caps(study: Study) -> list[str]:
    """Whose the closures are: a cap or blind flange is part of the fitting, and nothing of it is judged."""
    capped = [
        f"'{name}'"
        for name in study.openings
        if any(case.states[name].exit == "capped" for case in study.cases.values())
    ]
    if not capped:
        return []
    return [
        f"The closure at {', '.join(capped)} is part of the fitting: neither it nor its own bolts are judged; a blind flange is a file of its "
        "own (anchorsize start cap)."
    ]


def _of_nozzles(study: Study) -> list[str]:
    """What is compared with the force and moment allowed on the nozzle or pipe at a joint."""
    thrusts: dict[str, dict[str, None]] = {}
    for name, joint in study.joints.items():
        asked = {case: allow for case, each in study.cases.items() if asked_of(allow := in_force(study, joint, each))}
        for allow in asked.values():
            words = thrusts.setdefault(f"'{name}'", {})
            if allow.force is not None or allow.axial is not None:
                words[pressure_words(allow)] = None
        free: dict[tuple[str, ...], list[str]] = {}
        for case, allow in asked.items():
            free.setdefault(tuple(unlimited(allow)), []).append(f"'{case}'")
        for actions, cases in free.items():
            if actions:
                where = f" in {', '.join(cases)}" if len(free) > 1 else ""
                thrusts[f"'{name}'"][f"no limit was given for {_and(actions)}{where}"] = None
    return [
        f"What is allowed on the nozzle or pipe at joint {name} is compared part by part, force and moment never together, about the "
        f"bolt-circle center{''.join(f'; {each}' for each in words)}."
        for name, words in thrusts.items()
    ]


def _and(names: Sequence[str]) -> str:
    return " and ".join([part for part in (", ".join(names[:-1]), names[-1]) if part])


def _form_left_open(study: Study) -> bool:
    """Whether tension and shear are combined in a form that nobody chose."""
    return any(
        allow.bolt_tension is not None and allow.bolt_shear is not None and allow.tension_with_shear is None
        for joint in study.joints.values()
        for case in study.cases.values()
        for allow in (in_force(study, joint, case),)
    )


def _of_supports(study: Study, option: str) -> list[str]:
    """How joints and supports share the reaction; empty where one joint carries it alone."""
    supports = study.supports.get(option, ())
    if not supports and len(study.joints) < 2:
        return []
    lines = [
        "The fitting is a rigid body on its joints and supports, which act as linear springs; one-way supports, gaps and set loads "
        "are resolved exactly, every case by itself and from the unloaded state.",
    ]
    if supports:
        lines.append(
            "Supports are set while the fitting is held. One set once its weight is on the joint takes none of that back: write as settles "
            "what the joint had given there."
        )
        lines.append(
            "What supports stand on, hang from or are fastened to (wall, steel, footing, anchors, brackets, welds) is not judged, its strength "
            "as little as its give: whoever answers for it needs the support forces."
        )
    if any(joint.pipe_behind is not None for joint in study.joints.values()):
        own = [
            f"'{n}'"
            for n, each in study.joints.items()
            if each.pipe_behind and isinstance(each.stiffness, JointStiffness)
        ]
        lines.append(
            "The pipe behind a joint is a straight cantilever to a fixed end (Timoshenko beam), in series with bolts and gasket where "
            f"their stiffness is known, the face taken as closed{f'; not at joint {_and(own)}, whose stiffness is given' if own else ''}."
        )
        lines.append(PIPE_WEIGHT)
        lines.append(PIPE_LENGTH)
    if any(support.friction for support in supports):
        lines.append(
            "Friction at a support is elastic until it slides at the coefficient times the force; it is as stiff as the free top of its "
            "post (3EI/L³) where section and length are given, else as the support along its direction (common practice, no source)."
        )
    if any(support.rod_series for support in supports):
        lines.append(
            "Rod loads by MSS SP-58 hold for low carbon steel rods without bending or shock, within its temperatures."
        )
    return lines


def _share_rule(study: Study) -> str:
    if any(joint.bolts.stiffness is not None for joint in study.joints.values()):
        return "the bolt stiffness given"
    return "tensile area (equal grip)"
