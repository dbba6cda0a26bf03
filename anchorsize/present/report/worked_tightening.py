"""Worked lines of the tightening: preload from torque, its range, the stiffness of bolts and face."""

from __future__ import annotations

import numpy as np

from anchorsize.assessment.clamping import Clamping
from anchorsize.present.report.steps import Of, Quantity, Workings, quantity, row
from anchorsize.present.report.worked_joint import SHIGLEY, Pattern, row_of
from anchorsize.study import Joint


def preload(work: Workings, joint: Joint, clamped: Clamping, group: Pattern) -> None:
    """Mean, least and greatest preload of the bolts; bolts alike share a line."""
    tight = joint.tightening
    if tight is None:
        return
    s, loss = quantity(tight.scatter or 0.0), quantity(tight.relaxation or 0.0)
    for bolts, i in _alike(group, joint, clamped):
        mean = quantity(clamped.mean[i], "force")
        if clamped.torque is not None and clamped.torque_arm is not None:
            torque = quantity(np.broadcast_to(clamped.torque, clamped.mean.shape)[i], "moment")
            mean = _from_torque(work, joint, clamped, torque, bolts, i)
        work.step(
            "Least preload, after scatter and loss",
            "F_min",
            "F*(1 - s)*(1 - l)",
            "symmetric scatter; loss is common practice",
            Of("force", label=bolts, agrees=clamped.least[i]),
            F=mean,
            s=s,
            l=loss,
        )
        work.step(
            "Greatest preload",
            "F_max",
            "F*(1 + s)",
            "symmetric scatter",
            Of("force", label=bolts, agrees=clamped.greatest[i]),
            F=mean,
            s=s,
        )


def _alike(group: Pattern, joint: Joint, clamped: Clamping) -> list[tuple[str, int]]:
    """Bolts with the same size, preload and friction: their words and the index of the first."""
    found: dict[tuple[float, ...], list[int]] = {}
    given, count = joint.tightening, len(joint.bolts.numbers)
    factors = None if given is None or given.nut_factor is None else given.factors(count)
    for i, number in enumerate(joint.bolts.numbers):
        if group.there[i]:
            key = (
                float(clamped.mean[i]),
                float(joint.bolts.diameter[i]),
                float(joint.bolts.tensile_area[i]),
                *(() if factors is None else (float(factors[i]),)),
            )
            found.setdefault(key, []).append(number)
    if len(found) == 1:
        return [("each bolt", joint.bolts.numbers.index(group.numbers[0]))]
    return [
        (f"bolt{'s' if len(numbers) > 1 else ''} {', '.join(map(str, numbers))}", joint.bolts.numbers.index(numbers[0]))
        for numbers in found.values()
    ]


def _from_torque(work: Workings, joint: Joint, clamped: Clamping, torque: Quantity, bolts: str, i: int) -> Quantity:
    tight, diameter = joint.tightening, quantity(joint.bolts.diameter[i], "length")
    if tight is not None and tight.nut_factor is not None:
        return work.step(
            "Mean preload from the torque",
            "F",
            "T/(K*d)",
            f"{SHIGLEY}, Equation 8-27, from memory",
            Of("force", label=bolts, agrees=clamped.mean[i]),
            T=torque,
            K=quantity(tight.factors(len(joint.bolts.numbers))[i]),
            d=diameter,
        )
    if (
        tight is None
        or tight.thread_friction is None
        or tight.bearing_friction is None
        or tight.bearing_diameter is None
    ):
        return quantity(clamped.mean[i], "force")
    pitch = quantity(joint.bolts.pitch[i], "length")
    middle = work.step(
        "Pitch diameter",
        "d_2",
        "d - 0.649519*P",
        "ISO 724 and ASME B1.1",
        Of("length", label=bolts),
        d=diameter,
        P=pitch,
    )
    helix = work.step("Slope of the thread", "phi", "P/(pi*d_2)", "geometry", Of(label=bolts), P=pitch, d_2=middle)
    friction = work.step(
        "Thread friction on a flank of 30°",
        "mu_f",
        "mu_G/(sqrt(3)/2)",
        "ISO 16047, from memory",
        Of(label=bolts),
        mu_G=quantity(tight.thread_friction),
    )
    arm = work.step(
        "Torque per preload",
        "ell",
        "d_2/2*(phi + mu_f)/(1 - phi*mu_f) + mu_K*D_K/2",
        "ISO 16047, torque equation, from memory",
        Of("length", label=bolts),
        d_2=middle,
        phi=helix,
        mu_f=friction,
        mu_K=quantity(tight.bearing_friction),
        D_K=quantity(tight.bearing_diameter, "length"),
    )
    return work.step(
        "Mean preload from the torque",
        "F",
        "T/ell",
        "ISO 16047",
        Of("force", label=bolts, agrees=clamped.mean[i]),
        T=torque,
        ell=arm,
    )


def stiffness(work: Workings, joint: Joint, clamped: Clamping, group: Pattern) -> dict[str, Quantity]:
    """Stiffness of bolts and face, and the share C of a centered load that the bolts take; empty where it is not known."""
    stiff, ring = clamped.stiff, joint.gasket
    if stiff is None or ring is None:
        return {}
    each = stiff.bolts[group.there]
    if joint.bolts.stiffness is None and joint.grip is not None and joint.bolt_modulus is not None:
        for bolts, i in _alike(group, joint, clamped):
            thread = joint.grip if joint.thread_length_in_grip is None else joint.thread_length_in_grip
            work.step(
                "Stiffness of a bolt: shank and thread in series",
                "k",
                "E/((L - L_t)/A_d + L_t/A_s)",
                f"{SHIGLEY}, Equation 8-17, from memory",
                Of("stiffness", label=bolts, agrees=stiff.bolts[i]),
                E=quantity(joint.bolt_modulus, "modulus"),
                L=quantity(joint.grip, "length"),
                L_t=quantity(thread, "length"),
                A_d=quantity(joint.bolts.shank_area[i], "area"),
                A_s=quantity(joint.bolts.tensile_area[i], "area"),
            )
    ends = {"D_o": quantity(ring.outside, "length"), "D_i": quantity(ring.inside, "length")}
    area = work.step("Area of the face", "A_g", "pi/4*(D_o**2 - D_i**2)", "geometry", Of("area"), **ends)
    second = work.step(
        "Second moment of the face", "I_g", "pi/64*(D_o**4 - D_i**4)", "geometry", Of("second_moment"), **ends
    )
    modulus = _face_modulus(work, joint, clamped, group, area)
    k = row(each, "stiffness")
    all_bolts = work.step("Stiffness of all bolts", "k_b", "total(k)", "sum", Of("stiffness"), k=k)
    work.step(
        "Share of a centered load that the bolts take while the face is closed",
        "C",
        "k_b/(k_b + kappa*A_g)",
        f"{SHIGLEY}, section 8-7, from memory",
        Of(agrees=stiff.load_factor),
        k_b=all_bolts,
        kappa=modulus,
        A_g=area,
    )
    return {"k": k, "k_b": all_bolts, "kappa": modulus, "A_g": area, "I_g": second, "D_o": ends["D_o"]}


def _face_modulus(work: Workings, joint: Joint, clamped: Clamping, group: Pattern, area: Quantity) -> Quantity:
    """Pressure per closing of the face: the gasket's, or that of the metal clamped face to face."""
    ring, members, known = joint.gasket, joint.members, clamped.stiff
    agrees = None if known is None else known.modulus
    if ring is not None and ring.modulus is not None and ring.thickness is not None:
        return work.step(
            "Pressure per closing of the gasket",
            "kappa",
            "E_g/t_g",
            "compression of a thin layer",
            Of(unit="Pa/m", agrees=agrees),
            E_g=quantity(ring.modulus, "stress"),
            t_g=quantity(ring.thickness, "length"),
        )
    if members is None or joint.grip is None:
        return Quantity(float(np.asarray(agrees)), "Pa/m")
    parts = []
    for i in np.flatnonzero(group.there):
        diameter, face = quantity(joint.bolts.diameter[i], "length"), quantity(members.face_diameter, "length")
        spread = work.step(
            "Spread of the pressure cone over the grip, 30°",
            "q",
            "L/sqrt(3)",
            f"{SHIGLEY}, section 8-5, from memory",
            Of("length", label=f"bolt {joint.bolts.numbers[i]}"),
            L=quantity(joint.grip, "length"),
        )
        parts.append(
            work.step(
                "Stiffness of the metal that a bolt clamps: two cones back to back",
                "k_m",
                "pi*E_m*d/(2*sqrt(3)*ln((q + D - d)*(D + d)/((q + D + d)*(D - d))))",
                f"{SHIGLEY}, Equations 8-19 to 8-22, from memory",
                Of("stiffness", label=f"bolt {joint.bolts.numbers[i]}"),
                E_m=quantity(members.modulus, "modulus"),
                d=diameter,
                D=face,
                q=spread,
            )
        )
    return work.step(
        "Pressure per closing of the face, the metal spread evenly",
        "kappa",
        "K_m/A_g",
        "derived here",
        Of(unit="Pa/m", agrees=agrees),
        K_m=work.step(
            "Stiffness of all the metal", "K_m", "total(k_m)", "sum", Of("stiffness"), k_m=row_of(parts, "stiffness")
        ),
        A_g=area,
    )
