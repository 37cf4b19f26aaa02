"""The fasteners of a joint as units that are not parted, for the tightening and the refit sheet."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from kitting.reports.sheet import Block, Sheet
from kitting.reports.sheets.flow import Unit
from kitting.reports.sheets.joint_order import holes_in, ordered_units, runs_of
from kitting.reports.sheets.tightening_row import Boxes, boxes_of, order_blocks, pieces_of
from kitting.views.tightening import TightenJointView, TightenRowView
from kitting.wording.language import _
from kitting.wording.tightening import LEFT_HAND


def joint_units(
    joint: TightenJointView,
    opening: Sequence[Block],
    whole: float,
    sheet: Sheet,
    *,
    parted: bool = False,
) -> Iterator[Unit]:
    """The `opening` with the first row; each row as one unit up to a height of `whole` mm.

    The first row is `parted` stage by stage where it is to fill what is left of a page. Rows that
    one order of the joint leads through are told together, the others each by itself.
    """
    runs = runs_of(joint)
    together = holes_in(runs)
    first = list(opening)
    if runs:
        yield from ordered_units(joint, runs, first, sheet)
        first = []
    for place, (row, boxes) in enumerate(zip(joint.rows, boxes_of(joint), strict=True)):
        if place not in together:
            most = 0.0 if parted and not place else whole
            yield from _row(row, boxes, first, most, sheet)
            first = []
    if first:
        yield Unit(first, joint.joint_name)


def _row(
    row: TightenRowView, boxes: Boxes, opening: list[Block], whole: float, sheet: Sheet
) -> Iterator[Unit]:
    """A row in one, else the head with the first stage, stages, and the last with its source."""
    pieces = list(pieces_of(row, boxes, sheet))
    blocks = [*opening, *(piece.block for piece in pieces)]
    called = f"{row.position}, {_(LEFT_HAND)}" if row.left_hand else row.position
    if len(pieces) < 4 or sum(block.height for block in blocks) <= whole:
        yield Unit(blocks, called)
        return
    yield Unit([*opening, *(piece.block for piece in pieces[:2])], called)
    order = order_blocks(row, boxes, sheet)
    for piece in pieces[2:-2]:
        yield Unit([piece.block], f"{called}, {piece.called}", order)
    last = f"{called}, {pieces[-2].called}"
    yield Unit([piece.block for piece in pieces[2:][-2:]], last, order)
