"""The comparison of support options as text, machine output, comma-separated values and picture."""

from __future__ import annotations

import csv
import io
import textwrap
from typing import TYPE_CHECKING, Any

from anchorsize.assessment.findings_supports import label
from anchorsize.assessment.statements import CAUTIONS, DEFERRAL
from anchorsize.present.machine import FORMAT, check_dict
from anchorsize.present.support_words import kind_words, slides, state_word, state_words
from anchorsize.present.words import figure, margin, number, paragraph, place_words, quantity, table, used, wrapped
from anchorsize.studies.support_size import Sized
from anchorsize.studies.supports import Carried, Case, Comparison, Option
from anchorsize.study import Study
from anchorsize.units import System, show

if TYPE_CHECKING:
    from collections.abc import Mapping

ALIKE = 1.005
"""Ratio of utilizations up to which two options are said to have the same margin."""


def comparison_text(compared: Comparison, sizes: Mapping[str, list[Sized]], width: int) -> str:
    """The options side by side, then each by itself: who carries what, what fails, what it takes, which sizes would do."""
    study = compared.study
    title = study.title or "untitled"
    parts = [
        f"{textwrap.fill(title, width)}\n{'=' * min(width, len(title))}",
        "\n".join(textwrap.fill(line, width) for line in verdict_lines(compared)),
        _side_by_side(compared),
        *(_option(compared, option, sizes.get(option.name, []), width) for option in compared.options),
        _closing(compared, width),
    ]
    return "\n\n".join(parts) + "\n"


def verdict_lines(compared: Comparison) -> list[str]:
    """Which options hold, which has the greatest margin and why, and what that rests on."""
    study, best = compared.study, compared.best
    holding = [f"'{option.name}'" for option in compared.options if option.holds]
    others = [option for option in compared.options if not option.holds]
    idle = [
        f"{label(each.support)} of '{option.name}'"
        for option in compared.options
        for each in option.carried
        if each.idle
    ]
    lines = [f"HOLDS: {', '.join(holding)}." if holding else "NO OPTION HOLDS, or can be said to hold."]
    lines += [f"'{option.name}' {_why_not(study, option)}." for option in others]
    lines += [f"{each} carries nothing in any case: as it stands it might as well not be there." for each in idle]
    if best is not None and (decides := best.deciding(compared.common)) is not None:
        lines.append(
            f"Greatest margin: '{best.name}', {margin(float(decides[1].margin))}; {_check_words(study, decides)} decides."
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
        cost = figure(compared.cheapest.cost or 0.0)
        lines.append(
            f"Least cost of the supported options that hold, by your figures: '{compared.cheapest.name}', {cost}."
        )
    lines.append("Rests on the allowables given and the assumptions below. " + DEFERRAL)
    return lines


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


def _side_by_side(compared: Comparison) -> str:
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
    upper = table([[wrapped(row[0], 12), *row[1:]] for row in loaded_rows(compared)], headers, left=2)
    built = [[wrapped(row[0]), *row[1:]] for row in built_rows(compared)]
    upper += "\n  Utilizations; 'ranked by' leaves out the checks that no choice changes."
    return f"{upper}\n\n{table(built, ['option', 'rod', 'steel', 'concrete', 'your cost'])}"


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
        lines += [_carried(option.carried, system), _states(option.carried)]
    elif not option.supports:
        lines.append("  No support: the joint carries everything.")
    for case, check in option.failing[:12]:
        lines.append(paragraph(f"FAILS: {_check_words(compared.study, (case, check))}", width))
    if len(option.failing) > 12:
        lines.append(paragraph(f"and {len(option.failing) - 12} more checks", width))
    names = {support.name for support in option.supports}
    lines += [
        paragraph(f"not checked: {item.check} of '{item.where}': supply {item.supply}", width)
        for item in option.assessment.not_checked
        if item.where in names
    ]
    lines += [paragraph(line, width) for each in sizes for line in size_lines(each, system)]
    lines += [
        paragraph(finding.message, width) for finding in option.assessment.warnings if finding.kind in SUPPORT_FINDINGS
    ]
    return "\n".join(lines)


SUPPORT_FINDINGS = (
    "supports load the bolts more",
    "slack hanger",
    "slack tie",
    "uplift at a rest",
    "idle thrust block",
    "strut in its gap",
    "guide in its gap",
    "support reversed",
    "friction leaves a choice",
    "rigid joint starves the supports",
    "support idles",
    "presumptive bearing",
    "shared by several joints",
)


def _carried(carried: list[Carried], system: System) -> str:
    rows = []
    for each in carried:
        (least_in, least), (most_in, most) = each.least, each.greatest
        rows.append(
            [
                wrapped(each.support.name),
                kind_words(each.support),
                quantity(least, "force", system),
                wrapped(least_in, 12),
                quantity(most, "force", system),
                wrapped(most_in, 12),
                quantity(each.greatest_across, "force", system) if each.greatest_across > 0.0 else "-",
            ]
        )
    headers = ["support", "kind", "least", "in", "greatest", "in", "across"]
    return (
        f"{table(rows, headers, left=2)}\n  Plus pushes the fitting along the support's direction, minus pulls it back."
    )


def _states(carried: list[Carried]) -> str:
    """State of each support in each case."""
    cases = list(carried[0].results)
    rows = [[wrapped(case), *(state_words(each.results[case]) for each in carried)] for case in cases]
    return "\n" + table(rows, ["case", *(wrapped(each.support.name) for each in carried)], left=1 + len(carried))


def size_lines(sized: Sized, system: System) -> list[str]:
    """What the sizing of one support found."""
    name = f"sizing {kind_words(sized.support)} '{sized.support.name}'"
    if sized.idle:
        return [f"{name}: it carries nothing in any case, so no size follows"]
    if sized.block is not None:
        return [f"{name}: {_block_words(sized, system)}"]
    least = sized.least
    if least is None:
        largest = sized.tried[-1]
        return [f"{name}: none of {len(sized.tried)} sizes up to {largest.size} holds"]
    governs = (
        ""
        if least.governing is None
        else f"; {least.governing.check} governs it at {used(least.governing.utilization)}"
    )
    return [f"{name}: the least that holds is {least.size}{governs} (each size with its own stiffness)"]


def _block_words(sized: Sized, system: System) -> str:
    needs = sized.block
    words = []
    if needs is not None and needs.bearing_area is not None:
        words.append(f"bearing area (width × height) of {show(needs.bearing_area, 'area', system)}")
    if needs is not None and needs.mass is not None and needs.volume is not None:
        words.append(
            f"mass of {show(needs.mass, 'mass', system)}, {show(needs.volume, 'volume', system)} at its density"
        )
    if needs is not None and not needs.stops:
        words.append("mass that no block has: nothing stops it sliding without friction at its base")
    if not words:
        return "supply allow / bearing and bearing_factor for its area; block / friction, thrust_height and all factors for its mass"
    return f"needs {' and a '.join(words)}, at the forces found with the block as given"


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


def comparison_dict(compared: Comparison, sizes: Mapping[str, list[Sized]]) -> dict[str, Any]:
    """The machine output of ``supports --json``."""
    return {
        "format": FORMAT,
        "title": compared.study.title,
        "best": None if compared.best is None else compared.best.name,
        "cheapest": None if compared.cheapest is None else compared.cheapest.name,
        "not_ranking": [
            {"case": case, "check": check, "where": where} for case, check, where in sorted(compared.common)
        ],
        "options": {option.name: option_dict(option, sizes.get(option.name, [])) for option in compared.options},
        "rests_on": DEFERRAL,
    }


def option_dict(option: Option, sizes: list[Sized]) -> dict[str, Any]:
    """One option."""
    if option.assessment is None:
        return {"verdict": None, "refused": option.refused}
    moment, made = option.joint_moment, option.materials
    return {
        "verdict": option.assessment.verdict,
        "governing": _pair(option.governing),
        "governing_bolt": _pair(option.governing_bolt),
        "joint_moment_Nm": None if moment is None else number(moment[1]),
        "joint_moment_case": None if moment is None else moment[0],
        "lift_off": option.lift_off,
        "failing": [_pair(pair) for pair in option.failing],
        "supports": {each.support.name: _carried_dict(each) for each in option.carried},
        "rod_length_m": made.rod_length,
        "steel_mass_kg": made.steel_mass,
        "concrete_volume_m3": made.concrete_volume,
        "cost": option.cost,
        "sizing": [_sized_dict(each) for each in sizes],
        "not_checked": [
            {"check": i.check, "where": i.where, "supply": i.supply, "needed": i.needed}
            for i in option.assessment.not_checked
        ],
        "warnings": [{"kind": w.kind, "case": w.case, "message": w.message} for w in option.assessment.warnings],
        "assumptions": list(option.assessment.assumptions),
    }


def _pair(pair: Case | None) -> dict[str, Any] | None:
    return None if pair is None else {"case": pair[0], **check_dict(pair[1])}


def _carried_dict(each: Carried) -> dict[str, Any]:
    return {
        "kind": each.support.kind,
        "least_N": number(each.least[1]),
        "least_case": each.least[0],
        "greatest_N": number(each.greatest[1]),
        "greatest_case": each.greatest[0],
        "greatest_across_N": number(each.greatest_across),
        "states": {case: state_word(result) for case, result in each.results.items()},
        "slides_in": [case for case, result in each.results.items() if slides(result)],
    }


def _sized_dict(each: Sized) -> dict[str, Any]:
    found: dict[str, Any] = {"support": each.support.name}
    if each.block is not None:
        needs = each.block
        return {**found, "bearing_area_m2": needs.bearing_area, "mass_kg": needs.mass, "volume_m3": needs.volume}
    return {
        **found,
        "least": None if each.least is None else each.least.size,
        "tried": [
            {
                "size": tried.size,
                "area_m2": tried.area,
                "holds": tried.holds,
                "governing_check": None if tried.governing is None else tried.governing.check,
                "utilization": None if tried.governing is None else number(tried.governing.utilization),
            }
            for tried in each.tried
        ],
    }


def comparison_csv(compared: Comparison) -> str:
    """One row per option, case and support: force, state, and what the case's worst check is; SI, unit in the key."""
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(
        ["option", "verdict", "case", "utilization", "check", "where", "support", "kind", "state", "along_N", "Fx_N", "Fy_N", "Fz_N"]
    )  # fmt: skip
    for option in compared.options:
        if option.assessment is None:
            writer.writerow([option.name, "not judged", *[""] * 11])
            continue
        for name, case in option.assessment.cases.items():
            worst = max((p for p in option.checks if p[0] == name), key=lambda p: float(p[1].utilization), default=None)
            used = ["", "", ""] if worst is None else [number(worst[1].utilization), worst[1].check, worst[1].where]
            lead = [option.name, option.assessment.verdict, name, *used]
            for result in case.supports.values():
                force = [number(part) for part in result.force]
                writer.writerow(
                    [*lead, result.support.name, result.support.kind, state_words(result), number(result.push), *force]
                )
            if not case.supports:
                writer.writerow([*lead, *[""] * 7])
    return out.getvalue()
