"""Commands about bookings: book, booking (list, show, confirm …)."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING, Annotated

import typer

from kitting.cli.commands import customer_parts
from kitting.cli.options import (
    NO,
    BookingNumber,
    Branch,
    Database,
    Json,
    Now,
    OfCar,
    OfItem,
    Overdue,
    console,
    moment,
    open_database,
    print_json,
    remark,
    shelf_policy,
)
from kitting.cli.retry import insisted
from kitting.views.bookings import BookingView
from kitting.wording.language import _, word_text

if TYPE_CHECKING:
    from kitting.facts.words import BookingState

app = typer.Typer(
    help="Show bookings and change them: a car, its jobs, a date, and what is promised to it.",
    no_args_is_help=True,
    rich_markup_mode=None,
)


def register(root: typer.Typer) -> None:
    """Add the commands."""
    from kitting.cli.commands.book import book
    from kitting.cli.commands.booking_change import change
    from kitting.cli.commands.parking import park, resume

    for command in (change, park, resume):
        app.command()(command)
    root.command()(book)
    for theirs in (customer_parts.brought, customer_parts.handed_back):
        app.command()(theirs)
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


@app.command("list")
def list_command(
    branch: Branch = None,
    car: OfCar = None,
    item: OfItem = None,
    overdue: Overdue = False,
    spoilt: Annotated[
        bool, typer.Option("--spoilt", help="Only with a promise that may not be fitted by now.")
    ] = False,
    short: Annotated[
        bool, typer.Option("--short", help="Only with lines that nothing covers.")
    ] = False,
    state: Annotated[
        list[str] | None,
        typer.Option("--state", help="Only in this state, such as confirmed; may be repeated."),
    ] = None,
    everything: Annotated[bool, typer.Option("--all", help="Closed and cancelled too.")] = False,
    now: Now = None,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """List the open bookings by fitting date, with the verdict of each.

    How many lines nothing covers stands beside it. Exit code 0 whatever the verdicts are.

    Example: kitting booking list --branch upper --car "PELL 042"
    """
    from kitting.cli.render.bookings import show_bookings
    from kitting.services.bookings.listing import BookingFilter, list_bookings
    from kitting.services.branches import find_branch
    from kitting.store import reading

    states, today = _states(state or (), everything=everything), moment(now).date()
    asked = BookingFilter(overdue, spoilt, short, car, item)
    with reading(open_database(database)) as session:
        owner = find_branch(session, branch).id if branch else None
        found = list_bookings(session, owner, states, today, asked)
    if as_json:
        print_json(found)
    else:
        show_bookings(console(), found, every=asked == BookingFilter() and not state)


def _states(texts: Sequence[str], *, everything: bool) -> tuple[BookingState, ...]:
    """The states asked for: those named, else all or the open ones."""
    from kitting.facts.words import OPEN_BOOKINGS, BookingState

    known = {state.casefold(): state for state in BookingState}
    for text in texts:
        if text.strip().casefold() not in known:
            raise typer.BadParameter(
                f"{text!r} is no state; write {', '.join(BookingState)}", param_hint="--state"
            )
    named = tuple(known[text.strip().casefold()] for text in texts)
    return named or (tuple(BookingState) if everything else OPEN_BOOKINGS)


@app.command()
def show(
    number: BookingNumber, now: Now = None, database: Database = None, as_json: Json = False
) -> None:
    """Show a booking: what covers each line, what is short and who has it.

    Exit code 3 while something that has to be there is not, or is not fine.

    Example: kitting booking show B0001
    """
    from dataclasses import replace

    from kitting.cli.commands.book import with_price
    from kitting.services.bookings.handed_back import with_theirs
    from kitting.services.bookings.states import find_booking
    from kitting.services.bookings.view import booking_view
    from kitting.services.bookings.work_day import booking_day
    from kitting.store import reading

    engine, at = open_database(database), moment(now)
    with reading(engine) as session:
        booking = find_booking(session, number)
        view = booking_view(session, booking, at.date())
        view = replace(view, day=booking_day(session, booking.id, at))
        view = with_theirs(session, booking, view)
    answer_ready(with_price(engine, view, at), as_json)


@app.command()
def promise(
    number: BookingNumber,
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
    number: BookingNumber,
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
    number: BookingNumber,
    item: Annotated[str, typer.Argument(help="The item.")],
    other: Annotated[str, typer.Option("--from", help="The booking that has it promised.")],
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Move promises of an item from another booking, by name; only as much as is lacking.

    Where that one was confirmed it is not any more, and that is told. Exit code 3 while something
    of the booking that takes is short or not fine.

    Example: kitting booking take B0002 SEAL-INTAKE --from B0001
    """
    from kitting.services.bookings.booking import take_from

    view = take_from(open_database(database), number, item, other)
    if as_json:
        print_json(view)
    else:
        answer(view.taker, as_json)
        from kitting.cli.render.booking_change import show_giver

        show_giver(console(), view)
    if not view.taker.ready:
        raise typer.Exit(NO)


@app.command()
def confirm(
    number: BookingNumber,
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
    number: BookingNumber,
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
        remark(_("{number} stays {state}", number=view.number, state=view.state))
        raise typer.Exit(NO)
    if state == BookingState.CONFIRMED:
        print(
            _("{number}: {state} for {day}", number=view.number, state=view.state, day=view.fit_on)
        )
    else:
        print(f"{view.number}: {word_text(view.state)}")
    for text in (*lacking_texts(view.doubts), *change_texts(view)):
        remark(text)


@app.command()
def cancel(number: BookingNumber, now: Now = None, database: Database = None) -> None:
    """Cancel a booking: promises are free again, what was picked goes back to its lots.

    Example: kitting booking cancel B0001
    """
    from kitting.cli.render.bookings import theirs_texts
    from kitting.services.bookings import pick as picking

    at = moment(now)
    view = insisted(database, lambda engine, token: picking.cancel(engine, number, at, token))
    print(_("{number}: cancelled, its promises are free", number=view.number))
    for text in theirs_texts(view):
        print(text)
