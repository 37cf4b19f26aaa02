"""Tables on the screen: plain columns, text from data never read as markup."""

from __future__ import annotations

from collections.abc import Sequence

from rich.table import Table


def plain_table(*headings: str, right: Sequence[str] = ()) -> Table:
    """A table without lines; long words fold."""
    table = Table(box=None, pad_edge=False, header_style="bold", padding=(0, 2, 0, 0))
    for heading in headings:
        table.add_column(heading, overflow="fold", justify="right" if heading in right else "left")
    return table
