"""Flange drilling and ratings, gasket rings and factors, and pipe sizes from the tables."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from anchorsize.reference.nuts import nominal
from anchorsize.reference.tables import (
    INCH,
    NotInTable,
    Row,
    Table,
    as_number,
    bracket,
    celsius,
    figure,
    figure_or_none,
    inches,
    load,
    not_in_table,
    require_listed,
    size_not_in_table,
    worst,
)
from anchorsize.study import Number, Provenance

FLANGE_STANDARDS = ("EN 1092-1", "ASME B16.5", "AWWA C207")
"""How the designations of tabled flanges begin."""

MM = 1e-3
BAR = 1e5
_SAME_SIZE = 1e-5  # m, as for threads
RING_ROUNDING = 1.5e-4  # m: tabled gasket rings reach to the bolts and are rounded to 0.01 in, up to half of that over


@dataclass(frozen=True)
class FlangeDrilling:
    """A standard flange: diameters and thickness [m], bolt count and size; ``raised_face`` is None for a flat face.

    ``face_height`` is what the raised face adds to the thickness: 0 where the standard's thickness holds it. The status of the
    provenance is the worst of the entries used.
    """

    designation: str
    outside: float
    bolt_circle: float
    count: int
    bolt: str
    hole: float
    raised_face: float | None
    thickness: float
    provenance: Provenance
    face_height: float = 0.0


@dataclass(frozen=True)
class FlangeRating:
    """Rating pressure (gauge) (...) [Pa] of a flange at a temperature."""

    designation: str
    pressure: Number
    provenance: Provenance


@dataclass(frozen=True)
class GasketRing:
    """A standard flat gasket ring inside the bolt circle: diameters [m]."""

    designation: str
    inside: float
    outside: float
    provenance: Provenance


@dataclass(frozen=True)
class _Wanted:
    """A flange designation taken apart: the table, the rating, the size and the column the size is in."""

    table: str
    rating_column: str
    rating: str
    size_column: str
    size: str


_RATED = re.compile(r"\b(?:class|cl\.?)\s*(\d+)\b")
_RATED_AFTER = re.compile(r"(?<![\w./-])(\d+)\s*(?:#|(?:lbs?|pounds?|class)\b)")


def _take_apart(designation: str) -> _Wanted:
    text = designation.casefold()
    pressure = re.search(r"\bpn\s*(\d+)", text)
    rated = _RATED.search(text)
    if pressure:
        return _Wanted("flange_en1092_1", "pn", pressure[1], *_size(text[: pressure.start()] + text[pressure.end() :]))
    if not rated and "c207" not in text and not re.search(r"\bclass\s*d\b", text):
        rated = _RATED_AFTER.search(text) or _class_alone(text)
    if rated:
        return _Wanted("flange_b16_5", "rating_class", rated[1], *_size(text[: rated.start()] + text[rated.end() :]))
    if "c207" in text or re.search(r"\bclass\s*d\b", text):
        return _Wanted("flange_awwa_c207", "", "", *_size(re.sub(r"\bclass\s*d\b", "", text)))
    raise NotInTable(
        f"flange '{designation}' is not understood; write for example 'EN 1092-1 PN 16 DN 100', "
        "'ASME B16.5 class 150 NPS 4' or 'AWWA C207 class D 12 in'"
    )


def _class_alone(text: str) -> re.Match[str] | None:
    """The one number that is a rating class and no size, in a designation that names ANSI or ASME without the word class."""
    if not re.search(r"\b(?:ansi|asme|b16\.5)\b", text):
        return None
    classes = {row["rating_class"] for row in load("flange_b16_5").rows}
    found = list(re.finditer(r"(?<![\w./-])(?<!nps )(?<!dn )(\d{3,4})\b(?!\s*(?:in\b|[\"″”]))", text))
    return found[0] if len(found) == 1 and found[0][0] in classes else None


def _size(text: str) -> tuple[str, str]:
    """The size in a designation without its rating, as the column it is listed in and the text of that column."""
    bare = re.sub(r"\b(?:en\s*1092(?:-\d)?|en\s*1514(?:-\d)?|b16\.\d+|c207|awwa|asme|ansi)\b", " ", text)
    nominal = re.search(r"\bdn\s*(\d+)", bare)
    if nominal:
        return "dn", nominal[1]
    number = re.search(r"(?:\d+[\s-]+)?\d+/\d+|\d+(?:\.\d+)?", bare)
    return "nps", number[0] if number else ""


def _same_size(row: Row, column: str, size: str) -> bool:
    return (
        column in row
        and bool(size)
        and (row[column] == size or (column == "nps" and inches(row[column]) == inches(size)))
    )


def _size_of(row: Row, column: str) -> float:
    return _number(row.get(column, ""))


def _number(size: str) -> float:
    return inches(size) or 0.0


def flange(designation: str) -> FlangeDrilling:
    """The flange of a designation such as 'EN 1092-1 PN 16 DN 100', 'class 150 4 in' or 'AWWA C207 class D 12 in'.

    Sources: EN 1092-1, ASME B16.5, AWWA C207. Thickness holds the raised face for EN 1092-1 and leaves it out for
    ASME B16.5. Raises :class:`NotInTable`.
    """
    wanted = _take_apart(designation)
    table = load(wanted.table)
    for row in table.rows:
        rating = not wanted.rating_column or row[wanted.rating_column] == wanted.rating
        if rating and _same_size(row, wanted.size_column, wanted.size):
            return _drilling(table, row)
    rated = [row for row in table.rows if wanted.rating_column and row[wanted.rating_column] == wanted.rating]
    listed = [(_size_of(row, wanted.size_column), _flange_name(table, row)) for row in rated or table.rows]
    raise size_not_in_table("flange", designation, table.name, listed, _number(wanted.size))


def _flange_name(table: Table, row: Row) -> str:
    if table.name == "flange_en1092_1":
        return f"EN 1092-1 PN {row['pn']} DN {row['dn']}"
    if table.name == "flange_b16_5":
        return f"ASME B16.5 class {row['rating_class']} NPS {row['nps']}"
    return f"AWWA C207 class D {row['nps']} in"


def _drilling(table: Table, row: Row) -> FlangeDrilling:
    metric = table.name == "flange_en1092_1"
    # Inch flanges are read in inches: their millimeter columns are rounded.
    suffix, unit = ("_mm", MM) if metric else ("_in", INCH)
    columns = {name: f"{name}{suffix}" for name in ("outside", "bolt_circle", "hole", "raised_face", "thickness")}
    used = [column for column in (*columns.values(), "raised_face_height_in", "count", "bolt") if column in row]
    name = _flange_name(table, row)
    return FlangeDrilling(
        designation=name,
        outside=figure(row, columns["outside"], unit),
        bolt_circle=figure(row, columns["bolt_circle"], unit),
        count=int(row["count"]),
        bolt=row["bolt"],
        hole=figure(row, columns["hole"], unit),
        raised_face=figure_or_none(row, columns["raised_face"], unit),
        thickness=figure(row, columns["thickness"], unit),
        provenance=table.provenance(f"flange {name}", row, name, used),
        face_height=figure_or_none(row, "raised_face_height_in", INCH) or 0.0,
    )


@lru_cache(maxsize=256)
def flanges_for_bore(bore: float) -> tuple[FlangeDrilling, ...]:
    """In every standard and rating, the flange whose nominal size is nearest to a bore [m] by ratio, in table order.

    The nominal size is DN in mm, or NPS in inches. Sources: EN 1092-1, ASME B16.5, AWWA C207.
    """
    found = []
    for name, rating, size, unit in (
        ("flange_en1092_1", "pn", "dn", MM),
        ("flange_b16_5", "rating_class", "nps", INCH),
        ("flange_awwa_c207", "", "nps", INCH),
    ):
        table = load(name)
        for value in dict.fromkeys(row.get(rating, "") for row in table.rows):
            rated = [row for row in table.rows if row.get(rating, "") == value]
            nearest = min(rated, key=lambda row: abs(math.log(_size_of(row, size) * unit / bore)))
            found.append(_drilling(table, nearest))
    return tuple(found)


@lru_cache(maxsize=256)
def nearest_rim(diameter: float) -> tuple[float, str] | None:
    """The least distance [m] from bolt circle to rim of the tabled flanges with bolts of ``diameter`` [m], and which flange has it.

    None where no tabled flange has such bolts. Where an edition of the standard in millimeters has a smaller outside, it counts.
    """
    found = []
    for name in ("flange_en1092_1", "flange_b16_5", "flange_awwa_c207"):
        table = load(name)
        for row in table.rows:
            if abs(nominal(row["bolt"]) - diameter) > _SAME_SIZE:
                continue
            drilling = _drilling(table, row)
            outside = min(drilling.outside, figure_or_none(row, "outside_metric_edition_mm", MM) or drilling.outside)
            found.append((0.5 * (outside - drilling.bolt_circle), drilling.designation))
    return min(found, default=None)


def flange_rating(designation: str, temperature: Number) -> FlangeRating:
    """The rating pressure of a flange ('class 150', 'EN 1092-1 PN 16 DN 100') at a fluid temperature (...) [K].

    Linear interpolation between the listed temperatures. Sources: ASME B16.5 Table 2-1.1 (group 1.1), EN 1092-1 Annex G
    (group 3E0). Raises :class:`NotInTable`, also where a temperature is outside those listed.
    """
    table = load("flange_ratings")
    name, rows = _rated(designation)
    if not rows:
        raise not_in_table("flange rating", designation, table.name, (row["rating"] for row in table.rows))
    ends = [(figure(row, end), row) for row in rows for end in ("from_degC", "to_degC")]
    place = bracket([end for end, _ in ends], celsius(temperature))
    require_listed(name, place, f"{ends[0][0]:g}", f"{ends[-1][0]:g}", temperature)
    pressure = place.between(np.array([figure(row, "pressure_bar", BAR) for _, row in ends]))
    used = [ends[each] for each in place.used]
    source = f"{rows[0]['standard']}, linear between temperatures"
    label = f"{name}, {used[0][0]:g} to {used[-1][0]:g} °C"
    status = worst(row["status"] for _, row in used)
    origin = Provenance(f"rating of {name}", table.name, label, source, status)
    return FlangeRating(name, as_number(pressure), origin)


def _rated(designation: str) -> tuple[str, list[Row]]:
    """The rating of a designation as the table of ratings has it, and its rows there."""
    wanted = _take_apart(designation)
    name = f"PN {wanted.rating}" if wanted.rating_column == "pn" else f"class {wanted.rating or 'D'}"
    return name, [row for row in load("flange_ratings").rows if row["rating"] == name]


def is_rated(designation: str) -> bool:
    """Whether the table of ratings has the flange of a designation at any temperature. Raises :class:`NotInTable`."""
    return bool(_rated(designation)[1])


def gasket_ring(designation: str) -> GasketRing:
    """The flat gasket ring that belongs to a flange designation (see :func:`flange`).

    Sources: ASME B16.21 (classes 150 and 300), EN 1514-1 form IBC. Raises :class:`NotInTable`.
    """
    table = load("gasket_rings")
    wanted = _take_apart(designation)
    rating = f"PN {wanted.rating}" if wanted.rating_column == "pn" else f"class {wanted.rating or 'D'}"
    suffix, unit = ("_mm", MM) if wanted.rating_column == "pn" else ("_in", INCH)
    for row in table.rows:
        if row["rating"] == rating and _same_size(row, wanted.size_column, wanted.size):
            columns = (f"inside{suffix}", f"outside{suffix}")
            name = _ring_name(row)
            origin = table.provenance(f"gasket ring {name}", row, name, columns)
            return GasketRing(name, figure(row, columns[0], unit), figure(row, columns[1], unit), origin)
    listed = [(_size_of(row, wanted.size_column), _ring_name(row)) for row in table.rows if row[wanted.size_column]]
    raise size_not_in_table("gasket ring", designation, table.name, listed, _number(wanted.size))


def _ring_name(row: Row) -> str:
    return f"{row['standard']} {row['rating']} " + (f"NPS {row['nps']}" if row["nps"] else f"DN {row['dn']}")
