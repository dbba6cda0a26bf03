"""States of the fitting that are more, or other, than they seem: gas where no liquid is, flow in an empty fitting, pressure beyond a shut valve."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from anchorsize.assessment.findings_flow import NO_PRESSURE, NOTICED, listed
from anchorsize.assessment.findings_unanchored import at_the_joint, fails_then, then_with
from anchorsize.assessment.hot import gas_cases, is_gas
from anchorsize.assessment.results import CaseResult, Finding
from anchorsize.study import Study
from anchorsize.units import show

GAS_UNDER_PRESSURE = "gas under pressure"
FLOWS_EMPTY = "flow through an empty fitting"
BEYOND_A_VALVE = "pressure beyond a shut valve"
FAILS_BEYOND_A_VALVE = "fails with pressure beyond a shut valve"


def notice_states(study: Study, option: str, cases: Mapping[str, CaseResult]) -> tuple[Finding, ...]:
    """Findings about the state of the fitting in the cases."""
    return (*_gas(study), *_flows_empty(study, cases), *_beyond_a_valve(study, option, dict(cases)))


def _gas(study: Study) -> list[Finding]:
    """That a pressure is one of gas, which goes off like a spring. Common practice, no source."""
    spring = (
        "It goes off like a spring, with far more energy than a liquid at the same pressure; that energy is NOT JUDGED."
    )
    if is_gas(study):
        return [
            Finding(
                GAS_UNDER_PRESSURE,
                None,
                f"'{study.fluid.name}', {show(float(study.fluid.density), 'density', study.units)}, is a gas. {spring} It is counted as "
                "incompressible, and losses, surges and boiling are those of liquids.",
            )
        ]
    found = gas_cases(study)
    if not found:
        return []
    return [
        Finding(
            GAS_UNDER_PRESSURE,
            None,
            f"No liquid in {listed(list(found))}, yet under pressure: that is COMPRESSED GAS. {spring} Where the line is only drained, write "
            "pressure 0.",
        )
    ]


def _flows_empty(study: Study, cases: Mapping[str, CaseResult]) -> list[Finding]:
    """Cases in which the fluid flows through a fitting that is told to have nothing in it."""
    return [
        Finding(
            FLOWS_EMPTY,
            name,
            f"contents: empty, yet {show(max(flows), 'flow', study.units)} flows: the momentum of {study.fluid.name} counts, its weight does "
            "not. Which is it?",
            doubtful=True,
        )
        for name, result in cases.items()
        if not study.cases[name].contents_full
        and (
            flows := [
                abs(float(each.flow))
                for end, each in result.openings.items()
                if study.cases[name].states[end].gas is None and float(np.asarray(each.mass_flow)) != 0.0
            ]
        )
    ]


def _beyond_a_valve(study: Study, option: str, cases: dict[str, CaseResult]) -> list[Finding]:
    """What the pressure of other cases beyond an opening would do where a case has it capped, as a valve that is shut there."""
    jointed, found = {joint.at for joint in study.joints.values()}, []
    for end in study.openings:
        pushes = {
            name: float(result.openings[end].pressure_thrust)
            for name, result in cases.items()
            if end not in jointed and result.openings[end].exit == "connected"
        }
        most = max(pushes.values(), default=0.0)
        if most <= NO_PRESSURE * float(study.openings[end].area):
            continue
        then = {
            name: then_with(study, option, name, {end: -most})
            for name, result in cases.items()
            if result.openings[end].exit == "capped"
            and study.cases[name].rating_factor is None  # a test is made against a blank
            and not _given_there(study, name, end, most)
        }
        if then:
            found.append(_told(study, end, most, cases, then))
    return found


def _given_there(study: Study, case: str, end: str, push: float) -> bool:
    """Whether the file has a load in that case that pushes into the fitting at the opening, and no small part of this [N]."""
    opening = study.openings[end]
    reach = 2.0 * float(np.sqrt(float(opening.area) / np.pi))
    given = sum(
        -float(load.force @ opening.outward)
        for load in study.external
        if load.acts_in(case) and float(np.linalg.norm(np.cross(load.at - opening.center, opening.outward))) <= reach
    )
    return given > NOTICED * push


def _told(
    study: Study, end: str, push: float, cases: dict[str, CaseResult], then: dict[str, CaseResult | None]
) -> Finding:
    opening, name = study.openings[end], next(iter(then))
    fails = fails_then({each: cases[each] for each in then}, then)
    force, at = (
        [f"{float(value):.5g}" for value in values]
        for values in (-push * opening.outward, 1e3 * np.asarray(opening.center))
    )
    written = f'{{name: "beyond {end}", force: [{", ".join(force)} N], at: [{", ".join(at)} mm], cases: ["{name}"]}}'
    return Finding(
        FAILS_BEYOND_A_VALVE if fails else BEYOND_A_VALVE,
        None,
        f"'{end}' is capped in {listed(list(then))} and has a line beyond it in other cases. If a valve is shut there, pressure left beyond it "
        f"pushes into the fitting all the same, with up to {show(push, 'force', study.units)} as in those cases; that is not counted"
        f"{at_the_joint(study, cases[name], then[name])}.{fails} Where it is so, write under external {written}.",
    )
