"""A changed booking on the screen: before and after, what goes, what is short, what it costs."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from rich.console import Console

from kitting.actions import Action, next_step
from kitting.cli.actions import command
from kitting.cli.render import headings
from kitting.cli.render.amounts import rounded
from kitting.cli.render.bookings import lacking_texts
from kitting.cli.render.days import day_text
from kitting.cli.render.tables import plain_table
from kitting.cli.render.verdicts import show_doubts
from kitting.cli.render.work_day import show_day, show_price
from kitting.facts.verdicts import Doubt, Verdict
from kitting.facts.words import NeedRule
from kitting.views.booking_change import (
    BookingChangeView,
    NeedChangeView,
    SideView,
    TakenView,
)
from kitting.views.bookings import Lack
from kitting.wording.booking_change import (
    buying_text,
    date_text,
    free_order_text,
    given_up_text,
    giver_text,
    not_to_be_had,
    out_of_kit_text,
    short_text,
)
from kitting.wording.language import _, p_
from kitting.wording.verdicts import verdict_text
from kitting.wording.work_day import hours_text


def show_change(console: Console, view: BookingChangeView) -> None:
    """What a change comes to: the heads side by side, then what a person has to do."""
    done = _("CHANGED") if view.made else _("SHOWN ONLY, nothing is changed")
    console.print(f"{view.number} {view.registration} {view.vehicle}: {done}", style="bold")
    _heads(console, view.before, view.after)
    show_day(console, view.after.day)
    if view.unconfirmed:
        console.print(_("It was confirmed and is PROVISIONAL again."), style="bold")
    _needs(console, _("NEEDS MORE"), view.gained)
    _needs(console, _("NEEDS LESS"), view.lost)
    _listed(
        console,
        _("OPEN, and closed up again with what they need: they stay on the sheets"),
        view.closing_up,
    )
    booked = [one for one in view.out_of_kit if one.booked_back]
    left = [one for one in view.out_of_kit if not one.booked_back]
    _listed(
        console,
        _("TAKE OUT OF THE KIT and put on its shelf, where it is booked back")
        if view.made
        else _("TAKE OUT OF THE KIT and put on its shelf, where it will be booked back"),
        map(out_of_kit_text, booked),
    )
    _listed(console, _("NO LONGER NEEDED, in the kit: put it back"), map(out_of_kit_text, left))
    _listed(console, _("NO LONGER PROMISED to it"), map(given_up_text, view.given_up))
    _listed(console, _("ON ORDER FOR NOBODY"), map(free_order_text, view.free_orders))
    _listed(console, _("SHORT"), map(short_text, view.short))
    console.print()
    console.print(_("To buy: {buying}", buying=buying_text(view)))
    for text in not_to_be_had(view):
        console.print(f"  {text}")
    console.print(f"{view.after.fit_on}: {date_text(view)}")
    show_price(console, view.price)
    gained = [doubt for doubt in view.doubts_gained if not _is_short(doubt)]
    if gained:
        console.print("\n" + _("NEW, not fine"), style="bold")
        show_doubts(console, gained)
    if view.doubts_lost:
        console.print("\n" + _("NO LONGER SO"), style="bold")
        for text in lacking_texts(view.doubts_lost):
            console.print(f"  {text.partition(' Next: ')[0]}")
    new = set(view.doubts_gained)
    stays = [doubt for doubt in view.doubts if doubt not in new and not _is_short(doubt)]
    if stays:
        console.print("\n" + _("NOT FINE, as before"), style="bold")
        show_doubts(console, stays)
    if not view.made:
        console.print(
            "\n"
            + _(
                "Next: the same command with {command}",
                command=command(next_step(Action.MAKE_CHANGE)),
            )
        )


def _is_short(doubt: Doubt) -> bool:
    """Whether a doubt only says what stands under SHORT."""
    return doubt.because.code in (Lack.SHORT, Lack.SPARE_SHORT)


def show_giver(console: Console, view: TakenView) -> None:
    """How the booking that gave something stands now."""
    console.print()
    console.print(giver_text(view), style="bold" if view.giver_unconfirmed else None)


def _heads(console: Console, before: SideView, after: SideView) -> None:
    table = plain_table(headings.BARE, headings.BEFORE, headings.AFTER)
    rows = (
        (p_("heading", "jobs"), ", ".join(before.jobs), ", ".join(after.jobs)),
        (p_("heading", "date"), day_text(before.fit_on), day_text(after.fit_on)),
        (p_("heading", "branch"), before.branch, after.branch),
        (p_("heading", "time"), _starts(before), _starts(after)),
        (p_("heading", "ramp"), _ramp(before), _ramp(after)),
        (p_("heading", "technicians"), _people(before), _people(after)),
        (p_("heading", "hours"), _hours(before), _hours(after)),
        (p_("heading", "state"), before.state, after.state),
        (p_("heading", "verdict"), _verdict(before), _verdict(after)),
    )
    for what, was, now in rows:
        table.add_row(what, was, _("as before") if was == now else now)
    console.print(table)


def _starts(side: SideView) -> str:
    return (side.day and side.day.starts) or _("not named")


def _ramp(side: SideView) -> str:
    return (side.day and side.day.ramp) or _("not named")


def _people(side: SideView) -> str:
    return ", ".join(side.day.technicians if side.day else ()) or _("not named")


def _hours(side: SideView) -> str:
    return _("UNKNOWN") if side.hours is None else hours_text(side.hours)


def _verdict(side: SideView) -> str:
    return _("READY") if side.verdict is Verdict.FINE else verdict_text(side.verdict)


def _needs(console: Console, heading: str, needs: Sequence[NeedChangeView]) -> None:
    if not needs:
        return
    console.print(f"\n{heading}", style="bold")
    table = plain_table(
        headings.ITEM, headings.NAME, headings.RULE, headings.BEFORE, headings.AFTER
    )
    for need in needs:
        table.add_row(
            need.item,
            need.name,
            _("spare") if need.rule is NeedRule.INSPECT else need.rule,
            rounded(need.before, need.unit),
            rounded(need.after, need.unit),
        )
    console.print(table)


def _listed(console: Console, heading: str, texts: Iterable[str]) -> None:
    found = list(texts)
    if found:
        console.print(f"\n{heading}", style="bold")
    for text in found:
        console.print(f"  {text}")
