"""Faces, and exact integrals over the part of a face on one side of a straight line.

A rigid flange closes on its gasket by a linear field f(x, y) = f0 + f1 x + f2 y, and the gasket pushes where f > 0.
What the contact solver needs of a face is ∫1, ∫x, ∫y, ∫x², ∫xy, ∫y² over that part. For the ring the part is the
difference of two circular segments, for the rectangle a polygon; both have closed forms, so there is no quadrature here.

Coordinates run along e1 and e2 from the center of the face, which is the bolt-circle center. A field is an array
(3, ...) with rows f0 [any unit], f1 and f2 [that unit per m]; the trailing axes are the batch and broadcast with
the dimensions of the face. Bolt holes in a full-face ring are not taken off.

Sources: circular segment, area and centroid as tabulated in any handbook of sections; second moments and the polygon
sums follow from Green's theorem and are derived here (from memory, held against numerical integration in the tests).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol, Self

import numpy as np
from numpy.typing import ArrayLike, NDArray

from anchorsize.mechanics.inputs import Array, not_negative, positive

SMALL_ANGLE = 0.25
"""Half angle [rad] under which the area of a segment comes from its series: the closed form cancels there."""

_TINY = 1e-250
_LEAST_FIELD = 1e-240  # a field that is zero everywhere counts as open: f > 0 nowhere


class Face(Protocol):
    """What the contact solver asks of a face. Dimensions are [m] and may carry batch axes."""

    def area(self) -> Array:
        """Return the whole area [m²], (...)."""
        ...

    def reach(self) -> Array:
        """Return the greatest distance of a point of the face from its center [m], (...)."""
        ...

    def moments(self, field: Array) -> Array:
        """Return ∫1, ∫x, ∫y, ∫x², ∫xy, ∫y² [m², m³, m⁴] where the field (3, ...) is positive: (6, ...)."""
        ...

    def extremes(self, field: Array) -> tuple[Array, Array]:
        """Return the least and the greatest value of the field (3, ...) over the face, in the field's unit: (...) each."""
        ...

    def in_rows(self, shape: tuple[int, ...]) -> Self:
        """Return the face with dimensions as rows: (1,) if one serves the whole batch ``shape``, else (rows,)."""
        ...

    def take(self, rows: NDArray[np.intp] | slice) -> Self:
        """Return the face of some rows only; dimensions (1,) serve every row and stay."""
        ...


def in_rows(value: ArrayLike, shape: tuple[int, ...]) -> Array:
    """Return a batch value as rows: (1,) where one number serves the whole batch ``shape``, else (rows,)."""
    value = np.asarray(value, dtype=float)
    return value.reshape(1) if value.size == 1 else np.broadcast_to(value, shape).reshape(-1)


def take_rows(value: Array, rows: NDArray[np.intp] | slice) -> Array:
    """Return some rows of the last axis; a last axis of length 1 serves every row and stays."""
    return value if value.shape[-1] == 1 else value[..., rows]


def _segment_area(angle: Array, sine: Array, cosine: Array) -> Array:
    """Return θ − sin θ cos θ, to full relative precision also for small half angles θ [rad]."""
    area = angle - sine * cosine
    small = angle < SMALL_ANGLE
    if np.any(small):
        x2 = (2.0 * angle[small]) ** 2
        series = 1.0 - x2 / 110.0 * (1.0 - x2 / 156.0)
        series = 1.0 - x2 / 20.0 * (1.0 - x2 / 42.0 * (1.0 - x2 / 72.0 * series))
        area[small] = 2.0 / 3.0 * angle[small] ** 3 * series
    return area


def _disk(radius: Array, f0: Array, slope: Array) -> tuple[Array, Array, Array, Array]:
    """Return ∫1, ∫s, ∫s², ∫t² over the part of a disk where f0 + slope · s > 0; t runs across s.

    With cos θ = −f0/(slope · radius) on a unit disk: A = θ − sin θ cos θ, ∫s = 2/3 sin³θ, ∫s² = A/4 + sin³θ cos θ/2,
    ∫t² = A/4 − sin³θ cos θ/6. Clipping cos θ to ±1 makes the disk whole or empty, also where slope or radius is 0.
    """
    cosine = (_LEAST_FIELD - f0) / np.maximum(slope * radius, _TINY)
    cosine = np.minimum(np.maximum(cosine, -1.0), 1.0)
    sine = np.sqrt((1.0 - cosine) * (1.0 + cosine))
    area = _segment_area(np.arccos(cosine), sine, cosine)
    cube = sine * sine * sine
    turned = cube * cosine
    r2 = radius * radius
    r4 = r2 * r2
    return (
        r2 * area,
        (2.0 / 3.0) * r2 * radius * cube,
        r4 * (0.25 * area + 0.5 * turned),
        r4 * (0.25 * area - turned / 6.0),
    )


@dataclass(frozen=True)
class Annulus:
    """Ring between two concentric circles: ``inside`` and ``outside`` diameter [m], inside 0 for a whole disk.

    Raises ValueError if a diameter is negative or ``inside`` is not under ``outside``.
    """

    inside: ArrayLike
    outside: ArrayLike

    def __post_init__(self) -> None:
        inside = not_negative("the inside diameter of a face", self.inside)
        if np.any(inside >= np.asarray(self.outside, dtype=float)):
            raise ValueError("the inside diameter of a face must be less than its outside diameter")

    def _radii(self) -> tuple[Array, Array]:
        return 0.5 * np.asarray(self.inside, dtype=float), 0.5 * np.asarray(self.outside, dtype=float)

    def area(self) -> Array:
        """Return the area [m²], (...)."""
        inner, outer = self._radii()
        return np.asarray(np.pi * (outer - inner) * (outer + inner))

    def reach(self) -> Array:
        """Return the outer radius [m], (...)."""
        return self._radii()[1]

    def moments(self, field: Array) -> Array:
        """Return ∫1, ∫x, ∫y, ∫x², ∫xy, ∫y² [m², m³, m⁴] where the field (3, ...) is positive: (6, ...)."""
        inner, outer = self._radii()
        f0, f1, f2 = np.asarray(field, dtype=float)
        f0, f1, f2, inner, outer = np.atleast_1d(f0, f1, f2, inner, outer)
        slope = np.hypot(f1, f2)
        a, s, ss, tt = _disk(outer, f0, slope)
        if np.any(inner > 0.0):
            hole = _disk(inner, f0, slope)
            a, s, ss, tt = a - hole[0], s - hole[1], ss - hole[2], tt - hole[3]
        flat = slope <= 0.0
        slope = np.where(flat, 1.0, slope)
        along, across = np.where(flat, 1.0, f1 / slope), f2 / slope  # any direction will do where the field is flat
        turn = (ss - tt) * along
        out = np.empty((6, *a.shape))
        out[0], out[1], out[2] = a, s * along, s * across
        out[3], out[4] = tt + turn * along, turn * across
        out[5] = ss + tt - out[3]
        return out.reshape(6, *np.broadcast_shapes(np.shape(field)[1:], np.shape(self.inside), np.shape(self.outside)))

    def extremes(self, field: Array) -> tuple[Array, Array]:
        """Return the least and the greatest value of the field over the ring, both on the outer rim: (...) each."""
        rise = np.hypot(field[1], field[2]) * self.reach()
        return field[0] - rise, field[0] + rise

    def in_rows(self, shape: tuple[int, ...]) -> Self:
        """Return the ring with its diameters as rows of the batch ``shape``, see :func:`in_rows`."""
        return type(self)(in_rows(self.inside, shape), in_rows(self.outside, shape))

    def take(self, rows: NDArray[np.intp] | slice) -> Self:
        """Return the ring of some rows only, see :func:`take_rows`."""
        return type(self)(*(take_rows(np.asarray(value), rows) for value in (self.inside, self.outside)))


@dataclass(frozen=True)
class Rectangle:
    """Rectangle about the center: ``width`` [m] along e1, ``depth`` [m] along e2.

    Raises ValueError if a side is not positive.
    """

    width: ArrayLike
    depth: ArrayLike

    def __post_init__(self) -> None:
        positive("the width of a face", self.width)
        positive("the depth of a face", self.depth)

    def _halves(self) -> tuple[Array, Array]:
        return 0.5 * np.asarray(self.width, dtype=float), 0.5 * np.asarray(self.depth, dtype=float)

    def area(self) -> Array:
        """Return the area [m²], (...)."""
        x, y = self._halves()
        return np.asarray(4.0 * x * y)

    def reach(self) -> Array:
        """Return the distance of the corners from the center [m], (...)."""
        return np.asarray(np.hypot(*self._halves()))

    def moments(self, field: Array) -> Array:
        """Return ∫1, ∫x, ∫y, ∫x², ∫xy, ∫y² [m², m³, m⁴] where the field (3, ...) is positive: (6, ...).

        The part is a convex polygon. It is summed as triangles from one point of its own to the part of each edge that
        lies in it; that point is where the line f = 0 enters, so the line itself adds nothing.
        """
        half_x, half_y = self._halves()
        f0, f1, f2, half_x, half_y = np.broadcast_arrays(*np.asarray(field, dtype=float), half_x, half_y)
        corners = [(half_x, half_y), (-half_x, half_y), (-half_x, -half_y), (half_x, -half_y)]
        values = [f0 + f1 * x + f2 * y for x, y in corners]
        edges = [_inside_edge(corners[i], corners[(i + 1) % 4], values[i], values[(i + 1) % 4]) for i in range(4)]
        zero = np.zeros(f0.shape)
        ref_x, ref_y = zero, zero
        for start_x, start_y, _, _, enters in edges:
            ref_x, ref_y = np.where(enters, start_x, ref_x), np.where(enters, start_y, ref_y)
        a, sx, sy, xx, xy, yy = (np.zeros(f0.shape) for _ in range(6))
        for start_x, start_y, end_x, end_y, _ in edges:
            px, py, qx, qy = start_x - ref_x, start_y - ref_y, end_x - ref_x, end_y - ref_y
            double = px * qy - py * qx
            mx, my = px + qx, py + qy
            a, sx, sy = a + double / 2.0, sx + double * mx / 6.0, sy + double * my / 6.0
            xx = xx + double * (px * px + qx * qx + mx * mx) / 24.0
            xy = xy + double * (px * py + qx * qy + mx * my) / 24.0
            yy = yy + double * (py * py + qy * qy + my * my) / 24.0
        return np.stack(
            [
                a,
                sx + ref_x * a,
                sy + ref_y * a,
                xx + ref_x * (2.0 * sx + ref_x * a),
                xy + ref_x * sy + ref_y * (sx + ref_x * a),
                yy + ref_y * (2.0 * sy + ref_y * a),
            ]
        )

    def extremes(self, field: Array) -> tuple[Array, Array]:
        """Return the least and the greatest value of the field over the rectangle, both at corners: (...) each."""
        x, y = self._halves()
        rise = np.abs(field[1]) * x + np.abs(field[2]) * y
        return field[0] - rise, field[0] + rise

    def in_rows(self, shape: tuple[int, ...]) -> Self:
        """Return the rectangle with its sides as rows of the batch ``shape``, see :func:`in_rows`."""
        return type(self)(in_rows(self.width, shape), in_rows(self.depth, shape))

    def take(self, rows: NDArray[np.intp] | slice) -> Self:
        """Return the rectangle of some rows only, see :func:`take_rows`."""
        return type(self)(*(take_rows(np.asarray(value), rows) for value in (self.width, self.depth)))


def _inside_edge(
    start: tuple[Array, Array], end: tuple[Array, Array], at_start: Array, at_end: Array
) -> tuple[Array, Array, Array, Array, NDArray[np.bool_]]:
    """Return the ends x, y, x, y of the part of an edge where the field is positive, and whether the line enters there.

    An edge outside gives its start twice, so that it adds nothing.
    """
    leaves, enters = (at_start > 0.0) & (at_end <= 0.0), (at_start <= 0.0) & (at_end > 0.0)
    cut = np.where(leaves | enters, at_start / np.where(leaves | enters, at_start - at_end, 1.0), 0.0)
    first = np.where(enters, cut, 0.0)
    last = np.where(at_end > 0.0, 1.0, cut)
    dx, dy = end[0] - start[0], end[1] - start[1]
    return start[0] + first * dx, start[1] + first * dy, start[0] + last * dx, start[1] + last * dy, enters
