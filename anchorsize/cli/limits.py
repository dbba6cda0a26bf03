"""``anchorsize limits``: how far flow and pressure may go."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, cast

import click

from anchorsize.cli.common import (
    EXIT_OF_VERDICT,
    as_json,
    case_file,
    option_option,
    print_json,
    print_report,
    read,
    readable_errors,
    refuse,
    report_width,
    width_option,
)
from anchorsize.cli.writing import force_option, refuse_to_overwrite, write

if TYPE_CHECKING:
    from anchorsize.studies.curve import PressureRule


@click.command()
@case_file
@option_option
@click.option("--case", "cases", multiple=True, help="Operating case to ask about (default: all); may be given again.")
@click.option(
    "--pressure",
    type=click.Choice(["held", "from losses", "square"]),
    default="held",
    show_default=True,
    help="What the given pressures do as the flow changes.",
)
@click.option("--at", metavar="OPENING", help="Opening whose pressure is named (default: where the flow enters).")
@click.option("--to-flow", help='Greatest flow to look at, such as "60 L/s" (default: 10 000 times the case\'s own).')
@click.option("--to-pressure", help='Greatest pressure to look at, such as "10 bar" (default: likewise).')
@click.option(
    "--points",
    type=click.IntRange(3, 2001),
    default=41,
    show_default=True,
    help="Flows, and pressures, at which the boundary is found.",
)
@as_json
@click.option("--csv", "as_csv", is_flag=True, help="Print the boundary as comma-separated values (SI).")
@click.option("--picture", type=click.Path(path_type=Path), help="Write a picture, by its name .svg or .png.")
@force_option
@width_option
def limits(
    file: Path,
    option: str | None,
    cases: tuple[str, ...],
    pressure: str,
    at: str | None,
    to_flow: str | None,
    to_pressure: str | None,
    points: int,
    as_json: bool,
    as_csv: bool,
    picture: Path | None,
    force: bool,
    width: int | None,
) -> None:
    """Find the greatest flow and pressure at which every check of FILE holds, and the boundary between them.

    All given flows of a case change together, and so do its given pressures. What holds may begin above zero or come in several
    intervals; all of them are shown, with the check that ends each.

    Example: anchorsize limits examples/terrace_elbow.yaml --case "full flow"
    """
    if as_json and as_csv:
        refuse("--json and --csv at once; choose one.")
    from anchorsize.present.curve import picture_kind
    from anchorsize.present.limits import limits_text
    from anchorsize.present.limits_machine import limits_csv, limits_dict

    kind = None if picture is None else picture_kind(picture)
    if picture is not None:
        if kind is None:
            refuse(f"{picture}: a picture is .svg or .png.")
        refuse_to_overwrite(picture, force)
    with readable_errors():
        from anchorsize.studies.limits import Ask
        from anchorsize.studies.limits import limits as found

        ends = _end("--to-flow", to_flow, "flow"), _end("--to-pressure", to_pressure, "pressure")
        asked = Ask(cast("PressureRule", pressure), at, *ends, points, cases)
        made = found(read(file), asked, option)
        if picture is not None and kind is not None:
            from anchorsize.present.limits_picture import limits_picture

            write(picture, limits_picture(made, kind), force)
    if as_json:
        print_json(limits_dict(made))
    elif as_csv:
        click.echo(limits_csv(made), nl=False)
    else:
        print_report(limits_text(made, report_width(width)))
    raise SystemExit(EXIT_OF_VERDICT[made.verdict])


def _end(option: str, text: str | None, kind: str) -> float | None:
    """An end of the search in SI; it must be above zero."""
    from anchorsize.units import UnitError, parse_quantity

    if text is None:
        return None
    try:
        value = parse_quantity(text, kind)
    except UnitError as error:
        refuse(f"{option} '{text}': {error}")
    if not value > 0.0:
        refuse(f"{option} '{text}': the search goes up from zero; name an end above it")
    return value
