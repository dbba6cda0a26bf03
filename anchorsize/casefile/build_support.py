"""Supports from their entries."""

from __future__ import annotations

from typing import cast

import numpy as np

from anchorsize.casefile.build_joint import build_stiffness
from anchorsize.casefile.building import Building, Path
from anchorsize.casefile.format_joint import PostSectionEntry, SupportEntry
from anchorsize.casefile.quantities import si, vector
from anchorsize.reference import thread
from anchorsize.study import Array, Block, PostSection, Support, SupportAllow, SupportKind


def build_options(building: Building, up: Array) -> dict[str, tuple[Support, ...]]:
    """Build every support option, in the order of the file."""
    options = {}
    for option, entries in building.file.supports.items():
        seen: set[str] = set()
        supports = []
        for number, entry in enumerate(entries, start=1):
            path = ("supports", option, str(number))
            if entry is None:
                continue
            if entry.name in seen:
                hint = "every support of an option has a name of its own"
                building.problem((*path, "name"), f"'{entry.name}' is there already", hint, "duplicate_key", entry.name)
            seen.add(entry.name)
            supports.append(_support(building, path, entry, up))
        options[option] = tuple(supports)
    return options


def _support(building: Building, path: Path, entry: SupportEntry, up: Array) -> Support:
    building.remark(path, entry.note)
    rod_area = None
    if entry.rod is not None:
        found = building.look_up((*path, "rod"), thread, entry.rod)
        if found is not None:
            building.remember(found.provenance)
            rod_area = found.tensile_area
    if entry.kind == "spring_hanger" and entry.set_load is None:
        building.missing((*path, "set_load"), "a spring hanger carries a set load")
    if entry.six_way is not None and entry.kind != "anchor":
        building.problem((*path, "six_way"), f"a {entry.kind} does not hold in six ways", "only an anchor does")
    if entry.block is not None and entry.kind != "thrust_block":
        building.problem((*path, "block"), f"a {entry.kind} has no block", "only a thrust_block has")
    allow, block = entry.allow, entry.block
    return Support(
        name=entry.name,
        kind=cast(SupportKind, entry.kind),
        at=vector(entry.at),
        toward=up if entry.toward is None else building.unit_vector((*path, "toward"), entry.toward),
        stiffness=si(entry.stiffness),
        gap=0.0 if entry.gap is None else entry.gap.si,
        set_load=si(entry.set_load),
        friction=si(entry.friction),
        rod=entry.rod,
        rod_area=rod_area,
        length=si(entry.length),
        modulus=si(entry.modulus),
        section=_section(building, (*path, "section"), entry.section) if entry.section else None,
        block=None
        if block is None
        else Block(block.length.si, block.width.si, block.height.si, block.density.si, si(block.friction)),
        six_way=build_stiffness(entry.six_way),
        allow=None if allow is None else SupportAllow(si(allow.force), si(allow.bearing), allow.origin or "user"),
    )


def _section(building: Building, path: Path, entry: PostSectionEntry) -> PostSection | None:
    """Return area and second moment, of a tube from its diameters."""
    if entry.area is not None and entry.second_moment is not None:
        if entry.outside is not None or entry.wall is not None:
            building.problem(path, "a tube and an area at once", "write outside and wall, or area and second_moment")
        return PostSection(entry.area.si, entry.second_moment.si)
    if entry.outside is None or entry.wall is None:
        building.problem(
            path, "not a whole section", "write outside and wall, or area and second_moment", "missing_key"
        )
        return None
    outside = np.asarray(entry.outside.si)
    inside = outside - 2 * np.asarray(entry.wall.si)
    if np.any(inside < 0):
        building.at_quantity(entry.wall, f"'{entry.wall.given}' is more than half of outside")
        return None
    return PostSection(np.pi / 4 * (outside**2 - inside**2), np.pi / 64 * (outside**4 - inside**4))
