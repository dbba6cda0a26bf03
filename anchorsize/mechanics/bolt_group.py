"""Linear bolt group: a rigid flange on bolts that act as springs both ways, in any pattern.

Tension is plane over the flange, tᵢ = kᵢ (α + β xᵢ + γ yᵢ), and shear follows a rigid turn about the stiffness
center. Frames and signs as in :mod:`anchorsize.mechanics.frames`: Σt = N, Σtx = M2, Σty = −M1, Σs = V,
Σ(x s_y − y s_x) = −T. Source: the elastic method for eccentrically loaded bolt groups, as in Shigley's Mechanical
Engineering Design, 9th edition, Example 8-7 (shear), and the same reasoning across the plane (tension); the
equations are derived here from equilibrium.
"""

from __future__ import annotations

from typing import NamedTuple, TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

from anchorsize.mechanics.inputs import Array, not_negative

Integers: TypeAlias = NDArray[np.int64]
Triple: TypeAlias = tuple[Array, Array, Array]

IN_LINE = 1e-12
"""Determinant of the second moments over the square of their trace under which bolts count as in one line [-]."""

ONE_PLACE = 1e-18
"""Second moment about the center over that about the origin under which bolts count as in one place [-]."""

ROUNDING = 1e-9
"""Share of the loads that counts as rounding when a pattern is asked to balance them [-]."""

ROUNDING_MOMENT = 1e-6
"""Moment that counts as rounding whatever the loads [N·m]."""

_KINDS = ("a pattern without bolts", "bolts in one place", "bolts in one line", "this pattern")


class Pattern(NamedTuple):
    """Stiffness sums of a bolt pattern, leading axes (...): what tension and shear are worked out from."""

    xy: Array
    """(..., n, 2) places of the bolts from the bolt-circle center [m]."""
    weight: Array
    """(..., n) relative stiffness of each bolt, 0 where one is missing."""
    total: Array
    """(...) sum of the weights."""
    center: Array
    """(..., 2) stiffness center [m]."""
    offset: Array
    """(..., n, 2) places of the bolts from the stiffness center [m]."""
    second: Array
    """(..., 3) weighted second moments xx, yy, xy about the center [m²]."""
    rank: Integers
    """(...) what the pattern can carry, see :func:`capability`."""


def pattern(xy: ArrayLike, weight: ArrayLike) -> Pattern:
    """Return the stiffness sums of a bolt pattern.

    Parameters
    ----------
    xy : (..., n, 2) places of the bolts along e1 and e2 from the bolt-circle center [m]
    weight : (..., n) stiffness of the bolts, in any unit; 0 for a missing bolt

    Raises
    ------
    ValueError
        If a weight is negative.
    """
    xy, weight = np.asarray(xy, dtype=float), not_negative("the stiffness of a bolt", weight)
    total = weight.sum(axis=-1)
    safe_total = np.where(total > 0.0, total, 1.0)
    center = (weight[..., None] * xy).sum(axis=-2) / safe_total[..., None]
    offset = xy - center[..., None, :]
    x, y = offset[..., 0], offset[..., 1]
    second = np.stack([(weight * part).sum(axis=-1) for part in (x * x, y * y, x * y)], axis=-1)
    about_origin = (weight * np.square(xy).sum(axis=-1)).sum(axis=-1)
    polar = second[..., 0] + second[..., 1]
    determinant = second[..., 0] * second[..., 1] - second[..., 2] ** 2
    apart = polar > ONE_PLACE * about_origin
    spread = apart & (determinant > IN_LINE * polar * polar)
    rank = (total > 0.0).astype(np.int64) + apart + spread
    return Pattern(xy, weight, total, center, offset, second, rank)


def capability(xy: ArrayLike, weight: ArrayLike) -> Integers:
    """Return what a bolt pattern can carry, as the rank of its equations.

    0: no bolts, nothing. 1: bolts in one place, an axial force and a shear through them. 2: bolts in one line,
    also torsion and the bending that varies the tension along that line. 3: every force and moment.

    Parameters
    ----------
    xy : (..., n, 2) places of the bolts [m]
    weight : (..., n) stiffness of the bolts; 0 for a missing bolt

    Returns
    -------
    (...) rank, 0 to 3
    """
    return pattern(xy, weight).rank


def tensions_of(group: Pattern, N: Array, M1: Array, M2: Array) -> Array:
    """Return the least-norm tensions (..., n) [N] of a pattern; what it cannot carry is left out, not refused.

    As :func:`tension`, with the pattern worked out beforehand.

    Parameters
    ----------
    group : the bolts, see :func:`pattern`
    N : (...) axial force, positive opens the joint [N]
    M1, M2 : (...) bending about e1 and e2 [N·m]
    """
    if group.weight.ndim > 1 or group.xy.ndim > 2 or np.broadcast(N, M1, M2).ndim != 1:
        return _tensions(group, N, M1, M2)
    return _by_influence(_tensions(group, *np.eye(3)), (N, M1, M2))


def _by_influence(influence: Array, loads: Triple) -> Array:
    """Return loads times the influence (3, n) of each on n values, (rows, n), for one pattern and many loads.

    The values lie in memory with the rows side by side: what runs over the bolts then runs along the rows.
    """
    values: Array = influence.T @ np.stack(np.broadcast_arrays(*loads))
    return values.T


def _tensions(group: Pattern, N: Array, M1: Array, M2: Array) -> Array:
    """Return what :func:`tensions_of` does, for any batch of patterns."""
    along_x = M2 - N * group.center[..., 0]
    along_y = -M1 - N * group.center[..., 1]
    xx, yy, xy = (group.second[..., part] for part in range(3))
    full = group.rank == 3
    # The inverse of [[xx, xy], [xy, yy]] at full rank; in line, a matrix of rank one is its own pseudo-inverse but
    # for the square of its trace. An infinite divisor switches off what there is no bolt for.
    divisor = np.where(full, xx * yy - xy * xy, np.where(group.rank == 2, np.square(xx + yy), np.inf))
    cross = np.where(full, -xy, xy)
    slope_x = (np.where(full, yy, xx) * along_x + cross * along_y) / divisor
    slope_y = (np.where(full, xx, yy) * along_y + cross * along_x) / divisor
    level = N / np.where(group.rank >= 1, group.total, np.inf)
    x, y = group.offset[..., 0], group.offset[..., 1]
    plane = level[..., None] + slope_x[..., None] * x + slope_y[..., None] * y
    tensions: Array = group.weight * plane
    return tensions


def shears_of(group: Pattern, V1: Array, V2: Array, torsion: Array) -> Array:
    """Return the shears (..., n, 2) [N] of a pattern; what it cannot carry is left out, not refused.

    As :func:`shear`, with the pattern worked out beforehand.

    Parameters
    ----------
    group : the bolts, see :func:`pattern`
    V1, V2 : (...) shear along e1 and e2 [N]
    torsion : (...) torsion about the axis a [N·m]
    """
    if group.weight.ndim > 1 or group.xy.ndim > 2 or np.broadcast(V1, V2, torsion).ndim != 1:
        return _shears(group, V1, V2, torsion)
    influence = _shears(group, *np.eye(3))
    parts = [_by_influence(influence[..., along], (V1, V2, torsion)) for along in range(2)]
    return np.moveaxis(np.stack([part.T for part in parts]), 0, -1).swapaxes(0, 1)


def _shears(group: Pattern, V1: Array, V2: Array, torsion: Array) -> Array:
    """Return what :func:`shears_of` does, for any batch of patterns."""
    turn = -torsion - (group.center[..., 0] * V2 - group.center[..., 1] * V1)
    polar = group.second[..., 0] + group.second[..., 1]
    twist = turn / np.where(group.rank >= 2, polar, np.inf)
    carried = np.where(group.rank >= 1, group.total, np.inf)
    s1 = (V1 / carried)[..., None] - twist[..., None] * group.offset[..., 1]
    s2 = (V2 / carried)[..., None] + twist[..., None] * group.offset[..., 0]
    return np.stack([group.weight * s1, group.weight * s2], axis=-1)


def _unbalanced_tension(group: Pattern, N: Array, M1: Array, M2: Array) -> Triple:
    """Return the axial force and bending left over by :func:`tensions_of`."""
    tensions = tensions_of(group, N, M1, M2)
    x, y = group.xy[..., 0], group.xy[..., 1]
    return N - tensions.sum(axis=-1), M1 + (tensions * y).sum(axis=-1), M2 - (tensions * x).sum(axis=-1)


def _unbalanced_shear(group: Pattern, V1: Array, V2: Array, torsion: Array) -> Triple:
    """Return the shear and torsion left over by :func:`shears_of`."""
    s1, s2 = np.moveaxis(shears_of(group, V1, V2, torsion), -1, 0)
    moment = (group.xy[..., 0] * s2 - group.xy[..., 1] * s1).sum(axis=-1)
    return V1 - s1.sum(axis=-1), V2 - s2.sum(axis=-1), torsion + moment


def _greatest(values: tuple[Array, ...]) -> Array:
    """Return the greatest magnitude of several arrays, element by element."""
    return np.asarray(np.abs(np.stack(np.broadcast_arrays(*values))).max(axis=0))


def _of_tension(left: Triple) -> tuple[Array, Array]:
    """Return how much axial force and bending are left over."""
    return np.abs(left[0]), np.hypot(left[1], left[2])


def _of_shear(left: Triple) -> tuple[Array, Array]:
    """Return how much shear and torsion are left over."""
    return np.hypot(left[0], left[1]), np.abs(left[2])


class Unable(NamedTuple):
    """Loads that a pattern cannot balance: ``rows`` (...) in which it cannot, ``force`` (...) [N] and ``moment`` (...) [N·m] left over."""

    rows: NDArray[np.bool_]
    force: Array
    moment: Array
    rank: Integers
    loads: str

    def why(self, rank: float, force: float, moment: float) -> str:
        """Return why one row, of this rank and with this left over, is not balanced."""
        least = ROUNDING * max(force, moment)
        parts = [f"{value:.4g} {unit}" for value, unit in ((force, "N"), (moment, "N·m")) if value > least]
        return f"{_KINDS[int(rank)]} cannot balance the {self.loads}: {' and '.join(parts)} left over"


def unable(
    group: Pattern, axial_bending: tuple[()] | Triple = (), shear_torsion: tuple[()] | Triple = ()
) -> tuple[Unable, ...]:
    """Return the rows in which a pattern cannot balance the loads, for each sort of load of which there are such rows.

    Parameters
    ----------
    group : the pattern
    axial_bending : (N, M1, M2) [N, N·m], or empty to leave them unasked
    shear_torsion : (V1, V2, torsion) [N, N·m], or empty to leave them unasked
    """
    asked = []
    if axial_bending and np.any(group.rank < 3):
        asked.append(
            (_unbalanced_tension(group, *axial_bending), axial_bending, "axial force and bending", _of_tension)
        )
    if shear_torsion and np.any(group.rank < 2):
        asked.append((_unbalanced_shear(group, *shear_torsion), shear_torsion, "shear and torsion", _of_shear))
    found = []
    for left, loads, name, sizes in asked:
        over = _greatest(left)
        # A NaN load compares as balanced: it goes on as NaN instead of posing as a bad pattern.
        rows = over > ROUNDING * _greatest(loads) + ROUNDING_MOMENT
        if np.any(rows):
            force, moment = (np.broadcast_to(each, rows.shape) for each in sizes(left))
            found.append(Unable(rows, force, moment, np.broadcast_to(group.rank, rows.shape), name))
    return tuple(found)


def require_balance(
    group: Pattern, axial_bending: tuple[()] | Triple = (), shear_torsion: tuple[()] | Triple = ()
) -> None:
    """Raise ValueError if in any row the pattern cannot balance the loads. Arguments as :func:`unable`."""
    for each in unable(group, axial_bending, shear_torsion):
        row = int(np.argmax(each.rows))
        rows = f" (first in row {row} of {each.rows.size})" if each.rows.size > 1 else ""
        raise ValueError(each.why(*(float(value.flat[row]) for value in (each.rank, each.force, each.moment))) + rows)


def _floats(*values: ArrayLike) -> Triple:
    """Return three values as float arrays."""
    first, second, third = (np.asarray(value, dtype=float) for value in values)
    return first, second, third


def tension(N: ArrayLike, M1: ArrayLike, M2: ArrayLike, xy: ArrayLike, weight: ArrayLike) -> Array:
    """Return the tension of each bolt under an axial force and bending [N].

    Parameters
    ----------
    N : (...) axial demand, positive opening the joint [N]
    M1, M2 : (...) load moments about e1 and e2 through the bolt-circle center [N·m]
    xy : (..., n, 2) places of the bolts [m]
    weight : (..., n) stiffness of the bolts, in any unit; 0 for a missing bolt

    Returns
    -------
    (..., n) tensions, negative in compression [N]

    Raises
    ------
    ValueError
        If in any row the pattern cannot balance the loads (too few bolts, or all in one line), or a weight is
        negative.
    """
    loads, group = _floats(N, M1, M2), pattern(xy, weight)
    require_balance(group, axial_bending=loads)
    return tensions_of(group, *loads)


def shear(V1: ArrayLike, V2: ArrayLike, torsion: ArrayLike, xy: ArrayLike, weight: ArrayLike) -> Array:
    """Return the shear that each bolt puts on the fitting [N].

    Parameters
    ----------
    V1, V2 : (...) shear the bolts must supply along e1 and e2, minus the in-plane load on the fitting [N]
    torsion : (...) load moment about the joint axis through the bolt-circle center [N·m]
    xy : (..., n, 2) places of the bolts [m]
    weight : (..., n) stiffness of the bolts, in any unit; 0 for a missing bolt

    Returns
    -------
    (..., n, 2) shear along e1 and e2 [N]

    Raises
    ------
    ValueError
        If in any row the pattern cannot balance the loads (no bolts, or all in one place), or a weight is
        negative.
    """
    loads, group = _floats(V1, V2, torsion), pattern(xy, weight)
    require_balance(group, shear_torsion=loads)
    return shears_of(group, *loads)
