"""Rings on the screen."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Console

from kitting.cli.render.tables import plain_table
from kitting.views.rubber import RingGlandView, RingItemView, RingMatchView, RingsView, ShareView

_ONLY_GUIDANCE = "Guidance only: the maker's part number and gland drawing decide."


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
        words = view.decider.words
        console.print(f"{words[0].upper()}{words[1:]}.")
    if view.groove is not None:
        console.print(_ONLY_GUIDANCE)
    console.print()
    if view.items:
        _items(console, view.items)
    else:
        what = "suits this gland" if view.groove is not None else "has this size"
        console.print(f"No item of the catalogue {what} (and elastomer).")
    if view.item is not None and not any(one.stock for one in view.items):
        console.print("None of this ring is free in any branch.")
    if view.not_the_same:
        console.print()
        _items(console, view.not_the_same)


def _asked(view: RingsView) -> list[str]:
    told = []
    if view.inside is not None and view.section is not None:
        size = f"{view.inside:g} × {view.section:g} mm"
        how = "used" if view.fitted_before else "new"
        told.append(
            f"The same ring as {view.item}: {size}" if view.item else f"{size}, measured {how}"
        )
    if view.groove is not None and view.bore is not None and view.depth is not None:
        width = "not known" if view.width is None else f"{view.width:g} mm"
        told.append(
            f"Gland of {view.groove:g} in {view.bore:g} mm: {view.depth:.2f} mm deep,"
            f" width {width}, {view.purpose}"
        )
    return told


def _sizes(console: Console, heading: str, sizes: Sequence[RingMatchView]) -> None:
    if not sizes:
        console.print(f"{heading}: none")
        return
    noted = any(one.note for one in sizes)
    table = plain_table(heading, "why", *(["note"] if noted else []))
    for one in sizes:
        table.add_row(one.size, one.why, *([one.note or ""] if noted else []))
    console.print(table)


def _items(console: Console, items: Sequence[RingItemView]) -> None:
    table = plain_table("item", "size", "elastomer", "colour as supplied", "free")
    for item in items:
        hard = f" {item.hardness}" if item.hardness else ""
        table.add_row(
            item.item,
            f"{item.inside:g} × {item.section:g}",
            f"{item.elastomer or 'not stated'}{hard}",
            item.colour,
            ", ".join(item.stock) or "none",
        )
    console.print(table)
    for item in items:
        if item.why:
            console.print(f"{item.item}: {item.why}")


def show_gland(console: Console, view: RingGlandView) -> None:
    """The shares in their worst cases, each verdict with its source, and who decides."""
    for name, share in (
        ("squeeze", view.squeeze),
        ("fill", view.fill),
        ("stretch", view.stretch),
    ):
        if share is None:
            wanted = {"fill": "no width", "stretch": "no groove"}[name]
            console.print(f"{name} unknown: {wanted} given")
        else:
            console.print(f"{name} {_percent(name, share)}")
    if view.swell:
        console.print(f"the most fill allows for {view.swell:g} % of swelling by volume")
    console.print()
    table = plain_table("", view.purpose, "guidance", "source")
    for one in view.verdicts:
        mark = "kept" if one.broken is None else "OUT" if one.decides else "off"
        about = f" ({one.about})" if one.about else ""
        source = one.source if one.source == one.certainty else f"{one.source} ({one.certainty})"
        table.add_row(mark, one.quantity, f"{one.limits}{about}", source)
    console.print(table)
    for one in view.verdicts:
        if one.decides and one.broken:
            console.print(f"OUT: {one.broken}")
    for one in view.verdicts:
        if not one.decides and one.broken:
            console.print(f"off advice only: {one.broken}")
    console.print(view.caution)


def _percent(name: str, share: ShareView) -> str:
    digits = 0 if name == "fill" else 1
    return f"{share.least:.{digits}f} to {share.most:.{digits}f} %"
