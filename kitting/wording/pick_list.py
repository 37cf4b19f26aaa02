"""The pick list in words: what is taken, in whole packs, from which lot, and what is short."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from kitting.facts.words import NeedRule
from kitting.views.bookings import PromisedView, SourceKind
from kitting.views.kit import ContentView, PickLine, PickView
from kitting.wording.bookings import (
    THEIRS,
    elsewhere_text,
    keeping_texts,
    source_text,
    source_warning,
    with_due,
)
from kitting.wording.figures import day, show_quantity
from kitting.wording.language import N_, _, in_figures, n_
from kitting.wording.reasons import say

NOT_BOOKED = N_(
    "NOT BOOKED: nothing is promised to this list. What lies in a bin may be promised to another"
    " booking; book the car, and this list says what is its own to take."
)
_NOWHERE = N_("none free, here or on its way")
_RULES = {
    NeedRule.RENEW: N_("RENEW"),
    NeedRule.INSPECT: N_("INSPECT"),
    NeedRule.KEEP: N_("KEEP"),
    NeedRule.USE: N_("USE"),
}


def rule_text(rule: NeedRule) -> str:
    """A rule as it stands on paper: "RENEW"."""
    return _(_RULES[rule])


def _amount(quantity: int, unit: str) -> str:
    return in_figures(show_quantity(quantity, unit))


def _packs(quantity: int, content: ContentView) -> int | None:
    """How many whole packs hold so much; None of what is counted, or has no stated pack."""
    if content.unit == "each" or not content.pack:
        return None
    return -(-quantity // content.pack)


def _in_packs(packs: int, content: ContentView) -> str:
    held = _amount(content.pack or 0, content.unit)
    return n_("{count} pack of {held}", "{count} packs of {held}", packs, held=held)


def needed_text(content: ContentView) -> tuple[str, str]:
    """How much a plan needs in the largest letters, and what goes in of it: "1 pack of 10 ml"."""
    shown = _amount(content.quantity, content.unit)
    if (packs := _packs(content.quantity, content)) is not None:
        return _in_packs(packs, content), _("{amount} goes in", amount=shown)
    return (_("up to {amount}", amount=shown) if content.spare else shown), ""


def take_text(line: PickLine) -> tuple[str, str]:
    """What a booking has to take now in the largest letters, and what goes in of packs."""
    if not line.take:
        if line.out:
            return _("TAKE OUT {amount}", amount=_amount(line.out, line.content.unit)), ""
        return _("PICKED") if line.picked else _("NOTHING"), ""
    content, shown = line.content, _amount(line.take, line.content.unit)
    packs = [_packs_of(lot, content) for lot in line.lots if _left(lot)]
    counted = [count for count in packs if count is not None]
    if counted and len(counted) == len(packs):
        return _in_packs(sum(counted), content), _("{amount} goes in", amount=shown)
    return shown, ""


def _left(lot: PromisedView) -> int:
    return lot.quantity - lot.picked


def lot_texts(lot: PromisedView, content: ContentView) -> tuple[str, str, str]:
    """A lot as what stands before its code, the code, and what stands after it.

    ("2 from lot", "SI-2411", "keeps to 2034-12-31").
    """
    if lot.picked:
        there = _amount(lot.picked, content.unit)
        before = _("{amount} IN THE KIT, of lot", amount=there)
        if _left(lot):
            left = _taken_of(lot, content)
            before = _("{there} IN THE KIT, {left} to take, of lot", there=there, left=left)
    else:
        before = _("{amount} from lot", amount=_taken_of(lot, content))
    after = [*([_(THEIRS)] if lot.customers else []), *keeping_texts(lot)]
    return before, lot.lot or "", ", ".join(after)


def _taken_of(lot: PromisedView, content: ContentView) -> str:
    packs = _packs_of(lot, content)
    return _amount(_left(lot), content.unit) if packs is None else _in_packs(packs, content)


def _packs_of(lot: PromisedView, content: ContentView) -> int | None:
    """How many whole packs of a lot to take; None where others share them, or one is begun."""
    packs = _packs(_left(lot), content)
    if packs is None or not content.pack or lot.unshared is None:
        return packs
    return packs if packs <= lot.unshared // content.pack else None


def picked_text(line: PickLine) -> str:
    """What of a row lies in the kit, since when and by whom, as far as that is known."""
    amount = _amount(line.picked, line.content.unit)
    if line.picked_at is None:
        return _("{amount} picked", amount=amount)
    # Hours and minutes are written alike in every language.
    when = f"{day(line.picked_at)} {line.picked_at:%H:%M}"
    if line.picked_by is None:
        return _("{amount} picked, {when}", amount=amount, when=when)
    return _("{amount} picked, {when}, {who}", amount=amount, when=when, who=line.picked_by)


def short_texts(line: PickLine) -> tuple[str, ...]:
    """What of a row nothing covers, and who has it: "SHORT 2: 4 promised to B0001"; or nothing."""
    if not line.lacks:
        return ()
    amount, where = _amount(line.lacks, line.content.unit), _elsewhere(line)
    return (_("SHORT {amount}: {where}", amount=amount, where=where),)


def spare_short_texts(line: PickLine) -> tuple[str, ...]:
    """The same of what is brought only in case: "SPARE SHORT 2: 2 free in canal"; or nothing."""
    if not line.spares_lacking:
        return ()
    amount, where = _amount(line.spares_lacking, line.content.unit), _elsewhere(line)
    return (_("SPARE SHORT {amount}: {where}", amount=amount, where=where),)


def _elsewhere(line: PickLine) -> str:
    found = [elsewhere_text(other, line.content.unit) for other in line.elsewhere]
    return "; ".join(found) or _(_NOWHERE)


def awaited_texts(line: PickLine) -> tuple[str, ...]:
    """What of a row is on its way: "NOT HERE YET 2: P0003 from …, due …"; or nothing."""
    return tuple(
        _(
            "NOT HERE YET {amount}: {how}",
            amount=_amount(_left(source), line.content.unit),
            how=_warned(with_due(source_text(source), source), source),
        )
        for source in line.sources
        if source.kind is SourceKind.ORDER and _left(source)
    )


def unfit_texts(line: PickLine) -> tuple[str, ...]:
    """What of a row is here and may not be fitted, and why: "MAY NOT BE FITTED 2: lot A …"."""
    unit = line.content.unit
    return tuple(
        _(
            "MAY NOT BE FITTED {amount}: {why}",
            amount=_amount(source.quantity, unit),
            why=_warned(_where_unfit(source, unit), source),
        )
        for source in line.sources
        if source.kind is SourceKind.LOT and not source.may_be_fitted
    )


def _warned(text: str, source: PromisedView) -> str:
    """What tells a source, with what is wrong with it."""
    return ": ".join(filter(None, (text, source_warning(source))))


def _where_unfit(source: PromisedView, unit: str) -> str:
    if not source.picked:
        return source_text(source)
    return _(
        "{amount} IN THE KIT, of lot {lot}", amount=_amount(source.picked, unit), lot=source.lot
    )


def lacking_texts(line: PickLine) -> tuple[str, ...]:
    """What of a row is not here to be fitted, each with where it is or why."""
    told = (short_texts, awaited_texts, unfit_texts, spare_short_texts)
    return tuple(text for texts in told for text in texts(line))


def boxed_texts(
    lines: Iterable[PickLine], texts: Callable[[PickLine], tuple[str, ...]]
) -> tuple[str, ...]:
    """What rows lack, as a box at the head of a sheet says it: each after its item."""
    return tuple(
        _("{item}: {what}", item=line.content.item, what=text)
        for line in lines
        for text in texts(line)
    )


def bags_texts(line: PickLine) -> tuple[str, ...]:
    """Into which bags a row goes, and how much into each of several: "BAG 1: 2", "BAG 2: 2"."""
    if not line.bags:
        return (_("KIT, loose"),)
    if line.content.rule is NeedRule.USE:
        listed = ", ".join(map(str, line.bags))
        many = len(line.bags)
        told = n_(
            "KIT, loose: for BAG {numbers}", "KIT, loose: for BAGS {numbers}", many, numbers=listed
        )
        return (told,)
    if len(line.bags) == 1 or not line.shares:
        numbers = ", ".join(map(str, line.bags))
        return (n_("BAG {numbers}", "BAGS {numbers}", len(line.bags), numbers=numbers),)
    unit = line.content.unit
    return tuple(
        _("BAG {number}: {amount}", number=share.bag, amount=_amount(share.quantity, unit))
        for share in line.shares
    )


def tray_text(line: PickLine) -> str:
    """On which trays its bags lie; "" where the kit is not split."""
    if not line.trays:
        return ""
    numbers = ", ".join(map(str, line.trays))
    return n_("TRAY {numbers}", "TRAYS {numbers}", len(line.trays), numbers=numbers)


def detail_texts(content: ContentView) -> tuple[str, ...]:
    """Size, material and colour as supplied, as far as they are stated."""
    colour = content.colour and _("colour as supplied: {colour}", colour=content.colour)
    return tuple(filter(None, (content.size, content.material, colour)))


def note_texts(line: PickLine) -> tuple[str, ...]:
    """What has to be known of a row."""
    unit = line.content.unit
    notes = [_("spare, in case the inspection fails")] if line.content.spare else []
    notes += [
        _("{amount} more in {packet}", amount=_amount(one.quantity, unit), packet=one.packet)
        for one in line.covered
    ]
    return (*notes, *map(say, line.notes))


def counted_text(pick: PickView) -> str:
    """How many rows there are: "12 lines"."""
    return n_("{count} line", "{count} lines", len(pick.lines))
