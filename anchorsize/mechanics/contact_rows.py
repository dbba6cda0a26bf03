"""A batch of preloaded joints as arrays with the load cases last: what :mod:`anchorsize.mechanics.contact` works on.

Rows (load cases) are the last axis, (…, rows), or (…, 1) where one value serves them all.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from anchorsize.mechanics.face_integrals import Face, in_rows, take_rows
from anchorsize.mechanics.inputs import Array, not_negative


class JointRows(NamedTuple):
    """The inputs of a batch with rows last: (…, rows), or (…, 1) where one serves all."""

    points: Array
    """(3, n) or (3, n, rows) rows 1, x, y of the bolts [-, m, m]."""
    stiffness: Array
    """(n, rows or 1) [N/m]."""
    preload: Array
    """(n, rows or 1) [N]."""
    face: Face | None
    modulus: Array
    """(rows or 1) [Pa/m]."""
    reach: Array
    """(rows or 1) length that turns moments into forces [m]."""

    def take(self, rows: slice) -> JointRows:
        """Return some rows only."""
        face = None if self.face is None else self.face.take(rows)
        points = self.points if self.points.ndim == 2 else take_rows(self.points, rows)
        stiffness, preload = take_rows(self.stiffness, rows), take_rows(self.preload, rows)
        return JointRows(points, stiffness, preload, face, take_rows(self.modulus, rows), take_rows(self.reach, rows))


def _bolts_in_rows(values: Array, shape: tuple[int, ...]) -> Array:
    """Return (..., n) as (n, rows), or (n, 1) where one set of bolts serves the batch."""
    bolts = values.shape[-1]
    if values.size == bolts:
        return values.reshape(bolts, 1)
    return np.broadcast_to(values, (*shape, bolts)).reshape(-1, bolts).T


def _points(xy: Array, shape: tuple[int, ...]) -> Array:
    """Return (..., n, 2) as rows 1, x, y: (3, n) where one pattern serves the batch, else (3, n, rows)."""
    ones = np.ones((*xy.shape[:-1], 1))
    points = np.concatenate([ones, xy], axis=-1)
    if xy.size == 2 * xy.shape[-2]:
        return points.reshape(-1, 3).T
    points = np.broadcast_to(points, (*shape, *points.shape[-2:]))
    return np.ascontiguousarray(points.reshape(-1, *points.shape[-2:]).transpose(2, 1, 0))


def _reach(points: Array, face: Face | None) -> Array:
    """Return the length (1 or rows) [m] that turns moments into forces: how far bolts and face stand from the center."""
    bolts = np.max(np.hypot(points[1], points[2]), axis=0, initial=0.0)
    reach = np.maximum(bolts, 0.0 if face is None else face.reach())
    return np.atleast_1d(np.where(reach > 0.0, reach, 1.0))


class Given(NamedTuple):
    """Bolts and face as arrays that fit together, and the batch shape they have by themselves."""

    xy: Array
    stiffness: Array
    preload: Array
    face: Face | None
    modulus: Array
    shape: tuple[int, ...]

    def joint(self, shape: tuple[int, ...]) -> JointRows:
        """Return them as rows of the batch ``shape``, which holds their own."""
        points = _points(self.xy, shape)
        face = None if self.face is None else self.face.in_rows(shape)
        k, tightened = _bolts_in_rows(self.stiffness, shape), _bolts_in_rows(self.preload, shape)
        return JointRows(points, k, tightened, face, in_rows(self.modulus, shape), _reach(points, face))


def given_joint(
    xy: ArrayLike, bolt_stiffness: ArrayLike, preload: ArrayLike, face: Face | None, foundation_modulus: ArrayLike
) -> Given:
    """Return the arguments of the public functions as arrays; ValueError as they say."""
    xy = np.asarray(xy, dtype=float)
    stiffness = not_negative("the stiffness of a bolt", bolt_stiffness)
    tightened = not_negative("the preload of a bolt", preload)
    modulus = np.asarray(foundation_modulus, dtype=float)
    if face is not None and np.any(modulus <= 0.0):
        raise ValueError("the foundation modulus of a face must be positive")
    if xy.ndim < 2 or xy.shape[-1] != 2:
        raise ValueError("the places of the bolts must be pairs x, y: (..., n, 2)")
    bolts = xy.shape[-2]
    stiffness = np.broadcast_to(stiffness, np.broadcast_shapes(stiffness.shape, (bolts,)))
    tightened = np.broadcast_to(tightened, np.broadcast_shapes(tightened.shape, (bolts,)))
    face_shape = () if face is None else np.shape(face.area())
    own = np.broadcast_shapes(xy.shape[:-2], stiffness.shape[:-1], tightened.shape[:-1], modulus.shape, face_shape)
    return Given(xy, stiffness, tightened, face, modulus, own)
