"""What dates and purchases are asked of: bookings, or jobs on a car or on any car of a model."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
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


@dataclass(frozen=True, slots=True)
class OfCar:
    """What goes with the jobs on a car or a model, and not with bookings: these have their own."""

    branch: str | None = None
    model: str | None = None
    chosen: Mapping[str, str] = field(default_factory=dict)


def car_asked(
    session: Session, asked: Sequence[str], own: OfCar, day: date | None
) -> CarRequest | None:
    """The jobs that are asked about on a car or a model; None where bookings are named.

    Raises a usage error where a car is named without jobs, or a branch or choice with bookings.
    """
    from kitting.services.bookings.unbooked import names_a_car
    from kitting.services.purchasing.safe_dates import CarRequest

    if own.model is not None:
        return CarRequest("", asked, own.branch, day, own.model, own.chosen)
    if names_a_car(session, asked[0]):
        if not asked[1:]:
            raise typer.BadParameter(f"which jobs? Name them after {asked[0]!r}")
        return CarRequest(asked[0], asked[1:], own.branch, day, chosen=own.chosen)
    refuse_choice(own.chosen)
    if own.branch is not None:
        raise typer.BadParameter("--branch goes with a car or a model; bookings have their own")
    return None


def refuse_choice(chosen: Collection[str] | None) -> None:
    """Raise a usage error where a choice is named with a booking."""
    if chosen:
        raise typer.BadParameter("--choose goes with a car or a model; bookings have their own")


@dataclass(frozen=True, slots=True)
class DatesAsked:
    """What `dates` was asked of: words, and the options that go with them."""

    words: Sequence[str]
    first: str | None
    own: OfCar
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
    request = car_asked(session, asked.words, asked.own, day)
    if request is not None:
        return dates_unbooked(session, request, at, chance, asked.days, priced)
    booked = BookedRequest(asked.words, day)
    return dates_booked(session, booked, at, chance, asked.days, priced)
