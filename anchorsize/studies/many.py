"""One joint per row: a frame of inputs to a frame of verdicts, each row judged as a case file of its own would be.

:func:`judge_frame` is pure: the same rows give the same results in any order and any company, in this process or in the
workers of an engine that deals out parts of a frame. With dask::

    rows = dask.dataframe.read_csv("joints-*.csv")
    rows.map_partitions(judge_frame, base=text, meta=meta())
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from anchorsize.assessment import evaluate
from anchorsize.assessment.checks import LAYOUT
from anchorsize.assessment.holding import chosen_option
from anchorsize.assessment.refusing import Refused
from anchorsize.assessment.results import StudyError
from anchorsize.casefile.build import unlike_water
from anchorsize.casefile.parse import CaseText
from anchorsize.casefile.problems import KINDS, CaseFileError
from anchorsize.casefile.quantities import si
from anchorsize.reference import NotInTable, known_alike
from anchorsize.studies.many_columns import (
    ID,
    Columns,
    Troubles,
    read_cells,
    read_columns,
    words_put,
)
from anchorsize.studies.many_columns import Rows as Places
from anchorsize.studies.many_reading import SURPLUS
from anchorsize.studies.many_search import Order, search
from anchorsize.studies.rows import Rows, judge_rows
from anchorsize.study import Array, Study

if TYPE_CHECKING:
    import pandas as pd

BLOCK = 10_000  # rows judged at once: what they need stays within some ten megabytes a case
NOT_JUDGED = "not judged"
COLUMNS: dict[str, Any] = {
    ID: object,
    "verdict": object,  # holds, fails, incomplete (a needed check is missing), or not judged
    "check": object,  # the check that governs, with its case, place and bolt
    "case": object,
    "where": object,
    "bolt": "Int64",
    "utilization": np.float64,
    "margin": np.float64,
    "demand": np.float64,  # in the unit of the column after the next
    "allowable": np.float64,
    "unit": object,
    "check_under_load": object,  # the one that governs of the checks that are not of geometry
    "case_under_load": object,
    "where_under_load": object,
    "bolt_under_load": "Int64",
    "utilization_under_load": np.float64,
    "problem": object,  # why the row was not judged, or is incomplete
    "reason": object,  # the same in few words, for counting
}
_NUMERIC_PROBLEMS = ("contradiction", "out_of_range", "flow_balance")  # those that numbers of a row can cause
_FIGURE = re.compile(r"[-+]?\d+(?:[.,]\d+)*(?:e[-+]?\d+)?%?")


def judge_frame(
    frame: pd.DataFrame,
    base: str,
    option: str | None = None,
    name: str = "base case file",
    progress: Callable[[int], object] = lambda _: None,
) -> pd.DataFrame:
    """Judge every row of ``frame`` and return the frame of :data:`COLUMNS`, with the same index.

    Parameters
    ----------
    frame
        Columns headed by key paths of the base case file, or their unambiguous ends, with units: ``inlet/pressure [kPa]``;
        columns of words such as ``joints/main/bolts/size`` without; ``id`` is handed through.
    base
        Text of the case file that gives what the columns do not.
    option
        Support option to judge; the first of the file if left out.
    name
        The base case file as messages call it.
    progress
        Called with the number of rows that have been dealt with since it was called last.

    Raises
    ------
    CaseFileError
        The base is no usable case file.
    StudyError
        It has no such support option.
    ListError
        The columns cannot be used. What is wrong with single rows stands in their ``problem`` instead.
    """
    base_study(base, name, option)
    frame, surplus = without_surplus(frame)
    columns = read_columns(list(frame.columns), case_text(base, name, ()))
    troubles = Troubles(len(frame))
    troubles.add(surplus, "more cells than the header has columns", "more cells than the header has columns")
    numbers, words = read_cells(columns, frame, troubles)
    progress(int(np.count_nonzero(troubles.found)))
    told, order = _Told(len(frame)), Order(numbers)
    if columns.key is not None:
        told.columns[ID][:] = frame.iloc[:, columns.key].to_numpy(dtype=object)
    for rows in _groups(columns, numbers, words, troubles.sound):
        case = case_text(base, name, words_put(columns, words, rows[0]))
        judge = _Judge(case, option, columns, numbers, told, troubles, order, progress)
        for part in _known_alike(case, numbers, rows):
            for named in _named_alike(case, numbers, part):
                for start in range(0, named.size, BLOCK):
                    judge(named[start : start + BLOCK])
    return told.frame(frame.index, troubles)


def meta() -> pd.DataFrame:
    """An empty frame of what :func:`judge_frame` returns, for engines that ask beforehand."""
    import pandas as pd

    return _Told(0).frame(pd.RangeIndex(0), Troubles(0))


def base_study(text: str, name: str, option: str | None) -> Study:
    """The study of the base case file by itself. Raises CaseFileError, or StudyError for an option it does not have."""
    study = case_text(text, name, ()).study({})
    chosen_option(study, option)
    return study


@lru_cache(maxsize=256)
def case_text(text: str, name: str, words: tuple[tuple[str, str | tuple[str, ...]], ...]) -> CaseText:
    return CaseText(text, name, dict(words))


def without_surplus(frame: pd.DataFrame) -> tuple[pd.DataFrame, Places]:
    """The frame without the reader's column of cells that have no header, and the rows that hold some."""
    if SURPLUS not in frame.columns:
        return frame, np.zeros(0, dtype=np.intp)
    return frame.drop(columns=SURPLUS), np.flatnonzero(frame[SURPLUS].to_numpy() != "")


def _groups(
    columns: Columns, numbers: Mapping[str, Array], words: Mapping[str, NDArray[np.object_]], rows: Places
) -> Iterator[Places]:
    """Rows that agree in all words, and in the numbers that are judged by their value."""
    import pandas as pd

    keys = [*words.values(), *(numbers[each.path] for each in columns.numbers if each.by_value)]
    if not keys:
        if rows.size:
            yield rows
        return
    table = pd.DataFrame({place: key[rows] for place, key in enumerate(keys)})
    for places in table.groupby(list(table.columns), sort=False, dropna=False).indices.values():
        yield rows[places]


def _known_alike(case: CaseText, numbers: Mapping[str, Array], rows: Places) -> Iterator[Places]:
    """Rows at whose temperatures the tables know the same properties of the fluid, so that none misses one for the others."""
    temperature = numbers.get("fluid/temperature")
    if temperature is None or case.file is None:
        yield rows
        return
    try:
        alike = known_alike(case.file.fluid.name, temperature[rows])
    except NotInTable:
        alike = np.zeros(rows.size, dtype=np.int64)
    for each in np.unique(alike):
        yield rows[alike == each]


def _named_alike(case: CaseText, numbers: Mapping[str, Array], rows: Places) -> Iterator[Places]:
    """Rows whose fluid, where the file names none, is water by its density in all of them or in none."""
    entry = None if case.file is None else case.file.fluid
    density, temperature = (numbers.get(f"fluid/{key}") for key in ("density", "temperature"))
    if entry is None or "name" in entry.model_fields_set or (density is None and temperature is None):
        yield rows
        return
    dense = si(entry.density) if density is None else density[rows]
    warm = si(entry.temperature) if temperature is None else temperature[rows]
    if dense is None:
        yield rows
        return
    unlike = np.broadcast_to(unlike_water(dense, warm), rows.shape)
    yield from (rows[unlike == each] for each in np.unique(unlike))


def _loose_alike(study: Study, rows: Places) -> list[Places]:
    """Rows that have loose bolts in the same joints, so that no row needs a check for the bolts of another."""
    loose = [np.any(joint.bolts.present & ~joint.carrying, axis=-1) for joint in study.joints.values()]
    if not np.any([np.any(each) for each in loose]):
        return [rows]
    kinds = np.stack([np.broadcast_to(each, rows.shape) for each in loose], axis=-1)
    return [rows[np.all(kinds == kind, axis=-1)] for kind in np.unique(kinds, axis=0)]


@dataclass
class _Told:
    """What is told of every row, column by column."""

    size: int
    columns: dict[str, NDArray[np.generic]] = field(init=False)

    def __post_init__(self) -> None:
        self.columns = {
            name: np.full(self.size, "", dtype=object) if kind is object else np.full(self.size, np.nan)
            for name, kind in COLUMNS.items()
        }

    def take(self, rows: Places, found: Rows, judged: NDArray[np.bool_]) -> None:
        """Take the governing check of the rows of a batch that were judged."""
        needed = [f"{item.check} not checked (supply {item.supply})" for item in found.not_checked if item.needed]
        holds, fails = rows[judged & found.holds], rows[judged & ~found.holds]
        self.columns["verdict"][holds] = "incomplete" if needed else "holds"
        self.columns["verdict"][fails] = "fails"
        self.columns["problem"][holds] = self.columns["reason"][holds] = "; ".join(needed)
        loaded = np.array([check not in LAYOUT for _, check, _ in found.keys], dtype=np.bool_)
        self._take_greatest(rows, found, judged, np.ones_like(loaded), "", ("margin", "demand", "allowable"))
        self._take_greatest(rows, found, judged, loaded, "_under_load", ())

    def _take_greatest(
        self,
        rows: Places,
        found: Rows,
        judged: NDArray[np.bool_],
        keys: NDArray[np.bool_],
        end: str,
        more: tuple[str, ...],
    ) -> None:
        """Take the check with the greatest utilization of those of ``keys`` into the columns with this ``end``."""
        if not np.any(keys):
            return
        governing = np.flatnonzero(keys)[np.argmax(found.utilization[keys], axis=0)]
        for place in np.unique(governing[judged]).tolist():
            here = judged & (governing == place)
            check, (case, name, where) = found.checks[place], found.keys[place]
            words = {"check": name, "case": case, "where": where, **({"unit": check.unit} if more else {})}
            for column, word in words.items():
                self.columns[column + end][rows[here]] = word
            figures = {
                "bolt": np.nan if check.bolt is None else check.bolt,
                **{each: getattr(check, each) for each in more},
            }
            for column, values in figures.items():
                of_row = np.broadcast_to(np.asarray(values, dtype=float), found.shape)
                self.columns[column + end][rows[here]] = of_row[here]
            self.columns["utilization" + end][rows[here]] = found.utilization[place][here]

    def frame(self, index: pd.Index, troubles: Troubles) -> pd.DataFrame:
        """The frame of all columns."""
        import pandas as pd

        bad = troubles.found
        self.columns["verdict"][bad] = NOT_JUDGED
        self.columns["problem"][bad], self.columns["reason"][bad] = troubles.words[bad], troubles.reasons[bad]
        return pd.DataFrame({name: pd.Series(self.columns[name], index, kind) for name, kind in COLUMNS.items()}, index)


@dataclass
class _Judge:
    """Judges rows of one group together; where that cannot be, searches for those that cannot be judged."""

    case: CaseText
    option: str | None
    columns: Columns
    numbers: Mapping[str, Array]
    told: _Told
    troubles: Troubles
    order: Order
    progress: Callable[[int], object]

    def __call__(self, rows: Places) -> None:
        try:
            study = self._study(rows)
        except CaseFileError as error:
            if rows.size == 1 or self._whatever_the_numbers(error):
                self._trouble(rows, error)
                return
            rows = search(rows, self._study, self._trouble, CaseFileError, self.order)
            if not rows.size:
                return
            study = self._study(rows)
        try:
            self._take(study, rows)
        except StudyError as error:
            if rows.size == 1:
                self._trouble(rows, error)
                return
            rows = search(rows, lambda part: self._take(self._study(part), part), self._trouble, StudyError, self.order)
        self.progress(rows.size)

    def _take(self, study: Study, rows: Places) -> None:
        """Judge some rows together and take what is found. Raises StudyError where one of them stops all."""
        parts = _loose_alike(study, rows)
        if len(parts) > 1:
            for part in parts:
                self._take(self._study(part), part)
            return
        found = judge_rows(study, rows.shape, self.option)
        for reason in range(len(found.refused.reasons)):
            self._refused(found.refused, rows, reason)
        self.told.take(rows, found, ~found.refused.rows)

    def _trouble(self, rows: Places, error: ValueError) -> None:
        words, reason = _why(error)
        self.troubles.add(rows, words, reason)
        self.progress(rows.size)

    def _study(self, rows: Places) -> Study:
        """The study of some rows, each number an array over them; one row alone is a study of its own."""

        def value(path: str, shared: bool) -> Array | float:
            values = self.numbers[path]
            return float(values[rows[0]]) if shared or rows.size == 1 else values[rows]

        return self.case.study({each.path: value(each.path, each.by_value) for each in self.columns.numbers})

    def _whatever_the_numbers(self, error: CaseFileError) -> bool:
        """Whether the words of the group cause an error by themselves: no number has a part in it, and the base has it too."""
        if any(each.kind in _NUMERIC_PROBLEMS for each in error.problems):
            return False
        try:
            self.case.study({})
        except CaseFileError as of_base:
            return [(each.kind, each.path) for each in error.problems] == [
                (each.kind, each.path) for each in of_base.problems
            ]
        return False

    def _refused(self, refused: Refused, rows: Places, reason: int) -> None:
        """Say why rows of a batch could not be judged, each with its own figures: a batch words its first row."""
        lost, why = refused.reasons[reason]
        places = np.flatnonzero(lost & ~self.troubles.found[rows])
        if not _FIGURE.search(why):
            self.troubles.add(rows[places], why, why)
            return
        for place in places.tolist():
            words = refused.of_row(reason, place) or self._alone(rows[[place]])
            self.troubles.add(rows[[place]], words or _without_figures(why), _without_figures(words or why))

    def _alone(self, row: Places) -> str | None:
        """Why a row cannot be judged by itself; None where it can."""
        try:
            evaluate(self._study(row), self.option)
        except StudyError as error:
            return str(error)
        return None


def _why(error: ValueError) -> tuple[str, str]:
    """What is wrong with a row, in words and in few words."""
    if not isinstance(error, CaseFileError):
        return str(error), _without_figures(str(error))
    words, reasons = [], []
    for problem in error.problems:
        where = "/".join(problem.path)
        words.append(f"{where}: {problem.message}" + (f" ({problem.hint})" if problem.hint else ""))
        reasons.append(f"{where}: {KINDS[problem.kind]}")
    return "; ".join(words), reasons[0]


def _without_figures(words: str) -> str:
    """A sentence without its figures, and without brackets that hold any; names in quotes are left."""

    def plain(part: str) -> str:
        return _FIGURE.sub("…", re.sub(r"\s*\([^()]*\d[^()]*\)", "", part))

    return "".join(part if part.startswith("'") else plain(part) for part in re.split(r"('[^']*')", words))
