"""The server goes away: what was acknowledged is there once, what is sent again is not done twice."""

from __future__ import annotations

import threading
import time
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

import psycopg
import pytest
import racing
from racing import NOW, ON
from servers import Server, new_server
from sqlalchemy import Engine, func, select
from sqlalchemy import text as sql
from sqlalchemy.orm import Session

from conftest import YARDS, Templates, opened
from helpers import assert_ledger
from kitting.cli.commands.stock import scrap as scrap_command
from kitting.errors import ConnectionLostError, KittingError, StoreError
from kitting.facts.units import Quantity
from kitting.facts.words import BookingState
from kitting.services.bookings.booking import BookingRequest, book, step_to
from kitting.services.bookings.close import Closing, close
from kitting.services.bookings.pick import cancel, pick
from kitting.services.catalogue.load import load_sources
from kitting.services.catalogue.setup import GENERAL, seeds
from kitting.services.db.idempotency import insist
from kitting.services.purchasing.goods_in import GoodsReceived, receive
from kitting.services.purchasing.orders import place
from kitting.services.stock.shelves import LotName, count_lot, scrap
from kitting.services.stock.transfers import arrive, send
from kitting.store import make_engine, migrate, reading, writing
from kitting.tables.bookings import Booking
from kitting.tables.group import Handled
from kitting.tables.stock import Lot, Movement

PICKS = 40


def one(count: int) -> Quantity:
    return Quantity(count * 1000, "each")


def put(text: str) -> None:
    """Nobody listens."""


# --- which server --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("url", "hosts", "ports", "wanted"),
    [
        ("postgresql://a:5432,b:5433/n?target_session_attrs=any", "a,b", "5432,5433", "any"),
        ("postgresql://me:p%40w@a,b:5433/n", "a,b", "5432,5433", "read-write"),
        ("postgresql:///n?host=a:5432&host=b:5433", "a,b", "5432,5433", "read-write"),
    ],
)
def test_several_servers_are_named_as_libpq_or_as_sqlalchemy_writes_them(
    url: str, hosts: str, ports: str, wanted: str
) -> None:
    engine = make_engine(url)
    _, given = engine.dialect.create_connect_args(engine.url)
    assert (given["host"], given["port"], given["dbname"]) == (hosts, ports, "n")
    assert given["target_session_attrs"] == wanted
    if "me" in url:
        assert (given["user"], given["password"]) == ("me", "p@w")


def test_one_server_is_taken_as_it_is() -> None:
    engine = make_engine("postgresql://a:5433/n")
    _, given = engine.dialect.create_connect_args(engine.url)
    assert (given["host"], given["port"]) == ("a", 5433)
    assert "target_session_attrs" not in given


@pytest.mark.parametrize("url", ["postgresql://a,/n", "postgresql://[::1]:5432,b/n"])
def test_a_list_of_hosts_that_cannot_be_read_is_refused(url: str) -> None:
    with pytest.raises(StoreError, match="cannot stand in a list of hosts"):
        make_engine(url)


# --- a commit whose answer is lost ---------------------------------------------------------------


@pytest.fixture
def shared(templates: Templates, tmp_path: Path) -> Iterator[Engine]:
    """Two branches with a few lots on the server that all tests share."""
    yield from opened(templates, "postgresql", YARDS, tmp_path)


class Wire:
    """Cuts the connection of an engine once, just after or just before its next commit."""

    def __init__(self, dialect: Any) -> None:
        self.dialect, self.real, self.cut = dialect, dialect.do_commit, ""
        dialect.do_commit = self.commit

    def commit(self, connection: Any) -> None:
        cut, self.cut = self.cut, ""
        if cut != "before":
            self.real(connection)
        if cut:
            connection.driver_connection.close()
            raise psycopg.OperationalError("server closed the connection unexpectedly")


@dataclass(frozen=True)
class Change:
    """A change that takes a token, and a figure that it moves by so much, once."""

    make: Callable[[str | None], Any]
    figure: Any
    moves: int


def quantity_of(kind: str) -> Any:
    return select(func.coalesce(func.sum(Movement.quantity), 0)).where(Movement.kind == kind)


def ready(engine: Engine) -> str:
    number = book(engine, BookingRequest("PELL 001", ["X3"], ON, "upper", again=True), NOW).number
    pick(engine, number, NOW)
    step_to(engine, number, BookingState.CONFIRMED)
    step_to(engine, number, BookingState.ON_THE_RAMP)
    return number


def pick_change(engine: Engine) -> Change:
    number = book(engine, BookingRequest("PELL 001", ["X3"], ON, "upper"), NOW).number
    # One gasket and two rings.
    return Change(lambda t: pick(engine, number, NOW, token=t), quantity_of("picked"), -3000)


def close_change(engine: Engine) -> Change:
    number = ready(engine)
    told = Closing({"GASKET": 1000}, {})
    return Change(
        lambda t: close(engine, number, told, NOW, "not counted", token=t),
        quantity_of("put back"),
        1000,
    )


def cancel_change(engine: Engine) -> Change:
    number = book(engine, BookingRequest("PELL 001", ["X3"], ON, "upper"), NOW).number
    pick(engine, number, NOW)
    return Change(lambda t: cancel(engine, number, NOW, token=t), quantity_of("put back"), 3000)


def receive_change(engine: Engine) -> Change:
    for lot in ("G1", "G2"):
        count_lot(engine, LotName("upper", "GASKET", lot), one(0), NOW)
    number = book(engine, BookingRequest("PELL 001", ["X2"], ON, "upper"), NOW).number
    (order,) = place(engine, [number], NOW).orders
    # Told in full, one would come twice; "all of it" is nothing the second time.
    came = [GoodsReceived("GASKET", 1000)]
    return Change(
        lambda t: receive(engine, order, came, NOW, token=t), quantity_of("received"), 1000
    )


def count_change(engine: Engine) -> Change:
    return Change(
        lambda t: count_lot(engine, LotName("upper", "GASKET", "G1"), one(4), NOW, token=t),
        select(func.sum(Lot.on_hand)).where(Lot.code == "G1"),
        -2000,
    )


def scrap_change(engine: Engine) -> Change:
    return Change(
        lambda t: scrap(engine, LotName("upper", "GASKET", "G1"), one(1), NOW, "torn", t),
        quantity_of("scrapped"),
        -1000,
    )


def send_change(engine: Engine) -> Change:
    return Change(
        lambda t: send(engine, LotName("upper", "GASKET", "G1"), one(2), "canal", NOW, t),
        quantity_of("sent"),
        -2000,
    )


def arrive_change(engine: Engine) -> Change:
    number, _ = send(engine, LotName("upper", "GASKET", "G1"), one(2), "canal", NOW)
    return Change(lambda t: arrive(engine, number, NOW, t), quantity_of("arrived"), 2000)


CHANGES = [
    pick_change, close_change, cancel_change, receive_change, count_change, scrap_change,
    send_change, arrive_change,
]  # fmt: skip


def figure(engine: Engine, asked: Any) -> int:
    with reading(engine) as session:
        return int(session.scalar(asked) or 0)


@pytest.mark.parametrize("cut", ["before", "after"])
@pytest.mark.parametrize("prepare", CHANGES, ids=lambda change: change.__name__)
def test_a_change_whose_commit_was_cut_off_is_done_once_when_sent_again(
    shared: Engine, prepare: Callable[[Engine], Change], cut: str
) -> None:
    change = prepare(shared)
    before = figure(shared, change.figure)
    wire = Wire(shared.dialect)
    told: list[str] = []
    tokens: list[str] = []

    def attempt(token: str) -> Any:
        tokens.append(token)
        if len(tokens) == 1:
            wire.cut = cut
        return change.make(token)

    answer = insist(attempt, told.append, (0.0, 0.0))
    assert figure(shared, change.figure) == before + change.moves
    assert told == [
        "the connection to the database was lost; the same request goes out again in 0 s, and is"
        " recorded once"
    ]
    assert len(tokens) == 2
    assert len(set(tokens)) == 1
    # Whoever asks a third time hears the same.
    assert change.make(tokens[0]) == answer
    assert figure(shared, change.figure) == before + change.moves
    assert figure(shared, select(func.count()).select_from(Handled)) == 1
    assert_ledger(shared)


def test_without_a_token_the_same_scrap_would_be_recorded_twice(shared: Engine) -> None:
    """What the token is for: the check above is not one that always holds."""
    change = scrap_change(shared)
    wire = Wire(shared.dialect)
    wire.cut = "after"
    with pytest.raises(ConnectionLostError) as caught:
        change.make(None)
    assert str(caught.value) == (
        "the connection to the database was lost: server closed the connection unexpectedly."
        " Whether the change was recorded is not known; look before you do it again"
    )
    change.make(None)
    assert figure(shared, change.figure) == -2000


def test_the_token_of_one_request_is_not_taken_for_another(yards: Engine) -> None:
    scrap(yards, LotName("upper", "GASKET", "G1"), one(1), NOW, "torn", "t1")
    with pytest.raises(KittingError, match="the token t1 is of another request"):
        scrap(yards, LotName("upper", "GASKET", "G1"), one(2), NOW, "torn", "t1")
    with pytest.raises(KittingError, match="the token t1 is of another request"):
        count_lot(yards, LotName("upper", "GASKET", "G1"), one(2), NOW, token="t1")
    assert scrap(yards, LotName("upper", "GASKET", "G1"), one(1), NOW, "torn", "t1") == 5000
    assert send(yards, LotName("upper", "GASKET", "G1"), one(1), "canal", NOW, "t2") == (
        1,
        date(2026, 4, 7),
    )
    assert send(yards, LotName("upper", "GASKET", "G1"), one(1), "canal", NOW, "t2") == (
        1,
        date(2026, 4, 7),
    )
    assert_ledger(yards)


def test_a_refusal_is_not_sent_again(shared: Engine) -> None:
    tried: list[str] = []

    def attempt(token: str) -> int:
        tried.append(token)
        return scrap(shared, LotName("upper", "GASKET", "G1"), one(99), NOW, "torn", token)

    with pytest.raises(KittingError, match="99 asked for"):
        insist(attempt, put, (0.0, 0.0))
    assert len(tried) == 1


def test_a_server_that_stays_away_is_given_up_after_so_many_attempts() -> None:
    tried: list[str] = []

    def attempt(token: str) -> None:
        tried.append(token)
        raise ConnectionLostError("gone")

    with pytest.raises(ConnectionLostError, match="gone"):
        insist(attempt, put, (0.0, 0.0))
    assert len(tried) == 3


def test_the_command_line_sends_it_again_and_says_so(
    shared: Engine, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    made: list[Engine] = []
    real = make_engine

    def cutting(url: str) -> Engine:
        made.append(real(url))
        Wire(made[-1].dialect).cut = "after"
        return made[-1]

    monkeypatch.setattr("kitting.store.make_engine", cutting)
    monkeypatch.setattr("kitting.services.db.idempotency.sleep", lambda _seconds: None)
    url = shared.url.render_as_string(hide_password=False)
    scrap_command(
        "upper", "GASKET", "G1", "1 each", why="torn", now="2026-04-07 09:00", database=url
    )
    for engine in made:
        engine.dispose()
    told = capsys.readouterr()
    assert told.out == "GASKET G1: 5 left\n"
    assert told.err == (
        "the connection to the database was lost; the same request goes out again in 1 s, and is"
        " recorded once\n"
    )
    assert figure(shared, quantity_of("scrapped")) == -1000


def test_a_connection_that_died_while_idle_is_replaced_before_it_is_used(shared: Engine) -> None:
    with reading(shared) as session:
        mine = session.scalar(sql("SELECT pg_backend_pid()"))
    other = make_engine(shared.url.render_as_string(hide_password=False))
    with other.connect() as connection:
        assert connection.scalar(sql(f"SELECT pg_terminate_backend({mine})")) is True
    other.dispose()
    assert scrap(shared, LotName("upper", "GASKET", "G1"), one(1), NOW, "torn") == 5000


def test_a_stand_by_says_that_it_takes_no_changes(shared: Engine) -> None:
    name = shared.url.database
    with shared.connect().execution_options(isolation_level="AUTOCOMMIT") as connection:
        connection.execute(sql(f"ALTER DATABASE {name} SET default_transaction_read_only = on"))
    shared.dispose()
    with pytest.raises(StoreError) as caught:
        scrap(shared, LotName("upper", "GASKET", "G1"), one(1), NOW, "torn")
    assert str(caught.value).startswith("this server takes no changes: cannot execute")


# --- servers that go down ------------------------------------------------------------------------


@dataclass
class Pair:
    """A server and its stand-by; a commit is acknowledged when both have it."""

    first: Server
    second: Server

    def url(self, name: str) -> str:
        return f"postgresql://postgres@{self.first.place},{self.second.place}/{name}"


@pytest.fixture(scope="module")
def pair(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Pair]:
    folder = tmp_path_factory.mktemp("pair")
    first = new_server(folder / "first")
    second = first.stand_by(folder / "second")
    engine = make_engine(f"postgresql://postgres@{first.place}/postgres")
    with engine.connect().execution_options(isolation_level="AUTOCOMMIT") as connection:
        connection.execute(sql("ALTER SYSTEM SET synchronous_standby_names = 'standby'"))
        connection.execute(sql("SELECT pg_reload_conf()"))
        deadline = time.monotonic() + 15
        state = "SELECT sync_state FROM pg_stat_replication WHERE application_name = 'standby'"
        while connection.scalar(sql(state)) != "sync":
            assert time.monotonic() < deadline, "the stand-by does not follow"
            time.sleep(0.1)
        connection.execute(sql("CREATE DATABASE garage"))
    engine.dispose()
    yield Pair(first, second)
    for server in (second, first):
        server.stop()


def set_up(engine: Engine, folder: Path) -> None:
    migrate(engine)
    load_sources(engine, seeds(GENERAL))
    racing.furnish(engine, folder)


def test_a_restart_in_the_middle_of_a_change_leaves_nothing_and_the_next_attempt_does_it(
    pair: Pair, tmp_path: Path
) -> None:
    engine = make_engine(pair.url("garage"))
    set_up(engine, tmp_path)
    lot = select(Lot.on_hand).where(Lot.code == "G2")

    def interrupted(then: Callable[[Session], object]) -> None:
        with writing(engine) as session:
            session.execute(sql("UPDATE lot SET on_hand = 99000 WHERE code = 'G2'"))
            pair.first.restart()
            then(session)

    with pytest.raises(ConnectionLostError, match="Nothing was recorded; try again"):
        interrupted(lambda session: session.execute(sql("SELECT 1")))
    assert figure(engine, lot) == 5000
    with pytest.raises(ConnectionLostError, match="Whether the change was recorded is not known"):
        interrupted(lambda session: session.commit())
    assert figure(engine, lot) == 5000
    assert scrap(engine, LotName("upper", "GASKET", "G2"), one(1), NOW, "torn") == 4000
    engine.dispose()


@dataclass
class Client:
    """Somebody who picks kits and scraps pieces, one after the other, and notes what went through."""

    engine: Engine
    numbers: list[str]
    picked: list[str]
    scrapped: list[str]
    losses: list[str]
    broken: list[Exception]

    def work(self) -> None:
        try:
            for number in self.numbers:
                self.send_in(lambda t, n=number: pick(self.engine, n, NOW, token=t))
                self.picked.append(number)
                note = f"for {number}"
                self.send_in(
                    lambda t, note=note: scrap(
                        self.engine, LotName("upper", "RING", "R1"), one(1), NOW, note, t
                    )
                )
                self.scrapped.append(note)
        except Exception as error:  # what escapes is what the test looks for
            self.broken.append(error)

    def send_in(self, attempt: Callable[[str], Any]) -> None:
        insist(attempt, self.losses.append, [0.3] * 60)


def test_a_server_killed_while_kits_are_picked_loses_nothing_acknowledged_and_doubles_nothing(
    pair: Pair, tmp_path: Path
) -> None:
    engine = make_engine(pair.url("garage"))
    with reading(engine) as session:
        if session.scalar(sql("SELECT to_regclass('lot')")) is None:
            set_up(engine, tmp_path)
    count_lot(engine, LotName("upper", "GASKET", "G1"), one(PICKS), NOW)
    count_lot(engine, LotName("upper", "RING", "R1"), one(PICKS), NOW)
    numbers = [
        book(engine, BookingRequest("PELL 001", ["X2"], ON, "upper", again=True), NOW).number
        for _ in range(PICKS)
    ]
    client = Client(engine, numbers, [], [], [], [])
    working = threading.Thread(target=client.work)
    working.start()
    deadline = time.monotonic() + 20
    while len(client.scrapped) < PICKS // 4 and time.monotonic() < deadline:
        time.sleep(0.01)
    pair.first.kill()
    acknowledged = (len(client.picked), len(client.scrapped))
    assert PICKS // 4 <= acknowledged[1] < PICKS
    pair.second.promote()
    working.join(30)
    assert not working.is_alive()
    assert client.broken == []
    assert (client.picked, len(client.scrapped)) == (numbers, PICKS)
    # The cut was noticed, and what was on the way was sent again.
    assert client.losses
    engine.dispose()
    there = make_engine(f"postgresql://postgres@{pair.second.place}/garage")
    with reading(there) as session:
        assert session.scalar(sql("SELECT pg_is_in_recovery()")) is False
        picked = Counter(
            session.scalars(
                select(Booking.number)
                .join(Movement, Movement.booking_id == Booking.id)
                .where(Movement.kind == "picked")
            )
        )
        scrapped = Counter(
            session.scalars(
                select(Movement.note).where(Movement.kind == "scrapped", Movement.note != "torn")
            )
        )
    assert picked == Counter(numbers)
    assert scrapped == Counter(f"for {number}" for number in numbers)
    assert_ledger(there)
    there.dispose()
