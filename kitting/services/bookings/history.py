"""History of a car: what became of each position when a booking was closed."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence, Set
from typing import Any

from sqlalchemy import bindparam, exists, func, insert, literal, null, select, union_all
from sqlalchemy.orm import Session

from kitting.facts.words import OPEN_BOOKINGS, FindingResult, RefitOutcome, Rule, Source
from kitting.services.bookings.kit_record import request_of
from kitting.services.bookings.states import BookingFacts
from kitting.services.planning.draft import draft
from kitting.services.planning.judged import Draft, JudgedPart
from kitting.services.planning.read_car import refits_of
from kitting.tables.bookings import Booking, Finding, Promise
from kitting.tables.editions import CatalogueEdition
from kitting.tables.vehicles import Refit, Removal

# Of a position (joint, name): what became of it, and how often what is there has gone back.
Outcomes = Mapping[tuple[int, str], tuple[RefitOutcome, int]]

_other = Booking.metadata.tables["booking"].alias("other")
_FOUND = select(Finding.joint, Finding.position, Finding.found).where(
    Finding.booking_id == bindparam("booking")
)
_USED = (
    select(Promise.item_id, func.sum(Promise.used))
    .where(Promise.booking_id == bindparam("booking"))
    .group_by(Promise.item_id)
)

# All that is known of a car until a day, as `refits_of` wants it.
_KNOWN: Any = union_all(
    select(
        Removal.joint_id.label("number"), Removal.position.label("word"),
        Removal.outcome.label("text"), Removal.on_date.label("day"), null().label("other"),
        null().label("more"), null().label("seq"),
    ).where(Removal.vehicle_id == bindparam("vehicle"), Removal.on_date < bindparam("on")),
    select(
        Refit.joint_id, Refit.position, Refit.outcome, Refit.on_date, Refit.times, Refit.booking,
        Refit.correction,
    ).where(Refit.vehicle_id == bindparam("vehicle"), Refit.on_date <= bindparam("on")),
)  # fmt: skip

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
    _write(session, booking, list(rows.values()))


def correct_history(session: Session, booking: BookingFacts, item: str, renewed: bool) -> None:
    """Put right what a closed booking says was renewed of an item (by code).

    Where less was fitted than was to be renewed, the old ones went back; nobody said where, so
    that none of its positions counts as renewed. Once it is `renewed` after all, what was written
    first holds again. Nothing is changed: each correction is a row after the last.
    """
    planned = draft(session, request_of(session, booking))
    keys = _lacking(planned, frozenset({item}))
    days = {"vehicle": booking.vehicle_id, "on": booking.fit_on}
    known = session.execute(_KNOWN, days).all()
    own = [row for row in known if row.more == booking.number]
    before = refits_of(row for row in known if row.more != booking.number)
    rows = []
    for part in planned.parts:
        place = part.fit.joint, part.fit.position
        said = sorted(
            (row for row in own if (row.number, row.word) == place), key=lambda row: row.seq
        )
        if part.item.key not in keys or not said or said[0].text != RefitOutcome.RENEWED:
            continue
        first, last = said[0], said[-1]
        if renewed == (last.text == RefitOutcome.RENEWED):
            continue
        back = before.get(place, 0) + part.opened - last.other
        rows.append(
            {
                "vehicle_id": booking.vehicle_id,
                "joint_id": place[0],
                "position": place[1],
                "booking": booking.number,
                "correction": len(said),
                "on_date": booking.fit_on,
                "outcome": RefitOutcome.RENEWED if renewed else RefitOutcome.REFITTED,
                "times": first.other if renewed else back,
            }
        )
    _write(session, booking, rows)


def outcomes(session: Session, booking: BookingFacts) -> Outcomes:
    """What becomes of each position of a booking, by what was found there and what was used.

    Where less of an item was used than is to be renewed, nobody says where: none of its positions
    counts as renewed. Where enough was used for every position, all of them do.
    """
    found = {
        (row.joint, row.position): row.found
        for row in session.execute(_FOUND, {"booking": booking.id})
    }
    used = dict(session.execute(_USED, {"booking": booking.id}).all())
    planned = draft(session, request_of(session, booking))
    told: dict[tuple[int, str], tuple[RefitOutcome, int]] = {}
    by_item: dict[int, list[JudgedPart]] = defaultdict(list)
    for part in planned.parts:
        joint = planned.names.joints[part.fit.joint]
        told[part.fit.joint, part.fit.position] = _outcome(
            part, found.get((joint, part.fit.position))
        )
        # What a packet brings is used as the packet: nobody counts it by itself.
        if part.item.key in planned.taking.covered:
            continue
        if part.ruling.failed is not None:
            used[part.item.key] = int(used.get(part.item.key, 0)) - part.quantity
        else:
            by_item[part.item.key].append(part)
    for item, parts in by_item.items():
        _by_use(told, parts, int(used.get(item, 0)))
    return told


def _by_use(
    told: dict[tuple[int, str], tuple[RefitOutcome, int]], parts: Sequence[JudgedPart], used: int
) -> None:
    """Put right what the use of an item, in thousandths, says of its positions."""
    placed = [((part.fit.joint, part.fit.position), part) for part in parts]
    renewed = {place for place, _ in placed if told[place][0] is RefitOutcome.RENEWED}
    if used < sum(part.quantity for place, part in placed if place in renewed):
        told |= {
            place: (RefitOutcome.REFITTED, part.opened)
            for place, part in placed
            if place in renewed
        }
    elif used >= sum(part.quantity for part in parts):
        # Nobody says at which opening: at the first, so that it went back since.
        told |= {
            place: (RefitOutcome.RENEWED, max(0, part.opened - 1))
            for place, part in placed
            if place not in renewed
        }


def correct_outcomes(
    session: Session,
    booking: BookingFacts,
    before: Outcomes,
    after: Outcomes,
    first: Collection[RefitOutcome] = tuple(RefitOutcome),
) -> None:
    """Add to the history of a car what became of positions by what is corrected.

    Only where that is something else than `before` and than what the history says, of positions
    that `first` were written down so; what was written stays.
    """
    known = session.execute(_KNOWN, {"vehicle": booking.vehicle_id, "on": booking.fit_on})
    said: dict[tuple[int, str], list[RefitOutcome]] = defaultdict(list)
    own = [row for row in known if row.more == booking.number]
    for row in sorted(own, key=lambda row: int(row.seq)):
        said[row.number, row.word].append(RefitOutcome(row.text))
    rows = [
        {
            "vehicle_id": booking.vehicle_id,
            "joint_id": place[0],
            "position": place[1],
            "booking": booking.number,
            "correction": len(said[place]),
            "on_date": booking.fit_on,
            "outcome": outcome,
            "times": times,
        }
        for place, (outcome, times) in after.items()
        if place in said
        and said[place][0] in first
        and outcome is not before[place][0]
        and outcome is not said[place][-1]
    ]
    _write(session, booking, rows)


def _write(session: Session, booking: BookingFacts, rows: Sequence[Mapping[str, Any]]) -> None:
    if rows:
        session.execute(insert(Refit), list(rows))
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
    if part.ruling.failed is not None:
        # The rest is what has gone back oftenest there.
        since = refits.since_renewed(opened)
        if since is None:
            return RefitOutcome.REFITTED, opened
        return RefitOutcome.RENEWED, max(since, refits.since_failed(opened))
    if part.ruling.source is Source.FINDING or seen is FindingResult.NOT_INSPECTED:
        return RefitOutcome.RENEWED, refits.since_failed(opened)
    if part.ruling.source is Source.JOB:
        return RefitOutcome.RENEWED, refits.since_renewed_at_first(opened)
    if part.ruling.rule is Rule.RENEW:
        return RefitOutcome.RENEWED, 0
    since = refits.since_renewed(opened)
    return (RefitOutcome.REFITTED, opened) if since is None else (RefitOutcome.RENEWED, since)
