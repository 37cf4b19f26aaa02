"""History of a car: what became of each position when a booking was closed."""

from __future__ import annotations

from typing import Any

from sqlalchemy import bindparam, insert, select
from sqlalchemy.orm import Session

from kitting.facts.words import FindingResult, RefitOutcome, Rule
from kitting.services.bookings.kit_record import request_of
from kitting.services.bookings.states import BookingFacts
from kitting.services.planning.draft import draft
from kitting.services.planning.judged import Draft, JudgedPart
from kitting.tables.bookings import Finding
from kitting.tables.vehicles import Refit

_FOUND = select(Finding.joint, Finding.position, Finding.found).where(
    Finding.booking_id == bindparam("booking")
)


def write_history(session: Session, booking: BookingFacts) -> None:
    """Write down what went back at each position, and how often, and what was renewed."""
    planned = draft(session, request_of(session, booking))
    found = {
        (row.joint, row.position): row.found
        for row in session.execute(_FOUND, {"booking": booking.id})
    }
    rows: dict[tuple[int, str], dict[str, Any]] = {}
    for part in planned.parts:
        outcome = _outcome(planned, part, found)
        rows[part.fit.joint, part.fit.position] = {
            "vehicle_id": booking.vehicle_id,
            "joint_id": part.fit.joint,
            "position": part.fit.position,
            "booking": booking.number,
            "on_date": booking.fit_on,
            "outcome": outcome,
            "times": part.opened if outcome is RefitOutcome.REFITTED else 1,
        }
    if rows:
        session.execute(insert(Refit), list(rows.values()))


def _outcome(
    planned: Draft, part: JudgedPart, found: dict[tuple[str, str], FindingResult]
) -> RefitOutcome:
    """What nobody looked at and is not renewed has gone back once more."""
    seen = found.get((planned.names.joints[part.fit.joint], part.fit.position))
    if part.ruling.rule is Rule.RENEW or seen is FindingResult.NOT_INSPECTED:
        return RefitOutcome.RENEWED
    return RefitOutcome.REFITTED
