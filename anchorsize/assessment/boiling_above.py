"""Boiling where no pressure is given: at capped openings, and at the top of a shape's centerline, as that of a siphon.

The fluid there comes from the open openings, and a fitting gives it no energy: the most that its pressure can be is what the richest
of them brings with all of its velocity head recovered and nothing lost on the way. Where even that is under the vapor pressure the
liquid boils for certain; where it is not, losses and speed may still take it there. Source: the steady-flow energy equation, see
:mod:`anchorsize.mechanics.energy`.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from anchorsize.assessment.audit import steady_liquid
from anchorsize.assessment.hot import ambient_of, least_pressure, outside_taken
from anchorsize.assessment.results import Finding, OpeningResult
from anchorsize.mechanics import energy, frames
from anchorsize.study import Array, Case, Number, Study
from anchorsize.units import show

TOP = None
"""Stands for the top of the centerline where a place is else the name of a capped opening."""

OVER = 1e-3  # m: by less a centerline is no higher than its openings, but rounded


def brought(study: Study, case: Case, openings: Mapping[str, OpeningResult]) -> dict[str | None, Array]:
    """Of each closed place with liquid the gauge pressures (..., k) [Pa] that the open openings bring there; the greatest is the bound.

    Empty where the fitting is not full, a gas leaves or the flow changes: there no steady energy equation tells it.
    """
    feeding = {name: o for name, o in openings.items() if o.exit != "capped"}
    if not feeding or not case.contents_full or not steady_liquid(case):
        return {}
    densities = [o.density for o in openings.values()]  # any of them may fill the way there
    return {
        place: np.stack(
            np.broadcast_arrays(
                *(
                    energy.pressure_from_losses(
                        least_pressure(o), speed, _height(study, name), 0.0, height, 0.0, density
                    )
                    for name, o in feeding.items()
                    for speed in (o.velocity + _stopped(case, openings) / study.openings[name].area,)
                    for density in densities
                )
            ),
            axis=-1,
        )
        for place, height in _closed(study, openings).items()
    }


def boiling_above(study: Study, case: Case, openings: Mapping[str, OpeningResult]) -> list[Finding]:
    """Closed places at which the liquid would boil whatever is lost on the way there; for a study with one row."""
    vapor = study.fluid.vapor_pressure
    if vapor is None:
        return []
    ambient, system = ambient_of(study), study.units
    moves = float(_stopped(case, openings)) > 0.0 or any(float(o.mass_flow) != 0.0 for o in openings.values())
    found = []
    for place, pressures in brought(study, case, openings).items():
        most = float(np.max(pressures))
        if float(energy.vapor_margin(most, ambient, vapor)) < 0.0:
            found.append(
                Finding(
                    "cavitation",
                    case.name,
                    f"At {_told(study, place)} the absolute pressure falls below the vapor pressure, "
                    f"{show(float(vapor), 'absolute_pressure', system)}{outside_taken(study)}: the most that the open ends can bring there"
                    f"{', velocity head and all,' if moves else ''} is {show(most + ambient, 'absolute_pressure', system)}. The liquid would "
                    "boil there, and the forces of this case are not to be trusted.",
                    doubtful=True,
                )
            )
    return found


def _told(study: Study, place: str | None) -> str:
    if place is not TOP:
        return f"the capped '{place}'"
    over = float(_top(study) - _highest(study))
    return f"the top of the fitting's centerline, {show(over, 'length', study.units)} over its highest opening,"


def _closed(study: Study, openings: Mapping[str, OpeningResult]) -> dict[str | None, Array]:
    """Heights (...) [m] of the capped openings, and of the top of the centerline where it lies over every opening."""
    places: dict[str | None, Array] = {name: _height(study, name) for name, o in openings.items() if o.exit == "capped"}
    if study.fitting.centerline is not None and np.all(_top(study) > _highest(study) + OVER):
        places[TOP] = _top(study)
    return places


def _height(study: Study, opening: str) -> Array:
    return frames.part_along(study.openings[opening].center, study.up)


def _highest(study: Study) -> Array:
    """Height (...) [m] of the highest opening."""
    heights = np.broadcast_arrays(*(_height(study, name) for name in study.openings))
    return np.asarray(np.max(np.stack(heights, axis=-1), axis=-1))


def _top(study: Study) -> Array:
    """Height (...) [m] of the highest point of the centerline."""
    heights = frames.part_along(np.asarray(study.fitting.centerline), np.asarray(study.up)[..., None, None, :])
    return np.asarray(np.max(heights, axis=(-2, -1)))


def _stopped(case: Case, openings: Mapping[str, OpeningResult]) -> Number:
    """Flow [m³/s] that may have run through any opening before surges that raise the pressure, and is stopped since."""
    waves = [state.surge for name, state in case.states.items() if np.any(np.asarray(openings[name].surge_rise) > 0.0)]
    return sum((np.abs(wave.stopped_flow) for wave in waves if wave is not None), np.asarray(0.0))
