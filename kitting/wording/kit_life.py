"""The life of a kit in words: what lies in it, what happened to it, what a change came to."""

from __future__ import annotations

from kitting.facts.words import KitEventKind, KitWhy, LotState, NeedRule
from kitting.views.kit_life import (
    KitChangeView,
    KitEventView,
    KitLineView,
    KitNowView,
    KitPartView,
    LabelReadView,
    SetAsideView,
    TrayView,
)
from kitting.wording.bookings import THEIRS, age_unknown_text
from kitting.wording.figures import day, format_quantity
from kitting.wording.kit import counted_text
from kitting.wording.language import N_, _

WHYS: dict[KitWhy, str] = {
    KitWhy.LOST: N_("lost"),
    KitWhy.DROPPED: N_("dropped"),
    KitWhy.DAMAGED: N_("damaged"),
    KitWhy.FAULTY: N_("faulty as it came"),
    KitWhy.EXTRA: N_("more than planned"),
}
_FOR = {
    NeedRule.RENEW: N_("to be renewed"),
    NeedRule.USE: N_("used up"),
    NeedRule.INSPECT: N_("spare"),
    NeedRule.KEEP: N_("NOT NEEDED: goes back"),
}


def set_aside_text(view: SetAsideView) -> str:
    """Where a car waits: "SET ASIDE in bay 4 since 2026-04-16: waits for the head. Until …"."""
    until = (
        _(", until {until}", until=day(view.until))
        if view.until
        else _(", until when is not known")
    )
    why = f": {view.why}" if view.why else ""
    return _(
        "SET ASIDE in {place} since {day}{until}{why}",
        place=view.place,
        day=day(view.since.date()),
        until=until,
        why=why,
    )


def kit_in_text(place: str) -> str:
    """Where a kit lies that is not in the branch of its booking: "THE KIT LIES IN van1"."""
    return _("THE KIT LIES IN {place}", place=place)


def line_purpose(line: KitLineView) -> str:
    """For what a line lies in the kit: "to be renewed", "spare", "NOT NEEDED: goes back"."""
    if line.extra == line.quantity:
        return _("more than planned: asked for at closing")
    if line.extra:
        extra = format_quantity(line.extra, line.unit)
        return _(
            "{purpose}; {extra} more than planned, asked for at closing",
            purpose=_(_FOR[line.rule]),
            extra=extra,
        )
    return _(_FOR[line.rule])


def line_state(line: KitLineView) -> str:
    """How a lot in a kit stands on the day of fitting: "keeps to …", "EXPIRES …", "ON HOLD: …"."""
    return f"{_(THEIRS)}, {_state(line)}" if line.customers else _state(line)


def _state(line: KitLineView) -> str:
    if line.state is LotState.ON_HOLD:
        return _("ON HOLD: {on_hold}", on_hold=line.on_hold)
    if line.state is LotState.EXPIRED and line.keeps_to is not None:
        return _("EXPIRES {keeps_to}", keeps_to=day(line.keeps_to))
    if line.state is LotState.AGE_UNKNOWN:
        return age_unknown_text(line.keeps_to, line.keeps_why)
    return _("keeps to {keeps_to}", keeps_to=day(line.keeps_to)) if line.keeps_to else _("keeps")


def line_place(line: KitLineView) -> str:
    """Where a line goes: "bag 3 intake", "tray 2, bag 3 intake"; nothing where it lies loose."""
    if not line.bags:
        return _("loose")
    trays = _("tray {listed}, ", listed=", ".join(map(str, line.trays))) if line.trays else ""
    word = _("bag") if len(line.bags) == 1 else _("bags")
    return f"{trays}{word} {', '.join(map(str, line.bags))}: {', '.join(line.joints)}"


def event_text(event: KitEventView) -> str:
    """What happened to a kit in a line, without its time."""
    amount = ""
    if event.item is not None and event.quantity is not None:
        amount = f"{format_quantity(event.quantity, event.unit or 'each')} {event.item}"
        amount += _(" of lot {lot}", lot=event.lot) if event.lot else ""
    texts = {
        KitEventKind.GONE: _("{amount} gone", amount=amount),
        KitEventKind.DRAWN: _("{amount} drawn", amount=amount),
        KitEventKind.RETURNED: _("{amount} put back", amount=amount),
        KitEventKind.LENT: _("{amount} lent to {other}", amount=amount, other=event.other),
        KitEventKind.BORROWED: _(
            "{amount} borrowed from {other}", amount=amount, other=event.other
        ),
        KitEventKind.SET_ASIDE: _("set aside in {place}", place=event.place)
        + (_(" until {until}", until=day(event.until)) if event.until else ""),
        KitEventKind.TAKEN_UP: _("taken up again"),
        KitEventKind.MOVED: _("moved whole to {place}", place=event.place),
        KitEventKind.TOLD_USED: _("{amount} used, as told at closing", amount=amount),
        KitEventKind.CORRECTED: _("{amount} corrected after closing", amount=amount),
    }
    why = ": ".join(text for text in (event.why and WHYS[event.why], event.note) if text)
    who = f" ({event.told_by})" if event.told_by else ""
    return f"{texts[event.kind]}{': ' if why else ''}{why}{who}"


def part_text(part: KitPartView, other: str | None = None) -> str:
    """What moved: "1 each SEAL of lot A gone", "1 each SEAL from lot B in S1-02 into the kit"."""
    amount = f"{format_quantity(part.quantity, part.unit)} {part.item}"
    lot = (
        _("lot {lot} in {bin}", lot=part.lot, bin=part.bin)
        if part.bin
        else _("lot {lot}", lot=part.lot)
    )
    texts = {
        KitEventKind.GONE: _("gone: {amount} of lot {lot}", amount=amount, lot=part.lot),
        KitEventKind.DRAWN: _("into the kit: {amount} from {lot}", amount=amount, lot=lot),
        KitEventKind.RETURNED: _("back: {amount} to {lot}", amount=amount, lot=lot),
        KitEventKind.LENT: _(
            "lent: {amount} of lot {lot} to {other}", amount=amount, lot=part.lot, other=other
        ),
    }
    return texts[part.kind]


def change_texts(view: KitChangeView) -> list[str]:
    """What the booking has of an item after a change of its kit, in lines."""
    found = []
    if view.promised:
        amount = format_quantity(view.promised, view.unit)
        found.append(
            _(
                "on the shelf for {booking}: {amount} {item}",
                booking=view.booking,
                amount=amount,
                item=view.item,
            )
        )
    if view.coming:
        amount = format_quantity(view.coming, view.unit)
        found.append(
            _(
                "on order for {booking}: {amount} {item}",
                booking=view.booking,
                amount=amount,
                item=view.item,
            )
        )
    if view.short:
        amount = format_quantity(view.short, view.unit)
        found.append(
            _(
                "SHORT: {booking} lacks {amount} {item}",
                booking=view.booking,
                amount=amount,
                item=view.item,
            )
        )
    found += [
        _("{number} was confirmed and lacks something now: it is provisional again", number=number)
        for number in view.taken_back
    ]
    return found


def tray_text(view: TrayView) -> str:
    """A tray in a line: "tray 2: bag 3 throttle, bag 4 intake"."""
    word = _("bag") if len(view.bags) == 1 else _("bags")
    numbers = ", ".join(map(str, view.bags))
    return _(
        "tray {tray}: {word} {numbers} ({listed})",
        tray=view.tray,
        word=word,
        numbers=numbers,
        listed=", ".join(view.joints),
    )


def label_text(view: LabelReadView) -> list[str]:
    """What the code of a label says, a line each."""
    bag = "" if view.bag is None else f"-{view.bag:02d}"
    bag += "" if view.end is None else f"-{view.end}"
    by_now = _by_now if view.bag is None else _bag_by_now
    if view.current:
        what = _("bag {bag} ({joint}) of ", bag=view.bag, joint=view.joint) if view.joint else ""
        if view.positions:
            what = _("{positions} in {what}", positions=", ".join(view.positions), what=what)
        head = f"{view.code}{bag}: {what}"
        tray = [] if view.tray is None else [_("It lies on tray {tray}.", tray=view.tray)]
        return [
            text for kit in view.kits for text in (f"{head}{_kit_now(kit)}", *tray, *by_now(kit))
        ]
    return [
        _outdated(view.code + bag, whole=view.bag is None),
        *(_("{code} is {kit_now}", code=kit.code, kit_now=_kit_now(kit)) for kit in view.kits),
        _("Print the labels again, and check what is in the bags against them."),
    ]


def _outdated(code: str, *, whole: bool) -> str:
    """That the kit is another by now; its code does not tell in which of its bags."""
    if whole:
        text = N_("{code} IS OUTDATED: the kit was changed since this label was printed.")
        return _(text, code=code)
    return _(
        "{code} IS OUTDATED: the kit was changed since this label was printed; whether this bag is"
        " one of what changed is not known.",
        code=code,
    )


def _lacking(kit: KitNowView) -> list[str]:
    """What is not there, or not known of what is there, as it is now."""
    found = [
        _("SHORT: {what}", what=counted_text(one.quantity, one.unit, one.item)) for one in kit.short
    ]
    found += [
        _("NOT HERE YET: {what}", what=counted_text(one.quantity, one.unit, one.item))
        for one in kit.coming
    ]
    return found + [_("AGE UNKNOWN: {what}", what=item) for item in kit.age_unknown]


def _by_now(kit: KitNowView) -> list[str]:
    """What the label of a kit tells beside its code, as it is now: lots change, contents do not."""
    found = _lacking(kit)
    if kit.keeps_to is not None:
        found.insert(0, _("earliest expiry {keeps_to}", keeps_to=day(kit.keeps_to)))
    if not found:
        return [_("By now nothing in it expires and nothing is short: compare the label.")]
    return [_("By now: {listed}. Compare the label.", listed="; ".join(found))]


def _bag_by_now(kit: KitNowView) -> list[str]:
    """The same of a bag: its label has the day of each lot, and none that is the earliest."""
    found = _lacking(kit)
    told = (
        _("By now, of this bag: {listed}. Compare the label.", listed="; ".join(found))
        if found
        else _("By now nothing of this bag is short.")
    )
    if kit.keeps_to is None:
        return [told]
    return [told, _("What expires first in this bag keeps to {day}.", day=day(kit.keeps_to))]


def _kit_now(kit: KitNowView) -> str:
    place = f". {kit_in_text(kit.kit_in)}" if kit.kit_in else ""
    return _(
        "the kit of {booking} {vehicle}: {listed} on {on}{place}",
        booking=kit.booking,
        vehicle=kit.vehicle,
        listed=", ".join(kit.jobs),
        on=kit.on,
        place=place,
    )
