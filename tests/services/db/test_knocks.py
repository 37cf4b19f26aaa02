"""Hard knocks in the services: power cuts, full disks, servers that go, clocks that jump."""

from __future__ import annotations

import gc
import signal
import sqlite3
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from contextlib import closing
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import Any

import pytest
import racing
from processes import ended, processes
from racing import NOW, ON
from servers import Server, new_server
from sqlalchemy import Engine, event, func, select
from sqlalchemy import text as sql

from conftest import Templates, database_of, run_on_server
from helpers import UNCOUNTED
from kitting import store as store_module
from kitting.calc.purchasing.delivery import LeadTime, Terms, arrival, day_zero, next_cutoff
from kitting.calc.purchasing.workdays import WorkCalendar
from kitting.errors import ConnectionLostError, StoreError
from kitting.facts.reasons import because
from kitting.facts.units import Quantity
from kitting.facts.words import BookingState
from kitting.schema import HEAD
from kitting.services.bookings.booking import BookingRequest, book, step_to
from kitting.services.bookings.close import Closing, close
from kitting.services.bookings.pick import pick
from kitting.services.bookings.states import find_booking
from kitting.services.catalogue.setup import set_up
from kitting.services.stock.recall import recall
from kitting.services.stock.shelves import LotName, count_lot
from kitting.services.stock.stock_lists import load_stock
from kitting.services.stock.transfers import send, van_due
from kitting.services.upkeep.audit import audit
from kitting.services.upkeep.backup import back_up
from kitting.services.upkeep.restore import restore
from kitting.store import current_revision, make_engine, reading, writing
from kitting.tables.bookings import Booking
from kitting.tables.stock import Lot, Movement
from kitting.tables.supply import Branch
from kitting.tables.vocabulary import Kind
from kitting.views.upkeep import AuditRemark

LATER = NOW + timedelta(days=1)


def url_of(engine: Engine) -> str:
    return engine.url.render_as_string(hide_password=False)


def each(pieces: int) -> Quantity:
    return Quantity(pieces * 1000, "each")


def total(engine: Engine) -> int:
    with reading(engine) as session:
        return int(session.scalar(select(func.sum(Lot.on_hand))) or 0)


# Power cuts -------------------------------------------------------------------------------------


@pytest.mark.parametrize("after", [3, 8, None])
def test_after_a_power_cut_in_the_middle_of_a_closing_the_books_agree(
    yards: Engine, tmp_path: Path, after: int | None
) -> None:
    number = book(yards, BookingRequest("PELL 001", ["X3"], ON, "upper", again=True), NOW).number
    pick(yards, number, NOW)
    step_to(yards, number, BookingState.CONFIRMED)
    step_to(yards, number, BookingState.ON_THE_RAMP)
    told = Closing({"RING": 1000}, {"GASKET": 1000})
    given = (url_of(yards), after, tmp_path / "length", close, number, told, NOW, UNCOUNTED)
    before = total(yards)
    assert ended(racing.die, *given) == -signal.SIGKILL
    assert total(yards) == before
    with reading(yards) as session:
        assert find_booking(session, number).state == "on the ramp"
    assert audit(yards, NOW).fine
    close(yards, number, told, NOW, despite=UNCOUNTED)
    assert total(yards) == before + 1000
    assert audit(yards, NOW).fine


@pytest.mark.parametrize("moment", ["copying", "looking", "naming"])
def test_a_backup_cut_off_half_way_bears_no_name_and_the_next_one_goes_through(
    yards: Engine, tmp_path: Path, moment: str
) -> None:
    target = tmp_path / "b.db"
    with closing(sqlite3.connect(target)) as yesterday:
        yesterday.execute("CREATE TABLE yesterday (day TEXT)")
    before = target.read_bytes()
    assert (
        ended(racing.cut_off, moment, back_up, url_of(yards), target, NOW, True) == -signal.SIGKILL
    )
    assert target.read_bytes() == before
    assert audit(yards, NOW).fine
    assert back_up(url_of(yards), target, NOW, replace=True).fine
    assert target.read_bytes().startswith(b"SQLite format 3")


@pytest.mark.parametrize("moment", ["swapping", "linking", "replacing", "syncing"])
def test_a_restore_cut_off_at_any_moment_leaves_a_whole_database_in_its_place(
    lite: Engine, tmp_path: Path, moment: str
) -> None:
    back_up(url_of(lite), tmp_path / "b.db", NOW)
    racing.furnish(lite, tmp_path)
    before = total(lite)
    assert before > 0
    lite.dispose()
    given = (url_of(lite), tmp_path / "b.db", NOW, True)
    assert ended(racing.cut_off, moment, restore, *given) == -signal.SIGKILL
    # The old one until the last step, the new one after it; never none and never half of one.
    assert total(lite) == (0 if moment == "syncing" else before)
    assert audit(lite, NOW).fine
    lite.dispose()
    assert restore(*given).fine
    assert total(lite) == 0


def test_a_restore_into_a_server_cut_off_half_way_leaves_nothing_there(
    lite_yards: Engine, templates: Templates, tmp_path: Path
) -> None:
    back_up(url_of(lite_yards), tmp_path / "b.db", NOW)
    url = templates.new()
    from kitting.services.upkeep import restore as restoring

    def die(*_given: object) -> None:
        raise KeyboardInterrupt

    patch = pytest.MonkeyPatch()
    patch.setattr(restoring, "_set_sequences", die)
    with pytest.raises(KeyboardInterrupt):
        restore(url, tmp_path / "b.db", NOW)
    patch.undo()
    engine = make_engine(url)
    assert current_revision(engine) is None
    engine.dispose()
    assert restore(url, tmp_path / "b.db", NOW).fine


# A full disk ------------------------------------------------------------------------------------


def test_a_database_that_is_full_records_nothing_and_says_so(
    lite_yards: Engine, tmp_path: Path
) -> None:
    before = total(lite_yards)
    path = tmp_path / "many.csv"
    rows = "".join(f"upper,RING,N{n:05d},{n % 90} each,1Q25\n" for n in range(3000))
    path.write_text(f"branch,item,lot,quantity,made\n{rows}", encoding="utf-8")

    def narrow(connection: Any, _record: object) -> None:
        (pages,) = connection.execute("PRAGMA page_count").fetchone()
        connection.execute(f"PRAGMA max_page_count = {pages + 5}")

    full = make_engine(url_of(lite_yards))
    event.listen(full, "connect", narrow)
    with pytest.raises(StoreError) as caught:
        load_stock(full, [path], NOW)
    full.dispose()
    assert str(caught.value) == (
        "the database refused the change: database or disk is full. Nothing was recorded; check the"
        " server, the file and the free space on the disk"
    )
    assert total(lite_yards) == before
    assert audit(lite_yards, NOW).fine
    assert load_stock(lite_yards, [path], NOW).new == 3000


# Several at once --------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", ["sqlite", "postgresql"])
def test_several_that_set_up_one_database_at_once_all_find_it_set_up(
    templates: Templates, tmp_path: Path, kind: str
) -> None:
    context = processes()
    with ProcessPoolExecutor(
        4, mp_context=context, initializer=racing.meet, initargs=(context.Barrier(4),)
    ) as pool:
        for number in range(3):
            file = tmp_path / f"{number}.db"
            url = f"sqlite:///{file}" if kind == "sqlite" else templates.new()
            asked = [pool.submit(racing.set_up_together, url) for _ in range(4)]
            assert [future.result(60) for future in asked] == ["done"] * 4
            engine = make_engine(url)
            assert current_revision(engine) == HEAD
            with reading(engine) as session:
                codes = session.scalars(select(Kind.code)).all()
            assert len(codes) == len(set(codes)) > 10
            engine.dispose()


def test_who_sets_up_while_others_write_for_too_long_is_told_so(
    lite: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(store_module, "BUSY_TIMEOUT_MS", 200)
    with writing(lite) as session:
        session.execute(sql("SELECT 1"))
        with pytest.raises(
            StoreError, match=r"others were writing to the database for 0\.2 seconds"
        ):
            set_up(url_of(lite))


# A server that goes -----------------------------------------------------------------------------


@pytest.fixture
def own_server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[str, Server]]:
    """A server for one test with an empty database in it."""
    server = new_server(tmp_path_factory.mktemp("own"))
    uri = f"postgresql://postgres@{server.place}/postgres?"
    run_on_server(uri, "CREATE DATABASE garage")
    yield database_of(uri, "garage").rstrip("?"), server
    server.stop()


def test_a_server_that_restarts_in_the_middle_of_a_change_is_told_and_the_next_change_goes_through(
    own_server: tuple[str, Server], tmp_path: Path
) -> None:
    url, server = own_server
    set_up(url)
    engine = make_engine(url)
    racing.furnish(engine, tmp_path)
    before = total(engine)

    def change() -> None:
        with writing(engine) as session:
            session.execute(sql("UPDATE lot SET on_hand = on_hand + 1000"))
            server.restart()
            session.execute(sql("SELECT 1"))
            session.commit()

    with pytest.raises(ConnectionLostError) as caught:
        change()
    assert str(caught.value).startswith("the connection to the database was lost: ")
    assert str(caught.value).endswith("Nothing was recorded; try again")
    assert total(engine) == before
    assert audit(engine, NOW).fine
    count_lot(engine, LotName("upper", "GASKET", "G1"), each(7), NOW)
    assert total(engine) == before + 1000
    engine.dispose()


# The driver cannot close a cursor on a server that has gone, and warns of it when it is thrown away.
@pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")
def test_a_backup_of_a_server_that_restarts_meanwhile_is_none(
    own_server: tuple[str, Server], tmp_path: Path
) -> None:
    url, server = own_server
    set_up(url)
    heard: list[str] = []

    def meanwhile(connection: Any, _cursor: object, statement: str, *_: object) -> None:
        there = connection.dialect.name == "postgresql"
        if there and not heard and "FROM kind" in statement:
            heard.append(statement)
            server.restart()

    event.listen(Engine, "before_cursor_execute", meanwhile)
    try:
        with pytest.raises(StoreError, match=r"no backup was made: (?!database is locked)"):
            back_up(url, tmp_path / "b.db", NOW)
    finally:
        event.remove(Engine, "before_cursor_execute", meanwhile)
    assert heard
    # Now, and not in the middle of the next backup: pytest would keep that one's frames alive.
    gc.collect()
    assert list(tmp_path.iterdir()) == []
    assert back_up(url, tmp_path / "b.db", NOW).fine


# Clocks -----------------------------------------------------------------------------------------


def test_a_clock_set_back_changes_no_balance_and_no_order_of_the_ledger(yards: Engine) -> None:
    back = NOW - timedelta(days=40)
    number = book(yards, BookingRequest("PELL 001", ["X2"], ON, "upper", again=True), back).number
    pick(yards, number, back)
    count_lot(yards, LotName("upper", "GASKET", "G1"), each(9), LATER)
    send(yards, LotName("upper", "GASKET", "G1"), each(2), "canal", back)
    with reading(yards) as session:
        moved = [
            (m.kind, m.quantity, m.balance)
            for m in recall(session, "G1", ON).movements
            if m.kind != "counted" or m.at == LATER
        ]
        at = session.scalars(
            select(Movement.at).join(Lot).where(Lot.code == "G1").order_by(Movement.id)
        ).all()
    assert moved == [("picked", -1000, 5000), ("counted", 4000, 9000), ("sent", -2000, 7000)]
    assert list(at) != sorted(at)
    view = audit(yards, LATER)
    assert view.fine
    assert view.remarks[0] == because(AuditRemark.CLOCK_SET_BACK, movements=2)


def test_a_booking_made_by_a_clock_set_back_still_draws_the_next_number(yards: Engine) -> None:
    numbers = [
        book(yards, BookingRequest("PELL 001", ["X2"], ON, "upper", again=True), at).number
        for at in (NOW, NOW - timedelta(days=30), NOW)
    ]
    assert numbers == ["B0001", "B0002", "B0003"]
    with reading(yards) as session:
        made = session.scalars(select(Booking.made_at).order_by(Booking.id)).all()
    assert made[1] < made[0]


# The hour that is left out and the hour that runs twice. In Great Britain in 2026 clocks go from
# 01:00 to 02:00 on Sunday 29 March and from 02:00 back to 01:00 on Sunday 25 October (Summer Time
# Order 2002, SI 2002/262: last Sundays of March and October, at one o'clock Greenwich mean time).
EVERY_DAY = WorkCalendar(weekend=frozenset())
SPRING, AUTUMN = date(2026, 3, 29), date(2026, 10, 25)


def terms(cutoff: time) -> Terms:
    return Terms((cutoff,), EVERY_DAY, LeadTime(1, 1))


def wall(day: date, hour: int, minute: int, fold: int = 0) -> datetime:
    return datetime.combine(day, time(hour, minute, fold=fold))


@pytest.mark.parametrize(
    ("now", "counts"),
    [
        (wall(AUTUMN, 0, 59), AUTUMN),
        (wall(AUTUMN, 1, 10), AUTUMN),
        (wall(AUTUMN, 1, 40), AUTUMN + timedelta(days=1)),
        # 01:10 again, an hour later: the cut-off at 01:30 has been.
        (wall(AUTUMN, 1, 10, fold=1), AUTUMN + timedelta(days=1)),
        (wall(AUTUMN, 1, 40, fold=1), AUTUMN + timedelta(days=1)),
        (wall(AUTUMN, 2, 0), AUTUMN + timedelta(days=1)),
    ],
)
def test_a_cut_off_in_the_hour_that_runs_twice_counts_the_first_time(
    now: datetime, counts: date
) -> None:
    assert day_zero(now, terms(time(1, 30))) == counts
    assert arrival(now, terms(time(1, 30)), 1) == counts + timedelta(days=1)
    upcoming = next_cutoff(now, terms(time(1, 30)))
    assert upcoming == datetime.combine(counts, time(1, 30))


def test_a_later_cut_off_still_counts_in_the_second_run_of_that_hour() -> None:
    assert day_zero(wall(AUTUMN, 1, 50, fold=1), terms(time(3))) == AUTUMN


@pytest.mark.parametrize(
    ("now", "counts"),
    [(wall(SPRING, 0, 59), SPRING), (wall(SPRING, 2, 0), SPRING + timedelta(days=1))],
)
def test_a_cut_off_in_the_hour_that_is_left_out_is_past_when_the_clock_has_jumped(
    now: datetime, counts: date
) -> None:
    assert day_zero(now, terms(time(1, 30))) == counts


def test_a_day_of_23_or_25_hours_is_one_day_of_a_lead_time() -> None:
    for day in (SPRING, AUTUMN):
        for hour in (0, 12, 23):
            assert arrival(wall(day, hour, 0), terms(time(23, 59)), 2) == day + timedelta(days=2)


def test_a_van_that_leaves_in_the_hour_that_runs_twice_leaves_the_first_time() -> None:
    # A branch without a country has no holidays, and works no Sunday: so on a Monday.
    branch = Branch(code="upper", name="Upper Yard", van_cutoff="01:30")
    monday = date(2026, 10, 26)
    assert van_due(branch, wall(monday, 1, 10)) == monday
    assert van_due(branch, wall(monday, 1, 10, fold=1)) == monday + timedelta(days=1)
