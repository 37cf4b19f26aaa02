"""The needs of a kit with what covers them, and what keeps the kit from being fine."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from kitting.facts.names import natural_key
from kitting.facts.reasons import Reason, because
from kitting.facts.units import Quantity
from kitting.facts.verdicts import Aspect, Doubt, Verdict, verdict_of, worst_first
from kitting.facts.words import LotState, NeedRule
from kitting.services.bookings.lacks import lacks
from kitting.services.bookings.sources import Source, Sources
from kitting.services.db.reason_text import reason_of_text
from kitting.views.bookings import (
    ElsewhereView,
    Lack,
    NeededView,
    PromisedView,
    SourceKind,
)

# What never goes back first, spares last.
_ORDER = (NeedRule.RENEW, NeedRule.USE, NeedRule.INSPECT)

Doubts = Mapping[str | None, Sequence[Doubt]]  # by the item of the line that each is of


@dataclass(frozen=True, slots=True)
class Told:
    """What the needs of a booking are told from."""

    fit_on: date
    doubts: Doubts
    sources: Sources
    others: Mapping[tuple[int, int], tuple[ElsewhereView, ...]]
    stands_for: Mapping[tuple[int, int, NeedRule], tuple[str, ...]]
    not_renewed: Mapping[tuple[int, int], int]  # of closed bookings, by item


def kit_doubts(
    needed: Sequence[NeededView], planned: Doubts, others: Iterable[Doubt]
) -> tuple[Doubt, ...]:
    """What keeps a kit from being fine: of its needs, of its plan, and what is not of a line."""
    must = {need.item for need in needed if need.needed and need.must}
    return worst_first(
        (
            *(doubt for need in needed if need.must for doubt in need.doubts),
            # What goes back, or is brought in case, is fitted too.
            *(doubt for item, some in planned.items() if item not in must for doubt in some),
            *others,
        )
    )


def recorded(text: str) -> Reason:
    """A reason as it was recorded, by an older program as a sentence."""
    found = reason_of_text(text)
    return found or because(Lack.AS_RECORDED, text=text)


def needed_all(booking: int, needs: Sequence[Any], context: Told) -> tuple[NeededView, ...]:
    """What a kit needs, of rows with the item's key, code, name and unit, the rule and amount."""
    ordered = sorted(needs, key=lambda row: (_ORDER.index(row.rule), natural_key(row.code)))
    return tuple(
        _judged(
            _needed(
                need,
                context.sources.get((booking, need.item_id), ()),
                context.others.get((booking, need.item_id), ()),
                context.stands_for.get((booking, need.item_id, need.rule), ()),
            ),
            context.doubts.get(need.code, ()),
            context,
            0
            if need.rule is not NeedRule.RENEW
            else context.not_renewed.get((booking, need.item_id), 0),
        )
        for need in ordered
    )


def _judged(need: NeededView, planned: Sequence[Doubt], context: Told, missing: int) -> NeededView:
    own = list(lacks(need, context.fit_on))
    # What is not even in the kit is told as such.
    if missing > need.short:
        amount = Quantity(missing, need.unit)
        lack = because(Lack.NOT_RENEWED, item=need.item, quantity=amount)
        own.append(Doubt(Verdict.NO, Aspect.STOCK, lack))
    doubts = worst_first((*own, *planned))
    return replace(need, verdict=verdict_of(doubts), doubts=doubts)


def _needed(
    need: Any,
    sources: Iterable[Source],
    elsewhere: tuple[ElsewhereView, ...],
    stands_for: tuple[str, ...],
) -> NeededView:
    """A need with as much of the item's promises as it takes; the rest is for the next need."""
    short = need.quantity
    used: list[PromisedView] = []
    picked = on_shelf = coming = 0
    for source in sources:
        some = min(source.waiting + source.picked, short)
        if not some:
            continue
        some_picked = min(source.picked, some)
        waiting = some - some_picked
        source.picked -= some_picked
        source.waiting -= waiting
        picked += some_picked
        if source.of.kind is SourceKind.ORDER:
            coming += waiting
        else:
            on_shelf += waiting
        used.append(replace(source.of, quantity=some, picked=some_picked))
        short -= some
    return NeededView(
        item=need.code,
        name=need.name,
        rule=need.rule,
        unit=need.unit,
        needed=need.quantity,
        picked=picked,
        on_shelf=on_shelf,
        coming=coming,
        short=short,
        sources=tuple(used),
        elsewhere=elsewhere if short else (),
        stands_for=stands_for,
        verdict=Verdict.FINE,
        doubts=(),
        taken=need.taken,
        age_unknown=sum(one.quantity for one in used if one.state is LotState.AGE_UNKNOWN),
    )
