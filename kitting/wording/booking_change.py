"""A changed booking in words: what goes where and why, what it costs, whether the day is safe."""

from __future__ import annotations

from collections.abc import Mapping

from kitting.facts.words import DateState, Word
from kitting.views.booking_change import (
    BookingChangeView,
    FreeOrderView,
    GivenUpView,
    GoesBecause,
    NotJudged,
    OutOfKitView,
    ShortView,
    TakenView,
)
from kitting.wording.figures import day, money, percent, show_quantity
from kitting.wording.language import N_, _
from kitting.wording.purchasing import (
    chance_of_date,
    if_vans,
    lack,
    not_compared,
    of_what_is_offered,
    tax_mixed,
)
from kitting.wording.reasons import register, register_names, say

_WHY: Mapping[Word, str] = {
    GoesBecause.NOT_NEEDED: N_("no longer needed"),
    GoesBecause.NOT_FIT: N_("may not be fitted by then"),
    GoesBecause.TOO_LATE: N_("comes after the date"),
    GoesBecause.OTHER_BRANCH: N_("lies at the other branch"),
}
register_names(_WHY)
register({NotJudged.PRICES: "{why}"})
_SAFE = {
    DateState.SAFE: N_("SAFE"),
    DateState.NOT_PROVEN: N_("NOT PROVEN: all comes in time, but something is in doubt"),
    DateState.RISKY: N_("RISKY"),
    DateState.IMPOSSIBLE: N_("IMPOSSIBLE: something cannot be here in time"),
}


def out_of_kit_text(part: OutOfKitView) -> str:
    """ "2 SEAL-INTAKE: lot A, bin S1-01 (no longer needed)"."""
    where = _(", bin {bin}", bin=part.bin) if part.bin else _(", bin UNKNOWN")
    what = f"{show_quantity(part.quantity, part.unit)} {part.item}"
    return _(
        "{what}: lot {lot}{where} ({why})",
        what=what,
        lot=part.lot,
        where=where,
        why=_(_WHY[part.why]),
    )


def given_up_text(promise: GivenUpView) -> str:
    """ "2 RING of lot A (no longer needed)"."""
    source = (
        _("order {order}", order=promise.order)
        if promise.order
        else _("lot {lot}", lot=promise.lot)
    )
    what = f"{show_quantity(promise.quantity, promise.unit)} {promise.item}"
    return _("{what} of {source} ({why})", what=what, source=source, why=_(_WHY[promise.why]))


def short_text(part: ShortView) -> str:
    """ "2 SEAL-INTAKE Inlet seal"."""
    return f"{show_quantity(part.quantity, part.unit)} {part.item} {part.name}"


def free_order_text(one: FreeOrderView) -> str:
    """What is on order for nobody now, and what can be done about it."""
    back = _("can be returned") if one.returnable else _("NO RETURN")
    what = f"{show_quantity(one.quantity, one.unit)} {one.item}"
    return _(
        "{what} on order {order} from {supplier}, due {due}: {why}. Cancel it there,"
        " or keep it for the shelf ({back})",
        what=what,
        order=one.order,
        supplier=one.supplier,
        due=day(one.due),
        why=_(_WHY[one.why]),
        back=back,
    )


def buying_text(view: BookingChangeView) -> str:
    """What buying the rest costs."""
    if view.buying is None:
        return (
            _("UNKNOWN: {not_judged}", not_judged=say(view.not_judged))
            if view.not_judged
            else _("UNKNOWN")
        )
    if view.buying.total is None:
        return _("cannot be bought in time")
    if view.buying.lacking:
        return _("{total} for what can be had; the rest cannot", total=money(view.buying.total))
    return money(view.buying.total) if view.buying.total.minor else _("nothing is to be bought")


def not_to_be_had(view: BookingChangeView) -> tuple[str, ...]:
    """What cannot be bought in time, and why, and whose prices were not compared."""
    if view.buying is None:
        return ()
    buying = view.buying
    return (
        *map(lack, buying.lacking),
        *not_compared(buying.left_out),
        *tax_mixed(buying.tax_mixed),
    )


def date_text(view: BookingChangeView) -> str:
    """Whether the day is safe, with its chance."""
    if view.date is None:
        return _("UNKNOWN whether all is there in time")
    vans = () if view.buying is None else view.buying.vans
    state = _(_SAFE[view.date.state])
    state += if_vans(vans) if view.date.state is DateState.SAFE else ""
    sure = chance_of_date(view.date, vans, percent(view.date.chance))
    rest = f", {offered}" if (offered := of_what_is_offered(view.date, vans)) else ""
    return _(
        "{state}, {sure} that all is there and checked{rest}", state=state, sure=sure, rest=rest
    )


def giver_text(view: TakenView) -> str:
    """How the booking that gave something stands now."""
    giver = view.giver
    if view.giver_unconfirmed:
        return _(
            "{number} WAS CONFIRMED AND IS NOT ANY MORE: it is {state} again",
            number=giver.number,
            state=giver.state,
        )
    return _("{number} is {state}", number=giver.number, state=giver.state)
