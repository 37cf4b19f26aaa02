"""Whether the catalogue says by now what a booking was planned from, and what it says otherwise."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Protocol

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from kitting.actions import Action, next_step
from kitting.errors import KittingError
from kitting.facts.reasons import Reason, because
from kitting.facts.verdicts import Aspect, Doubt, Verdict
from kitting.facts.words import OPEN_BOOKINGS, BookingState
from kitting.services.bookings.kit_record import job_names, kit_records
from kitting.services.bookings.planned import changes
from kitting.services.planning.plan import plan
from kitting.services.planning.request import PlanRequest
from kitting.tables.editions import CatalogueEdition
from kitting.views.bookings import Lack

EDITION = select(func.coalesce(func.max(CatalogueEdition.id), 0))


class Head(Protocol):
    """What is read of a booking for it."""

    id: int
    number: str
    registration: str
    fit_on: date
    state: BookingState
    edition: int | None
    edition_now: int
    planned: str | None


@dataclass(frozen=True, slots=True)
class CatalogueDoubts:
    """What keeps a booking from being fine since the catalogue changed, and the changes."""

    doubts: tuple[Doubt, ...] = ()
    changes: tuple[Reason, ...] = ()


def catalogue_doubts(session: Session, head: Head) -> CatalogueDoubts:
    """How an open booking differs from a plan by the catalogue as it is now."""
    if head.state not in OPEN_BOOKINGS or head.edition == head.edition_now:
        return CatalogueDoubts()
    again = next_step(Action.PROMISE, booking=head.number)
    if head.planned is None:
        return CatalogueDoubts((_doubt(because(Lack.NEVER_RECORDED, again)),))
    kit, jobs = kit_records(session, [head.id])[head.id], job_names(session, [head.id])[head.id]
    try:
        now = plan(session, PlanRequest(head.registration, jobs, head.fit_on, kit=kit))
    except KittingError as error:
        return CatalogueDoubts((_doubt(because(Lack.NO_LONGER_PLANNED, why=str(error))),))
    found = changes(head.planned, now)
    if not found:
        return CatalogueDoubts()
    changed = because(Lack.CATALOGUE_CHANGED, again, changes=len(found))
    return CatalogueDoubts((_doubt(changed),), found)


def _doubt(reason: Reason) -> Doubt:
    return Doubt(Verdict.UNKNOWN, Aspect.CATALOGUE, reason)
