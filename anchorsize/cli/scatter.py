"""``anchorsize scatter``: how often each check fails when the inputs scatter as the file says."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Literal, cast

import click

from anchorsize.cli.common import (
    EXIT_OF_VERDICT,
    as_json,
    case_file,
    one_output,
    option_option,
    print_found,
    readable_errors,
    report_width,
    width_option,
)
from anchorsize.cli.writing import force_option, picture_file

DEFAULT_SAMPLES, DEFAULT_SEED, MOST_SAMPLES = 10_000, 20, 1_000_000_000


@click.command()
@case_file
@click.option(
    "--samples",
    type=click.IntRange(10, MOST_SAMPLES),
    default=DEFAULT_SAMPLES,
    show_default=True,
    help="Samples to judge.",
)
@click.option(
    "--seed", type=click.IntRange(0), default=DEFAULT_SEED, show_default=True, help="The same seed, the same samples."
)
@click.option(
    "--sampling",
    type=click.Choice(["latin", "random"]),
    default="latin",
    show_default=True,
    help="Stratified in each input (Latin hypercube), or plain.",
)
@click.option(
    "--truncate", is_flag=True, help="Draw inside the range where an input's distribution leaves what it can be."
)
@option_option
@as_json
@click.option("--csv", "as_csv", is_flag=True, help="Print comma-separated values, one row per check.")
@click.option("--picture", type=click.Path(path_type=Path), help="Write a histogram, by its name .svg or .png.")
@force_option
@click.option("--quiet", is_flag=True, help="Show no progress.")
@width_option
def scatter(
    file: Path,
    samples: int,
    seed: int,
    sampling: str,
    truncate: bool,
    option: str | None,
    as_json: bool,
    as_csv: bool,
    picture: Path | None,
    force: bool,
    quiet: bool,
    width: int | None,
) -> None:
    """Judge many samples of the inputs of FILE that carry a ±: how often each check fails, and what drives it.

    Write a ± as '45 kPa ± 10 %', '45 ± 3 kPa' or {value: 45 kPa, plus_minus: 3 kPa, shape: uniform}; it is two standard
    deviations of a normal distribution, or the end of a uniform one.

    Example: anchorsize scatter my-fitting.yaml --samples 100000 --picture scatter.svg
    """
    one_output(as_json, as_csv)
    target = None if picture is None else picture_file(picture, force)
    with readable_errors():
        from anchorsize.casefile.reading import read_text
        from anchorsize.studies.scatter import scatter as judge

        text = read_text(file)
        way = cast('Literal["latin", "random"]', sampling)
        with _progress(samples, quiet) as show:
            found = judge(text, str(file), samples, seed, option, way, truncate, progress=show)
        if target is not None:
            from anchorsize.present.pictures.scatter import scatter_picture

            target.write(scatter_picture(found, target.kind))
    from anchorsize.present import scatter as present

    print_found(
        as_json,
        as_csv,
        lambda: present.scatter_dict(found),
        lambda: present.scatter_csv(found),
        lambda: present.scatter_text(found, report_width(width)),
    )
    raise SystemExit(EXIT_OF_VERDICT[found.verdict])


@contextmanager
def _progress(samples: int, quiet: bool) -> Iterator[Callable[[int], object]]:
    """A bar on stderr where that is a terminal and it is wanted, else nothing."""
    if quiet or not sys.stderr.isatty():
        yield lambda _: None
        return
    with click.progressbar(length=samples, label="samples", file=sys.stderr) as bar:
        yield bar.update
