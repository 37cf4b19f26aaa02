"""Plan lines: needs gathered by item and verdict, packets taken into account, reasons kept."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Hashable, Iterable, Sequence
from decimal import Decimal

from kitting.calc.planning.consumption import packs
from kitting.calc.planning.needs import FitFacts, PartNeed, UseNeed
from kitting.calc.planning.packets import Taking, cover
from kitting.calc.planning.renewal import Verdict
from kitting.facts.names import natural_key
from kitting.facts.units import format_quantity
from kitting.services.planning.draft import Draft
from kitting.services.planning.joint_contents import ItemFacts
from kitting.tables.items import Item
from kitting.views.plan import (
    RULES,
    CoverView,
    LineView,
    OverruledView,
    PositionView,
    ReasonView,
    RingView,
    UseView,
)


def part_lines(facts: Draft) -> tuple[LineView, ...]:
    """The lines of a plan: renew first, then inspect, then keep; held ones at their place."""
    taking = _taking(facts)
    remaining = {item: list(parts) for item, parts in taking.covered.items()}
    groups: dict[tuple[tuple[str, ...], *tuple[Hashable, ...]], list[PartNeed]] = defaultdict(list)
    for held, needs in ((False, facts.parts), (True, facts.held_parts)):
        for need in needs:
            held_by = facts.part_held_by(need, held)
            groups[held_by, need.fit.item, _shared_fate(need.fit), _spoken(need.verdict)].append(
                need
            )
    lines = [_line(facts, needs, held_by, remaining) for (held_by, *_), needs in groups.items()]
    lines += [_packet_line(facts, packet, amount) for packet, amount in taking.added.items()]
    return tuple(sorted(lines, key=_place_in_plan))


def _shared_fate(fit: FitFacts) -> Hashable:
    """What keeps positions of one item apart: their group of a joint, and their refit limit."""
    return (fit.group and (fit.joint, fit.group), fit.refit_limit)


def _spoken(verdict: Verdict) -> Hashable:
    return (verdict.rule, verdict.source, verdict.said_by, verdict.criterion)


def _place_in_plan(line: LineView) -> tuple[object, ...]:
    return (RULES.index(line.rule), natural_key(line.item), line.held_by, line.positions[:1] == ())


def _taking(facts: Draft) -> Taking:
    demand: dict[int, int] = defaultdict(int)
    for part in facts.parts:
        if part.verdict.rule == "renew" and not facts.part_held_by(part, stopped=False):
            demand[part.fit.item] += part.quantity
    for use in facts.uses:
        if not facts.use_held_by(use, stopped=False):
            demand[use.item] += use.quantity
    only_in_packets = {
        key for key, item in facts.contents.items.items() if not item.row.sold_singly
    }
    return cover(demand, facts.contents.packets, only_in_packets)


def _line(
    facts: Draft,
    needs: Sequence[PartNeed],
    held_by: tuple[str, ...],
    remaining: dict[int, list[tuple[int, int]]],
) -> LineView:
    ruling, item = needs[0].verdict, facts.contents.items[needs[0].fit.item]
    quantity = sum(need.quantity for need in needs)
    taken = ruling.rule == "renew" and not held_by
    covered = _draw(facts, remaining, item.key, quantity) if taken else ()
    to_take = quantity - sum(part.quantity for part in covered) if taken else 0
    return LineView(
        item=item.row.code,
        name=item.row.name,
        kind=item.kind.name,
        family=item.kind.family,
        rule=ruling.rule,
        quantity=quantity,
        unit=item.row.unit,
        positions=tuple(_position(facts, need) for need in needs),
        source=ruling.source,
        said_by=ruling.said_by,
        criterion=ruling.criterion,
        overruled=tuple(
            OverruledView(o.statement.source, o.statement.rule, o.statement.said_by, o.because)
            for o in ruling.overruled
        ),
        chance=item.kind.chance if ruling.rule == "inspect" else None,
        group=needs[0].fit.group,
        reasons=_reasons(facts, [(need.fit, need.opened) for need in needs]),
        covered=covered,
        to_take=to_take,
        pack=item.row.pack,
        packs=packs(to_take, item.row.pack),
        bin=item.row.bin,
        size=size_text(item.row),
        material=material_text(item.row),
        colour=item.row.colour,
        notes=tuple(_notes(item, needs[0].fit, quantity, ruling.rule)),
        hazards=hazards(facts, item),
        held_by=held_by,
        ring=_ring(item.row),
        elastomer=item.row.elastomer,
        hardness=item.row.hardness,
    )


def _draw(
    facts: Draft, remaining: dict[int, list[tuple[int, int]]], item: int, quantity: int
) -> tuple[CoverView, ...]:
    """Take up to `quantity` of what packets bring; two lines of an item share one packet."""
    drawn, left = [], remaining.get(item, [])
    while left and quantity:
        packet, amount = left.pop(0)
        used = min(amount, quantity)
        quantity -= used
        drawn.append(CoverView(facts.contents.items[packet].row.code, used))
        if amount > used:
            left.insert(0, (packet, amount - used))
    return tuple(drawn)


def _packet_line(facts: Draft, packet: int, amount: int) -> LineView:
    """A packet that is taken only for what is in it."""
    item = facts.contents.items[packet]
    brings = facts.contents.packets[packet]
    inside = [need for need in facts.parts if need.fit.item in brings]
    contents = ", ".join(
        f"{format_quantity(quantity, facts.contents.items[key].row.unit)} ×"
        f" {facts.contents.items[key].row.code}"
        for key, quantity in brings.items()
        if key in facts.contents.items
    )
    return LineView(
        item=item.row.code,
        name=item.row.name,
        kind=item.kind.name,
        family=item.kind.family,
        rule="renew",
        quantity=amount,
        unit=item.row.unit,
        positions=(),
        source="packet",
        said_by="its contents are not sold singly",
        criterion=None,
        overruled=(),
        chance=None,
        group=None,
        reasons=_reasons(facts, [(need.fit, need.opened) for need in inside]),
        covered=(),
        to_take=amount,
        pack=item.row.pack,
        packs=packs(amount, item.row.pack),
        bin=item.row.bin,
        size=None,
        material=None,
        colour=None,
        notes=(f"each brings {contents}", *_succession_note(item)),
        hazards=hazards(facts, item),
        held_by=(),
    )


def use_lines(facts: Draft) -> tuple[UseView, ...]:
    """Consumables per item, what stopped jobs would add kept apart."""
    taking = _taking(facts)
    groups: dict[tuple[int, tuple[str, ...]], list[UseNeed]] = defaultdict(list)
    for stopped, uses in ((False, facts.uses), (True, facts.held_uses)):
        for use in uses:
            groups[use.item, facts.use_held_by(use, stopped)].append(use)
    views = []
    for (key, held_by), needs in groups.items():
        item = facts.contents.items[key]
        quantity = sum(need.quantity for need in needs)
        covered = () if held_by else taking.covered.get(key, ())
        views.append(_use_line(facts, item, needs, quantity, covered, held_by))
    return tuple(sorted(views, key=lambda use: (natural_key(use.item), use.held_by)))


def _use_line(
    facts: Draft,
    item: ItemFacts,
    needs: Sequence[UseNeed],
    quantity: int,
    covered: Iterable[tuple[int, int]],
    held_by: tuple[str, ...],
) -> UseView:
    brought = tuple(CoverView(facts.contents.items[p].row.code, amount) for p, amount in covered)
    to_take = 0 if held_by else max(0, quantity - sum(part.quantity for part in brought))
    return UseView(
        item=item.row.code,
        name=item.row.name,
        kind=item.kind.name,
        quantity=quantity,
        unit=item.row.unit,
        pack=item.row.pack,
        packs=packs(to_take, item.row.pack),
        bin=item.row.bin,
        how=tuple(f"{need.how} ({use_place(facts, need)})" for need in needs),
        reasons=_use_reasons(facts, needs),
        covered=brought,
        to_take=to_take,
        notes=tuple(_succession_note(item)),
        hazards=hazards(facts, item),
        held_by=held_by,
    )


def use_place(facts: Draft, need: UseNeed) -> str:
    """The joint or step that takes a consumable, in words."""
    if need.joint is not None:
        return f"joint {facts.names.joints[need.joint]}"
    return f"step {facts.names.steps[need.step or 0]}"


def _use_reasons(facts: Draft, needs: Sequence[UseNeed]) -> tuple[ReasonView, ...]:
    reasons = []
    for need in needs:
        if need.step is not None:
            jobs = facts.access.asked_by[need.step]
            reasons.append(ReasonView(jobs, facts.names.steps[need.step], "", 1, ()))
        else:
            positions = (need.fit.position,) if need.fit else ()
            reasons += _joint_reasons(facts, need.joint or 0, need.opened, positions)
    return tuple(dict.fromkeys(reasons))


def _reasons(facts: Draft, fits: Iterable[tuple[FitFacts, int]]) -> tuple[ReasonView, ...]:
    positions: dict[tuple[int, int], list[str]] = defaultdict(list)
    for fit, opened in fits:
        positions[fit.joint, opened].append(fit.position)
    return tuple(
        reason
        for (joint, opened), places in positions.items()
        for reason in _joint_reasons(facts, joint, opened, tuple(places))
    )


def _joint_reasons(
    facts: Draft, joint: int, opened: int, positions: tuple[str, ...]
) -> Iterable[ReasonView]:
    for step in facts.access.opened_by[joint]:
        yield ReasonView(
            facts.access.asked_by[step],
            facts.names.steps[step],
            facts.names.joints[joint],
            opened,
            positions,
        )


def _position(facts: Draft, need: PartNeed) -> PositionView:
    fit = need.fit
    return PositionView(
        facts.names.joints[fit.joint], fit.position, fit.end, need.quantity, _lubricant(facts, fit)
    )


def _lubricant(facts: Draft, fit: FitFacts) -> str | None:
    """What a position is assembled with, or what it must not be assembled with."""
    if fit.dry or fit.lubricant is None:
        return "DRY" if fit.dry else None
    judged = facts.chemistry.get(fit.key)
    clash = judged.clash(lubricant=True) if judged else None
    if judged is not None and clash is not None:
        if judged.touching.goes_dry:
            return "DRY"
        instead = " or ".join(judged.instead.get("lubricant", ())) or "ask the maker"
        return f"NOT {clash}: {instead} instead"
    item = facts.contents.items[fit.lubricant].row
    return f"{item.name} ({item.code}), {format_quantity(fit.lubricant_amount, item.unit)}"


def size_text(item: Item) -> str | None:
    """A ring's inside diameter × section, or a fastener's thread × length."""
    if item.ring_inside is not None and item.ring_section is not None:
        return f"{_mm(item.ring_inside)} × {_mm(item.ring_section)} mm"
    if item.thread is not None:
        return item.thread if item.length is None else f"{item.thread} × {_mm(item.length)} mm"
    return None


def _ring(item: Item) -> RingView | None:
    if item.ring_inside is None or item.ring_section is None:
        return None
    size = (item.ring_inside / 1000, item.ring_section / 1000)
    return RingView(*size, item.elastomer, item.hardness)


def _mm(thousandths: int) -> str:
    return f"{(Decimal(thousandths) / 1000).normalize():f}"


def material_text(item: Item) -> str | None:
    """Elastomer code and hardness, or the property class."""
    if item.elastomer is not None:
        return item.elastomer if item.hardness is None else f"{item.elastomer} {item.hardness}"
    return item.property_class


def hazards(facts: Draft, item: ItemFacts) -> tuple[str, ...]:
    """The label words of an item's cautions."""
    codes = [
        *facts.contents.cautions.of("kind", [item.kind.id]),
        *facts.contents.cautions.of("item", [item.key]),
    ]
    words = [facts.contents.cautions.texts[code].word for code in codes]
    return tuple(dict.fromkeys(word for word in words if word))


def _notes(item: ItemFacts, fit: FitFacts, quantity: int, rule: str) -> Iterable[str]:
    if fit.group is not None and rule == "inspect":
        count = format_quantity(quantity, item.row.unit)
        yield f"group {fit.group}: if one fails, all {count} are renewed"
    if fit.refit_limit is not None:
        yield f"may go back {fit.refit_limit} time{'s' * (fit.refit_limit != 1)} at most"
    if not item.row.sold_singly:
        yield "not sold singly"
    yield from _succession_note(item)


def _succession_note(item: ItemFacts) -> Iterable[str]:
    if item.succession is not None:
        parts = " + ".join(
            f"{format_quantity(n, 'each')} × {code}" for code, n in item.succession.by
        )
        note = f" ({item.succession.note})" if item.succession.note else ""
        yield f"replaced by {parts}; old stock: {item.succession.old_stock}{note}"
