"""Purchasing in words: why something is bought, what else could be done, what to tell whom."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import date

from kitting.facts.exchange_rates import FRESH_DAYS
from kitting.facts.money import Money
from kitting.facts.reasons import Reason
from kitting.facts.units import format_quantity, show_quantity
from kitting.facts.words import DateState
from kitting.views.on_the_way import AwaitedView, VanComingView
from kitting.views.orders import HandLineView, HandOrderView, OrderLineView, OrderView
from kitting.views.possible_dates import ClosedDayView, DatesView, DateView
from kitting.views.purchasing import (
    AlternativeView,
    BarredView,
    BuyLineView,
    LackView,
    OpenDoubtView,
    OtherPacketsView,
    ParcelView,
    PurchaseView,
    RateView,
    SupplyReason,
    TransferAdviceView,
)
from kitting.wording.figures import amount, day, many, money, percent
from kitting.wording.orders import tax_text
from kitting.wording.reasons import register, say
from kitting.wording.verdicts import doubt_text

register(
    {
        SupplyReason.FOR_BOOKINGS: "for {bookings}",
        SupplyReason.PACK_SIZE: "{over} over: the pack is that large",
        SupplyReason.PRICE_BREAK: "{over} over: so many cost less than fewer",
        SupplyReason.LEAST_PACKS: "{over} over: the supplier sells no fewer",
        SupplyReason.LEAST_ORDER: "{over} over: the supplier delivers nothing under {limit}",
        SupplyReason.SAVES_CARRIAGE: "{over} over: over {limit} there is no carriage",
        SupplyReason.CHEAPER_WITH_IT: "not needed: together it costs less with it than without",
        SupplyReason.CARRIAGE_FREE: "carriage free over {limit}",
        SupplyReason.CARRIAGE_SAVED: "{gap} more of goods would save {saved} carriage",
        SupplyReason.NOBODY_OFFERS: "nobody offers it",
        SupplyReason.OTHER_CURRENCY: (
            "not offered in {currency}, only in {currencies}; no rate is stated, buy it apart or"
            " state one"
        ),
        SupplyReason.NOT_IN_TIME: "no delivery is sure enough to be in time",
        SupplyReason.WITHOUT_SUPPLIER: "without {supplier} it would cost {dearer} more",
        SupplyReason.NOT_WITHOUT_SUPPLIER: "without {supplier} it cannot be had in time",
    }
)


def open_doubt_text(one: OpenDoubtView) -> str:
    """What is not fine of a booking: "B0002: CANNOT BE PROVEN: …"."""
    told = doubt_text(one.doubt)
    return told if one.booking is None else f"{one.booking}: {told}"


def old_stock(line: BuyLineView) -> str:
    """The old stock that meets the same need: "in part old stock of unknown age: 2 of lot A"."""
    parts = (
        f"{show_quantity(one.quantity, line.unit)} of lot {one.lot}"
        + (f" for {one.booking}" if one.booking else "")
        for one in line.old_stock
    )
    return f"in part old stock of unknown age: {', '.join(parts)}"


def dates_are_of(view: DatesView | PurchaseView) -> str:
    """What dates or a purchase are of: "B0001, B0002", or "PELL 117: J1, J2 (not booked)"."""
    if view.car is None:
        return ", ".join(view.bookings)
    return f"{view.car}: {', '.join(view.jobs)} (not booked)"


def reasons(found: Sequence[Reason]) -> str:
    """Reasons in a row: "for B0001; 3 over: the pack is that large"."""
    return "; ".join(map(say, found))


def lack(view: LackView) -> str:
    """ "3 RING Ring: nobody offers it"."""
    return f"{amount(view.quantity, view.unit)} {view.item} {view.name}: {say(view.why)}"


def transfer(view: TransferAdviceView) -> str:
    """What another branch could send, when it is here, and whether buying is quicker."""
    free = f"{amount(view.quantity, view.unit)} × {view.item} free in {view.branch}"
    if view.arrives is None:
        return f"{free}: when its van goes is UNKNOWN, ask there; {_bought(view)}"
    leaves = f" (leaves {view.leaves})" if view.leaves else ""
    return f"{free}: by van here {view.arrives:%a %d %b}{leaves}, {_bought(view)}"


def van_coming(view: VanComingView) -> str:
    """A transfer on its way that is counted: "2 × RING comes from quay by van (transfer 1) …"."""
    some = f"{amount(view.quantity, view.unit)} × {view.item}"
    record = (
        f"{view.punctual} of {many(view.seen, 'van')} from there came on their day"
        if view.seen
        else "no van from there was seen yet"
    )
    return (
        f"{some} comes from {view.branch} by van (transfer {view.transfer}), {day(view.due)}:"
        f" HOW SURELY IS NOT KNOWN and in no chance here, {record}"
    )


def at_most(vans: Sequence[VanComingView], digits: str) -> str:
    """A chance in `digits`; "at most" where it does not count a van, and then no sign of more."""
    return f"at most {digits.removeprefix('>')}" if vans else digits


def if_vans(vans: Sequence[VanComingView]) -> str:
    """ " IF THE VAN KEEPS ITS DAY" after SAFE, where a date counts on one."""
    if not vans:
        return ""
    several = len({van.transfer for van in vans}) > 1
    return f" IF THE {'VANS KEEP THEIR DAYS' if several else 'VAN KEEPS ITS DAY'}"


def chance_of_date(day: DateView, vans: Sequence[VanComingView], digits: str) -> str:
    """The chance of a date, in `digits`: "at most" where it counts on a van, or NOT KNOWN."""
    if day.chance:
        return at_most(vans, digits)
    return "NOT KNOWN" if day.state is DateState.RISKY else digits


def of_what_is_offered(day: DateView, vans: Sequence[VanComingView]) -> str:
    """ "79.4% of what is offered", where nobody offers all of a kit; else nothing."""
    if day.rest is None:
        return ""
    return f"{at_most(vans, percent(day.rest))} of what is offered"


def awaited(view: AwaitedView, today: date) -> str:
    """An order on its way: "P0001 is on its way, due …: here in time 98.0%"."""
    if view.chance is None:
        return (
            f"{view.order} is OVERDUE, was due {view.due}, late {view.due_late}: here in time NOT"
            " KNOWN: ask the supplier. It is not relied on"
        )
    late = ": NOT RELIED ON" if view.late else ""
    if view.due >= today:
        return (
            f"{view.order} is on its way, due {view.due}, late {view.due_late}: here in time"
            f" {percent(view.chance)}{late}"
        )
    return (
        f"{view.order} is OVERDUE, was due {view.due}, late {view.due_late}: as it has not come"
        f" yet, here in time {percent(view.chance)}{late}"
    )


def _bought(view: TransferAdviceView) -> str:
    if view.bought is None:
        return "not to be bought in time"
    if view.arrives is None:
        return f"bought {view.bought:%a %d %b}"
    which = "the van is earlier" if view.arrives < view.bought else "buying is no later"
    return f"bought {view.bought:%a %d %b}: {which}"


def alternative(view: AlternativeView) -> str:
    """ "RING: choice 1 instead is OTHER, 2 free here, not judged at its place yet"."""
    note = f" ({view.note})" if view.note else ""
    free = amount(view.free, view.unit)
    return (
        f"{view.item}: choice {view.choice} instead is {view.instead}, {free} free here, not judged"
        f" at its place yet{note}"
    )


def barred(view: BarredView) -> str:
    """That an item takes no alternative, and where it sits."""
    return f"{view.item}: no alternative, it sits in {view.system}"


def parcel_sum(parcel: ParcelView | HandOrderView) -> str:
    """The cost of what comes together: "goods £10.00, carriage £5.00, together £15.00 …"."""
    note = f" ({say(parcel.carriage_note)})" if parcel.carriage_note else ""
    cores = f"; on top {money(parcel.cores)} of cores, refunded for the old parts"
    own = parcel.own_total if isinstance(parcel, ParcelView) else None
    tax = tax_text(parcel.tax, ("cores",) if parcel.cores.minor else ())
    billed = "" if own is None else f" ({money(own)} to the supplier)"
    return (
        f"goods {money(parcel.goods)}, carriage {money(parcel.carriage)}{note}, together"
        f" {money(parcel.total)}{billed}, {tax}"
        f"{cores if parcel.cores.minor else ''}"
    )


def packs_or_pieces(line: BuyLineView | HandLineView) -> str:
    """How much of a line: pieces as they are, anything else in packs."""
    if line.pack == 1000 and line.unit == "each":
        return show_quantity(line.ordered, line.unit)
    return f"{line.packs} × {format_quantity(line.pack, line.unit)}"


def not_compared(left_out: Iterable[tuple[str, str]]) -> Iterator[str]:
    """Suppliers whose prices are in another currency: "Not compared: SLOW, priced in EUR"."""
    for supplier, currency in left_out:
        yield f"Not compared: {supplier}, priced in {currency}"


def rates_stated(rates: Iterable[RateView]) -> Iterator[str]:
    """The rates that prices were converted by: "RATE AS STATED: 1 EUR is GBP 0.86, of …"."""
    for rate in rates:
        old = ""
        if rate.age > FRESH_DAYS:
            old = f". IT IS {many(rate.age, 'DAY').upper()} OLD: ask for today's"
        yield (
            f"RATE AS STATED: 1 {rate.currency} is {rate.rate} {rate.into}, of"
            f" {day(rate.on)}; it was not checked, and the bank's own rate and charges are not in"
            f" it{old}"
        )


def rates_not_used(currencies: Iterable[str]) -> Iterator[str]:
    """The stated rates by which nothing was converted: "RATE NOT USED: …"."""
    for currency in currencies:
        yield f"RATE NOT USED: no offer of what is lacking is in {currency}"


def tax_mixed(compared: Iterable[tuple[str, bool | None]]) -> Iterator[str]:
    """That prices with and without tax were compared as they stand; nothing where they agree."""
    words = {True: "with tax", False: "without tax", None: "not stated"}
    if told := ", ".join(f"{supplier} {words[included]}" for supplier, included in compared):
        yield f"PRICES COMPARED AS THEY STAND, though tax is not in all of them: {told}"


def packets_not_compared(view: OtherPacketsView) -> str:
    """ "KIT-1: the plan chose it; not compared: KIT-2, KIT-3"."""
    others = ", ".join(view.others)
    return (
        f"{view.item}: the plan chose this packet; others hold some of it, not compared: {others}"
    )


def closed_day(view: ClosedDayView) -> str:
    """ "2026-04-03 Good Friday"."""
    return f"{day(view.on)} {view.reason}"


def sums(view: OrderView) -> list[tuple[str, Money]]:
    """What an order comes to, part by part; cores, what is lost or credited where there are any."""
    found = [("goods", view.goods), ("carriage", view.carriage)]
    if view.cores.minor:
        found.append(("cores, refunded for the old parts", view.cores))
    if view.lost.minor:
        found.append(("less what will not come", view.lost))
    if view.credited is not None:
        found.append(("less what was credited", view.credited))
    if view.again is not None and view.again.minor:
        found.append(("sent once more for what was credited", view.again))
    return found


def tax_of_order(view: OrderView) -> str:
    """The tax of an order, and what of its total is not in that."""
    parts = (
        ("cores", view.cores.minor),
        ("what was credited", 0 if view.credited is None else view.credited.minor),
    )
    return tax_text(view.tax, [name for name, minor in parts if minor])


def discrepancies(line: OrderLineView) -> tuple[str, ...]:
    """What came that was of no use, or too much, and the supplier has not been told of."""
    damaged = max(0, line.damaged - line.told)
    found = (
        (damaged, "damaged"),
        (line.wrong - max(0, line.told - line.damaged), "another part"),
        (line.over, "more than ordered, on hold"),
    )
    return tuple(f"{amount(quantity, line.unit)} {word}" for quantity, word in found if quantity)
