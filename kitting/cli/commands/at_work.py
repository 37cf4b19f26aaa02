"""Commands at the bench and the ramp: pick, count, van."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from kitting.cli.commands.bookings import answer_ready
from kitting.cli.commands.scanned import say_unused
from kitting.cli.options import (
    NO,
    BookingNumber,
    Boxes,
    Database,
    Json,
    Now,
    OnDate,
    console,
    fitting_date,
    moment,
    open_database,
    print_json,
)
from kitting.cli.retry import insisted

if TYPE_CHECKING:
    pass


def register(root: typer.Typer) -> None:
    """Add the commands."""
    root.command()(pick)
    root.command()(count)
    root.command()(van)


def pick(
    number: BookingNumber,
    scan: Annotated[
        list[str] | None,
        typer.Option("--scan", help="A packet that was scanned; several: only these are picked."),
    ] = None,
    now: Now = None,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Put into the kit what is promised from the shelves; what is on hold or expired stays there.

    With --scan only the packets that were scanned, and one that is not promised is refused. Exit
    code 3 when the kit is not whole yet.

    Example: kitting pick B0001
    """
    from kitting.facts.gs1 import read_scan, unread_text
    from kitting.services.bookings import pick as picking
    from kitting.services.bookings.scanned import not_on_record
    from kitting.store import reading

    at, scans = moment(now), [read_scan(text) for text in scan or ()]
    view = insisted(database, lambda engine, token: picking.pick(engine, number, at, token, scans))
    if scans:
        with reading(open_database(database)) as session:
            missing = not_on_record(session, number, scans)
        say_unused([unread_text((*one.counts, *one.unread)) for one in scans], missing)
    answer_ready(view, as_json)


def count(
    number: BookingNumber,
    counts: Annotated[
        list[str] | None, typer.Argument(help="JOINT=PIECES, several if you like.")
    ] = None,
    now: Now = None,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Count old seals out of joints; without one, show what has to come out and what did.

    Exit code 3 while a count differs: the tightening and refit sheets are withheld.

    Example: kitting count B0001 intake=5
    """
    from kitting.cli.render.bookings import show_removal
    from kitting.services.bookings.seal_count import count_seals, removal_view
    from kitting.services.bookings.states import find_booking
    from kitting.store import reading

    engine, counted = open_database(database), {}
    for text in counts or ():
        joint, sign, pieces = text.partition("=")
        if not sign or not pieces.strip().isdecimal():
            raise typer.BadParameter(f"{text!r}: write JOINT=PIECES, for example intake=5")
        counted[joint.strip()] = int(pieces)
    if counted:
        view = count_seals(engine, number, counted, moment(now))
    else:
        with reading(engine) as session:
            view = removal_view(session, find_booking(session, number))
    if as_json:
        print_json(view)
    else:
        show_removal(console(), view)
    if view.withheld:
        raise typer.Exit(NO)


def van(
    branch: Annotated[str, typer.Argument(help="The van, by its branch.")],
    on: OnDate = None,
    boxes: Boxes = None,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Show a day's stops of a van: what to load, tools missing, and unaccounted parts.

    Exit code 3 while a kit lacks something, a tool is missing, or picked parts are unaccounted for.

    Example: kitting van van1 --on 2026-04-09 --box van
    """
    from kitting.cli.render.bookings import show_van
    from kitting.services.bookings.van_day import van as find
    from kitting.store import reading

    with reading(open_database(database)) as session:
        view = find(session, branch, fitting_date(on), boxes or (), fitting_date(None))
    if as_json:
        print_json(view)
    else:
        show_van(console(), view)
    if view.tools or view.unaccounted or any(stop.doubts for stop in view.stops):
        raise typer.Exit(NO)
