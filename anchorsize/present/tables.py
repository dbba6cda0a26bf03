"""Reference tables as text and as machine output, each row with its source and status."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from typing import Any, TypeAlias

from anchorsize.present.words import table as text_table
from anchorsize.reference import Table

WIDEST = 36  # characters of a cell on one line
EASY = 20  # characters that a cell of words has at least, where a table goes into several parts
GAP = 2  # between columns
UNITS = {"kg_m3": "kg/m3", "Pa_s": "Pa s", "mm2_s": "mm2/s"}  # in the names of columns


def list_tables(tables: Sequence[Table], width: int) -> str:
    """One line per table: name, number of rows, title."""
    longest = max(len(t.name) for t in tables)
    lines = [
        textwrap.fill(
            f"{t.name:<{longest}}  {len(t.rows):>4} rows  {t.title}", width, subsequent_indent=" " * (longest + 13)
        )
        for t in tables
    ]
    return "\n".join([*lines, "", "anchorsize table NAME shows one, with the source and status of every row."]) + "\n"


def show_table(table: Table, width: int) -> str:
    """A table with its designation, source and notes above the rows; in parts, one below the other, where it is wider than ``width``."""
    head = [f"{table.name}: {table.title}", f"Designation: {table.designation}", f"Source: {table.source}"]
    head += [f"Note: {note}" for note in table.notes]
    columns = [(_header(name), [row[name] for row in table.rows]) for name in table.columns]
    alike = [each for each in columns[1:] if len(table.rows) > 1 and len(set(each[1])) == 1]
    head += [f"In every row: {' '.join(name.split())} {cells[0] or 'not given'}" for name, cells in alike]
    text = "\n".join(_filled(line, width, "  ") for line in head)
    shown = [each for each in columns if each not in alike]
    return "\n\n".join([text, *(_fitted(part, width) for part in _parts(shown, width))]) + "\n"


Column: TypeAlias = tuple[str, list[str]]
"""Header, its words one below the other, and cells."""


def _header(name: str) -> str:
    """The words of a column's name one below the other, a unit of several parts as one."""
    for key, unit in UNITS.items():
        name = f"{name.removesuffix(key)}{unit}" if name.endswith(f"_{key}") else name
    return name.replace("_", "\n")


def _filled(text: str, width: int, indent: str = "") -> str:
    return textwrap.fill(text, width, subsequent_indent=indent, break_on_hyphens=False)


def _most(column: Column) -> int:
    """Characters of the longest line of header and cells, as far as a line may go."""
    return min(WIDEST, max(len(line) for text in (column[0], *column[1]) for line in (text.splitlines() or [""])))


def _least(column: Column) -> int:
    """Characters of the longest word, which is not broken."""
    return min(WIDEST, max(len(word) for text in (column[0], *column[1]) for word in (text.split() or [""])))


def _parts(columns: Sequence[Column], width: int) -> list[list[Column]]:
    """The columns in as few tables as fit, each begun by those that tell the rows apart."""
    if _total([_least(each) if _most(each) > EASY else _most(each) for each in columns]) <= width:
        return [list(columns)]
    keys = _keys(columns)
    parts, rest = [], [each for each in columns if each not in keys]
    while rest:
        taken = 1
        while taken < len(rest) and _total([_easy(each) for each in [*keys, *rest[: taken + 1]]]) <= width:
            taken += 1
        parts.append([*keys, *rest[:taken]])
        rest = rest[taken:]
    return parts


def _easy(column: Column) -> int:
    return min(_most(column), max(_least(column), EASY))


def _total(widths: Sequence[int]) -> int:
    return sum(widths) + GAP * (len(widths) - 1)


def _keys(columns: Sequence[Column]) -> list[Column]:
    """The first columns that tell every row from the others, a count of the rows in front where two do not."""
    for count in (1, 2):
        if len(set(zip(*(cells for _, cells in columns[:count]), strict=True))) == len(columns[0][1]):
            return list(columns[:count])
    return [("row", [str(i) for i in range(1, len(columns[0][1]) + 1)]), columns[0]]


def _fitted(columns: Sequence[Column], width: int) -> str:
    """One table, its widest columns broken into lines until it keeps within ``width``."""
    widths, least = [_most(each) for each in columns], [_least(each) for each in columns]
    while _total(widths) > width and any(wide > low for wide, low in zip(widths, least, strict=True)):
        widest = max((i for i in range(len(widths)) if widths[i] > least[i]), key=lambda i: widths[i])
        widths[widest] -= 1
    cells = [[_filled(cell, wide) for cell in column] for (_, column), wide in zip(columns, widths, strict=True)]
    return text_table(list(zip(*cells, strict=True)), [header for header, _ in columns], left=len(columns), indent="")


def table_dict(table: Table) -> dict[str, Any]:
    """A table for ``table NAME --json``; figures stay text, as printed in the source."""
    return {
        "name": table.name,
        "title": table.title,
        "designation": table.designation,
        "source": table.source,
        "notes": list(table.notes),
        "columns": list(table.columns),
        "rows": [dict(row) for row in table.rows],
    }
