"""Widths across flats of hexagon nuts and heads from the table."""

from __future__ import annotations

from dataclasses import dataclass

from anchorsize.reference.fasteners import thread
from anchorsize.reference.tables import INCH, NotInTable, Row, figure, inches, load
from anchorsize.study import Provenance

MM = 1e-3
_SAME_SIZE = 1e-5  # [m]; as for threads: far below any step between sizes, far above the rounding of conversions
_SIXTEENTH = 16  # wrenches of inch nuts come in steps of 1/16 in


@dataclass(frozen=True)
class NutFlats:
    """The greatest width across flats of a nut [m], as a wrench has it in words, and which series of nut: `nut` or `heavy nut`."""

    part: str
    flats: float
    words: str
    provenance: Provenance


def nut_flats(size: str) -> NutFlats:
    """The nut of a bolt size: ISO 4032 for metric threads, the heavy nut of ASME B18.2.2 for inch ones, as flange bolting has.

    Raises :class:`NotInTable` for a size that is not listed; nothing is interpolated.
    """
    for row in _of(thread(size).diameter):
        inch = not row["size"].startswith("M")
        part = "heavy nut" if inch else "nut"
        if row["part"] != part:
            continue
        flats = figure(row, "across_flats_max_mm", MM)
        return NutFlats(part, flats, _sixteenths(flats) if inch else f"{flats / MM:g} mm", _origin(row))
    raise NotInTable(f"no nut is tabled for a bolt of {size}")


def narrowest_flats(diameter: float) -> tuple[float, Provenance]:
    """The width across flats [m] of the narrowest head or nut listed for a bolt of nominal ``diameter`` [m], and its origin.

    Sources: ISO 4032, ISO 4014; ASME B18.2.2 (heavy nuts). Raises :class:`NotInTable` for a diameter that is not listed.
    """
    rows = _of(diameter)
    if not rows:
        raise NotInTable(f"no hexagon is tabled for a bolt of {diameter / MM:.4g} mm")
    row = min(rows, key=lambda each: figure(each, "across_flats_max_mm", MM))
    return figure(row, "across_flats_max_mm", MM), _origin(row)


def _origin(row: Row) -> Provenance:
    """The origin of the width across flats in a row of the table."""
    return load("hexagons").provenance(f"{row['part']} {row['size']}", row, row["size"], ["across_flats_max_mm"])


def _of(diameter: float) -> list[Row]:
    """The hexagons of a nominal diameter [m]."""
    return [row for row in load("hexagons").rows if abs(nominal(row["size"]) - diameter) <= _SAME_SIZE]


def nominal(size: str) -> float:
    """The nominal diameter [m] of a size as the table writes it, such as M16 or 1-1/8."""
    listed = inches(size)
    return float(size.removeprefix("M")) * MM if listed is None else listed * INCH


def _sixteenths(flats: float) -> str:
    """A width in inches and sixteenths, as it is stamped on a wrench."""
    whole, parts = divmod(round(flats / INCH * _SIXTEENTH), _SIXTEENTH)
    below = _SIXTEENTH
    while parts and parts % 2 == 0:
        parts, below = parts // 2, below // 2
    return f"{'-'.join(filter(None, [str(whole) if whole else '', f'{parts}/{below}' if parts else '']))} in"
