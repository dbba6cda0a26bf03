"""Worked lines of a joint: pressure annulus, the linear bolt group, what holds whatever its stiffness."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from anchorsize.assessment.clamping import Clamping, Service
from anchorsize.assessment.evaluation import bolt_weights
from anchorsize.assessment.results import JointResult, OpeningResult
from anchorsize.mechanics.bolt_group import capability
from anchorsize.mechanics.gasket import INCH, NARROW_LIMIT
from anchorsize.present.report.steps import Of, Quantity, Workings, quantity, row
from anchorsize.study import Gasket, Joint

CODE = "ASME BPVC VIII-1 App. 2, Table 2-5.2, from memory"


ONE_PLACE, FULL = 1, 3  # ranks of a bolt pattern
GROUP = "elastic bolt group on a rigid flange, derived here from equilibrium"


SHIGLEY = "Shigley's Mechanical Engineering Design, 9th edition"


@dataclass(frozen=True)
class Pattern:
    """The bolts that carry, there and not loose, and the sums of their pattern, as worked out."""

    there: NDArray[np.bool_]  # (n,)
    numbers: tuple[int, ...]  # of those that carry
    weight: Quantity
    x: Quantity
    y: Quantity
    sums: dict[str, Quantity]

    rank: int  # what the pattern can carry, see mechanics.bolt_group.capability

    @property
    def by(self) -> str:
        """The factor of a bolt's weight in a formula; nothing where all bolts count alike."""
        return "" if np.all(self.weight.value == 1.0) else "w*"

    @property
    def places(self) -> list[dict[str, Quantity]]:
        """Weight and place of each bolt."""
        return [
            {"w": quantity(w), "x": quantity(x, "length"), "y": quantity(y, "length")}
            for w, x, y in zip(self.weight.parts, self.x.parts, self.y.parts, strict=True)
        ]


def gasket(work: Workings, joint: Joint, agrees: object) -> dict[str, Quantity]:
    """Effective width b and reaction diameter G, as far as they follow from the gasket."""
    ring = joint.gasket
    if ring is None:
        return {"G": quantity(agrees, "length")}
    outside = _contact_outside(work, joint, ring)
    basic = work.step(
        "Basic gasket width",
        "b_0",
        "(D_o - D_i)/4",
        CODE,
        Of("length"),
        D_o=outside,
        D_i=quantity(ring.inside, "length"),
    )
    if basic.number <= NARROW_LIMIT:
        width = work.step("Effective width of a gasket up to 1/4 in", "b", "b_0", CODE, Of("length"), b_0=basic)
    else:
        width = work.step(
            "Effective width of a gasket over 1/4 in: half the root, in inches",
            "b",
            "sqrt(b_0*inch)/2",
            CODE,
            Of("length"),
            b_0=basic,
            inch=quantity(INCH, "length"),
        )
    if ring.reaction_diameter is not None:
        return {"b": width, "G": quantity(agrees, "length")}
    diameter = work.step(
        "Gasket reaction diameter", "G", "D_o - 2*b", CODE, Of("length", agrees=agrees), D_o=outside, b=width
    )
    return {"b": width, "G": diameter}


def _contact_outside(work: Workings, joint: Joint, ring: Gasket) -> Quantity:
    """Where the contact ends: at the rim of the ring, or of the raised face before it."""
    face = joint.flange.raised_face
    if face is None or ring.outside == ring.rim:
        return quantity(ring.outside, "length")
    return work.step(
        "Outside of the contact: the rim of the ring, or of the raised face before it",
        "D_o",
        "min(D_r, D_f)",
        "geometry",
        Of("length", agrees=ring.outside),
        D_r=quantity(ring.rim, "length"),
        D_f=quantity(face, "length"),
    )


def pattern(work: Workings, joint: Joint) -> Pattern:
    """The sums of the bolt pattern that tension and shear are worked out from."""
    bolts = joint.bolts
    there = np.asarray(joint.carrying)
    weights = bolt_weights(joint)[there]
    weight = row(weights / np.max(weights))
    places = np.where(np.abs(bolts.xy) <= 1e-12 * np.max(np.abs(bolts.xy), initial=1e-300), 0.0, bolts.xy)[there]
    x, y = (row(places[:, axis], "length") for axis in range(2))
    numbers = tuple(number for number, is_there in zip(bolts.numbers, there, strict=True) if is_there)
    by = "w*" if not np.all(weight.value == 1.0) else ""
    sums = {}
    if by:
        sums["W"] = work.step("Sum of the bolt weights", "W", "total(w)", GROUP, Of(), w=weight)
    else:
        sums["W"] = quantity(len(numbers))
    for name, symbol, formula, unit in (
        ("First moment of the pattern", "S_x", f"total({by}x)", "m"),
        ("First moment of the pattern", "S_y", f"total({by}y)", "m"),
        ("Second moment of the pattern", "S_xx", f"total({by}x**2)", "m²"),
        ("Second moment of the pattern", "S_yy", f"total({by}y**2)", "m²"),
        ("Product moment of the pattern", "S_xy", f"total({by}x*y)", "m²"),
    ):
        sums[symbol] = work.step(name, symbol, formula, GROUP, Of(unit=unit), w=weight, x=x, y=y)
    sums["x_c"] = work.step(
        "Center of the bolts that carry", "x_c", "S_x/W", GROUP, Of("length"), S_x=sums["S_x"], W=sums["W"]
    )
    sums["y_c"] = work.step(
        "Center of the bolts that carry", "y_c", "S_y/W", GROUP, Of("length"), S_y=sums["S_y"], W=sums["W"]
    )
    sums["J"] = work.step(
        "Polar moment about that center", "J", "S_xx + S_yy - W*(x_c**2 + y_c**2)", GROUP, Of(unit="m²"), **sums
    )
    return Pattern(there, numbers, weight, x, y, sums, int(capability(places, weights)))


def demand(
    work: Workings,
    result: JointResult,
    at: OpeningResult,
    area: Quantity,
    ring: dict[str, Quantity],
    axial: Quantity,
) -> Quantity:
    """Pressure annulus and axial demand."""
    annulus = work.step(
        "Pressure between bore and gasket reaction circle",
        "H_A",
        "p*(pi*G**2/4 - A)",
        "hydrostatic end force of ASME BPVC VIII-1 App. 2, paragraph 2-3, less the bore",
        Of("force", agrees=result.pressure_annulus),
        p=quantity(at.pressure, "pressure"),
        G=ring["G"],
        A=area,
    )
    return work.step(
        "Axial demand, positive opens the joint",
        "N",
        "N_L + H_A",
        "sum",
        Of("force", agrees=result.axial_demand),
        N_L=axial,
        H_A=annulus,
    )


def bolt_loads(
    work: Workings, result: JointResult, group: Pattern, axial: Quantity, acting: dict[str, Quantity]
) -> None:
    """Tension and shear of each bolt by the linear bolt group, with the balance that proves them.

    Bolts in one line or in one place leave the system without a single solution; the balance alone then shows that the
    tensions of the assessment hold the load, and bolts in one place have no turn.
    """
    if group.rank == FULL:
        tension = _tensions(work, result, group, axial, acting)
    else:
        tension = row(result.external_tension[group.there], "force")
    _balance(work, group, tension)
    twist = Quantity(0.0, "N/m")
    if group.rank > ONE_PLACE:
        twist = work.step(
            "Turn of the bolts about their center",
            "tau",
            "-(M_T + x_c*V_2 - y_c*V_1)/J",
            GROUP,
            Of(unit="N/m"),
            M_T=acting["M_T"],
            V_1=acting["V_1"],
            V_2=acting["V_2"],
            **group.sums,
        )
    _shears(work, result, group, acting, twist)


def _tensions(
    work: Workings, result: JointResult, group: Pattern, axial: Quantity, acting: dict[str, Quantity]
) -> Quantity:
    """The plane of tension over the flange, and the tension of each bolt in it."""
    units = ("N", "N/m", "N/m")
    plane = work.step(
        "Tension is plane over the flange, t = α + β x + γ y per unit of weight: three balances for α, β, γ",
        "plane",
        "solve([[W, S_x, S_y], [S_x, S_xx, S_xy], [S_y, S_xy, S_yy]], [N, M_2, -M_1])",
        GROUP,
        Of(unit=units, unknowns=("alpha", "beta", "gamma")),
        N=axial,
        M_2=acting["M_2"],
        M_1=acting["M_1"],
        **group.sums,
    )
    level, slope_x, slope_y = (Quantity(value, unit) for value, unit in zip(plane.parts, units, strict=True))
    tensions = [
        work.step(
            "External tension of a bolt, pulled positive",
            "t",
            f"{group.by}(alpha + beta*x + gamma*y)",
            GROUP,
            Of("force", label=f"bolt {number}", agrees=known),
            alpha=level,
            beta=slope_x,
            gamma=slope_y,
            **place,
        )
        for number, place, known in zip(group.numbers, group.places, result.external_tension[group.there], strict=True)
    ]
    return row_of(tensions, "force")


def _shears(work: Workings, result: JointResult, group: Pattern, acting: dict[str, Quantity], twist: Quantity) -> None:
    """The shear of each bolt: an even share, and its part of the turn."""
    sums = group.sums
    even = {
        symbol: work.step(
            "Even share of the shear", symbol, f"{acted}/W", GROUP, Of("force"), W=sums["W"], **{acted: acting[acted]}
        )
        for symbol, acted in (("s_1", "V_1"), ("s_2", "V_2"))
    }
    for number, place, known in zip(group.numbers, group.places, result.bolt_shear[group.there], strict=True):
        work.step(
            "Shear of a bolt, from its parts along the two axes",
            "s",
            f"{group.by}sqrt((s_1 - tau*(y - y_c))**2 + (s_2 + tau*(x - x_c))**2)",
            GROUP,
            Of("force", label=f"bolt {number}", agrees=known),
            tau=twist,
            x_c=sums["x_c"],
            y_c=sums["y_c"],
            **even,
            **place,
        )


def row_of(values: list[Quantity], kind: str) -> Quantity:
    return row(np.array([value.value for value in values]), kind)


def _balance(work: Workings, group: Pattern, tension: Quantity) -> None:
    """That the tensions of the bolts balance what is asked of the joint."""
    for name, symbol, formula, kind in (
        ("Balance: the tensions add up to the axial demand", "N", "total(t)", "force"),
        ("Balance: their moment along the first axis", "M_2", "total(t*x)", "moment"),
        ("Balance: their moment along the second axis", "-M_1", "total(t*y)", "moment"),
    ):
        work.step(name, symbol, formula, "equilibrium", Of(kind), t=tension, x=group.x, y=group.y)


def bounds(
    work: Workings,
    joint: Joint,
    clamped: Clamping,
    service: Service,
    group: Pattern,
    axial: Quantity,
) -> None:
    """What holds whatever the stiffness: greatest tension of each bolt and least clamp."""
    for i in np.flatnonzero(group.there):
        work.step(
            "Bolt tension at most, all external tension on the greatest preload",
            "F_B",
            "F_max + max(t, 0)",
            "bound, needs no stiffness; t without the relief of a force that presses the joint",
            Of("force", label=f"bolt {joint.bolts.numbers[i]}", agrees=service.tension_bound[i]),
            F_max=quantity(clamped.greatest[i], "force"),
            t=quantity(service.external_bound[i], "force"),
        )
    work.step(
        "Clamp at least, all axial demand taken from the least preload",
        "F_C",
        "total(F_min) - max(N, 0)",
        "bound, needs no stiffness",
        Of("force", agrees=service.clamp_bound),
        F_min=row(clamped.least[group.there], "force"),
        N=axial,
    )
