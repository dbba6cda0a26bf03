"""The linear bolt group for one pattern and very many loads: only the greatest over the bolts is kept.

Blocks of rows small enough to stay in cache, the bolt axis first so that every operation runs along memory, and
buffers that are allocated once: whole-array temporaries would cost many times more than the arithmetic. The rules
are those of :mod:`anchorsize.mechanics.checks`, written in place here for speed; tests hold the two together.
"""

from __future__ import annotations

from typing import Literal, NamedTuple, TypeAlias

import numpy as np
from numpy.typing import ArrayLike

from anchorsize.mechanics import bolt_group
from anchorsize.mechanics.checks import EN_TENSION_SHARE
from anchorsize.mechanics.inputs import Array, positive

Interaction: TypeAlias = Literal["circular", "linear", "en_1993_1_8"]

BLOCK = 4096
"""Rows worked on at a time: with a dozen bolts the buffers of a block stay within a second-level cache."""


class Greatest(NamedTuple):
    """Greatest values over the bolts of a group, each of the shape (...) of the loads."""

    tension: Array
    """Greatest tension [N]; negative where every bolt is in compression."""
    shear: Array
    """Greatest shear [N]."""
    interaction: Array
    """Greatest utilization of tension with shear [-]."""


def _influence(group: bolt_group.Pattern) -> tuple[Array, Array]:
    """Return the tensions (n, 3) per unit of N, M1, M2 and the shears (2, n, 3) per unit of V1, V2, T."""
    one = np.eye(3)
    tensions = bolt_group.tensions_of(group, one[0], one[1], one[2])
    shears = bolt_group.shears_of(group, one[0], one[1], one[2])
    return np.ascontiguousarray(tensions.T), np.ascontiguousarray(shears.transpose(2, 1, 0))


def _per_bolt(capacity: ArrayLike, name: str) -> Array:
    """Return 1/capacity with the bolt axis first: (n or 1, rows or 1)."""
    capacity = np.atleast_2d(positive(f"the {name} capacity of a bolt", capacity))
    return np.ascontiguousarray(1.0 / capacity.reshape(-1, capacity.shape[-1]).T)


def _interact(form: Interaction, t: Array, s_squared: Array, inverse_t: Array, inverse_s: Array) -> Array:
    """Return the greatest interaction over the bolts of a block (rows); uses up ``t`` and ``s_squared``."""
    np.maximum(t, 0.0, out=t)
    np.multiply(t, inverse_t, out=t)
    if form == "circular":
        np.multiply(t, t, out=t)
        np.multiply(s_squared, inverse_s * inverse_s, out=s_squared)
        np.add(t, s_squared, out=t)
        return np.asarray(np.sqrt(t.max(axis=0)))
    s = np.sqrt(s_squared, out=s_squared)
    np.multiply(s, inverse_s, out=s)
    if form == "linear":
        np.add(t, s, out=t)
        return np.asarray(t.max(axis=0))
    tension_alone = t.max(axis=0)
    np.multiply(t, 1.0 / EN_TENSION_SHARE, out=t)
    np.add(t, s, out=t)
    return np.asarray(np.maximum(tension_alone, t.max(axis=0)))


def greatest(
    N: ArrayLike,
    M1: ArrayLike,
    M2: ArrayLike,
    V1: ArrayLike,
    V2: ArrayLike,
    torsion: ArrayLike,
    xy: ArrayLike,
    weight: ArrayLike,
    tension_capacity: ArrayLike,
    shear_capacity: ArrayLike,
    interaction: Interaction = "circular",
) -> Greatest:
    """Return the greatest tension, shear and interaction over the bolts of one pattern, for many loads.

    Parameters
    ----------
    N, V1, V2 : (...) axial demand and shears [N], as in :mod:`anchorsize.mechanics.bolt_group`
    M1, M2, torsion : (...) load moments [N·m]
    xy : (n, 2) places of the bolts [m], the same for every load
    weight : (n,) stiffness of the bolts; 0 for a missing bolt
    tension_capacity, shear_capacity : allowable force of each bolt [N]: a number, (n,), or (..., n) or (..., 1)
        with the leading axes of the loads
    interaction : rule of tension with shear, named after the functions of :mod:`anchorsize.mechanics.checks`

    Returns
    -------
    Greatest(tension, shear, interaction), each of the shape that the loads broadcast to

    Raises
    ------
    ValueError
        If in any row the pattern cannot balance the loads, or a capacity is not positive.
    """
    loads = np.broadcast_arrays(*(np.asarray(load, dtype=float) for load in (N, M1, M2, V1, V2, torsion)))
    shape = loads[0].shape
    flat = [load.reshape(-1) for load in loads]
    rows = flat[0].size
    group = bolt_group.pattern(xy, weight)
    tension_influence, shear_influence = _influence(group)
    inverse_t, inverse_s = _per_bolt(tension_capacity, "tension"), _per_bolt(shear_capacity, "shear")
    bolts = group.weight.size
    results = np.empty((3, rows))
    block_loads = np.empty((6, min(BLOCK, rows)))
    t, s1, s2 = np.empty((3, bolts, min(BLOCK, rows)))
    for start in range(0, rows, BLOCK):
        stop = min(start + BLOCK, rows)
        here, width = slice(start, stop), stop - start
        for place, load in enumerate(flat):
            block_loads[place, :width] = load[here]
        part = block_loads[:, :width]
        tensions, along1, along2 = t[:, :width], s1[:, :width], s2[:, :width]
        bolt_group.require_balance(group, (part[0], part[1], part[2]), (part[3], part[4], part[5]))
        np.matmul(tension_influence, part[:3], out=tensions)
        np.matmul(shear_influence[0], part[3:], out=along1)
        np.matmul(shear_influence[1], part[3:], out=along2)
        np.multiply(along1, along1, out=along1)
        np.multiply(along2, along2, out=along2)
        np.add(along1, along2, out=along1)
        np.max(tensions, axis=0, out=results[0, here])
        np.max(along1, axis=0, out=results[1, here])
        per_t = inverse_t if inverse_t.shape[1] == 1 else inverse_t[:, here]
        per_s = inverse_s if inverse_s.shape[1] == 1 else inverse_s[:, here]
        results[2, here] = _interact(interaction, tensions, along1, per_t, per_s)
    np.sqrt(results[1], out=results[1])
    return Greatest(*(result.reshape(shape) for result in results))
