"""Stock: lots on shelves, movements, recalls, goods between branches."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from kitting.facts.amounts import Thousandths
from kitting.facts.reasons import Reason, ReasonCode
from kitting.facts.words import BookingState, LotState, MovementKind


class StorageReason(ReasonCode):
    """What remains to be done before a lot that was inspected can be used."""

    STILL_ON_HOLD = "still on hold"
    IN_A_KIT = "in a kit"


@dataclass(frozen=True, slots=True)
class LotView:
    """One lot on a shelf. Amounts are thousandths of `unit`; `free` is what nobody is promised.

    `keeps_to` is the last day by the branch's policy of storage life, `keeps_why` how that was
    found. `on_hold` is the reason why nobody may take from it. `inspected_on` is when somebody
    inspected it so that its storage may be extended, `inspection` what was seen. `customer_of` is
    the booking whose customer brought it: it is theirs.
    """

    branch: str
    item: str
    name: str
    lot: str
    bin: str | None
    unit: str
    on_hand: Thousandths
    promised: Thousandths
    free: Thousandths
    keeps_to: date | None
    keeps_why: Reason
    state: LotState
    on_hold: str | None
    inspected_on: date | None = None
    inspection: str | None = None
    customer_of: str | None = None


@dataclass(frozen=True, slots=True)
class GoingView:
    """So much (thousandths) of a lot is on its way to a branch."""

    to: str
    quantity: Thousandths


@dataclass(frozen=True, slots=True)
class HeldLotView:
    """A lot that a hold is on, or was; `on_hold` is why it is on hold now, if it is."""

    branch: str
    lot: str
    on_hold: str | None


@dataclass(frozen=True, slots=True)
class HoldView:
    """A hold that begins or ends, by its `number` (None: of one lot alone), and all lots it is on.

    `on_hold` is why the named lot is on hold now, if it is. `on_the_way` is what has left and not
    arrived yet: it arrives as the lot stands then.
    """

    number: int | None
    lot: str
    unit: str
    on_hold: str | None
    others: tuple[HeldLotView, ...]
    on_the_way: tuple[GoingView, ...]


@dataclass(frozen=True, slots=True)
class HoldEventView:
    """A hold that was put on, or ended (`held` false), said in a `branch` of a `lot`.

    `reason` is why it was on hold, `why` why it ended. Of what another branch keeps to itself the
    place is None.
    """

    at: datetime
    branch: str | None
    lot: str | None
    held: bool
    reason: str
    why: str | None
    told_by: str | None


@dataclass(frozen=True, slots=True)
class GivenUpView:
    """So much (thousandths) that a booking was promised of a lot and is not any more."""

    booking: str
    vehicle: str
    fit_on: date
    quantity: Thousandths


@dataclass(frozen=True, slots=True)
class MissingView:
    """A lot as it is after a count or scrap, and which bookings gave up promises for it."""

    lot: str
    unit: str
    difference: Thousandths
    balance: Thousandths
    given_up: tuple[GivenUpView, ...]


@dataclass(frozen=True, slots=True)
class ExtendedView:
    """An inspection of a lot that extends its storage: the limit before and after, with reasons.

    `after` is the day by ISO 2230; `before` None where the lot had no limit. `still` is what goes
    on hindering its use, or has to be inspected too.
    """

    branch: str
    item: str
    lot: str
    inspected_on: date
    inspection: str
    before: date | None
    before_why: Reason
    after: date | None
    after_why: Reason
    still: tuple[Reason, ...]


@dataclass(frozen=True, slots=True)
class MovementView:
    """One movement of a lot's ledger."""

    at: datetime
    lot: str
    kind: MovementKind
    quantity: Thousandths
    balance: Thousandths
    booking: str | None
    note: str | None


@dataclass(frozen=True, slots=True)
class RecallBookingView:
    """A booking that a lot went to: the car, the day, and how much of it.

    `picked` is what of it is in the kit or in the car, `used` what is in the car; `lost` is gone
    from the kit, and nobody knows where it is.
    """

    booking: str
    vehicle: str
    state: BookingState
    fit_on: date
    waiting: Thousandths
    picked: Thousandths
    used: Thousandths
    lost: Thousandths


@dataclass(frozen=True, slots=True)
class RecallView:
    """Where everything of a lot is: closed jobs, kits, shelves, on the way, gone."""

    lot: str
    items: tuple[str, ...]
    unit: str
    shelves: tuple[LotView, ...]
    bookings: tuple[RecallBookingView, ...]
    on_the_way: Thousandths
    movements: tuple[MovementView, ...]
    holds: tuple[HoldEventView, ...]


@dataclass(frozen=True, slots=True)
class OnTheWayView:
    """Goods between two branches, on neither shelf. `quantity` is thousandths of `unit`.

    `due` is None where nobody says when the van of the sending branch goes; else it `leaves` that
    day at that time ("15:00").
    """

    number: int
    item: str
    lot: str
    source: str
    to: str
    unit: str
    quantity: Thousandths
    due: date | None
    leaves: str | None


@dataclass(frozen=True, slots=True)
class ArrivedView:
    """The lot that a transfer arrived in; `batch` is the code it comes from if it has another.

    `on_hold` is the reason why nobody may take from it.
    """

    number: int
    item: str
    lot: str
    batch: str | None
    on_hold: str | None
