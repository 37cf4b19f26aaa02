"""A booking that is changed: what it was, what it becomes, and what that sets free or asks for."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from kitting.facts.amounts import Thousandths
from kitting.facts.money import Money
from kitting.facts.reasons import Reason, ReasonCode
from kitting.facts.verdicts import Doubt, Verdict
from kitting.facts.words import BookingState, NeedRule, Word
from kitting.views.bookings import BookingView
from kitting.views.on_the_way import VanComingView
from kitting.views.possible_dates import DateView
from kitting.views.purchasing import LackView
from kitting.views.work_day import AgreedView, BookingDayView


class GoesBecause(Word):
    """Why something is given up or comes out of a kit."""

    NOT_NEEDED = "not needed"
    NOT_FIT = "may not be fitted by then"
    TOO_LATE = "comes after the date"
    OTHER_BRANCH = "of the other branch"


class NotJudged(ReasonCode):
    """Why a change could not be judged to the end."""

    PRICES = "prices"


@dataclass(frozen=True, slots=True)
class SideView:
    """A booking before or after a change.

    `hours` are those of the strip-down in thousandths, None where nobody wrote them down.
    `day` is when and where it is done; None where the booking is closed.
    """

    jobs: tuple[str, ...]
    fit_on: date
    branch: str
    state: BookingState
    hours: Thousandths | None
    verdict: Verdict
    day: BookingDayView | None


@dataclass(frozen=True, slots=True)
class NeedChangeView:
    """A need of an item under a rule that grew or shrank; amounts in thousandths of `unit`."""

    item: str
    name: str
    rule: NeedRule
    unit: str
    before: Thousandths
    after: Thousandths


@dataclass(frozen=True, slots=True)
class ShortView:
    """What nothing covers after the change, in thousandths of `unit`."""

    item: str
    name: str
    unit: str
    quantity: Thousandths


@dataclass(frozen=True, slots=True)
class OutOfKitView:
    """What has to come out of the kit, in thousandths of `unit`.

    `booked_back` is whether the change books it back into its lot; a person still has to carry it
    there. On the ramp nothing is booked back: it lies in the kit and is asked for by name.
    """

    item: str
    name: str
    unit: str
    quantity: Thousandths
    lot: str
    bin: str | None
    why: GoesBecause
    booked_back: bool


@dataclass(frozen=True, slots=True)
class GivenUpView:
    """A promise that is given up, of a lot or of an order, in thousandths of `unit`."""

    item: str
    unit: str
    quantity: Thousandths
    lot: str | None
    bin: str | None
    order: str | None
    why: GoesBecause


@dataclass(frozen=True, slots=True)
class FreeOrderView:
    """What is on order, waited for by this booking before, and by nobody after the change.

    `why` is why the booking waits for it no longer.
    """

    order: str
    supplier: str
    item: str
    unit: str
    quantity: Thousandths
    due: date
    returnable: bool
    why: GoesBecause


@dataclass(frozen=True, slots=True)
class BuyingView:
    """What it costs to buy what is short after the change, so that it comes in time.

    `total` is None where nothing that can be bought makes it whole in time; `lacking` is what of it
    cannot be had. `left_out` are suppliers with their currency whose prices are in another than is
    bought in, `tax_mixed` those compared, where tax is not in the prices of all.
    `vans` are transfers that are counted: how surely they come is not known.
    """

    total: Money | None
    lacking: tuple[LackView, ...]
    left_out: tuple[tuple[str, str], ...] = ()
    tax_mixed: tuple[tuple[str, bool | None], ...] = ()
    vans: tuple[VanComingView, ...] = ()


@dataclass(frozen=True, slots=True)
class BookingChangeView:
    """A change of a booking, shown or made (`made`).

    `gained` and `lost` are needs that grew and shrank. `closing_up` are joints that are open and
    that no job asks for any more: what they need stays. `buying` and `date` are None where they
    cannot be judged, and `not_judged` says why. `date` is judged as a list of dates judges it.
    `price` is how it stands to what was agreed of money, where anything was.
    """

    number: str
    registration: str
    vehicle: str
    made: bool
    before: SideView
    after: SideView
    gained: tuple[NeedChangeView, ...]
    lost: tuple[NeedChangeView, ...]
    short: tuple[ShortView, ...]
    out_of_kit: tuple[OutOfKitView, ...]
    given_up: tuple[GivenUpView, ...]
    free_orders: tuple[FreeOrderView, ...]
    closing_up: tuple[str, ...]
    buying: BuyingView | None
    date: DateView | None
    not_judged: Reason | None
    doubts: tuple[Doubt, ...]
    doubts_gained: tuple[Doubt, ...]
    doubts_lost: tuple[Doubt, ...]
    price: AgreedView | None = None

    @property
    def ready(self) -> bool:
        """Whether nothing keeps the kit from being fitted after the change."""
        return self.after.verdict is Verdict.FINE

    @property
    def unconfirmed(self) -> bool:
        """Whether the booking was confirmed and is not any more."""
        confirmed = self.before.state is BookingState.CONFIRMED
        return confirmed and self.after.state is BookingState.PROVISIONAL


@dataclass(frozen=True, slots=True)
class TakenView:
    """Promises that were moved between bookings, as both stand now.

    `giver_unconfirmed` is whether the one that gave them was confirmed and is not any more.
    """

    taker: BookingView
    giver: BookingView
    giver_unconfirmed: bool
