"""Learned failure rates: what the findings of this garage say about items, kinds and units."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, time
from pathlib import Path
from typing import TypeVar

from sqlalchemy import Engine, bindparam, case, func, insert, select
from sqlalchemy.orm import Session

from kitting.calc.advice.failure_rates import Belief, Inspected, Prior, posterior, prior_of
from kitting.errors import FileProblemsError, Problem
from kitting.facts.names import natural_key
from kitting.facts.words import FindingResult
from kitting.files.lists.findings import read_findings
from kitting.services.lookup import hint
from kitting.services.stock.lots import find_items
from kitting.store import writing
from kitting.tables.bookings import Finding
from kitting.tables.items import Item
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

    def belief(self, prior: Prior, kind: int, item: int, unit: int | None) -> Belief:
        """The chance that a piece fails: from its kind over the item to this unit.

        Each level takes only what the next does not have of its own, so that nothing counts twice.
        """
        of_kind, of_item = _of(self.kinds, kind), _of(self.items, item)
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
        func.sum(case((Finding.found == FindingResult.FAILED, Finding.quantity), else_=0)),
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
        Item.name,
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
    .where(Finding.found == FindingResult.FAILED, Finding.reason.is_not(None))
    .order_by(Finding.id)
)


_KNOWN = select(Finding.at, Finding.unit_id, Finding.joint, Finding.position, Finding.item_id)
_Place = tuple[date, int, str, str, int]


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
    find_items(session, items)
    rows = session.execute(_PLACES).all()
    known = read_learned(session, {row.kind_id for row in rows})
    reasons = _reasons(session)
    views = []
    for row in rows:
        if items and row.code not in items:
            continue
        belief = known.belief(prior_of(row.chance), row.kind_id, row.id, row.unit_id)
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


def _reasons(session: Session) -> dict[tuple[int, int | None], tuple[str, ...]]:
    found: dict[tuple[int, int | None], list[str]] = defaultdict(list)
    for item, unit, reason in session.execute(_REASONS):
        found[item, unit].append(reason or "")
    return {place: tuple(dict.fromkeys(texts)) for place, texts in found.items()}


def load_findings(engine: Engine, paths: Sequence[Path], dry_run: bool = False) -> int:
    """Take over earlier findings from lists, all rows or none; returns how many are new.

    A finding is known by its day, unit, joint, position and item, and by how many like it there
    are: two cars that fail at one position on one day are two findings, and loading a list again
    adds nothing. Raises FileProblemsError with every fault.
    """
    problems: list[Problem] = []
    rows = []
    for path in paths:
        found, faults = read_findings(path)
        rows += [(str(path), row, values) for row, values in found]
        problems += faults
    with writing(engine) as session:
        items = dict(session.execute(select(Item.code, Item.id)).all())
        units = dict(session.execute(select(Unit.code, Unit.id)).all())
        known = Counter(
            (at.date(), unit, joint, position, item)
            for at, unit, joint, position, item in session.execute(_KNOWN)
        )
        listed: Counter[_Place] = Counter()
        new = []
        for file, row, values in rows:
            for what, names in (("item", items), ("unit", units)):
                if values[what] not in names:
                    step = hint(values[what], names, "Describe it first")
                    reason = f"unknown {what} {values[what]!r}"
                    problems.append(Problem(file, row.line, "finding", reason, step))
            if problems:
                continue
            place = (
                values["on"], units[values["unit"]], values["joint"], values["position"],
                items[values["item"]],
            )  # fmt: skip
            listed[place] += 1
            if listed[place] > known[place]:
                new.append(_finding(values, place))
        if problems:
            raise FileProblemsError(problems)
        if new:
            session.execute(insert(Finding), new)
        if not dry_run:
            session.commit()
    return len(new)


def _finding(values: Mapping[str, object], place: _Place) -> dict[str, object]:
    on, unit, joint, position, item = place
    quantity = values.get("quantity")
    return {
        "unit_id": unit,
        "joint": joint,
        "position": position,
        "item_id": item,
        "quantity": getattr(quantity, "thousandths", 1000),
        "found": values["found"],
        "reason": values.get("reason"),
        "at": datetime.combine(on, time()),
    }
