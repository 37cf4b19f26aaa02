"""The life of a kit in words: what lies in it, what happened to it, what a change came to."""

from __future__ import annotations

from kitting.facts.units import format_quantity
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
from kitting.wording.bookings import THEIRS
from kitting.wording.figures import day
from kitting.wording.reasons import say

WHYS: dict[KitWhy, str] = {
    KitWhy.LOST: "lost",
    KitWhy.DROPPED: "dropped",
    KitWhy.DAMAGED: "damaged",
    KitWhy.FAULTY: "faulty as it came",
    KitWhy.EXTRA: "more than planned",
}
_FOR = {
    NeedRule.RENEW: "to be renewed",
    NeedRule.USE: "used up",
    NeedRule.INSPECT: "spare",
    NeedRule.KEEP: "NOT NEEDED: goes back",
}


def set_aside_text(view: SetAsideView) -> str:
    """Where a car waits: "SET ASIDE in bay 4 since 2026-04-16: waits for the head. Until …"."""
    until = f", until {day(view.until)}" if view.until else ", until when is not known"
    why = f": {view.why}" if view.why else ""
    return f"SET ASIDE in {view.place} since {day(view.since.date())}{until}{why}"


def kit_in_text(place: str) -> str:
    """Where a kit lies that is not in the branch of its booking: "THE KIT LIES IN van1"."""
    return f"THE KIT LIES IN {place}"


def line_purpose(line: KitLineView) -> str:
    """For what a line lies in the kit: "to be renewed", "spare", "NOT NEEDED: goes back"."""
    if line.extra == line.quantity:
        return "more than planned: asked for at closing"
    if line.extra:
        extra = format_quantity(line.extra, line.unit)
        return f"{_FOR[line.rule]}; {extra} more than planned, asked for at closing"
    return _FOR[line.rule]


def line_state(line: KitLineView) -> str:
    """How a lot in a kit stands on the day of fitting: "keeps to …", "EXPIRES …", "ON HOLD: …"."""
    return f"{THEIRS}, {_state(line)}" if line.customers else _state(line)


def _state(line: KitLineView) -> str:
    if line.state is LotState.ON_HOLD:
        return f"ON HOLD: {line.on_hold}"
    if line.state is LotState.EXPIRED and line.keeps_to is not None:
        return f"EXPIRES {day(line.keeps_to)}"
    if line.state is LotState.AGE_UNKNOWN:
        return f"AGE UNKNOWN: {say(line.keeps_why)}" if line.keeps_why else "AGE UNKNOWN"
    return f"keeps to {day(line.keeps_to)}" if line.keeps_to else "keeps"


def line_place(line: KitLineView) -> str:
    """Where a line goes: "bag 3 intake", "tray 2, bag 3 intake"; nothing where it lies loose."""
    if not line.bags:
        return "loose"
    trays = f"tray {', '.join(map(str, line.trays))}, " if line.trays else ""
    word = "bag" if len(line.bags) == 1 else "bags"
    return f"{trays}{word} {', '.join(map(str, line.bags))}: {', '.join(line.joints)}"


def event_text(event: KitEventView) -> str:
    """What happened to a kit in a line, without its time."""
    amount = ""
    if event.item is not None and event.quantity is not None:
        amount = f"{format_quantity(event.quantity, event.unit or 'each')} {event.item}"
        amount += f" of lot {event.lot}" if event.lot else ""
    texts = {
        KitEventKind.GONE: f"{amount} gone",
        KitEventKind.DRAWN: f"{amount} drawn",
        KitEventKind.RETURNED: f"{amount} put back",
        KitEventKind.LENT: f"{amount} lent to {event.other}",
        KitEventKind.BORROWED: f"{amount} borrowed from {event.other}",
        KitEventKind.SET_ASIDE: f"set aside in {event.place}"
        + (f" until {day(event.until)}" if event.until else ""),
        KitEventKind.TAKEN_UP: "taken up again",
        KitEventKind.MOVED: f"moved whole to {event.place}",
        KitEventKind.TOLD_USED: f"{amount} used, as told at closing",
        KitEventKind.CORRECTED: f"{amount} corrected after closing",
    }
    why = ": ".join(text for text in (event.why and WHYS[event.why], event.note) if text)
    who = f" ({event.told_by})" if event.told_by else ""
    return f"{texts[event.kind]}{': ' if why else ''}{why}{who}"


def part_text(part: KitPartView, other: str | None = None) -> str:
    """What moved: "1 each SEAL of lot A gone", "1 each SEAL from lot B in S1-02 into the kit"."""
    amount = f"{format_quantity(part.quantity, part.unit)} {part.item}"
    lot = f"lot {part.lot} in {part.bin}" if part.bin else f"lot {part.lot}"
    texts = {
        KitEventKind.GONE: f"gone: {amount} of lot {part.lot}",
        KitEventKind.DRAWN: f"into the kit: {amount} from {lot}",
        KitEventKind.RETURNED: f"back: {amount} to {lot}",
        KitEventKind.LENT: f"lent: {amount} of lot {part.lot} to {other}",
    }
    return texts[part.kind]


def change_texts(view: KitChangeView) -> list[str]:
    """What the booking has of an item after a change of its kit, in lines."""
    found = []
    if view.promised:
        amount = format_quantity(view.promised, view.unit)
        found.append(f"on the shelf for {view.booking}: {amount} {view.item}")
    if view.coming:
        amount = format_quantity(view.coming, view.unit)
        found.append(f"on order for {view.booking}: {amount} {view.item}")
    if view.short:
        amount = format_quantity(view.short, view.unit)
        found.append(f"SHORT: {view.booking} lacks {amount} {view.item}")
    found += [
        f"{number} was confirmed and lacks something now: it is provisional again"
        for number in view.taken_back
    ]
    return found


def tray_text(view: TrayView) -> str:
    """A tray in a line: "tray 2: bag 3 throttle, bag 4 intake"."""
    word = "bag" if len(view.bags) == 1 else "bags"
    numbers = ", ".join(map(str, view.bags))
    return f"tray {view.tray}: {word} {numbers} ({', '.join(view.joints)})"


def label_text(view: LabelReadView) -> list[str]:
    """What the code of a label says, a line each."""
    bag = "" if view.bag is None else f"-{view.bag:02d}"
    bag += "" if view.end is None else f"-{view.end}"
    if view.current:
        what = f"bag {view.bag} ({view.joint}) of " if view.joint else ""
        if view.positions:
            what = f"{', '.join(view.positions)} in {what}"
        head = f"{view.code}{bag}: {what}"
        tray = [] if view.tray is None else [f"It lies on tray {view.tray}."]
        return [
            text for kit in view.kits for text in (f"{head}{_kit_now(kit)}", *tray, *_by_now(kit))
        ]
    return [
        f"{view.code}{bag} IS OUTDATED: the contents have changed since this label was printed.",
        *(f"{kit.code} is {_kit_now(kit)}" for kit in view.kits),
        "Print the labels again, and check what is in the bags against them.",
    ]


def _by_now(kit: KitNowView) -> list[str]:
    """What a label tells beside its code, as it is now: lots change without the contents."""
    found = [] if kit.keeps_to is None else [f"earliest expiry {day(kit.keeps_to)}"]
    found += [f"SHORT: {format_quantity(one.quantity, one.unit)} × {one.item}" for one in kit.short]
    if not found:
        return ["By now nothing in it expires and nothing is short: compare the label."]
    return [f"By now: {'; '.join(found)}. Compare the label."]


def _kit_now(kit: KitNowView) -> str:
    place = f". {kit_in_text(kit.kit_in)}" if kit.kit_in else ""
    return f"the kit of {kit.booking} {kit.vehicle}: {', '.join(kit.jobs)} on {kit.on}{place}"
