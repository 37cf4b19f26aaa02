"""Options of a booking that are the same when it is made and when it is changed."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from kitting.facts.money import Money
    from kitting.services.bookings.slots import Asked, Cleared

StartsAt = Annotated[
    str | None,
    typer.Option("--at", metavar="TIME", help="When it begins, such as 8:30; or none."),
]
OnRamp = Annotated[
    str | None, typer.Option("--ramp", help="The ramp, by its code at the branch; or none.")
]
Technicians = Annotated[
    list[str] | None,
    typer.Option("--technician", help="Who does it, by code; may be repeated; or none."),
]
AgreedPrice = Annotated[
    str | None,
    typer.Option("--agreed", metavar="SUM", help="The agreed price, such as '400 GBP'; or none."),
]
Limit = Annotated[
    str | None,
    typer.Option("--limit", metavar="SUM", help="What it may cost without asking again; or none."),
]
Deposit = Annotated[
    str | None, typer.Option("--deposit", metavar="SUM", help="What was paid before; or none.")
]
HourPrice = Annotated[
    str | None,
    typer.Option("--hour", metavar="SUM", help="What an hour of work costs; or none."),
]
_NONE = "none"


def asked_of(times: tuple[str | None, str | None, list[str] | None], *sums: str | None) -> Asked:
    """What is asked of time, ramp and technicians, and of the sums in the order of `Asked`.

    Raises FigureError for what is no time of day or no sum of money.
    """
    from kitting.facts.times import parse_time_of_day
    from kitting.services.bookings.slots import CLEARED, Asked

    starts, ramp, people = times
    named = tuple(one for one in people or () if not _is_none(one))
    agreed, limit, deposit, hour_price = map(_sum, sums)
    return Asked(
        starts=CLEARED if _is_none(starts) else starts and parse_time_of_day(starts),
        ramp=CLEARED if _is_none(ramp) else ramp,
        technicians=CLEARED if people and not named else named,
        agreed=agreed,
        limit=limit,
        deposit=deposit,
        hour_price=hour_price,
    )


def _is_none(text: str | None) -> bool:
    return text is not None and text.strip().casefold() == _NONE


def _sum(text: str | None) -> Money | Cleared | None:
    from kitting.facts.money import parse_money
    from kitting.services.bookings.slots import CLEARED

    if text is None:
        return None
    return CLEARED if _is_none(text) else parse_money(text)
