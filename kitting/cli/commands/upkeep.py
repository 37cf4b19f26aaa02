"""Commands that keep the books: audit, backup, restore."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from kitting.cli.clock import machine
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
from kitting.wording.language import _

Replace = Annotated[bool, typer.Option("--replace", help="Take the place of what is there.")]


def register(app: typer.Typer) -> None:
    """Add the commands."""
    for command in (audit, backup, restore):
        app.command()(command)


def audit(database: Database = None, as_json: Json = False) -> None:
    """Check the books: every balance, promise and kit recomputed from the movements.

    On PostgreSQL the owner of the tables runs it: a login that sees one branch proves nothing about
    the rest. Exit code 3 when there is a fault; it is named, with what is recorded and recomputed.

    Example: kitting audit
    """
    from kitting.services.upkeep.audit import audit as check

    view = check(open_database(database), moment(None))
    if as_json:
        print_json(view)
    else:
        from kitting.cli.render.upkeep import show_audit

        show_audit(console(), view)
    if not view.fine:
        raise typer.Exit(NO)


def backup(
    file: Annotated[Path, typer.Argument(help="The file to write.")],
    replace: Replace = False,
    without_owners: Annotated[
        bool,
        typer.Option("--without-owners", help="Leave out the owners of cars: for a file to share."),
    ] = False,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Write the database as it is now into one file, whole or not at all; others may work on.

    The file is a SQLite database whichever engine it is of, and can be restored into either. It
    holds everything but the logins of a PostgreSQL server. To be shared, it has to be made without
    the owners of cars: names and telephones are personal data. Exit code 3 when it was written,
    but its books do not agree.

    Example: kitting backup kitting-backup.db
    """
    from kitting.services.upkeep.backup import back_up
    from kitting.store import database_url

    url = database_url(database)
    view = back_up(url, file, moment(None), replace, without_owners=without_owners)
    if as_json:
        print_json(view)
    else:
        from kitting.cli.render.upkeep import show_backup

        show_backup(view)
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

    view = bring_back(database_url(database), file, machine(), replace)
    if as_json:
        print_json(view)
    else:
        from kitting.cli.render.upkeep import show_restore

        show_restore(view)
    if view.kept_as is not None:
        remark(_("what was there before: {kept_as}", kept_as=view.kept_as))
    if view.now != view.revision:
        remark(
            f"brought from revision {view.revision} up to {view.now}. Run 'kitting setup' once, for"
            " the general rules of this program"
        )
    if not view.fine:
        raise typer.Exit(NO)
