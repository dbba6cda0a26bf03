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
