"""Supply on the screen: stock, recalls, bookings, purchases, dates, orders."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Console
from rich.table import Table

from kitting.facts.units import format_quantity, show_quantity
from kitting.views.kit import RemovalView
from kitting.views.supply import (
    BookingLine,
    BookingView,
    DatesView,
    ExtendedView,
    LotView,
    NeededView,
    OnTheWayView,
    OrderView,
    ParcelView,
    PurchaseView,
    RecallView,
    VanView,
)

_BAR = 20


def plain_table(*headings: str, right: Sequence[str] = ()) -> Table:
    """A table without lines; long words fold."""
    table = Table(box=None, pad_edge=False, header_style="bold", padding=(0, 2, 0, 0))
    for heading in headings:
        table.add_column(heading, overflow="fold", justify="right" if heading in right else "left")
    return table


def show_stock(console: Console, lots: Sequence[LotView]) -> None:
    """Every lot with what is free and how long it keeps."""
    table = plain_table(
        "branch", "item", "lot", "bin", "there", "promised", "free", "keeps to", "why"
    )
    for lot in lots:
        state = "" if lot.state == "good" else f"{lot.state.upper()} "
        keeps = str(lot.keeps_to) if lot.keeps_to else ""
        seen = f"; seen: {lot.seen}" if lot.seen else ""
        table.add_row(
            lot.branch, lot.item, lot.lot, lot.bin,
            *(show_quantity(n, lot.unit) for n in (lot.on_hand, lot.promised, lot.free)),
            keeps, f"{state}{lot.held or lot.keeps_why}{seen}",
        )  # fmt: skip
    console.print(table)
    if not lots:
        console.print("Nothing lies there.")


def show_extended(console: Console, view: ExtendedView) -> None:
    """A look: the old and the new limit, what still hinders, and whose matter it is."""
    console.print(
        f"{view.item} {view.lot} in {view.branch}: looked over {view.looked_over}: {view.seen}",
        style="bold",
    )
    console.print(f"  kept to  {view.before}: {view.before_why}")
    console.print(f"  keeps to {view.after}: {view.after_why}")
    for text in view.still:
        console.print(f"  STILL {text}")
    console.print(view.warning)


def show_on_the_way(console: Console, going: Sequence[OnTheWayView]) -> None:
    """Goods between branches."""
    table = plain_table("transfer", "item", "lot", "amount", "from", "to", "due")
    for one in going:
        amount = show_quantity(one.quantity, one.unit)
        table.add_row(str(one.number), one.item, one.lot, amount, one.source, one.to, str(one.due))
    console.print(table)
    if not going:
        console.print("Nothing is on the way.")


def show_recall(console: Console, view: RecallView) -> None:
    """Where everything of a lot is."""
    console.print(f"LOT {view.lot} of {', '.join(view.items)}", style="bold")
    for lot in view.shelves:
        amount = format_quantity(lot.on_hand, view.unit)
        place = f" in {lot.bin}" if lot.bin else ""
        look = f"; looked over {lot.looked_over}: {lot.seen}" if lot.looked_over else ""
        console.print(f"  on the shelf  {lot.branch}{place}: {amount} ({lot.state}{look})")
    if view.on_the_way:
        console.print(f"  on the way    {format_quantity(view.on_the_way, view.unit)}")
    for booking in view.bookings:
        parts = [
            f"{format_quantity(amount, view.unit)} {word}"
            for amount, word in (
                (booking.waiting, "promised"),
                (booking.picked - booking.used, "in the kit"),
                (booking.used, "fitted"),
            )
            if amount
        ]
        told = ", ".join(parts) or "nothing any more"
        console.print(
            f"  {booking.state.ljust(13)} {booking.booking} {booking.vehicle}"
            f" on {booking.fit_on}: {told}"
        )
    console.print()
    table = plain_table(
        "at", "what", "amount", "left", "booking", "remark", right=("amount", "left")
    )
    for move in view.movements:
        sign = "+" if move.quantity > 0 else "−"
        moved = f"{sign}{format_quantity(abs(move.quantity), view.unit)}"
        left = format_quantity(move.balance, view.unit)
        at = f"{move.at:%Y-%m-%d %H:%M}"
        table.add_row(at, move.kind, moved, left, move.booking, move.note)
    console.print(table)


def show_bookings(console: Console, bookings: Sequence[BookingLine]) -> None:
    """Bookings by date."""
    table = plain_table("booking", "branch", "car", "jobs", "date", "state", "short")
    for row in bookings:
        short = f"{row.short} line{'s' * (row.short != 1)}" if row.short else ""
        jobs = ", ".join(row.jobs)
        table.add_row(
            row.number, row.branch, row.registration, jobs, str(row.fit_on), row.state, short
        )
    console.print(table)
    if not bookings:
        console.print("No booking is open.")


def show_booking(console: Console, view: BookingView) -> None:
    """A booking: what lacks first, then what covers each line."""
    jobs = ", ".join(view.jobs)
    console.print(
        f"{view.number} {view.registration} {view.vehicle}: {jobs} on {view.fit_on}"
        f" at {view.branch}, {view.state}",
        style="bold",
    )
    if view.override:
        console.print(f"Confirmed incomplete: {view.override}")
    if view.state in ("closed", "cancelled"):
        return
    console.print("READY: everything that has to be there is there." if view.ready else "NOT READY")
    for state, heading in (("short", "SHORT"), ("coming", "COMING"), ("here", "HERE")):
        needs = [need for need in view.needs if _state(need) == state]
        if needs:
            console.print()
            console.print(heading, style="bold")
            _needs(console, needs)


def _state(need: NeededView) -> str:
    if need.short:
        return "short"
    return "coming" if need.coming else "here"


def _needs(console: Console, needs: Sequence[NeededView]) -> None:
    table = plain_table("item", "rule", "need", "from", "elsewhere")
    for need in needs:
        sources = []
        for source in need.sources:
            picked = ", in the kit" if source.picked else ""
            due = f", due {source.due}" if source.due else ""
            keeps = f", keeps to {source.keeps_to}" if source.keeps_to else ""
            amount = show_quantity(source.quantity, need.unit)
            sources.append(f"{amount} {source.source}{picked}{due}{keeps}")
            if source.warning:
                sources.append(source.warning)
        if need.short:
            sources.append(f"{show_quantity(need.short, need.unit)} SHORT")
        rule = "spare" if need.rule == "inspect" else need.rule
        name = f"{need.item}\n{need.note}" if need.note else need.item
        wanted = show_quantity(need.needed, need.unit)
        table.add_row(name, rule, wanted, "\n".join(sources), "\n".join(need.elsewhere))
    console.print(table)


def percent(chance: float) -> str:
    """A chance to one decimal; what is not certain never reads 100 %."""
    return ">99.9%" if 0.9995 <= chance < 1 else f"{chance:.1%}"


def show_purchase(console: Console, view: PurchaseView) -> None:
    """What to order from whom, what presses first, and why."""
    bookings = ", ".join(view.bookings)
    if view.total is None:
        _no_purchase(console, view, bookings)
        return
    if view.lacking:
        console.print(f"NOT ALL can be had for {bookings} on {view.fit_on}:", style="bold")
        for text in view.lacking:
            console.print(f"  {text}")
        if view.would_do:
            console.print(f"  all of it can be had for {view.would_do}")
        console.print(f"The rest costs {view.total}, the least, proven.")
    else:
        console.print(
            f"For {bookings} on {view.fit_on}: {view.total}, all in time with a chance of"
            f" {percent(view.chance)} ({view.asked:.0%} asked for). The least cost, proven.",
            style="bold",
        )
    if len(view.bookings) > 1:
        console.print(f"(all judged at the first of their dates, {view.fit_on}; see --on)")
    for parcel in view.parcels:
        console.print()
        _parcel(console, parcel)
    others = [text[0].upper() + text[1:] for text in view.others]
    for texts in (view.transfers, view.alternatives, others):
        if texts:
            console.print()
            console.print("\n".join(texts))
    if view.orders:
        console.print(f"Ordered: {', '.join(view.orders)}")


def _no_purchase(console: Console, view: PurchaseView, bookings: str) -> None:
    """Nothing is short, or nothing comes in time: which line, and which date would do."""
    if view.chance:
        console.print(f"Nothing is short of {bookings}.")
        return
    console.print(
        f"Nothing that can be bought makes {bookings} whole for {view.fit_on}"
        f" with a chance of {view.asked:.0%}.",
        style="bold",
    )
    for text in (*view.lacking, *view.transfers, *view.alternatives):
        console.print(f"  {text}")
    if view.best_chance:
        console.print(f"The best chance that can be had is {percent(view.best_chance)}.")
    if view.would_do:
        console.print(f"The first date that can be had with that chance: {view.would_do}")


def _parcel(console: Console, parcel: ParcelView) -> None:
    hours, minutes = divmod(parcel.minutes_left, 60)
    days, hours = divmod(hours, 24)
    left = f"{days} d {hours} h" if days else f"{hours} h {minutes:02d} min"
    console.print(
        f"{parcel.supplier_name}: order by {parcel.cutoff:%a %d %b %H:%M} (in {left})", style="bold"
    )
    slip = f"; missed, {parcel.slip} day{'s' * (parcel.slip != 1)} later" if parcel.slip else ""
    console.print(
        f"  here {parcel.arrives:%a %d %b}, late {parcel.late:%a %d %b}, useful until"
        f" {parcel.latest_useful:%a %d %b}, in time {percent(parcel.chance)}{slip}"
    )
    table = plain_table(
        "", "part", "item", "order", "price", "total", "why", right=("price", "total")
    )
    for line in parcel.lines:
        order = show_quantity(line.ordered, line.unit)
        if line.pack != 1000 or line.unit != "each":
            pack = format_quantity(line.pack, line.unit)
            order = f"{line.packs} × {pack}"
        marks = [line.why]
        if not line.returnable:
            marks.append("NO RETURN")
        if line.core:
            marks.append(f"core {line.core}, refunded for the old part")
        table.add_row("", line.part, line.item, order, line.price, line.total, "; ".join(marks))
    console.print(table)
    note = f" ({parcel.carriage_note})" if parcel.carriage_note else ""
    console.print(
        f"  goods {parcel.goods}, carriage {parcel.carriage}{note}, together {parcel.total}"
    )


def show_dates(console: Console, view: DatesView) -> None:
    """Each possible date with a bar of its chance."""
    console.print(
        f"{', '.join(view.bookings)}, as of {view.now:%a %d %b %Y %H:%M}: chance that all is there"
        " and checked",
        style="bold",
    )
    table = plain_table("date", "chance", "", "kit", "", right=("chance", "kit"))
    for day in view.dates:
        filled = round(day.chance * _BAR)
        bar = "█" * filled + "·" * (_BAR - filled)
        mark = "SAFE" if day.state == "safe" else day.state
        first = "  ← the earliest safe date" if day.on == view.earliest else ""
        table.add_row(
            f"{day.on:%a %d %b}", percent(day.chance), bar, day.cost or "", f"{mark}{first}"
        )
    console.print(table)
    for text in view.nobody_offers:
        console.print(f"NOT COUNTING {text}: nobody offers it; load a price list that has it")
    for text in view.closed:
        console.print(f"closed: {text}")
    for order in view.order_by:
        console.print(
            f"{order.supplier}: order by {order.safe:%a %d %b %H:%M} to be safe,"
            f" by {order.usual:%a %d %b %H:%M} at the latest"
        )
    if view.earliest is None and not view.nobody_offers:
        console.print(f"No date within reach has a chance of {view.asked:.0%}.")


def show_orders(console: Console, orders: Sequence[OrderView]) -> None:
    """Orders in a list."""
    table = plain_table("order", "supplier", "branch", "placed", "due", "late", "state", "total")
    for order in orders:
        table.add_row(
            order.number, order.supplier_name, order.branch, f"{order.placed_at:%Y-%m-%d %H:%M}",
            str(order.due), str(order.due_late), order.state, order.total,
        )  # fmt: skip
    console.print(table)
    if not orders:
        console.print("Nothing is ordered.")


def show_order(console: Console, view: OrderView) -> None:
    """An order line by line."""
    console.print(
        f"{view.number} {view.supplier_name} for {view.branch}, placed"
        f" {view.placed_at:%Y-%m-%d %H:%M}: {view.state}, due {view.due}, late {view.due_late}",
        style="bold",
    )
    table = plain_table("part", "item", "ordered", "here", "lost", "waited for by", "total")
    for line in view.lines:
        table.add_row(
            line.part, line.item,
            *(show_quantity(n, line.unit) for n in (line.ordered, line.received, line.lost)),
            ", ".join(line.promised), line.total,
        )  # fmt: skip
    console.print(table)
    console.print(f"goods {view.goods}, carriage {view.carriage}, together {view.total}")
    for line in view.lines:
        for text in line.told:
            console.print(f"TELL THE SUPPLIER {line.item}: {text}")
        if line.core:
            console.print(f"CORE {line.item}: {line.core} comes back for the old part; ask by when")


def show_removal(console: Console, view: RemovalView) -> None:
    """Old seals joint by joint: expected and counted."""
    console.print(f"{view.booking} {view.vehicle}: old seals out", style="bold")
    table = plain_table(
        "bag", "joint", "expected", "counted", "positions", right=("expected", "counted")
    )
    for joint in view.joints:
        counted = "" if joint.counted is None else str(joint.counted)
        positions = ", ".join(joint.positions)
        table.add_row(str(joint.bag), joint.joint, str(joint.expected), counted, positions)
    console.print(table)
    for text in view.withheld:
        console.print(f"REFIT WITHHELD: {text}", style="bold")


def show_van(console: Console, view: VanView) -> None:
    """A van's day."""
    count = len(view.stops)
    console.print(f"{view.branch} on {view.on}: {count} stop{'s' * (count != 1)}", style="bold")
    for stop in view.stops:
        console.print(
            f"  {stop.booking} {stop.registration} {stop.vehicle}: {', '.join(stop.jobs)},"
            f" {stop.state}"
        )
        for text in stop.lacking:
            console.print(f"    LACKS {text}")
    if view.load:
        console.print()
        table = plain_table("load", "item", "for")
        for line in view.load:
            stops = ", ".join(line.stops)
            table.add_row(
                show_quantity(line.quantity, line.unit), f"{line.item} {line.name}", stops
            )
        console.print(table)
    for title, texts in (("TOOL MISSING", view.tools), ("NOT TOLD OF", view.untold)):
        for text in texts:
            console.print(f"{title}: {text}")
