"""Which bolt is missed most: what comes of losing each bolt in turn, in the check report."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import replace
from typing import Any

from anchorsize.assessment import Assessment
from anchorsize.assessment.asking import in_force
from anchorsize.assessment.checks import LAYOUT
from anchorsize.assessment.statements import SPACING_RULE
from anchorsize.present.words import (
    cases_words,
    failing_words,
    joined,
    number,
    paragraph,
    table,
    used_by,
    when,
    wrapped,
)
from anchorsize.studies.lost_bolt import ALIKE, LostBolt, NewFailure, Place, Worsened
from anchorsize.study import Study

LOSSES = "One bolt lost, worst first by how much the use of a check grows (1 % at least)"
ROOMY = 1_000_000
"""Columns of a cell that is not broken."""
SHOWN = 2  # checks named in a sentence


def losses_text(losses: Sequence[LostBolt], assessment: Assessment, width: int) -> list[str]:
    """One table of the joints with each bolt lost, worst first: what grows most, from what to what, and what fails on top of today."""
    if not losses:
        return [paragraph(no_loss_words(assessment), width, "! ")]
    headers, rows = loss_columns(losses, list(assessment.cases))
    text = table(rows, headers, left=len(headers) - 3)
    lines = [f"{LOSSES}\n{text}"]
    return [
        "\n".join(
            [*lines, *(paragraph(note, width) for note in (any_lost_words(losses), *loss_notes(losses, assessment)))]
        )
    ]


def loss_columns(
    losses: Sequence[LostBolt], cases: Sequence[str], roomy: bool = False
) -> tuple[list[str], list[list[str]]]:
    """Headers and cells of that table, whose last column is the verdict; ``roomy`` ones are not broken to fit a terminal."""
    several = len({row.joint for row in losses}) > 1
    widths = (ROOMY, ROOMY, ROOMY) if roomy else (10, 18 if several else 22, 8)
    told_once = alike_layout(losses) is not None
    rows = [
        [
            *([wrapped(row.joint, widths[0])] if several else []),
            str(row.bolt),
            *_loss_cells(row, widths[1:], cases, told_once),
        ]
        for row in losses
    ]
    headers = [
        *(["joint"] if several else []),
        "lost\nbolt",
        "what grows most\n(failing first)",
        "new against today",
        "today",
        "then",
        "",
    ]
    return headers, rows


def loss_notes(losses: Sequence[LostBolt], assessment: Assessment) -> list[str]:
    """What fails as it stands, with any bolt lost or not with some, and what could not be judged, behind :func:`any_lost_words`."""
    notes = gap_alone(losses, assessment.study)
    layout = alike_layout(losses)
    if layout is not None:
        ends = [used_by(layout.check, value) for value in (layout.today, layout.utilization)]
        notes.append(
            f"Whichever bolt is lost: {layout.words} of '{layout.where}' grows from {ends[0]} to {ends[1]} "
            "and holds (a check of the layout, alike in every case)."
        )
    notes += _failing_today(losses, assessment)
    wanting = dict.fromkeys(item for row in losses if not row.refused for item in row.wanting)
    notes += [
        f"Not fully judged with a bolt lost: {item.words} of '{item.where}' is then needed for this job: supply {item.supply}."
        for item in wanting
    ]
    notes += dict.fromkeys(f"Joint '{row.joint}', bolt {row.bolt}: {row.refused}." for row in losses if row.refused)
    return notes


def _failing_today(losses: Sequence[LostBolt], assessment: Assessment) -> list[str]:
    """What fails today, told apart by the bolts with which lost it does not: a bolt that fails is not there to fail once it is lost."""
    several = len({row.joint for row in losses}) > 1
    of_bolts: dict[tuple[LostBolt, ...], set[Place]] = {}
    for name, case in assessment.cases.items():
        for place in ((name, check.check, check.where) for check in case.checks if not check.holds):
            spared = tuple(row for row in losses if place in row.no_longer_failing)
            of_bolts.setdefault(spared, set()).add(place)
    return [
        f"Fails as it stands, {_lost_or_not(spared, len(losses), several)}: {'; '.join(failing_words(_only(places, assessment)))}."
        for spared, places in sorted(of_bolts.items(), key=lambda item: len(item[0]))
    ]


def _only(places: Collection[Place], assessment: Assessment) -> Assessment:
    """The assessment with the checks of these places alone."""
    return replace(
        assessment,
        cases={
            name: replace(case, checks=tuple(c for c in case.checks if (name, c.check, c.where) in places))
            for name, case in assessment.cases.items()
        },
    )


def _lost_or_not(spared: Sequence[LostBolt], count: int, several: bool) -> str:
    """Whether that is so whichever of ``count`` bolts is lost, or not with those of them that are ``spared``."""
    if not spared:
        return "whichever bolt is lost"
    if len(spared) == count:
        return "not with any one bolt lost"
    of_joint: dict[str, list[int]] = {}
    for row in sorted(spared, key=lambda row: row.bolt):
        of_joint.setdefault(row.joint, []).append(row.bolt)
    of = (f" of '{joint}'" if several else "" for joint in of_joint)
    named = (f"{_either(bolts)}{place}" for bolts, place in zip(of_joint.values(), of, strict=True))
    return f"not with bolt {' or '.join(named)} lost"


def _either(bolts: Sequence[int]) -> str:
    """Any of these bolts, which are not lost together: `3`, `3 or 4`, `3, 4 or 5`."""
    *first, last = map(str, bolts)
    return f"{', '.join(first)} or {last}" if first else last


def alike_layout(losses: Sequence[LostBolt]) -> Worsened | None:
    """The check of the layout that grows most whichever bolt is lost, and holds; None where bolts differ in it, or where it fails."""
    found = [row.worsened for row in losses if not row.refused]
    first = found[0] if found else None
    if first is None or first.check not in LAYOUT or not first.holds:
        return None
    ends = (first.today, first.utilization)
    alike = (
        each is not None
        and (each.check, each.where, each.holds) == (first.check, first.where, first.holds)
        and all(math.isclose(a, b, rel_tol=ALIKE) for a, b in zip((each.today, each.utilization), ends, strict=True))
        for each in found
    )
    return first if all(alike) else None


def any_lost_words(losses: Sequence[LostBolt]) -> str:
    """What comes of losing any one bolt, in a sentence."""
    return f"With any one bolt lost: {lost_verdict(losses)}."


def lost_verdict(losses: Sequence[LostBolt]) -> str:
    """What comes of losing any one bolt, in a few words."""
    failing = [row for row in losses if row.verdict == "fails"]
    if failing:
        whichever = "whichever it is" if len(failing) == len(losses) else f"with {len(failing)} of {len(losses)}"
        anew = _anew(failing)
        return f"DOES NOT HOLD, {whichever}{f' ({anew})' if anew else ''}"
    if any(row.verdict == "incomplete" for row in losses):
        return "NOT FULLY JUDGED; nothing fails in the checks made"
    return "HOLDS"


def _anew(failing: Sequence[LostBolt]) -> str:
    """What fails anew with how many of the bolts that fail, checks that do with the same ones together; empty where nothing does."""
    of_check: dict[str, set[int]] = {}
    for row, each in ((row, each) for row, lost in enumerate(failing) for each in lost.new):
        of_check.setdefault(each.words, set()).add(row)
    found = list(of_check.items())
    told = sorted(found[:SHOWN], key=lambda item: -len(item[1]))
    if len(found) > SHOWN:
        told.append(("more", set.union(*(rows for _, rows in found[SHOWN:]))))
    alike: dict[frozenset[int], list[str]] = {}
    for check, rows in told:
        alike.setdefault(frozenset(rows), []).append(check)
    # one that cannot be judged does not fail as the joint does today
    today = any(not row.new and not row.refused for row in failing)
    parts: list[str] = []
    for same, checks in alike.items():
        fail = "" if parts else f" {'fails' if len(checks) == 1 else 'fail'}{' as well' if today else ''}"
        count = "then" if len(same) == len(failing) else f"with {len(same)}{'' if parts else ' of them'}"
        parts.append(f"{joined(checks)}{fail} {count}")
    return f"{'as today; ' if parts and today else ''}{', '.join(parts)}"


def gap_alone(losses: Sequence[LostBolt], study: Study, rule: str = SPACING_RULE) -> list[str]:
    """Whose ``rule`` it is that a lost bolt breaks, where by the formula of the gap and by nothing else; nothing elsewhere."""
    failing = [row for row in losses if row.verdict == "fails"]
    alone = all(row.new and not row.refused for row in failing) and all(
        each.check == "widest bolt gap"
        and in_force(study, study.joints[each.where], study.cases[each.case]).bolt_spacing_greatest == "from formula"
        for row in failing
        for each in row.new
    )
    return [rule] if failing and alone else []


def no_loss_words(assessment: Assessment) -> str:
    """Why no joint could be judged with a bolt lost."""
    unknown = [item.supply for item in assessment.not_checked if item.needed]
    why = f"no check could be made: supply {unknown[0]}" if unknown else "no check could be made"
    return f"One bolt lost: not judged, {why if assessment.study.joints else 'the file has no joint'}."


def _loss_cells(row: LostBolt, widths: Sequence[int], cases: Sequence[str], told_once: bool) -> list[str]:
    """What grows most, what fails anew, today's utilization, that with the bolt lost, and whether the whole joint then holds.

    Where a check of the layout grows most, the one under load that does stands below it, or alone where the former is
    ``told_once`` for all bolts.
    """
    width, narrow = widths
    if row.refused:
        return [wrapped(f"{row.check} (see below)", width), "cannot be judged", "-", "beyond\nany", "FAILS"]
    told = [] if told_once or row.worsened is None else [row.worsened]
    if row.worsened_under_load is not None and row.worsened_under_load not in told:
        told.append(row.worsened_under_load)
    stacked = [_grown(worse, row, width, narrow) for worse in told]
    what, today, then = ("\n".join(parts) for parts in zip(*stacked, strict=True)) if told else ("nothing", "-", "-")
    new: dict[str, list[str]] = {}
    for failure in row.new:
        new.setdefault(_news(failure, row), []).append(failure.case)
    return [
        what if told or not told_once else "nothing under load",
        "\n".join(wrapped(f"{each} {cases_words(within, cases)}", width) for each, within in new.items()) or "-",
        today,
        then,
        _then(row),
    ]


def _grown(worse: Worsened, row: LostBolt, width: int, narrow: int) -> list[str]:
    """A check that grows, with its utilization today and with the bolt lost, as pieces of cells of the same number of lines."""
    what = f"{worse.words}{_of(worse.where, row)} {when(worse.check, worse.case)}"
    pieces = [
        wrapped(what, width).split("\n"),
        *(wrapped(used_by(worse.check, value), narrow).split("\n") for value in (worse.today, worse.utilization)),
    ]
    most = max(len(piece) for piece in pieces)
    return ["\n".join([*piece, *[""] * (most - len(piece))]) for piece in pieces]


def _then(row: LostBolt) -> str:
    """The verdict of everything with the bolt lost; what fails today keeps on failing."""
    if row.verdict == "incomplete":
        return "not fully\njudged"
    return "holds" if row.holds else "FAILS" if row.new else "FAILS\nas today"


def _of(where: str, row: LostBolt) -> str:
    """The place of a check where it is not the joint that lost the bolt."""
    return "" if where == row.joint else f" of '{where}'"


def _news(failure: NewFailure, row: LostBolt) -> str:
    """A check that fails anew."""
    opens = "opens: " if failure.check == "joint lift-off" else ""
    return f"{opens}{failure.words}{_of(failure.where, row)} fails"


def losses_dict(losses: Sequence[LostBolt]) -> list[dict[str, Any]]:
    """The same as rows."""
    return [
        {
            "joint": row.joint,
            "bolt": row.bolt,
            "case": row.case,
            "check": row.check,
            "utilization": number(row.utilization),
            "holds": row.holds,
            "verdict": row.verdict,
            "not_judged": [{"check": item.check, "where": item.where, "supply": item.supply} for item in row.wanting],
            "under_load": None
            if row.under_load is None
            else {
                "case": row.under_load.case,
                "check": row.under_load.check,
                "utilization": number(row.under_load.utilization),
            },
            "worsened": _worsened_dict(row.worsened),
            "worsened_under_load": _worsened_dict(row.worsened_under_load),
            "new_failures": [{"case": f.case, "check": f.check, "where": f.where} for f in row.new],
            "refused": row.refused or None,
        }
        for row in losses
    ]


def _worsened_dict(worse: Worsened | None) -> dict[str, Any] | None:
    return (
        None
        if worse is None
        else {
            "case": worse.case,
            "check": worse.check,
            "where": worse.where,
            "utilization_today": number(worse.today),
            "utilization": number(worse.utilization),
            "holds": worse.holds,
        }
    )
