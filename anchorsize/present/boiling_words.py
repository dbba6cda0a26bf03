"""At which pressures and flows within the limits the liquid boils, in words."""

from __future__ import annotations

from anchorsize.present.words import joined, quantity
from anchorsize.studies.limits import CaseLimits, Limits
from anchorsize.studies.limits_boiling import BoilsFrom
from anchorsize.studies.limits_scan import Span


def boiling_lines(found: Limits, what: str) -> list[str]:
    """Cases whose pressure may fall, or whose flow may rise, so far within their limits that the liquid boils."""
    system, told = found.study.units, []
    for case in found.cases.values():
        if (start := _within(case, what)) is not None:
            where = (
                f"below {quantity(start.value, 'pressure', system, 4)} at '{case.at}'"
                if what == "pressure"
                else f"above {quantity(start.value, 'flow', system, 4)}"
            )
            told.append(f"'{case.name}' {where} (first at '{start.opening}')")
    if not told:
        return []
    taken = " The pressure outside is that of the standard atmosphere, since no ambient is given."
    return [
        f"The liquid boils, and what holds there is not to be trusted, for the forces are not: {joined(told)}."
        f"{taken if found.study.ambient is None else ''}"
    ]


def _within(case: CaseLimits, what: str) -> BoilsFrom | None:
    """Where a case begins to boil, if some of what holds lies past it."""
    span: Span | None = case.flow if what == "flow" else case.pressure
    start = case.boils_above if what == "flow" else case.boils_below
    if start is None or span is None or not span.intervals or case.fixed:
        return None
    past = span.intervals[-1].high > start.value if what == "flow" else span.intervals[0].low < start.value
    return start if past else None
