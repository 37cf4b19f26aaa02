"""Stock on the screen: lots, recalls, goods between branches."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Console

from kitting.actions import Action, next_step
from kitting.cli.actions import command
from kitting.cli.render import headings
from kitting.cli.render.tables import plain_table
from kitting.facts.units import format_quantity, show_quantity
from kitting.facts.words import LotState
from kitting.services.stock.stock_lists import StockReport
from kitting.views.low_stock import LowStockView
from kitting.views.stock import (
    ArrivedView,
    ExtendedView,
    HeldLotView,
    HoldEventView,
    HoldView,
    LotView,
    MissingView,
    OnTheWayView,
    RecallView,
)
from kitting.wording.figures import many
from kitting.wording.reasons import say
from kitting.wording.stock import EXTENSION_WARNING, no_level_texts


def show_stock(console: Console, lots: Sequence[LotView]) -> None:
    """Every lot with what is free and how long it keeps."""
    table = plain_table(
        headings.BRANCH,
        headings.ITEM,
        headings.LOT,
        headings.BIN,
        headings.THERE,
        headings.PROMISED,
        headings.FREE,
        headings.KEEPS_TO,
        headings.WHY,
    )
    for lot in lots:
        state = "" if lot.state is LotState.GOOD else f"{lot.state.upper()} "
        keeps = str(lot.keeps_to) if lot.keeps_to else ""
        seen = f"; seen: {lot.inspection}" if lot.inspection else ""
        theirs = f"CUSTOMER'S OWN, {lot.customer_of}; " if lot.customer_of else ""
        table.add_row(
            lot.branch, lot.item, lot.lot, lot.bin,
            *(show_quantity(n, lot.unit) for n in (lot.on_hand, lot.promised, lot.free)),
            keeps, f"{theirs}{state}{lot.on_hold or say(lot.keeps_why)}{seen}",
        )  # fmt: skip
    console.print(table)
    if not lots:
        console.print("Nothing lies there.")


def show_low(console: Console, view: LowStockView) -> None:
    """What is below its level, and what has none."""
    table = plain_table(
        headings.BRANCH,
        headings.ITEM,
        headings.LEVEL,
        headings.FREE,
        headings.ON_THE_WAY,
        headings.MISSING,
        headings.BARE,
    )
    for line in view.lines:
        amounts = (line.level, line.free, line.coming, line.missing)
        notes = [
            f"{show_quantity(amount, line.unit)} {why} not counted"
            for amount, why in (
                (line.age_unknown, "of unknown age"), (line.overdue, "on order and OVERDUE"),
            )
            if amount
        ]  # fmt: skip
        table.add_row(
            line.branch, line.item, *(show_quantity(n, line.unit) for n in amounts),
            "; ".join(notes),
        )  # fmt: skip
    console.print(table)
    if not view.lines:
        console.print("Nothing that has a level is below it.")
    for one in view.no_levels:
        for text in no_level_texts(one, view.days):
            console.print(text)


def show_hold(console: Console, view: HoldView, done: str) -> None:
    """A lot that was put on hold or released: what goes with it, and what is on the way."""
    console.print(done)
    if view.others:
        console.print(f"  with it     {', '.join(_held_with(one) for one in view.others)}")
    for going in view.on_the_way:
        amount = format_quantity(going.quantity, view.unit)
        console.print(f"  on the way  {amount} to {going.to}: it arrives as {view.lot} stands then")


def _held_with(one: HeldLotView) -> str:
    return f"{one.branch} {one.lot}" + (f" (on hold: {one.on_hold})" if one.on_hold else "")


def show_missing(console: Console, view: MissingView, item: str) -> None:
    """A lot after a count or scrap, and the bookings that are short for it."""
    left = format_quantity(view.balance, view.unit)
    console.print(f"{item} {view.lot}: {view.difference / 1000:+g}, {left} left")
    for given in view.given_up:
        amount = format_quantity(given.quantity, view.unit)
        console.print(
            f"  {given.booking} {given.vehicle} on {given.fit_on} gave up {amount}: it is SHORT."
            f" Next: {command(next_step(Action.PROMISE, booking=given.booking))}"
        )


def show_extended(console: Console, view: ExtendedView) -> None:
    """An inspection: the old and the new limit, what still hinders, and whose matter it is."""
    console.print(
        f"{view.item} {view.lot} in {view.branch}: inspected {view.inspected_on}:"
        f" {view.inspection}",
        style="bold",
    )
    console.print(f"  kept to  {view.before}: {say(view.before_why)}")
    console.print(f"  keeps to {view.after}: {say(view.after_why)}")
    for reason in view.still:
        console.print(f"  STILL {say(reason)}")
    console.print(EXTENSION_WARNING)


def show_on_the_way(console: Console, going: Sequence[OnTheWayView]) -> None:
    """Goods between branches."""
    table = plain_table(
        headings.TRANSFER,
        headings.ITEM,
        headings.LOT,
        headings.AMOUNT,
        headings.FROM,
        headings.TO,
        headings.DUE,
    )
    for one in going:
        amount, due = show_quantity(one.quantity, one.unit), str(one.due or "UNKNOWN")
        table.add_row(str(one.number), one.item, one.lot, amount, one.source, one.to, due)
    console.print(table)
    if not going:
        console.print("Nothing is on the way.")


def show_arrived(console: Console, view: ArrivedView) -> None:
    """That a transfer arrived, and what to write on it where its code is another now."""
    console.print(f"transfer {view.number}: arrived")
    if view.batch is not None:
        console.print(f"  {view.item} lies here as lot {view.lot} (of {view.batch}): label it so")
    if view.on_hold is not None:
        console.print(f"  {view.item} {view.lot} is ON HOLD: {view.on_hold}")


def show_recall(console: Console, view: RecallView) -> None:
    """Where everything of a lot is."""
    console.print(f"LOT {view.lot} of {', '.join(view.items)}", style="bold")
    for lot in view.shelves:
        amount = format_quantity(lot.on_hand, view.unit)
        place = f" in {lot.bin}" if lot.bin else ""
        state = lot.state if lot.on_hold is None else f"ON HOLD: {lot.on_hold}"
        inspected = f"; inspected {lot.inspected_on}: {lot.inspection}" if lot.inspected_on else ""
        code = "" if lot.lot == view.lot else f" of {lot.lot}"
        console.print(f"  on the shelf  {lot.branch}{place}: {amount}{code} ({state}{inspected})")
    if view.on_the_way:
        console.print(f"  on the way    {format_quantity(view.on_the_way, view.unit)}")
    for booking in view.bookings:
        parts = [
            f"{format_quantity(amount, view.unit)} {word}"
            for amount, word in (
                (booking.waiting, "promised"),
                (booking.picked - booking.used, "in the kit"),
                (booking.used, "fitted"),
                (booking.lost, "lost from the kit"),
            )
            if amount
        ]
        amounts = ", ".join(parts) or "nothing any more"
        console.print(
            f"  {booking.state.ljust(13)} {booking.booking} {booking.vehicle}"
            f" on {booking.fit_on}: {amounts}"
        )
    console.print()
    for event in view.holds:
        console.print(f"  {_hold_event(event)}")
    if view.holds:
        console.print()
    several = any(move.lot != view.lot for move in view.movements)
    of_lot = (headings.LOT,) if several else ()
    table = plain_table(
        headings.AT,
        *of_lot,
        headings.WHAT,
        headings.AMOUNT,
        headings.LEFT,
        headings.BOOKING,
        headings.REMARK,
    )
    for move in view.movements:
        sign = "+" if move.quantity > 0 else "−"
        moved = f"{sign}{format_quantity(abs(move.quantity), view.unit)}"
        left = format_quantity(move.balance, view.unit)
        at = f"{move.at:%Y-%m-%d %H:%M}"
        table.add_row(
            at, *([move.lot] if several else ()), move.kind, moved, left, move.booking, move.note
        )
    console.print(table)


def _hold_event(event: HoldEventView) -> str:
    """When a lot was put on hold or released, where, why and by whom."""
    what = "on hold" if event.held else "released"
    of = f" {event.lot}" if event.lot else ""
    place = f" in {event.branch}" if event.branch else ""
    told = event.reason if event.held else event.why
    was = "" if event.held else f" (was: {event.reason})"
    by = f" ({event.told_by})" if event.told_by else ""
    return f"{event.at:%Y-%m-%d %H:%M} {what}{of}{place}{was}" + (f": {told}" if told else "") + by


def loaded_text(report: StockReport) -> str:
    """What a stock list changed: "6 lots: 1 new, 2 counted anew, 3 as before, 1 hold made"."""
    counts = f"{report.new} new, {report.counted} counted anew, {report.same} as before"
    held = f", {many(report.held, 'hold')} made" if report.held else ""
    return f"{report.lots} lots: {counts}{held}"


def stay_held_text(count: int) -> str:
    """That so many lots of a list are on hold though it does not say so."""
    lots = "1 lot of it is" if count == 1 else f"{count} lots of it are"
    return f"{lots} on hold for what the list does not say: no list ends a hold"
