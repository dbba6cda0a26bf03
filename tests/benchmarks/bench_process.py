"""Whole processes: ``check`` against importing what it needs anyway, ``--help`` against importing click."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from statistics import median
from time import perf_counter

EXAMPLES = Path(__file__).parents[2] / "examples"
IMPORTS = ["-c", "import numpy, pint, yaml, click; pint.UnitRegistry()"]
PAIRS = (
    *(
        (
            f"check of {file} / importing numpy, pint, yaml, click and a unit registry",
            ["-m", "anchorsize", "check", str(EXAMPLES / file)],
            IMPORTS,
            "at most 1.5",
        )
        for file in ("terrace_elbow.yaml", "wye_missing_bolt.yaml")
    ),
    ("--help / importing click", ["-m", "anchorsize", "--help"], ["-c", "import click"], "at most 2"),
)


def run(repeats: int = 9) -> list[tuple[str, float, str]]:
    """Ratios of median times; the two of a pair take turns, so that a busy spell hits both."""
    rows = []
    for what, ours, baseline, remark in PAIRS:
        times: tuple[list[float], list[float]] = ([], [])
        for _ in range(repeats):
            for command, kept in zip((ours, baseline), times, strict=True):
                start = perf_counter()
                ended = subprocess.run([sys.executable, *command], stdout=subprocess.DEVNULL)
                kept.append(perf_counter() - start)
                assert ended.returncode in (0, 1, 3)  # a verdict, whichever it is
        remark = f"{remark}; {median(times[0]):.3f} s against {median(times[1]):.3f} s"
        rows.append((what, median(times[0]) / median(times[1]), remark))
    return rows
