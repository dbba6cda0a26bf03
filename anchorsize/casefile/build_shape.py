"""A fitting from its shape: openings, contents, mass and their centers, and the lines that say what was built."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from anchorsize.casefile.building import Building, Path
from anchorsize.casefile.format import CaseEntry, ExtraMassEntry
from anchorsize.casefile.format_shape import BeyondEntry, BranchedKeys, PartEntry, PartKeys, ShapeEntry
from anchorsize.casefile.quantities import Quantity, si, vector
from anchorsize.mechanics import shapes
from anchorsize.mechanics.centerline import CHORDS, Line, path_chords, path_moment
from anchorsize.mechanics.segments import (
    Bend,
    Cap,
    Miter,
    Segment,
    Straight,
    Taper,
    Tee,
    after,
    faults,
    taper_in_leg,
)
from anchorsize.mechanics.shape_lines import describe
from anchorsize.study import Array, Fitting, Number, Opening, PipeBend
from anchorsize.units import convert

PATH: Path = ("fitting", "shape")

# kind: the keys it needs, the keys it may have besides
_BRANCH = ("length", "branch_bore", "branch_length", "toward"), ("at", "branch_wall", "name", "beyond")
_TAPER = ("length", "end_bore"), ("end_wall", "leg")
_MITER = ("turn", "radius", "toward"), ("cuts",)
_KEYS: dict[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "straight": (("length",), ()),
    "reducer": _TAPER,
    "nozzle": _TAPER,
    "elbow": (("turn", "radius", "toward"), ()),
    "reducing_elbow": (("turn", "radius", "toward", "end_bore"), ("end_wall",)),
    "mitered_elbow": _MITER,
    "mitred_elbow": _MITER,
    "tee": _BRANCH,
    "lateral": ((*_BRANCH[0], "angle"), _BRANCH[1]),
    "wye": ((*_BRANCH[0], "angle"), _BRANCH[1]),
    "cap": ((), ("thickness",)),
}


@dataclass(frozen=True)
class BuiltShape:
    """What a shape gives a study."""

    openings: dict[str, Opening]
    fitting: Fitting


def build_shape(building: Building, entry: ShapeEntry) -> BuiltShape | None:
    """Build the shape; return None where it has problems, which are recorded."""
    _wall_and_density(building, entry)
    parts = _parts(building, entry)
    building.shape_openings = _names(building, parts)
    if _broken(building):
        return None
    wall, bore = si(entry.wall), entry.bore.si
    chain = _chain(building, parts, bore, wall)
    if chain is None:
        return None
    segments = tuple(segment for each in chain for segment in each)
    try:
        built = shapes.build(
            bore,
            segments,
            start=np.zeros(3) if entry.start is None else vector(entry.start),
            direction=np.array([1.0, 0.0, 0.0]) if entry.direction is None else vector(entry.direction),
            wall=wall,
        )
    except ValueError as error:
        _record(building, parts, chain, str(error))
        return None
    return BuiltShape(
        openings={
            each.name: Opening(each.name, each.center, each.outward, each.area, path_moment(each.path))
            for each in built.openings
        },
        fitting=_fitting(building, entry, built, describe(bore, segments, wall, *_unit(building))),
    )


def _names(building: Building, parts: list[tuple[Path, str, PartKeys]]) -> tuple[str, ...]:
    """Names of the openings that the parts make, known even where the shape cannot be built."""
    names = ["inlet"]
    for path, kind, part in parts:
        open_end = not any(beyond.kind == "cap" for beyond in _beyond(part))
        if "branch_bore" not in _KEYS[kind][0] or not open_end:
            continue
        name = part.name or "branch"
        if name in CaseEntry.model_fields:
            building.problem((*path, "name"), f"'{name}' is a key of a case", "give the branch another name")
        names.append(name)
    # a broken last part may have been anything: its outlet counts, so that the cases are not blamed for it
    ends = not parts or parts[-1][1] != "cap"
    names += ["outlet"] if ends else []
    for name in dict.fromkeys(names):
        if names.count(name) > 1:
            building.problem(PATH, f"{names.count(name)} openings have the name '{name}'", "give each branch a 'name'")
    return tuple(dict.fromkeys(names))


def _unit(building: Building) -> tuple[str, float]:
    """Name of the unit of length that the lines show, and that unit [m]."""
    per_meter, unit = convert(1.0, "length", "us" if building.file.units == "us" else "metric")
    return unit, 1.0 / float(per_meter)


def _broken(building: Building) -> bool:
    return any(problem.path[: len(PATH)] == PATH for problem in building.collector.problems)


def _wall_and_density(building: Building, entry: ShapeEntry) -> None:
    mass = building.file.fitting is not None and building.file.fitting.mass is not None
    if entry.material_density is not None:
        if entry.wall is None:
            building.missing((*PATH, "wall"), "the density of the material gives a mass only with a wall")
        if mass:
            centered = building.file.fitting is not None and building.file.fitting.mass_center is not None
            keep = "keep one; mass_center goes with the mass" if centered else "keep one"
            building.problem(("fitting", "mass"), "a mass, and a material density in shape that gives one", keep)
    elif entry.wall is not None and not mass:
        building.missing((*PATH, "material_density"), "of the wall; or write mass and mass_center of the fitting")
    _contents(building)


def _contents(building: Building) -> None:
    """Record what is said of the contents beside a shape, which gives them: all of it at once."""
    given = building.file.fitting
    keys = [key for key in ("contents", "contents_center") if given is not None and getattr(given, key) is not None]
    if keys:
        building.problem(
            ("fitting", keys[0]),
            f"{' and '.join(keys)} beside shape, which gives them",
            f"take {'them' if len(keys) > 1 else 'it'} out; for a volume of your own write the openings by hand in place of shape",
        )


def _parts(building: Building, entry: ShapeEntry) -> list[tuple[Path, str, PartKeys]]:
    """Each part with its place and kind, its keys judged."""
    parts: list[tuple[Path, str, PartKeys]] = []
    if entry.kind is not None and entry.parts:
        building.problem((*PATH, "kind"), "a kind and a chain of parts at once", "write one of them")
    elif entry.kind is not None:
        parts = [(PATH, entry.kind, entry)]
    elif not entry.parts:
        building.missing((*PATH, "kind"), "such as kind: elbow, or a chain of parts")
    else:
        parts = _listed((*PATH, "parts"), entry.parts)
        for key in BranchedKeys.model_fields:
            if getattr(entry, key) is not None:
                building.problem((*PATH, key), f"'{key}' beside a chain", "write it in the part that it belongs to")
    for path, kind, part in parts:
        _keys(building, path, kind, part)
        if kind == "cap" and (path, kind, part) != parts[-1]:
            building.problem(path, "nothing can follow a cap", "make it the last part")
    return parts


def _listed(path: Path, entries: Sequence[PartEntry | BeyondEntry]) -> list[tuple[Path, str, PartKeys]]:
    return [((*path, str(i)), each.kind, each) for i, each in enumerate(entries, start=1) if each is not None]


def _keys(building: Building, path: Path, kind: str, part: PartKeys) -> None:
    """Record what a kind needs and does not have, and what does not belong to it."""
    needed, besides = _KEYS[kind]
    words = kind.replace("_", " ")
    for key in needed:
        if getattr(part, key) is None:
            building.missing((*path, key), f"{_a(words)} needs it")
    for key in BranchedKeys.model_fields:
        if getattr(part, key, None) is not None and key not in (*needed, *besides, "before", "after"):
            hint = f"{_a(words)} has {', '.join((*needed, *besides))}"
            if key.startswith("end_") and "branch_bore" in needed:
                hint = (
                    f"the run of {_a(words)} keeps its bore; for a smaller end write parts: the {words} and a reducer after it, or list "
                    "openings by hand"
                )
            building.problem((*path, key), f"'{key}' does not belong to {_a(words)}", hint, "unknown_key")
    if part.leg is not None and part.after is not None:
        building.problem((*path, "after"), "'after' beside leg, which ends where it ends", "write one of them")
    if kind == "cap" and part.after is not None:
        building.problem((*path, "after"), "nothing can follow a cap", "take it out")
    for place, kind_beyond, beyond in _listed((*path, "beyond"), _beyond(part)):
        _keys(building, place, kind_beyond, beyond)
        if "branch_bore" in _KEYS[kind_beyond][0]:
            building.problem(
                (*place, "kind"), "a branch on a branch is not built", "end the branch, or take this part out"
            )


def _a(words: str) -> str:
    return f"{'an' if words[0] in 'aeiou' else 'a'} {words}"


def _beyond(part: PartKeys) -> Sequence[BeyondEntry]:
    """The parts that go on from a part's branch."""
    return part.beyond or [] if isinstance(part, BranchedKeys) else []


def _chain(
    building: Building, parts: list[tuple[Path, str, PartKeys]], bore: Number, wall: Number | None
) -> list[tuple[Segment, ...]] | None:
    """The segments of each part, every part judged with the pipe that it continues; None where one is impossible."""
    chain: list[tuple[Segment, ...]] = []
    at, thick = np.asarray(bore, dtype=float), wall
    for path, kind, part in parts:
        try:
            segments = _segments(kind, part)
        except ValueError as error:
            building.problem((*path, "leg"), str(error), "lengthen the leg or shorten the taper", "out_of_range")
            return None
        for text in faults(at, segments, thick):
            _fault(building, path, part, text)
        chain.append(segments)
        for segment in segments:
            end, thickness = after(segment, at, thick)
            at, thick = np.asarray(end), None if thickness is None else np.asarray(thickness)
    return None if _broken(building) else chain


def _fault(building: Building, path: Path, part: PartKeys, text: str) -> None:
    """Record what a part's shape is impossible for, at the key that it names first where the part has it."""
    words = re.sub(r"^segment \d+ \(\w+\): ", "", text)
    key = words.split()[0]
    place = (*path, key) if getattr(part, key, None) is not None else path
    found = getattr(part, key, None)
    given = found.given if isinstance(found, Quantity) else ""
    building.problem(place, words, kind="out_of_range", found=given)


def _record(
    building: Building, parts: list[tuple[Path, str, PartKeys]], chain: list[tuple[Segment, ...]], text: str
) -> None:
    """Record an error of the whole chain at the part that it names by the number of its segment."""
    named = re.match(r"segment (\d+) \(\w+\): (.*)", text)
    if named is None:
        building.problem(PATH, text, kind="contradiction")
        return
    ends = np.cumsum([len(each) for each in chain])
    path, _, part = parts[int(np.searchsorted(ends, int(named[1])))]
    place = (*path, "toward") if part.toward is not None else path
    building.problem(place, named[2], "name another direction", "out_of_range")


def _segments(kind: str, part: PartKeys) -> tuple[Segment, ...]:
    """The segments of one part with the straights before and after it. Raises ValueError for a taper over its leg."""
    before = 0.0 if part.before is None else part.before.si
    if part.leg is not None:
        return taper_in_leg(part.leg.si, _taper(part), before)
    ends = [() if each is None else (Straight(each.si),) for each in (part.before, part.after)]
    return (*ends[0], _own(kind, part), *ends[1])


def _taper(part: PartKeys) -> Taper:
    return Taper(_of(part.length), _of(part.end_bore), si(part.end_wall))


def _of(quantity: Quantity | None) -> Number:
    """The value of a key that its kind needs; what is missing has been recorded before."""
    return np.nan if quantity is None else quantity.si


def _own(kind: str, part: PartKeys) -> Segment:
    toward = np.zeros(3) if part.toward is None else vector(part.toward)
    match kind:
        case "straight":
            return Straight(_of(part.length))
        case "reducer" | "nozzle":
            return _taper(part)
        case "elbow" | "reducing_elbow":
            return Bend(_of(part.turn), _of(part.radius), toward, si(part.end_bore), si(part.end_wall))
        case "mitered_elbow" | "mitred_elbow":
            return Miter(_of(part.turn), _of(part.radius), toward, part.cuts or 1)
        case "cap":
            return Cap(0.0 if part.thickness is None else part.thickness.si)
    run = _of(part.length)
    return Tee(
        length=run,
        at=0.5 * run if part.at is None else part.at.si,
        toward=toward,
        bore=_of(part.branch_bore),
        branch_length=_of(part.branch_length),
        angle=0.5 * np.pi if part.angle is None else part.angle.si,
        wall=si(part.branch_wall),
        name=part.name or "branch",
        beyond=tuple(segment for each in _beyond(part) if each for segment in _segments(each.kind, each)),
    )


def _fitting(building: Building, entry: ShapeEntry, built: shapes.Built, lines: tuple[str, ...]) -> Fitting:
    given = building.file.fitting
    mass: Number | None = None if given is None else si(given.mass)
    center = None if given is None or given.mass_center is None else vector(given.mass_center)
    if entry.material_density is not None and built.wall_volume is not None:
        mass, center = built.wall_volume * entry.material_density.si, built.wall_center
        building.granted(_bare_wall(() if given is None else given.extra_masses))
    elif mass is not None and center is None:
        of, center = ("contents", built.contents_center) if built.wall_center is None else ("wall", built.wall_center)
        building.granted(
            f"No mass_center is given: the fitting's mass is taken to act at the center of its shape's {of}. Flanges and other masses off "
            "that center want extra_masses, or mass_center."
        )
    bare = entry.material_density is not None
    return Fitting(
        mass,
        center,
        built.contents,
        built.contents_center,
        lines,
        bare_wall=bare,
        centerline=path_chords(tuple(piece.line for piece in built.pieces)),
        widths=_widths(built),
        bends=_bends(built),
    )


def _bends(built: shapes.Built) -> tuple[PipeBend, ...]:
    """The bends by the numbers of their pieces of the centerline; the pieces of a mitered one share their curve."""
    ends = np.cumsum([0, *(_cuts(piece) for piece in built.pieces)])
    bends: dict[int, PipeBend] = {}
    for piece, (first, end) in zip(built.pieces, pairwise(ends), strict=True):
        if (curve := piece.curve) is None:
            continue
        begun = bends[id(curve)].first if id(curve) in bends else int(first)
        bends[id(curve)] = PipeBend(begun, int(end), curve.radius, curve.wall, curve.cuts, curve.tilt)
    return tuple(bends.values())


def _cuts(piece: shapes.PipePiece) -> int:
    """How many straight pieces a piece of pipe counts as."""
    return 1 if isinstance(piece.line, Line) else CHORDS


def _widths(built: shapes.Built) -> Array:
    """Outside diameters (..., n, 2) [m] at both ends of the straight pieces of the centerline: even along each piece of pipe."""
    ends = []
    for piece in built.pieces:
        shares = np.linspace(0.0, 1.0, _cuts(piece) + 1)
        sizes = 2.0 * (piece.start[..., None] + shares * (piece.end - piece.start)[..., None])
        ends.append(np.stack([sizes[..., :-1], sizes[..., 1:]], axis=-1))
    batch = np.broadcast_shapes(*(each.shape[:-2] for each in ends))
    return np.concatenate([np.broadcast_to(each, (*batch, *each.shape[-2:])) for each in ends], axis=-2)


def _bare_wall(beside: Sequence[ExtraMassEntry | None]) -> str:
    """What the mass of a shape holds, and what has to be given beside it."""
    names = ", ".join(f"'{each.name}'" for each in beside if each is not None)
    if names:
        return f"The mass of the shape is its bare wall; beside it count only the extra masses {names}."
    return (
        "The mass of the shape is its bare wall: flanges, outlets and reinforcement are not in it; add them under fitting / "
        "extra_masses."
    )
