"""The command that changes a booking."""

from __future__ import annotations

from typing import Annotated

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
from kitting.cli.options import (
    NO,
    BookingNumber,
    Choose,
    Database,
    Json,
    Now,
    choices,
    console,
    fitting_date,
    moment,
    open_database,
    print_json,
)
from kitting.cli.retry import insisted

_Jobs = list[str] | None


def change(
    number: BookingNumber,
    on: Annotated[
        str | None, typer.Option("--on", metavar="DATE", help="Another fitting date.")
    ] = None,
    branch: Annotated[str | None, typer.Option("--branch", help="Another branch.")] = None,
    add: Annotated[_Jobs, typer.Option("--add", metavar="JOB", help="A job more.")] = None,
    drop: Annotated[_Jobs, typer.Option("--drop", metavar="JOB", help="A job less.")] = None,
    make: Annotated[
        bool, typer.Option("--make", help="Make the change, instead of only showing it.")
    ] = False,
    close_up: Annotated[
        bool,
        typer.Option(
            "--close-up",
            help="Drop a job that has begun: what is open is closed up again with what it needs.",
        ),
    ] = False,
    again: Annotated[
        bool,
        typer.Option("--again", help="Add a job even if the car is booked for it elsewhere."),
    ] = False,
    choose: Choose = None,
    starts: StartsAt = None,
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
    """Change a booking: day, branch, ramp, people, jobs, price; without --make it is only shown.

    It is planned again by the catalogue and the variants as they are now, all jobs together, also
    where nothing is named. What is promised or picked stays for it; what it does not need any more
    is free again, and what has to come out of the kit is named with its lot and bin. Once the car
    is on the ramp nothing is booked out of the kit, and the branch stays.

    Exit code 3 while afterwards something is short or not fine.

    Example: kitting booking change B0001 --add J3 --on 2026-04-20 --now "2026-04-02 14:20"
    """
    from kitting.services.advice.agreed_price import agreed_price
    from kitting.services.advice.taken_spares import take_anew
    from kitting.services.bookings.change import Change
    from kitting.services.purchasing.booking_change import Advice, make_change, show_change

    asked = Change(
        on=None if on is None else fitting_date(on),
        branch=branch,
        add=tuple(add or ()),
        drop=tuple(drop or ()),
        again=again,
        close_up=close_up,
        chosen=choices(choose),
        asked=asked_of((starts, ramp, technician), agreed, limit, deposit, hour),
    )
    at, advice = moment(now), Advice(take_anew, agreed_price)
    if make:
        view = insisted(
            database, lambda engine, token: make_change(engine, number, asked, at, token, advice)
        )
    else:
        view = show_change(open_database(database), number, asked, at, advice)
    if as_json:
        print_json(view)
    else:
        from kitting.cli.render.booking_change import show_change as shown

        shown(console(), view)
    if not view.ready:
        raise typer.Exit(NO)
