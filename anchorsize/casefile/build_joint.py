"""Joints from their entries: frame, bolts and their threads, gasket, tightening, allowables."""

from __future__ import annotations

from dataclasses import replace
from typing import Literal, cast

import numpy as np

from anchorsize.casefile.build_bolts import build_bolts
from anchorsize.casefile.build_room import judge_room
from anchorsize.casefile.build_sizing import build_sizing
from anchorsize.casefile.build_tightening import build_tightening
from anchorsize.casefile.building import Building, Path
from anchorsize.casefile.format_joint import (
    AllowEntry,
    BoltsEntry,
    FlangeEntry,
    GasketEntry,
    JointEntry,
    JointStiffnessEntry,
)
from anchorsize.casefile.quantities import Quantity, si, vector
from anchorsize.reference import FlangeDrilling, flange, flange_rating, wrench_spacing
from anchorsize.study import (
    Allowable,
    Allowables,
    Array,
    BoltPattern,
    Condition,
    Flange,
    Gasket,
    Joint,
    JointStiffness,
    Members,
    Number,
    Opening,
    PipeBehind,
    Provenance,
)

_PARALLEL = 1e-6  # sine of the angle below which a direction counts as lying along the axis


def build_joint(
    building: Building, name: str, entry: JointEntry, openings: dict[str, Opening], up: Array
) -> Joint | None:
    """Build one joint, or return None where a problem was found that leaves nothing to build."""
    path = ("joints", name)
    building.remark(path, entry.note)
    opening = openings.get(entry.at)
    if entry.at not in building.opening_names:
        building.unknown((*path, "at"), entry.at, "opening", building.opening_names)
    drilling = _drilling(building, path, entry)
    unlisted = drilling is None and entry.flange is not None and entry.flange.designation is not None
    bolts = build_bolts(building, path, entry.bolts or BoltsEntry.model_construct(), drilling, unlisted)
    flange_built = _flange(building, path, entry, drilling)
    gasket = _gasket(building, entry.gasket, flange_built) if entry.gasket else None
    tightening = build_tightening(building, path, entry.tightening, bolts) if entry.tightening else None
    allow = build_allow(building, (*path, "allow"), entry.allow, bolts) if entry.allow else None
    if bolts is None or opening is None:
        return None
    judge_room(building, path, entry, bolts, drilling, opening)
    pipe = entry.pipe_behind
    if pipe is not None and np.any(2 * np.asarray(pipe.wall.si) >= pipe.outside.si):
        building.at_quantity(pipe.wall, "the wall leaves no bore", "twice the wall must be less than outside")
    return Joint(
        name=name,
        at=entry.at,
        center=opening.center if entry.center is None else vector(entry.center),
        reference=_reference(building, path, entry, opening, up),
        bolts=bolts,
        gasket=gasket,
        tightening=tightening,
        flange=flange_built,
        grip=si(entry.grip),
        bolt_modulus=si(entry.bolt_modulus),
        thread_length_in_grip=si(entry.thread_length_in_grip),
        face_friction=si(entry.face_friction),
        members=None if entry.members is None else Members(entry.members.modulus.si, entry.members.face_diameter.si),
        thread_engagement=si(entry.thread_engagement),
        cycles_between=_cycles(building, path, entry.cycles_between),
        stiffness=build_stiffness(entry.stiffness),
        pipe_behind=None
        if pipe is None
        else PipeBehind(pipe.outside.si, pipe.wall.si, pipe.length.si, pipe.modulus.si, pipe.poisson.si),
        allow=allow,
        sizing=None if entry.sizing is None else build_sizing(entry.sizing),
    )


def _cycles(building: Building, path: Path, names: list[str] | None) -> tuple[str, str] | None:
    """Return the two cases between which the load repeats."""
    if names is None:
        return None
    cases = list(building.file.cases)
    for index, name in enumerate(names, 1):
        if name not in cases:
            building.unknown((*path, "cycles_between", str(index)), name, "case", cases)
    if len(names) != 2:
        hint = "write [one case, the other case]"
        building.problem((*path, "cycles_between"), f"{len(names)} cases where two are expected", hint)
        return None
    return names[0], names[1]


def build_stiffness(entry: JointStiffnessEntry | str | None) -> JointStiffness | Literal["rigid"] | None:
    """Return a stiffness as given, the word rigid, or None."""
    if entry is None:
        return None
    if isinstance(entry, str):
        return "rigid"
    return JointStiffness(entry.axial.si, entry.shear.si, entry.bending.si, entry.torsion.si)


def _reference(building: Building, path: Path, entry: JointEntry, opening: Opening, up: Array) -> Array:
    """Return the direction that e1 follows: the user's, else up, else +x (or +y where up itself is x)."""
    if entry.reference is not None:
        given = building.unit_vector((*path, "reference"), entry.reference)
        if _parallel(given, opening.outward):
            hint = "choose one across it; left out, it is up, or +x where up is along the axis"
            building.problem((*path, "reference"), "the reference direction lies along the axis of the joint", hint)
        return given
    for direction, words in ((up, "up"), (np.array([1.0, 0, 0]), "+x"), (np.array([0, 1.0, 0]), "+y")):
        if not _parallel(direction, opening.outward):
            building.granted(f"Joint '{entry.at if not path else path[-1]}': bolt angles are counted from {words}.")
            return direction
    return up


def _parallel(direction: Array, axis: Array) -> bool:
    return bool(np.any(np.linalg.norm(np.cross(direction, axis), axis=-1) < _PARALLEL))


def _drilling(building: Building, path: Path, entry: JointEntry) -> FlangeDrilling | None:
    if entry.flange is None or entry.flange.designation is None:
        return None
    found = building.look_up((*path, "flange"), flange, entry.flange.designation)
    if found is not None:
        building.remember(found.provenance)
    return found


def _flange(building: Building, path: Path, entry: JointEntry, drilling: FlangeDrilling | None) -> Flange:
    given = entry.flange
    if given is None:
        return Flange()

    def pick(quantity: Quantity | None, table: float | None) -> Number | None:
        return table if quantity is None else quantity.si

    face, flat = given.raised_face, given.raised_face == "flat"
    rating, row = (
        (given.rating.si, None)
        if isinstance(given.rating, Quantity)
        else _rating(building, path, given, drilling) or (None, None)
    )
    return Flange(
        outside=pick(given.outside, drilling.outside if drilling else None),
        thickness=pick(given.thickness, drilling.thickness if drilling else None),
        hole=pick(given.hole, drilling.hole if drilling else None),
        rating=rating,
        designation=drilling.designation if drilling else given.designation,
        raised_face=face.si if isinstance(face, Quantity) else drilling.raised_face if drilling and not flat else None,
        face_height=drilling.face_height if drilling and not flat else 0.0,
        flat=flat,
        rating_row=row,
    )


def _rating(
    building: Building, path: Path, given: FlangeEntry, drilling: FlangeDrilling | None
) -> tuple[Number, Provenance | None] | None:
    """Return the rating pressure from the table at the fluid's temperature, where that is asked for."""
    if given.rating is None:
        return None
    temperature = building.file.fluid.temperature
    if given.designation is None or temperature is None:
        hint = "write flange / designation and fluid / temperature, or the rating itself"
        building.problem((*path, "flange", "rating"), "'from table' needs a standard flange and a temperature", hint)
        return None
    if np.any(np.isnan(temperature.si)):
        return np.nan, None  # no temperature, as said already
    if drilling is None:
        return None  # a flange that is not in the tables, as said already
    found = building.look_up((*path, "flange", "rating"), flange_rating, given.designation, temperature.si)
    if found is None:
        return None
    building.remember(found.provenance)
    return found.pressure, found.provenance


def _gasket(building: Building, entry: GasketEntry, on: Flange) -> Gasket:
    if np.any(np.asarray(entry.inside.si) >= entry.outside.si):
        message = f"'{entry.inside.given}' is not less than outside, '{entry.outside.given}'"
        building.at_quantity(entry.inside, message, "inside and outside are the diameters of the contact ring")
    reaction = entry.reaction_diameter
    if reaction is not None and np.any(np.asarray(reaction.si) > entry.outside.si):
        building.at_quantity(reaction, f"'{reaction.given}' is outside the gasket, '{entry.outside.given}'")
    ring = Gasket(
        inside=entry.inside.si,
        outside=entry.outside.si,
        thickness=si(entry.thickness),
        modulus=si(entry.modulus),
        m=si(entry.m),
        y=si(entry.y),
        reaction_diameter=si(reaction),
        condition=cast(Condition | None, entry.condition),
    ).on(on.raised_face)
    if np.any((np.asarray(ring.outside) <= entry.inside.si) & (np.asarray(entry.inside.si) < entry.outside.si)):
        message = f"the raised face ends inside the gasket, '{entry.inside.given}', and does not press it"
        building.at_quantity(entry.inside, message, "is flange / raised_face right? it is a diameter")
    elif reaction is not None and np.any((reaction.si > np.asarray(ring.outside)) & (reaction.si <= entry.outside.si)):
        building.at_quantity(reaction, f"'{reaction.given}' is outside the raised face that presses the gasket")
    return ring


def build_allow(
    building: Building, path: Path, entry: AllowEntry, bolts: BoltPattern | None, told: str = ""
) -> Allowables:
    """Build the allowables; the spacing ``from table`` is that of the largest of ``bolts``, and ``told`` ends their origin."""
    origin = (entry.origin or "user") + told

    def allowable(quantity: Quantity | None) -> Allowable | None:
        if quantity is None:
            return None
        unit = {"stress": "Pa", "force": "N", "moment": "Nm", "length": "m"}[quantity.kind]
        return Allowable(quantity.si, cast(Literal["Pa", "N", "Nm", "m"], unit), origin)

    spacing, widest = entry.bolt_spacing_least, entry.bolt_spacing_greatest
    least = allowable(spacing) if isinstance(spacing, Quantity) else None
    if isinstance(spacing, str) and bolts is not None:
        least = _wrench_room(building, path, bolts)
    return Allowables(
        bolt_tension=allowable(entry.bolt_tension),
        bolt_shear=allowable(entry.bolt_shear),
        tension_with_shear=cast(Literal["circular", "linear", "en_1993_1_8"] | None, entry.tension_with_shear),
        hole_bearing=allowable(entry.hole_bearing),
        bolt_spacing_least=least,
        bolt_spacing_greatest="from formula" if isinstance(widest, str) else allowable(widest),
        gasket_pressure_greatest=allowable(entry.gasket_pressure_greatest),
        bolt_stress_operating=allowable(entry.bolt_stress_operating),
        bolt_stress_seating=allowable(entry.bolt_stress_seating),
        bolt_thread_shear=allowable(entry.bolt_thread_shear),
        nut_thread_shear=allowable(entry.nut_thread_shear),
        endurance_limit=allowable(entry.endurance_limit),
        force=allowable(entry.force),
        moment=allowable(entry.moment),
        axial=allowable(entry.axial),
        shear=allowable(entry.shear),
        bending=allowable(entry.bending),
        torsion=allowable(entry.torsion),
        pressure_thrust=cast(Literal["included", "excluded"] | None, entry.pressure_thrust),
    )


def with_wrench_room(building: Building, joint: Joint) -> Joint:
    """The joint with the least spacing that the allowables of the whole file take from the table; its own goes before."""
    own = joint.allow or Allowables()
    if own.bolt_spacing_least is not None:
        return joint
    return replace(joint, allow=replace(own, bolt_spacing_least=_wrench_room(building, ("allow",), joint.bolts)))


def _wrench_room(building: Building, path: Path, bolts: BoltPattern) -> Allowable | None:
    """The spacing that a wrench needs round the largest of some bolts."""
    if not np.all(np.isfinite(bolts.diameter)):
        return None
    found = building.look_up((*path, "bolt_spacing_least"), wrench_spacing, float(np.max(bolts.diameter)))
    if found is None:
        return None
    building.remember(found[1])
    return Allowable(found[0], "m", found[1].source, found[1].table)
