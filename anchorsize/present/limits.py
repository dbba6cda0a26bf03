"""Limits of flow and pressure as text, machine output and comma-separated values."""

from __future__ import annotations

import csv
import io
import textwrap
from collections.abc import Iterable, Sequence
from typing import Any

import numpy as np

from anchorsize.assessment.statements import DEFERRAL, assumptions
from anchorsize.present.curve import PRESSURE_WORDS
from anchorsize.present.machine import FORMAT
from anchorsize.present.words import column, figure, number, paragraph, quantity, table
from anchorsize.studies.limits import CaseLimits, CheckLimits, Limits
from anchorsize.studies.limits_scan import Interval, Span, Stop
from anchorsize.study import Array
from anchorsize.units import System

SHOWN_LINES = 9  # of the boundary in the text; all are in the machine output
DIGITS = 5  # of a limit in the text


def limits_text(found: Limits, width: int) -> str:
    """The report: what holds as the file has it, the greatest flow and pressure, each check, the boundary, what it rests on."""
    parts = [_heading(found, width), _verdict(found, width), _fixed(found, width)]
    parts += [_greatest(found, "flow", width), _greatest(found, "pressure", width), _notes(found, width)]
    for case in found.cases.values():
        parts += [_each(found, case, width), _boundary(found, case, width)]
    parts += [_not_checked(found, width), _closing(found, width)]
    return "\n\n".join(part for part in parts if part) + "\n"


def _heading(found: Limits, width: int) -> str:
    study = found.study
    title = textwrap.fill(study.title or "untitled", width)
    from_file = f"{study.path} | " if study.path else ""
    rule = "=" * min(width, max(map(len, title.splitlines())))
    return (
        f"{title}\n{rule}\n{textwrap.fill(f'{from_file}limits of flow and pressure | option: {found.option}', width)}"
    )


def _verdict(found: Limits, width: int) -> str:
    failing = [
        f"'{case.name}' ({stop_words(case.governing, found)}"
        + (f", utilization {figure(case.utilization, 3)})" if np.isfinite(case.utilization) else ")")
        for case in found.cases.values()
        if not case.holds
    ]
    return textwrap.fill(
        {
            "holds": "HOLDS: at its own flow and pressure every case asked about holds.",
            "fails": f"DOES NOT HOLD: at their own flow and pressure these cases fail: {'; '.join(failing)}.",
            "incomplete": "NOT COMPLETE: at its own flow and pressure nothing failed, but a check the job needs could not be made "
            "(below); the limits do not count it.",
        }[found.verdict],
        width,
    )


def stop_words(stop: Stop | None, found: Limits) -> str:
    """What stops, in a few words; where it is only if checks are made in several places."""
    if stop is None:
        return "nothing"
    if stop.check is None:
        return "cannot be judged: " + textwrap.shorten(stop.refusal or "", 90, placeholder=" …")
    return check_words(stop.check, stop.where or "", found)


def check_words(check: str, where: str, found: Limits) -> str:
    """A check by name, and where it is made if there are several places."""
    places = {each.where for case in found.cases.values() for each in case.checks}
    return f"{check} of '{where}'" if len(places) > 1 else check


def _fixed(found: Limits, width: int) -> str:
    """Checks that fail whatever flow and pressure are, with the cases in which they do."""
    names: dict[tuple[str, str], list[str]] = {}
    for case in found.cases.values():
        for each in case.fixed:
            names.setdefault((each.check, each.where), []).append(case.name)
    if not names:
        return ""
    lines = ["No flow or pressure mends these"]
    for (check, where), cases in names.items():
        which = "every case" if len(cases) == len(found.cases) else ", ".join(f"'{name}'" for name in cases)
        lines.append(paragraph(f"{check} of '{where}' fails at every flow and pressure, in {which}", width))
    lines.append(paragraph("Until they are mended nothing holds; what follows counts the other checks.", width, "! "))
    return "\n".join(lines)


def _greatest(found: Limits, what: str, width: int) -> str:
    """One table over the cases: what holds from where to where, and what stops it."""
    rows = rows_of_spans(found, what, with_unit=False)
    if not rows:
        return ""
    unit = column([0.0], what, found.study.units)[1]
    held = PRESSURE_WORDS[found.rule] if what == "flow" else "flows held, given pressures in proportion"
    head = textwrap.fill(f"Greatest {what} [{unit}]; {held}", width)
    if what == "pressure":
        places = dict.fromkeys(f"'{case.at}'" for case in found.cases.values() if case.pressure is not None)
        head += "\n" + textwrap.fill(f"Gauge pressure at {' or '.join(places)}, before any surge", width)
    made = f"{head}\n{_table(rows, ['case', 'own', 'holds from', 'to', 'stopped by'], (0, 4), width)}"
    return made if what == "pressure" else f"{made}{_velocities(found, width)}"


def rows_of_spans(found: Limits, what: str, with_unit: bool = True) -> list[list[str]]:
    """Case, its own value, from, to and what stops it: one row for each interval, the case named in its first."""
    system, rows = found.study.units, []
    for case in found.cases.values():
        span: Span | None = getattr(case, what)
        if span is None:
            continue
        own = case.own_flow if what == "flow" else case.own_pressure or 0.0
        shown = _quantity if with_unit else _figure
        rows += [
            [*(["", ""] if i else [case.name, shown(own, what, system)]), *cells]
            for i, cells in enumerate(_intervals(span, what, found, with_unit))
        ]
    return rows


def _velocities(found: Limits, width: int) -> str:
    """How fast the fastest stream would run at the greatest flow: what no check of a bolt asks."""
    fast = [
        f"'{case.name}' {quantity(velocity, 'velocity', found.study.units, 3)}"
        for case in found.cases.values()
        if (velocity := _velocity(case)) is not None
    ]
    return "\n" + paragraph(f"Fastest stream at the limit: {', '.join(fast)}", width) if fast else ""


def _velocity(case: CaseLimits) -> float | None:
    if case.flow is None or case.flow.greatest is None:
        return None
    return case.own_velocity * case.flow.greatest / case.own_flow


def _intervals(span: Span, what: str, found: Limits, with_unit: bool) -> list[list[str]]:
    """From, to and what stops it, one row for each interval."""
    if not span.intervals:
        return [["nowhere", "", f"looked at up to {_quantity(span.searched_to, what, found.study.units)}"]]
    shown = _quantity if with_unit else _figure
    return [
        [shown(each.low, what, found.study.units), *_upper(each, what, found, with_unit)] for each in span.intervals
    ]


def _upper(each: Interval, what: str, found: Limits, with_unit: bool) -> list[str]:
    below = "" if each.low_by is None else stop_words(each.low_by, found)
    if each.high_by is None:
        words = f"none found up to {_quantity(each.high, what, found.study.units)}"
        return ["no limit", f"{words}; below: {below}" if below else words]
    words = stop_words(each.high_by, found)
    if below:
        words += ", at both ends" if below == words else f"; below: {below}"
    return [(_quantity if with_unit else _figure)(each.high, what, found.study.units), words]


def _figure(value: float, kind: str, system: System) -> str:
    return quantity(value, kind, system, DIGITS).rsplit(" ", 1)[0]


def _quantity(value: float, kind: str, system: System) -> str:
    return quantity(value, kind, system, DIGITS)


def _table(rows: Sequence[Sequence[str]], headers: Sequence[str], wide: tuple[int, ...], width: int) -> str:
    """A table whose ``wide`` columns are broken into lines so that it keeps within ``width``."""
    own = [max(len(str(row[i])) for row in [headers, *rows]) for i in range(len(headers))]
    room = width - 2 - 2 * (len(headers) - 1) - sum(length for i, length in enumerate(own) if i not in wide)
    share = dict.fromkeys(wide, 0)
    left, wanted = room, sorted(wide, key=lambda i: own[i])
    for place, i in enumerate(wanted):
        share[i] = max(6, min(own[i], left // (len(wanted) - place)))
        left -= share[i]
    head, *broken = [
        [textwrap.fill(cell, share[i]) if i in share else cell for i, cell in enumerate(row)]
        for row in [headers, *rows]
    ]
    return table(broken, head, left=1)


def _notes(found: Limits, width: int) -> str:
    lines = [paragraph(f"'{case.name}': {'; '.join(case.notes)}", width) for case in found.cases.values() if case.notes]
    return "\n".join(["What was left out, and why", *lines]) if lines else ""


def _each(found: Limits, case: CaseLimits, width: int) -> str:
    """Every check of one case by itself."""
    if not case.checks or (case.flow is None and case.pressure is None):
        return ""
    system, rows = found.study.units, []
    for each in case.checks:
        spans = ("flow", each.flow), ("pressure", each.pressure)
        cells = [_span_words(span, what, each, system) for what, span in spans]
        rows.append([check_words(each.check, each.where, found), *cells])
    headers = ["check", *(f"{what} [{column([0.0], what, system)[1]}]" for what in ("flow", "pressure"))]
    return f"'{case.name}': where each check holds by itself\n{_table(rows, headers, (0, 1, 2), width)}"


def _span_words(span: Span | None, what: str, each: CheckLimits, system: System) -> str:
    if span is None:
        return "-"
    if not each.moves:
        return "any" if each.utilization <= 1.0 else "none"
    if not span.intervals:
        return "none"
    words = []
    for one in span.intervals:
        upper = "no limit" if one.high_by is None else _figure(one.high, what, system)
        words.append(f"{_figure(one.low, what, system)} to {upper}")
    return ", ".join(words)


def _boundary(found: Limits, case: CaseLimits, width: int) -> str:
    """Pressure at some flows and flow at some pressures, every check together."""
    if not case.checks or case.boundary is None:
        return ""
    parts = []
    for at, what, values, spans in (
        ("flow", "pressure", case.boundary.flows, case.boundary.pressure_at[0]),
        ("pressure", "flow", case.boundary.pressures, case.boundary.flow_at[0]),
    ):
        units = [column([0.0], kind, found.study.units)[1] for kind in (at, what)]
        headers = [f"{at} [{units[0]}]", "holds from", "to", "stopped by"]
        rows = [
            [_figure(float(values[i]), at, found.study.units) if j == 0 else "", *cells]
            for i in _some(values, spans)
            for j, cells in enumerate(_intervals(spans[i], what, found, with_unit=False))
        ]
        head = textwrap.fill(f"'{case.name}': {what} [{units[1]}] at each {at}, every check together", width)
        parts.append(f"{head}\n{_table(rows, headers, (3,), width)}")
    return "\n\n".join(parts)


def _some(values: Array, spans: Sequence[Span]) -> list[int]:
    """Evenly spread lines, from the first to the last on which something holds."""
    last = max((i for i, span in enumerate(spans) if span.intervals), default=len(values) - 1)
    return sorted({round(place) for place in np.linspace(0, last, min(SHOWN_LINES, last + 1))})


def _not_checked(found: Limits, width: int) -> str:
    if not found.not_checked:
        return ""
    lines = [
        paragraph(
            f"{item.check} of '{item.where}'{' (needed for this job)' if item.needed else ''}: supply {item.supply}",
            width,
        )
        for item in found.not_checked
    ]
    return "\n".join(["Not checked, for want of an input, and not counted:", *lines])


def limits_assumptions(found: Limits) -> tuple[str, ...]:
    """What the limits rest on: how flow and pressure were changed, and all that a check rests on."""
    return (
        "All given flows of a case change in proportion, and all its given gauge pressures; a surge follows the flow it stops. "
        "Nothing else changes. The boundary takes flow and pressure as independent of each other: whether the line can give both "
        "at once is not asked.",
        "A state that cannot be judged, such as one without equilibrium, counts as not holding.",
        *assumptions(found.study, found.option),
    )


def _closing(found: Limits, width: int) -> str:
    lines = [paragraph(line, width) for line in limits_assumptions(found)]
    return "\n".join(["Assumptions", *lines, "", textwrap.fill(DEFERRAL, width)])


def limits_dict(found: Limits) -> dict[str, Any]:
    """The machine output of ``limits --json``."""
    return {
        "format": FORMAT,
        "title": found.study.title,
        "option": found.option,
        "verdict": found.verdict,
        "pressure_rule": found.rule,
        "cases": {name: _case_dict(case) for name, case in found.cases.items()},
        "not_checked": [
            {"check": item.check, "where": item.where, "supply": item.supply, "needed": item.needed}
            for item in found.not_checked
        ],
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
        "velocity_m_s": None if case.fixed else _velocity(case),
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
    }


def _stopped_by(case: CaseLimits, span: Span | None) -> dict[str, Any] | None:
    if case.fixed:
        return {"check": case.fixed[0].check, "where": case.fixed[0].where, "refused": None}
    return _stop_dict(span.intervals[-1].high_by) if span is not None and span.intervals else None


def _stop_dict(stop: Stop | None) -> dict[str, Any] | None:
    return None if stop is None else {"check": stop.check, "where": stop.where, "refused": stop.refusal}


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
