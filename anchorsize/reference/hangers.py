"""The least rod of a single-rod hanger, by the pipe that fits a bore."""

from __future__ import annotations

from dataclasses import dataclass

from anchorsize.reference.fasteners import thread
from anchorsize.reference.pipes import MM, inside, nearest_pipe
from anchorsize.reference.tables import figure, figure_or_none, load
from anchorsize.study import Provenance

WALLS = ("wall_sch10_mm", "wall_std_mm", "wall_sch40_mm", "wall_sch80_mm", "wall_xs_mm")
HEAVIER = 0.9
"""Share of the inside with the thickest wall listed down to which a bore still counts as that pipe's: common practice, no source."""


@dataclass(frozen=True)
class LeastRod:
    """The least rod of a single-rod hanger for a pipe size, with its diameter [m]."""

    nps: str
    rod: str
    diameter: float
    provenance: Provenance


def least_hanger_rod(bore: float) -> LeastRod | None:
    """The least rod for the pipe whose inside with its standard wall is nearest to a bore [m]; None where none fits or is listed.

    A bore fits a pipe where it is no larger than its outside diameter and not under the inside with a wall somewhat over the
    thickest that is listed.
    """
    nearest = nearest_pipe(bore)
    thickest = min(inside(nearest, wall) for wall in WALLS if figure_or_none(nearest, wall) is not None)
    if not HEAVIER * thickest <= bore <= figure(nearest, "outside_mm", MM):
        return None
    table = load("hanger_rod_least")
    row = next((row for row in table.rows if row["nps"] == nearest["nps"]), None)
    if row is None:
        return None
    origin = table.provenance(f"least hanger rod for NPS {row['nps']}", row, f"NPS {row['nps']}", ["rod"])
    return LeastRod(row["nps"], row["rod"], thread(row["rod"]).diameter, origin)
