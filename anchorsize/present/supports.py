"""The comparison of support options as text."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING

from anchorsize.assessment.findings_arms import LIMBER_ARM
from anchorsize.assessment.findings_joint_give import JOINT_STIFFNESS
from anchorsize.assessment.findings_support_data import (
    BASE_NOT_CHECKED,
    HEAT,
    NEEDS_BRACKET,
    SETTLES,
    SHORTENED,
    SLENDER_POST,
)
from anchorsize.assessment.findings_support_give import MEMBER_ALONE
from anchorsize.assessment.hot import cautions
from anchorsize.assessment.statements import DEFERRAL
from anchorsize.present.support_size_words import size_lines, together_lines
from anchorsize.present.support_words import BOTH_WAYS, acting_words, foot_words, kind_words
from anchorsize.present.supports_relief import (
    on_joint_headers,
    on_joint_notes,
    on_joint_rows,
    relief_headers,
    relief_notes,
    relief_rows,
)
from anchorsize.present.supports_verdict import check_words, verdict_lines
from anchorsize.present.words import figure, paragraph, quantity, table, used, wrapped
from anchorsize.studies.support_size import Sized
from anchorsize.studies.supports import Carried, Case, Comparison, Option
from anchorsize.units import System

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

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
        [wrapped(row[0], room), *("\n".join(wrapped(line, 14) for line in row[1].splitlines()), *row[2:])]
        for row in built_rows(compared)
    ]
    upper += "\n  Utilizations; 'ranked by' leaves out the checks that no choice changes."
    upper += "\n  Greatest moment: on the joint, bending and torsion together."
    system = compared.study.units
    upper += _over_cases(on_joint_rows(compared), on_joint_headers(system), on_joint_notes(), room)
    upper += _peaks(relief_rows(compared), 3, relief_headers(system), relief_notes(compared), room)
    lower = table(built, ["option", "idle in", "its checks\nnot made", "rod", "steel", "concrete", "your cost"], left=2)
    return f"{upper}\n\n{lower}"


def _peaks(rows: list[list[str]], least: int, headers: Sequence[str], notes: Sequence[str], room: int) -> str:
    """A table of greatest values with their cases; nothing where the columns from ``least`` on are empty."""
    if all(cell == "-" for row in rows for cell in row[least:]):
        return ""
    wide = 9 + max(0, room - 12) // 3
    cells = [
        [wrapped(cell, room if i == 0 else wide) if i % 2 == 0 else cell for i, cell in enumerate(row)] for row in rows
    ]
    return "\n".join(["\n", table(cells, headers), *(f"  {line}" for line in notes)])


def _over_cases(rows: list[list[str]], headers: Sequence[str], notes: Sequence[str], room: int) -> str:
    """A table of greatest values with their cases under them, since pairs of columns would not fit; nothing where all are empty."""
    if all(cell == "-" for row in rows for cell in row[1:]):
        return ""
    cells = []
    for option, *pairs in rows:
        over = (
            value if case == "-" or value == "0" else f"{value}\n{wrapped(case, 14)}"
            for value, case in zip(pairs[::2], pairs[1::2], strict=True)
        )
        cells.append([wrapped(option, room), *over])
    lines = [*notes, "Under each figure its case."]
    return "\n".join(["\n", table(cells, [headers[0], *headers[1::2]]), *(f"  {line}" for line in lines)])


def _idle_cell(option: Option) -> str:
    """Which supports carry nothing in how many cases."""
    return "\n".join(f"{each.support.name}: {_few_cases(each)}" for each in option.carried if each.idle_in) or "-"


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
                _utilization(option.most_used),
                _utilization(option.deciding(compared.common)),
                "-" if moment is None else quantity(moment[1], "moment", compared.study.units),
                "-" if lift is None else f"{lift:.0%}",
                str(len(option.failing)),
            ]
        )
    return rows


def built_rows(compared: Comparison) -> list[list[str]]:
    """Per option: where its supports idle, how many checks were not made, rod length, steel mass, concrete volume, the user's cost."""
    system, rows = compared.study.units, []
    for option in compared.options:
        made = option.materials
        rows.append(
            [
                option.name,
                _idle_cell(option),
                str(len(option.not_made) or "-"),
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
        lines += [paragraph(line, width) for line in feet(option, system)]
    elif not option.supports:
        lines.append("  No support: the joint carries everything.")
        if option.movement is not None:
            moved = quantity(option.movement.value, "length", system)
            lines.append(f"  The fitting moves at most {moved}, in '{option.movement.case}'.")
    lines += [paragraph(line, width) for line in option_lines(compared, option, sizes)]
    return "\n".join(lines)


def feet(option: Option, system: System) -> list[str]:
    """Where the supports of a given length stand or hang from."""
    return [f"{each.name}: {where}" for each in option.supports if (where := foot_words(each, system))]


FAILING_NAMED = 12
"""Failing checks of an option that are named one by one; more are counted."""


def option_lines(compared: Comparison, option: Option, sizes: list[Sized]) -> list[str]:
    """What fails in an option, what was not checked, which sizes would do, and what stands out about its supports."""
    failing = option.failing
    lines = [f"FAILS: {check_words(compared.study, pair)}" for pair in failing[:FAILING_NAMED]]
    if len(failing) > FAILING_NAMED:
        lines.append(f"and {len(failing) - FAILING_NAMED} more checks")
    lines += [f"not checked: {item.words} of '{item.where}': supply {item.supply}" for item in option.not_made]
    lines += [line for each in sizes for line in size_lines(each, compared.study)]
    lines += together_lines(option, sizes, compared.study)
    found = () if option.assessment is None else option.assessment.warnings
    return lines + [finding.message for finding in found if finding.kind in SUPPORT_FINDINGS]


SUPPORT_FINDINGS = (
    "supports load the joint more",
    "post over its Euler load",
    SLENDER_POST,
    "support turned downward",
    "support far off",
    NEEDS_BRACKET,
    "support in a free jet",
    "support through the fitting",
    "thin hanger rod",
    "unusual stiffness of a support",
    "set load",
    SETTLES,
    BASE_NOT_CHECKED,
    "slack hanger",
    "slack tie",
    "uplift at a rest",
    "idle thrust block",
    "strut in its gap",
    "guide in its gap",
    "support reversed",
    "friction leaves a choice",
    "friction relieves the joint",
    "rigid joint starves the supports",
    MEMBER_ALONE,
    JOINT_STIFFNESS,
    HEAT,
    SHORTENED,
    "joint stiffness given twice",
    "support idles",
    "supports raise the axial force",
    LIMBER_ARM,
    "presumptive bearing",
    "shared by several joints",
)


def _carried(carried: list[Carried], system: System, width: int) -> str:
    room = max(0, width - 80)
    widths = {0: 16 + room // 3, 3: 12 + room // 3, 5: 12 + room // 3}
    rows = [
        [wrapped(cell, widths[i]) if i in widths else cell for i, cell in enumerate(carried_row(each, system))]
        for each in carried
    ]
    headers = ["support", "kind", "least or\nmost pulled", "in", "greatest or\nmost pushed", "in", "across"]
    return "\n".join([table(rows, headers, left=2), *(f"  {line}" for line in signs(carried))])


def signs(carried: list[Carried]) -> list[str]:
    """What plus and minus mean under the table of forces."""
    lines = ["Plus pushes the fitting along the support's direction, minus pulls it back."]
    if any(each.support.kind in BOTH_WAYS for each in carried):
        lines.append("Strut, guide and anchor: most pulled and most pushed, '-' where never.")
    elif not all(each.carries for each in carried):
        lines.append("'-' where it never carries.")
    return lines


def carried_row(each: Carried, system: System) -> list[str]:
    """Least and greatest force of a one-way support over the cases, most pulled and most pushed of the others, each with its case.

    ``-`` where it is never so, and of all of a support that carries nothing in any case.
    """
    ends = []
    for (case, force), sign in ((each.least, -1.0), (each.greatest, 1.0)):
        never = not each.carries or (each.support.kind in BOTH_WAYS and force * sign <= 0.0)
        ends += ["-", "-"] if never else [quantity(force, "force", system), case]
    across = quantity(each.greatest_across, "force", system) if each.greatest_across > 0.0 else "-"
    return [each.support.name, kind_words(each.support), *ends, across]


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
    lines += [
        "",
        "Cautions",
        *(paragraph(line, width) for line in cautions(compared.study)),
        paragraph(DEFERRAL, width),
    ]
    return "\n".join(lines).strip("\n")
