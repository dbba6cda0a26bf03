"""Pictures drawn by a second process are those drawn by the first, and a second process that fails costs nothing but time."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from anchorsize.assessment import assess
from anchorsize.casefile import parse_case
from anchorsize.present.report import drawing as room
from anchorsize.present.report.blocks import Picture, Prose
from anchorsize.present.report.drawing import Drawing
from anchorsize.present.report.pictures import drawn, drawn_study, follow, orders
from anchorsize.studies.limits import Ask, limits
from anchorsize.studies.supports import compare
from tests.test_worked_steps import BENT, CASES

LINUX = pytest.mark.skipif(sys.platform != "linux", reason="a second process is forked on Linux only")
COMMAND = "import sys; from anchorsize.cli.report import report; report(sys.argv[1:])"
FORKED = """
import os, sys
from anchorsize.cli.report import report
forks, fork = [], os.fork
def counted():
    forks.append(1)
    return fork()
os.fork = counted
try:
    report(sys.argv[1:])
finally:
    print("second processes:", len(forks))
"""
"""The command, and how many second processes it started."""


@pytest.fixture(scope="module")
def assessment():
    return assess(parse_case(CASES["supported"], "t.yaml"))


@pytest.fixture(scope="module")
def further(assessment):
    """The other studies of which a report shows a picture."""
    case = next(iter(assessment.cases))
    return [
        compare(assessment.study),
        limits(assessment.study, Ask(points=3, cases=(case,)), assessment.option),
        follow(assessment),
    ]


def forked(monkeypatch: pytest.MonkeyPatch) -> None:
    """Have a second process started although the tests run with other threads."""
    monkeypatch.setattr(room, "can_fork", lambda: True)


def alone(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(room, "can_fork", lambda: False)


@LINUX
@pytest.mark.parametrize("process", [forked, alone])
def test_every_picture_is_the_one_that_is_drawn_here(assessment, further, process, monkeypatch):
    process(monkeypatch)
    with Drawing() as drawing:
        drawing.begin(assessment)
        for found in further:
            drawing.also(found)
        made = {order: drawing.blocks(*order) for order in orders(assessment)}
        studies = [drawing.of_study(found) for found in further]
    assert made == {order: drawn(assessment, order) for order in orders(assessment)}
    assert studies == [drawn_study(found) for found in further]
    blocks = [block for each in (*made.values(), *studies) for block in each]
    assert all(isinstance(block, (Picture, Prose)) for block in blocks)
    assert sum(isinstance(block, Picture) for block in blocks) > len(assessment.cases)


@LINUX
@pytest.mark.parametrize("when", ["at once", "after the assessment", "after the other studies"])
def test_what_a_dead_process_owes_is_drawn_here(assessment, further, when, monkeypatch):
    forked(monkeypatch)
    compared = further[0]
    with Drawing() as drawing:
        second = drawing._second
        assert second is not None

        def kill() -> None:
            os.kill(second._pid, signal.SIGKILL)
            os.waitid(os.P_PID, second._pid, os.WEXITED | os.WNOWAIT)  # dead, and still to be waited for

        if when == "at once":
            kill()
        drawing.begin(assessment)
        if when == "after the assessment":
            kill()
        drawing.also(compared)
        if when == "after the other studies":
            kill()
        case = next(iter(assessment.cases))
        assert drawing.blocks("side", case) == drawn(assessment, ("side", case))
        assert drawing.of_study(compared) == drawn_study(compared)


@LINUX
def test_no_process_is_left_behind(monkeypatch):
    forked(monkeypatch)
    with Drawing() as drawing:  # and left before anything was read, as where the case file is bad
        second = drawing._second
        assert second is not None
    with pytest.raises(ChildProcessError):  # it has been waited for
        os.waitpid(second._pid, os.WNOHANG)


@LINUX
def test_the_command_writes_the_same_page_with_one_processor_and_with_two(tmp_path: Path):
    file = tmp_path / "bent.yaml"
    file.write_text(BENT, encoding="utf-8")
    mine = sorted(os.sched_getaffinity(0))
    pages = []
    for count in (1, 2):
        page = tmp_path / f"{count}.html"
        ended = subprocess.run(
            [sys.executable, "-c", FORKED, str(file), "-o", str(page)],
            env={**os.environ, "SOURCE_DATE_EPOCH": "0"},
            preexec_fn=lambda count=count: os.sched_setaffinity(0, mine[:count]),
            capture_output=True,
            text=True,
        )
        assert ended.returncode in (0, 1, 3), ended.stderr
        assert f"second processes: {min(count, len(mine)) - 1}" in ended.stdout
        assert not ended.stderr
        pages.append(page.read_bytes())
    assert pages[0] == pages[1]


@LINUX
def test_a_file_that_cannot_be_read_is_told_as_ever(tmp_path: Path):
    (tmp_path / "bad.yaml").write_text("case_file: 1\nnonsense: 2\n", encoding="utf-8")
    ended = subprocess.run(
        [sys.executable, "-c", COMMAND, str(tmp_path / "bad.yaml"), "-o", str(tmp_path / "x.html")],
        capture_output=True,
        text=True,
    )
    assert ended.returncode == 2
    assert "nonsense" in ended.stderr
    assert "Traceback" not in ended.stderr
    assert not (tmp_path / "x.html").exists()


def test_the_second_process_imports_nothing_that_reads_case_files():
    """It has to be ready to draw when the first has read the file, and reading is what takes longest to import."""
    code = (
        "import sys\nfrom anchorsize.present.report import drawing, pictures\ndrawing._import_what_draws()\n"
        "assert 'matplotlib' in sys.modules\n"
        "assert not {'pydantic', 'yaml', 'pandas', 'anchorsize.casefile'} & set(sys.modules)"
    )
    subprocess.run([sys.executable, "-c", code], check=True)
