"""Checks of the joint as it really is: preload, gasket, lift-off, slip, flange rating."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from anchorsize.assessment.asking import Ask, Rule, bolt_check, lacking, plain, worst_bolt
from anchorsize.assessment.clamping import PITCH_DIAMETER, Service, preload_moment, stiffness_wanting
from anchorsize.assessment.results import Check
from anchorsize.mechanics import checks as formulas
from anchorsize.mechanics import flange_code, gasket, joint_checks, thread_engagement
from anchorsize.reference import flanges_for_bore, is_rated
from anchorsize.study import Allowable, Array, BoltPattern, Gasket, Number
from anchorsize.units import figures

NUT_MINOR = 1.082532  # D1 = d − 1.082532 P, ISO 724
ROUNDING = 1e-9  # share within which two pressures are the same
OF_A_NEW_GASKET = ("gasket seating", "gasket in service")
_NEW_GASKET = "a new gasket: m and y are not those of one used before"
_IN_PLACE = "a leak test under pressure (no key of the file), or a new gasket (condition: reused): m and y are not those of one in service"
AT_LEAST = "at least: as tightened at the greatest preloads, before any load, whatever the stiffness"
_EDGE_NOT_KNOWN = "the bolts press it unevenly, only the stiffness tells how hard at the worst place; what it gets at least is allowed"
_TIGHTENING = "the joint's tightening (torque with nut_factor, or preload)"


def _proof(ask: Ask) -> Check | str:
    """Greatest tension of each bolt, preload at its greatest and the load's share, against proof."""
    carried, proof = ask.result.service, ask.joint.bolts.proof_strength
    strength = "proof strength"
    if proof is None:  # standards such as ASTM A193 give no proof load: yield stands in, and is named
        proof, strength = ask.joint.bolts.yield_strength, "yield strength (no proof strength is tabled)"
    if carried is None or proof is None:
        return lacking((_TIGHTENING, carried), (_proof_wanted(ask.joint.bolts), proof))
    bolts = ask.joint.bolts
    origin = "proof strength given in the file" if bolts.proof_given else f"{strength} of class {bolts.property_class}"
    return _stretched(ask, carried, "bolt proof", Allowable(proof, "Pa", origin))


def _proof_wanted(bolts: BoltPattern) -> str:
    """What to supply for a strength that tightening is judged against."""
    if bolts.property_class is None:
        return "bolts / class, for its proof strength"
    return (
        f"bolts / class with a proof or yield strength: {bolts.property_class} has none in its standard, so nothing says how far it may be "
        "tightened (or bolts / proof_strength)"
    )


def _breaking(ask: Ask) -> Check | None:
    """Greatest tension of each bolt against breaking; asked only where the class of the bolts has a tensile strength alone."""
    carried, bolts = ask.result.service, ask.joint.bolts
    if carried is None or bolts.tensile_strength is None:
        return None
    if bolts.proof_strength is not None or bolts.yield_strength is not None:
        return None
    origin = f"tensile strength of class {bolts.property_class}"
    return _stretched(ask, carried, "bolt breaking", Allowable(bolts.tensile_strength, "Pa", origin))


def _stretched(ask: Ask, carried: Service, name: str, allowable: Allowable) -> Check:
    """Stress of each bolt at its greatest preload and the load's share, against one strength."""
    known = carried.tension_greatest is not None
    tension = carried.tension_bound if carried.tension_greatest is None else carried.tension_greatest
    stress = formulas.stress_tension(tension, ask.joint.bolts.tensile_area)
    formula = (
        "service tension at the greatest preload" if known else "greatest preload + all external tension (upper bound)"
    )
    source = "contact solution" if known else "bound without stiffness"
    return worst_bolt(ask, name, stress, allowable, source, formula)


def _least_clamp(ask: Ask) -> Array | None:
    """Clamp left on the face at the least preload [N]: solved where the stiffnesses are known, else the lower bound."""
    carried = ask.result.service
    if carried is None:
        return None
    return np.maximum(carried.clamp_bound if carried.clamp_least is None else carried.clamp_least, 0.0)


def _lift_off(ask: Ask) -> Check | str:
    carried, clamped, ring = ask.result.service, ask.result.clamping, ask.joint.gasket
    if carried is None or clamped is None or ring is None:
        return lacking((_TIGHTENING, carried), ("the gasket", ring))
    if carried.lift_off_use is not None:
        return plain(
            ask,
            "joint lift-off",
            carried.lift_off_use,
            1.0,
            "1",
            "contact solution at the least preload",
            "the face stays closed all round",
            "this load over the load at which the face first opens",
        )
    demand = joint_checks.lift_off_demand(
        ask.result.axial_demand,
        ask.result.bending + preload_moment(ask.joint, clamped.least),
        joint_checks.kern_radius(ring.inside, ring.outside),
    )
    return plain(
        ask,
        "joint lift-off",
        np.maximum(demand, 0.0),
        np.sum(clamped.least, axis=-1),
        "N",
        "bound without stiffness: all load taken from the clamp; kern of an annulus",
        "sum of the least preloads",
        "axial demand + (bending + moment of uneven preload) / kern radius",
    )


def _opens(ask: Ask) -> Array:
    """Whether the face may open somewhere at the least preload, as joint lift-off has it."""
    made = _lift_off(ask)
    return np.asarray(False) if made is None or isinstance(made, str) else np.asarray(made.utilization > 1.0)


def _slip(ask: Ask) -> Check | str:
    clamp, ring, friction = _least_clamp(ask), ask.joint.gasket, ask.joint.face_friction
    if clamp is None or ring is None or friction is None:
        return lacking((_TIGHTENING, clamp), ("the gasket", ring), ("face_friction", friction))
    used = joint_checks.slip_utilization_ring(
        ask.result.shear,
        ask.result.torsion,
        clamp,
        friction,
        joint_checks.friction_radius(ring.inside, ring.outside),
        face_moment(ask) / np.where(clamp > 0.0, clamp, np.nan),
    )
    return plain(
        ask,
        "joint slip",
        used,
        1.0,
        "1",
        "Coulomb friction of the face, shear and torsion added",
        "face_friction given, clamp at the least preload",
        "V/(μF) + (T + Ve)/(μF r(1 − e²/r²)), e how far the clamp stands off center",
    )


def face_moment(ask: Ask) -> Array:
    """Moment of the face's pressure about the joint's center at the least preload [N·m]: solved, or an upper bound."""
    carried, clamped = ask.result.service, ask.result.clamping
    if carried is None or clamped is None:
        return np.asarray(0.0)
    if carried.face_moment_least is not None:
        return carried.face_moment_least
    return ask.result.bending + preload_moment(ask.joint, clamped.least)


def _width(ring: Gasket) -> Array:
    return gasket.effective_width(gasket.basic_width(ring.inside, ring.outside))


def _seating(ask: Ask) -> Check | str:
    clamped, ring = ask.result.clamping, ask.joint.gasket
    if ring is not None and ring.used:
        return _IN_PLACE if ring.condition == "in_place" else _NEW_GASKET
    if clamped is None or ring is None or ring.y is None:
        return lacking((_TIGHTENING, clamped), ("gasket / y", None if ring is None else ring.y))
    wanted = flange_code.seating_bolt_load(ask.result.reaction_diameter, _width(ring), ring.y)
    return plain(
        ask,
        "gasket seating",
        wanted,
        np.sum(clamped.least, axis=-1),
        "N",
        "ASME BPVC VIII-1 App. 2, Wm2 = π b G y",
        "sum of the least preloads",
        "Wm2 at most the least preload of all bolts",
    )


def _in_service(ask: Ask) -> Check | str:
    clamp, ring = _least_clamp(ask), ask.joint.gasket
    if ring is not None and ring.used:
        return _IN_PLACE if ring.condition == "in_place" else _NEW_GASKET
    if clamp is None or ring is None or ring.m is None:
        return lacking((_TIGHTENING, clamp), ("gasket / m", None if ring is None else ring.m))
    wanted = flange_code.gasket_load_in_service(
        np.maximum(ask.result.pressure, 0.0), ask.result.reaction_diameter, _width(ring), ring.m
    )
    # where the face opens, its clamp stands on a part of the ring and seals nothing beside it
    opens = _opens(ask)
    return plain(
        ask,
        "gasket in service",
        wanted,
        np.where(opens, 0.0, clamp),
        "N",
        "ASME BPVC VIII-1 App. 2, Hp = 2 b π G m p",
        "no clamp counted: the face may open (joint lift-off)" if np.all(opens) else "clamp left at the least preload",
        "Hp at most the clamp left under load",
    )


def _crushing(ask: Ask) -> Check | str:
    carried, clamped, ring = ask.result.service, ask.result.clamping, ask.joint.gasket
    allowable = ask.allow.gasket_pressure_greatest
    if carried is None or clamped is None or ring is None or allowable is None:
        return lacking((_TIGHTENING, carried), ("the gasket", ring), ("allow / gasket_pressure_greatest", allowable))
    demand, source, told = carried.pressure_max_greatest, "contact solution at the greatest preload", ""
    if demand is None:
        tightened, uneven = np.sum(clamped.greatest, axis=-1), preload_moment(ask.joint, clamped.greatest)
        pressed = tightened + np.maximum(-ask.result.axial_demand, 0.0)
        face = joint_checks.closed_face_pressure(pressed, ask.result.bending + uneven, ring.inside, ring.outside)
        # the bolts alone, before any load: face and bolts are in balance, whatever their stiffness; a face that opens presses harder still
        least = joint_checks.closed_face_pressure(tightened, uneven, ring.inside, ring.outside).greatest
        opens = face.least < 0.0
        if np.all(opens & (least <= allowable.value)):
            return f"{', '.join(stiffness_wanting(ask.joint))}: {_EDGE_NOT_KNOWN}"
        # too low in rows of a batch where the face opens and the least is allowed: joint lift-off fails in them
        demand = np.where(opens, least, face.greatest)
        source = "closed face, all bending on the gasket (bound without stiffness)"
        if np.all(opens):
            source, told = AT_LEAST, "gasket crushing (at least)"
    made = plain(
        ask,
        "gasket crushing",
        demand,
        allowable.value,
        allowable.unit,
        source,
        allowable.origin,
        "greatest face pressure",
    )
    return replace(made, told=told)


def _code_bolt_area(ask: Ask) -> Check | str:
    ring, hot, cold = ask.joint.gasket, ask.allow.bolt_stress_operating, ask.allow.bolt_stress_seating
    if ring is None or ring.m is None or ring.y is None or hot is None or cold is None:
        return lacking(
            ("gasket / m", None if ring is None else ring.m),
            ("gasket / y", None if ring is None else ring.y),
            ("allow / bolt_stress_operating", hot),
            ("allow / bolt_stress_seating", cold),
        )
    diameter, width = ask.result.reaction_diameter, _width(ring)
    operating = flange_code.operating_bolt_load(np.maximum(ask.result.pressure, 0.0), diameter, width, ring.m)
    area = flange_code.bolt_area_required(
        operating, flange_code.seating_bolt_load(diameter, width, ring.y), hot.value, cold.value
    )
    there = np.sum(np.where(ask.joint.carrying, ask.joint.bolts.root_area, 0.0), axis=-1)
    return plain(
        ask,
        "code bolt area",
        area.required,
        there,
        "m2",
        "ASME BPVC VIII-1 App. 2, Am = max(Wm1/Sb, Wm2/Sa)",
        "root area Ab of the bolts present",
        "Am at most Ab; pressure alone, without the pipe's loads",
    )


def _like_this(ask: Ask) -> str | None:
    """The flange of the joint, None where no table rates it; else one of the nominal size nearest its bore, by the bolts' thread system."""
    designation = ask.joint.flange.designation
    if designation is not None:
        return designation if is_rated(designation) else None
    metric = ask.joint.bolts.sizes[0].upper().startswith("M")
    bore = float(np.sqrt(4.0 / np.pi * np.ravel(ask.result.bore_area)[0]))
    wanted = "EN 1092-1 PN 16 " if metric else "ASME B16.5 class 150 "
    return next(each.designation for each in flanges_for_bore(bore) if each.designation.startswith(wanted))


def _rating(ask: Ask) -> Check | str:
    rating = ask.joint.flange.rating
    if rating is None:
        like = _like_this(ask)
        table = (
            ""
            if like is None
            else f", or the table's, as in `flange: {{designation: {like}, rating: from table}}` with fluid / temperature"
        )
        return f"flange / rating: a pressure at the temperature of the fluid{table}"
    factor, row = ask.rating_factor, ask.joint.flange.rating_row
    origin = "flange / rating given" if row is None else f"flange / rating from table {row.table}: {row.row}"
    if factor is not None:
        rating = np.asarray(rating) * factor
        origin += f" × rating_factor {figures(float(np.max(factor)), 3)} of the case"
    demand = flange_code.equivalent_pressure(
        np.maximum(ask.result.pressure, 0.0),
        ask.result.bending,
        np.maximum(ask.result.axial - ask.result.pressure * ask.result.bore_area, 0.0),
        ask.result.reaction_diameter,
    )
    # tests are run at just the rating times its factor, which rounding must not turn into a failure
    demand = np.where(np.abs(demand - rating) <= ROUNDING * np.abs(rating), rating, demand)
    return plain(
        ask,
        "flange rating",
        demand,
        rating,
        "Pa",
        "equivalent pressure P + 16M/(πG³) + 4F/(πG²), common practice",
        origin,
        "F is the axial load beyond the pressure end load on the bore",
    )


def _greatest_spacing(ask: Ask) -> Check | str:
    allowable, ring, thickness = ask.allow.bolt_spacing_greatest, ask.joint.gasket, ask.joint.flange.thickness
    if allowable is None:
        return "allow / bolt_spacing_greatest: a length, or `from formula` with gasket / m and flange / thickness"
    limit: Number
    if allowable == "from formula":
        if ring is None or ring.m is None or thickness is None:
            return "gasket / m and flange / thickness, for the formula of bolt_spacing_greatest"
        least = np.min(ask.joint.bolts.diameter, axis=-1)
        limit = joint_checks.greatest_bolt_spacing(least, thickness, ring.m)
        origin = "2 d + 6 t/(m + 0.5), TEMA (from memory)"
    else:
        limit, origin = allowable.value, allowable.origin
    return plain(
        ask,
        "widest bolt gap",
        formulas.greatest_gap(ask.joint.bolts.xy, ask.joint.carrying),
        limit,
        "m",
        "geometry of the bolt pattern",
        origin,
        "greatest center distance of bolts that are neighbors round the gasket",
    )


def _slip_at_bolts(ask: Ask) -> Check | str:
    clamped, friction = ask.result.clamping, ask.joint.face_friction
    if clamped is None or friction is None:
        return lacking((_TIGHTENING, clamped), ("face_friction", friction))
    clamp = np.maximum(clamped.least - ask.tension, 0.0)
    used = joint_checks.slip_utilization_bolt(ask.result.bolt_shear, clamp, np.asarray(friction)[..., None])
    used = np.where(ask.joint.carrying, used, 0.0)
    unity = Allowable(1.0, "1", "face_friction given, least preload less external tension")
    return bolt_check(
        ask, "slip at the bolts", used, used, unity, "Coulomb friction under each bolt", "shear of the bolt / (μ clamp)"
    )


def _stripping(ask: Ask) -> Check | str:
    """Greatest bolt tension against the pull at which the weaker thread strips."""
    joint, carried = ask.joint, ask.result.service
    bolt, nut, length = ask.allow.bolt_thread_shear, ask.allow.nut_thread_shear, joint.thread_engagement
    pitch = joint.bolts.pitch
    if carried is None or bolt is None or nut is None or length is None or np.any(np.isnan(pitch)):
        return lacking(
            (_TIGHTENING, carried),
            ("thread_engagement", length),
            ("allow / bolt_thread_shear", bolt),
            ("allow / nut_thread_shear", nut),
            ("a bolt size with a known pitch", None if np.any(np.isnan(pitch)) else pitch),
        )
    middle, minor = joint.bolts.diameter - PITCH_DIAMETER * pitch, joint.bolts.diameter - NUT_MINOR * pitch
    engaged = np.asarray(length)[..., None]
    strength = thread_engagement.stripping_strength(
        thread_engagement.bolt_thread_area(engaged, pitch, middle, minor),
        thread_engagement.nut_thread_area(engaged, pitch, joint.bolts.diameter, middle),
        np.asarray(bolt.value)[..., None],
        np.asarray(nut.value)[..., None],
    )
    tension = carried.tension_bound if carried.tension_greatest is None else carried.tension_greatest
    used = formulas.utilization(tension, strength)
    return bolt_check(
        ask,
        "thread stripping",
        tension,
        used,
        Allowable(strength, "N", f"{bolt.origin}: thread shear strengths"),
        "shear of the ISO 68-1 profile, full engagement",
        "greatest bolt tension at most the stripping pull",
    )


CLAMPED_RULES: tuple[Rule, ...] = (
    Rule("bolt proof", False, _proof),
    Rule("bolt breaking", False, _breaking),
    Rule("joint lift-off", False, _lift_off),
    Rule("joint slip", False, _slip),
    Rule("slip at the bolts", False, _slip_at_bolts),
    Rule("thread stripping", False, _stripping),
    Rule("gasket seating", False, _seating),
    Rule("gasket in service", False, _in_service),
    Rule("gasket crushing", False, _crushing),
    Rule("code bolt area", False, _code_bolt_area),
    Rule("flange rating", False, _rating),
    Rule("widest bolt gap", False, _greatest_spacing),
)
