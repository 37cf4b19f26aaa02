"""How a lot is judged: how long it keeps by the policy chosen, and whether it may be fitted."""

from __future__ import annotations

from calendar import monthrange
from collections.abc import Sequence
from dataclasses import asdict, dataclass, replace
from datetime import date

from kitting.facts.reasons import Reason, because
from kitting.facts.shelf_life import Shelf, ShelfReason, best_before, opened_limit
from kitting.facts.words import LotState, ShelfPolicy


@dataclass(frozen=True, slots=True)
class Content:
    """By what something in a packet ages, as for `Stored`."""

    elastomer: str | None = None
    shelf_life_months: int | None = None
    rubber: bool = False
    ages: bool = False


@dataclass(frozen=True, slots=True)
class Stored:
    """What the storage life of a lot depends on: its dates, and what its item is made of.

    `made_on` is the last day of what was stated. `on_hold` is the reason why nobody may take from
    it; None where it is not on hold. `elastomer` is a code of ISO 1629. Without one, what is
    `rubber` or `ages` by its nature is of unknown age unless its packet or `shelf_life_months`
    tells; the rest keeps by these. A packet ages with the weakest of its `contents`, which are as
    old as it is. Of a `part_pack` one has been opened: it is no whole number of packs.
    """

    made_on: date | None = None
    expires_on: date | None = None
    opened_on: date | None = None
    inspected_on: date | None = None
    on_hold: str | None = None
    elastomer: str | None = None
    shelf_life_months: int | None = None
    opened_life_days: int | None = None
    rubber: bool = False
    ages: bool = False
    received_on: date | None = None
    contents: tuple[Content, ...] = ()
    part_pack: bool = False


@dataclass(frozen=True, slots=True)
class Judgement:
    """How a lot stands at a day: its state, the last day on which it may be fitted, and why."""

    state: LotState
    shelf: Shelf

    @property
    def may_be_fitted(self) -> bool:
        """Nothing on hold or expired is fitted; an unknown age is for a person to judge."""
        return may_be_fitted(self.state)


def may_be_fitted(state: LotState) -> bool:
    """Whether a lot in a state may go into a car."""
    return state not in (LotState.ON_HOLD, LotState.EXPIRED)


def fitted_on(planned: date, today: date | None) -> date:
    """The earliest day on which something planned for a day can still be fitted.

    Without a today, the day that was planned.

    >>> fitted_on(date(2026, 4, 10), date(2026, 5, 20))
    datetime.date(2026, 5, 20)
    """
    return planned if today is None else max(planned, today)


def state_on(day: date, limit: date | None, *, on_hold: bool, known: bool = True) -> LotState:
    """The state of a lot on a day; the day of expiry is the last on which it is good.

    >>> state_on(date(2026, 5, 10), date(2026, 5, 10), on_hold=False)
    'good'
    """
    if on_hold:
        return LotState.ON_HOLD
    if limit is not None and limit < day:
        return LotState.EXPIRED
    return LotState.GOOD if known else LotState.AGE_UNKNOWN


def judge(lot: Stored, policy: ShelfPolicy, day: date) -> Judgement:
    """How a lot is judged at a day by a policy."""
    shelf = shelf_of(lot, policy)
    on_hold = lot.on_hold is not None
    return Judgement(state_on(day, shelf.limit, on_hold=on_hold, known=shelf.known), shelf)


def shelf_of(lot: Stored, policy: ShelfPolicy) -> Shelf:
    """How long a lot keeps: cure date and policy for rubber, the packet for the rest, opened life.

    The earliest limit holds; what neither ages by its nature nor bears a date does not age. An
    inspection extends rubber only, and only by a policy that has an extension.
    """
    parts = [replace(lot, contents=(), **asdict(content)) for content in lot.contents]
    shelf = _weakest([_unopened(lot, policy), *(_unopened(part, policy) for part in parts)])
    if lot.opened_on is None:
        since = because(ShelfReason.OPENED_SINCE_UNKNOWN)
        return Shelf(shelf.limit, since, known=False) if lot.part_pack else shelf
    return opened_limit(shelf, lot.opened_on, lot.opened_life_days)


def _weakest(shelves: Sequence[Shelf]) -> Shelf:
    """The earliest limit; not known as soon as one is not."""
    limited = [shelf for shelf in shelves if shelf.limit is not None]
    first = min(limited, key=lambda shelf: shelf.limit or date.max, default=shelves[0])
    unknown = next((shelf for shelf in shelves if not shelf.known), None)
    return first if unknown is None else Shelf(first.limit, unknown.reason, known=False)


def _unopened(lot: Stored, policy: ShelfPolicy) -> Shelf:
    if lot.elastomer is not None:
        return best_before(lot.made_on, lot.elastomer, policy, lot.expires_on, lot.inspected_on)
    return _by_packet(lot)


def _by_packet(lot: Stored) -> Shelf:
    if lot.made_on is not None and lot.shelf_life_months:
        made = months_later(lot.made_on, lot.shelf_life_months)
        if lot.expires_on is None or made < lot.expires_on:
            months = because(ShelfReason.MONTHS, made=lot.made_on, months=lot.shelf_life_months)
            return Shelf(made, months)
    if lot.expires_on is not None:
        return best_before(None, None, ShelfPolicy.PACKET, lot.expires_on)
    if lot.shelf_life_months:
        return Shelf(None, because(ShelfReason.NO_DATES), known=False)
    if lot.rubber:
        return Shelf(None, because(ShelfReason.NO_MATERIAL), known=False)
    if lot.ages:
        return Shelf(None, _no_shelf_life(lot), known=False)
    return Shelf(None, because(ShelfReason.AGELESS))


def _no_shelf_life(lot: Stored) -> Reason:
    if lot.received_on is None:
        return because(ShelfReason.NO_SHELF_LIFE)
    return because(ShelfReason.NO_SHELF_LIFE_RECEIVED, received=lot.received_on)


def months_later(day: date, months: int) -> date:
    """The same day some months later, the last of the month where it has none.

    >>> months_later(date(2026, 1, 31), 13)
    datetime.date(2027, 2, 28)
    """
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    return date(year, month + 1, min(day.day, monthrange(year, month + 1)[1]))
