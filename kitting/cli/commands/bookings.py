"""Commands about bookings: book, booking (list, show, confirm …)."""

from __future__ import annotations

from datetime import date
from typing import Annotated

import typer

from kitting.cli.commands import customer_parts
from kitting.cli.options import (
    NO,
    Branch,
    Database,
    Jobs,
    Json,
    Now,
    Registration,
    console,
    fitting_date,
    moment,
    open_database,
    print_json,
    remark,
    shelf_policy,
)
from kitting.cli.retry import insisted
from kitting.views.bookings import BookingView

app = typer.Typer(
    help="Bookings: a car, its jobs, a date, and what is promised to it.",
    no_args_is_help=True,
    rich_markup_mode=None,
)
Number = Annotated[str, typer.Argument(help="The number of the booking.")]


def register(root: typer.Typer) -> None:
    """Add the commands."""
    root.command()(book)
    app.command()(customer_parts.brought)
    root.add_typer(app, name="booking")


def answer(view: BookingView, as_json: bool) -> None:
    """Show a booking."""
    if as_json:
        print_json(view)
    else:
        from kitting.cli.render.bookings import show_booking

        show_booking(console(), view)


def answer_ready(view: BookingView, as_json: bool = False) -> None:
    """Show a booking; exit code 3 while something that has to be there is not."""
    answer(view, as_json)
    if not view.ready:
        raise typer.Exit(NO)


def book(
    registration: Registration,
    jobs: Jobs,
    on: Annotated[str, typer.Option("--on", help="The fitting date, YYYY-MM-DD.")],
    branch: Branch = None,
    shelf: Annotated[
        str | None,
        typer.Option(
            "--shelf",
            help="Judge storage life by ISO 2230, ARP5316 or packet (as the branch does).",
        ),
    ] = None,
    again: Annotated[
        bool, typer.Option("--again", help="Book it even if the car is booked for the job already.")
    ] = False,
    now: Now = None,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Book a car provisionally and promise it what is free on the shelves and to come.

    Exit code 3 while something is short: buy it, then confirm the booking.

    Example: kitting book "PELL 117" J1 J2 --on 2026-04-15 --branch upper --now "2026-04-02 14:20"
    """
    from kitting.services.bookings.booking import BookingRequest
    from kitting.services.bookings.booking import book as make_booking

    request = BookingRequest(
        registration=registration,
        jobs=jobs,
        fit_on=fitting_date(on),
        branch=branch,
        shelf_policy=shelf_policy(shelf),
        again=again,
    )
    answer_ready(make_booking(open_database(database), request, moment(now)), as_json)


@app.command("list")
def list_command(
    branch: Branch = None,
    everything: Annotated[bool, typer.Option("--all", help="Closed and cancelled too.")] = False,
    now: Now = None,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """List the open bookings by fitting date, with the verdict of each.

    How many lines nothing covers stands beside it. Exit code 0 whatever the verdicts are.

    Example: kitting booking list --branch upper
    """
    from kitting.cli.render.bookings import show_bookings
    from kitting.facts.words import OPEN_BOOKINGS, BookingState
    from kitting.services.bookings.listing import list_bookings
    from kitting.services.branches import find_branch
    from kitting.store import reading

    with reading(open_database(database)) as session:
        owner = find_branch(session, branch).id if branch else None
        states = tuple(BookingState) if everything else OPEN_BOOKINGS
        found = list_bookings(session, owner, states, moment(now).date())
    if as_json:
        print_json(found)
    else:
        show_bookings(console(), found)


@app.command()
def show(number: Number, now: Now = None, database: Database = None, as_json: Json = False) -> None:
    """Show a booking: what covers each line, what is short and who has it.

    Exit code 3 while something that has to be there is not, or is not fine.

    Example: kitting booking show B0001
    """
    from kitting.services.bookings.states import find_booking
    from kitting.services.bookings.view import booking_view
    from kitting.store import reading

    with reading(open_database(database)) as session:
        view = booking_view(session, find_booking(session, number), moment(now).date())
    answer_ready(view, as_json)


@app.command()
def promise(
    number: Number,
    shelf: Annotated[
        str | None,
        typer.Option(
            "--shelf",
            help="Judge storage life by this from now on: ISO 2230, ARP5316, packet, or branch for"
            " what its branch has.",
        ),
    ] = None,
    now: Now = None,
    database: Database = None,
) -> None:
    """Plan a booking again by the catalogue as it is now, and promise it what is free by now.

    Example: kitting booking promise B0001
    """
    from kitting.services.bookings.booking import judge_by, renew_promises

    engine, today = open_database(database), moment(now).date()
    if shelf is None:
        answer_ready(renew_promises(engine, number, today))
    else:
        policy = None if shelf.strip().casefold() == "branch" else shelf_policy(shelf)
        answer_ready(judge_by(engine, number, policy, today))


@app.command()
def exchange(
    number: Number,
    item: Annotated[str, typer.Argument(help="The item that the joints ask for.")],
    instead: Annotated[
        str, typer.Option("--for", help="What stands in for it: a listed alternative, or itself.")
    ],
    now: Now = None,
    database: Database = None,
) -> None:
    """Let a listed alternative stand in for an item in this kit; it is judged by what stands in.

    Example: kitting booking exchange B0001 HOSE-HEATER --for HOSE-HEATER
    """
    from kitting.services.bookings.exchange import exchange as let_stand_in

    answer_ready(let_stand_in(open_database(database), number, item, instead, moment(now).date()))


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

    answer_ready(take_from(open_database(database), number, item, other))


@app.command()
def confirm(
    number: Number,
    reason: Annotated[
        str | None,
        typer.Option("--incomplete", help="Confirm it even if something lacks, for this reason."),
    ] = None,
    now: Now = None,
    database: Database = None,
) -> None:
    """Confirm a booking: every line that has to be there is received and checked.

    Exit code 3, and nothing is changed, while something lacks and no reason is given.

    Example: kitting booking confirm B0001 --incomplete "customer waits, seals come Wednesday"
    """
    from kitting.facts.words import BookingState

    _step(database, number, BookingState.CONFIRMED, reason, moment(now).date())


@app.command()
def ramp(
    number: Number,
    reason: Annotated[
        str | None,
        typer.Option("--incomplete", help="Record it even if something lacks, for this reason."),
    ] = None,
    now: Now = None,
    database: Database = None,
) -> None:
    """Record that the car is on the ramp; what lacks, or is on hold by now, is shown first.

    Exit code 3, and nothing is changed, while something lacks and no reason was given.

    Example: kitting booking ramp B0001
    """
    from kitting.facts.words import BookingState

    _step(database, number, BookingState.ON_THE_RAMP, reason, moment(now).date())


def _step(database: str | None, number: str, state: str, reason: str | None, today: date) -> None:
    from kitting.cli.render.bookings import change_texts, lacking_texts
    from kitting.facts.words import BookingState
    from kitting.services.bookings.booking import step_to

    view = step_to(open_database(database), number, BookingState(state), reason, today)
    if view.state != state:
        for text in (*lacking_texts(view.doubts), *change_texts(view)):
            print(text)
        remark(f"{view.number} stays {view.state}")
        raise typer.Exit(NO)
    day = f" for {view.fit_on}" if state == BookingState.CONFIRMED else ""
    print(f"{view.number}: {view.state}{day}")
    for text in (*lacking_texts(view.doubts), *change_texts(view)):
        remark(text)


@app.command()
def cancel(number: Number, now: Now = None, database: Database = None) -> None:
    """Cancel a booking: promises are free again, what was picked goes back to its lots.

    Example: kitting booking cancel B0001
    """
    from kitting.services.bookings import pick as picking

    at = moment(now)
    view = insisted(database, lambda engine, token: picking.cancel(engine, number, at, token))
    print(f"{view.number}: cancelled, its promises are free")
