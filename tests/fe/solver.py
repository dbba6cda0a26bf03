"""Write a joint for CalculiX, run it, and read the bolt tensions back.

Half of a pair of like flanges stands for the pair: the mid-plane of the gasket stays plane, so that the flange rests on
springs of twice the gasket's stiffness and is held by bolts of twice their stiffness.
"""

from __future__ import annotations

import os
import re
import subprocess
from pathlib import Path
from typing import NamedTuple

import numpy as np

from tests.fe.joint import LOADS, POISSON, PRELOAD, Joint
from tests.fe.mesh import FINENESS, Mesh, mesh_of, shares

_LONG = 1000.0  # length of a spring [mm]; only its direction and stretch enter
_TOUCH = 1e-6  # travel [mm] by which the face touches before any load, so that the first pass finds it stiff


class Answer(NamedTuple):
    """Of one step: tension of the bolts with y > 0 [N], force between the faces [N], share of the face left open."""

    tension: np.ndarray
    clamp: float
    lift_off: float


def _lines(values: list[str], per_line: int = 8) -> str:
    rows = [", ".join(values[i : i + per_line]) for i in range(0, len(values), per_line)]
    return ",\n".join(rows) + "\n"


def _end_forces(mesh: Mesh, axial: float, moment: float) -> dict[int, float]:
    """Return nodal forces [N] of a stress linear in x over the end of the stub, for half of the load."""
    x = mesh.nodes[:, 0]
    even, linear = shares(mesh.nodes, mesh.end), shares(mesh.nodes, mesh.end, x)
    own = list(even)
    sums = [
        [sum(part[i] * arm for i, arm in zip(own, arms, strict=True)) for part in (even, linear)]
        for arms in (np.ones(len(own)), x[own])
    ]
    a, b = np.linalg.solve(np.array(sums), np.array([axial, moment]) / 2.0)
    return {i: a * even[i] + b * linear[i] for i in own}


def _body(joint: Joint, mesh: Mesh) -> tuple[str, dict[int, float]]:
    """Return nodes, bricks and the one-sided face, and the area of every node on the face [mm²]."""
    area = shares(mesh.nodes, mesh.gasket)
    exact = np.pi / 2.0 * (joint.shape.gasket_out**2 - joint.shape.gasket_in**2)
    scale = exact / sum(area.values())
    area = {node: scale * part for node, part in area.items()}
    count = len(mesh.nodes)
    out = ["*NODE\n"]
    out += [f"{i + 1}, {x:.9g}, {y:.9g}, {z:.9g}\n" for i, (x, y, z) in enumerate(mesh.nodes)]
    ground = {node: count + 1 + k for k, node in enumerate(area)}
    out += [f"{g}, {mesh.nodes[n, 0]:.9g}, {mesh.nodes[n, 1]:.9g}, {-_LONG}\n" for n, g in ground.items()]
    out.append("*ELEMENT, TYPE=C3D8I, ELSET=FLANGE\n")
    out += [f"{e + 1}, " + ", ".join(str(n + 1) for n in brick) + "\n" for e, brick in enumerate(mesh.bricks)]
    out.append(
        f"*MATERIAL, NAME=STEEL\n*ELASTIC\n{joint.modulus}, {POISSON}\n*SOLID SECTION, ELSET=FLANGE, MATERIAL=STEEL\n"
    )
    groups: dict[float, list[int]] = {}
    for node, part in area.items():
        groups.setdefault(float(f"{part:.7g}"), []).append(node)
    element = len(mesh.bricks)
    for number, (part, nodes) in enumerate(groups.items()):
        out.append(f"*ELEMENT, TYPE=SPRINGA, ELSET=FACE{number}\n")
        for node in nodes:
            element += 1
            out.append(f"{element}, {ground[node]}, {node + 1}\n")
        k = 2.0 * joint.gasket * part
        out.append(f"*SPRING, ELSET=FACE{number}, NONLINEAR\n{-k:.8e}, {_TOUCH - 1.0}\n0.0, {_TOUCH}\n0.0, 1.0\n")
    out.append("*NSET, NSET=GROUND\n" + _lines([str(g) for g in ground.values()]))
    cut = np.flatnonzero(np.abs(mesh.nodes[:, 1]) < 1e-6)
    out.append("*NSET, NSET=CUT\n" + _lines([str(n + 1) for n in cut]))
    held = int(cut[np.argmax(mesh.nodes[cut, 0])]) + 1
    out.append(f"*BOUNDARY\nGROUND, 1, 3\nCUT, 2, 2\n{held}, 1, 1\n")
    return "".join(out), area


def _weights(mesh: Mesh) -> list[dict[int, float]]:
    """Return for every bolt the share of its force in the nodes under its head."""
    found = []
    for quads in mesh.heads:
        part = shares(mesh.nodes, quads)
        total = sum(part.values())
        found.append({node: value / total for node, value in part.items()})
    return found


def _run(text: str, folder: Path, name: str) -> list[dict[str, dict[int, np.ndarray]]]:
    """Run a deck and return, step by step, displacements [mm] by name of the node set, and forces [N]."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / f"{name}.inp").write_text(text)
    threads = os.environ | {"OMP_NUM_THREADS": "1"}  # the study runs joints side by side
    with (folder / f"{name}.log").open("w") as log:
        subprocess.run(["ccx", "-i", name], cwd=folder, env=threads, stdout=log, stderr=log, check=True)
    steps: dict[float, dict[str, dict[int, np.ndarray]]] = {}
    table: dict[int, np.ndarray] = {}
    for line in (folder / f"{name}.dat").read_text().splitlines():
        head = re.match(r"\s*(\w+) .*for set (\w+) and time\s+(\S+)", line)
        if head:
            table = {}
            steps.setdefault(float(head[3]), {})[f"{head[1]} {head[2]}"] = table
        elif line.strip():
            number, *values = line.split()
            table[int(number)] = np.array([float(v) for v in values])
    return [steps[time] for time in sorted(steps)]


def _assembled_heads(body: str, mesh: Mesh, folder: Path) -> np.ndarray:
    """Return how far each head moves [mm] as the preloads, as forces, press the flange onto the face."""
    weights = _weights(mesh)
    loads = [f"{n + 1}, 3, {-PRELOAD * w:.9g}\n" for part in weights for n, w in part.items()]
    sets = "*NSET, NSET=SEATS\n" + _lines([str(n + 1) for part in weights for n in part])
    step = (
        "*STEP, NLGEOM, INC=1000\n*CONTROLS, PARAMETERS=FIELD\n1e-4, 0.01\n*STATIC\n1.0, 1.0\n*CLOAD\n"
        + "".join(loads)
        + "*NODE PRINT, NSET=SEATS\nU\n*END STEP\n"
    )
    moved = _run(body + sets + step, folder, "assembly")[-1]["displacements SEATS"]
    return np.array([sum(w * moved[n + 1][2] for n, w in part.items()) for part in weights])


def solve(joint: Joint, fineness: str, folder: Path) -> dict[str, Answer]:
    """Return the joint as assembled and under every load of the study, from the deck written into ``folder``."""
    mesh = mesh_of(joint.shape, joint.thickness, FINENESS[fineness])
    body, area = _body(joint, mesh)
    heads = _assembled_heads(body, mesh, folder)
    k = 2.0 * joint.bolt_stiffness
    pull = PRELOAD / k - heads  # travel of a bolt's far end that leaves the preload in it

    first = len(mesh.nodes) + len(area) + 1
    bolts = len(heads)
    angles = joint.bolt_angles()[:bolts]
    out = [body, "*NODE\n"]
    for i, angle in enumerate(angles):
        x, y = joint.shape.circle * np.cos(angle), joint.shape.circle * np.sin(angle)
        out.append(f"{first + i}, {x:.9g}, {y:.9g}, {joint.thickness}\n")
        out.append(f"{first + bolts + i}, {x:.9g}, {y:.9g}, {joint.thickness - _LONG}\n")
    for i, part in enumerate(_weights(mesh)):
        terms = [f"{first + i}, 3, -1.0"] + [f"{n + 1}, 3, {w:.9g}" for n, w in part.items()]
        out.append(f"*EQUATION\n{len(terms)}\n" + "".join(f"{term}\n" for term in terms))
    element = len(mesh.bricks) + len(area) + 1
    out.append("*ELEMENT, TYPE=SPRINGA, ELSET=BOLTS\n")
    out += [f"{element + i}, {first + bolts + i}, {first + i}\n" for i in range(bolts)]
    out.append(f"*SPRING, ELSET=BOLTS\n\n{k:.8e}\n")
    out.append("*NSET, NSET=HEADS\n" + _lines([str(first + i) for i in range(bolts)]))
    out.append("*NSET, NSET=FAR\n" + _lines([str(first + bolts + i) for i in range(bolts)]))
    out.append("*BOUNDARY\nHEADS, 1, 2\nFAR, 1, 2\n")
    for case in ("assembled", *LOADS):
        out.append("*STEP, NLGEOM, INC=1000\n*CONTROLS, PARAMETERS=FIELD\n1e-4, 0.01\n*STATIC\n1.0, 1.0\n")
        if case == "assembled":
            out += ["*BOUNDARY\n"] + [f"{first + bolts + i}, 3, 3, {-p:.12g}\n" for i, p in enumerate(pull)]
        else:
            forces = _end_forces(mesh, *joint.loads(case))
            out += ["*CLOAD\n"] + [f"{n + 1}, 3, {f:.9g}\n" for n, f in forces.items()]
        out.append("*NODE PRINT, NSET=HEADS\nU\n*NODE PRINT, NSET=GROUND\nRF\n*NODE PRINT, NSET=FAR\nU\n*END STEP\n")
    steps = _run("".join(out), folder, "loaded")
    return {case: _answer(step, area, k) for case, step in zip(("assembled", *LOADS), steps, strict=True)}


def _answer(step: dict[str, dict[int, np.ndarray]], area: dict[int, float], k: float) -> Answer:
    heads, far = (list(step[f"displacements {name}"].values()) for name in ("HEADS", "FAR"))
    tension = np.array([k * (u[2] - v[2]) for u, v in zip(heads, far, strict=True)])
    push = np.array([force[2] for force in step["forces GROUND"].values()])  # in the order of ``area``
    part = np.array(list(area.values()))
    return Answer(tension, 2.0 * float(push.sum()), float(part[push == 0.0].sum() / part.sum()))
