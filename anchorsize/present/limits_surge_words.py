"""What of a surge the limits do not count, in words: a valve that stops the flow late, and the column that parts."""

from __future__ import annotations

from collections.abc import Callable

from anchorsize.present.words import joined, quantity
from anchorsize.studies.limits import CaseLimits, Limits
from anchorsize.studies.limits_scan import Span, Stop

LESS = 0.999  # of what the tables have: a limit that is lower than that is told


def surge_lines(found: Limits, stopped: Callable[[Stop, Limits], str]) -> list[str]:
    """Cases that go less far if the area of their valve falls evenly, and those whose column parts within their limits."""
    return [*_by_valve_area(found, stopped), *_parting(found)]


def _by_valve_area(found: Limits, stopped: Callable[[Stop, Limits], str]) -> list[str]:
    told = []
    for case in found.cases.values():
        then = case.by_valve_area
        if then is None:
            continue
        ends = [
            _end(found, what, span, stopped, then)
            for what, own, span in (("flow", case.flow, then.flow), ("pressure", case.pressure, then.pressure))
            if own is not None and span is not None and not case.fixed and _falls_short(own, span)
        ]
        if ends:
            told.append(f"'{case.name}' {joined(ends)}")
    if not told:
        return []
    return [
        "Doubtful limits: if the area of the valve falls evenly as it closes, and not the flow (Michaud), the pressure may rise more, and "
        f"these go less far than the tables have them: {'; '.join(told)}. Say which in the surge: falls_evenly: valve_area, or flow."
    ]


def _falls_short(own: Span, then: Span) -> bool:
    """Whether what holds ends sooner, or begins later."""
    if not own.intervals or not then.intervals:
        return bool(own.intervals)
    ends = then.intervals[-1].high < LESS * own.intervals[-1].high
    return ends or len(then.intervals) != len(own.intervals) or LESS * then.intervals[0].low > own.intervals[0].low


def _end(found: Limits, what: str, span: Span, stopped: Callable[[Stop, Limits], str], then: CaseLimits) -> str:
    """Where the holding ends for one of the two."""
    if then.fixed or not span.intervals:
        return f"at no {what}"
    system, parts = found.study.units, []
    for each in span.intervals:
        low = "" if each.low_by is None else f"from {quantity(each.low, what, system, 4)} "
        by = "" if each.high_by is None else f" ({stopped(each.high_by, found)})"
        parts.append(f"{low}to {quantity(each.high, what, system, 4)}{by}")
    return f"{what} {joined(parts)}"


def _parting(found: Limits) -> list[str]:
    told = [
        f"'{case.name}' above {quantity(case.parts_above, 'flow', found.study.units, 3)}"
        for case in found.cases.values()
        if case.parts_above is not None
    ]
    if not told:
        return []
    return [
        f"After the rise of a surge the pressure may fall as far as it rose, so that the column of liquid parts, at a stopped flow of: {', '.join(told)}. "
        "As it rejoins it can strike harder than the rise judged. No limit counts that: have the surge calculated."
    ]
