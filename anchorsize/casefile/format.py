"""The case file's format: pydantic models, the single definition of keys, kinds and limits.

Reading a file, its error messages and the JSON Schema all follow from these classes. A leaf (see
:mod:`anchorsize.casefile.leaves`) says what one value is; an :class:`~anchorsize.casefile.leaves.Entry` is a mapping.
What only makes sense across entries (a joint at an unknown opening, flows that do not balance) is judged while building.
"""

from __future__ import annotations

from collections.abc import Collection
from typing import Annotated, Any, ClassVar

from pydantic import BeforeValidator, ConfigDict, Field

from anchorsize.casefile.format_joint import AllowEntry, JointEntry, Line
from anchorsize.casefile.format_shape import ShapeEntry
from anchorsize.casefile.format_sizing import SizingEntry
from anchorsize.casefile.format_support import SupportEntry
from anchorsize.casefile.hints import EXIT_WORDS, word_hint
from anchorsize.casefile.leaves import (
    AbsolutePressure,
    Area,
    Density,
    Direction,
    Entry,
    ForceVector,
    Item,
    Length,
    LineLength,
    Modulus,
    MomentVector,
    Note,
    NotNegative,
    PipeModulus,
    Point,
    Positive,
    Q,
    Whole,
    Word,
    keyed_text,
    length,
    nothing_is_empty,
    reported,
)
from anchorsize.casefile.problems import shorten
from anchorsize.casefile.quantities import Bounds, Collector, Quantity
from anchorsize.casefile.reading import Branch, Text, Tree
from anchorsize.casefile.yes_no import Flag

Temperature = Annotated[Quantity, Q("temperature")]
Flow = Annotated[Quantity, Q("flow")]
Time = Annotated[Quantity, Q("time")]
DynamicFactor = Bounds(
    above=0.0, least=1.0, most=100.0, hint="write the whole factor, 1 or more, such as 1.5; leave it out for none"
)


DYNAMIC_FACTOR = (
    "a number, 1 or more, that multiplies the thrusts of this case, not weights, outside loads or the pressure annulus: for what "
    "comes on suddenly, such as a start or a slug"
)
FULL_BORE_AFTER = "full_bore_after"
THROTTLED = (
    "true where a valve or an orifice inside the fitting takes the head that the pressures of this case say is lost; full_bore_after where pipe of "
    "full bore follows it, so that a free jet fills its opening; a nozzle or an orifice at the mouth of a free jet takes no head: it is the bore of that opening, or a part of the shape"
)
PRESSURE = (
    "gauge pressure with its unit, or `from losses`: then it follows by the energy equation from the pressure given at the one other "
    "flowing opening, the velocities, the heights and this opening's loss_coefficient"
)
LOSS_COEFFICIENT = (
    "a number K, or `from table` with loss_of: head lost on the way is K v²/2g, used with `pressure: from losses`; v is that of "
    "the opening named by velocity_at"
)

_OF_THE_FLUID = ("fluid", "temperature", "density", "viscosity", "vapor_pressure", "bulk_modulus")


class FluidEntry(Entry):
    """The fluid, by name from the tables or by its density; a name alone as short text."""

    short_form: ClassVar[dict[str, Any]] = {"type": "string", "examples": ["water"]}

    name: Line = Field(
        "water",
        description="a name of the tables, or any beside a density; left out, the fluid is water, but beside a density that is not water's "
        "it has no name and no table is asked about it",
    )
    temperature: Temperature | None = None
    density: Density | None = None
    viscosity: Annotated[Quantity, Q("viscosity", Positive)] | None = None
    bulk_modulus: Modulus | None = None
    vapor_pressure: AbsolutePressure | None = None
    note: Note | None = None

    @classmethod
    def unfold(cls, node: Tree, collector: Collector) -> Tree:  # noqa: ARG003
        return keyed_text(node, "name")


class ExtraMassEntry(Entry):
    """A mass that hangs on the fitting beside its own, such as its flanges or a valve."""

    name: Line
    mass: Annotated[Quantity, Q("mass", Bounds(least=0.0))]
    center: Point
    note: Note | None = None


class FittingEntry(Entry):
    """Mass and contents of the fitting, each with its center, or the shape that they follow from; masses beside them."""

    shape: ShapeEntry | None = None
    mass: Annotated[Quantity, Q("mass", Bounds(least=0.0))] | None = None
    mass_center: Point | None = None
    contents: Annotated[Quantity, Q("volume", Bounds(least=0.0))] | None = None
    contents_center: Point | None = None
    extra_masses: list[Item[ExtraMassEntry]] = Field(default_factory=list)
    note: Note | None = None


class OpeningEntry(Entry):
    """A place where fluid crosses: its center, its outward direction and its bore or area."""

    center: Point
    outward: Direction
    bore: Annotated[Quantity, length(above=0.0, most=20.0)] | None = None
    area: Area | None = None
    note: Note | None = None


class BeyondEntry(Entry):
    """What a line goes on through behind a connected opening without a joint: a bellows or a sliding coupling."""

    effective_area: Annotated[Quantity, Q("area", Positive)] = Field(
        description="What the pressure pushes on there: the effective area of a bellows, by its maker; of a sliding coupling, the area "
        "of the pipe's outside (where it seals). Into the fitting; the bore counts where nothing is given."
    )
    note: Note | None = None


class ExternalEntry(Entry):
    """A load on the fitting from outside, in every case unless `cases` lists some."""

    name: Line
    force: ForceVector | None = None
    moment: MomentVector | None = None
    at: Point | None = None
    cases: list[Line] | None = None
    note: Note | None = None


class SurgePipeEntry(Entry):
    """The pipe that a surge runs through, where its bore is not the opening's; with its wall, for the wave speed."""

    inside: Length
    wall: Length | None = None
    modulus: PipeModulus | None = None
    poisson: Annotated[Quantity, Q("number", Bounds(least=0.0, most=0.5))] | None = None
    anchoring: Annotated[str, Word(("expansion_joints", "upstream_end", "throughout"))] | None = None


class SurgeEntry(Entry):
    """A flow that is stopped; its pressure rise adds to the opening's pressure. `pipe` with its wall stands in for `wave_speed`.

    `stopped_flow: 0 L/s` alone says that nothing stops there, which needs no wave speed.
    `falls_evenly` says what falls evenly within the `closing_time`: the flow, or the area of the valve.
    """

    stopped_flow: Annotated[Quantity, Q("flow", Bounds(least=0.0))]
    wave_speed: Annotated[Quantity, Q("velocity", Positive)] | None = None
    pipe: SurgePipeEntry | None = None
    closing_time: Time | None = None
    pipe_length: LineLength | None = None
    falls_evenly: Annotated[str, Word(("flow", "valve_area"))] | None = None

    @classmethod
    def unfold(cls, node: Tree, collector: Collector) -> Tree:
        """Point from a rise that is known to the pressure that it belongs to: a surge is computed from the flow that is stopped."""
        if isinstance(node, Text) and node.strip():
            collector.at(node, f"'{shorten(node)}' stands where keys are expected", _KNOWN_RISE, "wrong_form")
            reported()
        told = [key for key in _RISES if isinstance(node, Branch) and key in node]
        if not told or not isinstance(node, Branch):
            return node
        for key in told:
            collector.add(node.lines[key], (*node.path, key), f"unknown key '{key}'", _KNOWN_RISE, "unknown_key", key)
        if "stopped_flow" not in node:  # then nothing is left to compute a rise from, nor to judge
            reported()
        kept = Branch(node.line, node.path)
        for key, value in node.items():
            if key not in told:
                kept[key], kept.lines[key] = value, node.lines[key]
        return kept


_RISES = ("rise", "pressure_rise", "pressure rise", "pressure")
_KNOWN_RISE = (
    "a surge is computed from its stopped_flow and wave_speed; a rise that is known is added to the pressure of the case, best in a case "
    "of its own"
)


class GasEntry(Entry):
    """Gas or steam leaving at an open discharge, from its stagnation state; `ambient` is absolute."""

    mass_flow: Annotated[Quantity, Q("mass_flow")]
    stagnation_temperature: Temperature
    k: Annotated[Quantity, Q("number", Bounds(above=1.0, most=2.0))]
    molar_mass: Annotated[Quantity, Q("molar_mass", Positive)]
    ambient: AbsolutePressure | None = None


class StateEntry(Entry):
    """One opening in one case; the word `free_jet`, `capped` or `connected` alone is short for its `exit`."""

    short_form: ClassVar[dict[str, Any]] = {"enum": ["free_jet", "capped", "connected"]}

    exit: Annotated[str, Word(("connected", "free_jet", "capped"), EXIT_WORDS)] = "connected"
    flow_in: Flow | None = None
    flow_out: Flow | None = None
    pressure: Annotated[Quantity | str, Q("pressure", words=("from losses",))] | None = Field(
        default=None, description=PRESSURE
    )
    absolute_pressure: AbsolutePressure | None = None
    ambient: AbsolutePressure | None = None
    loss_coefficient: Annotated[Quantity | str, Q("number", NotNegative, words=("from table",))] | None = Field(
        default=None, description=LOSS_COEFFICIENT
    )
    loss_of: Line | None = Field(
        default=None,
        description="row of the table of loss coefficients, with `loss_coefficient: from table`",
        examples=["elbow 90: long radius, flanged"],
    )
    velocity_at: Line | None = Field(
        default=None, description="opening whose velocity the loss coefficient refers to, where it is not this one's"
    )
    beta: Annotated[Quantity, Q("number", Bounds(least=1.0, most=10.0))] | None = None
    profile: Annotated[str, Word(("laminar", "power_law"))] | None = None
    exponent: Annotated[Quantity, Q("number", Bounds(above=0.0, most=100.0))] | None = None
    reynolds: Annotated[Quantity, Q("number", Bounds(least=4000.0, most=1e10))] | None = None
    density: Density | None = None
    flow_change: Annotated[Quantity, Q("flow_change")] | None = None
    surge: SurgeEntry | None = None
    gas: GasEntry | None = None
    note: Note | None = None

    @classmethod
    def unfold(cls, node: Tree, collector: Collector) -> Tree:  # noqa: ARG003
        return keyed_text(node, "exit")

    @classmethod
    def _meant(cls, key: str, keys: Collection[str]) -> str:
        return word_hint(key, EXIT_WORDS[:1]) or super()._meant(key, keys)


class CaseEntry(Entry):
    """An operating case: keys of its own, and one entry per opening under the opening's name.

    `rating_factor` multiplies the flange ratings in this case, and `allow` replaces single allowables in it.
    """

    model_config = ConfigDict(extra="allow")
    __pydantic_extra__: dict[str, Item[StateEntry]] = Field(init=False)

    contents: Annotated[str, Word(("full", "empty"))] = "full"
    dynamic_factor: Annotated[Quantity, Q("number", DynamicFactor)] | None = Field(
        default=None, description=DYNAMIC_FACTOR
    )
    rating_factor: Annotated[Quantity, Q("number", Bounds(above=0.0, most=100.0))] | None = None
    throttled: Annotated[bool | str, Flag((FULL_BORE_AFTER,))] = Field(default=False, description=THROTTLED)
    allow: AllowEntry | None = None
    ambient: AbsolutePressure | None = None
    note: Note | None = None

    @classmethod
    def unfold(cls, node: Tree, collector: Collector) -> Tree:
        """Take out, with a word, what belongs to the fluid: a case has no fluid of its own."""
        strays = [key for key in _OF_THE_FLUID if isinstance(node, Branch) and key in node]
        if not strays or not isinstance(node, Branch):
            return node
        kept = Branch(node.line, node.path)
        for key, value in node.items():
            kept[key], kept.lines[key] = value, node.lines[key]
        for key in strays:
            if isinstance(kept.pop(key), Branch) and key != "fluid":
                kept[key] = node[key]  # an opening of that name
                continue
            hint = "the fluid is the file's, the same in every case: write it under fluid, or judge the case in a file of its own"
            line = node.lines[key]
            collector.add(line, (*node.path, key), f"unknown key '{key}' in a case", hint, "unknown_key", key)
        return kept


class CaseFile(Entry):
    """A case file of anchorsize: one fitting, its openings, joints, loads, allowables and operating cases."""

    dispensable: ClassVar[dict[str, str]] = {
        "case_file": "1",
        "units": "metric",
        "fluid": "water",
        **dict.fromkeys(("title", "note", "notes", "beyond", "external", "allow", "sizing", "supports"), ""),
    }

    case_file: Annotated[int, Whole(1, 1, "this version reads 'case_file: 1'")]
    title: Line = ""
    note: Note | None = None
    notes: Note | None = None
    units: Annotated[str, Word(("metric", "us"))] = "metric"
    up: Direction | None = None
    ambient: AbsolutePressure | None = None
    fluid: FluidEntry
    fitting: FittingEntry | None = None
    openings: dict[str, Item[OpeningEntry]] = Field(default_factory=dict)
    joints: dict[str, Item[JointEntry]] = Field(default_factory=dict)
    beyond: dict[str, Item[BeyondEntry]] = Field(default_factory=dict)
    external: list[Item[ExternalEntry]] = Field(default_factory=list)
    allow: AllowEntry | None = None
    sizing: SizingEntry | None = None
    cases: dict[str, Item[CaseEntry]]
    supports: dict[str, Annotated[list[Item[SupportEntry]], BeforeValidator(nothing_is_empty)]] = Field(
        default_factory=dict
    )
