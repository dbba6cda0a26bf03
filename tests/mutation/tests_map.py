"""Which lines of the mechanics every test runs, and how long it takes: measured once, again for what has changed."""

from __future__ import annotations

import hashlib
import inspect
import json
import re
from collections.abc import Iterable
from dataclasses import asdict, dataclass
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
MECHANICS = ROOT / "anchorsize" / "mechanics"


@dataclass(frozen=True)
class Run:
    """One test as it ran without any fault."""

    test: str
    source: str
    """Digest of the test function."""
    seconds: float
    """Of computing."""
    passed: bool
    lines: dict[str, list[int]]
    """Of each module of the mechanics."""


def digest(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def source_of(item: pytest.Item) -> str:
    function = getattr(item, "function", None)
    inner = getattr(getattr(function, "hypothesis", None), "inner_test", function)
    return digest(inspect.getsource(inner)) if inner is not None else ""


def module_digests() -> dict[str, str]:
    return {path.stem: digest(path.read_text()) for path in sorted(MECHANICS.glob("*.py"))}


class TestsMap:
    """The runs on file: a line of module digests whenever these change, and a line for every run."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.runs: dict[str, Run] = {}
        self.known: dict[str, str] = {}
        if path.exists():
            for line in path.read_text().splitlines():
                entry = json.loads(line)
                if "modules" in entry:
                    self._forget(entry["modules"])
                else:
                    self.runs[entry["test"]] = Run(**entry)
        now = module_digests()
        if now != self.known:
            self._forget(now)
            self._write({"modules": now})

    def _forget(self, now: dict[str, str]) -> None:
        """Drop the runs that touched a module that has changed."""
        changed = {name for name in {*self.known, *now} if self.known.get(name) != now.get(name)}
        self.runs = {test: run for test, run in self.runs.items() if not changed.intersection(run.lines)}
        self.known = now

    def _write(self, entry: object) -> None:
        self.path.parent.mkdir(parents=True, exist_ok=True)
        with self.path.open("a") as file:
            file.write(json.dumps(entry) + "\n")

    def missing(self, items: Iterable[pytest.Item]) -> list[pytest.Item]:
        """Return the tests that have to be measured."""
        found = {item: self.runs.get(item.nodeid) for item in items}
        return [item for item, run in found.items() if run is None or run.source != source_of(item)]

    def add(self, run: Run) -> None:
        self.runs[run.test] = run
        self._write(asdict(run))

    def covering(self, module: str, lines: tuple[int, int]) -> list[Run]:
        """Return the tests that run any of the lines of a module, and pass."""
        wanted = set(range(lines[0], lines[1] + 1))
        return [run for run in self.runs.values() if run.passed and wanted.intersection(run.lines.get(module, ()))]

    def touching(self, module: str) -> list[Run]:
        """Return the tests that run any line of a module or stand in a file that names it, and pass.

        The lines of constants run when the module is imported, whatever the test.
        """
        word = re.compile(rf"\b{module}\b")
        files = {run.test.split("::")[0] for run in self.runs.values()}
        naming = {file for file in files if (ROOT / file).exists() and word.search((ROOT / file).read_text())}
        return [
            run
            for run in self.runs.values()
            if run.passed and (module in run.lines or run.test.split("::")[0] in naming)
        ]
