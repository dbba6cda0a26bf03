"""The flange that goes with a candidate: a standard one with all its own dimensions, or the file's with holes that let the bolts through."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TypeVar

import numpy as np

from anchorsize import reference
from anchorsize.reference import FlangeDrilling, NotInTable
from anchorsize.reference.holes import clearance_hole
from anchorsize.study import Flange, Gasket, Joint, Number, Provenance, Study

T = TypeVar("T")
ROOM = 293.15  # [K]
ROUNDING = 1e-9  # share by which lengths that mean the same may differ


class MisfitError(ValueError):
    """A candidate that cannot be, for a reason of its own; the others still can."""


@dataclass(frozen=True)
class Seated:
    """The flange and gasket of a candidate, with the table rows behind what is not the file's."""

    flange: Flange
    gasket: Gasket | None
    origins: tuple[Provenance, ...]


def seat(study: Study, joint: Joint, designation: str | None, diameter: float) -> Seated:
    """Flange and gasket for bolts of ``diameter`` [m]: of the standard flange named, else those of the file.

    A standard flange brings outside, thickness, hole and, where the file's is that of a table, its rating; a rating that the
    file gives itself stays unless the table has less for that flange, at room temperature where the fluid's is not given, for
    hotter flanges bear less still. The file's gasket stays unless it does not fit inside those bolts; then the flat ring of the
    flange takes its place. Where the file gives a hole too small for the bolt, the clearance hole of the table is taken.

    Raises
    ------
    MisfitError
        No ring, rating or clearance hole is tabled where one is wanted.
    """
    if designation is not None:
        return _standard(study, joint, reference.flange(designation), diameter)
    given = joint.flange.hole
    if given is None or float(np.min(given)) > diameter * (1.0 + ROUNDING):
        return Seated(joint.flange, joint.gasket, ())
    hole, origin = _tabled(clearance_hole, diameter)
    return Seated(replace(joint.flange, hole=hole), joint.gasket, (origin,))


def _standard(study: Study, joint: Joint, drilling: FlangeDrilling, diameter: float) -> Seated:
    rating, origins = _rating(study, joint, drilling.designation)
    flange = Flange(drilling.outside, drilling.thickness, drilling.hole, rating, drilling.designation)
    gasket = joint.gasket
    if gasket is not None and not gasket_fits(gasket, drilling, diameter):
        ring = _tabled(reference.gasket_ring, drilling.designation)
        gasket = replace(gasket, inside=ring.inside, outside=ring.outside, reaction_diameter=None)
        origins = (*origins, ring.provenance)
    return Seated(flange, gasket, (drilling.provenance, *origins))


def gasket_fits(gasket: Gasket, drilling: FlangeDrilling, diameter: float) -> bool:
    """Whether a gasket lies inside bolts of ``diameter`` [m] on the circle of a standard flange."""
    return float(np.max(gasket.outside)) <= drilling.bolt_circle - diameter + reference.RING_ROUNDING


def tabled_rating(study: Study, joint: Joint) -> Provenance | None:
    """The table row of the joint's rating where the file takes it from the table of its flange; None where it gives it."""
    given = joint.flange
    if given.rating is None or given.designation is None or study.fluid.temperature is None:
        return None
    try:
        found = reference.flange_rating(given.designation, float(np.max(study.fluid.temperature)))
    except NotInTable:
        return None
    same = found.provenance in study.provenance and np.isclose(found.pressure, float(np.max(given.rating)), rtol=1e-12)
    return found.provenance if same else None


def _rating(study: Study, joint: Joint, designation: str) -> tuple[Number | None, tuple[Provenance, ...]]:
    """Rating of a standard flange: from the table where the file takes it from there, else at most what the file gives."""
    given, temperature = joint.flange.rating, study.fluid.temperature
    if given is None or joint.flange.designation == designation:
        return given, ()
    degrees = ROOM if temperature is None else float(np.max(temperature))
    try:
        found = reference.flange_rating(designation, degrees)
    except NotInTable as error:
        raise MisfitError(f"the rating of the file is that of another flange, and {error}") from None
    if tabled_rating(study, joint) is None and found.pressure >= float(np.min(given)):
        return given, ()
    return found.pressure, (found.provenance,)


def _tabled(look_up: Callable[..., T], *asked: object) -> T:
    """Look up a table; what is not in it makes the candidate one that cannot be."""
    try:
        return look_up(*asked)
    except NotInTable as error:
        raise MisfitError(str(error)) from None
