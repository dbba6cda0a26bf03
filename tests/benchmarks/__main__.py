"""``python -m tests.benchmarks [NAME …]`` prints every speed figure, and beside it the target it is held to.

Each ``bench_*.py`` beside this file offers ``run()`` → rows of (what, figure, remark). A remark that begins with "at most 3" or
"at least 1,000", up to a semicolon, states the target; others are for information. Figures are for reading, not for tests: a busy
machine moves them, and least of all those that are ratios within one run.
"""

from __future__ import annotations

import re
import sys
from importlib import import_module
from pathlib import Path

from tabulate import tabulate

TARGET = re.compile(r"(at most|at least) ([\d.,]*\d)\s*(?:;\s*|$)")


def shown(what: str, figure: float, remark: str) -> tuple[str, str, str, str, str]:
    """One row of the table: what, its figure, the target, whether it is met, the rest of the remark."""
    found = TARGET.match(remark)
    if found is None:
        return what, f"{figure:,.4g}", "", "", remark
    limit = float(found[2].replace(",", ""))
    met = figure <= limit if found[1] == "at most" else figure >= limit
    return what, f"{figure:,.4g}", f"{found[1]} {found[2]}", "met" if met else "not met", remark[found.end() :]


def main(names: list[str]) -> None:
    """Run the benchmarks named, or all, and print their rows as they come, then how many targets are met."""
    found = sorted(path.stem for path in Path(__file__).parent.glob("bench_*.py"))
    unknown = [name for name in names if f"bench_{name}" not in found]
    if unknown:
        sys.exit(
            f"no benchmark {', '.join(unknown)}; there are {', '.join(each.removeprefix('bench_') for each in found)}"
        )
    rows = []
    for name in found:
        title = name.removeprefix("bench_")
        if names and title not in names:
            continue
        made = [shown(*row) for row in import_module(f"tests.benchmarks.{name}").run()]
        headers = [title, "figure", "target", "", "remark"]
        print(tabulate(made, headers=headers, disable_numparse=True), end="\n\n", flush=True)
        rows += made
    held = [row[3] for row in rows if row[2]]
    print(f"{held.count('met')} of {len(held)} targets met")


if __name__ == "__main__":
    main(sys.argv[1:])
