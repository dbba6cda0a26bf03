"""The terminal report: what an installer reads on site and an engineer pastes into a note."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

import numpy as np

from anchorsize.assessment.checks import LAYOUT
from anchorsize.assessment.clamping import Clamping, Service, stiffness_wanting
from anchorsize.assessment.findings import AS_FOUND, WEIGHT_LEFT_OUT
from anchorsize.assessment.findings_flange import RING_NOT_JUDGED
from anchorsize.assessment.findings_states import FAILS_BEYOND_A_VALVE, GAS_UNDER_PRESSURE
from anchorsize.assessment.findings_support_data import LOUD
from anchorsize.assessment.hot import cautions
from anchorsize.assessment.results import Assessment, CaseResult, Check, JointResult
from anchorsize.assessment.statements import DEFERRAL
from anchorsize.mechanics import momentum
from anchorsize.present.flow_words import indented, openings_text
from anchorsize.present.given import case_terms, gasket_widths, given
from anchorsize.present.on_site import on_site_text
from anchorsize.present.support_words import case_supports, kind_words, movement_words
from anchorsize.present.verdict import ask_words, doubts, headline
from anchorsize.present.words import (
    acts,
    clock,
    column,
    demand_words,
    figure,
    joined,
    margin,
    paragraph,
    place_words,
    quantity,
    table,
    use_words,
    used_cell,
    when,
    wrapped,
)
from anchorsize.study import Array, Joint, Number, Study
from anchorsize.units import System

OF_STATES = (GAS_UNDER_PRESSURE, FAILS_BEYOND_A_VALVE)  # kinds that stand beside the verdict
SPREADS_NAMED = 3  # quantities given with ±, in the line on them


def check_report(assessment: Assessment, width: int, further: Sequence[str] = (), asked: str = "") -> str:
    """The whole report of ``check``: verdict, cases, what was not checked, warnings, assumptions, cautions.

    ``further`` are sections of studies that ask the assessment more than once; they stand behind the cases. ``asked`` is what comes of
    one that was asked for, in a sentence that stands with the verdict.
    """
    parts = [
        heading(assessment, width),
        verdict_text(assessment, width, asked=asked),
        on_site_text(assessment, width),
        given(assessment.study, width, assessment.option),
    ]
    parts += [_case(assessment, case, width, with_checks=True) for case in assessment.cases.values()]
    parts += [
        *further,
        _how(assessment, width),
        not_checked_section(assessment, width),
        *closing_sections(assessment, width),
        last_words(assessment, width, "above", asked),
    ]
    return "\n\n".join(part for part in parts if part) + "\n"


def reactions_report(assessment: Assessment, width: int) -> str:
    """The report of ``reactions``: loads, reaction and joint actions, no bolts and no checks."""
    doubted = "\n".join(textwrap.fill(line, width) for line in doubts(assessment.warnings))
    parts = [heading(assessment, width), doubted, given(assessment.study, width, assessment.option)]
    parts += [_case(assessment, case, width, with_checks=False) for case in assessment.cases.values()]
    parts += closing_sections(assessment, width)
    return "\n\n".join(part for part in parts if part) + "\n"


def heading(assessment: Assessment, width: int) -> str:
    study = assessment.study
    title = textwrap.fill(study.title or "untitled", width)
    fluid = f"{study.fluid.name}, {quantity(np.max(study.fluid.density), 'density', study.units, 6)}"
    from_file = f"{study.path} | " if study.path else ""
    line = f"{from_file}fluid: {fluid} | option: {assessment.option}"
    return f"{title}\n{'=' * min(width, max(len(row) for row in title.splitlines()))}\n{textwrap.fill(line, width)}"


def verdict_text(assessment: Assessment, width: int, where: str = "below", asked: str = "") -> str:
    """The verdict, what governs it and what it rests on, the assumptions ``where`` they are told; ``asked`` as in :func:`check_report`."""
    lines = [textwrap.fill(line, width) for line in (headline(assessment), asked) if line]
    lines += [
        textwrap.fill(w.message, width)
        for w in assessment.warnings
        if w.kind in (WEIGHT_LEFT_OUT, *AS_FOUND, *LOUD, *OF_STATES, RING_NOT_JUDGED)
        and not w.doubtful  # those that are stand below as such
    ]
    lines += [textwrap.fill(line, width) for line in doubts(assessment.warnings)]
    lines += [textwrap.fill(line, width) for line in _governing(assessment)]
    if assessment.study.spread:
        lines.append(textwrap.fill(_spread_words(assessment.study), width))
    lines.append(textwrap.fill(f"Rests on the allowables given and the assumptions {where}. {DEFERRAL}", width))
    return "\n".join(lines)


def _spread_words(study: Study) -> str:
    """That the ± of the file's quantities is no part of this verdict, and what counts it."""
    named, rest = study.spread[:SPREADS_NAMED], len(study.spread) - SPREADS_NAMED
    more = f" and {rest} more" if rest > 0 else ""
    return f"± of {', '.join(named)}{more} is not counted here: anchorsize scatter {study.path or 'FILE'}"


def last_words(assessment: Assessment, width: int, where: str, asked: str = "") -> str:
    """The verdict once more, for what stood at the head has scrolled away by now, and ``where`` what it rests on stands."""
    return textwrap.fill(
        f"{' '.join(filter(None, [headline(assessment, where), asked]))} Rests on the allowables given and the assumptions {where}. {DEFERRAL}",
        width,
    )


def _governing(assessment: Assessment) -> list[str]:
    """The check with the greatest utilization; where that is one of layout, the greatest of the others as well."""
    made = [(name, check) for name, case in assessment.cases.items() for check in case.checks]
    loaded = [pair for pair in made if pair[1].check not in LAYOUT]
    greatest = [max(group, key=lambda pair: float(pair[1].utilization)) for group in (made, loaded) if group]
    lines = []
    for index, (name, check) in enumerate(greatest):
        if index and check is greatest[0][1]:
            continue
        bolt = "" if check.bolt is None else f", bolt {int(check.bolt)}"
        lead = "Of the checks under load" if index else "Governs"
        lines.append(
            f"{lead}: {check.words} of {place_words(assessment.study, check.where)}{bolt} {when(check.check, name)}: {use_words(check.check, check.utilization)}, "
            f"margin {margin(float(check.margin))}."
        )
    return lines


def _case(assessment: Assessment, case: CaseResult, width: int, with_checks: bool) -> str:
    system = assessment.study.units
    terms = "; ".join(case_terms(assessment.study, case.name))
    parts = [
        f"{textwrap.fill(f'Case: {case.name}', width)}\n{'-' * min(width, 6 + len(case.name))}"
        + (f"\n{textwrap.fill(terms, width)}" if terms else ""),
        openings_text(assessment.study, case),
        _loads(assessment.study, case, system),
        *([supports] if (supports := case_supports(case, system)) else []),
        *(
            _joint(assessment.study.joints[name], result, system, with_checks, bool(case.supports))
            for name, result in case.joints.items()
        ),
        *([moves] if (moves := movement_words(assessment.study, case)) else []),
    ]
    if with_checks and case.checks:
        parts.append(_checks(case.checks, system))
    return "\n\n".join(parts)


def _loads(study: Study, case: CaseResult, system: System) -> str:
    """Loads by source and the reaction, force and moment about the world origin."""
    shares = _shares(study, case)
    names = [load.source for load in case.loads] + ["REACTION", *(name for name, _, _ in shares)]
    forces = np.array([load.force for load in case.loads] + [case.reaction_force, *(force for _, force, _ in shares)])
    moments = np.array(
        [load.moment for load in case.loads] + [case.reaction_moment, *(moment for _, _, moment in shares)]
    )
    force_texts, force_unit = column(forces.ravel(), "force", system)
    moment_texts, moment_unit = column(moments.ravel(), "moment", system)
    rows = [
        [wrapped(name, 22), *force_texts[3 * i : 3 * i + 3], *moment_texts[3 * i : 3 * i + 3]]
        for i, name in enumerate(names)
    ]
    headers = ["load on the fitting"]
    headers += [f"F{axis}\n{force_unit}" for axis in "xyz"] + [f"M{axis}\n{moment_unit}" for axis in "xyz"]
    note = "  Moments about the origin. REACTION: what holds the fitting puts on it."
    return f"{table(rows, headers)}\n{note}"


def _shares(study: Study, case: CaseResult) -> list[tuple[str, Array, Array]]:
    """What each joint and support gives of the reaction, about the origin; empty where one joint gives all of it."""
    if not case.supports and len(case.joints) < 2:
        return []
    origin = np.zeros(3)
    joints = [
        (
            f"- joint '{name}'",
            result.reaction_force,
            momentum.transfer(result.reaction_force, result.reaction_moment, study.joints[name].center, origin),
        )
        for name, result in case.joints.items()
    ]
    supports = [
        (
            f"- {kind_words(result.support)} '{name}'",
            result.force,
            momentum.moment_about_origin(result.force, result.support.at)
            + (origin if result.moment is None else result.moment),
        )
        for name, result in case.supports.items()
    ]
    return joints + supports


def _joint(joint: Joint, result: JointResult, system: System, with_bolts: bool, beside: bool) -> str:
    total = float(result.axial_demand)
    negligible = 1e-9 * float(np.linalg.norm(result.reaction_force))
    opens = "none" if abs(total) <= negligible else "opens the joint" if total > 0 else "presses the joint"
    items = (
        ("axial from the loads", result.axial, "force"),
        ("pressure annulus p(πG²/4 − bore area)", result.pressure_annulus, "force"),
        (f"axial demand ({opens})", total, "force"),
        ("shear", result.shear, "force"),
        ("bending about the joint center", result.bending, "moment"),
        ("torsion about the axis a", result.torsion, "moment"),
        ("gasket reaction diameter G", result.reaction_diameter, "length"),
        *(() if joint.gasket is None else (("gasket effective width b", gasket_widths(joint.gasket)[1], "length"),)),
    )
    asked = "what is left for it beside the supports" if beside else "what the loads ask of it"
    lines = [indented(f"Joint '{joint.name}' at {joint.at}, {asked}:").lstrip("\n")]
    lines += [f"    {what:<38} {quantity(_clean(value, negligible), kind, system):>16}" for what, value, kind in items]
    if with_bolts:
        lines.append("")
        lines.append(_bolts(joint, result, system))
    return "\n".join(lines)


def _clean(value: Number, negligible: float) -> float:
    """A force or moment with rounding read as nothing."""
    return 0.0 if abs(float(value)) <= negligible else float(value)


def _bolts(joint: Joint, result: JointResult, system: System) -> str:
    tension, unit = column(result.external_tension, "force", system)
    shear, _ = column(result.bolt_shear, "force", system)
    on_circle = joint.bolts.circle is not None
    added, headers = _service_columns(result, system)
    rows = []
    for i, number in enumerate(joint.bolts.numbers):
        place = clock(float(joint.bolts.angle[i])) if on_circle else _offsets(joint, i, system)
        figures = [each[i] if joint.carrying[i] else "-" for each in (tension, shear, *added)]
        rows.append([str(number), joint.bolts.sizes[i], place, *figures, acts(joint, i, result.external_tension)])
    place = "clock\nposition" if on_circle else "e1, e2"
    headers = ["bolt", "size", place, f"external\ntension {unit}", f"shear\n{unit}", *headers, "by the\nloads"]
    notes = ["  Clock seen from the fitting toward the pipe, 12:00 toward e1."] if on_circle else []
    notes.append("  Pressed: the loads push the faces together there and relieve the bolt.")
    return "\n".join([table(rows, headers, left=3), *notes]) + face_text(joint, result, system)


def _service_columns(result: JointResult, system: System) -> tuple[list[list[str]], list[str]]:
    """Preload and what the bolt then carries, where the joint's tightening is known."""
    clamped, service = result.clamping, result.service
    if clamped is None or service is None:
        return [], []
    preload, unit = column(clamped.mean, "force", system)
    if service.tension is None:
        bound, _ = column(service.tension_bound, "force", system)
        return [preload, bound], [f"mean\npreload {unit}", f"at most\n{unit}"]
    carried, _ = column(service.tension, "force", system)
    return [preload, carried], [f"mean\npreload {unit}", f"service\ntension {unit}"]


def face_text(joint: Joint, result: JointResult, system: System) -> str:
    """Lines on the torque wanted, clamp and lift-off, or on the bounds that stand in for them."""
    service, clamped = result.service, result.clamping
    if service is None or clamped is None:
        return ""
    return _torque_wanted(clamped, system) + _clamp(joint, service, clamped, system)


def _torque_wanted(clamped: Clamping, system: System) -> str:
    """The torque that gives the preload asked for, where the preload is given and the friction is known."""
    if clamped.torque is not None or clamped.torque_wanted is None:
        return ""
    figures, unit = column(clamped.torque_wanted.ravel(), "moment", system)
    return f"\n  Torque for the preload given: {', '.join(dict.fromkeys(figures))} {unit}."


def _clamp(joint: Joint, service: Service, clamped: Clamping, system: System) -> str:
    if service.clamp_least is None or clamped.stiff is None:
        clamp = quantity(float(service.clamp_bound), "force", system)
        return indented(
            f"Bounds, for want of bolt and gasket stiffness: clamp at least {clamp}; a bolt carries at most its greatest preload "
            f"plus its external tension. To have it solved supply {joined(stiffness_wanting(joint))}."
        )
    open_share = float(np.asarray(service.lift_off_least))
    toward = (
        ""
        if open_share == 0.0
        else f", open on {open_share:.0%} of it, on the side at {clock(float(np.asarray(service.opens_toward)))}"
    )
    clamp, least, most = (
        quantity(float(np.asarray(value)), kind, system)
        for value, kind in (
            (service.clamp_least, "force"),
            (service.pressure_min_least, "stress"),
            (service.pressure_max_greatest, "stress"),
        )
    )
    return indented(
        f"Face at the least preload: clamp {clamp}, least pressure {least}{toward}.",
        f"Greatest face pressure, at the greatest preload: {most}.",
        f"Of a centered load the bolts take C = {figure(float(clamped.stiff.load_factor), 3)} while the face is closed.",
    )


def _offsets(joint: Joint, index: int, system: System) -> str:
    return ", ".join(quantity(float(value), "length", system) for value in joint.bolts.xy[index])


def _checks(checks: tuple[Check, ...], system: System) -> str:
    several = len({check.where for check in checks}) > 1
    rows = []
    for check in checks:
        demand, allowable = demand_words(check, system)
        rows.append(
            [
                wrapped(f"{check.words}, {check.where}", 20) if several else check.words,
                "-" if check.bolt is None else str(int(check.bolt)),
                demand,
                allowable,
                used_cell(check.check, check.utilization),
                margin(float(check.margin)),
                "holds" if check.holds else "FAILS",
            ]
        )
    return table(rows, ["check", "bolt", "demand", "allowable", "utilized", "margin", ""])


def _how(assessment: Assessment, width: int) -> str:
    """What each check compared, and where formula and allowable come from."""
    made = [check for case in assessment.cases.values() for check in case.checks]
    if not made:
        return ""
    lines = ["How the checks were made", paragraph("utilization: demand / allowable; allowable / demand for ≥", width)]
    lines += dict.fromkeys(
        paragraph(f"{c.words}: {c.formula}; {c.source}; allowable: {c.allowable_from}", width) for c in made
    )
    return "\n".join(lines)


def not_checked_section(assessment: Assessment, width: int) -> str:
    if not assessment.not_checked:
        return ""
    lines = ["Not checked, for want of an input"]
    for item in assessment.not_checked:
        needed = " (needed for this job)" if item.needed else ""
        lines.append(paragraph(f"{item.words} of '{item.where}'{needed}: supply {item.supply}", width))
    if asked := ask_words(assessment).strip():
        lines.append(paragraph(asked, width))
    return "\n".join(lines)


def closing_sections(assessment: Assessment, width: int) -> list[str]:
    """Warnings, assumptions, tables used, cautions: the part that must never be cut off from the numbers."""
    sections = []
    if assessment.warnings:
        lines = [paragraph((f"in '{w.case}': " if w.case else "") + w.message, width) for w in assessment.warnings]
        sections.append("\n".join(["What stands out", *lines]))
    sections.append(assumptions_section(assessment, width))
    if assessment.study.provenance:
        lines = [
            paragraph(f"{p.what}: {p.source} ({p.table}, {p.row}; {p.status})", width)
            for p in assessment.study.provenance
        ]
        sections.append("\n".join(["Values taken from tables", *lines]))
    sections.append(from_memory(assessment, width))
    sections.append(
        "\n".join(
            ["Cautions", *(paragraph(line, width) for line in cautions(assessment.study)), paragraph(DEFERRAL, width)]
        )
    )
    return sections


def assumptions_section(assessment: Assessment, width: int) -> str:
    """What the result rests on."""
    return "\n".join(["Assumptions", *(paragraph(line, width) for line in assessment.assumptions)])


def from_memory(assessment: Assessment, width: int) -> str:
    """Which figures were looked up and stand in no print; empty where there is none."""
    if not assessment.weak_sources:
        return ""
    names = ", ".join(p.what for p in assessment.weak_sources)
    return paragraph(
        f"From memory, not from a printed page: {names}. Confirm before relying on the result.", width, "! "
    )
