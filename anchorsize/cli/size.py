"""``anchorsize size``: bolt counts, sizes, circles, classes and tightening that hold."""

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
    readable_errors,
    refuse,
    report_width,
    width_option,
)
from anchorsize.cli.writing import force_option, refuse_to_overwrite, write

if TYPE_CHECKING:
    from anchorsize.studies.size import Rank, Sized
    from anchorsize.study import Study


@click.command()
@case_file
@click.option("--joint", default=None, help="Joint to choose bolts for (needed where the file has several).")
@click.option("--counts", metavar="LIST", help='Bolt counts to choose from, such as "4,8,12".')
@click.option("--sizes", metavar="LIST", help='Bolt sizes, such as "M12, M16" or "5/8 in, 3/4 in".')
@click.option("--circles", metavar="LIST", help='Bolt circles, such as "160 mm, 180 mm".')
@click.option("--classes", metavar="LIST", help='Property classes or grades, such as "8.8, 10.9".')
@click.option("--torques", metavar="LIST", help='Torques per bolt, such as "90 N*m, 120 N*m".')
@click.option("--preload-share", metavar="LIST", help='Preload as a share of the proof load, such as "60 %, 70 %".')
@click.option(
    "--flanges",
    metavar="LIST",
    help='Standard flanges with drilling, outside, thickness and hole, such as "EN 1092-1 PN 16 DN 100".',
)
@click.option(
    "--standard",
    is_flag=True,
    help="All tabled flanges of the nominal size nearest the bore, of the standard of the file's flange or, without one, of its bolts' threads.",
)
@click.option(
    "--rank",
    type=click.Choice(["fewest", "lightest", "margin"]),
    default="fewest",
    show_default=True,
    help="What comes first.",
)
@click.option("--robust", is_flag=True, help="Every check must also hold with any one bolt missing.")
@click.option("--top", type=click.IntRange(1, 100_000), default=10, show_default=True, help="Rows shown of each list.")
@click.option(
    "--write", "target", type=click.Path(path_type=Path), help="Write FILE with the first choice in it to this name."
)
@click.option("--take", type=click.IntRange(1), default=1, show_default=True, help="Which of what holds to write.")
@force_option
@option_option
@as_json
@width_option
def size(
    file: Path,
    joint: str | None,
    counts: str | None,
    sizes: str | None,
    circles: str | None,
    classes: str | None,
    torques: str | None,
    preload_share: str | None,
    flanges: str | None,
    standard: bool,
    rank: str,
    robust: bool,
    top: int,
    target: Path | None,
    take: int,
    force: bool,
    option: str | None,
    as_json: bool,
    width: int | None,
) -> None:
    """Judge every combination of bolts that is allowed for a joint of FILE, in every case, and rank what holds.

    What may be chosen stands in FILE under `sizing`, of the joint or of the file, or in the lists here, which go before it. What
    no list names stays as FILE has it. Beside --standard or --flanges, counts, sizes and circles choose among those flanges.

    Example: anchorsize size examples/terrace_elbow.yaml --counts 4,8 --sizes M12,M16
    """
    lists = {
        "counts": counts,
        "sizes": sizes,
        "circles": circles,
        "classes": classes,
        "torques": torques,
        "preload_share": preload_share,
        "flanges": flanges,
        "standard": "yes" if standard else None,
    }
    if target is not None:
        refuse_to_overwrite(target, force)
    with readable_errors():
        from anchorsize.casefile import parse_case
        from anchorsize.casefile.build_sizing import sizing_of_words
        from anchorsize.casefile.reading import read_text
        from anchorsize.studies.size import size as find

        text = read_text(file)
        asked = sizing_of_words({key: words for key, words in lists.items() if words is not None})
        study = parse_case(text, str(file))
        found = find(study, _joint(study, joint), asked, cast("Rank", rank), robust, option)
        if target is not None:
            _write(found, text, target, take, force)
    if as_json:
        from anchorsize.present.size_machine import size_dict

        print_json(size_dict(found))
    else:
        from anchorsize.present.size import size_text

        print_report(size_text(found, report_width(width), top))
    raise SystemExit(EXIT_OF_VERDICT[found.verdict])


def _joint(study: Study, name: str | None) -> str:
    if name is None and len(study.joints) != 1:
        refuse(
            f"the file has {len(study.joints)} joints ({', '.join(study.joints)}); name one with --joint."
            if study.joints
            else "the file has no joint."
        )
    return name or next(iter(study.joints))


def _write(found: Sized, text: str, target: Path, take: int, force: bool) -> None:
    """Write the chosen one, if any holds; the report that follows says what stops the others."""
    from anchorsize.studies.size_writing import written

    if not found.holding:
        click.echo(f"Nothing holds, so {target} was not written.", err=True)
        return
    if take > len(found.holding):
        refuse(f"--take {take}: only {len(found.holding)} of the candidates hold.")
    chosen = found.holding[take - 1].candidate
    new = written(text, str(target), found.study, found.joint, chosen, found.option, found.robust)
    write(target, new.encode(), force)
    click.echo(f"{target}: number {take} of what holds is written in.", err=True)
