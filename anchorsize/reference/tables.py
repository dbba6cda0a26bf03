"""Reading the reference tables, and the one way of looking a name up in them.

A table is a CSV file that opens with ``# key: value`` lines (title, designation, source, notes, which column holds the
status of which) followed by a header whose names end in their unit. The files stand in ``tables/`` beside the package in
a source checkout and in ``anchorsize/tables`` once installed. Only the standard library reads them: a command that
needs one thread size must not wait for a data-frame library.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from difflib import get_close_matches
from functools import cache
from pathlib import Path
from typing import NamedTuple, TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

from anchorsize.study import Array, Number, Provenance

Row: TypeAlias = dict[str, str]

# From best to worst: a value built from several is no better than its worst.
STATUS_ORDER = ("confirmed", "computed", "seen-once", "from-memory", "disputed")
ZERO_CELSIUS = 273.15  # [K]
INCH = 0.0254  # [m]


class UnknownTable(LookupError):  # noqa: N818 - the name is the message
    """There is no table of that name; the message names the nearest ones."""


class NotInTable(LookupError):  # noqa: N818 - the name is the message
    """The tables hold no such entry, or it lies outside their range; the message names the nearest entries."""


@dataclass(frozen=True)
class Table:
    """One reference table: what its head says, its column names, and its rows as text, in file order."""

    name: str
    title: str
    designation: str
    source: str
    notes: tuple[str, ...]
    columns: tuple[str, ...]
    rows: tuple[Row, ...]
    text_columns: tuple[str, ...] = ()
    dimensionless: tuple[str, ...] = ()
    status_columns: dict[str, str] = field(default_factory=dict)

    def status_column(self, column: str) -> str:
        """The name of the column that holds the status of ``column``."""
        return self.status_columns.get(column, self.status_columns.get("*", "status"))

    def status(self, row: Row, column: str) -> str:
        """How far the entry of ``column`` in ``row`` is confirmed (one of :data:`STATUS_ORDER`)."""
        return row[self.status_column(column)]

    def worst_status(self, row: Row, columns: Iterable[str]) -> str:
        """The worst status among the entries of ``columns`` that are filled in."""
        return worst(self.status(row, column) for column in columns if row[column])

    def source_of(self, row: Row) -> str:
        """Where a row comes from: its own source where the table names one for each row."""
        named = (row[column] for column in ("source", "specification", "standard") if row.get(column))
        return next(named, self.source)

    def provenance(self, what: str, row: Row, label: str, columns: Iterable[str], remark: str = "") -> Provenance:
        """The origin of a value taken from ``columns`` of ``row``; a remark is added to the source."""
        source = self.source_of(row) + (f"; {remark}" if remark else "")
        return Provenance(what, self.name, label, source, self.worst_status(row, columns))


def worst(statuses: Iterable[str]) -> str:
    """The worst of some status words."""
    return max(statuses, key=STATUS_ORDER.index)


@cache
def _folder() -> Path:
    package = Path(__file__).resolve().parent.parent
    for folder in (package / "tables", package.parent / "tables"):
        if (folder / "threads_metric.csv").is_file():
            return folder
    raise FileNotFoundError(f"the reference tables are neither in {package} nor beside it")


@cache
def table_names() -> tuple[str, ...]:
    """The names of all reference tables, in alphabetical order."""
    return tuple(sorted(path.stem for path in _folder().glob("*.csv")))


@cache
def load(name: str) -> Table:
    """Read one table by name; raises :class:`UnknownTable`, naming the nearest, where there is none."""
    if name not in table_names():
        near = get_close_matches(name.casefold(), table_names(), n=3, cutoff=0.4) or table_names()
        raise UnknownTable(f"no table '{name}'; nearest: {', '.join(near)}")
    lines = (_folder() / f"{name}.csv").read_text(encoding="utf-8").splitlines()
    head = [line[1:].strip().partition(": ") for line in lines if line.startswith("#")]
    meta = {key: value for key, _, value in head if key != "note"}
    reader = csv.DictReader(line for line in lines if not line.startswith("#"))
    rows = tuple(dict(row) for row in reader)
    return Table(
        name=name,
        title=meta["title"],
        designation=meta["designation"],
        source=meta["source"],
        notes=tuple(value for key, _, value in head if key == "note"),
        columns=tuple(reader.fieldnames or ()),
        rows=rows,
        text_columns=_listed(meta.get("text", "")),
        dimensionless=_listed(meta.get("dimensionless", "")),
        status_columns={pair.partition("=")[0]: pair.partition("=")[2] for pair in _listed(meta.get("status_of", ""))},
    )


def _listed(text: str) -> tuple[str, ...]:
    return tuple(part.strip() for part in text.split(",") if part.strip())


def words(text: str) -> frozenset[str]:
    """The words and figures of a name, without case and punctuation; a comma or point inside a figure stays."""
    return frozenset(re.findall(r"[a-z]+[a-z0-9]*|\d+(?:[./]\d+)*[a-z]*", text.casefold()))


def plain(text: str) -> str:
    """A name without case, blanks and punctuation, for comparing; a point between digits stays."""
    return re.sub(r"(?<!\d)\.|\.(?!\d)|[^a-z0-9.]", "", text.casefold())


def find(table: Table, key: Callable[[Row], str], name: str, what: str) -> tuple[Row, ...]:
    """The rows of ``table`` that ``name`` means, by the text that ``key`` makes of a row.

    A name means the rows whose key is the same but for case, blanks and punctuation; failing that, the rows whose key
    holds all of its words, if they are all rows of one key. Raises :class:`NotInTable` with the nearest keys otherwise.
    """
    exact = tuple(row for row in table.rows if plain(key(row)) == plain(name))
    if exact:
        return exact
    asked = words(name)
    holding = tuple(row for row in table.rows if asked and asked <= words(key(row)))
    keys = dict.fromkeys(key(row) for row in holding)
    if len(keys) == 1:
        return holding
    if keys:
        raise NotInTable(f"{what} '{name}' may mean several entries of table {table.name}: {'; '.join(keys)}")
    raise not_in_table(what, name, table.name, (key(row) for row in table.rows))


def size_not_in_table(what: str, name: str, table: str, sizes: Iterable[tuple[float, str]], size: float) -> NotInTable:
    """As :func:`not_in_table` for a size that was understood: the nearest entries are those nearest in size."""
    near = dict.fromkeys(entry for _, entry in sorted(sizes, key=lambda pair: abs(pair[0] - size)))
    return NotInTable(f"{what} '{name}' is not in table {table}; nearest: {'; '.join(list(near)[:5])}")


def not_in_table(what: str, name: str, table: str, known: Iterable[str]) -> NotInTable:
    """The error that says what was asked for and which entries come nearest in spelling."""
    entries = list(dict.fromkeys(known))
    by_plain = {plain(entry): entry for entry in entries}
    near = [by_plain[each] for each in get_close_matches(plain(name), by_plain, n=4, cutoff=0.5)]
    asked = words(name)
    near += [entry for entry in entries if entry not in near and asked & words(entry)]
    shown = near[:6] or entries[:8]
    return NotInTable(f"{what} '{name}' is not in table {table}; nearest: {'; '.join(shown)}")


def figure(row: Row, column: str, scale: float = 1.0) -> float:
    """An entry as a number in SI units, ``scale`` being the SI value of the column's unit."""
    return float(row[column]) * scale


def figure_or_none(row: Row, column: str, scale: float = 1.0) -> float | None:
    """As :func:`figure`, but ``None`` where the table leaves the entry blank."""
    return figure(row, column, scale) if row.get(column) else None


class Bracket(NamedTuple):
    """Where values (...) lie among listed points: ``inside`` them or not, the two neighbors, and the share of the upper one."""

    inside: NDArray[np.bool_]
    lower: NDArray[np.intp]
    upper: NDArray[np.intp]
    share: Array

    @property
    def used(self) -> list[int]:
        """Places of all points that are a neighbor of some value, in their order."""
        return sorted({*np.ravel(self.lower).tolist(), *np.ravel(self.upper).tolist()})

    def between(self, listed: Array) -> Array:
        """What is ``listed`` (k,) at the points, linear between them (...): NaN where a neighbor that bears on it is."""
        first, second = listed[self.lower], listed[self.upper]
        with np.errstate(invalid="ignore"):
            mixed = (1 - self.share) * first + self.share * second
        return np.where(self.share == 0.0, first, np.where(self.share == 1.0, second, mixed))


def bracket(points: ArrayLike, x: ArrayLike) -> Bracket:
    """Where ``x`` (...) lies among ascending ``points``; the neighbors of a value outside them are those of the nearer end."""
    listed, asked = np.asarray(points, dtype=float), np.asarray(x, dtype=float)
    upper = np.minimum(np.searchsorted(listed, asked, side="right"), listed.size - 1)
    lower = np.maximum(upper - 1, 0)
    span = listed[upper] - listed[lower]
    share = (np.clip(asked, listed[0], listed[-1]) - listed[lower]) / np.where(span > 0.0, span, 1.0)
    return Bracket((listed[0] <= asked) & (asked <= listed[-1]), lower, upper, share)


def celsius(temperature: Number) -> Array:
    """A temperature [K] in °C, without the rounding of the conversion, so that a listed one meets its row."""
    return np.asarray(np.round(np.asarray(temperature, dtype=float) - ZERO_CELSIUS, 6))


def require_listed(name: str, place: Bracket, first: str, last: str, temperature: Number) -> None:
    """Raise :class:`NotInTable` where a temperature (...) [K] is outside those listed, from ``first`` to ``last`` in °C."""
    if not np.all(place.inside):
        worst_one = float(np.ravel(temperature)[np.argmin(np.ravel(place.inside))]) - ZERO_CELSIUS
        raise NotInTable(f"{name} is listed from {first} to {last} °C, not at {worst_one:g} °C")


def as_number(values: Array) -> Number:
    """One value as a float, more of them as they are."""
    return values if values.ndim else float(values)


def inches(text: str) -> float | None:
    """A size in inches as the trade writes it ('3/4', '1-1/8 in', '1 1/8', '0.75 in', '4"'); None if it is no such text."""
    match = re.fullmatch(r"(?:(\d+)[\s-]+)?(\d+)/(\d+)|(\d+(?:\.\d+)?)", _without_inch_mark(text))
    if not match:
        return None
    whole, top, bottom, decimal = match.groups()
    if decimal:
        return float(decimal)
    return (float(whole or 0) + float(top) / float(bottom)) if float(bottom) else None


def _without_inch_mark(text: str) -> str:
    return re.sub(r"\s*(?:inch(?:es)?|in\.?|[\"″”])$", "", text.strip().casefold())
