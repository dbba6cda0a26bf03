"""What supports are made of, as far as the file says."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from anchorsize.study import Number, Support

STEEL_DENSITY = 7850.0
"""[kg/m³], EN 1991-1-1 Table A.4 (from memory); for the mass of rods and posts only."""


@dataclass(frozen=True)
class Materials:
    """What the supports of an option are made of, as far as the file says: rod length [m], steel [kg], concrete [m³]."""

    rod_length: float
    steel_mass: float
    concrete_volume: float


def materials(supports: tuple[Support, ...]) -> Materials:
    """What supports are made of, as far as rod, section or block and their lengths are given."""
    rods = [float(each.length) for each in supports if each.rod_area is not None and each.length is not None]
    steel = [
        float(np.asarray(area) * each.length) * STEEL_DENSITY
        for each in supports
        for area in (_steel_area(each),)
        if area is not None and each.length is not None
    ]
    blocks = [each.block for each in supports if each.block is not None]
    concrete = [float(np.asarray(block.length) * block.width * block.height) for block in blocks]
    return Materials(sum(rods), sum(steel), sum(concrete))


def _steel_area(support: Support) -> Number | None:
    return support.rod_area if support.section is None else support.section.area
