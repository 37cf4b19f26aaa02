"""Uses of a plan: consumables gathered by item, packets taken into account."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Hashable, Iterator, Sequence

from kitting.calc.planning.consumption import packs
from kitting.facts.names import natural_key
from kitting.facts.plan_reasons import AmountReason, NoteReason
from kitting.facts.reasons import Reason, because
from kitting.facts.verdicts import verdict_of, worst_first
from kitting.facts.words import Rule
from kitting.services.planning.judged import Draft, JudgedUse
from kitting.services.planning.lines import (
    Brought,
    draw,
    hazards,
    stand_notes,
    stop_reasons,
    succession_note,
    undrawn,
    use_reasons,
    what_stops,
)
from kitting.views.plan import UseView


def use_lines(facts: Draft) -> tuple[UseView, ...]:
    """Consumables per item, what is stopped in lines of its own."""
    groups: dict[Hashable, list[JudgedUse]] = defaultdict(list)
    for use in facts.every_use:
        groups[use.item.key, use.asked.key, what_stops(use)].append(use)
    remaining = undrawn(facts.taking.covered)
    for fate in (fate for part in facts.parts for fate in part.fates):
        if fate.ruling.rule == Rule.RENEW and not fate.stopped:
            draw(facts, remaining, fate.item.key, fate.quantity)
    views = [_use_line(facts, uses, remaining) for uses in groups.values()]
    return tuple(sorted(views, key=_place_of_use))


def _place_of_use(use: UseView) -> tuple[object, ...]:
    stopped = [str(value) for reason in use.stopped_by for _, value in reason.values]
    return (natural_key(use.item), stopped)


def _use_line(facts: Draft, uses: Sequence[JudgedUse], remaining: Brought) -> UseView:
    first, item = uses[0], uses[0].item
    doubts = worst_first(doubt for use in uses for doubt in use.doubts)
    quantity = sum(use.quantity for use in uses)
    brought = () if first.stopped else draw(facts, remaining, item.key, quantity)
    to_take = 0 if first.stopped else max(0, quantity - sum(part.quantity for part in brought))
    return UseView(
        item=item.code,
        name=item.name,
        kind=item.kind.name,
        quantity=quantity,
        unit=item.unit,
        pack=item.pack,
        packs=packs(to_take, item.pack),
        bin=item.bin,
        how=tuple(_amount(facts, use) for use in uses),
        reasons=use_reasons(facts, uses),
        covered=brought,
        to_take=to_take,
        notes=(*stand_notes(first), *succession_note(facts, item), *_unsourced(facts, uses)),
        hazards=hazards(facts, item),
        stopped_by=stop_reasons(first),
        verdict=verdict_of(doubts),
        doubts=doubts,
        stands_for=first.asked.code if first.asked.key != item.key else None,
    )


def _amount(facts: Draft, use: JudgedUse) -> Reason:
    if use.joint is not None:
        return because(AmountReason.AT_JOINT, how=use.how, joint=facts.names.joints[use.joint])
    return because(AmountReason.AT_STEP, how=use.how, step=facts.names.steps[use.step or 0])


def _unsourced(facts: Draft, uses: Sequence[JudgedUse]) -> Iterator[Reason]:
    """That nobody says where amounts are from; the places, where it is so of some only."""
    lacking = [use for use in uses if not sourced(facts, use)]
    if len(lacking) == len(uses):
        yield because(NoteReason.AMOUNT_WITHOUT_SOURCE)
    elif lacking:
        places = dict.fromkeys(use_place(facts, use) for use in lacking)
        yield because(NoteReason.AMOUNTS_WITHOUT_SOURCE, places=tuple(places))


def sourced(facts: Draft, use: JudgedUse) -> bool:
    """Whether it is stated where an amount is from: by the position, or by the file of the unit."""
    if use.fit is not None:
        return facts.lubricant_sourced(use.fit)
    return facts.taken_from(use.joint, use.step) is not None


def use_place(facts: Draft, use: JudgedUse) -> str:
    """The joint or step that takes a consumable, as general tools and sheets name it."""
    if use.joint is not None:
        return f"joint {facts.names.joints[use.joint]}"
    return f"step {facts.names.steps[use.step or 0]}"
