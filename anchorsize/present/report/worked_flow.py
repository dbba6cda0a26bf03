"""Worked lines of the openings: flow, velocity and pressure."""

from __future__ import annotations

import numpy as np

from anchorsize.assessment.results import CaseResult, OpeningResult
from anchorsize.mechanics.gas import GAS_CONSTANT
from anchorsize.mechanics.momentum import STANDARD_GRAVITY
from anchorsize.present.report.steps import Of, Quantity, Workings, quantity
from anchorsize.study import Case, GasDischarge, Number, OpeningState, Study, Surge

ENERGY = "steady-flow energy equation (White, Fluid Mechanics, section 3.6, from memory)"
GAS = "isentropic relations of a perfect gas (NACA Report 1135, from memory)"
SURGE = "Joukowsky; slow closure by Michaud, flow falling evenly during closing (Wylie and Streeter, Fluid Transients in Systems, from memory)"
EVEN_RISE = "rho*a*Delta_v*(t_L/max(t, t_L))"
RIGID_COLUMN = "rigid column, valve area falling evenly during closing (Wylie and Streeter, Fluid Transients in Systems, from memory)"


def areas(work: Workings, study: Study) -> dict[str, Quantity]:
    """The area of every opening; of one given by its area, the bore is that of the circle as large."""
    return {
        name: work.step(
            "Bore area",
            "A",
            "pi*d**2/4",
            "circle, derived here",
            Of("area", label=name, agrees=opening.area),
            d=quantity(np.sqrt(4.0 * opening.area / np.pi), "length"),
        )
        for name, opening in study.openings.items()
    }


def flows(work: Workings, study: Study, result: CaseResult, area: dict[str, Quantity]) -> None:
    """Continuity and the velocities of a case."""
    case = study.cases[result.name]
    open_ones = {name: o for name, o in result.openings.items() if o.exit != "capped"}
    solved = [name for name in open_ones if case.states[name].flow is None and case.states[name].gas is None]
    masses = {}
    for name, o in open_ones.items():
        if name not in solved and case.states[name].gas is None and float(o.flow) != 0.0:
            masses[name] = work.step(
                "Mass flow, positive out of the fitting",
                "mdot",
                "rho*Q",
                "definition",
                Of("mass_flow", label=name, agrees=o.mass_flow),
                rho=quantity(o.density, "density"),
                Q=quantity(o.flow, "flow"),
            )
        elif case.states[name].gas is not None:
            masses[name] = quantity(o.mass_flow, "mass_flow")
    for name in solved:
        if not masses:
            continue
        names = [f"mdot_{i + 1}" for i in range(len(masses))]
        work.step(
            "Flow that continuity leaves for it",
            "Q",
            f"-(({' + '.join(names)})/rho)",
            "conservation of mass, steady flow",
            Of("flow", label=f"{name} (from {', '.join(masses)})", agrees=open_ones[name].flow),
            rho=quantity(open_ones[name].density, "density"),
            **dict(zip(names, masses.values(), strict=True)),
        )
    for name, o in open_ones.items():
        if float(o.flow) != 0.0:
            work.step(
                "Velocity",
                "v",
                "abs(Q)/A",
                "definition",
                Of("velocity", label=name, agrees=o.velocity),
                Q=quantity(o.flow, "flow"),
                A=area[name],
            )


def pressures(work: Workings, study: Study, result: CaseResult, area: dict[str, Quantity]) -> None:
    """Pressures that follow from losses, from a gas or from a surge."""
    case = study.cases[result.name]
    for name, state in case.states.items():
        o = result.openings[name]
        if state.gas is not None:
            _gas(work, name, o, state.gas, area[name])
        elif state.losses is not None:
            _from_losses(work, study, case, result, name)
            if state.surge is None and float(o.surge_rise) > 0.0:
                _with_surge(
                    work,
                    name,
                    o,
                    quantity(o.surge_rise, "pressure"),
                    "Pressure with the surge that runs through the fitting",
                )
        if state.surge is not None and np.any(state.surge.stopped_flow):
            _wave_speed(work, name, study, state)
            _surge(work, name, o, state, area[name], study.openings[name].area)


def _from_losses(work: Workings, study: Study, case: Case, result: CaseResult, name: str) -> None:
    o, state = result.openings[name], case.states[name]
    losses = state.losses
    known = next(
        other
        for other, each in case.states.items()
        if other != name and each.exit != "capped" and each.pressure is not None and each.gas is None
    )
    if losses is None:
        return
    there = result.openings[known]
    sign = "-" if float(o.flow) >= 0.0 else "+"
    work.step(
        "Pressure from losses",
        "p",
        f"p_k + rho/2*(v_k**2 - v**2) + rho*g*(z_k - z) {sign} K*rho*v_K**2/2",
        ENERGY,
        Of(
            "pressure",
            label=f"{name} (from {known}, loss on the velocity at {losses.velocity_at})",
            agrees=o.pressure - o.surge_rise,
        ),
        p_k=quantity(case.states[known].pressure or 0.0, "pressure"),
        rho=quantity(o.density, "density"),
        v_k=quantity(there.velocity, "velocity"),
        v=quantity(o.velocity, "velocity"),
        g=Quantity(STANDARD_GRAVITY, "m/s²"),
        K=quantity(losses.coefficient),
        z_k=quantity(study.openings[known].center @ study.up, "length"),
        z=quantity(study.openings[name].center @ study.up, "length"),
        v_K=quantity(result.openings[losses.velocity_at].velocity, "velocity"),
    )


ANCHORED = {"upstream end": "1 - nu/2", "throughout": "1 - nu**2"}
"""How anchoring changes the give of a thin wall; it stays whole with expansion joints."""


def _wave_speed(work: Workings, name: str, study: Study, state: OpeningState) -> None:
    """The wave speed from the fluid and the wall of the pipe, where it was not given."""
    pipe = None if state.surge is None else state.surge.pipe
    if pipe is None or state.surge is None or study.fluid.bulk_modulus is None:
        return
    values = {
        "D": quantity(pipe.inside, "length"),
        "e": quantity(pipe.wall, "length"),
        "E": quantity(pipe.modulus, "modulus"),
        "nu": quantity(pipe.poisson),
        "K": quantity(study.fluid.bulk_modulus, "modulus"),
        "rho": quantity(study.fluid.density, "density"),
        "c": quantity(1.0),
    }
    if pipe.anchoring in ANCHORED:
        what = f"Factor of a thin wall, anchored: {pipe.anchoring}"
        values["c"] = work.step(what, "c", ANCHORED[pipe.anchoring], SURGE, Of(label=name), **values)
    work.step("Bore over wall of the pipe in which the wave runs", "D/e", "D/e", "definition", Of(label=name), **values)
    values["c_1"] = work.step(
        f"Factor of a wall of any thickness ({'thin factor above' if pipe.anchoring in ANCHORED else 'c = 1, expansion joints'})",
        "c_1",
        "2*e/D*(1 + nu) + c*D/(D + e)",
        "give of a thick tube (Lamé)",
        Of(label=name),
        **values,
    )
    work.step(
        "Wave speed",
        "a",
        "sqrt(K/(rho*(1 + c_1*K*D/(E*e))))",
        SURGE,
        Of("velocity", label=name, agrees=state.surge.wave_speed),
        **values,
    )


def _surge(work: Workings, name: str, o: OpeningResult, state: OpeningState, area: Quantity, opening: Number) -> None:
    wave = state.surge
    if wave is None:
        return
    if wave.pipe_area is not None:
        area = work.step(
            "Bore area of the pipe in which the wave runs",
            "A",
            "pi*d**2/4",
            "circle, derived here",
            Of("area", label=f"{name}, pipe", agrees=wave.pipe_area),
            d=quantity(np.sqrt(4.0 * wave.pipe_area / np.pi), "length"),
        )
    stopped = work.step(
        "Velocity that is stopped, in the pipe in which the wave runs",
        "Delta_v",
        "Delta_Q/A",
        "definition",
        Of("velocity", label=name, agrees=wave.stopped_flow / np.asarray(wave.area(opening))),
        Delta_Q=quantity(wave.stopped_flow, "flow"),
        A=area,
    )
    stop = {
        "rho": quantity(o.density, "density"),
        "a": quantity(wave.wave_speed, "velocity"),
        "Delta_v": stopped,
    }
    if wave.closing_time is None or wave.pipe_length is None:
        rise = work.step(
            "Pressure rise of a sudden stop",
            "Delta_p",
            "rho*a*Delta_v",
            SURGE,
            Of("pressure", label=name, agrees=o.surge_rise),
            **stop,
        )
    else:
        echo = work.step(
            "Time of the echo",
            "t_L",
            "2*L/a",
            SURGE,
            Of("time", label=name),
            L=quantity(wave.pipe_length, "length"),
            a=stop["a"],
        )
        stop |= {"t": quantity(wave.closing_time, "time"), "t_L": echo}
        before = float(o.pressure - o.surge_rise)
        if wave.falls_evenly == "valve_area" and echo.number < float(wave.closing_time) and before > 0.0:
            rise = _by_valve_area(work, name, o, wave, stop)
        else:
            # a late valve that no pressure drives the flow through stops it as a whole
            late = wave.falls_evenly == "valve_area" and before <= 0.0
            rise = work.step(
                "Pressure rise of a stop that takes time",
                "Delta_p",
                "rho*a*Delta_v" if late else EVEN_RISE,
                SURGE,
                Of("pressure", label=name, agrees=o.surge_rise),
                **stop,
            )
    _with_surge(work, name, o, rise, "Pressure with the surge")


def _by_valve_area(work: Workings, name: str, o: OpeningResult, wave: Surge, stop: dict[str, Quantity]) -> Quantity:
    """The rise of a slow stop by a valve whose area falls evenly: the greater of a rigid column's and an even flow's."""
    even = work.step(
        "Pressure rise of a flow that falls evenly", "Delta_p_e", EVEN_RISE, SURGE, Of("pressure", label=name), **stop
    )
    stop = stop | {"p_0": quantity(o.pressure - o.surge_rise, "pressure")}
    inertia = work.step(
        "Inertia of the column over the pressure that drives it",
        "K",
        "rho*L*Delta_v/(t*p_0)",
        RIGID_COLUMN,
        Of(label=name),
        L=quantity(wave.pipe_length or 0.0, "length"),
        **stop,
    )
    column = work.step(
        "Pressure rise of the rigid column",
        "Delta_p_c",
        "p_0*K/2*(K + sqrt(K**2 + 4))",
        RIGID_COLUMN,
        Of("pressure", label=name),
        K=inertia,
        **stop,
    )
    return work.step(
        "Pressure rise of a valve whose area falls evenly: the greater, at most that of a sudden stop",
        "Delta_p",
        "max(Delta_p_e, min(Delta_p_c, rho*a*Delta_v))",
        SURGE,
        Of("pressure", label=name, agrees=o.surge_rise),
        Delta_p_e=even,
        Delta_p_c=column,
        **stop,
    )


def _with_surge(work: Workings, name: str, o: OpeningResult, rise: Quantity, what: str) -> None:
    work.step(
        what,
        "p",
        "p_0 + Delta_p",
        "sum",
        Of("pressure", label=name, agrees=o.pressure),
        p_0=quantity(o.pressure - o.surge_rise, "pressure"),
        Delta_p=rise,
    )


def _gas(work: Workings, name: str, o: OpeningResult, gas: GasDischarge, area: Quantity) -> None:
    """Exit state of an open gas discharge, subsonic or choked."""
    specific = "J/(kg·K)"
    flow = quantity(gas.mass_flow, "mass_flow")
    k, ambient = quantity(gas.k), quantity(gas.ambient, "absolute_pressure")
    total = quantity(gas.stagnation_temperature, "temperature")
    constant = work.step(
        "Gas constant per mass",
        "R",
        "R_0/M",
        "definition; R₀ exact in the SI",
        Of(unit=specific, label=name),
        R_0=Quantity(GAS_CONSTANT, "J/(mol·K)"),
        M=quantity(gas.molar_mass, "molar_mass"),
    )
    sonic = work.step(
        "Pressure at which the flow fills the exit at the speed of sound",
        "p_s",
        "mdot/A*sqrt(2*R*T_0/(k*(k + 1)))",
        GAS,
        Of("absolute_pressure", label=name),
        mdot=flow,
        A=area,
        R=constant,
        T_0=total,
        k=k,
    )
    pressure = work.step(
        "Absolute pressure in the exit",
        "p_e",
        "max(p_s, p_amb)",
        "choked or not, the larger",
        Of("absolute_pressure", label=name),
        p_s=sonic,
        p_amb=ambient,
    )
    per_kelvin = work.step(
        "Velocity per kelvin",
        "c",
        "mdot*R/(p_e*A)",
        "continuity, perfect gas",
        Of(unit="m/(s·K)", label=name),
        mdot=flow,
        R=constant,
        p_e=pressure,
        A=area,
    )
    heat = work.step(
        "Heat capacity per mass", "c_p", "k*R/(k - 1)", "perfect gas", Of(unit=specific, label=name), k=k, R=constant
    )
    temperature = work.step(
        "Temperature in the exit",
        "T",
        "2*T_0/(1 + sqrt(1 + 2*c**2*T_0/c_p))",
        "energy, T + v²/(2 c_p) = T₀ with v = c T",
        Of(unit="K", label=name),
        T_0=total,
        c=per_kelvin,
        c_p=heat,
    )
    work.step(
        "Density in the exit",
        "rho",
        "p_e/(R*T)",
        "perfect gas",
        Of("density", label=name, agrees=o.density),
        p_e=pressure,
        R=constant,
        T=temperature,
    )
    work.step(
        "Velocity in the exit",
        "v",
        "c*T",
        "continuity",
        Of("velocity", label=name, agrees=o.velocity),
        c=per_kelvin,
        T=temperature,
    )
    work.step(
        "Flow in the exit",
        "Q",
        "mdot*R*T/p_e",
        "perfect gas",
        Of("flow", label=name, agrees=o.flow),
        mdot=flow,
        R=constant,
        T=temperature,
        p_e=pressure,
    )
    work.step(
        "Pressure over the surroundings",
        "p",
        "p_e - p_amb",
        "definition",
        Of("pressure", label=name, agrees=o.pressure - o.surge_rise),
        p_e=pressure,
        p_amb=ambient,
    )
