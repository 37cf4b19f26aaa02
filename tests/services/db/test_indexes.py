"""Indexes: no question that is asked all day reads a large table from end to end.

The statements are those that the services send, on a made-up garage with statistics. On
PostgreSQL reading a table whole, alone or to join it, is forbidden as far as it goes, so that it is
chosen only where no index could serve, however small the tables of a test are.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import Any

import pytest
from sqlalchemy import Connection, Engine, event, select

from benchmarks.synthetic import NOW, ON, Shape, furnish, item_code, jobs_of, registration
from conftest import ENGINES, Templates
from kitting.facts.units import Quantity
from kitting.services.bookings.booking import BookingRequest, book
from kitting.services.bookings.states import find_booking
from kitting.services.planning.jobs import list_jobs
from kitting.services.planning.plan import plan
from kitting.services.planning.request import PlanRequest
from kitting.services.purchasing.cheapest_prices import cheapest_each
from kitting.services.purchasing.market import read_market
from kitting.services.rubber.catalogue_rings import RingQuery, item_views, ring_rows
from kitting.services.stock.lots import find_items, read_shelves
from kitting.services.stock.shelves import LotName, count_lot, list_stock
from kitting.store import make_engine, reading
from kitting.tables.bookings import Finding
from kitting.tables.supply import Branch

FITS = 4_000
# What grows with the catalogue, the stock, or the years; all else is words and people.
LARGE = {
    "booking", "booking_need", "finding", "fit", "fit_rule", "item", "item_rule", "job", "job_need",
    "joint", "joint_fluid", "lot", "model", "model_unit", "movement", "offer", "offer_price",
    "opening", "promise", "removal", "split", "split_option", "stage", "step", "step_need",
    "tightening", "unit", "use", "vehicle",
}  # fmt: skip
RINGS = [item_code(21), item_code(26)]


@pytest.fixture(scope="module", params=ENGINES)
def large(
    request: pytest.FixtureRequest, templates: Templates, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Engine]:
    """A garage large enough for an index to be worth it, on each engine in turn."""
    url = templates.copy(request.param, "empty", tmp_path_factory.mktemp("large"))
    furnish(url, Shape(FITS))
    engine = make_engine(url)
    yield engine
    engine.dispose()
    templates.drop(url)


def scanned(engine: Engine, work: Callable[[Engine], object]) -> dict[str, str]:
    """Large tables that were read whole, each with the statement that did it."""
    sent: dict[str, Any] = {}

    def note(
        _c: object, _cursor: object, text: str, given: Any, _context: object, many: bool
    ) -> None:
        if text.split(maxsplit=1)[0] in ("SELECT", "UPDATE", "DELETE", "WITH"):
            sent.setdefault(text, given[0] if many else given)

    event.listen(engine, "before_cursor_execute", note)
    try:
        work(engine)
    finally:
        event.remove(engine, "before_cursor_execute", note)
    assert sent
    found: dict[str, str] = {}
    with engine.connect() as connection:
        if engine.dialect.name == "postgresql":
            for way in ("seqscan", "mergejoin", "hashjoin"):
                connection.exec_driver_sql(f"SET LOCAL enable_{way} = off")
        for text, given in sent.items():
            for table in LARGE.intersection(read_whole(connection, text, given)):
                found.setdefault(table, text)
    return found


def read_whole(connection: Connection, text: str, given: Any) -> Iterator[str]:
    """The tables that a statement reads from end to end, by what the engine says of it."""
    if connection.dialect.name == "sqlite":
        rows = connection.exec_driver_sql(f"EXPLAIN QUERY PLAN {text}", given)
        for *_, told in rows:
            if told.startswith("SCAN "):
                yield told.split()[1].rstrip("0123456789").rstrip("_")
        return
    ((told,),) = connection.exec_driver_sql(f"EXPLAIN (FORMAT JSON) {text}", given).all()
    yield from whole_nodes(told[0]["Plan"])


def whole_nodes(node: Mapping[str, Any]) -> Iterator[str]:
    """Every node of a plan of PostgreSQL that reads a table without a condition on an index."""
    sort = node["Node Type"]
    if "Scan" in sort and "Relation Name" in node and sort != "Bitmap Heap Scan":
        by_index = "Index Cond" in node or "TID Cond" in node
        if not by_index:
            yield node["Relation Name"]
    for below in node.get("Plans", ()):
        yield from whole_nodes(below)


def in_session(work: Callable[[Any], object]) -> Callable[[Engine], object]:
    """A question asked in a session that keeps nothing."""

    def asked(engine: Engine) -> None:
        with reading(engine) as session:
            work(session)

    return asked


def keys(session: Any) -> list[int]:
    """The ids of two rings."""
    return [item.id for item in find_items(session, RINGS).values()]


def branch(session: Any) -> Branch:
    """A branch."""
    return session.scalars(select(Branch).where(Branch.code == "upper")).one()


def market_of(session: Any) -> object:
    """What suppliers offer of two rings."""
    return read_market(session, branch(session), keys(session), NOW)


QUESTIONS: dict[str, Callable[[Engine], object]] = {
    "the jobs of a car": in_session(lambda s: list_jobs(s, registration(1), ON)),
    "stock of items": in_session(lambda s: list_stock(s, None, RINGS, ON)),
    "free stock and arrivals": in_session(lambda s: read_shelves(s, branch(s).id, keys(s))),
    "offers of items": in_session(market_of),
    "the cheapest price of items": in_session(lambda s: cheapest_each(s, keys(s), "GBP")),
    "a booking by number": in_session(lambda s: find_booking(s, "B0000001")),
    "a lot counted": lambda e: count_lot(
        e, LotName("upper", item_code(21), "L0"), Quantity(11_000, "each"), NOW
    ),
    "a plan": in_session(lambda s: plan(s, PlanRequest(registration(1), tuple(jobs_of(1)), ON))),
    "a booking made": lambda e: book(
        e, BookingRequest(registration(5), jobs_of(5), ON, "upper"), NOW
    ),
    "rings of a size": in_session(lambda s: item_views(s, ring_rows(s, RingQuery(5250, 1500)))),
}


@pytest.mark.parametrize("what", QUESTIONS)
def test_no_question_of_the_day_reads_a_large_table_whole(large: Engine, what: str) -> None:
    assert scanned(large, QUESTIONS[what]) == {}


def test_a_table_read_whole_is_told_with_its_statement(large: Engine) -> None:
    found = scanned(large, in_session(lambda s: s.scalars(select(Finding)).all()))
    assert list(found) == ["finding"]
