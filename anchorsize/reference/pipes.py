"""Listed steel pipe that fits a bore."""

from __future__ import annotations

from anchorsize.reference.tables import Row, figure, load

MM = 1e-3


def inside(row: Row, wall: str) -> float:
    """Inside diameter [m] of a listed pipe with one of its walls, named by its column."""
    return figure(row, "outside_mm", MM) - 2.0 * figure(row, wall, MM)


def nearest_pipe(bore: float) -> Row:
    """The listed pipe whose inside with its standard wall is nearest to a bore [m]."""
    return min(load("pipe_sizes").rows, key=lambda row: abs(inside(row, "wall_std_mm") - bore))


def standard_wall(bore: float) -> float:
    """Standard wall [m] of the listed pipe nearest to a bore [m]; beyond the greatest size that of the greatest."""
    return figure(nearest_pipe(bore), "wall_std_mm", MM)
