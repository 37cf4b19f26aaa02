"""Learned failure rates: what the findings of this garage say about items, kinds and units."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, time
from pathlib import Path
from typing import Any, NamedTuple, TypeVar

from sqlalchemy import Engine, bindparam, case, func, insert, select
from sqlalchemy.orm import Session

from kitting.calc.advice.failure_rates import Belief, Inspected, posterior, prior_of
from kitting.errors import FileProblemsError, KittingError, Problem
from kitting.facts.names import natural_key
from kitting.facts.words import FindingResult
from kitting.files.lists.findings import read_findings
from kitting.services.bookings.findings import as_told, failed_of, refuse_result
from kitting.services.lookup import hint
from kitting.services.stock.lots import find_items
from kitting.store import writing
from kitting.tables.bookings import Finding
from kitting.tables.items import ITEM_NAME, Item
from kitting.tables.units import Unit
from kitting.tables.vocabulary import Kind
from kitting.views.completion import LearnedView


@dataclass(slots=True)
class Learned:
    """Pieces inspected and failed, by kind, item, and (item, unit).

    What was renewed without inspection is in none of them.
    """

    kinds: dict[int, Inspected] = field(default_factory=dict)
    items: dict[int, Inspected] = field(default_factory=dict)
    units: dict[tuple[int, int], Inspected] = field(default_factory=dict)

    def belief(self, stated: float | None, kind: int, item: int, unit: int | None) -> Belief | None:
        """The chance that a piece fails: from its kind over the item to this unit.

        Each level takes only what the next does not have of its own, so that nothing counts twice.
        `stated` is the figure for the kind; None where nobody states one and nothing was found.
        """
        prior = prior_of(stated)
        of_kind, of_item = _of(self.kinds, kind), _of(self.items, item)
        if stated is None and not of_kind.pieces:
            return None
        levels = [_less(of_kind, of_item)]
        if unit is None:
            return posterior(prior, *levels, of_item)
        here = _of(self.units, (item, unit))
        return posterior(prior, *levels, _less(of_item, here), here)


_Key = TypeVar("_Key")


def _of(found: Mapping[_Key, Inspected], key: _Key) -> Inspected:
    return found.get(key, Inspected(0, 0))


def _less(whole: Inspected, part: Inspected) -> Inspected:
    return Inspected(whole.failed - part.failed, whole.pieces - part.pieces)


_FOUND = (
    select(
        Item.kind_id,
        Finding.item_id,
        Finding.unit_id,
        func.sum(
            case(
                (
                    Finding.found == FindingResult.FAILED,
                    func.coalesce(Finding.failed, Finding.quantity),
                ),
                else_=0,
            )
        ),
        func.sum(Finding.quantity),
    )
    .join(Item, Finding.item_id == Item.id)
    .where(
        Item.kind_id.in_(bindparam("kinds", expanding=True)),
        Finding.found.in_((FindingResult.PASSED, FindingResult.FAILED)),
    )
    .group_by(Item.kind_id, Finding.item_id, Finding.unit_id)
)
_PLACES = (
    select(
        Item.id,
        Item.code,
        ITEM_NAME,
        Kind.id.label("kind_id"),
        Kind.name.label("kind"),
        Kind.chance,
        Finding.unit_id,
        Unit.code.label("unit"),
    )
    .select_from(Finding)
    .join(Item, Finding.item_id == Item.id)
    .join(Kind, Item.kind_id == Kind.id)
    .outerjoin(Unit, Finding.unit_id == Unit.id)
    .distinct()
)
_REASONS = (
    select(Finding.item_id, Finding.unit_id, Finding.reason)
    .where(
        Finding.found == FindingResult.FAILED,
        Finding.reason.is_not(None),
        Finding.item_id.is_not(None),
    )
    .order_by(Finding.id)
)


def read_learned(session: Session, kinds: Collection[int]) -> Learned:
    """What was found at items of some kinds, in one statement."""
    learned = Learned()
    kind_sums: dict[int, list[int]] = defaultdict(lambda: [0, 0])
    item_sums: dict[int, list[int]] = defaultdict(lambda: [0, 0])
    for kind, item, unit, failed, inspected in session.execute(_FOUND, {"kinds": sorted(kinds)}):
        pieces = (int(failed) // 1000, int(inspected) // 1000)
        if unit is not None:
            learned.units[item, unit] = Inspected(*pieces)
        for sums in (kind_sums[kind], item_sums[item]):
            sums[0] += pieces[0]
            sums[1] += pieces[1]
    learned.kinds = {kind: Inspected(*sums) for kind, sums in kind_sums.items()}
    learned.items = {item: Inspected(*sums) for item, sums in item_sums.items()}
    return learned


def learned(session: Session, items: Sequence[str] = ()) -> tuple[LearnedView, ...]:
    """What was learned of every item that somebody inspected, per unit, most pieces first."""
    wanted = {item.code for item in find_items(session, items).values()}
    rows = session.execute(_PLACES).all()
    known = read_learned(session, {row.kind_id for row in rows})
    reasons = _reasons(session)
    views = []
    for row in rows:
        belief = known.belief(row.chance, row.kind_id, row.id, row.unit_id)
        if belief is None or (wanted and row.code not in wanted):
            continue
        found = (
            _of(known.items, row.id)
            if row.unit_id is None
            else _of(known.units, (row.id, row.unit_id))
        )
        low, high = belief.spread()
        views.append(
            LearnedView(
                item=row.code,
                name=row.name,
                kind=row.kind,
                unit=row.unit,
                inspected=found.pieces,
                failed=found.failed,
                rests_on=belief.inspected,
                prior=row.chance,
                chance=belief.mean,
                low=low,
                high=high,
                reasons=reasons.get((row.id, row.unit_id), ()),
            )
        )
    return tuple(
        sorted(views, key=lambda v: (-v.inspected, natural_key(v.item), natural_key(v.unit or "")))
    )


def _reasons(session: Session) -> dict[tuple[int | None, int | None], tuple[str, ...]]:
    found: dict[tuple[int | None, int | None], list[str]] = defaultdict(list)
    for item, unit, reason in session.execute(_REASONS):
        found[item, unit].append(reason or "")
    return {place: tuple(dict.fromkeys(texts)) for place, texts in found.items()}


def load_findings(engine: Engine, paths: Sequence[Path], dry_run: bool = False) -> int:
    """Take over earlier findings from lists, all rows or none; returns how many are new.

    A list names no car, so two rows alike are two findings: of two cars, or of one looked at twice.
    What is recorded already is the same finding as a row that says the same in every column, each
    once: loading a list again adds nothing, a row that was changed is a finding of its own. Raises
    FileProblemsError with every fault.
    """
    problems: list[Problem] = []
    lists = []
    for path in paths:
        found, faults = read_findings(path)
        lists.append([(str(path), row.line, values) for row, values in found])
        problems += faults
    with writing(engine) as session:
        items = dict(session.execute(select(Item.code, Item.id)).all())
        units = dict(session.execute(select(Unit.code, Unit.id)).all())
        known = Counter(_recorded(session))
        new: list[_Told] = []
        for rows in lists:
            told = []
            for file, line, values in rows:
                faults = list(_unknown_names((file, line), values, items, units))
                problems += faults
                if not faults:
                    told.append(_told(values, items, units))
            more = Counter(told) - known
            known += more
            new += more.elements()
        if problems:
            raise FileProblemsError(problems)
        if new:
            session.execute(
                insert(Finding.metadata.tables["finding"]), [_finding(one) for one in new]
            )
        if not dry_run:
            session.commit()
    return len(new)


class _Told(NamedTuple):
    """All that a row of a list says; `quantity` in thousandths."""

    on: date
    unit: int | None
    joint: str
    position: str
    item: int
    quantity: int
    found: FindingResult
    failed: int | None
    reason: str | None


_TOLD = select(
    Finding.at, Finding.unit_id, Finding.joint, Finding.position, Finding.item_id,
    Finding.quantity, Finding.first_found.label("found"), Finding.first_failed.label("failed"),
    Finding.first_reason.label("reason"),
).where(Finding.item_id.is_not(None))  # fmt: skip


def _recorded(session: Session) -> Iterator[_Told]:
    for row in session.execute(_TOLD):
        yield _Told(
            row.at.date(), row.unit_id, row.joint, row.position, row.item_id, row.quantity,
            row.found, row.failed, row.reason,
        )  # fmt: skip


def _unknown_names(
    place: tuple[str, int],
    values: Mapping[str, Any],
    items: Mapping[str, int],
    units: Mapping[str, int],
) -> Iterator[Problem]:
    for what, names in (("item", items), ("unit", units)):
        if values[what] not in names:
            step = hint(values[what], names, "Describe it first")
            yield Problem(*place, "finding", f"unknown {what} {values[what]!r}", step)
    seen = as_told((values["joint"], values["position"]), values["found"], values.get("reason"))
    try:
        refuse_result(seen, _quantity(values) // 1000)
    except KittingError as error:
        yield Problem(*place, "finding", error.message, "Correct this row")


def _quantity(values: Mapping[str, Any]) -> int:
    return getattr(values.get("quantity"), "thousandths", 1000)


def _told(values: Mapping[str, Any], items: Mapping[str, int], units: Mapping[str, int]) -> _Told:
    seen = as_told((values["joint"], values["position"]), values["found"], values.get("reason"))
    return _Told(
        on=values["on"],
        unit=units[values["unit"]],
        joint=values["joint"],
        position=values["position"],
        item=items[values["item"]],
        quantity=_quantity(values),
        found=values["found"],
        failed=failed_of(seen),
        reason=seen.reason,
    )


def _finding(told: _Told) -> dict[str, object]:
    return {
        "unit_id": told.unit,
        "joint": told.joint,
        "position": told.position,
        "item_id": told.item,
        "quantity": told.quantity,
        "found": told.found,
        "failed": told.failed,
        "reason": told.reason,
        "at": datetime.combine(told.on, time()),
    }
