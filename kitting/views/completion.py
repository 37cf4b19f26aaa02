"""Completion chances: what may fail, spares worth bringing, what was learned, stock levels."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from kitting.facts.money import Money
from kitting.facts.reasons import Reason, ReasonCode
from kitting.facts.verdicts import Doubt
from kitting.facts.words import RateShift
from kitting.views.bookings import BookedJobView
from kitting.views.orders import TaxView


class StopReason(ReasonCode):
    """When a part that fails could be replaced, and where to stop before it is too late."""

    NOT_OFFERED = "not offered"
    NEXT_DAY = "here the next day"
    LATER = "here later"


class LevelReason(ReasonCode):
    """Why an item is not to be kept in stock, or branches not compared."""

    RARE_IN_SHELF_LIFE = "rarely used within its shelf life"
    RARE_IN_LEAD_TIME = "rarely used within its lead time"
    CURRENCIES = "branches count in several currencies"


@dataclass(frozen=True, slots=True)
class RiskView:
    """What may fail of one item in a plan.

    `pieces` at `positions` are looked at at each of `openings`, fewer where only some joints of a
    group are opened again: `looks` in all. `chance` is that of one look, with its 90 % spread:
    learned from `inspected` pieces of which `failed` did, `rests_on` all findings of its kind, and
    starts from a figure for the kind if one is `stated`; `shifts` says what moved it. `group` means
    that one failure renews all.

    `price` is what one spare costs as it is sold, `loss` what is lost if it stays unused; both None
    where nobody offers it. `in_stock` pieces are at hand as spares, `coming` of them still on their
    way; pieces of `unknown_age` lie there too and are not among them. These are the item's, for
    all risks that share it (`shared_by`). `spares` is how many to bring for this one.

    `any_fails` is the chance that at least one look fails. Where the cost of being short was
    stated, `worth_above` is the chance above which one spare is worth bringing by itself.
    """

    item: str
    name: str
    positions: tuple[str, ...]
    pieces: int
    openings: int
    looks: int
    chance: float
    low: float
    high: float
    stated: bool
    rests_on: int
    inspected: int
    failed: int
    shifts: tuple[RateShift, ...]
    group: bool
    price: Money | None
    loss: Money | None
    in_stock: int
    coming: int
    unknown_age: int
    shared_by: int
    spares: int
    any_fails: float
    worth_above: float | None = None


@dataclass(frozen=True, slots=True)
class SpareView:
    """So many pieces of an item."""

    item: str
    pieces: int


@dataclass(frozen=True, slots=True)
class SparesTakenView:
    """The spares that a booking has taken for a chance; `changed` where they were others before."""

    booking: str
    target: float
    spares: tuple[SpareView, ...]
    changed: bool


@dataclass(frozen=True, slots=True)
class FrontierView:
    """One efficient choice of spares: its cost if nothing fails, and the chance it gives."""

    cost: Money
    chance: float
    spares: tuple[SpareView, ...]


@dataclass(frozen=True, slots=True)
class EstimateView:
    """What the parts cost in whole packs, whether they are here or not.

    `now` is what is renewed and used up in any case, `upper` that and every look failed: a limit
    that is not exceeded. Both with carriage, as one order. `expected` is the mean, `likely` what is
    not exceeded with 90 %; neither counts what fails at an unknown rate. What is `unpriced` (nobody
    offers it, or not enough of it) is in no figure that needs it.
    `tax` is that of `upper`; None where it is not stated, or `tax_differs` by supplier.
    """

    now: Money
    expected: Money
    likely: Money
    upper: Money
    unpriced: tuple[str, ...]
    tax: TaxView | None = None
    tax_differs: bool = False


@dataclass(frozen=True, slots=True)
class UnknownRateView:
    """An item of a kind of which nobody states how often it fails, and nothing was found yet.

    Or one of which nobody knows whether the car has it: `waits_for` are the variants that decide.
    """

    item: str
    kind: str
    waits_for: tuple[Reason, ...] = ()


@dataclass(frozen=True, slots=True)
class CompletionView:
    """The chance that some jobs end with the parts in the kit, and the spares that raise it.

    `without` is the chance with no spare, `chance` with the spares recommended (with all that can
    be had, where the target is not `reached`), `independent` the same if the seals of one car did
    not fail together. `unknown` names what has no failure rate, `doubts` what no spare settles:
    what is needed in any case and is short, barred or unknown. `stop` says when a part could be
    here if one fails, and where to stop before. `taken` is what a booking took of the spares.
    Before there is a booking, `booked` is what of the jobs is booked already.
    """

    vehicle: str
    jobs: tuple[str, ...]
    on: date
    target: float
    risks: tuple[RiskView, ...]
    without: float
    chance: float
    independent: float
    cost: Money | None
    reached: bool
    frontier: tuple[FrontierView, ...]
    estimate: EstimateView
    unknown: tuple[UnknownRateView, ...]
    stop: Reason | None
    doubts: tuple[Doubt, ...] = ()
    taken: SparesTakenView | None = None
    booked: tuple[BookedJobView, ...] = ()


@dataclass(frozen=True, slots=True)
class LearnedView:
    """What findings taught about an item in a unit (None: in any).

    `prior` is the figure for its kind, None where nobody states one; the chance then `rests_on` so
    many findings of the kind alone.
    """

    item: str
    name: str
    kind: str
    unit: str | None
    inspected: int
    failed: int
    rests_on: int
    prior: float | None
    chance: float
    low: float
    high: float
    reasons: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class LevelLineView:
    """How much of an item to keep in stock; amounts are whole pieces (or packs).

    `yearly` jobs take it, each up to `per_job`; more is here `lead_days` working days later, in
    which `mean` jobs are expected to take it.
    """

    item: str
    name: str
    yearly: float
    per_job: int
    lead_days: int
    mean: float
    level: int
    on_hand: int
    price: Money


@dataclass(frozen=True, slots=True)
class ReplayView:
    """What the levels would have done with the past.

    Of `jobs` so many would have been `complete`; `tied_up` is what lay on the shelf on an average
    day; `scrapped` pieces went for age. Ordered every day, here `lead_days` later.
    """

    jobs: int
    complete: int
    tied_up: Money
    scrapped: int
    lead_days: int


@dataclass(frozen=True, slots=True)
class PoolingView:
    """What `branches` tie up each for itself (`separate`), and on one stock (`together`)."""

    branches: int
    separate: Money
    together: Money


@dataclass(frozen=True, slots=True)
class RefusedLevelView:
    """An item that is not to be kept in stock, and why."""

    item: str
    why: Reason


@dataclass(frozen=True, slots=True)
class LevelsView:
    """Stock levels per item of a branch for a target, or for a budget.

    `chance` is that no item is short in a lead time; `refused` names slow short-lived stock.
    `replay` says what the levels would have done with the past, `pooled` what one stock for all
    branches would tie up instead, `not_pooled` why that cannot be said.
    """

    branch: str
    target: float | None
    budget: Money | None
    lines: tuple[LevelLineView, ...]
    value: Money
    chance: float
    refused: tuple[RefusedLevelView, ...]
    unpriced: tuple[str, ...]
    replay: ReplayView | None
    pooled: PoolingView | None
    not_pooled: Reason | None = None
