"""A change of a booking as it is shown: what differs between before and after."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from sqlalchemy.orm import Session

from kitting.facts.words import BookingState, NeedRule
from kitting.services.bookings.change import Changed, Stand
from kitting.services.bookings.promised import Promised, free_of_lines
from kitting.views.booking_change import (
    BookingChangeView,
    FreeOrderView,
    GivenUpView,
    GoesBecause,
    NeedChangeView,
    OutOfKitView,
    ShortView,
    SideView,
)
from kitting.views.bookings import NeededView


def change_view(session: Session, changed: Changed) -> BookingChangeView:
    """What a change comes to, but for what it costs and whether the day is safe."""
    before, after = changed.before.view, changed.after.view
    needs = tuple(_needs(changed))
    return BookingChangeView(
        number=after.number,
        registration=after.registration,
        vehicle=after.vehicle,
        made=False,
        before=_side(changed.before),
        after=_side(changed.after),
        gained=tuple(need for need in needs if need.after > need.before),
        lost=tuple(need for need in needs if need.after < need.before),
        short=tuple(
            ShortView(need.item, need.name, need.unit, need.lacking)
            for need in after.needs
            if need.lacking
        ),
        out_of_kit=(*_booked_back(changed), *_left_in_kit(changed)),
        given_up=tuple(_given_up(changed)),
        free_orders=tuple(_free_orders(session, changed)),
        closing_up=changed.closing_up,
        buying=None,
        date=None,
        not_judged=None,
        doubts=after.doubts,
        doubts_gained=tuple(doubt for doubt in after.doubts if doubt not in before.doubts),
        doubts_lost=tuple(doubt for doubt in before.doubts if doubt not in after.doubts),
    )


def _side(stand: Stand) -> SideView:
    view = stand.view
    return SideView(
        view.jobs, view.fit_on, view.branch, view.state, stand.hours, view.verdict, view.day
    )


def _needs(changed: Changed) -> Iterator[NeedChangeView]:
    """Every need that is another amount than before, in the order of a booking."""
    before, after = _by_rule(changed.before), _by_rule(changed.after)
    for key in dict.fromkeys((*after, *before)):
        was, now = (side[key].needed if key in side else 0 for side in (before, after))
        if was != now:
            need = after.get(key) or before[key]
            yield NeedChangeView(need.item, need.name, need.rule, need.unit, was, now)


def _by_rule(stand: Stand) -> Mapping[tuple[str, NeedRule], NeededView]:
    return {(need.item, need.rule): need for need in stand.view.needs if need.needed}


def _differences(changed: Changed) -> Iterator[tuple[Promised, int, int]]:
    """Promises of before with how much less waits and is picked of them now (below 0: more)."""
    now = {one.of: one for one in changed.after.promised.values()}
    for one in changed.before.promised.values():
        left = now.get(one.of)
        waiting, picked = (left.waiting, left.picked) if left else (0, 0)
        yield one, one.waiting - waiting, one.picked - picked


def _why(changed: Changed, one: Promised) -> GoesBecause:
    return changed.went.get(one.id, GoesBecause.NOT_NEEDED)


def _booked_back(changed: Changed) -> Iterator[OutOfKitView]:
    for one, _, out in _differences(changed):
        if out > 0 and one.lot is not None:
            for lot, place, amount in _lies_in(changed, one, out):
                yield OutOfKitView(
                    item=one.item,
                    name=one.name,
                    unit=one.unit,
                    quantity=amount,
                    lot=lot,
                    bin=place,
                    why=_why(changed, one),
                    booked_back=True,
                )


def _lies_in(changed: Changed, one: Promised, out: int) -> Iterator[tuple[str, str | None, int]]:
    """The lots in which what came out of the kit lies now: opened goods by themselves."""
    apart = changed.apart.get(one.lot_id or 0)
    opened = min(out, apart.quantity) if apart else 0
    if apart and opened:
        yield apart.lot, apart.bin, opened
    if out > opened:
        yield one.lot or "", one.bin, out - opened


def _left_in_kit(changed: Changed) -> Iterator[OutOfKitView]:
    """On the ramp: what lies in the kit and nothing needs any more."""
    if changed.after.view.state is not BookingState.ON_THE_RAMP:
        return
    for need in changed.after.view.needs:
        if need.rule is NeedRule.KEEP and not need.needed:
            for source in need.sources:
                yield OutOfKitView(
                    item=need.item,
                    name=need.name,
                    unit=need.unit,
                    quantity=source.quantity,
                    lot=source.lot or "",
                    bin=source.bin,
                    why=GoesBecause.NOT_NEEDED,
                    booked_back=False,
                )


def _given_up(changed: Changed) -> Iterator[GivenUpView]:
    for one, less, _ in _differences(changed):
        if less > 0:
            yield GivenUpView(
                item=one.item,
                unit=one.unit,
                quantity=less,
                lot=one.lot,
                bin=one.bin,
                order=one.order,
                why=_why(changed, one),
            )


def _free_orders(session: Session, changed: Changed) -> Iterator[FreeOrderView]:
    """What was waited for by this booking, still comes, and is waited for by nobody now."""
    less = [(one, n) for one, n, _ in _differences(changed) if n > 0 and one.order is not None]
    free = free_of_lines(session, [one.order_line_id for one, _ in less if one.order_line_id])
    for one, amount in less:
        left = min(amount, free.get(one.order_line_id or 0, 0))
        if left > 0 and one.due is not None:
            yield FreeOrderView(
                order=one.order or "",
                supplier=one.supplier or "",
                item=one.item,
                unit=one.unit,
                quantity=left,
                due=one.due,
                returnable=bool(one.returnable),
                why=_why(changed, one),
            )
