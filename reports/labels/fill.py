"""Filling a label: its code, its rows from the top, and what is left off, said in its last line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from kitting.reports.codes import draw_qr, qr_side, quiet_zone
from kitting.reports.labels.column import Column
from kitting.reports.labels.label_text import PICK_LIST, Block, Text
from kitting.reports.labels.priorities import LEAST, Look, Part, Row
from kitting.reports.text import MM, width_of
from kitting.wording.labels import more_text, named_more_texts, short_more_text
from kitting.wording.language import _

_LINE = 1.25  # height of a line, in parts of its size


@dataclass(frozen=True, slots=True)
class Size:
    """Type sizes in points: of the largest line of a label, and of its plain text."""

    head: float
    text: float


@dataclass(frozen=True, slots=True)
class Way:
    """How a label is tried: all of it or what must survive and what else finds room, how short.

    `qr` and `bars` are whether its codes are drawn; `qr_most` is how large (mm). Of the shortest,
    `runs_on` puts warnings into one run with the rest. Nothing of what is
    `uncut` may be left off.
    """

    size: Size
    qr: bool
    qr_most: float
    bars: bool = False
    whole: bool = True
    shortest: bool = False
    runs_on: bool = False
    uncut: tuple[Part, ...] = ()


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
    if left is None or any(part in left for part in way.uncut):
        return False
    return not any(left.values()) or _say_left_off(last, text, left, size)


def _fill_shortest(column: Column, text: Text, way: Way) -> bool:
    """A label on which room is scarce: its last line is the code and what is left off."""
    size, end = way.size.text, column.bottom
    column.bottom += size * _LINE
    left = _rows(column, text, way) if column.room > 0 else None
    if left is None:
        return False
    foot = replace(column, top=end + size * _LINE, bottom=end)
    count = sum(left.values())
    if not count:
        return foot.put_whole(text.code, size, bold=True, lines=1)
    told = (short_more_text(count, see) for see in (_sheets(text, left), _(text.see)))
    return any(foot.put_whole(f"{text.code} · {one}", size, bold=True, lines=1) for one in told)


def _rows(column: Column, text: Text, way: Way) -> dict[Part, int] | None:
    """How much of each part is left off; None where something is that must survive.

    Where room is scarce, all that must survive comes first.
    """
    left: dict[Part, int] = {}
    if not way.shortest:
        return left if _put_rows(column, text, (text.rows, way), left) else None
    flow: list[str] = []
    runs_on = (Look.BOLD, Look.PLAIN, *([Look.FRAMED] if way.runs_on else []))
    for row in text.rows:
        block = text.blocks.get(row.part)
        if block is None or not (row.must or row.summed):
            continue
        if row.summed:
            flow += block.summary_short
        elif row.look in runs_on:
            flow += [entry.text for entry in block.brief]
        elif not _put_flow(column, flow, way.size.text) or _put(
            column, row, block, (True, way.size)
        ):
            return None
        elif block.dropped:
            left[row.part] = block.dropped
    rest = tuple(replace(row, summed=False) for row in text.rows if not row.must)
    put = _put_flow(column, flow, way.size.text) and _put_rows(column, text, (rest, way), left)
    return left if put else None


def _put_rows(
    column: Column, text: Text, how: tuple[Sequence[Row], Way], left: dict[Part, int]
) -> bool:
    """Draw rows, noting what of them is left off; False where something is that must survive.

    Of what a label itself sends to its sheet nothing more has to be told: noted as 0.
    """
    rows, way = how
    for number, row in enumerate(rows):
        block = text.blocks.get(row.part)
        if block is None:
            continue
        if row.filler and left:
            left[row.part] = len(block.entries)
            continue
        free = row.must or row.look is Look.FOOT
        kept = 0.0 if free else _kept(column, text, rows[number + 1 :], way)
        column.bottom += kept
        lost = _put(column, row, block, (way.shortest, way.size))
        column.bottom -= kept
        if lost is None or (lost and (row.must or (row.wanted and not way.shortest))):
            return False
        if lost:
            left[row.part] = 0 if block.sends else lost
    return True


def _put_flow(column: Column, flow: list[str], size: float) -> bool:
    """Draw what runs on where room is scarce, and empty it; False where it finds no room."""
    while flow:
        line = flow.pop(0)
        while flow and width_of(f"{line} · {flow[0]}", size, bold=True) <= column.width:
            line = f"{line} · {flow.pop(0)}"
        if not column.put_whole(line, size, bold=True):
            return False
    return True


def _kept(column: Column, text: Text, rows: Sequence[Row], way: Way) -> float:
    """How much of the room a row leaves to later ones that would else be crowded out."""
    kept = 0.0
    for row in rows:
        block = text.blocks.get(row.part)
        if block is None or not (row.keeps or row.summed):
            continue
        trial = column.trial()
        summed = trial.measure(block.summary, way.size.text, bold=True, lines=99)
        most = max(row.keeps * column.room, summed.height if row.summed else 0.0)
        lost = _put(trial, row, block, (False, way.size))
        kept += min(most, column.top - trial.top) if lost == 0 else most
    return kept


def _put(column: Column, row: Row, block: Block, how: tuple[bool, Size]) -> int | None:
    """Draw a row; how many of its entries found no room, None where not even their sum did."""
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
    if row.summed:
        return _put_summed(column, block, size.text)
    return column.put_list(entries, size.text, bold=row.look is Look.BOLD)


def _put_summed(column: Column, block: Block, size: float) -> int | None:
    """Entries under their title; where not all find room, what sums them up comes first."""
    trial = column.trial()
    titled = not block.title or trial.put_whole(block.title, size, bold=True)
    if titled and not trial.put_list(block.entries, size):
        if block.title:
            column.put_whole(block.title, size, bold=True)
        return column.put_list(block.entries, size)
    if not column.put_whole(block.summary, size, bold=True):
        return None
    return column.put_list(block.entries, size)


def _say_left_off(column: Column, text: Text, left: dict[Part, int], size: float) -> bool:
    """How much is left off and where it stands; what it is, where that finds room too."""
    parts = [(part.value, count) for part, count in left.items() if count]
    see, count = _sheets(text, left), sum(left.values())
    told = (*named_more_texts(parts, see), more_text(count, see), short_more_text(count, see))
    return any(column.put_whole(one, size, bold=True, lines=1) for one in told)


def _sheets(text: Text, left: dict[Part, int]) -> str:
    """Where what is left off stands; the model stands on every sheet."""
    parts = [part for part, count in left.items() if count and part is not Part.MODEL]
    sheets = dict.fromkeys(PICK_LIST if part is Part.LOTS else text.see for part in parts)
    return ", ".join(map(_, sheets)) or _(text.see)


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
