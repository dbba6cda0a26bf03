"""In which order, and in which steps, the bolts of a flange are tightened.

Bolts are numbered 1..count round the circle. Plain Python: an order is a list of a few dozen numbers, not a batch.
"""

from __future__ import annotations

from collections.abc import Collection

import numpy as np
from numpy.typing import ArrayLike

from anchorsize.mechanics.inputs import Array, not_negative

FEW_BOLTS = 8  # up to here the published guides use three pattern passes, from 12 on four
PASSES_FEW = (0.3, 0.6, 1.0)
PASSES_MANY = (0.2, 0.4, 0.8, 1.0)


def _spread_starts(count: int) -> list[int]:
    """Numbers 1..count so that neighbors in the list lie about half the range apart (no step for 1, 2, 3)."""
    stride = max(count // 2, 1)
    return [start for first in range(1, stride + 1) for start in range(first, count + 1, stride)]


def cross_pattern(count: int, missing: Collection[int] = ()) -> tuple[int, ...]:
    """Order in which to tighten a circle of ``count`` bolts so that the flange closes evenly.

    Multiples of four go in crosses s, s + n/2, s + n/4, s + 3n/4; other even counts in opposite pairs s, s + n/2; odd
    counts step (n − 1)/2 places each time, which reaches every bolt. Missing bolts are left out and the order of the rest kept.

    Raises ValueError for a count under 1 or a missing bolt that is not on the circle.
    Source: for 4, 8, 12, 16, 20 and 24 bolts the orders of the legacy cross-pattern table of ASME PCC-1 (from memory;
    the 12-bolt order seen in print). The rule for the other counts is this project's own, by the same idea.
    """
    if count < 1:
        raise ValueError(f"a bolt circle has at least 1 bolt, not {count}")
    strangers = sorted(set(missing) - set(range(1, count + 1)))
    if strangers:
        raise ValueError(f"bolt {strangers[0]} is said to be missing, but the circle has bolts 1 to {count}")
    if count % 4 == 0:
        offsets = (0, count // 2, count // 4, 3 * count // 4)
        order = [start + offset for start in _spread_starts(count // 4) for offset in offsets]
    elif count % 2 == 0:
        order = [start + offset for start in _spread_starts(count // 2) for offset in (0, count // 2)]
    else:
        order = [1 + step * (count // 2) % count for step in range(count)]
    return tuple(bolt for bolt in order if bolt not in missing)


def pass_shares(count: int) -> tuple[float, ...]:
    """Shares of the final torque for the passes in cross pattern; at least one pass round the circle at 1.0 follows.

    Three passes (30, 60, 100 %) up to 8 bolts, four (20, 40, 80, 100 %) from 12 on. Counts between, which the source
    leaves out, get the gentler four. Source: public flange-assembly guides (seen in print); ASME PCC-1 legacy rounds
    are alike (from memory).
    """
    if count < 1:
        raise ValueError(f"a bolt circle has at least 1 bolt, not {count}")
    return PASSES_FEW if count <= FEW_BOLTS else PASSES_MANY


def pass_torques(final_torque: ArrayLike, shares: ArrayLike) -> Array:
    """Torque of each pass [N·m] (..., passes) from the final torque [N·m] (...) and the shares [-] (passes,)."""
    final = not_negative("final torque", final_torque)
    return final[..., np.newaxis] * not_negative("share of the final torque", shares)
