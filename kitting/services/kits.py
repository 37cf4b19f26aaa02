"""Kits: the pick list and the bags of a plan. Nothing of a stopped job is picked or bagged."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence

from kitting.errors import KittingError
from kitting.facts.names import natural_key
from kitting.facts.units import format_quantity, show_quantity
from kitting.views import (
    Bag,
    BagLine,
    EndLabel,
    KitView,
    LineView,
    PickLine,
    PickView,
    PlanView,
    PositionView,
    TighteningView,
    UseView,
)

NO_FIGURE = "NO FIGURE: LOOK IT UP"
_SEALING = ("ring", "seal")


def pick_view(plan: PlanView) -> PickView:
    """The pick list in bin order: what is taken, and what to bring in case an inspection fails.

    Raises KittingError when every job of the plan is stopped.
    """
    _refuse_stopped(plan)
    bags = {bag.joint: bag.number for bag in _bags(plan)}
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
    bags = tuple(_bags(plan))
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


def stopped_texts(plan: PlanView) -> tuple[str, ...]:
    """What is left off, and the check that would let it go on."""
    return tuple(
        f"{', '.join(open_split.stops)} STOPPED: {open_split.question} {open_split.check}"
        for open_split in plan.unresolved
    )


def _refuse_stopped(plan: PlanView) -> None:
    if not _going_on(plan):
        reasons = "; ".join(stopped_texts(plan))
        raise KittingError(
            f"nothing of this plan can be picked yet. {reasons}"
            " Then record it with 'kitting settle'"
        )


def _to_pick(lines: Iterable[LineView]) -> list[LineView]:
    return [line for line in lines if not line.held_by and (line.to_take or line.rule == "inspect")]


def _pick_part(line: LineView, bags: dict[str, int]) -> PickLine:
    spare = line.rule == "inspect"
    amount = format_quantity(line.quantity if spare else line.to_take, line.unit)
    notes = [*line.notes]
    if line.covered:
        covered = (f"{format_quantity(c.quantity, line.unit)} in {c.packet}" for c in line.covered)
        notes.insert(0, ", ".join(covered))
    if spare:
        notes.insert(0, "only needed if the inspection fails")
    numbers = sorted({bags[reason.joint] for reason in line.reasons if reason.joint in bags})
    return PickLine(
        line.bin,
        line.item,
        line.name,
        line.rule,
        f"up to {amount}" if spare else amount,
        _detail(line, None if spare else line.packs),
        tuple(numbers),
        tuple(notes),
    )


def _pick_use(use: UseView, bags: dict[str, int]) -> PickLine:
    numbers = sorted({bags[reason.joint] for reason in use.reasons if reason.joint in bags})
    return PickLine(
        use.bin,
        use.item,
        use.name,
        "use",
        show_quantity(use.to_take, use.unit),
        pack_text(use.packs, use.pack, use.unit) or "",
        tuple(numbers),
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


def _bags(plan: PlanView) -> Iterable[Bag]:
    """One bag per joint in the order of refitting: what comes off last goes back first."""
    lines: dict[str, list[tuple[LineView, list[PositionView]]]] = defaultdict(list)
    for line in plan.lines:
        here: dict[str, list[PositionView]] = defaultdict(list)
        for position in line.positions:
            here[position.joint].append(position)
        if not line.held_by:
            for code, positions in here.items():
                lines[code].append((line, positions))
    refit = [joint for joint in reversed(plan.joints) if joint.code in lines]
    for number, joint in enumerate(refit, 1):
        rows = lines[joint.code]
        tightenings = [
            row for row in plan.tightenings if row.joint == joint.code and not row.held_by
        ]
        hazards = [*joint.hazards, *(word for line, _ in rows for word in line.hazards)]
        yield Bag(
            number,
            f"{plan.reference}-{number:02d}",
            joint.code,
            joint.name,
            tuple(_bag_line(line, positions) for line, positions in rows),
            tuple(_end(line, p) for line, ps in rows if line.family == "ring" for p in ps),
            tuple(tightening_text(row) for row in tightenings),
            _count_out(rows, joint.opened),
            tuple(dict.fromkeys(hazards)),
        )


def _bag_line(line: LineView, positions: Sequence[PositionView]) -> BagLine:
    amount = format_quantity(sum(position.quantity for position in positions), line.unit)
    if line.rule == "inspect":
        amount = f"up to {amount}"
    places = ", ".join(position.position for position in positions)
    lubricants = dict.fromkeys(p.lubricant for p in positions if p.lubricant)
    lubricant = " / ".join(lubricants) or None
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


def tightening_text(row: TighteningView) -> str:
    """One line for a bag: "bolts 1 to 6: 10 N·m (88.5 lbf·in), thread dry"."""
    stages = " → ".join(
        first if first == second else f"{first} ({second})"
        for first, second in zip(row.stages, row.second, strict=True)
    )
    state = "thread state not stated" if row.thread_state == "unknown" else row.thread_state
    return f"{row.position}: {stages or NO_FIGURE}, {state}"


def _loose_use(use: UseView) -> BagLine:
    amount = show_quantity(use.to_take, use.unit)
    return BagLine(
        use.item, use.name, "use", amount, "", pack_text(use.packs, use.pack, use.unit) or ""
    )


def _loose_packet(line: LineView) -> BagLine:
    amount = format_quantity(line.to_take, line.unit)
    return BagLine(line.item, line.name, line.rule, amount, "", "; ".join(line.notes))
