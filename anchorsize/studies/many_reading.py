"""Lists of joints from files, in chunks: comma-separated values or Parquet to frames whose index counts the file's rows."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator
from importlib import import_module
from pathlib import Path
from typing import IO, TYPE_CHECKING, Any

import numpy as np

from anchorsize.casefile.problems import shorten
from anchorsize.studies.many_columns import ListError

if TYPE_CHECKING:
    import pandas as pd

CHUNK = 20_000  # rows that are in memory at a time
MOST_LETTERS = 2_000_000  # of a text file that are in memory at a time, whatever the rows are like
FIRST = 2  # the header is row 1
MOST_SURPLUS = 1000  # cells of a row beyond those of the header
MOST_COLUMNS = 2000  # a case file has some hundred inputs at most
LONGEST_LINE = 1_000_000  # letters; a longer line is no row, and could fill the memory
SURPLUS = "cells beyond the header"  # the column that holds them
_SEPARATORS = ",;\t"
_PART = 1 << 18  # letters read at a time


def read_list(path: Path, chunk: int = CHUNK) -> Iterator[pd.DataFrame]:
    """Yield the rows of a list, ``chunk`` at a time, as a frame indexed by ``row`` as the file counts them, header = row 1.

    Cells of a text file stay text. A row with more cells than the header has a column :data:`SURPLUS` that holds them. Rows
    with nothing in them are left out, and count.

    Raises
    ------
    ListError
        The file is no list: not there, empty, no text, no header, no rows.
    """
    kind = path.suffix.lower()
    if kind in (".xlsx", ".xls", ".ods"):
        raise ListError([f"{path}: a spreadsheet file; save it as CSV"])
    try:
        chunks = _parquet(path, chunk) if kind in (".parquet", ".pq") else _text(path, chunk)
        seen = 0
        for frame in chunks:
            seen += len(frame)
            if len(frame):
                yield frame
    except FileNotFoundError:
        raise ListError([f"{path}: no such file"]) from None
    except OSError as error:
        raise ListError([f"{path}: cannot be read: {error.strerror or error}"]) from None
    except UnicodeDecodeError:
        raise ListError([f"{path}: not UTF-8 text; save the list as CSV in UTF-8"]) from None
    if not seen:
        raise ListError([f"{path}: the list is empty: no row below the header"])


def _text(path: Path, chunk: int) -> Iterator[pd.DataFrame]:
    header, separator = _survey(path)
    with _open(path) as file:
        records = _Records(file, path, separator)
        next(records)
        numbers: list[int] = []
        cells: list[list[str]] = []
        full = records.read + MOST_LETTERS
        for record in records:
            numbers.append(records.row)
            cells.append(record)
            if len(cells) >= chunk or records.read >= full:
                yield _frame(header, numbers, cells)
                numbers, cells, full = [], [], records.read + MOST_LETTERS
        if cells:
            yield _frame(header, numbers, cells)


def _open(path: Path) -> IO[str]:
    return open(path, encoding="utf-8-sig")


def _survey(path: Path) -> tuple[list[str], str]:
    """The names of the columns, and what separates them, of a file that has been looked through to its end."""
    with _open(path) as file:
        first = file.readline(LONGEST_LINE)
        if not first.strip():
            below = file.readline(LONGEST_LINE)
            raise ListError(
                [f"{path}: " + ("no header: the first row names the columns" if below else "the list is empty")]
            )
        separator = max(_SEPARATORS, key=first.count)
        file.seek(0)
        records = _Records(file, path, separator)
        header = [name.strip() for name in next(records)]
        if len(header) > MOST_COLUMNS:
            raise ListError([f"{path}: {len(header):,} columns, more than a case file has inputs"])
        widest = max(map(len, records), default=0)
    if widest > len(header) + MOST_SURPLUS:
        raise ListError([f"{path}: a row has {widest:,} cells, the header {len(header):,}; what separates the cells?"])
    return header, separator


class _Records:
    """The rows of a file as lists of cells, without those in which nothing stands, which are counted all the same.

    ``row`` is the number of the row read last, ``read`` how many letters of the file have been taken up.
    """

    def __init__(self, file: IO[str], path: Path, separator: str) -> None:
        self.row, self.read = 0, 0
        self._file, self._path = file, path
        self._buffer, self._at = "", 0
        self._within = False  # a row, whose cell in quotes goes on over lines
        self._reader = csv.reader(self._lines(), delimiter=separator)
        self._nothing = re.compile(rf"[\s{separator}]*")

    def __iter__(self) -> Iterator[list[str]]:
        return self

    def __next__(self) -> list[str]:
        while True:
            self._within = False
            self._pass_over()
            try:
                record = next(self._reader)
            except csv.Error as error:
                raise ListError([f"{self._path}: no list: {error}"]) from None
            self.row += 1
            if any(map(str.strip, record)):
                return record

    def _pass_over(self) -> None:
        """Leave out the empty lines that come next, millions of them as fast as one."""
        while True:
            match = self._nothing.match(self._buffer, self._at)
            reached = match.end() if match else self._at
            start = self._buffer.rfind("\n", self._at, reached) + 1
            if start:
                self.row += self._buffer.count("\n", self._at, start)
                self._at = start
            if reached < len(self._buffer) or len(self._buffer) - self._at > LONGEST_LINE or not self._more():
                return

    def _more(self) -> bool:
        """Take up the next part of the file; whether there was any."""
        part = self._file.read(_PART)
        self._buffer, self._at = self._buffer[self._at :] + part, 0
        self.read += len(part)
        return bool(part)

    def _lines(self) -> Iterator[str]:
        while True:
            searched = self._at
            while not (end := self._buffer.find("\n", searched) + 1):
                searched = len(self._buffer) - self._at
                if searched > LONGEST_LINE or not self._more():
                    break
            line = self._buffer[self._at : end or None]
            if len(line) > LONGEST_LINE:
                raise ListError([f"{self._path}: no list: a line of more than {LONGEST_LINE:,} letters"])
            if not line:
                if self._within:
                    raise csv.Error("a cell opens with a quote that nothing closes")
                return
            self._at += len(line)
            self._within = True
            yield line


def _frame(header: list[str], numbers: list[int], records: list[list[str]]) -> pd.DataFrame:
    """Rows as a frame with the columns of the header, and the cells beyond them in one more column if there are any."""
    import pandas as pd

    width = len(header)
    surplus = [" ".join(record[width:]).strip() for record in records]
    for record in records:
        record[width:] = [""] * (width - len(record))
    index = pd.Index(numbers, name="row")
    columns = [pd.Series(np.array(cells, dtype=object), index) for cells in zip(*records, strict=True)]
    frame = pd.concat(columns, axis=1).set_axis(header, axis=1)
    return frame.assign(**{SURPLUS: surplus}) if any(surplus) else frame


def _parquet(path: Path, chunk: int) -> Iterator[pd.DataFrame]:
    import pandas as pd

    try:
        parquet: Any = import_module("pyarrow.parquet")
    except ImportError:
        raise ListError(
            [f"{path}: reading Parquet takes pyarrow, which is not installed; install it, or save the list as CSV"]
        ) from None
    start = FIRST
    try:
        file = parquet.ParquetFile(path)
        for batch in file.iter_batches(batch_size=chunk):
            frame: pd.DataFrame = batch.to_pandas()
            frame.index = pd.RangeIndex(start, start + len(frame), name="row")
            start += len(frame)
            yield frame
    except import_module("pyarrow").ArrowInvalid as error:
        raise ListError([f"{path}: no Parquet file: {shorten(str(error), 120)}"]) from None
