"""What closing does not know and has to ask: spares, what was drawn beyond the plan, what is left.

Counted pieces that the work uses (caps, plugs, clips) may all come off again, so that they are
asked for. What is measured out of a pack counts as used as planned (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, field

from sqlalchemy import bindparam, select
from sqlalchemy.orm import Session

from kitting.actions import Action, next_step
from kitting.facts.reasons import Reason, because
from kitting.facts.units import Quantity, format_quantity
from kitting.facts.words import NeedRule, Rule, StockUnit
from kitting.services.bookings.kit_record import plan_of
from kitting.services.bookings.states import BookingFacts
from kitting.tables.bookings import Finding
from kitting.views.bookings import BookingView, NeededView
from kitting.views.closing import Ask

_FOUND = select(Finding.joint, Finding.position).where(Finding.booking_id == bindparam("booking"))


@dataclass(frozen=True, slots=True)
class Answers:
    """What somebody said of the kit, by item code in thousandths.

    `used` is what was used of what need not have been: spares, extra pieces, counted consumables;
    the rest of those came back. `used_up` says that of all consumables which are not named nothing
    is left.
    """

    returned: Mapping[str, int] = field(default_factory=dict)
    scrapped: Mapping[str, int] = field(default_factory=dict)
    used: Mapping[str, int] = field(default_factory=dict)
    used_up: bool = False

    def gone(self, code: str) -> int:
        """How much of an item was told not to be fitted."""
        return self.returned.get(code, 0) + self.scrapped.get(code, 0)

    def named(self, code: str) -> bool:
        """Whether anything was said of an item."""
        return code in self.returned or code in self.scrapped or code in self.used


@dataclass(frozen=True, slots=True)
class Question:
    """Something that nobody has said of an item, of so much (thousandths) in the kit."""

    ask: Ask
    item: str
    unit: str
    quantity: int
    positions: tuple[tuple[str, str], ...] = ()  # joint and position


def unlooked(
    session: Session, booking: BookingFacts, view: BookingView
) -> Mapping[str, tuple[tuple[str, str], ...]]:
    """Positions to inspect of which nobody said what was found, by item that is in the kit for it.

    Reads nothing where no spare is in the kit.
    """
    if not any(need.spare and need.picked for need in view.needs):
        return {}
    found = set(map(tuple, session.execute(_FOUND, {"booking": booking.id})))
    return {
        line.item: tuple(
            (position.joint, position.position)
            for position in line.positions
            if (position.joint, position.position) not in found
        )
        for line in plan_of(session, booking).lines
        if line.rule == Rule.INSPECT and not line.stopped_by
    }


def questions(
    view: BookingView,
    positions: Mapping[str, tuple[tuple[str, str], ...]],
    answers: Answers,
) -> Iterator[Question]:
    """What has to be asked of a kit and was not answered; `positions` as of `unlooked`."""
    for need in view.needs:
        if not need.picked or answers.named(need.item):
            continue
        if need.spare and positions.get(need.item):
            yield Question(Ask.SPARE, need.item, need.unit, need.picked, positions[need.item])
        elif need.extra:
            yield Question(Ask.EXTRA, need.item, need.unit, need.extra)
        elif counted(need) and not answers.used_up:
            yield Question(Ask.COUNTED, need.item, need.unit, need.picked)


def counted(need: NeededView) -> bool:
    """Whether the work uses it up by pieces, which may come off whole."""
    return need.rule is NeedRule.USE and need.unit == StockUnit.EACH


def asked(view: BookingView, found: Collection[Question]) -> Iterator[Reason]:
    """Questions with every way to answer them."""
    for one in found:
        exact = f'"{one.item}={_amount(one)}"'
        steps = [
            next_step(Action.TELL_BACK, pieces=exact),
            next_step(Action.TELL_USED, pieces=exact),
        ]
        if one.positions:
            joint, position = one.positions[0]
            look = next_step(
                Action.RECORD_FINDING, booking=view.number, joint=joint,
                position=f'"{position}"', result="passed",
            )  # fmt: skip
            steps.insert(0, look)
        if one.ask is Ask.COUNTED:
            steps.append(next_step(Action.TELL_USED_UP))
        yield because(
            one.ask,
            *steps,
            item=one.item,
            quantity=Quantity(one.quantity, one.unit),
            positions=tuple(f"{joint}: {position}" for joint, position in one.positions),
        )


def _amount(one: Question) -> str:
    amount = format_quantity(one.quantity, one.unit)
    return f"{amount} each" if one.unit == StockUnit.EACH else amount
