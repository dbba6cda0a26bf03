"""The curve: reaction, joint actions and bolt tension of one case against its flow, or against any numeric input.

All points are one batch. The balance flow, at which the vertical reaction changes sign, is solved and not read off the grid.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Literal, TypeAlias

import numpy as np

from anchorsize.assessment.evaluation import evaluate_case
from anchorsize.assessment.holding import with_option
from anchorsize.assessment.results import CaseResult, OpeningResult, StudyError, no_such
from anchorsize.assessment.states import opening_states
from anchorsize.mechanics import energy, frames
from anchorsize.studies.roots import bisect, brackets
from anchorsize.study import Array, Case, Losses, Number, OpeningState, Study

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
    openings = opening_states(study, study.cases[case])
    through = inflow(openings)
    if through <= 0.0:
        raise StudyError(f"case '{case}' has no flow to scale; give it one, or name an input with --vary")
    if discharges_gas(study.cases[case]):
        raise StudyError(f"case '{case}' discharges gas, whose flow fixes its pressure; name the mass flow with --vary")
    if pressure == "from losses":
        study = with_losses(study, case, openings)

    def followed(values: Array) -> Study:
        multiple = values / through
        return scaled(study, case, multiple, multiple**2 if pressure == "square" else 1.0)

    return _curve(followed, case, "flow into the fitting", "flow", flows, pressure)


def against_input(text: str, name: str, case: str, path: str, values: Array, option: str | None = None) -> Curve:
    """Follow any numeric input of a case file's ``text`` by its path over ``values`` (m,) in SI, with the supports of an option.

    Raises
    ------
    CaseFileError
        The text is no usable case file, the path names nothing, or a value is not possible there.
    StudyError
        An unknown case.
    """
    from anchorsize.casefile import numeric_paths, parse_case  # reading takes long to import, and most curves need none

    kind = numeric_paths(text, name).get(path, "number")

    def varied(values: Array) -> Study:
        return with_option(parse_case(text, name, overrides={path: values}), option)

    return _curve(varied, case, path, kind, values, None)


def _known(study: Study, case: str) -> None:
    if case not in study.cases:
        raise no_such("case", case, study.cases)


def _curve(studies: Studies, case: str, what: str, kind: str, x: Array, pressure: PressureRule | None) -> Curve:
    study = studies(x)
    _known(study, case)
    result = evaluate_case(study, study.cases[case])
    return Curve(study, case, what, kind, x, result, _balance(studies, case, x), pressure)


def _balance(studies: Studies, case: str, x: Array) -> Array:
    """Values between the ends of ``x`` at which the vertical reaction changes sign."""

    def vertical(values: Array) -> tuple[Array, Array]:
        study = replace(studies(values), joints={}, supports={})
        result = evaluate_case(study, study.cases[case])
        loads = sum(np.linalg.norm(load.force, axis=-1) for load in result.loads)
        reaction, rounding = np.broadcast_arrays(result.vertical_reaction, NOISE * loads, values)[:2]
        return reaction, rounding

    grid = np.linspace(float(np.min(x)), float(np.max(x)), SEARCH_POINTS)
    reaction, rounding = vertical(grid)
    there = np.abs(reaction) > rounding
    return bisect(lambda values: vertical(values)[0], *brackets(grid[there], reaction[there]))


def inflow(openings: dict[str, OpeningResult]) -> float:
    """Flow into the fitting [m³/s] in a study of one row."""
    return float(sum(np.maximum(-np.asarray(opening.flow), 0.0) for opening in openings.values()))


def discharges_gas(case: Case) -> bool:
    """Whether a gas leaves somewhere, whose flow fixes its pressure."""
    return any(state.gas is not None for state in case.states.values())


def scaled(study: Study, case: str, flow: Number, pressure: Number) -> Study:
    """The study with the given flows of a case times ``flow`` (...) and its given pressures times ``pressure`` (...)."""
    old = study.cases[case]

    def state(old: OpeningState) -> OpeningState:
        surge = None if old.surge is None else replace(old.surge, stopped_flow=old.surge.stopped_flow * flow)
        return replace(old, flow=_times(old.flow, flow), pressure=_times(old.pressure, pressure), surge=surge)

    states = {name: state(each) for name, each in old.states.items()}
    return replace(study, cases={**study.cases, case: replace(old, states=states)})


def _times(value: Number | None, multiple: Number) -> Number | None:
    """A given value times a multiple; zero, as at every free jet, stays one number and does not become a batch of zeros."""
    return value if value is None or np.all(np.asarray(value) == 0.0) else value * multiple


def with_losses(study: Study, case: str, openings: dict[str, OpeningResult]) -> Study:
    """The study with the pressure at the way in following from the losses that the case states or implies.

    Raises
    ------
    StudyError
        More than two open ends, or pressures that imply a gain of energy.
    """
    old = study.cases[case]
    if any(state.losses is not None for state in old.states.values()):
        return study
    open_ends = [name for name, state in old.states.items() if state.exit != "capped"]
    if not losses_can_tell(old):
        raise StudyError(
            f"case '{case}': losses between {len(open_ends)} open ends cannot be told from its pressures; {_way_out(old, open_ends)}"
        )
    entry, leaving = sorted(open_ends, key=lambda name: float(np.asarray(openings[name].flow)))
    coefficient = _implied(study, openings, entry, leaving)
    if coefficient < 0.0:
        raise StudyError(
            f"case '{case}': its pressures imply a gain of energy from {entry} to {leaving}; correct them, or hold the pressure"
        )
    return _replaced(study, old, entry, Losses(coefficient, entry))


def losses_can_tell(case: Case) -> bool:
    """Whether the pressures of a case can follow from losses: it states them, or two open ends imply them."""
    states = case.states.values()
    return any(state.losses is not None for state in states) or sum(state.exit != "capped" for state in states) == 2


def _way_out(case: Case, open_ends: list[str]) -> str:
    """What to ask, or to write, where the losses between several open ends are not known."""
    jets = [name for name in open_ends if case.states[name].exit == "free_jet"]
    others = " and ".join(f"'{name}'" for name in open_ends if name not in jets)
    ask = "hold them (--pressure held), or let them go with the square of the flow (--pressure square)"
    if len(open_ends) < 2:
        return ask
    if len(jets) > 1:
        return f"{ask}: the file cannot tell them either, for {len(jets)} free jets fix the pressures"
    if not jets:
        return f"{ask}; or keep one pressure in the file and write pressure: from losses with a loss_coefficient at the other open ends"
    return (
        f"{ask}. Only where every pressure follows from the free jet at '{jets[0]}', write pressure: from losses with a loss_coefficient at "
        f"{others}; a line under a pressure of its own beside a branch throttled to a free jet cannot be told by losses"
    )


def _implied(study: Study, openings: dict[str, OpeningResult], entry: str, leaving: str) -> float:
    """Loss coefficient on the velocity at ``entry`` that the pressures of a case imply [-]."""
    ends = [(study.openings[name], openings[name]) for name in (entry, leaving)]
    heads = [
        energy.total_head(
            end.pressure - end.surge_rise, end.velocity, frames.part_along(opening.center, study.up), end.density
        )
        for opening, end in ends
    ]
    lost = heads[0] - heads[1]
    return float(energy.implied_loss_coefficient(lost, ends[0][1].velocity))


def _replaced(study: Study, case: Case, opening: str, losses: Losses) -> Study:
    states = {**case.states, opening: replace(case.states[opening], pressure=None, losses=losses)}
    return replace(study, cases={**study.cases, case.name: replace(case, states=states)})
