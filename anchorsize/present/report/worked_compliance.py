"""Worked lines of how a joint gives way: the pipe behind it, and bolts with gasket in series; and what it then gives back.

Axes: 1 along the joint's axis a, 2 and 3 along e₁ and e₂ [m]; 4, 5 and 6 about them [rad]. ``c_ij`` is the movement i that a unit force or
moment j makes.
"""

from __future__ import annotations

from typing import TypeAlias

import numpy as np

from anchorsize.assessment.clamping import joint_stiffnesses
from anchorsize.mechanics import joint_stiffness
from anchorsize.present.report.steps import Of, Quantity, Workings, quantity
from anchorsize.study import Joint, JointStiffness, PipeBehind

Values: TypeAlias = dict[str, Quantity]

PIPE = "straight pipe to a fixed end, Timoshenko beam; strength of materials"
COWPER = "Cowper, J. Appl. Mech. 33 (1966), from memory"
CLAMPED = "bolts and closed face side by side; derived here"
SERIES = "parts one behind the other; derived here"
UNIT = {"dd": "m/N", "dt": "1/N", "tt": "rad/(N·m)"}


def given(stiffness: JointStiffness) -> Values:
    """Stiffness along and about each axis, as given."""
    k = {"1": stiffness.axial, "2": stiffness.shear, "3": stiffness.shear}
    turned = {"4": stiffness.torsion, "5": stiffness.bending, "6": stiffness.bending}
    return {f"k_{i}": quantity(value, "stiffness") for i, value in k.items()} | {
        f"k_{i}": Quantity(float(value), "N·m/rad") for i, value in turned.items()
    }


def compliance(work: Workings, joint: Joint, stiff: Values) -> Values:
    """The entries ``c_ij``, i ≤ j, that are not nothing; empty where the joint is rigid."""
    pipe = joint.pipe_behind
    if pipe is None:
        return {}
    found = _pipe(work, joint.name, pipe)
    if joint.stiffness == "rigid":
        return found
    for symbol, (sign, part) in _clamped(work, joint, stiff).items():
        formula, values = f"{sign}b", {"b": part}
        if symbol in found:
            formula, values = "c_p + b", {"b": part, "c_p": found[symbol]}
        found[symbol] = work.step(
            "Compliance of pipe (c_p) and of bolts with face (b) in series",
            symbol,
            formula,
            SERIES,
            Of(unit=_unit(symbol), label=joint.name),
            **values,
        )
    return found


def _unit(symbol: str) -> str:
    turned = [index > "3" for index in symbol[-2:]]
    return UNIT["tt" if all(turned) else "dt" if any(turned) else "dd"]


def _pipe(work: Workings, name: str, pipe: PipeBehind) -> Values:
    size = {
        "D": quantity(pipe.outside, "length"),
        "t": quantity(pipe.wall, "length"),
        "L": quantity(pipe.length, "length"),
        "E": quantity(pipe.modulus, "modulus"),
        "nu": quantity(pipe.poisson),
    }

    def line(what: str, symbol: str, formula: str, source: str, unit: str) -> None:
        size[symbol] = work.step(what, symbol, formula, source, Of(unit=unit, label=name), **size)

    line("Inside of the pipe behind the joint", "D_i", "D - 2*t", "geometry", "m")
    line("Area of its wall", "A", "pi/4*(D**2 - D_i**2)", "geometry", "m²")
    line("Second moment of its wall", "I", "pi/64*(D**4 - D_i**4)", "geometry", "m⁴")
    line("Shear modulus", "G", "E/(2*(1 + nu))", "isotropic", "Pa")
    line("Ratio of its diameters squared", "m", "D_i**2/D**2", "definition", "")
    line(
        "Shear coefficient of a hollow round section",
        "kappa",
        "6*(1 + nu)*(1 + m)**2/((7 + 6*nu)*(1 + m)**2 + (20 + 12*nu)*m)",
        COWPER,
        "",
    )
    found = {}
    for what, symbol, formula in (
        ("Compliance of the pipe along its axis", "c_11", "L/(E*A)"),
        ("Compliance of the pipe across: bending and shear", "c_22", "L**3/(3*E*I) + L/(kappa*G*A)"),
        ("Compliance of the pipe about its axis", "c_44", "L/(2*G*I)"),
        ("Compliance of the pipe about a line across", "c_55", "L/(E*I)"),
        (
            "Compliance of the pipe: turn by a force across, positive between 3 and 5, negative between 2 and 6",
            "c_35",
            "L**2/(2*E*I)",
        ),
    ):
        found[symbol] = work.step(what, symbol, formula, PIPE, Of(unit=_unit(symbol), label=name), **size)
    found |= {"c_33": found["c_22"], "c_66": found["c_55"], "c_26": Quantity(-found["c_35"].number, found["c_35"].unit)}
    return found


def _clamped(work: Workings, joint: Joint, stiff: Values) -> dict[str, tuple[str, Quantity]]:
    """What bolts and closed face add: a sign and a part for each entry; empty where their stiffness is not known."""
    known = joint_stiffnesses(joint)
    if known is None:
        return {}
    agrees = joint_stiffness.clamped_flexibility(joint.bolts.xy, known.bolts, known.face, known.modulus)
    sums = [stiff.get(symbol) for symbol in ("K_0", "K_x", "K_y", "K_xx", "K_yy", "K_xy")]
    places = (
        ("c_11", 0, 0, ""),
        ("c_16", 0, 5, "-"),
        ("c_15", 0, 4, ""),
        ("c_66", 5, 5, ""),
        ("c_56", 4, 5, "-"),
        ("c_55", 4, 4, ""),
    )
    if any(each is None for each in sums):
        entries = [float(agrees[i, j]) for _, i, j, _ in places]
    else:
        columns = [
            work.step(
                "Opening and two tilts of bolts and closed face under a unit load",
                "b",
                f"solve([[K_0, K_x, K_y], [K_x, K_xx, K_xy], [K_y, K_xy, K_yy]], [{right}])",
                CLAMPED,
                Of(unit=units, label=joint.name, unknowns=names),
                **{s: stiff[s] for s in ("K_0", "K_x", "K_y", "K_xx", "K_yy", "K_xy")},
            ).parts
            for right, names, units in (
                ("1, 0, 0", ("b_0", "b_0x", "b_0y"), ("m/N", "1/N", "1/N")),
                ("0, 1, 0", ("b_x0", "b_xx", "b_xy"), ("1/N", "rad/(N·m)", "rad/(N·m)")),
                ("0, 0, 1", ("b_y0", "b_yx", "b_yy"), ("1/N", "rad/(N·m)", "rad/(N·m)")),
            )
        ]
        entries = [columns[0][0], -columns[0][1], columns[0][2], columns[1][1], -columns[1][2], columns[2][2]]
    scale = np.sqrt(np.abs([agrees[i, i] * agrees[j, j] for _, i, j, _ in places]))
    return {
        symbol: (sign, Quantity(-value if sign else value, _unit(symbol)))
        for (symbol, _, _, sign), value, size in zip(places, entries, scale, strict=True)
        if abs(value) > 1e-9 * size
    }


def by_compliance(work: Workings, name: str, entries: Values, parts: Values) -> Values:
    """The force or moment along each axis that balances a movement: minus the compliance, inverted, times the movement."""
    found: Values = {}
    for together in _blocks(entries):
        rows = []
        values: Values = {}
        for i in together:
            row = []
            for j in together:
                symbol = f"c_{min(i, j)}{max(i, j)}"
                row.append(symbol if symbol in entries else "0")
                if symbol in entries:
                    values[symbol] = entries[symbol]
            rows.append(f"[{', '.join(row)}]")
            values[f"d_{i}"] = parts[f"d_{i}"]
        kinds = tuple("N" if i < 4 else "N·m" for i in together)
        if len(together) == 1:
            i = together[0]
            kind = "force" if i < 4 else "moment"
            found[f"f_{i}"] = work.step(
                "Force or moment along an axis, by the compliance",
                f"f_{i}",
                f"-(d_{i}/c_{i}{i})",
                SERIES,
                Of(kind, label=name),
                **values,
            )
            continue
        solved = work.step(
            "Forces and moments that belong together, by the compliances",
            "f",
            f"solve([{', '.join(rows)}], [{', '.join(f'-d_{i}' for i in together)}])",
            SERIES,
            Of(unit=kinds, label=name, unknowns=tuple(f"f_{i}" for i in together)),
            **values,
        )
        found |= {f"f_{i}": Quantity(v, unit) for i, v, unit in zip(together, solved.parts, kinds, strict=True)}
    return found


def _blocks(entries: Values) -> list[list[int]]:
    """The axes in groups that no compliance ties to another."""
    group = {i: i for i in range(1, 7)}
    for symbol in entries:
        i, j = (int(each) for each in symbol[-2:])
        kept, gone = sorted((group[i], group[j]))
        group = {axis: kept if at == gone else at for axis, at in group.items()}
    return [[axis for axis in group if group[axis] == first] for first in sorted(set(group.values()))]
