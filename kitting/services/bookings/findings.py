"""Findings of a booking: what was seen at its positions, one by one or from a list."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence, Set
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from sqlalchemy import Engine, bindparam, delete, insert, select
from sqlalchemy.orm import Session

from kitting.errors import FileProblemsError, KittingError, Problem, UnknownNameError
from kitting.facts.failures import counted_late, told_failure
from kitting.facts.names import nearest
from kitting.facts.words import FindingResult
from kitting.files.lists.findings import RAMP_FIELDS, read_findings
from kitting.services.bookings.finding_items import ItemsAt, item_keys, items_at
from kitting.services.bookings.kit_record import plan_of
from kitting.services.bookings.outdated import is_outdated
from kitting.services.bookings.requirements import plan_again
from kitting.services.bookings.reservations import give_up_unneeded, promise_free
from kitting.services.bookings.states import BookingFacts, find_booking, require_open
from kitting.store import writing
from kitting.tables.bookings import Finding
from kitting.tables.items import Item
from kitting.tables.units import Unit
from kitting.views.plan import PlanView

_UNITS = select(Unit.code, Unit.id).where(Unit.code.in_(bindparam("codes", expanding=True)))
_INSPECTED = (
    select(Item.code, Finding.quantity, Finding.found)
    .join(Item, Finding.item_id == Item.id)
    .where(Finding.booking_id == bindparam("booking"))
)
_table = Finding.metadata.tables["finding"]
_FORGET = delete(_table).where(
    _table.c.booking_id == bindparam("booking"),
    _table.c.joint == bindparam("at_joint"),
    _table.c.position == bindparam("at_position"),
)


@dataclass(frozen=True, slots=True)
class Found:
    """What was seen at one position; `row` is the file and line that say so, if a list does.

    Of a failure `failed` is how many pieces, of how many `pieces` that were counted there; None:
    all of them.
    """

    joint: str
    position: str
    found: str
    reason: str | None = None
    row: tuple[str, int] | None = None
    failed: int | None = None
    pieces: int | None = None


def as_told(
    place: tuple[str, str], found: str, why: str | None, row: tuple[str, int] | None = None
) -> Found:
    """What was found at a (joint, position), with a failure as it is typed: "1 of 3, spread"."""
    told = told_failure(why)
    if found != FindingResult.FAILED and told.failed is None:
        return Found(*place, found, why, row)
    return Found(*place, found, told.reason, row, told.failed, told.pieces)


@dataclass(frozen=True, slots=True)
class Inspected:
    """What was found of a booking, by item: what passed, and what was renewed without a look.

    In thousandths; of what `failed` only which items.
    """

    passed: Mapping[str, int]
    failed: frozenset[str]
    unseen: Mapping[str, int]


def read_inspected(session: Session, booking_id: int) -> Inspected:
    """What was found at the positions of a booking, by the items that were there."""
    passed: dict[str, int] = defaultdict(int)
    unseen: dict[str, int] = defaultdict(int)
    failed = set()
    for code, quantity, found in session.execute(_INSPECTED, {"booking": booking_id}):
        if found is FindingResult.PASSED:
            passed[code] += quantity
        elif found is FindingResult.FAILED:
            failed.add(code)
        else:
            unseen[code] += quantity
    return Inspected(passed, frozenset(failed), unseen)


def load_ramp_findings(engine: Engine, number: str, paths: Sequence[Path], at: datetime) -> int:
    """Record what lists say of the positions of a booking.

    Raises FileProblemsError with every fault of the lists, a position that the booking does not
    open among them; nothing is recorded then.
    """
    seen: list[Found] = []
    problems: list[Problem] = []
    for path in paths:
        rows, faults = read_findings(path, RAMP_FIELDS)
        problems += faults
        seen += [
            as_told((v["joint"], v["position"]), v["found"], v.get("reason"), (str(path), row.line))
            for row, v in rows
        ]
    if problems:
        raise FileProblemsError(problems)
    return record_findings(engine, number, seen, at)


def record_findings(engine: Engine, number: str, seen: Sequence[Found], at: datetime) -> int:
    """Record what was seen at positions of a booking, all or none; a position again replaces it.

    What failed, and what is renewed with it, is needed from now on: a spare in the kit is used for
    it, or it is promised what is free, or it is short.
    Raises UnknownNameError for a position that the booking does not open, KittingError for a word
    that is no FindingResult, or a failure without its reason; FileProblemsError with all of these
    where they come from lists.
    """
    with writing(engine) as session:
        booking = find_booking(session, number)
        require_open(booking)
        record_in(session, booking, seen, at)
        session.commit()
        return len(seen)


def record_in(session: Session, booking: BookingFacts, seen: Sequence[Found], at: datetime) -> None:
    """As `record_findings`, in a transaction that does more; nothing where nothing was seen."""
    if seen:
        planned = plan_of(session, booking)
        items = items_at(planned)
        problems = list(_refusals(booking.number, seen, items))
        if problems:
            raise FileProblemsError(problems)
        outdated = is_outdated(session, booking)
        _write(session, booking.id, planned, items, seen, at)
        plan_again(session, booking, outdated)
        give_up_unneeded(session, booking.id)
        promise_free(session, booking.id)


def _write(
    session: Session,
    booking_id: int,
    planned: PlanView,
    items: ItemsAt,
    seen: Sequence[Found],
    at: datetime,
) -> None:
    joint_units = {joint.code: joint.unit for joint in planned.joints}
    units = dict(session.execute(_UNITS, {"codes": sorted(set(joint_units.values()))}).all())
    ids = item_keys(session, items)
    last = {(one.joint, one.position): one for one in seen}
    if not last:
        return
    session.connection().execute(
        _FORGET,
        [
            {"booking": booking_id, "at_joint": joint, "at_position": position}
            for joint, position in last
        ],
    )
    rows: list[dict[str, Any]] = []
    for place, one in last.items():
        there = items[place]
        rows.append(
            {
                "booking_id": booking_id, "unit_id": units[joint_units[one.joint]],
                "joint": one.joint, "position": one.position, "item_id": ids[there.item],
                "quantity": there.quantity, "found": one.found, "failed": failed_of(one),
                "reason": one.reason, "at": at,
            }
        )  # fmt: skip
    session.execute(insert(_table), rows)


def _refusals(number: str, seen: Sequence[Found], items: ItemsAt) -> Iterator[Problem]:
    told: set[tuple[str, str]] = set()
    for one in seen:
        try:
            _refuse(number, one, items)
            _refuse_again(one, told)
            told.add((one.joint, one.position))
        except KittingError as error:
            if one.row is None:
                raise
            yield Problem(*one.row, f"position {one.position}", error.message, "Correct this row")


def _refuse(number: str, one: Found, items: ItemsAt) -> None:
    if (one.joint, one.position) not in items:
        here = [position for joint, position in items if joint == one.joint]
        near = nearest(one.position, here) or here[:5] or sorted({j for j, _ in items})
        raise UnknownNameError(
            "{number} opens no {position!r} in {joint!r}. Known: {near}",
            number=number,
            position=one.position,
            joint=one.joint,
            near=", ".join(near),
        )
    refuse_result(one, items[one.joint, one.position].pieces)


def _refuse_again(one: Found, told: Set[tuple[str, str]]) -> None:
    if (one.joint, one.position) in told:
        raise KittingError(
            "{joint}, {position}: told twice. Tell it once",
            joint=one.joint,
            position=one.position,
        )


def failed_of(one: Found) -> int | None:
    """How much failed, in thousandths; None: all that is there, or nothing."""
    return None if one.failed is None else one.failed * 1000


def refuse_result(one: Found, pieces: int | None) -> None:
    """Raise KittingError for a word that is no result, a failure without its reason, a wrong count.

    `pieces` are those at the position; None of what is not counted in pieces.
    """
    if one.found not in tuple(FindingResult):
        raise KittingError(
            "{found!r} is none of {known}", found=one.found, known=", ".join(FindingResult)
        )
    if one.found == FindingResult.FAILED and not one.reason:
        raise KittingError(
            "{joint}, {position}: say why it failed, for those who come after",
            joint=one.joint,
            position=one.position,
        )
    if one.failed is not None:
        _refuse_count(one, one.failed, pieces)
    elif one.reason and counted_late(one.reason, pieces or 1):
        raise KittingError(
            "{joint}, {position}: write how many first: failed: 1 of {pieces}, and why",
            joint=one.joint,
            position=one.position,
            pieces=pieces,
        )


def _refuse_count(one: Found, failed: int, pieces: int | None) -> None:
    place = f"{one.joint}, {one.position}"
    if one.found != FindingResult.FAILED:
        raise KittingError(
            "{place}: how many is told of what failed. Write failed: 1 of 3, and why; the rest has"
            " passed then",
            place=place,
        )
    if pieces is None:
        raise KittingError(
            "{place}: nobody counts pieces there; tell failed and why, no number", place=place
        )
    if pieces != (one.pieces or pieces):
        told = f"{one.pieces} pieces are told, {pieces} are there"
        raise KittingError("{place}: {told}. Count again", place=place, told=told)
    if not failed:
        raise KittingError(
            "{place}: 0 of {pieces} failed. Tell it as passed", place=place, pieces=pieces
        )
    if failed > pieces:
        raise KittingError(
            "{place}: {failed} failed, {pieces} are there. Count again",
            place=place,
            failed=failed,
            pieces=pieces,
        )
