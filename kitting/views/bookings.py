"""Bookings: what each needs and what covers it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from kitting.facts.amounts import Thousandths
from kitting.facts.reasons import Reason, ReasonCode
from kitting.facts.verdicts import Doubt, Verdict
from kitting.facts.words import BookingState, LotState, NeedRule, ShelfPolicy, Word
from kitting.views.kit_life import SetAsideView
from kitting.views.work_day import AgreedView, BookingDayView


class SourceKind(Word):
    """What covers a need: stock, or goods on order."""

    LOT = "lot"
    ORDER = "order"


class ElsewhereKind(Word):
    """Where an item is that a booking is short of: free here, with others, in other branches."""

    HERE = "here"
    PROMISED = "promised"
    FREE = "free"
    NOT_USABLE = "not usable"


class Lack(ReasonCode):
    """Why a booking is not ready."""

    SHORT = "short"
    SPARE_SHORT = "spare short"
    NOT_HERE_YET = "not here yet"
    ON_HOLD = "on hold"
    EXPIRED = "expired"
    EXPIRED_SINCE = "expired since its fitting date"
    AGE_UNKNOWN = "age unknown"
    NOT_IN_KIT = "not in the kit"
    NOTHING_TO_USE = "consumable not in the kit"
    NOT_FITTED = "not fitted"
    NOT_USED = "not used"
    NOT_RENEWED = "not renewed"
    NOBODY_QUALIFIED = "nobody qualified"
    AS_RECORDED = "as recorded"
    CATALOGUE_CHANGED = "catalogue changed"
    NEVER_RECORDED = "plan never recorded"
    NO_LONGER_PLANNED = "can no longer be planned"


class LotPlace(ReasonCode):
    """Where a lot is, or with which order it comes."""

    ORDER = "order"
    LOT = "lot"
    LOT_IN_BIN = "lot in bin"


class CatalogueChange(ReasonCode):
    """How a plan of now differs from the one that a booking was made from."""

    NEW = "new"
    GONE = "gone"
    OTHERWISE = "otherwise"


class PlannedThing(ReasonCode):
    """Something that a plan speaks of."""

    PART = "part"
    ITEM = "item"
    FIGURE = "figure"
    STEP = "step"
    LICENCE = "licence"
    VARIANT = "variant"
    JOINT = "joint"
    SERVICE = "service"
    CAUTION = "caution"


class PlannedValue(ReasonCode):
    """What a plan says of it."""

    PART = "part"
    AMOUNT = "amount"
    HOURS = "hours"
    FIGURE = "figure"
    STAGE_ORDER = "stage order"
    ASKED_BY = "asked by"
    OPEN = "open"
    MADE = "made"
    GROUP = "group"
    STANDS_FOR = "stands for"
    LUBRICANT = "lubricant"
    SUITS = "suits"
    BROUGHT = "brought"
    HAZARDS = "hazards"
    DOUBT = "doubt"
    HEAD = "head"
    SYSTEM = "system"
    FLUIDS = "fluids"
    APPLIES = "applies"


@dataclass(frozen=True, slots=True)
class PromisedView:
    """A part of a need that is covered: by stock of a lot, or by goods to come of an order.

    Of a lot, `state` is how it is judged at the fitting date (today if that is past),
    `keeps_to` the last day on which it may be fitted, `keeps_why` how that was found, and `on_hold`
    the reason why nobody may take from it; `customers` where the customer brought it, `unshared`
    what of the lot on its shelf nobody else is promised. Of an order,
    `due` is the usual day and `due_late` the day by which nine of ten have come; `late` where that
    is after the fitting date, `overdue` where it is past. What does not apply is None.
    """

    kind: SourceKind
    quantity: Thousandths
    picked: Thousandths
    lot: str | None = None
    bin: str | None = None
    state: LotState | None = None
    keeps_to: date | None = None
    keeps_why: Reason | None = None
    on_hold: str | None = None
    customers: bool = False
    order: str | None = None
    supplier: str | None = None
    due: date | None = None
    due_late: date | None = None
    late: bool = False
    unshared: Thousandths | None = None
    overdue: bool = False

    @property
    def may_be_fitted(self) -> bool:
        """False for what is on hold or expired: promised or picked, it makes nothing ready."""
        return self.state not in (LotState.ON_HOLD, LotState.EXPIRED)


@dataclass(frozen=True, slots=True)
class TheirsView:
    """So much of a part that a customer brought lies on a shelf, in a lot of its own.

    `quantity` is in thousandths of `unit`, `brought_on` the day on which it came.
    """

    item: str
    name: str
    unit: str
    lot: str
    bin: str | None
    quantity: Thousandths
    brought_on: date


@dataclass(frozen=True, slots=True)
class BookedJobView:
    """A job that an open booking of the same car has already, and its date."""

    job: str
    booking: str
    on: date


@dataclass(frozen=True, slots=True)
class ElsewhereView:
    """So much of an item that another booking is promised, or that a branch has (its own: here)."""

    kind: ElsewhereKind
    quantity: Thousandths
    booking: str | None = None
    branch: str | None = None


@dataclass(frozen=True, slots=True)
class NeededView:
    """What a booking needs of one item; a rule of inspect asks for a spare only.

    One of which nothing is needed is in the kit and goes back (its rule is keep); but for `extra`,
    which was drawn beyond the plan with a reason.

    Of a spare so much was `taken` into the booking: that has to be there all the same.
    `on_shelf` is promised stock, `coming` promised arrivals, `short` what nothing covers;
    `elsewhere` is who has what would cover it, `stands_for` the items that it stands in for.
    `verdict` is the weakest of its `doubts`: of the plan, and of what covers it. So much of what
    covers it is of unknown age: `age_unknown`.
    """

    item: str
    name: str
    rule: NeedRule
    unit: str
    needed: Thousandths
    picked: Thousandths
    on_shelf: Thousandths
    coming: Thousandths
    short: Thousandths
    sources: tuple[PromisedView, ...]
    elsewhere: tuple[ElsewhereView, ...]
    stands_for: tuple[str, ...]
    verdict: Verdict
    doubts: tuple[Doubt, ...]
    extra: Thousandths = 0
    taken: Thousandths = 0
    age_unknown: Thousandths = 0

    @property
    def old_in_part(self) -> bool:
        """Whether stock of unknown age meets only a part of it."""
        return 0 < self.age_unknown < self.needed

    @property
    def spare(self) -> bool:
        """Only needed if an inspection fails: a booking is ready without what was not taken."""
        return self.rule is NeedRule.INSPECT

    @property
    def must(self) -> bool:
        """Whether any of it has to be there."""
        return not self.spare or self.taken > 0

    @property
    def lacking(self) -> Thousandths:
        """How much of what has to be there nothing covers."""
        return max(0, self.taken - (self.needed - self.short)) if self.spare else self.short

    @property
    def awaited(self) -> Thousandths:
        """How much of what has to be there is still on its way."""
        here = self.picked + self.on_shelf
        return min(self.coming, max(0, self.taken - here)) if self.spare else self.coming

    @property
    def to_pick(self) -> Thousandths:
        """How much of it waits on the shelf and may be fitted: picking puts it into the kit."""
        fit = (s for s in self.sources if s.kind is SourceKind.LOT and s.may_be_fitted)
        return sum(source.quantity - source.picked for source in fit)

    @property
    def unfit(self) -> tuple[PromisedView, ...]:
        """What was promised or picked and may not be fitted after all."""
        return tuple(source for source in self.sources if not source.may_be_fitted)


@dataclass(frozen=True, slots=True)
class ChosenView:
    """What a customer chose for a booking: the split and the option by code, and its name.

    The split is UNIT/CODE where another unit has one of that code.
    """

    variant: str
    option: str
    name: str


@dataclass(frozen=True, slots=True)
class BookingView:
    """A booking and how far its kit is.

    It is ready when its verdict is fine: every line that has to be there is here and may be fitted,
    and nothing of it is unknown.

    `doubts` is what keeps it from that, the worst first; `changes` is what the catalogue says by
    now that it was not planned from.
    `shelf_policy` is the table by which the storage life of its rubber is judged, `own_policy`
    whether it is set for this booking instead of the branch's. `set_aside` is where the car waits
    with its kit, if it does, `kit_in` the branch or van in which its kit lies where that is not its
    own branch. `chosen` is what its customer chose.
    `day` is when and where it is done, `price` what was agreed of money, `theirs` what
    lies on a shelf of what its customer brought; these only where they were asked for.
    """

    number: str
    branch: str
    registration: str
    vehicle: str
    jobs: tuple[str, ...]
    fit_on: date
    state: BookingState
    shelf_policy: ShelfPolicy
    own_policy: bool
    verdict: Verdict
    doubts: tuple[Doubt, ...]
    changes: tuple[Reason, ...]
    override: str | None
    needs: tuple[NeededView, ...]
    set_aside: SetAsideView | None = None
    kit_in: str | None = None
    chosen: tuple[ChosenView, ...] = ()
    day: BookingDayView | None = None
    price: AgreedView | None = None
    theirs: tuple[TheirsView, ...] = ()

    @property
    def ready(self) -> bool:
        """Whether nothing keeps its kit from being fitted."""
        return self.verdict is Verdict.FINE

    @property
    def lacking(self) -> tuple[Reason, ...]:
        """Why it is not ready."""
        return tuple(doubt.because for doubt in self.doubts)


@dataclass(frozen=True, slots=True)
class BookingLine:
    """A booking in a list; `short` counts the items that nothing covers.

    `spoilt` counts the lines that were promised something that may not be fitted by now.
    `verdict` is that of the booking itself; `outdated` says that the catalogue was changed since it
    was planned, `set_aside` where the car waits with its kit, if it does. `starts` ("08:30") and
    `ramp` are None where that is not settled.
    """

    number: str
    branch: str
    registration: str
    jobs: tuple[str, ...]
    fit_on: date
    state: BookingState
    verdict: Verdict
    short: int
    outdated: bool
    spoilt: int
    set_aside: str | None = None
    starts: str | None = None
    ramp: str | None = None
