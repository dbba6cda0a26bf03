"""A liquid near boiling: where a case would boil, whether that can be told at all, and what hot fluid means to who opens the line."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from anchorsize.assessment.results import Finding, NotChecked, OpeningResult
from anchorsize.assessment.statements import CAUTIONS
from anchorsize.mechanics import energy
from anchorsize.study import STANDARD_AMBIENT, Array, Case, Study
from anchorsize.units import show

LIQUID = 200.0  # kg/m³: no gas of a pipe is as dense, every liquid is denser
BURNS = 328.15  # K: from here on water scalds within half a minute and bare metal burns within ten seconds; from memory, ISO 13732-1 among others
AT_THE_BOIL = 373.15  # K: over it a liquid of which nothing else is known may boil in the open
BOILING_NOT_CHECKED = "boiling not checked"
SUPPLY = "vapor_pressure under fluid"


def may_boil(case: Case, opening: str, found: OpeningResult) -> bool:
    """Whether there is liquid at an opening that is not closed: none in a fitting that stands empty, without flow."""
    state = case.states[opening]
    wet = case.contents_full or bool(np.any(np.asarray(found.mass_flow) != 0.0))
    return wet and state.exit != "capped" and state.gas is None


def least_pressure(found: OpeningResult) -> Array:
    """The least gauge pressure (...) [Pa] that an opening sees: before a surge that raises it, after one that lowers it."""
    return np.asarray(found.pressure - np.maximum(found.surge_rise, 0.0))


def ambient_of(study: Study) -> float:
    """Absolute pressure of the surroundings [Pa]: that of the standard atmosphere where none is given."""
    return float(STANDARD_AMBIENT if study.ambient is None else study.ambient)


def outside_taken(study: Study) -> str:
    """Which pressure of the surroundings is taken where none is given; empty where one is."""
    if study.ambient is not None:
        return ""
    return f" (with {show(STANDARD_AMBIENT, 'absolute_pressure', study.units)} outside, since no ambient is given)"


def boiling(study: Study, case: Case, openings: Mapping[str, OpeningResult]) -> list[Finding]:
    """Openings at which the liquid would boil."""
    vapor = study.fluid.vapor_pressure
    if vapor is None:
        return []
    return [
        Finding(
            "cavitation",
            case.name,
            f"At '{opening}' the absolute pressure falls below the vapor pressure, {show(float(vapor), 'absolute_pressure', study.units)}"
            f"{outside_taken(study)}: the liquid would boil there, and the forces of this case are not to be trusted.",
            doubtful=True,
        )
        for opening, o in openings.items()
        if may_boil(case, opening, o) and float(energy.vapor_margin(least_pressure(o), ambient_of(study), vapor)) < 0.0
    ]


def unknown_boiling(study: Study, case: Case, openings: Mapping[str, OpeningResult]) -> list[NotChecked]:
    """That nothing tells whether the liquid of a case boils; empty where that can be told, or there is no liquid."""
    liquid = bool(np.any(np.asarray(study.fluid.density) > LIQUID))
    if study.fluid.vapor_pressure is not None or not liquid:
        return []
    if not any(may_boil(case, name, each) for name, each in openings.items()):
        return []
    return [NotChecked("boiling", "fluid", SUPPLY, False)]


def notice_unknown_boiling(study: Study, cases: Mapping[str, Mapping[str, OpeningResult]]) -> list[Finding]:
    """The same as a finding, once for the whole file."""
    if not any(unknown_boiling(study, study.cases[name], openings) for name, openings in cases.items()):
        return []
    return [
        Finding(
            BOILING_NOT_CHECKED,
            None,
            f"Whether the liquid boils anywhere is not checked: no vapor pressure of '{study.fluid.name}' is known. Write fluid / "
            "vapor_pressure, the absolute one at the temperature in service.",
        )
    ]


def hot_words(study: Study) -> str:
    """What a hot fluid, or one that boils in the open, means to who opens the line; empty for a cool one."""
    fluid = study.fluid
    goes = _flashes(study)
    if fluid.temperature is not None and float(fluid.temperature) >= BURNS:
        lead = f"HOT: {show(float(fluid.temperature), 'temperature', study.units)} in service."
    elif goes and _is_water(study):
        lead = "HOT: its vapor pressure is that of water over its boiling point."
    else:
        return f"BOILS when opened: {goes}." if goes else ""
    return f"{lead} Let it cool before anything is opened{f': {goes}' if goes else ''}."


def cautions(study: Study) -> tuple[str, ...]:
    """The cautions beside every result, those of a hot fluid and of gas under pressure before them."""
    return (*filter(None, [hot_words(study), gas_words(study)]), *CAUTIONS)


def is_gas(study: Study) -> bool:
    """Whether the fluid of the file is a gas, by its density."""
    return float(np.min(study.fluid.density)) <= LIQUID


def gas_cases(study: Study) -> tuple[str, ...]:
    """The cases that have pressure in a fitting without liquid."""
    return tuple(
        name
        for name, case in study.cases.items()
        if not case.contents_full
        and any(state.pressure is not None and bool(np.any(state.pressure > 0.0)) for state in case.states.values())
    )


def gas_words(study: Study) -> str:
    """What gas under pressure means to who opens the line; empty where there is none. Common practice, no source."""
    if not is_gas(study) and not gas_cases(study):
        return ""
    return "COMPRESSED GAS: a drained line can still be under pressure. Vent it and check at a gauge; what comes loose flies."


def _is_water(study: Study) -> bool:
    return study.fluid.name.strip().casefold() == "water"


def _flashes(study: Study) -> str:
    """That a liquid goes to vapor when the pressure is let off, by its vapor pressure; by its temperature where that is not known."""
    fluid = study.fluid
    if is_gas(study):
        return ""
    vapor = "steam" if _is_water(study) else "vapor"
    if fluid.vapor_pressure is not None:
        boils = float(fluid.vapor_pressure) > ambient_of(study)
        return f"it flashes to {vapor} as the pressure goes" if boils else ""
    unsure = fluid.temperature is not None and float(fluid.temperature) > AT_THE_BOIL
    return f"it may flash to {vapor} as the pressure goes" if unsure else ""
