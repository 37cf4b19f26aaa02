"""Purchasing on the screen: what to buy, possible dates, orders."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Console

from kitting.actions import Action, next_step
from kitting.cli.actions import with_steps
from kitting.cli.render.tables import plain_table
from kitting.facts.units import format_quantity, show_quantity
from kitting.facts.words import DateState
from kitting.views.purchasing import (
    BuyLineView,
    DatesView,
    LackView,
    OpenDoubtView,
    OrderLineView,
    OrderView,
    ParcelView,
    PurchaseView,
)
from kitting.wording.bookings import booked_text
from kitting.wording.figures import many, money, percent
from kitting.wording.orders import (
    announced,
    claim_text,
    cutoff_there,
    order_standing,
    tax_text,
    time_left,
)
from kitting.wording.purchasing import (
    alternative,
    barred,
    closed_day,
    dates_are_of,
    discrepancies,
    lack,
    not_compared,
    open_doubt_text,
    packets_not_compared,
    packs_or_pieces,
    parcel_sum,
    reasons,
    sums,
    tax_mixed,
    transfer,
    van_coming,
)
from kitting.wording.reasons import say

_BAR = 20


def bar_of(chance: float) -> str:
    """A chance as a bar of twenty signs."""
    filled = round(chance * _BAR)
    return "█" * filled + "·" * (_BAR - filled)


def show_purchase(console: Console, view: PurchaseView) -> None:
    """What to order from whom, what presses first, and why."""
    bookings = ", ".join(view.bookings)
    _awaited(console, view)
    if view.total is None:
        _no_purchase(console, view, bookings)
        _not_fine(console, view.doubts)
        return
    total = money(view.total)
    of_these = " with the packets of the plan" if view.other_packets else ""
    if view.lacking:
        console.print(f"NOT ALL can be had for {bookings}{_one_day(view)}:", style="bold")
        for missing in view.lacking:
            console.print(f"  {_lack(missing)}")
        if view.would_do:
            console.print(f"  all of it can be had for {_for_another_day(view)}")
        console.print(f"The rest costs {total}, the least{of_these}, proven.")
    else:
        console.print(
            f"For {bookings}{_one_day(view)}: {total}, all in time with a chance of"
            f" {percent(view.chance)} ({view.asked:.0%} asked for)."
            f" The least cost{of_these}, proven.",
            style="bold",
        )
    _whole(console, view)
    for parcel in view.parcels:
        console.print()
        _parcel(console, parcel)
    others = [text[0].upper() + text[1:] for text in map(say, view.others)]
    for texts in (list(map(transfer, view.transfers)), _instead(view), others):
        if texts:
            console.print()
            console.print("\n".join(texts))
    _extras(console, view)
    for text in (*not_compared(view.left_out), *tax_mixed(view.tax_mixed)):
        console.print(text)
    _not_fine(console, view.doubts)
    if view.orders:
        console.print(f"Ordered: {', '.join(view.orders)}")


def _one_day(view: PurchaseView) -> str:
    """The day that all bookings are fitted on, if it is one."""
    return "" if len({one.fit_on for one in view.whole}) > 1 else f" on {view.fit_on}"


def _whole(console: Console, view: PurchaseView) -> None:
    """Each booking at its own date, if there are several dates."""
    if not _one_day(view):
        for one in view.whole:
            sure = percent(one.chance) if one.chance else "NOT IN TIME"
            console.print(
                f"  {one.booking} on {one.fit_on:%a %d %b}: everything here by"
                f" {one.by:%a %d %b}, {sure}"
            )


def _extras(console: Console, view: PurchaseView) -> None:
    """What would be worth taking along, beside the least purchase."""
    if view.extras is None:
        return
    parts = ", ".join(f"{packs} × {part} ({item})" for part, item, packs in view.extras.lines)
    costs = f"{money(view.extras.more)} {'less in all' if view.extras.saved else 'more'}"
    console.print(
        f"\nWorth taking along, not ordered unless you say --extras: {parts}, for {costs}. What is"
        f" left over would be worth {money(view.extras.worth)}, by what was used here last year."
    )


def _awaited(console: Console, view: PurchaseView) -> None:
    """What is on its way, and how surely it is here in time."""
    for one in view.awaited:
        late = ": TOO LATE to be relied on" if one.late else ""
        console.print(
            f"{one.order} is on its way, due {one.due}, late {one.due_late}: here in time"
            f" {percent(one.chance)}{late}"
        )
    for van in view.vans:
        console.print(van_coming(van))


def _lack(view: LackView) -> str:
    return with_steps(lack(view), view.why.then)


def _instead(view: PurchaseView) -> list[str]:
    return [
        *map(barred, view.barred),
        *map(alternative, view.alternatives),
        *map(packets_not_compared, view.other_packets),
    ]


def _no_purchase(console: Console, view: PurchaseView, bookings: str) -> None:
    """Nothing is short, or nothing comes in time: which line, and which date would do."""
    if view.chance:
        waiting = f" All of it is here in time with {percent(view.chance)}." if view.awaited else ""
        console.print(f"Nothing is short of {bookings}.{waiting}")
        return
    console.print(
        f"Nothing that can be bought makes {bookings} whole for {view.fit_on}"
        f" with a chance of {view.asked:.0%}.",
        style="bold",
    )
    for text in (*map(_lack, view.lacking), *map(transfer, view.transfers), *_instead(view)):
        console.print(f"  {text}")
    if view.best_chance:
        console.print(f"The best chance that can be had is {percent(view.best_chance)}.")
    if view.would_do:
        console.print(f"The first date that can be had with that chance: {_for_another_day(view)}")


def _for_another_day(view: PurchaseView) -> str:
    """The first date that can be had, and how it is bought for."""
    day = str(view.would_do)
    return with_steps(day, [next_step(Action.FOR_DATE, on=day)])


def _parcel(console: Console, parcel: ParcelView) -> None:
    left = time_left(parcel.minutes_left) + cutoff_there(parcel.there)
    console.print(
        f"{parcel.supplier_name}: order by {parcel.cutoff:%a %d %b %H:%M} (in {left})", style="bold"
    )
    slip = f"; missed, {many(parcel.slip, 'day')} later" if parcel.slip else ""
    console.print(
        f"  here {parcel.arrives:%a %d %b}, late {parcel.late:%a %d %b}, useful until"
        f" {parcel.latest_useful:%a %d %b}, in time {percent(parcel.chance)}{slip}"
    )
    table = plain_table(
        "", "part", "item", "order", "price", "total", "why", right=("price", "total")
    )
    for line in parcel.lines:
        table.add_row(
            "", line.part, line.item, packs_or_pieces(line), money(line.price), money(line.total),
            _why(line, parcel),
        )  # fmt: skip
    console.print(table)
    console.print(f"  {parcel_sum(parcel)}")


def _why(line: BuyLineView, parcel: ParcelView) -> str:
    texts = [reasons(line.why)]
    if (line.arrives, line.late) != (parcel.arrives, parcel.late):
        texts.append(f"here {line.arrives:%d %b}, late {line.late:%d %b}")
    if not line.returnable:
        texts.append("NO RETURN")
    if line.core:
        texts.append(f"core {money(line.core)}, refunded for the old part")
    return "; ".join(texts)


_REACHED = (DateState.SAFE, DateState.NOT_PROVEN)


def _earliest(view: DatesView) -> str:
    return "the earliest date with all parts" if view.doubts else "the earliest safe date"


def _not_fine(console: Console, doubts: Sequence[OpenDoubtView]) -> None:
    """What is not fine even when everything is there."""
    if doubts:
        console.print("\nNOT FINE, whatever is bought:", style="bold")
    for one in doubts:
        console.print(f"  {open_doubt_text(one)}")


def show_dates(console: Console, view: DatesView) -> None:
    """Each possible date with a bar of its chance."""
    console.print(
        f"{dates_are_of(view)}, as of {view.now:%a %d %b %Y %H:%M}: chance that all is there"
        " and checked",
        style="bold",
    )
    table = plain_table("date", "chance", "", "kit", "", right=("chance", "kit"))
    for day in view.dates:
        mark = day.state.upper() if day.state in _REACHED else day.state.value
        first = f"  ← {_earliest(view)}" if day.on == view.earliest else ""
        cost = "" if day.cost is None else money(day.cost)
        table.add_row(
            f"{day.on:%a %d %b}", percent(day.chance), bar_of(day.chance), cost, f"{mark}{first}"
        )
    console.print(table)
    for booked in view.booked:
        console.print(booked_text(booked))
    _not_fine(console, view.doubts)
    for missing in view.nobody_offers:
        console.print(f"NOT COUNTING {_lack(missing)}")
    for text in not_compared(view.left_out):
        console.print(text)
    for closed in view.closed:
        console.print(f"closed: {closed_day(closed)}")
    for order in view.order_by:
        console.print(
            f"{order.supplier}: order by {order.safe:%a %d %b %H:%M} to be safe,"
            f" by {order.usual:%a %d %b %H:%M} at the latest"
        )
    if view.earliest is None and not view.nobody_offers:
        console.print(f"No date within reach has a chance of {view.asked:.0%}.")


def show_orders(
    console: Console, orders: Sequence[OrderView], *, every: bool = True, left_out: int = 0
) -> None:
    """Orders in a list; `every` where nothing was asked for, `left_out` that are not open."""
    table = plain_table("order", "supplier", "branch", "placed", "due", "late", "state", "total")
    for order in orders:
        table.add_row(
            order.number, order.supplier_name, order.branch, f"{order.placed_at:%Y-%m-%d %H:%M}",
            str(order.due), str(order.due_late), order_standing(order), money(order.total),
        )  # fmt: skip
    console.print(table)
    if not orders:
        nothing = "No order is open." if left_out else "Nothing is ordered."
        console.print(
            nothing
            if every
            else "No open order is like that."
            if left_out
            else "No order is like that."
        )
    if left_out:
        console.print(f"{left_out} complete or cancelled not shown. See them: --all")


def show_order(console: Console, view: OrderView) -> None:
    """An order line by line."""
    console.print(
        f"{view.number} {view.supplier_name} for {view.branch}, placed"
        f" {view.placed_at:%Y-%m-%d %H:%M}: {order_standing(view)}, due {view.due},"
        f" late {view.due_late}",
        style="bold",
    )
    if view.bill:
        console.print(f"bought over the counter, receipt {view.bill}")
    table = plain_table("part", "item", "ordered", "here", "lost", "waited for by", "total")
    for line in view.lines:
        table.add_row(
            line.part, line.item,
            *(show_quantity(n, line.unit) for n in (line.ordered, line.received, line.lost)),
            ", ".join(line.promised), money(line.total),
        )  # fmt: skip
    console.print(table)
    parts = ", ".join(f"{name} {money(some)}" for name, some in sums(view))
    console.print(f"{parts}, together {money(view.total)}, {tax_text(view.tax)}")
    for claim in view.claims:
        console.print(claim_text(claim))
    for line in view.lines:
        _show_since(console, view, line)


def _show_since(console: Console, view: OrderView, line: OrderLineView) -> None:
    """What happened to a line since it was ordered, and what is to be told to the supplier."""
    if line.coming and (line.due, line.due_late) != (view.due, view.due_late):
        console.print(f"{line.item}: due {line.due}, late {line.due_late}")
    told = discrepancies(line)
    for text in told:
        console.print(f"TELL THE SUPPLIER {line.item}: {text}")
    if told and line.lost:
        lost = format_quantity(line.lost, line.unit) + (" each" if line.unit == "each" else "")
        again = next_step(Action.ANNOUNCE, order=view.number, item=line.item, quantity=lost)
        text = f"{line.item} is LACKING until the supplier sends it once more"
        console.print(with_steps(text, [again]))
    for other in line.substitutes:
        console.print(
            f"SUBSTITUTE {line.item}: {show_quantity(other.quantity, line.unit)} came as"
            f" {other.item}"
        )
    for notice in line.notices:
        console.print(f"ANNOUNCED {line.item}: {announced(notice, line.unit)}")
    if line.core:
        core = money(line.core)
        console.print(f"CORE {line.item}: {core} comes back for the old part; ask by when")
