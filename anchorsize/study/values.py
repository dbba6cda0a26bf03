"""What every part of a study is made of: numbers, arrays, and where a value comes from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

Array: TypeAlias = NDArray[np.float64]
Number: TypeAlias = float | Array
STANDARD_AMBIENT = 101_325.0
"""Pressure of the standard atmosphere, absolute [Pa]: exact by definition (ISO 2533)."""


@dataclass(frozen=True)
class Provenance:
    """Where a value of the study comes from when it is not the user's own.

    ``what`` names the value, ``table`` and ``row`` the table row, ``source`` the designation of the standard or book and
    ``status`` how far the row is confirmed (confirmed, seen-once, computed, from-memory).
    """

    what: str
    table: str
    row: str
    source: str
    status: str
