"""Kits in words: amounts, packs, lots, lubricants, what tells a ring from another."""

from __future__ import annotations

from collections.abc import Iterable

from kitting.facts.reasons import Reason
from kitting.facts.words import NeedRule
from kitting.views.kit import (
    AppliedView,
    Bag,
    BagLine,
    ContentView,
    DiffersView,
    EndLabel,
    LeftOff,
    SealReason,
    ShortageView,
)
from kitting.wording.bookings import elsewhere_text
from kitting.wording.elastomers import rubber_name
from kitting.wording.figures import NO_SOURCE, format_quantity, many, show_quantity
from kitting.wording.language import _
from kitting.wording.reasons import register, say

register(
    {
        LeftOff.STOPPED: "{jobs}: {question} {check}",
        LeftOff.CLASH: "{what} is left off: {clash}",
        LeftOff.SEALS_NOT_COUNTED: "OLD SEALS NOT COUNTED: {joints}",
        LeftOff.NOT_READY: "NOT READY: {lack}",
    }
)
register(
    {
        SealReason.STILL_IN_THERE: "{name}: {missing} still in there; look first at {positions}",
        SealReason.TOO_MANY: (
            "{name}: {counted} out, {expected} expected: one was doubled before, or it came from"
            " another joint"
        ),
        SealReason.NOT_COUNTED: "old seals not counted out of {joints}",
    }
)


def amount_text(content: ContentView) -> str:
    """How much: "4", "up to 2" of a spare, "18.9 ml"."""
    shown = show_quantity if content.rule is NeedRule.USE else format_quantity
    amount = shown(content.quantity, content.unit)
    return _("up to {amount}", amount=amount) if content.spare else amount


def passed_text() -> str:
    """Of what passed its look: nothing new goes in."""
    return _("PASSED, THE OLD ONE GOES BACK")


def with_kept(line: BagLine, what: str) -> str:
    """What of a line goes in, and how many old ones beside it: "1 × CLIP, 2 PASSED: GO BACK"."""
    if not line.kept:
        return what
    kept = format_quantity(line.kept, line.content.unit)
    return _("{what}, {kept} PASSED: GO BACK", what=what, kept=kept)


def pack_text(packs: int | None, pack: int | None, unit: str) -> str | None:
    """How many packs an amount takes: "1 pack of 70 ml"; None where packs do not matter."""
    if packs is None or pack is None or (pack == 1000 and unit == "each") or packs == 0:
        return None
    return _("{many} of {pack}", many=many(packs, "pack"), pack=format_quantity(pack, unit))


def detail_text(content: ContentView) -> str:
    """Size, material, colour as supplied, packs; "" where none is stated."""
    parts = (
        content.size,
        content.material,
        content.colour and _("colour as supplied: {colour}", colour=content.colour),
        pack_text(content.packs, content.pack, content.unit),
    )
    return ", ".join(part for part in parts if part is not None)


def counted_text(quantity: int, unit: str, item: str) -> str:
    """So much of an item: "2 × RING", "18.9 ml of SEALANT"."""
    amount = show_quantity(quantity, unit)
    return (
        f"{amount} × {item}"
        if unit == "each"
        else _("{amount} of {item}", amount=amount, item=item)
    )


def shortage_text(shortage: ShortageView, elsewhere: bool = True) -> str:
    """What is short: "2 × RING (4 promised to B0001)"."""
    others = "; ".join(elsewhere_text(found, shortage.unit) for found in shortage.elsewhere)
    short = counted_text(shortage.quantity, shortage.unit, shortage.item)
    return short + (f" ({others})" if others and elsewhere else "")


def lubricants_texts(line: BagLine) -> tuple[str, ...]:
    """What a content of a bag is assembled with, and that it is not said of all of it."""
    told = tuple(map(lubricant_text, line.lubricants))
    return (*told, _("NOT STATED for all of it")) if told and line.unstated else told


def lubricant_text(lubricant: Reason | None, sourced: bool = True) -> str:
    """How a ring goes in: the product, that it goes in dry, or that nobody says."""
    without = "" if sourced else f" ({_(NO_SOURCE)})"
    return _("no lubricant stated") if lubricant is None else f"{say(lubricant)}{without}"


def applied_text(uses: Iterable[AppliedView]) -> str:
    """ "flange sealant; threadlocker (bolts 1 to 4)": what is applied where a bag goes."""
    return "; ".join(
        f"{use.name} ({', '.join(use.positions)})" if use.positions else use.name for use in uses
    )


def left_off_text(bag: Bag) -> str:
    """ "LEFT OFF, not in this bag: 1 × ring (groove)": what belongs where a bag goes."""
    missing = (
        f"{amount_text(line.content)} × {line.content.name} ({', '.join(line.positions)})"
        for line in bag.left_off
    )
    return _("LEFT OFF, not in this bag: {listed}", listed="; ".join(missing))


def part_text(bag: Bag) -> str:
    """ "bag 1 of 2 of this joint"; "" where it has only this one."""
    return (
        _("bag {part} of {parts} of this joint", part=bag.part, parts=bag.parts)
        if bag.parts > 1
        else ""
    )


def rubber_text(end: EndLabel) -> str:
    """The rubber in words: "FKM, fluorocarbon rubber, hardness 75"."""
    hardness = (
        _("hardness not stated")
        if end.hardness is None
        else _("hardness {hardness}", hardness=end.hardness)
    )
    if end.elastomer is None:
        return _("rubber not stated, {hardness}", hardness=hardness)
    parts = (end.elastomer, rubber_name(end.elastomer), hardness)
    return ", ".join(part for part in parts if part)


def differs_text(other: DiffersView) -> str:
    """What tells a ring from another: "not short leg (17 × 2 mm, FKM 75): section 2.5 mm, …"."""
    size = other.size or _("size not stated")
    what = f"{size}, {other.material}" if other.material else size
    return _(
        "not {listed} ({what}): {difference}",
        listed=" / ".join(other.ends),
        what=what,
        difference=say(other.difference),
    )
