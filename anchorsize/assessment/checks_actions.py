"""Checks of what acts at a joint as a whole, against what the nozzle or pipe that it belongs to may take.

Asked only where the file gives the allowable: few nozzles come with one. Each is compared by itself. The actions are those that bolts and
face hand on, about the bolt-circle center; the pressure annulus of the gasket stays within the joint and is not among them.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from anchorsize.assessment.asking import Ask, Rule, plain
from anchorsize.assessment.results import Check
from anchorsize.mechanics import frames
from anchorsize.study import Allowable, Allowables, Array, Number

JOINT_FORCE, JOINT_AXIAL = "joint force", "joint axial"
STATICS = "statics about the bolt-circle center"
PRESSURE_IN = "pressure thrust (p × bore area) counted in"
PRESSURE_OUT = "pressure thrust (p × bore area, any surge in p) taken out, without a dynamic factor"


def pressure_words(allow: Allowables) -> str:
    """Whether the pressure thrust is in what is compared."""
    return PRESSURE_OUT if allow.pressure_thrust == "excluded" else PRESSURE_IN


def axial(ask: Ask) -> Array:
    """Axial force (...) [N] that is compared, positive where it opens: pressure thrust in or out, as the allowable is meant."""
    result = ask.result
    if ask.allow.pressure_thrust == "excluded":
        return frames.axial_beyond_pressure(result.axial, result.pressure, result.bore_area)
    return np.asarray(result.axial)


def _force(ask: Ask) -> Check | None:
    formula = f"√(axial² + shear²), {pressure_words(ask.allow)}"
    return _check(ask, JOINT_FORCE, ask.allow.force, frames.resultant_force(axial(ask), ask.result.shear), formula)


def _moment(ask: Ask) -> Check | None:
    demand = frames.resultant_moment(ask.result.bending, ask.result.torsion)
    return _check(ask, "joint moment", ask.allow.moment, demand, "√(bending² + torsion²)")


def _axial(ask: Ask) -> Check | None:
    formula = f"axial force, opening or pressing, {pressure_words(ask.allow)}"
    return _check(ask, JOINT_AXIAL, ask.allow.axial, np.abs(axial(ask)), formula)


def _shear(ask: Ask) -> Check | None:
    return _check(ask, "joint shear", ask.allow.shear, ask.result.shear, "shear in the flange plane")


def _bending(ask: Ask) -> Check | None:
    return _check(ask, "joint bending", ask.allow.bending, ask.result.bending, "bending about the bolt-circle center")


def _torsion(ask: Ask) -> Check | None:
    return _check(ask, "joint torsion", ask.allow.torsion, np.abs(ask.result.torsion), "torsion about the joint axis")


def _check(ask: Ask, name: str, allowable: Allowable | None, demand: Number, formula: str) -> Check | None:
    """The check, or None where no allowable asks for it."""
    if allowable is None:
        return None
    origin = f"of the nozzle or pipe, {allowable.origin}"
    return plain(ask, name, demand, allowable.value, allowable.unit, STATICS, origin, formula)


_MADE: dict[str, Callable[[Ask], Check | None]] = {
    JOINT_FORCE: _force,
    "joint moment": _moment,
    JOINT_AXIAL: _axial,
    "joint shear": _shear,
    "joint bending": _bending,
    "joint torsion": _torsion,
}

ACTION_RULES: tuple[Rule, ...] = tuple(Rule(name, False, make) for name, make in _MADE.items())

ACTIONS = tuple(_MADE)
"""Checks of the nozzle or pipe at a joint: bolts change them only where their stiffness decides what supports take."""


def unlimited(allow: Allowables) -> list[str]:
    """The actions on the nozzle or pipe that none of the given allowables limits, alone or in a resultant."""
    whole = {"axial force": allow.force, "shear": allow.force, "bending": allow.moment, "torsion": allow.moment}
    own = {"axial force": allow.axial, "shear": allow.shear, "bending": allow.bending, "torsion": allow.torsion}
    return [name for name, each in own.items() if each is None and whole[name] is None]


def asked_of(allow: Allowables) -> list[str]:
    """Which of these checks are asked for."""
    given = (allow.force, allow.moment, allow.axial, allow.shear, allow.bending, allow.torsion)
    return [name for name, each in zip(ACTIONS, given, strict=True) if each is not None]
