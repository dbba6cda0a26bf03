"""The whole report of an example, pictures and all, against importing what draws them; and the parts that are not pictures."""

from __future__ import annotations

import os
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
        asked = ["-c", COMMAND, str(EXAMPLE), "--force", "-o"]
        page = str(Path(folder) / "out.html")
        commands = {
            "report": [*asked, page, "--no-limits"],
            "report with limits": [*asked, page],
            "report --markdown": [*asked, str(Path(folder) / "out.md"), "--no-limits"],
            "baseline": ["-c", "import matplotlib.pyplot"],
        }
        # installed modules are compiled once; so are these, whatever the environment says and whether the tree can be written to
        compiled = {**os.environ, "PYTHONPYCACHEPREFIX": str(Path(folder) / "compiled")}
        compiled.pop("PYTHONDONTWRITEBYTECODE", None)
        times: dict[str, list[float]] = {name: [] for name in commands}
        for lap in range(1 + repeats):
            for name, command in commands.items():
                start = perf_counter()
                subprocess.run([sys.executable, *command], stdout=subprocess.DEVNULL, check=True, env=compiled)
                if lap > 0:  # the first compiles
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
            ("report with limits", "at most 3; the command as it stands"),
            ("report --markdown", "without limits and pictures"),
        )
    ]
