"""Kits: the bags of a plan. Nothing that is stopped is bagged."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence

from kitting.calc.rubber.ring_ends import apart
from kitting.facts.words import ItemFamily, NeedRule
from kitting.services.kit.caution_places import cautions_at
from kitting.services.kit.left_off import jobs_of, kit_doubts, refuse_stopped
from kitting.services.kit.old_seals import old_seals
from kitting.services.kit.ring_labels import end_label, ring_end, with_codes, with_differences
from kitting.views.kit import (
    AppliedView,
    Bag,
    BagLine,
    ContentView,
    HazardView,
    KitView,
    ShareView,
)
from kitting.views.plan import (
    CautionView,
    JointView,
    LineView,
    PlanView,
    PositionView,
    UseView,
)

_Row = tuple[LineView, list[PositionView]]


def kit_view(plan: PlanView) -> KitView:
    """All labels of a plan. Raises RefusedError when everything of the plan is stopped."""
    refuse_stopped(plan)
    loose = [_loose_use(use) for use in plan.uses if use.to_take]
    loose += [_loose_packet(line) for line in plan.lines if line.to_take and not line.positions]
    words = [caution.word for caution in plan.cautions if caution.word]
    return KitView(
        reference=plan.reference,
        on=plan.on,
        vehicle=plan.vehicle.whole_name,
        vehicle_shortened=plan.vehicle.public_name,
        jobs=jobs_of(plan),
        bags=with_differences(tuple(bags_of(plan))),
        loose=tuple(loose),
        doubts=kit_doubts(plan),
        hazards=tuple(dict.fromkeys(words)),
        cautions=plan.cautions,
        model=plan.vehicle.model,
        plate=plan.vehicle.registration,
        plate_shortened=plan.vehicle.plate_end,
        warnings=_warnings(plan.cautions),
    )


def _warnings(cautions: Iterable[CautionView]) -> tuple[HazardView, ...]:
    found = (HazardView(caution.word, caution.title) for caution in cautions if caution.word)
    return tuple(dict.fromkeys(found))


def _warnings_of(plan: PlanView, joint: JointView, rows: Iterable[_Row]) -> tuple[HazardView, ...]:
    """What warns of a bag: the cautions of its joint, of the steps that open it, of its items."""
    return _warnings(cautions_at(plan, joint, [line.item for line, _ in rows]))


def used_content(use: UseView) -> ContentView:
    """What is taken of a consumable."""
    return ContentView(
        item=use.item,
        name=use.name,
        rule=NeedRule.USE,
        quantity=use.to_take,
        unit=use.unit,
        packs=use.packs,
        pack=use.pack,
    )


def bag_numbers(bags: Iterable[Bag]) -> dict[tuple[str, str], int]:
    """In which bag an item of a joint lies: by joint and item, which is never in two of them."""
    return {(bag.joint, line.content.item): bag.number for bag in bags for line in bag.lines}


def shares_of(bags: Iterable[Bag], item: str, rule: NeedRule) -> tuple[ShareView, ...]:
    """How much of an item goes into which bag under a rule, in the order of refitting.

    None of it where it lies loose in the kit, as all that is used up does.
    """
    amounts: dict[int, int] = defaultdict(int)
    for bag in bags:
        for line in bag.lines:
            if (line.content.item, line.content.rule) == (item, rule):
                amounts[bag.number] += line.content.quantity
    return tuple(ShareView(*share) for share in sorted(amounts.items()))


def bags_of(plan: PlanView) -> Iterator[Bag]:
    """The bags in the order of refitting: what comes off last goes back first.

    One for each joint, and more where rings of it could be swapped.
    """
    lines: dict[str, list[_Row]] = defaultdict(list)
    stopped: dict[str, list[_Row]] = defaultdict(list)
    for line in plan.lines:
        # What passed its look goes back, the others may: they are told apart.
        here: dict[tuple[str, bool], list[PositionView]] = defaultdict(list)
        for position in line.positions:
            here[position.joint, position.passed].append(position)
        for (code, _), positions in here.items():
            (stopped if line.stopped_by else lines)[code].append((line, positions))
    refit = [joint for joint in reversed(plan.joints) if joint.code in lines]
    number = 0
    for joint in refit:
        shares = list(_shares(lines[joint.code]))
        for part, rows in enumerate(shares, 1):
            number += 1
            left_off = stopped[joint.code] if part == 1 else []
            yield _bag(plan, joint, (rows, left_off), number, (part, len(shares)))


def _shares(rows: Sequence[_Row]) -> Iterator[list[_Row]]:
    """What goes into each bag of a joint: no two rings that could be swapped into one.

    Everything that is no ring goes into the first.
    """
    ends = [
        ring_end(position.joint, end_label(line, position))
        for line, positions in rows
        if line.family == ItemFamily.RING
        for position in positions
    ]
    shares = apart(ends) or ((),)
    for number, share in enumerate(shares):
        items = {end.item for end in share}
        yield [
            (line, positions)
            for line, positions in rows
            if (line.item in items if line.family == ItemFamily.RING else number == 0)
        ]


def _bag(
    plan: PlanView,
    joint: JointView,
    share: tuple[Sequence[_Row], Sequence[_Row]],
    number: int,
    part: tuple[int, int],
) -> Bag:
    """One bag: `share` is what is in it and what is left off, `part` which it is of how many."""
    rows, left_off = share
    tightenings = [
        row for row in plan.tightenings if row.joint == joint.code and not row.stopped_by
    ]
    hazards = [*joint.hazards, *(word for line, _ in rows for word in line.hazards)]
    # The old seal of a place comes out whether or not there is a new one for it.
    places = ((line, place) for line, positions in (*rows, *left_off) for place in positions)
    out = old_seals(places)
    code = f"{plan.reference}-{number:02d}"
    return Bag(
        number=number,
        code=code,
        joint=joint.code,
        joint_name=joint.name,
        lines=tuple(bag_line(line, positions) for line, positions in rows),
        ends=with_codes(
            code,
            (
                end_label(line, position)
                for line, positions in rows
                if line.family == ItemFamily.RING
                for position in positions
            ),
        ),
        tightening=tuple(row for row in tightenings if part[0] == 1),
        count_out=out or None,
        hazards=tuple(dict.fromkeys(hazards)),
        part=part[0],
        parts=part[1],
        uses=tuple(_applied(plan, joint, rows, first=part[0] == 1)),
        left_off=tuple(bag_line(line, positions) for line, positions in left_off),
        warnings=_warnings_of(plan, joint, rows),
    )


def _applied(
    plan: PlanView, joint: JointView, rows: Sequence[_Row], *, first: bool
) -> Iterator[AppliedView]:
    """What is applied at the positions of a bag; what is for the whole joint is in its first."""
    here = [position for _, positions in rows for position in positions]
    named = {dict(p.lubricant.values).get("item") for p in here if p.lubricant}
    names = {position.position for position in here}
    for use in plan.uses:
        if use.stopped_by or use.item in named:
            continue
        found = [reason.positions for reason in use.reasons if reason.joint == joint.code]
        positions = dict.fromkeys(p for places in found for p in places if p in names)
        if positions or (first and () in found):
            yield AppliedView(use.item, use.name, tuple(positions))


def bag_line(line: LineView, positions: Sequence[PositionView]) -> BagLine:
    """What of a line goes to some of its positions."""
    return BagLine(
        content=ContentView(
            item=line.item,
            name=line.name,
            rule=NeedRule(line.rule),
            quantity=sum(position.quantity for position in positions),
            unit=line.unit,
            size=line.size,
            material=line.material,
            colour=line.colour,
            passed=all(position.passed for position in positions),
        ),
        positions=tuple(position.position for position in positions),
        kept=sum(position.kept for position in positions),
        lubricants=tuple(dict.fromkeys(p.lubricant for p in positions if p.lubricant)),
        unstated=any(not p.lubricant for p in positions),
    )


def _loose_use(use: UseView) -> BagLine:
    return BagLine(content=used_content(use))


def _loose_packet(line: LineView) -> BagLine:
    return BagLine(
        content=ContentView(
            item=line.item,
            name=line.name,
            rule=NeedRule(line.rule),
            quantity=line.to_take,
            unit=line.unit,
        ),
        notes=line.notes,
    )
