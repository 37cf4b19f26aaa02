"""Bookings in words: what covers a need, what is lacking, who else has it."""

from __future__ import annotations

from datetime import date

from kitting.facts.reasons import Reason
from kitting.facts.words import BookingState, LotState
from kitting.views.bookings import (
    BookedJobView,
    CatalogueChange,
    ElsewhereKind,
    ElsewhereView,
    Lack,
    LotPlace,
    NeededView,
    PlannedThing,
    PlannedValue,
    PromisedView,
    SourceKind,
    TheirsView,
)
from kitting.views.van_day import UnaccountedView
from kitting.wording.figures import day, format_quantity, show_quantity
from kitting.wording.language import N_, _
from kitting.wording.reasons import register, say

register(
    {
        Lack.SHORT: "{item}: {quantity:rounded} short",
        Lack.SPARE_SHORT: "{item}: {quantity:rounded} short of the spares that were taken",
        Lack.NOT_HERE_YET: "{item}: {quantity:rounded} not here yet, due {due}",
        Lack.ON_HOLD: "{item}: {quantity:rounded} from {place} ON HOLD: {reason}",
        Lack.EXPIRED: (
            "{item}: {quantity:rounded} from {place} EXPIRES {limit}, before the fitting date"
        ),
        Lack.EXPIRED_SINCE: (
            "{item}: {quantity:rounded} from {place} EXPIRED {limit}: it kept to the fitting date,"
            " which is past, and does not keep any longer"
        ),
        Lack.NOBODY_QUALIFIED: (
            "{licence:general}: nobody at this branch is qualified ({asked_by}); sublet that work,"
            " then confirm with the reason"
        ),
        Lack.AGE_UNKNOWN: "{item}: {quantity:rounded} from lot {lot} AGE UNKNOWN: {why}",
        Lack.NOT_IN_KIT: "{item}: {quantity:rounded} not in the kit, and has to be renewed",
        Lack.NOT_RENEWED: (
            "{item}: {quantity:rounded} had to be renewed and was not: the old one went back"
        ),
        Lack.NOTHING_TO_USE: "{item}: {quantity:rounded} not in the kit, and the work uses it up",
        Lack.NOT_FITTED: (
            "{item}: {quantity:rounded} more than may be left over came back or was scrapped, and"
            " has to be renewed: what was there would stay"
        ),
        Lack.NOT_USED: (
            "{item}: all {quantity:rounded} of it came back or was scrapped, and the work uses it"
            " up"
        ),
        Lack.AS_RECORDED: "{text}",
        Lack.CATALOGUE_CHANGED: (
            "the catalogue was changed since it was planned, or what is known of the car was, and"
            " {changes:many thing} would be planned differently"
        ),
        Lack.NEVER_RECORDED: "it was planned by an older program: plan it again",
        Lack.NO_LONGER_PLANNED: "by the catalogue as it is now it cannot be planned: {why}",
    }
)
register(
    {
        LotPlace.ORDER: "order {order}",
        LotPlace.LOT: "lot {lot}",
        LotPlace.LOT_IN_BIN: "lot {lot} in {bin}",
    }
)
register(
    {
        CatalogueChange.NEW: "NEW {what:, }: {now: and }",
        CatalogueChange.GONE: "GONE {what:, }: was {was: and }",
        CatalogueChange.OTHERWISE: "CHANGED {what:, }: was {was: and }, now {now: and }",
    }
)
register(
    {
        PlannedThing.PART: "{item} at {joint}: {position}",
        PlannedThing.ITEM: "{item}",
        PlannedThing.FIGURE: "figure of {item} at {joint}: {position}",
        PlannedThing.STEP: "step {step}",
        PlannedThing.LICENCE: "licence {licence:general}",
        PlannedThing.VARIANT: "variant {variant}",
        PlannedThing.JOINT: "joint {joint}",
        PlannedThing.SERVICE: "service {service}",
        PlannedThing.CAUTION: "caution {caution:general}",
    }
)
register(
    {
        PlannedValue.PART: "{amount} {rule} (criterion {criterion:general})",
        PlannedValue.AMOUNT: "{amount}",
        PlannedValue.HOURS: "{hours} h",
        PlannedValue.FIGURE: "{stages: + }, thread {state}, pattern {pattern}, source {source}",
        PlannedValue.STAGE_ORDER: "stages: {words}",
        PlannedValue.ASKED_BY: "asked by {places:, }",
        PlannedValue.OPEN: "open",
        PlannedValue.MADE: "{made: }",
        PlannedValue.GROUP: "renewed whole with group {group}",
        PlannedValue.STANDS_FOR: "stands in for {item}",
        PlannedValue.LUBRICANT: "assembled with {what}",
        PlannedValue.SUITS: "{rubber} suits {what}",
        PlannedValue.BROUGHT: "{amount} from packet {packet}",
        PlannedValue.HAZARDS: "{words:general}",
        PlannedValue.DOUBT: "{verdict}: {why}",
        PlannedValue.HEAD: "head {head}",
        PlannedValue.SYSTEM: "system {system:general}",
        PlannedValue.FLUIDS: "holds back {fluids:general}",
        PlannedValue.APPLIES: "applies to {places:, }",
    }
)


# A reason stays on record from the step at which it was given: later states may have it of any.
_OVERRIDES = {
    BookingState.ON_THE_RAMP: N_("Confirmed or put on the ramp incomplete"),
    BookingState.CLOSED: N_("Gone on or closed despite what was not fine"),
}


def override_heading(state: BookingState) -> str:
    """What the reason on record of a booking in a state was given for."""
    return _(_OVERRIDES.get(state, N_("Confirmed incomplete")))


def booked_text(booked: BookedJobView) -> str:
    """That a job of a car is booked already: "J1 is booked already: B0001 on Wed 15 Apr 2026"."""
    return _(
        "{job} is booked already: {booking} on {on:%a %d %b %Y}",
        job=booked.job,
        booking=booked.booking,
        on=booked.on,
    )


# What a customer brought, wherever its lot is named.
THEIRS = N_("the customer's own part")


def theirs_text(part: TheirsView) -> str:
    """What of a customer's own still lies here: "STILL HERE, the customer's own part: 2 × …"."""
    where = _(" in {bin}", bin=part.bin) if part.bin else ""
    amount = show_quantity(part.quantity, part.unit)
    return _(
        "STILL HERE, {theirs}: {amount} {item}, lot {lot}{where}",
        theirs=_(THEIRS),
        amount=amount,
        item=part.item,
        lot=part.lot,
        where=where,
    )


def source_text(source: PromisedView) -> str:
    """What a part of a need comes from: "lot A in S1-01", "order P0001 from Prompt"."""
    if source.kind is SourceKind.ORDER:
        return _("order {order} from {supplier}", order=source.order, supplier=source.supplier)
    whose = f", {_(THEIRS)}" if source.customers else ""
    return (
        _("lot {lot} in {bin}", lot=source.lot, bin=source.bin)
        if source.bin
        else _("lot {lot}", lot=source.lot)
    ) + whose


def with_due(text: str, source: PromisedView) -> str:
    """What tells goods to come, with the day: "order P0003, due 2026-04-10", or OVERDUE."""
    if source.due is None:
        return text
    if source.overdue:
        return _("{source}, OVERDUE: was due {day}", source=text, day=day(source.due))
    return _("{source}, due {day}", source=text, day=day(source.due))


def picked_text(source: PromisedView, unit: str) -> str:
    """What of a source is in the kit: "", ", in the kit", ", 7 in the kit, 5 on the shelf"."""
    if not source.picked:
        return ""
    if source.picked >= source.quantity:
        return _(", in the kit")
    there = format_quantity(source.picked, unit)
    rest = format_quantity(source.quantity - source.picked, unit)
    return _(", {there} in the kit, {rest} on the shelf", there=there, rest=rest)


def source_warning(source: PromisedView) -> str | None:
    """What is wrong with a source, or not known of it; None where nothing is."""
    if source.state is LotState.ON_HOLD:
        return _("ON HOLD: {on_hold}", on_hold=source.on_hold)
    if source.state is LotState.EXPIRED and source.keeps_to is not None:
        return _("EXPIRES {keeps_to}, before it is fitted", keeps_to=day(source.keeps_to))
    if source.state is LotState.AGE_UNKNOWN:
        return age_unknown_text(source.keeps_to, source.keeps_why)
    if source.late and not source.overdue and source.due_late is not None:
        return _("may come as late as {due_late}", due_late=day(source.due_late))
    return None


def age_unknown_text(keeps_to: date | None, why: Reason | None) -> str:
    """That nobody knows how old a lot is; a day to which it keeps is then only the latest."""
    if keeps_to is None:
        return _("AGE UNKNOWN: {keeps_why}", keeps_why=say(why)) if why else _("AGE UNKNOWN")
    if why is None:
        return _("AGE UNKNOWN, keeps to {day} at most", day=day(keeps_to))
    return _("AGE UNKNOWN, keeps to {day} at most ({why})", day=day(keeps_to), why=say(why))


def keeping_texts(source: PromisedView) -> tuple[str, ...]:
    """To which day a lot keeps, and what is wrong with it or not known of it; each day once."""
    keeps = None
    if source.keeps_to and source.state not in (LotState.AGE_UNKNOWN, LotState.EXPIRED):
        keeps = _("keeps to {day}", day=day(source.keeps_to))
    return tuple(filter(None, (keeps, source_warning(source))))


def old_in_part(need: NeededView) -> str:
    """That stock of unknown age meets a part of a need: "IN PART OLD STOCK: 2 of 4 …"."""
    old, all_of_it = (show_quantity(n, need.unit) for n in (need.age_unknown, need.needed))
    return _("IN PART OLD STOCK: {old} of {all_of_it} of unknown age", old=old, all_of_it=all_of_it)


def elsewhere_text(found: ElsewhereView, unit: str) -> str:
    """Who else has it: "4 promised to B0001", "5 free in quay"."""
    amount = show_quantity(found.quantity, unit)
    if found.kind is ElsewhereKind.PROMISED:
        return _("{amount} promised to {booking}", amount=amount, booking=found.booking)
    if found.kind is ElsewhereKind.HERE:
        return _("{amount} free here: not promised to it yet", amount=amount)
    state = _("free") if found.kind is ElsewhereKind.FREE else _("expired or on hold")
    return _("{amount} {state} in {branch}", amount=amount, state=state, branch=found.branch)


def unaccounted_text(parts: UnaccountedView) -> str:
    """What is unaccounted for: "B0001: 2 CLIP-CONNECTOR"."""
    return f"{parts.booking}: {format_quantity(parts.quantity, parts.unit)} {parts.item}"
