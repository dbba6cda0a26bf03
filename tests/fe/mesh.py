"""Structured bricks of half a flange with its bolt holes, hub and stub of pipe, cut at the plane of bending."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tests.fe.joint import Shape


@dataclass(frozen=True)
class Fineness:
    """Numbers of elements."""

    ring: int
    around_patch: int
    patch: int
    bearing: int
    to_patch: int
    thickness: int
    hub: int
    stub: int


FINENESS = {
    "coarse": Fineness(ring=1, around_patch=2, patch=3, bearing=1, to_patch=1, thickness=3, hub=3, stub=5),
    "medium": Fineness(ring=2, around_patch=3, patch=5, bearing=2, to_patch=2, thickness=4, hub=5, stub=8),
    "fine": Fineness(ring=3, around_patch=5, patch=8, bearing=3, to_patch=3, thickness=6, hub=8, stub=12),
}


class Plan:
    """Quadrilaterals in the plane of the flange, sharing the corners that coincide."""

    def __init__(self) -> None:
        self.points: list[tuple[float, float]] = []
        self._known: dict[tuple[int, int], int] = {}
        self.quads: list[tuple[int, int, int, int]] = []
        self.bearing: list[tuple[int, list[int]]] = []

    def _corner(self, x: float, y: float) -> int:
        key = (round(x * 1e5), round(y * 1e5))
        if key not in self._known:
            self._known[key] = len(self.points)
            self.points.append((x, y))
        return self._known[key]

    def add(self, grid: np.ndarray) -> list[int]:
        """Add the quadrilaterals of a grid of points (a, b, 2) and return their numbers."""
        first = len(self.quads)
        for i in range(grid.shape[0] - 1):
            for j in range(grid.shape[1] - 1):
                corners = [grid[i, j], grid[i + 1, j], grid[i + 1, j + 1], grid[i, j + 1]]
                x, y = np.array(corners).T
                if np.dot(x, np.roll(y, -1)) < np.dot(y, np.roll(x, -1)):
                    corners.reverse()
                a, b, c, d = (self._corner(float(p[0]), float(p[1])) for p in corners)
                self.quads.append((a, b, c, d))
        return list(range(first, len(self.quads)))


def _polar(r: np.ndarray, angle: np.ndarray) -> np.ndarray:
    return np.stack([r[:, None] * np.cos(angle), r[:, None] * np.sin(angle)], axis=-1)


def _split(stops: list[float], counts: list[int]) -> np.ndarray:
    pieces = [np.linspace(a, b, n + 1)[:-1] for a, b, n in zip(stops, stops[1:], counts, strict=False)]
    return np.append(np.concatenate(pieces), stops[-1])


def plan_of(shape: Shape, fine: Fineness) -> Plan:
    """Return the half flange y ≥ 0 seen along its axis."""
    plan = Plan()
    inner = shape.circle - shape.patch
    outer = shape.circle + shape.patch
    radii = _split(
        [shape.bore, shape.gasket_in, shape.hub, shape.gasket_out, inner],
        [fine.ring, 2 * fine.ring, 2 * fine.ring, fine.ring],
    )
    across = np.linspace(inner, outer, fine.patch + 1)
    rim = np.linspace(outer, shape.edge, fine.ring + 1)
    half, wide = np.pi / shape.bolts, shape.patch / shape.circle
    for i in range(shape.bolts // 2):
        middle = (2 * i + 1) * half
        angle = middle + _split([-half, -wide, wide, half], [fine.around_patch, fine.patch, fine.around_patch])
        low, high = fine.around_patch, fine.around_patch + fine.patch
        plan.add(_polar(radii, angle))
        plan.add(_polar(rim, angle))
        plan.add(_polar(across, angle[: low + 1]))
        plan.add(_polar(across, angle[high:]))
        square = _polar(across, angle[low : high + 1])
        border = np.concatenate([square[:-1, 0], square[-1, :-1], square[:0:-1, -1], square[0, :0:-1]])
        border = np.vstack([border, border[:1]])
        center = shape.circle * np.array([np.cos(middle), np.sin(middle)])
        toward = (border - center) / np.linalg.norm(border - center, axis=1, keepdims=True)
        seat = center + shape.bearing * toward
        steps = np.linspace(0.0, 1.0, fine.bearing + 1)[:, None, None]
        under_head = plan.add(center + (shape.hole + steps * (shape.bearing - shape.hole)) * toward)
        steps = np.linspace(0.0, 1.0, fine.to_patch + 1)[:, None, None]
        plan.add(seat + steps * (border - seat))
        plan.bearing.append((i, under_head))
    return plan


@dataclass(frozen=True)
class Mesh:
    """Nodes (n, 3) [mm] and bricks (m, 8), and the faces on which forces act as quadrilaterals of nodes."""

    nodes: np.ndarray
    bricks: np.ndarray
    gasket: np.ndarray
    heads: list[np.ndarray]
    end: np.ndarray


def mesh_of(shape: Shape, thickness: float, fine: Fineness) -> Mesh:
    """Return the bricks of half a flange, gasket face at z = 0, stub upward."""
    plan = plan_of(shape, fine)
    flat = np.array(plan.points)
    quads = np.array(plan.quads)
    radius = np.hypot(*flat.T)
    middle = np.hypot(*flat[quads].mean(axis=1).T)
    nodes = [np.column_stack([flat, np.full(len(flat), z)]) for z in np.linspace(0.0, thickness, fine.thickness + 1)]
    count = len(flat)
    bricks = [np.hstack([quads + k * count, quads + (k + 1) * count]) for k in range(fine.thickness)]

    wall = quads[middle < shape.hub]
    own = np.unique(wall)
    place = np.full(count, -1)
    place[own] = np.arange(len(own))
    below = np.arange(count) + fine.thickness * count
    heights = _split([0.0, shape.hub_height, shape.hub_height + shape.stub], [fine.hub, fine.stub])[1:]
    start = (fine.thickness + 1) * count
    for k, height in enumerate(heights):
        taper = min(height / shape.hub_height, 1.0)
        outside = shape.hub + taper * (shape.pipe - shape.hub)
        r = shape.bore + (radius[own] - shape.bore) * (outside - shape.bore) / (shape.hub - shape.bore)
        xy = flat[own] * (r / radius[own])[:, None]
        nodes.append(np.column_stack([xy, np.full(len(own), thickness + height)]))
        above = np.where(place >= 0, place + start + k * len(own), -1)
        bricks.append(np.hstack([below[wall], above[wall]]))
        below = above
    on_gasket = (middle > shape.gasket_in) & (middle < shape.gasket_out)
    top = fine.thickness * count
    heads = [quads[numbers] + top for _, numbers in plan.bearing]
    return Mesh(np.vstack(nodes), np.vstack(bricks), quads[on_gasket], heads, below[wall])


def shares(nodes: np.ndarray, quads: np.ndarray, weight: np.ndarray | None = None) -> dict[int, float]:
    """Return ∫ shape function × weight dA of every node on a flat face [mm²]; ``weight`` (n,) is given at the nodes."""
    found: dict[int, float] = {}
    g = 1.0 / np.sqrt(3.0)
    for quad in quads:
        xy = nodes[quad, :2]
        w = np.ones(4) if weight is None else weight[quad]
        for a, b in ((-g, -g), (g, -g), (g, g), (-g, g)):
            s = 0.25 * np.array([(1 - a) * (1 - b), (1 + a) * (1 - b), (1 + a) * (1 + b), (1 - a) * (1 + b)])
            da = 0.25 * np.array([-(1 - b), 1 - b, 1 + b, -(1 + b)]) @ xy
            db = 0.25 * np.array([-(1 - a), -(1 + a), 1 + a, 1 - a]) @ xy
            area = abs(da[0] * db[1] - da[1] * db[0])
            for node, part in zip(quad, s * area * (w @ s), strict=True):
                found[int(node)] = found.get(int(node), 0.0) + float(part)
    return found
