"""What becomes of everything that was picked when a booking is closed, lot by lot."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import bindparam, select
from sqlalchemy.orm import Session

from kitting.actions import Action, next_step
from kitting.errors import KittingError
from kitting.facts.units import format_quantity
from kitting.facts.words import KitEventKind, NeedRule
from kitting.services.bookings.closing_questions import Answers
from kitting.services.bookings.findings import Inspected
from kitting.services.bookings.kit_events import Happened, Told, write_events
from kitting.services.bookings.kit_place import require_home
from kitting.services.bookings.pick import Account, promises_of, put_back
from kitting.services.bookings.states import BookingFacts
from kitting.services.stock.ledger import let_all_go
from kitting.services.stock.lots import find_items
from kitting.tables.items import Item
from kitting.views.bookings import BookingView

_ITEMS = select(Item.id, Item.code).where(Item.id.in_(bindparam("keys", expanding=True)))


@dataclass(frozen=True, slots=True)
class GoesBack:
    """What goes back by itself, by item code in thousandths.

    `needed` is what the booking needs of each item in all, `renewed` what of that has to be
    renewed, `spares` what positions that passed did not take.
    """

    needed: Mapping[str, int]
    renewed: Mapping[str, int]
    spares: Mapping[str, int]

    def of(self, code: str, picked: int, told: Answers) -> int:
        """How much of what was picked of an item is left over, where nobody said how much is."""
        if code in told.used:
            used = min(self.renewed.get(code, 0), picked) + told.used[code]
            return picked - told.scrapped.get(code, 0) - used
        if code in told.scrapped:
            return 0
        needed = self.needed.get(code, 0)
        return max(0, picked - needed) + min(self.spares.get(code, 0), picked, needed)


def goes_back_of(view: BookingView, inspected: Inspected) -> GoesBack:
    """What goes back of a booking by itself."""
    needed: dict[str, int] = defaultdict(int)
    renewed: dict[str, int] = defaultdict(int)
    spares: dict[str, int] = {}
    for need in view.needs:
        needed[need.item] += need.needed
        if need.rule is NeedRule.RENEW:
            renewed[need.item] += need.needed
        if need.spare:
            items = {need.item, *need.stands_for}
            passed = sum(inspected.passed.get(item, 0) for item in items)
            # What was renewed without a look took its spare, whatever passed elsewhere.
            taken = sum(inspected.unseen.get(item, 0) for item in items)
            spares[need.item] = min(max(0, need.picked - taken), passed)
    return GoesBack(needed, renewed, spares)


def account(
    session: Session, booking: BookingFacts, told: Answers, goes_back: GoesBack, at: datetime
) -> None:
    """Write down what became of everything picked, lot by lot, and free what was not picked."""
    promises = promises_of(session, booking.id)
    items = {
        row.id: row
        for row in session.execute(_ITEMS, {"keys": sorted({p.item_id for p in promises})})
    }
    codes = {key: row.code for key, row in items.items()}
    picked: dict[str, int] = defaultdict(int)
    for promise in promises:
        picked[codes[promise.item_id]] += promise.picked
    scrapped = dict(told.scrapped)
    returned = {code: goes_back.of(code, n, told) for code, n in picked.items()}
    _refuse_used(booking, told, picked, returned)
    returned |= told.returned
    accounts = []
    for promise in promises:
        code = codes[promise.item_id]
        gone = min(promise.picked, scrapped.get(code, 0))
        back = min(promise.picked - gone, returned.get(code, 0))
        scrapped[code] = scrapped.get(code, 0) - gone
        returned[code] = returned.get(code, 0) - back
        accounts.append(Account(promise, used=promise.picked - gone - back, back=back, gone=gone))
    _refuse_left(session, booking, returned, scrapped)
    if any(one.back for one in accounts):
        require_home(session, booking)
    put_back(session, booking.id, accounts, at)
    let_all_go(session, [(p.id, p.waiting) for p in promises if p.waiting])
    used = [(row, told.used[row.code]) for row in items.values() if told.used.get(row.code)]
    write_events(
        session, booking,
        [Happened(KitEventKind.TOLD_USED, row.id, None, amount) for row, amount in used],
        Told(), at,
    )  # fmt: skip


def _refuse_used(
    booking: BookingFacts,
    told: Answers,
    picked: Mapping[str, int],
    rest: Mapping[str, int],
) -> None:
    """Raise KittingError where what was used and what came back are not what was in the kit."""
    for code in told.used:
        left = rest.get(code, 0) - told.returned.get(code, 0)
        if code not in picked or left < 0 or (code in told.returned and left):
            raise KittingError(
                "{number}: what was used, came back and was scrapped of {code} is not what lies"
                " in its kit. Nothing was recorded; count again",
                number=booking.number,
                code=code,
                then=[next_step(Action.SHOW_KIT, booking=booking.number)],
            )


def _refuse_left(
    session: Session,
    booking: BookingFacts,
    returned: Mapping[str, int],
    scrapped: Mapping[str, int],
) -> None:
    left = [
        (code, amount) for some in (returned, scrapped) for code, amount in some.items() if amount
    ]
    if left:
        items = find_items(session, sorted({code for code, _ in left}))
        amounts = ", ".join(f"{format_quantity(n, items[code].unit)} {code}" for code, n in left)
        raise KittingError(
            "{number}: returns and scrap exceed what was picked by {amounts}. Nothing was"
            " recorded; count again",
            number=booking.number,
            amounts=amounts,
        )
