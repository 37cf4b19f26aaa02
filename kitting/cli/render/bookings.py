"""Bookings on the screen: what each needs, seals counted out, the day of a van."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Console

from kitting.actions import Action, next_step
from kitting.cli.actions import steps_text, with_steps
from kitting.cli.render import headings
from kitting.cli.render.tables import plain_table
from kitting.cli.render.verdicts import show_doubts
from kitting.cli.render.work_day import show_day, show_price
from kitting.facts.tool_words import ToolVerdict
from kitting.facts.units import show_quantity
from kitting.facts.verdicts import Doubt, Verdict
from kitting.facts.words import OPEN_BOOKINGS, BookingState
from kitting.views.bookings import BookingLine, BookingView, NeededView
from kitting.views.kit import RemovalView
from kitting.views.van_day import VanView
from kitting.wording.bookings import (
    elsewhere_text,
    old_in_part,
    override_heading,
    picked_text,
    source_text,
    source_warning,
    theirs_text,
    unaccounted_text,
)
from kitting.wording.figures import many
from kitting.wording.kit_life import kit_in_text, set_aside_text
from kitting.wording.reasons import say
from kitting.wording.tools import van_gap_text
from kitting.wording.verdicts import verdict_text
from kitting.wording.work_day import when_text

_TOOLS = {
    ToolVerdict.GAP: "TOOL MISSING",
    ToolVerdict.UNKNOWN: "TOOL NOT PROVEN",
    ToolVerdict.STOPPED: "TOOL WAITS FOR A VARIANT",
}


def show_bookings(console: Console, bookings: Sequence[BookingLine], *, every: bool = True) -> None:
    """Bookings by date; `every` where none was left out."""
    table = plain_table(
        headings.BOOKING,
        headings.BRANCH,
        headings.CAR,
        headings.JOBS,
        headings.DATE,
        headings.STATE,
        headings.VERDICT,
        headings.SHORT,
    )
    for row in bookings:
        short = many(row.short, "line") if row.short else ""
        jobs = ", ".join(row.jobs)
        state = f"{row.state}, planned otherwise by now" if row.outdated else row.state
        if row.set_aside:
            state = f"{state}, set aside in {row.set_aside}"
        verdict = "READY" if row.verdict is Verdict.FINE else verdict_text(row.verdict)
        when = " ".join(filter(None, (str(row.fit_on), row.starts, row.ramp)))
        table.add_row(row.number, row.branch, row.registration, jobs, when, state, verdict, short)
    console.print(table)
    if not bookings:
        console.print("No booking is open." if every else "No booking is like that.")


def show_booking(console: Console, view: BookingView) -> None:
    """A booking: what lacks first, then what covers each line."""
    jobs = ", ".join(view.jobs)
    console.print(
        f"{view.number} {view.registration} {view.vehicle}: {jobs} on {view.fit_on}"
        f" at {view.branch}, {view.state}",
        style="bold",
    )
    _where(console, view)
    show_day(console, view.day)
    show_price(console, view.price)
    for one in view.chosen:
        console.print(f"Chosen by the customer: {one.variant} is {one.option} ({one.name}).")
    if view.own_policy:
        console.print(f"Storage life judged by {view.shelf_policy}, set for this booking.")
    if view.override:
        console.print(f"{override_heading(view.state)}: {view.override}")
    if view.state not in OPEN_BOOKINGS:
        _show_over(console, view)
        return
    if view.ready:
        console.print("READY: everything that has to be there is there, and fine.")
    else:
        console.print(f"NOT READY: {verdict_text(view.verdict)}")
        show_doubts(console, view.doubts)
    for change in change_texts(view):
        console.print(f"  {change}")
    for state, heading in (("short", "SHORT"), ("coming", "COMING"), ("here", "HERE")):
        needs = [need for need in view.needs if _state(need) == state]
        if needs:
            console.print()
            console.print(heading, style="bold")
            _needs(console, needs)


def _show_over(console: Console, view: BookingView) -> None:
    """A booking that is over: what was not fine, and what of the customer's is still here."""
    if view.state is BookingState.CLOSED:
        show_doubts(console, view.doubts)
    else:
        console.print("Nothing is promised to it any more.")
    for text in theirs_texts(view):
        console.print(text)


def theirs_texts(view: BookingView) -> list[str]:
    """What a customer brought and still lies here though the booking is over, with what to do."""
    if view.state in OPEN_BOOKINGS or not view.theirs:
        return []
    step = steps_text([next_step(Action.HAND_BACK, booking=view.number)])
    return [*(theirs_text(one) for one in view.theirs), step]


def _where(console: Console, view: BookingView) -> None:
    """Where car and kit are, if not where they would be looked for."""
    if view.set_aside:
        console.print(set_aside_text(view.set_aside))
    if view.kit_in:
        console.print(kit_in_text(view.kit_in))


def _state(need: NeededView) -> str:
    if need.short:
        return "short"
    return "coming" if need.coming else "here"


def _needs(console: Console, needs: Sequence[NeededView]) -> None:
    table = plain_table(
        headings.ITEM, headings.RULE, headings.NEED, headings.FROM, headings.ELSEWHERE
    )
    for need in needs:
        sources = []
        for source in need.sources:
            picked = picked_text(source, need.unit)
            due = f", due {source.due}" if source.due else ""
            keeps = f", keeps to {source.keeps_to}" if source.keeps_to else ""
            amount = show_quantity(source.quantity, need.unit)
            sources.append(f"{amount} {source_text(source)}{picked}{due}{keeps}")
            if warning := source_warning(source):
                sources.append(warning)
        if need.short:
            sources.append(f"{show_quantity(need.short, need.unit)} SHORT")
        if need.old_in_part:
            sources.append(old_in_part(need))
        table.add_row(
            "\n".join((need.item, *(f"stands in for {item}" for item in need.stands_for))),
            _rule_text(need),
            show_quantity(need.needed, need.unit),
            "\n".join(sources),
            "\n".join(elsewhere_text(found, need.unit) for found in need.elsewhere),
        )
    console.print(table)


def _rule_text(need: NeededView) -> str:
    if need.spare:
        amount = show_quantity(need.taken, need.unit)
        return f"spare, {amount} taken" if need.taken else "spare"
    if need.needed:
        return need.rule
    return "more than planned" if need.extra == need.picked else "NOT NEEDED: goes back"


def lacking_texts(doubts: Sequence[Doubt]) -> list[str]:
    """Why something is not ready, each with what to do next."""
    return [
        f"{verdict_text(doubt.verdict)}: {with_steps(say(doubt.because), doubt.because.then)}"
        for doubt in doubts
    ]


def change_texts(view: BookingView) -> list[str]:
    """What the catalogue says by now that a booking was not planned from."""
    return [say(change) for change in view.changes]


def show_removal(console: Console, view: RemovalView) -> None:
    """Old seals joint by joint: expected and counted."""
    console.print(f"{view.booking} {view.vehicle}: old seals out", style="bold")
    table = plain_table(
        headings.BAG, headings.JOINT, headings.EXPECTED, headings.COUNTED, headings.POSITIONS
    )
    for joint in view.joints:
        counted = "" if joint.counted is None else str(joint.counted)
        positions = ", ".join(joint.positions)
        bag = "–" if joint.bag is None else str(joint.bag)
        table.add_row(bag, joint.joint, str(joint.expected), counted, positions)
    console.print(table)
    for reason in view.withheld:
        console.print(f"REFIT WITHHELD: {say(reason)}", style="bold")


def show_van(console: Console, view: VanView) -> None:
    """A van's day."""
    console.print(f"{view.branch} on {view.on}: {many(len(view.stops), 'stop')}", style="bold")
    for stop in view.stops:
        console.print(
            f"  {stop.booking} {stop.registration} {stop.vehicle}: {', '.join(stop.jobs)},"
            f" {stop.state}{when_text(stop.slot)}"
        )
        for text in lacking_texts(stop.doubts):
            console.print(f"    {text}")
    if view.load:
        console.print()
        table = plain_table(headings.LOAD, headings.ITEM, headings.FOR)
        for line in view.load:
            stops = ", ".join(line.stops)
            table.add_row(
                show_quantity(line.quantity, line.unit), f"{line.item} {line.name}", stops
            )
        console.print(table)
    for missing in view.tools:
        console.print(f"{_TOOLS[missing.state]}: {van_gap_text(missing)}")
    for parts in view.unaccounted:
        console.print(f"UNACCOUNTED: {unaccounted_text(parts)}")
