"""Sealants, threadlockers and whatever else has to set: how long it may be worked and must be left.

Which products these are is data: those with times of their own, and every product of a kind that
is laid by bead, film or drop anywhere in the catalogue.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

from sqlalchemy import or_, select
from sqlalchemy.orm import Session, aliased

from kitting.calc.tightening.cure import show_minutes, stands, worst
from kitting.facts.names import natural_key
from kitting.facts.plan_reasons import AmountReason
from kitting.facts.reasons import Reason, because
from kitting.facts.units import Quantity
from kitting.services.kit.left_off import left_off
from kitting.services.planning.draft import draft
from kitting.services.planning.facts import ItemFacts
from kitting.services.planning.judge import Draft, JudgedUse
from kitting.services.planning.request import PlanRequest
from kitting.services.planning.uses import use_place
from kitting.services.planning.view import plan_view
from kitting.tables.items import Item
from kitting.tables.work import Use
from kitting.views.tightening import CuringView, LaidView, ProductView, PutOnView

NOT_STATED = "NOT STATED: LOOK IT UP"
REMARK = (
    "Times are the product's own, at the conditions that its sheet states; cold and damp change"
    " them. The product's sheet and the maker's data decide."
)


def curing(session: Session, request: PlanRequest, parked: int | None = None) -> CuringView:
    """What has to set on a plan; with `parked` (minutes) whether the car stands long enough.

    Raises UnknownNameError and CatalogueCycleError (see `draft`), FigureError for no time.
    """
    facts = draft(session, request)
    plan = plan_view(facts)
    laid: dict[int, list[JudgedUse]] = defaultdict(list)
    for need in setting_uses(session, facts):
        laid[need.item.key].append(need)
    products = [
        _product(facts, facts.contents.items[item], needs, parked) for item, needs in laid.items()
    ]
    stopped = left_off(plan)
    verdict = None
    if parked is not None:
        verdicts = [product.verdict for product in products if product.verdict is not None]
        verdicts += ["unknown"] if stopped else []
        verdict = worst(verdicts) if verdicts else "nothing to set"
    return CuringView(
        reference=plan.reference,
        on=plan.on,
        vehicle=plan.vehicle.public_name,
        jobs=tuple(f"{job.code} {job.name}" for job in plan.jobs if not job.stopped_by),
        products=tuple(sorted(products, key=lambda product: natural_key(product.item))),
        parked_minutes=parked,
        verdict=verdict,
        stopped=stopped,
        remark=REMARK,
    )


def setting_uses(session: Session, facts: Draft) -> tuple[JudgedUse, ...]:
    """The uses of a plan whose product has to set, of joints first; in one statement."""
    other = aliased(Item)
    laid_kinds = (
        select(other.kind_id)
        .join(Use, Use.item_id == other.id)
        .where(
            or_(
                Use.bead_diameter.is_not(None),
                Use.film_area.is_not(None),
                Use.drops_thread.is_not(None),
            )
        )
    )
    setting = set(
        session.scalars(
            select(Item.id).where(
                Item.id.in_({need.item.key for need in facts.uses}),
                or_(
                    Item.open_minutes.is_not(None),
                    Item.cure_minutes.is_not(None),
                    Item.kind_id.in_(laid_kinds),
                ),
            )
        )
    )
    found = [need for need in facts.uses if need.item.key in setting]
    # Joints before steps: what has no joint comes first on one engine and last on the other.
    return tuple(sorted(found, key=lambda need: need.joint is None))


def put_on(facts: Draft, need: JudgedUse) -> PutOnView:
    """A product at one place, as a sheet prints it."""
    row = need.item
    how = need.how["how"] if need.how.code == AmountReason.NOTED else need.how
    amount = need.how
    if not isinstance(how, Reason) or how.code != AmountReason.STATED:
        comes_to = Quantity(need.quantity, row.unit)
        amount = because(AmountReason.COMES_TO, how=need.how, amount=comes_to)
    return PutOnView(f"{row.code} {row.name}", amount, times_text(row))


def times_text(item: ItemFacts) -> str:
    """Both times of a product in words, with their source; what is not stated says so."""
    if item.open_minutes is None and item.cure_minutes is None:
        return f"open time and cure time {NOT_STATED}"
    parts = (
        f"open time {NOT_STATED}"
        if item.open_minutes is None
        else f"close within {show_minutes(item.open_minutes)} of putting it on",
        f"cure time {NOT_STATED}"
        if item.cure_minutes is None
        else f"wait {show_minutes(item.cure_minutes)} before fluids come in or the engine runs",
    )
    return f"{'; '.join(parts)} ({item.times_source})"


def _product(
    facts: Draft, item: ItemFacts, needs: Sequence[JudgedUse], parked: int | None
) -> ProductView:
    row = item
    verdict = None if parked is None else stands(row.cure_minutes, parked)
    return ProductView(
        item=row.code,
        name=row.name,
        kind=item.kind.name,
        unit=row.unit,
        quantity=sum(need.quantity for need in needs),
        places=tuple(
            LaidView(use_place(facts, need), _place_name(facts, need), need.how, need.quantity)
            for need in needs
        ),
        open_minutes=row.open_minutes,
        cure_minutes=row.cure_minutes,
        source=row.times_source,
        told=times_text(row),
        verdict=verdict,
        why=None if parked is None else _why(row.cure_minutes, parked),
    )


def _why(cure: int | None, parked: int) -> str:
    stands_for = f"parked {show_minutes(parked)}"
    if cure is None:
        return f"cure time {NOT_STATED}, {stands_for}"
    return f"needs {show_minutes(cure)}, {stands_for}"


def _place_name(facts: Draft, need: JudgedUse) -> str:
    if need.joint is not None:
        return facts.contents.joints[need.joint].name
    return facts.work.steps[need.step or 0].name
