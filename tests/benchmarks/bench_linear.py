"""Speed of the linear joint checks against a scalar Python loop and against C at -O2, on one machine in one run.

One million samples of the loads on a joint of twelve bolts; greatest tension, shear and interaction of each sample.
"""

from __future__ import annotations

import ctypes
import math
import shutil
import subprocess
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from anchorsize.mechanics import bolt_rows, frames

ROWS = 1_000_000
BOLTS = 12
PYTHON_ROWS = 2_000
TENSION_CAPACITY, SHEAR_CAPACITY = 24.6e3, 14.9e3  # [N]: numbers of ordinary size, of no particular bolt
C_SOURCE = Path(__file__).with_name("linear.c")

Array = NDArray[np.float64]


def sampled_loads(rows: int) -> Array:
    """Return invented loads (6, rows) in the order N, M1, M2, V1, V2, T [N, N·m]."""
    scale = np.array([60e3, 2e3, 2e3, 8e3, 8e3, 900.0])[:, None]
    return np.ascontiguousarray(scale * np.random.default_rng(20).normal(1.0, 0.4, size=(6, rows)))


def best_of(work: Callable[[], object], times: int) -> float:
    """Return the least time of several runs [s]."""
    least = math.inf
    for _ in range(times):
        start = time.perf_counter()
        work()
        least = min(least, time.perf_counter() - start)
    return least


def scalar_loop(loads: Array, xy: Array) -> list[tuple[float, float, float]]:
    """Return the same three results per row from plain Python numbers, as one would write them by hand."""
    places = [(float(x), float(y)) for x, y in xy]
    count = len(places)
    cx, cy = sum(x for x, _ in places) / count, sum(y for _, y in places) / count
    xx = sum((x - cx) ** 2 for x, _ in places)
    yy = sum((y - cy) ** 2 for _, y in places)
    cross = sum((x - cx) * (y - cy) for x, y in places)
    det, polar = xx * yy - cross * cross, xx + yy
    results = []
    for N, M1, M2, V1, V2, T in loads.T.tolist():
        along_x, along_y = M2 - N * cx, -M1 - N * cy
        slope_x = (yy * along_x - cross * along_y) / det
        slope_y = (xx * along_y - cross * along_x) / det
        twist = (-T - (cx * V2 - cy * V1)) / polar
        most_t, most_s, most_i = -math.inf, 0.0, 0.0
        for x, y in places:
            t = N / count + slope_x * (x - cx) + slope_y * (y - cy)
            s = math.hypot(V1 / count - twist * (y - cy), V2 / count + twist * (x - cx))
            both = math.hypot(max(t, 0.0) / TENSION_CAPACITY, s / SHEAR_CAPACITY)
            most_t, most_s, most_i = max(most_t, t), max(most_s, s), max(most_i, both)
        results.append((most_t, most_s, most_i))
    return results


def compiled(folder: Path) -> Callable[[Array, Array], Array] | None:
    """Compile linear.c at -O2 and return it as a function of loads and places; ``None`` where there is no gcc."""
    compiler = shutil.which("gcc")
    if compiler is None:
        return None
    library = folder / "linear.so"
    subprocess.run([compiler, "-O2", "-shared", "-fPIC", "-o", library, C_SOURCE, "-lm"], check=True)
    function = ctypes.CDLL(str(library)).greatest
    function.restype = None
    pointer = ctypes.POINTER(ctypes.c_double)

    def call(loads: Array, xy: Array) -> Array:
        rows = loads.shape[1]
        x, y, out = np.ascontiguousarray(xy[:, 0]), np.ascontiguousarray(xy[:, 1]), np.empty((3, rows))
        function(
            ctypes.c_long(rows), ctypes.c_int(len(x)),
            *(array.ctypes.data_as(pointer) for array in (loads, x, y)),
            ctypes.c_double(TENSION_CAPACITY), ctypes.c_double(SHEAR_CAPACITY),
            *(out[result].ctypes.data_as(pointer) for result in range(3)),
        )  # fmt: skip
        return out

    return call


def run() -> list[tuple[str, float, str]]:
    """Return (name, figure, remark) of each measurement; raises AssertionError if the three ways disagree."""
    loads = sampled_loads(ROWS)
    xy, _ = frames.circle_positions(BOLTS, 0.24, 0.1)
    weight = np.ones(BOLTS)

    def kernel() -> bolt_rows.Greatest:
        return bolt_rows.greatest(*loads, xy, weight, TENSION_CAPACITY, SHEAR_CAPACITY)

    few = np.ascontiguousarray(loads[:, :PYTHON_ROWS])
    np.testing.assert_allclose(np.array(kernel())[:, :PYTHON_ROWS].T, scalar_loop(few, xy), rtol=1e-9)
    numpy_time = best_of(kernel, 5)
    python_time = best_of(lambda: scalar_loop(few, xy), 3) * ROWS / PYTHON_ROWS
    report = [
        ("linear checks, seconds per million rows", numpy_time, f"{BOLTS} bolts"),
        ("linear checks, times a scalar Python loop", python_time / numpy_time, "at least 100"),
    ]
    with tempfile.TemporaryDirectory() as folder:
        in_c = compiled(Path(folder))
        if in_c is not None:
            np.testing.assert_allclose(in_c(loads, xy), np.array(kernel()), rtol=1e-9)
            c_time = best_of(lambda: in_c(loads, xy), 5)
            report.append(("linear checks, time over that of C at -O2", numpy_time / c_time, "at most 3"))
    return report


if __name__ == "__main__":
    for name, figure, remark in run():
        print(f"{name:45s} {figure:10.4g}   {remark}")
