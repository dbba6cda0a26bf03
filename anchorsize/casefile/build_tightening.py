"""The tightening of a joint from its entry: torque or preload of each bolt, friction, scatter."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from anchorsize.casefile.building import Building, Path
from anchorsize.casefile.by_bolt import Found
from anchorsize.casefile.format_joint import TighteningEntry
from anchorsize.casefile.quantities import Quantity, si
from anchorsize.reference import scatter
from anchorsize.study import Array, BoltPattern, Tightening


def build_tightening(
    building: Building, path: Path, entry: TighteningEntry, bolts: BoltPattern | None
) -> Tightening | None:
    """Build the tightening, or return None where the bolts could not be built."""
    path = (*path, "tightening")
    if entry.torque is None and entry.preload is None:
        building.missing((*path, "torque"), "write torque, or preload")
    if entry.torque is not None and entry.preload is not None:
        building.problem((*path, "preload"), "a torque and a preload at once", "write the one that is controlled")
    friction = entry.thread_friction or entry.bearing_friction
    if entry.nut_factor is not None and friction is not None:
        building.at_quantity(friction, "a nut factor and a friction at once", "write nut_factor, or both frictions")
    elif (entry.thread_friction is None) != (entry.bearing_friction is None) and friction is not None:
        building.at_quantity(
            friction, "one friction without the other", "thread_friction and bearing_friction go together"
        )
    frictions = (entry.thread_friction, entry.bearing_friction, entry.bearing_diameter)
    if entry.torque is not None and entry.nut_factor is None and None in frictions:
        hint = (
            "add nut_factor beside it (`anchorsize table nut_factors` lists usual ones), or thread_friction, bearing_friction and "
            "bearing_diameter, or give the preload"
        )
        building.problem((*path, "torque"), "a torque gives no preload by itself", hint, "missing_key")
    _of_the_target(building, path, entry)
    share = si(entry.scatter)
    if entry.method is not None and share is None:
        found = building.look_up((*path, "method"), scatter, entry.method)
        if found is not None:
            building.remember(found.provenance)
            building.granted(
                f"Joint '{path[1]}': scatter of the preload ±{found.high:.0%}, from the method '{found.method}'."
            )
            share = found.high
    if bolts is None:
        return None
    target, whole = entry.target_torque, replace(bolts, present=np.ones_like(bolts.present))

    def factor(key: str, found: Found | None) -> Array | None:
        return None if found is None else _factor(building, (*path, key), found, whole)

    return Tightening(
        torque=None if entry.torque is None else _of_each(building, (*path, "torque"), entry.torque, bolts),
        preload=None if entry.preload is None else _of_each(building, (*path, "preload"), entry.preload, bolts),
        nut_factor=factor("nut_factor", entry.nut_factor),
        thread_friction=si(entry.thread_friction),
        bearing_friction=si(entry.bearing_friction),
        bearing_diameter=si(entry.bearing_diameter),
        scatter=share,
        relaxation=si(entry.relaxation),
        method=entry.method,
        target_torque=None if target is None else _of_each(building, (*path, "target_torque"), target, whole),
        lubricant=entry.lubricant,
        target_nut_factor=factor("target_nut_factor", entry.target_nut_factor),
        target_lubricant=entry.target_lubricant,
        target_scatter=si(entry.target_scatter),
    )


def _of_the_target(building: Building, path: Path, entry: TighteningEntry) -> None:
    """What goes with a target: nothing without one."""
    if entry.target_torque is None:
        for key in ("target_nut_factor", "target_lubricant", "target_scatter"):
            if getattr(entry, key) is not None:
                hint = (
                    "write target_torque beside it; without a target, nut_factor, lubricant and scatter are what counts"
                )
                building.problem((*path, key), f"'{key}' without a target_torque", hint)


def _one_for_all(found: Found) -> Quantity | None:
    """The value that serves for all bolts; None where the file gives one per bolt."""
    return found.places[0] if len(found.places) == 1 else None if found.each else found.everyone


def _factor(building: Building, path: Path, found: Found, bolts: BoltPattern) -> Array | None:
    """A nut factor (..., 1) for all bolts, or (..., n); a missing bolt has one too, for it is fitted again."""
    one = _one_for_all(found)
    return _of_each(building, path, found, bolts) if one is None else np.asarray(one.si, dtype=np.float64)[..., None]


def _of_each(building: Building, path: Path, found: Found, bolts: BoltPattern) -> Array | None:
    """One value per bolt on the last axis; 0 for a missing bolt of which nothing is said."""
    values = _listed(building, path, found.places, bolts) if found.places else _numbered(building, path, found, bolts)
    if values is None:
        return None
    if len(found.places) > 1 or found.each:
        told = dict(found.each) if found.each else dict(zip(bolts.numbers, values, strict=True))
        _note_unused(building, path, told, bolts)
    stacked: Array = np.stack(
        np.broadcast_arrays(*(np.asarray(0.0 if each is None else each.si, dtype=np.float64) for each in values)), -1
    )
    return stacked


def _note_unused(building: Building, path: Path, told: Mapping[int, Quantity | None], bolts: BoltPattern) -> None:
    unused = [number for number in bolts.missing if told.get(number) is not None]
    for number in unused:
        building.granted(
            f"Joint '{path[1]}': bolt {number} is missing, so what the file has for it under {path[-1]} is not used."
        )


def _listed(
    building: Building, path: Path, places: Sequence[Quantity | None], bolts: BoltPattern
) -> list[Quantity | None] | None:
    """A list over all bolts, or over those that are there."""
    count, there = len(bolts.numbers), [bool(each) for each in bolts.present]
    if len(places) == 1:
        return [places[0]] * count
    if len(places) == count:
        return None if _lacks(building, path, places, bolts) else list(places)
    if len(places) == sum(there) and None not in places:
        given = iter(places)
        return [next(given) if each else None for each in there]
    message = f"{len(places)} values for {count} bolts"
    building.problem(
        path, message, "one for each bolt in the order of their numbers (- for a missing one), or one for all"
    )
    return None


def _numbered(building: Building, path: Path, found: Found, bolts: BoltPattern) -> list[Quantity | None] | None:
    """By bolt number, the others as `all` says."""
    own = dict(found.each)
    unknown = [number for number in own if number not in bolts.numbers]
    for number in unknown:
        building.problem(
            (*path, str(number)),
            f"there is no bolt {number}",
            f"the bolts are 1 to {len(bolts.numbers)}",
            "out_of_range",
            str(number),
        )
    values = [own.get(number, found.everyone) for number in bolts.numbers]
    return None if _lacks(building, path, values, bolts) or unknown else values


def _lacks(building: Building, path: Path, values: Sequence[Quantity | None], bolts: BoltPattern) -> bool:
    """Whether a bolt that is there has no value, which is then a problem of the file."""
    each = zip(bolts.numbers, bolts.present, values, strict=True)
    lacking = [str(number) for number, there, value in each if there and value is None]
    if lacking:
        hint = "write it, or all for the others; only a bolt that bolts / missing names may be without"
        if path[-1] == "target_torque":
            hint = "write it: a target is for every bolt, the missing ones too"
        elif path[-1].endswith("nut_factor"):
            hint = "write it, or all for the others: every bolt has one, the missing ones too"
        building.problem(path, f"no value for bolt {', '.join(lacking)}", hint)
    return bool(lacking)
