"""Sections of the report that ask the assessment many times: the support options side by side, and how far flow may go."""

from __future__ import annotations

from collections.abc import Mapping

from anchorsize.present.limits import rows_of_spans, stop_words
from anchorsize.present.report.blocks import Block, Bullets, Grid, Prose, Section
from anchorsize.present.report.drawing import Drawing
from anchorsize.present.support_words import kind_words, state_words
from anchorsize.present.supports import built_rows, loaded_rows, option_lines, verdict_lines
from anchorsize.present.words import quantity
from anchorsize.studies.limits import Limits
from anchorsize.studies.support_size import Sized
from anchorsize.studies.supports import Carried, Comparison, Option
from anchorsize.units import System

LOADED = (
    "option",
    "verdict",
    "bolts utilized",
    "all checks utilized",
    "ranked by",
    "greatest moment",
    "face open",
    "checks failing",
)
BUILT = ("option", "rod", "steel", "concrete", "your cost")
CARRIED = ("support", "kind", "least", "least in", "greatest", "greatest in", "across")
SPANS = ("case", "own", "holds from", "to", "stopped by")


def supports_section(
    compared: Comparison, drawing: Drawing | None, sizes: Mapping[str, list[Sized]] | None = None
) -> Section:
    """The options side by side: what holds and why, what each support carries, its state in every case, what fails or is not checked.

    ``sizes`` are the sizes found for the supports of each option, where they were sought.
    """
    *said, rests = verdict_lines(compared)
    blocks: list[Block] = [
        *(Prose(line) for line in said),
        Grid("support_options", LOADED, loaded_rows(compared), "What the loads make of each option", 2),
        Grid("support_materials", BUILT, built_rows(compared), "What it takes to build"),
    ]
    if drawing is not None:
        blocks += drawing.of_study(compared)
    found = {} if sizes is None else sizes
    sections = [
        section
        for option in compared.options
        if (section := _option(compared, option, found.get(option.name, []))) is not None
    ]
    return Section("Support options side by side", [*blocks, Prose(rests, "soft")], sections)


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
    rows = [_carried(each, system) for each in option.carried]
    cases = list(option.carried[0].results)
    states = [[case, *(state_words(each.results[case]) for each in option.carried)] for case in cases]
    names = [each.support.name for each in option.carried]
    return [
        Grid("support_forces", CARRIED, rows, "Force along each support over the cases, on the fitting", 2, keys),
        Grid(
            "support_states",
            ["case", *(f"'{name}'" for name in names)],  # in quotes: no name can be that of another column
            states,
            "What each support does in every case",
            1 + len(names),
            keys,
        ),
    ]


def _carried(each: Carried, system: System) -> list[str]:
    (least_in, least), (most_in, most) = each.least, each.greatest
    across = quantity(each.greatest_across, "force", system) if each.greatest_across > 0.0 else "-"
    return [
        each.support.name,
        kind_words(each.support),
        quantity(least, "force", system),
        least_in,
        quantity(most, "force", system),
        most_in,
        across,
    ]


def limits_section(found: Limits, drawing: Drawing | None) -> Section:
    """From where to where flow and pressure may go in each case, and what stops them."""
    blocks: list[Block] = [
        Prose(
            "Each span is found with everything else as the case has it, every check counted that flow and pressure can move; the "
            "picture takes flow and pressure as independent of each other."
        )
    ]
    blocks += [
        Prose(f"{each.check} of '{each.where}' fails in '{case.name}' at every flow and pressure.", "note")
        for case in found.cases.values()
        for each in case.fixed
    ]
    for what in ("flow", "pressure"):
        rows = rows_of_spans(found, what)
        if rows:
            blocks.append(Grid(f"greatest_{what}", SPANS, rows, f"How far the {what} may go"))
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
