"""A leaf of the format that says yes or no, or yes with more to it."""

from __future__ import annotations

from dataclasses import dataclass

from pydantic.json_schema import JsonSchemaValue

from anchorsize.casefile.leaves import Leaf, reported
from anchorsize.casefile.problems import shorten
from anchorsize.casefile.quantities import Collector
from anchorsize.casefile.reading import Text, Tree


@dataclass(frozen=True)
class Flag(Leaf):
    """Yes or no, in the words that YAML has for it, or one of the words ``also``, which say yes and more."""

    also: tuple[str, ...] = ()

    def read(self, node: Tree, collector: Collector) -> bool | str:
        word = node.strip().casefold() if isinstance(node, Text) else ""
        if word in self.also:
            return word
        if word not in ("true", "yes", "on", "false", "no", "off"):
            found = f"'{shorten(node)}'" if isinstance(node, Text) else "this"
            words = " or ".join(["true", *self.also])
            collector.at(node, f"{found} is neither true nor false", f"write {words}, or take it out", "choice")
            reported()
        return word in ("true", "yes", "on")

    def describe(self) -> JsonSchemaValue:
        return {"enum": [True, False, *self.also]} if self.also else {"type": "boolean"}
