"""Coefficients from the tables: tightening scatter and losses."""

from __future__ import annotations

from dataclasses import dataclass

from anchorsize.reference.tables import figure, find, load, worst
from anchorsize.study import Provenance


@dataclass(frozen=True)
class Coefficient:
    """A coefficient [-] with its range."""

    name: str
    low: float
    typical: float
    high: float
    provenance: Provenance


@dataclass(frozen=True)
class Scatter:
    """Scatter of the preload about its mean as a share (0.3 means ±30 %), least and greatest figure of the sources."""

    method: str
    low: float
    high: float
    provenance: Provenance


def scatter(method: str) -> Scatter:
    """Scatter of the preload by tightening method, such as 'torque wrench' or 'hydraulic tensioner'.

    Sources: VDI 2230 Part 1, Machinery's Handbook, NASA NSTS 08307 and others by row. Raises :class:`NotInTable`.
    """
    table = load("tightening_scatter")
    rows = find(table, lambda row: row["method"], method, "tightening method")
    columns = ("scatter_low_percent", "scatter_high_percent")
    values = [figure(row, column, 0.01) for row in rows for column in columns]
    name = rows[0]["method"]
    status = worst(table.worst_status(row, columns) for row in rows)
    sources = "; ".join(dict.fromkeys(table.source_of(row) for row in rows))
    return Scatter(name, min(values), max(values), Provenance(f"scatter, {name}", table.name, name, sources, status))


def loss_coefficient(group: str, item: str) -> Coefficient:
    """Loss coefficient K of a fitting by group and item, such as ('elbow 90', 'long radius, flanged').

    Sources: Hydraulic Institute, Crane TP-410. Raises :class:`NotInTable`.
    """
    table = load("loss_coefficients")
    row = find(table, lambda row: f"{row['group']}: {row['item']}", f"{group}: {item}", "fitting")[0]
    name = f"{row['group']}, {row['item']}"
    columns = ("k_low", "k", "k_high")
    low, typical, high = (figure(row, column) for column in columns)
    return Coefficient(name, low, typical, high, table.provenance(f"loss coefficient, {name}", row, name, columns))
