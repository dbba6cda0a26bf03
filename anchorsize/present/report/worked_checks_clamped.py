"""Worked lines of the checks of the joint as it is tightened: proof, lift-off, slip, gasket, thread, flange, fatigue."""

from __future__ import annotations

import numpy as np

from anchorsize.assessment.checks_clamped import AT_LEAST, NUT_MINOR, face_moment
from anchorsize.assessment.checks_cycles import worst_cycle
from anchorsize.assessment.clamping import PITCH_DIAMETER
from anchorsize.present.report.judged import Judged
from anchorsize.present.report.steps import Of, Quantity, quantity, row
from anchorsize.study import Array


def _greatest_tension(judged: Judged) -> Quantity | None:
    carried = judged.ask.result.service
    if carried is None:
        return None
    return judged.of_bolt(
        carried.tension_bound if carried.tension_greatest is None else carried.tension_greatest, "force"
    )


def proof(judged: Judged) -> Quantity | None:
    tension = _greatest_tension(judged)
    if tension is None:
        return None
    return judged.demand("F_S/A_b", F_S=tension, A_b=judged.of_bolt(judged.ask.joint.bolts.tensile_area, "area"))


def lift_off(judged: Judged) -> Quantity | None:
    ask, ring = judged.ask, judged.ask.joint.gasket
    carried, clamped = ask.result.service, ask.result.clamping
    if carried is None or clamped is None or ring is None:
        return None
    if carried.lift_off_use is not None:
        return _first_opening(judged)
    kern = judged.step(
        "Kern radius of the face",
        "r_k",
        "(D_o**2 + D_i**2)/(8*D_o)",
        "strength of materials",
        Of("length"),
        D_o=quantity(ring.outside, "length"),
        D_i=quantity(ring.inside, "length"),
    )
    uneven = _uneven(judged, clamped.least)
    return judged.demand(
        "max(N, 0) + (M_b + M_F)/r_k", N=judged.shown["N"], M_b=judged.shown["M_b"], M_F=uneven, r_k=kern
    )


def _uneven(judged: Judged, preload: Array) -> Quantity:
    """Moment of preloads about the ring's center."""
    moments = {
        symbol: judged.step(
            "Moment of uneven preload along an axis",
            symbol,
            formula,
            "statics",
            Of("moment"),
            F_p=row(preload[judged.group.there], "force"),
            x=judged.group.x,
            y=judged.group.y,
        )
        for symbol, formula in (("M_x", "total(F_p*x)"), ("M_y", "total(F_p*y)"))
    }
    return judged.step("Moment of uneven preload", "M_F", "sqrt(M_x**2 + M_y**2)", "statics", Of("moment"), **moments)


def _first_opening(judged: Judged) -> Quantity | None:
    """The inverse of the load multiple at which the least pressure on the rim reaches zero: root of a quadratic."""
    if not judged.rest or not judged.change:
        return None
    values = {**judged.rest, **judged.change, "D_o": judged.shown["D_o"]}
    coefficients = {
        symbol: judged.step(
            "Face first opens where c_a U² + 2 c_b U + c_c = 0",
            symbol,
            formula,
            "least pressure on the rim zero",
            Of(unit="Pa²"),
            **values,
        )
        for symbol, formula in (
            ("c_a", "a_0**2 - D_o**2/4*(a_x**2 + a_y**2)"),
            ("c_b", "a_0*b_0 - D_o**2/4*(a_x*b_x + a_y*b_y)"),
            ("c_c", "b_0**2 - D_o**2/4*(b_x**2 + b_y**2)"),
        )
    }
    return judged.demand("max((-c_b + sqrt(max(c_b**2 - c_a*c_c, 0)))/c_a, 0)", **coefficients)


def slip(judged: Judged) -> Quantity | None:
    ring, friction = judged.ask.joint.gasket, judged.ask.joint.face_friction
    clamp = _clamp(judged)
    if ring is None or friction is None or clamp is None or clamp.number <= 0.0:
        return None
    radius = judged.step(
        "Friction radius of the face",
        "r_f",
        "(D_o**3 - D_i**3)/(3*(D_o**2 - D_i**2))",
        "even-pressure disc clutch, Shigley, 9th edition, Equation 16-30, from memory",
        Of("length"),
        D_o=quantity(ring.outside, "length"),
        D_i=quantity(ring.inside, "length"),
    )
    if not np.isfinite(float(np.asarray(judged.check.demand))):
        return None
    off = judged.step(
        "How far the clamp stands off the center",
        "e",
        "M_G/F_K",
        "statics",
        Of("length"),
        M_G=_face_moment(judged),
        F_K=clamp,
    )
    return judged.demand(
        "V/(mu*F_K) + (abs(M_T) + V*e)/(mu*F_K*r_f*(1 - e**2/r_f**2))",
        V=judged.shown["V"],
        M_T=judged.shown["M_T"],
        mu=quantity(friction),
        F_K=clamp,
        r_f=radius,
        e=off,
    )


def _face_moment(judged: Judged) -> Quantity:
    """Moment of the face's pressure about the joint's center: solved, or the load's and that of uneven preload together."""
    carried, clamped = judged.ask.result.service, judged.ask.result.clamping
    if carried is not None and carried.face_moment_least is None and clamped is not None:
        return judged.step(
            "Moment on the face at most",
            "M_G",
            "M_b + M_F",
            "bound, needs no stiffness",
            Of("moment", agrees=face_moment(judged.ask)),
            M_b=judged.shown["M_b"],
            M_F=_uneven(judged, clamped.least),
        )
    return quantity(face_moment(judged.ask), "moment")


def _clamp(judged: Judged) -> Quantity | None:
    """Least clamp that the checks of slip and gasket go by."""
    carried = judged.ask.result.service
    if carried is None:
        return None
    return quantity(
        np.maximum(carried.clamp_bound if carried.clamp_least is None else carried.clamp_least, 0.0), "force"
    )


def slip_at_bolts(judged: Judged) -> Quantity | None:
    ask, clamped, friction = judged.ask, judged.ask.result.clamping, judged.ask.joint.face_friction
    if clamped is None or friction is None:
        return None
    left = judged.of_bolt(clamped.least - ask.tension, "force")
    if left.number <= 0.0:
        return None
    return judged.demand(
        "s/(mu*(F_min - max(t, 0)))",
        s=judged.of_bolt(ask.result.bolt_shear, "force"),
        mu=quantity(friction),
        F_min=judged.of_bolt(clamped.least, "force"),
        t=judged.of_bolt(ask.result.external_tension, "force"),
    )


def stripping(judged: Judged) -> Quantity | None:
    joint, allow = judged.ask.joint, judged.ask.allow
    tension = _greatest_tension(judged)
    if (
        joint.thread_engagement is None
        or allow.bolt_thread_shear is None
        or allow.nut_thread_shear is None
        or tension is None
    ):
        return None
    source = "ISO 68-1 profile, full engagement"
    size = {
        "d": judged.of_bolt(joint.bolts.diameter, "length"),
        "P": judged.of_bolt(joint.bolts.pitch, "length"),
        "L_e": quantity(joint.thread_engagement, "length"),
    }
    size["d_2"] = judged.step("Pitch diameter", "d_2", f"d - {PITCH_DIAMETER}*P", "ISO 724", Of("length"), **size)
    size["D_1"] = judged.step("Minor diameter of the nut", "D_1", f"d - {NUT_MINOR}*P", "ISO 724", Of("length"), **size)
    bolt = judged.step(
        "Shear area of the bolt thread", "A_1", "pi*D_1*L_e/P*(P/2 + (d_2 - D_1)/sqrt(3))", source, Of("area"), **size
    )
    nut = judged.step(
        "Shear area of the nut thread", "A_2", "pi*d*L_e/P*(P/2 + (d - d_2)/sqrt(3))", source, Of("area"), **size
    )
    judged.step(
        "Pull at which the weaker thread strips, the allowable",
        "A_l",
        "min(A_1*tau_1, A_2*tau_2)",
        source,
        Of("force", agrees=judged.check.allowable),
        A_1=bolt,
        A_2=nut,
        tau_1=quantity(allow.bolt_thread_shear.value, "stress"),
        tau_2=quantity(allow.nut_thread_shear.value, "stress"),
    )
    return tension


def seating(judged: Judged) -> Quantity | None:
    ring = judged.ask.joint.gasket
    if ring is None or ring.y is None:
        return None
    return judged.demand("pi*b*G*y", b=judged.shown["b"], G=judged.shown["G"], y=quantity(ring.y, "stress"))


def in_service(judged: Judged) -> Quantity | None:
    ring = judged.ask.joint.gasket
    if ring is None or ring.m is None:
        return None
    return judged.demand(
        "2*b*pi*G*m*max(p, 0)",
        b=judged.shown["b"],
        G=judged.shown["G"],
        m=quantity(ring.m),
        p=quantity(judged.ask.result.pressure, "pressure"),
    )


def crushing(judged: Judged) -> Quantity | None:
    ask, ring = judged.ask, judged.ask.joint.gasket
    clamped, carried = ask.result.clamping, ask.result.service
    if ring is None or clamped is None or carried is None or carried.pressure_max_greatest is not None:
        return None
    ends = {"D_o": quantity(ring.outside, "length"), "D_i": quantity(ring.inside, "length")}
    area = judged.step("Area of the face", "A_g", "pi/4*(D_o**2 - D_i**2)", "geometry", Of("area"), **ends)
    kern = judged.step(
        "Kern radius of the face", "r_k", "(D_o**2 + D_i**2)/(8*D_o)", "strength of materials", Of("length"), **ends
    )
    preloads = row(clamped.greatest[judged.group.there], "force")
    if judged.check.source == AT_LEAST:
        tightened = judged.step("Greatest preloads", "F_P", "total(F_max)", "sum", Of("force"), F_max=preloads)
        uneven = _uneven(judged, clamped.greatest)
        return judged.demand("F_P/A_g + M_F/(A_g*r_k)", F_P=tightened, A_g=area, M_F=uneven, r_k=kern)
    pressed = judged.step(
        "Greatest clamp", "F_P", "total(F_max) + max(-N, 0)", "sum", Of("force"), F_max=preloads, N=judged.shown["N"]
    )
    return judged.demand(
        "F_P/A_g + (M_b + M_F)/(A_g*r_k)",
        F_P=pressed,
        A_g=area,
        M_b=judged.shown["M_b"],
        M_F=_uneven(judged, clamped.greatest),
        r_k=kern,
    )


def bolt_area(judged: Judged) -> Quantity | None:
    ring, hot, cold = (
        judged.ask.joint.gasket,
        judged.ask.allow.bolt_stress_operating,
        judged.ask.allow.bolt_stress_seating,
    )
    if ring is None or ring.m is None or ring.y is None or hot is None or cold is None:
        return None
    source, width = "ASME BPVC VIII-1 App. 2, paragraph 2-5", {"b": judged.shown["b"], "G": judged.shown["G"]}
    operating = judged.step(
        "Bolt load in operation",
        "W_m1",
        "pi*G**2/4*max(p, 0) + 2*b*pi*G*m*max(p, 0)",
        source,
        Of("force"),
        **width,
        m=quantity(ring.m),
        p=quantity(judged.ask.result.pressure, "pressure"),
    )
    seating = judged.step(
        "Bolt load for seating", "W_m2", "pi*b*G*y", source, Of("force"), **width, y=quantity(ring.y, "stress")
    )
    return judged.demand(
        "max(W_m1/S_b, W_m2/S_a)",
        W_m1=operating,
        W_m2=seating,
        S_b=quantity(hot.value, "stress"),
        S_a=quantity(cold.value, "stress"),
    )


def rating(judged: Judged) -> Quantity:
    result, factor, given = judged.ask.result, judged.ask.rating_factor, judged.ask.joint.flange.rating
    if factor is not None and given is not None:
        judged.step(
            "Rating in this case, the allowable",
            "A_l",
            "p_r*f_r",
            "rating_factor given for the case",
            Of("pressure", agrees=judged.check.allowable),
            p_r=quantity(given, "pressure"),
            f_r=quantity(factor),
        )
    pull = judged.step(
        "Axial load beyond the pressure end load on the bore",
        "F_e",
        "max(N_L - p*A, 0)",
        "pressure counted once",
        Of("force"),
        N_L=quantity(result.axial, "force"),
        p=quantity(result.pressure, "pressure"),
        A=judged.shown["A"],
    )
    return judged.demand(
        "max(p, 0) + 16*M_b/(pi*G**3) + 4*F_e/(pi*G**2)",
        p=quantity(result.pressure, "pressure"),
        M_b=judged.shown["M_b"],
        G=judged.shown["G"],
        F_e=pull,
    )


def fatigue(judged: Judged) -> Quantity | None:
    ask, previous = judged.ask, judged.previous
    if previous is None or ask.result.service is None:
        return None
    one = previous.joints[ask.joint.name].service
    endurance, strength = ask.allow.endurance_limit, ask.joint.bolts.tensile_strength
    if one is None or endurance is None or strength is None:
        return None
    area = ask.joint.bolts.tensile_area
    ends = worst_cycle(one, ask.result.service, area, np.asarray(endurance.value), np.asarray(strength))
    if ends is None:
        return None
    values = {
        "F_1": judged.of_bolt(ends[0], "force"),
        "F_2": judged.of_bolt(ends[1], "force"),
        "A_b": judged.of_bolt(ask.joint.bolts.tensile_area, "area"),
    }
    least = judged.step(
        "Least stress of the cycle", "sigma_min", "min(F_1, F_2)/A_b", "stress cycle", Of("stress"), **values
    )
    judged.step(
        "Alternating stress that the Goodman line allows, the allowable",
        "A_l",
        "S_e*max(S_u - sigma_min, 0)/(S_u + S_e)",
        "Shigley, 9th edition, section 8-11, from memory",
        Of("stress", agrees=judged.check.allowable),
        sigma_min=least,
        S_e=quantity(endurance.value, "stress"),
        S_u=quantity(strength, "stress"),
    )
    return judged.demand("abs(F_1 - F_2)/(2*A_b)", **values)
