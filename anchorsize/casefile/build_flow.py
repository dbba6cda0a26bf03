"""What a state says of its flow in words: velocity profile, loss coefficient by name, wave speed from the pipe's wall."""

from __future__ import annotations

from typing import Literal, cast

import numpy as np

from anchorsize.casefile.building import Building, Path
from anchorsize.casefile.format import StateEntry, SurgeEntry, SurgePipeEntry
from anchorsize.casefile.quantities import Quantity, si
from anchorsize.mechanics import surge
from anchorsize.mechanics.profile import beta_laminar, beta_power_law, power_law_exponent
from anchorsize.reference import loss_coefficient
from anchorsize.study import Fluid, Number, Surge, SurgePipe

OF_THE_WALL = ("wall", "modulus", "poisson", "anchoring")  # what a wave speed follows from, besides the inside


def build_beta(building: Building, path: Path, entry: StateEntry) -> Number:
    """Return the momentum-flux factor: as given, of the stated profile, or 1."""
    if entry.beta is not None and entry.profile is not None:
        building.problem((*path, "profile"), "a profile, and a beta that it would give", "write one of them")
    stated = [key for key in ("exponent", "reynolds") if getattr(entry, key) is not None]
    if entry.profile != "power_law":
        for key in stated:
            building.problem((*path, key), f"'{key}' without a power law", "write profile: power law, or take it out")
        if entry.profile == "laminar":
            return beta_laminar
        return 1.0 if entry.beta is None else entry.beta.si
    if len(stated) != 1:
        building.missing((*path, "exponent"), "a power law needs exponent or reynolds, and one of them only")
        return np.nan
    if entry.exponent is not None:
        return beta_power_law(entry.exponent.si) if np.all(np.asarray(entry.exponent.si) > 0) else np.nan
    reynolds = np.asarray(si(entry.reynolds))
    return np.nan if np.any(np.isnan(reynolds)) else beta_power_law(power_law_exponent(reynolds))


def build_loss_coefficient(building: Building, path: Path, entry: StateEntry) -> Number | None:
    """Return the loss coefficient as given, or the typical one of the fitting named; None where there is none."""
    given = entry.loss_coefficient
    if given != "from table":
        if entry.loss_of is not None:
            building.problem(
                (*path, "loss_of"), "'loss_of' that nothing asks for", "write loss_coefficient: from table"
            )
        return None if given is None or isinstance(given, str) else given.si
    if entry.loss_of is None:
        building.missing((*path, "loss_of"), "such as loss_of: 'elbow 90: long radius, flanged'")
        return None
    group, _, item = entry.loss_of.partition(":")
    row = building.look_up((*path, "loss_of"), loss_coefficient, group.strip(), item.strip())
    if row is None:
        return None
    building.remember(row.provenance)
    building.granted(
        f"Loss coefficient of {row.name}: {row.typical:g} (the table's range: {row.low:g} to {row.high:g})."
    )
    return row.typical


def build_surge(building: Building, path: Path, entry: SurgeEntry | None, fluid: Fluid | None) -> Surge | None:
    """Return the surge with its wave speed, as given or from the fluid and the wall of the pipe."""
    if entry is None:
        return None
    if entry.closing_time is not None and entry.pipe_length is None:
        building.missing((*path, "pipe_length"), "a closing time counts against 2 L/a")
    if entry.falls_evenly is not None and entry.closing_time is None:
        building.missing((*path, "closing_time"), "the time within which it falls evenly")
    speed: Number = np.nan
    wall = None
    if entry.wave_speed is not None:
        speed = entry.wave_speed.si
        if entry.pipe is not None and len(_wanting(entry.pipe)) < len(OF_THE_WALL):
            building.at_quantity(
                entry.wave_speed,
                "a wave speed, and a pipe whose wall would give it",
                "leave one out; pipe: {inside: …} alone may stay",
            )
    elif _none(entry):
        speed = 0.0  # no wave runs
    elif entry.pipe is None:
        building.missing((*path, "wave_speed"), f"or write pipe: {{inside, {', '.join(OF_THE_WALL)}}}")
    elif wanting := _wanting(entry.pipe):
        for key in wanting:
            building.missing((*path, "pipe", key), "or write wave_speed, and of the pipe its inside alone")
    else:
        wall = _surge_pipe(entry.pipe)
        if fluid is not None:
            speed = _wave_speed(building, (*path, "pipe"), wall, fluid)
    area = None if entry.pipe is None else np.pi / 4 * np.asarray(entry.pipe.inside.si) ** 2
    falls = cast(Literal["flow", "valve_area"] | None, entry.falls_evenly)
    return Surge(entry.stopped_flow.si, speed, si(entry.closing_time), si(entry.pipe_length), area, wall, falls)


def _none(entry: SurgeEntry) -> bool:
    """Whether the entry says that there is no surge, by a stopped flow of 0 and nothing else."""
    others = (entry.wave_speed, entry.pipe, entry.closing_time, entry.pipe_length, entry.falls_evenly)
    return all(each is None for each in others) and not np.any(entry.stopped_flow.si)


def _wanting(pipe: SurgePipeEntry) -> list[str]:
    return [key for key in OF_THE_WALL if getattr(pipe, key) is None]


def _surge_pipe(pipe: SurgePipeEntry) -> SurgePipe:
    """The wall of a pipe of which nothing is wanting."""
    wall, modulus, poisson = (cast(Quantity, each).si for each in (pipe.wall, pipe.modulus, pipe.poisson))
    anchoring = cast(surge.Anchoring, cast(str, pipe.anchoring).replace("_", " "))
    return SurgePipe(pipe.inside.si, wall, modulus, poisson, anchoring)


def _wave_speed(building: Building, path: Path, pipe: SurgePipe, fluid: Fluid) -> Number:
    temperature = building.file.fluid.temperature
    if fluid.bulk_modulus is None and temperature is not None and np.any(np.isnan(temperature.si)):
        return np.nan  # no temperature, as said already
    if fluid.bulk_modulus is None:
        building.problem(path, "the wave speed needs the fluid's bulk modulus", "write it under fluid", "missing_key")
        return np.nan
    dimensions = [np.asarray(each) for each in (pipe.inside, pipe.wall, pipe.modulus, pipe.poisson)]
    if any(np.any(np.isnan(each)) for each in dimensions):
        return np.nan
    inside, wall, modulus, poisson = dimensions
    anchoring = pipe.anchoring
    factor = surge.thick_wall_factor(surge.restraint_factor(anchoring, poisson), poisson, inside, wall)
    speed = surge.wave_speed(fluid.bulk_modulus, fluid.density, inside, wall, modulus, factor)
    building.granted(
        f"Wave speed {float(np.mean(speed)):.0f} m/s from the fluid and the pipe's wall; anchoring: {anchoring}."
    )
    return speed
