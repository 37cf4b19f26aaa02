"""The day on the screen: what slips first at the top, each row with the command that answers it."""

from __future__ import annotations

from rich.console import Console

from kitting.cli.actions import command
from kitting.cli.render import headings
from kitting.cli.render.days import weekday, whole_time
from kitting.cli.render.tables import Column, plain_table
from kitting.cli.render.work_day import show_ramps
from kitting.views.today import TodayKind, TodayRow, TodayView, Urgency
from kitting.wording.language import _, n_
from kitting.wording.today import heading, summary, what_text, when_text, why_texts

_WHEN = 19  # columns for "16:00 in 1 h 10 min"
_USUAL = 0.95


def show_today(console: Console, view: TodayView) -> None:
    """A day by urgency; of all branches, each row names its own."""
    place = view.branch or _("all branches")
    console.print(f"{place}, {whole_time(view.now)}: {summary(view)}", style="bold")
    for urgency in Urgency:
        rows = [row for row in view.rows if row.urgency is urgency]
        if rows:
            console.print()
            console.print(heading(urgency, view), style="bold")
            for row in rows:
                _row(console, row, view)
    show_ramps(console, view.ramps, named=view.branch is not None)
    if view.beyond:
        console.print(
            "\n"
            + _(
                "{bookings} more with orders that may wait until after {ahead}.",
                bookings=n_("{count} booking", "{count} bookings", view.beyond),
                ahead=weekday(view.ahead),
            )
        )
    if not view.bookings:
        console.print(_("No booking is open."))


def _row(console: Console, row: TodayRow, view: TodayView) -> None:
    named = view.branch is not None or row.kind is TodayKind.SEND
    where = "" if named else f"{row.branch}: "
    lines = [f"{where}{what_text(row)}", *(f"  {text}" for text in why_texts(row))]
    table = plain_table(Column(least=_WHEN, whole=True), headings.BARE)
    table.add_row(when_text(row), "\n".join(lines))
    console.print(table)
    # However long, a command stays one line: it is there to be copied.
    console.print(f"{'':{_WHEN + 2}}{_command(row, view)}", soft_wrap=True)


def _command(row: TodayRow, view: TodayView) -> str:
    sure = "" if view.asked == _USUAL else f" --sure {round(view.asked * 100, 6):g}%"
    return command(row.then) + (sure if row.kind is TodayKind.ORDER else "")
