"""``anchorsize report``: the calculation for a reviewer, as one page."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

import click

from anchorsize.cli.common import EXIT_OF_VERDICT, case_file, option_option, readable_errors, refuse
from anchorsize.cli.writing import force_option, open_option, refuse_to_overwrite, show_in_browser, write

if TYPE_CHECKING:
    from datetime import date

    from anchorsize.assessment import Assessment
    from anchorsize.present.report.blocks import Document, Section
    from anchorsize.study import Study

MARKDOWN = (".md", ".markdown")
PAGES = (".html", ".htm")
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
@click.option(
    "--markdown",
    is_flag=True,
    help="Write Markdown into a file of any ending but .html and .htm, pictures told in words.",
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
@force_option
@open_option
def report(
    file: Path,
    out: Path,
    option: str | None,
    markdown: bool,
    folder: Path | None,
    limited: bool,
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
    with readable_errors():
        assessment, made = _made(file, option, limited, drawn=not markdown)
    from anchorsize.present.report.document import grids
    from anchorsize.present.report.sheets import sheets

    if markdown:
        from anchorsize.present.report.markdown import report_markdown as written
    else:
        from anchorsize.present.report.html import report_html as written
    page = written(made, assessment.study.units)
    if folder is not None:
        try:
            tables = sheets(grids(made))
        except ValueError as error:
            refuse(f"{file}: {error}; give its cases and supports other names. Nothing was written.")
        _write_all(folder, tables, force)
    write(out, page.encode("utf-8"), force)
    if opened:
        show_in_browser(out)
    raise SystemExit(EXIT_OF_VERDICT[assessment.verdict])


def _as_markdown(out: Path, asked: bool) -> bool:
    """Whether to write Markdown: as the name of the file says, else as asked."""
    suffix = out.suffix.lower()
    if asked and suffix in PAGES:
        refuse(f"{out} would be a page, and --markdown asks for Markdown; choose one.")
    return asked or suffix in MARKDOWN


def _today() -> date:
    """The day in UTC; that of SOURCE_DATE_EPOCH where it is set, so that a report can be made again as it was."""
    from datetime import UTC, datetime

    told = os.environ.get("SOURCE_DATE_EPOCH")
    try:
        return (datetime.now(UTC) if told is None else datetime.fromtimestamp(int(told), UTC)).date()
    except (ValueError, OverflowError, OSError):
        refuse(f"SOURCE_DATE_EPOCH is '{told}', which is no number of seconds. Nothing was written.")


def _made(file: Path, option: str | None, limited: bool, drawn: bool) -> tuple[Assessment, Document]:
    from hashlib import sha256

    from anchorsize.assessment import assess
    from anchorsize.casefile import parse_case
    from anchorsize.casefile.inputs import read_inputs
    from anchorsize.casefile.reading import read_text
    from anchorsize.present.report.document import Source, document
    from anchorsize.present.report.pictures import curves
    from anchorsize.present.report.steps import LineError

    text, name = read_text(file), str(file)
    study = parse_case(text, name)
    assessment = assess(study, option)
    source = Source(file.name, text, sha256(file.read_bytes()).hexdigest(), read_inputs(text, name))
    further = [*_supports(study, drawn), *(_limits(study, assessment, drawn) if limited else ())]
    try:
        return assessment, document(assessment, source, curves(assessment), further, drawn, _today())
    except LineError as error:
        refuse(f"{name}: {error}. This is a fault of the tool, please report it. Nothing was written.")


def _supports(study: Study, drawn: bool) -> list[Section]:
    """The support options side by side, where the file has any."""
    if not any(study.supports.values()):
        return []
    from anchorsize.present.report.further import supports_section
    from anchorsize.studies.supports import compare

    return [supports_section(compare(study), drawn)]


def _limits(study: Study, assessment: Assessment, drawn: bool) -> list[Section]:
    """How far flow and pressure may go, where a case has a liquid flow or a pressure to change."""
    from anchorsize.present.report.further import limits_section
    from anchorsize.studies.limits import Ask, limits

    return [limits_section(limits(study, Ask(points=BOUNDARY_LINES), assessment.option), drawn)]


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
