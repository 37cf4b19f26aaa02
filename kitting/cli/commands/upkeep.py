"""Commands that keep the books: audit, backup, restore."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from kitting.cli.options import (
    NO,
    Database,
    Json,
    console,
    moment,
    open_database,
    print_json,
    remark,
)

if TYPE_CHECKING:
    from kitting.views.upkeep import AuditFaultView, AuditView

Replace = Annotated[bool, typer.Option("--replace", help="Take the place of what is there.")]


def register(app: typer.Typer) -> None:
    """Add the commands."""
    for command in (audit, backup, restore):
        app.command()(command)


def audit(database: Database = None, as_json: Json = False) -> None:
    """Check the books: every balance, promise and kit recomputed from the movements.

    On PostgreSQL the owner of the tables does it; whoever sees one branch proves nothing of the
    rest. Exit code 3 when there is a fault: it is named, with what is written and what it comes to.

    Example: kitting audit
    """
    from kitting.services.upkeep.audit import audit as check

    view = check(open_database(database), moment(None))
    if as_json:
        print_json(view)
    else:
        show_audit(view)
    if not view.fine:
        raise typer.Exit(NO)


def backup(
    file: Annotated[Path, typer.Argument(help="The file to write.")],
    replace: Replace = False,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Write the database as it is now into one file, whole or not at all; others may work on.

    The file is a SQLite database whichever engine it is of, and can be restored into either. It
    holds everything but the logins of a PostgreSQL server. Exit code 3 when it was written, but
    its books do not agree.

    Example: kitting backup kitting-backup.db
    """
    from kitting.services.upkeep.backup import back_up
    from kitting.store import database_url

    view = back_up(database_url(database), file, moment(None), replace)
    if as_json:
        print_json(view)
    else:
        print(
            f"{view.file}: {view.rows} rows of {view.tables} tables from {view.engine},"
            f" revision {view.revision}, {_size(view.size)}"
        )
        print(f"audit: {view.verdict}")
        if view.audit is not None:
            _faults(view.audit)
    if not view.fine:
        raise typer.Exit(NO)


def restore(
    file: Annotated[Path, typer.Argument(help="The backup.")],
    replace: Annotated[
        bool,
        typer.Option("--replace", help="Keep the SQLite file that is there beside, by its date."),
    ] = False,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Put a backup into a database that is not set up or holds nothing, all of it or nothing.

    The engine need not be the one that it is of. Exit code 3 when it was restored, but its books do
    not agree.

    Example: kitting restore kitting-backup.db --replace
    """
    from kitting.services.upkeep.restore import restore as bring_back
    from kitting.store import database_url

    view = bring_back(database_url(database), file, moment(None), replace)
    if as_json:
        print_json(view)
    else:
        print(
            f"{view.into}: {view.rows} rows of {view.tables} tables from {view.file}, revision"
            f" {view.now}"
        )
        print(f"audit: {view.verdict}")
        _faults(view.audit)
    if view.kept_as is not None:
        remark(f"what was there before: {view.kept_as}")
    if view.now != view.revision:
        remark(
            f"brought from revision {view.revision} up to {view.now}. Run 'kitting setup' once, for"
            " the general rules of this program"
        )
    if not view.fine:
        raise typer.Exit(NO)


def show_audit(view: AuditView) -> None:
    """One row per check, then each fault with what to do."""
    from rich.table import Table

    table = Table(box=None, pad_edge=False, header_style="bold", padding=(0, 2, 0, 0))
    for heading in ("check", "that", "looked at", "faults"):
        right = heading in ("looked at", "faults")
        table.add_column(heading, overflow="fold", justify="right" if right else "left")
    for check in view.checks:
        table.add_row(
            check.check, check.meaning, f"{check.looked_at} {check.of}", str(check.faults)
        )
    out = console()
    out.print(table)
    _faults(view)
    for text in view.remarks:
        remark(f"note: {text}")
    print(f"{view.engine}, revision {view.revision}: {view.verdict}")


def _faults(view: AuditView) -> None:
    for check in view.checks:
        if not check.faults:
            continue
        print(f"{check.check.upper()}: {check.next_step}")
        for fault in check.shown:
            print(f"  {_fault(fault)}")
        if check.faults > len(check.shown):
            print(f"  and {check.faults - len(check.shown)} more")


def _fault(fault: AuditFaultView) -> str:
    from kitting.facts.units import show_quantity

    where = ", ".join(
        text
        for text in (
            fault.item,
            fault.lot and f"lot {fault.lot}",
            fault.place and f"in {fault.place}",
        )
        if text
    )
    thing = fault.thing if fault.thing != f"lot {fault.lot}" else ""
    named = ": ".join(text for text in (thing, where) if text)
    if fault.recorded is None or fault.recomputed is None:
        return f"{named}: {fault.told}"
    unit = fault.unit or "each"
    stands, comes = (show_quantity(n, unit) for n in (fault.recorded, fault.recomputed))
    return f"{named}: {fault.told}: {stands} written, {comes} recomputed"


def _size(size: int) -> str:
    return f"{size / 1_000_000:.1f} MB"
