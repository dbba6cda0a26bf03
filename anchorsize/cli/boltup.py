"""``anchorsize boltup``: the installer's sheet of one joint."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path

import click

from anchorsize.cli.common import (
    EXIT_OF_VERDICT,
    HOLDS,
    INCOMPLETE,
    altered,
    as_json,
    case_file,
    option_option,
    print_json,
    print_report,
    read,
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


@click.command()
@case_file
@click.option("-o", "--output", type=click.Path(path_type=Path), help="Page to write, such as sheet.html.")
@option_option
@without_option
@repaired_option
@click.option("--joint", metavar="NAME", help="Joint to bolt up (may be left out where there is only one).")
@force_option
@open_option
@as_json
def boltup(
    file: Path,
    output: Path | None,
    option: str | None,
    without: tuple[str, ...],
    repaired: bool,
    joint: str | None,
    force: bool,
    opened: bool,
    as_json: bool,
) -> None:
    """Write the installer's sheet of a joint of FILE: one printed page with picture, order, torques, checks and record.

    A joint that does not hold, or is not fully judged, still gets its sheet, with a loud line at its head; the exit code tells.
    Without tightening in the file, or with bolts found at torques that differ and no target, the sheet gives no torque, and the exit code
    is 3; one torque for every bolt is what the sheet gives.

    Example: anchorsize boltup examples/wye_missing_bolt.yaml -o sheet.html
    """
    if output is None and not as_json:
        refuse("-o is missing: give the page to write, such as -o sheet.html (or --json).")
    if output is None and opened:
        refuse("--open shows the page that -o writes; give -o as well.")
    if output is not None:
        refuse_ending(output, PAGES, "the sheet")
        refuse_to_overwrite(output, force)
    with readable_errors():
        from anchorsize.assessment import assess
        from anchorsize.assessment.results import NotHeldError
        from anchorsize.present.boltup_head import not_held_words
        from anchorsize.studies.boltup import boltup as plan_of

        as_given = read(file)
        study, before = altered(as_given, without, repaired), None
        try:
            assessment = assess(study, option)
        except NotHeldError as error:
            refuse(not_held_words(str(error), as_given, repaired))
        if repaired:
            with suppress(NotHeldError):
                before = assess(as_given, option)
        plan = plan_of(assessment, joint, as_given if repaired else None)
    from anchorsize.present import boltup as present
    from anchorsize.present.boltup_window import aimed_at
    from anchorsize.studies.repaired import repair

    if output is not None:
        write(output, present.sheet_html(assessment, plan, before).encode("utf-8"), force)
    if as_json:
        print_json(present.sheet_dict(assessment, plan, before))
    else:
        print_report(present.written_text(assessment, plan, str(output), before))
    if output is not None and opened:
        show_in_browser(output)
    code = EXIT_OF_VERDICT[assessment.verdict]
    if code == HOLDS:  # as found; what the sheet leads to must hold as well
        code = EXIT_OF_VERDICT[aimed_at(assessment, repair(assessment)).verdict]
    raise SystemExit(INCOMPLETE if code == HOLDS and not plan.groups else code)
