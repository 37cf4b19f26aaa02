"""The words of labels: short, for what has to be read on the smallest one."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from kitting.facts.plan_reasons import LubricantReason
from kitting.facts.units import Quantity
from kitting.facts.words import NeedRule
from kitting.views.bookings import PromisedView, SourceKind
from kitting.views.kit import Bag, BagLine, DiffersView, EndLabel, HazardView, KitView
from kitting.wording.bookings import keeping_texts, with_due
from kitting.wording.figures import NO_SOURCE, amount, day
from kitting.wording.kit import counted_text, lubricant_text
from kitting.wording.language import N_, _, general_text, in_figures, n_

_NAMED = 3  # so many items are named; of more only how many there are
PICKED = N_("picked by ____________  date ________")


def bag_head(bag: Bag, kit: KitView) -> tuple[str, str]:
    """ "BAG 3 of 7", and "BAG 3" where there is room for no more."""
    return (
        _("BAG {number} of {count}", number=bag.number, count=len(kit.bags)),
        bag_name(bag),
    )


def bag_name(bag: Bag) -> str:
    """ "BAG 3"."""
    return _("BAG {number}", number=bag.number)


def tray_text(bag: Bag) -> str:
    """ "TRAY 2"; "" where the kit is not split."""
    return "" if bag.tray is None else _("TRAY {number}", number=bag.tray)


def kit_name(kit: KitView) -> str:
    """ "KIT K42TV6M0"."""
    return _("KIT {code}", code=kit.reference)


def plate_text(kit: KitView) -> str:
    """The plate and the day, which keep a line of their own."""
    if not kit.plate:
        return _("fit on {day}", day=day(kit.on))
    return _("{plate}, fit on {day}", plate=kit.plate, day=day(kit.on))


def bags_text(count: int) -> str:
    """How many bags there are."""
    return n_("{count} bag", "{count} bags, refit from bag 1 upwards", count)


def place_name(ends: Sequence[EndLabel]) -> str:
    """What the place of some rings is called: the end by what is seen, or else the positions."""
    return ends[0].end or positions_text([end.position for end in ends])


def positions_text(positions: Sequence[str]) -> str:
    """Positions in a row, what they have in common said once.

    >>> positions_text(["port 1", "port 2", "port 10"]), positions_text(["left", "right"])
    ('port 1, 2, 10', 'left, right')
    """
    if not positions:
        return ""
    first, *others = positions
    shared = first[: first.rfind(" ") + 1]
    if not shared or not all(one.startswith(shared) for one in others):
        return ", ".join(positions)
    return ", ".join([first, *(one.removeprefix(shared) for one in others)])


def ring_text(end: EndLabel) -> str:
    """Size and rubber: "17 × 2.5 mm FKM 75"."""
    material = end.content.material or _("material not stated")
    if end.content.size:
        return f"{in_figures(end.content.size)} {material}"
    return _("{material}, size not stated", material=material)


def swap_text(other: DiffersView) -> str:
    """What it must not be taken for, as short as it can be said: "NOT the 17 × 2 EPDM 70"."""
    if other.size and other.material:
        size = in_figures(other.size.removesuffix(" mm"))
        return _("NOT the {size} {material}", size=size, material=other.material)
    if other.size:
        return _("NOT the {size}", size=in_figures(other.size))
    if other.material:
        where = " / ".join(other.ends)
        return _("NOT the {material} of {where}", material=other.material, where=where)
    return _("NOT that of {where}", where=" / ".join(other.ends))


def rings_text(ends: Sequence[EndLabel]) -> str:
    """How many of which item: "4 × SEAL-INTAKE", "up to 1 × RING" of a spare."""
    content = ends[0].content
    many = amount(sum(end.content.quantity for end in ends), content.unit)
    if content.passed:
        return f"{many} × {content.item}"
    if content.rule is NeedRule.INSPECT:
        return _("up to {amount} × {item}", amount=many, item=content.item)
    return f"{many} × {content.item}"


def lubricant_short(end: EndLabel) -> str:
    """How a ring goes in, as short as it can be said: "FIT DRY", "GREASE-A, 0.2 ml"."""
    reason = end.lubricant
    if reason is None:
        return lubricant_text(None)
    if reason.code == LubricantReason.DRY:
        short = _("FIT DRY")
    elif reason.code == LubricantReason.PRODUCT:
        values = dict(reason.values)
        put_on = values["amount"]
        shown = amount(put_on.thousandths, put_on.unit) if isinstance(put_on, Quantity) else put_on
        short = f"{values['item']}, {shown}"
    else:
        return lubricant_text(reason, end.lubricant_sourced)
    return short if end.lubricant_sourced else f"{short} ({_(NO_SOURCE)})"


def dry_texts(lines: Iterable[BagLine]) -> list[str]:
    """What of a bag goes together dry, by item: "FIT DRY: SEAL-A"; of many how many, "FIT DRY: 9".

    In part where a place of it does not.
    """
    dry: dict[bool, dict[str, None]] = {True: {}, False: {}}
    for line in lines:
        if any(one.code == LubricantReason.DRY for one in line.lubricants):
            dry[line.goes_dry][line.content.item] = None
    texts = {True: N_("FIT DRY: {items}"), False: N_("FIT DRY in part: {items}")}
    return [
        _(texts[whole], items=", ".join(items) if len(items) <= _NAMED else len(items))
        for whole, items in dry.items()
        if items
    ]


def count_text(count: str) -> str:
    """The line on which the old seals are counted."""
    return _("count OLD out: ____ of {count}", count=count)


def hazard_texts(words: Iterable[str], warnings: Iterable[HazardView]) -> list[str]:
    """Words of warning with what each comes of: "Coolant: POISONOUS" is not of the seals.

    Where that says the word already, it stands for it: "FLAMMABLE SOLVENT".
    """
    sources: dict[str, list[str]] = {general_text(word): [] for word in words}
    for one in warnings:
        sources.setdefault(general_text(one.word), []).append(general_text(one.of))
    return [_hazard_text(word, found) for word, found in sources.items()]


def _hazard_text(word: str, sources: Sequence[str]) -> str:
    if not sources:
        return word
    said = set(sources[0].upper().split())
    if len(sources) == 1 and said.issuperset(word.upper().split()):
        return sources[0].upper()
    return _("{what}: {word}", what=" / ".join(sources), word=word)


def lacking_texts(lines: Iterable[BagLine]) -> list[str]:
    """What is not in a bag: "SHORT: 1 × RING-A", "NOT HERE YET: 2 × RING-B (order P0003 …)"."""
    found = []
    # A bag may have several lines of an item, of which the same is short.
    for line in by_item(lines):
        content = line.content
        if line.short:
            short = counted_text(line.short, content.unit, content.item)
            found.append(_("SHORT: {what}", what=short))
        found += coming_texts(line)
    return found


def by_item(lines: Iterable[BagLine]) -> Iterable[BagLine]:
    """Lines of a bag as one for each item, with all that is short and all lots of it."""
    whole: dict[str, BagLine] = {}
    for line in lines:
        known = whole.get(line.content.item)
        whole[line.content.item] = (
            line
            if known is None
            else replace(known, short=known.short + line.short, lots=(*known.lots, *line.lots))
        )
    return whole.values()


def coming_texts(line: BagLine | EndLabel) -> list[str]:
    """What is still to come: "NOT HERE YET: 2 × RING-B (order P0003, due 2026-04-14)"."""
    return [
        _("NOT HERE YET: {what}", what=f"{coming} ({order})") for coming, order in _coming(line)
    ]


def _coming(line: BagLine | EndLabel) -> list[tuple[str, str]]:
    """How much is still to come, and how it comes."""
    return [
        (
            counted_text(lot.quantity, line.content.unit, line.content.item),
            with_due(_("order {order}", order=lot.order), lot),
        )
        for lot in line.lots
        if lot.kind is SourceKind.ORDER
    ]


def lacking_ring_text(ends: Sequence[EndLabel]) -> str:
    """That rings are not there whose label this is: "SHORT: 1 of 4 not in this bag"; or ""."""
    unit = ends[0].content.unit
    wanted = sum(end.content.quantity for end in ends)
    coming = sum(lot.quantity for end in ends for lot in end.lots if lot.kind is SourceKind.ORDER)
    for lacking, text in (
        (sum(end.short for end in ends), N_("SHORT: {lacking} of {wanted} not in this bag")),
        (coming, N_("NOT HERE YET: {lacking} of {wanted} not in this bag")),
        (sum(end.missing for end in ends), N_("SPARE NOT IN KIT: {lacking} of {wanted}")),
    ):
        if lacking:
            return _(text, lacking=amount(lacking, unit), wanted=amount(wanted, unit))
    return ""


def lots_text(lots: Iterable[PromisedView], unit: str) -> str:
    """The lots of what is in a bag: "lot A, keeps to 2034-12-31; lot B (2)"; "" where none is."""
    shown: dict[str, int] = {}
    for lot in lots:
        if lot.lot is not None:
            name = ", ".join((_("lot {lot}", lot=lot.lot), *keeping_texts(lot)))
            shown[name] = shown.get(name, 0) + lot.quantity
    if len(shown) == 1:
        return next(iter(shown))
    return "; ".join(f"{name} ({amount(count, unit)})" for name, count in shown.items())


def colour_text(colour: str) -> str:
    """The colour, which tells no rubber."""
    return _("colour as supplied: {colour}", colour=colour)


def more_text(count: int, see: str) -> str:
    """How much more there is than finds room, and on which sheet: "+3 more: see the plan sheet"."""
    return _("+{count} more: see the {sheet}", count=count, sheet=see)


def short_more_text(count: int, see: str) -> str:
    """The same where room is scarce: "+3: plan sheet"."""
    return _("+{count}: {sheet}", count=count, sheet=see)


def named_more_texts(parts: Sequence[tuple[str, int]], see: str) -> tuple[str, str]:
    """The same with what is left off: "+3 more (contents 2, jobs 1): see the plan sheet".

    And where that is too long: "+3 (contents 2, jobs 1): plan sheet".
    """
    listed = ", ".join(f"{_(part)} {count}" for part, count in parts)
    count, sheet = sum(count for _part, count in parts), see
    return (
        _("+{count} more ({parts}): see the {sheet}", count=count, parts=listed, sheet=sheet),
        _("+{count} ({parts}): {sheet}", count=count, parts=listed, sheet=sheet),
    )
