"""``anchorsize many``: one joint per row of a list, each judged on its own."""

from __future__ import annotations

import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import click

from anchorsize.cli.common import (
    EXIT_OF_VERDICT,
    as_json,
    one_output,
    option_option,
    print_report,
    readable_errors,
    refuse,
    report_width,
    width_option,
)
from anchorsize.cli.writing import force_option, refuse_ending, refuse_to_overwrite, write

if TYPE_CHECKING:
    import pandas as pd

    from anchorsize.studies.many_doubts import Doubts
    from anchorsize.studies.many_tally import Tally

PIECE = 1 << 20  # bytes printed at a time
WRITTEN = 5000  # rows turned into text at a time
WORD_EVERY = 5.0  # seconds between words of the progress where stderr is no terminal


@click.command()
@click.argument("rows", metavar="LIST", type=click.Path(path_type=Path))
@click.option(
    "--base", required=True, type=click.Path(path_type=Path), help="Case file that gives what the columns do not."
)
@option_option
@as_json
@click.option("--csv", "as_csv", is_flag=True, help="Print comma-separated values (SI, unit in its column).")
@click.option(
    "-o",
    "--output",
    type=click.Path(path_type=Path),
    help="Write the rows to this file, as JSON if so named, else CSV.",
)
@force_option
@width_option
def many(
    rows: Path,
    base: Path,
    option: str | None,
    as_json: bool,
    as_csv: bool,
    output: Path | None,
    force: bool,
    width: int | None,
) -> None:
    """Judge a joint per row of LIST, a CSV or Parquet file.

    The first row names the inputs that the columns give, by key path or the end of one, each with its unit:
    "inlet/pressure [kPa]", "openings/inlet/bore [mm]"; words such as "size", "count" and "class" have none. A column "id" is
    handed through. The base case file gives the rest. A row that is wrong is reported with its number (the header is row 1);
    the others are judged all the same. The exit code is 1 where a row does not hold or could not be judged, also where that is
    every row; 3 where one lacks a needed check. Doubtful input is looked for, as check does, in up to some hundred of the rows
    that do not fail; where there are more, that is said. Rows that share words, temperature and directions are judged
    together, and fast.

    Example: anchorsize many examples/many_joints.csv --base examples/many_base.yaml -o judged.csv
    """
    one_output(as_json, as_csv)
    if output is not None:
        refuse_ending(output, (".csv", ".json", ".txt"), "the list")
        refuse_to_overwrite(output, force)
    with readable_errors():
        from anchorsize.assessment.holding import chosen_option
        from anchorsize.casefile.reading import read_text
        from anchorsize.present.many import list_csv, list_json, list_text
        from anchorsize.studies.many import base_study
        from anchorsize.studies.many_columns import ListError
        from anchorsize.studies.many_doubts import Doubts
        from anchorsize.studies.many_tally import Tally

        text = read_text(base)
        study, tally, doubts = base_study(text, str(base), option), Tally(), Doubts(text, option, str(base))
        in_json = as_json or (output is not None and not as_csv and output.suffix.lower() == ".json")
        chosen = chosen_option(study, option)
        head = {"list": str(rows), "base": str(base)}
        frames = _judged(rows, text, str(base), option, tally, doubts)
        content = list_json(frames, head, tally, doubts, study, chosen) if in_json else list_csv(frames)
        try:
            if output is not None:
                write(output, content, force)
            elif as_json or as_csv:
                _print_whole(content)
            else:
                for _ in frames:
                    pass
        except ListError as error:
            refuse("\n".join(error.problems) + "\nNothing was computed.")
    summary = list_text(
        tally, doubts, study, chosen, f"{rows}, one joint per row, on {base}", report_width(width), output
    )
    if output is None and (as_json or as_csv):
        click.echo(summary, err=True, nl=False)
    else:
        print_report(summary)
    raise SystemExit(EXIT_OF_VERDICT[tally.verdict])


def _judged(
    rows: Path, text: str, base: str, option: str | None, tally: Tally, doubts: Doubts
) -> Iterator[pd.DataFrame]:
    """The list judged chunk by chunk, counted and looked over for doubtful input, with word of the progress on stderr."""
    from anchorsize.studies.many import judge_frame
    from anchorsize.studies.many_reading import read_list

    progress = _Progress()
    for frame in read_list(rows):
        told = judge_frame(frame, text, option, base, progress)
        tally.add(told)
        progress.clear()
        told = doubts.add(frame, told)
        for start in range(0, len(told), WRITTEN):
            yield told.iloc[start : start + WRITTEN]


class _Progress:
    """How many rows have been dealt with: on one line of a terminal; elsewhere on a line now and then, if it takes long."""

    def __init__(self) -> None:
        self._rows, self._terminal, self._told = 0, sys.stderr.isatty(), time.monotonic()

    def __call__(self, rows: int) -> None:
        self._rows += rows
        if self._terminal:
            click.echo(f"\r{self._rows:,} rows judged", nl=False, err=True)
        elif time.monotonic() - self._told >= WORD_EVERY:
            self._told = time.monotonic()
            click.echo(f"{self._rows:,} rows judged", err=True)

    def clear(self) -> None:
        """Leave the line empty for what is printed next."""
        if self._terminal:
            click.echo(f"\r{' ' * len(f'{self._rows:,} rows judged')}\r", nl=False, err=True)


def _print_whole(content: Iterator[bytes]) -> None:
    """Print what has been made whole first: a list that turns out unusable halfway prints nothing."""
    with tempfile.TemporaryFile() as made:
        made.writelines(content)
        made.seek(0)
        while piece := made.read(PIECE):
            click.echo(piece, nl=False)
