"""What may be chosen for the bolts of a joint, and the study with one choice in place of the bolts that the file gives."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Sequence
from dataclasses import fields, replace
from typing import Any

import numpy as np

from anchorsize import reference
from anchorsize.assessment import StudyError
from anchorsize.assessment.asking import merged
from anchorsize.assessment.clamping import clamping
from anchorsize.assessment.refusing import Refused
from anchorsize.mechanics.frames import circle_positions
from anchorsize.reference import FlangeDrilling, NotInTable
from anchorsize.studies.size_flange import MisfitError, drilled_for, holds_bolt, seat, within_rim
from anchorsize.studies.size_tightening import Candidate, tightening_of, without_gasket
from anchorsize.study import (
    Allowable,
    Allowables,
    Array,
    BoltPattern,
    Joint,
    Opening,
    Provenance,
    Sizing,
    Study,
)
from anchorsize.units import show

MOST_CANDIDATES = 100_000
DRILLING = ("counts", "sizes", "circles")  # what a standard flange brings itself
SAME_CIRCLE = 1e-4  # m, by which a bolt circle may differ from a tabled one, which is rounded in one of its units


def chosen_sizing(study: Study, joint: str, asked: Sizing) -> Sizing:
    """What may be chosen for a joint: as asked, else as the joint says, else as the file says, entry by entry.

    Standard flanges that are asked for are narrowed only by the drilling that is asked for, not by that of the file.
    """
    sources = [asked, study.joints[joint].sizing or Sizing(), study.sizing or Sizing()]

    def picked(name: str) -> Any:
        among = sources[:1] if name in DRILLING and (asked.standard or asked.flanges) else sources
        return next((value for each in among if (value := getattr(each, name))), getattr(asked, name))

    return Sizing(**{field.name: picked(field.name) for field in fields(Sizing)})


def left_aside(study: Study, joint: str, asked: Sizing) -> tuple[str, ...]:
    """The entries of the file's sizing that :func:`chosen_sizing` leaves aside, for standard flanges were asked for."""
    if not (asked.standard or asked.flanges):
        return ()
    given = (study.joints[joint].sizing or Sizing(), study.sizing or Sizing())
    return tuple(name for name in DRILLING if not getattr(asked, name) and any(getattr(each, name) for each in given))


def candidates(study: Study, joint: str, sizing: Sizing) -> tuple[Candidate, ...]:
    """Every combination of what ``sizing`` allows, each once.

    Counts, sizes and circles are combined with one another; beside standard flanges, they choose among those. Drillings are combined
    with the classes and the tightening. What is not named stays as the joint has it.

    Raises
    ------
    StudyError
        Nothing to choose from, too many combinations, a joint whose own bolts do not say what is left open, or no standard flange
        with such a drilling.
    """
    if sizing == Sizing():
        raise StudyError(
            f"joint '{joint}': nothing to choose from; name counts, sizes, circles, classes, torques, preload shares, flanges or "
            "the standard drillings, on the command line or under 'sizing' in the file"
        )
    bolts = study.joints[joint].bolts
    standard = bool(sizing.flanges or sizing.standard)
    drillings = _standard(study, joint, sizing) if standard else _free(joint, bolts, sizing)
    classes = sizing.classes or (bolts.property_class,)
    tightenings: list[tuple[float | None, float | None]] = [(torque, None) for torque in sizing.torques]
    tightenings += [(None, share) for share in sizing.preload_shares]
    tightenings = tightenings or [(None, None)]
    total = len(drillings) * len(classes) * len(tightenings)
    if total > MOST_CANDIDATES:
        raise StudyError(
            f"{total:,} combinations are more than the {MOST_CANDIDATES:,} that are judged at once; name fewer"
        )
    made = (
        Candidate(count, size, circle, grade, torque, share, flange)
        for (count, size, circle, flange), grade, (torque, share) in itertools.product(drillings, classes, tightenings)
    )
    return tuple(dict.fromkeys(made))


_Drilling = tuple[int, str, float, str | None]


def _free(joint: str, bolts: BoltPattern, sizing: Sizing) -> list[_Drilling]:
    """Counts, sizes and circles combined."""
    sizes = sizing.sizes or tuple(dict.fromkeys(bolts.sizes))
    circles = sizing.circles or (() if bolts.circle is None else (float(np.max(bolts.circle)),))
    if len(sizes) > 1 and not sizing.sizes:
        raise StudyError(f"joint '{joint}' has bolts of {', '.join(sizes)}; name the sizes to choose from")
    if not circles:
        raise StudyError(f"joint '{joint}' has bolts at places of their own; name the bolt circles to choose from")
    counts = sizing.counts or (len(bolts.numbers),)
    return [(count, size, circle, None) for count, size, circle in itertools.product(counts, sizes, circles)]


def _standard(study: Study, joint: str, sizing: Sizing) -> list[_Drilling]:
    """The drillings of the flanges named, and of every tabled flange of the bore's nominal size, as far as counts, sizes, circles allow."""
    found = _flanges(study, joint, sizing)
    kept = [each for each in found if _allowed(each, sizing)]
    if not kept:
        have = "; ".join(
            f"{each.designation}: {each.count} x {each.bolt} on {show(each.bolt_circle, 'length', study.units)}"
            for each in found
        )
        raise StudyError(
            f"joint '{joint}': none of the standard flanges has a drilling that counts, sizes and circles allow; they have {have}"
        )
    return [(each.count, each.bolt, each.bolt_circle, each.designation) for each in kept]


def narrowed_out(study: Study, joint: str, sizing: Sizing) -> tuple[str, ...]:
    """The standard flanges that counts, sizes and circles leave out."""
    return tuple(each.designation for each in _flanges(study, joint, sizing) if not _allowed(each, sizing))


def _flanges(study: Study, joint: str, sizing: Sizing) -> list[FlangeDrilling]:
    found = [reference.flange(name) for name in sizing.flanges]
    if sizing.standard:
        standard, _ = standard_of(study.joints[joint])
        every = reference.flanges_for_bore(_bore(study.openings[study.joints[joint].at]))
        found += [each for each in every if standard is None or each.designation.startswith(standard)]
    return found


def standard_of(joint: Joint) -> tuple[str | None, str]:
    """The flange standard that a joint keeps to, so that it mates with what is there, and why; None where nothing tells."""
    designation = joint.flange.designation
    for standard in reference.FLANGE_STANDARDS:
        if designation is not None and designation.startswith(standard):
            return standard, "that of the file's flange"
    threads = {size.upper().startswith("M") for size in joint.bolts.sizes if _is_thread(size)}
    if len(threads) != 1:
        return None, ""
    return ("EN 1092-1", "for its metric bolts") if threads.pop() else ("ASME B16.5", "for its inch bolts")


def _is_thread(size: str) -> bool:
    try:
        reference.thread(size)
    except NotInTable:
        return False
    return True


def _allowed(drilling: FlangeDrilling, sizing: Sizing) -> bool:
    """Whether counts, sizes and circles, as far as they are named, have this drilling among them."""
    return (
        (not sizing.counts or drilling.count in sizing.counts)
        and (not sizing.sizes or _plain(drilling.bolt) in map(_plain, sizing.sizes))
        and (not sizing.circles or any(abs(drilling.bolt_circle - each) <= SAME_CIRCLE for each in sizing.circles))
    )


def _bore(opening: Opening) -> float:
    return float(np.sqrt(4.0 * np.max(opening.area) / np.pi))


def fit(study: Study, name: str, candidate: Candidate) -> Study:
    """The study with the bolts of joint ``name`` replaced by a candidate, every bolt there, on the flange that goes with it.

    Bolt 1 keeps its share of the bolt pitch where the count changes. What follows from the size follows: thread, areas,
    strengths, a spacing taken from the table, a preload that is a share of proof.

    Raises
    ------
    MisfitError
        The candidate cannot be: its class does not cover the size, bolts overlap, leave the flange or rattle in its holes, or would break.
    StudyError
        The study lacks what any candidate needs.
    """
    joint = study.joints[name]
    bolts = _bolts(joint, candidate)
    seated = seat(study, joint, candidate.flange, float(bolts.diameter[0]))
    bare = replace(joint, bolts=bolts, flange=seated.flange, gasket=seated.gasket, grip=seated.grip)
    _fits(study, bare, candidate)
    drilled_for(study, bare)
    holds_bolt(study, bare.flange.hole, float(bolts.diameter[0]))
    fitted = replace(bare, tightening=tightening_of(bare, joint, candidate, study.units))
    try:
        clamping(without_gasket(fitted))
    except StudyError as error:
        clamping(without_gasket(fitted), Refused(()))  # raises what is wrong with the file and not with this candidate
        raise MisfitError(str(error)) from None
    fitted, general, origins = _wrench_room(study, fitted)
    return replace(
        study,
        allow=general,
        joints={**study.joints, name: fitted},
        provenance=_provenance(study, joint, candidate, [*seated.origins, *origins]),
        notes=tuple(_note(note, name, candidate.count) for note in study.notes),
    )


def _bolts(joint: Joint, candidate: Candidate) -> BoltPattern:
    given, count = joint.bolts, candidate.count
    first = float(given.angle[0]) if given.circle is not None else np.pi / count
    if given.circle is not None and count != len(given.numbers):
        # the share is rounded so that half a pitch stays half a pitch; whole pitches only rename the bolts
        first = round(first * len(given.numbers) / (2.0 * np.pi), 9) % 1.0 * 2.0 * np.pi / count
    xy, angle = circle_positions(count, candidate.circle, first)
    thread = _thread(given, candidate.size)
    tensile, yielding, proof = _strengths(candidate.bolt_class, thread["diameter"])
    own = given.proof_given and candidate.bolt_class == given.property_class
    return replace(
        given,
        numbers=tuple(range(1, count + 1)),
        sizes=(candidate.size,) * count,
        xy=xy,
        present=np.ones(count, dtype=np.bool_),
        angle=angle,
        circle=candidate.circle,
        stiffness=_stiffness(joint, candidate),
        property_class=candidate.bolt_class,
        tensile_strength=tensile,
        yield_strength=yielding,
        proof_strength=given.proof_strength if own else proof,
        proof_given=own,
        diameter=np.full(count, thread["diameter"]),
        pitch=np.full(count, thread["pitch"]),
        tensile_area=np.full(count, thread["tensile_area"]),
        root_area=np.full(count, thread["root_area"]),
        shank_area=np.full(count, thread["shank_area"]),
    )


def same_size(bolts: BoltPattern, size: str) -> bool:
    """Whether every bolt of a pattern has the size, however it is written."""
    return {_plain(each) for each in bolts.sizes} == {_plain(size)}


def _plain(size: str) -> str:
    """A size as the tables write it; as it is where they do not have it."""
    try:
        return reference.thread(size).designation
    except NotInTable:
        return size


_THREAD = ("diameter", "pitch", "tensile_area", "root_area", "shank_area")


def _thread(given: BoltPattern, size: str) -> dict[str, float]:
    """Thread of the size: as the file has it where it is the same, for the file may give areas of its own."""
    if same_size(given, size):
        return {key: float(getattr(given, key)[0]) for key in _THREAD}
    try:
        found = reference.thread(size)
    except NotInTable as error:  # a bolt of a standard flange, for sizes of the user's are looked up before
        raise MisfitError(str(error)) from None
    return {key: getattr(found, key) for key in _THREAD}


def _strengths(bolt_class: str | None, diameter: float) -> tuple[float | None, float | None, float | None]:
    if bolt_class is None:
        return None, None, None
    try:
        found = reference.property_class(bolt_class, diameter)
    except NotInTable as error:
        raise MisfitError(str(error)) from None
    return found.tensile, found.yield_strength, found.proof


def _stiffness(joint: Joint, candidate: Candidate) -> Array | None:
    given = joint.bolts.stiffness
    if given is None:
        return None
    if not same_size(joint.bolts, candidate.size) or np.ptp(given) > 0.0:
        raise StudyError(
            f"joint '{joint.name}': the bolt stiffness given belongs to the bolts of the file; give grip and bolt_modulus in its "
            "place, from which that of every size follows"
        )
    return np.full(candidate.count, given[0])


def _fits(study: Study, joint: Joint, candidate: Candidate) -> None:
    """Raise MisfitError where the bolts of a joint have no room."""
    opening, circle, diameter = study.openings[joint.at], candidate.circle, float(joint.bolts.diameter[0])

    def shown(value: float) -> str:
        return show(value, "length", study.units)

    inner = circle - diameter
    hole = diameter if joint.flange.hole is None else max(diameter, float(np.max(joint.flange.hole)))
    if joint.gasket is not None and inner < float(np.max(joint.gasket.rim)) - reference.RING_ROUNDING:
        raise MisfitError(
            f"the bolts stand in the gasket: free inside them {shown(inner)}, gasket {shown(float(np.max(joint.gasket.rim)))}"
        )
    if inner <= _bore(opening):
        raise MisfitError(f"the bolts stand in the bore: free inside them {shown(inner)}, bore {shown(_bore(opening))}")
    within_rim(study, joint.flange, circle, hole, diameter)
    if candidate.count == 1:
        return
    chord = circle * float(np.sin(np.pi / candidate.count))
    if chord <= diameter:
        raise MisfitError(f"the bolts overlap: {shown(chord)} from center to center, diameter {shown(diameter)}")
    if merged(study.allow, joint.allow).bolt_spacing_least is None:
        least = _wrench(diameter)
        if least is not None and chord < least[0]:
            raise MisfitError(
                f"no room for a wrench: {shown(chord)} from center to center, {shown(least[0])} wanted by {least[1].table}, row {least[1].row}"
            )


def _wrench(diameter: float) -> tuple[float, Provenance] | None:
    try:
        return reference.wrench_spacing(diameter)
    except NotInTable:
        return None


def _wrench_room(study: Study, fitted: Joint) -> tuple[Joint, Allowables, list[Provenance]]:
    """Least spacings that the user wanted from the table, for the new size."""
    general, own, origins = study.allow, fitted.allow, []

    def renewed(given: Allowable, diameter: float) -> Allowable:
        try:
            value, origin = reference.wrench_spacing(diameter)
        except NotInTable as error:
            raise MisfitError(str(error)) from None
        origins.append(origin)
        return replace(given, value=value, origin=origin.source)

    own_size = float(np.max(fitted.bolts.diameter))
    if general.bolt_spacing_least is not None and general.bolt_spacing_least.table:
        others = [float(np.max(each.bolts.diameter)) for each in study.joints.values() if each.name != fitted.name]
        general = replace(general, bolt_spacing_least=renewed(general.bolt_spacing_least, max(own_size, *others, 0.0)))
    if own is not None and own.bolt_spacing_least is not None and own.bolt_spacing_least.table:
        own = replace(own, bolt_spacing_least=renewed(own.bolt_spacing_least, own_size))
    return replace(fitted, allow=own), general, origins


def _provenance(
    study: Study, joint: Joint, candidate: Candidate, origins: Iterable[Provenance]
) -> tuple[Provenance, ...]:
    """The table rows behind the study with this candidate: those of the old bolts give way to those of the new."""
    old: set[Provenance | None] = set(_rows(joint.bolts.sizes, joint.bolts.property_class))
    if any(each.table for each in _spacings(study.allow, joint.allow)):
        old |= {row for row in study.provenance if row.what == "least bolt spacing"}
    if candidate.flange is not None:
        old |= {joint.flange.rating_row, *_flange_rows(joint)}
    kept = [row for row in study.provenance if row not in old]
    new = [*_rows((candidate.size,), candidate.bolt_class), *origins]
    return tuple(dict.fromkeys([*kept, *new]))


def _flange_rows(joint: Joint) -> list[Provenance]:
    """The table row of the joint's own standard flange."""
    try:
        return [] if joint.flange.designation is None else [reference.flange(joint.flange.designation).provenance]
    except NotInTable:
        return []


def _spacings(*allow: Allowables | None) -> list[Allowable]:
    return [each.bolt_spacing_least for each in allow if each is not None and each.bolt_spacing_least is not None]


def _rows(sizes: Sequence[str], bolt_class: str | None) -> list[Provenance]:
    rows = []
    for size in dict.fromkeys(sizes):
        try:
            thread = reference.thread(size)
            rows.append(thread.provenance)
            if bolt_class is not None:
                rows.append(reference.property_class(bolt_class, thread.diameter).provenance)
        except NotInTable:
            continue
    return rows


def _note(note: str, joint: str, count: int) -> str:
    """A note of the reader about where bolt 1 stands, for the new count."""
    lead = f"Joint '{joint}': first_at not given"
    return (
        f"{lead}, so the bolts straddle the reference direction (bolt 1 at {180 / count:g}°)."
        if note.startswith(lead)
        else note
    )
