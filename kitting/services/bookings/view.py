"""Bookings as they stand: what each needs, what covers it, what is short and who has it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from sqlalchemy import BindParameter, bindparam, select
from sqlalchemy.orm import Session

from kitting.calc.stock.storage import fitted_on
from kitting.facts.reasons import because
from kitting.facts.verdicts import Aspect, Doubt, Verdict, verdict_of
from kitting.facts.words import OPEN_BOOKINGS, BookingState, NeedRule
from kitting.services.bookings.edition import EDITION
from kitting.services.bookings.elsewhere import Asked, elsewhere
from kitting.services.bookings.kit_place import KIT_IN
from kitting.services.bookings.kit_record import asked_for
from kitting.services.bookings.left_over import extra_apart, left_over
from kitting.services.bookings.needed import Doubts, Told, kit_doubts, needed_all, recorded
from kitting.services.bookings.not_renewed import not_renewed
from kitting.services.bookings.outdated import CatalogueDoubts, PlannedBy, catalogue_doubts
from kitting.services.bookings.set_aside import SET_ASIDE, planned_day, set_aside_view
from kitting.services.bookings.sources import read_sources
from kitting.services.bookings.states import BookingFacts
from kitting.services.stock.lots import POLICY
from kitting.tables.bookings import (
    SPARES_OF_NEED,
    TAKEN_SPARES,
    Booking,
    BookingDoubt,
    BookingLicence,
    BookingNeed,
    BookingSpare,
    BookingStandIn,
)
from kitting.tables.items import ITEM_NAME, Item
from kitting.tables.supply import Branch, BranchLicence
from kitting.tables.vehicles import Model, Vehicle
from kitting.tables.vocabulary import Licence
from kitting.views.bookings import (
    BookingView,
    ChosenView,
    Lack,
    NeededView,
)

_KEYS: BindParameter[Any] = bindparam("keys", expanding=True)
_HEADS = (
    select(
        Booking.id, Booking.number, Booking.branch_id, Booking.fit_on, Booking.state,
        Booking.override, Booking.shelf_policy.label("own_policy"), POLICY, Booking.vehicle_id,
        Booking.made_at, Booking.edition, Booking.planned,
        EDITION.scalar_subquery().label("edition_now"), Branch.code.label("branch"),
        Vehicle.registration, Model.name.label("model"), KIT_IN, *SET_ASIDE,
    )
    .join(Branch, Booking.branch_id == Branch.id)
    .join(Vehicle, Booking.vehicle_id == Vehicle.id)
    .join(Model, Vehicle.model_id == Model.id)
    .where(Booking.id.in_(_KEYS))
)  # fmt: skip
_NEEDS = (
    select(
        BookingNeed.booking_id, BookingNeed.item_id, BookingNeed.rule, BookingNeed.quantity,
        TAKEN_SPARES.label("taken"), Item.code, ITEM_NAME, Item.unit,
    )
    .join(Item, BookingNeed.item_id == Item.id)
    .join(Booking, BookingNeed.booking_id == Booking.id)
    .outerjoin(BookingSpare, SPARES_OF_NEED)
    .where(BookingNeed.booking_id.in_(_KEYS))
    .order_by(BookingNeed.id)
)  # fmt: skip
_UNQUALIFIED = (
    select(BookingLicence.booking_id, Licence.name, BookingLicence.asked_by)
    .join(Licence, BookingLicence.licence_id == Licence.id)
    .join(Booking, BookingLicence.booking_id == Booking.id)
    .outerjoin(
        BranchLicence,
        (BranchLicence.branch_id == Booking.branch_id) & (BranchLicence.licence_id == Licence.id),
    )
    .where(BookingLicence.booking_id.in_(_KEYS), BranchLicence.branch_id.is_(None))
    .order_by(Licence.code)
)
_asked = Item.__table__.alias("asked")
# What the plan of each booking left in doubt, and what stands for what.
_DOUBTS = (
    select(
        BookingDoubt.booking_id, BookingDoubt.seq, BookingDoubt.item, BookingDoubt.verdict,
        BookingDoubt.aspect, BookingDoubt.reason,
    )
    .where(BookingDoubt.booking_id.in_(_KEYS))
    .order_by(BookingDoubt.booking_id, BookingDoubt.seq)
)  # fmt: skip
_STAND_INS = (
    select(BookingStandIn.booking_id, BookingStandIn.item_id, BookingStandIn.rule, _asked.c.code)
    .join(_asked, BookingStandIn.asked_id == _asked.c.id)
    .where(BookingStandIn.booking_id.in_(_KEYS))
    .order_by(_asked.c.code)
)


def booking_view(session: Session, booking: BookingFacts, today: date | None = None) -> BookingView:
    """A booking with every need, as it stands now."""
    return booking_views(session, [booking.id], today)[0]


def booking_views(
    session: Session, bookings: Sequence[int], today: date | None = None
) -> tuple[BookingView, ...]:
    """Bookings in the order given, each with every need, in a fixed number of statements.

    Stock is judged at the fitting date; at `today` where that is past and the booking is open: it
    will be fitted later than booked.

    A booking of which the catalogue changed since it was planned is planned anew to tell the
    difference.
    """
    keys = {"keys": list(bookings)}
    heads = {row.id: row for row in session.execute(_HEADS, keys)}
    days = {key: _day(head, today) for key, head in heads.items()}
    sources = read_sources(session, keys, heads, days, today)
    needs: dict[int, list[Any]] = defaultdict(list)
    for row in session.execute(_NEEDS, keys):
        needs[row.booking_id].append(row)
    others = elsewhere(
        session,
        [
            Asked(head.id, head.branch_id, days[head.id], head.policy, {n.item_id for n in rows})
            for head, rows in ((heads[key], needs[key]) for key in heads)
        ],
    )
    asked, planned = asked_for(session, bookings), _plan_doubts(session, keys)
    stands_for = _stand_ins(session, keys)
    around = _unqualified(session, keys)
    closed = [key for key, head in heads.items() if head.state is BookingState.CLOSED]
    missing = not_renewed(session, closed) if closed else {}
    open_ = [key for key in bookings if heads[key].state in OPEN_BOOKINGS]
    drawn = extra_apart(session, sources, open_, needs)
    needed = {
        key: needed_all(
            key,
            needs[key],
            Told(planned_day(heads[key]), planned[key], sources, others, stands_for, missing),
        )
        for key in bookings
    }
    extra = left_over(session, sources, open_, drawn)
    found = []
    for key in bookings:
        doubts = planned[key], around[key], _changed(session, heads[key])
        lines = (*needed[key], *extra.get(key, ()))
        found.append(_view(heads[key], lines, asked[key], doubts))
    return tuple(found)


def _day(head: Any, today: date | None) -> date:
    """The day on which a booking is judged; what is over stays judged by its fitting date.

    What is set aside until later is fitted later.
    """
    return fitted_on(planned_day(head), today if head.state in OPEN_BOOKINGS else None)


def _changed(session: Session, head: Any) -> CatalogueDoubts:
    booking = BookingFacts(
        id=head.id,
        number=head.number,
        branch_id=head.branch_id,
        vehicle_id=head.vehicle_id,
        fit_on=head.fit_on,
        state=head.state,
        override=head.override,
        shelf_policy=head.own_policy,
        made_at=head.made_at,
    )
    was = PlannedBy(head.edition, head.planned, head.edition_now)
    return catalogue_doubts(session, booking, was)


def _plan_doubts(
    session: Session, keys: Mapping[str, Any]
) -> dict[int, dict[str | None, list[Doubt]]]:
    found: dict[int, dict[str | None, list[Doubt]]] = defaultdict(lambda: defaultdict(list))
    for row in session.execute(_DOUBTS, keys):
        doubt = Doubt(row.verdict, row.aspect, recorded(row.reason))
        found[row.booking_id][row.item].append(doubt)
    return found


def _stand_ins(
    session: Session, keys: Mapping[str, Any]
) -> dict[tuple[int, int, NeedRule], tuple[str, ...]]:
    found: dict[tuple[int, int, NeedRule], tuple[str, ...]] = defaultdict(tuple)
    for booking, item, rule, asked in session.execute(_STAND_INS, keys):
        found[booking, item, rule] += (asked,)
    return found


def _unqualified(session: Session, keys: Mapping[str, Any]) -> dict[int, list[Doubt]]:
    found: dict[int, list[Doubt]] = defaultdict(list)
    for booking, licence, asked_by in session.execute(_UNQUALIFIED, keys):
        lack = because(Lack.NOBODY_QUALIFIED, licence=licence, asked_by=asked_by)
        found[booking].append(Doubt(Verdict.NO, Aspect.LICENCE, lack))
    return found


def _view(
    head: Any,
    needed: tuple[NeededView, ...],
    asked: tuple[tuple[str, ...], tuple[ChosenView, ...]],
    around: tuple[Doubts, Sequence[Doubt], CatalogueDoubts],
) -> BookingView:
    jobs, chosen = asked
    planned, unqualified, changed = around
    doubts = kit_doubts(needed, planned, (*unqualified, *changed.doubts))
    return BookingView(
        number=head.number,
        branch=head.branch,
        registration=head.registration,
        vehicle=head.model,
        jobs=jobs,
        fit_on=head.fit_on,
        state=head.state,
        shelf_policy=head.policy,
        own_policy=head.own_policy is not None,
        verdict=verdict_of(doubts),
        doubts=doubts,
        changes=changed.changes,
        override=head.override,
        needs=needed,
        set_aside=set_aside_view(head),
        kit_in=head.kit_in,
        chosen=chosen,
    )
