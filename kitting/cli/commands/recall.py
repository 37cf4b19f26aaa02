"""The command that finds everything of a lot."""

from __future__ import annotations

from typing import Annotated

import typer

from kitting.cli.options import (
    NO,
    Database,
    Json,
    OnDate,
    console,
    fitting_date,
    open_database,
    print_json,
)


def recall(
    lot: Annotated[str, typer.Argument(help="The lot.")],
    item: Annotated[str | None, typer.Option("--item", help="If lots share a name.")] = None,
    on: OnDate = None,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Tell where everything of a lot is: closed jobs, kits, shelves, on the way.

    Exit code 3 when some of it has left the shelves.

    Example: kitting recall N11-24
    """
    from kitting.cli.render.stock import show_recall
    from kitting.services.stock.recall import recall as find
    from kitting.store import reading

    with reading(open_database(database)) as session:
        view = find(session, lot, fitting_date(on), item)
    if as_json:
        print_json(view)
    else:
        show_recall(console(), view)
    if view.bookings or view.on_the_way:
        raise typer.Exit(NO)
