"""Orders by hand and what happens to them afterwards."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from kitting.actions import NextStep
from kitting.facts.amounts import Thousandths
from kitting.facts.money import Money
from kitting.facts.reasons import Reason
from kitting.facts.verdicts import Doubt, Verdict
from kitting.facts.words import ClaimKind, OrderState


@dataclass(frozen=True, slots=True)
class HandLineView:
    """A line of an order by hand: `ordered` in thousandths of `unit`, `price` and `core` of a pack.

    `for_bookings` is what bookings that it is for lack of it, `spare` what is then left for the
    shelf, both in thousandths.
    """

    part: str
    item: str
    name: str
    unit: str
    packs: int
    pack: Thousandths
    ordered: Thousandths
    price: Money
    total: Money
    returnable: bool
    core: Money | None
    for_bookings: Thousandths
    spare: Thousandths


@dataclass(frozen=True, slots=True)
class CutoffThere:
    """A cut-off `at` by the supplier's clock, and the time zones of both places.

    None: nobody states it, and it is taken to be that of the other place.
    """

    zone: str | None
    branch_zone: str | None
    at: datetime


@dataclass(frozen=True, slots=True)
class TaxView:
    """The tax of goods and carriage by a stated `rate`, thousandths of a percent.

    `included` says whether prices have it in them. Without either no sum is told. `total`
    is goods and carriage with it: of an order, of what came or is still to come. What is credited
    or charged for cores is in neither.
    """

    rate: int | None
    included: bool | None
    amount: Money | None
    total: Money | None


@dataclass(frozen=True, slots=True)
class HandOrderView:
    """What an order by hand comes to; `order` is its number once it is written.

    `arrives` is the usual day and `late` the day within which nine of ten arrive, if it is ordered
    by `cutoff`. `cores` is what comes back for the old parts.
    """

    supplier: str
    supplier_name: str
    branch: str
    bookings: tuple[str, ...]
    lines: tuple[HandLineView, ...]
    goods: Money
    carriage: Money
    carriage_note: Reason | None
    cores: Money
    total: Money
    cutoff: datetime
    minutes_left: int
    there: CutoffThere
    arrives: date
    late: date
    order: str | None = None
    tax: TaxView | None = None


@dataclass(frozen=True, slots=True)
class NoticeView:
    """A date that the supplier announced for a line; `again` (thousandths) is sent once more."""

    at: datetime
    due: date
    again: Thousandths
    why: str | None


@dataclass(frozen=True, slots=True)
class SubstituteView:
    """So much (thousandths) came as another item than the one that was ordered."""

    item: str
    quantity: Thousandths


@dataclass(frozen=True, slots=True)
class ExpiredView:
    """That goods were past their day when they came: they kept `until` then.

    `there` (thousandths) still lie in the `lot`; `then` is how to be rid of them.
    """

    lot: str
    until: date
    there: Thousandths
    then: NextStep | None


@dataclass(frozen=True, slots=True)
class ReceiptView:
    """What came at once of an item, for the `lines` of the order that it filled, by their place.

    Amounts are thousandths of `unit`. `came` is what it was, where that was a substitute for
    `item`; `note_number` that of the delivery note. What was `over` lies in `over_lot`. `kept` of
    what came too much says that it came before.
    """

    at: datetime
    item: str
    came: str
    unit: str
    lines: tuple[int, ...]
    good: Thousandths
    damaged: Thousandths
    wrong: Thousandths
    over: Thousandths
    note_number: str | None
    remark: str | None
    lot: str | None
    over_lot: str | None
    kept: bool
    expired: ExpiredView | None


@dataclass(frozen=True, slots=True)
class OverView:
    """So much of an item, in thousandths of `unit`, came too much and lies in a lot on hold.

    It is neither kept nor sent back.
    """

    item: str
    lot: str
    unit: str
    quantity: Thousandths


@dataclass(frozen=True, slots=True)
class SubstituteForView:
    """What a substitute comes to for one booking, in thousandths of `unit`.

    It is `taken` over there, with the verdict of its line, or the booking still lacks `lacks` of
    what was ordered: it has no verdict then.
    """

    booking: str
    item: str
    unit: str
    needed: Thousandths
    taken: bool
    lacks: Thousandths
    verdict: Verdict | None
    doubts: tuple[Doubt, ...]


@dataclass(frozen=True, slots=True)
class CreditView:
    """What was credited for a claim, by which paper; nothing where it was refused.

    `undone` is why it was booked wrongly, of what was taken back and counts as nothing.
    """

    at: datetime
    amount: Money
    document: str
    why: str | None
    undone: str | None = None


@dataclass(frozen=True, slots=True)
class ClaimView:
    """What the supplier owes: goods back, a core, a part that failed; `quantity` of `unit`.

    It is of the order's `line`, by its place. `expected` is None where nobody knows it; of what
    came unusable nothing is for `not_owed` (thousandths), which is sent once more or was never
    charged. `of_over` says that it came beyond the order. `vehicle` is the car of `booking`.
    """

    number: int
    at: datetime
    kind: ClaimKind
    item: str
    unit: str
    quantity: Thousandths
    why: str
    lot: str | None
    booking: str | None
    vehicle: str | None
    expected: Money | None
    credits: tuple[CreditView, ...]
    line: int
    not_owed: Thousandths = 0
    of_over: bool = False

    @property
    def answers(self) -> tuple[CreditView, ...]:
        """What was credited or refused and was not taken back."""
        return tuple(one for one in self.credits if one.undone is None)

    @property
    def of_unusable(self) -> bool:
        """Whether it is of goods that came damaged or as another part."""
        return self.kind is ClaimKind.RETURN and self.lot is None

    @property
    def of_core(self) -> bool:
        """Whether a core goes back with it: handed in, or sent back with its part."""
        back = self.kind is ClaimKind.RETURN and self.lot is not None and not self.of_over
        return back or self.kind is ClaimKind.CORE


@dataclass(frozen=True, slots=True)
class OrderLineView:
    """A line of an order that was placed. Amounts are thousandths of `unit`.

    `price` is of a pack, `core` still comes back for old parts. The supplier has to be told of what
    came `damaged`, `wrong` or `over` (on hold), but for `told` of the first two, which is claimed
    or is sent once more. `due`, `due_late`: by the newest of `notices`.
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
    told: Thousandths = 0

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
    what came and was not taken back, the newest last; `too_much` is on hold. `address` (delivery)
    and `invoice_address` are the branch's, `account` is our number with the supplier: None where
    nobody stated them, lines as written.
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
    branch_name: str = ""
    address: str | None = None
    invoice_address: str | None = None
    supplier_address: str | None = None
    account: str | None = None
