"""What a state says of its flow in words: velocity profile, loss coefficient by name, wave speed from the pipe's wall."""

from __future__ import annotations

from typing import cast

import numpy as np

from anchorsize.casefile.building import Building, Path
from anchorsize.casefile.format import StateEntry, SurgeEntry, SurgePipeEntry
from anchorsize.casefile.quantities import si
from anchorsize.mechanics import surge
from anchorsize.mechanics.profile import beta_laminar, beta_power_law, power_law_exponent
from anchorsize.reference import loss_coefficient
from anchorsize.study import Fluid, Number, Surge, SurgePipe


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
    speed: Number = np.nan
    if entry.wave_speed is not None:
        speed = entry.wave_speed.si
        if entry.pipe is not None:
            building.at_quantity(entry.wave_speed, "a wave speed, and a pipe that would give it", "write one of them")
    elif entry.pipe is None:
        building.missing((*path, "wave_speed"), "or write pipe: {inside, wall, modulus, poisson, anchoring}")
    elif fluid is not None:
        speed = _wave_speed(building, (*path, "pipe"), entry.pipe, fluid)
    area = None if entry.pipe is None else np.pi / 4 * np.asarray(entry.pipe.inside.si) ** 2
    wall = None if entry.pipe is None else _surge_pipe(entry.pipe)
    return Surge(entry.stopped_flow.si, speed, si(entry.closing_time), si(entry.pipe_length), area, wall)


def _surge_pipe(pipe: SurgePipeEntry) -> SurgePipe:
    return SurgePipe(pipe.inside.si, pipe.wall.si, pipe.modulus.si, pipe.poisson.si, _anchoring(pipe))


def _anchoring(pipe: SurgePipeEntry) -> surge.Anchoring:
    return cast(surge.Anchoring, pipe.anchoring.replace("_", " "))


def _wave_speed(building: Building, path: Path, pipe: SurgePipeEntry, fluid: Fluid) -> Number:
    temperature = building.file.fluid.temperature
    if fluid.bulk_modulus is None and temperature is not None and np.any(np.isnan(temperature.si)):
        return np.nan  # no temperature, as said already
    if fluid.bulk_modulus is None:
        building.problem(path, "the wave speed needs the fluid's bulk modulus", "write it under fluid", "missing_key")
        return np.nan
    dimensions = [np.asarray(each.si) for each in (pipe.inside, pipe.wall, pipe.modulus, pipe.poisson)]
    if any(np.any(np.isnan(each)) for each in dimensions):
        return np.nan
    inside, wall, modulus, poisson = dimensions
    anchoring = _anchoring(pipe)
    factor = surge.thick_wall_factor(surge.restraint_factor(anchoring, poisson), poisson, inside, wall)
    speed = surge.wave_speed(fluid.bulk_modulus, fluid.density, inside, wall, modulus, factor)
    building.granted(
        f"Wave speed {float(np.mean(speed)):.0f} m/s from the fluid and the pipe's wall; anchoring: {anchoring}."
    )
    return speed
