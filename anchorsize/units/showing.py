"""SI to text and to the fixed units of tables."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from anchorsize.units.kinds import KINDS, System
from anchorsize.units.names import CELSIUS_ZERO, FAHRENHEIT_ZERO
from anchorsize.units.reading import si_factor

SIXTEENTHS = 16.0  # the drilling of inch flanges is in these or coarser parts


def convert(
    value_si: float | NDArray[np.float64], kind: str, system: System
) -> tuple[float | NDArray[np.float64], str]:
    """Convert an SI value or array to the kind's fixed unit for tables; return it with the unit's label."""
    unit = getattr(KINDS[kind], system)[0][1]
    return _in_unit(value_si, unit, kind), ("" if unit == "1" else unit)


def _in_unit(value: float | NDArray[np.float64], unit: str, kind: str) -> float | NDArray[np.float64]:
    if unit == "1":
        return value
    if kind == "temperature":
        zero = {"°C": CELSIUS_ZERO, "°F": FAHRENHEIT_ZERO}[unit]
        return (value - zero) / si_factor(unit, "temperature_change") + 0.0
    return value / si_factor(unit, kind)


def show(value_si: float, kind: str, system: System) -> str:
    """Return a value with its unit for reading: :func:`figures_for` it, no exponent, ``'-'`` for NaN."""
    if math.isnan(value_si):
        return "-"
    steps = getattr(KINDS[kind], system)
    unit = next(name for start, name in reversed(steps) if abs(value_si) >= start)
    converted = float(_in_unit(value_si, unit, kind))
    number = figures(converted, figures_for(converted, unit))
    return number if unit == "1" else f"{number}{'' if unit == '°' else ' '}{unit}"


def figures_for(number: float, unit: str, usual: int = 4) -> int:
    """Significant figures to show: ``usual``, more for a length in whole sixteenths of an inch, which is shown as it is drilled."""
    sixteenths = number * SIXTEENTHS
    if unit != "in" or not math.isfinite(number) or abs(sixteenths) < 1.0:
        return usual
    whole = round(sixteenths)
    if abs(sixteenths - whole) > 1e-9 * abs(sixteenths):
        return usual
    return max(usual, len(f"{whole / SIXTEENTHS:.4f}".rstrip("0").replace(".", "").lstrip("-0")))


def over_one(utilization: float) -> str:
    """A utilization over 1 to three figures, or to as many more as show that it is over 1; an infinite one is more than any strength bears."""
    if math.isinf(utilization):
        return "beyond any"
    shown = (f"{utilization:.{digits}g}" for digits in range(3, 10))
    return next((text for text in shown if float(text) > 1.0), "just over 1")


def figures(number: float, significant: int = 4) -> str:
    """Round to ``significant`` figures, whole numbers kept whole, and drop trailing zeros."""
    if number == 0 or not math.isfinite(number):
        return "0" if number == 0 else str(number)
    decimals = significant - 1 - math.floor(math.log10(abs(number)))
    text = f"{number:.{max(decimals, 0)}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
