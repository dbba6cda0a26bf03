"""What stayed as the file gives it although the bolts varied, and what a choice leaves open: sentences of the answer of ``size``."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from anchorsize import reference
from anchorsize.assessment.asking import merged
from anchorsize.assessment.checks_actions import asked_of
from anchorsize.studies.size_candidates import left_aside, narrowed_out, same_size, standard_of
from anchorsize.studies.size_flange import seat
from anchorsize.studies.size_tightening import Candidate
from anchorsize.study import Joint, Sizing, Study

OF_STEEL = ("bolt_thread_shear", "bolt_stress_operating", "bolt_stress_seating", "endurance_limit")
"""Further allowables that belong to the class of a bolt."""


def notes(study: Study, name: str, judged: Sequence[Candidate], asked: Sizing, chosen: Sizing) -> tuple[str, ...]:
    """What stayed as the file gives it although another bolt might ask for another value, and what nothing guards.

    ``asked`` is what the command line asks to choose from, ``chosen`` what was chosen from.
    """
    joint, allow = study.joints[name], merged(study.allow, study.joints[name].allow)
    other = any(not same_size(joint.bolts, candidate.size) for candidate in judged)
    sizes = len({candidate.size for candidate in judged}) > 1 or other
    classes = len({candidate.bolt_class for candidate in judged} | {joint.bolts.property_class}) > 1
    sentences = []
    if joint.gasket is not None and allow.bolt_spacing_greatest is None:
        sentences.append(
            "no greatest bolt spacing is given, so nothing keeps few bolts from standing so far apart that the gasket leaks between "
            "them; write allow / bolt_spacing_greatest, a length or `from formula`"
        )
    in_force = [allow, *(case.allow for case in study.cases.values() if case.allow is not None)]
    pairs = [(key, getattr(each, key)) for key in ("bolt_tension", "bolt_shear") for each in in_force]
    forces = list(dict.fromkeys(key for key, value in pairs if value is not None and value.unit == "N"))
    stresses = list(dict.fromkeys(key for key, value in pairs if value is not None and value.unit == "Pa"))
    if sizes and forces:
        sentences.append(
            f"the force per bolt of {' and '.join(forces)} was held for every size; a larger bolt gains nothing by it"
        )
    of_steel = [key for key in OF_STEEL if any(getattr(each, key) is not None for each in in_force)]
    if classes and (held := [*forces, *stresses, *of_steel]):
        what = f"allowables {', '.join(held[:-1])} and {held[-1]} were" if len(held) > 1 else f"allowable {held[0]} was"
        sentences.append(f"the {what} held for every class; write those of the class chosen before its verdict counts")
    if sizes and allow.bolt_spacing_least is not None and allow.bolt_spacing_least.table is None:
        sentences.append("the least bolt spacing given was held for every size")
    if nozzle := list(dict.fromkeys(check for each in in_force for check in asked_of(each))):
        sentences.append(
            f"{', '.join(nozzle)}: {'these checks are' if len(nozzle) > 1 else 'this check is'} of what the fitting puts on the nozzle or pipe, "
            "and no choice of bolts mends that; less flow or pressure may, or supports, with the joint's stiffness or pipe_behind"
        )
    sentences += _held_tightening(joint, judged, sizes)
    sentences += _holes(joint, judged)
    if other and joint.thread_engagement is not None:
        sentences.append("thread_engagement was held for every size")
    if other and joint.members is not None:
        sentences.append("members / face_diameter was held for every size")
    sentences += _flanges(study, name, asked, chosen)
    sentences += _standard(joint, judged, study)
    sentences += _masses(study, joint, judged)
    if not bool(np.all(joint.bolts.present)):
        sentences.append("bolts that the file names as missing are there in every candidate")
    return tuple(sentences)


def _held_tightening(joint: Joint, judged: Sequence[Candidate], sizes: bool) -> list[str]:
    given, sentences = joint.tightening, []
    if given is None:
        return []
    if sizes and any(candidate.preload_share is None and candidate.torque is None for candidate in judged):
        what = "torque" if given.preload is None else "preload"
        sentences.append(
            f"the {what} per bolt was held for every size; with preload shares it follows the proof load of each"
        )
    if sizes and given.bearing_diameter is not None:
        sentences.append("tightening / bearing_diameter was held for every size")
    return sentences


def _holes(joint: Joint, judged: Sequence[Candidate]) -> Iterator[str]:
    """Whether the holes of the file's flange were kept or made to suit."""
    own = [each.size for each in judged if each.flange is None]
    if joint.flange.hole is not None and not all(same_size(joint.bolts, size) for size in own):
        yield (
            "flange / hole was held for bolts that go through it; for larger ones it was taken from the table of clearance holes, "
            "and --write writes it"
        )


def masses_held(study: Study) -> str:
    """The masses of the file, in which its own flange may be; empty where it has none, or that of a bare wall alone."""
    fitting = study.fitting
    own = [] if fitting.mass is None or fitting.bare_wall else ["fitting / mass"]
    beside = [f"'{each.name}'" for each in fitting.extra_masses]
    return " and ".join([*own, *([f"extra_masses {', '.join(beside)}"] if beside else [])])


def _masses(study: Study, joint: Joint, judged: Sequence[Candidate]) -> Iterator[str]:
    """That the masses stayed where another flange was judged."""
    other = any(each.flange not in (None, joint.flange.designation) for each in judged)
    held = masses_held(study)
    if other and held:
        yield (
            f"{held} in the file were not changed with the flange; where the old flange is among them, its weight is still in every weight "
            "and load here: write the new one's"
        )


def _flanges(study: Study, name: str, asked: Sizing, chosen: Sizing) -> Iterator[str]:
    """Which standard flanges were looked at, and which were not."""
    if chosen.standard:
        standard, why = standard_of(study.joints[name])
        if standard is not None:
            yield (
                f"standard flanges are those of {standard}, {why}; others are judged where --flanges (or sizing / flanges) names them. One of "
                "another class or PN does not bolt to the flange that is there: both change"
            )
    aside = left_aside(study, name, asked)
    if aside:
        yield (
            f"{', '.join(aside)} under sizing in the file were left aside, for standard flanges bring their own; named on the command line they "
            "choose among the flanges"
        )
    if chosen.flanges or chosen.standard:
        out = narrowed_out(study, name, chosen)
        if out:
            yield f"left out, for counts, sizes and circles allow no such drilling: {', '.join(out)}"


def _standard(joint: Joint, judged: Sequence[Candidate], study: Study) -> Iterator[str]:
    """What a standard flange brought, and what of the file stayed beside it."""
    seated = {
        each.flange: seat(study, joint, each.flange, reference.thread(each.size).diameter)
        for each in judged
        if each.flange is not None
    }
    if not seated:
        return
    yield "with a standard flange went its own drilling, outside, thickness, hole and raised face"
    if joint.flange.rating is None:
        yield (
            "no flange / rating is given, so nothing judges whether a standard flange bears the pressure; write "
            "flange / rating: from table, with fluid / temperature"
        )
    elif joint.flange.rating_row is not None:
        yield "flange / rating followed from the table of each standard flange"
    else:
        yield "flange / rating was held for every standard flange, but for those that the table gives less"
    if any(each.grip != joint.grip for each in seated.values()):
        yield (
            "the grip followed the thickness of each standard flange, taken on both sides: the mating flange is then of the same kind"
        )
    ring = joint.gasket
    if ring is None:
        return
    changed = [
        str(name)
        for name, each in seated.items()
        if each.gasket is not None and (each.gasket.inside, each.gasket.rim) != (ring.inside, ring.rim)
    ]
    if changed:
        yield (
            f"the flat ring tabled for the flange took the place of the file's gasket with {', '.join(changed)}; thickness, modulus, m and y "
            "as given"
        )
