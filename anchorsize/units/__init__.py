"""Quantities with units: text to SI, SI to text. Units are met here, at the edge, and nowhere else."""

from __future__ import annotations

from anchorsize.units.kinds import KINDS, Kind, System
from anchorsize.units.reading import (
    TINY,
    UnitError,
    offered,
    parse_quantity,
    si_factor,
    split_quantity,
    to_si,
    unit_factor,
)
from anchorsize.units.showing import convert, figures, figures_for, over_one, show

__all__ = [
    "KINDS",
    "TINY",
    "Kind",
    "System",
    "UnitError",
    "convert",
    "figures",
    "figures_for",
    "offered",
    "over_one",
    "parse_quantity",
    "show",
    "si_factor",
    "split_quantity",
    "to_si",
    "unit_factor",
]
