"""Worked lines of the checks of a joint: demand, utilization and margin, for the bolt that governs."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from anchorsize.assessment import checks_actions as actions
from anchorsize.assessment.checks_actions import STATICS
from anchorsize.present.report import worked_checks_clamped as clamped
from anchorsize.present.report.judged import Judged, finish
from anchorsize.present.report.steps import Of, Quantity, Workings, quantity
from anchorsize.present.words import KIND_OF_UNIT
from anchorsize.study import Allowable


def _stress_or_force(
    judged: Judged, allowable: Allowable | None, force: Quantity, area: Quantity, symbol: str
) -> Quantity:
    if allowable is not None and allowable.unit == "N":
        return judged.demand("max(t, 0)" if symbol == "t" else symbol, **{symbol: force})
    return judged.demand(f"max({symbol}, 0)/A_b", **{symbol: force, "A_b": area})


def _tension(judged: Judged) -> Quantity:
    ask = judged.ask
    return _stress_or_force(
        judged,
        ask.allow.bolt_tension,
        judged.of_bolt(ask.result.external_tension, "force"),
        judged.of_bolt(ask.joint.bolts.tensile_area, "area"),
        "t",
    )


def _shear(judged: Judged) -> Quantity:
    ask = judged.ask
    return _stress_or_force(
        judged,
        ask.allow.bolt_shear,
        judged.of_bolt(ask.result.bolt_shear, "force"),
        judged.of_bolt(ask.shear_area, "area"),
        "s",
    )


_COMBINED = {"circular": "sqrt(r_t**2 + r_s**2)", "linear": "r_t + r_s", "en_1993_1_8": "max(r_s + r_t/1.4, r_t)"}


def _combined(judged: Judged) -> Quantity | None:
    ask = judged.ask
    tension, shear = ask.allow.bolt_tension, ask.allow.bolt_shear
    if tension is None or shear is None:
        return None
    ratios = {}
    for symbol, letter, force, allowed, area in (
        ("r_t", "t", ask.tension, tension, ask.joint.bolts.tensile_area),
        ("r_s", "s", ask.result.bolt_shear, shear, ask.shear_area),
    ):
        by_force = allowed.unit == "N"
        values = {letter: judged.of_bolt(force, "force"), "A_l": quantity(allowed.value, KIND_OF_UNIT[allowed.unit])}
        if not by_force:
            values["A_b"] = judged.of_bolt(area, "area")
        ratios[symbol] = judged.step(
            "Share of the tension allowable" if letter == "t" else "Share of the shear allowable",
            symbol,
            f"{letter}/A_l" if by_force else f"{letter}/(A_b*A_l)",
            "definition",
            Of(),
            **values,
        )
    return judged.demand(_COMBINED[ask.allow.tension_with_shear or "linear"], **ratios)


def _bearing(judged: Judged) -> Quantity | None:
    ask = judged.ask
    if ask.joint.flange.thickness is None:
        return None
    return judged.demand(
        "s/(d*t_f)",
        s=judged.of_bolt(ask.result.bolt_shear, "force"),
        d=judged.of_bolt(ask.joint.bolts.diameter, "length"),
        t_f=quantity(ask.joint.flange.thickness, "length"),
    )


def _distance(judged: Judged) -> Quantity | None:
    """The distance of the two bolts that the check is about, from their places."""
    xy = np.stack([judged.group.x.value, judged.group.y.value], axis=-1)
    gaps = np.linalg.norm(xy[:, None] - xy[None], axis=-1)
    pairs = np.argwhere(np.triu(np.abs(gaps - float(judged.check.demand)) <= 1e-9 * float(judged.check.demand), 1))
    if not len(pairs):
        return None
    one, other = pairs[0]
    names = [judged.group.numbers[i] for i in (one, other)]
    return judged.step(
        f"Demand: {judged.check.formula} (here bolts {names[0]} and {names[1]})",
        "D",
        "sqrt((x_1 - x_2)**2 + (y_1 - y_2)**2)",
        judged.check.source,
        Of("length", agrees=judged.check.demand),
        x_1=quantity(xy[one, 0], "length"),
        x_2=quantity(xy[other, 0], "length"),
        y_1=quantity(xy[one, 1], "length"),
        y_2=quantity(xy[other, 1], "length"),
    )


def _axial_compared(judged: Judged) -> dict[str, Quantity]:
    """The axial force that is compared, by its symbol: as the loads have it, or without the pressure thrust."""
    axial = judged.shown["N_L"]
    if judged.ask.allow.pressure_thrust != "excluded":
        return {"N_L": axial}
    beyond = judged.step(
        "Axial force without the pressure thrust",
        "N_x",
        "N_L - p*A",
        STATICS,
        Of("force", agrees=actions.axial(judged.ask)),
        N_L=axial,
        p=quantity(judged.ask.result.pressure, "pressure"),
        A=judged.shown["A"],
    )
    return {"N_x": beyond}


def _joint_force(judged: Judged) -> Quantity:
    axial = _axial_compared(judged)
    (symbol,) = axial
    return judged.demand(f"sqrt({symbol}**2 + V**2)", **axial, V=judged.shown["V"])


def _joint_axial(judged: Judged) -> Quantity:
    axial = _axial_compared(judged)
    (symbol,) = axial
    return judged.demand(f"abs({symbol})", **axial)


def _joint_moment(judged: Judged) -> Quantity:
    return judged.demand("sqrt(M_b**2 + M_T**2)", M_b=judged.shown["M_b"], M_T=judged.shown["M_T"])


def _joint_shear(judged: Judged) -> Quantity:
    return judged.demand("V", V=judged.shown["V"])


def _joint_bending(judged: Judged) -> Quantity:
    return judged.demand("M_b", M_b=judged.shown["M_b"])


def _joint_torsion(judged: Judged) -> Quantity:
    return judged.demand("abs(M_T)", M_T=judged.shown["M_T"])


def check_lines(work: Workings, all_judged: Sequence[Judged]) -> None:
    """The demands of some checks of a joint, then utilizations and margins."""
    finish(work, [(judged.check, judged.label, _demand(judged)) for judged in all_judged])


def _demand(judged: Judged) -> Quantity:
    """The demand from its own lines; a check without any starts from its demand."""
    worked = DEMANDS.get(judged.check.check)
    found = worked(judged) if worked else None
    return quantity(judged.check.demand, KIND_OF_UNIT[judged.check.unit]) if found is None else found


DEMANDS: dict[str, Callable[[Judged], Quantity | None]] = {
    "bolt tension": _tension,
    "bolt shear": _shear,
    "tension with shear": _combined,
    "hole bearing": _bearing,
    "bolt spacing": _distance,
    "widest bolt gap": _distance,
    "bolt proof": clamped.proof,
    "bolt breaking": clamped.proof,
    "joint lift-off": clamped.lift_off,
    "joint slip": clamped.slip,
    "slip at the bolts": clamped.slip_at_bolts,
    "thread stripping": clamped.stripping,
    "gasket seating": clamped.seating,
    "gasket in service": clamped.in_service,
    "gasket crushing": clamped.crushing,
    "code bolt area": clamped.bolt_area,
    "flange rating": clamped.rating,
    "bolt fatigue": clamped.fatigue,
    "joint force": _joint_force,
    "joint moment": _joint_moment,
    "joint axial": _joint_axial,
    "joint shear": _joint_shear,
    "joint bending": _joint_bending,
    "joint torsion": _joint_torsion,
}
