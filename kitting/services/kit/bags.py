"""Kits: the pick list and the bags of a plan. Nothing of a stopped job is picked or bagged."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from kitting.calc.rubber.ring_ends import RingEnd, apart, differs, nearness, swappable
from kitting.errors import KittingError
from kitting.facts.elastomers import ELASTOMERS
from kitting.facts.names import natural_key
from kitting.facts.plan_reasons import ContactPlace, LubricantReason
from kitting.facts.reasons import Reason, because
from kitting.facts.units import format_quantity, show_quantity
from kitting.views.kit import Bag, BagLine, EndLabel, KitView, PickLine, PickView
from kitting.views.plan import JointView, LineView, PlanView, PositionView, UseView

_SEALING = ("ring", "seal")
_Row = tuple[LineView, list[PositionView]]


def pick_view(plan: PlanView) -> PickView:
    """The pick list in bin order: what is taken, and what to bring in case an inspection fails.

    Raises KittingError when every job of the plan is stopped.
    """
    _refuse_stopped(plan)
    bags = tuple(_bags(plan))
    rows = [_pick_part(line, bags) for line in _to_pick(plan.lines)]
    rows += [_pick_use(use, bags) for use in plan.uses if use.to_take]
    rows.sort(key=lambda row: (row.bin is None, natural_key(row.bin or ""), natural_key(row.item)))
    return PickView(
        plan.reference,
        plan.on,
        plan.vehicle.public_name,
        _going_on(plan),
        tuple(rows),
        stopped_texts(plan),
        plan.cautions,
    )


def kit_view(plan: PlanView) -> KitView:
    """All labels of a plan. Raises KittingError when every job of the plan is stopped."""
    _refuse_stopped(plan)
    bags = _told_apart(tuple(_bags(plan)))
    loose = [_loose_use(use) for use in plan.uses if use.to_take]
    loose += [_loose_packet(line) for line in plan.lines if line.to_take and not line.positions]
    words = [word for line in plan.lines for word in line.hazards]
    words += [word for use in plan.uses for word in use.hazards]
    return KitView(
        plan.reference,
        plan.on,
        plan.vehicle.public_name,
        _going_on(plan),
        bags,
        tuple(loose),
        stopped_texts(plan),
        tuple(dict.fromkeys(words)),
        plan.cautions,
    )


def _going_on(plan: PlanView) -> tuple[str, ...]:
    return tuple(f"{job.code} {job.name}" for job in plan.jobs if not job.stopped_by)


def stopped_texts(plan: PlanView) -> tuple[str | Reason, ...]:
    """What is left off, and the check that would let it go on."""
    clashes = (because(ContactPlace.LEFT_OFF, contact=clash.reason) for clash in plan.clashes)
    return (*_stopped_jobs(plan), *clashes)


def _stopped_jobs(plan: PlanView) -> tuple[str, ...]:
    return tuple(
        f"{', '.join(open_split.stops)} STOPPED: {open_split.question} {open_split.check}"
        for open_split in plan.unresolved
    )


def _refuse_stopped(plan: PlanView) -> None:
    if not _going_on(plan):
        reasons = "; ".join(_stopped_jobs(plan))
        raise KittingError(
            f"nothing of this plan can be picked yet. {reasons}"
            " Then record it with 'kitting settle'"
        )


def _to_pick(lines: Iterable[LineView]) -> list[LineView]:
    return [
        line for line in lines if not line.stopped_by and (line.to_take or line.rule == "inspect")
    ]


def _pick_part(line: LineView, bags: Sequence[Bag]) -> PickLine:
    spare = line.rule == "inspect"
    amount = format_quantity(line.quantity if spare else line.to_take, line.unit)
    notes: list[str | Reason] = [*line.notes]
    if line.covered:
        covered = (f"{format_quantity(c.quantity, line.unit)} in {c.packet}" for c in line.covered)
        notes.insert(0, ", ".join(covered))
    if spare:
        notes.insert(0, "only needed if the inspection fails")
    joints = {reason.joint for reason in line.reasons}
    numbers = bag_numbers(bags)
    return PickLine(
        line.bin,
        line.item,
        line.name,
        line.rule,
        f"up to {amount}" if spare else amount,
        _detail(line, None if spare else line.packs),
        tuple(
            sorted(
                {n for (joint, item), n in numbers.items() if joint in joints and item == line.item}
            )
        ),
        tuple(notes),
    )


def _pick_use(use: UseView, bags: Sequence[Bag]) -> PickLine:
    joints = {reason.joint for reason in use.reasons}
    return PickLine(
        use.bin,
        use.item,
        use.name,
        "use",
        show_quantity(use.to_take, use.unit),
        pack_text(use.packs, use.pack, use.unit) or "",
        tuple(bag.number for bag in bags if bag.joint in joints),
        use.notes,
    )


def pack_text(packs: int | None, pack: int | None, unit: str) -> str | None:
    """How many packs an amount takes: "1 pack of 70 ml"; None where packs do not matter."""
    if packs is None or pack is None or (pack == 1000 and unit == "each") or packs == 0:
        return None
    return f"{packs} pack{'s' * (packs > 1)} of {format_quantity(pack, unit)}"


def _detail(line: LineView, packs: int | None) -> str:
    parts = [line.size, line.material, line.colour and f"colour as supplied: {line.colour}"]
    return ", ".join(
        part for part in (*parts, pack_text(packs, line.pack, line.unit)) if part is not None
    )


def bag_numbers(bags: Iterable[Bag]) -> dict[tuple[str, str], int]:
    """In which bag an item of a joint lies: by joint and item, which is never in two of them."""
    return {(bag.joint, line.item): bag.number for bag in bags for line in bag.lines}


def _bags(plan: PlanView) -> Iterator[Bag]:
    """The bags in the order of refitting: what comes off last goes back first.

    One for each joint, and more where rings of it could be swapped.
    """
    lines: dict[str, list[_Row]] = defaultdict(list)
    for line in plan.lines:
        here: dict[str, list[PositionView]] = defaultdict(list)
        for position in line.positions:
            here[position.joint].append(position)
        if not line.stopped_by:
            for code, positions in here.items():
                lines[code].append((line, positions))
    refit = [joint for joint in reversed(plan.joints) if joint.code in lines]
    number = 0
    for joint in refit:
        shares = list(_shares(lines[joint.code]))
        for part, rows in enumerate(shares, 1):
            number += 1
            yield _bag(plan, joint, rows, number, part, len(shares))


def _shares(rows: Sequence[_Row]) -> Iterator[list[_Row]]:
    """What goes into each bag of a joint: no two rings that could be swapped into one.

    Everything that is no ring goes into the first.
    """
    ends = [
        _ring_end(position.joint, _end(line, position))
        for line, positions in rows
        if line.family == "ring"
        for position in positions
    ]
    shares = apart(ends) or ((),)
    for number, share in enumerate(shares):
        items = {end.item for end in share}
        yield [
            (line, positions)
            for line, positions in rows
            if (line.item in items if line.family == "ring" else number == 0)
        ]


def _bag(
    plan: PlanView, joint: JointView, rows: Sequence[_Row], number: int, part: int, parts: int
) -> Bag:
    tightenings = [
        row for row in plan.tightenings if row.joint == joint.code and not row.stopped_by
    ]
    hazards = [*joint.hazards, *(word for line, _ in rows for word in line.hazards)]
    return Bag(
        number,
        f"{plan.reference}-{number:02d}",
        joint.code,
        joint.name,
        tuple(_bag_line(line, positions) for line, positions in rows),
        tuple(_end(line, p) for line, ps in rows if line.family == "ring" for p in ps),
        tuple(row for row in tightenings if part == 1),
        _count_out(rows, joint.opened),
        tuple(dict.fromkeys(hazards)),
        part,
        parts,
    )


def _ring_end(joint: str, label: EndLabel) -> RingEnd:
    """A ring as it is told apart; without a size its rubber is read from its material text."""
    ring = label.ring
    if ring is not None:
        size = (ring.inside, ring.section, ring.elastomer, ring.hardness)
        return RingEnd(
            joint, label.position, label.end, label.item, *size, label.colour, label.kind
        )
    code, _, rest = (label.material or "").partition(" ")
    rubber = code if code in ELASTOMERS else None
    hardness = int(rest) if rubber and rest.isdecimal() else None
    return RingEnd(
        joint,
        label.position,
        label.end,
        label.item,
        None,
        None,
        rubber,
        hardness,
        label.colour,
        label.kind,
    )


def _told_apart(bags: Sequence[Bag]) -> tuple[Bag, ...]:
    """The bags with what tells each ring from those of the kit that could be taken for it."""
    labels = [(_ring_end(bag.joint, label), label) for bag in bags for label in bag.ends]
    shared = Counter(label.end for _, label in labels)
    names = {end: _place(label, shared) for end, label in labels}
    whats = {end.item: _what(label) for end, label in labels}

    def told(bag: Bag, label: EndLabel) -> EndLabel:
        me = _ring_end(bag.joint, label)
        others: dict[str, list[RingEnd]] = defaultdict(list)
        for other, _ in labels:
            if swappable(me, other):
                others[other.item].append(other)
        ranked = sorted(others.values(), key=lambda ends: (nearness(me, ends[0]), ends[0].item))
        texts = (
            f"not {_joined([names[end] for end in ends])} ({whats[ends[0].item]}):"
            f" {differs(me, ends[0])}"
            for ends in ranked
        )
        return replace(label, differs=tuple(texts))

    return tuple(replace(bag, ends=tuple(told(bag, label) for label in bag.ends)) for bag in bags)


def _place(label: EndLabel, shared: Counter[str | None]) -> str:
    """The name of an end by what is seen, with its position where two ends bear one name."""
    if label.end is None:
        return label.position
    return label.end if shared[label.end] == 1 else f"{label.end} ({label.position})"


def _joined(names: Sequence[str]) -> str:
    return " / ".join(dict.fromkeys(names))


def _what(label: EndLabel) -> str:
    size = label.size or "size not stated"
    return f"{size}, {label.material}" if label.material else size


def _bag_line(line: LineView, positions: Sequence[PositionView]) -> BagLine:
    amount = format_quantity(sum(position.quantity for position in positions), line.unit)
    if line.rule == "inspect":
        amount = f"up to {amount}"
    places = ", ".join(position.position for position in positions)
    lubricants = tuple(dict.fromkeys(p.lubricant for p in positions if p.lubricant))
    lubricant = lubricants[0] if len(lubricants) == 1 else None
    if len(lubricants) > 1:
        lubricant = because(LubricantReason.SEVERAL, lubricants=lubricants)
    return BagLine(line.item, line.name, line.rule, amount, places, _detail(line, None), lubricant)


def _end(line: LineView, position: PositionView) -> EndLabel:
    return EndLabel(
        position.position,
        position.end,
        line.rule,
        line.item,
        line.size,
        line.material,
        line.colour,
        position.lubricant or "no lubricant stated",
        format_quantity(position.quantity, line.unit),
        line.ring,
        kind=line.kind,
    )


def _count_out(rows: Sequence[tuple[LineView, Sequence[PositionView]]], opened: int) -> str | None:
    """How many old seals come out each time the joint is opened; None where it holds none."""
    total = sum(
        position.quantity // (opened if line.rule == "renew" else 1)
        for line, positions in rows
        if line.family in _SEALING
        for position in positions
    )
    return format_quantity(total, "each") if total else None


def _loose_use(use: UseView) -> BagLine:
    amount = show_quantity(use.to_take, use.unit)
    return BagLine(
        use.item, use.name, "use", amount, "", pack_text(use.packs, use.pack, use.unit) or ""
    )


def _loose_packet(line: LineView) -> BagLine:
    amount = format_quantity(line.to_take, line.unit)
    return BagLine(line.item, line.name, line.rule, amount, "", "", notes=line.notes)
