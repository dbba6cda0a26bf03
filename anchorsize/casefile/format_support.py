"""The format of supports: pydantic models of a support, its section, plate, block and allowables."""

from __future__ import annotations

from typing import Annotated, Any, ClassVar

from pydantic import Field

from anchorsize.casefile.format_joint import Gap, Line, StiffnessOrRigid
from anchorsize.casefile.leaves import (
    Area,
    Density,
    Direction,
    Distance,
    Entry,
    Force,
    Item,
    Length,
    Modulus,
    Note,
    Point,
    Positive,
    Q,
    Ratio,
    Stiffness,
    Stress,
    Word,
    keyed_text,
)
from anchorsize.casefile.quantities import Collector, Quantity
from anchorsize.casefile.reading import Tree

SUPPORT_KINDS = ("hanger", "rest", "guide", "strut", "tie", "thrust_block", "spring_hanger", "anchor")

Capacity = Annotated[Quantity, Q("force", Positive)]
Factor = Annotated[Quantity, Q("number", Positive)]
Subgrade = Annotated[Quantity, Q("subgrade_modulus", Positive)]


class PostSectionEntry(Entry):
    """The section of a post or strut: a tube by outside diameter and wall, or area, least second moment and half depth."""

    outside: Length | None = None
    wall: Length | None = None
    area: Area | None = None
    second_moment: Annotated[Quantity, Q("second_moment", Positive)] | None = None
    half_depth: Length | None = None


class PlateAnchorEntry(Entry):
    """An anchor bolt of a base plate, from the middle of the plate."""

    x: Distance
    y: Distance
    size: Line = Field(examples=["M16", "5/8 in"])


class BasePlateEntry(Entry):
    """A rectangular plate under a post, with anchor bolts in its foundation or without."""

    length: Length
    width: Length
    foundation_modulus: Subgrade
    anchors: list[Item[PlateAnchorEntry]] = Field(default_factory=list)
    anchor_length: Length | None = None
    anchor_modulus: Modulus | None = None
    preload: Force | None = None


class BlockEntry(Entry):
    """A thrust block: length along its level thrust, width across and height, its density and what it stands in."""

    length: Length
    width: Length
    height: Length
    density: Density
    friction: Ratio | None = None
    thrust_height: Annotated[Quantity, Q("length", Positive)] | None = None
    passive: Force | None = None
    subgrade_modulus: Subgrade | None = None
    soil: Line | None = Field(default=None, examples=["sand", "soft clay"])


class SupportAllowEntry(Entry):
    """What a support may carry and the factors that it must reach; a force alone as short text."""

    short_form: ClassVar[dict[str, Any]] = {"type": "string", "examples": ["12 kN", "from table"]}

    force: Annotated[Quantity | str, Q("force", Positive, words=("from table",))] | None = None
    moment: Annotated[Quantity, Q("moment", Positive)] | None = None
    stress: Stress | None = None
    bearing: Stress | None = None
    anchor_tension: Capacity | None = None
    anchor_shear: Capacity | None = None
    buckling_factor: Factor | None = None
    bearing_factor: Factor | None = None
    sliding_factor: Factor | None = None
    overturning_factor: Factor | None = None
    uplift_factor: Factor | None = None
    rod_series: Annotated[str, Word(("older", "later"))] | None = None
    origin: Line | None = None

    @classmethod
    def unfold(cls, node: Tree, collector: Collector) -> Tree:  # noqa: ARG003
        return keyed_text(node, "force")


class SupportEntry(Entry):
    """One support of an option."""

    kind: Annotated[str, Word(SUPPORT_KINDS)]
    name: Line
    at: Point
    toward: Direction | None = None
    stiffness: Stiffness | None = None
    gap: Gap | None = None
    set_load: Force | None = None
    friction: Ratio | None = None
    rod: Line | None = Field(default=None, examples=["M12"])
    length: Length | None = None
    modulus: Modulus | None = None
    section: PostSectionEntry | None = None
    sections: dict[str, Item[PostSectionEntry]] = Field(default_factory=dict)
    effective_length_factor: Factor | None = None
    base_plate: BasePlateEntry | None = None
    block: BlockEntry | None = None
    six_way: StiffnessOrRigid | None = None
    allow: SupportAllowEntry | None = None
    cost: Ratio | None = None
    note: Note | None = None
