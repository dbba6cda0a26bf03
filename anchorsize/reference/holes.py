"""Clearance holes of bolts from the table."""

from __future__ import annotations

from anchorsize.reference.tables import INCH, NotInTable, Row, figure, load
from anchorsize.study import Provenance

MM = 1e-3
_SAME_SIZE = 1e-5  # [m]; as for threads: far below any step between sizes, far above the rounding of conversions


def clearance_hole(diameter: float) -> tuple[float, Provenance]:
    """The hole [m] to drill for a bolt of nominal ``diameter`` [m], and its origin.

    Metric bolts have the medium series of ISO 273, inch bolts the flange hole of ASME B16.5 (bolt + 1/8 in). Raises
    :class:`NotInTable` for a diameter that is not listed; nothing is interpolated.
    """
    row = _row(diameter)
    metric = bool(row["medium_mm"])
    column, unit, remark = ("medium_mm", MM, "medium series") if metric else ("flange_hole_in", INCH, "bolt + 1/8 in")
    return figure(row, column, unit), _origin(row, column, remark)


def widest_hole(diameter: float) -> tuple[float, Provenance]:
    """The widest hole [m] that is drilled for a bolt of nominal ``diameter`` [m], and its origin.

    Metric bolts have the coarse series of ISO 273; inch bolts have one hole only, the flange hole of ASME B16.5 (bolt + 1/8 in).
    Raises :class:`NotInTable` for a diameter that is not listed.
    """
    row = _row(diameter)
    if not row["coarse_mm"]:
        return clearance_hole(diameter)
    return figure(row, "coarse_mm", MM), _origin(row, "coarse_mm", "coarse series")


def _row(diameter: float) -> Row:
    """The row of a nominal diameter [m]."""
    for row in load("clearance_holes").rows:
        if abs(figure(row, "diameter_mm", MM) - diameter) <= _SAME_SIZE:
            return row
    raise NotInTable(f"no clearance hole is tabled for a bolt of {diameter * 1e3:.4g} mm")


def _origin(row: Row, column: str, remark: str) -> Provenance:
    return load("clearance_holes").provenance(f"clearance hole of {row['size']}", row, row["size"], [column], remark)
