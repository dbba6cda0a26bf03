"""The openings of a case in words: flows, pressures and thrusts, the head lost between them, surges."""

from __future__ import annotations

import textwrap

import numpy as np

from anchorsize.assessment.audit import leg_audit
from anchorsize.assessment.results import CaseResult
from anchorsize.present.words import column, figure, quantity, table, wrapped
from anchorsize.study import Study

_EXITS = {"connected": "connected", "free_jet": "free jet", "capped": "capped"}


def openings_text(study: Study, case: CaseResult) -> str:
    """The table of the openings in a case, what head they lose and what surge passes them."""
    system = study.units
    openings = list(case.openings.values())
    columns = [
        column((float(o.flow) for o in openings), "flow", system),
        column((float(o.velocity) for o in openings), "velocity", system),
        column((float(o.pressure) for o in openings), "pressure", system),
        column((float(o.thrust) for o in openings), "force", system),
    ]
    pressures = [text if o.exit != "capped" else "-" for text, o in zip(columns[2][0], openings, strict=True)]
    columns[2] = (pressures, columns[2][1])
    headers = ["opening", "exit"]
    headers += [
        f"{what}\n{unit}"
        for what, (_, unit) in zip(("flow out", "velocity", "pressure", "thrust"), columns, strict=True)
    ]
    rows = [
        [wrapped(name), _EXITS[o.exit], *(figures[i] for figures, _ in columns)]
        for i, (name, o) in enumerate(case.openings.items())
    ]
    return table(rows, headers, left=2) + indented(*energy_words(study, case)) + _surges(study, case)


_FALLS = {None: "", "flow": ", flow falling evenly", "valve_area": ", valve area falling evenly"}


def _surges(study: Study, case: CaseResult) -> str:
    """What each surge was made of: the flow stopped, its velocity in the pipe, the wave and its rise."""
    lines, system = "", study.units
    for name, state in study.cases[case.name].states.items():
        wave, opening = state.surge, study.openings[name]
        if wave is None:
            if state.losses is not None and float(case.openings[name].surge_rise) > 0.0:
                rise = quantity(float(case.openings[name].surge_rise), "pressure", system)
                lines += indented(f"At {name} the pressure from losses rises with the surge, by {rise}.")
            continue
        if float(wave.stopped_flow) == 0.0:
            lines += indented(f"Surge at {name}: none, by its stopped_flow of 0.")
            continue
        area = float(wave.area(opening.area))
        velocity = quantity(float(wave.stopped_flow) / area, "velocity", system)
        where = "at the bore" if wave.pipe_area is None else "in the pipe"
        across = quantity(float(np.sqrt(4.0 / np.pi * area)), "length", system)
        lines += indented(
            f"Surge at {name}: {quantity(float(wave.stopped_flow), 'flow', system)} stopped, {velocity} {where} of {across}, wave "
            f"speed {quantity(float(wave.wave_speed), 'velocity', system)}{_FALLS[wave.falls_evenly]}, rise "
            f"{quantity(float(case.openings[name].surge_rise), 'pressure', system)}."
        )
    return lines


def energy_words(study: Study, case: CaseResult) -> list[str]:
    """The head lost, as a whole and by stream, with the coefficients that it means; empty where nothing tells it."""
    audit, system = case.energy, study.units
    if audit is None:
        return []
    lost = quantity(float(audit.head_loss), "head", system)
    coefficient = figure(float(audit.loss_coefficient), 3)
    legs = leg_audit(study, study.cases[case.name], case.openings)
    surged = any(float(o.surge_rise) > 0.0 for o in case.openings.values())
    before = " (pressures before the surge)" if surged else ""
    if not legs:
        return [
            f"Head lost between the openings{before} {lost}: K = {coefficient} on the velocity at {audit.velocity_at}."
        ]
    told = [
        f"{name} {quantity(leg.head_loss, 'head', system)} (K = {figure(leg.loss_coefficient, 3)})"
        for name, leg in legs.items()
    ]
    return [
        f"Head lost by each stream{before}, K on its own velocity: {', '.join(told)}.",
        f"In the mean of all that flows {lost}: K = {coefficient} on the velocity at {audit.velocity_at}.",
    ]


def indented(*lines: str) -> str:
    """Lines below a table, within the narrowest report."""
    return "".join(f"\n{textwrap.fill(line, 80, initial_indent='  ', subsequent_indent='  ')}" for line in lines)
