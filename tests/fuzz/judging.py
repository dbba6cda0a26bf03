"""What must hold of every input: read it and, for a share of what can be read, ask everything of it that can be asked."""

from __future__ import annotations

import json
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from random import Random
from typing import Any

import numpy as np
from click.testing import CliRunner

from anchorsize.assessment import Assessment, StudyError, assess
from anchorsize.assessment.holding import chosen_option
from anchorsize.casefile import CaseFileError, parse_case, read_case, read_inputs
from anchorsize.casefile.problems import KINDS
from anchorsize.cli import main as commands
from anchorsize.present.machine import reactions_dict
from anchorsize.present.text import check_report, reactions_report
from anchorsize.studies.many import judge_frame
from anchorsize.studies.many_columns import ListError
from anchorsize.studies.many_reading import read_list
from anchorsize.study import Study
from tests.fuzz import fuzz_lists

EXIT_CODES = (0, 1, 2, 3)
BALANCE = 1e-6  # of the greatest load: what double precision leaves when loads of very different size are added
# Characters that could move the cursor, ring, color or reverse what a terminal shows.
_COMMANDS = {
    chr(code) for code in (*range(0x20), 0x7F, *range(0x80, 0xA0), *range(0x202A, 0x202F), *range(0x2066, 0x206A))
} - {"\n"}


class PromiseError(AssertionError):
    """Something that must hold of every input does not."""


@contextmanager
def strict() -> Iterator[None]:
    """Every warning of numpy becomes an error."""
    with warnings.catch_warnings():
        warnings.simplefilter("error", RuntimeWarning)
        yield


def judge_case_file(raw: bytes, path: Path, draw: Random, judged: float = 1.0, deep: float = 0.1) -> str:
    """Read one case file; say what came of it.

    ``judged`` is the share of the readable ones that are judged, ``deep`` the share of these that a command is asked about.
    """
    path.write_bytes(raw)
    try:
        study = read_case(path)
    except CaseFileError as error:
        _require_words(error)
        if draw.random() < 0.01:
            _ask_command(["check", str(path)], (2,))
        return "refused"
    text = raw.decode("utf-8-sig")
    if not read_inputs(text, path.name):
        raise PromiseError("a case file without a single quantity was taken")
    if draw.random() >= judged:
        return "read"
    try:
        assessment = assess(study)
    except StudyError as error:
        _require_message(str(error))
        return "no answer"
    require_sound(assessment, reports=draw.random() < 0.3)
    if draw.random() < deep:
        _ask_everything(path, study, draw)
    return "judged"


def judge_list(path: Path, draw: Random) -> str:
    """Read one list and judge its rows; say what came of it."""
    if draw.random() < 0.05:
        base = path.with_name("base.yaml")
        base.write_text(fuzz_lists.BASE, encoding="utf-8")
        _ask_command(["many", str(path), "--base", str(base), *draw.choice(([], ["--json"], ["--csv"]))], EXIT_CODES)
    try:
        rows = 0
        for frame in read_list(path):
            told = judge_frame(frame, fuzz_lists.BASE)
            rows += len(told)
            _require_rows(told)
    except ListError as error:
        for problem in error.problems:
            _require_message(problem)
        return "refused"
    return "judged" if rows else "no answer"


def _require_rows(told: Any) -> None:
    judged = told["verdict"] != "not judged"
    if not told["verdict"].isin(["holds", "fails", "incomplete", "not judged"]).all():
        raise PromiseError("a row without verdict")
    if (told.loc[~judged, "problem"] == "").any():
        raise PromiseError("a row that was not judged does not say why")
    if not np.isfinite(told.loc[judged, "utilization"]).all() and (told.loc[judged, "verdict"] == "holds").any():
        bad = judged & (told["verdict"] == "holds") & ~np.isfinite(told["utilization"])
        if bad.any():
            raise PromiseError("a row holds with a utilization that is not finite")


def _require_words(error: CaseFileError) -> None:
    if not error.problems:
        raise PromiseError("refused without a reason")
    for problem in error.problems:
        if problem.kind not in KINDS or not problem.message:
            raise PromiseError(f"a problem without kind or words: {problem!r}")
        _require_message(str(problem))


def _require_message(text: str) -> None:
    if len(text) > 3000:
        raise PromiseError(f"a message of {len(text)} characters")
    require_printable(text)


def require_printable(text: str) -> None:
    """Nothing that a terminal obeys may come from the input into the output, nor what cannot be encoded."""
    found = _COMMANDS.intersection(text)
    if found:
        raise PromiseError(f"a character that commands the terminal: {sorted(found)!r}")
    try:
        text.encode("utf-8")
    except UnicodeEncodeError:
        raise PromiseError("text that cannot be written as UTF-8") from None


def require_sound(assessment: Assessment, reports: bool = True) -> None:
    """Balance, numbers that are numbers and, where ``reports`` are asked for, strict JSON and printable texts."""
    for case in assessment.cases.values():
        total = sum((load.force for load in case.loads), np.zeros(3)) + case.reaction_force
        scale = max((float(np.max(np.abs(load.force))) for load in case.loads), default=0.0)
        if not np.all(np.abs(total) <= BALANCE * scale):
            raise PromiseError(f"forces do not balance: {total} of {scale}")
        for check in case.checks:
            if np.isnan(check.utilization) or (bool(check.holds) and not float(check.utilization) <= 1.0):
                raise PromiseError(f"{check.check} has utilization {check.utilization} and holds: {check.holds}")
        _require_balance_of_supports(assessment, case)
    if not reports:
        return
    for report in (check_report(assessment, 80), reactions_report(assessment, 80)):
        require_printable(report)
        if "nan" in report.lower().replace("nanz", "").split():
            raise PromiseError("nan in a report")
    for data in (assessment.to_dict(), reactions_dict(assessment)):
        json.dumps(data, allow_nan=False)


def _require_balance_of_supports(assessment: Assessment, case: Any) -> None:
    """Joints and supports together give the reaction."""
    if len(case.joints) != len(assessment.study.joints) or not case.joints:
        return
    carried = [joint.reaction_force for joint in case.joints.values()] + [each.force for each in case.supports.values()]
    scale = max(float(np.max(np.abs(force))) for force in (*carried, *(load.force for load in case.loads), np.zeros(3)))
    left = sum(carried, np.zeros(3)) - case.reaction_force
    if not np.all(np.abs(left) <= BALANCE * scale):
        raise PromiseError(f"joints and supports carry {left} N too much, of {scale}")


def _ask_everything(path: Path, study: Study, draw: Random) -> None:
    """One of the commands, chosen by lot."""
    file = str(path)
    joint = ["--joint", next(iter(study.joints))] if study.joints else []
    option = ["--option", chosen_option(study, draw.choice([None, *study.supports]))] if study.supports else []
    asked = draw.choice(
        (
            ["check", file, "--json", "--one-lost", *option],
            ["check", file, "--one-lost", "--width", "80", *option],
            ["reactions", file, "--json", *option],
            ["supports", file],
            ["supports", file, "--json"],
            ["limits", file, "--points", "3", *option],
            ["boltup", file, "--json", *joint, *option],
            ["boltup", file, "-o", str(path.with_name("sheet.html")), "--force", *joint, *option],
            ["size", file, "--counts", "4,8", "--sizes", "M12,M16", *joint, *option],
            ["size", file, "--json", "--classes", "8.8,10.9", "--robust", *joint, *option],
            ["scatter", file, "--samples", "50", "--quiet", *option],
            ["scatter", file, "--samples", "50", "--json", "--truncate", "--quiet", *option],
            ["curve", file, "--points", "20", *option],
            ["curve", file, "--points", "20", "--json", *option],
        )
    )
    _ask_command(asked, EXIT_CODES)


def _ask_command(words: list[str], codes: tuple[int, ...]) -> None:
    """Run a command in this process; its exit code must be one of those agreed on, and its JSON strict."""
    done = CliRunner().invoke(commands, words)
    if done.exception is not None and not isinstance(done.exception, SystemExit):
        raise done.exception
    if done.exit_code not in codes:
        raise PromiseError(f"{words[0]}: exit code {done.exit_code}: {done.stderr[-300:]}")
    if "Usage:" in done.stderr:
        raise PromiseError(f"{words[0]}: {done.stderr}")
    if "--json" in words and done.exit_code != 2:
        json.loads(done.stdout, parse_constant=_no_constant)
    else:
        require_printable(done.stdout.replace("\x1b[1m", "").replace("\x1b[0m", "").replace("\r\n", "\n"))
    require_printable(done.stderr)


def _no_constant(word: str) -> float:
    raise PromiseError(f"{word} in JSON")


def parse_text(text: str) -> Study | None:
    """The study of a text, or None where it is refused in words."""
    try:
        return parse_case(text, "case.yaml")
    except CaseFileError as error:
        _require_words(error)
        return None
