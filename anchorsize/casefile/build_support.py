"""Supports from their entries."""

from __future__ import annotations

from dataclasses import replace
from typing import cast

import numpy as np

from anchorsize.casefile.build_joint import build_stiffness
from anchorsize.casefile.building import Building, Path
from anchorsize.casefile.format_support import (
    BasePlateEntry,
    BlockEntry,
    PlateAnchorEntry,
    PostSectionEntry,
    SupportAllowEntry,
    SupportEntry,
)
from anchorsize.casefile.leaves import whole
from anchorsize.casefile.quantities import Quantity, si, vector
from anchorsize.casefile.threads import look_up_thread
from anchorsize.reference import SoilBearing, hanger_rod, presumptive_bearing
from anchorsize.study import (
    STEEP,
    Array,
    BasePlate,
    Block,
    Number,
    PlateAnchor,
    PostSection,
    Provenance,
    Support,
    SupportAllow,
    SupportKind,
)

# What belongs to some kinds only, and which.
SPRUNG = ("hanger", "rest", "guide", "strut", "tie", "thrust_block")
ONLY = {
    "stiffness": SPRUNG,
    "gap": SPRUNG,
    "set_load": (*SPRUNG, "spring_hanger"),
    "settles": SPRUNG,
    "length": (*SPRUNG, "spring_hanger"),
    "modulus": SPRUNG,
    "rod": ("hanger", "tie", "spring_hanger"),
    "friction": ("rest", "thrust_block"),
    "section": ("rest", "guide", "strut"),
    "sections": ("rest", "guide", "strut"),
    "effective_length_factor": ("rest", "guide", "strut"),
    "base_plate": ("rest",),
    "block": ("thrust_block",),
    "six_way": ("anchor",),
}

# Kinds that act any way, so that no direction can be taken for granted, and what to write for each.
POINTED = {
    "thrust_block": "the direction in which the block pushes the fitting, such as [-1, 0, 0]",
    "strut": "the line along which it holds both ways, such as [0, 1, 0]",
    "guide": "the line along which it holds both ways, such as [0, 1, 0]; a guide both ways across takes two entries",
    "tie": "the direction in which it pulls the fitting, such as [0, 1, 0]",
}


def build_options(building: Building, up: Array) -> dict[str, tuple[Support, ...]]:
    """Build every support option, in the order of the file."""
    options = {}
    taken = tuple(building.provenance)  # by the rest of the file
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
            if entry.name in building.file.joints:
                hint = "reports name joints and supports side by side"
                building.problem(
                    (*path, "name"), f"'{entry.name}' is a joint's name", hint, "duplicate_key", entry.name
                )
            seen.add(entry.name)
            supports.append(_with_tables(building, path, entry, up, taken))
        options[option] = tuple(supports)
    return options


def _with_tables(
    building: Building, path: Path, entry: SupportEntry, up: Array, taken: tuple[Provenance, ...]
) -> Support:
    """Build a support and keep which table rows it takes, so that an option need not name those of another."""
    before, building.provenance = building.provenance, []
    built = _support(building, path, entry, up)
    own, building.provenance = building.provenance, before
    for row in own:
        building.remember(row)
    return replace(built, tables=tuple(row for row in own if row not in taken))


def _support(building: Building, path: Path, entry: SupportEntry, up: Array) -> Support:
    building.remark(path, entry.note)
    _only_where_it_belongs(building, path, entry)
    _buckles(building, path, entry)
    _enough_to_act(building, path, entry)
    rod_area = rod_root_area = None
    if entry.rod is not None:
        found = look_up_thread(building, (*path, "rod"), entry.rod, "give stiffness and allow / force in place of rod")
        if found is not None:
            building.remember(found.provenance)
            rod_area, rod_root_area = found.tensile_area, found.root_area
    toward = up if entry.toward is None else building.unit_vector((*path, "toward"), entry.toward)
    if entry.toward is None and entry.kind in POINTED:
        building.missing((*path, "toward"), POINTED[entry.kind])
    if entry.kind == "thrust_block" and entry.stiffness is None and np.any(np.sum(toward * up, axis=-1) < -STEEP):
        message = "this direction points down, so the block would be pulled up and bear on no soil"
        hint = "toward is how the block pushes the fitting: turn it round; a block that holds by its weight needs a stiffness"
        building.problem((*path, "toward"), message, hint)
    allow = entry.allow
    return Support(
        name=entry.name,
        kind=cast(SupportKind, entry.kind),
        at=vector(entry.at),
        toward=toward,
        stiffness=si(entry.stiffness),
        gap=0.0 if entry.gap is None else entry.gap.si,
        set_load=si(entry.set_load),
        settles=si(entry.settles),
        friction=si(entry.friction),
        rod=entry.rod,
        rod_area=rod_area,
        rod_root_area=rod_root_area,
        length=si(entry.length),
        modulus=si(entry.modulus),
        section=_section(building, (*path, "section"), entry.section) if entry.section else None,
        sections=_sections(building, path, entry),
        effective_length_factor=si(entry.effective_length_factor),
        base_plate=None if entry.base_plate is None else _plate(building, (*path, "base_plate"), entry.base_plate),
        block=None if entry.block is None else _block(building, (*path, "block"), entry.block),
        six_way=build_stiffness(entry.six_way),
        allow=None if allow is None else _allow(building, (*path, "allow"), entry, allow),
        rod_series=None if allow is None or allow.force != "from table" else allow.rod_series or "older",
        cost=si(entry.cost),
    )


def _only_where_it_belongs(building: Building, path: Path, entry: SupportEntry) -> None:
    article = "an" if entry.kind == "anchor" else "a"
    for key, kinds in ONLY.items():
        if getattr(entry, key) and entry.kind not in kinds:
            building.problem(
                (*path, key), f"'{key}' does not belong to {article} {entry.kind}", f"only to: {', '.join(kinds)}"
            )


def _buckles(building: Building, path: Path, entry: SupportEntry) -> None:
    """A factor against buckling belongs to what may be pressed along its length."""
    kinds = ONLY["effective_length_factor"]
    if entry.allow is not None and entry.allow.buckling_factor is not None and entry.kind not in kinds:
        building.problem(
            (*path, "allow", "buckling_factor"),
            f"a {entry.kind} is not pressed along a length and does not buckle",
            f"buckling_factor belongs only to: {', '.join(kinds)}",
        )


def _enough_to_act(building: Building, path: Path, entry: SupportEntry) -> None:
    """Every support must say how it gives way; a gap excludes a preset and a settlement."""
    if entry.kind == "spring_hanger":
        if entry.set_load is None:
            building.missing((*path, "set_load"), "a spring hanger carries a set load")
        return
    if entry.kind == "anchor":
        if entry.six_way is None:
            hint = "write rigid, or {axial, shear, bending, torsion} with the axis along toward"
            building.missing((*path, "six_way"), hint)
        return
    if entry.gap is not None and entry.set_load is not None and np.any(np.asarray(entry.gap.si) > 0.0):
        building.at_quantity(entry.gap, "a gap and a set load at once", "a support with a gap does not touch yet")
    if (
        entry.gap is not None
        and entry.settles is not None
        and np.any((np.asarray(entry.gap.si) > 0.0) & (np.asarray(entry.settles.si) != 0.0))
    ):
        message = "a gap and a settlement at once"
        hint = (
            "a support that only pushes or only pulls has the sum of both as its gap; another must be given one of them"
        )
        building.at_quantity(entry.settles, message, hint)
    springy = entry.rod is not None or entry.section is not None
    sprung = springy and entry.length is not None and entry.modulus is not None
    bedded = entry.block is not None and entry.block.subgrade_modulus is not None
    if entry.stiffness is None and not sprung and not bedded:
        ways = {"thrust_block": "write stiffness, or block / subgrade_modulus for a block that is pressed into soil"}
        of = "rod" if entry.kind in ONLY["rod"] else "section"
        hint = ways.get(entry.kind, f"write stiffness, or {of}, length and modulus")
        building.missing((*path, "stiffness"), hint)


def _section(building: Building, path: Path, entry: PostSectionEntry) -> PostSection | None:
    """Return area and second moment, of a tube from its diameters."""
    if entry.area is not None and entry.second_moment is not None:
        if entry.outside is not None or entry.wall is not None:
            building.problem(path, "a tube and an area at once", "write outside and wall, or area and second_moment")
        return PostSection(entry.area.si, entry.second_moment.si, si(entry.half_depth))
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
    return PostSection(np.pi / 4 * (outside**2 - inside**2), np.pi / 64 * (outside**4 - inside**4), outside / 2)


def _sections(building: Building, path: Path, entry: SupportEntry) -> tuple[tuple[str, PostSection], ...]:
    built = ((name, _section(building, (*path, "sections", name), each)) for name, each in whole(entry.sections))
    return tuple((name, section) for name, section in built if section is not None)


def _plate(building: Building, path: Path, entry: BasePlateEntry) -> BasePlate:
    anchors = []
    for number, each in enumerate(entry.anchors, start=1):
        if each is not None:
            anchors.append(_plate_anchor(building, (*path, "anchors", str(number)), entry, each))
    if anchors and (entry.anchor_length is None or entry.anchor_modulus is None):
        building.problem(
            path, "the stretch of the anchors is not known", "write anchor_length and anchor_modulus", "missing_key"
        )
    return BasePlate(
        length=entry.length.si,
        width=entry.width.si,
        foundation_modulus=entry.foundation_modulus.si,
        anchors=tuple(anchors),
        anchor_length=si(entry.anchor_length),
        anchor_modulus=si(entry.anchor_modulus),
        preload=0.0 if entry.preload is None else entry.preload.si,
    )


def _plate_anchor(building: Building, path: Path, plate: BasePlateEntry, entry: PlateAnchorEntry) -> PlateAnchor:
    found = look_up_thread(building, (*path, "size"), entry.size, "write the coarse one, whose tensile area is less")
    thick = 0.0 if found is None else found.diameter
    for place, size in ((entry.x, plate.length), (entry.y, plate.width)):
        off, wide = 2.0 * np.abs(place.si), np.asarray(size.si)
        if np.any(off >= wide):
            building.at_quantity(place, f"'{place.given}' is not on the plate", "x and y are from its middle")
        elif np.any(off + thick >= wide):
            message = f"'{place.given}' puts the anchor {entry.size} over the edge of the plate, '{size.given}'"
            building.at_quantity(place, message, "x and y are from its middle")
    if found is None:
        return PlateAnchor(entry.x.si, entry.y.si, np.nan)
    building.remember(found.provenance)
    return PlateAnchor(entry.x.si, entry.y.si, found.tensile_area)


def _block(building: Building, path: Path, entry: BlockEntry) -> Block:
    thrust_height = entry.thrust_height
    if thrust_height is not None and np.any(np.asarray(thrust_height.si) > entry.height.si):
        building.at_quantity(thrust_height, f"'{thrust_height.given}' is above the block", "from its base up")
    published = () if entry.soil is None else building.look_up((*path, "soil"), presumptive_bearing, entry.soil)
    for each in published or ():
        building.remember(each.provenance)
    return Block(
        length=entry.length.si,
        width=entry.width.si,
        height=entry.height.si,
        density=entry.density.si,
        friction=si(entry.friction),
        thrust_height=si(thrust_height),
        passive=si(entry.passive),
        subgrade_modulus=si(entry.subgrade_modulus),
        presumptive=tuple((_guide(each), each.bearing) for each in published or ()),
    )


def _guide(row: SoilBearing) -> str:
    return row.guide if row.cover is None else f"{row.guide}, cover {row.cover:g} m"


def _allow(building: Building, path: Path, support: SupportEntry, entry: SupportAllowEntry) -> SupportAllow:
    origin = entry.origin or "user"
    force, force_origin = _force(building, path, support, entry)
    if entry.rod_series is not None and entry.force != "from table":
        building.problem((*path, "rod_series"), "'rod_series' names a table", "write force: from table beside it")
    return SupportAllow(
        force=force,
        moment=si(entry.moment),
        stress=si(entry.stress),
        bearing=si(entry.bearing),
        base_bearing=si(entry.base_bearing),
        anchor_tension=si(entry.anchor_tension),
        anchor_shear=si(entry.anchor_shear),
        buckling_factor=si(entry.buckling_factor),
        bearing_factor=si(entry.bearing_factor),
        sliding_factor=si(entry.sliding_factor),
        overturning_factor=si(entry.overturning_factor),
        uplift_factor=si(entry.uplift_factor),
        force_origin=force_origin or origin,
        origin=origin,
    )


def _force(
    building: Building, path: Path, support: SupportEntry, entry: SupportAllowEntry
) -> tuple[Number | None, str | None]:
    """The force that a support may carry, and its origin where that is the table of rod loads."""
    if entry.force is None or isinstance(entry.force, Quantity):
        return si(entry.force), None
    if support.rod is None:
        building.problem(
            (*path, "force"), "'from table' needs a rod", "write rod, for example M12, or the force itself"
        )
        return None, None
    found = building.look_up((*path, "force"), hanger_rod, support.rod, entry.rod_series or "older")
    if found is None:
        return None, None
    building.remember(found.provenance)
    area = f"{np.asarray(found.root_area) * 1e6:.4g} mm²"
    return (
        found.load,
        f"{found.provenance.source}, rod {found.size}, series '{found.series}', on its own root area of {area}",
    )
