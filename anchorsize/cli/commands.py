"""The command group. Each command's code is imported only when that command runs."""

from __future__ import annotations

from pathlib import Path

import click

from anchorsize import __version__
from anchorsize.cli.boltup import boltup
from anchorsize.cli.common import (
    altered,
    as_json,
    case_file,
    exit_of_worst,
    option_option,
    print_json,
    print_report,
    read,
    readable_errors,
    refuse,
    repaired_option,
    report_width,
    width_option,
    without_option,
)
from anchorsize.cli.curve import curve
from anchorsize.cli.limits import limits
from anchorsize.cli.many import many
from anchorsize.cli.picture import picture
from anchorsize.cli.report import report
from anchorsize.cli.scatter import scatter
from anchorsize.cli.size import size
from anchorsize.cli.supports import supports


@click.group(context_settings={"help_option_names": ["-h", "--help"]}, invoke_without_command=True)
@click.version_option(__version__, prog_name="anchorsize")
@click.pass_context
def main(context: click.Context) -> None:
    """Reaction, bolt forces and checks of a flanged pipe fitting with fluid running through it.

    Exit codes: 0 everything asked for holds; 1 something does not; 2 the input cannot be used; 3 nothing failed, but a check that
    the job needs could not be made. The codes that apply and licensed review decide, not this tool.
    """
    if context.invoked_subcommand is None:
        click.echo(context.get_help())


@main.command()
@case_file
@option_option
@without_option
@repaired_option
@click.option(
    "--one-lost",
    is_flag=True,
    help="Also judge every joint with each of its bolts lost in turn, worst first.",
)
@click.option(
    "--brief", is_flag=True, help="Print the short form: verdict, on site, what fails or leads, cautions, assumptions."
)
@as_json
@width_option
def check(
    file: Path,
    option: str | None,
    without: tuple[str, ...],
    repaired: bool,
    one_lost: bool,
    brief: bool,
    as_json: bool,
    width: int | None,
) -> None:
    """Judge every bolt of FILE in every operating case.

    Example: anchorsize check examples/terrace_elbow.yaml --without 3
    """
    if brief and as_json:
        refuse("--brief and --json at once; choose one.")
    with readable_errors():
        from anchorsize.assessment import assess
        from anchorsize.studies import lost_bolt, lost_window, torque
        from anchorsize.studies.repaired import repair, windows_after

        study = altered(read(file), without, repaired)
        assessment = assess(study, option)
        windows = torque.windows(assessment, assessment.judged_joints)
        after = windows_after(repair(assessment))
        losses = lost_bolt.any_lost(assessment, assessment.judged_joints) if one_lost else []
        lost_too = lost_window.lost_windows(assessment, assessment.judged_joints) if one_lost else []
    if as_json:
        from anchorsize.present.losses import losses_dict
        from anchorsize.present.repaired import repair_dict
        from anchorsize.present.windows import windows_dict

        more = {
            "tightening": windows_dict(windows),
            "tightening_one_bolt_lost": windows_dict(lost_too),
            "one_bolt_lost": losses_dict(losses),
        }
        print_json({**assessment.to_dict(), **more, "when_repaired": repair_dict(assessment)})
    else:
        from anchorsize.present.brief import brief_report
        from anchorsize.present.losses import any_lost_words, losses_text
        from anchorsize.present.text import check_report
        from anchorsize.present.windows import windows_text

        columns = report_width(width)
        lost = losses_text(losses, assessment, columns) if one_lost else []
        told = brief_report if brief else check_report
        further = [*windows_text(windows, columns, study.units, after, lost_too), *lost]
        print_report(told(assessment, columns, further, any_lost_words(losses) if losses else ""))
    raise SystemExit(exit_of_worst([assessment.verdict, *(row.verdict for row in losses)]))


@main.command()
@case_file
@option_option
@as_json
@width_option
def reactions(file: Path, option: str | None, as_json: bool, width: int | None) -> None:
    """Show the loads by source, the reaction and the joint actions of FILE.

    Example: anchorsize reactions examples/terrace_elbow.yaml
    """
    with readable_errors():
        from anchorsize.assessment import assess

        assessment = assess(read(file), option)
    from anchorsize.present.envelope import envelope_dict, envelope_text
    from anchorsize.studies.envelope import envelope

    extremes = envelope(assessment)
    if as_json:
        from anchorsize.present.machine import reactions_dict

        print_json({**reactions_dict(assessment), "envelope": envelope_dict(extremes)})
    else:
        from anchorsize.present.text import reactions_report

        columns = report_width(width)
        enveloped = envelope_text(extremes, columns, assessment.study.units)
        print_report(f"{reactions_report(assessment, columns)}\n{enveloped}")


@main.command()
@click.argument("shape", required=False)
def start(shape: str | None) -> None:
    """Print a commented case file to begin with; SHAPE picks one for a kind of fitting.

    SHAPE is one of: cap, chain, elbow, lateral (or wye), mitered_elbow, nozzle, plain, reducer, reducing_elbow, straight, tee, us.
    Without SHAPE it is plain: the openings are given, not the shape between them; us is the same in US units; chain is several parts
    one after another.

    Example: anchorsize start > my-fitting.yaml
    """
    from anchorsize.casefile import starter

    try:
        click.echo(starter(shape), nl=False)
    except LookupError as error:
        refuse(str(error.args[0]))


@main.command()
def schema() -> None:
    """Print the JSON Schema of the case file, for editors that complete and check it."""
    from anchorsize.casefile import schema as case_schema

    print_json(case_schema())


@main.command()
@click.argument("name", required=False)
@as_json
@width_option
def table(name: str | None, as_json: bool, width: int | None) -> None:
    """List the reference tables, or show table NAME with the source and status of each row.

    Example: anchorsize table threads_metric
    """
    from anchorsize import reference
    from anchorsize.present.tables import list_tables, show_table, table_dict

    try:
        if name is None:
            tables = [reference.load(each) for each in reference.table_names()]
            if as_json:
                print_json({"tables": [{"name": t.name, "title": t.title, "rows": len(t.rows)} for t in tables]})
            else:
                click.echo(list_tables(tables, report_width(width)), nl=False)
        elif as_json:
            print_json(table_dict(reference.load(name)))
        else:
            click.echo(show_table(reference.load(name), report_width(width)), nl=False)
    except reference.UnknownTable as error:
        refuse(str(error.args[0]))


main.add_command(curve)
main.add_command(supports)
main.add_command(boltup)
main.add_command(size)
main.add_command(many)
main.add_command(report)
main.add_command(picture)
main.add_command(limits)
main.add_command(scatter)
