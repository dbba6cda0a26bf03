"""Worked lines of the tightened joint where the stiffness of bolts and face is known: the contact solution and its proof.

The solver finds three displacements, u, β and γ. They are printed, and every line below them follows from them by hand: the
tension of each bolt, the pressure plane on the face, and the three balances that only the right displacements meet.
"""

from __future__ import annotations

import numpy as np

from anchorsize.assessment.clamping import Clamping, Service
from anchorsize.assessment.results import JointResult
from anchorsize.mechanics import contact
from anchorsize.present.report.steps import Of, Quantity, Workings, quantity, row
from anchorsize.present.report.worked_joint import Pattern
from anchorsize.study import Array, Joint

SOLVER = "contact solution: bolts only pull, the face only pushes; derived here"
_UNITS = {"q_0": "Pa", "q_x": "Pa/m", "q_y": "Pa/m"}


def assembled(
    work: Workings, preload: Array, group: Pattern, stiff: dict[str, Quantity], state: str
) -> dict[str, Quantity]:
    """The pressure plane of the face under the preloads alone; empty where they would leave part of it open."""
    tightened = row(preload[group.there], "force")
    reach = 0.5 * stiff["D_o"].number
    about_x, about_y = (float(np.sum(tightened.value * axis.value)) for axis in (group.x, group.y))
    if np.sum(tightened.value) / stiff["A_g"].number <= reach * np.hypot(about_x, about_y) / stiff["I_g"].number:
        return {}
    found = {}
    for axis, formula, kind, below, unit in (
        ("0", "total(F)", "force", "A_g", "Pa"),
        ("x", "total(F*x)", "moment", "I_g", "Pa/m"),
        ("y", "total(F*y)", "moment", "I_g", "Pa/m"),
    ):
        whole = work.step(
            "Preloads together" if axis == "0" else "Moment of the preloads along an axis",
            f"P_{axis}",
            formula,
            "sum",
            Of(kind, label=state),
            F=tightened,
            x=group.x,
            y=group.y,
        )
        found[f"a_{axis}"] = work.step(
            "Face pressure of the assembled joint, the plane a₀ + aₓ·x + a_y·y",
            f"a_{axis}",
            f"P_{axis}/{below}",
            "a rigid flange on an even face",
            Of(unit=unit, label=state),
            **{f"P_{axis}": whole, below: stiff[below]},
        )
    return found


def closed_stiffness(work: Workings, group: Pattern, stiff: dict[str, Quantity]) -> dict[str, Quantity]:
    """Stiffness of bolts and closed face together against a displacement and two tilts."""
    values = {"x": group.x, "y": group.y, **stiff}
    return {
        symbol: work.step(
            "Stiffness of bolts and closed face together", symbol, formula, "sum", Of(unit=unit), **values
        )
        for symbol, formula, unit in (
            ("K_0", "k_b + kappa*A_g", "N/m"),
            ("K_x", "total(k*x)", "N"),
            ("K_y", "total(k*y)", "N"),
            ("K_xx", "total(k*x**2) + kappa*I_g", "N·m"),
            ("K_yy", "total(k*y**2) + kappa*I_g", "N·m"),
            ("K_xy", "total(k*x*y)", "N·m"),
        )
    }


def closed_share(
    work: Workings, stiff: dict[str, Quantity], axial: Quantity, acting: dict[str, Quantity]
) -> dict[str, Quantity]:
    """By how much the pressure plane changes under the loads of a case while the face is closed."""
    moved = work.step(
        "Displacement under the loads while the face is closed",
        "d",
        "solve([[K_0, K_x, K_y], [K_x, K_xx, K_xy], [K_y, K_xy, K_yy]], [N, M_2, -M_1])",
        "equilibrium",
        Of(unit=("m", "rad", "rad"), unknowns=("u", "beta", "gamma")),
        N=axial,
        M_1=acting["M_1"],
        M_2=acting["M_2"],
        **{symbol: stiff[symbol] for symbol in ("K_0", "K_x", "K_y", "K_xx", "K_yy", "K_xy")},
    )
    parts = [Quantity(value, unit) for value, unit in zip(moved.parts, ("m", "rad", "rad"), strict=True)]
    return {
        f"b_{axis}": work.step(
            "Change of the pressure plane under the loads",
            f"b_{axis}",
            f"-(kappa*{symbol})",
            "face of stiffness κ",
            Of(unit="Pa" if axis == "0" else "Pa/m"),
            kappa=stiff["kappa"],
            **{symbol: part},
        )
        for axis, symbol, part in zip(("0", "x", "y"), ("u", "beta", "gamma"), parts, strict=True)
    }


def solution(
    work: Workings,
    joint: Joint,
    result: JointResult,
    clamped: Clamping,
    service: Service,
    group: Pattern,
    stiff: dict[str, Quantity],
    axial: Quantity,
    acting: dict[str, Quantity],
    planes: dict[str, dict[str, Quantity]],
) -> None:
    """Service tensions, face pressure and the balances at the least, the mean and the greatest preload.

    Every bolt has a line at the mean preload, only the most loaded one at the greatest, none at the least.
    """
    if clamped.stiff is None:
        return
    for state, preload, tension, clamp, pressure in (
        ("at the least preload", clamped.least, None, service.clamp_least, None),
        ("at the mean preload", clamped.mean, service.tension, service.clamp, service.pressure_max),
        ("at the greatest preload", clamped.greatest, service.tension_greatest, None, service.pressure_max_greatest),
    ):
        found = contact.solve_preloaded_joint(
            result.axial_demand,
            result.bending1,
            result.bending2,
            joint.bolts.xy,
            clamped.stiff.bolts,
            preload,
            clamped.stiff.face,
            clamped.stiff.modulus,
        )
        known = found.bolt_tension if tension is None else tension
        moved = {
            symbol: Quantity(float(value), unit)
            for symbol, value, unit in zip(("u", "beta", "gamma"), found.displacement, ("m", "rad", "rad"), strict=True)
        }
        tensions = row(known[group.there], "force")
        for j, i in enumerate(np.flatnonzero(group.there)):
            if tension is None or (preload is clamped.greatest and known[i] < np.max(known)):
                continue
            work.step(
                "Service tension of a bolt, with the displacement that the solver found",
                "t_s",
                "max(F + k*(u + beta*x + gamma*y), 0)",
                SOLVER,
                Of("force", label=f"bolt {joint.bolts.numbers[i]} {state}", agrees=known[i]),
                F=quantity(preload[i], "force"),
                k=Quantity(stiff["k"].parts[j], "N/m"),
                x=quantity(group.x.parts[j], "length"),
                y=quantity(group.y.parts[j], "length"),
                **moved,
            )
        _face(work, tensions, state, clamped, group, stiff, moved, planes[state], (axial, acting, clamp, pressure))


def _face(
    work: Workings,
    tension: Quantity,
    state: str,
    clamped: Clamping,
    group: Pattern,
    stiff: dict[str, Quantity],
    moved: dict[str, Quantity],
    rest: dict[str, Quantity],
    known: tuple[Quantity, dict[str, Quantity], Array | None, Array | None],
) -> None:
    """The pressure plane under load, the clamp that it gives, and the balance of bolts and face with the loads."""
    axial, acting, clamp, pressure = known
    if not rest or clamped.stiff is None:  # part of the face is open before any load: the plane has no closed form
        return
    plane = {
        f"q_{axis}": work.step(
            "Face pressure under load, the plane q₀ + qₓ·x + q_y·y where it is positive",
            f"q_{axis}",
            f"a_{axis} - kappa*{symbol}",
            "face of stiffness κ",
            Of(unit=_UNITS[f"q_{axis}"], label=state),
            kappa=stiff["kappa"],
            **rest,
            **moved,
        )
        for axis, symbol in (("0", "u"), ("x", "beta"), ("y", "gamma"))
    }
    field = np.array([plane[name].number for name in ("q_0", "q_x", "q_y")])
    area, sx, sy, sxx, sxy, syy = (float(each) for each in np.ravel(clamped.stiff.face.moments(field)))
    size = stiff["I_g"].number
    reach = stiff["D_o"].number

    def clean(value: float, scale: float) -> float:
        return 0.0 if abs(value) <= 1e-9 * scale else value

    part = {
        "A_p": quantity(area, "area"),
        "P_x": quantity(clean(sx, size / reach), "volume"),
        "P_y": quantity(clean(sy, size / reach), "volume"),
        "P_xx": quantity(sxx, "second_moment"),
        "P_xy": quantity(clean(sxy, size), "second_moment"),
        "P_yy": quantity(syy, "second_moment"),
    }
    work.step(
        "Clamp over the pressed part of the face, its area A_p and moments P in closed form",
        "F_K",
        "q_0*A_p + q_x*P_x + q_y*P_y",
        SOLVER,
        Of("force", label=state, agrees=clamp),
        **plane,
        **part,
    )
    work.step(
        "Greatest face pressure",
        "p_max",
        "max(q_0 + D_o/2*sqrt(q_x**2 + q_y**2), 0)",
        "at the rim",
        Of("stress", label=state, agrees=pressure),
        D_o=stiff["D_o"],
        **plane,
    )
    work.step(
        "Least face pressure",
        "p_min",
        "max(q_0 - D_o/2*sqrt(q_x**2 + q_y**2), 0)",
        "at the rim",
        Of("stress", label=state),
        D_o=stiff["D_o"],
        **plane,
    )
    for name, symbol, formula, kind, agrees in (
        (
            "Balance: tensions less clamp give the axial demand",
            "N",
            "total(t_s) - (q_0*A_p + q_x*P_x + q_y*P_y)",
            "force",
            axial,
        ),
        (
            "Balance: moments along the first axis",
            "M_2",
            "total(t_s*x) - (q_0*P_x + q_x*P_xx + q_y*P_xy)",
            "moment",
            acting["M_2"],
        ),
        (
            "Balance: moments along the second axis",
            "-M_1",
            "total(t_s*y) - (q_0*P_y + q_x*P_xy + q_y*P_yy)",
            "moment",
            Quantity(-np.asarray(acting["M_1"].value)),
        ),
    ):
        work.step(
            name,
            symbol,
            formula,
            "equilibrium",
            Of(kind, label=state, agrees=agrees.value),
            t_s=tension,
            x=group.x,
            y=group.y,
            **plane,
            **part,
        )
