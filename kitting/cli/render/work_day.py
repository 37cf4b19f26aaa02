"""Ramps, people and agreed prices on the screen."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Console

from kitting.cli.render import headings
from kitting.cli.render.tables import plain_table
from kitting.facts.weights import kilograms
from kitting.views.work_day import AgreedView, BookingDayView, RampDayView, StaffView
from kitting.wording.language import N_, _, general_text
from kitting.wording.work_day import (
    agreed_text,
    estimate_text,
    hours_text,
    on_ramp_text,
    remark_text,
    slot_text,
    unknown_texts,
)

_WEEKDAYS = (N_("Mon"), N_("Tue"), N_("Wed"), N_("Thu"), N_("Fri"), N_("Sat"), N_("Sun"))


def show_day(console: Console, view: BookingDayView | None) -> None:
    """When and where a booking is done, and what is the matter with that."""
    if view is None:
        return
    console.print(_("Day: {slot}", slot=slot_text(view)))
    for one in view.remarks:
        console.print(f"  {remark_text(one)}")


def show_price(console: Console, view: AgreedView | None, booking: str | None = None) -> None:
    """What was agreed of money, and how the estimate stands to that."""
    if view is None:
        return
    agreed = agreed_text(view)
    if booking:
        console.print(_("Price of {booking}: {agreed}", booking=booking, agreed=agreed))
    else:
        console.print(_("Price: {agreed}", agreed=agreed))
    told = estimate_text(view)
    for text in (*((told,) if told else ()), *unknown_texts(view)):
        console.print(f"  {text}")


def show_ramps(console: Console, ramps: Sequence[RampDayView], *, named: bool) -> None:
    """The ramps of a day; `named`: all are of the one branch that was asked for."""
    if not ramps:
        return
    console.print("\n" + _("RAMPS"), style="bold")
    table = plain_table(headings.RAMP, headings.HOURS, headings.PLANNED, headings.BOOKED)
    for one in ramps:
        name = one.ramp or _("NO RAMP NAMED")
        lines = [*map(on_ramp_text, one.bookings), *map(remark_text, one.remarks)]
        hours = "" if one.ramp is None else hours_text(one.hours)
        table.add_row(
            name if named else f"{one.branch}: {name}",
            hours,
            hours_text(one.planned),
            "\n".join(lines) or _("free"),
        )
    console.print(table)


def show_staff(console: Console, branches: Sequence[StaffView]) -> None:
    """Ramps and technicians, branch by branch."""
    for place, one in enumerate(branches):
        console.print(f"{'' if not place else chr(10)}{one.branch}", style="bold")
        if one.ramps:
            table = plain_table(headings.RAMP, headings.HOURS_A_DAY, headings.TAKES, headings.LIFTS)
            for ramp in one.ramps:
                hours = _("NOT STATED") if ramp.hours is None else hours_text(ramp.hours)
                lifts = _("NOT STATED") if ramp.lifts is None else kilograms(ramp.lifts)
                table.add_row(ramp.ramp, hours, ramp.takes or _("NOT STATED"), lifts)
            console.print(table)
        else:
            console.print(_("No ramps are stated."))
        if one.technicians:
            table = plain_table(
                headings.TECHNICIAN, headings.WORKING_HOURS, headings.LICENCES, headings.AWAY
            )
            for who in one.technicians:
                table.add_row(
                    who.code,
                    _week(who.hours),
                    "\n".join(
                        _(
                            "{licence} to {until}",
                            licence=general_text(held.licence),
                            until=held.until or _("NOT STATED"),
                        )
                        for held in who.licences
                    ),
                    "\n".join(
                        _("{first} to {last}", first=away.first, last=away.last)
                        for away in who.away
                    ),
                )
            console.print(table)
        else:
            console.print(_("No technicians are stated."))


def _week(hours: Sequence[int | None]) -> str:
    """ "Mon 8 h, Tue 8 h"; a day that nobody stated is left out."""
    stated = [f"{_(_WEEKDAYS[day])} {hours_text(one)}" for day, one in enumerate(hours)
              if one is not None]  # fmt: skip
    return ", ".join(stated) or _("NOT STATED")
