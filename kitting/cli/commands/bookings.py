"""Commands about bookings: book, booking (list, show, confirm …), pick, close."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Annotated

import typer

from kitting.cli.options import (
    NO,
    Boxes,
    Branch,
    Database,
    Jobs,
    Json,
    Now,
    OnDate,
    Registration,
    Shelf,
    amount,
    console,
    fitting_date,
    moment,
    open_database,
    print_json,
    remark,
)
from kitting.cli.retry import insisted
from kitting.views.bookings import BookingView

if TYPE_CHECKING:
    from kitting.facts.units import Quantity

app = typer.Typer(
    help="Bookings: a car, its jobs, a date, and what is promised to it.",
    no_args_is_help=True,
    rich_markup_mode=None,
)
Number = Annotated[str, typer.Argument(help="The number of the booking.")]


def register(root: typer.Typer) -> None:
    """Add the commands."""
    root.command()(book)
    root.command()(pick)
    root.command()(count)
    root.command()(close)
    root.command()(van)
    root.add_typer(app, name="booking")


def _answer(view: BookingView, as_json: bool) -> None:
    if as_json:
        print_json(view)
    else:
        from kitting.cli.render.bookings import show_booking

        show_booking(console(), view)


def book(
    registration: Registration,
    jobs: Jobs,
    on: Annotated[str, typer.Option("--on", help="The fitting date, YYYY-MM-DD.")],
    branch: Branch = None,
    shelf: Shelf = "ISO 2230",
    again: Annotated[
        bool, typer.Option("--again", help="Though the car is booked for the job already.")
    ] = False,
    now: Now = None,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Book a car provisionally and promise it what is free on the shelves and to come.

    Exit code 3 while something is short: buy it, then confirm the booking.

    Example: kitting book "PELL 117" J1 J2 --on 2026-04-15 --branch upper --now "2026-04-02 14:20"
    """
    from kitting.services.bookings import booking as bookings

    engine = open_database(database)
    view = bookings.book(
        engine, registration, jobs, fitting_date(on), moment(now), branch, shelf, again
    )
    _answer(view, as_json)
    if not view.ready:
        raise typer.Exit(NO)


@app.command("list")
def list_command(
    branch: Branch = None,
    everything: Annotated[bool, typer.Option("--all", help="Closed and cancelled too.")] = False,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """List the open bookings by fitting date, with how many lines nothing covers.

    Example: kitting booking list --branch upper
    """
    from kitting.cli.render.bookings import show_bookings
    from kitting.facts.words import OPEN_BOOKINGS, BookingState
    from kitting.services.bookings.view import list_bookings
    from kitting.services.branches import find_branch
    from kitting.store import reading

    with reading(open_database(database)) as session:
        owner = find_branch(session, branch).id if branch else None
        found = list_bookings(session, owner, tuple(BookingState) if everything else OPEN_BOOKINGS)
    if as_json:
        print_json(found)
    else:
        show_bookings(console(), found)


@app.command()
def show(
    number: Number, shelf: Shelf = "ISO 2230", database: Database = None, as_json: Json = False
) -> None:
    """Show a booking: what covers each line, what is short and who has it.

    Exit code 3 while something that has to be there is not.

    Example: kitting booking show B0001
    """
    from kitting.services.bookings.booking import find_booking
    from kitting.services.bookings.view import booking_view
    from kitting.store import reading

    with reading(open_database(database)) as session:
        view = booking_view(session, find_booking(session, number), shelf)
    _answer(view, as_json)
    if not view.ready:
        raise typer.Exit(NO)


@app.command()
def promise(number: Number, shelf: Shelf = "ISO 2230", database: Database = None) -> None:
    """Plan a booking again by the catalogue as it is now, and promise it what is free by now.

    Example: kitting booking promise B0001
    """
    from kitting.services.bookings.booking import renew_promises

    view = renew_promises(open_database(database), number, shelf)
    _answer(view, False)
    if not view.ready:
        raise typer.Exit(NO)


@app.command()
def take(
    number: Number,
    item: Annotated[str, typer.Argument(help="The item.")],
    other: Annotated[str, typer.Option("--from", help="The booking that has it promised.")],
    database: Database = None,
) -> None:
    """Move promises of an item from another booking, by name; only as much as is lacking.

    Example: kitting booking take B0002 SEAL-INTAKE --from B0001
    """
    from kitting.services.bookings.booking import take_from

    view = take_from(open_database(database), number, item, other)
    _answer(view, False)
    if not view.ready:
        raise typer.Exit(NO)


@app.command()
def confirm(
    number: Number,
    reason: Annotated[
        str | None, typer.Option("--incomplete", help="Confirm all the same, for this reason.")
    ] = None,
    database: Database = None,
) -> None:
    """Confirm a booking: every line that has to be there is received and checked.

    Exit code 3, and nothing is changed, while something lacks and no reason is given.

    Example: kitting booking confirm B0001 --incomplete "customer waits, seals come Wednesday"
    """
    from kitting.services.bookings.booking import step_to

    view = step_to(open_database(database), number, "confirmed", reason)
    if view.state != "confirmed":
        _stays(view)
    print(f"{view.number}: confirmed for {view.fit_on}")
    _ages(view)


@app.command()
def ramp(
    number: Number,
    reason: Annotated[
        str | None, typer.Option("--incomplete", help="All the same, for this reason.")
    ] = None,
    database: Database = None,
) -> None:
    """Record that the car is on the ramp; what lacks, or is held by now, is told first.

    Exit code 3, and nothing is changed, while something lacks and no reason was given.

    Example: kitting booking ramp B0001
    """
    from kitting.services.bookings.booking import step_to

    view = step_to(open_database(database), number, "on the ramp", reason)
    if view.state != "on the ramp":
        _stays(view)
    print(f"{view.number}: {view.state}")
    _ages(view)


def _stays(view: BookingView) -> None:
    for text in view.lacking:
        print(text)
    remark(f"{view.number} stays {view.state}")
    raise typer.Exit(NO)


def _ages(view: BookingView) -> None:
    """Rubber of unknown age is no fault and no comfort: it is said."""
    for need in view.needs:
        for source in need.sources:
            if source.warning is not None and source.warning.startswith("AGE UNKNOWN"):
                remark(f"{need.item}, {source.source}: {source.warning}")


@app.command()
def cancel(number: Number, now: Now = None, database: Database = None) -> None:
    """Cancel a booking: promises are free again, what was picked goes back to its lots.

    Example: kitting booking cancel B0001
    """
    from kitting.services.bookings import pick as picking

    at = moment(now)
    view = insisted(database, lambda engine, token: picking.cancel(engine, number, at, token=token))
    print(f"{view.number}: cancelled, its promises are free")


def pick(
    number: Number, shelf: Shelf = "ISO 2230", now: Now = None, database: Database = None,
    as_json: Json = False,
) -> None:  # fmt: skip
    """Put into the kit what is promised from the shelves; held and expired stock stays.

    Exit code 3 when the kit is not whole yet.

    Example: kitting pick B0001
    """
    from kitting.services.bookings import pick as picking

    at = moment(now)
    view = insisted(database, lambda engine, token: picking.pick(engine, number, at, shelf, token))
    _answer(view, as_json)
    if not view.ready:
        raise typer.Exit(NO)


def count(
    number: Number,
    counts: Annotated[
        list[str] | None, typer.Argument(help="JOINT=PIECES, several if you like.")
    ] = None,
    now: Now = None,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Count old seals out of joints; without one, show what has to come out and what did.

    Exit code 3 while a count differs: the refit sheet is withheld.

    Example: kitting count B0001 intake=5
    """
    from kitting.cli.render.bookings import show_removal
    from kitting.services.bookings.booking import find_booking
    from kitting.services.bookings.seal_count import count_seals, removal_view
    from kitting.store import reading

    engine, told = open_database(database), {}
    for text in counts or ():
        joint, sign, pieces = text.partition("=")
        if not sign or not pieces.strip().isdecimal():
            raise typer.BadParameter(f"{text!r}: write JOINT=PIECES, for example intake=5")
        told[joint.strip()] = int(pieces)
    if told:
        view = count_seals(engine, number, told, moment(now))
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
    shelf: Shelf = "ISO 2230",
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Show a day's stops of a van: what to load, tools missing, and what is not told of yet.

    Exit code 3 while a kit lacks something, a tool is missing, or picked goods are untold.

    Example: kitting van van1 --on 2026-04-09 --box van
    """
    from kitting.cli.render.bookings import show_van
    from kitting.services.bookings.van_day import van as find
    from kitting.store import reading

    with reading(open_database(database)) as session:
        view = find(session, branch, fitting_date(on), boxes or (), shelf)
    if as_json:
        print_json(view)
    else:
        show_van(console(), view)
    if view.tools or view.untold or any(stop.lacking for stop in view.stops):
        raise typer.Exit(NO)


def close(
    number: Number,
    back: Annotated[
        list[str] | None, typer.Option("--back", help="Not used: ITEM=AMOUNT, may be repeated.")
    ] = None,
    spoilt: Annotated[
        list[str] | None, typer.Option("--spoilt", help="Scrapped: ITEM=AMOUNT, may be repeated.")
    ] = None,
    despite: Annotated[
        str | None,
        typer.Option("--despite", help="Though seals are uncounted or stock is held."),
    ] = None,
    now: Now = None,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Close a booking: what was picked was used, but for what came back or was spoilt.

    Refused while old seals are not counted out of every joint, or something in the kit is held by
    now, unless a reason is given, which stays on record.

    Example: kitting close B0001 --back "CLIP-CONNECTOR=3 each"
    """
    from kitting.services.bookings import pick as picking
    from kitting.services.bookings.close import close as close_booking

    returned, scrapped = _amounts(back or (), "--back"), _amounts(spoilt or (), "--spoilt")
    closing = picking.Closing(
        {code: one.thousandths for code, one in returned.items()},
        {code: one.thousandths for code, one in scrapped.items()},
        {code: one.unit for code, one in (*returned.items(), *scrapped.items())},
    )
    at = moment(now)
    view = insisted(
        database,
        lambda engine, token: close_booking(engine, number, closing, at, despite, token=token),
    )
    _answer(view, as_json)


def _amounts(texts: Sequence[str], option: str) -> dict[str, Quantity]:
    found = {}
    for text in texts:
        item, sign, quantity = text.partition("=")
        if not sign:
            raise typer.BadParameter(f"{text!r}: write ITEM=AMOUNT", param_hint=option)
        found[item.strip()] = amount(quantity)
    return found
