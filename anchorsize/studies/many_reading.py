"""Lists of joints from files, in chunks: comma-separated values or Parquet to frames whose index counts the file's rows."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from importlib import import_module
from pathlib import Path
from typing import IO, TYPE_CHECKING, Any

from anchorsize.casefile.problems import shorten
from anchorsize.studies.many_columns import ListError

if TYPE_CHECKING:
    import pandas as pd

CHUNK = 100_000  # rows that are in memory at a time
FIRST = 2  # the header is row 1
MOST_SURPLUS = 1000  # cells of a row beyond those of the header
MOST_COLUMNS = 2000  # a case file has some hundred inputs at most
LONGEST_LINE = 1_000_000  # letters; a longer line is no row, and could fill the memory
_SEPARATORS = ",;\t"


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


SURPLUS = "cells beyond the header"


def _text(path: Path, chunk: int) -> Iterator[pd.DataFrame]:
    import pandas as pd

    header, separator, widest = _survey(path)
    start = FIRST
    try:
        with pd.read_csv(
            path,
            sep=separator,
            header=None,
            skiprows=1,
            names=[*range(max(len(header), widest))],
            index_col=False,
            dtype=object,
            keep_default_na=False,
            na_values=[],
            skip_blank_lines=False,
            encoding="utf-8-sig",
            chunksize=chunk,
        ) as reader:
            for frame in reader:
                frame.index = pd.RangeIndex(start, start + len(frame), name="row")
                start += len(frame)
                yield _tidied(frame, header)
    except pd.errors.ParserError as error:
        raise ListError([f"{path}: no list: {shorten(str(error), 120)}"]) from None


def _survey(path: Path) -> tuple[list[str], str, int]:
    """The names of the columns, what separates them, and how many cells the widest row has."""
    with open(path, encoding="utf-8-sig", newline="") as file:
        first = file.readline(LONGEST_LINE)
        if not first.strip():
            below = file.readline(LONGEST_LINE)
            raise ListError(
                [f"{path}: " + ("no header: the first row names the columns" if below else "the list is empty")]
            )
        separator = max(_SEPARATORS, key=first.count)
        file.seek(0)
        reader = csv.reader(_lines(file, path), delimiter=separator)
        try:
            header = [name.strip() for name in next(reader)]
            widest = max(map(len, reader), default=0)
        except csv.Error as error:
            raise ListError([f"{path}: no list: {error}"]) from None
    if len(header) > MOST_COLUMNS:
        raise ListError([f"{path}: {len(header):,} columns, more than a case file has inputs"])
    if not widest:
        raise ListError([f"{path}: the list is empty: no row below the header"])
    if widest > len(header) + MOST_SURPLUS:
        raise ListError([f"{path}: a row has {widest:,} cells, the header {len(header):,}; what separates the cells?"])
    return header, separator, widest


def _lines(file: IO[str], path: Path) -> Iterator[str]:
    while line := file.readline(LONGEST_LINE + 1):
        if len(line) > LONGEST_LINE:
            raise ListError([f"{path}: no list: a line of more than {LONGEST_LINE:,} letters"])
        yield line


def _tidied(frame: pd.DataFrame, header: list[str]) -> pd.DataFrame:
    """The columns of the header with their names, the cells beyond them in one column if there are any; no empty rows."""
    frame = frame.fillna("")  # a row that ends early
    kept, spare = frame.iloc[:, : len(header)], frame.iloc[:, len(header) :]
    kept = kept.set_axis(header, axis=1)
    surplus = (spare != "").any(axis=1)
    blank = (kept == "").all(axis=1) & ~surplus
    if surplus.any():
        kept = kept.assign(**{SURPLUS: spare.agg(" ".join, axis=1).str.strip()})
    return kept.loc[~blank]


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
