"""Rings on the screen."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Console

from kitting.cli.render import headings
from kitting.cli.render.tables import Column, plain_table
from kitting.facts.ring_reasons import GlandShare
from kitting.facts.ring_standards import is_opinion
from kitting.facts.units import format_quantity
from kitting.views.rubber import (
    GlandVerdictView,
    RingAgeView,
    RingGlandView,
    RingItemView,
    RingMatchView,
    RingSetView,
    RingsView,
    StorageVerdict,
)
from kitting.wording.reasons import say
from kitting.wording.rubber import (
    GLAND_CAUTION,
    RINGS_CAUTION,
    SET_CAUTION,
    STORAGE_CAUTION,
    STORING,
    STORING_SOURCE,
    borrowed_text,
    limits_text,
    ring_text,
    share_text,
)


def show_rings(console: Console, view: RingsView) -> None:
    """What was asked, standard sizes with what tells them apart, then items."""
    for text in _asked(view):
        console.print(text, style="bold")
    if view.groove is not None:
        _sizes(console, "suits, best first", view.sizes)
        _sizes(console, "ruled out, nearest first", view.near_misses)
    elif view.item is None:
        _sizes(console, "size, likeliest first", view.sizes)
    if view.decider is not None:
        text = say(view.decider.reason)
        console.print(f"{text[0].upper()}{text[1:]}.")
    if view.groove is not None:
        console.print(RINGS_CAUTION)
    console.print()
    if view.items:
        _items(console, view.items)
    else:
        what = "suits this gland" if view.groove is not None else "is within reach of this size"
        console.print(f"No item of the catalogue {what} (and elastomer).")
    if view.item is not None and not any(one.stock for one in view.items):
        console.print("None of this ring is free in any branch.")
    if view.not_the_same:
        console.print()
        _items(console, view.not_the_same)


def _asked(view: RingsView) -> list[str]:
    asked = []
    if view.inside is not None and view.section is not None:
        size = f"{view.inside:g} × {view.section:g} mm"
        how = "used" if view.fitted_before else "new"
        asked.append(
            f"The same ring as {view.item}: {size}"
            if view.item
            else f"{size}, measured {how}, each ±{view.error:g} mm"
        )
    if view.groove is not None and view.bore is not None and view.depth is not None:
        width = "not known" if view.width is None else f"{view.width:g} mm"
        asked.append(
            f"Gland of {view.groove:g} in {view.bore:g} mm: {view.depth:.2f} mm deep,"
            f" width {width}, {view.purpose}"
        )
    return asked


def _sizes(console: Console, heading: str, sizes: Sequence[RingMatchView]) -> None:
    if not sizes:
        console.print(f"{heading}: none")
        return
    notes = [_note(one) for one in sizes]
    table = plain_table(
        Column(lambda: heading), headings.WHY, *([headings.NOTE] if any(notes) else [])
    )
    for one, note in zip(sizes, notes, strict=True):
        why = ring_text(one.gland, one.measured)
        table.add_row(one.size, why, *([note] if any(notes) else []))
    console.print(table)


def _note(size: RingMatchView) -> str:
    return borrowed_text(size.borrowed) if size.borrowed else size.note or ""


def _items(console: Console, items: Sequence[RingItemView]) -> None:
    table = plain_table(
        headings.ITEM, headings.SIZE, headings.ELASTOMER, headings.COLOUR_AS_SUPPLIED, headings.FREE
    )
    for item in items:
        hard = f" {item.hardness}" if item.hardness else ", hardness not stated"
        table.add_row(
            item.item,
            f"{item.inside:g} × {item.section:g}",
            f"{item.elastomer or 'not stated'}{hard}",
            item.colour,
            ", ".join(_free(item)) or "none",
        )
    console.print(table)
    for item in items:
        why = (
            ring_text(item.gland, item.measured, item.borrowed)
            if item.differs is None
            else say(item.differs)
        )
        if why:
            console.print(f"{item.item}: {why}")


def _free(item: RingItemView) -> list[str]:
    return [f"{format_quantity(one.quantity, 'each')} in {one.branch}" for one in item.stock]


def show_gland(console: Console, view: RingGlandView) -> None:
    """The shares in their worst cases, each verdict with its source, and who decides."""
    for name, share, without, digits in (
        (GlandShare.SQUEEZE, view.squeeze, "", 1),
        (GlandShare.FILL, view.fill, "no width given", 0),
        (GlandShare.STRETCH, view.stretch, "no groove given", 1),
    ):
        if share is None:
            console.print(f"{name} unknown: {without}")
        else:
            console.print(f"{name} {share_text(share, digits)}")
    if view.swell:
        console.print(f"the most fill allows for {view.swell:g} % of swelling by volume")
    console.print()
    table = plain_table(
        headings.BARE, Column(lambda: str(view.purpose)), headings.GUIDANCE, headings.SOURCE
    )
    for one in view.verdicts:
        mark = "kept" if not one.broken else _out(one) if one.decides else "off"
        about = f" ({one.about})" if one.about else ""
        source = one.source if one.source == one.certainty else f"{one.source} ({one.certainty})"
        limits = limits_text(one.least, one.most)
        table.add_row(mark, one.quantity, f"{limits}{about}", source)
    console.print(table)
    for one in view.verdicts:
        if one.decides and one.broken:
            told = "; ".join(map(say, one.broken))
            asked = f", {one.certainty}: ask the maker" if is_opinion(one.certainty) else ""
            console.print(f"{_out(one)}: {told}{asked}")
    for one in view.verdicts:
        if not one.decides and one.broken:
            console.print(f"off advice only: {'; '.join(map(say, one.broken))}")
    console.print(GLAND_CAUTION)


def _out(one: GlandVerdictView) -> str:
    """The mark of a row that decides and is broken: what nobody has read rules nothing out."""
    return "ASK" if is_opinion(one.certainty) else "OUT"


def show_set(view: RingSetView) -> None:
    """How far a ring has set, and what that is no leave for."""
    print(f"compression set {view.compression_set:.0f} %")
    print(SET_CAUTION)


def show_age(console: Console, view: RingAgeView) -> None:
    """Policy by policy: the limit, the extension, where it is written; then how to store."""
    console.print(
        f"{view.elastomer}, made up to {view.made}, to be fitted on {view.on}", style="bold"
    )
    table = plain_table(
        headings.POLICY,
        headings.MAY_BE_FITTED,
        headings.KEEPS_TO,
        headings.WITH_AN_INSPECTION,
        headings.SOURCE,
    )
    for one in view.policies:
        unlimited = one.limit is None and one.fit is StorageVerdict.YES
        keeps = str(one.limit) if one.limit else "unlimited" if unlimited else say(one.reason)
        longer = f"+{one.extension} years, {one.extended}" if one.extension else "no extension"
        source = one.source or ""
        if one.dispute:
            source += f"; {one.dispute}"
        table.add_row(one.policy, one.fit.upper(), keeps, longer, source)
    console.print(table)
    console.print(f"Stored as it should be ({STORING_SOURCE}):")
    for text in STORING:
        console.print(f"  {text}")
    console.print(STORAGE_CAUTION)
