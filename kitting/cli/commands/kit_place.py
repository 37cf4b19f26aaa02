"""The command that moves a kit whole: kit move."""

from __future__ import annotations

from typing import Annotated

import typer

from kitting.cli.options import (
    BookingNumber,
    By,
    Database,
    Json,
    Now,
    console,
    moment,
    open_database,
    print_json,
)
from kitting.cli.retry import insisted


def move(
    number: BookingNumber,
    to: Annotated[str, typer.Argument(metavar="BRANCH", help="The branch or van it goes to.")],
    note: Annotated[
        str | None, typer.Option("--note", metavar="TEXT", help="Why, for the record.")
    ] = None,
    told_by: By = None,
    now: Now = None,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Move a kit whole to another branch or a van, with its lots and trays; back is the same.

    It stays the kit of its booking, and what is promised to it stays so. While it is away nothing
    of it goes back to a shelf, and it is lent only to a kit that lies in the same place.

    Example: kitting kit move B0001 van1 --note "done at the customer's"
    """
    from kitting.cli.render.kit import show_kit
    from kitting.services.bookings.kit_contents import kit_contents
    from kitting.services.bookings.kit_events import Told
    from kitting.services.bookings.kit_place import move_kit
    from kitting.store import reading

    at, told = moment(now), Told(note, told_by)
    insisted(database, lambda engine, token: move_kit(engine, number, to, told, at, token))
    with reading(open_database(database)) as session:
        view = kit_contents(session, number, at.date())
    if as_json:
        print_json(view)
    else:
        show_kit(console(), view)
