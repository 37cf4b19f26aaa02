"""Whether a booking comes out otherwise when it is planned again by the catalogue of now."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import bindparam, select
from sqlalchemy.orm import Session

from kitting.actions import Action, next_step
from kitting.errors import KittingError
from kitting.facts.reasons import Reason, because
from kitting.facts.verdicts import Aspect, Doubt, Verdict, weakest
from kitting.facts.words import OPEN_BOOKINGS
from kitting.services.bookings.edition import EDITION
from kitting.services.bookings.planned import changes, is_of_now
from kitting.services.bookings.requirements import draft_of
from kitting.services.bookings.states import BookingFacts
from kitting.services.planning.view import plan_view
from kitting.tables.bookings import Booking
from kitting.views.bookings import Lack

_PLANNED = select(
    Booking.edition, Booking.planned, EDITION.scalar_subquery().label("edition_now")
).where(Booking.id == bindparam("booking"))


@dataclass(frozen=True, slots=True)
class PlannedBy:
    """What a booking was planned to take (JSON text), by which edition, and which holds now."""

    edition: int | None
    planned: str | None
    edition_now: int


@dataclass(frozen=True, slots=True)
class CatalogueDoubts:
    """What keeps a booking from being fine since the catalogue changed, and the changes."""

    doubts: tuple[Doubt, ...] = ()
    changes: tuple[Reason, ...] = ()


def catalogue_doubts(session: Session, booking: BookingFacts, was: PlannedBy) -> CatalogueDoubts:
    """How an open booking differs from what it would be if it were planned again now.

    Needs, what stands for what, figures and doubts alike: what the plan says is compared.
    """
    if booking.state not in OPEN_BOOKINGS or was.edition == was.edition_now:
        return CatalogueDoubts()
    again = next_step(Action.PROMISE, booking=booking.number)
    if was.planned is None or not is_of_now(was.planned):
        return CatalogueDoubts((_doubt(because(Lack.NEVER_RECORDED, again)),))
    try:
        now = plan_view(draft_of(session, booking))
    except KittingError as error:
        return CatalogueDoubts((_doubt(because(Lack.NO_LONGER_PLANNED, why=error.message)),))
    found = changes(was.planned, now)
    if not found:
        return CatalogueDoubts()
    changed = because(Lack.CATALOGUE_CHANGED, again, changes=len(found))
    return CatalogueDoubts((_doubt(changed, now.verdict),), found)


def is_outdated(session: Session, booking: BookingFacts) -> bool:
    """Whether the catalogue says otherwise by now than what a booking was planned from."""
    row = session.execute(_PLANNED, {"booking": booking.id}).one()
    return bool(catalogue_doubts(session, booking, PlannedBy(**row._mapping)).doubts)


def _doubt(reason: Reason, planned_now: Verdict = Verdict.FINE) -> Doubt:
    """Not proven, or as bad as it comes out now."""
    return Doubt(weakest([Verdict.UNKNOWN, planned_now]), Aspect.CATALOGUE, reason)
