"""Purchasing in words: why something is bought, what else could be done, what to tell whom."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import date

from kitting.facts.exchange_rates import FRESH_DAYS
from kitting.facts.money import Money
from kitting.facts.reasons import Reason
from kitting.facts.words import DateState
from kitting.views.on_the_way import AwaitedView, VanComingView
from kitting.views.orders import HandLineView, HandOrderView, OrderLineView, OrderView
from kitting.views.possible_dates import DatesView, DateView
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
from kitting.wording.figures import (
    amount,
    day,
    format_quantity,
    many,
    money,
    percent,
    show_quantity,
)
from kitting.wording.language import _, general_text
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
        _("{quantity} of lot {lot}", quantity=show_quantity(one.quantity, line.unit), lot=one.lot)
        + (_(" for {booking}", booking=one.booking) if one.booking else "")
        for one in line.old_stock
    )
    return _("in part old stock of unknown age: {listed}", listed=", ".join(parts))


def dates_are_of(view: DatesView | PurchaseView) -> str:
    """What dates or a purchase are of: "B0001, B0002", or "PELL 117: J1, J2 (not booked)"."""
    if view.car is None:
        return ", ".join(view.bookings)
    return _("{car}: {listed} (not booked)", car=view.car, listed=", ".join(view.jobs))


def reasons(found: Sequence[Reason]) -> str:
    """Reasons in a row: "for B0001; 3 over: the pack is that large"."""
    return "; ".join(map(say, found))


def lack(view: LackView) -> str:
    """ "3 RING Ring: nobody offers it"."""
    return f"{amount(view.quantity, view.unit)} {view.item} {view.name}: {say(view.why)}"


def transfer(view: TransferAdviceView) -> str:
    """What another branch could send, when it is here, and whether buying is quicker."""
    free = _(
        "{quantity} × {item} free in {branch}",
        quantity=amount(view.quantity, view.unit),
        item=view.item,
        branch=view.branch,
    )
    if view.arrives is None:
        return _(
            "{free}: when its van goes is UNKNOWN, ask there; {bought}",
            free=free,
            bought=_bought(view),
        )
    leaves = _(" (leaves {leaves})", leaves=view.leaves) if view.leaves else ""
    return _(
        "{free}: by van here {arrives:%a %d %b}{leaves}, {bought}",
        free=free,
        arrives=view.arrives,
        leaves=leaves,
        bought=_bought(view),
    )


def van_coming(view: VanComingView) -> str:
    """A transfer on its way that is counted: "2 × RING comes from quay by van (transfer 1) …"."""
    some = f"{amount(view.quantity, view.unit)} × {view.item}"
    record = (
        _(
            "{punctual} of {many} from there came on their day",
            punctual=view.punctual,
            many=many(view.seen, "van"),
        )
        if view.seen
        else _("no van from there was seen yet")
    )
    return _(
        "{some} comes from {branch} by van (transfer {transfer}), {due}: HOW SURELY IS"
        " NOT KNOWN and in no chance here, {record}",
        some=some,
        branch=view.branch,
        transfer=view.transfer,
        due=day(view.due),
        record=record,
    )


def at_most(vans: Sequence[VanComingView], digits: str) -> str:
    """A chance in `digits`; "at most" where it does not count a van, and then no sign of more."""
    return _("at most {removeprefix}", removeprefix=digits.removeprefix(">")) if vans else digits


def if_vans(vans: Sequence[VanComingView]) -> str:
    """ " IF THE VAN KEEPS ITS DAY" after SAFE, where a date counts on one."""
    if not vans:
        return ""
    several = len({van.transfer for van in vans}) > 1
    return _(" IF THE VANS KEEP THEIR DAYS") if several else _(" IF THE VAN KEEPS ITS DAY")


def chance_of_date(day: DateView, vans: Sequence[VanComingView], digits: str) -> str:
    """The chance of a date, in `digits`: "at most" where it counts on a van, or NOT KNOWN."""
    if day.chance:
        return at_most(vans, digits)
    return _("NOT KNOWN") if day.state is DateState.RISKY else digits


def of_what_is_offered(day: DateView, vans: Sequence[VanComingView]) -> str:
    """ "79.4% of what is offered", where nobody offers all of a kit; else nothing."""
    if day.rest is None:
        return ""
    return _("{at_most} of what is offered", at_most=at_most(vans, percent(day.rest)))


def awaited(view: AwaitedView, today: date) -> str:
    """An order on its way: "P0001 is on its way, due …: here in time 98.0%"."""
    if view.chance is None:
        return _(
            "{order} is OVERDUE, was due {due}, late {due_late}: here in time NOT"
            " KNOWN: ask the supplier. It is not relied on",
            order=view.order,
            due=view.due,
            due_late=view.due_late,
        )
    late = _(": NOT RELIED ON") if view.late else ""
    if view.due >= today:
        return _(
            "{order} is on its way, due {due}, late {due_late}: here in time {chance}{late}",
            order=view.order,
            due=view.due,
            due_late=view.due_late,
            chance=percent(view.chance),
            late=late,
        )
    return _(
        "{order} is OVERDUE, was due {due}, late {due_late}: as it has not come yet,"
        " here in time {chance}{late}",
        order=view.order,
        due=view.due,
        due_late=view.due_late,
        chance=percent(view.chance),
        late=late,
    )


def _bought(view: TransferAdviceView) -> str:
    if view.bought is None:
        return _("not to be bought in time")
    if view.arrives is None:
        return _("bought {bought:%a %d %b}", bought=view.bought)
    which = _("the van is earlier") if view.arrives < view.bought else _("buying is no later")
    return _("bought {bought:%a %d %b}: {which}", bought=view.bought, which=which)


def alternative(view: AlternativeView) -> str:
    """ "RING: choice 1 instead is OTHER, 2 free here, not judged at its place yet"."""
    note = f" ({view.note})" if view.note else ""
    free = amount(view.free, view.unit)
    return _(
        "{item}: choice {choice} instead is {instead}, {free} free here, not judged at"
        " its place yet{note}",
        item=view.item,
        choice=view.choice,
        instead=view.instead,
        free=free,
        note=note,
    )


def barred(view: BarredView) -> str:
    """That an item takes no alternative, and where it sits."""
    system = general_text(view.system)
    return _("{item}: no alternative, it sits in {system}", item=view.item, system=system)


def parcel_sum(parcel: ParcelView | HandOrderView) -> str:
    """The cost of what comes together: "goods £10.00, carriage £5.00, together £15.00 …"."""
    note = f" ({say(parcel.carriage_note)})" if parcel.carriage_note else ""
    cores = _("; on top {cores} of cores, refunded for the old parts", cores=money(parcel.cores))
    own = parcel.own_total if isinstance(parcel, ParcelView) else None
    tax = tax_text(parcel.tax, (_("cores"),) if parcel.cores.minor else ())
    billed = "" if own is None else _(" ({own} to the supplier)", own=money(own))
    return _(
        "goods {goods}, carriage {carriage}{note}, together {total}{billed}, {tax}{value}",
        goods=money(parcel.goods),
        carriage=money(parcel.carriage),
        note=note,
        total=money(parcel.total),
        billed=billed,
        tax=tax,
        value=cores if parcel.cores.minor else "",
    )


def packs_or_pieces(line: BuyLineView | HandLineView) -> str:
    """How much of a line: pieces as they are, anything else in packs."""
    if line.pack == 1000 and line.unit == "each":
        return show_quantity(line.ordered, line.unit)
    return f"{line.packs} × {format_quantity(line.pack, line.unit)}"


def not_compared(left_out: Iterable[tuple[str, str]]) -> Iterator[str]:
    """Suppliers whose prices are in another currency: "Not compared: SLOW, priced in EUR"."""
    for supplier, currency in left_out:
        yield _(
            "Not compared: {supplier}, priced in {currency}", supplier=supplier, currency=currency
        )


def rates_stated(rates: Iterable[RateView]) -> Iterator[str]:
    """The rates that prices were converted by: "RATE AS STATED: 1 EUR is GBP 0.86, of …"."""
    for rate in rates:
        old = ""
        if rate.age > FRESH_DAYS:
            old = _(". IT IS {upper} OLD: ask for today's", upper=many(rate.age, "DAY").upper())
        yield (
            _(
                "RATE AS STATED: 1 {currency} is {rate} {into}, of {on}; it was not"
                " checked, and the bank's own rate and charges are not in it{old}",
                currency=rate.currency,
                rate=rate.rate,
                into=rate.into,
                on=day(rate.on),
                old=old,
            )
        )


def rates_not_used(currencies: Iterable[str]) -> Iterator[str]:
    """The stated rates by which nothing was converted: "RATE NOT USED: …"."""
    for currency in currencies:
        yield _("RATE NOT USED: no offer of what is lacking is in {currency}", currency=currency)


def tax_mixed(compared: Iterable[tuple[str, bool | None]]) -> Iterator[str]:
    """That prices with and without tax were compared as they stand; nothing where they agree."""
    words = {True: _("with tax"), False: _("without tax"), None: _("not stated")}
    if told := ", ".join(f"{supplier} {words[included]}" for supplier, included in compared):
        yield _(
            "PRICES COMPARED AS THEY STAND, though tax is not in all of them: {told}", told=told
        )


def packets_not_compared(view: OtherPacketsView) -> str:
    """ "KIT-1: the plan chose it; not compared: KIT-2, KIT-3"."""
    others = ", ".join(view.others)
    return _(
        "{item}: the plan chose this packet; others hold some of it, not compared: {others}",
        item=view.item,
        others=others,
    )


def sums(view: OrderView) -> list[tuple[str, Money]]:
    """What an order comes to, part by part; cores, what is lost or credited where there are any."""
    found = [(_("goods"), view.goods), (_("carriage"), view.carriage)]
    if view.cores.minor:
        found.append((_("cores, refunded for the old parts"), view.cores))
    if view.lost.minor:
        found.append((_("less what will not come"), view.lost))
    if view.credited is not None:
        found.append((_("less what was credited"), view.credited))
    if view.again is not None and view.again.minor:
        found.append((_("sent once more for what was credited"), view.again))
    return found


def tax_of_order(view: OrderView) -> str:
    """The tax of an order, and what of its total is not in that."""
    parts = (
        (_("cores"), view.cores.minor),
        (_("what was credited"), 0 if view.credited is None else view.credited.minor),
    )
    return tax_text(view.tax, [name for name, minor in parts if minor])


def discrepancies(line: OrderLineView) -> tuple[str, ...]:
    """What came that was of no use, or too much, and the supplier has not been told of."""
    damaged = max(0, line.damaged - line.told)
    found = (
        (damaged, _("damaged")),
        (line.wrong - max(0, line.told - line.damaged), _("another part")),
        (line.over, _("more than ordered, on hold")),
    )
    return tuple(f"{amount(quantity, line.unit)} {word}" for quantity, word in found if quantity)
