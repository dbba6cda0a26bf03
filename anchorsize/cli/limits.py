"""``anchorsize limits``: how far flow and pressure may go."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, cast

import click

from anchorsize.cli.common import (
    EXIT_OF_VERDICT,
    altered,
    as_json,
    case_file,
    one_output,
    option_option,
    print_found,
    quantity_of,
    read,
    readable_errors,
    refuse,
    repaired_option,
    report_width,
    width_option,
    without_option,
)
from anchorsize.cli.writing import force_option, picture_file, picture_option

if TYPE_CHECKING:
    from anchorsize.studies.curve import PressureRule


@click.command()
@case_file
@option_option
@without_option
@repaired_option
@click.option("--case", "cases", multiple=True, help="Operating case to ask about (default: all); may be given again.")
@click.option(
    "--pressure",
    type=click.Choice(["held", "from losses", "square"]),
    default="held",
    show_default=True,
    help="What the given pressures do as the flow changes.",
)
@click.option("--at", metavar="OPENING", help="Opening whose pressure is named (default: where the flow enters).")
@click.option(
    "--to-flow",
    help='Greatest flow to look at, such as "60 L/s" (default: that at which the fastest stream runs at 100 m/s, or 100 times the case\'s own if more).',
)
@click.option(
    "--to-pressure",
    help='Greatest pressure to look at, such as "10 bar" (default: 1000 bar, or 100 times the case\'s own if more).',
)
@click.option(
    "--points",
    type=click.IntRange(3, 2001),
    default=41,
    show_default=True,
    help="Flows, and pressures, at which the boundary is found.",
)
@as_json
@click.option("--csv", "as_csv", is_flag=True, help="Print the boundary as comma-separated values (SI).")
@picture_option
@force_option
@width_option
def limits(
    file: Path,
    option: str | None,
    without: tuple[str, ...],
    repaired: bool,
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
    one_output(as_json, as_csv)
    target = None if picture is None else picture_file(picture, force)
    with readable_errors():
        from anchorsize.studies.limits import Ask
        from anchorsize.studies.limits import limits as found

        ends = _end("--to-flow", to_flow, "flow"), _end("--to-pressure", to_pressure, "pressure")
        asked = Ask(cast("PressureRule", pressure), at, *ends, points, cases)
        made = found(altered(read(file), without, repaired), asked, option)
        if target is not None:
            from anchorsize.present.limits_picture import limits_picture

            target.write(limits_picture(made, target.kind))
    from anchorsize.present.limits import limits_text
    from anchorsize.present.limits_machine import limits_csv, limits_dict

    print_found(
        as_json,
        as_csv,
        lambda: limits_dict(made),
        lambda: limits_csv(made),
        lambda: limits_text(made, report_width(width)),
    )
    raise SystemExit(EXIT_OF_VERDICT[made.verdict])


def _end(option: str, text: str | None, kind: str) -> float | None:
    """An end of the search in SI; it must be above zero."""
    if text is None:
        return None
    value = quantity_of(option, text, kind)
    if not value > 0.0:
        refuse(f"{option} '{text}': the search goes up from zero; name an end above it")
    return value
