"""Sections of the report that ask the assessment many times: the support options side by side, and how far flow may go."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from anchorsize.present.boiling_words import boiling_lines
from anchorsize.present.limits import check_words, flow_words, gain_lines, rows_of_spans, stop_words
from anchorsize.present.limits_beside import beside_words
from anchorsize.present.report.blocks import Block, Bullets, Grid, Prose, Section
from anchorsize.present.report.drawing import Drawing
from anchorsize.present.support_words import acting_words
from anchorsize.present.supports import built_rows, carried_row, feet, loaded_rows, option_lines, signs
from anchorsize.present.supports_relief import (
    on_joint_headers,
    on_joint_notes,
    on_joint_rows,
    relief_headers,
    relief_notes,
    relief_rows,
)
from anchorsize.present.supports_verdict import verdict_lines
from anchorsize.studies.limits import Limits
from anchorsize.studies.support_size import Sized
from anchorsize.studies.supports import Comparison, Option
from anchorsize.units import System

LOADED = (
    "option",
    "verdict",
    "bolts utilized",
    "all checks utilized",
    "ranked by",
    "greatest moment, bending and torsion",
    "face open",
    "checks failing",
)
CHOSEN = (
    "The rest of this report judges option '{}': the one asked for with --option, or else the first in the file, whether it is the best "
    "or not."
)
BUILT = ("option", "idle in", "its checks not made", "rod", "steel", "concrete", "your cost")
CARRIED = (
    "support",
    "kind",
    "least or most pulled",
    "least in",
    "greatest or most pushed",
    "greatest in",
    "across",
)
SPANS = ("case", "own", "holds from", "to", "stopped by")


def supports_section(
    compared: Comparison, drawing: Drawing | None, sizes: Mapping[str, list[Sized]] | None = None, shown: str = ""
) -> Section:
    """The options side by side: what holds and why, what each support carries, its state in every case, what fails or is not checked.

    ``sizes`` are the sizes found for the supports of each option, where they were sought; ``shown`` is the option that the rest of
    the report judges.
    """
    *said, rests = verdict_lines(compared)
    chosen = [Prose(CHOSEN.format(shown), "note")] if shown in compared.study.supports else []
    built = [[cell.replace("\n", "; ") for cell in row] for row in built_rows(compared)]
    blocks: list[Block] = [
        *chosen,
        *(Prose(line) for line in said),
        Grid("support_options", LOADED, loaded_rows(compared), "What the loads make of each option", 2),
        *_on_joint(compared),
        *_relief(compared),
        Grid("support_materials", BUILT, built, "Where supports idle, and what it takes to build"),
    ]
    if drawing is not None:
        blocks += drawing.of_study(compared)
    found = {} if sizes is None else sizes
    sections = [
        section
        for option in compared.options
        if (section := _option(compared, option, found.get(option.name, []))) is not None
    ]
    return Section("Support options side by side", [*blocks, Prose(rests, "soft")], sections, early=True)


def _on_joint(compared: Comparison) -> list[Block]:
    """What acts on the joint with each option; nothing where the file has no joint that can be judged."""
    rows = on_joint_rows(compared)
    if all(cell == "-" for row in rows for cell in row[1:]):
        return []
    headers = _on_a_head(on_joint_headers(compared.study.units))
    caption = "What each option leaves on the joint"
    return [Grid("support_on_joint", headers, rows, caption, 1), Prose(" ".join(on_joint_notes()), "soft")]


def _on_a_head(heads: Sequence[str]) -> list[str]:
    """Heads in one line each; that of a case says what it is the case of."""
    told = [head.replace("\n", " ") for head in heads]
    return [f"case of {told[i - 1].rpartition(' ')[0]}" if head == "case" else head for i, head in enumerate(told)]


def _relief(compared: Comparison) -> list[Block]:
    """What each option leaves of the moments, and how far the fitting moves; nothing where neither pipe nor stiffness is given."""
    rows = relief_rows(compared)
    if all(cell == "-" for row in rows for cell in row[3:]):
        return []
    caption = "What each option leaves of the moments, and how far the fitting moves"
    return [
        Grid("support_relief", _on_a_head(relief_headers(compared.study.units)), rows, caption, 1),
        *(Prose(line, "soft") for line in relief_notes(compared)),
    ]


def _option(compared: Comparison, option: Option, sizes: list[Sized]) -> Section | None:
    heading = f"Option '{option.name}'"
    if option.assessment is None:
        return Section(heading, [Prose(f"Not judged: {option.refused}")])
    blocks = _of_supports(option, compared.study.units) if option.carried else []
    lines = option_lines(compared, option, sizes)
    if option.not_made:
        count = len(option.not_made)
        blocks.append(
            Prose(f"{count} check{'s' if count > 1 else ''} of its supports not made, for want of an input.", "note")
        )
    if lines:
        blocks.append(Bullets(lines))
    return Section(heading, blocks) if blocks else None


def _of_supports(option: Option, system: System) -> list[Block]:
    """What each support of an option carries, and its state in every case."""
    keys = (("option", option.name),)
    rows = [carried_row(each, system) for each in option.carried]
    cases = list(option.carried[0].results)
    states = [
        [
            case,
            *(
                _on_a_line(acting_words(each.results[case], option.worst_of(each.support, case), system))
                for each in option.carried
            ),
        ]
        for case in cases
    ]
    names = [each.support.name for each in option.carried]
    return [
        Grid("support_forces", CARRIED, rows, "Force along each support over the cases, on the fitting", 2, keys),
        Grid(
            "support_states",
            ["case", *(f"'{name}'" for name in names)],  # in quotes: no name can be that of another column
            states,
            "What each support does in every case: force along it, utilization of its worst check",
            1 + len(names),
            keys,
        ),
        *(Prose(line, "soft") for line in signs(option.carried)),
        *(Prose(line) for line in feet(option, system)),
    ]


def _on_a_line(cell: str) -> str:
    """The lines of a cell as one: the state, then what comes with it."""
    return cell.replace(",\n", ", ").replace("\n", ": ", 1)


def _spans(found: Limits, what: str, rows: list[list[str]]) -> Grid:
    """How far flow or pressure may go in each case; a pressure with the opening that it is taken at."""
    if what == "flow":
        return Grid("greatest_flow", SPANS, rows, f"How far the flow may go; {flow_words(found)}")
    places = {case.name: case.at for case in found.cases.values()}
    own, *rest = SPANS
    shown = [[name, f"'{places[name]}'" if name else "", *others] for name, *others in rows]
    caption = "How far the pressure may go: gauge pressure at the opening named, before any surge"
    return Grid("greatest_pressure", (own, "pressure at", *rest), shown, caption, 2)


def limits_section(found: Limits, drawing: Drawing | None) -> Section:
    """From where to where flow and pressure may go in each case, and what stops them."""
    blocks: list[Block] = [
        Prose(
            "Each span is found with everything else as the case has it, every check counted that flow and pressure can move; the "
            "picture takes flow and pressure as independent of each other."
        ),
        *(Prose(line) for line in beside_words(found, stop_words)),
    ]
    blocks += [
        Prose(
            f"{check_words(each.check, each.where, found)} fails in '{case.name}' at every flow and pressure.", "note"
        )
        for case in found.cases.values()
        for each in case.fixed
    ]
    for what in ("flow", "pressure"):
        rows = rows_of_spans(found, what)
        if rows:
            blocks.append(_spans(found, what, rows))
    blocks += [
        Prose(line, "note")
        for line in (*gain_lines(found), *boiling_lines(found, "flow"), *boiling_lines(found, "pressure"))
    ]
    notes = [f"'{case.name}': {note}" for case in found.cases.values() for note in case.notes] + [
        f"'{case.name}' fails at its own point: {stop_words(case.governing, found)}"
        for case in found.cases.values()
        if not case.holds
    ]
    if notes:
        blocks.append(Bullets(notes))
    if drawing is not None:
        blocks += drawing.of_study(found)
    return Section("How far flow and pressure may go", blocks)
