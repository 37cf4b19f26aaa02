"""Stock on the screen: lots, recalls, goods between branches."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Console

from kitting.actions import Action, next_step
from kitting.cli.actions import command
from kitting.cli.render import headings
from kitting.cli.render.amounts import exact, rounded
from kitting.cli.render.days import day_text, moment
from kitting.cli.render.tables import plain_table
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
from kitting.wording.language import N_, _, in_figures, n_, word_text
from kitting.wording.reasons import say
from kitting.wording.stock import EXTENSION_WARNING, no_level_texts

_PROMISED, _IN_THE_KIT = N_("{amount} promised"), N_("{amount} in the kit")
_FITTED, _LOST = N_("{amount} fitted"), N_("{amount} lost from the kit")


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
        state = "" if lot.state is LotState.GOOD else f"{word_text(lot.state).upper()} "
        keeps = day_text(lot.keeps_to) if lot.keeps_to else ""
        seen = _("; seen: {inspection}", inspection=lot.inspection) if lot.inspection else ""
        theirs = (
            _("CUSTOMER'S OWN, {customer_of}; ", customer_of=lot.customer_of)
            if lot.customer_of
            else ""
        )
        table.add_row(
            lot.branch, lot.item, lot.lot, lot.bin,
            *(rounded(n, lot.unit) for n in (lot.on_hand, lot.promised, lot.free)),
            keeps, f"{theirs}{state}{lot.on_hold or say(lot.keeps_why)}{seen}",
        )  # fmt: skip
    console.print(table)
    if not lots:
        console.print(_("Nothing lies there."))


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
            _("{amount} {why} not counted", amount=rounded(amount, line.unit), why=why)
            for amount, why in (
                (line.age_unknown, _("of unknown age")), (line.overdue, _("on order and OVERDUE")),
            )
            if amount
        ]  # fmt: skip
        table.add_row(
            line.branch, line.item, *(rounded(n, line.unit) for n in amounts),
            "; ".join(notes),
        )  # fmt: skip
    console.print(table)
    if not view.lines:
        console.print(_("Nothing that has a level is below it."))
    for one in view.no_levels:
        for text in no_level_texts(one, view.days):
            console.print(text)


def show_hold(console: Console, view: HoldView, done: str) -> None:
    """A lot that was put on hold or released: what goes with it, and what is on the way."""
    console.print(done)
    if view.others:
        console.print(
            "  "
            + _("with it     {others}", others=", ".join(_held_with(one) for one in view.others))
        )
    for going in view.on_the_way:
        amount = exact(going.quantity, view.unit)
        console.print(
            "  "
            + _(
                "on the way  {amount} to {to}: it arrives as {lot} stands then",
                amount=amount,
                to=going.to,
                lot=view.lot,
            )
        )


def _held_with(one: HeldLotView) -> str:
    return f"{one.branch} {one.lot}" + (
        " " + _("(on hold: {on_hold})", on_hold=one.on_hold) if one.on_hold else ""
    )


def show_missing(console: Console, view: MissingView, item: str) -> None:
    """A lot after a count or scrap, and the bookings that are short for it."""
    left = exact(view.balance, view.unit)
    console.print(
        _(
            "{item} {lot}: {difference}, {left} left",
            item=item,
            lot=view.lot,
            difference=in_figures(f"{view.difference / 1000:+g}"),
            left=left,
        )
    )
    for given in view.given_up:
        amount = exact(given.quantity, view.unit)
        console.print(
            "  "
            + _(
                "{booking} {vehicle} on {fit_on} gave up {amount}: it is SHORT. Next: {command}",
                booking=given.booking,
                vehicle=given.vehicle,
                fit_on=day_text(given.fit_on),
                amount=amount,
                command=command(next_step(Action.PROMISE, booking=given.booking)),
            )
        )


def show_extended(console: Console, view: ExtendedView) -> None:
    """An inspection: the old and the new limit, what still hinders, and whose matter it is."""
    console.print(
        _(
            "{item} {lot} in {branch}: inspected {inspected_on}: {inspection}",
            item=view.item,
            lot=view.lot,
            branch=view.branch,
            inspected_on=day_text(view.inspected_on),
            inspection=view.inspection,
        ),
        style="bold",
    )
    console.print(
        "  "
        + _("kept to  {before}: {before_why}", before=view.before, before_why=say(view.before_why))
    )
    console.print(
        "  " + _("keeps to {after}: {after_why}", after=view.after, after_why=say(view.after_why))
    )
    for reason in view.still:
        console.print("  " + _("STILL {reason}", reason=say(reason)))
    console.print(_(EXTENSION_WARNING))


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
        amount, due = rounded(one.quantity, one.unit), str(one.due or "UNKNOWN")
        table.add_row(str(one.number), one.item, one.lot, amount, one.source, one.to, due)
    console.print(table)
    if not going:
        console.print(_("Nothing is on the way."))


def show_arrived(console: Console, view: ArrivedView) -> None:
    """That a transfer arrived, and what to write on it where its code is another now."""
    console.print(_("transfer {number}: arrived", number=view.number))
    if view.batch is not None:
        console.print(
            "  "
            + _(
                "{item} lies here as lot {lot} (of {batch}): label it so",
                item=view.item,
                lot=view.lot,
                batch=view.batch,
            )
        )
    if view.on_hold is not None:
        console.print(
            "  "
            + _(
                "{item} {lot} is ON HOLD: {on_hold}",
                item=view.item,
                lot=view.lot,
                on_hold=view.on_hold,
            )
        )


def show_recall(console: Console, view: RecallView) -> None:
    """Where everything of a lot is."""
    console.print(
        _("LOT {lot} of {items}", lot=view.lot, items=", ".join(view.items)), style="bold"
    )
    for lot in view.shelves:
        amount = exact(lot.on_hand, view.unit)
        place = " " + _("in {bin}", bin=lot.bin) if lot.bin else ""
        state = lot.state if lot.on_hold is None else _("ON HOLD: {on_hold}", on_hold=lot.on_hold)
        inspected = (
            _(
                "; inspected {inspected_on}: {inspection}",
                inspected_on=day_text(lot.inspected_on),
                inspection=lot.inspection,
            )
            if lot.inspected_on
            else ""
        )
        code = "" if lot.lot == view.lot else " " + _("of {lot}", lot=lot.lot)
        console.print(
            "  "
            + _(
                "on the shelf  {branch}{place}: {amount}{code} ({state}{inspected})",
                branch=lot.branch,
                place=place,
                amount=amount,
                code=code,
                state=state,
                inspected=inspected,
            )
        )
    if view.on_the_way:
        console.print(
            "  " + _("on the way    {on_the_way}", on_the_way=exact(view.on_the_way, view.unit))
        )
    for booking in view.bookings:
        parts = [
            _(text, amount=exact(amount, view.unit))
            for amount, text in (
                (booking.waiting, _PROMISED),
                (booking.picked - booking.used, _IN_THE_KIT),
                (booking.used, _FITTED),
                (booking.lost, _LOST),
            )
            if amount
        ]
        amounts = ", ".join(parts) or _("nothing any more")
        console.print(
            "  "
            + _(
                "{state} {booking} {vehicle} on {fit_on}: {amounts}",
                state=booking.state.ljust(13),
                booking=booking.booking,
                vehicle=booking.vehicle,
                fit_on=day_text(booking.fit_on),
                amounts=amounts,
            )
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
        moved = f"{sign}{exact(abs(move.quantity), view.unit)}"
        left = exact(move.balance, view.unit)
        at = moment(move.at)
        table.add_row(
            at, *([move.lot] if several else ()), move.kind, moved, left, move.booking, move.note
        )
    console.print(table)


def _hold_event(event: HoldEventView) -> str:
    """When a lot was put on hold or released, where, why and by whom."""
    what = _("on hold") if event.held else _("released")
    parts = [moment(event.at), what, *([event.lot] if event.lot else [])]
    if event.branch:
        parts.append(_("in {branch}", branch=event.branch))
    if not event.held:
        parts.append(_("(was: {reason})", reason=event.reason))
    told = event.reason if event.held else event.why
    text = " ".join(parts) + (f": {told}" if told else "")
    return f"{text} ({event.told_by})" if event.told_by else text


def loaded_text(report: StockReport) -> str:
    """What a stock list changed: "6 lots: 1 new, 2 counted anew, 3 as before, 1 hold made"."""
    told = [
        _("{count} new", count=report.new),
        _("{count} counted anew", count=report.counted),
        _("{count} as before", count=report.same),
    ]
    if report.held:
        told.append(n_("{count} hold made", "{count} holds made", report.held))
    return n_("{count} lots: {told}", "{count} lots: {told}", report.lots, told=", ".join(told))


def stay_held_text(count: int) -> str:
    """That so many lots of a list are on hold though it does not say so."""
    return n_(
        "{count} lot of it is on hold for what the list does not say: no list ends a hold",
        "{count} lots of it are on hold for what the list does not say: no list ends a hold",
        count,
    )
