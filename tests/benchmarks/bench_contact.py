"""Speed of the preloaded joint: 100 000 load cases × 12 bolts, against a scipy minimization of each case by itself.

The loads are invented. In the mild set nothing comes loose; in the hard set about half the joints open and bolts go slack.
The scipy side minimizes the same energy with its gradient, the face by quadrature (``tests/reference_joint.py``); the assembled
joint is solved once on either side.
"""

from __future__ import annotations

import math
import time
import tracemalloc
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from anchorsize.mechanics.contact import ContactResult, solve_preloaded_joint
from anchorsize.mechanics.face_integrals import Annulus
from tests.reference_joint import ReferenceJoint, Ring

ROWS = 100_000
BOLTS = 12
SCIPY_ROWS = 60
STIFFNESS, PRELOAD, MODULUS = 4e8, 30e3, 1e14  # [N/m], [N], [Pa/m]: numbers of ordinary size, metal to metal
INSIDE, OUTSIDE, CIRCLE = 0.115, 0.160, 0.180  # [m]

Array = NDArray[np.float64]


def pattern() -> Array:
    """Return the places (12, 2) of the bolts [m]."""
    angle = np.arange(BOLTS) * 2.0 * np.pi / BOLTS
    return 0.5 * CIRCLE * np.column_stack([np.cos(angle), np.sin(angle)])


def sampled_loads(hardness: float, rows: int = ROWS) -> Array:
    """Return invented loads (3, rows) N, M1, M2 [N, N·m]; hardness 1 opens about half of the joints."""
    scale = hardness * np.array([150e3, 8e3, 8e3])[:, None]
    return np.asarray(scale * np.random.default_rng(11).normal(size=(3, rows)))


def solve(loads: Array, preload: Array | float = PRELOAD) -> ContactResult:
    """Solve the joint of this benchmark for loads (3, rows)."""
    return solve_preloaded_joint(*loads, pattern(), STIFFNESS, preload, Annulus(INSIDE, OUTSIDE), MODULUS)


def best_of(work: Callable[[], object], times: int = 3) -> float:
    """Return the least time of several runs [s]."""
    least = math.inf
    for _ in range(times):
        start = time.perf_counter()
        work()
        least = min(least, time.perf_counter() - start)
    return least


def scipy_cases(loads: Array) -> Array:
    """Return the tensions (rows, 12) of cases solved one by one."""
    every = np.ones(BOLTS)
    joint = ReferenceJoint(pattern(), STIFFNESS * every, PRELOAD * every, Ring(INSIDE, OUTSIDE), MODULUS)
    closing = joint.assembled()
    return np.array([joint.under(load, closing)[0] for load in loads.T])


def run() -> list[tuple[str, float, str]]:
    """Return the rows (what, figure, remark)."""
    mild, hard = sampled_loads(0.1), sampled_loads(1.0)
    one_by_one = hard[:, :SCIPY_ROWS]
    start = time.perf_counter()
    expected = scipy_cases(one_by_one)
    per_case = (time.perf_counter() - start) / SCIPY_ROWS
    easy, full = best_of(lambda: solve(mild)), best_of(lambda: solve(hard))
    found = np.random.default_rng(12).uniform(0.6, 1.4, (ROWS, BOLTS)) * PRELOAD
    as_found = best_of(lambda: solve(hard, found))
    result = solve(hard)
    apart = float(np.max(np.abs(result.bolt_tension[:SCIPY_ROWS] - expected)) / (BOLTS * PRELOAD))
    tracemalloc.start()
    solve(hard)
    peak = tracemalloc.get_traced_memory()[1] / 1e6
    tracemalloc.stop()
    opened = float(np.mean(result.lift_off > 0.0))
    most = int(result.iterations.max())
    return [
        (
            "hard loads [s]",
            full,
            f"at most 1.5; {ROWS} cases × {BOLTS} bolts; {opened:.0%} open, at most {most} evaluations a case",
        ),
        ("mild loads [s]", easy, "nothing comes loose: one evaluation a case"),
        ("hard loads, every joint with its own preloads [s]", as_found, "assembled joint solved for every case"),
        (
            "times scipy, hard loads",
            per_case * ROWS / full,
            f"at least 1,000; scipy takes {per_case * 1e3:.1f} ms a case over {SCIPY_ROWS}",
        ),
        ("share of cases solved", float(np.mean(result.converged)), "hard loads"),
        ("greatest difference from scipy over ΣF", apart, "bolt tensions"),
        (
            "peak memory, hard loads [MB]",
            peak,
            f"of which {result.bolt_tension.nbytes / 1e6:.0f} MB are the bolt tensions",
        ),
    ]
