"""A judged list as comma-separated values, machine output and a summary in words."""

from __future__ import annotations

import json
import math
import textwrap
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from anchorsize.assessment.checks import LAYOUT
from anchorsize.assessment.statements import DEFERRAL, assumptions
from anchorsize.casefile.problems import shorten
from anchorsize.present.machine import FORMAT
from anchorsize.present.words import KIND_OF_UNIT, figure, margin, number, paragraph, quantity, table
from anchorsize.studies.many import COLUMNS, NOT_JUDGED
from anchorsize.studies.many_columns import ID, MOST_SHOWN
from anchorsize.studies.many_doubts import DOUBTFUL, Doubts
from anchorsize.studies.many_tally import Tally
from anchorsize.study import Study
from anchorsize.units import System

if TYPE_CHECKING:
    import pandas as pd

WITH_FIGURES = 110  # columns from which on demand and allowable are shown
DOUBTS_SHOWN = 3  # sentences about doubtful input beside the verdict
ROWS_NAMED = 5  # rows with which one of them is said to be of
KEYS = (ID, "row", *(name for name in COLUMNS if name != ID), DOUBTFUL)
VERDICTS = {  # in words for one row and for several
    "holds": ("holds in every case and check", "hold in every case and check"),
    "fails": ("does not", "do not"),
    "incomplete": ("lacks a needed check", "lack a needed check"),
    NOT_JUDGED: ("could not be judged", "could not be judged"),
}


def list_csv(frames: Iterable[pd.DataFrame]) -> Iterator[bytes]:
    """The rows as comma-separated values, the keys of the machine output in the first row; SI, see the column ``unit``."""
    header = True
    for frame in frames:
        yield _rows(frame).to_csv(index=False, header=header, lineterminator="\n").encode()
        header = False


def list_json(
    frames: Iterable[pd.DataFrame], head: Mapping[str, Any], tally: Tally, doubts: Doubts, study: Study, option: str
) -> Iterator[bytes]:
    """The machine output, row after row; ``head`` goes before them, and what ``tally`` and ``doubts`` have counted by then behind."""
    start = json.dumps({"format": FORMAT, "title": study.title, **head, "option": option}, indent=1, ensure_ascii=False)
    yield f'{start[:-2]},\n "rows": ['.encode()
    between = "\n"
    for frame in frames:
        records = _rows(frame).astype(object).where(lambda cells: cells.notna(), None).to_dict("records")
        for record in records:
            yield f"{between}  {json.dumps(record, ensure_ascii=False, default=_plain)}".encode()
            between = ",\n"
    end = {
        "verdict": tally.verdict,
        "counts": {
            "rows": tally.rows,
            **{name.replace(" ", "_"): tally.verdicts[name] for name in VERDICTS},
            "doubtful": len(doubts.found),
            "doubtful_looked_for": doubts.looked,
        },
        "doubtful_in_base": list(doubts.of_base),
        "reasons": dict(tally.reasons.most_common()),
        "assumptions": list(assumptions(study, option)),
        "deferral": DEFERRAL,
    }
    yield f"\n ],\n{json.dumps(end, indent=1, ensure_ascii=False)[2:]}\n".encode()


def _plain(value: object) -> object:
    """A number of numpy as one of Python's, any other cell of the user's as text."""
    return value.item() if isinstance(value, np.generic) else str(value)


def _rows(frame: pd.DataFrame) -> pd.DataFrame:
    """The frame with its row numbers as a column, and nothing where a figure is not finite."""
    table = frame.rename_axis("row").reset_index()[list(KEYS)]
    figures = table.select_dtypes("float").columns
    return table.assign(**{name: table[name].where(np.isfinite(table[name])) for name in figures})


def list_text(
    tally: Tally, doubts: Doubts, study: Study, option: str, title: str, width: int, written: Path | None = None
) -> str:
    """How many rows hold, the worst of them, what is wrong with those that were not judged, and what it all rests on.

    ``written`` is the file that holds every row, None where there is none.
    """
    lines = [textwrap.fill(title, width), "", textwrap.fill(_verdict(tally, doubts), width)]
    lines += [textwrap.fill(line, width) for line in _doubtful(doubts, written)]
    if tally.worst is not None and tally.worst["utilization"].notna().any():
        every = f"; every row is in {written}" if written else "; -o FILE writes every row"
        judged = tally.rows - tally.verdicts[NOT_JUDGED]
        for end, worst in (("", tally.worst), ("_under_load", tally.worst_loaded)):
            if worst is None or (end and not tally.worst["check"].isin(LAYOUT).any()):
                continue
            of = f", {len(worst)} of {judged:,} judged{every}" if judged > len(worst) else ""
            heading = f"Rows with the greatest utilization{end.replace('_', ' ')}{of}"
            lines += ["", textwrap.fill(heading, width), _worst(worst, end, width, study.units)]
    if tally.failing:
        lines += ["", "Checks that stop the rows that do not hold", _counted(tally.failing.most_common(), width)]
    lines += _problems(tally, width)
    lines += [
        "",
        "Assumptions, of the base case file",
        *(paragraph(line, width) for line in assumptions(study, option)),
        "",
        textwrap.fill(DEFERRAL, width),
    ]
    return "\n".join(lines) + "\n"


def _verdict(tally: Tally, doubts: Doubts) -> str:
    holds = "HOLDS ON DOUBTFUL INPUT:" if doubts.doubtful else "HOLDS:"
    lead = {"holds": holds, "fails": "DOES NOT HOLD:", "incomplete": "NOT COMPLETE:"}[tally.verdict]
    counts = [f"{n:,} {words[n > 1]}" for name, words in VERDICTS.items() if (n := tally.verdicts[name])]
    return f"{lead} of {tally.rows:,} row{'s' if tally.rows != 1 else ''}, {', '.join(counts)}.{_counted_doubts(tally, doubts)}"


def _counted_doubts(tally: Tally, doubts: Doubts) -> str:
    """How many rows that do not fail rest on doubtful input, and of how many that was looked for where not of all."""
    said, found = "", len(doubts.found)
    which = "rows that hold or lack a check" if tally.verdicts["incomplete"] else "rows that hold"
    if found:
        said = f" {found:,} of the {which} {'rest' if found > 1 else 'rests'} on doubtful input and {'are' if found > 1 else 'is'} not to be trusted."
    if doubts.cut_off:
        said += (
            f" Doubtful input was looked for in {doubts.looked:,} of {doubts.candidates:,} {which}, first in one of each bolt size and other "
            f"words; run check on the others, or many on parts of the list of up to {doubts.looked:,} rows."
        )
    return said


def _doubtful(doubts: Doubts, written: Path | None) -> list[str]:
    """What is doubtful and in which rows: the first of each, and what the base case file has by itself."""
    alike: dict[str, list[str]] = {}
    for row, key, sentences in doubts.found:
        more = f" (and {len(sentences) - 1} more)" if len(sentences) > 1 else ""
        alike.setdefault(sentences[0] + more, []).append(f"{row}{f' ({shorten(key, 20)})' if key else ''}")
    lines = []
    for words, rows in list(alike.items())[:DOUBTS_SHOWN]:
        rest = f" and {len(rows) - ROWS_NAMED:,} more" if len(rows) > ROWS_NAMED else ""
        lines.append(f"Doubtful input, row{'s' if len(rows) > 1 else ''} {', '.join(rows[:ROWS_NAMED])}{rest}: {words}")
    if rest_of := sum(len(rows) for rows in list(alike.values())[DOUBTS_SHOWN:]):
        where = f"{written} says" if written else "-o FILE writes"
        lines.append(f"Doubtful input, {rest_of:,} more row{'s' if rest_of > 1 else ''}: {where} of each what it is.")
    said = {sentence for _, _, sentences in doubts.found for sentence in sentences}
    return lines + [
        f"Doubtful input, base case file by itself: {words}" for words in doubts.of_base if words not in said
    ]


def _worst(worst: pd.DataFrame, end: str, width: int, system: System) -> str:
    """The worst rows by the check that governs, or with the ``end`` ``_under_load`` by that of the checks under load."""
    full = width >= WITH_FIGURES and not end
    shown = []
    for row, told in zip(worst.index, worst.astype({f"bolt{end}": float}).to_dict("records"), strict=True):
        check, use, bolt = told[f"check{end}"], told[f"utilization{end}"], told[f"bolt{end}"]
        if number(use) is None and not check:
            continue
        kind = KIND_OF_UNIT.get(told["unit"], "number")
        sides = [quantity(told[name], kind, system) for name in ("demand", "allowable")] if full else []
        shown.append(
            [
                f"{row}",
                shorten(str(told[ID]), 10),
                shorten(f"{check}", 19),
                "every case" if check in LAYOUT else shorten(f"{told[f'case{end}']}", 14),
                "-" if math.isnan(bolt) else f"{bolt:g}",
                *sides,
                figure(use, 3),
                margin(1.0 / use - 1.0) if use else margin(math.inf),
            ]
        )
    sides = ["demand", "allowable"] if full else []
    return table(shown, ["row", ID, "check", "case", "bolt", *sides, "utilized", "margin"], left=4)


def _counted(counts: Iterable[tuple[str, int]], width: int) -> str:
    return "\n".join(paragraph(f"{count:,} × {words}", width) for words, count in counts)


def _problems(tally: Tally, width: int) -> list[str]:
    if not tally.reasons:
        return []
    lines = []
    if tally.problems:
        lost = tally.verdicts[NOT_JUDGED]
        first = f", the first {MOST_SHOWN} of {lost:,}" if lost > len(tally.problems) else ""
        lines += ["", f"Rows that could not be judged{first}"]
        lines += [
            paragraph(f"row {row}{f' ({shorten(key, 20)})' if key else ''}: {words}", width)
            for row, key, words in tally.problems
        ]
    return [*lines, "", "By reason", _counted(tally.reasons.most_common(MOST_SHOWN), width)]
