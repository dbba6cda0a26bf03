"""Small motions and wrenches of a rigid body: six numbers about a point, and 6×6 stiffnesses moved and turned.

A motion is (u, θ): the displacement of the reference point [m] and the rotation [rad], in world axes. A wrench is (F,
M): the force [N] and the moment about the reference point [N·m]. Rotations are small, so that the point p moves by u
+ θ × p. A stiffness K turns a motion into the wrench that is needed to bring it about; a flexibility is its inverse.

Source: statics and small-displacement kinematics of a rigid body, any text; derived here.
"""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from anchorsize.mechanics.inputs import Array

FREE: Final = 1e-10
"""Stiffness over the greatest stiffness under which a motion counts as unrestrained [-]."""


class FreeMotion(NamedTuple):
    """A motion as a person would say it: along a direction, or about an axis."""

    turns: bool
    """Whether it is a rotation; else a translation."""
    direction: Array
    """(3,) unit vector along which it moves, or about which it turns."""
    through: Array
    """(3,) point on the axis of a rotation, the nearest to the origin [m]; zeros for a translation."""


def cross_matrix(vector: ArrayLike) -> Array:
    """Return the (..., 3, 3) matrix that turns a vector w into v × w, for vectors v (..., 3)."""
    x, y, z = np.moveaxis(np.asarray(vector, dtype=float), -1, 0)
    zero = np.zeros_like(x)
    rows = [np.stack(row, axis=-1) for row in ((zero, -z, y), (z, zero, -x), (-y, x, zero))]
    return np.stack(rows, axis=-2)


def line(point: ArrayLike, direction: ArrayLike) -> Array:
    """Return the wrench about the origin of a unit force along a line, (..., 6): n and p × n.

    Its product with a motion is how far the point p moves along n.

    Parameters
    ----------
    point : (..., 3) p [m]
    direction : (..., 3) unit vector n
    """
    n = np.asarray(direction, dtype=float)
    moment = np.cross(np.asarray(point, dtype=float), n)
    return np.concatenate([np.broadcast_to(n, moment.shape), moment], axis=-1)


def shift(point: ArrayLike) -> Array:
    """Return the (..., 6, 6) matrix that turns a motion about the origin into the motion of a point (..., 3) [m]."""
    point = np.asarray(point, dtype=float)
    matrix = np.zeros((*point.shape[:-1], 6, 6))
    matrix[..., range(6), range(6)] = 1.0
    matrix[..., :3, 3:] = -cross_matrix(point)
    return matrix


def stiffness_about_origin(stiffness: ArrayLike, point: ArrayLike) -> Array:
    """Return a stiffness about the origin, (..., 6, 6) [N/m, N, N·m/rad].

    Parameters
    ----------
    stiffness : (..., 6, 6) about ``point``, in world axes [N/m, N, N·m/rad]
    point : (..., 3) [m]
    """
    to_point = shift(point)
    moved: Array = np.swapaxes(to_point, -1, -2) @ np.asarray(stiffness, dtype=float) @ to_point
    return moved


def in_world_axes(local: ArrayLike, axis: ArrayLike, e1: ArrayLike, e2: ArrayLike) -> Array:
    """Return a stiffness or flexibility (..., 6, 6) in world axes from one in the axes a, e1, e2; the point stays.

    Parameters
    ----------
    local : (..., 6, 6) rows and columns along a, e1, e2, then about a, e1, e2
    axis, e1, e2 : (..., 3) unit vectors, see :func:`anchorsize.mechanics.frames.joint_frame`
    """
    vectors = np.broadcast_arrays(*(np.asarray(vector, dtype=float) for vector in (axis, e1, e2)))
    turn = np.stack(vectors, axis=-1)
    both = np.zeros((*turn.shape[:-2], 6, 6))
    both[..., :3, :3] = turn
    both[..., 3:, 3:] = turn
    turned: Array = both @ np.asarray(local, dtype=float) @ np.swapaxes(both, -1, -2)
    return turned


def across(direction: ArrayLike) -> Array:
    """Return two unit vectors across each unit vector (..., 3), and across each other: (..., 2, 3)."""
    n = np.asarray(direction, dtype=float)
    least = np.eye(3)[np.argmin(np.abs(n), axis=-1)]
    first = np.cross(n, least)
    first = first / np.linalg.norm(first, axis=-1, keepdims=True)
    return np.stack([first, np.cross(n, first)], axis=-2)


def _plain_basis(vectors: Array) -> Array:
    """Return rows (k, m) spanning the same space as rows (k, m), reduced so that each leads in its own column."""
    rows, done = vectors.copy(), 0
    for column in range(rows.shape[1]):
        if done == rows.shape[0]:
            break
        pivot = done + int(np.argmax(np.abs(rows[done:, column])))
        if abs(rows[pivot, column]) < 1e-6:
            continue
        rows[[done, pivot]] = rows[[pivot, done]]
        rows[done] /= rows[done, column]
        others = np.arange(rows.shape[0]) != done
        rows[others] -= rows[others, column, None] * rows[done]
        done += 1
    return rows[:done]


def free_motions(stiffness: ArrayLike, reach: float) -> list[FreeMotion]:
    """Return the motions that a stiffness does not resist, translations first; an empty list where it holds everything.

    Parameters
    ----------
    stiffness : (6, 6) about the origin [N/m, N, N·m/rad]
    reach : length that turns rotations into movements, such as the greatest distance of a support from the origin [m]
    """
    scale = np.array([1.0, 1.0, 1.0, reach, reach, reach])
    values, vectors = np.linalg.eigh(np.asarray(stiffness, dtype=float) / np.outer(scale, scale))
    free = vectors[:, values <= FREE * max(values[-1], 0.0)].T / scale
    if free.shape[0] == 0:
        return []
    # With the rotations leading, rows that are left without one are the translations.
    rows = _plain_basis(np.concatenate([free[:, 3:] * reach, free[:, :3]], axis=1))
    turning = np.linalg.norm(rows[:, :3], axis=1) > 1e-6
    motions = []
    for row in np.concatenate([rows[~turning], rows[turning]]):
        turn, move = row[:3] / reach, row[3:]
        turns = bool(np.linalg.norm(row[:3]) > 1e-6)
        vector = turn if turns else move
        through = np.cross(turn, move) / (turn @ turn) if turns else np.zeros(3)
        motions.append(FreeMotion(turns, vector / np.linalg.norm(vector), through))
    return motions
