"""Count the faults that the tests notice.

One process imports everything and collects the tests; a fork of it puts each fault into the imported module, runs the tests
known to reach the changed lines, likeliest and cheapest first, until one fails, and takes the fault out again.
"""

from __future__ import annotations

import argparse
import ast
import functools
import json
import signal
import sys
import tempfile
import time
from collections import Counter, defaultdict
from collections.abc import Iterator
from dataclasses import asdict
from pathlib import Path
from types import CodeType
from typing import Any, NamedTuple

import pytest

from tests.mutation.applying import acts_at_import, compiled
from tests.mutation.mutants import Mutant, mutate
from tests.mutation.tests_map import MECHANICS, Run, TestsMap
from tests.mutation.worker import EXAMPLES, Tester, few_examples, in_fork

FIRST = ["tests/mechanics"]
SECOND = [
    "tests/test_second_reading.py",
    "tests/test_second_reading_found.py",
    "tests/test_second_reading_joint.py",
    "tests/test_second_reading_supports.py",
    "tests/test_assessment.py",
    "tests/test_clamped_joint.py",
    "tests/test_support_checks.py",
    "tests/test_torque.py",
    "tests/test_extremes.py",
    "tests/test_supports.py",
]
TEMPORARY = Path(tempfile.gettempdir()) / "anchorsize-mutation"


class Results:
    """Outcomes on file, the last one of each mutant counts."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.of: dict[str, dict[str, Any]] = {}
        if path.exists():
            for line in path.read_text().splitlines():
                entry = json.loads(line)
                self.of[entry["key"]] = entry

    def add(self, mutant: Mutant, answer: dict[str, Any]) -> None:
        entry: dict[str, Any] = {
            "key": mutant.key,
            "module": mutant.module,
            "function": mutant.function,
            "line": mutant.line,
            "operator": mutant.operator,
            "before": mutant.before,
            "after": mutant.after,
            **answer,
        }
        self.of[mutant.key] = entry
        self.path.parent.mkdir(parents=True, exist_ok=True)
        with self.path.open("a") as file:
            file.write(json.dumps(entry, ensure_ascii=False) + "\n")

    def survived(self, key: str) -> bool:
        return self.of.get(key, {}).get("outcome") == "survived"


class Order:
    """Tests of a mutant, most promising for their time first.

    What noticed faults of the same function stands in front, and a test of one module before one that runs through many.
    """

    def __init__(self, results: Results) -> None:
        self.caught: defaultdict[tuple[str, str], Counter[str]] = defaultdict(Counter)
        for entry in results.of.values():
            self.learn(entry["module"], entry["function"], entry["by"])

    def learn(self, module: str, function: str, test: str) -> None:
        if test:
            self.caught[module, function][test] += 1
            self.caught[module, ""][test] += 1

    def order(self, mutant: Mutant, runs: list[Run]) -> list[Run]:
        near, far = self.caught[mutant.module, mutant.function], self.caught[mutant.module, ""]

        def cost(run: Run) -> float:
            return (run.seconds + 0.005) * len(run.lines) / (1.0 + 5.0 * near[run.test] + far[run.test])

        return sorted(runs, key=cost)


class Attempt(NamedTuple):
    """A mutant ready to be tried."""

    mutant: Mutant
    code: CodeType
    runs: list[Run]


class Runner:
    """A plug-in of pytest that takes the place of its loop over the tests."""

    def __init__(self, options: argparse.Namespace) -> None:
        self.options = options
        self.tester = Tester()
        self.results = Results(options.results)
        self.order = Order(self.results)
        self.items: dict[str, pytest.Item] = {}

    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        if session.testsfailed:
            raise session.Interrupted("the tests cannot be collected")
        session.config.pluginmanager.register(self.tester)
        few_examples(session.items, 100 if self.options.again else EXAMPLES)
        self.items = {item.nodeid: item for item in session.items}
        tests = TestsMap(self.options.map)
        self._measure(tests, session.items)
        for module in modules(self.options.modules):
            self._try(list(self._attempts(module, tests)))
            _say(f"{module} done")
        return True

    def _measure(self, tests: TestsMap, items: list[pytest.Item]) -> None:
        missing = tests.missing(items)
        for answer in in_fork(lambda: (asdict(run) for run in self.tester.measure(missing))):
            if "ended" in answer:
                assert answer["ended"] == 0, "the tests cannot be measured"
            else:
                run = Run(**answer)
                tests.add(run)
                if not run.passed:
                    _say(f"fails without a fault: {run.test}")
        _say(
            f"{len(missing)} tests measured, {sum(run.seconds for run in tests.runs.values()):.0f} s of computing in all"
        )

    def _wanted(self, mutant: Mutant) -> bool:
        if self.options.only and self.options.only not in mutant.key:
            return False
        return self.results.survived(mutant.key) if self.options.again else mutant.key not in self.results.of

    def _attempts(self, module: str, tests: TestsMap) -> Iterator[Attempt]:
        tree, touching = tree_of(module), tests.touching(module)
        for mutant in mutate(module, tree):
            if not self._wanted(mutant):
                continue
            reaching = touching if acts_at_import(tree, mutant.top) else tests.covering(module, mutant.lines)
            runs = [run for run in reaching if run.test in self.items]
            yield Attempt(mutant, compiled(tree, mutant.top, str(MECHANICS / f"{module}.py")), runs)

    def _try(self, attempts: list[Attempt]) -> None:
        """Try mutants in a worker, in another one from the next mutant on whenever one comes to no end."""
        while attempts:
            tried = 0
            for answer in in_fork(functools.partial(map, self._answer, attempts)):
                if "ended" not in answer:
                    self._note(attempts[tried].mutant, answer)
                    tried += 1
                elif answer["ended"]:
                    no_end = answer["ended"] == -signal.SIGPROF
                    outcome = "no end" if no_end else f"ended {answer['ended']}"
                    self._note(attempts[tried].mutant, {"outcome": outcome, "by": "", "tests": 0, "seconds": 0.0})
                    tried += 1
            attempts = attempts[tried:]

    def _answer(self, attempt: Attempt) -> dict[str, Any]:
        mutant = attempt.mutant
        runs = affordable(self.order.order(mutant, attempt.runs), self.options.budget)
        start = time.process_time()
        items = [self.items[run.test] for run in runs]
        noticed, by = self.tester.notices(mutant.module, attempt.code, items, _limit(runs))
        self.order.learn(mutant.module, mutant.function, by)
        outcome = "noticed" if noticed else "survived"
        return {"outcome": outcome, "by": by, "tests": len(runs), "seconds": round(time.process_time() - start, 3)}

    def _note(self, mutant: Mutant, answer: dict[str, Any]) -> None:
        self.results.add(mutant, answer)
        self.order.learn(mutant.module, mutant.function, answer["by"])
        if answer["outcome"] not in ("noticed", "no end"):
            _say(f"{answer['outcome']} after {answer['tests']} tests: line {mutant.line} {mutant.key}")


def affordable(runs: list[Run], budget: float) -> list[Run]:
    """Return the first runs that take no more than a budget of computing together, without those that do not fit."""
    chosen, left = [], budget
    for run in runs:
        if run.seconds <= left:
            chosen.append(run)
            left -= run.seconds
    return chosen


def _limit(runs: list[Run]) -> float:
    """Return the computing [s] after which a mutant counts as noticed: it does not come to an end."""
    return 10.0 + 15.0 * sum(run.seconds for run in runs)  # with five times the examples, and room


def tree_of(module: str) -> ast.Module:
    return ast.parse((MECHANICS / f"{module}.py").read_text())


def modules(wanted: list[str]) -> Iterator[str]:
    """Yield the names of the modules, all of them unless some are wanted."""
    known = sorted(path.stem for path in MECHANICS.glob("*.py") if path.stem != "__init__")
    for name in wanted:
        if name not in known:
            sys.exit(f"no module {name} in the mechanics; there are: {', '.join(known)}")
    yield from wanted or known


def _say(text: str) -> None:
    print(text, file=sys.__stderr__, flush=True)


def show(options: argparse.Namespace) -> None:
    """Print the mutants that survived and a table of numbers."""
    results = Results(options.results)
    lines, totals = [], Counter[str]()
    for module in modules(options.modules):
        counts: Counter[str] = Counter()
        for mutant in mutate(module, tree_of(module)):
            outcome = str(results.of.get(mutant.key, {}).get("outcome", "not tried"))
            counts["survived" if outcome == "survived" else "not tried" if outcome == "not tried" else "noticed"] += 1
            if outcome == "survived" and not options.table:
                print(f"{mutant.module}.py:{mutant.line}  {mutant.key}")
        totals.update(counts)
        lines.append((module, counts))
    print("\n| module | mutants | noticed | survived | not tried |\n|---|---|---|---|---|")
    for module, counts in [*lines, ("all", totals)]:
        row = [counts.total(), counts["noticed"], counts["survived"], counts["not tried"]]
        print(f"| {module} | {' | '.join(str(number) for number in row)} |")


def main() -> None:
    """Read the command line; try mutants, or show what was found."""
    parser = argparse.ArgumentParser(prog="python -m tests.mutation", description=__doc__)
    parser.add_argument("modules", nargs="*", help="modules of anchorsize/mechanics, all unless named")
    parser.add_argument("--show", action="store_true", help="list survivors and numbers, try nothing")
    parser.add_argument("--table", action="store_true", help="with --show: the numbers only")
    parser.add_argument(
        "--again", action="store_true", help="try the survivors again, with all the examples of each test"
    )
    parser.add_argument("--only", metavar="TEXT", help="only mutants whose key holds this text")
    parser.add_argument("--first", action="store_true", help="only the tests of the mechanics themselves")
    parser.add_argument("--budget", type=float, default=4.0, help="computing for the tests of one mutant [s]")
    parser.add_argument("--results", type=Path, default=TEMPORARY / "results.jsonl")
    parser.add_argument("--map", type=Path, default=TEMPORARY / "map.jsonl")
    options = parser.parse_args()
    if options.show:
        show(options)
        return
    files = FIRST if options.first else FIRST + SECOND
    plain = [
        "-q",
        "-o",
        "addopts=",
        "-p",
        "no:cacheprovider",
        "-p",
        "no:xdist",
        "-p",
        "no:pytest_cov",
        "-s",
        "--tb=no",
        "--assert=plain",
    ]
    sys.exit(pytest.main([*plain, *files], plugins=[Runner(options)]))
