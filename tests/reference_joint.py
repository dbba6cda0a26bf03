"""A second opinion on the preloaded joint: its energy by quadrature, minimized one case at a time by scipy.

Nothing here is taken from the package. Disks are integrated by Gauss-Legendre in s = ρ sin φ between the line where the face
opens and the rim, where the integrand is smooth; rectangles strip by strip, exact across and in pieces between kinks along.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize

Array = NDArray[np.float64]
NODES, WEIGHTS = np.polynomial.legendre.leggauss(48)


@dataclass(frozen=True)
class Ring:
    """Diameters [m]."""

    inside: float
    outside: float

    def pushed(self, field: Array) -> Array:
        """Return ∫p, ∫p x, ∫p y of p = max(0, f0 + f1 x + f2 y)."""
        slope = np.hypot(field[1], field[2])
        outer, inner = (_disk(0.5 * d, field[0], slope) for d in (self.outside, self.inside))
        along = field[1:] / slope if slope > 0.0 else np.array([1.0, 0.0])
        force, lever = outer - inner
        return np.array([force, *(lever * along)])

    def reach(self) -> float:
        return 0.5 * self.outside

    def area(self) -> float:
        return 0.25 * np.pi * (self.outside**2 - self.inside**2)


@dataclass(frozen=True)
class Plate:
    """Sides along e1 and e2 [m]."""

    width: float
    depth: float

    def pushed(self, field: Array) -> Array:
        """Return ∫p, ∫p x, ∫p y of p = max(0, f0 + f1 x + f2 y)."""
        half_x, half_y = 0.5 * self.width, 0.5 * self.depth
        f0, f1, f2 = field
        kinks = [(-f0 - f2 * y) / f1 for y in (-half_y, half_y)] if f1 else []
        stops = np.array([-half_x, *sorted(k for k in kinks if abs(k) < half_x), half_x])
        mean, half = 0.5 * (stops[1:] + stops[:-1]), 0.5 * (stops[1:] - stops[:-1])
        x = (mean[:, None] + half[:, None] * NODES).ravel()
        weight = (half[:, None] * WEIGHTS).ravel()
        axis = f0 + f1 * x
        if f2 == 0.0:
            low, high = np.where(axis > 0.0, -half_y, 0.0), np.where(axis > 0.0, half_y, 0.0)
        else:
            zero = np.clip(-axis / f2, -half_y, half_y)
            low, high = (zero, np.full_like(zero, half_y)) if f2 > 0.0 else (np.full_like(zero, -half_y), zero)
        ones, y1, y2 = high - low, (high**2 - low**2) / 2, (high**3 - low**3) / 3
        strip = axis * ones + f2 * y1
        return np.array([weight @ strip, weight @ (x * strip), weight @ (axis * y1 + f2 * y2)])

    def reach(self) -> float:
        return 0.5 * np.hypot(self.width, self.depth)

    def area(self) -> float:
        return self.width * self.depth


def _disk(radius: float, f0: float, slope: float) -> Array:
    """Return ∫p and ∫p s of p = max(0, f0 + slope s) over a disk."""
    if radius == 0.0:
        return np.zeros(2)
    sine = -1.0 if f0 >= slope * radius else (1.0 if f0 <= -slope * radius else -f0 / (slope * radius))
    start = np.arcsin(sine)
    half = 0.5 * (0.5 * np.pi - start)
    angle = start + half * (1.0 + NODES)
    s = radius * np.sin(angle)
    pressed = (f0 + slope * s) * 2.0 * radius**2 * np.cos(angle) ** 2 * half * WEIGHTS
    return np.array([pressed.sum(), pressed @ s])


def least(
    springs_and_load: Callable[[Array], tuple[float, Array]], scale: float, stiffness: float, reach: float
) -> Array:
    """Return the displacement (3,) of least energy; ``springs_and_load`` gives energy and gradient at one."""
    units = scale / stiffness * np.array([1.0, 1.0 / reach, 1.0 / reach])

    def energy(z: Array) -> tuple[float, Array]:
        value, gradient = springs_and_load(z * units)
        return value * stiffness / scale**2, gradient * units * stiffness / scale**2

    z = np.zeros(3)
    for _ in range(6):  # started anew where its line search stops at the rounding of the energy
        z = minimize(energy, z, jac=True, method="BFGS", options={"gtol": 1e-11, "maxiter": 2000}).x
        if np.max(np.abs(energy(z)[1])) < 1e-9:
            break
    return z * units


@dataclass(frozen=True)
class ReferenceJoint:
    """One joint: places (n, 2) [m], stiffness (n,) [N/m], preload (n,) [N], face, κ [Pa/m]."""

    xy: Array
    stiffness: Array
    preload: Array
    face: Ring | Plate
    modulus: float

    def basis(self) -> Array:
        return np.column_stack([np.ones(len(self.xy)), self.xy])

    def assembled(self) -> Array:
        """Return the field (3,) by which the preloads press the flange into the face."""
        load = self.preload @ self.basis()

        def energy(c: Array) -> tuple[float, Array]:
            push = self.modulus * self.face.pushed(c)
            return 0.5 * push @ c - load @ c, push - load

        return least(energy, self.preload.sum(), self.modulus * self.face.area(), self.face.reach())

    def under(self, load: Array, closing: Array) -> tuple[Array, float, float]:
        """Return tensions (n,), clamp and greatest residual, as a force, for N, M1, M2 on the assembled joint."""
        wanted = np.array([load[0], load[2], -load[1]])
        basis = self.basis()
        reach = max(self.face.reach(), np.max(np.hypot(*self.xy.T)))
        scale = max(self.preload.sum(), abs(load[0]), abs(load[1]) / reach, abs(load[2]) / reach)

        def state(d: Array) -> tuple[Array, Array, Array]:
            stretch = np.maximum(0.0, self.preload / self.stiffness + basis @ d)
            return stretch, self.stiffness * stretch, self.modulus * self.face.pushed(closing - d)

        def energy(d: Array) -> tuple[float, Array]:
            stretch, tension, push = state(d)
            value = 0.5 * tension @ stretch + 0.5 * push @ (closing - d) - wanted @ d
            return value, tension @ basis - push - wanted

        moved = least(energy, scale, self.stiffness.sum() + self.modulus * self.face.area(), reach)
        _, tension, push = state(moved)
        left = np.abs(energy(moved)[1]) / np.array([1.0, reach, reach])
        return tension, float(push[0]), float(left.max())
