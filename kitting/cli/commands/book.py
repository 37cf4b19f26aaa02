"""The command that books a car."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from kitting.cli.commands.booking_options import (
    AgreedPrice,
    Deposit,
    HourPrice,
    Limit,
    OnRamp,
    StartsAt,
    Technicians,
    asked_of,
)
from kitting.cli.commands.bookings import answer_ready
from kitting.cli.options import (
    Branch,
    Choose,
    Database,
    Jobs,
    Json,
    Now,
    Registration,
    choices,
    console,
    fitting_date,
    moment,
    open_database,
    shelf_policy,
)

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from sqlalchemy import Engine

    from kitting.views.bookings import BookingView


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
    choose: Choose = None,
    at: StartsAt = None,
    ramp: OnRamp = None,
    technician: Technicians = None,
    agreed: AgreedPrice = None,
    limit: Limit = None,
    deposit: Deposit = None,
    hour: HourPrice = None,
    now: Now = None,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Book a car provisionally and promise it what is free on the shelves and to come.

    What does not fit into the day (ramp, people, licences, a closed day) is told and not forbidden.
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
        chosen=choices(choose),
        asked=asked_of((at, ramp, technician), agreed, limit, deposit, hour),
    )
    engine, now_at = open_database(database), moment(now)
    view = make_booking(engine, request, now_at)
    answer_ready(with_price(engine, view, now_at), as_json)


def with_price(engine: Engine, view: BookingView, at: datetime) -> BookingView:
    """A booking with what was agreed of its price, compared with the estimate."""
    from dataclasses import replace

    from kitting.services.advice.agreed_price import agreed_price
    from kitting.services.bookings.states import find_booking
    from kitting.store import reading

    with reading(engine) as session:
        price = agreed_price(session, find_booking(session, view.number), at)
    return replace(view, price=price)


def say_prices(engine: Engine, numbers: Sequence[str], at: datetime) -> None:
    """How bookings stand to what was agreed of their prices, where anything was."""
    from kitting.cli.render.work_day import show_price
    from kitting.services.advice.agreed_price import agreed_price
    from kitting.services.bookings.states import find_booking
    from kitting.store import reading

    with reading(engine) as session:
        bookings = [find_booking(session, number) for number in numbers]
        found = [(one.number, agreed_price(session, one, at)) for one in bookings]
    for number, price in found:
        show_price(console(), price, number)


def say_prices_for(database: str | None, numbers: Sequence[str] | None, at: datetime) -> None:
    """The same of the bookings that something is bought for, if it is for any."""
    if numbers:
        say_prices(open_database(database), numbers, at)
