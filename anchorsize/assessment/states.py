"""The state of every opening in a case: flows closed by continuity, pressures given, from losses, from surge or from gas."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from anchorsize.assessment.refusing import Refuse, raise_at_once
from anchorsize.assessment.results import OpeningResult, StudyError
from anchorsize.mechanics import continuity, energy, frames, gas, momentum, surge
from anchorsize.study import Array, Case, Losses, Number, OpeningState, Study


@dataclass(frozen=True)
class _Stream:
    """What crosses an opening before its pressure is known: density [kg/m³] and mass flow out [kg/s], NaN to be solved."""

    density: Number
    mass_flow: Number
    gas: gas.GasExit | None = None


def opening_states(study: Study, case: Case, refuse: Refuse = raise_at_once) -> dict[str, OpeningResult]:
    """Flow, velocity, pressure and thrust of every opening of ``study`` in ``case``.

    Raises
    ------
    StudyError
        Flows that do not close, a pressure from losses without one reference, a gas state out of range.
    """
    names = list(study.openings)
    streams = [_stream(study, case, name) for name in names]
    closed = _close(case.name, names, [stream.mass_flow for stream in streams], refuse)
    flows = {name: closed[..., i] / streams[i].density for i, name in enumerate(names)}
    steady = {
        name: _steady_pressure(study, case, name, flows, stream) for name, stream in zip(names, streams, strict=True)
    }
    rises = {
        name: _surge_rise(case.states[name], stream.density, study.openings[name].area, steady[name])
        for name, stream in zip(names, streams, strict=True)
    }
    results = {}
    for index, (name, stream) in enumerate(zip(names, streams, strict=True)):
        state, opening = case.states[name], study.openings[name]
        rise = rises[name]
        if state.losses is not None and state.surge is None:
            # a pressure that follows from another one follows it through a surge too: the wave runs through a short fitting, whose
            # fluid gives way at neither end, so that both change alike
            rise = rises[_reference(case, name)]
        pressure = steady[name] + rise
        pressed = opening.pressed_area if state.exit == "connected" else opening.area
        parts = momentum.thrust(pressure, opening.area, stream.density, flows[name], state.beta, pressed)
        carries = 0.0 if state.exit == "capped" else 1.0
        results[name] = OpeningResult(
            exit=state.exit,
            flow=flows[name],
            mass_flow=closed[..., index],
            velocity=np.abs(flows[name]) / opening.area,
            pressure=pressure,
            surge_rise=rise,
            pressure_thrust=parts[0] * case.dynamic_factor * carries,
            momentum_thrust=parts[1] * case.dynamic_factor * carries,
            density=stream.density,
        )
    return results


def _stream(study: Study, case: Case, name: str) -> _Stream:
    state = case.states[name]
    density = study.fluid.density if state.density is None else state.density
    if state.exit == "capped":
        return _Stream(density, 0.0)
    if state.gas is None:
        return _Stream(density, np.nan if state.flow is None else density * state.flow)
    given = state.gas
    try:
        exit_ = gas.open_discharge(
            given.mass_flow,
            study.openings[name].area,
            given.stagnation_temperature,
            given.k,
            given.molar_mass,
            given.ambient,
        )
    except ValueError as error:
        raise StudyError(f"case '{case.name}', {name} / gas: {error}") from error
    return _Stream(exit_.density, given.mass_flow, exit_)


def _close(case: str, names: list[str], mass_flows: list[Number], refuse: Refuse) -> Array:
    """Mass flows (..., k) [kg/s] positive out, the unknown one solved."""
    unknown = [name for name, flow in zip(names, mass_flows, strict=True) if np.any(np.isnan(flow))]
    if len(unknown) > 1:
        raise StudyError(
            f"case '{case}': the flows of {' and '.join(unknown)} are unknown; continuity gives one, state the others"
        )
    closed = continuity.solve_unknown(np.stack(np.broadcast_arrays(*mass_flows), axis=-1))
    absolute, relative = continuity.imbalance(closed)
    open_rows = np.abs(relative) > continuity.GREATEST_IMBALANCE
    if np.any(open_rows):
        worst = int(np.argmax(np.abs(np.ravel(relative))))
        row = closed.reshape(-1, len(names))[worst]
        listed = ", ".join(f"{name} {flow:+.6g} kg/s" for name, flow in zip(names, row, strict=True))
        refuse(
            open_rows,
            f"case '{case}': flow in and out differ by {abs(float(np.ravel(absolute)[worst])):.4g} kg/s "
            f"({abs(float(np.ravel(relative)[worst])):.2%}; positive out: {listed}); correct one, or leave one out to have "
            "it solved",
        )
    return closed


def _steady_pressure(study: Study, case: Case, name: str, flows: dict[str, Array], stream: _Stream) -> Number:
    """Gauge pressure of an opening [Pa] before any surge."""
    state = case.states[name]
    if stream.gas is not None and state.gas is not None:
        return stream.gas.pressure - state.gas.ambient
    if state.losses is not None:
        return _from_losses(study, case, name, flows, stream.density, state.losses)
    return 0.0 if state.pressure is None else state.pressure


def _from_losses(
    study: Study, case: Case, name: str, flows: dict[str, Array], density: Number, losses: Losses
) -> Array:
    known = _reference(case, name)
    here, there = study.openings[name], study.openings[known]
    through = study.openings[losses.velocity_at]
    given = case.states[known].pressure
    return energy.pressure_from_losses(
        0.0 if given is None else given,
        flows[known] / there.area,
        frames.part_along(there.center, study.up),
        flows[name] / here.area,
        frames.part_along(here.center, study.up),
        energy.loss_pressure(losses.coefficient, flows[losses.velocity_at] / through.area, density),
        density,
        downstream=flows[name] >= 0.0,
    )


def _reference(case: Case, name: str) -> str:
    """The one other opening whose pressure is known, from which that of an opening follows by the losses between them."""
    known = [
        other
        for other, state in case.states.items()
        if other != name and state.exit != "capped" and state.pressure is not None and state.gas is None
    ]
    if len(known) != 1:
        which = "none has" if not known else f"{', '.join(known)} have"
        raise StudyError(
            f"case '{case.name}', {name} / pressure: 'from losses' starts from the one other opening whose pressure is known; "
            f"{which} one here; state this pressure instead"
        )
    return known[0]


def _surge_rise(state: OpeningState, density: Number, area: Number, before: Number) -> Number:
    """Pressure rise [Pa] of the wave that a stopping flow sends past this opening; 0 without one.

    The velocity is that in the pipe in which the wave runs; ``area`` is the opening's, ``before`` its pressure [Pa] till then.
    """
    wave = state.surge
    if wave is None:
        return 0.0
    stopped = wave.stopped_flow / np.asarray(wave.area(area))
    if wave.closing_time is None or wave.pipe_length is None:
        return surge.joukowsky(density, wave.wave_speed, stopped)
    stop = (density, wave.wave_speed, stopped, wave.pipe_length, wave.closing_time)
    even = surge.closure_rise(*stop)
    if wave.falls_evenly != "valve_area":
        return even
    # never less than by an even flow: the rigid column is a few percent under an elastic pipe where that is the greater
    late = surge.closing_valve_rise(*stop[:2], np.maximum(stopped, 0.0), *stop[3:], before)
    return np.where(stopped > 0.0, np.maximum(even, late), even)
