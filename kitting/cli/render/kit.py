"""A kit on the screen: what lies in it by lot, what happened to it, what a change came to."""

from __future__ import annotations

from rich.console import Console

from kitting.actions import Action, next_step
from kitting.cli.actions import command
from kitting.cli.render import headings
from kitting.cli.render.tables import plain_table
from kitting.facts.units import show_quantity
from kitting.facts.words import OPEN_BOOKINGS, KitEventKind
from kitting.views.kit_life import KitChangeView, KitContentsView
from kitting.wording.figures import many
from kitting.wording.kit_life import (
    change_texts,
    event_text,
    kit_in_text,
    line_place,
    line_purpose,
    line_state,
    part_text,
    set_aside_text,
)


def show_kit(console: Console, view: KitContentsView) -> None:
    """What lies in a kit now, then what happened to it."""
    jobs = ", ".join(view.jobs)
    console.print(
        f"kit of {view.booking} {view.registration} {view.vehicle}: {jobs}, {view.state},"
        f" judged for {view.judged_for}",
        style="bold",
    )
    if view.set_aside:
        console.print(set_aside_text(view.set_aside))
    if view.kit_in:
        console.print(kit_in_text(view.kit_in))
    if view.lines:
        table = plain_table(headings.IN_THE_KIT, headings.LOT_FROM, headings.FOR, headings.GOES_TO)
        for line in view.lines:
            lot = f"{line.lot} in {line.bin}" if line.bin else str(line.lot)
            table.add_row(
                f"{show_quantity(line.quantity, line.unit)} {line.item}",
                f"{lot}\n{line_state(line)}",
                line_purpose(line),
                line_place(line),
            )
        console.print(table)
    elif view.state in OPEN_BOOKINGS:
        console.print("Nothing lies in it.")
    else:
        console.print(f"Nothing lies in it: {view.booking} is {view.state}.")
    if view.to_pick:
        step = command(next_step(Action.PICK, booking=view.booking))
        console.print(f"{many(view.to_pick, 'line')} on the shelf for it. Next: {step}")
    if view.events:
        console.print()
        console.print("What happened to it", style="bold")
        told = plain_table(headings.AT, headings.WHAT)
        for event in view.events:
            told.add_row(f"{event.at:%Y-%m-%d %H:%M}", event_text(event))
        console.print(told)


def show_change(console: Console, view: KitChangeView, other: str | None = None) -> None:
    """What a change of a kit came to."""
    if not view.kept:
        console.print("Not done yet, only looked at:")
    for part in view.parts:
        console.print(part_text(part, other))
    drawn = any(part.kind is KitEventKind.DRAWN for part in view.parts)
    gone = any(part.kind is KitEventKind.GONE for part in view.parts)
    if gone and not drawn and not view.short and not view.coming:
        console.print(f"{view.booking} needs no other {view.item}: none was drawn")
    for text in change_texts(view):
        console.print(text)
    if view.short:
        console.print(f"Next: {command(next_step(Action.BUY, booking=view.booking))}")
