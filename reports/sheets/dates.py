"""The date sheet: how sure each possible fitting date is, what it costs, when to order for it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from functools import partial
from typing import BinaryIO

from kitting.reports.drawings.chance_chart import chance_charts, percent
from kitting.reports.sheet import Block, Cell, Heading, Part, Sheet, render
from kitting.reports.text import MM, draw, fit
from kitting.views.possible_dates import DatesView, OrderByView
from kitting.wording.closed_days import closed_texts
from kitting.wording.figures import figure, money
from kitting.wording.language import _, dated
from kitting.wording.purchasing import (
    awaited,
    chance_of_date,
    dates_are_of,
    if_vans,
    lack,
    not_compared,
    open_doubt_text,
    tax_mixed,
    van_coming,
)

_EARLIEST = 21.0


@dataclass(frozen=True, slots=True)
class KitAsked:
    """A booking that dates are asked for: its kit, car and jobs, each job by code and name."""

    booking: str
    kit: str
    car: str
    jobs: tuple[str, ...]


def draw_dates(
    view: DatesView, target: BinaryIO, paper: str = "A4", kits: Sequence[KitAsked] = ()
) -> int:
    """Write a date sheet as PDF; returns the number of pages, 1 for the usual 12 dates.

    `kits` are those of the bookings; what nobody booked is named by its car and jobs alone.
    Raises KittingError for an unknown paper.
    """
    about = _("asked {chance} · worked out {time}", chance=percent(view.asked),
              time=figure(view.now))  # fmt: skip
    heading = Heading(_("Fitting dates"), dates_are_of(view), about, ())
    return render(target, paper, heading, partial(_body, view, kits))


def _long(day: date) -> str:
    return _("{weekday} {day} {month}", weekday=dated(day, "%a"), day=day.day,
             month=dated(day, "%b %Y"))  # fmt: skip


def _weekday_time(at: datetime) -> str:
    return f"{dated(at, '%a')} {figure(at)}"


def _body(view: DatesView, kits: Sequence[KitAsked], sheet: Sheet) -> None:
    title = _("FITTING DATES  {what}", what=dates_are_of(view))
    sheet.text(title, 18, bold=True, lines=2, gap=0.5)
    if view.car is not None:
        sheet.text(_("Not booked: a kit has a code for one fitting date, and none is chosen yet."),
                   10, bold=True, gap=0.5)  # fmt: skip
    for one in kits:
        told = _("{booking} · kit {kit} · {car} · {jobs}", booking=one.booking, kit=one.kit,
                 car=one.car, jobs=", ".join(one.jobs))  # fmt: skip
        sheet.text(told, 10, bold=True, lines=3, gap=0.5)
    sheet.text(
        _("Worked out {time} from prices, stock and delivery times as they were then."
          " Asked: a chance of at least {chance} that everything is there in time.",
          time=figure(view.now), chance=percent(view.asked)),
        9.5, lines=3, gap=2,
    )  # fmt: skip
    sheet.box(_("NOT FINE, WHATEVER IS BOUGHT"), tuple(map(open_doubt_text, view.doubts)))
    sheet.box(_("NOT COUNTED"), tuple(map(lack, view.nobody_offers)))
    sheet.keep([Block(_EARLIEST + 3, partial(_paint_earliest, view))])
    for chart in chance_charts(view, sheet):
        sheet.keep([chart])
    late = (awaited(one, view.now.date()) for one in view.not_known)
    sheet.box(_("OVERDUE"), tuple(late))
    sheet.box(_("THE CHANCES ARE AT MOST THESE"), tuple(map(van_coming, view.vans)))
    if not view.dates:
        sheet.text(_("No date was judged."), 10)
    if view.order_by:
        _order_by(view, sheet)
    sheet.box(_("PRICES"), (*not_compared(view.left_out), *tax_mixed(view.tax_mixed)))
    sheet.box(_("CLOSED"), closed_texts(view))


def _paint_earliest(view: DatesView, sheet: Sheet) -> None:
    """The first safe date, large in a heavy frame; without one, that there is none."""
    canvas, wide = sheet.canvas, sheet.width * MM
    x, y = sheet.point(0, _EARLIEST)
    canvas.setLineWidth(2.0)
    canvas.rect(x, y, wide, _EARLIEST * MM)
    top = y + (_EARLIEST - 2) * MM
    inner = wide - 6 * MM
    if view.earliest is None:
        words = fit(_("NO SAFE DATE"), (inner, 12 * MM), (26, 14), bold=True, lines=1)
        count = _("none of {count} dates reaches {chance}", count=len(view.dates),
                  chance=percent(view.asked))  # fmt: skip
        below = fit(count, (inner, 14), (10, 8), lines=1)
    elif view.doubts:
        words = fit(_("NO SAFE DATE"), (inner, 12 * MM), (26, 14), bold=True, lines=1)
        comes = _("all parts could be there for {day}; what is not fine stands above",
                  day=_long(view.earliest))  # fmt: skip
        below = fit(comes, (inner, 14), (10, 8), lines=1)
    else:
        words = fit(_long(view.earliest), (inner, 12 * MM), (26, 14), bold=True, lines=1)
        safe = (
            _("EARLIEST, SAFE{vans}", vans=if_vans(view.vans))
            if view.vans
            else _("EARLIEST SAFE DATE")
        )
        below = fit(f"{safe} · {_why(view)}", (inner, 14), (10, 8), lines=1)
    draw(canvas, x + 3 * MM, draw(canvas, x + 3 * MM, top, words) - 1, below)


def _why(view: DatesView) -> str:
    found = next((day for day in view.dates if day.on == view.earliest), None)
    if found is None:
        return figure(view.earliest)
    cost = f" · {money(found.cost)}" if found.cost is not None else ""
    sure = chance_of_date(found, view.vans, percent(found.chance))
    return _("chance {sure}{cost} · everything here by {day}", sure=sure, cost=cost,
             day=_long(found.by))  # fmt: skip


def _order_by(view: DatesView, sheet: Sheet) -> None:
    title = _("ORDER BY, for {day}", day=_long(view.earliest)) if view.earliest else _("ORDER BY")
    first = sheet.cells(_row(view.order_by[0], sheet), 9.0).height
    sheet.ensure(16 + first)
    sheet.text(title, 12, bold=True, lines=1, gap=1)
    _headings(sheet)
    sheet.repeat = _headings
    for row in view.order_by:
        sheet.row(_row(row, sheet), 9.0)
    sheet.repeat = None
    sheet.y += 4


def _columns(sheet: Sheet) -> tuple[float, float]:
    return sheet.width - 108, sheet.width - 54


def _headings(sheet: Sheet) -> None:
    safe, usual = _columns(sheet)
    sheet.row(
        [
            Cell(0, safe - 3, (Part(_("SUPPLIER"), 8, bold=True, lines=1),)),
            Cell(safe, 52, (Part(_("SAFE: nine of ten come in time"), 8, True, 1, 6.5),)),
            Cell(usual, 52, (Part(_("LATEST: half of them come in time"), 8, True, 1, 6.5),)),
        ],
        6.0,
    )


def _row(row: OrderByView, sheet: Sheet) -> list[Cell]:
    safe, usual = _columns(sheet)
    return [
        Cell(0, safe - 3, (Part(row.supplier, 10.5, bold=True, lines=3),)),
        Cell(safe, 52, (Part(_weekday_time(row.safe), 11, bold=True, lines=1),)),
        Cell(usual, 52, (Part(_weekday_time(row.usual), 10, lines=1),)),
    ]
