"""What is weighed of some work: what may fail, what is at hand, what is needed anyway."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime

from sqlalchemy.orm import Session

from kitting.calc.advice.at_hand import AtHand
from kitting.calc.advice.spare_costs import PIECE, Way, spare_costs
from kitting.calc.advice.spares import Line
from kitting.facts.verdicts import Doubt
from kitting.facts.words import NeedRule, Rule
from kitting.services.advice.inspection_risks import Risk, openings, read_risks, ways
from kitting.services.advice.spare_stock import When, read_at_hand
from kitting.services.bookings.kit_record import request_of
from kitting.services.bookings.refuse_open import refuse_open
from kitting.services.bookings.requirements import needs_of
from kitting.services.bookings.states import find_booking
from kitting.services.bookings.unbooked import plan_unbooked
from kitting.services.bookings.view import booking_views
from kitting.services.branches import find_branch
from kitting.services.planning.draft import draft
from kitting.services.planning.judged import Draft
from kitting.services.planning.request import PlanRequest
from kitting.services.planning.stand_ins import KitRecord
from kitting.services.planning.view import plan_view
from kitting.services.purchasing.market import Market, read_market
from kitting.services.purchasing.open_doubts import open_doubts_unbooked
from kitting.services.stock.lots import find_items
from kitting.tables.supply import Branch
from kitting.views.bookings import BookedJobView
from kitting.views.completion import UnknownRateView
from kitting.views.plan import PlanView


@dataclass(frozen=True, slots=True)
class Work:
    """A car, its jobs and their day, at a branch (None: the only one).

    `booking` (its key) has what it is promised and what lies in its kit; `kit` is what it has
    settled of it. `model` (its code) where no car is named: then the registration is not read.
    `chosen` is what the customer would choose, split → option by code.
    """

    registration: str
    jobs: Sequence[str]
    on: date
    branch: str | None = None
    booking: int | None = None
    kit: KitRecord | None = None
    model: str | None = None
    chosen: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Case:
    """What is weighed: the risks by item, what is at hand, what is needed anyway, and the offers.

    Amounts are in thousandths by item. `certain` is what is renewed or used up whatever is found:
    it takes what is at hand before any spare does. `inspected` is what is renewed beside it if
    every look fails, `brought` the spares that packets of the plan bring anyway. `unknown` fails at
    a rate that nobody knows, `doubts` are what is not fine of the kit: no spare settles it.
    """

    planned: PlanView
    market: Market
    risks: Mapping[int, Sequence[Risk]]
    hand: Mapping[int, AtHand]
    certain: Mapping[int, int]
    inspected: Mapping[int, int]
    brought: Mapping[int, int]
    ways: Mapping[int, Sequence[Way]]
    unknown: tuple[UnknownRateView, ...]
    doubts: tuple[Doubt, ...]
    booked: tuple[BookedJobView, ...]

    def free(self, item: int) -> int:
        """Pieces at hand that are left as spares."""
        beside = max(0, self.hand[item].usable - self.certain.get(item, 0))
        return (beside + self.brought.get(item, 0)) // PIECE

    def short(self, item: int) -> int:
        """What has to be bought of it anyway, in thousandths.

        What lies here and is of unknown age may do for it, once somebody has judged it.
        """
        hand = self.hand[item]
        return max(0, self.certain.get(item, 0) - hand.usable - hand.unknown)

    def lines(self, *, correlated: bool = True) -> list[Line]:
        """The items that may fail as lines of spares, by their key."""
        return [
            Line(item, looks, self._costs(item, sum(one.most for one in looks)))
            for item, risks in self.risks.items()
            for looks in [tuple(risk.looks(correlated=correlated) for risk in risks)]
        ]

    def _costs(self, item: int, most: int) -> tuple[int, ...]:
        return spare_costs(self.ways.get(item, ()), self.free(item), self.short(item), most)


def work_of_booking(session: Session, number: str) -> Work:
    """The car, jobs, day and branch of a booking."""
    booking = find_booking(session, number)
    asked = request_of(session, booking)
    branch = session.get_one(Branch, booking.branch_id)
    return Work(asked.registration, asked.jobs, asked.on, branch.code, booking.id, asked.kit)


def case_of(session: Session, work: Work, now: datetime) -> Case:
    """What is weighed of some work. Raises UnknownNameError, KittingError for an open variant."""
    owner = find_branch(session, work.branch)
    kit = _kit(session, owner, work, now)
    facts = kit.planned
    planned = plan_view(facts)
    refuse_open(planned, work.model, "be weighed for")
    risks, unknown = read_risks(session, facts)
    needs = needs_of(planned)
    found = find_items(session, sorted({code for code, _ in needs}))
    items = {risk.item for risk in risks} | {item.id for item in found.values()}
    market = read_market(session, owner, items, now)
    certain: dict[int, int] = defaultdict(int)
    for (code, rule), amount in needs.items():
        certain[found[code].id] += 0 if rule == NeedRule.INSPECT else amount
    when = When(work.on, now.date())
    return Case(
        planned=planned,
        market=market,
        risks=_by_item(risks),
        hand=read_at_hand(session, owner, items, when, work.booking, kit.coming),
        certain=certain,
        inspected=_inspected(facts),
        brought={
            item: sum(amount for _, amount in parts) for item, parts in facts.taking.spares.items()
        },
        ways=ways(market),
        unknown=(*unknown, *_not_settled(planned)),
        doubts=kit.doubts,
        booked=kit.booked,
    )


@dataclass(frozen=True, slots=True)
class _Kit:
    """A kit: its draft, what is not fine of it, and what of what comes it would be promised.

    A booking has what it is promised; what would be is of a kit that is not booked (by item), and
    so is what of its jobs is `booked` already.
    """

    planned: Draft
    doubts: tuple[Doubt, ...]
    coming: Mapping[int, int] = field(default_factory=dict)
    booked: tuple[BookedJobView, ...] = ()


def _kit(session: Session, owner: Branch, work: Work, now: datetime) -> _Kit:
    """The kit of some work; what is not booked is bought later: that it lacks is no doubt."""
    asked = PlanRequest(
        work.registration,
        tuple(work.jobs),
        work.on,
        dict(work.chosen),
        kit=work.kit,
        model=work.model,
    )
    if work.booking is not None:
        (view,) = booking_views(session, [work.booking])
        return _Kit(draft(session, asked), view.doubts)
    case = plan_unbooked(session, owner, asked, now)
    return _Kit(case.planned, open_doubts_unbooked(session, case), case.coming, case.booked)


def _by_item(risks: Sequence[Risk]) -> dict[int, list[Risk]]:
    found: dict[int, list[Risk]] = defaultdict(list)
    for risk in risks:
        found[risk.item].append(risk)
    return found


def _not_settled(planned: PlanView) -> Iterator[UnknownRateView]:
    """What would be looked at, if an open variant comes out so."""
    for line in planned.lines:
        if line.stopped_by and line.rule is Rule.INSPECT:
            yield UnknownRateView(line.item, line.kind, line.stopped_by)


def _inspected(facts: Draft) -> dict[int, int]:
    """What is renewed if every look fails, in thousandths by item; of unknown rates too."""
    found: dict[int, int] = defaultdict(int)
    for need in facts.parts:
        if need.ruling.rule == Rule.INSPECT and not need.stopped:
            found[need.item.key] += need.fit.quantity * openings(need)
    return found
