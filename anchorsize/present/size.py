"""Bolts to choose from as text and machine output."""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Sequence

import numpy as np

from anchorsize.assessment import findings_as_given
from anchorsize.assessment.asking import merged
from anchorsize.assessment.checks import LAYOUT
from anchorsize.assessment.checks_supports import called
from anchorsize.assessment.findings_salt import IN_SALT_WATER
from anchorsize.assessment.results import Finding
from anchorsize.assessment.statements import DEFERRAL, SPACING_RULE, assumptions
from anchorsize.present.size_columns import Column, fitted
from anchorsize.present.size_figures import figures_words
from anchorsize.present.text import closing_sections, not_checked_section
from anchorsize.present.verdict import doubts, holds_word
from anchorsize.present.windows import windows_text
from anchorsize.present.words import column, joined, margin, paragraph, place_words, quantity, used
from anchorsize.studies.size import ENDS, STEEL, Judged, Sized
from anchorsize.studies.size_batch import Governing
from anchorsize.studies.size_tightening import Candidate
from anchorsize.study import Study

RANKS = {
    "fewest": "fewest bolts, then lightest, then most margin",
    "lightest": "lightest, then fewest bolts, then most margin",
    "margin": "most margin, then fewest bolts, then lightest",
}
MARGINS = "margins alike: by the checks under load"


def size_text(found: Sized, width: int, top: int) -> str:
    """The report of ``size``: verdict, what holds, the first choice, what misses, what cannot be, and what it rests on."""
    parts = [
        _heading(found, width),
        _verdict(found, width),
        _holding(found, width, top),
        _choice(found, width),
        *_window(found, width),
        _failing(found, width, top),
        _impossible(found, width, top),
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


def _window(found: Sized, width: int) -> list[str]:
    """The tightening that would do for the choice; where a lost bolt was asked for, with any one missing too."""
    told, system = [] if found.window is None else [found.window], found.study.units
    best = next(iter([*found.holding, *found.failing]), None)
    bolts = "" if best is None else f" with {_drilled(best.candidate, found.study)}"
    if found.robust:
        return windows_text([], width, system, one_lost=told, bolts=bolts)
    return windows_text(told, width, system, bolts=bolts)


def _heading(found: Sized, width: int) -> str:
    title = textwrap.fill(f"Bolts for joint '{found.joint}': {found.study.title or 'untitled'}", width)
    rule = "=" * max(len(line) for line in title.splitlines())
    terms = [
        found.study.path,
        f"ranked by {RANKS[found.rank]} ({MARGINS})",
        "any one bolt may be missing" if found.robust else "",
    ]
    return f"{title}\n{rule}\n{textwrap.fill(' | '.join(term for term in terms if term), width)}"


def _verdict(found: Sized, width: int) -> str:
    total = len(found.holding) + len(found.failing) + len(found.impossible)
    cases = len(found.study.cases)
    counted = f"{len(found.holding)} of {total} candidates {'holds' if len(found.holding) == 1 else 'hold'}"
    rest = f"{len(found.failing)} fail{'s' if len(found.failing) == 1 else ''}, {len(found.impossible)} cannot be"
    if found.verdict == "holds":
        first = f"{holds_word(findings_of(found))}: {counted} in every check made, in {cases} operating case{'s' if cases > 1 else ''}; {rest}."
    elif found.verdict == "incomplete":
        first = (
            f"NOT COMPLETE: {counted} in the checks made, but a check the job needs could not be made (below); {rest}."
        )
    else:
        first = f"DOES NOT HOLD: none of {total} candidates holds; {rest}. {_nearest(found)}"
    first += "".join(f" {sentence}" for sentence in (not_checked_words(found), no_torque_words(found)) if sentence)
    lines = [
        textwrap.fill(first, width),
        *(textwrap.fill(line, width) for line in (*_fixed(found), *_salt(found), *doubts(findings_of(found)))),
        textwrap.fill("Rests on the allowables given and the assumptions below. " + DEFERRAL, width),
    ]
    return "\n".join(lines)


def _fixed(found: Sized) -> list[str]:
    """The checks that fail for every candidate alike, and those of the layout that all of them fail."""
    told = [
        f"{called(found.study, found.option, check, where)} of {place_words(found.study, where)} in '{case}'"
        for case, check, where in found.fixed
    ]
    lines = [f"Fails whatever the bolts: {'; '.join(told)}."] if told else []
    return lines if found.holding else lines + _common(found)


def _common(found: Sized) -> list[str]:
    """The checks of the layout that all that miss fail, and what is to be said of the rule behind the gap."""
    lost = ", some only with a bolt missing" if found.robust else ""
    others = [check for check in found.common if check not in {check for _, check, _ in found.fixed}]
    lines = []
    if others and len(found.failing) > 1:
        lines.append(f"All that miss fail {joined(others)}{lost}: that is their common cause.")
    allow = merged(found.study.allow, found.study.joints[found.joint].allow)
    if "widest bolt gap" in found.common and allow.bolt_spacing_greatest == "from formula":
        lines.append(SPACING_RULE)
    return lines


def _salt(found: Sized) -> list[str]:
    """What no ranking of classes knows."""
    return [each.message for each in findings_of(found) if each.kind == IN_SALT_WATER]


def findings_of(found: Sized) -> tuple[Finding, ...]:
    """Of what is shown, else of the file as it stands."""
    return findings_as_given(found.study, found.option) if found.shown is None else found.shown.warnings


def not_checked_words(found: Sized) -> str:
    """How many checks were not made."""
    unmade = len(found.not_checked)
    if not unmade:
        return ""
    return f"{unmade} further check{'s were' if unmade > 1 else ' was'} not made for want of input (listed below)."


def no_torque_words(found: Sized) -> str:
    """That no torque can be named for what holds, and what to supply; empty where one can."""
    best = next(iter(found.holding), None)
    if best is None or best.torque is not None:
        return ""
    if best.preload is None:
        return (
            "NO TORQUE CAN BE NAMED: the file says nothing of the tightening; add tightening / nut_factor, and --preload-share "
            "for a torque that goes with each size."
        )
    return "NO TORQUE CAN BE NAMED: the file asks for a preload but links no torque to it; add tightening / nut_factor."


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
    return f"{governing.check}{place}{where}, utilization {used(governing.utilization, 4)}, margin {margin(spare)}"


def drilling_words(candidate: Candidate, study: Study) -> str:
    """Bolts and circle, and the standard flange that they belong to."""
    words = f"{candidate.count} x {candidate.size} on {quantity(candidate.circle, 'length', study.units)}"
    return words if candidate.flange is None else f"{words} of {candidate.flange}"


def bolts_words(candidate: Candidate, study: Study) -> str:
    """A candidate in words: `8 x M16 on 180.0 mm, class 8.8`."""
    return _drilled(candidate, study) + _tightening_words(candidate, study)


def _drilled(candidate: Candidate, study: Study) -> str:
    grade = "" if candidate.bolt_class is None else f", class {candidate.bolt_class}"
    return f"{drilling_words(candidate, study)}{grade}"


def _tightening_words(candidate: Candidate, study: Study) -> str:
    if candidate.torque is not None:
        return f", torque {quantity(candidate.torque, 'moment', study.units)}"
    return "" if candidate.preload_share is None else f", preload {100.0 * candidate.preload_share:.4g} % of proof"


def _holding(found: Sized, width: int, top: int) -> str:
    if not found.holding:
        return ""
    shown = found.holding[:top]
    list_of = _table(found, shown, width, _under_load, "under\nload")
    return _listed("What holds", list_of, found, shown, len(found.holding) - top, "hold", width)


def _under_load(each: Judged) -> str:
    return "-" if each.decides_loaded is None else used(each.decides_loaded.utilization)


def _over(each: Judged) -> str:
    over = each.decides.utilization - 1.0
    return "-" if np.isinf(over) else f"{over:+.2%}" if over < 0.1 else f"{over:+.0%}" if over < 10.0 else "over 10×"


def _failing(found: Sized, width: int, top: int) -> str:
    if not found.failing:
        return ""
    shown = found.failing[:top]
    list_of = _table(found, shown, width, _over, "over\nby")
    listed = _listed("What misses, nearest first", list_of, found, shown, len(found.failing) - top, "fail", width)
    return "\n".join([listed, *(paragraph(line, width) for line in _common(found) if found.holding)])


def _listed(title: str, list_of: str, found: Sized, shown: Sequence[Judged], more: int, verb: str, width: int) -> str:
    """A list under its title, with how many more there are and the names that its columns shorten."""
    lines = [title, list_of]
    if more > 0:
        lines.append(paragraph(f"{more} more {verb}; --top and --json show them", width))
    lines += _flanges_of(shown, width) + _cases_of(found.study, shown, width)
    return "\n".join(lines)


def _table(found: Sized, rows: Sequence[Judged], width: int, last: Callable[[Judged], str], header: str) -> str:
    """The rows with as many columns as the width takes; the least telling ones go first."""
    system = found.study.units
    circle, length = column((each.candidate.circle for each in rows), "length", system)
    columns: dict[str, Column] = {
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
    columns["utilized"] = ("utilized", [used(each.decides.utilization, 4) for each in rows])
    columns["last"] = (header, [last(each) for each in rows])
    if found.robust:
        columns["lost"] = ("worst\nlost", [str(each.lost_bolt) for each in rows])
    return fitted(columns, width)


def _flanges_of(rows: Sequence[Judged], width: int) -> list[str]:
    """Which rows of a table belong to which standard flange, and in which something of the file was kept beside one."""
    named: dict[str, list[str]] = {}
    held: dict[str, list[str]] = {}
    for place, each in enumerate(rows, 1):
        if each.candidate.flange is not None:
            named.setdefault(each.candidate.flange, []).append(str(place))
        for sentence in each.held:
            held.setdefault(sentence, []).append(str(place))
    lines = [f"{name}: row {', '.join(places)}" for name, places in named.items()]
    lines += [f"row {', '.join(places)}: {sentence}" for sentence, places in held.items()]
    return [paragraph(line, width) for line in lines]


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
    lines += [paragraph(sentence, width) for sentence in best.held]
    lines += [paragraph(line, width) for line in _governed(best, study)]
    lines.append(paragraph(_torque_words(best, study), width))
    lines += [paragraph(line, width) for line in figures_words(found, found.shown)]
    lines.append(paragraph(_mass_words(best, study), width))
    return "\n".join(lines)


def _governed(best: Judged, study: Study) -> list[str]:
    """What governs, with every bolt there and with one missing where that was asked for; which of them the table shows."""

    def words(governing: Governing) -> str:
        shown = " (the figure of the table above)" if best.lost is not None and governing is best.decides else ""
        return _governs_words(study, governing) + shown

    def lines(lead: str, governing: Governing, loaded: Governing | None) -> list[str]:
        first = [f"{lead}: governed by {words(governing)}" if lead else f"governed by {words(governing)}"]
        if loaded is None or loaded == governing:
            return first
        return [*first, f"{lead}{', ' if lead else ''}of the checks under load: {_governs_words(study, loaded)}"]

    if best.lost is None:
        return lines("", best.governing, best.loaded)
    return [
        *lines("with every bolt there", best.governing, best.loaded),
        *lines(f"with bolt {best.lost_bolt}, the worst, missing", best.lost, best.lost_loaded),
    ]


def _mass_words(best: Judged, study: Study) -> str:
    if best.mass is None:
        area = quantity(best.shank_area, "area", study.units)
        return f"shank area of all bolts {area}; no grip is given, so the lightest is the one with the least shank area"
    return (
        f"bolts weigh about {quantity(best.mass, 'mass', study.units, 3)}: steel of {quantity(STEEL, 'density', study.units)}, shank area times grip + "
        f"{ENDS:g} diameters for head, nut and ends (an estimate for the ranking)"
    )


def _torque_words(best: Judged, study: Study) -> str:
    if best.preload is None:
        return "no torque can be named, for the file says nothing of the tightening"
    preload = f"mean preload {quantity(best.preload, 'force', study.units)} per bolt"
    if best.torque is None:
        return f"{preload}; no torque can be named, for the file links none to it"
    return f"torque to use {quantity(best.torque, 'moment', study.units)} per bolt, {preload}"


def _impossible(found: Sized, width: int, top: int) -> str:
    """What cannot be and why; candidates that differ in class and tightening only are one line where the reason is the same."""
    if not found.impossible:
        return ""
    tightened: dict[tuple[str, str, str], dict[str, None]] = {}
    for candidate, reason in found.impossible:
        key = drilling_words(candidate, found.study), reason, candidate.bolt_class or ""
        tightened.setdefault(key, {})[_tightening_words(candidate, found.study).removeprefix(", ")] = None
    grouped: dict[tuple[str, str, tuple[str, ...]], list[str]] = {}
    for (drilling, reason, grade), words in tightened.items():
        grouped.setdefault((drilling, reason, tuple(words)), []).append(grade)
    lines = ["What cannot be"]
    for (drilling, reason, choices), grades in list(grouped.items())[:top]:
        many = len(choices) * len(grades)
        terms = [drilling, _either("class ", grades), _either("", choices), f"{many} candidates" if many > 1 else ""]
        lines.append(paragraph(f"{', '.join(term for term in terms if term)}: {reason}", width))
    if len(grouped) > top:
        lines.append(paragraph(f"{len(grouped) - top} more; --top and --json show them", width))
    return "\n".join(lines)


def _either(lead: str, words: Sequence[str]) -> str:
    there = [word for word in words if word]
    return lead + " or ".join(there) if there else ""
