"""The inputs of a file one by one: as given and as converted, for reports, sweeps and scatter."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from anchorsize.casefile.parse import quantities, validate
from anchorsize.casefile.problems import CaseFileError
from anchorsize.casefile.quantities import Quantity, Shape
from anchorsize.study import Array
from anchorsize.units import KINDS


@dataclass(frozen=True)
class InputValue:
    """One quantity of a case file.

    ``path`` is its key path as overrides take it, ``given`` the text as written, ``si`` its value in ``unit`` (the SI unit
    of ``kind``), ``plus_minus`` the half width in the same unit and ``shape`` its distribution, both None without ±. For a
    normal shape the half width is two standard deviations; a uniform one ends there.
    """

    path: str
    line: int
    given: str
    si: float
    kind: str
    unit: str
    plus_minus: float | None
    shape: Shape | None


def read_inputs(text: str, name: str) -> list[InputValue]:
    """Return every quantity of a case file, by line. Raises CaseFileError where the text is no usable case file."""
    _, collector, file = validate(text, name)
    if file is None or collector.problems:
        raise CaseFileError(collector.problems)
    values = [
        InputValue(
            path="/".join(quantity.path),
            line=quantity.line,
            given=quantity.given,
            si=float(quantity.si),
            kind=quantity.kind,
            unit=KINDS[quantity.kind].si,
            plus_minus=quantity.plus_minus,
            shape=quantity.shape,
        )
        for quantity in quantities(file)
    ]
    return sorted(values, key=lambda value: value.line)


def numeric_paths(text: str, name: str) -> dict[str, str]:
    """Return the key paths that overrides take, each with the kind of its quantity (see anchorsize.units.KINDS)."""
    return {value.path: value.kind for value in read_inputs(text, name)}


def complaints(quantity: Quantity, values: Array) -> list[tuple[NDArray[np.intp], str]]:
    """Return the places in ``values`` (m,) [SI] that could not stand for ``quantity`` in its file, with the reason why.

    The bounds are those that the file itself is held to. They are limits, so that the values in their order fall into runs of
    one complaint each, whose ends are found by halving.
    """
    finite = np.isfinite(values)
    found = [] if np.all(finite) else [(np.flatnonzero(~finite), "is not finite")]
    order = np.flatnonzero(finite)[np.argsort(values[finite], kind="stable")]
    start = 0
    while start < order.size:
        complaint = quantity.bounds.complaint(values[order[start]], quantity.kind)
        end, beyond = start + 1, order.size  # the run reaches to ``end`` at least, and not past ``beyond``
        while end < beyond:
            middle = (end + beyond) // 2
            same = quantity.bounds.complaint(values[order[middle]], quantity.kind) == complaint
            end, beyond = (middle + 1, beyond) if same else (end, middle)
        if complaint is not None:
            message, hint = complaint
            found.append((order[start:end], f"{message} ({hint})" if hint else message))
        start = end
    return found
