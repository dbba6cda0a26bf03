"""Doubtful input in the rows of a judged list: what :func:`anchorsize.assessment.assess` doubts in a row that holds.

Findings are made of one joint at a time and cost as much as checking it alone, so they are looked for in some rows only, where there are many.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from anchorsize.assessment import findings_as_given
from anchorsize.assessment.holding import chosen_option
from anchorsize.studies.many import base_study, case_text, without_surplus
from anchorsize.studies.many_columns import ID, Rows, Troubles, read_cells, read_columns, words_put
from anchorsize.study import Study

if TYPE_CHECKING:
    import pandas as pd

DOUBTFUL = "doubtful"  # the column: text, empty where nothing is doubtful
NOT_LOOKED_FOR = "not looked for"  # what stands there in a row that was left out, and in one that does not hold
MOST_CASES = (
    300  # operating cases of the rows looked at: a tightened joint takes 10 to 15 ms in each, so a few seconds in all
)


@dataclass
class Doubts:
    """Looks for doubtful input in the rows of a list, chunk by chunk, and remembers what it found.

    ``of_base`` holds what is doubtful in the base case file by itself, ``looked`` and ``candidates`` count the rows looked at and
    those that hold or are incomplete, ``found`` holds (row, id, sentences) of the rows with doubtful input.

    Raises
    ------
    CaseFileError
        The base is no usable case file.
    StudyError
        It has no such support option.
    """

    base: str
    option: str | None = None
    name: str = "base case file"
    most: int | None = None  # rows to look at; by MOST_CASES if left out
    of_base: tuple[str, ...] = field(init=False)
    looked: int = field(default=0, init=False)
    candidates: int = field(default=0, init=False)
    found: list[tuple[int, str, tuple[str, ...]]] = field(default_factory=list, init=False)

    def __post_init__(self) -> None:
        study = base_study(self.base, self.name, self.option)
        self.of_base = _doubtful(study, self.option)
        if self.most is None:
            self.most = max(1, MOST_CASES // len(study.cases))

    @property
    def cut_off(self) -> bool:
        """Whether there were more rows than were looked at."""
        return self.looked < self.candidates

    @property
    def doubtful(self) -> bool:
        """Whether what holds, holds on doubtful input: of a row, or of the base where not every row was looked at."""
        return bool(self.found) or (self.cut_off and bool(self.of_base))

    def add(self, frame: pd.DataFrame, told: pd.DataFrame) -> pd.DataFrame:
        """The frame ``told`` that :func:`judge_frame` made of ``frame``, with the column :data:`DOUBTFUL`."""
        candidates = np.flatnonzero(told["verdict"].isin(("holds", "incomplete")))
        left = (self.most or 0) - self.looked
        if left < candidates.size:
            rows = np.sort(candidates[_order(frame.iloc[candidates], self.base, self.name)[:left]])
        else:
            rows = candidates
        column = np.full(len(told), NOT_LOOKED_FOR, dtype=object)
        for row, study in zip(rows.tolist(), _studies(frame.iloc[rows], self.base, self.name), strict=True):
            sentences = _doubtful(study, self.option)
            column[row] = " ".join(sentences)
            if sentences:
                self.found.append((int(told.index[row]), str(told[ID].iloc[row]), sentences))
        self.candidates += candidates.size
        self.looked += rows.size
        return told.assign(**{DOUBTFUL: column})


def _doubtful(study: Study, option: str | None) -> tuple[str, ...]:
    """What is doubtful in one study, as its own check would tell it."""
    findings = findings_as_given(study, chosen_option(study, option))
    return tuple(f"{f'in {each.case!r}: ' if each.case else ''}{each.message}" for each in findings if each.doubtful)


def _order(frame: pd.DataFrame, base: str, name: str) -> Rows:
    """In which order rows are looked at: one of each size, class and other words first, since a list may be sorted by them."""
    columns = read_columns(list(without_surplus(frame)[0].columns), case_text(base, name, ()))
    words = [frame.iloc[:, each.place].astype(str).to_numpy() for each in columns.words]
    if not words:
        return np.arange(len(frame))
    turn = frame.groupby(words, sort=False).cumcount().to_numpy()
    return np.argsort(turn, kind="stable")


def _studies(frame: pd.DataFrame, base: str, name: str) -> Iterator[Study]:
    """The study of each row of a frame of which every row can be judged."""
    frame, _ = without_surplus(frame)
    columns, troubles = read_columns(list(frame.columns), case_text(base, name, ())), Troubles(len(frame))
    numbers, words = read_cells(columns, frame, troubles)
    places: Rows = np.arange(len(frame))
    for row in places.tolist():
        put = words_put(columns, words, row)
        yield case_text(base, name, put).study({path: float(values[row]) for path, values in numbers.items()})
