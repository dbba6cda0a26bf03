"""The tables of a report as comma-separated values: one file for each kind of table, its cases and joints in columns."""

from __future__ import annotations

import csv
import io
import re
from collections import Counter
from collections.abc import Iterable

from anchorsize.present.report.blocks import Grid

_GROUPED = re.compile(r"^[+-]?\d{1,3}(,\d{3})+(\.\d+)?$")


def sheets(grids: Iterable[Grid]) -> dict[str, str]:
    """Text of each file by its name; figures as the report prints them, without the commas between thousands.

    Raises
    ------
    ValueError
        Two columns of a table have one name, so that one of them would be lost.
    """
    rows: dict[str, list[dict[str, str]]] = {}
    for grid in grids:
        heads = [head.replace("\n", " ") for head in grid.headers]
        lead = dict(grid.keys)
        twice = [head for head, count in Counter([*lead, *heads]).items() if count > 1]
        if twice:
            raise ValueError(f"table '{grid.name}' has several columns named {', '.join(map(repr, twice))}")
        rows.setdefault(f"{grid.name}.csv", []).extend(
            lead | dict(zip(heads, map(_cell, row), strict=True)) for row in grid.rows
        )
    return {name: _written(each) for name, each in rows.items()}


def _cell(text: str) -> str:
    return text.replace(",", "") if _GROUPED.match(text) else text


def _written(rows: list[dict[str, str]]) -> str:
    heads = list(dict.fromkeys(head for row in rows for head in row))
    text = io.StringIO()
    writer = csv.DictWriter(text, heads, restval="", lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return text.getvalue()
