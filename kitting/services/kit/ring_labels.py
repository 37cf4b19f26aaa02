"""Labels of ring ends: how each ring differs from those that could be taken for it."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import replace

from kitting.calc.rubber.ring_ends import RingEnd, difference, nearness, swappable
from kitting.facts.words import NeedRule
from kitting.views.kit import Bag, ContentView, DiffersView, EndLabel
from kitting.views.plan import LineView, PositionView


def end_label(line: LineView, position: PositionView) -> EndLabel:
    """The label of a ring at a position."""
    return EndLabel(
        position=position.position,
        end=position.end,
        content=ContentView(
            item=line.item,
            name=line.name,
            rule=NeedRule(line.rule),
            quantity=position.quantity,
            unit=line.unit,
            size=line.size,
            material=line.material,
            colour=line.colour,
            passed=position.passed,
        ),
        lubricant=position.lubricant,
        lubricant_sourced=position.lubricant_sourced,
        elastomer=line.elastomer,
        hardness=line.hardness,
        ring=line.ring,
        kind=line.kind,
    )


def with_codes(bag: str, ends: Iterable[EndLabel]) -> tuple[EndLabel, ...]:
    """The ring ends of a bag, each with the code of its label: the bag's and a number from 1.

    Positions of one item with the same end, lubricant and rule share a label, and so a number.
    """
    numbers: dict[tuple[object, ...], int] = {}
    coded = []
    for end in ends:
        content = end.content
        rule = (content.rule, content.passed)
        alike = (content.item, rule, end.end, end.lubricant, end.lubricant_sourced)
        coded.append(replace(end, code=f"{bag}-{numbers.setdefault(alike, len(numbers) + 1)}"))
    return tuple(coded)


def ring_end(joint: str, label: EndLabel) -> RingEnd:
    """A ring with what distinguishes it."""
    return RingEnd(
        joint=joint,
        position=label.position,
        end=label.end,
        item=label.content.item,
        inside=label.ring.inside if label.ring else None,
        section=label.ring.section if label.ring else None,
        elastomer=label.elastomer,
        hardness=label.hardness,
        colour=label.content.colour,
        kind=label.kind,
    )


def with_differences(bags: Sequence[Bag]) -> tuple[Bag, ...]:
    """The bags with what tells each ring from those of the kit that could be taken for it."""
    labels = [(ring_end(bag.joint, label), label) for bag in bags for label in bag.ends]
    shared = Counter(label.end for _, label in labels)
    names = {end: _place(label, shared) for end, label in labels}
    contents = {end.item: label.content for end, label in labels}

    def compared(bag: Bag, label: EndLabel) -> EndLabel:
        me = ring_end(bag.joint, label)
        others: dict[str, list[RingEnd]] = defaultdict(list)
        for other, _ in labels:
            if swappable(me, other):
                others[other.item].append(other)
        ranked = sorted(others.values(), key=lambda ends: (nearness(me, ends[0]), ends[0].item))
        return replace(
            label,
            differs=tuple(
                DiffersView(
                    ends=tuple(dict.fromkeys(names[end] for end in ends)),
                    size=contents[ends[0].item].size,
                    material=contents[ends[0].item].material,
                    difference=difference(me, ends[0]),
                    item=ends[0].item,
                )
                for ends in ranked
            ),
        )

    return tuple(
        replace(bag, ends=tuple(compared(bag, label) for label in bag.ends)) for bag in bags
    )


def _place(label: EndLabel, shared: Counter[str | None]) -> str:
    """The name of an end by what is seen, with its position where two ends have one name."""
    if label.end is None:
        return label.position
    return label.end if shared[label.end] == 1 else f"{label.end} ({label.position})"
