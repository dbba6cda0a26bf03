"""What a chain of segments is, in words: one line per segment, so that a reader can check what was built."""

from __future__ import annotations

from collections.abc import Callable
from typing import assert_never

import numpy as np
from numpy.typing import ArrayLike

from anchorsize.mechanics.segments import Bend, Cap, Miter, Segment, Straight, Taper, Tee, after


def describe(
    bore: ArrayLike,
    segments: tuple[Segment, ...],
    wall: ArrayLike | None = None,
    unit: str = "m",
    unit_length: float = 1.0,
) -> tuple[str, ...]:
    """Return one line for the first opening and one for each segment; the lines of a branch are indented.

    Parameters
    ----------
    bore : (...) bore at the first opening [m]
    segments : the chain, see :mod:`anchorsize.mechanics.segments`
    wall : (...) wall thickness at the first opening [m]
    unit : name of the unit of length that the lines show
    unit_length : that unit [m]
    """

    def size(value: ArrayLike) -> str:
        return f"{_span(np.asarray(value, dtype=float) / unit_length)} {unit}"

    lines = [f"starts with bore {size(bore)}" + ("" if wall is None else f", wall {size(wall)}")]
    for segment in segments:
        text = _words(segment, size)
        end_bore, end_wall = after(segment, bore, wall)
        if end_bore is not bore:
            text += f", to bore {size(end_bore)}"
        if end_wall is not wall and end_wall is not None:
            text += f", to wall {size(end_wall)}"
        lines.append(text)
        if isinstance(segment, Tee):
            branch_wall = wall if segment.wall is None else segment.wall
            branch = describe(segment.bore, segment.beyond, branch_wall, unit, unit_length)
            lines += [f"  {segment.name}: {line}" for line in branch]
        bore, wall = end_bore, end_wall
    return tuple(lines)


def _span(value: ArrayLike) -> str:
    """Return a number to five figures, or the least and the greatest of an array."""
    value = np.asarray(value, dtype=float)
    least, greatest = f"{value.min():.5g}", f"{value.max():.5g}"
    return least if least == greatest else f"{least} to {greatest}"


def _turn(value: ArrayLike) -> str:
    return f"{_span(np.degrees(np.asarray(value, dtype=float)))}°"


def _direction(value: ArrayLike) -> str:
    """Return a direction as written, or say that it differs from row to row."""
    value = np.asarray(value, dtype=float)
    return f"[{', '.join(f'{part:.4g}' for part in value)}]" if value.ndim == 1 else "directions that vary"


def _words(segment: Segment, size: Callable[[ArrayLike], str]) -> str:
    """Return what a segment is, without the change of its bore and wall."""
    match segment:
        case Straight(length):
            return f"straight, {size(length)} long"
        case Taper(length):
            return f"taper, {size(length)} long"
        case Bend(turn, radius, toward):
            return f"bend, {_turn(turn)} toward {_direction(toward)}, centerline radius {size(radius)}"
        case Miter(turn, radius, toward, cuts):
            across = f"{_turn(turn)} toward {_direction(toward)} in {cuts} cut{'s' if cuts > 1 else ''}"
            return f"mitered bend, {across}, centerline radius {size(radius)}"
        case Tee(length, at, toward, _, branch_length, angle):
            lean = f"{_turn(angle)} from the run toward {_direction(toward)}"
            return f"run, {size(length)} long, with a branch {size(branch_length)} long at {size(at)}, {lean}"
        case Cap(thickness):
            return f"flat cap, {size(thickness)} thick"
    assert_never(segment)
