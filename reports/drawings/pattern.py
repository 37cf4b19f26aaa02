"""The drawing of a joint: numbered holes, the order of tightening, which way the front is."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import partial

from kitting.facts.tightening_reasons import PatternRemark
from kitting.facts.words import PatternShape
from kitting.reports.drawings.holes import Pattern, PlacedHole, letters, plan_drawing
from kitting.reports.sheet import Block, Cell, Part, Sheet
from kitting.reports.text import MM, Fitted, draw, fit, width_of
from kitting.views.tightening import DrawingView, HoleView
from kitting.wording.language import N_, _, in_figures, n_
from kitting.wording.reasons import say

GENERAL = N_("GENERAL PATTERN, NOT MAKER'S")
SIDE_NOT_STATED = N_(
    "SEEN FROM: NOT STATED. From the other side the holes are mirrored: make sure which is which."
)
_ORDER, _SMALL = 13.0, 9.0
# Frames to try in turn (width, height in mm), and what the words of the front need.
FRAMES = (
    (66.0, 50.0), (72.0, 66.0), (72.0, 84.0), (105.0, 100.0), (130.0, 100.0), (186.0, 130.0),
)  # fmt: skip
NARROWEST = 48.0
_APART, _BESIDE = 5.0, 48.0
# So many different fasteners have their key beside the drawing; more have it below.
_FEW = 6
_ARROW = 9.0
# Half of a cross where nothing is tightened, in points.
_CROSS = 4.0


def pattern_blocks(view: DrawingView, sheet: Sheet) -> Iterator[Block]:
    """The drawing with its words, and the key to the fasteners' letters."""
    yield _picture(view, sheet)
    lines = list(_key(view.holes))
    if len(lines) > _FEW:
        for line in lines:
            yield sheet.cells([Cell(0, sheet.width, (line,))])


def _key(holes: Sequence[HoleView]) -> Iterator[Part]:
    """What each letter stands for, and in which holes it goes."""
    for name, letter in letters(holes).items():
        numbers = [
            str(hole.number) for hole in holes if hole.fastener == name and hole.row is not None
        ]
        text = n_(
            "{letter} = {name}: hole {numbers}",
            "{letter} = {name}: holes {numbers}",
            len(numbers),
            letter=letter,
            name=name,
            numbers=", ".join(numbers),
        )
        yield Part(text, 10, bold=True, lines=4)


def _picture(view: DrawingView, sheet: Sheet) -> Block:
    """The drawing with its words beside it; below it where it takes the whole width.

    Holes too close to be numbered are not drawn, and the words say so.
    """
    pattern = plan_drawing(view, FRAMES, NARROWEST)
    if pattern is None:
        return _words(view, None, 0.0, sheet)
    picture = Block(pattern.height + _ARROW + 1, partial(_paint, view, pattern))
    left = pattern.width + _APART
    if sheet.width - left >= _BESIDE:
        words = _words(view, pattern, left, sheet)
        return Block(max(picture.height, words.height), _both(picture, words))
    words = _words(view, pattern, 0.0, sheet)

    def paint(sheet: Sheet) -> None:
        picture.draw(sheet)
        sheet.y += picture.height
        words.draw(sheet)
        sheet.y -= picture.height

    return Block(picture.height + words.height, paint)


def _both(one: Block, other: Block) -> partial[None]:
    return partial(_paint_both, one, other)


def _paint_both(one: Block, other: Block, sheet: Sheet) -> None:
    one.draw(sheet)
    other.draw(sheet)


def _words(view: DrawingView, pattern: Pattern | None, left: float, sheet: Sheet) -> Block:
    width = sheet.width - left
    return sheet.cells([Cell(left, width, tuple(_parts(view, pattern, width)))])


def _order(view: DrawingView, pattern: Pattern | None, width: float) -> Iterator[Part]:
    """The order of tightening and what is remarked of it; numbers only where a drawing has them."""
    in_words = any(remark.code is PatternRemark.IN_WORDS for remark in view.remarks)
    if view.order and pattern is None:
        title = _("THE ORDER CANNOT BE SHOWN: no drawing numbers the holes")
        yield Part(title, 11, bold=True, lines=3)
    elif view.order:
        title = _("MAKER'S ORDER") if view.shape == PatternShape.MAKER else _(GENERAL)
        yield Part(title, 12, bold=True, lines=2)
        yield from _chain(f"{_('TIGHTEN order')} ", view.order, width, _ORDER)
    elif not in_words:
        yield Part(_("NO ORDER OF TIGHTENING IS STATED"), 11, bold=True)
    for remark in view.remarks:
        yield Part(say(remark), 9, bold=True, lines=6)
    if view.order and pattern is not None:
        # The maker may want it otherwise, so that it never stands under the maker's order.
        yield Part(_("General practice, not the maker's: loosen in reverse"), 9, lines=3)
        yield from _chain("", view.order[::-1], width, _SMALL)


def _parts(view: DrawingView, pattern: Pattern | None, width: float) -> Iterator[Part]:
    yield from _order(view, pattern, width)
    if pattern is None:
        yield Part(_("The holes lie too close together to be numbered in a drawing."), 9)
    else:
        if view.order:
            begins = _(
                "The double ring marks where tightening begins: hole {hole}.", hole=view.order[0]
            )
            yield Part(begins, 9)
        yield Part(_size(pattern), 9)
    if view.seen_from is None:
        yield Part(_(SIDE_NOT_STATED), 9, bold=True, lines=5)
    else:
        yield Part(_("Seen from: {side}", side=view.seen_from), 10, bold=True, lines=3)
    if view.front is None:
        yield Part(
            _("FRONT NOT STATED: make sure which hole is number 1 before starting."),
            9,
            bold=True,
            lines=4,
        )
    key = list(_key(view.holes))
    if len(key) <= _FEW:
        yield from key


def _size(pattern: Pattern) -> str:
    """How far the outer holes are apart, so that the reader can tell which way the part lies."""
    across, up = in_figures(_tenths(pattern.across)), in_figures(_tenths(pattern.up))
    if pattern.across > 0 and pattern.up > 0:
        return _(
            "Holes to scale; between the outer ones {across} mm across, {up} mm up.",
            across=across,
            up=up,
        )
    if pattern.across > 0:
        return _("Holes to scale; between the outer ones {across} mm across.", across=across)
    if pattern.up > 0:
        return _("Holes to scale; between the outer ones {up} mm up.", up=up)
    return _("Holes to scale.")


def _tenths(length: float) -> str:
    """A length to 0.1 mm, never without its leading zero and without needless ones."""
    text = f"{length:.1f}"
    return text.removesuffix(".0")


def _chain(title: str, numbers: Sequence[int], width: float, size: float) -> Iterator[Part]:
    """Hole numbers joined by dashes, in lines that end between two numbers."""
    bold = size >= _ORDER
    room = width * MM
    line, rest = title, list(map(str, numbers))
    for place, number in enumerate(rest):
        piece = number + ("-" if place < len(rest) - 1 else "")
        if line.strip() and width_of(line + piece, size, bold) > room:
            yield Part(line, size, bold=bold, lines=1, smallest=size)
            line = ""
        line += piece
    yield Part(line, size, bold=bold, lines=1, smallest=6)


def _paint(view: DrawingView, pattern: Pattern, sheet: Sheet) -> None:
    canvas = sheet.canvas
    high = pattern.height + _ARROW
    x, y = sheet.point(0, high)
    canvas.setLineWidth(0.9)
    canvas.rect(x, y, pattern.width * MM, high * MM)
    _paint_front(view.front, x, y + high * MM, pattern.width, sheet)
    for across, up, radius in (tuple(value * MM for value in ring) for ring in pattern.rings):
        canvas.saveState()
        canvas.setLineWidth(0.7)
        canvas.setDash(1, 2)
        canvas.circle(x + across, y + up, radius)
        canvas.restoreState()
    for hole in pattern.holes:
        _paint_hole(hole, pattern.radius * MM, x, y, sheet)


def _paint_hole(hole: PlacedHole, radius: float, left: float, low: float, sheet: Sheet) -> None:
    """A white disc with the number in it; the first has a second ring, its fastener a letter.

    Where nothing is tightened there is a cross, and its number beside it.
    """
    canvas = sheet.canvas
    x, y = left + hole.x * MM, low + hole.y * MM
    if not hole.tightened:
        canvas.setLineWidth(0.7)
        canvas.line(x - _CROSS, y, x + _CROSS, y)
        canvas.line(x, y - _CROSS, x, y + _CROSS)
        number = fit(str(hole.number), (20, 12), (7, 6), lines=1)
        _on_white(number, x + _CROSS + 1, y + 0.57 * number.size, sheet)
        return
    canvas.saveState()
    canvas.setFillGray(1)
    canvas.setLineWidth(0.9)
    canvas.circle(x, y, radius, stroke=1, fill=1)
    canvas.restoreState()
    inner = radius
    if hole.first:
        inner = radius - 1.3
        canvas.setLineWidth(0.7)
        canvas.circle(x, y, inner)
    room = 1.72 * inner
    number = fit(str(hole.number), (room, 2 * radius), (min(11.0, 1.25 * radius), 4), bold=True,
                 lines=1, squeeze=0.1)  # fmt: skip
    _centred(number, x, y, sheet)
    if hole.letter is not None:
        letter = fit(hole.letter, (20, 12), (8.5, 6.5), bold=True, lines=1)
        _on_white(letter, x + radius + 1, y + 0.57 * letter.size, sheet)


def _on_white(text: Fitted, x: float, top: float, sheet: Sheet) -> None:
    """A letter or figure beside a hole: no line of a circle runs through it."""
    canvas = sheet.canvas
    wide = max((width_of(line, text.size, text.bold) for line in text.lines), default=0.0)
    canvas.saveState()
    canvas.setFillGray(1)
    canvas.rect(x - 0.5, top - text.height, wide + 1, text.height, stroke=0, fill=1)
    canvas.restoreState()
    draw(canvas, x, top, text)


def _centred(text: Fitted, x: float, y: float, sheet: Sheet) -> None:
    """Figures with their middle at a point: they are 0.73 of the size high."""
    for line in text.lines:
        width = width_of(line, text.size, text.bold)
        # The top of a line lies 0.93 of the size above its base line.
        draw(sheet.canvas, x - width / 2, y + (0.93 - 0.365) * text.size, text)


def _paint_front(front: str | None, x: float, top: float, width: float, sheet: Sheet) -> None:
    canvas = sheet.canvas
    start = x + 2.5 * MM
    if front is not None:
        high, half = 6.5 * MM, 1.3 * MM
        middle, tip = start + half, top - 1.2 * MM
        canvas.setLineWidth(1.4)
        canvas.line(middle, tip - high, middle, tip - 1)
        path = canvas.beginPath()
        path.moveTo(middle, tip)
        path.lineTo(middle - half, tip - 2.6 * MM)
        path.lineTo(middle + half, tip - 2.6 * MM)
        path.close()
        canvas.drawPath(path, stroke=0, fill=1)
        start += 2 * half + 1.5 * MM
    told = front or _("front not stated")
    words = fit(told, (x + (width - 2) * MM - start, 7.5 * MM), (9.5, 6.5),
                bold=front is not None, lines=2)  # fmt: skip
    draw(canvas, start, top - (8.5 * MM - words.height) / 2, words)
