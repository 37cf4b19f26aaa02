"""What is written on the three kinds of label; what of it survives is in `priorities`."""

from __future__ import annotations

from collections import Counter
from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from kitting.facts.verdicts import Doubt, Verdict
from kitting.facts.words import NeedRule
from kitting.reports.labels.column import Entry
from kitting.reports.labels.priorities import BAG_ROWS, END_ROWS, KIT_ROWS, Part, Row
from kitting.reports.wording import DEFERS_SHORT, sign
from kitting.views.kit import Bag, BagLine, ContentView, EndLabel, KitView
from kitting.views.plan import TighteningView
from kitting.wording.cautions import general_names, titles_text
from kitting.wording.figures import amount, day
from kitting.wording.kit import (
    amount_text,
    detail_text,
    differs_text,
    left_off_text,
    lubricant_text,
    lubricants_texts,
    part_text,
    passed_text,
    shortage_text,
    with_kept,
)
from kitting.wording.kit_life import kit_in_text
from kitting.wording.label_marks import (
    not_fine_count,
    not_fine_texts,
    ring_texts,
    spare_text,
    spares_text,
    with_text,
)
from kitting.wording.labels import (
    PICKED,
    bag_head,
    bag_name,
    bags_text,
    by_item,
    colour_text,
    count_text,
    dry_texts,
    hazard_texts,
    kit_name,
    lacking_ring_text,
    lots_text,
    lubricant_short,
    place_name,
    plate_text,
    positions_text,
    ring_text,
    rings_text,
    swap_text,
    tray_text,
)
from kitting.wording.language import N_, _, n_, word_text
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

PLAN_SHEET, PICK_LIST, SEAL_MAP = N_("plan sheet"), N_("pick list"), N_("seal map")
# What is left off last comes first.
_ORDER = (NeedRule.RENEW, NeedRule.INSPECT, NeedRule.KEEP, NeedRule.USE)


@dataclass(frozen=True, slots=True)
class Block:
    """What a row of a label says; of a row of the largest type, in ever shorter words.

    `short` says it as short as it can be said, for a label too small for all of it; `dropped` is
    how many entries that leaves off. `title` stands above the entries, `summary` before them where
    not all find room: what of them must not be missing. `sends` is whether that says where the
    rest of them stands.
    """

    entries: tuple[Entry, ...]
    short: tuple[Entry, ...] | None = None
    dropped: int = 0
    title: str = ""
    summary: str = ""
    summary_short: tuple[str, ...] = ()
    sends: bool = False

    @property
    def brief(self) -> tuple[Entry, ...]:
        """The shortest that there is."""
        return self.entries if self.short is None else self.short


@dataclass(frozen=True, slots=True)
class Text:
    """All that is written on a label: its code, what it is `called`, its rows in their order.

    `see` is the sheet on which what is left off stands.
    """

    code: str
    called: str
    rows: tuple[Row, ...]
    blocks: Mapping[Part, Block]
    see: str


def _told(
    code: str, called: str, rows: tuple[Row, ...], blocks: Mapping[Part, Block], see: str
) -> Text:
    """A label of the blocks that say something."""
    known = {part for row in rows for part in (row.part,)}
    if unknown := set(blocks) - known:
        raise KeyError(f"no row for {unknown}")
    return Text(code, called, rows, {p: block for p, block in blocks.items() if block.entries}, see)


def _block(*texts: str) -> Block:
    return Block(tuple(Entry(text) for text in texts if text))


def _shorter(full: Iterable[str], short: Iterable[str], dropped: int = 0) -> Block:
    block, brief = _block(*full), _block(*short)
    return Block(block.entries, brief.entries, dropped)


def kit_text(kit: KitView) -> Text:
    """The label of the kit: whose it is, what is dangerous, what lacks, what lies loose in it."""
    warned = hazard_texts(kit.hazards, kit.warnings)
    named = kit_name(kit)
    titles = titles_text(kit.cautions)
    jobs = tuple(Entry(job) for job in kit.jobs)
    doubts = [doubt for doubt in kit.doubts if doubt.verdict is not Verdict.UNKNOWN]
    blocks = {
        Part.NAME: _block(kit.booking or named),
        Part.REFERENCE: _block(named if kit.booking else ""),
        Part.CAR: _block(plate_text(kit)),
        Part.HAZARDS: _shorter([" · ".join(warned)], [general_names(kit.hazards, " · ")]),
        Part.NOT_FINE: _block(_not_fine(kit)),
        Part.KIT_PLACE: _block("" if kit.kit_in is None else kit_in_text(kit.kit_in)),
        Part.LACKING: _shortages(kit),
        Part.EXPIRY: _block(
            "" if kit.keeps_to is None else _("earliest expiry {day}", day=day(kit.keeps_to))
        ),
        Part.LEFT_OFF: _block(*map(doubt_text, doubts)),
        Part.COUNT: _block(_(PICKED)),
        Part.BAGS: _block(bags_text(len(kit.bags))),
        Part.MODEL: _block(kit.model or kit.vehicle),
        Part.JOBS: Block(jobs),
        Part.LOOSE: Block(tuple(map(_loose, kit.loose))),
        Part.CAUTIONS: _block(
            _("Cautions, see pick list: {titles}. {defers}", titles=titles, defers=_(DEFERS_SHORT))
            if titles
            else ""
        ),
    }
    return _told(kit.reference, named, KIT_ROWS, blocks, PICK_LIST)


def _shortages(kit: KitView) -> Block:
    """What is short in one box; where room is scarce each by itself, as many as there is room."""
    texts = [shortage_text(short, elsewhere=False) for short in kit.shortages]
    all_of_it = [_("SHORT: {what}", what=", ".join(texts))] if texts else []
    return _shorter(all_of_it, [_("SHORT: {what}", what=text) for text in texts])


def _not_fine(kit: KitView) -> str:
    """ "1 SHORT · 2 NO: see the pick list": how much is not fine, the worst first; "" if all is."""
    doubts: dict[Verdict, list[Doubt]] = {}
    for doubt in kit.doubts:
        doubts.setdefault(doubt.verdict, []).append(doubt)
    found = ([_("{count} SHORT", count=len(kit.shortages))] if kit.shortages else []) + [
        f"{len(several)} {verdict_text(verdict)}" for verdict, several in doubts.items()
    ]
    return _("{counts}: see the pick list", counts=" · ".join(found)) if found else ""


def _loose(line: BagLine) -> Entry:
    detail = "; ".join(map(say, line.notes)) or detail_text(line.content)
    packs = f" ({detail})" if detail else ""
    return Entry(f"{line.content.name}{packs}", amount_text(line.content))


def bag_text(kit: KitView, bag: Bag, wide: bool) -> Text:
    """The label of a bag: its joint, what it lacks, its contents, how they are tightened.

    `wide` is a label that has room for a column of rules.
    """
    # A figure nobody knows, an odd one and a left-hand thread are the last that may be left off.
    torques = sorted(
        bag.tightening, key=lambda row: bool(row.stages) and not row.left_hand and not is_odd(row)
    )
    rings = {end.content.item for end in bag.ends}
    # What never goes back comes first, and is the last to be left off.
    lines = sorted(bag.lines, key=lambda line: _ORDER.index(line.content.rule))
    warned = hazard_texts(bag.hazards, bag.warnings)
    lots = {line.content.item: lots_text(line.lots, line.content.unit) for line in by_item(lines)}
    blocks = {
        Part.NAME: _block(*bag_head(bag, kit)),
        Part.TRAY: _block(tray_text(bag)),
        Part.PLACE: _block(bag.joint_name),
        Part.LACKING: _shorter(not_fine_texts(kit, bag), [not_fine_count(kit, bag)]),
        Part.LEFT_OFF: _left_off(bag),
        Part.HAZARDS: _shorter([" · ".join(warned)], [general_names(bag.hazards, " · ")]),
        Part.LEFT_HAND: _block(_(LEFT_HAND) if any(row.left_hand for row in torques) else ""),
        Part.CAR: _block(plate_text(kit)),
        Part.SHARE: _block(part_text(bag)),
        Part.COUNT: _block(count_text(str(bag.count_out)) if bag.count_out else ""),
        Part.USES: _block(with_text(kit, bag)),
        Part.CONTENTS: _contents(lines, wide, rings),
        Part.TIGHTEN: _tighten(torques),
        Part.LOTS: _block(*(f"{item}: {text}" for item, text in lots.items() if text)),
        Part.MODEL: _block(kit.model or kit.vehicle),
    }
    return _told(bag.code, bag_name(bag), BAG_ROWS, blocks, PLAN_SHEET)


def _left_off(bag: Bag) -> Block:
    if not bag.left_off:
        return Block(())
    count = n_(
        "LEFT OFF, not in this bag: {count} part",
        "LEFT OFF, not in this bag: {count} parts",
        len(bag.left_off),
    )
    return _shorter([left_off_text(bag)], [count])


def _contents(lines: Sequence[BagLine], wide: bool, rings: Container[str]) -> Block:
    """All contents; where not all fit, first what becomes of how many, and what goes in dry."""
    counted = Counter(line.content.rule for line in lines)
    rules = (
        f"{sign(rule)} {word_text(rule).upper()} {counted[rule]}"
        for rule in _ORDER
        if counted[rule]
    )
    spares = spares_text(lines)
    summed = (*map(str.strip, rules), *([spares] if spares else []), *dry_texts(lines))
    return Block(
        entries=tuple(_content(line, wide, line.content.item in rings) for line in lines),
        summary=" · ".join(summed),
        summary_short=summed,
    )


def _content(line: BagLine, wide: bool, labelled: bool) -> Entry:
    """One content; a ring that has a label of its own needs its lubricant only there.

    That it goes in dry is said everywhere.
    """
    content = line.content
    what = spare_text(line, with_kept(line, f"{amount_text(content)} × {content.name}"))
    lubricant = " / ".join(lubricants_texts(line) if not labelled or line.goes_dry else ())
    places = positions_text(line.positions)
    about = " · ".join(part for part in (places, lubricant) if part)
    text = f"{what}: {about}" if about else what
    word = _rule_word(content)
    if wide:
        return Entry(text, f"{sign(content.rule)} {word}")
    return Entry(f"{word} {text}", sign(content.rule))


def _rule_word(content: ContentView) -> str:
    return passed_text() if content.passed else word_text(content.rule).upper()


def _tighten(torques: Sequence[TighteningView]) -> Block:
    """All figures where they fit; else first how many there are and how many nobody knows."""
    counts = (
        (sum(not row.stages for row in torques), _("WITHOUT A FIGURE")),
        (sum(row.left_hand for row in torques), _(LEFT_HAND)),
        (sum(map(is_contradicted, torques)), _(CONTRADICTED)),
        (sum(map(is_odd, torques)) - sum(map(is_contradicted, torques)), _(ODD)),
    )
    among = "".join(f", {count} {what}" for count, what in counts if count)
    # That a thread is left-hand stands on a row of its own.
    briefly = "".join(
        f", {count} {what}" for count, what in counts if count and what != _(LEFT_HAND)
    )
    return Block(
        entries=tuple(Entry(tightening_text(row)) for row in torques),
        title=_("TIGHTEN (the maker's data goes first)"),
        summary=n_(
            "TIGHTEN {count} position{among}: see the tightening sheet",
            "TIGHTEN {count} positions{among}: see the tightening sheet",
            len(torques),
            among=among,
        ),
        summary_short=(
            _("TIGHTEN {count}{among}: tightening sheet", count=len(torques), among=briefly),
        ),
        sends=True,
    )


def ends_of(bag: Bag) -> Iterator[tuple[EndLabel, ...]]:
    """The ring ends of a bag as they share labels."""
    found: dict[str, list[EndLabel]] = {}
    for number, end in enumerate(bag.ends):
        found.setdefault(end.code or str(number), []).append(end)
    yield from map(tuple, found.values())


def end_text(kit: KitView, bag: Bag, ends: Sequence[EndLabel]) -> Text:
    """The label of a ring, or of like ones: its bag and where it goes come first and largest."""
    end, name = ends[0], place_name(ends)
    content, positions = end.content, positions_text([one.position for one in ends])
    lots = [lot for one in ends for lot in one.lots]
    pieces = amount(sum(one.content.quantity for one in ends), content.unit)
    places = [positions, name] if end.end else [name]
    nearest, *others = map(swap_text, end.differs) if end.differs else ("",)
    blocks = {
        Part.NAME: _block(*bag_head(bag, kit)),
        Part.LACKING: _block(lacking_ring_text(ends), *ring_texts(kit, bag, ends)),
        Part.PLACE: _shorter(places, [name], dropped=len(places) - 1),
        Part.SIZE: _block(ring_text(end)),
        Part.SWAP: _block(nearest),
        Part.ITEM: _block(rings_text(ends)),
        Part.LUBRICANT: _shorter(
            [lubricant_text(end.lubricant, end.lubricant_sourced)], [lubricant_short(end)]
        ),
        Part.RULE: _block(f"{sign(content.rule)} {_rule_word(content)}".strip()),
        Part.COUNT: _block(count_text(pieces)),
        Part.OTHER_SWAPS: _block(*others),
        Part.DIFFERENCES: Block(tuple(Entry(differs_text(other), "≠") for other in end.differs)),
        Part.LOTS: _block(lots_text(lots, content.unit)),
        Part.CAR: _block(plate_text(kit)),
        Part.JOINT: _block(bag.joint_name),
        Part.COLOUR: _block(colour_text(content.colour) if content.colour else ""),
        Part.MODEL: _block(kit.model or kit.vehicle),
    }
    code = end.code or bag.code
    return _told(code, f"{bag_name(bag)}, {name}", END_ROWS, blocks, SEAL_MAP)
