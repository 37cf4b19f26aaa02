"""Filling a label: its code, its rows from the top, and what is left off, said in its last line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from kitting.reports.codes import draw_qr, qr_side, quiet_zone
from kitting.reports.labels.column import Column, Entry
from kitting.reports.labels.label_text import Block, Text
from kitting.reports.labels.priorities import LEAST, Look, Part, Row
from kitting.reports.text import MM, width_of
from kitting.wording.labels import more_text, named_more_text, short_more_text

_LINE = 1.25  # height of a line, in parts of its size


@dataclass(frozen=True, slots=True)
class Size:
    """Type sizes in points: of the largest line of a label, and of its plain text."""

    head: float
    text: float


@dataclass(frozen=True, slots=True)
class Way:
    """How a label is tried: all of it or what must survive and what else finds room, how short.

    `qr` and `bars` are whether its codes are drawn; `qr_most` is how large (mm).
    """

    size: Size
    qr: bool
    qr_most: float
    bars: bool = False
    whole: bool = True
    shortest: bool = False


def fill(column: Column, text: Text, way: Way) -> bool:
    """Write a label; False where what it has to say finds no room."""
    if way.whole:
        return _rows(column, text, way) == {}
    if way.shortest:
        return _fill_shortest(column, text, way)
    size, end = way.size.text, column.bottom
    column.bottom += size * _LINE
    left = _rows(column, text, way) if column.room > 0 else None
    last = replace(column, top=end + size * _LINE, bottom=end)
    return left is not None and (not left or _say_left_off(last, text, left, size))


def _fill_shortest(column: Column, text: Text, way: Way) -> bool:
    """A label on which room is scarce: its last line is the code and what is left off."""
    size, end = way.size.text, column.bottom
    column.bottom += size * _LINE
    left = _rows(column, text, way) if column.room > 0 else None
    if left is None:
        return False
    foot = replace(column, top=end + size * _LINE, bottom=end)
    count = sum(left.values())
    told = f"{text.code} · {short_more_text(count, text.see)}" if count else text.code
    return foot.put_whole(told, size, bold=True, lines=1)


def _rows(column: Column, text: Text, way: Way) -> dict[Part, int] | None:
    """How much of each part is left off; None where something is that must survive."""
    left: dict[Part, int] = {}
    flow: list[str] = []
    for number, row in enumerate(text.rows):
        block = text.blocks.get(row.part)
        if block is None:
            continue
        short = way.shortest and row.must
        if short and row.look in (Look.BOLD, Look.PLAIN):
            flow += [entry.text for entry in block.brief]
            continue
        if not _put_flow(column, flow, way.size.text):
            return None
        kept = 0.0 if row.must or row.look is Look.FOOT else _kept(column, text, number, way)
        column.bottom += kept
        lost = _put(column, row, block, (short, way.size))
        column.bottom -= kept
        if lost and (row.must or (row.wanted and not way.shortest)):
            return None
        if lost := lost + (block.dropped if short else 0):
            left[row.part] = lost
    return left if _put_flow(column, flow, way.size.text) else None


def _put_flow(column: Column, flow: list[str], size: float) -> bool:
    """Draw what runs on where room is scarce, and empty it; False where it finds no room."""
    while flow:
        line = flow.pop(0)
        while flow and width_of(f"{line} · {flow[0]}", size, bold=True) <= column.width:
            line = f"{line} · {flow.pop(0)}"
        if not column.put_whole(line, size, bold=True):
            return False
    return True


def _kept(column: Column, text: Text, number: int, way: Way) -> float:
    """How much of the room a row leaves to later ones that would else be crowded out."""
    kept = 0.0
    for row in text.rows[number + 1 :]:
        block = text.blocks.get(row.part)
        if block is None or not row.keeps:
            continue
        trial = column.trial()
        most = row.keeps * column.room
        lost = _put(trial, row, block, (False, way.size))
        kept += most if lost else min(most, column.top - trial.top)
    return kept


def _put(column: Column, row: Row, block: Block, how: tuple[bool, Size]) -> int:
    """Draw a row; how many of its entries found no room."""
    shortest, size = how
    entries = block.brief if shortest else block.entries
    texts = [entry.text for entry in entries]
    if row.look is Look.HEAD:
        return 0 if column.put_head(texts, size.head) else 1
    if row.look is Look.LARGE:
        large = max(size.text, row.look.value * size.head)
        return [column.put_head([text], large) for text in texts].count(False)
    if row.look is Look.FOOT:
        return [column.put_foot(text, size.text) for text in texts].count(False)
    if row.look is Look.FRAMED and shortest:
        return column.put_list(entries, size.text, bold=True)
    if row.look is Look.FRAMED:
        return [column.boxed(text, size.text) for text in texts].count(False)
    return _put_list(column, block, entries, size.text, bold=row.look is Look.BOLD)


def _put_list(
    column: Column, block: Block, entries: Sequence[Entry], size: float, *, bold: bool
) -> int:
    """Entries under their title; where not all find room, what sums them up comes first."""
    if not block.title:
        return column.put_list(entries, size, bold=bold)
    trial = column.trial()
    if trial.put_whole(block.title, size, bold=True) and not trial.put_list(entries, size):
        column.put_whole(block.title, size, bold=True)
        return column.put_list(entries, size)
    if not column.put_whole(block.summary, size, bold=True):
        return len(entries)
    return column.put_list(entries, size)


def _say_left_off(column: Column, text: Text, left: dict[Part, int], size: float) -> bool:
    """How much is left off and where it stands; what it is, where that finds room too."""
    parts = [(part.value, count) for part, count in left.items()]
    told = named_more_text(parts, text.see), more_text(sum(left.values()), text.see)
    return any(column.put_whole(one, size, bold=True, lines=1) for one in told)


def place_code(column: Column, code: str, way: Way, margin: float) -> bool:
    """The QR code in the upper right corner with its letters below, or the letters at the foot.

    Part of its quiet zone may lie in the margin of the label, which is white. False where there is
    no room for it.
    """
    least = max(LEAST, min(way.size.text, 10.0))
    if not way.qr:
        return way.shortest or column.put_foot(code, least)
    most = 0.36 * column.full_width
    side = qr_side(code, min(way.qr_most * MM, most + margin, 0.75 * column.room + margin))
    if side is None:
        return False
    quiet = min(margin, quiet_zone(code, side))
    right, foot = column.x + column.full_width, column.top + quiet - side
    lines = _letters(code, least, side - quiet) if not way.shortest else []
    wide = max(side - quiet, *(width_of(line, least, bold=True) for line in lines), 0.0)
    if column.canvas is not None:
        draw_qr(column.canvas, code, right + quiet - side, foot, side)
    below = Column(column.canvas, right - wide, foot, wide, foot - 99, least)
    for line in lines:
        below.x = right - width_of(line, least, bold=True)
        below.full_width = right - below.x + 0.1
        below.put(line, least, bold=True)
    column.notch_width, column.notch_bottom = wide + 1.5 * MM, below.top
    return below.top >= column.bottom


def _letters(code: str, size: float, wide: float) -> list[str]:
    """A code on a line as wide as its QR code; else on two: the kit, and what of it."""
    kit, sign, rest = code.partition("-")
    if width_of(code, size, bold=True) <= wide or not sign:
        return [code]
    return [kit, sign + rest]
