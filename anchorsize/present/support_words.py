"""Supports in words: as given, and what each does in a case."""

from __future__ import annotations

from typing import Any

import numpy as np

from anchorsize.assessment.holding import support_stiffness
from anchorsize.assessment.movement import greatest_movement
from anchorsize.assessment.results import CaseResult, Check, SupportResult
from anchorsize.mechanics.restraint import SupportState
from anchorsize.present.words import column, figure, number, paragraph, quantity, table, used
from anchorsize.study import Array, JointStiffness, Number, Study, Support
from anchorsize.units import System

TWO_WAY = ("strut", "guide")
"""Kinds that hold both ways along their direction."""

BOTH_WAYS = (*TWO_WAY, "anchor")
"""Kinds whose force may have either sign."""

HUNG = ("hanger", "tie", "spring_hanger")
"""Kinds that pull the fitting toward what they hang from."""

_OPEN = {"rest": "lifted", "thrust_block": "lifted"}


def kind_words(support: Support) -> str:
    """The kind as the trade says it."""
    return support.kind.replace("_", " ")


def state_word(result: SupportResult) -> str:
    """What the support does: carrying, idle (it touches and carries nothing), slack, lifted or set load."""
    state = int(np.asarray(result.state))
    if state == SupportState.OPEN:
        return _OPEN.get(result.support.kind, "slack")
    if np.all(result.idle):
        return "idle"
    return "set load" if state == SupportState.SET_LOAD else "carrying"


def state_words(result: SupportResult) -> str:
    """The state, and whether it slides."""
    return state_word(result) + (", slides" if slides(result) else "")


def shown_state(result: SupportResult) -> str:
    """The state for a reader: of a strut or guide that carries also whether it is pressed or pulled."""
    if result.support.kind not in TWO_WAY or np.all(result.idle) or not float(result.push):
        return state_words(result)
    return f"{state_words(result)}, {'pressed' if float(result.push) > 0.0 else 'pulled'}"


def acting_words(result: SupportResult, worst: Check | None, system: System) -> str:
    """The state with the force along the support, an anchor's across too, and the utilization of its worst check, where it carries."""
    if np.all(result.idle):
        return shown_state(result)
    words = [quantity(float(result.push), "force", system)]
    if result.support.kind == "anchor":
        words = [f"{words[0]} along", f"{quantity(float(np.linalg.norm(result.friction)), 'force', system)} across"]
    used_up = [] if worst is None else [used(worst.utilization)]
    separator = ",\n" if result.support.kind == "anchor" else ", "
    return f"{shown_state(result)}\n{separator.join([*words, *used_up])}"


def slides(result: SupportResult) -> bool:
    """Whether its friction is used up."""
    return int(np.asarray(result.state)) == SupportState.SLIDING


def given_supports(study: Study, option: str, width: int) -> list[str]:
    """One line for each support of the option judged: kind, place, direction, stiffness, gap, preset, settlement, friction."""
    return [
        paragraph(f"{kind_words(each)} '{each.name}': {words}", width)
        for each in study.supports.get(option, ())
        for words in (_terms(each, study.up, study.units), *_made_of(each, study.units), *_allowed(each, study.units))
        if words
    ]


def _terms(support: Support, up: Array, system: System) -> str:
    from anchorsize.present.given import direction_words, vector_words

    terms = [f"at {vector_words(support.at, 'length', system)}, toward {direction_words(support.toward)}"]
    if support.kind == "anchor":
        terms.append(_six_way(support, system))
    elif support.kind != "spring_hanger":
        terms.append(
            f"stiffness {quantity(float(support_stiffness(support, up)), 'stiffness', system)}{_from(support, system)}"
        )
    if where := foot_words(support, system):
        terms.append(where)
    if float(support.gap):
        terms.append(f"gap {quantity(float(support.gap), 'length', system)}")
    if support.set_load is not None:
        terms.append(f"set load {quantity(float(support.set_load), 'force', system)}")
    if support.settles is not None:
        terms.append(f"settles {quantity(float(support.settles), 'length', system)} against toward")
    if support.friction is not None:
        terms.append(f"friction {figure(float(support.friction), 3)}")
    return "; ".join(terms)


def foot_words(support: Support, system: System) -> str:
    """Where a support of a given length stands, or hangs from: the other end of it along toward; empty without a length."""
    from anchorsize.present.given import vector_words

    if support.length is None:
        return ""
    hung = support.kind in HUNG
    other = support.at + (1.0 if hung else -1.0) * float(support.length) * support.toward
    return f"{'anchor' if hung else 'foot'} at {vector_words(other, 'length', system)}"


def _six_way(support: Support, system: System) -> str:
    held = support.six_way
    return stiffness_words(held, system) if isinstance(held, JointStiffness) else "rigid six ways"


def stiffness_words(held: JointStiffness, system: System) -> str:
    """A stiffness of four parts, as given."""
    parts = (
        ("axial", held.axial, "stiffness"),
        ("shear", held.shear, "stiffness"),
        ("bending", held.bending, "rotational_stiffness"),
        ("torsion", held.torsion, "rotational_stiffness"),
    )
    return ", ".join(f"{name} {quantity(float(value), kind, system)}" for name, value, kind in parts)


def _from(support: Support, system: System) -> str:
    """What the stiffness follows from, for the reader to recompute it."""
    if support.stiffness is not None:
        return ""
    if support.block is not None:
        return " (subgrade modulus × bearing area)"
    area = support.rod_area if support.section is None else support.section.area
    what = f"rod {support.rod}" if support.section is None else "section"
    if area is None or support.length is None or support.modulus is None:
        return ""
    return (
        f" (EA/L of {what}: area {quantity(float(area), 'area', system)}, length "
        f"{quantity(float(support.length), 'length', system)}, modulus {quantity(float(support.modulus), 'modulus', system)})"
    )


def _figures(system: System, *named: tuple[str, Number | None, str]) -> str:
    """Names with their values, those not given left out."""
    return ", ".join(
        f"{word} {quantity(float(value), kind, system)}" for word, value, kind in named if value is not None
    )


def _made_of(support: Support, system: System) -> list[str]:
    """Section, base plate and block, with every figure that a check is made from."""
    lines = []
    section, plate, block = support.section, support.base_plate, support.block
    if support.rod_root_area is not None:
        lines.append(f"rod {support.rod}, {_figures(system, ('root area', support.rod_root_area, 'area'))}")
    if section is not None:
        of_section = (
            ("section area", section.area, "area"),
            ("second moment", section.second_moment, "second_moment"),
            ("half depth", section.half_depth, "length"),
            ("effective length factor K", support.effective_length_factor, "number"),
        )
        lines.append(_figures(system, *of_section))
    if plate is not None:
        of_plate = (
            ("base plate length along e1", plate.length, "length"),
            ("width along e2", plate.width, "length"),
            ("foundation modulus", plate.foundation_modulus, "subgrade_modulus"),
        )
        lines.append(_figures(system, *of_plate))
    if plate is not None and plate.anchors:
        places = "; ".join(
            f"[{quantity(float(each.x), 'length', system)}, {quantity(float(each.y), 'length', system)}] "
            f"{quantity(float(each.tensile_area), 'area', system)}"
            for each in plate.anchors
        )
        of_anchors = (
            ("free length", plate.anchor_length, "length"),
            ("modulus", plate.anchor_modulus, "modulus"),
            ("preload", plate.preload, "force"),
        )
        lines.append(f"anchors at [e1, e2] with their stress areas: {places}; {_figures(system, *of_anchors)}")
    if block is not None:
        of_block = (
            ("block length", block.length, "length"),
            ("width", block.width, "length"),
            ("height", block.height, "length"),
            ("density", block.density, "density"),
            ("base friction", block.friction, "number"),
            ("thrust height", block.thrust_height, "length"),
            ("passive earth force", block.passive, "force"),
            ("subgrade modulus", block.subgrade_modulus, "subgrade_modulus"),
        )
        lines.append(_figures(system, *of_block))
    return lines


def _allowed(support: Support, system: System) -> list[str]:
    """The support's allowables and the factors it must reach."""
    allow = support.allow
    if allow is None:
        return []
    named = (
        ("force", allow.force, "force"),
        ("moment", allow.moment, "moment"),
        ("stress", allow.stress, "stress"),
        ("bearing", allow.bearing, "stress"),
        ("bearing under the base", allow.base_bearing, "stress"),
        ("anchor tension", allow.anchor_tension, "force"),
        ("anchor shear", allow.anchor_shear, "force"),
        ("buckling factor", allow.buckling_factor, "number"),
        ("bearing factor", allow.bearing_factor, "number"),
        ("sliding factor", allow.sliding_factor, "number"),
        ("overturning factor", allow.overturning_factor, "number"),
        ("uplift factor", allow.uplift_factor, "number"),
    )
    origin = allow.origin if allow.force is None else allow.force_origin
    return [f"allowables: {_figures(system, *named)} ({origin})"]


def case_supports(case: CaseResult, system: System) -> str:
    """The table of what each support does in a case; empty without supports."""
    results = list(case.supports.values())
    if not results:
        return ""
    forces = np.array([result.force for result in results])
    texts, unit = column(forces.ravel(), "force", system)
    moved, length = column([float(result.movement) for result in results], "length", system)
    rows = []
    for i, result in enumerate(results):
        state = shown_state(result).replace(", p", ",\np")
        if float(result.clearance) > 0.0:
            state += f",\n{quantity(float(result.clearance), 'length', system)} clear"
        rows.append([result.support.name, kind_words(result.support), state, *texts[3 * i : 3 * i + 3], moved[i]])
    headers = ["support", "kind", "state", *(f"F{axis}\n{unit}" for axis in "xyz"), f"moves\n{length}"]
    notes = ["  F is what the support puts on the fitting, which moves that far along it."]
    notes += [
        _anchor_moment(result.support.name, result.moment, system) for result in results if result.moment is not None
    ]
    return "\n".join([table(rows, headers, left=3), *notes])


def _anchor_moment(name: str, moment: Array, system: System) -> str:
    texts, unit = column(np.ravel(moment), "moment", system)
    return f"  Anchor '{name}' also gives the moment [{', '.join(texts)}] {unit} about its point."


def movement_words(study: Study, case: CaseResult) -> str:
    """How far the fitting moves in a case, as a line under its joints; empty where a joint counts as rigid."""
    found = greatest_movement(study, case)
    return (
        "" if found is None else f"  The fitting moves at most {quantity(found[1], 'length', study.units)}: {found[0]}."
    )


def supports_dict(case: CaseResult) -> dict[str, Any]:
    """What each support does, for the machine output."""
    return {name: _support_dict(result) for name, result in case.supports.items()}


def _support_dict(result: SupportResult) -> dict[str, Any]:
    moment = {} if result.moment is None else {"moment_Nm": [number(part) for part in np.ravel(result.moment)]}
    return {
        "kind": result.support.kind,
        "force_N": [number(part) for part in np.ravel(result.force)],
        **moment,
        "along_N": number(result.push),
        "state": state_word(result),
        "slides": slides(result),
        "movement_m": number(result.movement),
        "clearance_m": number(result.clearance),
        "settlement_m": number(0.0 if result.support.settles is None else result.support.settles),
    }
