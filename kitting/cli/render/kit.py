"""A kit on the screen: what lies in it by lot, what happened to it, what a change came to."""

from __future__ import annotations

from rich.console import Console

from kitting.actions import Action, next_step
from kitting.cli.actions import command
from kitting.cli.render import headings
from kitting.cli.render.amounts import rounded
from kitting.cli.render.days import day_text, moment
from kitting.cli.render.tables import plain_table
from kitting.facts.words import OPEN_BOOKINGS, KitEventKind
from kitting.views.kit_life import KitChangeView, KitContentsView
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
from kitting.wording.language import _, n_


def show_kit(console: Console, view: KitContentsView) -> None:
    """What lies in a kit now, then what happened to it."""
    jobs = ", ".join(view.jobs)
    console.print(
        _(
            "kit of {booking} {registration} {vehicle}: {jobs}, {state}, judged for {judged_for}",
            booking=view.booking,
            registration=view.registration,
            vehicle=view.vehicle,
            jobs=jobs,
            state=view.state,
            judged_for=day_text(view.judged_for),
        ),
        style="bold",
    )
    if view.set_aside:
        console.print(set_aside_text(view.set_aside))
    if view.kit_in:
        console.print(kit_in_text(view.kit_in))
    if view.lines:
        table = plain_table(headings.IN_THE_KIT, headings.LOT_FROM, headings.FOR, headings.GOES_TO)
        for line in view.lines:
            lot = _("{lot} in {bin}", lot=line.lot, bin=line.bin) if line.bin else str(line.lot)
            table.add_row(
                f"{rounded(line.quantity, line.unit)} {line.item}",
                f"{lot}\n{line_state(line)}",
                line_purpose(line),
                line_place(line),
            )
        console.print(table)
    elif view.state in OPEN_BOOKINGS:
        console.print(_("Nothing lies in it."))
    else:
        console.print(
            _("Nothing lies in it: {booking} is {state}.", booking=view.booking, state=view.state)
        )
    if view.to_pick:
        step = command(next_step(Action.PICK, booking=view.booking))
        console.print(
            _(
                "{lines} on the shelf for it. Next: {step}",
                lines=n_("{count} line", "{count} lines", view.to_pick),
                step=step,
            )
        )
    if view.events:
        console.print()
        console.print(_("What happened to it"), style="bold")
        told = plain_table(headings.AT, headings.WHAT)
        for event in view.events:
            told.add_row(moment(event.at), event_text(event))
        console.print(told)


def show_change(console: Console, view: KitChangeView, other: str | None = None) -> None:
    """What a change of a kit came to."""
    if not view.kept:
        console.print(_("Not done yet, only looked at:"))
    for part in view.parts:
        console.print(part_text(part, other))
    drawn = any(part.kind is KitEventKind.DRAWN for part in view.parts)
    gone = any(part.kind is KitEventKind.GONE for part in view.parts)
    if gone and not drawn and not view.short and not view.coming:
        console.print(
            _(
                "{booking} needs no other {item}: none was drawn",
                booking=view.booking,
                item=view.item,
            )
        )
    for text in change_texts(view):
        console.print(text)
    if view.short:
        console.print(
            _("Next: {command}", command=command(next_step(Action.BUY, booking=view.booking)))
        )
