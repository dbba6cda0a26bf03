"""The segments a fitting is described by, and what makes a description impossible.

A fitting is a chain of segments, followed from its first opening. Lengths are in metres, angles in radians; ``toward``
is a direction in the world frame, of which the part across the pipe counts. A number may be an array of the batch
shape. ``wall`` is the wall thickness measured in the cross-section.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array: TypeAlias = NDArray[np.float64]


@dataclass(frozen=True)
class Straight:
    """A straight run of constant bore."""

    length: ArrayLike


@dataclass(frozen=True)
class Taper:
    """A straight run to another bore: a reducer, an expander, a nozzle. ``end_wall`` is the wall there if it differs."""

    length: ArrayLike
    end_bore: ArrayLike
    end_wall: ArrayLike | None = None


@dataclass(frozen=True)
class Bend:
    """A circular bend; with ``end_bore`` the bore changes evenly along the angle (reducing bend)."""

    turn: ArrayLike
    radius: ArrayLike  # of the centerline
    toward: ArrayLike
    end_bore: ArrayLike | None = None
    end_wall: ArrayLike | None = None


@dataclass(frozen=True)
class Miter:
    """A bend welded from cut pipe: ``cuts`` equal miters whose centerline touches an arc of ``radius``."""

    turn: ArrayLike
    radius: ArrayLike
    toward: ArrayLike
    cuts: int = 1


@dataclass(frozen=True)
class Tee:
    """A straight run with a branch on it: a tee where the angle is right, else a lateral.

    ``at`` is how far along the run the axes meet; ``branch_length`` counts from there along the branch; ``angle`` is
    from the direction of the run; the branch leans ``toward``. ``beyond`` are segments that go on from the branch.
    """

    length: ArrayLike
    at: ArrayLike
    toward: ArrayLike
    bore: ArrayLike
    branch_length: ArrayLike
    angle: ArrayLike = 0.5 * np.pi
    wall: ArrayLike | None = None
    name: str = "branch"
    beyond: tuple[Segment, ...] = ()


@dataclass(frozen=True)
class Cap:
    """A flat closure of the end, of the given plate thickness. Nothing follows it."""

    thickness: ArrayLike = 0.0


Segment: TypeAlias = Straight | Taper | Bend | Miter | Tee | Cap

_POSITIVE = {
    Straight: (),
    Taper: ("length", "end_bore"),
    Bend: ("turn", "radius", "end_bore"),
    Miter: ("turn", "radius"),
    Tee: ("length", "bore", "branch_length"),
    Cap: (),
}


def taper_in_leg(leg: ArrayLike, taper: Taper, before: ArrayLike = 0.0) -> tuple[Straight, Taper, Straight]:
    """Return a leg of given length that holds a taper: the straight before it, the taper, the straight after it.

    Parameters
    ----------
    leg : (...) length of the whole leg [m]
    taper : the taper
    before : (...) straight length before the taper [m]

    Raises
    ------
    ValueError
        If the taper and the straight before it are longer than the leg.
    """
    rest = np.asarray(leg, dtype=float) - np.asarray(taper.length, dtype=float) - np.asarray(before, dtype=float)
    if np.any(rest < 0.0):
        raise ValueError("the taper, with the straight before it, is longer than the leg that holds it")
    return Straight(before), taper, Straight(rest)


def faults(bore: ArrayLike, segments: tuple[Segment, ...], wall: ArrayLike | None = None) -> tuple[str, ...]:
    """Return everything that makes a chain of segments impossible, one sentence each; empty where it can be built.

    Parameters
    ----------
    bore : (...) bore at the first opening [m]
    segments : the chain
    wall : (...) wall thickness at the first opening [m], ``None`` where it is not known
    """
    found = [] if _all_over_zero(bore) else ["the bore must be positive"]
    if wall is not None and not _all_over_zero(wall):
        found.append("the wall must be positive")
    for number, segment in enumerate(segments, start=1):
        kind = type(segment).__name__.lower()
        place = f"segment {number} ({kind})"
        found += [f"{place}: {text}" for text in _own_faults(segment, bore, wall)]
        if isinstance(segment, Cap) and number < len(segments):
            found.append(f"{place}: nothing can follow a cap")
        if isinstance(segment, Tee):
            branch_wall = wall if segment.wall is None else segment.wall
            found += [f"{place}: branch: {text}" for text in faults(segment.bore, segment.beyond, branch_wall)]
        bore, wall = after(segment, bore, wall)
    return tuple(found)


def after(segment: Segment, bore: ArrayLike, wall: ArrayLike | None) -> tuple[ArrayLike, ArrayLike | None]:
    """Return the bore and the wall at the end of a segment from those at its start, both (...) [m]."""
    if not isinstance(segment, Taper | Bend):
        return bore, wall
    end_bore = bore if segment.end_bore is None else segment.end_bore
    return end_bore, wall if segment.end_wall is None else segment.end_wall


def _all_over_zero(value: ArrayLike) -> bool:
    return bool(np.all(np.asarray(value, dtype=float) > 0.0))


def _outside(bore: ArrayLike, wall: ArrayLike | None) -> Array:
    """Return the outside radius (...) [m], that of the bore where no wall is known."""
    return np.asarray(0.5 * np.asarray(bore, dtype=float) + np.asarray(0.0 if wall is None else wall, dtype=float))


def _own_faults(segment: Segment, bore: ArrayLike, wall: ArrayLike | None) -> Iterator[str]:
    """Yield what is wrong with one segment that begins with a bore and a wall (...) [m]."""
    for name in _POSITIVE[type(segment)]:
        value = getattr(segment, name)
        if value is not None and not _all_over_zero(value):
            yield f"{name} must be positive"
            return
    match segment:
        case Straight(size):
            if np.any(np.asarray(size, dtype=float) < 0.0):
                yield "length must not be negative"
        case Cap(size):
            if np.any(np.asarray(size, dtype=float) < 0.0):
                yield "thickness must not be negative"
        case Taper() | Bend():
            if segment.end_wall is not None and wall is None:
                yield "end_wall needs a wall at the first opening"
            elif segment.end_wall is not None and not _all_over_zero(segment.end_wall):
                yield "end_wall must be positive"
        case Tee():
            yield from _tee_faults(segment, bore, wall)
    if isinstance(segment, Bend | Miter):
        yield from _turn_faults(segment, np.maximum(_outside(bore, wall), _outside(*after(segment, bore, wall))))


def _turn_faults(segment: Bend | Miter, widest: Array) -> Iterator[str]:
    """Yield what is wrong with the turn and the radius of a bend of given greatest outside radius (...) [m]."""
    turn, radius = np.asarray(segment.turn, dtype=float), np.asarray(segment.radius, dtype=float)
    if isinstance(segment, Bend):
        if np.any(turn > 2.0 * np.pi):
            yield "turn must not be over a full turn"
    elif segment.cuts < 1:
        yield "cuts must be one or more"
    elif np.any(turn >= np.pi * segment.cuts):
        yield "each miter must turn by less than half a turn"
    if np.any(radius < widest):
        yield "radius is under half the bore plus the wall, so that the inside of the bend would cross itself"


def _tee_faults(segment: Tee, bore: ArrayLike, wall: ArrayLike | None) -> Iterator[str]:
    """Yield what is wrong with the branch of a tee on a run of given bore and wall (...) [m]."""
    angle, at, run = (np.asarray(value, dtype=float) for value in (segment.angle, segment.at, segment.length))
    if segment.wall is not None and wall is None:
        yield "wall of the branch needs a wall at the first opening"
    if np.any(angle <= 0.0) or np.any(angle >= np.pi):
        yield "angle must lie between 0 and half a turn"
        return
    outside, branch = _outside(bore, wall), _outside(segment.bore, wall if segment.wall is None else segment.wall)
    if np.any(branch > outside) or np.any(np.asarray(segment.bore, dtype=float) > np.asarray(bore, dtype=float)):
        yield "the branch is wider than the run"
    sine, cosine = np.sin(angle), np.cos(angle)
    if np.any(np.asarray(segment.branch_length, dtype=float) * sine < outside + branch * np.abs(cosine)):
        yield "the branch ends inside the run: branch_length counts from the meeting of the axes"
    middle, half = at + outside * cosine / sine, branch / sine
    if np.any(middle - half < 0.0) or np.any(middle + half > run):
        yield "the branch does not land within the length of the run"
