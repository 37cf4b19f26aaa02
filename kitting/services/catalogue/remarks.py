"""What is worth reading after a load, and stops nothing."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date
from typing import Any, TypeAlias

from sqlalchemy import bindparam, select
from sqlalchemy.orm import Session

from kitting.calc.planning.access import find_ring
from kitting.calc.planning.variants import speaks_against
from kitting.calc.tightening.held import Held
from kitting.calc.tightening.thread_states import PutOnThread, contradiction
from kitting.calc.tightening.torque_plausibility import odd
from kitting.calc.tightening.torque_plausibility import remarks as figure_remarks
from kitting.facts.reasons import Reason, ReasonCode, because
from kitting.facts.torque_reasons import TorqueRemark
from kitting.facts.vin import check_digit_missing
from kitting.facts.words import RelaxedBy, Source
from kitting.files.catalogue.document import Catalogue, Fit, Lubricant
from kitting.services.catalogue.check_patterns import Stated, of_kind, stated_of, still_unknown
from kitting.services.catalogue.rows.book import Book
from kitting.services.db.sync import chunks
from kitting.services.planning.read_car import read_car
from kitting.tables.items import Item, Successor
from kitting.tables.vehicles import SettledVariant
from kitting.tables.vocabulary import Kind, KindRule
from kitting.tables.work import JobNeed, Step, StepNeed
from kitting.views.catalogue import LoadRemark

Bar: TypeAlias = tuple[Any, ...]
_BARS = (
    select(
        Kind.code, KindRule.rule, KindRule.fluid_id, KindRule.medium, KindRule.system_id,
        KindRule.relaxed_by,
    )
    .join(KindRule, KindRule.kind_id == Kind.id)
    .where(KindRule.source == Source.GENERAL, KindRule.relaxed_by != RelaxedBy.WORKSHOP)
)  # fmt: skip

_HELD = select(
    Item.code, Item.thread, Item.property_class, Kind.weakest_class, Kind.strongest_class,
    Kind.general_torque, Kind.code.label("kind"),
).join(Kind, Item.kind_id == Kind.id)  # fmt: skip
_FAMILY = select(Kind.code, Kind.family, Kind.rubber)
_STATED = select(
    Item.code, Item.thread, Item.head, Item.elastomer, Item.ring_inside, Kind.family, Kind.rubber
).join(Kind, Item.kind_id == Kind.id)
_LOCKING = (
    select(Item.code)
    .join(Kind, Item.kind_id == Kind.id)
    .where(Kind.locks_threads, Item.code.in_(bindparam("codes", expanding=True)))
)
_NOT_CHECKED: Mapping[ReasonCode, LoadRemark] = {
    TorqueRemark.NO_THREAD: LoadRemark.TORQUES_NOT_CHECKED,
    TorqueRemark.NO_CLASS: LoadRemark.TORQUES_WITHOUT_CLASS,
    TorqueRemark.NO_CLASS_LITTLE: LoadRemark.TORQUES_WITHOUT_CLASS,
    TorqueRemark.NO_BOLT: LoadRemark.TORQUES_OF_NO_BOLT,
    TorqueRemark.INTO_PLASTIC: LoadRemark.TORQUES_INTO_PLASTIC,
    TorqueRemark.NOT_RECKONED: LoadRemark.TORQUES_NOT_RECKONED,
    TorqueRemark.ENGAGEMENT_NOT_STATED: LoadRemark.TORQUES_THAT_MAY_STRIP,
    TorqueRemark.INTO_NOT_STATED: LoadRemark.TORQUES_THAT_MAY_STRIP,
}
# So many places are named where figures cannot be checked.
_SHOWN = 5


def remarks(session: Session, book: Book) -> Iterator[Reason]:
    """What is worth reading: rings that the loaded items are in, needs that nobody meets now."""
    codes = dict(session.execute(select(Item.id, Item.code)).all())
    loaded = {book.id("item", item.code) for item in book.each("items")}
    replaced: dict[int, list[int]] = {}
    for item, by in session.execute(select(Successor.item_id, Successor.by_item_id)):
        replaced.setdefault(item, []).append(by)
    while ring := find_ring(replaced):
        if loaded.intersection(ring):
            yield because(LoadRemark.REPLACED_IN_A_RING, items=tuple(codes[key] for key in ring))
        for key in ring[:-1]:
            del replaced[key]
    yield from _odd_torques(session, book)
    yield from _settled_against(session, book)
    yield from _check_digits(book)
    yield from open_questions(session, book.catalogues)
    described = select(Step.code)
    for table, remark in (
        (StepNeed, LoadRemark.STEP_NEEDS_UNKNOWN),
        (JobNeed, LoadRemark.JOB_NEEDS_UNKNOWN),
    ):
        lacking = select(table.code).where(table.code.not_in(described)).distinct()
        for code in session.scalars(lacking.order_by(table.code)):
            yield because(remark, step=code)


def open_questions(
    session: Session | None, catalogues: Sequence[Catalogue], general: Sequence[Catalogue] = ()
) -> Iterator[Reason]:
    """What patterned joints of some files still ask, by what the files and the database state.

    `general` are files that state kinds where there is no database.
    """
    kinds = {kind.code: kind for one in (*general, *catalogues) for kind in one.kinds}
    stated = {} if session is None else _stated(session, catalogues)
    if session is not None:
        families = {row.code: of_kind(row.family, row.rubber) for row in session.execute(_FAMILY)}
    else:
        families = {}
    for one in catalogues:
        for item in one.items:
            known = stated_of(item, kinds.get(item.kind))
            if item.kind in families and item.kind not in kinds:
                known = replace(known, **families[item.kind])
            stated[item.code] = known
    yield from still_unknown(catalogues, stated)


def _stated(session: Session, catalogues: Sequence[Catalogue]) -> dict[str, Stated]:
    """What the database states of the items of patterned joints."""
    named = {
        fit.item
        for one in catalogues
        for unit in one.units
        for joint in unit.joints
        if joint.like is not None
        for fit in joint.fits
    }
    return {
        row.code: Stated(
            thread=row.thread is not None,
            head=row.head is not None,
            elastomer=row.elastomer is not None,
            sized=row.ring_inside is not None,
            **of_kind(row.family, row.rubber),
        )
        for codes in chunks(sorted(named))
        for row in session.execute(_STATED.where(Item.code.in_(codes)))
    }


def _odd_torques(session: Session, book: Book) -> Iterator[Reason]:
    """Figures that overstress a fastener, hold hardly anything, or are odd in another way.

    A figure for another state of the thread than the position's own entry makes is odd too; what
    else comes to the thread depends on the car, so that the plan tells it.
    """
    fits = [
        (f"{unit.code}/{joint.code} {fit.all_positions[0]!r}", fit, fit.tightening)
        for unit in book.each("units")
        for joint in unit.joints
        for fit in joint.fits
        if fit.tightening is not None and fit.tightening.stages
    ]
    held = _held(session, {fit.item for _, fit, _ in fits})
    locking = _locking(session, [fit for _, fit, _ in fits])
    unchecked: dict[ReasonCode, list[str]] = {}
    for place, fit, tightening in fits:
        here = replace(held[fit.item], into=fit.into, engagement=fit.engagement)
        found = figure_remarks(tightening.stages, here, tightening.thread)
        for reason in odd(found):
            yield because(LoadRemark.ODD_TORQUE, place=place, text=reason)
        against = contradiction(tightening.thread, _own(fit, locking))
        if against is not None:
            yield because(LoadRemark.ODD_TORQUE, place=place, text=against)
        for reason in found:
            if reason.code in _NOT_CHECKED:
                unchecked.setdefault(_NOT_CHECKED[reason.code], []).append(place)
    for code, places in unchecked.items():
        yield because(code, count=len(places), places=tuple(places[:_SHOWN]))


def _check_digits(book: Book) -> Iterator[Reason]:
    """Vehicle numbers whose check digit would be another, where it is no law to have one."""
    for car in book.each("vehicles"):
        follows = None if car.vin is None else check_digit_missing(car.vin)
        if follows is not None:
            yield because(
                LoadRemark.CHECK_DIGIT,
                car=car.registration,
                vin=car.vin,
                stands=car.vin[8],
                follows=follows,
            )


def bars(session: Session, book: Book) -> frozenset[Bar]:
    """What stands in the database of the kinds of these files that not even policy may relax."""
    found: set[Bar] = set()
    for codes in chunks(sorted({kind.code for kind in book.each("kinds")})):
        rows = session.execute(_BARS.where(Kind.code.in_(codes)))
        found.update(tuple(row) for row in rows)
    return frozenset(found)


def bars_dropped(session: Session, book: Book, before: frozenset[Bar]) -> Iterator[Reason]:
    """Kinds that are barred in fewer places, or more loosely, than before the load."""
    for kind in sorted({gone[0] for gone in before - bars(session, book)}):
        yield because(LoadRemark.BARS_DROPPED, kind=kind)


def _settled_against(session: Session, book: Book) -> Iterator[Reason]:
    """Variants settled without a reason though what is known of the car speaks against them."""
    for described in book.each("vehicles"):
        if not described.settled:
            continue
        car = read_car(session, described.registration, date.max)
        with_reason = set(
            session.scalars(
                select(SettledVariant.split_id).where(
                    SettledVariant.vehicle_id == car.key, SettledVariant.reason.is_not(None)
                )
            )
        )
        for split in car.splits:
            chosen = car.facts.settled.get(split.key)
            if chosen is None or split.key in with_reason:
                continue
            against = speaks_against(split, chosen, car.facts)
            if against:
                yield because(
                    LoadRemark.SETTLED_AGAINST,
                    car=car.registration,
                    variant=split.code,
                    option=next(one.code for one in split.options if one.key == chosen),
                    known=against,
                )


def _held(session: Session, items: set[str]) -> dict[str, Held]:
    """What the figures of some items are checked by."""
    held: dict[str, Held] = {}
    for codes in chunks(sorted(items)):
        rows = session.execute(_HELD.where(Item.code.in_(codes)))
        for code, thread, own, weakest, strongest, ordinary, kind in rows:
            held[code] = Held(thread, own, weakest, strongest, ordinary, kind=kind)
    return held


def _own(fit: Fit, locking: frozenset[str]) -> PutOnThread:
    """What an entry itself puts on its thread; that something oils it is left to the plan."""
    own = fit.lubricant.item if isinstance(fit.lubricant, Lubricant) else None
    return PutOnThread(own=own, own_locks=own in locking, dry=fit.lubricant == "dry", oiled_by=True)


def _locking(session: Session, fits: Sequence[Fit]) -> frozenset[str]:
    """The products that these entries put on their threads and that lock."""
    own = {fit.lubricant.item for fit in fits if isinstance(fit.lubricant, Lubricant)}
    return frozenset(
        code
        for codes in chunks(sorted(own))
        for code in session.scalars(_LOCKING, {"codes": codes})
    )
