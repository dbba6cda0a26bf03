"""Clearance holes of bolts from the table."""

from __future__ import annotations

from anchorsize.reference.tables import INCH, NotInTable, figure, load
from anchorsize.study import Provenance

MM = 1e-3
_SAME_SIZE = 1e-5  # [m]; as for threads: far below any step between sizes, far above the rounding of conversions


def clearance_hole(diameter: float) -> tuple[float, Provenance]:
    """The hole [m] to drill for a bolt of nominal ``diameter`` [m], and its origin.

    Metric bolts have the medium series of ISO 273, inch bolts the flange hole of ASME B16.5 (bolt + 1/8 in). Raises
    :class:`NotInTable` for a diameter that is not listed; nothing is interpolated.
    """
    table = load("clearance_holes")
    for row in table.rows:
        if abs(figure(row, "diameter_mm", MM) - diameter) > _SAME_SIZE:
            continue
        metric = bool(row["medium_mm"])
        column, unit = ("medium_mm", MM) if metric else ("flange_hole_in", INCH)
        remark = "medium series" if metric else "bolt + 1/8 in"
        origin = table.provenance(f"clearance hole of {row['size']}", row, row["size"], [column], remark)
        return figure(row, column, unit), origin
    raise NotInTable(f"no clearance hole is tabled for a bolt of {diameter * 1e3:.4g} mm")
