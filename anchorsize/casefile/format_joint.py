"""The format of joints: pydantic models of bolts, gaskets, flanges, tightening, allowables."""

from __future__ import annotations

import re
from collections.abc import Collection
from dataclasses import dataclass, field
from typing import Annotated, Any, ClassVar

from pydantic import Discriminator, Field, Tag

from anchorsize.casefile.by_bolt import ByBolt, Found
from anchorsize.casefile.format_sizing import MOST_BOLTS, SizingEntry
from anchorsize.casefile.hints import (
    CLASSES_DIFFER,
    GASKET_WORDS,
    NUMBERING_WORDS,
    SIZES_DIFFER,
    ring_diameters,
    word_hint,
)
from anchorsize.casefile.leaves import (
    Area,
    Direction,
    Distance,
    Elastic,
    Entry,
    Item,
    Length,
    Name,
    Note,
    PerBolt,
    PipeModulus,
    Point,
    Positive,
    Q,
    Ratio,
    RotationalStiffness,
    Stiffness,
    Stress,
    Whole,
    Word,
    keyed_text,
    length,
    reported,
)
from anchorsize.casefile.quantities import Bounds, Collector, Quantity
from anchorsize.casefile.reading import Branch, Items, Text, Tree

Line = Annotated[str, Name()]
Gap = Annotated[Quantity, length(least=0.0)]
Number = Annotated[Quantity, Q("number", Positive)]
FaceFriction = Bounds(above=0.0, most=1.0, hint="write for example 0.15 or 15 %")


@dataclass(frozen=True)
class OneWord(Name):
    """A text of which a list is refused with ``hint``: what to write where bolts differ."""

    hint: str = field(kw_only=True)

    def read(self, node: Tree, collector: Collector) -> str:
        if not isinstance(node, Text):
            collector.at(node, "a single text is expected here", self.hint, "wrong_form")
            reported()
        return super().read(node, collector)


class BoltPlace(Entry):
    """One bolt at a place of its own, along e1 and e2 from the bolt-circle center."""

    x: Distance
    y: Distance
    size: Line | None = Field(default=None, examples=["M16", "5/8 in"])


_SHORT_BOLTS = re.compile(
    r"^\s*(?P<count>\d+)\s*[x×]\s*(?P<size>\S.*?)\s+on\s+(?P<circle>\S.*?)"
    r"(?:,?\s+first\s+at\s+(?P<first_at>\S.*?))?\s*$"
)


class BoltsEntry(Entry):
    """The bolts: a count on a circle, free places, or short text such as `8 x M16 on 180 mm`."""

    short_form: ClassVar[dict[str, Any]] = {
        "anyOf": [
            {"type": "string", "pattern": r"^\s*\d+\s*[x×]\s*\S.*\s+on\s+\S", "examples": ["8 x M16 on 180 mm"]},
            {"type": "array", "minItems": 1, "items": {"type": "object", "required": ["x", "y"]}},
        ]
    }
    also_called: ClassVar[dict[str, str]] = dict.fromkeys(("grade", "property_class", "strength_class"), "class")

    @classmethod
    def _meant(cls, key: str, keys: Collection[str]) -> str:
        return word_hint(key, NUMBERING_WORDS) or super()._meant(key, keys)

    count: Annotated[int, Whole(1, MOST_BOLTS)] | None = None
    size: Annotated[str, OneWord(hint=SIZES_DIFFER)] | None = Field(default=None, examples=["M16", "5/8 in"])
    circle: Annotated[Quantity, length(above=0.0, most=50.0)] | None = None
    first_at: Annotated[Quantity, Q("angle")] | None = None
    missing: list[Annotated[int, Whole(1, MOST_BOLTS)]] = Field(default_factory=list)
    places: list[Item[BoltPlace]] | None = None
    class_: Annotated[str, OneWord(hint=CLASSES_DIFFER)] | None = Field(
        default=None, alias="class", examples=["8.8", "A193 B7"]
    )
    proof_strength: Stress | None = Field(
        default=None,
        description="Greatest stress that tightening and loads together may bring on a bolt: where its class has none in the tables, or less than that of "
        "the tables, as of hot bolts.",
    )
    shear_plane: Annotated[str, Word(("thread", "shank"))] | None = None
    diameter: Length | None = None
    tensile_area: Area | None = None
    root_area: Area | None = None
    stiffness: Annotated[tuple[Quantity, ...], PerBolt("stiffness", Positive)] | None = None

    @classmethod
    def judge(cls, branch: Branch, collector: Collector) -> None:
        """Missing bolts that there cannot be, told whatever else of the joint is wrong."""
        count, places, missing = branch.get("count"), branch.get("places"), branch.get("missing")
        number = _whole(count) or (len(places) if isinstance(places, Items) else 0)
        for each in missing if number and isinstance(missing, Items) else ():
            if _whole(each) > number:
                collector.at(each, f"there is no bolt {_whole(each)}", f"the bolts are 1 to {number}", "out_of_range")

    @classmethod
    def unfold(cls, node: Tree, collector: Collector) -> Tree:
        if isinstance(node, Items):
            branch = Branch(node.line, node.path)
            branch["places"], branch.lines["places"] = node, node.line
            return branch
        if not isinstance(node, Text) or not node.strip():
            return node
        found = _SHORT_BOLTS.match(node)
        if found is None:
            collector.at(node, f"'{node}' does not name bolts", "write '8 x M16 on 180 mm', or keys", "wrong_form")
            reported()
        branch = Branch(node.line, node.path)
        for key, value in found.groupdict().items():
            if value is not None:
                branch[key], branch.lines[key] = Text(value, node.line, (*node.path, key)), node.line
        return branch


def _whole(node: Tree | None) -> int:
    """The whole number of a node as far as it can be told, else 0."""
    text = node.strip() if isinstance(node, Text) else ""
    return int(text) if text.isascii() and text.isdigit() and len(text) < 9 else 0


class GasketEntry(Entry):
    """The gasket's contact ring and what it is made of; `m` and `y` are the factors of the code's gasket table, for a new gasket.

    With `condition: reused` (used before: a new one is to go in) or `in_place` (in service, not opened: it stays) the checks that rest
    on them are not made.
    """

    @classmethod
    def _meant(cls, key: str, keys: Collection[str]) -> str:
        if key.lower() in ("facing", "facings", "facing_sketch", "sketch"):
            return (
                "b0 is half the contact width, as with a flat facing (App. 2, Table 2-5.2, sketch 1a); for another facing give inside and "
                "outside of what is really pressed, and reaction_diameter"
            )
        return super()._meant(key, keys)

    inside: Length
    outside: Length
    thickness: Length | None = None
    modulus: Annotated[Quantity, Q("modulus", Bounds(above=0.0, low=1e6))] | None = None
    m: Ratio | None = None
    y: Annotated[Quantity, Q("stress", Bounds(least=0.0))] | None = None
    reaction_diameter: Length | None = None
    condition: Annotated[str, Word(("new", "reused", "in_place"), GASKET_WORDS)] | None = None


class FlangeEntry(Entry):
    """The flange: its dimensions, or its designation in the tables as short text.

    `raised_face` is the diameter at which the raised face ends, which presses the gasket no farther out; `flat` where there is none.
    """

    short_form: ClassVar[dict[str, Any]] = {"type": "string", "examples": ["EN 1092-1 PN 16 DN 100"]}

    designation: Line | None = None
    outside: Length | None = None
    thickness: Length | None = None
    hole: Length | None = None
    raised_face: Annotated[Quantity | str, Q("length", Positive, words=("flat",))] | None = None
    rating: Annotated[Quantity | str, Q("pressure", Positive, words=("from table",))] | None = None

    @classmethod
    def unfold(cls, node: Tree, collector: Collector) -> Tree:  # noqa: ARG003
        return keyed_text(node, "designation")


NutFactor = Annotated[Found, ByBolt("number", Bounds(above=0.0, most=1.0), "for every bolt, the missing ones too")]
Share = Annotated[Quantity, Q("share", Bounds(least=0.0, below=1.0))]
AS_FOUND = ("found", "as_found", "torque_found", "found_torque", "torque_as_found", "preload_found", "found_preload")
"""Keys that a reader may try for what was found."""


class TighteningEntry(Entry):
    """How the bolts are tightened: a torque or a preload, for all, as a list in the order of the bolt numbers (`-` for a missing bolt,
    or only those that are there), or by number as in `torque: {all: 90 N*m, 6: 40 N*m}`.

    What was found goes under `torque` (or `preload`) and is judged; what is wanted goes under `target_torque`, and the installer's
    sheet gives it. `nut_factor`, `lubricant` and `scatter` are of what was found; where bolts are cleaned or greased before they are
    tightened again, `target_nut_factor`, `target_lubricant` and `target_scatter` are of the target. Nut factors too may be given by
    bolt, as where some bolts are new or cleaned and the tight ones keep their threads: `target_nut_factor: {all: 0.3, 1: 0.16}`. A
    lubricant is told to the installer.
    """

    also_called: ClassVar[dict[str, str]] = {
        "k": "nut_factor",
        "k_factor": "nut_factor",
        "torque_coefficient": "nut_factor",
    }

    torque: Annotated[Found, ByBolt("moment", Bounds(least=0.0))] | None = None
    preload: Annotated[Found, ByBolt("force", Bounds(least=0.0))] | None = None
    nut_factor: NutFactor | None = None
    thread_friction: Number | None = None
    bearing_friction: Number | None = None
    bearing_diameter: Length | None = None
    scatter: Share | None = None
    relaxation: Share | None = None
    method: Line | None = None
    target_torque: Annotated[Found, ByBolt("moment", Bounds(least=0.0))] | None = None
    lubricant: Line | None = None
    target_nut_factor: NutFactor | None = None
    target_lubricant: Line | None = None
    target_scatter: Share | None = None

    @classmethod
    def unfold(cls, node: Tree, collector: Collector) -> Tree:
        if not isinstance(node, Branch) or not (wrong := [key for key in node if key in AS_FOUND]):
            return node
        kept = Branch(node.line, node.path)
        for key, value in node.items():
            if key not in wrong:
                kept[key], kept.lines[key] = value, node.lines[key]
        for key in wrong:
            hint = "what was found goes under torque (or preload), what is wanted under target_torque"
            collector.add(node.lines[key], (*node.path, key), f"unknown key '{key}'", hint, "unknown_key", key)
        return kept


class JointStiffnessEntry(Entry):
    """Stiffness of a joint as given."""

    axial: Stiffness
    shear: Stiffness
    bending: RotationalStiffness
    torsion: RotationalStiffness


StiffnessOrRigid = Annotated[
    Annotated[JointStiffnessEntry, Tag("keys")] | Annotated[str, Word(("rigid",)), Tag("word")],
    Discriminator(lambda node: "word" if isinstance(node, Text) and node.strip() else "keys"),
]


class PipeBehindEntry(Entry):
    """The pipe from the joint along its axis to a fixed end."""

    outside: Length
    wall: Length
    length: Length
    modulus: PipeModulus
    poisson: Annotated[Quantity, Q("number", Bounds(least=0.0, most=0.5))]


def says(text: str) -> Any:
    """A key that may be left out, with its description for editors."""
    return Field(default=None, description=text)


WORLD_PARTS = ("fx", "fy", "fz", "mx", "my", "mz", "fr", "mr", "fa", "fl", "fc", "ma", "ml", "mc")
"""Letters by which load sheets name the parts of force and moment, along axes that the file does not know."""


class AllowEntry(Entry):
    """Allowables of the joint's checks; what is left out is not checked. `origin` says where they come from.

    `force`, `moment` (resultants) and `axial`, `shear`, `bending`, `torsion` (parts) are what the nozzle or pipe at the joint may take.
    """

    also_called: ClassVar[dict[str, str]] = {
        f"{of}_{what}": what
        for of in ("nozzle", "joint", "pipe", "flange")
        for what in ("force", "moment", "shear", "torsion")
    } | {
        "axial_force": "axial",
        "nozzle_axial": "axial",
        "shear_force": "shear",
        "bending_moment": "bending",
        "nozzle_bending": "bending",
        "torsion_moment": "torsion",
        "torsional_moment": "torsion",
        "pressure_force": "pressure_thrust",
        "pressure_end_load": "pressure_thrust",
        "end_load": "pressure_thrust",
    }

    @classmethod
    def _meant(cls, key: str, keys: Collection[str]) -> str:
        if key.lower().replace("_", "") in WORLD_PARTS:
            return (
                "what the nozzle or pipe may take goes by the joint's own parts: force and moment (resultants), or axial, shear, bending, "
                "torsion"
            )
        return super()._meant(key, keys)

    bolt_tension: Annotated[Quantity, Q("stress force", Positive)] | None = None
    bolt_shear: Annotated[Quantity, Q("stress force", Positive)] | None = None
    tension_with_shear: Annotated[str, Word(("circular", "linear", "en_1993_1_8"))] | None = None
    hole_bearing: Stress | None = None
    bolt_spacing_least: Annotated[Quantity | str, Q("length", Positive, words=("from table",))] | None = None
    bolt_spacing_greatest: Annotated[Quantity | str, Q("length", Positive, words=("from formula",))] | None = None
    gasket_pressure_greatest: Stress | None = None
    bolt_stress_operating: Stress | None = None
    bolt_stress_seating: Stress | None = None
    bolt_thread_shear: Stress | None = None
    nut_thread_shear: Stress | None = None
    endurance_limit: Stress | None = None
    force: Annotated[Quantity, Q("force", Positive)] | None = says(
        "Greatest force on the nozzle or pipe at the joint, axial and shear together, such as 3 kN; with pressure_thrust."
    )
    moment: Annotated[Quantity, Q("moment", Positive)] | None = says(
        "Greatest moment on it about the bolt-circle center, bending and torsion together, such as 1.8 kN*m."
    )
    axial: Annotated[Quantity, Q("force", Positive)] | None = says(
        "Greatest axial force on it, opening or pressing; with pressure_thrust."
    )
    shear: Annotated[Quantity, Q("force", Positive)] | None = says("Greatest shear on it in the flange plane.")
    bending: Annotated[Quantity, Q("moment", Positive)] | None = says("Greatest bending moment on it.")
    torsion: Annotated[Quantity, Q("moment", Positive)] | None = says("Greatest moment on it about the joint axis.")
    pressure_thrust: Annotated[str, Word(("included", "excluded"))] | None = says(
        "Whether force and axial count the pressure end load on the bore (included), or are meant beside the pressure (excluded: it is "
        "taken out before comparing)."
    )
    origin: Line | None = None


class MembersEntry(Entry):
    """Metal clamped face to face, for the stiffness of the face where the gasket states none."""

    modulus: Elastic
    face_diameter: Length


class JointEntry(Entry):
    """A flanged, bolted connection at an opening."""

    dispensable: ClassVar[dict[str, str]] = dict.fromkeys(
        ("gasket", "tightening", "members", "cycles_between", "stiffness", "pipe_behind", "allow", "sizing", "note"), ""
    )

    @classmethod
    def _meant(cls, key: str, keys: Collection[str]) -> str:
        return word_hint(key, NUMBERING_WORDS[:1]) or super()._meant(key, keys)

    at: Line
    center: Point | None = None
    reference: Direction | None = None
    bolts: BoltsEntry | None = None
    flange: FlangeEntry | None = None
    gasket: GasketEntry | None = None
    tightening: TighteningEntry | None = None
    grip: Annotated[Quantity, length(above=0.0, most=5.0)] | None = None
    bolt_modulus: Elastic | None = None
    thread_length_in_grip: Gap | None = None
    face_friction: Annotated[Quantity, Q("number", FaceFriction)] | None = None
    members: MembersEntry | None = None
    thread_engagement: Length | None = None
    cycles_between: list[Line] | None = None
    stiffness: StiffnessOrRigid | None = None
    pipe_behind: PipeBehindEntry | None = None
    allow: AllowEntry | None = None
    sizing: SizingEntry | None = None
    note: Note | None = None

    @classmethod
    def judge(cls, branch: Branch, collector: Collector) -> None:
        """What to write for the diameters of a gasket without them: those of the table, for the flange where it is named."""
        flange, gasket = branch.get("flange"), branch.get("gasket")
        named = flange.get("designation") if isinstance(flange, Branch) else flange
        if isinstance(gasket, Branch) and not {"inside", "outside"} <= gasket.keys():
            rings = ring_diameters(named if isinstance(named, Text) else "", collector.system)
            for key, hint in rings.items():
                collector.supply[(*gasket.path, key)] = hint
