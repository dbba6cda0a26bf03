"""Sections of the report that ask the assessment many times: the support options side by side, and how far flow may go."""

from __future__ import annotations

from anchorsize.present.limits import rows_of_spans, stop_words
from anchorsize.present.limits_picture import drawn as planes
from anchorsize.present.limits_picture import limits_alt, limits_picture
from anchorsize.present.report.blocks import Block, Bullets, Grid, Picture, Prose, Section
from anchorsize.present.support_words import kind_words, state_words
from anchorsize.present.supports import SUPPORT_FINDINGS, built_rows, loaded_rows, verdict_lines
from anchorsize.present.words import quantity
from anchorsize.studies.limits import Limits
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


def supports_section(compared: Comparison, pictured: bool) -> Section:
    """The options side by side: what holds and why, what each support carries, its state in every case."""
    *said, rests = verdict_lines(compared)
    blocks: list[Block] = [
        *(Prose(line) for line in said),
        Grid("support_options", LOADED, loaded_rows(compared), "What the loads make of each option", 2),
        Grid("support_materials", BUILT, built_rows(compared), "What it takes to build"),
    ]
    if pictured:
        from anchorsize.present.supports_picture import comparison_alt, comparison_picture

        blocks.append(Picture(comparison_picture(compared, "svg"), comparison_alt(compared)))
    system = compared.study.units
    sections = [_option(option, system) for option in compared.options if option.carried or option.refused]
    return Section("Support options side by side", [*blocks, Prose(rests, "soft")], sections)


def _option(option: Option, system: System) -> Section:
    heading = f"Option '{option.name}'"
    if option.assessment is None:
        return Section(heading, [Prose(f"Not judged: {option.refused}")])
    keys = (("option", option.name),)
    rows = [_carried(each, system) for each in option.carried]
    cases = list(option.carried[0].results)
    states = [[case, *(state_words(each.results[case]) for each in option.carried)] for case in cases]
    names = [each.support.name for each in option.carried]
    found = [each.message for each in option.assessment.warnings if each.kind in SUPPORT_FINDINGS]
    blocks: list[Block] = [
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
    return Section(heading, [*blocks, *([Bullets(found)] if found else [])])


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


def limits_section(found: Limits, pictured: bool) -> Section:
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
    if pictured and planes(found):
        blocks.append(Picture(limits_picture(found, "svg"), limits_alt(found)))
    return Section("How far flow and pressure may go", blocks)
