"""Before a booking exists: a kit planned as its booking would be, and stored nowhere."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime

from sqlalchemy import bindparam, select
from sqlalchemy.orm import Session

from kitting.facts.reasons import because
from kitting.facts.verdicts import Aspect, Doubt, Verdict
from kitting.facts.words import BookingState, NeedRule, ShelfPolicy
from kitting.services.bookings.booked_already import booked_already
from kitting.services.bookings.needed import Told, kit_doubts, needed_all, recorded
from kitting.services.bookings.requirements import draft_kit, needs_of, plan_doubts
from kitting.services.bookings.reservations import claims_for, shelves_for
from kitting.services.bookings.sources import Source, lot_view
from kitting.services.bookings.states import BookingFacts
from kitting.services.db.reason_text import reason_as_text
from kitting.services.planning.judged import Draft
from kitting.services.planning.read import read_plan
from kitting.services.planning.read_car import registration_key
from kitting.services.planning.request import PlanRequest
from kitting.services.planning.stand_ins import KitRecord
from kitting.services.planning.view import plan_view
from kitting.services.stock.ledger import Claim
from kitting.services.stock.lots import STORED, find_items, stored
from kitting.tables.bookings import Booking
from kitting.tables.items import Item
from kitting.tables.stock import Lot
from kitting.tables.supply import Branch, BranchLicence
from kitting.tables.vehicles import Vehicle
from kitting.tables.vocabulary import Licence
from kitting.views.bookings import BookedJobView, Lack
from kitting.views.plan import PlanView

# The key of a booking that is not stored: none has it, and all others were made before it.
NOT_STORED = 2**31 - 1
_LOTS = (
    select(Lot.id, Lot.code, Lot.bin, *STORED)
    .join(Item, Lot.item_id == Item.id)
    .where(Lot.id.in_(bindparam("keys", expanding=True)))
)
_QUALIFIED = (
    select(Licence.code)
    .join(BranchLicence, BranchLicence.licence_id == Licence.id)
    .where(BranchLicence.branch_id == bindparam("branch"))
)

_IS_BOOKING = select(Booking.id).where(Booking.number == bindparam("number"))
_IS_CAR = select(Vehicle.id).where(Vehicle.registration_key == bindparam("key"))


@dataclass(frozen=True, slots=True)
class NeedOf:
    """What is needed of an item under a rule, in thousandths of its unit."""

    item_id: int
    code: str
    name: str
    unit: str
    rule: NeedRule
    quantity: int
    pack: int | None
    opened_life_days: int | None
    taken: int = 0  # of spares: none before a booking takes them


@dataclass(frozen=True, slots=True)
class Unbooked:
    """Jobs on a car that nobody has booked, planned as a booking of them would be.

    `booking` is not stored. `claims` is what a booking would be promised of what is free by now,
    `policy` the table of storage life that judges it, `booked` which jobs are booked already.
    """

    booking: BookingFacts
    policy: ShelfPolicy
    planned: Draft
    view: PlanView
    needs: tuple[NeedOf, ...]
    claims: tuple[Claim, ...]
    booked: tuple[BookedJobView, ...]

    @property
    def coming(self) -> dict[int, int]:
        """What a booking would be promised of what is on its way, in thousandths by item."""
        found: dict[int, int] = defaultdict(int)
        for claim in self.claims:
            if claim.order_line is not None:
                found[claim.item] += claim.quantity
        return dict(found)


def plan_unbooked(session: Session, branch: Branch, request: PlanRequest, at: datetime) -> Unbooked:
    """Plan jobs at a branch as a booking of them would be; nothing is written. Raises as a plan."""
    facts = read_plan(session, request)
    booking = BookingFacts(
        id=NOT_STORED,
        number="",
        branch_id=branch.id,
        vehicle_id=facts.car.key,
        fit_on=request.on,
        state=BookingState.PROVISIONAL,
        override=None,
        shelf_policy=None,
        made_at=at,
    )
    planned = draft_kit(session, booking, facts, KitRecord())
    view = plan_view(planned)
    needs = tuple(_needs(session, view))
    lacking: dict[int, int] = defaultdict(int)
    for need in needs:
        lacking[need.item_id] += need.quantity
    shelves = shelves_for(session, booking, request.on, list(lacking))
    claims = tuple(claims_for(shelves, lacking, request.on))
    booked = booked_already(session, booking.vehicle_id, [job.code for job in view.jobs])
    return Unbooked(booking, branch.shelf_policy, planned, view, needs, claims, booked)


def names_a_car(session: Session, word: str) -> bool:
    """Whether a word is the registration of a car, and not the whole number of a booking.

    One that is neither is taken for a registration where it has a space, which no number has.
    """
    if session.scalar(_IS_BOOKING, {"number": word.strip().upper()}) is not None:
        return False
    known = session.scalar(_IS_CAR, {"key": registration_key(word)}) is not None
    return known or len(word.split()) > 1


def _needs(session: Session, planned: PlanView) -> Iterator[NeedOf]:
    needs = needs_of(planned)
    items = find_items(session, sorted({code for code, _ in needs}))
    for (code, rule), amount in sorted(needs.items()):
        item = items[code]
        yield NeedOf(
            item.id,
            code,
            item.shown_name,
            item.unit,
            rule,
            amount,
            item.pack,
            item.opened_life_days,
        )


def unbooked_doubts(session: Session, case: Unbooked) -> tuple[Doubt, ...]:
    """What would keep the kit from being fine if it were booked now."""
    planned: dict[str | None, list[Doubt]] = defaultdict(list)
    for item, doubt in plan_doubts(case.view):
        # As a booking has it on record.
        told = recorded(reason_as_text(doubt.because))
        planned[item].append(replace(doubt, because=told))
    context = Told(case.booking.fit_on, planned, _sources(session, case), {}, {}, {})
    needed = needed_all(NOT_STORED, case.needs, context)
    return kit_doubts(needed, planned, _unqualified(session, case))


def _sources(session: Session, case: Unbooked) -> Mapping[tuple[int, int], Sequence[Source]]:
    """The lots that the kit would be promised, each as judged at its day."""
    keys = [claim.lot for claim in case.claims if claim.lot is not None]
    rows = {row.id: row for row in session.execute(_LOTS, {"keys": keys})} if keys else {}
    on: date = case.booking.fit_on
    found: dict[tuple[int, int], list[Source]] = defaultdict(list)
    for claim in case.claims:
        if claim.lot is not None:
            row = rows[claim.lot]
            view = lot_view(row, stored(row), case.policy, on)
            found[NOT_STORED, claim.item].append(Source(claim.quantity, 0, view))
    return found


def _unqualified(session: Session, case: Unbooked) -> list[Doubt]:
    if not case.view.licences:
        return []
    held = set(session.scalars(_QUALIFIED, {"branch": case.booking.branch_id}))
    return [
        Doubt(
            Verdict.NO,
            Aspect.LICENCE,
            because(
                Lack.NOBODY_QUALIFIED, licence=licence.name, asked_by=", ".join(licence.asked_by)
            ),
        )
        for licence in sorted(case.view.licences, key=lambda one: one.code)
        if licence.code not in held
    ]
