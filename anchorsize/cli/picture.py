"""``anchorsize picture``: one picture of one case as a file of its own."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Literal

import click

from anchorsize.cli.common import (
    EXIT_OF_VERDICT,
    altered,
    case_file,
    option_option,
    read,
    readable_errors,
    refuse,
    without_option,
)
from anchorsize.cli.writing import PictureKind, force_option, picture_file

if TYPE_CHECKING:
    from anchorsize.assessment import Assessment

VIEWS = ("side", "flange", "bolts", "face")


@click.command()
@case_file
@click.option("-o", "--output", "out", type=click.Path(path_type=Path), required=True, help="File, .svg or .png.")
@click.option("--case", metavar="NAME", help="Operating case to show (default: the first in the file).")
@click.option(
    "--view",
    type=click.Choice(VIEWS),
    default="side",
    show_default=True,
    help="side, flange: forces on the fitting; bolts: tension and shear; face: pressure on the gasket.",
)
@click.option("--joint", metavar="NAME", help="Joint to show (default: the first in the file).")
@option_option
@without_option
@force_option
def picture(
    file: Path,
    out: Path,
    case: str | None,
    view: str,
    joint: str | None,
    option: str | None,
    without: tuple[str, ...],
    force: bool,
) -> None:
    """Draw one picture of a case of FILE, to scale, and say in words what it shows.

    Exit codes as those of check.

    Example: anchorsize picture examples/terrace_elbow.yaml --case "full flow" --view bolts -o bolts.png
    """
    target = picture_file(out, force)
    with readable_errors():
        from anchorsize.assessment import assess

        assessment = assess(altered(read(file), without), option)
        content, words = _drawn(assessment, view, target.kind, case, joint)
        target.write(content)
    click.echo(words)
    raise SystemExit(EXIT_OF_VERDICT[assessment.verdict])


def _drawn(
    assessment: Assessment, view: str, kind: PictureKind, case: str | None, joint: str | None
) -> tuple[bytes, str]:
    """The picture and what it shows in words."""
    from anchorsize.present import pictures

    chosen = _one_of("case", case, list(assessment.cases))
    if view in ("side", "flange"):
        direction: Literal["side", "flange"] = "side" if view == "side" else "flange"
        along = None if joint is None else _one_of("joint", joint, list(assessment.study.joints))
        figure = pictures.fitting_view(assessment, chosen, direction, along)
        words: str | None = pictures.fitting_alt(assessment, chosen, direction, along)
        return pictures.render(figure, kind), words or ""
    named = _one_of("joint", joint, list(assessment.cases[chosen].joints))
    drawn = pictures.bolt_view if view == "bolts" else pictures.face_view
    told = pictures.bolt_alt if view == "bolts" else pictures.face_alt
    figure_or_none, words = drawn(assessment, chosen, named), told(assessment, chosen, named)
    if figure_or_none is None:
        from anchorsize.assessment.clamping import stiffness_wanting

        asked = assessment.study.joints[named]
        wanted = [
            *(["tightening"] if asked.tightening is None else []),
            *(["gasket / inside", "gasket / outside"] if asked.gasket is None else []),
            *stiffness_wanting(asked),
        ]
        refuse(f"joint '{named}': its face pressure is not known; give {', '.join(wanted)}.")
    return pictures.render(figure_or_none, kind), words or ""


def _one_of(what: str, asked: str | None, names: list[str]) -> str:
    if not names:
        refuse(f"the file has no {what} whose loads are known.")
    if asked is not None and asked not in names:
        from anchorsize.assessment.results import no_such

        refuse(str(no_such(what, asked, names)))
    return names[0] if asked is None else asked
