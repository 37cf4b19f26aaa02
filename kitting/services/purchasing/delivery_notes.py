"""Whole delivery notes: every row of them is taken in, or none."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import datetime
from pathlib import Path
from typing import Any

from sqlalchemy import Engine, select
from sqlalchemy.orm import Session

from kitting.actions import Action, next_step
from kitting.errors import FileProblemsError, KittingError, Problem
from kitting.facts.names import hint
from kitting.files.lists.deliveries import read_deliveries
from kitting.files.lists.reader import ListRow
from kitting.services.db.idempotency import earlier, record
from kitting.services.item_numbers import code_of
from kitting.services.purchasing.goods_in import GoodsReceived, require_coming, take_in_goods
from kitting.services.purchasing.known_notes import (
    NO_NOTE,
    Came,
    DeliveryNote,
    add_up,
    require_new_note,
    require_other_content,
)
from kitting.services.purchasing.order_view import find_order, order_view
from kitting.services.purchasing.received_lots import own_lot
from kitting.store import writing
from kitting.tables.items import Item
from kitting.tables.supply import OrderLine, PurchaseOrder
from kitting.views.orders import OrderView

_Row = tuple[Path, ListRow, Mapping[str, Any]]


def receive_notes(
    engine: Engine,
    number: str,
    paths: Sequence[Path],
    at: datetime,
    token: str | None = None,
    note: DeliveryNote = NO_NOTE,
) -> OrderView:
    """Take in everything that delivery notes of an order say, as `receive` does for one item.

    Raises FileProblemsError with every fault of every row: then nothing is taken in. Raises
    KittingError for a note that was taken in before: by its number, or where it has none by what it
    says; and for one number of several files.
    """
    if note.number is not None and len(paths) > 1:
        raise KittingError("a number is of one delivery note. Take in each file by its own")
    read: list[_Row] = []
    problems: list[Problem] = []
    for path in paths:
        rows, faults = read_deliveries(path)
        problems += faults
        read += [(path, row, values) for row, values in rows]
    if not problems and not read:
        problems = [Problem(str(paths[0]), 0, "file", "it has no rows", "Write what came")]
    if problems:
        raise FileProblemsError(problems)
    with writing(engine) as session:
        order = find_order(session, number)
        request = f"receive {order.number} {[str(path) for path in paths]}"
        if earlier(session, token, request) is not None:
            return order_view(session, order)
        require_coming(order, at)
        items = _items(session, order)
        read = _coded(session, read, problems)
        _require_new(session, order, note, [(one[0], _named(items, one[2])) for one in read])
        for path, row, values in read:
            thing = str(values.get("part") or values["item"])
            try:
                with session.begin_nested():
                    take_in_goods(session, order, _goods(order, items, values, note), at)
            except KittingError as error:
                problems.append(
                    Problem(str(path), row.line, thing, error.message, "Correct this row")
                )
        if problems:
            raise FileProblemsError(problems)
        record(session, token, request, order.branch_id, at)
        view = order_view(session, order)
        session.commit()
        return view


def _coded(session: Session, rows: Sequence[_Row], problems: list[Problem]) -> list[_Row]:
    """The rows with the codes of their items, where a number names one; adds what is unknown."""
    found: list[_Row] = []
    for path, row, values in rows:
        item = values.get("item")
        try:
            code = {} if item is None else {"item": code_of(session, item)}
        except KittingError as error:
            problems.append(
                Problem(str(path), row.line, str(item), error.message, "Correct this row")
            )
        else:
            found.append((path, row, {**values, **code}))
    return found


def _items(session: Session, order: PurchaseOrder) -> dict[str, str]:
    """The items of an order by the supplier's part."""
    of_order = (
        select(OrderLine.part, Item.code)
        .join(Item, OrderLine.item_id == Item.id)
        .where(OrderLine.order_id == order.id)
    )
    return dict(session.execute(of_order).all())


def _named(items: Mapping[str, str], values: Mapping[str, Any]) -> tuple[str, Mapping[str, Any]]:
    """The item of a row by its name or the supplier's part, and what the row says."""
    return items.get(str(values.get("part")), str(values.get("item"))), values


def _require_new(
    session: Session,
    order: PurchaseOrder,
    note: DeliveryNote,
    rows: Sequence[tuple[Path, tuple[str, Mapping[str, Any]]]],
) -> None:
    """Refuses notes that were taken in before, and the same one twice."""
    require_new_note(session, order, note, {item for _, (item, _) in rows})
    said: dict[Path, list[tuple[str, Came]]] = defaultdict(list)
    for path, (item, values) in rows:
        good, damaged, wrong = (
            values[name].thousandths if name in values else 0
            for name in ("good", "damaged", "wrong")
        )
        lot = values.get("lot") or own_lot(order.number, item)
        said[path].append((item, Came(good, damaged, wrong, {lot} if good else set())))
    contents = [add_up(one) for one in said.values()]
    for place, content in enumerate(contents):
        require_other_content(session, order, note, content)
        if content in contents[:place] and not note.another_line:
            raise KittingError(
                "two of the files say the same. Name each delivery note once, or say that they are"
                " two",
                then=[next_step(Action.ANOTHER_LINE)],
            )


def _goods(
    order: PurchaseOrder, items: Mapping[str, str], values: Mapping[str, Any], note: DeliveryNote
) -> GoodsReceived:
    """What a row says. Raises KittingError for a part that the order does not have."""
    part, item = values.get("part"), values.get("item")
    if part is not None and part not in items:
        near = hint(part, items, f"It has: {', '.join(sorted(items))}")
        raise KittingError(
            "{number} has no part {part!r}. {near}", number=order.number, part=part, near=near
        )
    if part is not None and item not in (None, items[part]):
        raise KittingError(
            "part {part} is {items}, not {item}", part=part, items=items[part], item=item
        )
    amounts = {name: values[name] for name in ("good", "damaged", "wrong") if name in values}
    return GoodsReceived(
        item=items[part] if part is not None else str(item),
        good=amounts["good"].thousandths if "good" in amounts else 0,
        damaged=amounts["damaged"].thousandths if "damaged" in amounts else 0,
        wrong=amounts["wrong"].thousandths if "wrong" in amounts else 0,
        lot=values.get("lot"),
        made=values.get("made"),
        expires=values.get("expires"),
        bin=values.get("bin"),
        note=values.get("note"),
        unit=next((amount.unit for amount in amounts.values()), None),
        part=part,
        by=note,
    )
