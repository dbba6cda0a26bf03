"""The format of `fitting.shape`: the usual shapes from bore, turn, direction and radius, alone or as a chain of parts."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from anchorsize.casefile.format_joint import Line
from anchorsize.casefile.leaves import Density, Direction, Entry, Item, Length, Point, Q, Whole, Word, length
from anchorsize.casefile.quantities import Bounds, Quantity

SHAPE_KINDS = (
    "straight",
    "reducer",
    "nozzle",
    "elbow",
    "reducing_elbow",
    "mitered_elbow",
    "mitred_elbow",
    "tee",
    "lateral",
    "wye",
    "cap",
)
MOST_CUTS = 20

Bore = Annotated[Quantity, length(above=0.0, most=20.0)]
Reach = Annotated[Quantity, length(least=0.0)]
Angle = Annotated[Quantity, Q("angle", Bounds(above=0.0))]


class PartKeys(Entry):
    """The keys that describe one part; which of them a kind needs is judged while building."""

    length: Length | None = None
    end_bore: Bore | None = None
    end_wall: Length | None = None
    leg: Length | None = None
    turn: Angle | None = None
    radius: Length | None = None
    toward: Direction | None = None
    cuts: Annotated[int, Whole(1, MOST_CUTS)] | None = None
    at: Reach | None = None
    angle: Angle | None = None
    branch_bore: Bore | None = None
    branch_length: Length | None = None
    branch_wall: Length | None = None
    name: Line | None = None
    thickness: Reach | None = None
    before: Reach | None = None
    after: Reach | None = None


class BeyondEntry(PartKeys):
    """One part of what goes on from a branch."""

    kind: Annotated[str, Word(SHAPE_KINDS)]


class BranchedKeys(PartKeys):
    """The keys of a part of the run, whose branch may go on."""

    beyond: list[Item[BeyondEntry]] | None = None


class PartEntry(BranchedKeys):
    """One part of a chain, followed from the end of the part before it."""

    kind: Annotated[str, Word(SHAPE_KINDS)]


class ShapeEntry(BranchedKeys):
    """A fitting built from its shape: one `kind` with its keys, or a chain of `parts`.

    It starts at the opening `inlet` and goes on in `direction`; its other openings are `outlet` and the branches.
    """

    kind: Annotated[str, Word(SHAPE_KINDS)] | None = None
    parts: list[Item[PartEntry]] = Field(default_factory=list)
    bore: Bore
    wall: Length | None = None
    material_density: Density | None = None
    start: Point | None = None
    direction: Direction | None = None
