"""What dates and purchases are asked of: bookings, or jobs on a car or on any car of a model."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated

import typer

from kitting.cli.options import fitting_date

if TYPE_CHECKING:
    from datetime import date, datetime

    from sqlalchemy.orm import Session

    from kitting.services.purchasing.safe_dates import CarRequest
    from kitting.views.possible_dates import DatesView

AskedOf = Annotated[
    list[str],
    typer.Argument(
        help="Bookings of one branch; or a car, by registration, and its jobs; or with --model"
        " jobs alone.",
        metavar="BOOKING... | REGISTRATION JOB... | JOB...",
    ),
]
First = Annotated[
    str | None, typer.Option("--from", metavar="DATE", help="The first date asked about.")
]
OfModel = Annotated[
    str | None,
    typer.Option("--model", metavar="CODE", help="Any car of this model: no car is named."),
]


def car_asked(
    session: Session, asked: Sequence[str], branch: str | None, day: date | None, model: str | None
) -> CarRequest | None:
    """The jobs that are asked about on a car or a model; None where bookings are named.

    Raises a usage error where a car is named without jobs, or a branch goes with bookings.
    """
    from kitting.services.bookings.unbooked import names_a_car
    from kitting.services.purchasing.safe_dates import CarRequest

    if model is not None:
        return CarRequest("", asked, branch, day, model)
    if names_a_car(session, asked[0]):
        if not asked[1:]:
            raise typer.BadParameter(f"which jobs? Name them after {asked[0]!r}")
        return CarRequest(asked[0], asked[1:], branch, day)
    if branch is not None:
        raise typer.BadParameter("--branch goes with a car or a model; bookings have their own")
    return None


@dataclass(frozen=True, slots=True)
class DatesAsked:
    """What `dates` was asked of: words, and the options that go with them."""

    words: Sequence[str]
    first: str | None
    branch: str | None
    model: str | None
    days: int
    currency: str | None = None


def dates_view(session: Session, asked: DatesAsked, at: datetime, chance: float) -> DatesView:
    """The dates of what was asked; nothing is written."""
    from kitting.services.purchasing.safe_dates import (
        BookedRequest,
        dates_booked,
        dates_unbooked,
    )

    priced = asked.currency.strip().upper() if asked.currency else None
    day = fitting_date(asked.first, "--from") if asked.first else None
    request = car_asked(session, asked.words, asked.branch, day, asked.model)
    if request is not None:
        return dates_unbooked(session, request, at, chance, asked.days, priced)
    booked = BookedRequest(asked.words, day)
    return dates_booked(session, booked, at, chance, asked.days, priced)
