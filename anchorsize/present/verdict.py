"""The verdict in a sentence: what fails and where, or what is wanting and whom to ask for it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from anchorsize.assessment.findings import NOT_ALL_THERE, WEIGHT_LEFT_OUT
from anchorsize.assessment.findings_loose import IF_REPAIRED
from anchorsize.assessment.findings_salt import IN_SALT_WATER
from anchorsize.assessment.findings_target import SQUEEZED
from anchorsize.assessment.findings_tightening import GASKET_AS_NEW, GASKET_NOT_CHECKED
from anchorsize.assessment.results import Assessment, Finding, NotChecked
from anchorsize.present.words import failing_words, joined

BEFORE_ALL = (*NOT_ALL_THERE, GASKET_AS_NEW, SQUEEZED, IF_REPAIRED, GASKET_NOT_CHECKED, WEIGHT_LEFT_OUT, IN_SALT_WATER)
FIRST_SHOWN = 2  # of what is wanting, in the headline
ASKED_OF_OTHERS = ("allow / bolt_tension", "allow / bolt_shear")


def headline(assessment: Assessment, where: str = "below") -> str:
    """The verdict with its cause; what was not made for want of input is counted behind it, and ``where`` it is listed."""
    count = sum(len(case.checks) for case in assessment.cases.values())
    failing = sum(not check.holds for case in assessment.cases.values() for check in case.checks)
    cases = len(assessment.cases)
    first = {
        "holds": f"{holds_word(assessment.warnings)}: all {count} checks made hold, in {cases} operating case{'s' if cases > 1 else ''}.",
        "fails": f"DOES NOT HOLD: {failing} of {count} checks fail: {'; '.join(failing_words(assessment))}.",
        "incomplete": f"NOT COMPLETE: {_wanting(assessment, count)}",
    }[assessment.verdict]
    unmade = len(assessment.not_checked)
    if assessment.verdict == "incomplete":
        unmade -= sum(item.needed for item in assessment.not_checked)
    if unmade:
        first += (
            f" {unmade} further check{'s were' if unmade > 1 else ' was'} not made for want of input (listed {where})."
        )
    return first


def holds_word(findings: Iterable[Finding]) -> str:
    """What holds, holds only as far as the data are right."""
    return "HOLDS ON DOUBTFUL INPUT" if any(finding.doubtful for finding in findings) else "HOLDS"


def doubts(findings: Iterable[Finding], lead: str = "Doubtful input") -> list[str]:
    """What cannot be right in the input although the verdict rests on it."""
    return [f"{lead}: {with_case(w)}" for w in findings if w.doubtful]


def with_case(finding: Finding) -> str:
    """What a finding says, with the case that it is about."""
    return f"in {finding.case!r}: {finding.message}" if finding.case else finding.message


def bolts_first(findings: Iterable[Finding]) -> list[str]:
    """Which bolts are missing or loose, what is done about them before anything else counts, and what nobody said of gasket or weight."""
    return [each.message for each in findings if each.kind in BEFORE_ALL and not each.doubtful]


def _wanting(assessment: Assessment, count: int) -> str:
    """What the job needs and could not be checked: the first of it, what to supply, and whom to ask."""
    alike: dict[str, list[NotChecked]] = {}
    for item in assessment.not_checked:
        if item.needed:
            alike.setdefault(item.supply, []).append(item)
    needed = [f"{_named(items)} (supply {supply})" for supply, items in alike.items()]
    shown = "; ".join(needed[:FIRST_SHOWN])
    rest = len(needed) - FIRST_SHOWN
    more = f"; and {rest} more (below)" if rest > 0 else ""
    made = f"nothing failed in {count} checks made" if count else "nothing could be judged"
    return f"{made}, but what the job needs was not checked: {shown}{more}.{ask_words(assessment)}"


def _named(items: Sequence[NotChecked]) -> str:
    """Checks that want the same, each with the places where it was not made."""
    where: dict[tuple[str, ...], list[str]] = {}
    for check in dict.fromkeys(item.words for item in items):
        places = tuple(f"'{item.where}'" for item in items if item.words == check)
        where.setdefault(places, []).append(check)
    return joined([f"{joined(checks)} of {joined(places)}" for places, checks in where.items()])


def ask_words(assessment: Assessment) -> str:
    """Whom to ask for allowables that are wanting; empty where none is."""
    needed = [item.supply for item in assessment.not_checked if item.needed]
    wanted = [key.split(" / ")[1] for key in ASKED_OF_OTHERS if any(key in supply for supply in needed)]
    if not wanted:
        return ""
    return f" Allowables come from the engineer or the code that applies: ask for {joined(wanted)}."
