"""The installer's sheet of one joint: one printed page, and the same as machine output."""

from __future__ import annotations

import math
import textwrap
from typing import Any

import numpy as np
from markupsafe import Markup

from anchorsize.assessment import Assessment
from anchorsize.assessment.findings import AS_FOUND, WEIGHT_LEFT_OUT
from anchorsize.assessment.findings_loose import IF_REPAIRED
from anchorsize.assessment.findings_support_data import BLOCK_FAILS_IN_WATER, LEANS_ON_STIFFNESS
from anchorsize.assessment.findings_target import FRICTION_AS_FOUND, NEW_THREADS, TARGET_NOT_REACHED
from anchorsize.assessment.findings_tightening import OUT_OF_SERVICE_FIRST
from anchorsize.assessment.hot import cautions
from anchorsize.assessment.statements import DEFERRAL
from anchorsize.mechanics.momentum import STANDARD_GRAVITY
from anchorsize.present.boltup_first import before_steps, check_first, fitted_first, if_it_stays_words, steps
from anchorsize.present.boltup_head import as_found_bar, bars, doubt_lines, judged_for, repair_bar, unmade_words
from anchorsize.present.boltup_no_torque import no_torque
from anchorsize.present.boltup_passes import order_made, passes_made, passes_of
from anchorsize.present.boltup_push import (
    bore_words,
    end_words,
    jet_words,
    other_pushes,
    push_words,
    surge_words,
)
from anchorsize.present.boltup_short import in_short
from anchorsize.present.boltup_stays import not_for_words, where_it_stays
from anchorsize.present.boltup_supports import supports_list
from anchorsize.present.boltup_tables import (
    pass_rows,
    passes_caption,
    passes_html,
    record_bands,
    record_rows,
    settings,
)
from anchorsize.present.boltup_view import picture_words, view_words
from anchorsize.present.boltup_window import (
    aimed_at,
    as_it_is_words,
    lost_fact,
    outside_words,
    sheet_lost_window,
    sheet_window,
    window_fact,
    worst_bolt_fact,
)
from anchorsize.present.boltup_words import (
    LONGEST,
    apart_words,
    facts,
    fitters,
    found_words,
    if_replaced_words,
    order_source,
    short,
    verdict_words,
    weight_words,
)
from anchorsize.present.machine import FORMAT, findings_list, provenance_dict
from anchorsize.present.pages.flange import flange_svg
from anchorsize.present.pages.page import figure_html, page, render, style, told
from anchorsize.present.pages.room import Room, fine_size
from anchorsize.present.plain_words import in_plain_words
from anchorsize.present.preload_words import proof_share
from anchorsize.present.repaired import repair_dict, repair_words
from anchorsize.present.windows import windows_dict
from anchorsize.present.words import number
from anchorsize.studies.boltup import BoltUp, Push
from anchorsize.studies.repaired import repair
from anchorsize.studies.torque import TighteningWindow
from anchorsize.study import Joint, Study

NOTES_SHOWN = 3
# what is fitted and with what: told beside the picture; all else that is known of the joint is for the engineer, in the fine print
TO_FIT = ("Bolts", "Lubrication", "Gasket", "Flange")


def sheet_html(assessment: Assessment, plan: BoltUp, before: Assessment | None = None) -> str:
    """The sheet as one self-contained page; ``before`` is the study as found, where the sheet is of its repair."""
    study, joint = assessment.study, plan.joint
    title = short(study.title or "untitled")
    notes = [short(remark) for remark in study.remarks[:NOTES_SHOWN]]
    if len(study.remarks) > NOTES_SHOWN:
        notes.append(f"{len(study.remarks) - NOTES_SHOWN} more in the case file")
    found = repair(assessment)
    aim = aimed_at(assessment, found)
    barred, system = as_found_bar(assessment, found), study.units
    texts = {
        "loud": bars(assessment, plan, before, found),
        "head": tuple(
            fitters(_names_cut(line, study))
            for line in filter(
                None,
                (
                    f"{'' if found is None else 'As found: '}{verdict_words(assessment)}",
                    *doubt_lines(assessment, plan, aim),
                    *_beside(assessment, plan),
                    found_words(plan),
                    "" if barred or plan.asks_engineer else repair_words(assessment),
                ),
            )
        )
        + tuple(filter(None, (judged_for(assessment, plan), unmade_words(assessment)))),
        "danger": (
            f"{push_words(assessment, plan)} {weight_words(plan, study.units)}".strip(),
            *filter(
                None,
                [
                    other_pushes(assessment, plan),
                    *end_words(assessment, plan),
                    jet_words(assessment),
                    bore_words(aim),
                    surge_words(assessment),
                ],
            ),
            *cautions(study),
        ),
        "foot": tuple(_footing(assessment, plan)),
    }
    would_do = sheet_window(plan, aim)
    known = _facts(assessment, plan, (would_do, sheet_lost_window(plan, aim)), aim)
    first, view, outside = check_first(plan, system), view_words(plan), outside_words(plan, aim)
    unmade = unmade_words(assessment)  # the names of what was not checked are for the engineer
    read = (
        *texts["loud"],
        *(line for line in texts["head"] if line != unmade),
        *(f"{name} {words}" for name, words in known),
    )
    glossary = in_plain_words(" ".join(read))
    to_fit = TO_FIT if plan.groups else (*TO_FIT, "Preload aimed at")
    main, details = ([each for each in known if (each[0] in to_fit) is wanted] for wanted in (True, False))
    bands, passes = record_bands(plan), pass_rows(plan, study.units)
    rows, order = record_rows(plan, study.units), order_made(plan)
    four, apart, as_it_is = steps(plan), apart_words(plan), as_it_is_words(plan, assessment)
    assumed, several, warned = in_short(assessment.assumptions), len(plan.groups) > 1, bool(not_for_words(plan))
    ahead = before_steps(plan)
    option = short(assessment.option) if len(study.supports) > 1 else ""
    room = Room(
        title=f"Bolting up: {title}",
        under_title=f"Joint {short(joint.name)} at {short(joint.at)}, {option and f'support option {option}, '}from {short(study.path)}. Verdict: rests on the allowables and assumptions at the foot.",
        loud=texts["loud"],
        head=texts["head"],
        danger=texts["danger"],
        view=view,
        facts=[f"{name}: {words}" for name, words in main],
        notes=notes,
        as_it_is=as_it_is,
        first=first,
        steps=four,
        bold=(apart, *ahead),
        outside=outside,
        fine=(*(f"{name}: {words}" for name, words in details), glossary, " – ".join([*texts["foot"], assumed])),
        headings=1 + bool(details),
        bolts=len(order),
        caption=passes_caption(plan, system) if several or warned else "",
        rows=[row[0] for row in passes[1]],
        bands=len(bands),
        record_rows=len(rows) + 0.5 * bool(plan.full_order or plan.to_fit),  # "missing" or "fit it" under the number
    )
    body = render(
        "boltup.html.j2",
        **texts,
        title=told(title),
        joint=told(short(joint.name)),
        at=told(short(joint.at)),
        path=told(short(study.path)) if study.path else "",
        option=told(option) if option else "",
        picture=figure_html(
            flange_svg(
                joint,
                () if plan.asks_engineer else order,
                plan.up_at,
                None if plan.toward is None else plan.toward[1],
                plan.to_fit,
            ),
            picture_words(assessment, plan),
            view,
        ),
        facts=main,
        details=details,
        notes=[told(note) for note in notes],
        first=first,
        steps=four,
        order=order,
        apart=apart,
        before=ahead,
        outside=outside,
        as_it_is=as_it_is,
        glossary=glossary,
        assumed=assessment.assumptions,
        assumed_short=assumed,
        several=several,
        warned=warned,
        passes_table=passes_html(plan, passes, study.units),
        bands=bands,
        to_fit=plan.to_fit,
        record_rows=rows,
    )
    size, left = room.set_out()
    sizes = Markup("body {{ --type: {}pt; --fine: {}pt; --left: {:.0f}fr; --right: {:.0f}fr; }}").format(
        size, fine_size(size), 100.0 * left, 100.0 * (1.0 - left)
    )
    return page(f"Bolting up: {title}", body, style("boltup.css") + sizes)


def _names_cut(line: str, study: Study) -> str:
    """A line of the tool with the user's own names cut where they are too long for the sheet; what the line says never is."""
    for name in (*study.joints, *study.cases, *study.openings):
        line = line.replace(name, short(name)) if len(name) > LONGEST else line
    return line


def _beside(assessment: Assessment, plan: BoltUp) -> list[str]:
    """What belongs beside the verdict: how the joint was found, that nobody knows the weight or how stiff supports are, or that a block fails in water.

    A target not reached is no part of it: why the sheet gives no torque says it, louder. Neither is that a torque is not for new threads,
    which stands in a bar, as what a repaired joint is only after does.
    """
    named, told = f"'{plan.joint.name}'", {TARGET_NOT_REACHED, NEW_THREADS, FRICTION_AS_FOUND, IF_REPAIRED}
    return [
        w.message
        for w in assessment.warnings
        if w.kind in (WEIGHT_LEFT_OUT, LEANS_ON_STIFFNESS, BLOCK_FAILS_IN_WATER)
        or (w.kind in AS_FOUND and w.kind not in told and named in w.message)
    ]


def _facts(
    assessment: Assessment,
    plan: BoltUp,
    windows: tuple[TighteningWindow | None, TighteningWindow | None],
    aim: Assessment,
) -> list[tuple[str, str]]:
    """What the sheet knows of the joint, the tightening that would do behind the preload that it is about, the bolt that the loads pull
    most, and a bolt lost. ``windows`` are those with every bolt there and with any one lost."""
    known, (found, lost) = facts(assessment, plan), windows
    if found is not None:
        after = next((i for i, (name, _) in enumerate(known, 1) if name == "Preload aimed at"), len(known))
        known.insert(after, window_fact(found, aim.study, aim is not assessment))
    known += worst_bolt_fact(aim, plan.joint.name, aim is not assessment)
    known += lost_fact(aim, plan.joint.name, assessment, lost, found)
    return [(name, fitters(words)) for name, words in known]


def _footing(assessment: Assessment, plan: BoltUp) -> list[str]:
    """What order, passes and settings rest on, and what was taken from memory."""
    lines = [
        order_source(plan),
        "Wrench settings are rounded down, by 2 % at most; these and what to check first: common practice, no source.",
    ]
    if assessment.weak_sources:
        weak = ", ".join(row.what for row in assessment.weak_sources)
        lines.append(f"From memory, not from a printed page: {weak}; confirm before relying on it.")
    return [DEFERRAL, *lines]


def sheet_dict(assessment: Assessment, plan: BoltUp, before: Assessment | None = None) -> dict[str, Any]:
    """The same as machine output: SI with the unit in the key, and the settings of a wrench in both units."""
    joint = plan.joint
    turns = {bolt: turn for turn, bolt in enumerate(plan.order, 1)}
    preload = plan.preload or (None, None, None)
    share = None if plan.preload is None else proof_share(joint, plan.preload)
    mend = repair(assessment)
    aim, recorded = aimed_at(assessment, mend), plan.recorded
    found, lost = sheet_window(plan, aim), sheet_lost_window(plan, aim)
    stays = where_it_stays(plan)
    return {
        "format": FORMAT,
        "title": assessment.study.title,
        "joint": joint.name,
        "option": assessment.option,
        "verdict": assessment.verdict,
        "doubtful": assessment.doubtful,
        "verdict_words": verdict_words(assessment),
        "order": list(plan.order),
        "round": list(plan.round_order),
        "order_when_fitted": list(plan.full_order) or None,
        "when_fitted": fitted_first(plan) or None,
        "take_apart": apart_words(plan) or None,
        "missing": list(joint.bolts.missing),
        "loose": list(joint.loose),
        "order_source": order_source(plan),
        "bolts": [
            {
                "number": bolt,
                "size": joint.bolts.sizes[i],
                "angle_deg": number(np.degrees(joint.bolts.angle[i])),
                "x_m": number(joint.bolts.xy[i, 0]),
                "y_m": number(joint.bolts.xy[i, 1]),
                "turn": turns.get(bolt),
                "torque_Nm": plan.torque_of(bolt),
                "torque_found_Nm": None if recorded is None else number(recorded[i]),
                **{
                    f"preload{end}_N": None if values is None or bolt not in turns else number(values[i])
                    for end, values in zip(("_least", "", "_greatest"), preload, strict=True)
                },
            }
            for i, bolt in enumerate(joint.bolts.numbers)
        ],
        "passes": [
            {
                "pass": i,
                "share": plan.shares[k],
                "groups": [
                    {"bolts": list(g.bolts), **settings(float(g.passes[k])), "nut_factor": g.nut_factor}
                    for g in plan.groups
                    if k in passes_of(plan, g)
                ],
            }
            for i, k in enumerate(passes_made(plan), 1)
        ],
        "no_torque": no_torque(plan) or None,
        "judged": found_words(plan) or None,
        "judged_for": judged_for(assessment, plan),
        "not_checked": unmade_words(assessment) or None,
        "only_when": repair_bar(assessment, before) or None,
        "to_fit": list(plan.to_fit),
        "when_repaired": repair_dict(assessment),
        "lubricant": None if joint.tightening is None else joint.tightening.at_target.lubricant,
        **_nut_factors(joint),
        "torque_not_for": list(plan.not_for),
        "torque_not_for_if_gasket_stays": [] if stays is None else list(stays.not_for),
        "if_gasket_stays": if_it_stays_words(plan) or None,
        "if_gasket_replaced": if_replaced_words(plan) or None,
        "greatest_preload_share": None if share is None else {"of": share[1], "share": number(share[0])},
        "tightening": None if found is None else windows_dict([found])[joint.name],
        "tightening_one_bolt_lost": None if lost is None else windows_dict([lost])[joint.name],
        "tightening_of": "as repaired" if aim is not assessment else "as given",
        "outside_the_window": outside_words(plan, aim) or None,
        "as_found": as_found_bar(assessment, mend) or None,
        "joint_facts": dict(_facts(assessment, plan, (found, lost), aim)),
        "supports": supports_list(plan.supports),
        "check_first": check_first(plan, assessment.study.units),
        "push": {**_push_dict(plan.push), "words": push_words(assessment, plan)},
        "pushes": [_push_dict(push) for push in plan.pushes],
        "ends_not_anchored": [
            {"openings": list(end.openings), **_push_dict(end.pull), "push_then": _push_dict(end.then), "words": words}
            for end, words in zip(plan.ends, end_words(assessment, plan), strict=True)
        ],
        "own_push": None if plan.share is None else _push_dict(plan.share),
        "empty_weight_N": plan.weight,
        "empty_mass_kg": None if plan.weight is None else plan.weight / STANDARD_GRAVITY,
        "cautions": list(cautions(assessment.study)),
        "notes": list(assessment.study.remarks),
        "warnings": findings_list(assessment.warnings),
        "assumptions": list(assessment.assumptions),
        "weak_sources": [provenance_dict(row) for row in assessment.weak_sources],
        "deferral": DEFERRAL,
    }


def _nut_factors(joint: Joint) -> dict[str, Any]:
    """The nut factor that the torques of the sheet count on, and those of each bolt where they differ."""
    given = None if joint.tightening is None else joint.tightening.at_target
    if given is None or given.nut_factor is None:
        return {"nut_factor": None, "nut_factors": None}
    each = given.factors(len(joint.bolts.numbers))
    alike = bool(np.ptp(each) == 0.0)
    return {
        "nut_factor": number(each[0]) if alike else None,
        "nut_factors": None if alike else [number(factor) for factor in each],
    }


def _push_dict(push: Push) -> dict[str, Any]:
    """A push and its parts in the directions of the joint."""
    return {
        "case": push.case,
        "force_N": [number(part) for part in push.force],
        "size_N": push.size,
        "away_from_pipe_N": push.away,
        "up_in_flange_N": push.rise,
        "sideways_N": push.aside,
        "sideways_toward_deg": number(math.degrees(push.aside_at) % 360.0),
    }


def written_text(assessment: Assessment, plan: BoltUp, path: str, before: Assessment | None = None) -> str:
    """What the terminal says once the sheet is written: the verdict, and that assumptions stand on the sheet."""
    lines = [f"{path} is written, the sheet of joint '{plan.joint.name}'.", verdict_words(assessment)]
    mend = repair(assessment)
    aim = aimed_at(assessment, mend)
    # the screen says what becomes of a line that runs as the sheet does, once
    lines += bars(assessment, plan, before, mend)
    lines += [line.replace(f" {OUT_OF_SERVICE_FIRST}", "") for line in _beside(assessment, plan)]
    lines += [*doubt_lines(assessment, plan, aim), unmade_words(assessment)]
    lines.append(outside_words(plan, aim))
    lines.append(f"Rests on the allowables given and the assumptions at the foot of the sheet. {DEFERRAL}")
    return "\n".join(textwrap.fill(line, 80) for line in lines if line) + "\n"
