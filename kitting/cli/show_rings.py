"""Rings on the screen."""

from __future__ import annotations

from rich.console import Console

from kitting.cli.show_supply import plain_table
from kitting.views import RingsView


def show_rings(console: Console, view: RingsView) -> None:
    """Standard sizes, likeliest first, then items of exactly that nominal size."""
    how = "used" if view.used else "new"
    console.print(f"{view.inside:g} × {view.section:g} mm, measured {how}", style="bold")
    table = plain_table("standard size", "off", "note")
    for match in view.sizes:
        table.add_row(match.size, match.why, match.note)
    console.print(table)
    if view.used:
        console.print("A used ring misleads: groove and bore decide.")
    console.print()
    if not view.items:
        console.print("No item of the catalogue has this size (and elastomer).")
        return
    items = plain_table("item", "size", "elastomer", "colour as supplied", "free")
    for item in view.items:
        hard = f" {item.hardness}" if item.hardness else ""
        material = f"{item.elastomer or 'not stated'}{hard}"
        size = f"{item.inside:g} × {item.section:g}"
        items.add_row(item.item, size, material, item.colour, ", ".join(item.stock))
    console.print(items)
