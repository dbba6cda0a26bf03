"""The curve: reaction, joint actions and bolt tension of one case against its flow, or against any numeric input.

All points are one batch. The balance flow, at which the vertical reaction changes sign, is solved and not read off the grid.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Literal, TypeAlias

import numpy as np

from anchorsize.assessment.evaluation import evaluate_case
from anchorsize.assessment.results import CaseResult, StudyError
from anchorsize.casefile import numeric_paths, parse_case
from anchorsize.mechanics import energy
from anchorsize.studies.roots import bisect, brackets
from anchorsize.study import Array, Case, Losses, OpeningState, Study

PressureRule: TypeAlias = Literal["held", "square", "from losses"]
Studies: TypeAlias = Callable[[Array], Study]

SEARCH_POINTS = 2001  # of the grid on which changes of sign are looked for, whatever the number of points shown
NOISE = 1e-12  # share of the greatest reaction below which a vertical reaction is rounding


@dataclass(frozen=True)
class Curve:
    """One case over a row of values ``x`` (m,) of an input, in SI; every result carries the axis (m,).

    ``what`` names the input, ``kind`` is its kind of quantity. ``balance`` holds the values of ``x`` at which the vertical
    reaction changes sign, in rising order.
    """

    study: Study
    case: str
    what: str
    kind: str
    x: Array
    result: CaseResult
    balance: Array
    pressure: PressureRule | None  # None where an input is varied by its path


def against_flow(study: Study, case: str, flows: Array, pressure: PressureRule = "held") -> Curve:
    """Follow the flow into the fitting over ``flows`` (m,) [m³/s]; all flows given for the case scale together.

    ``held`` leaves the pressures as they are, ``square`` scales the given ones with the square of the flow, and ``from losses``
    keeps the loss coefficient: the one given, or else the one that the pressures of the case imply.

    Raises
    ------
    StudyError
        An unknown case, no flow to scale, a negative flow, or losses that cannot be told.
    """
    _known(study, case)
    if np.any(flows < 0.0):
        raise StudyError("a curve against flow starts at zero or more")
    base = evaluate_case(replace(study, joints={}), study.cases[case])
    through = sum(np.maximum(-np.asarray(opening.flow), 0.0) for opening in base.openings.values())
    if not np.all(np.asarray(through) > 0.0):
        raise StudyError(f"case '{case}' has no flow to scale; give it one, or name an input with --vary")
    if any(state.gas is not None for state in study.cases[case].states.values()):
        raise StudyError(f"case '{case}' discharges gas, whose flow fixes its pressure; name the mass flow with --vary")
    if pressure == "from losses":
        study = _with_losses(study, case, base)

    def scaled(values: Array) -> Study:
        return _scaled(study, case, values / float(through), squared=pressure == "square")

    return _curve(scaled, case, "flow into the fitting", "flow", flows, pressure)


def against_input(text: str, name: str, case: str, path: str, values: Array) -> Curve:
    """Follow any numeric input of a case file's ``text`` by its path over ``values`` (m,) in SI.

    Raises
    ------
    CaseFileError
        The text is no usable case file, the path names nothing, or a value is not possible there.
    StudyError
        An unknown case.
    """
    kind = numeric_paths(text, name).get(path, "number")

    def varied(values: Array) -> Study:
        return parse_case(text, name, overrides={path: values})

    return _curve(varied, case, path, kind, values, None)


def _known(study: Study, case: str) -> None:
    if case not in study.cases:
        raise StudyError(f"no case '{case}'; the file has {', '.join(study.cases)}")


def _curve(studies: Studies, case: str, what: str, kind: str, x: Array, pressure: PressureRule | None) -> Curve:
    study = studies(x)
    _known(study, case)
    result = evaluate_case(study, study.cases[case])
    return Curve(study, case, what, kind, x, result, _balance(studies, case, x), pressure)


def _balance(studies: Studies, case: str, x: Array) -> Array:
    """Values between the ends of ``x`` at which the vertical reaction changes sign."""

    def vertical(values: Array) -> tuple[Array, Array]:
        study = replace(studies(values), joints={})
        result = evaluate_case(study, study.cases[case])
        loads = sum(np.linalg.norm(load.force, axis=-1) for load in result.loads)
        reaction, rounding = np.broadcast_arrays(result.vertical_reaction, NOISE * loads, values)[:2]
        return reaction, rounding

    grid = np.linspace(float(np.min(x)), float(np.max(x)), SEARCH_POINTS)
    reaction, rounding = vertical(grid)
    there = np.abs(reaction) > rounding
    return bisect(lambda values: vertical(values)[0], *brackets(grid[there], reaction[there]))


def _scaled(study: Study, case: str, scale: Array, squared: bool) -> Study:
    """The study with the given flows of a case times ``scale`` (m,), and its given pressures times its square."""
    old = study.cases[case]

    def state(old: OpeningState) -> OpeningState:
        flow = None if old.flow is None else old.flow * scale
        pressure = old.pressure if old.pressure is None or not squared else old.pressure * scale**2
        surge = None if old.surge is None else replace(old.surge, stopped_flow=old.surge.stopped_flow * scale)
        return replace(old, flow=flow, pressure=pressure, surge=surge)

    states = {name: state(each) for name, each in old.states.items()}
    return replace(study, cases={**study.cases, case: replace(old, states=states)})


def _with_losses(study: Study, case: str, base: CaseResult) -> Study:
    """The study with the pressure at the way in following from the losses that the case states or implies."""
    old = study.cases[case]
    if any(state.losses is not None for state in old.states.values()):
        return study
    open_ends = [name for name, state in old.states.items() if state.exit != "capped"]
    if len(open_ends) != 2:
        raise StudyError(
            f"case '{case}': losses between {len(open_ends)} open ends cannot be told from its pressures; write "
            "'pressure: from losses' with a loss coefficient"
        )
    entry, leaving = sorted(open_ends, key=lambda name: float(np.asarray(base.openings[name].flow)))
    coefficient = _implied(study, base, entry, leaving)
    if coefficient < 0.0:
        raise StudyError(
            f"case '{case}': its pressures imply a gain of energy from {entry} to {leaving}; correct them, or hold the pressure"
        )
    return _replaced(study, old, entry, Losses(coefficient, entry))


def _implied(study: Study, base: CaseResult, entry: str, leaving: str) -> float:
    """Loss coefficient on the velocity at ``entry`` that the pressures of a case imply [-]."""
    ends = [(study.openings[name], base.openings[name]) for name in (entry, leaving)]
    heads = [
        energy.total_head(end.pressure - end.surge_rise, end.velocity, opening.center @ study.up, end.density)
        for opening, end in ends
    ]
    lost = heads[0] - heads[1]
    return float(energy.implied_loss_coefficient(lost, ends[0][1].velocity))


def _replaced(study: Study, case: Case, opening: str, losses: Losses) -> Study:
    states = {**case.states, opening: replace(case.states[opening], pressure=None, losses=losses)}
    return replace(study, cases={**study.cases, case.name: replace(case, states=states)})
