"""``anchorsize report``: the calculation for a reviewer, as one page."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import nullcontext
from itertools import chain
from pathlib import Path
from typing import TYPE_CHECKING

import click

from anchorsize.cli.common import (
    altered,
    case_file,
    exit_of_worst,
    option_option,
    readable_errors,
    refuse,
    repaired_option,
    without_option,
)
from anchorsize.cli.writing import (
    PAGES,
    force_option,
    open_option,
    refuse_ending,
    refuse_to_overwrite,
    show_in_browser,
    write,
)

if TYPE_CHECKING:
    from datetime import date

    from anchorsize.assessment import Assessment
    from anchorsize.present.report.blocks import Document, Section
    from anchorsize.present.report.drawing import Drawing
    from anchorsize.studies.limits import Limits
    from anchorsize.studies.lost_bolt import LostBolt
    from anchorsize.studies.supports import Comparison
    from anchorsize.study import Study

MARKDOWN = (".md", ".markdown")
TEXT = (*MARKDOWN, ".txt")
BOUNDARY_LINES = 13
"""Lines of the boundary between flow and pressure: enough for a picture."""


@click.command()
@case_file
@click.option(
    "-o",
    "--output",
    "out",
    type=click.Path(path_type=Path),
    required=True,
    help="File to write: a page, or Markdown where it ends in .md.",
)
@option_option
@without_option
@repaired_option
@click.option(
    "--one-lost",
    is_flag=True,
    help="Also judge every joint with each of its bolts lost in turn, worst first; exit codes then as those of check --one-lost.",
)
@click.option(
    "--markdown",
    is_flag=True,
    help="Write Markdown, also into a file that ends in .txt, pictures told in words.",
)
@click.option(
    "--csv",
    "folder",
    type=click.Path(path_type=Path),
    help="Write every table into this folder too, as comma-separated values.",
)
@click.option(
    "--limits/--no-limits",
    "limited",
    default=True,
    help="Also find how far flow and pressure may go, which takes the longest.",
)
@click.option(
    "--full",
    is_flag=True,
    help="Write every worked line out: every bolt, every case, every term, on two to three times the pages.",
)
@force_option
@open_option
def report(
    file: Path,
    out: Path,
    option: str | None,
    without: tuple[str, ...],
    repaired: bool,
    one_lost: bool,
    markdown: bool,
    folder: Path | None,
    limited: bool,
    full: bool,
    force: bool,
    opened: bool,
) -> None:
    """Write the whole calculation of FILE, line by line, with pictures, checks, sources and room to sign.

    The page needs no network and no script. Exit codes as those of check.

    Example: anchorsize report examples/terrace_elbow.yaml -o terrace.html
    """
    markdown = _as_markdown(out, markdown)
    if markdown and opened:
        refuse("--open shows a page, and Markdown is none; choose one.")
    refuse_to_overwrite(out, force)
    from anchorsize.present.report.drawing import Drawing

    # the second process that draws is started before anything heavy is imported
    with nullcontext() if markdown else Drawing() as drawing, readable_errors():
        assessment, made, losses = _made(file, option, (without, repaired), (limited, one_lost), full, drawing)
    from anchorsize.present.report.document import grids
    from anchorsize.present.report.sheets import sheets

    if markdown:
        from anchorsize.present.report.markdown import report_markdown as written
    else:
        from anchorsize.present.report.html import report_html as written
    page = written(made, assessment.study.units, full)
    if folder is not None:
        try:
            tables = sheets(grids(made))
        except ValueError as error:
            refuse(f"{file}: {error}; give its cases and supports other names. Nothing was written.")
        _write_all(folder, tables, force)
    write(out, page.encode("utf-8"), force)
    if opened:
        show_in_browser(out)
    raise SystemExit(exit_of_worst([assessment.verdict, *(row.verdict for row in losses)]))


def _as_markdown(out: Path, asked: bool) -> bool:
    """Whether to write Markdown: as the name of the file says, else as asked."""
    suffix = out.suffix.lower()
    if asked and suffix in PAGES:
        refuse(f"{out} would be a page, and --markdown asks for Markdown; choose one.")
    refuse_ending(out, TEXT if asked else (*PAGES, *MARKDOWN), "the report")
    return asked or suffix in MARKDOWN


def _today() -> date:
    """The day in UTC; that of SOURCE_DATE_EPOCH where it is set, so that a report can be made again as it was."""
    from datetime import UTC, datetime

    told = os.environ.get("SOURCE_DATE_EPOCH")
    try:
        return (datetime.now(UTC) if told is None else datetime.fromtimestamp(int(told), UTC)).date()
    except (ValueError, OverflowError, OSError):
        refuse(f"SOURCE_DATE_EPOCH is '{told}', which is no number of seconds. Nothing was written.")


def _made(
    file: Path,
    option: str | None,
    changed: tuple[tuple[str, ...], bool],
    asked: tuple[bool, bool],
    full: bool,
    drawing: Drawing | None,
) -> tuple[Assessment, Document, list[LostBolt]]:
    """The assessment, its report, and the joints with a bolt lost; ``asked`` is for how far flow may go, and for bolts lost."""
    from hashlib import sha256

    from anchorsize.assessment import assess
    from anchorsize.casefile import parse_case
    from anchorsize.casefile.inputs import read_inputs
    from anchorsize.casefile.reading import read_text

    text, name = read_text(file), str(file)
    as_given = parse_case(text, name)
    study = altered(as_given, *changed)
    assessment = assess(study, option)
    if drawing is not None:
        drawing.begin(assessment)
    limited, lost_too = asked
    from anchorsize.present.report.pictures import follow

    # what takes least to work out goes first, so that the second process draws it while the rest is worked out
    followed = follow(assessment)
    if drawing is not None:
        drawing.also(followed)
    further = list(_further(study, assessment, limited))
    if drawing is not None:
        for found in further:
            drawing.also(found)
    from anchorsize.present.report.document import Source, document
    from anchorsize.present.report.evidence import lost_words
    from anchorsize.present.report.steps import LineError
    from anchorsize.studies.lost_bolt import any_lost

    losses = any_lost(assessment, assessment.judged_joints) if lost_too else []
    evidence = _evidence(assessment, losses if lost_too else None)
    sections = chain((_section(found, drawing, assessment.option) for found in further), evidence)
    source = Source(file.name, text, sha256(file.read_bytes()).hexdigest(), read_inputs(text, name))
    try:
        made = document(assessment, source, followed, sections, drawing, _today(), full, lost_words(losses))
    except LineError as error:
        refuse(f"{name}: {error}. This is a fault of the tool, please report it. Nothing was written.")
    return assessment, _repaired(made, as_given, assessment) if changed[1] else made, losses


def _evidence(assessment: Assessment, losses: list[LostBolt] | None) -> Iterator[Section]:
    """The torques that would do, and what comes of a lost bolt where that was asked for."""
    from anchorsize.present.report.evidence import lost_section, window_section
    from anchorsize.studies.lost_window import lost_windows
    from anchorsize.studies.repaired import repair, windows_after
    from anchorsize.studies.torque import windows

    found = windows(assessment, assessment.judged_joints)
    lost_too = [] if losses is None else lost_windows(assessment, assessment.judged_joints)
    section = window_section(found, windows_after(repair(assessment)), assessment.study.units, lost_too)
    if section is not None:
        yield section
    if losses is not None:
        yield lost_section(losses, assessment)


def _repaired(made: Document, as_given: Study, after: Assessment) -> Document:
    """The report with what its repaired state asks for at its head."""
    from dataclasses import replace

    from anchorsize.assessment import assess
    from anchorsize.present.boltup_head import repair_bar
    from anchorsize.present.report.blocks import Prose

    told = repair_bar(after, assess(as_given, after.option))
    return (
        replace(made, front=[Prose(f"The repaired state, not the joint as found. {told}", "loud"), *made.front])
        if told
        else made
    )


def _further(study: Study, assessment: Assessment, limited: bool) -> Iterator[Comparison | Limits]:
    """The support options side by side, where the file has any; how far flow and pressure may go, where that is wanted."""
    if any(study.supports.values()):
        from anchorsize.studies.supports import compare

        yield compare(study)
    if limited:
        from anchorsize.studies.limits import Ask, limits

        yield limits(study, Ask(points=BOUNDARY_LINES), assessment.option)


def _section(found: Comparison | Limits, drawing: Drawing | None, shown: str) -> Section:
    """The section of another study, in a report that judges the option ``shown``."""
    from anchorsize.present.report.further import limits_section, supports_section
    from anchorsize.studies.support_size import size_supports
    from anchorsize.studies.supports import Comparison

    if not isinstance(found, Comparison):
        return limits_section(found, drawing)
    judged = [option for option in found.options if option.assessment is not None and option.supports]
    sizes = {option.name: size_supports(found.study, option.name) for option in judged}
    return supports_section(found, drawing, sizes, shown)


def _write_all(folder: Path, files: dict[str, str], force: bool) -> None:
    """Write all files into a folder that is made if need be; none where one of them is there already."""
    try:
        folder.mkdir(exist_ok=True)
    except OSError as error:
        refuse(f"{folder}: {error.strerror}. Nothing was written.")
    for name in files:
        refuse_to_overwrite(folder / name, force)
    for name, text in files.items():
        write(folder / name, text.encode("utf-8"), force)
