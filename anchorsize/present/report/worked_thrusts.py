"""Worked lines of the thrusts at the openings."""

from __future__ import annotations

from anchorsize.assessment.results import CaseResult, OpeningResult
from anchorsize.present.report.steps import Of, Quantity, Workings, quantity
from anchorsize.study import Opening, Study

BALANCE = "control-volume momentum balance (White, Fluid Mechanics, sections 3.4 and 3.5, from memory)"
EXPANSION_JOINT = (
    "pressure thrust on the effective area of a bellows (EJMA Standards), on the pipe's outside at a sliding coupling (AWWA M11), both from "
    "memory"
)


def thrusts(work: Workings, study: Study, result: CaseResult, area: dict[str, Quantity]) -> dict[str, Quantity]:
    """Pressure and momentum thrust of every opening that has one, by the name of its load."""
    case = study.cases[result.name]
    factor = quantity(case.dynamic_factor)
    found = {}
    for name, o in result.openings.items():
        if o.exit != "capped" and float(o.pressure) != 0.0:
            found[f"{name} pressure"] = _pressure_thrust(work, study.openings[name], o, factor, area[name])
    for name, o in result.openings.items():
        if o.exit != "capped" and float(o.flow) != 0.0:
            found[f"{name} momentum"] = work.step(
                "Momentum thrust, times the dynamic factor",
                "T_m",
                "k_d*beta*rho*Q**2/A",
                BALANCE,
                Of("force", label=name, agrees=o.momentum_thrust),
                k_d=factor,
                beta=quantity(case.states[name].beta),
                rho=quantity(o.density, "density"),
                Q=quantity(o.flow, "flow"),
                A=area[name],
            )
    return found


def _pressure_thrust(work: Workings, opening: Opening, o: OpeningResult, factor: Quantity, area: Quantity) -> Quantity:
    """Pressure on the bore, or on the effective area of what the line goes on through."""
    wider = opening.effective_area is not None and o.exit == "connected"
    return work.step(
        f"Pressure thrust{' on the effective area beyond' if wider else ''}, times the dynamic factor",
        "T_p",
        "k_d*p*A_e" if wider else "k_d*p*A",
        EXPANSION_JOINT if wider else BALANCE,
        Of("force", label=opening.name, agrees=o.pressure_thrust),
        k_d=factor,
        p=quantity(o.pressure, "pressure"),
        **({"A_e": quantity(opening.pressed_area, "area")} if wider else {"A": area}),
    )
