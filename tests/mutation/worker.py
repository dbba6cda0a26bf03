"""A fork of the process that collected the tests: it measures tests, or tries one mutant after another.

It lives as long as it can, since forking a large process costs more than most mutants do. A mutant that comes to no end takes
the worker with it; whoever reads its answers starts another one behind that mutant.
"""

from __future__ import annotations

import gc
import importlib
import json
import os
import signal
import time
import traceback
from collections.abc import Callable, Iterable, Iterator
from types import CodeType
from typing import Any, NoReturn

import coverage
import pytest
from hypothesis import HealthCheck, Phase, settings

from tests.mutation.applying import put
from tests.mutation.tests_map import MECHANICS, Run, source_of

EXAMPLES = 15
_SETTINGS = "_hypothesis_internal_use_settings"


def few_examples(items: Iterable[pytest.Item], examples: int) -> None:
    """Let property tests try some examples, the same ones every time, and look for no smaller one that fails."""
    for item in items:
        function = getattr(item, "function", None)
        chosen = getattr(function, _SETTINGS, None)
        if chosen is not None:
            few = settings(
                chosen,
                max_examples=min(examples, chosen.max_examples),
                database=None,
                derandomize=True,
                deadline=None,
                phases=(Phase.explicit, Phase.generate),
                suppress_health_check=list(HealthCheck),
                report_multiple_bugs=False,
            )
            setattr(function, _SETTINGS, few)


class Tester:
    """Runs collected tests; its hook, registered with pytest, notes a failure without a picture of it."""

    def __init__(self) -> None:
        self.failed = False

    @pytest.hookimpl(tryfirst=True)
    def pytest_runtest_makereport(self, item: pytest.Item, call: pytest.CallInfo[None]) -> pytest.TestReport | None:
        error = call.excinfo.value if call.excinfo else None
        if error is None or isinstance(error, pytest.skip.Exception) or call.when == "collect":
            return None
        self.failed = True
        return pytest.TestReport(item.nodeid, item.location, {}, "failed", None, call.when)

    def passes(self, item: pytest.Item) -> bool:
        self.failed = False
        item.ihook.pytest_runtest_protocol(item=item, nextitem=None)
        return not self.failed

    def first_failure(self, items: list[pytest.Item]) -> str:
        """Return the name of the first test that fails, empty if all pass."""
        return next((item.nodeid for item in items if not self.passes(item)), "")

    def measure(self, items: list[pytest.Item]) -> Iterator[Run]:
        """Yield what each test reaches and takes."""
        tool = coverage.Coverage(data_file=None, include=[f"{MECHANICS}/*"], config_file=False)
        tool.set_option("run:disable_warnings", ["no-data-collected"])
        for item in items:
            tool.erase()
            tool.start()
            start = time.process_time()
            passed = self.passes(item)
            seconds = time.process_time() - start
            tool.stop()
            data = tool.get_data()
            lines = {path.stem: sorted(data.lines(str(path)) or []) for path in MECHANICS.glob("*.py")}
            reached = {module: found for module, found in lines.items() if found}
            yield Run(item.nodeid, source_of(item), round(seconds, 4), passed, reached)

    def notices(self, module_name: str, code: CodeType, items: list[pytest.Item], limit: float) -> tuple[bool, str]:
        """Return whether a fault is noticed and by which test; without one the module cannot even be imported."""
        module = importlib.import_module(f"anchorsize.mechanics.{module_name}")
        signal.setitimer(signal.ITIMER_PROF, limit)
        undo: list[Callable[[], None]] = []
        try:
            put(module, code, undo)
            by = self.first_failure(items)
        except Exception:
            return True, ""
        finally:
            signal.setitimer(signal.ITIMER_PROF, 0.0)
            for step in reversed(undo):
                step()
        return bool(by), by


def in_fork(work: Callable[[], Iterator[dict[str, Any]]]) -> Iterator[dict[str, Any]]:
    """Yield the answers of some work done in a fork; last of all how the fork ended, under ``ended``."""
    gc.freeze()
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(reading)
        _become(work, writing)
    os.close(writing)
    with os.fdopen(reading, "r") as pipe:
        for line in pipe:
            yield json.loads(line)
    _, status = os.waitpid(child, 0)
    yield {"ended": os.waitstatus_to_exitcode(status)}


def _become(work: Callable[[], Iterator[dict[str, Any]]], writing: int) -> NoReturn:
    """Go on as the fork, silent, and gone when the work is done."""
    said = os.dup(2)
    nowhere = os.open(os.devnull, os.O_RDWR)
    for stream in (0, 1, 2):
        os.dup2(nowhere, stream)
    signal.signal(signal.SIGPROF, signal.SIG_DFL)
    try:
        for answer in work():
            os.write(writing, (json.dumps(answer) + "\n").encode())
    except BaseException:
        os.write(said, traceback.format_exc().encode())
        os._exit(3)
    os._exit(0)
