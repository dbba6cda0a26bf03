"""Speed of the limits: every end of what holds, against asking ``scipy.optimize.brentq`` for one end by single evaluations.

The cases are the invented examples. The scipy side finds the greatest flow of one case only; the limits find the ends of every
check on both lines through the case's own point, and with 41 lines each way the boundary of the plane as well.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
from scipy.optimize import brentq

from anchorsize.assessment import evaluate
from anchorsize.casefile import read_case
from anchorsize.studies.curve import scaled
from anchorsize.studies.limits import Ask, limits
from anchorsize.study import Study

EXAMPLES = Path(__file__).parent.parent.parent / "examples"
CASES = (("terrace_elbow.yaml", "full flow"), ("wye_missing_bolt.yaml", "both branches"))


def seconds(work: Callable[[], object]) -> float:
    """Return the least time of three runs [s]."""
    times = []
    for _ in range(3):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return min(times)


def one_by_one(study: Study, case: str, layout: set[str]) -> float:
    """Return the greatest flow, as a multiple of the case's own, by single evaluations."""

    def over(multiple: float) -> float:
        found = evaluate(scaled(study, case, multiple, 1.0))[case]
        return max(float(check.utilization) for check in found.checks if check.check not in layout) - 1.0

    return float(brentq(over, 1.0, 100.0, rtol=1e-9))


def rows_of(name: str, case: str) -> list[tuple[str, float, str]]:
    """Return the rows of one case of an example."""
    study = read_case(EXAMPLES / name)
    study = replace(study, cases={case: study.cases[case]})
    found = limits(study, Ask(points=0)).cases[case]
    spans = [span for each in found.checks for span in (each.flow, each.pressure) if span is not None]
    layout = {each.check for each in found.fixed}
    greatest = np.nan if found.flow is None or found.flow.greatest is None else found.flow.greatest
    apart = abs(greatest / found.own_flow / one_by_one(study, case, layout) - 1.0)
    return [
        (
            f"{name}: own lines [s]",
            seconds(lambda: limits(study, Ask(points=0))),
            f"{sum(len(span.intervals) for span in spans)} intervals of {len(found.checks)} checks",
        ),
        (
            f"{name}: with the boundary [s]",
            seconds(lambda: limits(study, Ask())),
            "41 flows and 41 pressures, every check",
        ),
        (
            f"{name}: one end by scipy [s]",
            seconds(lambda: one_by_one(study, case, layout)),
            "greatest flow only, by single evaluations",
        ),
        (f"{name}: difference from scipy", apart, "relative, greatest flow"),
    ]


def run() -> list[tuple[str, float, str]]:
    """Return the rows (what, figure, remark)."""
    return [row for name, case in CASES for row in rows_of(name, case)]
