"""The inputs as the calculation uses them, so that a reviewer can check every line from the report alone."""

from __future__ import annotations

import textwrap
from dataclasses import replace

import numpy as np

from anchorsize import units
from anchorsize.mechanics import frames, gasket
from anchorsize.present.support_words import given_supports, stiffness_words
from anchorsize.present.words import KIND_OF_UNIT, column, figure, joined, paragraph, quantity, size_words, table
from anchorsize.study import Allowables, Array, Gasket, Joint, JointStiffness, Study, Tightening
from anchorsize.units import System

_FORMS = {"circular": "in circular form", "linear": "in linear form", "en_1993_1_8": "by EN 1993-1-8"}


def given(study: Study, width: int, option: str = "") -> str:
    """Openings, weights, joints, supports of the option, outside loads and allowables of a study."""
    lines = ["Given", _openings(study), "", *_weights(study, width)]
    for joint in study.joints.values():
        lines += _joint(study, joint, width)
    lines += given_supports(study, option, width)
    lines += [
        paragraph(
            f"beyond '{o.name}' pressure pushes on {quantity(float(o.effective_area), 'area', study.units)}, the effective area given, "
            f"{figure(float(o.effective_area / o.area))} times the bore",
            width,
        )
        for o in study.openings.values()
        if o.effective_area is not None
    ]
    for load in study.external:
        where = "every case" if load.cases is None else ", ".join(f"'{case}'" for case in load.cases)
        force, moment = vector_words(load.force, "force", study.units), vector_words(load.moment, "moment", study.units)
        at = vector_words(load.at, "length", study.units)
        lines.append(paragraph(f"{load.name}: force {force}, moment {moment}, at {at}, in {where}", width))
    lines += _allowables(study.allow, "allowables", study.units, width)
    lines += [paragraph(f"note in the file: {remark}", width) for remark in study.remarks]
    return "\n".join(lines)


def vector_words(vector: Array, kind: str, system: System) -> str:
    """A vector (3,) of one kind with its unit after the bracket."""
    converted, unit = units.convert(np.asarray(vector), kind, system)
    return f"[{', '.join(units.figures(float(part), 5) for part in np.asarray(converted))}] {unit}".rstrip()


def direction_words(vector: Array) -> str:
    """A direction (3,), rounding read as zero."""
    return f"[{', '.join(units.figures(float(part) if abs(part) > 1e-12 else 0.0, 6) for part in vector)}]"


def _openings(study: Study) -> str:
    openings = list(study.openings.values())
    bores, bore_unit = column((float(np.sqrt(4 * o.area / np.pi)) for o in openings), "length", study.units)
    areas, area_unit = column((float(o.area) for o in openings), "area", study.units)
    rows = [
        [o.name, vector_words(o.center, "length", study.units), direction_words(o.outward), bores[i], areas[i]]
        for i, o in enumerate(openings)
    ]
    return table(rows, ["opening", "center", "outward", f"bore\n{bore_unit}", f"area\n{area_unit}"], left=3)


def _weights(study: Study, width: int) -> list[str]:
    fitting, lines = study.fitting, []
    if fitting.built_from:
        lines.append("  - the fitting was built from, followed from its inlet:")
        lines += [
            textwrap.fill(line, width, initial_indent="      ", subsequent_indent="        ")
            for line in fitting.built_from
        ]
    lines.append(paragraph(f"up is {direction_words(study.up)}; g = 9.80665 m/s²", width))
    if fitting.mass is not None and fitting.mass_center is not None:
        at = vector_words(fitting.mass_center, "length", study.units)
        lines.append(paragraph(f"fitting: {quantity(float(fitting.mass), 'mass', study.units)} at {at}", width))
    for each in fitting.extra_masses:
        at = vector_words(each.center, "length", study.units)
        mass = quantity(float(each.mass), "mass", study.units)
        lines.append(paragraph(f"{each.name}: {mass} at {at}, beside the fitting's own", width))
    if fitting.contents is not None and fitting.contents_center is not None:
        at = vector_words(fitting.contents_center, "length", study.units)
        lines.append(paragraph(f"contents: {quantity(float(fitting.contents), 'volume', study.units)} at {at}", width))
    return lines


def _joint(study: Study, joint: Joint, width: int) -> list[str]:
    bolts, system = joint.bolts, study.units
    e1, e2 = frames.joint_frame(study.openings[joint.at].outward, joint.reference)
    sizes = ", ".join(size_words(size) for size in dict.fromkeys(bolts.sizes))
    present = int(np.sum(bolts.present))
    pattern = f"joint '{joint.name}': {present} bolts {sizes}"
    if bolts.circle is not None:
        first = quantity(float(bolts.angle[0]), "angle", system)
        pattern += f" on {quantity(float(bolts.circle), 'length', system)}, bolt 1 at {first}"
    if bolts.missing:
        gone = [str(number) for number in bolts.missing]
        pattern += f", bolt{'s' if len(gone) > 1 else ''} {joined(gone)} missing"
    areas = ", ".join(dict.fromkeys(quantity(float(area), "area", system) for area in bolts.tensile_area))
    if bolts.property_class is not None:
        pattern += f", class {bolts.property_class}"
    if bolts.proof_given and bolts.proof_strength is not None:
        pattern += f", proof strength {quantity(float(np.max(bolts.proof_strength)), 'stress', system)} as given"
    lines = [
        paragraph(f"{pattern}; tensile stress area {areas}", width),
        paragraph(
            f"joint frame: axis a = {direction_words(study.openings[joint.at].outward)}, e1 = {direction_words(e1)}, e2 = {direction_words(e2)}",
            width,
        ),
    ]
    if joint.gasket is not None:
        ring = joint.gasket
        inside, outside = (quantity(float(d), "length", system) for d in (ring.inside, ring.rim))
        basic, effective = (quantity(float(w), "length", system) for w in gasket_widths(ring))
        pressed = quantity(float(ring.outside), "length", system)
        cut = "" if ring.ring_outside in (None, ring.outside) else f", pressed by the raised face out to {pressed}"
        words = (
            f"inside {inside}, outside {outside}{cut}; basic width b0 {basic}, half the contact as with a flat facing (App. 2, Table "
            f"2-5.2, sketch 1a); effective width b {effective}"
        )
        words += "" if ring.condition is None else f"; {ring.condition.replace('_', ' ')}"
        lines.append(paragraph(f"gasket ring of joint '{joint.name}': {words}", width))
    lines += _tightening(study, joint, width)
    if joint.thread_engagement is not None:
        engaged = quantity(float(joint.thread_engagement), "length", system)
        lines.append(paragraph(f"thread engagement of joint '{joint.name}': {engaged}", width))
    flange = [
        f"{word} {quantity(float(value), kind, system)}"
        for word, value, kind in (
            ("outside", joint.flange.outside, "length"),
            ("thickness", joint.flange.thickness, "length"),
            ("hole", joint.flange.hole, "length"),
            ("raised face", joint.flange.raised_face, "length"),
            ("height of the face beside the thickness", joint.flange.face_height or None, "length"),
            ("rating", joint.flange.rating, "pressure"),
        )
        if value is not None
    ]
    flange += ["flat face"] if joint.flange.flat else []
    row = joint.flange.rating_row
    flange += [] if row is None else [f"the rating from table {row.table}: {row.row}"]
    if flange:
        lines.append(paragraph(f"flange of joint '{joint.name}': {', '.join(flange)}", width))
    if joint.allow is not None:
        lines += _allowables(joint.allow, f"allowables of joint '{joint.name}'", system, width)
    return lines


def gasket_widths(ring: Gasket) -> tuple[Array, Array]:
    """Basic width b0 and effective width b of a gasket [m]."""
    basic = gasket.basic_width(ring.inside, ring.outside)
    return basic, gasket.effective_width(basic)


def case_terms(study: Study, name: str) -> list[str]:
    """What a case states beside its openings."""
    case = study.cases[name]
    terms = [] if case.contents_full else ["contents empty"]
    if float(np.max(case.dynamic_factor)) != 1.0:
        terms.append(f"thrusts times dynamic factor {figure(float(np.max(case.dynamic_factor)), 3)}")
    if case.rating_factor is not None:
        terms.append(f"flange rating times {figure(float(np.max(case.rating_factor)), 3)}")
    if case.throttled:
        after = ", pipe of full bore after it" if case.full_bore_after else ""
        terms.append(f"throttled: a valve or an orifice in the fitting takes the head that is lost{after}")
    if case.allow is not None and (allowed := allowables_words(case.allow, study.units)):
        terms.append(f"for this case: {', '.join(allowed)}")
    return terms


def _tightening(study: Study, joint: Joint, width: int) -> list[str]:
    """Tightening and stiffness as the preload and the contact solution use them."""
    system, ring, tight = study.units, joint.gasket, joint.tightening
    lines, parts = [], []
    if tight is not None:
        values, kind = (tight.preload, "force") if tight.torque is None else (tight.torque, "moment")
        if values is not None:
            each = _by_bolt(joint, np.asarray(values), kind, system)
            parts.append(f"{'preload' if tight.torque is None else 'torque'} {each}")
        if tight.nut_factor is not None:
            parts.append(f"nut factor {_factors(joint, tight)}")
        for word, value in (
            ("thread friction", tight.thread_friction),
            ("bearing friction", tight.bearing_friction),
            ("scatter ±", tight.scatter),
            ("relaxation", tight.relaxation),
            ("face friction", joint.face_friction),
        ):
            if value is not None:
                parts.append(f"{word} {figure(float(value), 3)}")
        if tight.bearing_diameter is not None:
            parts.append(f"bearing diameter {quantity(float(tight.bearing_diameter), 'length', system)}")
        if tight.lubricant is not None:
            parts.append(f"lubricant {_lubricant(joint, tight)}")
        if tight.target_torque is not None:
            everyone = replace(joint, bolts=replace(joint.bolts, present=np.ones_like(joint.bolts.present)))
            targets = _by_bolt(everyone, np.asarray(tight.target_torque), "moment", system)
            parts.append(f"target torque {targets} (told to the installer, not judged)")
        if tight.target_nut_factor is not None:
            parts.append(f"nut factor {_factors(joint, tight.with_target_friction)} for the target")
        if tight.target_scatter is not None:
            parts.append(f"scatter ± {figure(float(tight.target_scatter), 3)} for the target")
        if tight.target_lubricant is not None:
            parts.append(f"lubricant {_lubricant(joint, tight.with_target_friction, ' for the target')}")
        lines.append(paragraph(f"tightening of joint '{joint.name}': {'; '.join(parts)}", width))
    lines += _gives_way(joint, width, system)
    named = [
        ("grip", joint.grip, "length"),
        ("thread in the grip", joint.thread_length_in_grip, "length"),
        ("bolt modulus", joint.bolt_modulus, "modulus"),
    ]
    if ring is not None:
        named += [("gasket thickness", ring.thickness, "length"), ("gasket modulus", ring.modulus, "stress")]
        named += [("m", ring.m, "number"), ("y", ring.y, "stress")]
    if joint.members is not None:
        named.append(("members' modulus", joint.members.modulus, "modulus"))
        named.append(("face under head and nut", joint.members.face_diameter, "length"))
    shown = [f"{word} {quantity(float(value), kind, system)}" for word, value, kind in named if value is not None]
    if shown:
        lines.append(paragraph(f"stiffness and gasket of joint '{joint.name}': {', '.join(shown)}", width))
    return lines


def _factors(joint: Joint, given: Tightening) -> str:
    """The nut factor of the bolts, by bolt where they differ, the missing ones too."""
    groups: dict[str, list[str]] = {}
    for number, factor in zip(joint.bolts.numbers, given.factors(len(joint.bolts.numbers)), strict=True):
        groups.setdefault(figure(float(factor), 3), []).append(str(number))
    if len(groups) == 1:
        return next(iter(groups))
    return ", ".join(
        f"{shown} of bolt{'s' if len(numbers) > 1 else ''} {joined(numbers)}" for shown, numbers in groups.items()
    )


def _lubricant(joint: Joint, given: Tightening, what_for: str = "") -> str:
    """What is put on the threads and ``what_for``, and which bolts keep what was found on theirs."""
    if given.kept is None:
        return f"{given.lubricant}{what_for}"
    count = len(joint.bolts.numbers)
    left = [str(n) for n, kept in zip(joint.bolts.numbers, np.broadcast_to(given.kept, count), strict=True) if kept]
    was = "" if given.kept_lubricant is None else f" ({given.kept_lubricant})"
    return f"{given.lubricant}{what_for}, not on bolt{'s' if len(left) > 1 else ''} {joined(left)}: as found{was}"


def _by_bolt(joint: Joint, values: Array, kind: str, system: System) -> str:
    """What the bolts that are there get: that of most of them, then those that differ by number."""
    bolts = joint.bolts
    figures, unit = column(np.broadcast_to(values, len(bolts.numbers)), kind, system)
    groups: dict[str, list[str]] = {}
    for number, shown, there in zip(bolts.numbers, figures, bolts.present, strict=True):
        if there:
            groups.setdefault(shown, []).append(str(number))
    most = max(groups, key=lambda shown: len(groups[shown]))
    others = [
        f"bolt{'s' if len(numbers) > 1 else ''} {joined(numbers)}: {shown} {unit}"
        for shown, numbers in groups.items()
        if shown != most
    ]
    return "; ".join([f"{most} {unit}", *others])


def _gives_way(joint: Joint, width: int, system: System) -> list[str]:
    """How the joint gives way beside supports: its stiffness as given, or the pipe behind it."""
    pipe, given_stiffness = joint.pipe_behind, joint.stiffness
    if isinstance(given_stiffness, JointStiffness):
        return [paragraph(f"stiffness of joint '{joint.name}': {stiffness_words(given_stiffness, system)}", width)]
    itself = [paragraph(f"joint '{joint.name}' itself is rigid", width)] if given_stiffness == "rigid" else []
    if pipe is None:
        return itself
    terms = (
        ("outside", pipe.outside, "length"),
        ("wall", pipe.wall, "length"),
        ("length", pipe.length, "length"),
        ("modulus", pipe.modulus, "modulus"),
    )
    shown = ", ".join(f"{word} {quantity(float(value), kind, system)}" for word, value, kind in terms)
    return [
        *itself,
        paragraph(
            f"pipe behind joint '{joint.name}': {shown}, Poisson's ratio {figure(float(pipe.poisson), 3)}", width
        ),
    ]


def _allowables(allow: Allowables, lead: str, system: System, width: int) -> list[str]:
    shown = allowables_words(allow, system)
    return [paragraph(f"{lead}: {'; '.join(shown)}", width)] if shown else []


def allowables_words(allow: Allowables, system: System) -> list[str]:
    """Each allowable with its value and whose it is."""
    shown = [
        f"{name} {quantity(float(value.value), KIND_OF_UNIT[value.unit], system)} ({value.origin})"
        for name, value in (
            ("bolt tension", allow.bolt_tension),
            ("bolt shear", allow.bolt_shear),
            ("hole bearing", allow.hole_bearing),
            ("least bolt spacing", allow.bolt_spacing_least),
            ("greatest gasket pressure", allow.gasket_pressure_greatest),
            ("bolt stress in operation", allow.bolt_stress_operating),
            ("bolt stress at seating", allow.bolt_stress_seating),
            ("endurance limit", allow.endurance_limit),
            ("bolt thread shear", allow.bolt_thread_shear),
            ("nut thread shear", allow.nut_thread_shear),
            ("joint force", allow.force),
            ("joint moment", allow.moment),
            ("joint axial", allow.axial),
            ("joint shear", allow.shear),
            ("joint bending", allow.bending),
            ("joint torsion", allow.torsion),
        )
        if value is not None
    ]
    widest = allow.bolt_spacing_greatest
    if isinstance(widest, str):
        shown.append(f"greatest bolt spacing {widest}")
    elif widest is not None:
        shown.append(f"greatest bolt spacing {quantity(float(widest.value), 'length', system)} ({widest.origin})")
    if allow.pressure_thrust is not None:
        shown.append(f"pressure thrust {allow.pressure_thrust} in force and axial of the joint")
    form = allow.tension_with_shear
    return shown if form is None else [*shown, f"tension with shear {_FORMS[form]}"]
