"""Reference tables as text and as machine output, each row with its source and status."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from typing import Any

from tabulate import tabulate

from anchorsize.reference import Table


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
    """A table with its designation, source and notes above the rows; as wide as its rows need."""
    head = [f"{table.name}: {table.title}", f"Designation: {table.designation}", f"Source: {table.source}"]
    head += [f"Note: {note}" for note in table.notes]
    text = "\n".join(textwrap.fill(line, width, subsequent_indent="  ") for line in head)
    rows = [[row[column] for column in table.columns] for row in table.rows]
    headers = [column.replace("_", "\n") for column in table.columns]
    return f"{text}\n\n{tabulate(rows, headers=headers, tablefmt='simple', maxcolwidths=36, disable_numparse=True)}\n"


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
