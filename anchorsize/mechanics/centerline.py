"""Centerlines of runs of pipe: straight and circular pieces, and the integral over them that a changing flow needs.

A path is a tuple of pieces, each beginning where the one before it ends. An empty path stays where it is: its moment
is zero. The integral is exact (elementary, derived here).
"""

from __future__ import annotations

from typing import NamedTuple, TypeAlias

import numpy as np
from numpy.typing import NDArray

Array: TypeAlias = NDArray[np.float64]


class Line(NamedTuple):
    """A straight piece between two points (..., 3) [m]."""

    start: Array
    end: Array


class Arc(NamedTuple):
    """A circular piece."""

    start: Array
    """(..., 3) first point [m]."""
    along: Array
    """(..., 3) unit vector of the path at the first point."""
    toward: Array
    """(..., 3) unit vector from the first point to the center of curvature."""
    radius: Array
    """(...) radius [m]."""
    turn: Array
    """(...) angle turned [rad], positive."""


Piece: TypeAlias = Line | Arc
Path: TypeAlias = tuple[Piece, ...]


def arc_end(arc: Arc) -> tuple[Array, Array]:
    """Return the last point (..., 3) [m] of an arc and the unit vector (..., 3) of the path there."""
    sine, cosine = np.sin(arc.turn)[..., None], np.cos(arc.turn)[..., None]
    sagitta = 2.0 * np.square(np.sin(0.5 * arc.turn))[..., None]  # 1 − cos θ without cancellation
    radius = arc.radius[..., None]
    end: Array = arc.start + radius * (sine * arc.along + sagitta * arc.toward)
    direction: Array = cosine * arc.along + sine * arc.toward
    return end, direction


def piece_end(piece: Piece) -> Array:
    """Return the last point of a piece (..., 3) [m]."""
    return piece.end if isinstance(piece, Line) else arc_end(piece)[0]


CHORDS = 16
"""Chords that an arc is cut into: of a quarter turn they stay within 0.13 % of its radius."""


def piece_chords(piece: Piece) -> Array:
    """Return the straight pieces (..., k, 2, 3) [m], start and end of each, that a piece is, or is cut into."""
    if isinstance(piece, Line):
        ends = np.stack(np.broadcast_arrays(piece.start, piece.end), axis=-2)
        return ends[..., None, :, :]
    shares = np.linspace(0.0, 1.0, CHORDS + 1)
    points = np.stack(np.broadcast_arrays(*(arc_end(piece._replace(turn=piece.turn * s))[0] for s in shares)), axis=-2)
    return np.stack([points[..., :-1, :], points[..., 1:, :]], axis=-2)


def path_chords(path: Path) -> Array:
    """Return the straight pieces (..., k, 2, 3) [m] of a path; none, (0, 2, 3), of an empty one."""
    if not path:
        return np.zeros((0, 2, 3))
    each = [piece_chords(piece) for piece in path]
    batch = np.broadcast_shapes(*(chords.shape[:-3] for chords in each))
    return np.concatenate([np.broadcast_to(chords, (*batch, *chords.shape[-3:])) for chords in each], axis=-3)


def piece_moment(piece: Piece) -> Array:
    """Return ∫ r × dr along a piece about the origin (..., 3) [m²], twice the area vector swept from the origin.

    A straight piece gives start × end. An arc gives center × (end − start) + R²θ along × toward.
    """
    if isinstance(piece, Line):
        return np.cross(piece.start, piece.end)
    radius = piece.radius[..., None]
    center = piece.start + radius * piece.toward
    sector = radius**2 * piece.turn[..., None] * np.cross(piece.along, piece.toward)
    return np.asarray(np.cross(center, piece_end(piece) - piece.start) + sector)


def path_moment(path: Path) -> Array:
    """Return ∫ r × dr along a path about the origin (..., 3) [m²]."""
    return np.asarray(sum((piece_moment(piece) for piece in path), np.zeros(3)))
