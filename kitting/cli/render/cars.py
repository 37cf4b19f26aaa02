"""Cars on the screen."""

from __future__ import annotations

from rich.console import Console

from kitting.cli.render import headings
from kitting.cli.render.amounts import rounded
from kitting.cli.render.days import day_text
from kitting.cli.render.tables import plain_table
from kitting.views.cars import CarView
from kitting.wording.cars import facts, left_open, told, unknowns
from kitting.wording.language import _, word_text


def show_facts(console: Console, view: CarView) -> None:
    """What is known of a car, what is not, and what that leaves open."""
    console.print(view.registration, style="bold")
    for heading, text in facts(view):
        console.print(f"  {heading}: {text}")
    missing = unknowns(view)
    if missing:
        console.print(
            _("UNKNOWN, and variants depend on it: {missing}", missing=", ".join(missing))
        )
    if view.open:
        console.print(_("LEFT OPEN: no job that meets it can be booked before"))
    for one in view.open:
        console.print(f"  {left_open(one)}")


def show_history(console: Console, view: CarView) -> None:
    """What was told and noted of a car, its bookings, and what was fitted."""
    for heading, lines in (
        (_("Told at the garage"), [told(one) for one in view.told]),
        (_("Notes"), [f"{day_text(one.at)}, {one.told_by}: {one.text}" for one in view.notes]),
        (
            _("Bookings"),
            [
                f"{one.number} {day_text(one.fit_on)}, {one.branch}: {', '.join(one.jobs)},"
                f" {word_text(one.state)}"
                for one in view.bookings
            ],
        ),
    ):
        if lines:
            console.print(f"\n{heading}", style="bold")
        for line in lines:
            console.print(f"  {line}")
    if view.fitted:
        console.print("\n" + _("Fitted or used"), style="bold")
        table = plain_table(
            headings.ON, headings.BOOKING, headings.ITEM, headings.LOT, headings.AMOUNT
        )
        for used in view.fitted:
            amount = rounded(used.quantity, used.unit)
            table.add_row(day_text(used.on), used.booking, used.item, used.lot, amount)
        console.print(table)
    if view.positions:
        console.print("\n" + _("Positions"), style="bold")
        table = plain_table(
            headings.ON, headings.BOOKING, headings.JOINT, headings.POSITION, headings.BARE
        )
        for one in view.positions:
            row = (one.joint, one.position, one.outcome)
            table.add_row(day_text(one.on), one.booking or _("before"), *row)
        console.print(table)
