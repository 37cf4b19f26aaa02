"""Commands about a branch: its ramps and its technicians."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from kitting.cli.commands.catalogue import show_report
from kitting.cli.options import (
    Branch,
    Database,
    DryRun,
    Json,
    console,
    open_database,
    print_json,
)

app = typer.Typer(
    help="Tell the ramps of a branch and the technicians who work there, and show them.",
    no_args_is_help=True,
    rich_markup_mode=None,
)
Files = Annotated[list[Path], typer.Argument(help="Lists, CSV or XLSX.")]


def register(root: typer.Typer) -> None:
    """Add the group."""
    root.add_typer(app, name="branch")


@app.command()
def ramps(files: Files, dry_run: DryRun = False, database: Database = None) -> None:
    """Load ramps from lists (branch, ramp, takes, hours), all of them or nothing.

    A list describes the branches that it names wholly. Hours are those of a working day.

    Example: kitting branch ramps my-ramps.csv --dry-run
    """
    from kitting.services.bookings.staff import load_ramps

    show_report(load_ramps(open_database(database), files, dry_run))


@app.command()
def technicians(files: Files, dry_run: DryRun = False, database: Database = None) -> None:
    """Load technicians from lists (branch, technician, mon … sun, licences, away), all or nothing.

    Hours stand under each weekday. Licences are written 'refrigerant to 2027-01-31; restraints',
    absences '2026-04-20 to 2026-04-24; 2026-05-01'.

    Example: kitting branch technicians my-technicians.csv --dry-run
    """
    from kitting.services.bookings.staff import load_technicians

    show_report(load_technicians(open_database(database), files, dry_run))


@app.command()
def show(branch: Branch = None, database: Database = None, as_json: Json = False) -> None:
    """Show the ramps and technicians of a branch, or of all.

    Example: kitting branch show --branch upper
    """
    from kitting.cli.render.work_day import show_staff
    from kitting.services.bookings.staff import list_staff
    from kitting.services.branches import branch_codes
    from kitting.store import reading

    with reading(open_database(database)) as session:
        found = list_staff(session, branch_codes(session, branch))
    if as_json:
        print_json(found)
    else:
        show_staff(console(), found)
