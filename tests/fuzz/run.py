"""Runs the inputs in a process of their own with little memory, and counts what came of them.

Input ``i`` of seed ``s`` follows from (s, i) alone: ``--only i`` repeats it with its traceback. The process is ended and begun
again behind an input that takes longer than it may, or more memory.
"""

from __future__ import annotations

import argparse
import faulthandler
import json
import os
import resource
import signal
import subprocess
import sys
import tempfile
import time
import traceback
from collections import Counter
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from random import Random
from typing import Any

MEMORY = 500_000_000  # bytes that a process may have for its data
LONGEST = 5.0  # seconds of computing for one input
LISTS = 0.04  # share of the inputs that are lists of joints
DEEP = 0.08  # share of the judged case files that a command, chosen by lot, is asked about
JUDGED = 0.35  # share of the readable case files that are judged
FRESH = 20_000  # inputs of one process


class TooLong(BaseException):
    """Out of time; no ``except Exception`` may swallow it."""


def main() -> None:
    """Read the command line; run, or be the process that runs."""
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz", description=__doc__)
    parser.add_argument("--count", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--start", type=int, default=0)
    parser.add_argument("--only", type=int, help="repeat one input, showing it and its traceback")
    parser.add_argument("--keep", type=Path, help="folder for the inputs that break a promise")
    parser.add_argument("--big", action="store_true", help="the files of 50 MB instead")
    parser.add_argument("--worker", action="store_true", help=argparse.SUPPRESS)
    asked = parser.parse_args()
    if asked.big:
        from tests.fuzz import big_files

        sys.exit(0 if big_files.run() else 1)
    elif asked.only is not None:
        _repeat(asked.seed, asked.only)
    elif asked.worker:
        _work(asked.seed, asked.start, asked.count)
    else:
        sys.exit(_run(asked.seed, asked.start, asked.count, asked.keep))


def one(seed: int, number: int, folder: Path) -> str:
    """Make input ``number`` and judge it. Raises whatever breaks a promise."""
    from tests.fuzz import fuzz_case_file, fuzz_lists
    from tests.fuzz.judging import judge_case_file, judge_list, strict

    draw = Random(f"{seed}/{number}")
    listed = draw.random() < LISTS
    with strict():
        if listed:
            return f"list {judge_list(fuzz_lists.written(draw, folder), draw)}"
        return f"case file {judge_case_file(fuzz_case_file.make(draw), folder / 'case.yaml', draw, JUDGED, DEEP)}"


def _repeat(seed: int, number: int) -> None:
    with tempfile.TemporaryDirectory() as folder:
        try:
            print(one(seed, number, Path(folder)))
        finally:
            for path in sorted(Path(folder).iterdir()):
                print(f"--- {path.name}\n{path.read_bytes()[:20_000].decode('utf-8', 'backslashreplace')}")


def _limit() -> None:
    resource.setrlimit(resource.RLIMIT_DATA, (MEMORY, MEMORY))
    faulthandler.enable()

    def stop(*_: object) -> None:
        raise TooLong

    signal.signal(signal.SIGPROF, stop)


def _work(seed: int, start: int, count: int) -> None:
    """Judge inputs one after the other; a line of JSON for each broken promise, and one with the counts at the end."""
    _limit()
    came: Counter[str] = Counter()
    slowest = (0.0, -1)
    with tempfile.TemporaryDirectory() as folder:
        import tests.fuzz.judging  # noqa: F401  so that the first input is not charged for it

        for number in range(start, start + count):
            print(json.dumps({"at": number}), flush=True)
            faulthandler.dump_traceback_later(12 * LONGEST, exit=True)  # where not even a signal helps
            signal.setitimer(signal.ITIMER_PROF, LONGEST)
            began = time.process_time()
            try:
                came[one(seed, number, Path(folder))] += 1
            except (Exception, TooLong) as error:
                signal.setitimer(signal.ITIMER_PROF, 0.0)
                came["promise broken"] += 1
                print(json.dumps({"broken": number, **_told(error)}), flush=True)
            signal.setitimer(signal.ITIMER_PROF, 0.0)
            slowest = max(slowest, (time.process_time() - began, number))
            if number % 500 == 0 or number == start + count - 1:
                peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
                print(json.dumps({"counts": came, "slowest": slowest, "peak_kB": peak}), flush=True)
                came.clear()


def _told(error: BaseException) -> dict[str, str]:
    """What broke, and where in the house."""
    frames = traceback.extract_tb(error.__traceback__)
    own = [frame for frame in frames if "/anchorsize/" in frame.filename] or frames
    where = f"{Path(own[-1].filename).parent.name}/{Path(own[-1].filename).name}:{own[-1].lineno} {own[-1].name}"
    return {"error": f"{type(error).__name__}: {str(error)[:200]}", "where": where}


def _run(seed: int, start: int, count: int, keep: Path | None) -> int:
    """Run all inputs, in as many processes as it takes, one at a time."""
    began, end = datetime.now(UTC), start + count
    came: Counter[str] = Counter()
    broken: dict[tuple[str, str], list[int]] = {}
    slowest, peak = (0.0, -1), 0
    try:
        while start < end:
            before = start
            for line in _lines(seed, start, min(FRESH, end - start)):
                if "at" in line:
                    start = line["at"] + 1
                elif "broken" in line:
                    broken.setdefault((line["error"][:60], line["where"]), []).append(line["broken"])
                    print(f"broken: {line['broken']}: {line['error']} at {line['where']}", flush=True)
                elif "died" in line:
                    came["promise broken"] += 1
                    broken.setdefault(("process ended", line["died"]), []).append(start - 1)
                    print(f"broken: {start - 1}: the process ended: {line['died']}", flush=True)
                else:
                    came.update(line["counts"])
                    if sum(came.values()) % 5000 > 4500:
                        print(f"{sum(came.values())} inputs", file=sys.stderr, flush=True)
                    slowest, peak = max(slowest, tuple(line["slowest"])), max(peak, line["peak_kB"])
            if start == before:
                sys.exit("the process ended before its first input")
    except KeyboardInterrupt:
        count = sum(came.values())
    seconds = (datetime.now(UTC) - began).total_seconds()
    print(f"\n{count} inputs, seed {seed}, {began:%Y-%m-%d}, {seconds:.0f} s")
    for what, number in sorted(came.items()):
        print(f"  {what}: {number}")
    print(
        f"  slowest input: {slowest[0]:.2f} s of computing (number {slowest[1]}); most memory in use: {peak / 1000:.0f} MB"
    )
    for (error, where), numbers in sorted(broken.items(), key=lambda item: -len(item[1])):
        print(f"  {len(numbers)} × {error} at {where}, such as {numbers[:5]}")
    if keep is not None:
        _keep(seed, [numbers[0] for numbers in broken.values()], keep)
    return 1 if broken else 0


def _keep(seed: int, numbers: list[int], folder: Path) -> None:
    from tests.fuzz import fuzz_case_file, fuzz_lists

    folder.mkdir(parents=True, exist_ok=True)
    for number in numbers:
        draw = Random(f"{seed}/{number}")
        if draw.random() < LISTS:
            raw, suffix = fuzz_lists.make(draw)
        else:
            raw, suffix = fuzz_case_file.make(draw), ".yaml"
        (folder / f"{seed}-{number}{suffix}").write_bytes(raw)


def _lines(seed: int, start: int, count: int) -> Iterator[dict[str, Any]]:
    """What a process says, and how it died if it did."""
    words = [sys.executable, "-m", "tests.fuzz", "--worker", f"--seed={seed}", f"--start={start}", f"--count={count}"]
    few = dict.fromkeys(("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS"), "1")
    with tempfile.TemporaryFile("w+") as errors:
        process = subprocess.Popen(words, stdout=subprocess.PIPE, stderr=errors, text=True, env={**os.environ, **few})
        assert process.stdout is not None
        for line in process.stdout:
            yield json.loads(line)
        if process.wait() != 0:
            errors.seek(0)
            yield {"died": f"exit {process.returncode}: {errors.read()[-1500:]}"}
