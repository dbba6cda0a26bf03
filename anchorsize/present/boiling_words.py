"""At which pressures and flows within the limits the liquid boils, in words."""

from __future__ import annotations

import math

from anchorsize.present.words import joined, quantity
from anchorsize.studies.limits import CaseLimits, Limits
from anchorsize.studies.limits_boiling import BoilsFrom
from anchorsize.studies.limits_scan import Span


def boiling_lines(found: Limits, what: str) -> list[str]:
    """Cases whose pressure may fall, or whose flow may rise, so far within their limits that the liquid boils."""
    system, told = found.study.units, []
    for case in found.cases.values():
        if what == "flow" and (end := _within(case, case.boils_up_to, case.flow, low=True)) is not None:
            up_to = f"up to {quantity(end.value, 'flow', system, 4)}" if math.isfinite(end.value) else "at every flow"
            told.append(f"'{case.name}' {up_to} (at {_told(end)})")
        start = case.boils_above if what == "flow" else case.boils_below
        span = case.flow if what == "flow" else case.pressure
        if (start := _within(case, start, span, low=what == "pressure")) is not None:
            where = (
                f"below {quantity(start.value, 'pressure', system, 4)} at '{case.at}'"
                if what == "pressure"
                else f"above {quantity(start.value, 'flow', system, 4)}"
            )
            told.append(f"'{case.name}' {where} (first at {_told(start)})")
    if not told:
        return []
    taken = " The pressure outside is that of the standard atmosphere, since no ambient is given."
    return [
        f"The liquid boils, and what holds there is not to be trusted, for the forces are not: {joined(told)}."
        f"{taken if found.study.ambient is None else ''}"
    ]


def _told(start: BoilsFrom) -> str:
    return "the top of the fitting's centerline" if start.opening is None else f"'{start.opening}'"


def _within(case: CaseLimits, start: BoilsFrom | None, span: Span | None, low: bool) -> BoilsFrom | None:
    """Where a case boils, if some of what holds lies past it: below it where ``low``, else above."""
    if start is None or span is None or not span.intervals or case.fixed:
        return None
    past = span.intervals[0].low < start.value if low else span.intervals[-1].high > start.value
    return start if past else None
