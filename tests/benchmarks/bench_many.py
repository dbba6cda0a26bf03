"""A list of joints: rows judged together against one by one, and what bad rows cost. Invented figures throughout."""

from __future__ import annotations

import time
from pathlib import Path

import numpy as np
import pandas as pd

from anchorsize.assessment import assess
from anchorsize.casefile import parse_case
from anchorsize.studies.many import judge_frame

EXAMPLES = Path(__file__).parents[2] / "examples"
ROWS, ONE_BY_ONE, BAD, MIXED = 100_000, 60, 10_000, 20_000
# a flange with room for every bolt and circle of the list
ROOMY = "flange: {outside: 260 mm, thickness: 20 mm, hole: 22 mm"
UNTIGHTENED = (
    (EXAMPLES / "terrace_elbow.yaml")
    .read_text()
    .replace("flange: {outside: 220 mm, thickness: 20 mm, hole: 18 mm", ROOMY)
)
assert ROOMY in UNTIGHTENED
TIGHTENED = (EXAMPLES / "many_base.yaml").read_text()


def sampled(rows: int, case: str) -> pd.DataFrame:
    """Return an invented list, as it is read from a file: text throughout, in nine groups of bolts."""
    draw = np.random.default_rng(31)
    return pd.DataFrame(
        {
            "id": np.arange(rows),
            f"{case}/inlet/pressure [kPa]": draw.uniform(10.0, 80.0, rows).round(2),
            f"{case}/inlet/flow_in [L/s]": draw.uniform(2.0, 20.0, rows).round(2),
            "fitting/mass [kg]": draw.uniform(5.0, 20.0, rows).round(2),
            "circle [mm]": draw.uniform(185.0, 220.0, rows).round(1),
            "size": draw.choice(["M12", "M16", "M20"], rows),
            "count": draw.choice(["6", "8", "12"], rows),
        }
    ).astype(str)


def taken(frame: pd.DataFrame, text: str) -> float:
    """Return the seconds that judging a list takes."""
    start = time.perf_counter()
    judge_frame(frame, text)
    return time.perf_counter() - start


def single(text: str) -> float:
    """Return the seconds that one case file takes, read and assessed within a process that runs already."""
    start = time.perf_counter()
    for row in range(ONE_BY_ONE):
        assess(parse_case(text.replace("mass: 9", f"mass: {1 + row % 9}"), "row"))
    return (time.perf_counter() - start) / ONE_BY_ONE


def run() -> list[tuple[str, float, str]]:
    """Return the rows (what, figure, remark)."""
    plain, tightened = sampled(ROWS, "full flow"), sampled(ROWS, "washing")
    warm = tightened.assign(**{"fluid/temperature [degC]": np.linspace(1.0, 95.0, ROWS).astype(str)})
    bad = plain.iloc[:BAD].assign(**{"fitting/mass [kg]": "-1"})
    contradictory = plain.iloc[: BAD // 10].assign(**{"circle [mm]": "150"})
    mixed = tightened.iloc[:MIXED].assign(
        **{"torque [N*m]": np.random.default_rng(7).uniform(20.0, 400.0, MIXED).astype(str)}
    )
    mixed.loc[::50, "circle [mm]"] = "150"
    fast, solved = taken(plain, UNTIGHTENED), taken(tightened, TIGHTENED)
    return [
        ("list of 100 000 rows, 5 cases, not tightened [s]", fast, "at most 10; read as text, judged, told"),
        (
            "times one file after the other in one process",
            single(UNTIGHTENED) * ROWS / fast,
            f"from {ONE_BY_ONE} files",
        ),
        ("list of 100 000 rows, 2 cases, tightened [s]", solved, "at most 30; contact solved at three preloads"),
        (
            "times one file after the other in one process",
            single(TIGHTENED) * ROWS / solved,
            f"from {ONE_BY_ONE} files",
        ),
        ("list of 100 000 rows, each with its own temperature [s]", taken(warm, TIGHTENED), "at most 30"),
        ("list of 10 000 rows out of bounds [s]", taken(bad, UNTIGHTENED), "at most 10"),
        (
            "list of 20 000 rows, tightened, some of them contradictory or over tensile strength [s]",
            taken(mixed, TIGHTENED),
            "at most 20",
        ),
        (
            "a row whose numbers contradict each other [ms]",
            taken(contradictory, UNTIGHTENED) * 1e3 / len(contradictory),
            "all bad: each built by itself for its words",
        ),
    ]
