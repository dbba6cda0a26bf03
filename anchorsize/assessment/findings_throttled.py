"""What a free jet of a throttled case may thrust with, where the throttle stands at or near the mouth and leaves a narrow jet.

Behind a valve or an orifice inside the fitting the stream is taken to fill the bore again: the head is lost there. At the mouth nothing
slows it: the same flow leaves as a narrow jet, at most with the whole head of the supply turned into velocity. Its thrust ρ·Q·v grows
with that velocity. Loads in between give utilizations between those of the full bore and of that jet, or under both.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from anchorsize.assessment.audit import steady_liquid
from anchorsize.assessment.findings_flow import NOTICED, listed
from anchorsize.assessment.findings_support_data import NARROW_JET
from anchorsize.assessment.findings_unanchored import Loose, all_hold, at_the_joint, fails_then, then_with
from anchorsize.assessment.results import CaseResult, Finding, OpeningResult
from anchorsize.mechanics import energy, frames, gas
from anchorsize.study import Study
from anchorsize.units import figures, show

SAME_FLUID = 0.01  # share by which densities may differ for Bernoulli's equation to hold between them: common practice, no source


@dataclass(frozen=True)
class NarrowJet:
    """The narrowest jet that the supply can make at an opening: its ``thrust`` [N], dynamic factor included, ``velocity`` [m/s] and
    ``area`` [m²]; the area is None for a gas, of which it is that of no one plane."""

    thrust: float
    velocity: float
    area: float | None


Jets = dict[str, NarrowJet | None]


def narrow_jets(study: Study, result: CaseResult) -> Jets:
    """By the free jets that flow out of a throttled case: the narrowest jet there, None where the tool cannot work it out.

    Those are left out that thrust no more than the full bore, since there is no head that a throttle could take.
    """
    case = study.cases[result.name]
    if not case.throttled or case.full_bore_after:
        return {}
    found: Jets = {
        name: _narrowest(study, result, name)
        for name, o in result.openings.items()
        if o.exit == "free_jet" and float(o.mass_flow) > 0.0
    }
    return {
        name: jet
        for name, jet in found.items()
        if jet is None or float(result.openings[name].thrust) < (1.0 - NOTICED) * jet.thrust
    }


def _narrowest(study: Study, result: CaseResult, name: str) -> NarrowJet | None:
    """The jet into which the whole energy of the strongest supply turns without loss; of steady flow of one liquid or gas only."""
    case, here = study.cases[result.name], result.openings[name]
    supplies = {end: o for end, o in result.openings.items() if o.exit != "capped" and float(o.mass_flow) < 0.0}
    given = case.states[name].gas
    if given is not None:
        at_rest = max(
            float(gas.stagnation_pressure(o.pressure + given.ambient, o.density, o.velocity, given.k))
            for o in supplies.values()
        )
        speed = float(
            gas.greatest_velocity(at_rest, given.stagnation_temperature, given.k, given.molar_mass, given.ambient)
        )
        return NarrowJet(_thrust(here, speed, float(case.dynamic_factor)), speed, None)
    if not steady_liquid(case) or any(
        abs(float(o.density) - float(here.density)) > SAME_FLUID * float(here.density) for o in supplies.values()
    ):
        return None
    # heights over the jet: where the origin lies must not matter. A surge counts, as it does in every other load of the case.
    mouth = float(frames.part_along(study.openings[name].center, study.up))
    heads = [
        energy.total_head(
            o.pressure,
            o.velocity,
            float(frames.part_along(study.openings[end].center, study.up)) - mouth,
            o.density,
        )
        for end, o in supplies.items()
    ]
    speed = float(energy.jet_velocity(max(float(head) for head in heads), 0.0))
    if speed <= 0.0:
        return NarrowJet(0.0, 0.0, None)
    return NarrowJet(_thrust(here, speed, float(case.dynamic_factor)), speed, float(here.flow) / speed)


def _thrust(opening: OpeningResult, speed: float, factor: float) -> float:
    """Thrust [N] of all that leaves at an opening, in the open with this velocity [m/s]."""
    return float(opening.mass_flow) * speed * factor


def notice_throttled(study: Study, option: str, cases: dict[str, CaseResult]) -> list[Finding]:
    """One finding for all throttled cases whose jets are worked out, one for those whose are not."""
    jets = {name: narrow_jets(study, result) for name, result in cases.items()}
    known = {name: made for name, each in jets.items() if (made := _worked_out(each))}
    unknown = {name: ends for name, each in jets.items() if (ends := [end for end, jet in each.items() if jet is None])}
    return [*_narrow(study, option, cases, known), *_not_worked_out(unknown)]


def _worked_out(jets: Jets) -> dict[str, NarrowJet]:
    return {end: jet for end, jet in jets.items() if jet is not None}


def _narrow(
    study: Study, option: str, cases: dict[str, CaseResult], jets: dict[str, dict[str, NarrowJet]]
) -> list[Finding]:
    """All such cases, by the one with the greatest thrust; doubtful where a check that holds fails with the jets in any of them."""
    if not jets:
        return []
    worst = max(jets, key=lambda name: max(jet.thrust for jet in jets[name].values()))
    where, then = {}, {}
    for name, each in jets.items():
        where[name], then[name] = _worst_set(study, option, cases[name], each)
    failing = fails_then(cases, then)
    sizes = " and ".join(_size(study, cases[worst].openings[end], end, jet) for end, jet in jets[worst].items())
    some = f", worst with it at {listed(list(where[worst]))} alone" if len(where[worst]) < len(jets[worst]) else ""
    most = f" at most, in '{worst}'" if len(jets) > 1 else ""
    return [
        Finding(
            NARROW_JET,
            None if len(jets) > 1 else worst,
            f"{_lead({name: list(each) for name, each in jets.items()})} A valve, an orifice or a nozzle at or near the mouth leaves a "
            f"narrow, fast jet instead: {_factor(study, worst)}up to {sizes}{most}{some}, if the whole head of the supply turns into "
            f"velocity{at_the_joint(study, cases[worst], then[worst])}.{failing} {_to_write(jets.values())}",
            doubtful=bool(failing),
        )
    ]


def _not_worked_out(ends: dict[str, list[str]]) -> list[Finding]:
    """Cases whose narrow jet is not worked out; doubtful, since nobody knows whether it decides the verdict."""
    if not ends:
        return []
    return [
        Finding(
            NARROW_JET,
            None if len(ends) > 1 else next(iter(ends)),
            f"{_lead(ends)} A valve, an orifice or a nozzle at or near the mouth leaves a narrow, fast jet instead, which may thrust many "
            "times as much. How much is not worked out here, since the flow or the density of the fluid changes on the way. "
            f"{_to_write(ends.values())}",
            doubtful=True,
        )
    ]


def _worst_set(
    study: Study, option: str, result: CaseResult, jets: dict[str, NarrowJet]
) -> tuple[tuple[str, ...], CaseResult | None]:
    """The jets, each alone or all at once, with which the case comes out worst, and the case judged so; all where they are alike.

    Each alone, for jets that are all narrow may balance one another.
    """
    sets = [tuple(jets), *((end,) for end in jets if len(jets) > 1)]
    then = {ends: then_with(study, option, result.name, _more(result, jets, ends)) for ends in sets}

    def rank(ends: tuple[str, ...]) -> tuple[bool, float]:
        case = then[ends]
        fails = bool(fails_then({result.name: result}, {result.name: case}))
        greatest = np.inf if case is None else max((float(c.utilization) for c in case.checks), default=0.0)
        return fails, greatest

    worst = max(sets, key=rank)
    return worst, then[worst]


def _more(result: CaseResult, jets: dict[str, NarrowJet], ends: Iterable[str]) -> dict[str, float]:
    """What the narrow jets add to the thrust [N] as a pull outward: a thrust pushes inward, so that it is negative."""
    return {end: float(result.openings[end].thrust) - jets[end].thrust for end in ends}


def _lead(ends: dict[str, list[str]]) -> str:
    named = list(dict.fromkeys(end for each in ends.values() for end in each))
    return (
        f"{listed(list(ends))} {'is' if len(ends) == 1 else 'are'} throttled, and {listed(named)} {'is a free jet' if len(named) == 1 else 'are free jets'}: "
        "the thrust there holds only if the stream fills the bore again behind the throttle."
    )


def _factor(study: Study, case: str) -> str:
    factor = float(study.cases[case].dynamic_factor)
    return "" if factor == 1.0 else f"times the dynamic factor {figures(factor, 3)} "


def _size(study: Study, opening: OpeningResult, end: str, jet: NarrowJet) -> str:
    system = study.units
    area = "" if jet.area is None else f", A_j = {show(jet.area, 'area', system)}"
    return (
        f"{show(jet.thrust, 'force', system)} at '{end}' in place of {show(float(opening.thrust), 'force', system)} "
        f"(v = {show(jet.velocity, 'velocity', system)}{area})"
    )


def _to_write(ends: Iterable[Iterable[str]]) -> str:
    named = listed(list(dict.fromkeys(end for each in ends for end in each)))
    return (
        f"Where it is so, write the jet's own bore at {named}, or a nozzle as the last part of the shape, and take throttled out; where "
        "full-bore pipe follows the throttle, write throttled: full_bore_after."
    )


@dataclass(frozen=True)
class Narrowed(Loose):
    """Openings that may have a narrow jet: ``pull`` is the greatest thrust of one, ``full`` [N] that of the full bore; where it is not
    worked out, infinite and None."""

    full: float | None


def narrowed(study: Study, option: str, cases: dict[str, CaseResult]) -> Narrowed | None:
    """What becomes of an option where the throttles stand at the mouths, in every case by itself; None where there are none."""
    jets = {name: each for name, result in cases.items() if (each := narrow_jets(study, result))}
    if not jets:
        return None
    ends = tuple(dict.fromkeys(end for each in jets.values() for end in each))
    for name, each in jets.items():
        if any(jet is None for jet in each.values()):
            return Narrowed(ends, np.inf, name, False, None)
    known = {name: _worked_out(each) for name, each in jets.items()}
    thrust, worst, end = max((jet.thrust, name, end) for name, each in known.items() for end, jet in each.items())
    then = [_worst_set(study, option, cases[name], each)[1] for name, each in known.items()]
    holds = all_hold(then)
    return Narrowed(ends, thrust, worst, holds, float(cases[worst].openings[end].thrust))
