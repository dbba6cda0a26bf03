"""``anchorsize curve``: reaction and bolt tension against flow or another input."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, cast

import click

from anchorsize.cli.common import (
    as_json,
    case_file,
    one_output,
    option_option,
    print_found,
    quantity_of,
    readable_errors,
    refuse,
    report_width,
    width_option,
)
from anchorsize.cli.writing import force_option, picture_file, picture_option

if TYPE_CHECKING:
    from anchorsize.studies.curve import Curve, PressureRule


@click.command()
@case_file
@click.option("--case", metavar="NAME", help="Operating case to follow; needed.")
@click.option("--from", "start", default="0", show_default=True, help="First value, with its unit.")
@click.option("--to", "end", metavar="VALUE", help='Last value, with its unit, such as "30 L/s"; needed.')
@click.option("--points", type=click.IntRange(2, 100_000), default=61, show_default=True, help="Number of points.")
@click.option(
    "--pressure",
    type=click.Choice(["held", "from losses", "square"]),
    default=None,
    help="What the given pressures do as the flow changes (default: held).",
)
@option_option
@click.option("--vary", metavar="PATH", help='Input to vary instead of the flow, such as "openings/outlet/bore".')
@as_json
@click.option("--csv", "as_csv", is_flag=True, help="Print comma-separated values (SI, unit in the key).")
@picture_option
@force_option
@width_option
def curve(
    file: Path,
    case: str | None,
    start: str,
    end: str | None,
    points: int,
    pressure: str | None,
    option: str | None,
    vary: str | None,
    as_json: bool,
    as_csv: bool,
    picture: Path | None,
    force: bool,
    width: int | None,
) -> None:
    """Follow reaction, joint actions and bolt tension of a case of FILE from zero to a flow; find the balance flow.

    All flows given for the case scale together; the flow is what enters the fitting. With --vary any number of the file is
    followed instead.

    Example: anchorsize curve examples/terrace_elbow.yaml --case "full flow" --to "30 L/s"
    """
    from anchorsize.present import curve as present

    one_output(as_json, as_csv)
    if vary is not None and pressure is not None:
        refuse("--pressure goes with the flow; with --vary only the input named changes.")
    target = None if picture is None else picture_file(picture, force)
    with readable_errors():
        made = _follow(file, case, (start, end), points, cast("PressureRule", pressure or "held"), vary, option)
        if target is not None:
            target.write(present.curve_picture(made, target.kind))
    print_found(
        as_json,
        as_csv,
        lambda: present.curve_dict(made),
        lambda: present.curve_csv(made),
        lambda: present.curve_text(made, report_width(width)),
    )


def _follow(
    file: Path,
    case: str | None,
    ends: tuple[str, str | None],
    points: int,
    pressure: PressureRule,
    vary: str | None,
    option: str | None,
) -> Curve:
    import numpy as np

    from anchorsize.assessment import with_option
    from anchorsize.casefile import numeric_paths, parse_case
    from anchorsize.casefile.reading import read_text
    from anchorsize.studies.curve import against_flow, against_input

    text = read_text(file)
    if case is None or ends[1] is None:
        cases = ", ".join(f"'{name}'" for name in parse_case(text, str(file)).cases)
        refuse(f"--case NAME and --to VALUE say what to follow and how far; the cases of {file}: {cases}.")
    kind = "flow" if vary is None else numeric_paths(text, str(file)).get(vary)
    if kind is None:
        from anchorsize.casefile.problems import nearest

        refuse(
            f"--vary {vary}: no number of {file} stands there ({nearest(str(vary), numeric_paths(text, str(file)))})"
        )
    first, last = _value("--from", ends[0], kind), _value("--to", ends[1], kind)
    if not first < last:
        refuse(f"--from {ends[0]} is not less than --to {ends[1]}.")
    values = np.linspace(first, last, points)
    if vary is None:
        return against_flow(with_option(parse_case(text, str(file)), option), case, values, pressure)
    return against_input(text, str(file), case, vary, values, option)


def _value(option: str, text: str, kind: str) -> float:
    """A quantity of the command line in SI; a plain 0 needs no unit."""
    return 0.0 if text.strip() == "0" and kind != "temperature" else quantity_of(option, text, kind)
