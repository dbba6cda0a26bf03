"""Coefficients from the tables: nut factors, tightening scatter, friction and losses."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from anchorsize.reference.tables import Row, Table, figure, figure_or_none, find, load, plain, worst
from anchorsize.study import Provenance


@dataclass(frozen=True)
class Coefficient:
    """A coefficient [-] with its range; ``None`` where no source states that end.

    Where several sources list the same name, ``typical`` is the first that states one and the range spans them all.
    """

    name: str
    low: float | None
    typical: float | None
    high: float | None
    provenance: Provenance


def coefficient(table: Table, rows: Sequence[Row], name: str, what: str, columns: tuple[str, str, str]) -> Coefficient:
    """One coefficient out of all rows of one name; ``columns`` are those of low, typical and high (blank: none)."""
    low, typical, high = columns
    stated = [value for row in rows for column in columns if (value := figure_or_none(row, column)) is not None]
    first = next((row for row in rows if row.get(typical)), rows[0])
    several = len(rows) > 1
    one_sided = not several and not first.get(high) and bool(first.get(low))
    sources = dict.fromkeys(table.source_of(row) for row in rows)
    status = worst(table.worst_status(row, [column for column in columns if column in row]) for row in rows)
    return Coefficient(
        name=name,
        low=min(stated) if several or first.get(low) else None,
        typical=figure_or_none(first, typical),
        high=max(stated) if not one_sided and (several or first.get(high)) else None,
        provenance=Provenance(f"{what} {name}", table.name, name, "; ".join(sources), status),
    )


def nut_factor(condition: str) -> Coefficient:
    """Nut factor K of T = K F d by surface and lubricant, such as 'zinc plated, dry' or 'lubricated'.

    Sources as listed by row. Raises :class:`NotInTable`.
    """
    table = load("nut_factors")
    rows = find(table, lambda row: row["condition"], condition, "nut factor condition")
    return coefficient(table, rows, rows[0]["condition"], "nut factor,", ("low", "typical", "high"))


def thread_friction(friction_class: str) -> Coefficient:
    """Range of thread and bearing friction by the friction classes A to E of VDI 2230 Part 1. Raises :class:`NotInTable`."""
    table = load("friction_classes")
    name = friction_class if "class" in friction_class.casefold() else f"class {friction_class}"
    rows = find(table, lambda row: row["condition"], name, "friction class")
    return coefficient(table, rows, rows[0]["condition"], "friction of", ("low", "typical", "high"))


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
    rows = find(table, lambda row: f"{row['group']}: {row['item']}", f"{group}: {item}", "fitting")
    name = f"{rows[0]['group']}, {rows[0]['item']}"
    return coefficient(table, rows, name, "loss coefficient,", ("k_low", "k", "k_high"))


def friction(surface: str) -> Coefficient:
    """Slip or friction coefficient of a face, by words of its category, surface or class ('EN A', 'PTFE gasket').

    Sources: EN 1090-2, RCSC, AISC 360, EN 1591-1 and others by row. Raises :class:`NotInTable`.
    """
    table = load("slip_friction")
    by_class = [row for row in table.rows if row["class_or_kind"] and plain(row["class_or_kind"]) == plain(surface)]
    rows = by_class or find(table, _face_name, surface, "face")
    return coefficient(table, rows, _face_name(rows[0]), "friction of", ("low", "typical", "high"))


def _face_name(row: Row) -> str:
    return f"{row['category']}: {row['surface']}" + (f" ({row['class_or_kind']})" if row["class_or_kind"] else "")


def soil_friction(soil: str, surface: str = "mass concrete") -> Coefficient:
    """Friction of a surface on soil. Source: NAVFAC DM 7.02, Table 1. Raises :class:`NotInTable`."""
    table = load("soil_friction")
    rows = find(table, lambda row: f"{row['surface']}: {row['soil']}", f"{surface}: {soil}", "soil")
    name = f"{rows[0]['surface']} on {rows[0]['soil']}"
    return coefficient(table, rows, name, "friction of", ("low", "typical", "high"))
