"""What is short or not proven of what goes into a bag, as its label says it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator

from kitting.facts.doubt_reasons import DoubtReason
from kitting.facts.plan_reasons import LubricantReason
from kitting.facts.verdicts import Aspect, Doubt, Verdict, weakest
from kitting.facts.words import LotState
from kitting.views.bookings import Lack, PromisedView
from kitting.views.kit import Bag, BagLine, EndLabel, KitView, LeftOff
from kitting.wording.figures import amount
from kitting.wording.kit import applied_text, counted_text
from kitting.wording.labels import lacking_texts
from kitting.wording.language import _, n_
from kitting.wording.verdicts import verdict_text

# The lubricant that is named for it would spoil it.
_SPOILS = (LubricantReason.CLASH, LubricantReason.CLASH_ASK_MAKER)
_OF_LOTS = {LotState.ON_HOLD: Verdict.NO, LotState.EXPIRED: Verdict.NO,
            LotState.AGE_UNKNOWN: Verdict.UNKNOWN}  # fmt: skip


def not_fine_texts(kit: KitView, bag: Bag) -> list[str]:
    """All that is not there or not proven of what a bag holds and of what is applied with it.

    "SHORT: 1 × RING-A", "CANNOT BE PROVEN: BELT-A", "SHORT: 18.9 ml of SEALANT-A".
    """
    told = lacking_texts(bag.lines)
    told += [_marked(mark, item) for mark, item in _doubted(kit, bag)]
    for item in dict.fromkeys(_applied(bag)):
        told += _applied_texts(kit, item)
    return list(dict.fromkeys(told))


def not_fine_count(kit: KitView, bag: Bag) -> str:
    """The same as short as can be: "1 part SHORT: see the pick list"; "" where all is fine."""
    parts = sum(line.here + line.missing < line.content.quantity for line in bag.lines)
    marks = Counter(mark for mark, _item in _doubted(kit, bag))
    for item in dict.fromkeys(_applied(bag)):
        marks.update(_applied_marks(kit, item))
    if parts and not marks:
        return n_(
            "{count} part SHORT: see the pick list", "{count} parts SHORT: see the pick list", parts
        )
    if parts:
        marks.update({_("SHORT"): parts})
    counts = " · ".join(f"{count} {mark}" for mark, count in marks.items())
    return _("{counts}: see the pick list", counts=counts) if counts else ""


def _doubted(kit: KitView, bag: Bag) -> list[tuple[str, str]]:
    """The parts of a bag that are not proven, with the verdict on each."""
    judged = ((line.content.item, _verdict(kit, bag, line)) for line in bag.lines)
    return [
        (verdict_text(verdict), item) for item, verdict in judged if verdict is not Verdict.FINE
    ]


def _marked(mark: str, item: str) -> str:
    return f"{mark}: {item}"


def spare_text(line: BagLine, what: str) -> str:
    """A content of a bag, which never reads as if it were in the kit where it is not."""
    if not line.missing or line.content.passed:
        return what
    if line.missing == line.content.quantity:
        return _("SPARE NOT IN KIT: {what}", what=what)
    missing = amount(line.missing, line.content.unit)
    return _("{missing} NOT IN KIT: {what}", missing=missing, what=what)


def spares_text(lines: Iterable[BagLine]) -> str:
    """ "1 SPARE NOT IN KIT"; "" where none is missing."""
    count = sum(bool(line.missing) and not line.content.passed for line in lines)
    return n_("{count} SPARE NOT IN KIT", "{count} SPARES NOT IN KIT", count) if count else ""


def with_text(kit: KitView, bag: Bag) -> str:
    """What is applied where a bag goes, marked where it is not there: "WITH sealant (SHORT)"."""
    uses = []
    for use in bag.uses:
        marks = ", ".join(_applied_marks(kit, use.item))
        uses.append(applied_text([use]) + (f" ({marks})" if marks else ""))
    return _("WITH {uses}", uses="; ".join(uses)) if uses else ""


def ring_texts(kit: KitView, bag: Bag, ends: Iterable[EndLabel]) -> list[str]:
    """What is not proven of a ring and not there of what it goes in with."""
    told: dict[str, None] = {}
    for end in ends:
        verdict = weakest((*_of_lots(end.lots), *_of_plan(kit, bag, end.content.item)))
        if verdict is not Verdict.FINE:
            told[f"{verdict_text(verdict)}: {end.content.item}"] = None
        for item in _lubricant(end.lubricant):
            told.update(dict.fromkeys(_applied_texts(kit, item)))
    return list(told)


def _verdict(kit: KitView, bag: Bag, line: BagLine) -> Verdict:
    spoilt = any(one.code in _SPOILS for one in line.lubricants)
    own = [Verdict.NO] if spoilt else []
    return weakest((*own, *_of_lots(line.lots), *_of_plan(kit, bag, line.content.item)))


def _of_lots(lots: Iterable[PromisedView]) -> Iterator[Verdict]:
    """What the lots of a line come to; of those of the other bags nothing is said."""
    for lot in lots:
        if lot.state in _OF_LOTS:
            yield _OF_LOTS[lot.state]


def _of_plan(kit: KitView, bag: Bag, item: str) -> Iterator[Verdict]:
    """What the plan says of an item at a joint; of its figures the tightening tells."""
    for doubt in _doubts(kit, item):
        joint = _value(doubt, "joint")
        elsewhere = joint not in (None, bag.joint, bag.joint_name)
        of_plan = not isinstance(doubt.because.code, Lack) and doubt.aspect is not Aspect.FIGURE
        if of_plan and not elsewhere and doubt.because.code is not DoubtReason.OPINIONS:
            yield doubt.verdict


def _doubts(kit: KitView, item: str) -> Iterator[Doubt]:
    for doubt in kit.doubts:
        key = "what" if doubt.because.code is LeftOff.CLASH else "item"
        if _value(doubt, key) == item:
            yield doubt


def _value(doubt: Doubt, key: str) -> object:
    return dict(doubt.because.values).get(key)


def _applied(bag: Bag) -> Iterator[str]:
    """The items that are applied where a bag goes: named by it, or what its parts go in with."""
    yield from (use.item for use in bag.uses)
    for line in bag.lines:
        for lubricant in line.lubricants:
            yield from _lubricant(lubricant)


def _lubricant(lubricant: object) -> Iterator[str]:
    values = dict(getattr(lubricant, "values", ()))
    if "item" in values:
        yield str(values["item"])


def _applied_marks(kit: KitView, item: str) -> list[str]:
    """What is wrong of something applied, in a word each: "SHORT", "NO", "CANNOT BE PROVEN"."""
    marks = [_("SHORT")] if any(short.item == item for short in kit.shortages) else []
    verdict = weakest(
        doubt.verdict for doubt in _doubts(kit, item) if doubt.because.code not in _QUIET
    )
    return marks + ([verdict_text(verdict)] if verdict is not Verdict.FINE else [])


def _applied_texts(kit: KitView, item: str) -> list[str]:
    told = [
        _("SHORT: {what}", what=counted_text(short.quantity, short.unit, item))
        for short in kit.shortages
        if short.item == item
    ]
    marks = _applied_marks(kit, item)[len(told) :]
    return told + [_marked(mark, item) for mark in marks]


# Shortages have a word of their own; that an opinion is only an opinion, the sheets say.
_QUIET = (Lack.SHORT, Lack.SPARE_SHORT, DoubtReason.OPINIONS)
