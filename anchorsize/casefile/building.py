"""What all builders share: where a key stands, what was taken for granted, which table rows were used."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TypeVar

import numpy as np

from anchorsize.casefile.format import CaseFile
from anchorsize.casefile.problems import nearest
from anchorsize.casefile.quantities import Collector, Quantity, vector
from anchorsize.casefile.reading import Branch, Items, Text, Tree
from anchorsize.reference import NotInTable
from anchorsize.study import Array, Provenance

T = TypeVar("T")
Path = tuple[str, ...]


@dataclass
class Building:
    """The study under construction."""

    file: CaseFile
    tree: Branch
    collector: Collector
    provenance: list[Provenance] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    remarks: list[str] = field(default_factory=list)
    shape_openings: tuple[str, ...] = ()

    @property
    def opening_names(self) -> list[str]:
        """Names of the openings, those written out and those of the shape."""
        return [*self.shape_openings, *self.file.openings]

    def problem(self, path: Path, message: str, hint: str = "", kind: str = "contradiction", found: str = "") -> None:
        """Record a problem at a key path; where the path ends in a missing key, at the line of what holds it."""
        self.collector.add(line_of(self.tree, path), path, message, hint, kind, found)

    def forget(self, path: Path) -> None:
        """Take back what was said of a text at a path, where its key is not what it was read as."""
        if isinstance(at_path(self.tree, path), Text):
            kept = [each for each in self.collector.problems if each.path[: len(path)] != path]
            self.collector.problems[:] = kept

    def missing(self, path: Path, hint: str = "") -> None:
        """Record that the last key of the path is missing."""
        self.problem(path, f"'{path[-1]}' is missing", hint, "missing_key")

    def unknown(self, path: Path, name: str, what: str, known: list[str]) -> None:
        """Record that ``name`` is no ``what`` of this file."""
        self.problem(path, f"'{name}' is no {what} of this file", nearest(name, known), "unknown_name", name)

    def at_quantity(self, quantity: Quantity, message: str, hint: str = "", kind: str = "contradiction") -> None:
        """Record a problem with a quantity."""
        self.collector.add(quantity.line, quantity.path, message, hint, kind, quantity.given)

    def look_up(self, path: Path, table: Callable[..., T], *asked: object) -> T | None:
        """Look up a table; what is not in it becomes a problem at the path."""
        try:
            return table(*asked)
        except NotInTable as error:
            self.problem(path, str(error), kind="not_in_table", found=str(asked[0]))
            return None

    def remember(self, origin: Provenance) -> None:
        """Keep the origin of a value that was looked up, once."""
        if origin not in self.provenance:
            self.provenance.append(origin)

    def granted(self, sentence: str) -> None:
        """Keep a sentence about what was taken for granted, once."""
        if sentence not in self.notes:
            self.notes.append(sentence)

    def remark(self, path: Path, note: str | None) -> None:
        """Keep a note of the user's."""
        if note:
            self.remarks.append(f"{' / '.join(path)}: {note}" if path else note)

    def unit_vector(self, path: Path, parts: tuple[Quantity, Quantity, Quantity]) -> Array:
        """Return a direction scaled to length one; a zero direction is a problem."""
        raw = vector(parts)
        length = np.linalg.norm(raw, axis=-1, keepdims=True)
        if np.any(length <= 1e-12):
            self.problem(path, "a direction of no length points nowhere", "write for example [1, 0, 0]", "out_of_range")
            return raw
        unit: Array = raw / length
        return unit


def at_path(tree: Tree, path: Path) -> Tree | None:
    """Return what stands at a path of keys, None where nothing does."""
    node: Tree | None = tree
    for key in path:
        node = node.get(key) if isinstance(node, Branch) else None
    return node


def line_of(tree: Tree, path: Path) -> int:
    """Return the line of a key path, or of the deepest part of it that exists."""
    line, node = tree.line, tree
    for key in path:
        if isinstance(node, Branch) and key in node:
            line, node = node.lines[key], node[key]
        elif isinstance(node, Items) and key.isdigit() and 0 < int(key) <= len(node):
            node = node[int(key) - 1]
            line = node.line
        else:
            break
    return line
