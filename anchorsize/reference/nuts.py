"""Width across flats of hexagon nuts from the table."""

from __future__ import annotations

from dataclasses import dataclass

from anchorsize.reference.fasteners import thread
from anchorsize.reference.tables import INCH, NotInTable, figure, inches, load
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
    bolt, table = thread(size), load("hexagons")
    inch = inches(size) is not None or not size.strip().casefold().startswith("m")
    part = "heavy nut" if inch else "nut"
    for row in table.rows:
        listed = inches(row["size"]) if inch else figure({"d": row["size"].removeprefix("M")}, "d")
        if row["part"] != part or listed is None or abs(listed * (INCH if inch else MM) - bolt.diameter) > _SAME_SIZE:
            continue
        flats = figure(row, "across_flats_max_mm", MM)
        origin = table.provenance(f"{part} {row['size']}", row, row["size"], ["across_flats_max_mm"])
        return NutFlats(part, flats, _sixteenths(flats) if inch else f"{flats / MM:g} mm", origin)
    raise NotInTable(f"no {part} is tabled for a bolt of {size}")


def _sixteenths(flats: float) -> str:
    """A width in inches and sixteenths, as it is stamped on a wrench."""
    whole, parts = divmod(round(flats / INCH * _SIXTEENTH), _SIXTEENTH)
    below = _SIXTEENTH
    while parts and parts % 2 == 0:
        parts, below = parts // 2, below // 2
    return f"{'-'.join(filter(None, [str(whole) if whole else '', f'{parts}/{below}' if parts else '']))} in"
