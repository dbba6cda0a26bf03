"""The format of supports: pydantic models of a support, its section, plate, block and allowables."""

from __future__ import annotations

from typing import Annotated, Any, ClassVar

from pydantic import Field

from anchorsize.casefile.format_joint import Line, StiffnessOrRigid
from anchorsize.casefile.leaves import (
    Area,
    Density,
    Direction,
    Distance,
    Elastic,
    Entry,
    Force,
    Item,
    Length,
    Note,
    Point,
    Positive,
    Q,
    Ratio,
    Stress,
    Word,
    keyed_text,
    length,
)
from anchorsize.casefile.quantities import Bounds, Collector, Quantity
from anchorsize.casefile.reading import Branch, Tree

SUPPORT_KINDS = ("hanger", "rest", "guide", "strut", "tie", "thrust_block", "spring_hanger", "anchor")

Capacity = Annotated[Quantity, Q("force", Positive)]
RequiredFactor = Annotated[Quantity, Q("number", Bounds(least=1.0, most=100.0))]
Friction = Annotated[Quantity, Q("number", Bounds(least=0.0, most=2.0))]
EndsFactor = Annotated[Quantity, Q("number", Bounds(least=0.5, most=10.0))]
# More than 0.2 m of free movement: the unit is in doubt (common practice, no source).
_GAP = (
    "a gap is what closes before it carries, 0 to 200 mm: is its unit right? A support set against the fitting has a set_load instead; "
    "where the joint sinks onto the support by so much, write settles, with a minus"
)
_SETTLES = (
    "settles is how far what holds the support moves against its toward, up to 200 mm (as a footing that sinks away under a rest); minus: "
    "the other way, as where the joint sinks onto the support: is its unit right?"
)
Gap = Annotated[Quantity, Q("length", Bounds(least=0.0, most=0.2, hint=_GAP))]
Settlement = Annotated[Quantity, Q("length", Bounds(least=-0.2, most=0.2, hint=_SETTLES))]
Subgrade = Annotated[Quantity, Q("subgrade_modulus", Positive)]
SupportStiffness = Annotated[Quantity, Q("stiffness", Bounds(above=0.0, low=1e3))]
Reach = Annotated[Quantity, length(above=0.0, most=100.0)]
SecondMoment = Annotated[Quantity, Q("second_moment", Positive)]

# Keys that people try where another word alone would not tell them what to do.
_RATE = (
    "a spring_hanger gives its set_load whatever the movement; for one that follows its spring write kind: hanger with "
    "stiffness: its rate, and set_load"
)
_ELSEWHERE = dict.fromkeys(("rate", "spring_rate", "spring rate"), _RATE) | dict.fromkeys(
    ("k", "K"),
    "write stiffness for a spring's, such as 12 MN/m, or effective_length_factor for the K of a post's ends",
)


def says(text: str) -> Any:
    """A key that may be left out, with its description for editors."""
    return Field(default=None, description=text)


class PostSectionEntry(Entry):
    """The section of a post or strut: a tube by outside diameter and wall, or area, least second moment and half depth."""

    outside: Length | None = says("Outside diameter of a tube, such as 76.1 mm; with wall.")
    wall: Length | None = says("Wall thickness of the tube, such as 3.2 mm.")
    area: Area | None = says("Area of another section, such as 21 cm^2; with second_moment.")
    second_moment: SecondMoment | None = says(
        "Least second moment of area, such as 140 cm^4: the post buckles about it."
    )
    half_depth: Length | None = says("Middle of the section to its outer edge, such as 45 mm; for bending by friction.")


class PlateAnchorEntry(Entry):
    """An anchor bolt of a base plate, from the middle of the plate."""

    x: Distance = Field(description="Along the plate's length, from its middle; under an upright post the world's x.")
    y: Distance = Field(description="Along the plate's width, from its middle; under an upright post the world's y.")
    size: Line = Field(description="Thread of the anchor.", examples=["M16", "5/8 in"])


class BasePlateEntry(Entry):
    """A rectangular plate under a post, with anchor bolts in its foundation or without."""

    length: Length = Field(description="Side along x of the plate, such as 180 mm.")
    width: Length = Field(description="Side along y of the plate, such as 180 mm.")
    foundation_modulus: Subgrade = Field(
        description="Pressure of the foundation per settlement, such as 15000 MN/m^3 for a thick grout bed on concrete."
    )
    anchors: list[Item[PlateAnchorEntry]] = Field(
        default_factory=list, description="The anchor bolts; none by default."
    )
    anchor_length: Length | None = says("Length of an anchor that stretches, such as 110 mm; needed with anchors.")
    anchor_modulus: Elastic | None = says("Modulus of elasticity of the anchors, such as 205 GPa; needed with anchors.")
    preload: Force | None = says("Force to which every anchor is tightened, such as 2 kN; none by default.")


class BlockEntry(Entry):
    """A thrust block: length along its level thrust, width across and height, its density and what it stands in."""

    length: Length = Field(description="Length along the level thrust, such as 0.8 m.")
    width: Length = Field(
        description="Width across the thrust, such as 0.6 m; the face width × height bears on the soil."
    )
    height: Length = Field(description="Height, such as 0.7 m.")
    density: Density = Field(description="Density of the block, such as 2400 kg/m^3.")
    friction: Friction | None = says("Friction of the base on the soil, a plain number such as 0.4; for sliding.")
    thrust_height: Length | None = says("Height of the thrust over the base, such as 0.35 m; for overturning.")
    passive: Force | None = says("Passive less active earth force that you count on, such as 2 kN; none by default.")
    subgrade_modulus: Subgrade | None = says("Pressure of the soil per give, such as 30 MN/m^3; gives the stiffness.")
    soil: Line | None = Field(
        default=None,
        description="Soil whose published presumptive bearing is shown for orientation; it checks nothing.",
        examples=["sand", "soft clay"],
    )


class SupportAllowEntry(Entry):
    """What a support may carry and the factors that it must reach; a force alone as short text."""

    short_form: ClassVar[dict[str, Any]] = {"type": "string", "examples": ["12 kN", "from table"]}

    force: Annotated[Quantity | str, Q("force", Positive, words=("from table",))] | None = says(
        "Greatest force on the support, such as 12 kN; `from table` takes a rod's load from the table."
    )
    moment: Annotated[Quantity, Q("moment", Positive)] | None = says("Greatest moment on an anchor, such as 2 kN*m.")
    stress: Stress | None = says("Greatest stress in rod or post, such as 120 MPa; buckling is another matter.")
    bearing: Stress | None = says(
        "Greatest pressure behind a block (under one that is pressed down on its base) or under a base plate, such as 100 kPa or 8 MPa."
    )
    base_bearing: Stress | None = says(
        "Greatest pressure of the soil under a block, its weight and the tipping of the thrust counted, such as 100 kPa."
    )
    anchor_tension: Capacity | None = says("Greatest tension per anchor of a base plate, such as 6 kN.")
    anchor_shear: Capacity | None = says("Greatest shear per anchor of a base plate, such as 4 kN.")
    buckling_factor: RequiredFactor | None = says(
        "Euler load over force that a post must reach, such as 3; at least 1."
    )
    bearing_factor: RequiredFactor | None = says("Factor that a block's bearing must reach, such as 1.5; at least 1.")
    sliding_factor: RequiredFactor | None = says("Factor that a block must reach against sliding; at least 1.")
    overturning_factor: RequiredFactor | None = says("Factor that a block must reach against tipping; at least 1.")
    uplift_factor: RequiredFactor | None = says("Block's weight over upward force that it must reach; at least 1.")
    rod_series: Annotated[str, Word(("older", "later"))] | None = says(
        "Series of the rod table that `from table` asks."
    )
    origin: Line | None = says("Whose figures these are, such as a code or a maker's sheet; shown with every check.")

    @classmethod
    def unfold(cls, node: Tree, collector: Collector) -> Tree:  # noqa: ARG003
        return keyed_text(node, "force")


class SupportEntry(Entry):
    """One support of an option."""

    also_called: ClassVar[dict[str, str]] = {
        "direction": "toward",
        "axis": "toward",
        "position": "at",
        "point": "at",
        "spring": "stiffness",
        "diameter": "rod",
        "preload": "set_load",
        "clearance": "gap",
        "settlement": "settles",
        "subsidence": "settles",
        "capacity": "allow",
        "buckling_length_factor": "effective_length_factor",
    }

    kind: Annotated[str, Word(SUPPORT_KINDS)] = Field(
        description="hanger: holds up from above; tie: pulls only, any way; rest: pushes only, with friction; thrust_block: pushes only, "
        "against soil; strut, guide: both ways along toward; spring_hanger: a constant force; anchor: six ways."
    )
    name: Line = Field(description="Name in reports; once in the option, and no joint's.")
    at: Point = Field(description="Point where the support meets the fitting, [x, y, z] with a unit.")
    toward: Direction | None = says(
        "Direction of the force on the fitting, such as [0, 0, 1]. rest, hanger, spring_hanger: up if left out; strut, guide, tie, thrust_block need it. "
        "For strut, guide, rest and thrust_block it points from the foot to the fitting (pressed they push along it), for hanger and tie from "
        "the fitting to the anchor (they pull along it); strut and guide hold both ways."
    )
    stiffness: SupportStiffness | None = says(
        "Force per give along toward, such as 12 MN/m, brackets included; else it follows from rod or section with length and modulus, or "
        "from block / subgrade_modulus."
    )
    gap: Gap | None = says("Movement before it carries, such as 2 mm, each way for strut and guide; none by default.")
    set_load: Force | None = says(
        "Force to which it is set while the fitting is unloaded and still, such as 3 kN. A spring_hanger gives it in every case (no rate); "
        "another support gives more or less as joint and support give way."
    )
    settles: Settlement | None = says(
        "How far what holds it moves against toward, such as 2 mm for a footing that sinks under a rest: it then gives less, or nothing. Minus: "
        "the other way, as where the joint sinks onto the support. None by default."
    )
    friction: Friction | None = says(
        "Friction across a rest or thrust block, a plain number such as 0.3; none by default."
    )
    rod: Line | None = Field(default=None, description="Thread of the rod of a hanger or tie.", examples=["M12"])
    length: Reach | None = says(
        "Length of rod, post or strut, such as 2.2 m, from the fitting to what holds it: the foot stands at minus this along toward, the anchor "
        "of a hanger or tie at plus."
    )
    modulus: Elastic | None = says("Modulus of elasticity of rod, post or strut; 205 GPa for steel.")
    section: PostSectionEntry | None = says(
        "Section of a rest's post, a strut or a guide's post; with length and modulus."
    )
    sections: dict[str, Item[PostSectionEntry]] = Field(
        default_factory=dict, description="Other sections by name, of which the least that holds is sought."
    )
    effective_length_factor: EndsFactor | None = says(
        "K of the ends of a post that may buckle: 1 pinned, 2 free at the top, 0.5 held against turning at both ends."
    )
    base_plate: BasePlateEntry | None = says("Plate under the post of a rest.")
    block: BlockEntry | None = says("The block of a thrust_block.")
    six_way: StiffnessOrRigid | None = says(
        "Of an anchor: rigid, or {axial, shear, bending, torsion} with its axis along toward."
    )
    allow: SupportAllowEntry | None = says(
        "What it may carry and the factors it must reach; a force alone is short for force."
    )
    cost: Ratio | None = says("Cost in your own money, a plain number, for the comparison.")
    note: Note | None = says("Your own note, shown in reports.")

    @classmethod
    def unfold(cls, node: Tree, collector: Collector) -> Tree:
        """Point from keys that people try to those that stand for them here."""
        if not isinstance(node, Branch):
            return node
        known = Branch(node.line, node.path)
        for key, value in node.items():
            if key not in _ELSEWHERE:
                known[key], known.lines[key] = value, node.lines[key]
                continue
            path = (*node.path, key)
            collector.add(node.lines[key], path, f"unknown key '{key}'", _ELSEWHERE[key], "unknown_key", key)
        return known
