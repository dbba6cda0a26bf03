"""What the commands share: options, errors as text with exit code 2, where output goes."""

from __future__ import annotations

import json
import os
import shutil
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

import click

if TYPE_CHECKING:
    from anchorsize.study import Study

HOLDS, FAILS, UNUSABLE, INCOMPLETE = 0, 1, 2, 3
MOST_PROBLEMS = 200  # of a file that are printed
EXIT_OF_VERDICT = {"holds": HOLDS, "fails": FAILS, "incomplete": INCOMPLETE}


def exit_of_worst(verdicts: Iterable[str]) -> int:
    """The exit code of several verdicts: of one that fails before one that is incomplete."""
    found = set(verdicts)
    return EXIT_OF_VERDICT[next(each for each in ("fails", "incomplete", "holds") if each in found)]


case_file = click.argument("file", type=click.Path(path_type=Path))
as_json = click.option("--json", "as_json", is_flag=True, help="Print the machine output (SI, unit in the key).")
width_option = click.option(
    "--width",
    type=click.IntRange(80, 240),
    default=None,
    help="Columns of the report (default: the terminal, 80 to 120).",
)
without_option = click.option(
    "--without",
    multiple=True,
    metavar="N",
    help="As if bolt N (or N,M) were missing, JOINT:N where there are several joints; may be given again.",
)
repaired_option = click.option(
    "--repaired",
    is_flag=True,
    help="As after a repair: no bolt missing, each at its target_torque, else at its torque; a reused gasket is new.",
)
option_option = click.option("--option", default=None, help="Support option to judge (default: the first in the file).")


def refuse(message: str) -> NoReturn:
    """Print an error and end with the exit code for unusable input."""
    click.echo(message, err=True)
    raise SystemExit(UNUSABLE)


@contextmanager
def readable_errors() -> Iterator[None]:
    """Every error of the input becomes text on stderr and exit code 2, never a traceback; a state that cannot come about, code 3."""
    from anchorsize.assessment.results import NotReachedError, StudyError
    from anchorsize.casefile import CaseFileError

    try:
        yield
    except CaseFileError as error:
        count = len(error.problems)
        shown = [str(problem) for problem in error.problems[:MOST_PROBLEMS]]
        more = [f"… and {count - MOST_PROBLEMS} more"] if count > MOST_PROBLEMS else []
        found = f"{count} problem{'s' if count != 1 else ''} found; nothing was computed."
        refuse("\n".join([*shown, *more, found]))
    except NotReachedError as error:
        click.echo(f"NOT JUDGED: {error}.", err=True)
        raise SystemExit(INCOMPLETE) from None
    except StudyError as error:
        refuse(f"{error}\nNothing was computed.")
    except OSError as error:
        refuse(f"{error.filename}: {error.strerror}")


def read(file: Path) -> Study:
    """The study of a case file."""
    from anchorsize.casefile import read_case

    return read_case(file)


def altered(study: Study, without: tuple[str, ...], repaired: bool = False) -> Study:
    """The study without the bolts named, or as repaired; what an option does not change is said on stderr."""
    if repaired and without:
        refuse("--repaired puts every bolt in and --without takes bolts out; choose one.")
    if not repaired and not without:
        return study
    from anchorsize.studies.lost_bolt import lose
    from anchorsize.studies.repaired import repaired as mended

    changed = mended(study) if repaired else lose(study, without)
    for note in changed.notes:
        if note not in study.notes:
            click.echo(note, err=True)
    return changed


def quantity_of(option: str, text: str, kind: str) -> float:
    """A quantity of the command line in SI."""
    from anchorsize.units import UnitError, parse_quantity

    try:
        return parse_quantity(text, kind)
    except UnitError as error:
        refuse(f"{option} '{text}': {error}")


def report_width(width: int | None) -> int:
    """Columns to use: as asked, else the terminal's between 80 and 120."""
    return width or max(80, min(120, shutil.get_terminal_size((80, 24)).columns))


def print_json(data: dict[str, Any]) -> None:
    """Machine output; a number that is not finite has become null before."""
    click.echo(json.dumps(data, indent=2, ensure_ascii=False, allow_nan=False))


def one_output(as_json: bool, as_csv: bool) -> None:
    """End with exit code 2 where both machine outputs are asked for."""
    if as_json and as_csv:
        refuse("--json and --csv at once; choose one.")


def print_found(
    as_json: bool,
    as_csv: bool,
    data: Callable[[], dict[str, Any]],
    values: Callable[[], str],
    report: Callable[[], str],
) -> None:
    """Print what was found the way it was asked for."""
    if as_json:
        print_json(data())
    elif as_csv:
        click.echo(values(), nl=False)
    else:
        print_report(report())


def print_report(text: str) -> None:
    """A report, with the words of a failing check set bold where the terminal shows it and NO_COLOR is not set."""
    if not os.environ.get("NO_COLOR"):
        for word in ("DOES NOT HOLD", "NOT COMPLETE", "HOLDS:", "HOLDS ON DOUBTFUL INPUT:", "FAILS"):
            text = text.replace(word, click.style(word, bold=True))
    click.echo(text, nl=False)
