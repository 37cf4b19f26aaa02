"""Sealants, threadlockers and whatever else has to set: how long it may be worked and must be left.

Which products these are is data: those with times of their own, and every product of a kind that
is laid by bead, film or drop anywhere in the catalogue.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

from sqlalchemy import bindparam, or_, select
from sqlalchemy.orm import Session, aliased

from kitting.calc.planning.needs import UseNeed
from kitting.calc.tightening.cure import stands, worst
from kitting.facts.names import natural_key
from kitting.facts.units import Quantity
from kitting.facts.words import CureVerdict
from kitting.services.kit.bags import stopped_texts
from kitting.services.planning.draft import Draft
from kitting.services.planning.lines import use_place
from kitting.services.planning.plan import view
from kitting.services.planning.request import PlanRequest
from kitting.services.tools.check import draft_of
from kitting.tables.items import Item
from kitting.tables.work import Use
from kitting.views.tightening import CureTimes, CuringView, LaidView, ProductView, PutOnView

_LAID = aliased(Item)
_LAID_KINDS = (
    select(_LAID.kind_id)
    .join(Use, Use.item_id == _LAID.id)
    .where(
        or_(
            Use.bead_diameter.is_not(None),
            Use.film_area.is_not(None),
            Use.drops_thread.is_not(None),
        )
    )
)
_SETTING = select(Item.id).where(
    Item.id.in_(bindparam("items", expanding=True)),
    or_(
        Item.open_minutes.is_not(None),
        Item.cure_minutes.is_not(None),
        Item.kind_id.in_(_LAID_KINDS),
    ),
)


def curing(session: Session, request: PlanRequest, parked: int | None = None) -> CuringView:
    """What has to set on a plan; with `parked` (minutes) whether the car stands long enough.

    Raises UnknownNameError and CatalogueCycleError (see `draft`), FigureError for a time that is
    not above zero.
    """
    facts = draft_of(session, request)
    plan = view(facts)
    laid: dict[int, list[UseNeed]] = defaultdict(list)
    for need in setting_uses(session, facts):
        laid[need.item].append(need)
    products = [_product(facts, item, needs, parked) for item, needs in laid.items()]
    stopped = stopped_texts(plan)
    verdict = None
    if parked is not None:
        verdicts = [product.verdict for product in products if product.verdict is not None]
        verdict = worst([*verdicts, *([CureVerdict.UNKNOWN] if stopped else [])])
    return CuringView(
        reference=plan.reference,
        on=plan.on,
        vehicle=plan.vehicle.public_name,
        jobs=tuple(f"{job.code} {job.name}" for job in plan.jobs if not job.stopped_by),
        products=tuple(sorted(products, key=lambda product: natural_key(product.item))),
        parked_minutes=parked,
        verdict=verdict,
        stopped=stopped,
    )


def setting_uses(session: Session, facts: Draft) -> tuple[UseNeed, ...]:
    """The uses of a plan whose product has to set, of joints first; in one statement."""
    items = {need.item for need in facts.uses}
    setting = set(session.scalars(_SETTING, {"items": list(items)}))
    found = [need for need in facts.uses if need.item in setting]
    # Joints before steps: what has no joint comes first on one engine and last on the other.
    return tuple(sorted(found, key=lambda need: need.joint is None))


def put_on(facts: Draft, need: UseNeed) -> PutOnView:
    """A product at one place, as a sheet prints it."""
    row = facts.contents.items[need.item].row
    return PutOnView(
        where=use_place(facts, need),
        item=row.code,
        name=row.name,
        how=need.how,
        amount=Quantity(need.quantity, row.unit),
        times=_times(facts, need.item),
    )


def _times(facts: Draft, item: int) -> CureTimes:
    row = facts.contents.items[item].row
    return CureTimes(
        open_minutes=row.open_minutes, cure_minutes=row.cure_minutes, source=row.times_source
    )


def _product(facts: Draft, item: int, needs: Sequence[UseNeed], parked: int | None) -> ProductView:
    known = facts.contents.items[item]
    times = _times(facts, item)
    return ProductView(
        item=known.row.code,
        name=known.row.name,
        kind=known.kind.name,
        unit=known.row.unit,
        quantity=sum(need.quantity for need in needs),
        places=tuple(
            LaidView(
                where=use_place(facts, need),
                name=_place_name(facts, need),
                how=need.how,
                quantity=need.quantity,
            )
            for need in needs
        ),
        open_minutes=times.open_minutes,
        cure_minutes=times.cure_minutes,
        source=times.source,
        verdict=None if parked is None else stands(times.cure_minutes, parked),
    )


def _place_name(facts: Draft, need: UseNeed) -> str:
    if need.joint is not None:
        return facts.contents.joints[need.joint].name
    return facts.work.steps[need.step or 0].name
