"""The day in words: what each row says, and when it has to be answered."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from kitting.views.today import (
    TodayCar,
    TodayItem,
    TodayKind,
    TodayReason,
    TodayRow,
    TodayView,
    Urgency,
)
from kitting.wording.figures import many, minutes, show_quantity
from kitting.wording.language import N_, _, dated
from kitting.wording.reasons import register, say

register(
    {
        TodayReason.BY_VAN: "{item} is free in {branches}: have it sent or buy it, not both",
        TodayReason.ONLY_BY_VAN: "{item} is free in {branches}: have it sent",
        TodayReason.OVER_BY: "{now} by now, {by} over the {limit} agreed",
        TodayReason.AT_BEST: "ordered now it is in time with {chance:.1%} at best",
        TodayReason.CONFIRMED: "it was confirmed",
        TodayReason.AS_TOLD: "confirmed incomplete: {reason}",
        TodayReason.FOUND: "{joint}, {position} failed: {reason}",
        TodayReason.NEVER_CAME: (
            "its date is past, and it is still {state}: give it a new date, or cancel it"
        ),
        TodayReason.STILL: "its date is past, and it is still {state}",
        TodayReason.STILL_ASIDE: (
            "its date is past; it is set aside in {place} ({reason}), nobody said until when"
        ),
        TodayReason.DUE: "due {due:%a %d %b}, late {late:%a %d %b}",
        TodayReason.KEPT_TO: "lot {lot} kept to {until:%a %d %b %Y} and goes into no car",
        TodayReason.VANS_SEEN: "{punctual} of {seen:many van} from {branch} came on their day",
        TodayReason.NO_VAN_SEEN: (
            "no van from {branch} was seen yet: how surely it comes is not known"
        ),
        TodayReason.STILL_IN_TIME: (
            "as it has not come yet, in time for {booking} with {chance:chance}"
        ),
        TodayReason.STILL_NOT_KNOWN: (
            "as late as this, in time for {booking} is NOT KNOWN: ask the supplier"
        ),
        TodayReason.VAN_UNKNOWN: "nobody says when the van of {branch} goes: ask there",
    }
)
_HEADINGS: Mapping[Urgency, str] = {
    Urgency.CLOCK: N_("BY THE CLOCK"),
    Urgency.LATE: N_("LATE ALREADY"),
    Urgency.TODAY: N_("TODAY"),
    Urgency.NEXT: N_("NEXT WORKING DAY"),
    Urgency.LATER: N_("LATER"),
}
_WHAT: Mapping[TodayKind, str] = {
    TodayKind.SEND: "SEND from {source} to {branch}: {items}",
    TodayKind.LOAD: "LOAD transfer {transfer}: {items}",
    TodayKind.ORDER: "ORDER from {supplier}: {items}",
    TodayKind.NOT_IN_TIME: "NOT SURE TO BE IN TIME: {items}",
    TodayKind.NOT_OFFERED: "NOBODY OFFERS: {items}",
    TodayKind.FAILED: "FAILED, AND NOTHING STANDS FOR IT: {items}",
    TodayKind.DAY_DOES_NOT_FIT: N_("THE DAY DOES NOT FIT"),
    TodayKind.OVER_LIMIT: N_("OVER WHAT WAS AGREED"),
    TodayKind.CANNOT_START: N_("CANNOT START"),
    TodayKind.STARTS_INCOMPLETE: N_("starts incomplete"),
    TodayKind.LOST: N_("NO LONGER CERTAIN: it was confirmed"),
    TodayKind.SPOILT: "SPOILT PROMISE: {items}",
    TodayKind.PAST: N_("STILL OPEN"),
    TodayKind.PROMISE: "free by now, promise it: {items}",
    TodayKind.CONFIRM: N_("ready, not confirmed yet"),
    TodayKind.UNPICKED: "KIT NOT PICKED: {items}",
    TodayKind.PICK: "kit to pick: {items}",
    TodayKind.ORDER_OVERDUE: "OVERDUE {order} from {supplier}: {items}",
    TodayKind.TRANSFER_OVERDUE: "OVERDUE transfer {transfer} from {source}: {items}",
    TodayKind.TRANSFER_UNKNOWN: "transfer {transfer} from {source}, due UNKNOWN: {items}",
    TodayKind.ORDER_DUE: "due today {order} from {supplier}: {items}",
    TodayKind.CAME_EXPIRED: "EXPIRED WHEN IT CAME with {order}: {items}",
    TodayKind.TRANSFER_DUE: "due today transfer {transfer} from {source}: {items}",
    TodayKind.HAND_BACK: "the customer's own, still here: {items}",
}
# Lines of a kit, and reasons, that are named before the rest is counted.
_NAMED_ITEMS, _NAMED_REASONS = 4, 3


def heading(urgency: Urgency, view: TodayView) -> str:
    """ "NEXT WORKING DAY, Tue 07 Apr"."""
    text = _(_HEADINGS[urgency])
    if urgency is Urgency.NEXT:
        return f"{text}, {dated(view.next_day, '%a %d %b')}"
    return text


def summary(view: TodayView) -> str:
    """ "3 things slip", or that nothing does."""
    slipping = sum(row.slips for row in view.rows)
    if slipping:
        return f"{many(slipping, 'thing slips', 'things slip')}"
    return _("nothing slips")


def when_text(row: TodayRow) -> str:
    """The deadline: "15:30 in 10 min", "Tue 07 Apr 15:30", "Tue 07 Apr"."""
    if row.when is not None and row.urgency is Urgency.CLOCK:
        left = minutes(row.minutes_left or 0) or _("0 min")
        return _("{when:%H:%M} in {left}", when=row.when, left=left)
    if row.when is not None:
        return dated(row.when, "%a %d %b %H:%M")
    if row.day is None or row.urgency is Urgency.TODAY:
        return ""
    return dated(row.day, "%a %d %b")


def what_text(row: TodayRow) -> str:
    """What a row is about, and for which cars."""
    text = _(
        _WHAT[row.kind],
        items=_items(row.items),
        supplier=row.supplier,
        order=row.order,
        transfer=row.transfer,
        source=row.source,
        branch=row.branch,
    )
    return f"{text} {_cars(row.cars)}".rstrip()


def _items(items: Sequence[TodayItem]) -> str:
    named = [f"{show_quantity(one.quantity, one.unit)} {one.item}" for one in items[:_NAMED_ITEMS]]
    more = len(items) - len(named)
    return ", ".join((*named, _("{more} more", more=more)) if more else named)


def _cars(cars: Sequence[TodayCar]) -> str:
    texts = [f"{car.booking} {car.registration}, {car.fit_on:%d %b}" for car in cars]
    return f"({'; '.join(texts)})" if texts else ""


def why_texts(row: TodayRow) -> list[str]:
    """Why it is so; what would fill the screen is counted."""
    texts = list(dict.fromkeys(map(say, row.why)))
    more = len(texts) - _NAMED_REASONS
    if more <= 0:
        return texts
    return [
        *texts[:_NAMED_REASONS],
        _("and {many} more: look at the booking", many=many(more, "thing")),
    ]
