"""Sealants, threadlockers and whatever else has to set: how long it may be worked and must be left.

Which products these are is data: those with times of their own, and every product of a kind that
is laid by bead, film or drop anywhere in the catalogue.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

from sqlalchemy import bindparam, or_, select
from sqlalchemy.orm import Session, aliased

from kitting.calc.tightening.cure import laying, stands, worst
from kitting.facts.names import natural_key
from kitting.facts.reasons import Reason
from kitting.facts.tightening_reasons import LayingRemark
from kitting.facts.units import Quantity
from kitting.facts.words import CureVerdict
from kitting.services.kit.left_off import jobs_of, left_off
from kitting.services.planning.beads import Bead, laid_together
from kitting.services.planning.draft import draft
from kitting.services.planning.facts import ItemFacts
from kitting.services.planning.judged import Draft, JudgedUse
from kitting.services.planning.request import PlanRequest
from kitting.services.planning.uses import sourced, use_place
from kitting.services.planning.view import plan_view
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

    Without it the verdict is that this is not known, where no time to stand would do, or none.

    Raises UnknownNameError and CatalogueCycleError (see `draft`), FigureError for a time that is
    not above zero.
    """
    facts = draft(session, request)
    plan = plan_view(facts)
    laid: dict[int, list[JudgedUse]] = defaultdict(list)
    for need in setting_uses(session, facts):
        laid[need.item.key].append(need)
    products = [_product(facts, needs, parked) for needs in laid.values()]
    stopped = left_off(plan)
    verdicts = [product.verdict for product in products if product.verdict is not None]
    if stopped:
        verdicts.append(CureVerdict.UNKNOWN)
    verdict = None if parked is None and not verdicts else worst(verdicts)
    return CuringView(
        reference=plan.reference,
        on=plan.on,
        vehicle=plan.vehicle.public_name,
        jobs=jobs_of(plan),
        products=tuple(sorted(products, key=lambda product: natural_key(product.item))),
        parked_minutes=parked,
        verdict=verdict,
        stopped=stopped,
    )


def setting_uses(session: Session, facts: Draft) -> tuple[JudgedUse, ...]:
    """The uses of a plan whose product has to set, of joints first; in one statement."""
    items = {need.item.key for need in facts.uses}
    setting = set(session.scalars(_SETTING, {"items": list(items)}))
    found = [need for need in facts.uses if need.item.key in setting]
    # Joints before steps: what has no joint comes first on one engine and last on the other.
    return tuple(sorted(found, key=lambda need: need.joint is None))


def put_on(facts: Draft, need: JudgedUse) -> PutOnView:
    """A product at one place, as a sheet prints it."""
    item = need.item
    return PutOnView(
        where=use_place(facts, need),
        item=item.code,
        name=item.name,
        how=need.how,
        amount=Quantity(need.quantity, item.unit),
        times=_times(item),
        laying=_laying(facts, need),
        sourced=sourced(facts, need),
    )


def _laying(facts: Draft, need: JudgedUse) -> Reason | None:
    """Whether a bead can be laid within the open time; None for no bead."""
    if need.bead is None:
        return None
    length = laid_together(facts, _bead(need), map(_bead, facts.uses))
    return laying(length, need.item.laying_speed, need.item.open_minutes)


def _bead(use: JudgedUse) -> Bead:
    return Bead(use.item.key, use.joint, use.step, use.bead or 0)


def _times(item: ItemFacts) -> CureTimes:
    return CureTimes(
        open_minutes=item.open_minutes,
        cure_minutes=item.cure_minutes,
        source=item.times_source,
        celsius=item.times_celsius,
    )


def _product(facts: Draft, needs: Sequence[JudgedUse], parked: int | None) -> ProductView:
    known = needs[0].item
    times = _times(known)
    return ProductView(
        item=known.code,
        name=known.name,
        kind=known.kind.name,
        unit=known.unit,
        quantity=sum(need.quantity for need in needs),
        places=tuple(
            LaidView(
                where=use_place(facts, need),
                name=_place_name(facts, need),
                how=need.how,
                quantity=need.quantity,
                laying=_laying(facts, need),
            )
            for need in needs
        ),
        open_minutes=times.open_minutes,
        cure_minutes=times.cure_minutes,
        source=times.source,
        celsius=times.celsius,
        verdict=_verdict(facts, needs, parked),
    )


def _verdict(facts: Draft, needs: Sequence[JudgedUse], parked: int | None) -> CureVerdict | None:
    """Whether a car stands long enough; not known unless each bead is closed in time.

    Without a time to stand, that it cannot be known whatever it is, or nothing.
    """
    item = needs[0].item
    found = [] if parked is None else [stands(item.cure_minutes, parked)]
    if item.cure_minutes is None:
        found.append(CureVerdict.UNKNOWN)
    beads = [laid for need in needs if (laid := _laying(facts, need)) is not None]
    if item.open_minutes is None or any(laid.code is not LayingRemark.IN_TIME for laid in beads):
        found.append(CureVerdict.UNKNOWN)
    return worst(found) if found else None


def _place_name(facts: Draft, need: JudgedUse) -> str:
    if need.joint is not None:
        return facts.contents.joints[need.joint].name
    return facts.work.steps[need.step or 0].name
