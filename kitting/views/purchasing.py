"""Purchasing: what to buy, orders as placed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from kitting.facts.amounts import Thousandths
from kitting.facts.money import Money
from kitting.facts.reasons import Reason, ReasonCode
from kitting.facts.verdicts import Doubt, Verdict
from kitting.facts.words import OrderState
from kitting.views.bookings import BookedJobView
from kitting.views.on_the_way import AwaitedView, VanComingView
from kitting.views.orders import (
    ClaimView,
    CutoffThere,
    NoticeView,
    OverView,
    ReceiptView,
    SubstituteForView,
    SubstituteView,
    TaxView,
)


class SupplyReason(ReasonCode):
    """Why something is bought as it is, or not at all."""

    FOR_BOOKINGS = "for bookings"
    PACK_SIZE = "pack size"
    PRICE_BREAK = "price break"
    LEAST_PACKS = "least packs"
    LEAST_ORDER = "least order"
    SAVES_CARRIAGE = "saves carriage"
    CHEAPER_WITH_IT = "cheaper with it"
    CARRIAGE_FREE = "carriage free"
    CARRIAGE_SAVED = "carriage saved by more goods"
    NOBODY_OFFERS = "nobody offers it"
    NOT_IN_TIME = "not in time"
    OTHER_CURRENCY = "offered in other currencies"
    WITHOUT_SUPPLIER = "without a supplier"
    NOT_WITHOUT_SUPPLIER = "not without a supplier"


@dataclass(frozen=True, slots=True)
class OldStockView:
    """Stock of unknown age that meets so much of a need, in thousandths of the item's unit.

    `booking` is None of what is not booked; `why` says why its age is not known.
    """

    booking: str | None
    lot: str
    quantity: Thousandths
    why: Reason | None


@dataclass(frozen=True, slots=True)
class BuyLineView:
    """One line of an order: `ordered` in thousandths of `unit`, `price` of a pack.

    `core` is refunded per pack for the old part; `why` says who wants it and why so much. A part
    may have a lead time of its own: `arrives` and `late` are its usual and its late day, `chance`
    that of being here in time. Where `old_stock` meets another part of the same need, the line
    cannot be proven, however new what is bought: `verdict` is the worst of the parts.
    """

    part: str
    item: str
    name: str
    unit: str
    needed: Thousandths
    packs: int
    pack: Thousandths
    ordered: Thousandths
    price: Money
    total: Money
    returnable: bool
    core: Money | None
    why: tuple[Reason, ...]
    arrives: date
    late: date
    chance: float
    old_stock: tuple[OldStockView, ...] = ()
    verdict: Verdict = Verdict.FINE


@dataclass(frozen=True, slots=True)
class ParcelView:
    """What is ordered from one supplier at once: carriage is paid once.

    `cutoff` is the next time by which to order, `there` the same by the supplier's own clock.
    `arrives` is the usual day and `late` the day within which nine of ten arrive, both if ordered
    by then and of its slowest part; `chance` is that of all of it; `latest_useful` the last day on
    which it can come and still be checked. `slip` is how many days later it comes if the cut-off is
    missed. `cores` is paid on top and comes back for the old parts. `tax` is None where no rate is
    stated. `own_total` is what the supplier asks for in its own currency, where prices are
    converted by a stated rate.
    """

    supplier: str
    supplier_name: str
    lines: tuple[BuyLineView, ...]
    goods: Money
    carriage: Money
    carriage_note: Reason | None
    total: Money
    cutoff: datetime
    minutes_left: int
    there: CutoffThere
    arrives: date
    late: date
    latest_useful: date
    chance: float
    slip: int
    cores: Money
    tax: TaxView | None = None
    own_total: Money | None = None


@dataclass(frozen=True, slots=True)
class RateView:
    """A rate that was stated: 1 `currency` is `rate` of what is bought `into`, of a day.

    `age` is how many days ago that is. Nobody checked it here.
    """

    currency: str
    into: str
    rate: str
    on: date
    age: int


@dataclass(frozen=True, slots=True)
class LackView:
    """So much of an item cannot be had, and why; `quantity` in thousandths of `unit`."""

    item: str
    name: str
    unit: str
    quantity: Thousandths
    why: Reason


@dataclass(frozen=True, slots=True)
class TransferAdviceView:
    """What another branch has free of an item that is short, in thousandths of `unit`.

    `arrives` is when its van is here, which leaves at `leaves` ("15:00"); both None where nobody
    says when it leaves. `bought` is when the item comes if it is bought, None if it cannot be.
    """

    item: str
    unit: str
    quantity: Thousandths
    branch: str
    arrives: date | None
    leaves: str | None
    bought: date | None


@dataclass(frozen=True, slots=True)
class AlternativeView:
    """What may stand in for an item, the `choice`-th, and how much of it is free here."""

    item: str
    choice: int
    instead: str
    unit: str
    free: Thousandths
    note: str | None


@dataclass(frozen=True, slots=True)
class BarredView:
    """An item that takes no alternative: it sits in a system where only the maker's part goes."""

    item: str
    system: str


@dataclass(frozen=True, slots=True)
class ForBookingView:
    """How sure a booking is to be whole on its day: everything here `by` a day, to be checked."""

    booking: str
    fit_on: date
    by: date
    chance: float


@dataclass(frozen=True, slots=True)
class ExtrasView:
    """What would be worth taking along: never ordered unless it is said so.

    `more` is what it costs beyond the least purchase, or what is `saved` with it (a carriage limit
    is reached); `worth` is what is left over worth; `lines` are (part, item, packs) that differ.
    """

    more: Money
    saved: bool
    worth: Money
    lines: tuple[tuple[str, str, int], ...]


@dataclass(frozen=True, slots=True)
class OpenDoubtView:
    """What is not fine and no purchase settles; `booking` is None of what is not booked."""

    booking: str | None
    doubt: Doubt


@dataclass(frozen=True, slots=True)
class OtherPacketsView:
    """Packets that hold something of what a packet to buy holds: they were not compared."""

    item: str
    others: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PurchaseView:
    """The least-cost purchase that makes some bookings whole in time with a chance, proven.

    Where something cannot be had in time, `lacking` names it, the purchase is that of the rest, and
    the chance is 0. Each booking is judged at its own date: `fit_on` is the first of them,
    `chance` that of the least sure booking, `whole` has all. `vans` are transfers that are counted;
    `left_out` are suppliers with their currency whose prices are in another than is bought in.
    `transfers` says what other branches have free of it, with both times; `alternatives` what may
    stand in for an item, the first choice first, and `barred` which items take none; `others` what
    leaving out a supplier would cost; `other_packets` which packets the plan did not choose;
    `awaited` is what is on its way, each judged by its own delivery, `extras` what would be worth
    taking along, `doubts` what no purchase settles. Without a purchase, `best_chance` is the
    highest that can be reached and `would_do` the earliest fitting date that can be had at the
    chance asked for. `tax_mixed` are the suppliers compared, each with whether tax is in its
    prices, where that is not the same for all. Before there is a booking, `bookings` is empty,
    `car` and `jobs` are what was asked for, `booked` what of it is booked already, and what is
    wanted or whole names the car. `rates` are those stated by which prices were converted.
    """

    bookings: tuple[str, ...]
    branch: str
    now: datetime
    fit_on: date
    asked: float
    chance: float
    total: Money | None = None
    parcels: tuple[ParcelView, ...] = ()
    lacking: tuple[LackView, ...] = ()
    best_chance: float | None = None
    would_do: date | None = None
    others: tuple[Reason, ...] = ()
    transfers: tuple[TransferAdviceView, ...] = ()
    alternatives: tuple[AlternativeView, ...] = ()
    barred: tuple[BarredView, ...] = ()
    other_packets: tuple[OtherPacketsView, ...] = ()
    orders: tuple[str, ...] = ()
    awaited: tuple[AwaitedView, ...] = ()
    extras: ExtrasView | None = None
    doubts: tuple[OpenDoubtView, ...] = ()
    whole: tuple[ForBookingView, ...] = ()
    vans: tuple[VanComingView, ...] = ()
    left_out: tuple[tuple[str, str], ...] = ()
    tax_mixed: tuple[tuple[str, bool | None], ...] = ()
    car: str | None = None
    jobs: tuple[str, ...] = ()
    booked: tuple[BookedJobView, ...] = ()
    rates: tuple[RateView, ...] = ()


@dataclass(frozen=True, slots=True)
class OrderLineView:
    """A line of an order that was placed. Amounts are thousandths of `unit`.

    `price` is of a pack, `core` still comes back for old parts. The supplier has to be told of what
    came `damaged`, `wrong` or `over` (on hold). `due`, `due_late`: by the newest of `notices`.
    `kept` says that nobody ordered it: it was kept of what came too much.
    """

    seq: int
    part: str
    item: str
    name: str
    unit: str
    packs: int
    ordered: Thousandths
    received: Thousandths
    lost: Thousandths
    promised: tuple[str, ...]
    price: Money
    total: Money
    returnable: bool
    due: date
    due_late: date
    core: Money | None = None
    damaged: Thousandths = 0
    wrong: Thousandths = 0
    over: Thousandths = 0
    notices: tuple[NoticeView, ...] = ()
    substitutes: tuple[SubstituteView, ...] = ()
    kept: bool = False

    @property
    def coming(self) -> int:
        """What is still to come, thousandths."""
        return self.ordered - self.received - self.lost


@dataclass(frozen=True, slots=True)
class OrderView:
    """An order as placed; `bill` is the number of the receipt if it was bought over the counter.

    `due` and `due_late` are those of the last line that is still to come. `overdue` says that
    `due` has passed without it. `goods` are as ordered. Paid with them are `cores`, which come
    back for the old parts, and `again`, what is sent in place of credited goods; off go what was
    `credited` for `claims` and `lost`, what will not come and is not credited: `total` is left.
    `taken_over` is what a substitute comes to for each booking, just after it came. `receipts` are
    what came and was not taken back, the newest last; `too_much` is on hold.
    """

    number: str
    supplier: str
    supplier_name: str
    branch: str
    placed_at: datetime
    due: date
    due_late: date
    state: OrderState
    lines: tuple[OrderLineView, ...]
    goods: Money
    carriage: Money
    total: Money
    cores: Money
    lost: Money
    bill: str | None = None
    overdue: bool = False
    credited: Money | None = None
    again: Money | None = None
    claims: tuple[ClaimView, ...] = ()
    tax: TaxView | None = None
    taken_over: tuple[SubstituteForView, ...] = ()
    receipts: tuple[ReceiptView, ...] = ()
    too_much: tuple[OverView, ...] = ()
