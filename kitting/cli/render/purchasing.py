"""Purchasing on the screen: what to buy, from whom, by when."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Console

from kitting.actions import Action, next_step
from kitting.cli.actions import with_steps
from kitting.cli.render import headings
from kitting.cli.render.days import day_month, day_text, weekday, weekday_time
from kitting.cli.render.tables import plain_table
from kitting.views.purchasing import (
    BuyLineView,
    LackView,
    OpenDoubtView,
    ParcelView,
    PurchaseView,
)
from kitting.wording.bookings import booked_text
from kitting.wording.figures import money, percent
from kitting.wording.language import _, n_
from kitting.wording.orders import (
    cutoff_there,
    time_left,
)
from kitting.wording.purchasing import (
    alternative,
    at_most,
    awaited,
    barred,
    dates_are_of,
    lack,
    not_compared,
    old_stock,
    open_doubt_text,
    packets_not_compared,
    packs_or_pieces,
    parcel_sum,
    rates_not_used,
    rates_stated,
    reasons,
    tax_mixed,
    transfer,
    van_coming,
)
from kitting.wording.reasons import say
from kitting.wording.verdicts import verdict_text

_BAR = 20


def bar_of(chance: float) -> str:
    """A chance as a bar of twenty signs."""
    filled = round(chance * _BAR)
    return "█" * filled + "·" * (_BAR - filled)


def show_purchase(console: Console, view: PurchaseView) -> None:
    """What to order from whom, what presses first, and why."""
    bookings = dates_are_of(view)
    _awaited(console, view)
    if view.total is None:
        _no_purchase(console, view, bookings)
        not_fine_whatever(console, view.doubts)
        return
    total = money(view.total)
    of_these = " " + _("with the packets of the plan") if view.other_packets else ""
    if view.lacking:
        console.print(
            _(
                "NOT ALL can be had for {bookings}{one_day}:",
                bookings=bookings,
                one_day=_one_day(view),
            ),
            style="bold",
        )
        for missing in view.lacking:
            console.print(f"  {lack_line(missing)}")
        if view.would_do:
            console.print(
                "  "
                + _(
                    "all of it can be had for {for_another_day}",
                    for_another_day=_for_another_day(view),
                )
            )
        console.print(
            _(
                "The rest costs {total}, the least{of_these}, proven.",
                total=total,
                of_these=of_these,
            )
        )
    else:
        console.print(
            _(
                "For {bookings}{one_day}: {total}, all in time with a chance of {at_most} "
                "({asked} asked for). The least cost{of_these}, proven.",
                bookings=bookings,
                one_day=_one_day(view),
                total=total,
                at_most=at_most(view.vans, percent(view.chance)),
                asked=percent(view.asked, 0),
                of_these=of_these,
            ),
            style="bold",
        )
    _whole(console, view)
    for parcel in view.parcels:
        console.print()
        _parcel(console, parcel)
    others = [text[0].upper() + text[1:] for text in map(say, view.others)]
    for texts in (list(map(transfer, view.transfers)), _instead(view), others):
        if texts:
            console.print()
            console.print("\n".join(texts))
    _extras(console, view)
    for text in (*not_compared(view.left_out), *tax_mixed(view.tax_mixed)):
        console.print(text)
    not_fine_whatever(console, view.doubts)
    if view.orders:
        console.print(_("Ordered: {orders}", orders=", ".join(view.orders)))


def _one_day(view: PurchaseView) -> str:
    """The day that all bookings are fitted on, if it is one."""
    return (
        ""
        if len({one.fit_on for one in view.whole}) > 1
        else " " + _("on {fit_on}", fit_on=day_text(view.fit_on))
    )


def _whole(console: Console, view: PurchaseView) -> None:
    """By which rates it was compared; each booking at its own date, if there are several dates."""
    for text in rates_stated(view.rates):
        console.print(text)
    if not _one_day(view):
        for one in view.whole:
            sure = at_most(view.vans, percent(one.chance)) if one.chance else _("NOT IN TIME")
            console.print(
                "  "
                + _(
                    "{booking} on {fit_on}: everything here by {by}, {sure}",
                    booking=one.booking,
                    fit_on=weekday(one.fit_on),
                    by=weekday(one.by),
                    sure=sure,
                )
            )


def _extras(console: Console, view: PurchaseView) -> None:
    """What would be worth taking along, beside the least purchase."""
    if view.extras is None:
        return
    parts = ", ".join(f"{packs} × {part} ({item})" for part, item, packs in view.extras.lines)
    costs = f"{money(view.extras.more)} {'less in all' if view.extras.saved else 'more'}"
    console.print(
        "\n"
        + _(
            "Worth taking along, not ordered unless you say --extras: {parts}, for "
            "{costs}. What is left over would be worth {worth}, by what was used here "
            "last year.",
            parts=parts,
            costs=costs,
            worth=money(view.extras.worth),
        )
    )


def _awaited(console: Console, view: PurchaseView) -> None:
    """What is booked already, what is on its way, and how surely it is here in time."""
    for booked in view.booked:
        console.print(booked_text(booked))
    for one in view.awaited:
        console.print(awaited(one, view.now.date()))
    for van in view.vans:
        console.print(van_coming(van))
    for text in rates_not_used(view.rates_unused):
        console.print(text)


def lack_line(view: LackView) -> str:
    return with_steps(lack(view), view.why.then)


def _instead(view: PurchaseView) -> list[str]:
    return [
        *map(barred, view.barred),
        *map(alternative, view.alternatives),
        *map(packets_not_compared, view.other_packets),
    ]


def _no_purchase(console: Console, view: PurchaseView, bookings: str) -> None:
    """Nothing is short, or nothing comes in time: which line, and which date would do."""
    if view.chance:
        sure = at_most(view.vans, percent(view.chance))
        waiting = (
            " " + _("All of it is here in time with {sure}.", sure=sure)
            if view.awaited or view.vans
            else ""
        )
        console.print(
            _("Nothing is short of {bookings}.{waiting}", bookings=bookings, waiting=waiting)
        )
        return
    console.print(
        _(
            "Nothing that can be bought makes {bookings} whole for {fit_on} with a "
            "chance of {asked}.",
            bookings=bookings,
            fit_on=day_text(view.fit_on),
            asked=percent(view.asked, 0),
        ),
        style="bold",
    )
    for text in (*map(lack_line, view.lacking), *map(transfer, view.transfers), *_instead(view)):
        console.print(f"  {text}")
    if view.best_chance:
        console.print(
            _(
                "The best chance that can be had is {best_chance}.",
                best_chance=percent(view.best_chance),
            )
        )
    if view.would_do:
        console.print(
            _(
                "The first date that can be had with that chance: {for_another_day}",
                for_another_day=_for_another_day(view),
            )
        )


def _for_another_day(view: PurchaseView) -> str:
    """The first date that can be had, and how it is bought for."""
    day = str(view.would_do)
    return with_steps(day, [next_step(Action.FOR_DATE, on=day)])


def _parcel(console: Console, parcel: ParcelView) -> None:
    left = time_left(parcel.minutes_left) + cutoff_there(parcel.there)
    console.print(
        _(
            "{supplier_name}: order by {cutoff} (in {left})",
            supplier_name=parcel.supplier_name,
            cutoff=weekday_time(parcel.cutoff),
            left=left,
        ),
        style="bold",
    )
    slip = (
        _("; missed, {days} later", days=n_("{count} day", "{count} days", parcel.slip))
        if parcel.slip
        else ""
    )
    console.print(
        "  "
        + _(
            "here {arrives}, late {late}, useful until {latest_useful}, in time {chance}{slip}",
            arrives=weekday(parcel.arrives),
            late=weekday(parcel.late),
            latest_useful=weekday(parcel.latest_useful),
            chance=percent(parcel.chance),
            slip=slip,
        )
    )
    table = plain_table(
        headings.PART,
        headings.ITEM,
        headings.ORDER,
        headings.PRICE,
        headings.TOTAL,
        headings.WHY,
        indent=2,
    )
    for line in parcel.lines:
        table.add_row(
            line.part, line.item, packs_or_pieces(line), money(line.price), money(line.total),
            _why(line, parcel),
        )  # fmt: skip
    console.print(table)
    console.print(f"  {parcel_sum(parcel)}")


def _why(line: BuyLineView, parcel: ParcelView) -> str:
    texts = [reasons(line.why)]
    if (line.arrives, line.late) != (parcel.arrives, parcel.late):
        texts.append(
            _(
                "here {arrives}, late {late}",
                arrives=day_month(line.arrives),
                late=day_month(line.late),
            )
        )
    if line.old_stock:
        texts.append(f"{verdict_text(line.verdict)}: {old_stock(line)}")
    if not line.returnable:
        texts.append(_("NO RETURN"))
    if line.core:
        texts.append(_("core {core}, refunded for the old part", core=money(line.core)))
    return "; ".join(texts)


def not_fine_whatever(console: Console, doubts: Sequence[OpenDoubtView]) -> None:
    """What is not fine even when everything is there."""
    if doubts:
        console.print("\n" + _("NOT FINE, whatever is bought:"), style="bold")
    for one in doubts:
        console.print(f"  {open_doubt_text(one)}")
