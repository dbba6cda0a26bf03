"""The tables of the report, in the units of the study."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from anchorsize.assessment.results import Assessment, CaseResult, Check, JointResult
from anchorsize.casefile.inputs import InputValue
from anchorsize.present.report.blocks import Grid
from anchorsize.present.report.plain import signed_text
from anchorsize.present.report.row_figures import row_figures
from anchorsize.present.report.steps import figure as printed
from anchorsize.present.support_words import kind_words, state_words
from anchorsize.present.words import acts, clock, column, demand_words, margin, used
from anchorsize.study import Joint
from anchorsize.units import System, show

EXITS = {"connected": "connected", "free_jet": "free jet", "capped": "capped"}


def inputs(values: list[InputValue], system: System) -> Grid:
    """Every quantity of the file: as given, and as the calculation uses it; the parts of a vector share a row."""
    vectors: dict[str, list[InputValue]] = {}
    by_path = {value.path: value for value in values}
    for value in by_path.values():
        path, _, last = value.path.rpartition("/")
        in_vector = last in ("x", "y", "z") and f"{path}/x" in by_path and f"{path}/y" in by_path
        vectors.setdefault(path if in_vector else value.path, []).append(value)
    rows = []
    for path, parts in vectors.items():
        unit = "" if parts[0].unit == "1" else f" {parts[0].unit}"
        used = _listed([_used(part) for part in parts]) + unit
        shown = [show(part.si, part.kind, system) for part in parts]
        rows.append(
            [
                path.replace("/", " / "),
                str(parts[0].line),
                _listed([part.given for part in parts]),
                used,
                _listed(shown),
            ]
        )
    headers = ["input", "line", "as given", "in SI, as used", "in report units"]
    return Grid("inputs", headers, rows, "Inputs, in the order of the file")


def words(found: Iterable[tuple[str, int, str]]) -> Grid:
    """What the file says in words: key path, line and text."""
    rows = [[path.replace("/", " / "), str(line), text] for path, line, text in found]
    return Grid("words", ["input", "line", "as given"], rows, "Words of the file, and numbers without a unit", 3)


def _used(value: InputValue) -> str:
    spread = "" if value.plus_minus is None else f" ± {signed_text(printed(value.plus_minus, 6))}"
    return signed_text(printed(value.si, 6)) + spread


def _listed(parts: list[str]) -> str:
    """Parts of a vector in brackets, a unit that all of them have behind them; a single part as it is."""
    if len(parts) == 1:
        return parts[0]
    split = [part.partition(" ") for part in parts]
    units = {unit for _, _, unit in split}
    if len(units) == 1:
        unit = units.pop()
        return f"[{', '.join(number for number, _, _ in split)}]{f' {unit}' if unit else ''}"
    return f"[{', '.join(parts)}]"


def openings(case: CaseResult, system: System) -> Grid:
    """State and thrust of each opening."""
    found = list(case.openings.values())
    shown = [
        column((float(value) for value in values), kind, system)
        for values, kind in (
            ([o.flow for o in found], "flow"), ([o.velocity for o in found], "velocity"), ([o.pressure for o in found], "pressure"),
            ([o.pressure_thrust for o in found], "force"), ([o.momentum_thrust for o in found], "force"), ([o.thrust for o in found], "force"),
        )
    ]  # fmt: skip
    heads = ("flow out", "velocity", "pressure", "pressure\nthrust", "momentum\nthrust", "thrust")
    headers = ["opening", "exit", *(f"{head}\n{unit}" for head, (_, unit) in zip(heads, shown, strict=True))]
    rows = [
        [
            name,
            EXITS[o.exit],
            *("-" if o.exit == "capped" and i >= 2 else figures[row] for i, (figures, _) in enumerate(shown)),
        ]
        for row, (name, o) in enumerate(case.openings.items())
    ]
    return Grid(
        "openings",
        headers,
        rows,
        f"Openings in '{case.name}'; thrusts hold the dynamic factor",
        2,
        (("case", case.name),),
    )


def loads(case: CaseResult, system: System) -> Grid:
    """Force and moment about the origin by source, and the reaction."""
    names = [load.source for load in case.loads] + ["reaction"]
    forces, force_unit = column(
        np.array([*(load.force for load in case.loads), case.reaction_force]).ravel(), "force", system
    )
    moments, moment_unit = column(
        np.array([*(load.moment for load in case.loads), case.reaction_moment]).ravel(), "moment", system
    )
    headers = [
        "load on the fitting",
        *(f"F{axis}\n{force_unit}" for axis in "xyz"),
        *(f"M{axis}\n{moment_unit}" for axis in "xyz"),
    ]
    rows = [[name, *forces[3 * i : 3 * i + 3], *moments[3 * i : 3 * i + 3]] for i, name in enumerate(names)]
    caption = f"Loads by source in '{case.name}', moments about the origin; the reaction is what holds the fitting"
    return Grid("loads", headers, rows, caption, 1, (("case", case.name),))


def supports(case: CaseResult, system: System) -> Grid | None:
    """What each support does in a case; None without supports."""
    found = list(case.supports.values())
    if not found:
        return None
    forces, unit = column(np.array([each.force for each in found]).ravel(), "force", system)
    moved, length = column([float(each.movement) for each in found], "length", system)
    rows = [
        [each.support.name, kind_words(each.support), state_words(each), *forces[3 * i : 3 * i + 3], moved[i]]
        for i, each in enumerate(found)
    ]  # fmt: skip
    headers = ["support", "kind", "state", *(f"F{axis}\n{unit}" for axis in "xyz"), f"moves\n{length}"]
    return Grid(
        "supports", headers, rows, f"What the supports put on the fitting in '{case.name}'", 3, (("case", case.name),)
    )


def actions(case: CaseResult, joint: Joint, result: JointResult, system: System) -> Grid:
    """What the loads ask of a joint."""
    force = float(np.linalg.norm(result.reaction_force))
    moment = float(np.linalg.norm(result.reaction_moment))
    items = (
        ("axial from the loads, positive opens the joint", "N_L", result.axial, "force", force),
        ("pressure between bore and gasket circle G", "H_A", result.pressure_annulus, "force", 0.0),
        ("axial demand", "N", result.axial_demand, "force", force),
        ("shear", "V", result.shear, "force", force),
        ("bending about the bolt-circle center", "M_b", result.bending, "moment", moment),
        ("torsion about the axis", "M_T", result.torsion, "moment", moment),
        ("gasket reaction diameter", "G", result.reaction_diameter, "length", 0.0),
    )
    rows = []
    for name, symbol, value, kind, scale in items:
        figures, unit = column([float(value)], kind, system)
        rows.append([name, symbol.replace("_", " "), "0" if abs(float(value)) <= 1e-9 * scale else figures[0], unit])
    return Grid("joint_actions", ["action", "symbol", "value", "unit"], rows, f"What '{case.name}' asks of joint '{joint.name}'", 2,
                (("case", case.name), ("joint", joint.name)))  # fmt: skip


def bolts(case: CaseResult, joint: Joint, result: JointResult, system: System) -> Grid:
    """What each bolt gets."""
    clamped, carried = result.clamping, result.service
    shown = [("external\ntension", result.external_tension), ("shear", result.bolt_shear)]
    if clamped is not None and carried is not None:
        shown += [
            ("least\npreload", clamped.least),
            ("mean\npreload", clamped.mean),
            ("greatest\npreload", clamped.greatest),
        ]
        if carried.tension is not None and carried.tension_greatest is not None:
            shown += [
                ("in service,\nmean preload", carried.tension),
                ("in service,\ngreatest", carried.tension_greatest),
            ]
        else:
            shown.append(("in service,\nat most", carried.tension_bound))
    columns = [(head, *column(values, "force", system)) for head, values in shown]
    on_circle = joint.bolts.circle is not None
    xs, length = column(joint.bolts.xy.ravel(), "length", system)
    rows = []
    for i, number in enumerate(joint.bolts.numbers):
        place = clock(float(joint.bolts.angle[i])) if on_circle else f"{xs[2 * i]}, {xs[2 * i + 1]}"
        rows.append(
            [
                str(number),
                joint.bolts.sizes[i],
                place,
                acts(joint, i, result.external_tension),
                *(figures[i] if joint.carrying[i] else "-" for _, figures, _ in columns),
            ]
        )
    headers = [
        "bolt",
        "size",
        "clock" if on_circle else f"e1, e2\n{length}",
        "by the\nloads",
        *(f"{head}\n{unit}" for head, _, unit in columns),
    ]
    return Grid(
        "bolts",
        headers,
        rows,
        f"Bolts of joint '{joint.name}' in '{case.name}'",
        4,
        (("case", case.name), ("joint", joint.name)),
    )


def checks(case: CaseResult, system: System) -> Grid:
    """Every check of a case."""
    rows = [_check(check, system) for check in case.checks]
    headers = ["check", "of", "bolt", "demand", "allowable", "utilization", "margin", "result"]
    return Grid("checks", headers, rows, f"Checks in '{case.name}'", 3, (("case", case.name),))


def _check(check: Check, system: System) -> list[str]:
    demand, allowable = demand_words(check, system)
    bolt = "-" if check.bolt is None else str(int(check.bolt))
    verdict = "holds" if bool(np.all(check.holds)) else "FAILS"
    return [
        check.words,
        check.where,
        bolt,
        demand,
        allowable,
        used(float(check.utilization)),
        margin(float(check.margin)),
        verdict,
    ]


def overview(assessment: Assessment) -> Grid | None:
    """Utilization of every check in every case; None where nothing was checked."""
    found: dict[tuple[str, str], dict[str, Check]] = {}
    for name, case in assessment.cases.items():
        for check in case.checks:
            found.setdefault((check.words, check.where), {})[name] = check
    if not found:
        return None
    several = len({where for _, where in found}) > 1
    rows = []
    for (name_of_check, where), by_case in found.items():
        cells = []
        for name in assessment.cases:
            made = by_case.get(name)
            cells.append(
                "-" if made is None else used(float(made.utilization)) + ("" if bool(np.all(made.holds)) else " FAILS")
            )
        rows.append([f"{name_of_check}, {where}" if several else name_of_check, *cells])
    return Grid(
        "utilization",
        ["check", *(f"'{name}'" for name in assessment.cases)],  # in quotes: a case may be called check
        rows,
        "Utilization in every case: demand over allowable, over 1 fails",
    )


def how(assessment: Assessment) -> Grid | None:
    """What each check compared and where formula and allowable come from; None where nothing was checked."""
    made = {
        (c.words, c.formula, c.source, c.allowable_from): c for case in assessment.cases.values() for c in case.checks
    }
    if not made:
        return None
    rows = [[check, formula, source, origin] for check, formula, source, origin in made]
    return Grid("how_checked", ["check", "demand", "source", "allowable from"], rows, "How the checks were made", 4)


def not_checked(assessment: Assessment) -> Grid | None:
    """What was not checked, and what to supply."""
    rows = [[item.words, item.where, "yes" if item.needed else "no", item.supply] for item in assessment.not_checked]
    return (
        Grid(
            "not_checked",
            ["check", "of", "needed for\nthis job", "supply"],
            rows,
            "Not checked, for want of an input",
            4,
        )
        if rows
        else None
    )


def sources(assessment: Assessment) -> Grid | None:
    """Values taken from tables, with the status of each row."""
    rows = [
        [
            p.what,
            p.table,
            p.row,
            row_figures(p, assessment.study, assessment.study.units),
            p.source,
            f"{p.status} - CONFIRM" if "from-memory" in p.status else p.status,
        ]
        for p in assessment.study.provenance
    ]
    return (
        Grid(
            "tables_used",
            ["value", "table", "row", "figures of the row", "source", "status"],
            rows,
            "Values taken from tables; a value given in the file stands before that of a table",
            6,
        )
        if rows
        else None
    )
