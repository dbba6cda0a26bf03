"""What stayed as the file gives it although the bolts varied, and what a choice leaves open: sentences of the answer of ``size``."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from anchorsize import reference
from anchorsize.assessment.asking import merged
from anchorsize.studies.size_candidates import same_size
from anchorsize.studies.size_flange import gasket_fits, tabled_rating
from anchorsize.studies.size_tightening import Candidate
from anchorsize.study import Joint, Study


def notes(study: Study, name: str, judged: Sequence[Candidate]) -> tuple[str, ...]:
    """What stayed as the file gives it although another bolt might ask for another value, and what nothing guards."""
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
    if classes and (forces or stresses):
        sentences.append(f"the allowable {' and '.join(forces + stresses)} was held for every class")
    if sizes and allow.bolt_spacing_least is not None and allow.bolt_spacing_least.table is None:
        sentences.append("the least bolt spacing given was held for every size")
    sentences += _held_tightening(joint, judged, sizes)
    sentences += _holes(joint, judged)
    if other and joint.thread_engagement is not None:
        sentences.append("thread_engagement was held for every size")
    if other and joint.members is not None:
        sentences.append("members / face_diameter was held for every size")
    sentences += _standard(study, joint, judged)
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


def _standard(study: Study, joint: Joint, judged: Sequence[Candidate]) -> Iterator[str]:
    """What a standard flange brought, and what of the file stayed beside it."""
    names = list(dict.fromkeys(each.flange for each in judged if each.flange is not None))
    if not names:
        return
    yield "with a standard flange went its own drilling, outside, thickness and hole"
    if joint.flange.rating is None:
        yield (
            "no flange / rating is given, so nothing judges whether a standard flange bears the pressure; write "
            "flange / rating: from table, with fluid / temperature"
        )
    elif tabled_rating(study, joint) is not None:
        yield "flange / rating followed from the table of each standard flange"
    else:
        yield "flange / rating was held for every standard flange, but for those that the table gives less"
    if joint.grip is not None:
        yield "the grip was held for every standard flange, though its thickness may differ from that of the file's"
    if joint.gasket is None:
        return
    drillings = [reference.flange(name) for name in names]
    changed = [
        each.designation
        for each in drillings
        if not gasket_fits(joint.gasket, each, reference.thread(each.bolt).diameter)
    ]
    if changed:
        yield (
            "the gasket of the file does not fit inside the bolts of "
            f"{', '.join(changed)}: the flat ring tabled for that flange took its place, thickness, modulus, m and y as given"
        )
    if len(changed) < len(names):
        yield "the gasket of the file was kept for every standard flange that it fits inside the bolts of"
