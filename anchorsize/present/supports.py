"""The comparison of support options as text."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING

from anchorsize.assessment.checks_supports import BUCKLING
from anchorsize.assessment.findings_support_data import label
from anchorsize.assessment.findings_supports import why_idle
from anchorsize.assessment.statements import CAUTIONS, DEFERRAL
from anchorsize.present.support_size_words import size_lines
from anchorsize.present.support_words import acting_words, kind_words, state_word
from anchorsize.present.words import figure, margin, paragraph, place_words, quantity, table, used, wrapped
from anchorsize.studies.support_size import Sized
from anchorsize.studies.supports import Carried, Case, Comparison, Option
from anchorsize.study import Study
from anchorsize.units import System

if TYPE_CHECKING:
    from collections.abc import Mapping

ALIKE = 1.005
"""Ratio of utilizations up to which two options are said to have the same margin."""

CASES_NAMED = 2
"""Cases that are named one by one; more are counted."""

BESIDE_VERDICT = ("post over its Euler load", "rests on a rigid joint")

SIDE_BY_SIDE = 3
"""Supports whose states stand in one table of 80 columns."""

STATE_ROOM = 20
"""Columns that the states of one more support take."""


def comparison_text(compared: Comparison, sizes: Mapping[str, list[Sized]], width: int) -> str:
    """The options side by side, then each by itself: who carries what, what fails, what it takes, which sizes would do."""
    study = compared.study
    title = study.title or "untitled"
    parts = [
        f"{textwrap.fill(title, width)}\n{'=' * min(width, len(title))}",
        "\n".join(textwrap.fill(line, width) for line in verdict_lines(compared)),
        _side_by_side(compared, width),
        *(_option(compared, option, sizes.get(option.name, []), width) for option in compared.options),
        _closing(compared, width),
    ]
    return "\n\n".join(parts) + "\n"


def verdict_lines(compared: Comparison) -> list[str]:
    """Which options hold, which has the greatest margin and why, and what that rests on."""
    study, best = compared.study, compared.best
    holding = [f"'{option.name}'{_marks(option)}" for option in compared.options if option.holds]
    others = [option for option in compared.options if not option.holds]
    lines = [f"HOLDS: {', '.join(holding)}." if holding else "NO OPTION HOLDS, or can be said to hold."]
    lines += [f"'{option.name}' {_why_not(study, option)}{_bracketed(_slack(option))}." for option in others]
    lines += [*_loud(compared), *_idle_lines(compared)]
    if best is not None and (decides := best.deciding(compared.common)) is not None:
        lines.append(
            f"Greatest margin: '{best.name}'{_bracketed(_slack(best))}, {margin(float(decides[1].margin))}; "
            f"{_check_words(study, decides)} decides."
        )
        lines += [
            _against(compared, best, option) for option in compared.options if option.holds and option is not best
        ]
    if holding and best is not None and best.deciding(compared.common) is None:
        lines.append("No choice of support changes any check that was made.")
    alike = _never_ranking(compared)
    if len(holding) > 1 and alike and best is not None and best.deciding(compared.common) is not None:
        lines.append(f"No choice of support changes these, so they do not rank the options: {', '.join(alike)}.")
    if compared.cheapest is not None:
        lines.append(_least_cost(compared, compared.cheapest))
    lines.append("Rests on the allowables given and the assumptions below. " + DEFERRAL)
    return lines


def _least_cost(compared: Comparison, cheapest: Option) -> str:
    """The cheapest option that holds, and which of them have no cost to compare."""
    cost = figure(cheapest.cost or 0.0)
    without = [f"'{o.name}'" for o in compared.options if o.holds and o.supports and o.cost is None]
    left_out = f" Left out for want of a cost of every support: {', '.join(without)}." if without else ""
    return f"Least cost of the supported options that hold, by your figures: '{cheapest.name}', {cost}.{left_out}"


def _marks(option: Option) -> str:
    """What a reader must know of an option beside its verdict: slack or lifted supports, checks not made."""
    buckling = [item.where for item in option.not_made if item.check == BUCKLING]
    rest = len(option.not_made) - len(buckling)
    said = _slack(option)
    if buckling:
        named = ", ".join(buckling) if len(buckling) <= SIDE_BY_SIDE else f"{len(buckling)} supports"
        said.append(f"buckling of {named} not checked")
    if rest:
        said.append(f"{rest} {'other ' if buckling else ''}check{'s' if rest > 1 else ''} of its supports not made")
    return _bracketed(said)


def _bracketed(said: list[str]) -> str:
    return f" ({'; '.join(said)})" if said else ""


def _slack(option: Option) -> list[str]:
    """Supports that are slack, lifted or idle, with the cases; why those of no use at all are so is said in a line of its own."""
    return [
        f"{each.support.name} {'carries nothing' if each.idle else _idle_cases(each)}"
        for each in option.carried
        if each.idle_in
    ]


def _idle_cases(each: Carried) -> str:
    words = "/".join(dict.fromkeys(state_word(each.results[case]) for case in each.idle_in))
    if len(each.idle_in) > CASES_NAMED:
        return f"{words} in {len(each.idle_in)} of {len(each.results)} cases"
    return f"{words} in {', '.join(repr(case) for case in each.idle_in)}"


def _loud(compared: Comparison) -> list[str]:
    """Findings that belong beside the verdict, each once, with the options that it is about where not all have it."""
    about: dict[str, list[str]] = {}
    judged = [option for option in compared.options if option.assessment is not None]
    for option in judged:
        for finding in option.assessment.warnings if option.assessment is not None else ():
            if finding.kind in BESIDE_VERDICT:
                about.setdefault(finding.message, []).append(f"'{option.name}'")
    leads = {said: "" if len(names) == len(judged) else f"In {', '.join(names)}: " for said, names in about.items()}
    return [f"{lead}{said}" for said, lead in leads.items()]


def _idle_lines(compared: Comparison) -> list[str]:
    """Supports that carry nothing in any case, gathered by why."""
    why: dict[str, list[str]] = {}
    for option in compared.options:
        for each in option.carried:
            if each.idle and option.assessment is not None:
                reason = why_idle(compared.study, each.support, option.assessment.cases)
                why.setdefault(reason, []).append(f"{label(each.support)} of '{option.name}'")
    return [
        f"{', '.join(names)} carr{'ies' if len(names) == 1 else 'y'} nothing in any case, as if not there: {reason}."
        for reason, names in why.items()
    ]


def _why_not(study: Study, option: Option) -> str:
    if option.assessment is None:
        return f"cannot be judged: {option.refused}"
    if option.failing:
        worst = option.failing[0]
        count = len(option.failing)
        return f"FAILS {count} check{'s' if count > 1 else ''}; worst: {_check_words(study, worst)}"
    if option.assessment.verdict == "incomplete":
        needed = ", ".join(f"{i.check} of '{i.where}'" for i in option.assessment.not_checked if i.needed)
        return f"IS NOT COMPLETE: not checked for want of input: {needed}"
    return "FAILS in the layout of its bolts (see check)"


def _against(compared: Comparison, best: Option, option: Option) -> str:
    """Why another option that holds has less margin."""
    decides = option.deciding(compared.common)
    first = best.deciding(compared.common)
    governs = "nothing was checked" if decides is None else f"{_check_words(compared.study, decides)} decides it"
    level = decides is None or first is None or decides[1].utilization <= ALIKE * first[1].utilization
    return f"'{option.name}' holds with {'practically the same margin as' if level else 'less margin than'} '{best.name}': {governs}."


def _never_ranking(compared: Comparison) -> list[str]:
    """Names of the checks that no option changes in any case."""
    ranking = {
        pair[1].check
        for option in compared.options
        for pair in option.checks
        if (pair[0], pair[1].check, pair[1].where) not in compared.common
    }
    return sorted({check for _, check, _ in compared.common} - ranking)


def _check_words(study: Study, pair: Case) -> str:
    case, check = pair
    bolt = "" if check.bolt is None else f", bolt {int(check.bolt)},"
    return (
        f"{check.check} of {place_words(study, check.where)}{bolt} in '{case}' (utilization {used(check.utilization)})"
    )


def _side_by_side(compared: Comparison, width: int) -> str:
    """Two tables: what the loads make of each option, and what it takes to build it."""
    headers = [
        "option",
        "",
        "bolts",
        "all\nchecks",
        "ranked\nby",
        "greatest\nmoment",
        "face\nopen",
        "checks\nfailing",
    ]
    room = 12 + max(0, width - 80)
    upper = table([[wrapped(row[0], room), *row[1:]] for row in loaded_rows(compared)], headers, left=2)
    built = [
        [wrapped(row[0], room), _idle_cell(option), str(len(option.not_made) or "-"), *row[1:]]
        for row, option in zip(built_rows(compared), compared.options, strict=True)
    ]
    upper += "\n  Utilizations; 'ranked by' leaves out the checks that no choice changes."
    lower = table(built, ["option", "idle in", "checks\nnot made", "rod", "steel", "concrete", "your cost"], left=2)
    return f"{upper}\n\n{lower}"


def _idle_cell(option: Option) -> str:
    """Which supports carry nothing in how many cases."""
    idle = [f"{each.support.name}: {_few_cases(each)}" for each in option.carried if each.idle_in]
    return "\n".join(wrapped(line, 14) for line in idle) or "-"


def _few_cases(each: Carried) -> str:
    if each.idle:
        return "every case"
    return each.idle_in[0] if len(each.idle_in) == 1 else f"{len(each.idle_in)} of {len(each.results)}"


def loaded_rows(compared: Comparison) -> list[list[str]]:
    """Per option: verdict, utilization of bolts and of all checks, greatest joint moment, share of the face open, failing checks."""
    rows = []
    for option in compared.options:
        moment, lift = option.joint_moment, option.lift_off
        rows.append(
            [
                option.name,
                _holds_word(option),
                _utilization(option.governing_bolt),
                _utilization(option.governing),
                _utilization(option.deciding(compared.common)),
                "-" if moment is None else quantity(moment[1], "moment", compared.study.units),
                "-" if lift is None else f"{lift:.0%}",
                str(len(option.failing)),
            ]
        )
    return rows


def built_rows(compared: Comparison) -> list[list[str]]:
    """Per option: rod length, steel mass, concrete volume, and the user's cost."""
    system, rows = compared.study.units, []
    for option in compared.options:
        made = option.materials
        rows.append(
            [
                option.name,
                _made_of(made.rod_length, "length", system),
                _made_of(made.steel_mass, "mass", system),
                _made_of(made.concrete_volume, "volume", system),
                "-" if option.cost is None or not option.supports else figure(option.cost),
            ]
        )
    return rows


def _holds_word(option: Option) -> str:
    if option.assessment is None:
        return "not judged"
    return {"holds": "holds", "fails": "FAILS", "incomplete": "incomplete"}[option.assessment.verdict]


def _utilization(pair: Case | None) -> str:
    return "-" if pair is None else used(pair[1].utilization)


def _made_of(value: float, kind: str, system: System) -> str:
    return "-" if value == 0.0 else quantity(value, kind, system, 3)


def _option(compared: Comparison, option: Option, sizes: list[Sized], width: int) -> str:
    heading = textwrap.fill(f"Option: {option.name}", width)
    lines = [heading, "-" * max(len(line) for line in heading.splitlines())]
    if option.assessment is None:
        return "\n".join([*lines, textwrap.fill(f"Not judged: {option.refused}", width)])
    system = compared.study.units
    if option.carried:
        lines += [_carried(option.carried, system, width), *_states(option, system, width)]
    elif not option.supports:
        lines.append("  No support: the joint carries everything.")
    lines += [paragraph(line, width) for line in option_lines(compared, option, sizes)]
    return "\n".join(lines)


FAILING_NAMED = 12
"""Failing checks of an option that are named one by one; more are counted."""


def option_lines(compared: Comparison, option: Option, sizes: list[Sized]) -> list[str]:
    """What fails in an option, what was not checked, which sizes would do, and what stands out about its supports."""
    failing = option.failing
    lines = [f"FAILS: {_check_words(compared.study, pair)}" for pair in failing[:FAILING_NAMED]]
    if len(failing) > FAILING_NAMED:
        lines.append(f"and {len(failing) - FAILING_NAMED} more checks")
    lines += [f"not checked: {item.check} of '{item.where}': supply {item.supply}" for item in option.not_made]
    lines += [line for each in sizes for line in size_lines(each, compared.study.units)]
    found = () if option.assessment is None else option.assessment.warnings
    return lines + [finding.message for finding in found if finding.kind in SUPPORT_FINDINGS]


SUPPORT_FINDINGS = (
    "supports load the bolts more",
    "post over its Euler load",
    "support turned downward",
    "support far off",
    "unusual stiffness of a support",
    "set load",
    "slack hanger",
    "slack tie",
    "uplift at a rest",
    "idle thrust block",
    "strut in its gap",
    "guide in its gap",
    "support reversed",
    "friction leaves a choice",
    "rigid joint starves the supports",
    "joint stiffness given twice",
    "support idles",
    "presumptive bearing",
    "shared by several joints",
)


def _carried(carried: list[Carried], system: System, width: int) -> str:
    rows, room = [], max(0, width - 80)
    for each in carried:
        (least_in, least), (most_in, most) = each.least, each.greatest
        rows.append(
            [
                wrapped(each.support.name, 16 + room // 3),
                kind_words(each.support),
                quantity(least, "force", system),
                wrapped(least_in, 12 + room // 3),
                quantity(most, "force", system),
                wrapped(most_in, 12 + room // 3),
                quantity(each.greatest_across, "force", system) if each.greatest_across > 0.0 else "-",
            ]
        )
    headers = ["support", "kind", "least", "in", "greatest", "in", "across"]
    return (
        f"{table(rows, headers, left=2)}\n  Plus pushes the fitting along the support's direction, minus pulls it back."
    )


def _states(option: Option, system: System, width: int) -> list[str]:
    """What each support does in each case: state, force along it and utilization of its worst check, a few supports to a table."""
    blocks, more = [], max(0, width - 80)
    few = SIDE_BY_SIDE + more // STATE_ROOM
    for start in range(0, len(option.carried), few):
        some = option.carried[start : start + few]
        rows = [
            [
                wrapped(case, 16 + more % STATE_ROOM),
                *(acting_words(each.results[case], option.worst_of(each.support, case), system) for each in some),
            ]
            for case in some[0].results
        ]
        headers = ["case", *(wrapped(each.support.name, 12) for each in some)]
        blocks.append("\n" + table(rows, headers, left=1 + len(some)))
    return [*blocks, "  With each state: force along the support, and utilization of its worst check."]


def _closing(compared: Comparison, width: int) -> str:
    judged = next(option.assessment for option in reversed(compared.options) if option.assessment is not None)
    shown = dict.fromkeys(
        line for option in compared.options if option.assessment is not None for line in option.assessment.assumptions
    )
    general = [f.message for f in judged.warnings if f.kind == "thermal growth not considered"]
    lines = ["Not looked at", *(paragraph(line, width) for line in general)] if general else []
    lines += ["", "Assumptions", *(paragraph(line, width) for line in shown)]
    lines.append(paragraph("Steel mass: rods by tensile area, posts by section, at 7850 kg/m³ (EN 1991-1-1 Table A.4, from memory); "
                           "plates, fittings and anchors are not in it.", width))  # fmt: skip
    weak = dict.fromkeys(
        p.what for option in compared.options if option.assessment for p in option.assessment.weak_sources
    )
    if weak:
        lines.append(
            paragraph(
                f"From memory, not from a printed page: {', '.join(weak)}. Confirm before relying on it.", width, "! "
            )
        )
    lines += ["", "Cautions", *(paragraph(line, width) for line in CAUTIONS), paragraph(DEFERRAL, width)]
    return "\n".join(lines).strip("\n")
