"""A quantity of each bolt as it was found: one for all, a list, or a mapping by bolt number."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

from pydantic.json_schema import JsonSchemaValue

from anchorsize.casefile.leaves import Leaf, Q, reported
from anchorsize.casefile.problems import alike, shorten
from anchorsize.casefile.quantities import (
    Bounds,
    Collector,
    Quantity,
    is_bare,
    no_quantity,
    read_quantity,
    with_last_unit,
    without_commas,
)
from anchorsize.casefile.reading import Branch, Items, Text, Tree
from anchorsize.units import KINDS

NONE_THERE = ("-", "−", "–", "—")
"""What stands in a list for a bolt that is missing."""
NOTHING = ("null", "~", "none", "missing", "absent", "gone", "lost", "n/a", "na", "nan", "x", "?")
"""What people write in a list for it."""


class Found(NamedTuple):
    """What the file says: ``everyone`` where one serves for all; ``places`` in a list and ``each`` by number, None for a missing bolt."""

    everyone: Quantity | None = None
    places: tuple[Quantity | None, ...] = ()
    each: tuple[tuple[int, Quantity | None], ...] = ()


@dataclass(frozen=True)
class ByBolt(Leaf):
    """One quantity for all bolts, a list in the order of their numbers, or a mapping of `all` and bolt numbers."""

    kind: str
    bounds: Bounds
    of: str = "what was found, where target_torque stands beside it"

    def read(self, node: Tree, collector: Collector) -> Found:
        if hint := without_commas(node, self.kind, collector):
            collector.at(node, "the values of this list are not parted by commas", hint, "wrong_form")
            reported()
        if isinstance(node, Items):
            return Found(places=self._listed(node, collector))
        if not isinstance(node, Branch) or not any(key == "all" or key.isdigit() for key in node):
            return Found(everyone=self._one(node, collector))
        each: dict[str, Quantity | None] = {}
        for key, value in node.items():
            if key == "all" or (key.isascii() and key.isdigit() and len(key) < 5):
                if isinstance(value, Text) and _is_nothing(value):
                    self._nothing(value, collector)
                    reported()
                each[key] = None if _none_there(value) else self._one(value, collector)
                continue
            hint = "write all, and the numbers of the bolts that differ"
            collector.add(node.lines[key], (*node.path, key), f"'{key}' is no bolt number", hint, "unknown_key", key)
        return Found(each.pop("all", None), each=tuple((int(key), value) for key, value in each.items()))

    def _listed(self, node: Items, collector: Collector) -> tuple[Quantity | None, ...]:
        texts = [entry for entry in node if isinstance(entry, Text)]
        given = [text for text in texts if not _none_there(text)]
        if len(texts) != len(node) or not given:
            collector.at(node, "this is no list of quantities", "write one value for each bolt", "wrong_form")
            reported()
        empty = [text for text in given if _is_nothing(text)]
        for text in empty:
            self._nothing(text, collector)
        given = [text for text in given if not _is_nothing(text)]
        judged = with_last_unit(given)
        if judged and no_quantity(judged[-1]) and all(is_bare(text) for text in judged[:-1]):
            self._one(
                judged[-1], collector
            )  # what should have given its unit to all: the others are right for all that is known
            reported()
        read = iter([self._one(text, collector) for text in judged])
        if empty:
            reported()
        return tuple(None if _none_there(text) else next(read) for text in texts)

    def _nothing(self, text: Text, collector: Collector) -> None:
        """Say how a bolt is written that has no value."""
        said = f"'{shorten(text)}' stands" if text.strip() else "nothing is given"
        hint = "write - for a bolt that is missing, 0 with its unit for one that is loose"
        if self.kind == "number":
            hint = "write one for every bolt, the missing ones too"
        collector.at(text, f"{said} where {KINDS[self.kind].noun} is expected", hint, "empty")

    def _one(self, node: Tree, collector: Collector) -> Quantity:
        return read_quantity(node, (self.kind,), self.bounds, collector)

    def describe(self) -> JsonSchemaValue:
        one = Q(self.kind).describe()
        many = {"type": "array", "items": {"type": ["number", "string"]}, "minItems": 1}
        numbered = {
            "type": "object",
            "properties": {"all": {"anyOf": one["anyOf"]}},
            "patternProperties": {"^[0-9]{1,4}$": {"anyOf": [*one["anyOf"], {"enum": ["-"]}]}},
            "additionalProperties": False,
        }
        words = (
            f"{one['description']}, for all bolts, as a list in the order of their numbers (- for a missing bolt), or by number as in "
            f"{{all: …, 6: …}}; {self.of}"
        )
        return {"description": words, "anyOf": [*one["anyOf"], many, numbered]}


def _is_nothing(text: Text) -> bool:
    return not text.strip() or alike(text) in NOTHING


def _none_there(node: Tree) -> bool:
    return isinstance(node, Text) and node.strip() in NONE_THERE
