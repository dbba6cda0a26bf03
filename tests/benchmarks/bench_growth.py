"""How time and memory grow with the samples of one file, 10³ to 10⁷: each size in a process of its own.

The samples go through the batched evaluation in blocks, with every check of every case; what is kept is the share of them in
which each check fails. The peak is the process's greatest resident memory, interpreter and libraries included.
"""

from __future__ import annotations

import json
import resource
import subprocess
import sys
import time
from pathlib import Path

EXAMPLE = Path(__file__).parents[2] / "examples" / "terrace_elbow.yaml"
SIZES = tuple(10**power for power in range(3, 8))
BLOCK = 10_000
SCATTERED = ("openings/inlet/bore", "fitting/mass", "cases/full flow/inlet/flow_in", "cases/full flow/inlet/pressure")


def judge(samples: int) -> dict[str, float]:
    """Return seconds and peak megabytes of judging so many samples, in this process."""
    import numpy as np

    from anchorsize.casefile.parse import CaseText
    from anchorsize.studies.rows import judge_rows

    text = CaseText(EXAMPLE.read_text(), str(EXAMPLE))
    middle = {path: float(text.quantities[path].si) for path in SCATTERED}
    draw, failed, seconds = np.random.default_rng(41), 0, 0.0
    start = time.perf_counter()
    for begun in range(0, samples, BLOCK):
        rows = min(BLOCK, samples - begun)
        spread = {path: value * draw.normal(1.0, 0.05, rows) for path, value in middle.items()}
        failed += np.sum(judge_rows(text.study(spread), (rows,)).utilization > 1.0, axis=1)
    seconds = time.perf_counter() - start
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024 / 1e6
    return {"seconds": seconds, "megabytes": peak, "failed": int(np.sum(failed))}


def run() -> list[tuple[str, float, str]]:
    """Return the rows (what, figure, remark)."""
    found = {}
    for size in SIZES:
        command = [sys.executable, "-m", "tests.benchmarks.bench_growth", str(size)]
        out = subprocess.run(command, capture_output=True, text=True, check=True, cwd=EXAMPLE.parents[1])
        found[size] = json.loads(out.stdout)
    rows = []
    for size, made in found.items():
        rows.append((f"{size:,} samples [s]", made["seconds"], f"{made['seconds'] / size * 1e6:.3g} µs a sample"))
        limit = "at most 1000" if size == SIZES[-1] else ""
        rows.append((f"{size:,} samples, peak memory [MB]", made["megabytes"], limit))
    per_sample = {size: made["seconds"] / size for size, made in found.items()}
    most, before = SIZES[-1], SIZES[-3]
    rows.append(
        (f"time a sample, {most:,} over {before:,}", per_sample[most] / per_sample[before], "at most 1.5; 1 is linear")
    )
    return rows


if __name__ == "__main__":
    print(json.dumps(judge(int(sys.argv[1]))))
