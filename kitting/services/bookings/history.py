"""History of a car: what became of each position when a booking was closed."""

from __future__ import annotations

from typing import Any

from sqlalchemy import bindparam, insert, select
from sqlalchemy.orm import Session

from kitting.facts.words import FindingResult, RefitOutcome, Rule, Source
from kitting.services.bookings.kit_record import request_of
from kitting.services.bookings.states import BookingFacts
from kitting.services.planning.draft import draft
from kitting.services.planning.judged import JudgedPart
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
        seen = found.get((planned.names.joints[part.fit.joint], part.fit.position))
        outcome, times = _outcome(part, seen)
        rows[part.fit.joint, part.fit.position] = {
            "vehicle_id": booking.vehicle_id,
            "joint_id": part.fit.joint,
            "position": part.fit.position,
            "booking": booking.number,
            "on_date": booking.fit_on,
            "outcome": outcome,
            "times": times,
        }
    if rows:
        session.execute(insert(Refit), list(rows.values()))


def _outcome(part: JudgedPart, seen: FindingResult | None) -> tuple[RefitOutcome, int]:
    """What became of a position, and how often what is there now has gone back meanwhile.

    What nobody looked at and is not renewed has gone back at every opening.
    """
    refits, opened = part.ruling.refits, part.opened
    if part.ruling.source is Source.FINDING or seen is FindingResult.NOT_INSPECTED:
        return RefitOutcome.RENEWED, refits.since_failed(opened)
    if part.ruling.rule is Rule.RENEW:
        return RefitOutcome.RENEWED, 0
    since = refits.since_renewed(opened)
    return (RefitOutcome.REFITTED, opened) if since is None else (RefitOutcome.RENEWED, since)
