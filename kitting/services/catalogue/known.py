"""What the database knows already of the names in catalogue files."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from sqlalchemy import exists, or_, select
from sqlalchemy.orm import Session, aliased

from kitting.calc.planning.consumption import lost_in_nozzle
from kitting.facts.words import SettledBy
from kitting.files.catalogue.document import Catalogue
from kitting.files.catalogue.source import Source
from kitting.services.catalogue.check import SECTIONS
from kitting.services.catalogue.check_words import CALLED
from kitting.services.catalogue.known_names import Known, SaidWord
from kitting.services.catalogue.sections import TABLE_OF, TABLES
from kitting.services.db.sync import chunks
from kitting.tables.bookings import BookingNeed
from kitting.tables.items import Item, ItemContent, ItemGtin
from kitting.tables.stock import Lot
from kitting.tables.supply import OrderLine
from kitting.tables.units import Fit, Joint, Split, SplitOption, Unit
from kitting.tables.vocabulary import Kind, OtherWord
from kitting.tables.work import Step

_PACKET, _INSIDE = aliased(Item), aliased(Item)
_HELD = (
    select(_PACKET.code, _INSIDE.code)
    .join(ItemContent, ItemContent.packet_id == _PACKET.id)
    .join(_INSIDE, ItemContent.item_id == _INSIDE.id)
    .order_by(_PACKET.code)
)

# Items of which lots, orders or bookings count something: their amounts are in the item's unit.
_COUNTED = select(Item.code, Item.unit).where(
    or_(*(exists().where(table.item_id == Item.id) for table in (Lot, OrderLine, BookingNeed)))
)


def read_known(session: Session, sources: Sequence[Source]) -> Known:
    """The names that the database has, and the facts of items that the files refer to."""
    by_unit = {
        table: _grouped(
            session.execute(select(Unit.code, table.code).join(Unit, table.unit_id == Unit.id))
        )
        for table in (Step, Joint)
    }
    options: dict[str, dict[str, set[str]]] = {}
    chosen: set[str] = set()
    for unit, split, by, option in session.execute(
        select(Unit.code, Split.code, Split.settled_by, SplitOption.code)
        .join(Split, Split.unit_id == Unit.id)
        .join(SplitOption, SplitOption.split_id == Split.id)
    ):
        options.setdefault(unit, {}).setdefault(split, set()).add(option)
        if by is SettledBy.CUSTOMER:
            chosen.add(f"{unit}/{split}")
    units: dict[str, str] = {}
    threads: dict[str, tuple[str | None, str | None]] = {}
    kinds: dict[str, str] = {}
    lost: set[str] = set()
    for some in chunks(sorted(_items_named(source.catalogue for source in sources))):
        for code, unit, thread, strength, kind, pack, nozzle in session.execute(
            select(
                Item.code,
                Item.unit,
                Item.thread,
                Item.property_class,
                Kind.code,
                Item.pack,
                Item.nozzle_waste,
            )
            .join(Kind, Item.kind_id == Kind.id)
            .where(Item.code.in_(some))
        ):
            units[code], kinds[code] = unit, kind
            threads[code] = (thread, strength)
            if unit == "ml" and lost_in_nozzle(pack, nozzle):
                lost.add(code)
    kinds_known = session.execute(
        select(Kind.code, Kind.threaded, Kind.weakest_class, Kind.strongest_class)
    ).all()
    return Known(
        names={
            section: frozenset(session.scalars(select(TABLES[TABLE_OF[section]].c.code)))
            for section in SECTIONS
        },
        steps=by_unit[Step],
        joints=by_unit[Joint],
        positions=_positions(session, sources),
        options={u: {s: frozenset(o) for s, o in sp.items()} for u, sp in options.items()},
        item_units=units,
        lost_in_nozzle=frozenset(lost),
        item_threads=threads,
        item_kinds=kinds,
        threaded={code: threaded for code, threaded, _, _ in kinds_known},
        made_in={code: (weakest, strongest) for code, _, weakest, strongest in kinds_known},
        contents=_grouped(session.execute(_HELD)),
        counted=_counted(session, sources),
        chosen=frozenset(chosen),
        gtins=_gtins(session, sources),
        words=frozenset(_words(session)),
    )


def _words(session: Session) -> Iterator[SaidWord]:
    for section in CALLED:
        table = TABLES[TABLE_OF[section]]
        owner = TABLES["other_word"].c[f"{table.name}_id"]
        said = select(table.c.code, OtherWord.word).join(OtherWord, owner == table.c.id)
        yield from (SaidWord(section, code, word) for code, word in session.execute(said))


def _counted(session: Session, sources: Sequence[Source]) -> dict[str, str]:
    """The unit of each item of the files that is counted somewhere already."""
    codes = {item.code for source in sources for item in source.catalogue.items}
    found: dict[str, str] = {}
    for some in chunks(sorted(codes)):
        found |= dict(session.execute(_COUNTED.where(Item.code.in_(some))).all())
    return found


def _gtins(session: Session, sources: Sequence[Source]) -> dict[str, str]:
    """The items of the numbers of packets in the files, but those that the files state anew."""
    stated = {item.code for source in sources for item in source.catalogue.items}
    numbers = {g for source in sources for item in source.catalogue.items for g in item.gtins}
    found: dict[str, str] = {}
    for some in chunks(sorted(numbers)):
        rows = session.execute(
            select(ItemGtin.gtin, Item.code)
            .join(Item, ItemGtin.item_id == Item.id)
            .where(ItemGtin.gtin.in_(some))
        )
        found |= {gtin: code for gtin, code in rows if code not in stated}
    return found


def _positions(session: Session, sources: Sequence[Source]) -> dict[str, frozenset[str]]:
    """Positions by UNIT/JOINT, of the units that the history of a car in the files names."""
    units = {
        removal.joint.partition("/")[0]
        for source in sources
        for vehicle in source.catalogue.vehicles
        for removal in vehicle.history
    }
    found: dict[str, set[str]] = {}
    for some in chunks(sorted(units)):
        for unit, joint, position in session.execute(
            select(Unit.code, Joint.code, Fit.position)
            .join(Joint, Joint.unit_id == Unit.id)
            .join(Fit, Fit.joint_id == Joint.id)
            .where(Unit.code.in_(some))
        ):
            found.setdefault(f"{unit}/{joint}", set()).add(position)
    return {joint: frozenset(names) for joint, names in found.items()}


def _grouped(pairs: Iterable[Any]) -> dict[str, frozenset[str]]:
    found: dict[str, set[str]] = {}
    for unit, code in pairs:
        found.setdefault(unit, set()).add(code)
    return {unit: frozenset(codes) for unit, codes in found.items()}


def _items_named(catalogues: Iterator[Catalogue]) -> set[str]:
    return {name for catalogue in catalogues for name in _items_of(catalogue)}


def _items_of(catalogue: Catalogue) -> Iterator[str]:
    for item in catalogue.items:
        yield from (content.item for content in item.contents)
    for unit in catalogue.units:
        yield from (use.item for step in unit.steps for use in step.uses)
        for joint in unit.joints:
            yield from (use.item for use in joint.uses)
            for fit in joint.fits:
                yield fit.item
                if fit.lubricant is not None and fit.lubricant != "dry":
                    yield fit.lubricant.item
