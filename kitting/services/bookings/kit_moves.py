"""One more piece drawn, put back, exchanged for one of another lot, lent to another kit."""

from __future__ import annotations

from dataclasses import dataclass, replace

from sqlalchemy import Engine
from sqlalchemy.orm import Session

from kitting.calc.stock.allocation import Take
from kitting.errors import KittingError
from kitting.facts.words import KitEventKind, KitWhy
from kitting.services.bookings.kit_events import Happened, Moment, Told, write_events
from kitting.services.bookings.kit_pieces import (
    Piece,
    as_happened,
    change_view,
    chosen,
    find_piece,
    in_kit,
    left_in_kit,
    take_confirmation_back,
)
from kitting.services.bookings.kit_place import require_home, require_together
from kitting.services.bookings.kit_steps import (
    Change,
    finished,
    free_for,
    into_kit,
    lot_of,
    none_free,
    out_of_kit,
    require_keeps,
    require_lack,
    require_neighbours,
)
from kitting.services.bookings.reservations import give_up_unneeded, lacks, promise_free
from kitting.services.bookings.states import BookingFacts, find_booking, require_open
from kitting.services.bookings.view import booking_view
from kitting.services.db.idempotency import earlier
from kitting.services.stock.kit_ledger import write_off
from kitting.store import writing
from kitting.views.kit_life import KitChangeView


def draw(engine: Engine, number: str, piece: Piece, told: Told, when: Moment) -> KitChangeView:
    """One more piece for a kit: the former one is gone, for a reason, or one more is needed.

    What is gone is written off its promise. One more is taken of what is free and fit to use, first
    expired first out; packs are opened as for picking. What the shelf does not have is promised
    from arrivals, or is short. An extra piece (KitWhy.EXTRA) replaces none: it may be of an item
    that is not planned at all, and is asked for by name when the booking is closed.

    Raises KittingError without a reason, for more than lies in the kit, where it is not told of
    which lot, and for an extra piece that is not on the shelf.
    """
    if told.why is None or not (told.note or "").strip():
        raise KittingError("a reason is required: say what became of the former piece")
    with writing(engine) as session:
        booking = find_booking(session, number)
        request = f"kit draw {booking.number} {piece} {told.why}"
        if earlier(session, when.token, request) is not None:
            return _again(session, booking, piece, when)
        require_open(booking, "nothing is drawn for it")
        change = Change(session, booking, find_piece(session, piece), told, when)
        before = booking_view(session, booking, when.today)
        wanted = piece.quantity.thousandths
        happened: list[Happened] = []
        if told.why is not KitWhy.EXTRA:
            happened = _gone(change, piece)
            # Of what nothing needs, no other is fetched.
            wanted = min(wanted, max(0, lacks(session, booking.id).get(change.item.id, 0)))
        takes, missing = free_for(change, wanted)
        if missing and told.why is KitWhy.EXTRA:
            raise none_free(change, missing)
        drawn = into_kit(change, takes)
        write_events(session, booking, drawn, told, when.at)
        if missing:
            promise_free(session, booking.id, today=when.today, only=[change.item.id])
        back = take_confirmation_back(session, before, booking, when.today)
        return finished(change, [*happened, *drawn], back, request)


def _gone(change: Change, piece: Piece) -> list[Happened]:
    """Write pieces of a kit off their promises, with the reason."""
    session, booking, item = change.session, change.booking, change.item
    there = in_kit(session, booking.id, item.id)
    parts = chosen(booking, item, piece, there)
    write_off(session, {one.promise: one.amount for one in parts})
    happened = as_happened(KitEventKind.GONE, item.id, parts, left_in_kit(there, parts))
    write_events(session, booking, happened, change.told, change.when.at)
    return happened


def give_back(engine: Engine, number: str, piece: Piece, told: Told, when: Moment) -> KitChangeView:
    """Put pieces of a kit back to their lots; what was opened stays opened.

    What the booking still needs of it stays promised to it, first expired first out; the rest is
    free. Raises KittingError for more than lies in the kit, and where it is not told of which lot.
    """
    with writing(engine) as session:
        booking = find_booking(session, number)
        request = f"kit return {booking.number} {piece}"
        if earlier(session, when.token, request) is not None:
            return _again(session, booking, piece, when)
        require_open(booking, "its kit is accounted for")
        require_home(session, booking)
        change = Change(session, booking, find_piece(session, piece), told, when)
        before = booking_view(session, booking, when.today)
        happened, _ = out_of_kit(change, piece)
        promise_free(session, booking.id, today=when.today, only=[change.item.id])
        back = take_confirmation_back(session, before, booking, when.today)
        return finished(change, happened, back, request)


@dataclass(frozen=True, slots=True)
class Exchange:
    """Pieces that go back, and the lot (by code) that others come of; None: what expires first."""

    piece: Piece
    instead: str | None = None


def swap(
    engine: Engine, number: str, exchange: Exchange, told: Told, when: Moment
) -> KitChangeView:
    """Exchange pieces of a kit for as many of another lot: the wrong ones go back, others come.

    Raises KittingError where not as much of another lot is free and fit to use; nothing is changed
    then.
    """
    piece = exchange.piece
    with writing(engine) as session:
        booking = find_booking(session, number)
        request = f"kit swap {booking.number} {exchange}"
        if earlier(session, when.token, request) is not None:
            return _again(session, booking, piece, when)
        require_open(booking, "its kit is accounted for")
        require_home(session, booking)
        change = Change(session, booking, find_piece(session, piece), told, when)
        happened, now = out_of_kit(change, piece)
        only = None if exchange.instead is None else lot_of(change, exchange.instead)
        # What was opened lies apart now: neither it nor the lot that it came of is another one.
        barred = {*now, *(one.lot for one in happened if one.lot is not None)}
        takes, missing = free_for(change, piece.quantity.thousandths, only, barred)
        if missing:
            raise none_free(change, missing, exchange.instead)
        drawn = into_kit(change, takes)
        write_events(session, booking, drawn, told, when.at)
        return finished(change, [*happened, *drawn], [], request)


@dataclass(frozen=True, slots=True)
class Loan:
    """Pieces of the kit of one booking for the kit of another, by number."""

    giver: str
    taker: str
    piece: Piece


def lend(engine: Engine, loan: Loan, told: Told, when: Moment) -> KitChangeView:
    """Move pieces from one kit into another of the same branch, with their lots.

    Only as much as the other kit lacks, and what keeps until its day. What waited for the other in
    its place is free again, and promised to the giver if it needs that. Returns what the giver then
    lacks; a confirmed giver that is not ready any more is provisional again.

    Raises KittingError for another branch, more than is there or lacking, and what does not keep.
    """
    piece = loan.piece
    with writing(engine) as session:
        giver, taker = find_booking(session, loan.giver), find_booking(session, loan.taker)
        request = f"kit lend {giver.number} {taker.number} {piece}"
        if earlier(session, when.token, request) is not None:
            return _again(session, giver, piece, when)
        for booking in (giver, taker):
            require_open(booking, "its kit is accounted for")
        require_neighbours(session, giver, taker, piece.item)
        require_together(session, giver, taker)
        item = find_piece(session, piece)
        gives = Change(session, giver, item, replace(told, other=taker.id), when)
        takes = Change(session, taker, item, replace(told, other=giver.id), when)
        require_lack(takes, piece)
        before = booking_view(session, giver, when.today)
        happened, now = out_of_kit(gives, piece, KitEventKind.LENT, f"lent to {taker.number}")
        require_keeps(takes, now)
        lots = [Take(lot, amount) for lot, amount in sorted(now.items())]
        came = into_kit(takes, lots, f"borrowed from {giver.number}", opening=False)
        borrowed = [replace(one, kind=KitEventKind.BORROWED) for one in came]
        write_events(session, taker, borrowed, takes.told, when.at)
        give_up_unneeded(session, taker.id)
        promise_free(session, giver.id, today=when.today, only=[item.id])
        back = take_confirmation_back(session, before, giver, when.today)
        return finished(gives, happened, back, request)


def _again(session: Session, booking: BookingFacts, piece: Piece, when: Moment) -> KitChangeView:
    """The answer to a change that went through before: how the kit stands."""
    return change_view(session, booking, find_piece(session, piece), [], [], when.today)


__all__ = ["Exchange", "Loan", "Moment", "Piece", "Told", "draw", "give_back", "lend", "swap"]
