"""What a load takes away or makes another thing: told by name, for a file may be another's."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import TypeAlias

from sqlalchemy import Table, select

from kitting.facts.car_facts import CarFact
from kitting.facts.heads import Head
from kitting.facts.reasons import Reason, because
from kitting.facts.stages import stage_of_row
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
_Changed: TypeAlias = tuple[str, tuple[Reason, ...]]  # a thing, and what of it was otherwise


def losses(sync: Sync) -> Iterator[Reason]:
    """What becomes another thing, and what goes; asked before it is taken out.

    What was unknown and is stated now is no loss, and what is added is none.
    """
    for table in _MEANING:
        yield from _told(table, _overwritten(sync, table))
    yield from _told("position", _positions(sync))
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


def _overwritten(sync: Sync, table: str) -> Iterator[_Changed]:
    changed = sync.changed(table)
    fields = _MEANING[table]
    codes = {
        field: _codes(sync, TABLES[field], [row[column] for pair in changed for row in pair])
        for field, column in _NAMED_BY.items()
        if field in fields and changed
    }
    elsewhere = _told_elsewhere(sync) if table == "vehicle" else frozenset()
    for old, new in changed:
        changes = tuple(_changes(fields, _named(old, codes), _named({**old, **new}, codes)))
        if changes and old["id"] not in elsewhere:
            yield old[_CALLED.get(table, "code")], changes


def _told(sort: str, overwritten: Iterable[_Changed]) -> Iterator[Reason]:
    """Things that are another now, the first of them by name."""
    found = list(overwritten)
    for thing, changes in found[:_SHOWN]:
        yield because(LoadRemark.OVERWRITTEN, sort=sort, thing=thing, changes=changes)
    if len(found) > _SHOWN:
        yield because(LoadRemark.OVERWRITTEN_TOO, sort=sort, count=len(found) - _SHOWN)


def _positions(sync: Sync) -> Iterator[_Changed]:
    """Positions that stay and take another item, or are tightened to another figure."""
    fits = [pair for pair in sync.changed("fit") if pair[0]["item_id"] != pair[1]["item_id"]]
    items = _codes(sync, TABLES["item"], [row["item_id"] for pair in fits for row in pair])
    going = {row["id"] for row in sync.going("fit")}
    changes: dict[int, list[Reason]] = {}
    for old, new in fits:
        was, now = items[old["item_id"]], items[new["item_id"]]
        changes.setdefault(old["id"], []).append(_otherwise("item", was, now))
    stages = [(old, str(stage_of_row({**old, **new}))) for old, new in sync.changed("stage")]
    stages += [(old, "not stated") for old in sync.going("stage") if old["fit_id"] not in going]
    for old, now in stages:
        field = f"stage {old['seq'] + 1}"
        reason = _otherwise(field, str(stage_of_row(old)), now)
        changes.setdefault(old["fit_id"], []).append(reason)
    places = _places(sync, changes)
    for fit, found in changes.items():
        yield places[fit], tuple(found)


def _otherwise(field: str, was: str, now: str) -> Reason:
    return because(LoadRemark.WAS_OTHERWISE, field=field, was=was, now=now)


def _places(sync: Sync, fits: Iterable[int]) -> dict[int, str]:
    """Positions by the keys of their fits: UNIT/JOINT 'position'."""
    unit = TABLES["unit"]
    found: dict[int, str] = {}
    for some in chunks(sorted(fits)):
        rows = (
            select(Fit.id, unit.c.code, Joint.code, Fit.position)
            .join(Joint, Fit.joint_id == Joint.id)
            .join(unit, Joint.unit_id == unit.c.id)
            .where(Fit.id.in_(some))
        )
        found |= {
            key: f"{code}/{joint} {name!r}" for key, code, joint, name in sync.session.execute(rows)
        }
    return found


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
            yield _otherwise(field, was, now or "not stated")


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
