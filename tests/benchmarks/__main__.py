"""``python -m tests.benchmarks [NAME …]`` prints every speed figure as a ratio within this one run.

Each ``bench_*.py`` beside this file offers ``run()`` → rows of (what, figure, remark). Figures are for reading, not for tests:
a busy machine moves them.
"""

from __future__ import annotations

import sys
from importlib import import_module
from pathlib import Path

from tabulate import tabulate


def main(names: list[str]) -> None:
    """Run the benchmarks named, or all, and print their rows as they come."""
    found = sorted(path.stem for path in Path(__file__).parent.glob("bench_*.py"))
    for name in found:
        if names and name.removeprefix("bench_") not in names:
            continue
        rows = import_module(f"tests.benchmarks.{name}").run()
        shown = [(what, f"{figure:,.4g}", remark) for what, figure, remark in rows]
        print(
            tabulate(shown, headers=[name.removeprefix("bench_"), "figure", "remark"], disable_numparse=True),
            end="\n\n",
        )


if __name__ == "__main__":
    main(sys.argv[1:])
