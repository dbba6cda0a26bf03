"""Limits of flow and pressure as machine output and as comma-separated values."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable
from typing import Any

from anchorsize.assessment.findings_unanchored import pulls_given
from anchorsize.present.limits import findings_asked_about, limits_assumptions, velocity
from anchorsize.present.machine import FORMAT, findings_list, not_checked_list
from anchorsize.present.words import number
from anchorsize.studies.limits import CaseLimits, Limits
from anchorsize.studies.limits_boiling import BoilsFrom
from anchorsize.studies.limits_scan import Span, Stop


def limits_dict(found: Limits) -> dict[str, Any]:
    """The machine output of ``limits --json``."""
    return {
        "format": FORMAT,
        "title": found.study.title,
        "option": found.option,
        "verdict": found.verdict,
        "pressure_rule": found.rule,
        "cases": {
            name: {**_case_dict(case), "pulls_held_N": pulls_given(found.study, name)}
            for name, case in found.cases.items()
        },
        "not_checked": not_checked_list(found.not_checked),
        "findings_as_given": findings_list(findings_asked_about(found)),
        "assumptions": list(limits_assumptions(found)),
    }


def _case_dict(case: CaseLimits) -> dict[str, Any]:
    plane = case.boundary
    return {
        "holds": case.holds,
        "governing": _stop_dict(case.governing),
        "utilization": number(case.utilization),
        "at": case.at,
        "own_flow_m3_s": number(case.own_flow),
        "own_pressure_Pa": None if case.own_pressure is None else number(case.own_pressure),
        "fails_whatever": [{"check": each.check, "where": each.where} for each in case.fixed],
        "flow_m3_s": None if case.fixed or case.flow is None else case.flow.greatest,
        "flow_stopped_by": _stopped_by(case, case.flow),
        "gains_head_above_m3_s": case.gains_above,
        "velocity_m_s": None if case.fixed else velocity(case),
        "pressure_Pa": None if case.fixed or case.pressure is None else case.pressure.greatest,
        "pressure_stopped_by": _stopped_by(case, case.pressure),
        "flow": _span_dict(case.flow, "m3_s"),
        "pressure": _span_dict(case.pressure, "Pa"),
        "checks": [
            {
                "check": each.check,
                "where": each.where,
                "utilization": number(each.utilization),
                "changes": each.moves,
                "flow": _span_dict(each.flow, "m3_s"),
                "pressure": _span_dict(each.pressure, "Pa"),
            }
            for each in case.checks
        ],
        "pressure_at_flow": None
        if plane is None
        else [
            {"flow_m3_s": float(at), **(_span_dict(span, "Pa") or {})}
            for at, span in zip(plane.flows, plane.pressure_at[0], strict=True)
        ],
        "flow_at_pressure": None
        if plane is None
        else [
            {"pressure_Pa": float(at), **(_span_dict(span, "m3_s") or {})}
            for at, span in zip(plane.pressures, plane.flow_at[0], strict=True)
        ],
        "notes": list(case.notes),
        "let_go": list(case.let_go),
        "boils_below": _boils_dict(case.boils_below, "pressure_Pa"),
        "boils_above": _boils_dict(case.boils_above, "flow_m3_s"),
        "boils_up_to": _boils_dict(case.boils_up_to, "flow_m3_s"),
        "column_parts_above_m3_s": case.parts_above,
        "by_valve_area": None
        if case.by_valve_area is None
        else {
            "flow": _span_dict(case.by_valve_area.flow, "m3_s"),
            "pressure": _span_dict(case.by_valve_area.pressure, "Pa"),
        },
    }


def _boils_dict(start: BoilsFrom | None, key: str) -> dict[str, Any] | None:
    """Null as the value means at every flow, as the opening the top of the centerline."""
    return None if start is None else {key: number(start.value), "opening": start.opening}


def _stopped_by(case: CaseLimits, span: Span | None) -> dict[str, Any] | None:
    if case.fixed:
        return _stop_dict(Stop(case.fixed[0].check, case.fixed[0].where))
    return _stop_dict(span.intervals[-1].high_by) if span is not None and span.intervals else None


def _stop_dict(stop: Stop | None) -> dict[str, Any] | None:
    """What stops, with the demand there and what is allowed in ``unit`` (SI); null where no single check stops."""
    if stop is None:
        return None
    made = stop.made
    return {
        "check": stop.check,
        "where": stop.where,
        "refused": stop.refusal,
        "bolt": None if made is None or made.bolt is None else int(made.bolt),
        "demand": None if made is None else number(made.demand),
        "allowable": None if made is None else number(made.allowable),
        "unit": None if made is None else made.unit,
    }


def _span_dict(span: Span | None, unit: str) -> dict[str, Any] | None:
    """The intervals of a span; the end ``to`` is null where no limit was found up to the end of the search."""
    if span is None:
        return None
    return {
        "status": "holds nowhere" if not span.intervals else "no limit found" if span.unlimited else "limit",
        f"searched_to_{unit}": span.searched_to,
        "intervals": [
            {
                f"from_{unit}": each.low,
                f"to_{unit}": None if each.high_by is None else each.high,
                "from_by": _stop_dict(each.low_by),
                "to_by": _stop_dict(each.high_by),
            }
            for each in span.intervals
        ],
    }


CSV_KEYS = ("case", "check", "where", "sought", "end", "flow_m3_s", "pressure_Pa", "stopped_by", "stopped_at")


def limits_csv(found: Limits) -> str:
    """The boundary as points in SI: of every check together (``check`` is "every check"), then of each check by itself."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(CSV_KEYS)
    for case in found.cases.values():
        names = [("every check", ""), *((each.check, each.where) for each in case.checks)]
        for place, (check, where) in enumerate(names):
            for sought, end, flow, pressure, stop in _points(case, place):
                by = (stop.refusal, "") if stop.check is None else (stop.check, stop.where)
                writer.writerow([case.name, check, where, sought, end, repr(flow), repr(pressure), *by])
    return text.getvalue()


def _points(case: CaseLimits, place: int) -> Iterable[tuple[str, str, float, float, Stop]]:
    """What was sought, which end of an interval, flow, pressure and what stops: each point of one boundary."""
    if case.boundary is None:
        return
    for at, span in zip(case.boundary.flows, case.boundary.pressure_at[place], strict=True):
        for end, value, stop in _ends(span):
            yield "pressure", end, float(at), value, stop
    for at, span in zip(case.boundary.pressures, case.boundary.flow_at[place], strict=True):
        for end, value, stop in _ends(span):
            yield "flow", end, value, float(at), stop


def _ends(span: Span) -> Iterable[tuple[str, float, Stop]]:
    for each in span.intervals:
        if each.low_by is not None:
            yield "least", each.low, each.low_by
        if each.high_by is not None:
            yield "greatest", each.high, each.high_by
