"""Building a fitting from a chain of segments: openings, contents, wall and centerlines in the world frame.

The chain is followed from the first opening, in the direction given. Contents and wall are exact for what is
described: pipe of round bore, bends swept square to their centerline, branches cut off square to their own axis and
joined to the run without a fillet. Flanges, outlets and reinforcements are not part of it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

from anchorsize.mechanics import solids
from anchorsize.mechanics.centerline import Arc, Line, Path, Piece, arc_end
from anchorsize.mechanics.frames import joint_frame
from anchorsize.mechanics.segments import Bend, Cap, Miter, Segment, Straight, Taper, Tee, after, faults
from anchorsize.mechanics.solids import NOTHING, Solid

Array: TypeAlias = NDArray[np.float64]
Axes: TypeAlias = tuple[Array, Array, Array]


@dataclass(frozen=True)
class BuiltOpening:
    """An opening of a built fitting."""

    name: str
    center: Array  # (..., 3) [m]
    outward: Array  # (..., 3) unit vector out of the fitting
    bore: Array  # (...) [m]
    path: Path  # centerline from the first opening to this one

    @property
    def area(self) -> Array:
        """Return the area of the bore (...) [m²]."""
        return np.asarray(0.25 * np.pi * self.bore**2)


@dataclass(frozen=True)
class Curve:
    """A bend, smooth or of ``cuts`` miters: the radius (...) [m] of its arc, and its wall (...) [m] where that is least, if known.

    ``tilt`` (...) [rad] is half the angle by which each miter turns.
    """

    radius: Array
    wall: Array | None
    cuts: int = 0
    tilt: Array | None = None


@dataclass(frozen=True)
class PipePiece:
    """A piece of pipe: its centerline, and its outside radius (...) [m] at both ends, that of the bore without a wall.

    ``curve`` is the bend that it is, or that it is a piece of.
    """

    line: Piece
    start: Array
    end: Array
    curve: Curve | None = None


@dataclass(frozen=True)
class Built:
    """A built fitting. The wall is ``None`` where no wall thickness was given."""

    openings: tuple[BuiltOpening, ...]
    contents: Array  # (...) [m³]
    contents_center: Array  # (..., 3) [m]
    wall_volume: Array | None  # (...) [m³]; times the density of the material, the mass
    wall_center: Array | None  # (..., 3) [m]
    pieces: tuple[PipePiece, ...]  # to all openings and caps


@dataclass(frozen=True)
class _Pipe:
    """The cross-section at a place of the chain: bore and wall (...) [m]."""

    bore: Array
    wall: Array | None

    @property
    def inner(self) -> Array:
        return np.asarray(0.5 * self.bore)

    @property
    def outer(self) -> Array:
        return self.inner if self.wall is None else np.asarray(self.inner + self.wall)


@dataclass(frozen=True)
class _Walk:
    """How far a chain has been followed: where it is, the way there, and what it has built inside and outside."""

    at: Array
    direction: Array
    pipe: _Pipe
    path: Path = ()
    inside: Solid = NOTHING
    outside: Solid = NOTHING
    side_openings: tuple[BuiltOpening, ...] = ()
    pieces: tuple[PipePiece, ...] = ()
    closed: bool = False


def build(
    bore: ArrayLike,
    segments: tuple[Segment, ...],
    *,
    start: ArrayLike = (0.0, 0.0, 0.0),
    direction: ArrayLike = (1.0, 0.0, 0.0),
    wall: ArrayLike | None = None,
    names: tuple[str, str] = ("inlet", "outlet"),
) -> Built:
    """Build a fitting.

    Parameters
    ----------
    bore : (...) bore at the first opening [m]
    segments : the chain, see :mod:`anchorsize.mechanics.segments`
    start : (..., 3) center of the first opening [m]
    direction : (..., 3) direction from the first opening into the fitting, any length
    wall : (...) wall thickness at the first opening [m]
    names : names of the first and the last opening; a tee names its own branch

    Returns
    -------
    Built
        Openings in the order first, branches, last. A chain that ends in a cap has no last one.

    Raises
    ------
    ValueError
        If the chain is impossible (all that is wrong with it, joined by semicolons), a direction has no length, a
        ``toward`` lies along the pipe, or two openings have one name.
    """
    wrong = faults(bore, segments, wall)
    if wrong:
        raise ValueError("; ".join(wrong))
    onward = np.asarray(direction, dtype=float)
    length = np.linalg.norm(onward, axis=-1, keepdims=True)
    if np.any(length == 0.0):
        raise ValueError("the direction of the first opening has no length")
    walk = _Walk(np.asarray(start, dtype=float), onward / length, _pipe(bore, wall))
    first = BuiltOpening(names[0], walk.at, -walk.direction, walk.pipe.bore, ())
    walk = _follow(walk, segments)
    last = () if walk.closed else (_end_opening(names[1], walk),)
    openings = (first, *walk.side_openings, *last)
    if len({opening.name for opening in openings}) < len(openings):
        raise ValueError(f"openings share a name: {', '.join(opening.name for opening in openings)}")
    shell = solids.hollowed(walk.outside, walk.inside) if wall is not None else None
    return Built(
        openings=openings,
        contents=walk.inside.volume,
        contents_center=walk.inside.center,
        wall_volume=shell.volume if shell else None,
        wall_center=shell.center if shell else None,
        pieces=walk.pieces,
    )


def _pipe(bore: ArrayLike, wall: ArrayLike | None) -> _Pipe:
    return _Pipe(np.asarray(bore, dtype=float), None if wall is None else np.asarray(wall, dtype=float))


def _end_opening(name: str, walk: _Walk) -> BuiltOpening:
    return BuiltOpening(name, walk.at, walk.direction, walk.pipe.bore, walk.path)


def _follow(walk: _Walk, segments: tuple[Segment, ...]) -> _Walk:
    """Follow a chain to its end; a ``toward`` that gives no direction is reported with its segment."""
    for number, segment in enumerate(segments, start=1):
        try:
            walk = _step(walk, segment)
        except ValueError as error:
            raise ValueError(f"segment {number} ({type(segment).__name__.lower()}): {error}") from error
    return walk


def _step(walk: _Walk, segment: Segment) -> _Walk:
    """Follow one segment."""
    end = _pipe(*after(segment, walk.pipe.bore, walk.pipe.wall))
    match segment:
        case Straight(length) | Taper(length):
            return _straight(walk, np.asarray(length, dtype=float), end)
        case Bend():
            return _bend(walk, segment, end)
        case Miter():
            return _miter(walk, segment)
        case Tee():
            return _tee(walk, segment)
        case Cap(thickness):
            length = np.asarray(thickness, dtype=float)
            plate = solids.placed(
                solids.taper(length, walk.pipe.outer, walk.pipe.outer), walk.at, _any_axes(walk.direction)
            )
            closure = PipePiece(
                Line(walk.at, walk.at + length[..., None] * walk.direction), walk.pipe.outer, walk.pipe.outer
            )
            outside = solids.joined(walk.outside, plate)
            return replace(walk, outside=outside, closed=True, pieces=(*walk.pieces, closure))


def _any_axes(direction: Array) -> Axes:
    """Return axes along a direction, for a solid that is round about it."""
    least = np.eye(3)[np.argmin(np.abs(direction), axis=-1)]
    return direction, *joint_frame(direction, least)


def _axes(direction: Array, toward: ArrayLike) -> Axes:
    """Return axes along a direction, the second one toward another direction."""
    try:
        return direction, *joint_frame(direction, toward)
    except ValueError as error:
        raise ValueError("'toward' must have a part across the pipe, which it turns away from") from error


def _grown(walk: _Walk, inner: Solid, outer: Solid, axes: Axes) -> tuple[Solid, Solid]:
    """Return the solids inside and outside with one more placed where the walk stands."""
    return (
        solids.joined(walk.inside, solids.placed(inner, walk.at, axes)),
        solids.joined(walk.outside, solids.placed(outer, walk.at, axes)),
    )


def _onward(walk: _Walk, line: Piece, end: _Pipe, curve: Curve | None = None) -> _Walk:
    """Return the walk with one more piece of pipe on its way."""
    piece = PipePiece(line, walk.pipe.outer, end.outer, curve)
    return replace(walk, path=(*walk.path, line), pieces=(*walk.pieces, piece))


def _straight(walk: _Walk, length: Array, end: _Pipe) -> _Walk:
    inside, outside = _grown(
        walk,
        solids.taper(length, walk.pipe.inner, end.inner),
        solids.taper(length, walk.pipe.outer, end.outer),
        _any_axes(walk.direction),
    )
    at = walk.at + length[..., None] * walk.direction
    return replace(_onward(walk, Line(walk.at, at), end), at=at, pipe=end, inside=inside, outside=outside)


def _bend(walk: _Walk, bend: Bend, end: _Pipe) -> _Walk:
    axes = _axes(walk.direction, bend.toward)
    turn, radius = np.asarray(bend.turn, dtype=float), np.asarray(bend.radius, dtype=float)
    arc = Arc(walk.at, axes[0], axes[1], radius, turn)
    inside, outside = _grown(
        walk,
        solids.bend(turn, radius, walk.pipe.inner, end.inner),
        solids.bend(turn, radius, walk.pipe.outer, end.outer),
        axes,
    )
    at, direction = arc_end(arc)
    wall = None if walk.pipe.wall is None or end.wall is None else np.minimum(walk.pipe.wall, end.wall)
    curve = Curve(radius, wall)
    return replace(_onward(walk, arc, end, curve), at=at, direction=direction, pipe=end, inside=inside, outside=outside)


def _miter(walk: _Walk, miter: Miter) -> _Walk:
    """Follow half a piece, whole pieces between the cuts, and half a piece, each touching the arc at its middle."""
    forward, sideways, normal = _axes(walk.direction, miter.toward)
    tilt = np.asarray(miter.turn, dtype=float) / (2.0 * miter.cuts)
    half = np.asarray(miter.radius, dtype=float) * np.tan(tilt)
    curve = Curve(np.asarray(miter.radius, dtype=float), walk.pipe.wall, miter.cuts, tilt)
    for piece in range(miter.cuts + 1):
        start_tilt, end_tilt = (tilt if piece else 0.0), (tilt if piece < miter.cuts else 0.0)
        length = half * (1.0 + (0 < piece < miter.cuts))
        turned = (2.0 * piece * tilt)[..., None]
        along = np.cos(turned) * forward + np.sin(turned) * sideways
        across = np.cos(turned) * sideways - np.sin(turned) * forward
        inside, outside = _grown(
            walk,
            solids.miter_piece(length, walk.pipe.inner, start_tilt, end_tilt),
            solids.miter_piece(length, walk.pipe.outer, start_tilt, end_tilt),
            (along, across, normal),
        )
        at = walk.at + length[..., None] * along
        walk = replace(
            _onward(walk, Line(walk.at, at), walk.pipe, curve), at=at, direction=along, inside=inside, outside=outside
        )
    return walk


def _tee(walk: _Walk, tee: Tee) -> _Walk:
    """Follow the branch with its own chain, then the run; both share the way up to the meeting of the axes."""
    forward, sideways, normal = _axes(walk.direction, tee.toward)
    angle, length = np.asarray(tee.angle, dtype=float), np.asarray(tee.branch_length, dtype=float)
    sine, cosine = np.sin(angle)[..., None], np.cos(angle)[..., None]
    along, across = cosine * forward + sine * sideways, cosine * sideways - sine * forward
    meeting = walk.at + np.asarray(tee.at, dtype=float)[..., None] * walk.direction
    pipe = _pipe(tee.bore, walk.pipe.wall if tee.wall is None else np.asarray(tee.wall, dtype=float))
    axes = (along, across, normal)
    inner = solids.branch_outside_run(length, pipe.inner, walk.pipe.inner, angle)
    outer = solids.branch_outside_run(length, pipe.outer, walk.pipe.outer, angle)
    end = meeting + length[..., None] * along
    branch = _follow(
        _Walk(
            at=end,
            direction=along,
            pipe=pipe,
            path=(*walk.path, Line(walk.at, meeting), Line(meeting, end)),
            inside=solids.placed(inner, meeting, axes),
            outside=solids.placed(outer, meeting, axes),
            pieces=(PipePiece(Line(meeting, end), pipe.outer, pipe.outer),),
        ),
        tee.beyond,
    )
    openings = branch.side_openings if branch.closed else (_end_opening(tee.name, branch), *branch.side_openings)
    run = _straight(walk, np.asarray(tee.length, dtype=float), walk.pipe)
    return replace(
        run,
        inside=solids.joined(run.inside, branch.inside),
        outside=solids.joined(run.outside, branch.outside),
        side_openings=(*run.side_openings, *openings),
        pieces=(*run.pieces, *branch.pieces),
    )
