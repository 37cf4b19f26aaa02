"""The day of a workshop in words: ramps, people, what does not fit; what was agreed of money."""

from __future__ import annotations

from collections.abc import Mapping

from kitting.facts.day_reasons import DayReason, DayRemark
from kitting.views.slot import SlotView
from kitting.views.work_day import (
    AgreedView,
    BookingDayView,
    LimitState,
    RampBookingView,
    Unpriced,
)
from kitting.wording.figures import format_quantity, listed, money
from kitting.wording.language import N_, _, dated
from kitting.wording.reasons import register, say

register(
    {
        DayReason.CLOSED: "{branch} is closed on {on:%a %d %b %Y}: booked all the same",
        DayReason.CLOSED_FOR: (
            "{branch} is closed on {on:%a %d %b %Y} ({holiday}): booked all the same"
        ),
        DayReason.NOT_NAMED: "no {what: and no } named: room on the day",
        DayReason.RAMPS_NOT_STATED: "no ramp of {branch} is stated: room on the day",
        DayReason.PEOPLE_NOT_STATED: "no technician of {branch} is stated: hours on the day",
        DayReason.NO_SUCH_RAMP: "ramp {ramp} is not listed at {branch}: its room",
        DayReason.NO_SUCH_TECHNICIAN: "technician {technician} is not listed at {branch}: hours",
        DayReason.RAMP_TAKES: (
            "ramp {ramp} is listed as '{takes}': whether it takes this car (read the car's plate"
            " before it is lifted)"
        ),
        DayReason.TOO_HEAVY: (
            "TOO HEAVY: ramp {ramp} lifts {lifts}, the car weighs {weight}; the plate of the ramp"
            " and its maker's data decide"
        ),
        DayReason.WEIGHT_UNKNOWN: (
            "ramp {ramp} lifts {lifts}, and what the car weighs is not stated: whether it may be"
            " lifted (weigh it as it stands; the plate of the ramp decides)"
        ),
        DayReason.WEIGHT_WITHOUT_LOAD: (
            "ramp {ramp} lifts {lifts}, the car weighs {weight} without what is in it: whether it"
            " may be lifted as it stands (the plate of the ramp decides)"
        ),
        DayReason.RAMP_HOURS_UNKNOWN: "the hours of ramp {ramp} are not stated: its room",
        DayReason.TECHNICIAN_HOURS_UNKNOWN: (
            "the hours of technician {technician} on {on:%a %d %b} are not stated"
        ),
        DayReason.BOOKING_HOURS_UNKNOWN: "{who}: hours of {bookings:, } on the day",
        DayReason.SHARES_UNKNOWN: (
            "{who}: who does how much of {bookings:, } is not stated, and all of it is more than"
            " {hours} h"
        ),
        DayReason.OVER_HOURS: (
            "{who}: {planned} h planned of {hours} h, {over} h too many ({bookings:, })"
        ),
        DayReason.AT_ONCE: "{who}: {pair: and } at the same time",
        DayReason.PERHAPS_AT_ONCE: (
            "{who}: whether {pair: and } are at the same time (a time or hours not stated)"
        ),
        DayReason.AWAY: "technician {technician} is away on {on:%a %d %b}, until {until}",
        DayReason.NOT_AT_WORK: "technician {technician} does not work on {on:%a %d %b}",
        DayReason.LICENCE_MISSING: (
            "{licence:general} ({asked_by}): {technicians:, } without that licence; local rules"
            " decide who may"
        ),
        DayReason.LICENCE_EXPIRED: (
            "{licence:general} ({asked_by}): the licence of {technician} was valid until {until};"
            " local rules decide who may"
        ),
        DayReason.LICENCE_UNDATED: (
            "{licence:general} ({asked_by}): until when the licence of {technicians:, } is valid"
        ),
        DayReason.LICENCE_OF_NOBODY: (
            "{licence:general} ({asked_by}): whether who does it has the licence"
        ),
    }
)
register(
    {
        Unpriced.PART: "{item}: no price",
        Unpriced.SERVICE: "{service}: bought from outside, no price",
        Unpriced.NO_HOUR_PRICE: "{hours} h of work: no price of an hour is stated",
        Unpriced.NOT_ESTIMATED: "{why}",
        Unpriced.CURRENCIES: (
            "prices are in {prices}, agreed was in {agreed}: they are never compared"
        ),
    }
)
_STATES: Mapping[LimitState, str] = {
    LimitState.OVER: N_("OVER {against} by {by}: ask the customer first"),
    LimitState.MAY_GO_OVER: N_("MAY GO OVER {against}: by {by} if every look fails"),
    LimitState.WITHIN: N_("within {against}, {by} below it at the most"),
    LimitState.NOT_KNOWN: N_("NOT KNOWN whether it is within {against}"),
}


def remark_text(one: DayRemark) -> str:
    """What is the matter with a day: "DAY: …", or "NOT KNOWN: …"."""
    mark = _("DAY") if one.certain else _("NOT KNOWN")
    return f"{mark}: {say(one.because)}"


def hours_text(thousandths: int | None) -> str:
    """ "7.5 h", or that the hours are unknown."""
    return (
        _("hours UNKNOWN") if thousandths is None else f"{format_quantity(thousandths, 'each')} h"
    )


def slot_text(view: BookingDayView) -> str:
    """ "Wed 15 Apr 08:30, ramp R1, T1 and T2, 5.7 h"."""
    parts = (
        dated(view.on, "%a %d %b") + (f" {view.starts}" if view.starts else ""),
        _("ramp {ramp}", ramp=view.ramp) if view.ramp else "",
        listed(view.technicians),
        hours_text(view.hours),
    )
    return ", ".join(filter(None, parts))


def when_text(slot: SlotView | None) -> str:
    """What follows the day of a booking: ", 08:30, ramp R1", as far as it is agreed."""
    if slot is None:
        return ""
    starts = f", {slot.starts}" if slot.starts else ""
    ramp = _(", ramp {ramp}", ramp=slot.ramp) if slot.ramp else ""
    return starts + ramp


def on_ramp_text(one: RampBookingView) -> str:
    """A booking on a ramp: "08:30 B0002, T1, 5.7 h"."""
    at = one.starts or _("time not named:")
    return ", ".join((f"{at} {one.booking}", *one.technicians, hours_text(one.hours)))


def agreed_text(view: AgreedView) -> str:
    """ "agreed £400.00, at most £450.00, deposit £100.00, £300.00 open"."""
    named = (
        (N_("agreed {money}"), view.agreed),
        (N_("at most {money}"), view.limit),
        (N_("deposit {money}"), view.deposit),
        (N_("{money} an hour"), view.hour_price),
    )
    texts = [_(text, money=money(sum_)) for text, sum_ in named if sum_ is not None]
    return ", ".join((*texts, _open_text(view)))


def _open_text(view: AgreedView) -> str:
    if view.open is None:
        return _("what is open after the deposit NOT KNOWN: no price is agreed")
    if view.open.minor < 0:
        return _(
            "{money} to be given back",
            money=money(type(view.open)(-view.open.minor, view.open.currency)),
        )
    return _("{open} open", open=money(view.open))


def estimate_text(view: AgreedView) -> str | None:
    """How the estimate stands to what was agreed; None where nothing is to be compared with."""
    if view.against is None:
        return None
    what = _("the limit") if view.limit is not None else _("the agreed price")
    against = f"{what} {money(view.against)}"
    told = _(_STATES[view.state], against=against, by=view.by and money(view.by))
    if view.now is None or view.most is None:
        return told
    spread = money(view.now)
    if view.most != view.now:
        spread += _(" to {most}", most=money(view.most))
    partly = _(", as far as prices are known,") if view.unknown else ""
    return _(
        "{spread}{partly} with prices as suppliers state them: {told}",
        spread=spread,
        partly=partly,
        told=told,
    )


def unknown_texts(view: AgreedView) -> list[str]:
    """What the estimate leaves out."""
    return [_("NOT KNOWN: {one}", one=say(one)) for one in view.unknown]
