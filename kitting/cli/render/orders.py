"""Orders on the screen: by hand before they are placed, and all of them afterwards."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Console

from kitting.actions import Action, next_step
from kitting.cli.actions import with_steps
from kitting.cli.render import headings
from kitting.cli.render.amounts import rounded
from kitting.cli.render.days import day_text, moment, weekday, weekday_time
from kitting.cli.render.tables import plain_table
from kitting.facts.units import typed_quantity
from kitting.facts.words import OrderState
from kitting.views.orders import HandLineView, HandOrderView, OrderLineView, OrderView
from kitting.wording.figures import money
from kitting.wording.language import _, n_
from kitting.wording.orders import (
    announced,
    came_text,
    claim_text,
    cutoff_there,
    expired_text,
    order_standing,
    taken_over,
    time_left,
)
from kitting.wording.purchasing import (
    discrepancies,
    packs_or_pieces,
    parcel_sum,
    sums,
    tax_of_order,
)


def show_orders(
    console: Console, orders: Sequence[OrderView], *, every: bool = True, left_out: int = 0
) -> None:
    """Orders in a list; `every` where nothing was asked for, `left_out` that are not open."""
    table = plain_table(
        headings.ORDER,
        headings.SUPPLIER,
        headings.BRANCH,
        headings.PLACED,
        headings.DUE,
        headings.LATE,
        headings.STATE,
        headings.TOTAL,
    )
    for order in orders:
        table.add_row(
            order.number, order.supplier_name, order.branch, moment(order.placed_at),
            day_text(order.due), day_text(order.due_late), order_standing(order),
            money(order.total),
        )  # fmt: skip
    console.print(table)
    if not orders:
        nothing = _("No order is open.") if left_out else _("Nothing is ordered.")
        console.print(
            nothing
            if every
            else _("No open order is like that.")
            if left_out
            else _("No order is like that.")
        )
    if left_out:
        console.print(
            n_(
                "{count} complete or cancelled not shown. See them: --all",
                "{count} complete or cancelled not shown. See them: --all",
                left_out,
            )
        )


def show_order(console: Console, view: OrderView) -> None:
    """An order line by line."""
    console.print(
        _(
            "{number} {supplier_name} for {branch}, placed {placed_at}: "
            "{order_standing}, due {due}, late {due_late}",
            number=view.number,
            supplier_name=view.supplier_name,
            branch=view.branch,
            placed_at=moment(view.placed_at),
            order_standing=order_standing(view),
            due=day_text(view.due),
            due_late=day_text(view.due_late),
        ),
        style="bold",
    )
    if view.bill:
        console.print(_("bought over the counter, receipt {bill}", bill=view.bill))
    table = plain_table(
        headings.PART,
        headings.ITEM,
        headings.ORDERED,
        headings.HERE,
        headings.LOST,
        headings.WAITED_FOR_BY,
        headings.TOTAL,
    )
    for line in view.lines:
        table.add_row(
            line.part, line.item,
            *(rounded(n, line.unit) for n in (line.ordered, line.received, line.lost)),
            ", ".join(line.promised), money(line.total),
        )  # fmt: skip
    console.print(table)
    parts = ", ".join(f"{name} {money(some)}" for name, some in sums(view))
    console.print(
        _(
            "{parts}, together {total}, {tax_of_order}",
            parts=parts,
            total=money(view.total),
            tax_of_order=tax_of_order(view),
        )
    )
    for one in view.receipts:
        console.print(came_text(one))
        if one.expired is not None:
            text, step = expired_text(one.came, one.expired), one.expired.then
            console.print(with_steps(text, [step] if step else []))
    for claim in view.claims:
        console.print(claim_text(claim))
    for line in view.lines:
        _show_since(console, view, line)
    for over in view.too_much:
        keep = next_step(
            Action.KEEP_GOODS, order=view.number, item=over.item,
            quantity=typed_quantity(over.quantity, over.unit), lot=over.lot,
        )  # fmt: skip
        text = _(
            "{item} on hold is charged once it is kept, or goes back for nothing", item=over.item
        )
        console.print(with_steps(text, [keep]))


def _show_since(console: Console, view: OrderView, line: OrderLineView) -> None:
    """What happened to a line since it was ordered, and what is to be told to the supplier."""
    if line.coming and (line.due, line.due_late) != (view.due, view.due_late):
        console.print(
            _(
                "{item}: due {due}, late {due_late}",
                item=line.item,
                due=day_text(line.due),
                due_late=day_text(line.due_late),
            )
        )
    told = discrepancies(line)
    for text in told:
        console.print(_("TELL THE SUPPLIER {item}: {text}", item=line.item, text=text))
    open_claim = any(
        claim.of_unusable and claim.line == line.seq and not claim.answers for claim in view.claims
    )
    unusable = line.lost and (line.damaged or line.wrong) and (told or open_claim)
    if unusable and view.state is not OrderState.CANCELLED:
        again = next_step(
            Action.ANNOUNCE,
            order=view.number,
            item=line.item,
            quantity=typed_quantity(line.lost, line.unit),
        )
        text = _("{item} is LACKING until the supplier sends it once more", item=line.item)
        console.print(with_steps(text, [again]))
    _show_substitutes(console, view, line)
    for notice in line.notices:
        console.print(
            _(
                "ANNOUNCED {item}: {announced}",
                item=line.item,
                announced=announced(notice, line.unit),
            )
        )
    if line.core:
        core = money(line.core)
        console.print(
            _(
                "CORE {item}: {core} comes back for the old part; ask by when",
                item=line.item,
                core=core,
            )
        )


def _show_substitutes(console: Console, view: OrderView, line: OrderLineView) -> None:
    """What came in the place of a line, and what that comes to for each booking."""
    for other in line.substitutes:
        came = rounded(other.quantity, line.unit)
        console.print(
            _(
                "SUBSTITUTE {item}: {came} came as {item_2}",
                item=line.item,
                came=came,
                item_2=other.item,
            )
        )
    if line.substitutes:
        for one in view.taken_over:
            for text in taken_over(one, line.item):
                console.print(text)


def show_hand_order(console: Console, view: HandOrderView) -> None:
    """What an order by hand comes to, and what of it is for whom."""
    what = _("{order}, ordered", order=view.order) if view.order else _("To be ordered")
    console.print(
        _(
            "{what} from {supplier_name} for {branch}",
            what=what,
            supplier_name=view.supplier_name,
            branch=view.branch,
        ),
        style="bold",
    )
    left = time_left(view.minutes_left) + cutoff_there(view.there)
    console.print(
        "  "
        + _(
            "order by {cutoff} (in {left}): here {arrives}, late {late}",
            cutoff=weekday_time(view.cutoff),
            left=left,
            arrives=weekday(view.arrives),
            late=weekday(view.late),
        )
    )
    table = plain_table(
        headings.PART,
        headings.ITEM,
        headings.ORDER,
        headings.PRICE,
        headings.TOTAL,
        headings.FOR,
        indent=2,
    )
    for line in view.lines:
        table.add_row(
            line.part, line.item, packs_or_pieces(line), money(line.price), money(line.total),
            _whom(view, line),
        )  # fmt: skip
    console.print(table)
    console.print(f"  {parcel_sum(view)}")
    for line in view.lines:
        if not line.returnable:
            console.print("  " + _("NO RETURN {item}", item=line.item))
        if line.core:
            console.print(
                "  "
                + _(
                    "CORE {item}: {core} a pack comes back for the old part",
                    item=line.item,
                    core=money(line.core),
                )
            )


def _whom(view: HandOrderView, line: HandLineView) -> str:
    """For whom a line is: bookings that lack it, the shelf, or both."""
    parts = []
    if line.for_bookings:
        parts.append(f"{', '.join(view.bookings)}: {rounded(line.for_bookings, line.unit)}")
    if line.spare:
        parts.append(_("shelf: {spare}", spare=rounded(line.spare, line.unit)))
    return "; ".join(parts)
