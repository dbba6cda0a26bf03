"""Operating cases from their entries: the state of every opening, and whether the flows can balance."""

from __future__ import annotations

from typing import cast

import numpy as np

from anchorsize.casefile.build_flow import build_beta, build_loss_coefficient, build_surge
from anchorsize.casefile.build_joint import build_allow
from anchorsize.casefile.building import Building, Path
from anchorsize.casefile.format import FULL_BORE_AFTER, CaseEntry, StateEntry
from anchorsize.casefile.format_joint import AllowEntry
from anchorsize.casefile.leaves import whole
from anchorsize.casefile.problems import alike, nearest, quoted
from anchorsize.casefile.quantities import Quantity, si
from anchorsize.mechanics import continuity
from anchorsize.study import (
    STANDARD_AMBIENT,
    Allowables,
    Array,
    Case,
    Exit,
    Fluid,
    GasDischarge,
    Losses,
    Number,
    Opening,
    OpeningState,
)
from anchorsize.units import System, show

_FASTEST = 1000.0  # m/s
_NOT_OF_A_CASE = {
    "bolt_spacing_least": "is the same in every case",
    "bolt_spacing_greatest": "is the same in every case",
    "endurance_limit": "belongs to two cases between which the load repeats",
}


def build_case(
    building: Building, name: str, entry: CaseEntry, openings: dict[str, Opening], fluid: Fluid | None
) -> Case:
    """Build one case; every opening gets a state, the ones not mentioned count as connected."""
    path = ("cases", name)
    building.remark(path, entry.note)
    given = dict(whole(entry.__pydantic_extra__))
    known = building.opening_names
    written = set(entry.__pydantic_extra__)
    for key in entry.__pydantic_extra__:
        if key not in known:
            hint = nearest(key, [*known, *CaseEntry.model_fields])
            meant = next((each for each in known if alike(each) == alike(key) and each not in written), None)
            if meant is not None:  # its state is judged as that of the opening, which is thus not missed
                written.add(meant)
                given |= {meant: given[key]} if key in given else {}
            else:
                building.forget((*path, key))
            building.problem(
                (*path, key), f"'{key}' is neither an opening nor a key of a case", hint, "unknown_name", key
            )
    states = {}
    for opening in known:
        if opening in written and opening not in given:
            continue  # broken, and reported already
        state = given.get(opening) or StateEntry.model_construct()
        states[opening] = _state(building, (*path, opening), state, entry, openings.get(opening), fluid)
    _reachable_pressure(building, path, states)
    _steady_losses(building, path, states)
    for joint_name, joint in whole(building.file.joints):
        if joint.at in states and states[joint.at].exit == "capped":
            hint = (
                f"joint '{joint_name}' is there; a closed valve farther on is 'connected' with no flow, and the bolts of a blind flange are judged "
                "in a file of its own: anchorsize start cap"
            )
            building.problem((*path, joint.at), "an opening with a joint cannot be capped", hint)
        if joint.at in states and states[joint.at].exit == "free_jet":
            hint = f"the pipe that joint '{joint_name}' holds to is there: write its pressure, 0 where it is drained"
            building.problem((*path, joint.at), "an opening with a joint cannot be a free jet", hint)
    if states and len(states) == len(known) and fluid is not None:
        _balance(building, path, states, fluid)
    return Case(
        name=name,
        states=states,
        contents_full=entry.contents == "full",
        dynamic_factor=1.0 if entry.dynamic_factor is None else entry.dynamic_factor.si,
        rating_factor=_rating_factor(building, entry),
        allow=_allow(building, path, entry.allow),
        throttled=bool(entry.throttled),
        full_bore_after=entry.throttled == FULL_BORE_AFTER,
    )


def _rating_factor(building: Building, entry: CaseEntry) -> Number | None:
    """The factor on the flange ratings in the case; there must be a rating."""
    factor = entry.rating_factor
    rated = any(
        joint.flange is not None and joint.flange.rating is not None for _, joint in whole(building.file.joints)
    )
    if factor is not None and not rated:
        hint = "write the flange's rating: a pressure, or from table"
        building.at_quantity(factor, "'rating_factor' where no joint has a flange / rating", hint)
    return si(factor)


def _allow(building: Building, path: Path, entry: AllowEntry | None) -> Allowables | None:
    """Allowables of the case alone; those that do not belong to one case are refused."""
    if entry is None:
        return None
    for key, why in _NOT_OF_A_CASE.items():
        if getattr(entry, key) is not None:
            hint = "write it under allow of the file or of the joint"
            building.problem((*path, "allow", key), f"'{key}' {why}", hint)
    return build_allow(building, (*path, "allow"), entry, None, f", for case '{path[-1]}'")


def _state(
    building: Building, path: Path, entry: StateEntry, case: CaseEntry, opening: Opening | None, fluid: Fluid | None
) -> OpeningState:
    building.remark(path, entry.note)
    exit_ = cast(Exit, entry.exit)
    flow = _flow(building, entry, exit_, opening)
    losses = _losses(building, path, entry)
    if entry.surge is not None and exit_ == "free_jet":
        hint = "write it at the opening that goes on into a pipe"
        building.problem(
            (*path, "surge"), "a surge at a free jet, whose gauge pressure is 0 whatever happens in the pipe", hint
        )
    gas = _gas(building, path, entry, case, exit_)
    pressure = _pressure(building, path, entry, case, exit_)
    return OpeningState(
        exit=exit_,
        flow=flow,
        pressure=pressure,
        beta=build_beta(building, path, entry),
        density=si(entry.density),
        flow_change=0.0 if entry.flow_change is None else entry.flow_change.si,
        losses=losses,
        surge=build_surge(building, (*path, "surge"), entry.surge, fluid),
        gas=gas,
    )


def _flow(building: Building, entry: StateEntry, exit_: Exit, opening: Opening | None) -> Number | None:
    """Return the flow, positive out, or None where continuity has to find it."""
    if entry.flow_in is not None and entry.flow_out is not None:
        building.at_quantity(entry.flow_out, "a flow in and a flow out at one opening", "write one of them")
    flow = entry.flow_in or entry.flow_out
    if exit_ == "capped":
        if flow is not None and np.any(flow.si != 0):
            building.at_quantity(flow, f"'{flow.given}' through a capped opening", "take it out, or change exit")
        return 0.0
    if flow is None:
        return None
    if np.any(np.asarray(flow.si) < 0):
        other = "flow_out" if flow is entry.flow_in else "flow_in"
        building.at_quantity(flow, f"'{flow.given}' is negative", f"write it under {other}", "out_of_range")
    elif opening is not None and np.any(np.asarray(flow.si) > _FASTEST * np.asarray(opening.area)):
        message = f"'{flow.given}' through this opening is faster than 1000 m/s"
        building.at_quantity(flow, message, "is this unit right, and that of the bore?", "out_of_range")
    return flow.si if flow is entry.flow_out else -np.asarray(flow.si) + 0.0


def _pressure(building: Building, path: Path, entry: StateEntry, case: CaseEntry, exit_: Exit) -> Number | None:
    """Return the gauge pressure, from gauge or absolute, or None where losses or gas give it or the end is capped."""
    gauge = entry.pressure if isinstance(entry.pressure, Quantity) else None
    ambient = entry.ambient or case.ambient or building.file.ambient
    if entry.absolute_pressure is not None:
        if entry.pressure is not None:
            building.at_quantity(
                entry.absolute_pressure, "a gauge and an absolute pressure at once", "write one of them"
            )
        if ambient is None:
            hint = "write ambient, for the opening, the case or the whole file"
            building.at_quantity(
                entry.absolute_pressure, "an absolute pressure needs the ambient one", hint, "missing_key"
            )
            return np.nan
        pressure: Number | None = np.asarray(entry.absolute_pressure.si) - np.asarray(ambient.si)
    else:
        pressure = si(gauge)
        outside, told = (STANDARD_AMBIENT, "101.325 kPa") if ambient is None else (ambient.si, f"'{ambient.given}'")
        if gauge is not None and np.any(np.asarray(gauge.si) < -np.asarray(outside)):
            message = f"'{gauge.given}' lies below absolute vacuum with an ambient pressure of {told}"
            hint = "pressures are gauge; see absolute_pressure" + (
                "" if ambient else "; write ambient where it is higher"
            )
            building.at_quantity(gauge, message, hint, "out_of_range")
    if exit_ == "free_jet" and entry.gas is None:
        if isinstance(entry.pressure, str) or (pressure is not None and np.any(np.abs(np.asarray(pressure)) > 1e-3)):
            given = gauge or entry.absolute_pressure
            message = f"'{given.given if given else entry.pressure}' at a free jet, whose gauge pressure is 0"
            hint = "take the pressure out, or write exit: connected"
            where = "pressure" if entry.absolute_pressure is None else "absolute_pressure"
            building.problem((*path, where), message, hint, found=given.given if given else "")
        return 0.0
    if exit_ == "connected" and pressure is None and entry.pressure is None and entry.gas is None:
        hint = (
            "write it, as a gauge, the pump's curve or the level above tells it; or pressure: from losses with loss_coefficient, where "
            "another opening's is known; or exit: free_jet or capped; an opening left out counts as connected, which needs a pressure"
        )
        building.missing((*path, "pressure"), hint)
        return np.nan
    return pressure


def _losses(building: Building, path: Path, entry: StateEntry) -> Losses | None:
    asked = entry.pressure == "from losses"
    if entry.velocity_at is not None and entry.velocity_at not in building.opening_names:
        building.unknown((*path, "velocity_at"), entry.velocity_at, "opening", building.opening_names)
    if not asked:
        if entry.loss_coefficient is not None:
            hint = "write pressure: from losses, or take it out"
            building.problem((*path, "loss_coefficient"), "a loss coefficient that nothing asks for", hint)
        return None
    if entry.loss_coefficient is None:
        building.missing((*path, "loss_coefficient"), "'pressure: from losses' needs it")
        return None
    coefficient = build_loss_coefficient(building, path, entry)
    return None if coefficient is None else Losses(coefficient, entry.velocity_at or path[-1])


def _reachable_pressure(building: Building, path: Path, states: dict[str, OpeningState]) -> None:
    """A pressure from losses needs an opening whose pressure is known, and no second one."""
    asking = [name for name, state in states.items() if state.losses is not None]
    if asking and len(asking) == sum(state.exit != "capped" for state in states.values()):
        building.problem((*path, asking[0], "pressure"), "no opening of this case has a known pressure", "give one")
        return
    given = {name: state.pressure for name, state in states.items() if state.exit != "capped" and state.gas is None}
    known = [name for name, pressure in given.items() if pressure is not None]
    if len(known) < 2 or any(np.any(np.isnan(np.asarray(given[name]))) for name in known):
        return
    for name in asking:
        message = f"'from losses' starts from the one other opening whose pressure is known, and here {quoted(known)} have one"
        building.problem((*path, name, "pressure"), message, _way_out(states, known), found="from losses")


def _steady_losses(building: Building, path: Path, states: dict[str, OpeningState]) -> None:
    """A pressure from losses is that of a steady flow: what speeds the fluid up or slows it down takes a pressure of its own."""
    changing = [name for name, state in states.items() if np.any(np.asarray(state.flow_change) != 0.0)]
    for name in [name for name, state in states.items() if state.losses is not None and changing]:
        message = f"'from losses' is of a steady flow, and the flow changes at {quoted(changing)}"
        hint = "write the pressure here as a figure; along a pipe of length L and area A the change takes ρ L/A × flow_change"
        building.problem((*path, name, "pressure"), message, hint, found="from losses")


def _way_out(states: dict[str, OpeningState], known: list[str]) -> str:
    """What to write where a pressure from losses would start from several openings."""
    jets = [name for name in known if states[name].exit == "free_jet"]
    piped = [name for name in known if name not in jets]
    hint = "write the pressure here as a figure"
    if len(jets) == 1:
        return (
            f"{hint}; a branch throttled to a free jet ('{jets[0]}', 0 gauge) beside a line under pressure cannot be told by losses. Only where the "
            f"pressure of {quoted(piped)} follows from that jet as well, write from losses there too"
        )
    return hint if jets else f"{hint}, or from losses at all open ends but one"


def _gas(building: Building, path: Path, entry: StateEntry, case: CaseEntry, exit_: Exit) -> GasDischarge | None:
    gas = entry.gas
    if gas is None:
        return None
    if exit_ != "free_jet":
        building.problem((*path, "gas"), "gas at an opening that is no free jet", "write exit: free_jet")
    for key in ("flow_in", "flow_out", "pressure", "absolute_pressure"):
        if getattr(entry, key) is not None:
            building.problem((*path, key), f"'{key}' beside gas, which gives flow and pressure", "take one out")
    ambient = gas.ambient or entry.ambient or case.ambient or building.file.ambient
    if ambient is None:
        building.missing((*path, "gas", "ambient"), "the absolute pressure of the surroundings")
        return None
    return GasDischarge(gas.mass_flow.si, gas.stagnation_temperature.si, gas.k.si, gas.molar_mass.si, ambient.si)


def _balance(building: Building, path: Path, states: dict[str, OpeningState], fluid: Fluid) -> None:
    """Judge the mass balance: one unknown flow at most, and none left over where all are given."""
    unknown = [name for name, state in states.items() if state.flow is None and state.gas is None]
    if len(unknown) > 1:
        zero = "0 gal/min" if building.file.units == "us" else "0 L/s"
        hint = f"write flow_in or flow_out at all of them but one, such as flow_in: {zero} where nothing flows"
        building.problem(
            path, f"the flows of {quoted(unknown)} are unknown, and one can be solved", hint, "flow_balance"
        )
    if unknown or any(state.gas is not None for state in states.values()):
        return
    out = [
        np.asarray(state.flow) * (fluid.density if state.density is None else state.density)
        for state in states.values()
    ]
    flows = np.stack(np.broadcast_arrays(*out), axis=-1)
    if np.any(np.isnan(flows)):
        return  # a flow is broken, and reported already
    over, share = continuity.imbalance(flows)
    if not np.any(np.abs(share) > continuity.GREATEST_IMBALANCE):
        return
    worst = float(np.ravel(over)[np.argmax(np.abs(np.ravel(over)))])
    way = "out" if worst > 0 else "in"
    names = quoted(name for name, state in states.items() if np.any(np.asarray(state.flow) != 0))
    amount = f"{abs(worst):.4g} kg/s"
    if np.ndim(fluid.density) == 0 and all(state.density is None for state in states.values()):
        amount += f" ({show(abs(worst) / float(fluid.density), 'flow', cast(System, building.file.units))})"
    message = f"the flows of {names} do not balance: {amount} more {way} than {'in' if way == 'out' else 'out'}"
    hint = "leave out the flow that is least certain; it is solved"
    turned = _turned(states, flows)
    building.problem(path, message, f"{turned} Or {hint}" if turned else hint, "flow_balance")


def _turned(states: dict[str, OpeningState], flows: Array) -> str:
    """Name the opening whose flow, the other way round, closes the balance; nothing where there is none."""
    for place, (name, state) in reversed(list(enumerate(states.items()))):
        other = flows.copy()
        other[..., place] *= -1.0
        if np.any(np.asarray(state.flow) != 0.0) and np.all(
            np.abs(continuity.imbalance(other)[1]) <= continuity.GREATEST_IMBALANCE
        ):
            out = bool(np.all(np.asarray(state.flow) > 0.0))
            return f"did you mean {'flow_in' if out else 'flow_out'} at '{name}'?"
    return ""
