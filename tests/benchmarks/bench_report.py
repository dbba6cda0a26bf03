"""The whole report of an example, pictures and all, against importing what draws them; and the parts that are not pictures."""

from __future__ import annotations

import subprocess
import sys
import tempfile
from pathlib import Path
from statistics import median
from time import perf_counter

EXAMPLE = Path(__file__).parents[2] / "examples" / "terrace_elbow.yaml"
COMMAND = "import sys; from anchorsize.cli.report import report; report(sys.argv[1:])"


def run(repeats: int = 7) -> list[tuple[str, float, str]]:
    """Ratios of median times; the commands take turns, so that a busy spell hits all of them."""
    with tempfile.TemporaryDirectory(prefix="anchorsize-report-") as folder:
        everything = ["-c", COMMAND, str(EXAMPLE), "--force", "-o", str(Path(folder) / "out")]
        written = [*everything, "--no-limits"]
        commands = {
            "report": written,
            "report with limits": everything,
            "report --markdown": [*written, "--markdown"],
            "baseline": ["-c", "import matplotlib.pyplot"],
        }
        times: dict[str, list[float]] = {name: [] for name in commands}
        for _ in range(repeats):
            for name, command in commands.items():
                start = perf_counter()
                subprocess.run([sys.executable, *command], stdout=subprocess.DEVNULL, check=True)
                times[name].append(perf_counter() - start)
    base = median(times["baseline"])
    return [
        (
            f"{name} of one file / importing matplotlib.pyplot",
            median(times[name]) / base,
            f"{wanted}; {median(times[name]):.3f} s against {base:.3f} s",
        )
        for name, wanted in (
            ("report", "at most 3; without limits"),
            ("report with limits", "they are a study of their own"),
            ("report --markdown", "without limits and pictures"),
        )
    ]
