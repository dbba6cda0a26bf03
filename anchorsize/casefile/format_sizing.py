"""The format of `sizing`: what may be chosen for the bolts of a joint, in the file or on the command line."""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import Field
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import PydanticCustomError

from anchorsize.casefile.leaves import Entry, Leaf, Name, Positive, Q, Whole, Word, reported
from anchorsize.casefile.quantities import Bounds, Collector, Quantity, with_last_unit
from anchorsize.casefile.reading import Branch, Text, Tree
from anchorsize.reference import NotInTable, flange, property_class, thread

MOST_BOLTS = 400  # of one joint


@dataclass(frozen=True)
class Several(Leaf):
    """A list of one kind of entry; a text stands for the list of its parts between commas."""

    item: Leaf

    def read(self, node: Tree, collector: Collector) -> tuple[Any, ...]:
        if isinstance(node, Branch) or (isinstance(node, Text) and not node.strip()):
            collector.at(node, "a list is expected here", "write for example [a, b]", "wrong_form")
            reported()
        entries: list[Tree] = _parts(node) if isinstance(node, Text) else list(node)
        if not entries:
            collector.at(
                node, "an empty list leaves nothing to choose", "name one at least, or take out the key", "empty"
            )
            reported()
        texts = [entry for entry in entries if isinstance(entry, Text)]
        if isinstance(self.item, Q) and len(texts) == len(entries):
            entries = [*with_last_unit(texts)]
        read, broken = [], False
        for entry in entries:
            try:
                read.append(self.item.read(entry, collector))
            except PydanticCustomError:
                broken = True
        if broken:
            reported()
        return tuple(read)

    def describe(self) -> JsonSchemaValue:
        # A bare number takes its unit from the last of the list.
        one = (
            {"anyOf": [self.item.describe(), {"type": "number"}]} if isinstance(self.item, Q) else self.item.describe()
        )
        return {"anyOf": [{"type": "array", "items": one, "minItems": 1}, {"type": ["string", "number"]}]}


@dataclass(frozen=True)
class Tabled(Name):
    """A designation that a reference table knows."""

    look_up: Callable[[str], object] = thread

    def read(self, node: Tree, collector: Collector) -> str:
        name = super().read(node, collector)
        try:
            self.look_up(name)
        except NotInTable as error:
            collector.at(node, str(error), "", "not_in_table")
        return name


# Diameters [m] that every grade of the table covers one of: a grade that knows none of them is no grade of the table.
_SOME_SIZES = (0.006, 0.012, 0.016, 0.0254, 0.036, 0.06)


def known_class(grade: str) -> None:
    """Raise NotInTable unless the property class is listed, whatever the sizes that it covers."""
    for diameter in _SOME_SIZES:
        try:
            property_class(grade, diameter)
        except NotInTable as error:
            unknown = error
        else:
            return
    raise unknown


def _parts(text: Text) -> list[Tree]:
    """Return the parts of a text between its commas, each with its place as if it stood in a list."""
    return [Text(part, text.line, (*text.path, str(i)), text.plain) for i, part in enumerate(text.split(","), start=1)]


class SizingEntry(Entry):
    """What `size` may choose from: every combination of what stands here is judged; what is left out stays as it is."""

    @classmethod
    def _meant(cls, key: str, keys: Collection[str]) -> str:
        if key.lower() in ("joint", "joints"):
            return "write sizing under the joint that it is for: joints / NAME / sizing"
        return super()._meant(key, keys)

    counts: Annotated[tuple[int, ...], Several(Whole(1, MOST_BOLTS))] | None = None
    sizes: Annotated[tuple[str, ...], Several(Tabled())] | None = Field(default=None, examples=[["M16", "M20"]])
    circles: Annotated[tuple[Quantity, ...], Several(Q("length", Bounds(above=0.0, most=50.0)))] | None = None
    classes: Annotated[tuple[str, ...], Several(Tabled(look_up=known_class))] | None = Field(
        default=None, examples=[["8.8", "10.9"]]
    )
    torques: Annotated[tuple[Quantity, ...], Several(Q("moment", Positive))] | None = None
    preload_share: Annotated[tuple[Quantity, ...], Several(Q("share", Bounds(above=0.0, most=1.0)))] | None = None
    flanges: Annotated[tuple[str, ...], Several(Tabled(look_up=flange))] | None = Field(
        default=None, examples=["EN 1092-1 PN 16 DN 100"]
    )
    standard: Annotated[str, Word(("yes", "no", "true", "false"))] = "no"
