"""Limits of flow and pressure as text."""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Sequence
from typing import TypeAlias

import numpy as np

from anchorsize.assessment import Finding, findings_as_given
from anchorsize.assessment.checks_supports import called
from anchorsize.assessment.statements import DEFERRAL, assumptions
from anchorsize.present.boiling_words import boiling_lines
from anchorsize.present.curve import pressure_words
from anchorsize.present.limits_beside import beside_words, not_counted
from anchorsize.present.verdict import bolts_first, doubts, holds_word
from anchorsize.present.words import column, demand_words, joined, paragraph, quantity, table, used
from anchorsize.studies.curve import losses_can_tell
from anchorsize.studies.limits import CaseLimits, CheckLimits, Limits
from anchorsize.studies.limits_scan import Interval, Span, Stop
from anchorsize.study import Array
from anchorsize.units import System

SHOWN_LINES = 9  # of the boundary in the text; all are in the machine output
DIGITS = 5  # of a limit in the text
END = "end of the search"

Says: TypeAlias = Callable[[Stop, Limits], str]
"""How what stops is told."""


def limits_text(found: Limits, width: int) -> str:
    """The report: what holds as the file has it, the greatest flow and pressure, each check, the boundary, what it rests on."""
    as_given = findings_asked_about(found)
    parts = [_heading(found, width), _verdict(found, as_given, width), _fixed(found, width)]
    parts += [
        _greatest(found, "flow", width),
        _greatest(found, "pressure", width),
        _not_counted(found, as_given, width),
        _notes(found, width),
    ]
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


def _verdict(found: Limits, as_given: Sequence[Finding], width: int) -> str:
    failing = [
        f"'{case.name}' ({stop_words(case.governing, found)}"
        + (f", utilization {used(case.utilization)})" if np.isfinite(case.utilization) else ")")
        for case in found.cases.values()
        if not case.holds
    ]
    said = {
        "holds": f"{holds_word(as_given)}: at its own flow and pressure every case asked about holds.",
        "fails": f"DOES NOT HOLD: at their own flow and pressure these cases fail: {'; '.join(failing)}.",
        "incomplete": "NOT COMPLETE: at its own flow and pressure nothing failed, but what the job needs was not checked.",
    }[found.verdict]
    needed = [f"{item.words} of '{item.where}' (supply {item.supply})" for item in found.not_checked if item.needed]
    if needed:
        said += f" The limits do not count what the job needs and could not be checked: {'; '.join(needed)}."
    return "\n".join(
        textwrap.fill(line, width)
        for line in (said, *bolts_first(as_given), *doubts(as_given), *beside_words(found, stop_words))
    )


def findings_asked_about(found: Limits) -> tuple[Finding, ...]:
    """What stands out in the file as it is, of the whole file and of the cases asked about."""
    return tuple(each for each in findings_as_given(found.study, found.option) if each.case in (None, *found.cases))


def stop_words(stop: Stop | None, found: Limits) -> str:
    """What stops, in a few words; where it is only if checks are made in several places."""
    if stop is None:
        return "nothing"
    if stop.check is None:
        return "cannot be judged: " + textwrap.shorten(stop.refusal or "", 90, placeholder=" …")
    return check_words(stop.check, stop.where or "", found)


def stop_bolt(stop: Stop, found: Limits) -> str:
    """What stops, with the bolt."""
    bolt = None if stop.made is None else stop.made.bolt
    return stop_words(stop, found) + ("" if bolt is None else f", bolt {int(bolt)}")


def stop_figures(stop: Stop, found: Limits) -> str:
    """What stops, with the bolt, the demand there and what is allowed."""
    if stop.made is None:
        return stop_words(stop, found)
    demand, allowable = demand_words(stop.made, found.study.units)
    return f"{stop_bolt(stop, found)}: {demand} of {allowable}"


def check_words(check: str, where: str, found: Limits) -> str:
    """A check by name, and where it is made if there are several places."""
    places = {each.where for case in found.cases.values() for each in case.checks}
    name = called(found.study, found.option, check, where)
    return f"{name} of '{where}'" if len(places) > 1 else name


def _fixed(found: Limits, width: int) -> str:
    """Checks that fail at every flow and pressure looked at, with the cases in which they do."""
    names: dict[tuple[str, str], list[str]] = {}
    for case in found.cases.values():
        for each in case.checks:
            if each in case.fixed or (each.nowhere and (case.flow or case.pressure)):
                names.setdefault((each.check, each.where), []).append(case.name)
    if not names:
        return ""
    lines = ["No flow or pressure mends these"]
    for (check, where), cases in names.items():
        which = "every case" if len(cases) == len(found.cases) else ", ".join(f"'{name}'" for name in cases)
        lines.append(
            paragraph(
                f"{called(found.study, found.option, check, where)} of '{where}' fails at every flow and pressure, in {which}",
                width,
            )
        )
    lines.append(paragraph("Until they are mended nothing holds; below each check stands by itself.", width, "! "))
    return "\n".join(lines)


def _greatest(found: Limits, what: str, width: int) -> str:
    """One table over the cases: what holds from where to where, and what stops it."""
    rows = rows_of_spans(found, what, with_unit=False)
    if not rows:
        return ""
    unit = column([0.0], what, found.study.units)[1]
    held = flow_words(found) if what == "flow" else "flows held, given pressures in proportion"
    head = textwrap.fill(f"Greatest {what} [{unit}]; {held}", width)
    if what == "pressure":
        places = dict.fromkeys(f"'{case.at}'" for case in found.cases.values() if case.pressure is not None)
        head += "\n" + textwrap.fill(f"Gauge pressure at {' or '.join(places)}, before any surge", width)
    made = f"{head}\n{_table(rows, ['case', 'own', 'holds from', 'to', 'stopped by'], (0, 4), width)}"
    made += f"\n{paragraph(_searched(found, what), width)}"
    if what == "flow":
        made += _velocities(found, width)
    warned = [*(gain_lines(found) if what == "flow" else []), *boiling_lines(found, what)]
    return "\n".join([made, *(paragraph(line, width, "! ") for line in warned)])


def flow_words(found: Limits) -> str:
    """What is done with the pressures of the cases whose flow is followed."""
    return pressure_words(found.rule, [found.study.cases[c.name] for c in found.cases.values() if c.flow is not None])


def gain_lines(found: Limits) -> list[str]:
    """Cases whose greatest flow lies beyond the one from which on the fluid would gain head."""
    cases = [case for case in found.cases.values() if case.flow is not None and case.flow.intervals and not case.fixed]
    beyond = {
        case.name: case.gains_above
        for case in cases
        if case.gains_above is not None and case.flow is not None and case.flow.intervals[-1].high > case.gains_above
    }
    if not beyond:
        return []
    told = [
        f"'{name}' {_quantity(flow, 'flow', found.study.units) if flow else '0 (at any flow)'}"
        for name, flow in beyond.items()
    ]
    by_losses = all(losses_can_tell(found.study.cases[name]) for name in beyond)
    ask = (
        'Where the pressures come from losses, ask with --pressure "from losses".'
        if by_losses
        else "Where the pressures rise with the flow, ask with --pressure square."
    )
    return [
        f"Beyond these flows the pressures contradict the flow, for the fluid would leave with more head than it brings in: "
        f"{', '.join(told)}. What holds beyond them says nothing of a real line. {ask}"
    ]


def _searched(found: Limits, what: str) -> str:
    """Where the search ended, case by case where that differs."""
    ends = {
        case.name: _plain(span.searched_to, what, found.study.units)
        for case in found.cases.values()
        if (span := getattr(case, what)) is not None
    }
    if len(set(ends.values())) == 1:
        return f"End of the search: {next(iter(ends.values()))}"
    return f"End of the search: {', '.join(f'{name!r} {end}' for name, end in ends.items())}"


def rows_of_spans(found: Limits, what: str, with_unit: bool = True) -> list[list[str]]:
    """Case, its own value, from, to and what stops it: one row for each interval, the case named in its first."""
    system, rows = found.study.units, []
    for case in found.cases.values():
        span: Span | None = getattr(case, what)
        if span is None:
            continue
        own = case.own_flow if what == "flow" else case.own_pressure or 0.0
        shown = _plain(own, what, system)
        rows += [
            [*(["", ""] if i else [case.name, shown if with_unit else shown.rsplit(" ", 1)[0]]), *cells]
            for i, cells in enumerate(_under_fixed(case, _intervals(span, what, found, with_unit), found))
        ]
    return rows


def _under_fixed(case: CaseLimits, intervals: list[list[str]], found: Limits) -> list[list[str]]:
    """Intervals of a case as they stand; none, however the other checks do, where one fails at every flow and pressure."""
    if not case.fixed:
        return intervals
    fixed = joined([check_words(each.check, each.where, found) for each in case.fixed])
    return [["nowhere", "", f"{fixed}, whatever flow and pressure"]]


def _velocities(found: Limits, width: int) -> str:
    """How fast the fastest stream would run at the greatest flow: what no check of a bolt asks."""
    fast = [
        f"'{case.name}' {quantity(fastest, 'velocity', found.study.units, 3)}"
        for case in found.cases.values()
        if (fastest := velocity(case)) is not None
    ]
    return "\n" + paragraph(f"Fastest stream at the limit: {', '.join(fast)}", width) if fast else ""


def velocity(case: CaseLimits) -> float | None:
    """Of the fastest stream at the greatest flow [m/s]; None where no greatest flow was found."""
    if case.flow is None or case.flow.greatest is None:
        return None
    return case.own_velocity * case.flow.greatest / case.own_flow


def _intervals(span: Span, what: str, found: Limits, with_unit: bool, says: Says = stop_figures) -> list[list[str]]:
    """From, to and what stops it, one row for each interval."""
    if not span.intervals:
        return [["nowhere", "", f"looked at up to {_plain(span.searched_to, what, found.study.units)}"]]
    shown = _quantity if with_unit else _figure
    return [
        [shown(each.low, what, found.study.units), *_upper(each, what, found, with_unit, says)]
        for each in span.intervals
    ]


def _upper(each: Interval, what: str, found: Limits, with_unit: bool, says: Says) -> list[str]:
    below = "" if each.low_by is None else says(each.low_by, found)
    if each.high_by is None:
        end = _plain(each.high, what, found.study.units)
        words = f"{END}; below: {below}" if below else END
        return [f"over {end if with_unit else end.rsplit(' ', 1)[0]}", words]
    words = says(each.high_by, found)
    if below:
        words += ", at both ends" if below == words else f"; below: {below}"
    return [(_quantity if with_unit else _figure)(each.high, what, found.study.units), words]


def _plain(value: float, kind: str, system: System) -> str:
    """A value as it was given, with its unit and without zeros that say nothing."""
    number, unit = _quantity(value, kind, system).rsplit(" ", 1)
    return f"{number.rstrip('0').rstrip('.') if '.' in number else number} {unit}"


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


def _not_counted(found: Limits, as_given: Sequence[Finding], width: int) -> str:
    lines = [paragraph(line, width) for line in not_counted(found, as_given)]
    return (
        "\n".join(["Not counted in these limits (the figures are those of the file as it is)", *lines]) if lines else ""
    )


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
    head = textwrap.fill(f"'{case.name}': where each check holds by itself", width)
    return f"{head}\n{_table(rows, headers, (0, 1, 2), width)}"


def _span_words(span: Span | None, what: str, each: CheckLimits, system: System) -> str:
    if span is None:
        return "-"
    if not each.moves:
        return "any" if each.utilization <= 1.0 else "none"
    if not span.intervals:
        return "none"
    words = []
    for one in span.intervals:
        upper = _figure(one.high, what, system)
        if one.high_by is None:
            upper = f"over {_plain(one.high, what, system).rsplit(' ', 1)[0]} ({END})"
        words.append(f"{_figure(one.low, what, system)} to {upper}")
    return ", ".join(words)


def _boundary(found: Limits, case: CaseLimits, width: int) -> str:
    """Pressure at some flows and flow at some pressures, every check together."""
    if not case.checks or case.boundary is None or case.fixed:
        return ""
    parts = []
    for at, what, values, spans in (
        ("flow", "pressure", case.boundary.flows, case.boundary.pressure_at[0]),
        ("pressure", "flow", case.boundary.pressures, case.boundary.flow_at[0]),
    ):
        units = [column([0.0], kind, found.study.units)[1] for kind in (at, what)]
        headers = [f"{at} [{units[0]}]", "holds from", "to", "stopped by"]
        some = _some(values, spans)
        for says in (stop_figures, stop_bolt):  # the figures only where each line then remains one
            rows = [
                [_figure(float(values[i]), at, found.study.units) if j == 0 else "", *cells]
                for i in some
                for j, cells in enumerate(_intervals(spans[i], what, found, False, says))
            ]
            if len(_table(rows, headers, (3,), width).splitlines()) == len(rows) + 2:
                break
        left_out = (
            "" if len(some) == len(spans) else f" ({len(some)} of {len(spans)} points; --json and --csv give all)"
        )
        head = textwrap.fill(f"'{case.name}': {what} [{units[1]}] at each {at}, every check together{left_out}", width)
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
            f"{item.words} of '{item.where}'{' (needed for this job)' if item.needed else ''}: supply {item.supply}",
            width,
        )
        for item in found.not_checked
    ]
    return "\n".join(["Not checked, for want of an input, and not counted:", *lines])


def limits_assumptions(found: Limits) -> tuple[str, ...]:
    """What the limits rest on: how flow and pressure were changed, and all that a check rests on."""
    return (
        "All given flows of a case change in proportion, and all its given gauge pressures; a surge follows the flow it stops. "
        "Nothing else changes, loads from outside neither. The boundary takes flow and pressure as independent of each other: whether the line can give both "
        "at once is not asked.",
        "A state that cannot be judged, such as one without equilibrium, counts as not holding.",
        *assumptions(found.study, found.option),
    )


def _closing(found: Limits, width: int) -> str:
    lines = [paragraph(line, width) for line in limits_assumptions(found)]
    return "\n".join(["Assumptions", *lines, "", textwrap.fill(DEFERRAL, width)])
