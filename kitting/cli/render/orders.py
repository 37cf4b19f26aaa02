"""Orders by hand on the screen, and what happens to orders afterwards."""

from __future__ import annotations

from rich.console import Console

from kitting.cli.render.tables import plain_table
from kitting.facts.units import show_quantity
from kitting.views.orders import HandLineView, HandOrderView
from kitting.wording.figures import money
from kitting.wording.orders import cutoff_there, time_left
from kitting.wording.purchasing import packs_or_pieces, parcel_sum


def show_hand_order(console: Console, view: HandOrderView) -> None:
    """What an order by hand comes to, and what of it is for whom."""
    what = f"{view.order}, ordered" if view.order else "To be ordered"
    console.print(f"{what} from {view.supplier_name} for {view.branch}", style="bold")
    left = time_left(view.minutes_left) + cutoff_there(view.there)
    console.print(
        f"  order by {view.cutoff:%a %d %b %H:%M} (in {left}): here"
        f" {view.arrives:%a %d %b}, late {view.late:%a %d %b}"
    )
    table = plain_table(
        "", "part", "item", "order", "price", "total", "for", right=("price", "total")
    )
    for line in view.lines:
        table.add_row(
            "", line.part, line.item, packs_or_pieces(line), money(line.price), money(line.total),
            _whom(view, line),
        )  # fmt: skip
    console.print(table)
    console.print(f"  {parcel_sum(view)}")
    for line in view.lines:
        if not line.returnable:
            console.print(f"  NO RETURN {line.item}")
        if line.core:
            console.print(
                f"  CORE {line.item}: {money(line.core)} a pack comes back for the old part"
            )


def _whom(view: HandOrderView, line: HandLineView) -> str:
    """For whom a line is: bookings that lack it, the shelf, or both."""
    parts = []
    if line.for_bookings:
        parts.append(f"{', '.join(view.bookings)}: {show_quantity(line.for_bookings, line.unit)}")
    if line.spare:
        parts.append(f"shelf: {show_quantity(line.spare, line.unit)}")
    return "; ".join(parts)
