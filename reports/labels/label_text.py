"""What is written on the three kinds of label, from the top down."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from kitting.facts.units import format_quantity
from kitting.facts.verdicts import Doubt, Verdict
from kitting.facts.words import NeedRule
from kitting.reports.labels.column import Column, Entry
from kitting.reports.wording import DEFERS_SHORT, sign
from kitting.views.kit import Bag, BagLine, EndLabel, KitView
from kitting.views.plan import TighteningView
from kitting.wording.figures import many
from kitting.wording.kit import (
    amount_text,
    applied_text,
    detail_text,
    differs_text,
    left_off_text,
    lubricant_text,
    part_text,
    shortage_text,
)
from kitting.wording.kit_life import kit_in_text
from kitting.wording.reasons import say
from kitting.wording.tightening import (
    CONTRADICTED,
    LEFT_HAND,
    ODD,
    is_contradicted,
    is_odd,
    tightening_text,
)
from kitting.wording.verdicts import doubt_text, verdict_text


@dataclass(frozen=True, slots=True)
class Size:
    """Type sizes in points: of the largest line of a label, and of its plain text."""

    head: float
    text: float


# What is left off last comes first.
_ORDER = (NeedRule.RENEW, NeedRule.INSPECT, NeedRule.KEEP, NeedRule.USE)
# Column, sizes, and whether the label is wide enough for rule words in a column of their own.
Writer = Callable[[Column, Size, bool], None]


def write_kit(kit: KitView, *, brief: bool = False) -> Writer:
    """The label of the kit: whose it is, what is dangerous, what lacks, what lies loose in it.

    `brief` is for a label on which not all of it finds room: how much is not fine comes first.
    """
    bags = "1 bag" if len(kit.bags) == 1 else f"{len(kit.bags)} bags, refit from bag 1 upwards"
    titles = ", ".join(caution.title for caution in kit.cautions)
    jobs = [Entry("", job) for job in kit.jobs]
    loose = [_loose(line) for line in kit.loose]

    def write(column: Column, size: Size, _wide: bool) -> None:
        text = size.text
        largest = max(text, 0.85 * size.head)
        if kit.booking is None:
            column.put_head(f"KIT {kit.reference}", largest, lines=1)
        else:
            # It is what people ask for: it stays larger than the rest on a crowded label too.
            column.put_head(kit.booking, max(largest, 1.5 * text), lines=1)
            column.put(f"KIT {kit.reference}", text, bold=True)
        if brief:
            _alarm(column, [*kit.hazards, *_counted(kit)], text)
        column.put(_car(kit), text, bold=True, lines=2)
        if kit.kit_in is not None:
            column.put(kit_in_text(kit.kit_in), text, bold=True)
        if kit.hazards and not brief:
            column.boxed(" · ".join(kit.hazards), text, lines=3)
        if kit.keeps_to is not None:
            column.put(f"earliest expiry {kit.keeps_to}", text, bold=True)
        _told(column, kit, text, brief)
        column.put(bags, text)
        column.put_list(jobs, text)
        if loose:
            column.rule(text)
        column.put_list(loose, text)
        if titles:
            cautions = f"Cautions, see pick list: {titles}. {DEFERS_SHORT}"
            column.put(cautions, text, lines=4)

    return write


def _told(column: Column, kit: KitView, size: float, brief: bool) -> None:
    """What lacks and what is not fine: one frame for each, so that what finds no room counts."""
    for short in kit.shortages:
        column.boxed(f"SHORT: {shortage_text(short, elsewhere=False)}", size, lines=6)
    for doubt in _left_off(kit):
        column.boxed(doubt_text(doubt), size, lines=6)
    unproven = [doubt for doubt in kit.doubts if doubt.verdict is Verdict.UNKNOWN]
    if unproven and not brief:
        column.boxed(f"{_number_of(unproven)}: see the pick list", size, lines=2)


def _alarm(column: Column, words: list[str], size: float) -> None:
    """What has to be read on the smallest label, in one frame."""
    if words:
        column.boxed(" · ".join(words), size, lines=4)


def _counted(kit: KitView) -> list[str]:
    """ "1 SHORT", "2 NO: see the pick list": how much is not fine, the worst first."""
    doubts: dict[Verdict, list[Doubt]] = {}
    for doubt in kit.doubts:
        doubts.setdefault(doubt.verdict, []).append(doubt)
    found = [f"{len(kit.shortages)} SHORT"] if kit.shortages else []
    found += map(_number_of, doubts.values())
    return [*found[:-1], f"{found[-1]}: see the pick list"] if found else []


def _number_of(doubts: list[Doubt]) -> str:
    return f"{len(doubts)} {verdict_text(doubts[0].verdict)}"


def _left_off(kit: KitView) -> list[Doubt]:
    """What is not in the kit; what is and cannot be proven is counted, and told on the sheets."""
    return [doubt for doubt in kit.doubts if doubt.verdict is not Verdict.UNKNOWN]


def _car(kit: KitView) -> str:
    return f"{kit.vehicle}, fit on {kit.on}"


def _loose(line: BagLine) -> Entry:
    detail = "; ".join(map(say, line.notes)) or detail_text(line.content)
    packs = f" ({detail})" if detail else ""
    return Entry(amount_text(line.content), f"{line.content.name}{packs}")


def write_bag(kit: KitView, bag: Bag, *, brief: bool = False) -> Writer:
    """The label of a bag: its joint, its contents, how they are tightened.

    `brief` is for a label on which not all of it finds room: what can hurt comes first.
    """
    # A figure nobody knows, an odd one and a left-hand thread are the last that may be left off.
    torques = sorted(
        bag.tightening, key=lambda row: bool(row.stages) and not row.left_hand and not is_odd(row)
    )
    rings = {end.content.item for end in bag.ends}
    # What never goes back comes first, and is the last to be left off.
    lines = sorted(bag.lines, key=_weight)
    hand = [LEFT_HAND] if any(row.left_hand for row in torques) else []
    missing = [left_off_text(bag)] if bag.left_off else []

    def write(column: Column, size: Size, wide: bool) -> None:
        text = size.text
        tray = "" if bag.tray is None else f" · TRAY {bag.tray}"
        column.put(f"BAG {bag.number} of {len(kit.bags)}{tray}", text, bold=True)
        if brief:
            _alarm(column, [*bag.hazards, *hand, *missing], text)
        column.put_head(bag.joint_name, max(text, 0.85 * size.head), lines=2)
        column.put(part_text(bag), text, bold=True, lines=2)
        column.put(_car(kit), text, lines=2)
        if brief:
            column.rule(text)
        else:
            _alarm(column, list(bag.hazards), text)
            _alarm(column, missing, text)
            if not (bag.hazards or missing):
                column.rule(text)
        if bag.uses:
            column.put(f"WITH {applied_text(bag.uses)}", text, bold=True, lines=3)
        # Contents may not crowd out the tightening, nor the other way round.
        end = column.bottom
        column.bottom += min(_height(column, torques, text), 0.4 * column.room)
        column.put_list([_content(line, wide, line.content.item in rings) for line in lines], text)
        column.bottom = end
        _tighten(column, torques, text)

    return write


def _weight(line: BagLine) -> int:
    return _ORDER.index(line.content.rule)


def _tighten(column: Column, torques: list[TighteningView], size: float) -> None:
    """All figures where they fit; else first how many there are and how many nobody knows."""
    entries = [Entry("", tightening_text(row), whole=True) for row in torques]
    title = "TIGHTEN (the maker's data goes first)"
    trial = column.trial()
    trial.put_list(entries, size, title=title)
    if trial.left_off > column.left_off:
        counts = (
            (sum(not row.stages for row in torques), "WITHOUT A FIGURE"),
            (sum(row.left_hand for row in torques), LEFT_HAND),
            (sum(map(is_contradicted, torques)), CONTRADICTED),
            (sum(map(is_odd, torques)) - sum(map(is_contradicted, torques)), ODD),
        )
        among = "".join(f", {count} {what}" for count, what in counts if count)
        summary = f"TIGHTEN {many(len(torques), 'position')}{among}: see the tightening sheet"
        if column.put_if_room(summary, size, bold=True, lines=3):
            title = ""
    column.put_list(entries, size, title=title)


def _height(column: Column, torques: list[TighteningView], size: float) -> float:
    trial = column.trial()
    _tighten(trial, torques, size)
    return column.room if trial.left_off > column.left_off else column.top - trial.top


def _content(line: BagLine, wide: bool, labelled: bool) -> Entry:
    """One content; a ring that has a label of its own needs its lubricant only there.

    That it goes in dry is said everywhere.
    """
    content = line.content
    what = f"{amount_text(content)} × {content.name}"
    shown = line.lubricants if not labelled or line.goes_dry else ()
    lubricant = " / ".join(map(lubricant_text, shown))
    about = " · ".join(part for part in (", ".join(line.positions), lubricant) if part)
    text = f"{what}: {about}" if about else what
    word = content.rule.upper()
    if wide:
        return Entry(f"{sign(content.rule)} {word}", text)
    return Entry(sign(content.rule), f"{word} {text}")


def write_end(kit: KitView, bag: Bag, end: EndLabel, named: int = 2) -> Writer:
    """The label of one ring: where it goes comes first and largest.

    Of the rings that it could be taken for, the nearest are named; all are on the seal map.
    """
    content = end.content
    material = content.material or "material not stated"
    what = f"{content.size}  {material}" if content.size else f"{material}, size not stated"
    rule = f"{sign(content.rule)} {content.rule.upper()}".strip()
    others = [Entry("≠", differs_text(other), whole=True) for other in end.differs[:named]]
    more = len(end.differs) - named
    if more > 0:
        others.append(Entry("≠", f"and {more} more: see the seal map", whole=True))

    def write(column: Column, size: Size, wide: bool) -> None:
        text = size.text
        largest = column.put_head(end.position, size.head, lines=3)
        if end.end:
            largest = column.put_head(end.end, max(text, 0.92 * largest), lines=2)
        column.put_head(what, max(text, 0.92 * largest), lines=1)
        if wide:
            column.rule(text)
        if content.colour:
            column.put(f"colour as supplied: {content.colour}", text, lines=2)
        column.put(lubricant_text(end.lubricant, end.lubricant_sourced), text, lines=3)
        quantity = f"{rule}  {format_quantity(content.quantity, content.unit)} × {content.item}"
        column.put(quantity, text, bold=True, lines=2)
        column.put_list(others, text)
        column.put_if_room(f"{bag.joint_name} · kit {kit.reference}", text)

    return write
