"""What a booking was planned to take, kept with it, so that a change of the catalogue shows."""

from __future__ import annotations

import json
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator

from kitting.facts.reasons import Reason, Value, because
from kitting.facts.units import Quantity
from kitting.facts.verdicts import Doubt
from kitting.facts.words import ContactState
from kitting.services.db.reason_text import reason_as_text, reason_of_text
from kitting.views.bookings import CatalogueChange, PlannedThing, PlannedValue
from kitting.views.plan import LineView, PlanView, PositionView, TighteningView, UseView

_KINDS = (PlannedThing, PlannedValue)
_SAID = "said"
_Said = dict[str, list[str]]  # by thing, each as JSON text


def _entries(plan: PlanView) -> Iterator[tuple[Reason, Reason]]:
    """Everything that a plan decides: things, and what is said of each."""
    for line in plan.lines:
        yield from _line(line)
    for use in plan.uses:
        item = because(PlannedThing.ITEM, item=use.item)
        yield item, _amount(use.quantity, use.unit)
        if use.stands_for is not None:
            yield item, because(PlannedValue.STANDS_FOR, item=use.stands_for)
        yield from ((item, value) for value in _judged(use))
    for row in plan.tightenings:
        yield from _tightened(row)
    for contact in plan.contacts:
        if contact.state is ContactState.SUITS:
            place = {"joint": contact.joint, "position": contact.position}
            suits = because(PlannedValue.SUITS, rubber=contact.elastomer, what=contact.what)
            yield because(PlannedThing.PART, item=contact.item, **place), suits
    yield from _work(plan)


def _line(line: LineView) -> Iterator[tuple[Reason, Reason]]:
    for place in line.positions:
        thing = _at(PlannedThing.PART, line.item, place)
        yield from ((thing, value) for value in _part(line, place))
    item = because(PlannedThing.ITEM, item=line.item)
    if not line.positions:
        yield item, _amount(line.to_take, line.unit)
    yield from ((item, value) for value in _judged(line))


def _judged(line: LineView | UseView) -> Iterator[Reason]:
    """What packets bring of it, what it warns of, and what is in doubt of it."""
    for brought in line.covered:
        amount = Quantity(brought.quantity, line.unit)
        yield because(PlannedValue.BROUGHT, packet=brought.packet, amount=amount)
    if line.hazards:
        yield because(PlannedValue.HAZARDS, words=line.hazards)
    yield from _doubted(line.doubts)


def _doubted(doubts: Iterable[Doubt]) -> Iterator[Reason]:
    for doubt in doubts:
        yield because(PlannedValue.DOUBT, verdict=doubt.verdict, why=doubt.because)


def _tightened(row: TighteningView) -> Iterator[tuple[Reason, Reason]]:
    thing = _at(PlannedThing.FIGURE, row.item, row)
    yield thing, _figure(row)
    if row.stage_order is not None:
        yield thing, because(PlannedValue.STAGE_ORDER, words=row.stage_order)
    if row.head is not None:
        yield thing, because(PlannedValue.HEAD, head=row.head)


def _work(plan: PlanView) -> Iterator[tuple[Reason, Reason]]:
    for step in plan.steps:
        yield because(PlannedThing.STEP, step=step.code), _hours(step.hours)
    for joint in plan.joints:
        thing = because(PlannedThing.JOINT, joint=joint.code)
        yield thing, because(PlannedValue.SYSTEM, system=joint.system)
        if joint.fluids:
            yield thing, because(PlannedValue.FLUIDS, fluids=joint.fluids)
        yield from ((thing, value) for value in _doubted(joint.doubts))
    for licence in plan.licences:
        asked_by = because(PlannedValue.ASKED_BY, places=licence.asked_by)
        yield because(PlannedThing.LICENCE, licence=licence.name), asked_by
    for service in plan.services:
        asked_by = because(PlannedValue.ASKED_BY, places=service.asked_by)
        yield because(PlannedThing.SERVICE, service=service.name), asked_by
    for caution in plan.cautions:
        applies = because(PlannedValue.APPLIES, places=caution.applies_to)
        yield because(PlannedThing.CAUTION, caution=caution.title), applies
    for split in plan.unresolved:
        yield because(PlannedThing.VARIANT, variant=split.split), because(PlannedValue.OPEN)


def _at(code: PlannedThing, item: str, place: PositionView | TighteningView) -> Reason:
    return because(code, item=item, joint=place.joint, position=place.position)


def _amount(thousandths: int, unit: str) -> Reason:
    return because(PlannedValue.AMOUNT, amount=Quantity(thousandths, unit))


def _hours(thousandths: int) -> Reason:
    return because(PlannedValue.HOURS, hours=Quantity(thousandths, "each"))


def _part(line: LineView, place: PositionView) -> Iterator[Reason]:
    yield because(
        PlannedValue.PART,
        amount=Quantity(place.quantity, line.unit),
        rule=line.rule,
        criterion=line.criterion or "–",
    )
    if made := tuple(text for text in (line.size, line.material) if text):
        yield because(PlannedValue.MADE, made=made)
    if line.group is not None:
        yield because(PlannedValue.GROUP, group=line.group)
    if line.stands_for is not None:
        yield because(PlannedValue.STANDS_FOR, item=line.stands_for)
    if place.lubricant is not None:
        yield because(PlannedValue.LUBRICANT, what=place.lubricant)


def _figure(row: TighteningView) -> Reason:
    values: dict[str, Value] = {"stages": tuple(map(str, row.stages)) or ("?",)}
    return because(
        PlannedValue.FIGURE,
        **values,
        state=row.thread_state,
        pattern=row.pattern or "–",
        source=row.source or "–",
    )


def as_text(plan: PlanView) -> str:
    """The entries of a plan as JSON text."""
    return json.dumps({_SAID: _texts(plan)}, ensure_ascii=False)


def is_of_now(planned: str) -> bool:
    """Whether a text holds all that is compared; False for one that an older program wrote."""
    return _SAID in json.loads(planned)


def _texts(plan: PlanView) -> _Said:
    # One item may be at a position under two rules: nothing that is said of a thing is lost.
    found: _Said = defaultdict(list)
    for thing, value in _entries(plan):
        found[reason_as_text(thing)].append(reason_as_text(value))
    return dict(found)


def changes(planned: str, now: PlanView) -> tuple[Reason, ...]:
    """What differs between what was planned (JSON text, `is_of_now`) and a plan of now."""
    return tuple(_changes(json.loads(planned)[_SAID], _texts(now)))


def hours_of(planned: str | None) -> int | None:
    """The hours that a booking was planned with, in thousandths; None where nobody wrote them."""
    if planned is None or not is_of_now(planned):
        return None
    said: _Said = json.loads(planned)[_SAID]
    steps = [_read(texts) for key, texts in said.items() if _is_step(key)]
    amounts = [value["hours"] for some in steps for value in some]
    return sum(amount.thousandths for amount in amounts if isinstance(amount, Quantity))


def _is_step(key: str) -> bool:
    return any(thing.code is PlannedThing.STEP for thing in _read([key]))


def _changes(before: _Said, after: _Said) -> Iterable[Reason]:
    for key in (*before, *(key for key in after if key not in before)):
        was = _only(before.get(key, ()), after.get(key, ()))
        now = _only(after.get(key, ()), before.get(key, ()))
        if not was and not now:
            continue
        code = CatalogueChange.OTHERWISE
        if not was or not now:
            code = CatalogueChange.NEW if now else CatalogueChange.GONE
        yield because(code, what=_read([key]), was=_read(was), now=_read(now))


def _only(these: Iterable[str], others: Iterable[str]) -> list[str]:
    """What is said here and not there."""
    return list((Counter(these) - Counter(others)).elements())


def _read(texts: Iterable[str]) -> tuple[Reason, ...]:
    return tuple(found for text in texts if (found := reason_of_text(text, _KINDS)) is not None)
