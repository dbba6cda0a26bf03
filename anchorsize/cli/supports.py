"""``anchorsize supports``: the support options of a file side by side."""

from __future__ import annotations

from pathlib import Path

import click

from anchorsize.cli.common import (
    FAILS,
    HOLDS,
    INCOMPLETE,
    as_json,
    case_file,
    print_json,
    print_report,
    read,
    readable_errors,
    refuse,
    report_width,
    width_option,
)
from anchorsize.cli.writing import force_option, refuse_to_overwrite, write


@click.command()
@case_file
@as_json
@click.option("--csv", "as_csv", is_flag=True, help="Print comma-separated values (SI, unit in the key).")
@click.option("--picture", type=click.Path(path_type=Path), help="Write a picture, by its name .svg or .png.")
@force_option
@width_option
def supports(file: Path, as_json: bool, as_csv: bool, picture: Path | None, force: bool, width: int | None) -> None:
    """Compare the support options of FILE over all operating cases: who carries what, what fails, which holds best and why.

    Exit code 0 if an option holds, 1 if every option fails, 3 if none fails outright but needed data is missing.

    Example: anchorsize supports examples/supported_arm.yaml
    """
    if as_json and as_csv:
        refuse("--json and --csv at once; choose one.")
    if picture is not None:
        from anchorsize.present.curve import picture_kind

        if picture_kind(picture) is None:
            refuse(f"{picture}: a picture is .svg or .png.")
        refuse_to_overwrite(picture, force)
    with readable_errors():
        from anchorsize.present import supports as present
        from anchorsize.studies.support_size import size_supports
        from anchorsize.studies.supports import compare

        compared = compare(read(file))
        sizes = {
            option.name: size_supports(compared.study, option.name)
            for option in compared.options
            if option.assessment is not None and option.supports
        }
        if picture is not None:
            from anchorsize.present.supports_picture import comparison_picture

            write(picture, comparison_picture(compared, picture.suffix.lower().lstrip(".")), force)
    if as_json:
        print_json(present.comparison_dict(compared, sizes))
    elif as_csv:
        click.echo(present.comparison_csv(compared), nl=False)
    else:
        print_report(present.comparison_text(compared, sizes, report_width(width)))
    verdicts = {option.assessment.verdict for option in compared.options if option.assessment is not None}
    raise SystemExit(HOLDS if "holds" in verdicts else INCOMPLETE if "incomplete" in verdicts else FAILS)
