"""Worked lines of a base plate: anchor tensions and pressure from the displacement that the solver found, and the balance that proves it."""

from __future__ import annotations

import numpy as np

from anchorsize.assessment.checks_supports import SupportAsk
from anchorsize.assessment.holding import axes_across
from anchorsize.mechanics import contact
from anchorsize.mechanics.face_integrals import Rectangle
from anchorsize.present.report.steps import Of, Quantity, Workings, quantity, row
from anchorsize.study import BasePlate

SOLVER = "contact solution: anchors only pull, the foundation only pushes; derived here"
UPLIFT = "Balance: tensions less pressure give the uplift"
SMALL = 1e-9
"""Share of the plate's own moments under which one of the pressed part is rounding."""

Values = dict[str, Quantity]


def plate_lines(work: Workings, ask: SupportAsk) -> None:
    """What turns the plate, the tension of each anchor, the pressure under it, and the three balances."""
    support, plate, found = ask.support, ask.support.base_plate, ask.plate
    if plate is None or found is None or support.length is None or not bool(found.converged):
        return
    asked = _asked(work, ask)
    moved = {
        symbol: Quantity(float(value), unit)
        for symbol, value, unit in zip(("u", "beta", "gamma"), found.displacement, ("m", "rad", "rad"), strict=True)
    }
    x = row(np.array([each.x for each in plate.anchors], dtype=float), "length")
    y = row(np.array([-float(np.asarray(each.y)) for each in plate.anchors], dtype=float), "length")
    tension = _tensions(work, ask, plate, moved)
    plane = _plane(work, ask, plate, moved)
    _balance(work, ask, (asked, plane, tension, x, y))


def _asked(work: Workings, ask: SupportAsk) -> Values:
    """Force and moments on the plate: the fitting presses the post's top, and its friction drags it aside."""
    support, name = ask.support, ask.support.name
    e1, e2 = axes_across(-np.asarray(support.toward), ask.up)
    values = {
        "d": quantity(support.toward),
        "F_f": quantity(ask.result.friction, "force"),
        "L": quantity(support.length, "length"),
        "P": quantity(ask.result.push, "force"),
        "e_1": quantity(e1),
        "e_2": quantity(e2),
    }
    turning = work.step(
        "Moment at the foot of the post", "M", "-(L*cross(d, F_f))", "statics", Of("moment", label=name), **values
    )
    found = {"N": work.step("Force that lifts the plate", "N", "-P", "statics", Of("force", label=name), **values)}
    for symbol, axis in (("M_1", "e_1"), ("M_2", "e_2")):
        found[symbol] = work.step(
            "Moment on the plate about its axis",
            symbol,
            f"dot(M, {axis})",
            "statics",
            Of("moment", label=name),
            M=turning,
            **values,
        )
    return found


def _tensions(work: Workings, ask: SupportAsk, plate: BasePlate, moved: Values) -> Quantity:
    """The tension of each anchor."""
    if ask.plate is None or not plate.anchors:
        return row(np.zeros(0), "force")
    tensions = []
    for i, anchor in enumerate(plate.anchors):
        of = Of("stiffness", label=f"{ask.support.name}, anchor {i + 1}")
        k = work.step(
            "Stiffness of an anchor",
            "k",
            "E*A/L_a",
            "strength of materials",
            of,
            E=quantity(plate.anchor_modulus, "modulus"),
            A=quantity(anchor.tensile_area, "area"),
            L_a=quantity(plate.anchor_length, "length"),
        )
        tensions.append(
            work.step(
                "Tension of an anchor, with the displacement that the solver found",
                "T",
                "max(F + k*(u + beta*x + gamma*y), 0)",
                SOLVER,
                Of("force", label=of.label, agrees=ask.plate.bolt_tension[i]),
                F=quantity(plate.preload, "force"),
                k=k,
                x=quantity(anchor.x, "length"),
                y=quantity(-np.asarray(anchor.y), "length"),
                **moved,
            )
        )
    return row(np.array([each.number for each in tensions]), "force")


def _plane(work: Workings, ask: SupportAsk, plate: BasePlate, moved: Values) -> Values:
    """The pressure plane under the plate and its greatest pressure."""
    name = ask.support.name
    places = np.array([[each.x, -np.asarray(each.y)] for each in plate.anchors], dtype=float).reshape(-1, 2)
    face = Rectangle(plate.length, plate.width)
    preload = np.full(len(plate.anchors), float(np.asarray(plate.preload)))
    closing = np.ravel(contact.assemble(places, preload, face, plate.foundation_modulus).closing)
    kappa = Quantity(float(np.asarray(plate.foundation_modulus)), "Pa/m")
    plane = {}
    for axis, symbol, pressed, units in zip(
        ("0", "x", "y"), ("u", "beta", "gamma"), closing, (("Pa", "m"), ("Pa/m", "rad"), ("Pa/m", "rad")), strict=True
    ):
        plane[f"q_{axis}"] = work.step(
            "Pressure under the plate, the plane q₀ + qₓ·x + q_y·y where it is positive; z is how far the preloads press it in",
            f"q_{axis}",
            f"kappa*(z_{axis} - {symbol})",
            "foundation of stiffness κ",
            Of(unit=units[0], label=name),
            kappa=kappa,
            **{f"z_{axis}": Quantity(float(pressed), units[1]), symbol: moved[symbol]},
        )
    sides = {"l": quantity(plate.length, "length"), "b": quantity(plate.width, "length")}
    if ask.plate is not None:
        work.step(
            "Greatest pressure, at a corner",
            "p_max",
            "max(q_0 + l/2*abs(q_x) + b/2*abs(q_y), 0)",
            "plane pressure",
            Of("pressure", label=name, agrees=ask.plate.pressure_max),
            **sides,
            **plane,
        )
    return plane | {"area": _pressed(face, plane)} | _moments(face, plane, plate)


def _integrals(face: Rectangle, plane: Values) -> list[float]:
    field = np.array([plane[name].number for name in ("q_0", "q_x", "q_y")])
    return [float(each) for each in np.ravel(face.moments(field))]


def _pressed(face: Rectangle, plane: Values) -> Quantity:
    return quantity(_integrals(face, plane)[0], "area")


def _moments(face: Rectangle, plane: Values, plate: BasePlate) -> Values:
    """First and second moments of the pressed part, rounding taken out."""
    _, *sums = _integrals(face, plane)
    area = float(np.asarray(plate.length) * np.asarray(plate.width))
    reach = float(max(np.max(plate.length), np.max(plate.width)))
    kinds = ("volume", "volume", "second_moment", "second_moment", "second_moment")
    return {
        symbol: quantity(0.0 if abs(value) <= SMALL * area * reach ** (1 if kind == "volume" else 2) else value, kind)
        for symbol, value, kind in zip(("P_x", "P_y", "P_xx", "P_xy", "P_yy"), sums, kinds, strict=True)
    }


def _balance(work: Workings, ask: SupportAsk, parts: tuple[Values, Values, Quantity, Quantity, Quantity]) -> None:
    """That anchors and pressure balance what is asked of the plate."""
    asked, plane, tension, x, y = parts
    plane = {**plane, "A_p": plane["area"]}
    with_anchors = len(tension.parts) > 0
    minus_m1 = None if "M_1" not in asked else -asked["M_1"].number
    for name, symbol, pulled, pressed, kind, agrees in (
        (UPLIFT, "N", "total(T)", "q_0*A_p + q_x*P_x + q_y*P_y", "force", asked["N"].number),
        (
            "Balance: moments along e₁",
            "M_2",
            "total(T*x)",
            "q_0*P_x + q_x*P_xx + q_y*P_xy",
            "moment",
            asked["M_2"].number,
        ),
        ("Balance: moments along e₂", "-M_1", "total(T*y)", "q_0*P_y + q_x*P_xy + q_y*P_yy", "moment", minus_m1),
    ):
        formula = f"{pulled} - ({pressed})" if with_anchors else f"-({pressed})"
        rows = {"T": tension, "x": x, "y": y} if with_anchors else {}
        of = Of(
            kind,
            label=f"{ask.support.name}, over the pressed part of area A_p and moments P in closed form",
            agrees=agrees,
        )
        work.step(name, symbol, formula, "equilibrium", of, **plane, **rows)
