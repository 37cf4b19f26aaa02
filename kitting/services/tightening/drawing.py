"""The drawing of a joint: its holes numbered as they stand, and in which order they are tightened.

Holes where nothing is tightened keep their numbers, so that the maker's order is not shifted.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from kitting.calc.tightening.patterns import Pattern, general_pattern, maker_pattern
from kitting.facts.reasons import Reason, because
from kitting.facts.tightening_reasons import PatternRemark
from kitting.facts.words import PatternShape
from kitting.services.tightening.layout import Layout
from kitting.services.tools.fasteners import Fastener
from kitting.views.tightening import CircleView, DrawingView, HoleView


def drawing(fitted: Sequence[Fastener], layout: Layout) -> DrawingView | None:
    """The holes of everything that this car has at a joint; None where nobody gives any.

    `fitted` is what is fitted there, in the order of the catalogue; a hole's `row` is the place of
    its fastener among those that are tightened.
    """
    drilled = [fastener for fastener in fitted if fastener.fit in layout.holes]
    rows = {
        fastener.fit: row
        for row, fastener in enumerate(fastener for fastener in fitted if fastener.tightened)
    }
    if not any(fastener.tightened for fastener in drilled):
        return None
    differ = len({fastener.item for fastener in drilled if fastener.tightened}) > 1
    holes: list[HoleView] = []
    for fastener in drilled:
        name = _short(fastener) if differ or not fastener.tightened else None
        for x, y in layout.holes[fastener.fit]:
            holes.append(
                HoleView(
                    number=len(holes) + 1,
                    x=x / 1000,
                    y=y / 1000,
                    row=rows.get(fastener.fit),
                    fastener=name,
                )
            )
    joint = drilled[0].joint_key
    lacking = [fastener for fastener in fitted if fastener.tightened and fastener not in drilled]
    pattern, remark = _pattern(holes, layout.orders.get(joint, ()), drilled, lacking)
    if pattern.order and pattern.shape is PatternShape.MAKER:
        stated = joint in layout.taken_from or any(fastener.source for fastener in fitted)
        remark = (*(() if stated else (because(PatternRemark.ORDER_WITHOUT_SOURCE),)), *remark)
    return DrawingView(
        holes=tuple(holes),
        order=pattern.order,
        shape=pattern.shape,
        front=layout.fronts.get(joint),
        seen_from=layout.seen_from.get(joint),
        circles=tuple(CircleView(circle.x, circle.y, circle.radius) for circle in pattern.circles),
        remarks=(*remark, *_not_tightened(holes)),
    )


def _short(fastener: Fastener) -> str:
    """A bolt by what its neighbours do not have: "M8 × 40 mm"."""
    if fastener.thread and fastener.length:
        return f"{fastener.thread} × {fastener.length / 1000:g} mm"
    return fastener.item


def _pattern(
    holes: Sequence[HoleView],
    order: Sequence[int],
    drilled: Sequence[Fastener],
    lacking: Sequence[Fastener],
) -> tuple[Pattern, tuple[Reason, ...]]:
    """The maker's order if there is one, else the general one; with what has to be said of it.

    There is none where the maker's does not name what is tightened, nor a general one where the
    maker gives an order of fasteners in words, or holes are given for a part of several fasteners
    alike. How stages follow each other is no order of fasteners.
    """
    tightened = [hole for hole in holes if hole.row is not None]
    numbers = [hole.number for hole in tightened]
    kinds = {fastener.kind.name for fastener in drilled}
    said = _lacking(lacking, len(tightened), PatternRemark.NOT_ALL_DRAWN)
    if order:
        found = maker_pattern(order, numbers)
        if found is not None:
            return found, said
        reason = because(
            PatternRemark.ORDER_OF_OTHER_HOLES,
            order="-".join(map(str, order)),
            holes=tuple(map(str, numbers)),
        )
        return Pattern((), PatternShape.MAKER), (reason, *said)
    found = general_pattern([(hole.x, hole.y) for hole in tightened])
    worded = tuple(dict.fromkeys(one.pattern for one in (*drilled, *lacking) if one.pattern))
    if worded:
        reason = because(PatternRemark.IN_WORDS, words=worded)
        return Pattern((), PatternShape.MAKER, found.circles), (reason, *said)
    if any(fastener.count > 1 or fastener.kind.name in kinds for fastener in lacking):
        none = _lacking(lacking, len(tightened), PatternRemark.NOT_DRAWN)
        return Pattern((), found.shape, found.circles), none
    turned = Pattern(tuple(numbers[n - 1] for n in found.order), found.shape, found.circles)
    return turned, said


def _lacking(lacking: Sequence[Fastener], drawn: int, code: PatternRemark) -> tuple[Reason, ...]:
    """That some fasteners of a joint are in no hole of its drawing."""
    if not lacking:
        return ()
    every = drawn + sum(fastener.count for fastener in lacking)
    positions = tuple(fastener.position for fastener in lacking)
    return (because(code, drawn=drawn, all=every, positions=positions),)


def _not_tightened(holes: Iterable[HoleView]) -> Iterator[Reason]:
    """The holes where nothing is tightened, by what goes in."""
    found: dict[str, list[str]] = {}
    for hole in holes:
        if hole.row is None:
            found.setdefault(hole.fastener or "", []).append(str(hole.number))
    for item, numbers in found.items():
        yield because(PatternRemark.NOT_TIGHTENED, holes=tuple(numbers), item=item)
