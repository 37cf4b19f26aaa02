"""What a load takes away or makes another thing: told by name, for a file may be another's."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import TypeAlias

from sqlalchemy import Table, select

from kitting.facts.car_facts import CarFact
from kitting.facts.heads import Head
from kitting.facts.reasons import Reason, because
from kitting.services.catalogue.exporting.entries import length
from kitting.services.catalogue.sections import TABLES
from kitting.services.catalogue.told import read_told
from kitting.services.db.sync import Row, Sync, chunks
from kitting.tables.photos import Photo
from kitting.tables.units import Fit, Joint
from kitting.tables.work import Job
from kitting.views.catalogue import LoadRemark

_SHOWN = 20  # so many things are named of a sort, then the others are counted
_Shown: TypeAlias = Callable[[Row], str | None]


def losses(sync: Sync) -> Iterator[Reason]:
    """What becomes another thing, and what goes; asked before it is taken out.

    What was unknown and is stated now is no loss, and what is added is none.
    """
    for table in _MEANING:
        yield from _overwritten(sync, table)
    yield from _no_longer_carried(sync, "model")
    yield from _no_longer_carried(sync, "vehicle")
    yield from _gone_of_units(sync)
    yield from _photos(sync)


def _plain(column: str) -> _Shown:
    return lambda row: None if row[column] is None else str(row[column])


def _mm(column: str) -> _Shown:
    return lambda row: length(row[column])


def _head(row: Row) -> str | None:
    return None if row["head"] is None else str(Head(row["head"], row["head_size"] or ""))


def _flag(column: str) -> _Shown:
    return lambda row: "yes" if row[column] else "no"


def _stated(*columns: str) -> dict[str, _Shown]:
    return {column: _plain(column) for column in columns}


# What a thing is, by table: each field as a file calls it. Columns of keys are named below.
_MEANING: Mapping[str, Mapping[str, _Shown]] = {
    "kind": {
        **_stated("name", "family", "rubber"),
        "threaded": _flag("threaded"),
        "locks_threads": _flag("locks_threads"),
    },
    "fluid": _stated("name", "medium"),
    "system": _stated("name"),
    "item": {
        **_stated("kind", "name", "unit", "elastomer", "hardness", "thread", "property_class"),
        **_stated("medium"),
        **{name: _mm(name) for name in ("ring_inside", "ring_section", "length")},
        "head": _head,
    },
    "unit": _stated("name"),
    "model": _stated("name"),
    "vehicle": _stated("model"),
}
_NAMED_BY = {"kind": "kind_id", "model": "model_id"}  # fields that hold the key of another thing
_CALLED = {"vehicle": "registration"}
# What units have, by table: how it is called.
_OF_UNITS = {"job": "job", "step": "step", "joint": "joint", "split": "variant"}


def _overwritten(sync: Sync, table: str) -> Iterator[Reason]:
    changed = sync.changed(table)
    fields = _MEANING[table]
    codes = {
        field: _codes(sync, TABLES[field], [row[column] for pair in changed for row in pair])
        for field, column in _NAMED_BY.items()
        if field in fields and changed
    }
    elsewhere = _told_elsewhere(sync) if table == "vehicle" else frozenset()
    told = 0
    for old, new in changed:
        changes = tuple(_changes(fields, _named(old, codes), _named({**old, **new}, codes)))
        if not changes or old["id"] in elsewhere:
            continue
        told += 1
        if told <= _SHOWN:
            code = old[_CALLED.get(table, "code")]
            yield because(LoadRemark.OVERWRITTEN, sort=table, thing=code, changes=changes)
    if told > _SHOWN:
        yield because(LoadRemark.OVERWRITTEN_TOO, sort=table, count=told - _SHOWN)


def _told_elsewhere(sync: Sync) -> frozenset[int]:
    """Changed cars whose model was told at the garage: that has a remark of its own."""
    keys = {old["registration_key"]: old["id"] for old, _ in sync.changed("vehicle")}
    told = read_told(sync.session, keys)
    return frozenset(keys[one] for one, facts in told.items() if (CarFact.MODEL, None) in facts)


def _named(row: Row, codes: Mapping[str, Mapping[int, str]]) -> Row:
    return {**row, **{field: known.get(row[_NAMED_BY[field]]) for field, known in codes.items()}}


def _changes(fields: Mapping[str, _Shown], old: Row, new: Row) -> Iterator[Reason]:
    for field, shown in fields.items():
        was, now = shown(old), shown(new)
        if was is not None and was != now:
            yield because(LoadRemark.WAS_OTHERWISE, field=field, was=was, now=now or "not stated")


def _codes(sync: Sync, table: Table, keys: Sequence[int], column: str = "code") -> dict[int, str]:
    found: dict[int, str] = {}
    for some in chunks(sorted(set(keys))):
        rows = select(table.c.id, table.c[column]).where(table.c.id.in_(some))
        found |= dict(sync.session.execute(rows).all())
    return found


def _no_longer_carried(sync: Sync, owner: str) -> Iterator[Reason]:
    """Units that models or cars carry no longer, with the jobs that go with them."""
    gone = sync.going(f"{owner}_unit")
    if not gone:
        return
    owners = [row[f"{owner}_id"] for row in gone]
    called = _codes(sync, TABLES[owner], owners, _CALLED.get(owner, "code"))
    keys = [row["unit_id"] for row in gone]
    units = _codes(sync, TABLES["unit"], keys)
    jobs: dict[int, list[str]] = {}
    for some in chunks(sorted(set(keys))):
        rows = select(Job.unit_id, Job.code).where(Job.unit_id.in_(some)).order_by(Job.seq)
        for unit, code in sync.session.execute(rows):
            jobs.setdefault(unit, []).append(code)
    for row in gone:
        yield because(
            LoadRemark.NO_LONGER_CARRIED,
            sort="model" if owner == "model" else "car",
            owner=called[row[f"{owner}_id"]],
            unit=units[row["unit_id"]],
            jobs=_few(jobs.get(row["unit_id"], [])),
        )


def _gone_of_units(sync: Sync) -> Iterator[Reason]:
    """Jobs, steps, joints and variants that units have no longer."""
    gone: dict[int, list[str]] = {}
    for table, called in _OF_UNITS.items():
        for row in sync.going(table):
            gone.setdefault(row["unit_id"], []).append(f"{called} {row['code']}")
    units = _codes(sync, TABLES["unit"], list(gone))
    for unit, things in gone.items():
        yield because(LoadRemark.GONE_OF_UNIT, unit=units[unit], things=_few(things))


def _few(names: Sequence[str]) -> tuple[str, ...]:
    more = len(names) - _SHOWN
    return (*names[:_SHOWN], *([f"and {more} more"] if more > 0 else []))


def _photos(sync: Sync) -> Iterator[Reason]:
    """Photos of joints and positions that go: they are kept, and shown nowhere."""
    joints = sync.going("joint")
    fits = sync.going("fit")
    if not joints and not fits:
        return
    photos = sync.session.execute(
        select(Photo.id, Photo.unit, Photo.joint, Photo.position)
        .where(Photo.joint.is_not(None))
        .order_by(Photo.id)
    ).all()
    if not photos:
        return
    units = _codes(sync, TABLES["unit"], [row["unit_id"] for row in joints])
    lost = {(units[row["unit_id"]], row["code"]) for row in joints}
    places = _lost_positions(sync, fits)
    for number, unit, joint, position in photos:
        if (unit, joint) in lost or (position and (unit, joint, position) in places):
            where = f"{unit}/{joint}" + (f" {position!r}" if position else "")
            yield because(LoadRemark.PHOTO_OF_NOTHING, number=number, place=where)


def _lost_positions(sync: Sync, fits: Sequence[Row]) -> set[tuple[str, str, str]]:
    """Positions of which no fit is left, with unit and joint."""
    going = {row["id"] for row in fits}
    there: dict[tuple[str, str, str], set[int]] = {}
    unit = TABLES["unit"]
    for some in chunks(sorted({row["joint_id"] for row in fits})):
        rows = (
            select(unit.c.code, Joint.code, Fit.position, Fit.id)
            .join(Joint, Joint.unit_id == unit.c.id)
            .join(Fit, Fit.joint_id == Joint.id)
            .where(Joint.id.in_(some))
        )
        for code, joint, position, key in sync.session.execute(rows):
            there.setdefault((code, joint, position), set()).add(key)
    return {place for place, keys in there.items() if keys <= going}
