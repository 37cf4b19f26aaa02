"""Commands for a stripped car that waits with its kit: booking park, booking resume."""

from __future__ import annotations

from typing import Annotated

import typer

from kitting.cli.options import (
    NO,
    BookingNumber,
    Database,
    Now,
    fitting_date,
    moment,
    open_database,
    remark,
)
from kitting.wording.language import _


def park(
    number: BookingNumber,
    where: Annotated[
        str,
        typer.Option("--where", help="Where the car and its kit wait."),
    ],
    why: Annotated[str, typer.Option("--why", help="What they wait for.")],
    until: Annotated[
        str | None,
        typer.Option("--until", metavar="DATE", help="When it goes on, YYYY-MM-DD, if known."),
    ] = None,
    told_by: Annotated[
        str | None, typer.Option("--by", metavar="NAME", help="Who says so.")
    ] = None,
    now: Now = None,
    database: Database = None,
) -> None:
    """Set a stripped car aside with its kit, which is judged for today or the later day.

    Exit code 3 if something of the kit does not keep that long.

    Example: kitting booking park B0001 --where "bay 4" --why "head is at the machine shop"
    """
    from kitting.cli.render.bookings import lacking_texts
    from kitting.services.bookings.set_aside import SetAside, set_aside
    from kitting.services.bookings.states import find_booking
    from kitting.services.bookings.view import booking_view
    from kitting.store import reading
    from kitting.wording.kit_life import set_aside_text

    engine, at = open_database(database), moment(now)
    day = None if until is None else fitting_date(until, "--until")
    set_aside(engine, number, SetAside(where, why, day, told_by), at)
    with reading(engine) as session:
        view = booking_view(session, find_booking(session, number), at.date())
    if view.set_aside:
        print(f"{view.number}: {set_aside_text(view.set_aside)}")
    for text in lacking_texts(view.doubts):
        remark(text)
    if not view.ready:
        raise typer.Exit(NO)


def resume(
    number: BookingNumber,
    told_by: Annotated[
        str | None, typer.Option("--by", metavar="NAME", help="Who says so.")
    ] = None,
    now: Now = None,
    database: Database = None,
) -> None:
    """Take a car up again that was set aside with its kit; what does not keep by now is told.

    Exit code 3 if something of the kit is not fine by now.

    Example: kitting booking resume B0001
    """
    from kitting.cli.render.bookings import lacking_texts
    from kitting.services.bookings.set_aside import take_up
    from kitting.services.bookings.states import find_booking
    from kitting.services.bookings.view import booking_view
    from kitting.store import reading

    engine, at = open_database(database), moment(now)
    place = take_up(engine, number, at, told_by)
    with reading(engine) as session:
        view = booking_view(session, find_booking(session, number), at.date())
    print(_("{number}: taken up again, from {place}", number=view.number, place=place))
    for text in lacking_texts(view.doubts):
        remark(text)
    if not view.ready:
        raise typer.Exit(NO)
