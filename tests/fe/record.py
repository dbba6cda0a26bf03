"""The recorded table: its columns, the rigid solver's answer to a row, and what the table says."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np

from anchorsize.mechanics.contact import ContactResult, solve_preloaded_joint
from anchorsize.mechanics.face_integrals import Annulus

RESULTS = Path(__file__).with_name("results.csv")

Row = dict[str, str]


def read_results(path: Path = RESULTS) -> list[Row]:
    """Return the rows of the record, by name of the column without its unit."""
    with path.open(newline="", encoding="utf-8") as file:
        head, *rows = csv.reader(file)
    names = [name.split(" ")[0] for name in head]
    return [dict(zip(names, row, strict=True)) for row in rows]


def rigid(row: Row) -> ContactResult:
    """Return the rigid-flange contact solver's answer to the inputs in a row."""
    given = {name: float(row[name]) for name in INPUTS}
    count = int(row["bolts"])
    angle = (2.0 * np.arange(count) + 1.0) * np.pi / count
    xy = 0.5e-3 * given["bolt_circle"] * np.column_stack([np.cos(angle), np.sin(angle)])
    return solve_preloaded_joint(
        N=given["axial"],
        M1=0.0,
        M2=1e-3 * given["moment"],
        xy=xy,
        bolt_stiffness=1e3 * given["bolt_stiffness"],
        preload=np.full(count, given["preload"]),
        face=Annulus(1e-3 * given["gasket_inside"], 1e-3 * given["gasket_outside"]),
        foundation_modulus=1e9 * given["gasket_stiffness"],
    )


INPUTS = {
    "bolt_circle": "mm",
    "gasket_inside": "mm",
    "gasket_outside": "mm",
    "gasket_stiffness": "MPa/mm",
    "bolt_stiffness": "N/mm",
    "preload": "N",
    "axial": "N",
    "moment": "N*mm",
}
"""What the rigid solver is given beside the number of bolts, with units."""


def over(row: Row) -> float:
    """Return by how much the rigid flange's greatest bolt tension lies over the finite elements' [%]; under is unsafe."""
    return 100.0 * (float(row["rigid_tension_max"]) / float(row["fe_tension_max"]) - 1.0)


def clamp_over(row: Row) -> float:
    """Return the same [%] of the force between the faces; over is unsafe."""
    return 100.0 * (float(row["rigid_clamp"]) / float(row["fe_clamp"]) - 1.0)


def study_rows(rows: list[Row]) -> list[Row]:
    """Return the loaded rows with a steel flange on the mesh used throughout."""
    return [r for r in rows if r["mesh"] == "coarse" and r["flange"] == "steel" and r["load"] != "assembled"]


def summary(rows: list[Row]) -> str:
    """Return a Markdown table: least and greatest deviation of tension and clamp by gasket and thickness."""
    lines = [
        "| gasket | t/d | greatest bolt tension, 8 bolts | 12 bolts | clamp, 8 bolts | 12 bolts |",
        "|---|---|---|---|---|---|",
    ]
    own = study_rows(rows)
    for gasket, ratio in dict.fromkeys((r["gasket"], r["thickness_ratio"]) for r in own):
        cells = []
        for measure in (over, clamp_over):
            for bolts in ("8", "12"):
                found = [
                    measure(r) for r in own if (r["gasket"], r["thickness_ratio"], r["bolts"]) == (gasket, ratio, bolts)
                ]
                cells.append(f"{min(found):+.0f} … {max(found):+.0f} %")
        lines.append(f"| {gasket} | {ratio} | " + " | ".join(cells) + " |")
    return "\n".join(lines)


def statement(rows: list[Row]) -> str:
    """Return in one sentence where the rigid flange departs from the finite elements, and by how much."""
    own = study_rows(rows)
    thick = [row for row in own if float(row["thickness_ratio"]) >= 2.0]

    def span(chosen: list[Row]) -> str:
        return f"{min(map(over, chosen)):+.0f} to {max(map(over, chosen)):+.0f} %"

    return (
        "Against finite elements of steel ring flanges 0.6 to 3 bolt diameters thick (8 and 12 bolts), the rigid flange put the "
        f"greatest bolt tension {span(own)} off ({span(thick)} from 2 diameters up; minus is unsafe) and the clamp left on the face up "
        f"to {max(map(clamp_over, own)):.0f} % too high ({max(map(clamp_over, thick)):.0f} % from 2 diameters up)."
    )


def mesh_change(rows: list[Row]) -> float:
    """Return the greatest change [%] of the greatest bolt tension between the two meshes."""
    used = {
        (r["bolts"], r["gasket"], r["thickness_ratio"], r["load"]): r
        for r in rows
        if r["mesh"] == "coarse" and r["flange"] == "steel"
    }
    changes = [
        100.0 * abs(float(r["fe_tension_max"]) / float(used[key]["fe_tension_max"]) - 1.0)
        for r in rows
        if r["mesh"] == "medium"
        for key in ((r["bolts"], r["gasket"], r["thickness_ratio"], r["load"]),)
    ]
    return max(changes)
