"""Blocks that belong together over as few pages as can be, and both pages say where they break."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial

from kitting.reports.sheet import Block, Cell, Part, Sheet
from kitting.wording.language import _


@dataclass(frozen=True, slots=True)
class Unit:
    """Blocks that are not parted, and what they are called where they begin a page.

    `again` are blocks told before them on a page that they begin: they stood further up before.
    """

    blocks: Sequence[Block]
    called: str
    again: Sequence[Block] = ()

    @property
    def height(self) -> float:
        """In mm."""
        return sum(block.height for block in self.blocks)


def overleaf(called: str, sheet: Sheet) -> Block:
    """The foot of a page that something runs over."""
    text = Part(_("CONTINUES OVERLEAF: {what}", what=called), 11, bold=True, lines=1)
    return sheet.cells([Cell(0, sheet.width, (text,))])


def flow(
    units: Sequence[Unit], again: Callable[[str, Sheet], None], sheet: Sheet, *, here: bool = False
) -> None:
    """Draw units: all on one page where one can hold them, else with a sign at every break.

    `again` draws the head of a further page, with the words that it is continued. Units begin
    `here` where there is room for the first of them, or else on a page that holds them all.
    """
    sheet.repeat = None
    sign = overleaf("", sheet).height
    whole = sum(unit.height for unit in units)
    if here and len(units) > 1:
        whole = min(whole, units[0].height + sign)
    sheet.ensure(min(whole, sheet.whole_page))
    for place, unit in enumerate(units):
        spare = sign if place < len(units) - 1 else 0.0
        if place and unit.height + spare > sheet.room:
            foot = overleaf(unit.called, sheet)
            if foot.height <= sheet.room:
                sheet.keep([foot])
            sheet.repeat = partial(again, _("CONTINUED: {what}", what=unit.called))
            sheet.new_page()
            sheet.keep(unit.again)
        sheet.repeat = partial(again, _("CONTINUED: {what}", what=unit.called))
        sheet.keep(unit.blocks)
    sheet.repeat = None
