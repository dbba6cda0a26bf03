"""Worked lines of the checks of a support: what it carries, from the forces that the rigid body on springs gives."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from anchorsize.assessment.block_soil import pressed_down
from anchorsize.assessment.checks_supports import BASE, LOAD, SET_LOAD, SupportAsk, on_base, on_block
from anchorsize.assessment.results import Check
from anchorsize.mechanics.momentum import STANDARD_GRAVITY
from anchorsize.present.report.steps import Of, Quantity, Workings, quantity
from anchorsize.present.report.worked_plate import UPLIFT, plate_lines
from anchorsize.present.words import KIND_OF_UNIT
from anchorsize.study import Block

Values = dict[str, Quantity]

ON_PLATE = ("plate bearing", "anchor tension")
"""Checks of a base plate, whose solution has lines of its own before the first of them."""


def demand(work: Workings, check: Check, ask: SupportAsk) -> Quantity:
    """The line of the demand of a check; the demand itself where it comes from a solution that has no line."""
    found = DEMANDS[check.check](ask) if check.check in DEMANDS else None
    kind = KIND_OF_UNIT[check.unit]
    if check.check in ON_PLATE and not any(
        step.name == UPLIFT and step.label.startswith(f"{check.where},") for step in work.steps
    ):
        plate_lines(work, ask)
    if check.check == BASE and found is not None:
        _on_base_lines(work, check, ask)
    if found is None or not np.all(np.isfinite(check.demand)):
        return quantity(check.demand, kind)
    formula, values = found
    return work.step(
        f"Demand: {check.formula}",
        "D",
        formula,
        check.source,
        Of(kind, label=f"{check.words}, {check.where}", agrees=check.demand),
        **values,
    )


def _load(ask: SupportAsk) -> tuple[str, Values]:
    return "norm(F)", {"F": quantity(ask.result.force, "force")}


def _moment(ask: SupportAsk) -> tuple[str, Values] | None:
    return None if ask.result.moment is None else ("norm(M)", {"M": quantity(ask.result.moment, "moment")})


def _rod(ask: SupportAsk) -> tuple[str, Values] | None:
    if ask.support.rod_root_area is None:
        return None
    return "max(P, 0)/A_r", {
        "P": quantity(ask.result.push, "force"),
        "A_r": quantity(ask.support.rod_root_area, "area"),
    }


def _post(ask: SupportAsk) -> tuple[str, Values] | None:
    support, section = ask.support, ask.support.section
    if section is None:
        return None
    values = {"P": quantity(ask.result.push, "force"), "A_p": quantity(section.area, "area")}
    if support.friction is None or support.length is None or section.half_depth is None:
        return "abs(P)/A_p", values
    values |= {
        "F_f": quantity(ask.result.friction, "force"),
        "L": quantity(support.length, "length"),
        "c": quantity(section.half_depth, "length"),
        "I": quantity(section.second_moment, "second_moment"),
    }
    return "abs(P)/A_p + norm(F_f)*L*c/I", values


def _buckling(ask: SupportAsk) -> tuple[str, Values] | None:
    support = ask.support
    if (
        support.section is None
        or support.length is None
        or support.modulus is None
        or support.effective_length_factor is None
    ):
        return None
    return "pi**2*E*I/((K*L)**2*abs(P))", {
        "E": quantity(support.modulus, "modulus"),
        "I": quantity(support.section.second_moment, "second_moment"),
        "K": quantity(support.effective_length_factor),
        "L": quantity(support.length, "length"),
        "P": quantity(ask.result.push, "force"),
    }


def _anchor_shear(ask: SupportAsk) -> tuple[str, Values] | None:
    plate = ask.support.base_plate
    if plate is None:
        return None
    return "norm(F_f)/n", {"F_f": quantity(ask.result.friction, "force"), "n": quantity(len(plate.anchors))}


def _bearing(ask: SupportAsk) -> tuple[str, Values] | None:
    block, bearing = ask.support.block, ask.allow.bearing
    if block is None or bearing is None:
        return None
    values = {
        "q": quantity(bearing, "pressure"),
        "w": quantity(block.width, "length"),
        "h": quantity(block.height, "length"),
        "P": quantity(ask.result.push, "force"),
    }
    if not pressed_down(ask.support.toward, ask.up):
        return "q*w*h/P", values
    return "q*l*w/(P + rho*l*w*h*g)", values | {
        "l": quantity(block.length, "length"),
        "rho": quantity(block.density, "density"),
        "g": Quantity(STANDARD_GRAVITY, "m/s²"),
    }


def _block_values(ask: SupportAsk, block: Block) -> Values:
    """Uplift, level thrust and what the weight is made from."""
    uplift, level, _ = on_block(ask, block)
    return {
        "U": quantity(uplift, "force"),
        "H": quantity(level, "force"),
        "rho": quantity(block.density, "density"),
        "l": quantity(block.length, "length"),
        "w": quantity(block.width, "length"),
        "h": quantity(block.height, "length"),
        "g": Quantity(STANDARD_GRAVITY, "m/s²"),
    }


def _sliding(ask: SupportAsk) -> tuple[str, Values] | None:
    block = ask.support.block
    if block is None or block.friction is None:
        return None
    values = _block_values(ask, block) | {"mu": quantity(block.friction)}
    if block.passive is None:
        return "mu*max(rho*l*w*h*g - U, 0)/H", values
    return "(mu*max(rho*l*w*h*g - U, 0) + P_p)/H", values | {"P_p": quantity(block.passive, "force")}


def _overturning(ask: SupportAsk) -> tuple[str, Values] | None:
    block = ask.support.block
    if block is None or block.thrust_height is None:
        return None
    return "rho*l*w*h*g*l/2/(H*h_t + max(U, 0)*l)", _block_values(ask, block) | {
        "h_t": quantity(block.thrust_height, "length")
    }


def _uplift(ask: SupportAsk) -> tuple[str, Values] | None:
    return None if ask.support.block is None else ("rho*l*w*h*g/U", _block_values(ask, ask.support.block))


def _on_base_lines(work: Workings, check: Check, ask: SupportAsk) -> None:
    """What presses the base of a block, and the moment about its middle."""
    block = ask.support.block
    if block is None:
        return
    normal, moment = on_base(ask, block)
    values, statics = _block_values(ask, block), "statics"
    work.step(
        "What presses the base of a block: its weight less the uplift",
        "N",
        "rho*l*w*h*g - U",
        statics,
        Of("force", label=check.where, agrees=normal),
        **values,
    )
    if block.thrust_height is None:
        return
    work.step(
        "Moment about the middle of the base",
        "M",
        "H*h_t + max(U, 0)*l/2",
        statics,
        Of("moment", label=check.where, agrees=moment),
        **values,
        h_t=quantity(block.thrust_height, "length"),
    )


def _base(ask: SupportAsk) -> tuple[str, Values] | None:
    """The trapezoid or the triangle, whichever it is."""
    block = ask.support.block
    if block is None:
        return None
    normal, moment = on_base(ask, block)
    values = {
        "N": quantity(normal, "force"),
        "M": quantity(moment, "moment"),
        "l": quantity(block.length, "length"),
        "w": quantity(block.width, "length"),
    }
    if float(moment) <= float(normal) * float(block.length) / 6.0:
        return "N/(l*w) + 6*M/(w*l**2)", values
    return "2*N/(3*w*(l/2 - M/N))", values


def _set_load(ask: SupportAsk) -> tuple[str, Values] | None:
    return None if ask.support.set_load is None else ("s", {"s": quantity(ask.support.set_load, "force")})


def _plate_bearing(ask: SupportAsk) -> tuple[str, Values] | None:
    return None if ask.plate is None else ("p_max", {"p_max": quantity(ask.plate.pressure_max, "pressure")})


def _anchor_tension(ask: SupportAsk) -> tuple[str, Values] | None:
    if ask.plate is None:
        return None
    tensions = np.ravel(ask.plate.bolt_tension)
    names = [f"T_{i + 1}" for i in range(len(tensions))]
    values = {name: quantity(value, "force") for name, value in zip(names, tensions, strict=True)}
    return (f"max({', '.join(names)})" if len(names) > 1 else names[0]), values


DEMANDS: dict[str, Callable[[SupportAsk], tuple[str, Values] | None]] = {
    LOAD: _load,
    SET_LOAD: _set_load,
    "anchor moment": _moment,
    "rod tension": _rod,
    "post stress": _post,
    "post buckling": _buckling,
    "plate bearing": _plate_bearing,
    "anchor tension": _anchor_tension,
    "anchor shear": _anchor_shear,
    "block bearing": _bearing,
    "block sliding": _sliding,
    "block overturning": _overturning,
    "block uplift": _uplift,
    BASE: _base,
}
