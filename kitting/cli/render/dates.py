"""Possible dates on the screen, each with its chance and its cost."""

from __future__ import annotations

from rich.console import Console

from kitting.cli.render import headings
from kitting.cli.render.days import weekday, weekday_time, whole_time
from kitting.cli.render.purchasing import bar_of, lack_line, not_fine_whatever
from kitting.cli.render.tables import plain_table
from kitting.facts.words import DateState
from kitting.views.possible_dates import DatesView
from kitting.wording.bookings import booked_text
from kitting.wording.closed_days import closed_day
from kitting.wording.figures import money, percent
from kitting.wording.language import _, word_text
from kitting.wording.purchasing import (
    awaited,
    chance_of_date,
    dates_are_of,
    if_vans,
    not_compared,
    of_what_is_offered,
    tax_mixed,
    van_coming,
)

_REACHED = (DateState.SAFE, DateState.NOT_PROVEN)


def _earliest(view: DatesView) -> str:
    if view.doubts:
        return _("the earliest date with all parts")
    return _("the earliest") if view.vans else _("the earliest safe date")


def _rests_on(console: Console, view: DatesView) -> None:
    """What is booked already, and what is on its way of which nobody knows how surely it comes."""
    for booked in view.booked:
        console.print(booked_text(booked))
    for late in view.not_known:
        console.print(awaited(late, view.now.date()))
    if view.vans:
        console.print(_("The chances are at most these:"))
    for van in view.vans:
        console.print(f"  {van_coming(van)}")


def show_dates(console: Console, view: DatesView) -> None:
    """Each possible date with a bar of its chance, or how sure what is offered is."""
    console.print(
        _(
            "{dates_are_of}, as of {now}: chance that all is there and checked",
            dates_are_of=dates_are_of(view),
            now=whole_time(view.now),
        ),
        style="bold",
    )
    table = plain_table(headings.DATE, headings.CHANCE, headings.BARE, headings.KIT, headings.BARE)
    for day in view.dates:
        told = word_text(day.state)
        mark = told.upper() if day.state in _REACHED else told
        mark += if_vans(view.vans) if day.state is DateState.SAFE else ""
        sure = chance_of_date(day, view.vans, percent(day.chance))
        first = f"  ← {_earliest(view)}" if day.on == view.earliest else ""
        cost = "" if day.cost is None else money(day.cost)
        bar = bar_of(day.chance) if day.rest is None else of_what_is_offered(day, view.vans)
        table.add_row(weekday(day.on), sure, bar, cost, f"{mark}{first}")
    console.print(table)
    _rests_on(console, view)
    not_fine_whatever(console, view.doubts)
    for missing in view.nobody_offers:
        console.print(_("NOT COUNTING {lack}", lack=lack_line(missing)))
    for text in (*not_compared(view.left_out), *tax_mixed(view.tax_mixed)):
        console.print(text)
    for closed in view.closed:
        console.print(_("closed: {closed_day}", closed_day=closed_day(closed)))
    for order in view.order_by:
        console.print(
            _(
                "{supplier}: order by {safe} to be safe, by {usual} at the latest",
                supplier=order.supplier,
                safe=weekday_time(order.safe),
                usual=weekday_time(order.usual),
            )
        )
    if view.earliest is None and not view.nobody_offers:
        console.print(
            _("No date within reach has a chance of {asked}.", asked=percent(view.asked, 0))
        )
