"""Threads, bolt strengths and wrench room from the tables."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from anchorsize.reference.tables import (
    INCH,
    ZERO_CELSIUS,
    NotInTable,
    Row,
    Table,
    bracket,
    celsius,
    figure,
    figure_or_none,
    inches,
    load,
    not_in_table,
    plain,
    size_not_in_table,
    worst,
)
from anchorsize.study import Provenance

MM = 1e-3
MPA = 1e6
_SAME_SIZE = 1e-5  # [m]; far below any step between sizes, far above the rounding of conversions


@dataclass(frozen=True)
class Thread:
    """A bolt thread: diameters and pitch [m], areas [m²].

    ``tensile_area`` is the published stress area where there is one, else the formula; ``root_area`` the least section by
    π/4 (d − 1.3 P)², the rule of the ASME PCC-1 column, slightly below that on the minor diameter d3 for metric threads.
    """

    designation: str
    diameter: float
    pitch: float
    tensile_area: float
    root_area: float
    shank_area: float
    pitch_diameter: float
    provenance: Provenance


@dataclass(frozen=True)
class BoltClass:
    """Strengths of a property class or grade at one size [Pa]; ``None`` where the specification gives none."""

    designation: str
    tensile: float
    yield_strength: float | None
    proof: float | None
    provenance: Provenance


@dataclass(frozen=True)
class HotShare:
    """``share`` [-] of its yield strength that a class has left when hot, None beyond ``last`` [K], the last temperature tabled."""

    share: float | None
    last: float
    provenance: Provenance


@lru_cache(maxsize=4096)
def thread(designation: str) -> Thread:
    """The thread of a bolt size such as 'M16', 'M16x1.5', '3/4 in', '3/4-10', '1-1/8 in' or '0.75 in'.

    Without a pitch a metric size is coarse and an inch size is the one of flange bolting (8 threads per inch above 1 in).
    Sources: ISO 261, ISO 724, ISO 898-1, ASME B1.1, ASME PCC-1 Table H-1. Raises :class:`NotInTable`.
    """
    text = designation.strip().casefold().replace("×", "x")
    metric = re.fullmatch(r"m\s*(\d+(?:\.\d+)?)(?:\s*[x*-]\s*(\d+(?:\.\d+)?))?", text)
    if metric:
        return _metric_thread(designation, float(metric[1]), float(metric[2]) if metric[2] else None)
    return _inch_thread(designation, text)


def coarse_sizes(*, metric: bool) -> list[str]:
    """Designations of the coarse threads listed, the least first: 'M6' … or '3/8 in' …; each is one of :func:`thread`."""
    if metric:
        return [row["designation"] for row in load("threads_metric").rows if row["series"] == "coarse"]
    return [f"{row['size']} in" for row in load("threads_inch").rows if row["series"] == "UNC"]


def _metric_thread(designation: str, diameter: float, pitch: float | None) -> Thread:
    table = load("threads_metric")
    for row in table.rows:
        wanted = row["series"] == "coarse" if pitch is None else figure(row, "pitch_mm") == pitch
        if figure(row, "diameter_mm") == diameter and wanted:
            return _thread_of_metric_row(table, row)
    listed = [(figure(row, "diameter_mm"), row["designation"]) for row in table.rows]
    raise size_not_in_table("thread", designation, table.name, listed, diameter)


def _thread_of_metric_row(table: Table, row: Row) -> Thread:
    tensile, said = _published_or_calculated(table, row, "stress_area")
    root, root_said = _published_or_calculated(table, row, "root_area")
    status = worst([table.status(row, "pitch_mm"), table.status(row, tensile), _status(table, row, root)])
    source = f"{table.source}; stress area {said}, root area {root_said}"
    diameter = figure(row, "diameter_mm", MM)
    return Thread(
        designation=row["designation"],
        diameter=diameter,
        pitch=figure(row, "pitch_mm", MM),
        tensile_area=figure(row, tensile, MM**2),
        root_area=figure(row, root, MM**2),
        shank_area=math.pi / 4 * diameter**2,
        pitch_diameter=figure(row, "pitch_diameter_mm", MM),
        provenance=Provenance(f"thread {row['designation']}", table.name, row["designation"], source, status),
    )


def _published_or_calculated(table: Table, row: Row, quantity: str) -> tuple[str, str]:
    published = f"{quantity}_published_mm2"
    if row[published] and table.status(row, published) != "disputed":
        return published, "published"
    return f"{quantity}_calculated_mm2", "by formula"


def _status(table: Table, row: Row, column: str) -> str:
    # A disputed print does not make the formula disputed.
    status = table.status(row, column)
    return "computed" if status == "disputed" and "_calculated_" in column else status


def _inch_thread(designation: str, text: str) -> Thread:
    table = load("threads_inch")
    size, threads, series = _inch_parts(text)
    rows = [
        row for row in table.rows if size is not None and math.isclose(figure(row, "diameter_in"), size, abs_tol=1e-4)
    ]
    if threads is not None:
        rows = [row for row in rows if figure(row, "threads_per_in") == threads]
    elif series == "unc":
        rows = [row for row in rows if "UNC" in row["series"]]
    else:
        rows = [row for row in rows if row["flange_convention"] == "yes"]
    if not rows and size is not None:
        listed = [(figure(row, "diameter_in"), _inch_name(row)) for row in table.rows]
        raise size_not_in_table("thread", designation, table.name, listed, size)
    if not rows:
        raise NotInTable(
            f"thread '{designation}' is not understood; write for example 'M16', 'M16x1.5', '3/4 in' or '3/4-10'"
        )
    return _thread_of_inch_row(table, rows[0])


def _inch_parts(text: str) -> tuple[float | None, float | None, str]:
    bare, series = re.sub(r"[\s-]*(?:8un|unc|un)\b.*$", "", text), "unc" if "unc" in text else ""
    with_threads = re.fullmatch(r"((?:\d+[\s-]+)?\d+/\d+|\d+)(?:\s*in)?\s*-\s*(\d+(?:\.\d+)?)", bare)
    if with_threads and "/" not in bare[with_threads.start(2) :]:
        return inches(with_threads[1]), float(with_threads[2]), series
    return inches(bare), None, series


def _inch_name(row: Row) -> str:
    return f"{row['size']}-{row['threads_per_in']}"


def _thread_of_inch_row(table: Table, row: Row) -> Thread:
    name = _inch_name(row)
    diameter = figure(row, "diameter_in", INCH)
    columns = ("tensile_area_in2", "root_area_in2")
    return Thread(
        designation=name,
        diameter=diameter,
        pitch=INCH / figure(row, "threads_per_in"),
        tensile_area=figure(row, "tensile_area_in2", INCH**2),
        root_area=figure(row, "root_area_in2", INCH**2),
        shank_area=math.pi / 4 * diameter**2,
        pitch_diameter=figure(row, "pitch_diameter_in", INCH),
        provenance=table.provenance(f"thread {name}", row, name, columns, "areas published"),
    )


@lru_cache(maxsize=4096)
def property_class(grade: str, diameter: float) -> BoltClass:
    """Strengths of a bolt of ``diameter`` [m] in a property class or grade: '8.8', 'A193 B7', 'A2-70', 'SAE J429 grade 5'.

    Where several specifications know a bare grade, the first of the table that covers the size is taken (A193 before A193M).
    Sources: ISO 898-1, ISO 3506-1, ASTM A193, A320, A307, F3125, SAE J429. Raises :class:`NotInTable`, also for a size
    outside the range of the grade.
    """
    table = load("property_classes")
    asked = _grade_key(grade)
    rows = [row for row in table.rows if asked in _grade_keys(row)]
    if not rows:
        raise not_in_table("property class", grade, table.name, (_listed_grade(row) for row in table.rows))
    for row in rows:
        if _covers(row, diameter):
            name = _class_name(row)
            columns = ("tensile_MPa", "yield_MPa", "proof_MPa")
            return BoltClass(
                designation=name,
                tensile=figure(row, "tensile_MPa", MPA),
                yield_strength=figure_or_none(row, "yield_MPa", MPA),
                proof=figure_or_none(row, "proof_MPa", MPA),
                provenance=table.provenance(f"strength of {name}", row, f"{name}, {_size_range(row)}", columns),
            )
    ranges = "; ".join(f"{_class_name(row)}: {_size_range(row)}" for row in rows)
    raise NotInTable(f"property class '{grade}' does not cover a diameter of {diameter * 1e3:g} mm; listed: {ranges}")


@lru_cache(maxsize=4096)
def hot_share(grade: str, temperature: float) -> HotShare | None:
    """What a class has left of its yield strength at a temperature [K], linear between those tabled; None where it has no row.

    Sources, all from memory: an older edition of ISO 898-1, ISO 3506-1, ASME BPVC II-D Table Y-1.
    """
    table = load("bolt_strength_hot")
    asked = _grade_key(grade)
    named = [row for row in table.rows if asked in _grade_keys(row)]
    rows = [row for row in named if row["specification"] == named[0]["specification"]]
    if not rows:
        return None
    points = [figure(row, "at_degC") for row in rows]
    place = bracket(points, celsius(temperature))
    known = float(celsius(temperature)) <= points[-1]
    share = float(place.between(np.array([figure(row, "yield_share") for row in rows]))) if known else None
    used = [rows[each] for each in place.used]
    name = _class_name(rows[0])
    label = f"{name}, {used[0]['at_degC']} to {used[-1]['at_degC']} °C"
    source = f"{rows[0]['specification']}, linear between temperatures"
    origin = Provenance(
        f"yield strength left in hot bolts of {name}", table.name, label, source, worst(row["status"] for row in used)
    )
    return HotShare(share, points[-1] + ZERO_CELSIUS, origin)


def _class_name(row: Row) -> str:
    return f"{row['specification']} {row['grade']}"


def _listed_grade(row: Row) -> str:
    return row["grade"] if len(row["grade"]) > 1 else _class_name(row)


def _grade_key(text: str) -> str:
    return plain(re.sub(r"\b(?:property|class|cl|grade|gr)\b\.?|(?<=\s)cl\.", " ", text.casefold()))


def _grade_keys(row: Row) -> frozenset[str]:
    specification = row["specification"]
    without_body = re.sub(r"^(?:ASTM|SAE|ISO)\s+", "", specification)
    names = [f"{specification} {row['grade']}", f"{without_body} {row['grade']}", f"ASTM {row['grade']}"]
    # 'A' or 'B' alone names nothing in particular.
    names += [row["grade"]] if len(row["grade"]) > 1 or row["grade"].isdigit() else []
    return frozenset(_grade_key(name) for name in names)


def _covers(row: Row, diameter: float) -> bool:
    least = figure_or_none(row, "from_mm", MM)
    above = figure_or_none(row, "over_mm", MM)
    most = figure_or_none(row, "to_mm", MM)
    return (
        (least is None or diameter >= least - _SAME_SIZE)
        and (above is None or diameter > above + _SAME_SIZE)
        and (most is None or diameter <= most + _SAME_SIZE)
    )


def _size_range(row: Row) -> str:
    if not row["size_to"]:
        return "all sizes"
    return f"{row['size_from']} to {row['size_to']}" if row["size_from"] else f"up to {row['size_to']}"


@lru_cache(maxsize=4096)
def wrench_spacing(diameter: float) -> tuple[float, Provenance]:
    """The least bolt spacing [m] along the circle that leaves room for a wrench, and its origin.

    Nothing is interpolated: the spacing is that of the nearest listed inch size not below ``diameter`` [m].
    Source: Taylor Forge Bulletin 502, spacing from memory. Raises :class:`NotInTable` above the largest size.
    """
    return _wrench_room(diameter, "spacing_in", "least bolt spacing")


@lru_cache(maxsize=4096)
def wrench_edge(diameter: float) -> tuple[float, Provenance]:
    """The least distance [m] from bolt circle to flange rim, and its origin; read as :func:`wrench_spacing` is.

    Source: Taylor Forge Bulletin 502, edge distance from memory. Raises :class:`NotInTable` above the largest size.
    """
    return _wrench_room(diameter, "edge_in", "least edge distance")


def _wrench_room(diameter: float, column: str, what: str) -> tuple[float, Provenance]:
    """A distance [m] of the table of wrench spacing for a bolt of ``diameter`` [m], and its origin."""
    table = load("wrench_spacing")
    for row in table.rows:
        if figure(row, "diameter_in", INCH) >= diameter - _SAME_SIZE:
            exact = abs(figure(row, "diameter_in", INCH) - diameter) <= _SAME_SIZE
            remark = "" if exact else f"taken for {diameter * 1e3:g} mm from the next larger inch size"
            return figure(row, column, INCH), table.provenance(what, row, row["size"], [column], remark)
    raise NotInTable(f"bolt of {diameter * 1e3:g} mm is not in table {table.name}; largest: {table.rows[-1]['size']}")
