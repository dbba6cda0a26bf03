"""The flange that goes with a candidate: a standard one with its own dimensions, ring and grip, or the file's with holes to suit."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TypeVar

import numpy as np

from anchorsize import reference
from anchorsize.assessment.findings_flange import bearing_flats, drilled_otherwise, over_rim, widest
from anchorsize.reference import FlangeDrilling, NotInTable
from anchorsize.reference.holes import clearance_hole
from anchorsize.study import Flange, Gasket, Joint, Number, Provenance, Study
from anchorsize.units import show

T = TypeVar("T")
ROOM = 293.15  # [K]
ROUNDING = 1e-9  # share by which lengths that mean the same may differ
SAME_RING = 0.01  # share by which a ring that is the tabled one may differ from it
SAME_GRIP = (
    0.1  # share by which the grip of two flanges and their gasket may differ from their sum: washers, older editions
)


class MisfitError(ValueError):
    """A candidate that cannot be, for a reason of its own; the others still can."""


@dataclass(frozen=True)
class Seated:
    """The flange, gasket and grip [m] of a candidate, with the table rows behind what is not the file's.

    ``held`` says of what stayed as the file gives it, although it need not suit this flange, that it did.
    """

    flange: Flange
    gasket: Gasket | None
    grip: Number | None
    origins: tuple[Provenance, ...]
    held: tuple[str, ...] = ()


def seat(study: Study, joint: Joint, designation: str | None, diameter: float) -> Seated:
    """Flange, gasket and grip for bolts of ``diameter`` [m]: of the standard flange named, else those of the file.

    A standard flange brings outside, thickness, hole and, where the file's is that of a table, its rating; a rating that the
    file gives itself stays unless the table has less for that flange, at room temperature where the fluid's is not given, for
    hotter flanges bear less still. The file's gasket stays unless it is the ring tabled for the file's flange or does not fit inside
    those bolts; then the flat ring of the flange takes its place. The file's grip, where it is about that of two of its flanges and
    the gasket, grows by what the standard flange is thicker, on both sides. Where the file gives a hole too small for the bolt, the clearance hole of the table is taken.

    Raises
    ------
    MisfitError
        No ring, rating or clearance hole is tabled where one is wanted.
    """
    if designation is not None:
        return _standard(study, joint, reference.flange(designation), diameter)
    given = joint.flange.hole
    if given is None or float(np.min(given)) > diameter * (1.0 + ROUNDING):
        return Seated(joint.flange, joint.gasket, joint.grip, ())
    hole, origin = _tabled(clearance_hole, diameter)
    return Seated(replace(joint.flange, hole=hole), joint.gasket, joint.grip, (origin,))


def drilled_for(study: Study, joint: Joint) -> None:
    """Raise MisfitError where the standard flange that the file names has no holes for the bolts of a candidate."""
    drilled = drilled_otherwise(joint.flange, joint.bolts)
    if drilled is not None:
        raise MisfitError(
            f"flange '{drilled.designation}' of the file has {drilled.count} holes on "
            f"{show(drilled.bolt_circle, 'length', study.units)}; for bolts of your own give its dimensions in place of its name, or size "
            "with other standard flanges"
        )


def holds_bolt(study: Study, hole: Number | None, diameter: float) -> None:
    """Raise MisfitError where a hole [m] is wider than any that is drilled for a bolt of ``diameter`` [m]."""
    given = 0.0 if hole is None else float(np.max(hole))
    known = widest(given, diameter)
    if known is not None:
        raise MisfitError(
            f"the holes are too wide for the bolt: {show(given, 'length', study.units)}, at most "
            f"{show(known[0], 'length', study.units)} drilled for it ({known[1]}); where the flange is yet to be drilled, take "
            "flange / hole out of the file"
        )


def within_rim(study: Study, flange: Flange, circle: float, hole: float, diameter: float) -> None:
    """Raise MisfitError where holes [m] on a bolt circle [m], or the nuts of bolts of ``diameter`` [m], reach over the rim of a flange."""
    if flange.outside is None:
        return
    outside = float(np.min(flange.outside))

    def shown(value: float) -> str:
        return show(value, "length", study.units)

    if (circle + hole) * (1.0 + ROUNDING) >= outside:
        raise MisfitError(
            f"the bolts break the rim: outside their holes {shown(circle + hole)}, flange {shown(outside)}"
        )
    known = bearing_flats(diameter)
    if known is not None and over_rim(0.5 * circle, known[0], outside):
        flats, origin = known
        raise MisfitError(
            f"the nuts reach over the rim: outside them {shown(circle + flats)}, flange {shown(outside)}; a nut has "
            f"{shown(flats)} across flats ({origin.source})"
        )


def _standard(study: Study, joint: Joint, drilling: FlangeDrilling, diameter: float) -> Seated:
    rating, row = _rating(study, joint, drilling.designation)
    flat = joint.flange.flat
    flange = Flange(
        outside=drilling.outside,
        thickness=drilling.thickness,
        hole=drilling.hole,
        rating=rating,
        designation=drilling.designation,
        raised_face=None if flat else drilling.raised_face,
        face_height=0.0 if flat else drilling.face_height,
        flat=flat,
        rating_row=row,
    )
    gasket, rings, kept = _gasket(joint, drilling, diameter)
    grip, grip_kept = _grip(joint, flange)
    origins = [drilling.provenance, *rings]
    if row is not None:
        origins.append(row)
    return Seated(
        flange, None if gasket is None else gasket.on(flange.raised_face), grip, tuple(origins), (*grip_kept, *kept)
    )


def _gasket(
    joint: Joint, drilling: FlangeDrilling, diameter: float
) -> tuple[Gasket | None, tuple[Provenance, ...], tuple[str, ...]]:
    """The gasket on a standard flange, the table row of a new ring, and what is to be said of one that was kept."""
    gasket = joint.gasket
    if gasket is None:
        return None, (), ()
    fits = float(np.max(gasket.rim)) <= drilling.bolt_circle - diameter + reference.RING_ROUNDING
    if fits and joint.flange.designation == drilling.designation:
        return gasket, (), ()
    tabled = _ring_is_tabled(joint)
    if fits and not tabled:
        return gasket, (), ("gasket ring of the file kept: it is not that of a tabled flange",)
    try:
        ring = reference.gasket_ring(drilling.designation)
    except NotInTable as error:
        if not fits:
            raise MisfitError(str(error)) from None
        return gasket, (), ("gasket ring of the file kept: no ring is tabled for this flange",)
    whole = replace(gasket, inside=ring.inside, outside=ring.outside, ring_outside=None, reaction_diameter=None)
    return whole, (ring.provenance,), ()


def _ring_is_tabled(joint: Joint) -> bool:
    """Whether the joint's gasket is the ring that the tables have for its flange."""
    gasket, designation = joint.gasket, joint.flange.designation
    if gasket is None or designation is None:
        return False
    try:
        ring = reference.gasket_ring(designation)
    except NotInTable:
        return False
    pairs = ((gasket.inside, ring.inside), (gasket.rim, ring.outside))
    return all(bool(np.allclose(given, tabled, rtol=SAME_RING, atol=0.0)) for given, tabled in pairs)


def _grip(joint: Joint, flange: Flange) -> tuple[Number | None, tuple[str, ...]]:
    """The grip [m] on another flange, and what is to be said where it could not follow its thickness.

    It changes by what both flanges are thicker, so that washers stay in it.
    """
    grip, old, new = joint.grip, joint.flange.height, flange.height
    if grip is None or joint.flange.designation == flange.designation:
        return grip, ()
    if old is None or new is None:
        return grip, (
            "GRIP OF THE FILE KEPT, which need not suit this flange: the thickness of the file's is not known",
        )
    ring = 0.0 if joint.gasket is None or joint.gasket.thickness is None else joint.gasket.thickness
    if not np.allclose(grip, 2.0 * np.asarray(old) + ring, rtol=SAME_GRIP, atol=0.0):
        why = "it is not about that of two of the file's flanges and the gasket"
        return grip, (f"GRIP OF THE FILE KEPT, which need not suit this flange: {why}",)
    longer = grip + 2.0 * (np.asarray(new) - old)
    threaded = joint.thread_length_in_grip
    if threaded is not None and np.any(np.asarray(threaded) > longer):
        raise MisfitError("thread_length_in_grip of the file is longer than the grip on this flange")
    return float(longer) if np.ndim(longer) == 0 else longer, ()


def _rating(study: Study, joint: Joint, designation: str) -> tuple[Number | None, Provenance | None]:
    """Rating of a standard flange: from the table where the file takes it from there, else at most what the file gives."""
    given, temperature = joint.flange.rating, study.fluid.temperature
    if given is None or joint.flange.designation == designation:
        return given, joint.flange.rating_row
    degrees = ROOM if temperature is None else float(np.max(temperature))
    try:
        found = reference.flange_rating(designation, degrees)
    except NotInTable as error:
        raise MisfitError(f"the rating of the file is that of another flange, and {error}") from None
    if joint.flange.rating_row is None and found.pressure >= float(np.min(given)):
        return given, None
    return found.pressure, found.provenance


def _tabled(look_up: Callable[..., T], *asked: object) -> T:
    """Look up a table; what is not in it makes the candidate one that cannot be."""
    try:
        return look_up(*asked)
    except NotInTable as error:
        raise MisfitError(str(error)) from None
