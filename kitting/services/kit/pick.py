"""The pick list of a plan: what is taken from which bin. Nothing that is stopped is picked."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from kitting.facts.names import natural_key
from kitting.facts.words import NeedRule
from kitting.services.kit.bags import bags_of, shares_of, used_content
from kitting.services.kit.left_off import jobs_of, kit_doubts, refuse_stopped
from kitting.views.kit import Bag, ContentView, PickLine, PickView
from kitting.views.plan import LineView, PlanView, UseView


def pick_view(plan: PlanView) -> PickView:
    """The pick list in bin order: what is taken, and what to bring in case an inspection fails.

    Raises RefusedError when everything of the plan is stopped.
    """
    refuse_stopped(plan)
    bags = tuple(bags_of(plan))
    rows = [_pick_part(line, bags) for line in plan.lines if line.wanted and not line.stopped_by]
    rows += [_pick_use(use, bags) for use in plan.uses if use.to_take]
    return PickView(
        reference=plan.reference,
        on=plan.on,
        vehicle=plan.vehicle.whole_name,
        vehicle_shortened=plan.vehicle.public_name,
        jobs=jobs_of(plan),
        lines=walked(rows),
        doubts=kit_doubts(plan),
        cautions=plan.cautions,
    )


def walked(rows: Iterable[PickLine]) -> tuple[PickLine, ...]:
    """Rows in the order in which one walks along the bins; what has none comes last."""
    return tuple(
        sorted(
            rows,
            key=lambda row: (
                row.bin is None,
                natural_key(row.bin or ""),
                natural_key(row.content.item),
            ),
        )
    )


def _pick_part(line: LineView, bags: Sequence[Bag]) -> PickLine:
    rule = NeedRule(line.rule)
    shares = shares_of(bags, line.item, rule)
    whole = sum(share.quantity for share in shares) == line.wanted
    return PickLine(
        bin=line.bin,
        content=ContentView(
            item=line.item,
            name=line.name,
            rule=rule,
            quantity=line.wanted,
            unit=line.unit,
            packs=None if rule is NeedRule.INSPECT else line.packs,
            pack=line.pack,
            size=line.size,
            material=line.material,
            colour=line.colour,
        ),
        bags=tuple(share.bag for share in shares),
        covered=line.covered,
        notes=line.notes,
        shares=shares if whole else (),
    )


def _pick_use(use: UseView, bags: Sequence[Bag]) -> PickLine:
    return PickLine(
        bin=use.bin,
        content=used_content(use),
        bags=tuple(bag.number for bag in bags if _is_for(use, bag)),
        notes=use.notes,
    )


def _is_for(use: UseView, bag: Bag) -> bool:
    """Whether it is for a position of a bag, or for the whole joint of it; it lies loose."""
    here = {position for line in bag.lines for position in line.positions}
    return any(
        reason.joint == bag.joint and (not reason.positions or here & set(reason.positions))
        for reason in use.reasons
    )
