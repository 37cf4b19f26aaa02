"""Commands about the catalogue: setup, check, load, jobs, settle."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from kitting.cli.options import (
    NO,
    Database,
    DryRun,
    Json,
    console,
    fitting_date,
    open_database,
    print_json,
    print_plain_json,
    remark,
)
from kitting.cli.render.amounts import exact
from kitting.wording.language import _, n_

if TYPE_CHECKING:
    from kitting.services.catalogue.load import LoadReport

Files = Annotated[list[Path], typer.Argument(help="Catalogue files: YAML 1.2, or XLSX.")]


def register(app: typer.Typer) -> None:
    """Add the commands."""
    app.command()(setup)
    app.command()(check)
    app.command()(load)
    app.command()(jobs)
    app.command()(settle)


def setup(database: Database = None) -> None:
    """Create the database (or bring it up to date) and load the general rules per kind.

    Running it again changes nothing that is up to date.

    Example: kitting setup
    """
    from kitting.services.catalogue.setup import set_up
    from kitting.store import database_url

    report = set_up(database_url(database))
    show_report(report)


def check(
    files: Annotated[
        list[Path] | None, typer.Argument(help="Catalogue files: YAML 1.2, or XLSX.")
    ] = None,
    schema: Annotated[
        bool, typer.Option("--schema", help="Print the JSON Schema for editors instead.")
    ] = False,
    database: Database = None,
) -> None:
    """Check catalogue files without loading them: every fault with file and line, or its cell.

    Names may come from the files given, from the general rules, or from the database if there is
    one.

    Example: kitting check my-engine.yaml my-items.yaml
    """
    from kitting.services.catalogue.setup import check_files

    if schema:
        from kitting.files.catalogue.schema import catalogue_schema

        print(catalogue_schema())
        return
    if not files:
        raise typer.BadParameter("name at least one file, or say --schema", param_hint="FILES")
    from kitting.wording.reasons import say

    for reason in check_files(files, database):
        remark(say(reason))
    remark(n_("{count} file without fault", "{count} files without fault", len(files)))


def load(
    files: Files,
    dry_run: DryRun = False,
    compare: Annotated[
        bool,
        typer.Option(
            "--compare", help="Show how the files differ from what is there; nothing is kept."
        ),
    ] = False,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Load catalogue files in one transaction; loading them again changes nothing.

    What a file states of a unit, an item or a car replaces what was stated before. With any fault
    nothing is loaded. --compare ends with exit code 3 where anything differs.

    Example: kitting load my-items.yaml my-engine.yaml --dry-run
    """
    from kitting.services.catalogue.load import compare_sources, load_sources, read_files

    if compare:
        from kitting.cli.render.comparing import show_differences

        view = compare_sources(open_database(database), read_files(files))
        if as_json:
            print_json(view)
        else:
            show_differences(console(), view)
        raise typer.Exit(NO if view.differs else 0)
    report = load_sources(open_database(database), read_files(files), dry_run)
    if as_json:
        print_json_report(report)
    else:
        show_report(report)


def print_json_report(report: LoadReport) -> None:
    """What a load did, as JSON."""
    from dataclasses import asdict

    from kitting.files.output.plain import as_plain

    counts = {sort: asdict(count) for sort, count in report.counts.items()}
    remarks = as_plain(report.remarks)
    print_plain_json({"counts": counts, "remarks": remarks, "dry_run": report.dry_run})


def show_report(report: LoadReport) -> None:
    """What a load did, as a table; remarks beside it."""
    from kitting.cli.render import headings
    from kitting.cli.render.tables import plain_table
    from kitting.wording.reasons import say

    table = plain_table(
        headings.BARE, headings.ADDED, headings.CHANGED, headings.SAME, headings.REMOVED
    )
    for sort, count in report.counts.items():
        figures = (count.added, count.changed, count.same, count.removed)
        if any(figures):
            table.add_row(sort, *(str(figure or "–") for figure in figures))
    console().print(table)
    for reason in report.remarks:
        remark(_("note: {reason}", reason=say(reason)))
    if report.dry_run:
        remark(_("dry run: nothing was kept"))


def jobs(
    registration: Annotated[
        str | None, typer.Argument(help="The car; without it, the cars are listed.")
    ] = None,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """List the jobs that can be planned on a car, with the hours each takes alone.

    Example: kitting jobs "PELL 117"
    """
    from kitting.cli.render import headings
    from kitting.cli.render.days import day_text
    from kitting.cli.render.tables import plain_table
    from kitting.services.planning.jobs import list_cars, list_jobs
    from kitting.store import reading
    from kitting.wording.plan import waits_text

    with reading(open_database(database)) as session:
        if registration is None:
            cars = list_cars(session)
            table = plain_table(headings.REGISTRATION, headings.MODEL, headings.BUILT)
            for car in cars:
                built = day_text(car.build_date) if car.build_date else _("unknown")
                table.add_row(car.registration, car.model, built)
            found: object = cars
        else:
            listed = list_jobs(session, registration, fitting_date(None))
            table = plain_table(
                headings.JOB, headings.WHAT, headings.UNIT, headings.HOURS, headings.NEEDS
            )
            for job in listed:
                hours = exact(job.hours, "each")
                what = f"{job.name}{waits_text(job.stopped_by)}"
                table.add_row(job.code, what, job.unit, hours, ", ".join(job.needs))
            found = listed
    if as_json:
        print_json(found)
    else:
        console().print(table)


def settle(
    registration: Annotated[str, typer.Argument(help="The car, by registration.")],
    variant: Annotated[str, typer.Argument(help="The variant that was open.")],
    option: Annotated[str, typer.Argument(help="The option seen at the car.")],
    despite: Annotated[
        str | None,
        typer.Option(help="Why it holds where what is known of the car speaks against it."),
    ] = None,
    dry_run: DryRun = False,
    database: Database = None,
) -> None:
    """Record which variant was seen at a car, so that its jobs can go on.

    An option that the car cannot have by its build date or equipment needs a reason (--despite).

    Example: kitting settle "PELL 042" cooler late
    """
    from kitting.services.planning.variants import settle_variant

    engine = open_database(database)
    done = settle_variant(engine, registration, variant, option, dry_run, despite=despite)
    before = f" (was {done.before})" if done.before and done.before != done.option else ""
    print(
        _(
            "{registration}: {split} is {option}{before}",
            registration=registration,
            split=done.split,
            option=done.option,
            before=before,
        )
    )
    if done.despite:
        remark(_("recorded against what is known of the car: {despite}", despite=done.despite))
    if dry_run:
        remark(_("dry run: nothing was kept"))
