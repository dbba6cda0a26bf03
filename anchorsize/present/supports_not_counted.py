"""What the comparison of support options does not count, and which options would stand it: what lies beyond openings, a throttle at the mouth."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TypeVar

from anchorsize.assessment.findings_beyond import WIDER, wider
from anchorsize.assessment.findings_throttled import narrowed
from anchorsize.assessment.findings_unanchored import Loose, loose
from anchorsize.assessment.results import Assessment
from anchorsize.present.words import joined, quantity
from anchorsize.studies.supports import Comparison, Option
from anchorsize.units import figures

More = TypeVar("More", bound=Loose)


def not_counted(compared: Comparison) -> list[str]:
    """Each such thing in a line, with the options that hold without it and what they come to; nothing where there is none."""
    return [*_loose_lines(compared), *_bore_alone_lines(compared), *_narrow_jet_lines(compared)]


def _loose_lines(compared: Comparison) -> list[str]:
    """What the options come to where a line that goes on is a hose or not anchored; of those that hold without it."""
    found = _of_those_that_hold(compared, lambda made: loose(made.study, made.option, made.cases))
    if not found:
        return []
    first = found[0][1]
    return [
        f"NOT COUNTED: if the line beyond {_ends(first)} is a hose or not anchored, it pulls the fitting outward there with up to "
        f"{quantity(first.pull, 'force', compared.study.units)}, in '{first.case}'; {_then(found)}. 'check' says what to write under external."
    ]


def _bore_alone_lines(compared: Comparison) -> list[str]:
    """What they come to where a bellows or a sliding coupling is pushed on more than the bore."""
    found = _of_those_that_hold(
        compared, lambda made: None if (each := wider(made.study, made.option, made.cases)) is None else each[0]
    )
    if not found:
        return []
    first = found[0][1]
    return [
        f"NOT COUNTED: that pressure pushes on more than the bore of {_ends(first)} where a bellows or a sliding coupling lies beyond; at "
        f"{figures(WIDER, 2)} times the bore (common practice, no source) with up to {quantity(first.pull, 'force', compared.study.units)} "
        f"more, in '{first.case}'; {_then(found)}. Write its effective_area under beyond."
    ]


def _narrow_jet_lines(compared: Comparison) -> list[str]:
    """What they come to where the throttle of a case stands at the mouth of a free jet."""
    found = _of_those_that_hold(compared, lambda made: narrowed(made.study, made.option, made.cases))
    if not found:
        return []
    first, system = found[0][1], compared.study.units
    lead = f"NOT COUNTED: if the throttle in '{first.case}' stands at or near the mouth of {_ends(first)}, a narrow jet thrusts there"
    if first.full is None:
        return [f"{lead} many times as much; how much is not worked out. 'check' says what to write."]
    return [
        f"{lead} with up to {quantity(first.pull, 'force', system)} in place of {quantity(first.full, 'force', system)}; {_then(found)}. "
        "'check' says what to write."
    ]


def _of_those_that_hold(compared: Comparison, asked: Callable[[Assessment], More | None]) -> list[tuple[Option, More]]:
    return [
        (option, each)
        for option in compared.options
        if option.holds and option.assessment is not None and (each := asked(option.assessment)) is not None
    ]


def _then(found: Sequence[tuple[Option, Loose]]) -> str:
    """Which options fail with what is not counted, and which hold."""
    fall = [f"'{option.name}'" for option, each in found if not each.holds]
    stand = [f"'{option.name}'" for option, each in found if each.holds]
    holds = f"{joined(stand)} hold{'s' if len(stand) == 1 else ''}" if stand else ""
    fails = f"{joined(fall)} FAIL{'S' if len(fall) == 1 else ''}" if fall else ""
    return f"with that {', '.join(filter(None, [fails, holds]))}"


def _ends(more: Loose) -> str:
    return joined([f"'{end}'" for end in more.ends])
