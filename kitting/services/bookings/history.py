"""History of a car: what became of each position when a booking was closed."""

from __future__ import annotations

from collections.abc import Set
from typing import Any

from sqlalchemy import bindparam, exists, insert, literal, select
from sqlalchemy.orm import Session

from kitting.facts.words import OPEN_BOOKINGS, FindingResult, RefitOutcome, Rule, Source
from kitting.services.bookings.kit_record import request_of
from kitting.services.bookings.states import BookingFacts
from kitting.services.planning.draft import draft
from kitting.services.planning.judged import Draft, JudgedPart
from kitting.tables.bookings import Booking, Finding
from kitting.tables.editions import CatalogueEdition
from kitting.tables.vehicles import Refit

_other = Booking.metadata.tables["booking"].alias("other")
_FOUND = select(Finding.joint, Finding.position, Finding.found).where(
    Finding.booking_id == bindparam("booking")
)

# What other open bookings of the car were planned from is no longer all that is known of it.
_NEW_EDITION = insert(CatalogueEdition.metadata.tables["catalogue_edition"]).from_select(
    ["what"],
    select(literal("history: ") + Booking.number).where(
        Booking.id == bindparam("booking"),
        exists().where(
            _other.c.vehicle_id == bindparam("vehicle"),
            _other.c.id != bindparam("booking"),
            _other.c.state.in_(OPEN_BOOKINGS),
        ),
    ),
)


def write_history(session: Session, booking: BookingFacts, not_renewed: Set[str]) -> None:
    """Write down what went back at each position, and how often, and what was renewed.

    Of an item of `not_renewed` (by code) less was fitted than was to be renewed, and nobody said
    where: none of its positions is written as renewed. What is brought by a packet is so with it.
    """
    planned = draft(session, request_of(session, booking))
    found = {
        (row.joint, row.position): row.found
        for row in session.execute(_FOUND, {"booking": booking.id})
    }
    lacking = _lacking(planned, not_renewed)
    rows: dict[tuple[int, str], dict[str, Any]] = {}
    for part in planned.parts:
        seen = found.get((planned.names.joints[part.fit.joint], part.fit.position))
        outcome, times = _outcome(part, seen)
        if outcome is RefitOutcome.RENEWED and part.item.key in lacking:
            outcome, times = RefitOutcome.REFITTED, part.opened
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
        session.connection().execute(
            _NEW_EDITION, {"booking": booking.id, "vehicle": booking.vehicle_id}
        )


def _lacking(planned: Draft, not_renewed: Set[str]) -> frozenset[int]:
    """The keys of items by code, and of what packets among them bring."""
    keys = {key for key, item in planned.contents.items.items() if item.code in not_renewed}
    brought = {
        key
        for key, packets in planned.taking.covered.items()
        if keys & {packet for packet, _ in packets}
    }
    return frozenset(keys | brought)


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
