"""Rerun the study: ``python -m tests.fe.run_study`` with ``ccx`` of Debian's calculix-ccx on the path."""

from __future__ import annotations

import csv
import os
import sys
import tempfile
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from tests.fe.joint import GASKETS, PRELOAD, SHAPES, STEEL, THICKNESS_RATIOS, Joint
from tests.fe.record import INPUTS, RESULTS, Row, read_results, rigid, summary
from tests.fe.solver import Answer, solve

_OUTPUTS = {
    **{f"fe_bolt_{i}": "N" for i in range(1, 7)},
    "fe_tension_max": "N",
    "fe_clamp": "N",
    "fe_lift_off": "-",
    "rigid_tension_max": "N",
    "rigid_clamp": "N",
    "rigid_lift_off": "-",
}
_COLUMNS = {"bolts": "-", "gasket": "-", "thickness_ratio": "t/d", "flange": "-", "mesh": "-", "load": "-"}


@dataclass(frozen=True)
class Run:
    """A joint by the names the table shows."""

    bolts: int
    gasket: str
    ratio: float
    flange: str = "steel"
    mesh: str = "coarse"

    def joint(self) -> Joint:
        modulus = STEEL if self.flange == "steel" else 1000.0 * STEEL
        return Joint(SHAPES[self.bolts], GASKETS[self.gasket], self.ratio, modulus)


def runs() -> list[Run]:
    """Return all joints of the study: the flange made stiff, the steel flange, and the finer mesh."""
    stiff = [Run(n, g, 1.0, flange="stiff") for n in SHAPES for g in GASKETS]
    steel = [Run(n, g, ratio) for n in SHAPES for g in GASKETS for ratio in THICKNESS_RATIOS]
    finer = [
        Run(8, g, ratio, mesh="medium") for g, ratio in (("soft", 0.6), ("stiff", 0.6), ("soft", 2.0), ("stiff", 2.0))
    ]
    farthest_under = Run(12, "stiff", 3.0, mesh="medium")
    return [*stiff, *steel, *finer, farthest_under]


def _row(run: Run, load: str, answer: Answer) -> Row:
    joint = run.joint()
    axial, moment = joint.loads(load) if load != "assembled" else (0.0, 0.0)
    shape = joint.shape
    given = (
        2 * shape.circle,
        2 * shape.gasket_in,
        2 * shape.gasket_out,
        joint.gasket,
        joint.bolt_stiffness,
        PRELOAD,
        axial,
        moment,
    )
    row = {"bolts": str(run.bolts), "gasket": run.gasket, "thickness_ratio": f"{run.ratio:g}"}
    row |= {"flange": run.flange, "mesh": run.mesh, "load": load}
    row |= {name: f"{value:.10g}" for name, value in zip(INPUTS, given, strict=True)}
    row |= {f"fe_bolt_{i}": "" for i in range(1, 7)}
    row |= {f"fe_bolt_{i}": f"{t:.1f}" for i, t in enumerate(answer.tension, 1)}
    found = rigid(row)
    row |= {
        "fe_tension_max": f"{np.max(answer.tension):.1f}",
        "fe_clamp": f"{answer.clamp:.0f}",
        "fe_lift_off": f"{answer.lift_off:.3f}",
        "rigid_tension_max": f"{np.max(found.bolt_tension):.1f}",
        "rigid_clamp": f"{found.clamp:.0f}",
        "rigid_lift_off": f"{found.lift_off:.3f}",
    }
    return row


def _rows(run: Run) -> list[Row]:
    with tempfile.TemporaryDirectory() as folder:
        answers = solve(run.joint(), run.mesh, Path(folder))
    print(*vars(run).values(), file=sys.stderr, flush=True)
    return [_row(run, load, answer) for load, answer in answers.items()]


def main() -> None:
    """Write ``results.csv`` and print the summary that the README shows."""
    units = _COLUMNS | INPUTS | _OUTPUTS
    with ProcessPoolExecutor(os.cpu_count()) as pool:
        rows = [row for part in pool.map(_rows, runs()) for row in part]
    with RESULTS.open("w", newline="", encoding="utf-8") as file:
        out = csv.writer(file, lineterminator="\n")
        out.writerow(f"{name} [{unit}]" for name, unit in units.items())
        out.writerows([row[name] for name in units] for row in rows)
    print(summary(read_results()))


if __name__ == "__main__":
    main()
