"""The soil that a thrust block bears on: whether it lies under the block, what of its weight it carries, and what it may get."""

from __future__ import annotations

import numpy as np

from anchorsize.mechanics.momentum import STANDARD_GRAVITY
from anchorsize.study import STEEP, Array, Block, Number, Support


def pressed_down(toward: Array, up: Array) -> bool:
    """Whether a block that pushes the fitting ``toward`` (..., 3) is itself pressed down on its base."""
    return bool(np.all(np.sum(toward * up, axis=-1) > STEEP))


def weight_of(block: Block) -> Array:
    """Weight of a block (...) [N]."""
    volume = np.asarray(block.length) * block.width * block.height
    return np.asarray(block.density * volume * STANDARD_GRAVITY)


def weight_borne(block: Block, toward: Array, up: Array) -> Array:
    """Weight that the soil of the bearing face carries beside the thrust (...) [N]: all where the block is pressed down, else none.

    Under a slanted thrust P the base gets W + P cos α; the whole P beside the whole W is on the safe side.
    """
    return np.where(np.sum(toward * up, axis=-1) > STEEP, weight_of(block), 0.0)


def presumptive_words(block: Block) -> str:
    """The published presumptive bearing of the soil named, for orientation; empty where none is named."""
    if not block.presumptive:
        return ""
    listed = ", ".join(f"{value / 1e3:.4g} kPa ({guide})" for guide, value in block.presumptive)
    return f" (for orientation, published presumptive bearing of this soil: {listed}; the allowable is yours)"


def base_allowable(support: Support, up: Array) -> Number | None:
    """What the soil under a block may get [Pa]: base_bearing, else the bearing where the block is pressed down on that same soil."""
    if support.block is None or support.allow is None:
        return None
    own = support.allow.base_bearing
    return support.allow.bearing if own is None and pressed_down(support.toward, up) else own
