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
    one_output,
    print_found,
    read,
    readable_errors,
    report_width,
    width_option,
)
from anchorsize.cli.writing import force_option, picture_file, picture_option


@click.command()
@case_file
@as_json
@click.option("--csv", "as_csv", is_flag=True, help="Print comma-separated values (SI, unit in the key).")
@picture_option
@force_option
@width_option
def supports(file: Path, as_json: bool, as_csv: bool, picture: Path | None, force: bool, width: int | None) -> None:
    """Compare the support options of FILE over all operating cases: who carries what, what fails, which holds best and why.

    Exit code 0 if an option holds, 1 if every option fails, 3 if none fails outright but needed data is missing.

    Example: anchorsize supports examples/supported_arm.yaml
    """
    one_output(as_json, as_csv)
    target = None if picture is None else picture_file(picture, force)
    with readable_errors():
        from anchorsize.studies.support_size import size_supports
        from anchorsize.studies.supports import compare

        compared = compare(read(file))
        sizes = {
            option.name: size_supports(compared.study, option.name)
            for option in compared.options
            if option.assessment is not None and option.supports
        }
        if target is not None:
            from anchorsize.present.supports_picture import comparison_picture

            target.write(comparison_picture(compared, target.kind))
    from anchorsize.present.supports import comparison_text
    from anchorsize.present.supports_machine import comparison_csv, comparison_dict

    print_found(
        as_json,
        as_csv,
        lambda: comparison_dict(compared, sizes),
        lambda: comparison_csv(compared),
        lambda: comparison_text(compared, sizes, report_width(width)),
    )
    verdicts = {option.assessment.verdict for option in compared.options if option.assessment is not None}
    raise SystemExit(HOLDS if "holds" in verdicts else INCOMPLETE if "incomplete" in verdicts else FAILS)
