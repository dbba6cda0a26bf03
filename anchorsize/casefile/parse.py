"""Text to study, and the overrides that put arrays where one number stood."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path

import numpy as np
from numpy.typing import ArrayLike
from pydantic import BaseModel, ValidationError

from anchorsize.casefile.build import build
from anchorsize.casefile.format import CaseFile
from anchorsize.casefile.problems import CaseFileError, nearest
from anchorsize.casefile.quantities import Collector, Quantity
from anchorsize.casefile.reading import Branch, read_text, read_tree
from anchorsize.study import Study


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
    tree, collector, file = validate(text, name)
    if file is not None:
        _override(file, overrides or {}, collector)
    study = None if file is None else build(file, tree, collector, name)
    if study is None:
        raise CaseFileError(collector.problems)
    return study


def validate(text: str, name: str) -> tuple[Branch, Collector, CaseFile | None]:
    """Read and validate a text; the file is None where it cannot even be represented, with the problems collected."""
    tree, problems = read_tree(text, name)
    collector = Collector(name, problems)
    try:
        return tree, collector, CaseFile.model_validate(tree, context=collector)
    except ValidationError:
        return tree, collector, None


def quantities(value: object) -> Iterator[Quantity]:
    """Yield every quantity of a validated file, in the order of the format."""
    if isinstance(value, Quantity):
        yield value
    elif isinstance(value, BaseModel):
        for part in (*value.__dict__.values(), *(value.__pydantic_extra__ or {}).values()):
            yield from quantities(part)
    elif isinstance(value, dict):
        for part in value.values():
            yield from quantities(part)
    elif isinstance(value, (list, tuple)):
        for part in value:
            yield from quantities(part)


def _override(file: CaseFile, overrides: Mapping[str, ArrayLike], collector: Collector) -> None:
    if not overrides:
        return
    known = {"/".join(quantity.path): quantity for quantity in quantities(file)}
    for path, value in overrides.items():
        quantity = known.get(path)
        if quantity is None:
            keys = tuple(path.split("/"))
            collector.add(0, keys, "no quantity of this file stands there", nearest(path, known), "unknown_override")
            continue
        array = np.asarray(value, dtype=np.float64)
        complaint = quantity.bounds.complaint(array, quantity.kind)
        if not np.all(np.isfinite(array)):
            complaint = ("is not finite everywhere", "")
        if complaint:
            collector.about(quantity, f"the override {complaint[0]}", complaint[1], "out_of_range")
            quantity.si = np.nan  # no quantity, as when read: what follows from it stays silent
        else:
            quantity.si = array if array.ndim else float(array)
