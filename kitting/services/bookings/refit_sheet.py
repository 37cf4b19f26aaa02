"""The refit sheet of a booking: with its trays, and at each bag what that bag lacks."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from datetime import date

from sqlalchemy.orm import Session

from kitting.facts.verdicts import Doubt, worst_first
from kitting.facts.words import NeedRule
from kitting.services.bookings.kit_sheets import labels_of
from kitting.services.bookings.lacks import lacks
from kitting.services.bookings.seal_count import Refit
from kitting.services.bookings.states import find_booking
from kitting.services.bookings.view import booking_view
from kitting.views.bookings import Lack, NeededView
from kitting.views.kit import Bag, ShortageView, awaited
from kitting.views.refit import RefitBagView, RefitView, StepUseView

_Needs = Mapping[tuple[str, NeedRule], NeededView]
_SHORT = (Lack.SHORT, Lack.SPARE_SHORT)


def with_kit(
    session: Session, view: RefitView, asked: Refit, number: str, today: date | None = None
) -> RefitView:
    """The refit sheet of what was `asked`, with the kit of its booking.

    What a bag lacks is its own share; of what is used up, which lies loose, what the kit lacks.
    """
    kit = labels_of(session, number, today)
    booked = booking_view(session, find_booking(session, number), today)
    needs = {(need.item, need.rule): need for need in booked.needs}
    bags = {bag.number: bag for bag in kit.bags}
    return replace(
        view,
        booking=kit.booking,
        shortages=kit.shortages,
        slot=asked.slot,
        doubts=worst_first((*view.doubts, *asked.doubts)),
        bags=tuple(
            _with_share(bag, None if bag.bag is None else bags.get(bag.bag), needs, view.on)
            for bag in view.bags
        ),
        fillings=tuple(_of_step(use, needs, view.on) for use in view.fillings),
        step_uses=tuple(_of_step(use, needs, view.on) for use in view.step_uses),
    )


def _with_share(bag: RefitBagView, kit: Bag | None, needs: _Needs, on: date) -> RefitBagView:
    shares = [] if kit is None else list(_shares(kit, needs))
    used = [need for use in bag.uses if (need := needs.get((use.item, NeedRule.USE))) is not None]
    return replace(
        bag,
        tray=None if kit is None else kit.tray,
        short=tuple(
            ShortageView(share.item, share.lacking, share.unit) for share in shares if share.lacking
        ),
        doubts=worst_first(dict.fromkeys((*bag.doubts, *_lacks((*shares, *used), on)))),
        step_uses=tuple(_of_step(use, needs, on) for use in bag.step_uses),
    )


def _shares(kit: Bag, needs: _Needs) -> Iterator[NeededView]:
    """The needs of a bag, each with what of it is meant for this bag."""
    for line in kit.lines:
        need = needs.get((line.content.item, line.content.rule))
        if need is None:
            continue
        wanted, coming = line.content.quantity, awaited(line.lots) if need.must else 0
        yield replace(
            need,
            needed=wanted,
            taken=wanted if need.spare else 0,
            picked=wanted - line.short - coming,
            on_shelf=0,
            coming=coming,
            short=line.short,
            sources=line.lots,
        )


def _of_step(use: StepUseView, needs: _Needs, on: date) -> StepUseView:
    need = needs.get((use.item, NeedRule.USE))
    if need is None:
        return use
    return replace(use, doubts=worst_first((*use.doubts, *_lacks([need], on))))


def _lacks(needs: Iterable[NeededView], on: date) -> Iterator[Doubt]:
    """What is not here, or not proven; what is short has its own words."""
    for need in needs:
        yield from (doubt for doubt in lacks(need, on) if doubt.because.code not in _SHORT)
