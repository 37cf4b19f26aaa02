"""Why the needs of a booking are not met, as doubts."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from kitting.facts.reasons import Reason, Value, because
from kitting.facts.units import Quantity
from kitting.facts.verdicts import Aspect, Doubt, Verdict
from kitting.facts.words import LotState
from kitting.views.bookings import Lack, LotPlace, NeededView, PromisedView


def lacks(need: NeededView, fit_on: date) -> Iterator[Doubt]:
    """Why a need is not met: what is short, on its way, on hold, expired or of unknown age.

    A spare that was not taken need not be there; one that is may not be unfit.
    """
    if need.lacking:
        code = Lack.SPARE_SHORT if need.spare else Lack.SHORT
        short = because(code, item=need.item, quantity=Quantity(need.lacking, need.unit))
        yield Doubt(Verdict.NO, Aspect.STOCK, short)
    if need.awaited:
        due = max(source.due for source in need.sources if source.due is not None)
        coming = Quantity(need.awaited, need.unit)
        reason = because(Lack.NOT_HERE_YET, item=need.item, quantity=coming, due=due)
        yield Doubt(Verdict.UNKNOWN, Aspect.STOCK, reason)
    for source in need.sources:
        if not source.may_be_fitted:
            held = source.state is LotState.ON_HOLD
            reason = unfit_reason(need, source, fit_on)
            yield Doubt(Verdict.NO, Aspect.HOLD if held else Aspect.AGE, reason)
        elif source.state is LotState.AGE_UNKNOWN:
            amount = Quantity(source.quantity, need.unit)
            reason = age_unknown(need.item, amount, source.lot, source.keeps_why)
            yield Doubt(Verdict.UNKNOWN, Aspect.AGE, reason)


def age_unknown(item: str, amount: Quantity, lot: str | None, why: Reason | None) -> Reason:
    """That the age of what comes from a lot is not known, and why."""
    return because(Lack.AGE_UNKNOWN, item=item, quantity=amount, lot=lot, why=why)


def unfit_reason(need: NeededView, source: PromisedView, fit_on: date) -> Reason:
    """Why something promised or picked for a booking of a date may not be fitted."""
    amount = Quantity(source.quantity, need.unit)
    place = because(LotPlace.LOT, lot=source.lot)
    if source.order is not None:
        place = because(LotPlace.ORDER, order=source.order)
    elif source.bin is not None:
        place = because(LotPlace.LOT_IN_BIN, lot=source.lot, bin=source.bin)
    values: dict[str, Value] = {"item": need.item, "quantity": amount, "place": place}
    if source.state is LotState.ON_HOLD:
        return because(Lack.ON_HOLD, **values, reason=source.on_hold)
    late = source.keeps_to is not None and source.keeps_to >= fit_on
    code = Lack.EXPIRED_SINCE if late else Lack.EXPIRED
    return because(code, **values, limit=source.keeps_to)
