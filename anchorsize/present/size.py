"""Bolts to choose from as text and machine output."""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Sequence
from typing import Any

import numpy as np

from anchorsize.assessment.checks import LAYOUT
from anchorsize.assessment.statements import DEFERRAL, assumptions
from anchorsize.present.further import windows_dict, windows_text
from anchorsize.present.machine import FORMAT, provenance_dict
from anchorsize.present.text import closing_sections, not_checked_section
from anchorsize.present.words import column, figure, margin, number, paragraph, place_words, quantity, table
from anchorsize.studies.size import ENDS, STEEL, Judged, Sized
from anchorsize.studies.size_batch import Governing
from anchorsize.studies.size_candidates import Candidate
from anchorsize.study import Study

RANKS = {
    "fewest": "fewest bolts, then lightest, then most margin",
    "lightest": "lightest, then fewest bolts, then most margin",
    "margin": "most margin, then fewest bolts, then lightest",
}


def size_text(found: Sized, width: int, top: int) -> str:
    """The report of ``size``: verdict, what holds, the first choice, what misses, what cannot be, and what it rests on."""
    parts = [
        _heading(found, width),
        _verdict(found, width),
        _holding(found, width, top),
        _choice(found, width),
        *windows_text([] if found.window is None else [found.window], width, found.study.units),
        _failing(found, width, top),
        _impossible(found, width, top),
        _standard(found, width),
        "\n".join(["Held while the bolts varied, and left open", *(paragraph(line, width) for line in found.notes)])
        if found.notes
        else "",
    ]
    if found.shown is not None:
        parts += [not_checked_section(found.shown, width), *closing_sections(found.shown, width)]
    else:
        lines = assumptions(found.study, found.option)
        parts.append("\n".join(["Assumptions", *(paragraph(line, width) for line in (*lines, DEFERRAL))]))
    return "\n\n".join(part for part in parts if part) + "\n"


def _heading(found: Sized, width: int) -> str:
    title = textwrap.fill(f"Bolts for joint '{found.joint}': {found.study.title or 'untitled'}", width)
    rule = "=" * max(len(line) for line in title.splitlines())
    terms = [found.study.path, f"ranked by {RANKS[found.rank]}", "any one bolt may be missing" if found.robust else ""]
    return f"{title}\n{rule}\n{textwrap.fill(' | '.join(term for term in terms if term), width)}"


def _verdict(found: Sized, width: int) -> str:
    total = len(found.holding) + len(found.failing) + len(found.impossible)
    cases = len(found.study.cases)
    counted = f"{len(found.holding)} of {total} candidates {'holds' if len(found.holding) == 1 else 'hold'}"
    rest = f"{len(found.failing)} fail{'s' if len(found.failing) == 1 else ''}, {len(found.impossible)} cannot be"
    if found.verdict == "holds":
        first = f"HOLDS: {counted} in every check made, in {cases} operating case{'s' if cases > 1 else ''}; {rest}."
    elif found.verdict == "incomplete":
        first = (
            f"NOT COMPLETE: {counted} in the checks made, but a check the job needs could not be made (below); {rest}."
        )
    else:
        first = f"DOES NOT HOLD: none of {total} candidates holds; {rest}. {_nearest(found)}"
    lines = [
        textwrap.fill(first, width),
        textwrap.fill("Rests on the allowables given and the assumptions below. " + DEFERRAL, width),
    ]
    return "\n".join(lines)


def _nearest(found: Sized) -> str:
    if not found.failing:
        return "The reasons stand below."
    nearest = found.failing[0]
    return (
        f"Nearest is {bolts_words(nearest.candidate, found.study)}: {_governs_words(found.study, nearest.decides)}"
        f"{_lost_words(nearest)}."
    )


def _lost_words(each: Judged) -> str:
    return f", with bolt {each.lost_bolt} missing" if each.lost is not None and each.decides is each.lost else ""


def _governs_words(study: Study, governing: Governing) -> str:
    where = "" if governing.check in LAYOUT else f" in '{governing.case}'"
    place = f" of {place_words(study, governing.where)}" if governing.where else ""
    spare = 1.0 / governing.utilization - 1.0 if governing.utilization > 0.0 else np.inf
    return f"{governing.check}{place}{where}, utilization {figure(governing.utilization, 4)}, margin {margin(spare)}"


def bolts_words(candidate: Candidate, study: Study) -> str:
    """A candidate in words: `8 x M16 on 180.0 mm, class 8.8`."""
    words = f"{candidate.count} x {candidate.size} on {quantity(candidate.circle, 'length', study.units)}"
    return (
        words
        + ("" if candidate.bolt_class is None else f", class {candidate.bolt_class}")
        + _tightening_words(candidate, study)
    )


def _tightening_words(candidate: Candidate, study: Study) -> str:
    if candidate.torque is not None:
        return f", torque {quantity(candidate.torque, 'moment', study.units)}"
    return "" if candidate.preload_share is None else f", preload {candidate.preload_share:.4g} of proof"


def _holding(found: Sized, width: int, top: int) -> str:
    if not found.holding:
        return ""
    lines = ["What holds", _table(found, found.holding[:top], width, _under_load, "under\nload")]
    if len(found.holding) > top:
        lines.append(paragraph(f"{len(found.holding) - top} more hold; --top and --json show them", width))
    lines += _cases_of(found.study, found.holding[:top], width)
    return "\n".join(lines)


def _under_load(each: Judged) -> str:
    loaded = [each_loaded.utilization for each_loaded in (each.loaded, each.lost_loaded) if each_loaded is not None]
    return figure(max(loaded), 3) if loaded else "-"


def _over(each: Judged) -> str:
    over = each.decides.utilization - 1.0
    return "-" if np.isinf(over) else f"{over:+.2%}" if over < 0.1 else f"{over:+.0%}" if over < 10.0 else "over 999%"


def _failing(found: Sized, width: int, top: int) -> str:
    if not found.failing:
        return ""
    lines = ["What misses, nearest first", _table(found, found.failing[:top], width, _over, "over\nby")]
    if len(found.failing) > top:
        lines.append(paragraph(f"{len(found.failing) - top} more fail; --top and --json show them", width))
    lines += _cases_of(found.study, found.failing[:top], width)
    return "\n".join(lines)


def _table(found: Sized, rows: Sequence[Judged], width: int, last: Callable[[Judged], str], header: str) -> str:
    """The rows with as many columns as the width takes; the least telling ones go first."""
    system = found.study.units
    circle, length = column((each.candidate.circle for each in rows), "length", system)
    columns: dict[str, tuple[str, list[str]]] = {
        "#": ("#", [str(place) for place in range(1, len(rows) + 1)]),
        "bolts": ("bolts", [f"{each.candidate.count} x {each.candidate.size}" for each in rows]),
        "governs": ("governs", [each.decides.check for each in rows]),
        "circle": (f"circle\n{length}", circle),
        "class": ("class", [each.candidate.bolt_class or "-" for each in rows]),
    }
    for key, kind, values in (
        ("torque", "moment", [each.torque for each in rows]),
        ("preload", "force", [each.preload for each in rows]),
        ("bolts weigh", "mass", [each.mass for each in rows]),
    ):
        if any(value is not None for value in values):
            figures, unit = column((np.nan if value is None else value for value in values), kind, system)
            columns[key] = (f"{key}\n{unit}".replace("bolts weigh", "weigh"), figures)
    columns["utilized"] = ("utilized", [figure(each.decides.utilization, 4) for each in rows])
    columns["last"] = (header, [last(each) for each in rows])
    if found.robust:
        columns["lost"] = ("worst\nlost", [str(each.lost_bolt) if each.lost_bolt else "-" for each in rows])
    if len(set(columns["class"][1])) == 1:
        del columns["class"]
    for drop in ("", "preload", "bolts weigh", "last", "lost", "torque", "class"):
        columns.pop(drop, None)
        headers = [name for name, _ in columns.values()]
        text = table(list(map(list, zip(*(cells for _, cells in columns.values()), strict=True))), headers, left=3)
        if max(map(len, text.splitlines())) <= width:
            break
    return text


def _cases_of(study: Study, rows: Sequence[Judged], width: int) -> list[str]:
    """In which cases the checks of a table govern."""
    cases: dict[str, dict[str, None]] = {}
    for each in rows:
        if each.decides.check not in LAYOUT and each.decides.case:
            words = f"'{each.decides.case}'"
            if len(study.joints) > 1 or each.decides.where not in study.joints:
                words += f" of {place_words(study, each.decides.where)}"
            cases.setdefault(each.decides.check, {})[words] = None
    return [paragraph(f"{check} governs in {', '.join(named)}", width) for check, named in cases.items()]


def _choice(found: Sized, width: int) -> str:
    """The first of what holds, with the torque to use."""
    if not found.holding or found.shown is None:
        return ""
    best, study = found.holding[0], found.study
    joint = found.shown.study.joints[found.joint]
    lines = [
        "First choice",
        paragraph(
            f"{bolts_words(best.candidate, study)}, bolt 1 at {quantity(float(joint.bolts.angle[0]), 'angle', study.units)}",
            width,
        ),
    ]
    lines.append(paragraph(f"governed by {_governs_words(study, best.governing)}", width))
    if best.loaded is not None and best.loaded is not best.governing and best.loaded != best.governing:
        lines.append(paragraph(f"of the checks under load: {_governs_words(study, best.loaded)}", width))
    if best.lost is not None:
        decides = best.lost_loaded or best.lost
        lines.append(
            paragraph(f"with bolt {best.lost_bolt}, the worst, missing: {_governs_words(study, decides)}", width)
        )
    lines.append(paragraph(_torque_words(best, study), width))
    lines.append(paragraph(_mass_words(best, study), width))
    return "\n".join(lines)


def _mass_words(best: Judged, study: Study) -> str:
    if best.mass is None:
        area = quantity(best.shank_area, "area", study.units)
        return f"shank area of all bolts {area}; no grip is given, so the lightest is the one with the least shank area"
    return (
        f"bolts weigh about {quantity(best.mass, 'mass', study.units, 3)}: steel of {STEEL:.0f} kg/m³, shank area times grip + "
        f"{ENDS:g} diameters for head, nut and ends (an estimate for the ranking)"
    )


def _torque_words(best: Judged, study: Study) -> str:
    if best.preload is None:
        return (
            "no torque can be named: the file says nothing of the tightening; add tightening / nut_factor, and --preload-share "
            "for a torque that goes with each size"
        )
    preload = f"mean preload {quantity(best.preload, 'force', study.units)} per bolt"
    return (
        preload
        if best.torque is None
        else f"torque to use {quantity(best.torque, 'moment', study.units)} per bolt, {preload}"
    )


def _impossible(found: Sized, width: int, top: int) -> str:
    if not found.impossible:
        return ""
    grouped: dict[tuple[str, str], int] = {}
    for candidate, reason in found.impossible:
        drilling = f"{candidate.count} x {candidate.size} on {quantity(candidate.circle, 'length', found.study.units)}"
        grouped[drilling, reason] = grouped.get((drilling, reason), 0) + 1
    lines = ["What cannot be"]
    for (drilling, reason), many in list(grouped.items())[:top]:
        lines.append(paragraph(f"{drilling}{f' ({many} candidates)' if many > 1 else ''}: {reason}", width))
    if len(grouped) > top:
        lines.append(paragraph(f"{len(grouped) - top} more; --top and --json show them", width))
    return "\n".join(lines)


def _standard(found: Sized, width: int) -> str:
    lines = {
        f"{each.candidate.count} x {each.candidate.size} on {quantity(each.candidate.circle, 'length', found.study.units)}: "
        f"{', '.join(each.candidate.flanges)}": None
        for each in (*found.holding, *found.failing)
        if each.candidate.flanges
    }
    return "\n".join(["Standard drillings among them", *(paragraph(line, width) for line in lines)]) if lines else ""


def size_dict(found: Sized) -> dict[str, Any]:
    """The machine output of ``size --json``."""
    shown = found.shown
    lines = assumptions(found.study, found.option) if shown is None else shown.assumptions
    return {
        "format": FORMAT,
        "title": found.study.title,
        "joint": found.joint,
        "option": found.option,
        "rank": found.rank,
        "one_bolt_missing": found.robust,
        "verdict": found.verdict,
        "ranked": [_judged_dict(each) for each in found.holding],
        "misses": [_judged_dict(each) for each in found.failing],
        "impossible": [{**_candidate_dict(candidate), "reason": reason} for candidate, reason in found.impossible],
        "tightening": windows_dict([] if found.window is None else [found.window]),
        "not_checked": [
            {"check": item.check, "where": item.where, "supply": item.supply, "needed": item.needed}
            for item in found.not_checked
        ],
        "notes": list(found.notes),
        "warnings": []
        if shown is None
        else [{"kind": w.kind, "case": w.case, "message": w.message} for w in shown.warnings],
        "assumptions": list(lines),
        "from_tables": [] if shown is None else [provenance_dict(row) for row in shown.study.provenance],
        "rests_on": DEFERRAL,
    }


def _candidate_dict(candidate: Candidate) -> dict[str, Any]:
    return {
        "count": candidate.count,
        "size": candidate.size,
        "circle_m": candidate.circle,
        "class": candidate.bolt_class,
        "preload_share": candidate.preload_share,
        "flanges": list(candidate.flanges),
    }


def _judged_dict(each: Judged) -> dict[str, Any]:
    decides, loaded = each.decides, each.loaded
    return {
        **_candidate_dict(each.candidate),
        "utilization": number(decides.utilization),
        "margin": number(1.0 / decides.utilization - 1.0) if decides.utilization > 0.0 else None,
        "governing_check": decides.check,
        "governing_case": decides.case,
        "governing_where": decides.where,
        "checks_failing": each.failing,
        "utilization_all_there": number(each.governing.utilization),
        "utilization_under_load": None if loaded is None else number(loaded.utilization),
        "governing_check_under_load": None if loaded is None else loaded.check,
        "utilization_one_lost": None if each.lost is None else number(each.lost.utilization),
        "utilization_under_load_one_lost": None if each.lost_loaded is None else number(each.lost_loaded.utilization),
        "worst_lost_bolt": each.lost_bolt,
        "torque_Nm": each.torque,
        "preload_N": each.preload,
        "bolts_mass_kg": each.mass,
        "shank_area_m2": each.shank_area,
    }
