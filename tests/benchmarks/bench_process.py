"""Whole processes: ``check`` against importing what it needs anyway, ``--help`` against importing click."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from statistics import median
from time import perf_counter

EXAMPLE = Path(__file__).parents[2] / "examples" / "terrace_elbow.yaml"
PAIRS = (
    (
        "check of one file / importing numpy, pint, yaml, click and a unit registry",
        ["-m", "anchorsize", "check", str(EXAMPLE)],
        ["-c", "import numpy, pint, yaml, click; pint.UnitRegistry()"],
        "at most 1.5",
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
                subprocess.run([sys.executable, *command], stdout=subprocess.DEVNULL, check=True)
                kept.append(perf_counter() - start)
        remark = f"{remark}; {median(times[0]):.3f} s against {median(times[1]):.3f} s"
        rows.append((what, median(times[0]) / median(times[1]), remark))
    return rows
