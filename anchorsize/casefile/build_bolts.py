"""The bolts of a joint from their entry: places, threads by size, strengths by property class."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from anchorsize.casefile.building import Building, Path
from anchorsize.casefile.format_joint import BoltsEntry
from anchorsize.casefile.quantities import Quantity, si
from anchorsize.casefile.threads import look_up_thread
from anchorsize.mechanics.frames import circle_positions
from anchorsize.reference import FlangeDrilling, property_class
from anchorsize.study import Array, BoltPattern, Number

_BY_HAND = "give diameter, tensile_area and root_area beside size, which is a name then"


@dataclass(frozen=True)
class _Layout:
    xy: Array
    angle: Array
    sizes: tuple[str | None, ...]
    circle: Number | None


def build_bolts(
    building: Building, path: Path, entry: BoltsEntry, drilling: FlangeDrilling | None, unlisted: bool
) -> BoltPattern | None:
    """Build the bolt pattern: places, threads by size, strengths by property class.

    ``unlisted`` says that the flange named is in no table, which is told already: what it would have given is not missed then.
    """
    path = (*path, "bolts")
    if entry.places is not None:
        layout = _places(building, path, entry)
    else:
        layout = _circle(building, path, entry, drilling, unlisted)
    if layout is None:
        return None
    count = len(layout.sizes)
    present = np.ones(count, dtype=bool)
    for place, number in enumerate(entry.missing, start=1):
        where = (*path, "missing", str(place))
        if number > count:
            if entry.count is None and entry.places is None:  # else it is told already, by the entry itself
                hint = f"the bolts are 1 to {count}"
                building.problem(where, f"there is no bolt {number}", hint, "out_of_range", str(number))
        elif not present[number - 1]:
            building.problem(where, f"bolt {number} is named twice", "", "duplicate_key", str(number))
        else:
            present[number - 1] = False
    if not np.any(present):
        building.problem((*path, "missing"), "every bolt is missing", "a joint needs at least one")
    threads = _threads(building, path, entry, layout.sizes)
    if threads is None:
        return None
    tensile, yielding, proof = _strengths(building, path, entry.class_, threads["diameter"])
    given = _proof_given(building, path, entry, tensile, proof)
    stiffness = None if entry.stiffness is None else per_bolt(building, (*path, "stiffness"), entry.stiffness, count)
    return BoltPattern(
        numbers=tuple(range(1, count + 1)),
        sizes=tuple(size or "as given" for size in layout.sizes),
        xy=layout.xy,
        present=present,
        angle=layout.angle,
        circle=layout.circle,
        stiffness=stiffness,
        shear_plane="shank" if entry.shear_plane == "shank" else "thread",
        property_class=entry.class_,
        tensile_strength=tensile,
        yield_strength=yielding,
        proof_strength=proof if given is None else given,
        proof_given=given is not None,
        **threads,
    )


def _circle(
    building: Building, path: Path, entry: BoltsEntry, drilling: FlangeDrilling | None, unlisted: bool
) -> _Layout | None:
    """Lay the bolts on a circle, from the file and, where it is silent, from the flange table."""
    count = entry.count if entry.count is not None else (drilling.count if drilling else None)
    circle: Number | None = si(entry.circle) if entry.circle else (drilling.bolt_circle if drilling else None)
    size = entry.size if entry.size is not None else (drilling.bolt if drilling else None)
    own_thread = entry.diameter is not None and entry.tensile_area is not None
    wanted = {"count": count, "circle": circle, "size": size or own_thread or None}
    absent = [key for key, value in wanted.items() if value is None]
    for key in absent if not unlisted else ():
        building.missing((*path, key), "write '8 x M16 on 180 mm', or name a standard flange")
    if count is None or circle is None or absent:
        return None
    if entry.first_at is None:
        building.granted(
            f"Joint '{path[1]}': first_at not given, so the bolts straddle the reference direction "
            f"(bolt 1 at {180 / count:g}°)."
        )
        first: Number = np.pi / count
    else:
        first = entry.first_at.si
    xy, angle = circle_positions(count, circle, first)
    return _Layout(xy, angle, (size,) * count, circle)


def _places(building: Building, path: Path, entry: BoltsEntry) -> _Layout | None:
    """Lay the bolts where the user put them."""
    for key in ("count", "circle", "first_at"):
        if getattr(entry, key) is not None:
            building.problem((*path, key), f"'{key}' beside bolts with places of their own", "take out one of them")
    places = [place for place in entry.places or [] if place is not None]
    if not places:
        if entry.places is not None and not len(entry.places):
            building.problem((*path, "places"), "a joint needs at least one bolt", "", "missing_key")
        return None
    xy = np.stack(
        np.broadcast_arrays(
            *(np.stack(np.broadcast_arrays(np.asarray(place.x.si), np.asarray(place.y.si)), -1) for place in places)
        ),
        axis=-2,
    )
    own_thread = entry.diameter is not None and entry.tensile_area is not None
    for place in places:
        if place.size is None and entry.size is None and not own_thread:
            building.missing((*place.x.path[:-1], "size"), "write for example size: M16")
            return None
    sizes = tuple(place.size or entry.size for place in places)
    return _Layout(xy, np.arctan2(xy[..., 1], xy[..., 0]), sizes, None)


def _threads(
    building: Building, path: Path, entry: BoltsEntry, sizes: tuple[str | None, ...]
) -> dict[str, Array] | None:
    """Return diameter, pitch and areas of every bolt, from the thread tables unless the user gives them."""
    columns: dict[str, list[Number]] = {
        key: [] for key in ("diameter", "pitch", "tensile_area", "root_area", "shank_area")
    }
    own_thread = entry.diameter is not None and entry.tensile_area is not None
    complained: set[str] = set()
    places = [place for place in entry.places or [] if place is not None]
    for place, size in enumerate(sizes):
        found = None
        if size is not None and not own_thread and size not in complained:
            own = places[place] if places else None
            where = (*path, "size") if own is None or own.size is None else (*own.x.path[:-1], "size")
            found = look_up_thread(building, where, size, _BY_HAND)
            if found is None:
                complained.add(size)
        if found is not None:
            building.remember(found.provenance)
        diameter: Number = entry.diameter.si if entry.diameter else (found.diameter if found else np.nan)
        tensile: Number = entry.tensile_area.si if entry.tensile_area else (found.tensile_area if found else np.nan)
        root: Number = entry.root_area.si if entry.root_area else (found.root_area if found else tensile)
        columns["diameter"].append(diameter)
        columns["pitch"].append(found.pitch if found else np.nan)
        columns["tensile_area"].append(tensile)
        columns["root_area"].append(root)
        columns["shank_area"].append(np.pi / 4 * np.asarray(diameter) ** 2)
    if complained:
        return None
    if own_thread and entry.root_area is None:
        building.granted(f"Joint '{path[1]}': root area of the bolts not given, taken as their tensile area.")
    if entry.tensile_area and entry.diameter:
        shank = np.pi / 4 * np.asarray(entry.diameter.si) ** 2
        if np.any(np.asarray(entry.tensile_area.si) > shank):
            building.at_quantity(entry.tensile_area, "larger than the whole shank of that diameter")
    return {key: _stack(values) for key, values in columns.items()}


def _stack(values: list[Number]) -> Array:
    """Stack one value per bolt on a last axis."""
    stacked: Array = np.stack(np.broadcast_arrays(*(np.asarray(value, dtype=np.float64) for value in values)), axis=-1)
    return stacked


def _strengths(
    building: Building, path: Path, grade: str | None, diameter: Array
) -> tuple[float | None, float | None, float | None]:
    """Return tensile, yield and proof strength of the property class: the least over the sizes of the joint."""
    if grade is None:
        return None, None, None
    rows = []
    for size in np.unique(diameter[np.isfinite(diameter)]):
        row = building.look_up((*path, "class"), property_class, grade, float(size))
        if row is None:
            return None, None, None
        building.remember(row.provenance)
        rows.append(row)
    if not rows:
        return None, None, None

    def least(values: list[float | None]) -> float | None:
        known = [value for value in values if value is not None]
        return min(known) if len(known) == len(values) else None

    return (
        min(row.tensile for row in rows),
        least([row.yield_strength for row in rows]),
        least([row.proof for row in rows]),
    )


def _proof_given(
    building: Building, path: Path, entry: BoltsEntry, tensile: float | None, tabled: float | None
) -> Number | None:
    """The proof strength that the file gives: where the class has none in the tables, or what is left of that in service."""
    if entry.proof_strength is None:
        return None
    where, value = (*path, "proof_strength"), entry.proof_strength.si
    if tabled is not None and float(np.max(value)) >= tabled:
        message = f"class {entry.class_} has a proof strength of {tabled / 1e6:.4g} MPa in the tables"
        hint = "take it out, or give what is left of it in service, which is less"
        building.problem(where, message, hint, "contradiction")
    elif tensile is not None and float(np.max(value)) > tensile:
        building.problem(where, "more than the tensile strength of the class", f"at most {tensile / 1e6:.4g} MPa")
    return value


def per_bolt(building: Building, path: Path, values: tuple[Quantity, ...], count: int) -> Array | None:
    """Return one value per bolt on the last axis; a single one serves for all."""
    if len(values) == 1:
        values = values * count
    if len(values) != count:
        message = f"{len(values)} values for {count} bolts"
        building.problem(path, message, "one for each bolt in the order of their numbers, or one for all")
        return None
    return _stack([value.si for value in values])
