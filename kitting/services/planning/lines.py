"""Plan lines: judged parts gathered by item and verdict, packets taken into account."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Hashable, Iterable, Mapping, Sequence
from decimal import Decimal
from typing import TypeAlias

from kitting.calc.planning.consumption import packs
from kitting.calc.planning.needs import FitFacts
from kitting.calc.planning.packets import Covered
from kitting.facts.names import natural_key
from kitting.facts.plan_reasons import LubricantReason, NoteReason, RuleReason, StopReason
from kitting.facts.reasons import Reason, because
from kitting.facts.units import Quantity
from kitting.facts.verdicts import Doubt, verdict_of, worst_first
from kitting.facts.words import Rule, Source
from kitting.services.planning.facts import ItemFacts
from kitting.services.planning.judged import Draft, JudgedPart, JudgedUse
from kitting.services.planning.lubricants import clash_reason, lubricant_of
from kitting.services.planning.packet_doubts import packet_doubts
from kitting.views.plan import (
    RULES,
    CoverView,
    LineView,
    OverruledView,
    PositionView,
    ReasonView,
    RingView,
)

# By item, so much of it from each packet that is not drawn yet.
Brought: TypeAlias = dict[int, list[tuple[int, int]]]


def part_lines(facts: Draft) -> tuple[LineView, ...]:
    """The lines of a plan: renew first, then inspect, then keep; stopped ones at their place."""
    remaining = {
        Rule.RENEW: undrawn(facts.taking.covered),
        Rule.INSPECT: undrawn(facts.taking.spares),
    }
    groups: dict[Hashable, list[JudgedPart]] = defaultdict(list)
    for part in (fate for every in facts.every_part for fate in every.fates):
        shared = _shared_fate(facts, part.fit)
        alike = (part.item.key, part.asked.key, shared, _same_word(part))
        groups[*alike, what_stops(part)].append(part)
    lines = [_line(facts, parts, remaining) for parts in groups.values()]
    lines += [_packet_line(facts, packet, amount) for packet, amount in facts.taking.added.items()]
    return tuple(sorted(lines, key=_place_in_plan))


def undrawn(covered: Covered) -> Brought:
    """What packets bring, of which nothing is drawn yet."""
    return {item: list(parts) for item, parts in covered.items()}


def _shared_fate(facts: Draft, fit: FitFacts) -> Hashable:
    """What keeps positions of one item apart: their group, and their refit limit."""
    return (facts.group_of(fit), fit.refit_limit)


def _same_word(part: JudgedPart) -> Hashable:
    ruling = part.ruling
    return (
        ruling.rule,
        ruling.source,
        ruling.said_by,
        ruling.criterion,
        ruling.relaxed_by,
    )


def what_stops(judged: JudgedPart | JudgedUse) -> tuple[Hashable, ...]:
    return (judged.variants, judged.options, judged.clash)


def stop_reasons(judged: JudgedPart | JudgedUse) -> tuple[Reason, ...]:
    """What stops a part or a use: open variants, and the clash of a rubber."""
    variants = (because(StopReason.VARIANT, variant=code) for code in judged.variants)
    return (*variants, *([clash_reason(judged.clash)] if judged.clash else []))


def _place_in_plan(line: LineView) -> tuple[object, ...]:
    stopped = [str(value) for reason in line.stopped_by for _, value in reason.values]
    return (RULES.index(line.rule), natural_key(line.item), stopped, line.positions[:1] == ())


def _line(facts: Draft, parts: Sequence[JudgedPart], remaining: Mapping[Rule, Brought]) -> LineView:
    first, ruling, item, asked = parts[0], parts[0].ruling, parts[0].item, parts[0].asked
    own = (doubt for part in parts for doubt in part.doubts)
    doubts = worst_first((*own, *_brought_doubts(facts, first)))
    quantity = sum(part.quantity for part in parts)
    brought = {} if first.stopped else remaining.get(ruling.rule, {})
    covered = draw(facts, brought, item.key, quantity)
    taken = ruling.rule == Rule.RENEW and not first.stopped
    to_take = quantity - sum(part.quantity for part in covered) if taken else 0
    return LineView(
        item=item.code,
        name=item.name,
        kind=item.kind.name,
        family=item.kind.family,
        rule=ruling.rule,
        quantity=quantity,
        unit=item.unit,
        positions=tuple(_position(facts, part) for part in parts),
        source=ruling.source,
        relaxed_by=ruling.relaxed_by,
        said_by=ruling.said_by,
        criterion=ruling.criterion,
        overruled=tuple(
            OverruledView(
                source=lost.statement.source,
                rule=lost.statement.rule,
                said_by=lost.statement.said_by,
                because=lost.because,
            )
            for lost in ruling.overruled
        ),
        chance=item.kind.chance if ruling.rule == Rule.INSPECT else None,
        group=first.fit.group,
        reasons=_reasons(facts, [(part.fit, part.opened) for part in parts]),
        covered=covered,
        to_take=to_take,
        pack=item.pack,
        packs=packs(to_take, item.pack),
        bin=item.bin,
        size=size_text(item),
        material=material_text(item),
        colour=item.colour,
        notes=tuple(_notes(facts, first)),
        hazards=hazards(facts, item),
        stopped_by=stop_reasons(first),
        verdict=verdict_of(doubts),
        doubts=doubts,
        stands_for=asked.code if asked.key != item.key else None,
        ring=_ring(item),
        elastomer=item.elastomer,
        hardness=item.hardness,
    )


def draw(facts: Draft, remaining: Brought, item: int, quantity: int) -> tuple[CoverView, ...]:
    """Take up to `quantity` of what packets bring; two lines of an item share one packet."""
    drawn, left = [], remaining.get(item, [])
    while left and quantity:
        packet, amount = left.pop(0)
        used = min(amount, quantity)
        quantity -= used
        drawn.append(CoverView(facts.contents.items[packet].code, used))
        if amount > used:
            left.insert(0, (packet, amount - used))
    return tuple(drawn)


def _packet_line(facts: Draft, packet: int, amount: int) -> LineView:
    """A packet that is taken only for what is in it."""
    items = facts.contents.items
    item, brings = items[packet], facts.contents.packets[packet]
    doubts = packet_doubts(facts, item)
    covered = facts.taking.covered
    drawn = {key for key, parts in covered.items() if packet in dict(parts)}
    parts = [(p.fit, p.opened) for p in facts.parts if p.item.key in drawn and not p.stopped]
    uses = [use for use in facts.uses if use.item.key in drawn and not use.stopped]
    contents = tuple(
        because(
            NoteReason.CONTENT, amount=Quantity(quantity, items[key].unit), item=items[key].code
        )
        for key, quantity in brings.items()
        if key in items
    )
    return LineView(
        item=item.code,
        name=item.name,
        kind=item.kind.name,
        family=item.kind.family,
        rule=Rule.RENEW,
        quantity=amount,
        unit=item.unit,
        positions=(),
        source=Source.PACKET,
        relaxed_by=None,
        said_by=because(RuleReason.NOT_SOLD_SINGLY),
        criterion=None,
        overruled=(),
        chance=None,
        group=None,
        reasons=(*_reasons(facts, parts), *use_reasons(facts, uses)),
        covered=(),
        to_take=amount,
        pack=item.pack,
        packs=packs(amount, item.pack),
        bin=item.bin,
        size=None,
        material=None,
        colour=None,
        notes=(because(NoteReason.BRINGS, contents=contents), *succession_note(facts, item)),
        hazards=hazards(facts, item),
        stopped_by=(),
        verdict=verdict_of(doubts),
        doubts=doubts,
    )


def _brought_doubts(facts: Draft, part: JudgedPart) -> tuple[Doubt, ...]:
    """What is in doubt of what a part brings that is fetched."""
    return () if part.ruling.rule is Rule.KEEP else packet_doubts(facts, part.item)


def _reasons(facts: Draft, fits: Iterable[tuple[FitFacts, int]]) -> tuple[ReasonView, ...]:
    positions: dict[tuple[int, int], list[str]] = defaultdict(list)
    for fit, opened in fits:
        positions[fit.joint, opened].append(fit.position)
    return tuple(
        reason
        for (joint, opened), places in positions.items()
        for reason in joint_reasons(facts, joint, opened, tuple(places))
    )


def joint_reasons(
    facts: Draft, joint: int, opened: int, positions: tuple[str, ...]
) -> Iterable[ReasonView]:
    for step in facts.access.opened_by[joint]:
        yield ReasonView(
            jobs=facts.access.asked_by[step],
            step=facts.names.steps[step],
            joint=facts.names.joints[joint],
            opened=opened,
            positions=positions,
        )


def use_reasons(facts: Draft, uses: Sequence[JudgedUse]) -> tuple[ReasonView, ...]:
    """The jobs, steps and joints that consumables are taken for, each once."""
    reasons = []
    for use in uses:
        if use.step is not None:
            reasons.append(
                ReasonView(
                    jobs=facts.access.asked_by[use.step],
                    step=facts.names.steps[use.step],
                    joint="",
                    opened=1,
                    positions=(),
                )
            )
        else:
            positions = (use.fit.position,) if use.fit else ()
            reasons += joint_reasons(facts, use.joint or 0, use.opened, positions)
    return tuple(dict.fromkeys(reasons))


def _position(facts: Draft, part: JudgedPart) -> PositionView:
    lubricant = lubricant_of(facts, part)
    named = lubricant is not None and lubricant.code is LubricantReason.PRODUCT
    return PositionView(
        joint=facts.names.joints[part.fit.joint],
        position=part.fit.position,
        end=part.fit.end,
        quantity=part.quantity,
        holds=part.fit.quantity,
        passed=part.ruling.passed,
        kept=0 if part.ruling.failed is None else part.fit.quantity - part.ruling.failed,
        lubricant=lubricant,
        lubricant_sourced=not named or facts.lubricant_sourced(part.fit),
    )


def size_text(item: ItemFacts) -> str | None:
    """A ring's inside diameter × section, or a fastener's thread × length."""
    if item.ring_inside is not None and item.ring_section is not None:
        return f"{_mm(item.ring_inside)} × {_mm(item.ring_section)} mm"
    if item.thread is not None:
        return item.thread if item.length is None else f"{item.thread} × {_mm(item.length)} mm"
    return None


def _ring(item: ItemFacts) -> RingView | None:
    """A ring of rubber; a washer of metal has a hole and a thickness, and is none."""
    if item.ring_inside is None or item.ring_section is None or not item.kind.of_rubber:
        return None
    return RingView(
        inside=item.ring_inside / 1000,
        section=item.ring_section / 1000,
        elastomer=item.elastomer,
        hardness=item.hardness,
    )


def _mm(thousandths: int) -> str:
    return f"{(Decimal(thousandths) / 1000).normalize():f}"


def material_text(item: ItemFacts) -> str | None:
    """Elastomer code and hardness, or the property class."""
    if item.elastomer is not None:
        return item.elastomer if item.hardness is None else f"{item.elastomer} {item.hardness}"
    return item.property_class


def hazards(facts: Draft, item: ItemFacts) -> tuple[str, ...]:
    """The label words of an item's cautions."""
    cautions = facts.contents.cautions
    return cautions.words([*cautions.of("kind", [item.kind.key]), *cautions.of("item", [item.key])])


def _notes(facts: Draft, part: JudgedPart) -> Iterable[Reason]:
    item, fit = part.item, part.fit
    yield from stand_notes(part)
    if fit.group is not None and part.ruling.rule == Rule.INSPECT:
        every = facts.in_group(part)
        yield because(NoteReason.GROUP, group=fit.group, all=Quantity(every, item.unit))
    if part.ruling.rule != Rule.KEEP and (closed := facts.closed_of(fit)):
        yield because(NoteReason.GROUP_CLOSED, group=fit.group, places=closed)
    if fit.refit_limit is not None:
        stated = facts.taken_from(fit.joint) is not None
        code = NoteReason.REFIT_LIMIT if stated else NoteReason.REFIT_LIMIT_WITHOUT_SOURCE
        yield because(code, times=fit.refit_limit)
    if not item.sold_singly:
        yield because(NoteReason.NOT_SOLD_SINGLY)
    yield from succession_note(facts, item)


def stand_notes(judged: JudgedPart | JudgedUse) -> Iterable[Reason]:
    """That an item stands in for another, and for which options of open variants it is."""
    if judged.item.key != judged.asked.key:
        yield because(NoteReason.STANDS_FOR, asked=judged.asked.code)
    if judged.options:
        yield because(NoteReason.ONLY_WITH, options=judged.options)


def succession_note(facts: Draft, item: ItemFacts) -> Iterable[Reason]:
    """That an item is replaced at the fitting date, by what, and what becomes of the old stock."""
    succession, items = item.succession, facts.contents.items
    if succession is None or not succession.in_force(facts.on):
        return
    by = tuple(
        because(NoteReason.CONTENT, amount=Quantity(n, items[key].unit), item=items[key].code)
        for key, n in succession.by
        if key in items
    )
    old = succession.old_stock
    if succession.note:
        yield because(NoteReason.REPLACED_WITH_NOTE, by=by, old_stock=old, note=succession.note)
    else:
        yield because(NoteReason.REPLACED, by=by, old_stock=old)
