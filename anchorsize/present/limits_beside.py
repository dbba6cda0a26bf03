"""What the limits do not count and is told beside them: late valves, a parting column, pulls held, a bolt lost, supports let go."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from anchorsize.assessment import Finding, findings_as_given
from anchorsize.assessment.findings_beyond import ON_BORE_ALONE
from anchorsize.assessment.findings_states import BEYOND_A_VALVE, FAILS_BEYOND_A_VALVE
from anchorsize.assessment.findings_support_data import HEAT, SHORTENED
from anchorsize.assessment.findings_surge import NO_SURGE
from anchorsize.assessment.findings_surge_partly import SURGE_PARTLY
from anchorsize.assessment.findings_unanchored import CLOSED_END_LOOSE, LINE_LOOSE
from anchorsize.present.pulls_held import pulls_held_words
from anchorsize.present.verdict import with_case
from anchorsize.present.words import joined, quantity
from anchorsize.studies.limits import CaseLimits, Limits, of_cases
from anchorsize.studies.limits_scan import Span, Stop

LESS = 0.999  # of what the tables have: a limit that is lower than that is told

NOT_IN_A_LIMIT = (
    NO_SURGE,
    SURGE_PARTLY,
    ON_BORE_ALONE,
    CLOSED_END_LOOSE,
    LINE_LOOSE,
    BEYOND_A_VALVE,
    FAILS_BEYOND_A_VALVE,
    HEAT,
    SHORTENED,
)  # kinds of finding


def not_counted(found: Limits, as_given: Sequence[Finding]) -> list[str]:
    """What the file ``as_given`` does not count, with what comes of it: no limit does either. Of the cases asked about alone."""
    whole = len(found.cases) == len(found.study.cases)
    asked = as_given if whole else findings_as_given(of_cases(found.study, list(found.cases)), found.option)
    return [with_case(each) for each in asked if each.kind in NOT_IN_A_LIMIT]


def beside_words(found: Limits, stopped: Callable[[Stop, Limits], str]) -> list[str]:
    """What belongs beside the limits, each a sentence or two; ``stopped`` says what stops."""
    changed = [case.name for case in found.cases.values() if case.flow is not None or case.pressure is not None]
    return [
        *_by_valve_area(found, stopped),
        *_parting(found),
        *pulls_held_words(found.study, changed, "the limits"),
        *_bolts_there(found),
        *_let_go(found),
    ]


def _bolts_there(found: Limits) -> list[str]:
    """That the limits are those of the bolts that the file has there; nothing where no joint is judged."""
    joints = [joint for joint in found.study.joints.values() if np.any(joint.bolts.present)]
    if not joints:
        return []
    gone = any(joint.bolts.missing for joint in joints)
    there = (
        "without the bolts that are missing or taken as lost"
        if gone
        else "with every bolt there and tightened as given"
    )
    if any(joint.loose for joint in joints):
        there += ", loose ones carrying nothing"
    return [
        f"The limits are those of the joint {there}: with one{' more' if gone else ''} lost they are others, mostly lower "
        "(limits --without its number)."
    ]


def _let_go(found: Limits) -> list[str]:
    """The supports that carry nothing from some flow or pressure within the limits on."""
    return [
        f"Within the limits of '{case.name}' {each}: what hangs loose there may swing or knock."
        for case in found.cases.values()
        for each in case.let_go
    ]


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
    """Whether anything that holds does so no more; what holds elsewhere in its place is no less far."""
    return not all(
        any(LESS * there.low <= each.low and there.high >= LESS * each.high for there in then.intervals)
        for each in own.intervals
    )


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
