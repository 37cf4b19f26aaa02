"""What files no longer describe though recorded work refers to it: told before the database is."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import Enum, auto
from typing import Any, TypeAlias

from sqlalchemy import Select, select
from sqlalchemy.orm import Session

from kitting.errors import Problem
from kitting.facts.words import OPEN_BOOKINGS
from kitting.files.catalogue.document import Unit as UnitShape
from kitting.files.catalogue.source import Source
from kitting.services.db.sync import Row, Sync, chunks
from kitting.tables.bookings import Booking, BookingChoice
from kitting.tables.units import Joint, Split, SplitOption, Unit
from kitting.tables.vehicles import Refit, Removal, SettledVariant, Vehicle

_SHOWN = 5  # so many rows that refer to a thing are named


class _Sort(Enum):
    """What refers to a thing; what may be done depends on it."""

    OPEN_BOOKING = auto()
    BOOKING_OVER = auto()
    CAR = auto()
    HISTORY = auto()


_Told: TypeAlias = Callable[[Any], tuple[str, _Sort]]


@dataclass(frozen=True, slots=True)
class Reference:
    """A column that keeps a thing of the catalogue, its rows (`key` names the thing), and words."""

    column: Any
    rows: Select[Any]
    told: _Told


def _chosen(row: Any) -> tuple[str, _Sort]:
    sort = _Sort.OPEN_BOOKING if row.state in OPEN_BOOKINGS else _Sort.BOOKING_OVER
    return f"booking {row.number} ({row.state}) was made with it", sort


def _settled(row: Any) -> tuple[str, _Sort]:
    return f"{row.registration} is settled so", _Sort.CAR


def _earlier(row: Any) -> tuple[str, _Sort]:
    what = f"has {row.position!r} {row.outcome} on {row.on_date}"
    return f"the history of {row.registration} {what}", _Sort.HISTORY


def _fitted(row: Any) -> tuple[str, _Sort]:
    what = f"{row.position!r} {row.outcome} in booking {row.booking}"
    return f"the history of {row.registration} has {what}", _Sort.HISTORY


def _choices(column: Any) -> Reference:
    rows = (
        select(column.label("key"), Booking.number, Booking.state)
        .join(BookingChoice, BookingChoice.booking_id == Booking.id)
        .order_by(Booking.number)
    )
    return Reference(column, rows, _chosen)


def _of_cars(column: Any, told: _Told, *shown: Any) -> Reference:
    rows = select(column.label("key"), Vehicle.registration, *shown).join(
        Vehicle, column.class_.vehicle_id == Vehicle.id
    )
    return Reference(column, rows.order_by(Vehicle.registration_key, *shown), told)


# By table of the thing; a test holds that every reference that keeps one of a unit is here.
REFERENCES: Mapping[str, Sequence[Reference]] = {
    "split": (_choices(BookingChoice.split_id), _of_cars(SettledVariant.split_id, _settled)),
    "split_option": (
        _choices(BookingChoice.option_id),
        _of_cars(SettledVariant.option_id, _settled),
    ),
    "joint": (
        _of_cars(Removal.joint_id, _earlier, Removal.on_date, Removal.position, Removal.outcome),
        _of_cars(Refit.joint_id, _fitted, Refit.booking, Refit.position, Refit.outcome),
    ),
}
_CALLED = {"split": "variant", "split_option": "option", "joint": "joint"}
_in_split = Split.code + "/" + SplitOption.code
_NAMED: Mapping[str, Any] = {
    "split": select(Split.id, Unit.code.label("unit"), Split.code)
    .join(Unit, Split.unit_id == Unit.id),
    "split_option": select(SplitOption.id, Unit.code.label("unit"), _in_split.label("code"))
    .join(Split, SplitOption.split_id == Split.id)
    .join(Unit, Split.unit_id == Unit.id),
    "joint": select(Joint.id, Unit.code.label("unit"), Joint.code)
    .join(Unit, Joint.unit_id == Unit.id),
}  # fmt: skip


def still_used(sync: Sync, sources: Sequence[Source]) -> list[Problem]:
    """Everything that would go though recorded work refers to it, at the unit that lost it."""
    splits = {row["id"] for row in sync.going("split")}
    going = {
        table: [row for row in sync.going(table) if row.get("split_id") not in splits]
        for table in REFERENCES
    }
    return [
        problem
        for table, rows in going.items()
        for problem in _of_table(sync.session, table, rows, sources)
    ]


def _of_table(
    session: Session, table: str, going: Sequence[Row], sources: Sequence[Source]
) -> Iterator[Problem]:
    told: dict[int, list[tuple[str, _Sort]]] = {}
    for keys in chunks([row["id"] for row in going]):
        for reference in REFERENCES[table]:
            for row in session.execute(reference.rows.where(reference.column.in_(keys))):
                told.setdefault(row.key, []).append(reference.told(row))
    names = _NAMED[table]
    for keys in chunks(sorted(told)):
        for named in session.execute(names.where(names.selected_columns[0].in_(keys))):
            source, number, unit = _unit(sources, named.unit)
            yield source.problem(
                ("units", number),
                f"unit {unit.code}: {_CALLED[table]} {named.code}",
                f"it is taken out, but {_listed([text for text, _ in told[named.id]])}",
                _way_on(table, named.code, unit, {sort for _, sort in told[named.id]}),
            )


def _unit(sources: Sequence[Source], code: str) -> tuple[Source, int, UnitShape]:
    return next(
        (source, number, unit)
        for source in sources
        for number, unit in enumerate(source.catalogue.units)
        if unit.code == code
    )


def _listed(texts: Sequence[str]) -> str:
    more = len(texts) - _SHOWN
    return ", ".join([*texts[:_SHOWN], *([f"and {more} more"] if more > 0 else [])])


def _way_on(table: str, code: str, unit: UnitShape, sorts: Collection[_Sort]) -> str:
    """What may be done: leave it so that no plan asks for it, or change first what refers to it."""
    if table == "joint":
        return _history_stays(code, unit)
    if table == "split":
        return "Leave it in the file with its options: where nothing depends on it, it is not asked"
    stays = f"Leave option {code} in the file, and let its name say that it is no longer to be had"
    if _Sort.BOOKING_OVER in sorts:
        return f"{stays}: what was chosen for a booking that is over stays on record"
    ways = {
        _Sort.OPEN_BOOKING: "choose otherwise for the booking",
        _Sort.CAR: "settle the car otherwise",
    }
    first = " and ".join(way for sort, way in ways.items() if sort in sorts)
    return f"{first[0].upper()}{first[1:]} first. Or leave option {code} in the file"


def _history_stays(code: str, unit: UnitShape) -> str:
    stays = f"Leave joint {code} in the file, opened by no step: then its history can be read"
    words = code.split("-")
    sides = [
        joint.code
        for joint in unit.joints
        if joint.code != code and joint.code.split("-")[: len(words)] == words
    ]
    if not sides:
        return stays
    return (
        f"{stays}. Give {', '.join(sides)} another common code than {code}; what happened at"
        f" {code} does not count as theirs"
    )
