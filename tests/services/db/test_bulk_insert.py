"""Rows in bulk: added, brought up to date by their key, never cut; questions about many items."""

from __future__ import annotations

import pytest
from sqlalchemy import Engine, select
from sqlalchemy.exc import DataError

from helpers import NOW, load, shop
from kitting.services.db.bulk_insert import add_rows
from kitting.services.purchasing.market import read_market
from kitting.store import reading, writing
from kitting.tables.supply import Branch, Supplier

COLUMNS = ("code", "name", "currency", "carriage", "minimum_order", "typical", "late", "note")
TABLE = Supplier.__table__


def row(code: str, name: str, note: str | None) -> tuple[object, ...]:
    """A supplier."""
    return (code, name, "GBP", 0, 0, 1, 2, note)


def test_a_row_with_a_known_key_takes_the_new_values_and_others_are_added(store: Engine) -> None:
    with writing(store) as session:
        connection = session.connection()
        first = add_rows(connection, TABLE, COLUMNS, [row("a", "One", "x"), row("b", "Two", None)])
        ids = add_rows(
            connection,
            TABLE,
            COLUMNS,
            [row("b", "Zwei, “2”", "née {x}"), row("c", "Three", None)],
            key=("code",),
            returning=("code", "id"),
        )
        found = session.execute(
            select(Supplier.code, Supplier.name, Supplier.note).order_by(Supplier.code)
        ).all()
        known = dict(session.execute(select(Supplier.code, Supplier.id)).all())
    assert first == {}
    assert found == [("a", "One", "x"), ("b", "Zwei, “2”", "née {x}"), ("c", "Three", None)]
    assert ids == ({} if store.dialect.name == "sqlite" else {k: known[k] for k in ("b", "c")})


def test_no_rows_are_no_statement(store: Engine) -> None:
    with writing(store) as session:
        assert add_rows(session.connection(), TABLE, COLUMNS, []) == {}
        assert session.scalars(select(Supplier)).all() == []


def test_text_too_long_for_its_column_is_refused_or_kept_and_never_cut(store: Engine) -> None:
    long = "x" * 201
    with writing(store) as session:
        connection = session.connection()
        if store.dialect.name == "postgresql":
            with pytest.raises(DataError, match="too long"):
                add_rows(connection, TABLE, COLUMNS, [row("a", long, None)])
        else:
            add_rows(connection, TABLE, COLUMNS, [row("a", long, None)])
            assert session.scalar(select(Supplier.name)) == long


def test_a_market_may_be_asked_about_more_items_than_a_statement_has_places(store: Engine) -> None:
    # PostgreSQL's protocol counts the parameters of a statement in 16 bits.
    load(store, shop({"X1": {"RING": 2}}))
    with reading(store) as session:
        branch = session.scalars(select(Branch).where(Branch.code == "yard")).one()
        market = read_market(session, branch, range(1, 66_001), NOW)
    assert {item.code for item in market.items.values()} == {"RING", "BOLT"}
    assert market.offers == {}
