"""Text to study, and the overrides that put arrays where one number stood."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from threading import Lock
from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike
from pydantic import BaseModel, ValidationError

from anchorsize.casefile.build import build
from anchorsize.casefile.format import CaseFile, FluidEntry
from anchorsize.casefile.format_joint import BoltsEntry, FlangeEntry
from anchorsize.casefile.format_sizing import SizingEntry
from anchorsize.casefile.problems import CaseFileError, alike, nearest
from anchorsize.casefile.quantities import Collector, Quantity
from anchorsize.casefile.reading import Branch, Items, Text, Tree, read_text, read_tree
from anchorsize.study import Study
from anchorsize.units import TINY, show

Words: TypeAlias = Mapping[str, str | tuple[str, ...]]
"""Texts, or lists of them, by the key path at which they are to stand."""

_SHORT_FORMS = {"bolts": BoltsEntry.unfold, "flange": FlangeEntry.unfold, "fluid": FluidEntry.unfold}


def read_case(path: str | Path) -> Study:
    """Read a case file. Raises :class:`CaseFileError` with all problems of the file."""
    return parse_case(read_text(path), str(path))


def parse_case(text: str, name: str, overrides: Mapping[str, ArrayLike] | None = None) -> Study:
    """Build the study of a case file's text; ``name`` is the file as shown in messages.

    Parameters
    ----------
    overrides : SI values by key path (``"cases/full flow/inlet/flow_in"``, ``"openings/outlet/bore"``), each a number or
        an array (...) of the batch shape. They replace quantities that the file gives, before the study is built, so
        that everything that follows from them follows; :func:`numeric_paths` lists the paths.

    Raises
    ------
    CaseFileError
        The text is no usable case file, or an override names no quantity of it or is not possible there.
    """
    return CaseText(text, name).study(overrides or {})


class CaseText:
    """A case file's text, read and validated once, to build many studies from."""

    def __init__(self, text: str, name: str, words: Words | None = None) -> None:
        """Read the text, with ``words`` in place of what it says at their key paths.

        Problems are kept until a study is asked for.
        """
        self.name = name
        self.tree, collector, self.file = validate(text, name, words)
        self._problems = tuple(collector.problems)
        self._known = {} if self.file is None else {"/".join(each.path): each for each in quantities(self.file)}
        self._lock = Lock()  # a study is built from the one set of quantities
        self._as_read = {path: (each.si, each.given) for path, each in self._known.items()}

    @property
    def quantities(self) -> Mapping[str, Quantity]:
        """Every quantity of the file by its key path."""
        return self._known

    def study(self, overrides: Mapping[str, ArrayLike]) -> Study:
        """Build a study as :func:`parse_case` does. Raises CaseFileError."""
        collector = Collector(self.name, list(self._problems))
        if self.file is None:
            raise CaseFileError(collector.problems)
        with self._lock:
            for path, (si, given) in self._as_read.items():
                self._known[path].si, self._known[path].given = si, given
            _override(self._known, overrides, collector)
            study = build(self.file, self.tree, collector, self.name)
        if study is None:
            raise CaseFileError(collector.problems)
        return replace(study, spread=tuple(path for path, each in self._known.items() if each.plus_minus))


def validate(text: str, name: str, words: Words | None = None) -> tuple[Branch, Collector, CaseFile | None]:
    """Read and validate a text; the file is None where it cannot even be represented, with the problems collected.

    ``words`` replace what the text says at their key paths, before it is validated.
    """
    tree, problems = read_tree(text, name)
    collector = Collector(name, problems)
    given = tree.get("units")
    collector.system = "us" if isinstance(given, Text) and alike(given) == "us" else "metric"
    collector.up, collector.lines = _up(tree.get("up")), text.split("\n")
    for path, word in (words or {}).items():
        _put(tree, tuple(path.split("/")), word, collector)
    try:
        return tree, collector, CaseFile.model_validate(tree, context=collector)
    except ValidationError:
        return tree, collector, None


def _up(node: Tree | None) -> Sequence[float] | None:
    """The direction up of a file as far as it can be told before it is validated: +z where the file is silent."""
    if node is None:
        return (0.0, 0.0, 1.0)
    try:
        parts = [float(each) for each in node if isinstance(each, Text)] if isinstance(node, Items) else []
    except ValueError:
        return None
    return parts if len(parts) == 3 and np.all(np.isfinite(parts)) else None


def quantities(value: object) -> Iterator[Quantity]:
    """Yield every quantity of a validated file, in the order of the format; what may be chosen is no input yet."""
    if isinstance(value, SizingEntry):
        return
    if isinstance(value, Quantity):
        yield value
    elif isinstance(value, BaseModel):
        for part in ({**value.__dict__, **(value.__pydantic_extra__ or {})}).values():
            yield from quantities(part)
    elif isinstance(value, dict):
        for part in value.values():
            yield from quantities(part)
    elif isinstance(value, (list, tuple)):
        for part in value:
            yield from quantities(part)


def _put(tree: Branch, path: tuple[str, ...], word: str | tuple[str, ...], collector: Collector) -> None:
    """Write ``word`` into the tree at a key path whose last key may be new there; a short form above it is unfolded."""
    node: Tree = tree
    for depth, key in enumerate(path[:-1], start=1):
        child = node.get(key) if isinstance(node, Branch) else None
        unfold = _SHORT_FORMS.get(key)
        if child is not None and unfold is not None and isinstance(node, Branch):
            child = node[key] = unfold(child, collector)
        if not isinstance(child, Branch):
            collector.add(0, path[:depth], "the file has no keys here to write to", "", "unknown_override")
            return
        node = child
    if isinstance(node, Branch):
        line = node.lines.setdefault(path[-1], node.line)
        if isinstance(word, str):
            node[path[-1]] = Text(word, line, path)
        else:
            items = Items(line, path)
            items.extend(Text(each, line, (*path, str(place))) for place, each in enumerate(word, start=1))
            node[path[-1]] = items


def _override(known: Mapping[str, Quantity], overrides: Mapping[str, ArrayLike], collector: Collector) -> None:
    for path, value in overrides.items():
        quantity = known.get(path)
        if quantity is None:
            keys = tuple(path.split("/"))
            collector.add(0, keys, "no quantity of this file stands there", nearest(path, known), "unknown_override")
            continue
        array = np.asarray(value, dtype=np.float64)
        array = np.where(np.abs(array) < TINY, 0.0, array)
        complaint = quantity.bounds.complaint(array, quantity.kind)
        if not np.all(np.isfinite(array)):
            complaint = ("is not finite everywhere", "")
        if complaint:
            collector.about(quantity, f"the override {complaint[0]}", complaint[1], "out_of_range")
            quantity.si = np.nan  # no quantity, as when read: what follows from it stays silent
        else:
            quantity.si = array if array.ndim else float(array)
            ends = (np.min(array), np.max(array)) if array.size else ()
            quantity.given = " to ".join(dict.fromkeys(show(float(end), quantity.kind, "metric") for end in ends))
