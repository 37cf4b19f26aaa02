"""The audit finds each fault and nothing else; a backup of either engine restores to either."""

from __future__ import annotations

import shutil
import sqlite3
import tracemalloc
from collections.abc import Callable, Iterator
from contextlib import closing
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
import racing
from racing import NOW, ON
from sqlalchemy import Connection, Engine, event, select
from sqlalchemy import text as sql

from conftest import ENGINES, Templates, opened
from helpers import UNCOUNTED, counted
from kitting.actions import Action, next_step
from kitting.errors import KittingError, StoreError
from kitting.facts.found_fields import FoundField
from kitting.facts.units import Quantity
from kitting.facts.words import BookingState
from kitting.files.pictures import Picture
from kitting.schema import HEAD
from kitting.services.bookings.booking import BookingRequest, book, step_to
from kitting.services.bookings.close import Closing, close
from kitting.services.bookings.pick import cancel, pick
from kitting.services.cars.found_parts import note_part
from kitting.services.purchasing.goods_in import GoodsReceived, receive
from kitting.services.purchasing.orders import place
from kitting.services.stock.shelves import LotName, count_lot
from kitting.services.stock.transfers import arrive, send
from kitting.services.upkeep.audit import audit
from kitting.services.upkeep.backup import back_up
from kitting.services.upkeep.restore import restore
from kitting.store import current_revision, make_engine, migrate, reading
from kitting.tables.all import Base
from kitting.views.upkeep import AuditView
from kitting.wording.reasons import say
from kitting.wording.upkeep import backup_verdict, fault_text, verdict

Rows = dict[str, list[tuple[Any, ...]]]
CHECKS = [
    "rules", "references", "balances", "running balances", "promised", "there", "arrivals",
    "goods in", "orders", "kits", "states", "places", "transfers", "ends of transfers",
    "opened packs", "lost", "not needed", "unmet needs", "stays opened", "causes",
]  # fmt: skip


def url_of(engine: Engine) -> str:
    return engine.url.render_as_string(hide_password=False)


def everything(engine: Engine) -> Rows:
    """Every row of every table."""
    with reading(engine) as session:
        return {
            table.name: sorted(map(tuple, session.execute(select(table)).all()), key=repr)
            for table in Base.metadata.sorted_tables
        }


def each(pieces: int) -> Quantity:
    return Quantity(pieces * 1000, "each")


def work(engine: Engine, folder: Path) -> None:
    """Some of everything: closed, waiting, picked and cancelled kits, an order, two transfers."""
    racing.furnish(engine, folder)
    nut = {FoundField.JOINT: "hub", FoundField.POSITION: "nut"}
    note_part(engine, "AB 123", nut, NOW, picture=Picture(b"a nut", 4, 3))

    def booked(job: str) -> str:
        return book(engine, BookingRequest("PELL 001", [job], ON, "upper", again=True), NOW).number

    closed, _, kept, dropped = booked("X3"), booked("X3"), booked("X3"), booked("X3")
    for number in (closed, kept, dropped):
        pick(engine, number, NOW)
    step_to(engine, closed, BookingState.CONFIRMED)
    step_to(engine, closed, BookingState.ON_THE_RAMP)
    close(engine, closed, Closing({"RING": 1000}, {"GASKET": 1000}), NOW, despite=UNCOUNTED)
    cancel(engine, dropped, NOW)
    # Two rings are promised; what is left of them goes, so that the next booking buys.
    count_lot(engine, LotName("upper", "RING", "R1"), each(2), NOW)
    (order,) = place(engine, [booked("X1")], NOW).orders
    receive(engine, order, [GoodsReceived("RING", 1000, lot="R2")], NOW)
    there, _ = send(engine, LotName("upper", "GASKET", "G2"), each(1), "canal", NOW)
    arrive(engine, there, NOW)
    send(engine, LotName("upper", "GASKET", "G2"), each(1), "canal", NOW)


@pytest.fixture(params=ENGINES)
def worked(
    request: pytest.FixtureRequest, templates: Templates, tmp_path: Path
) -> Iterator[Engine]:
    """A database with some of everything, on each engine in turn."""
    yield from opened(templates, request.param, ("empty", work), tmp_path)


def faulty(view: AuditView) -> dict[str, int]:
    return {check.check: check.faults for check in view.checks if check.faults}


def test_books_that_agree_are_found_fine_and_it_is_told_what_was_looked_at(
    worked: Engine,
) -> None:
    view = audit(worked, NOW)
    lite = worked.dialect.name == "sqlite"
    assert faulty(view) == {}
    assert [check.check for check in view.checks] == ["file"] * lite + CHECKS
    assert verdict(view) == f"{len(CHECKS) + lite} checks, no fault"
    assert (view.fine, view.remarks, view.revision, view.engine) == (
        True,
        (),
        HEAD,
        "SQLite" if lite else "PostgreSQL",
    )
    looked = {check.check: (check.looked_at, check.of) for check in view.checks}
    # 5 lots of the list, R2 that came; G2 sent to canal makes one more.
    assert looked["balances"] == (7, "lots")
    assert looked["transfers"] == (2, "transfers")
    assert looked["arrivals"] == (1, "order lines")


def tampered(engine: Engine, statements: str) -> None:
    """Do what no service does: past every rule that the database keeps."""
    lite = engine.dialect.name == "sqlite"
    raw = engine.raw_connection()
    cursor = raw.cursor()
    if lite:
        cursor.execute("PRAGMA foreign_keys = OFF")
        cursor.execute("PRAGMA ignore_check_constraints = ON")
        cursor.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'")
        triggers = cursor.fetchall()
        statements = ";".join(
            [
                *(f'DROP TRIGGER "{name}"' for name, _ in triggers),
                statements,
            ]
        )
    else:
        cursor.execute("SET session_replication_role = replica")
        cursor.execute("ALTER TABLE lot DROP CONSTRAINT ck_lot_promised_of_on_hand")
    for statement in statements.split(";"):
        cursor.execute(statement)
    if lite:
        for _, text in triggers:
            cursor.execute(text)
    raw.commit()
    raw.close()
    engine.dispose()


UPPER = "branch_id = (SELECT id FROM branch WHERE code = 'upper')"
TAMPERINGS = {
    "balances": f"UPDATE lot SET on_hand = on_hand + 1000 WHERE code = 'G2' AND {UPPER}",
    "running balances": "UPDATE movement SET balance = balance + 500 WHERE id = 1",
    "promised": f"UPDATE lot SET promised = promised - 1000 WHERE code = 'R1' AND {UPPER}",
    "arrivals": "UPDATE order_line SET promised = promised - 1000",
    "goods in": "UPDATE order_line SET received = received + 1000",
    "orders": "UPDATE purchase_order SET cancelled_at = '2026-04-08 10:00:00'",
    "kits": "UPDATE promise SET picked = picked + 1000 WHERE id ="
    " (SELECT max(promise.id) FROM promise JOIN booking ON booking.id = booking_id"
    " WHERE number = 'B0003' AND picked > 0)",
    "states": "UPDATE booking SET state = 'on the ramp' WHERE number = 'B0001'",
    "places": "UPDATE booking SET branch_id = (SELECT id FROM branch WHERE code = 'canal')"
    " WHERE number = 'B0002'",
    "transfers": "UPDATE transfer SET arrived_at = '2026-04-08 10:00:00' WHERE id = 2",
    "ends of transfers": "UPDATE transfer SET from_branch_id = to_branch_id WHERE id = 1",
    "opened packs": "INSERT INTO movement (id, at, lot_id, kind, quantity, balance)"
    " SELECT 900, '2026-04-07 09:00:00', id, 'opened', -1000, on_hand - 1000 FROM lot"
    f" WHERE code = 'G2' AND {UPPER};"
    f" UPDATE lot SET on_hand = on_hand - 1000 WHERE code = 'G2' AND {UPPER}",
    "references": "UPDATE vehicle SET model_id = 999",
}
# Of what, item, lot, branch, what is recorded and what it should be, in thousandths.
LINE = ("order line", "P0001", "Q-2")
NAMED = {
    "balances": (("lot", "G2", None), "GASKET", "G2", "upper", 4000, 3000),
    "running balances": (("movement", "1", None), "GASKET", "G1", "upper", 6500, 6000),
    "promised": (("lot", "R1", None), "RING", "R1", "upper", 1000, 2000),
    "arrivals": (LINE, "RING", None, "upper", 0, 1000),
    "goods in": (LINE, "RING", None, "upper", 2000, 1000),
    "orders": (LINE, "RING", None, "upper", 2000, 5000),
    "kits": (("booking", "B0003", None), "GASKET", "G1", "upper", 2000, 1000),
    "transfers": (("transfers arrived", "G2", None), "GASKET", "G2", "canal", 2000, 1000),
    "ends of transfers": (("transfer", "1", None), "GASKET", "G2", "canal", None, None),
    "opened packs": (("opened packs", None, None), "GASKET", None, "upper", -1000, 0),
}
READ = {
    "balances": "GASKET, lot G2, in upper: its balance",
    "running balances": "movement 1: GASKET, lot G1, in upper: its running balance",
    "promised": "RING, lot R1, in upper: what it says is promised",
    "arrivals": "order P0001, part Q-2: RING, in upper: what it promises",
    "goods in": "order P0001, part Q-2: RING, in upper: what was received",
    "orders": "order P0001, part Q-2: RING, in upper: received, lost and promised",
    "kits": "booking B0003: GASKET, lot G1, in upper: what lies in its kit",
    "transfers": "transfers arrived: GASKET, lot G2, in canal: what transfers say",
    "ends of transfers": "transfer 1: GASKET, lot G2, in canal: its two lots",
    "opened packs": "opened packs: GASKET, in upper: what was opened",
}


@pytest.mark.parametrize("check", TAMPERINGS)
def test_each_check_finds_its_fault_by_name_and_no_other_does(worked: Engine, check: str) -> None:
    tampered(worked, TAMPERINGS[check])
    view = audit(worked, NOW)
    assert faulty(view) == {check: {"states": 2, "places": 2}.get(check, 1)}
    (found,) = (one for one in view.checks if one.check == check)
    assert found.advice is not None
    assert next_step(Action.RESTORE) in found.advice.then
    assert "restore the newest backup whose audit is clean" in say(found.advice)
    assert view.fine is False
    fault = found.shown[0]
    if check in NAMED:
        name = (fault.subject, fault.name, fault.part)
        found_at = (fault.item, fault.lot, fault.place, fault.recorded, fault.recomputed)
        assert (name, *found_at) == NAMED[check]
        assert fault_text(fault).startswith(READ[check])
    if check == "references":
        row = "vehicle 1 refers" if worked.dialect.name == "sqlite" else "vehicle: 1 row referring"
        assert fault_text(fault) == f"{row} to a row of model that is not there"


def test_more_promised_than_there_is_found_where_even_the_rules_were_passed_by(
    worked: Engine,
) -> None:
    tampered(worked, f"UPDATE lot SET promised = on_hand + 1000 WHERE code = 'G2' AND {UPPER}")
    lite = worked.dialect.name == "sqlite"
    # On PostgreSQL the rule itself was taken away to do it.
    assert faulty(audit(worked, NOW)) == {
        **({"rules": 1} if lite else {}), "promised": 1, "there": 1,
    }  # fmt: skip


def test_a_ledger_whose_guard_is_gone_is_a_fault(worked: Engine) -> None:
    lite = worked.dialect.name == "sqlite"
    with worked.begin() as connection:
        name = "movement_kept_UPDATE" if lite else "movement_kept ON movement"
        connection.exec_driver_sql(f"DROP TRIGGER {name}")
    view = audit(worked, NOW)
    assert faulty(view) == {"rules": 1}
    (rules,) = (check for check in view.checks if check.check == "rules")
    assert fault_text(rules.shown[0]) == (
        "the trigger that keeps movements from being altered is gone"
    )


def test_of_many_faults_all_are_counted_and_the_first_are_named(garage: Engine) -> None:
    with garage.begin() as connection:
        lots = connection.execute(sql("SELECT count(*) FROM lot")).scalar_one()
        connection.execute(sql("UPDATE lot SET on_hand = on_hand + 1"))
    (found,) = (check for check in audit(garage, NOW).checks if check.faults)
    assert (found.check, found.faults, len(found.shown)) == ("balances", lots, 20)
    assert lots > 20


def test_the_audit_sends_as_many_statements_for_a_full_database_as_for_an_empty_one(
    store: Engine, tmp_path: Path
) -> None:
    audit(store, NOW)
    with counted(store) as empty:
        audit(store, NOW)
    work(store, tmp_path)
    with counted(store) as full:
        audit(store, NOW)
    assert len(full) == len(empty) < 30


@pytest.mark.parametrize("seed", [1, 2])
def test_whatever_is_done_at_random_leaves_books_that_agree(
    store: Engine, tmp_path: Path, seed: int
) -> None:
    racing.furnish(store, tmp_path)
    hand = racing.Hand(store, seed)
    done = 0
    for choice in hand.rng.choices(
        list(racing.OPERATIONS), list(racing.OPERATIONS.values()), k=120
    ):
        try:
            choice(hand)[1]()
        except KittingError:
            continue
        done += 1
    assert done > 40
    view = audit(store, NOW)
    assert faulty(view) == {}


def test_a_clock_that_was_set_back_is_told_and_is_no_fault(worked: Engine) -> None:
    before = NOW - timedelta(days=3)
    count_lot(worked, LotName("upper", "GASKET", "G2"), each(5), before)
    count_lot(worked, LotName("upper", "GASKET", "G2"), each(4), NOW)
    view = audit(worked, NOW - timedelta(hours=1))
    assert view.fine is True
    assert [say(remark) for remark in view.remarks] == [
        "movements with an earlier time than one before: 1. A clock was set back, or the time was"
        " given by hand. Balances go by number",
        "movements with a time that is still to come: 20. Check the clock of this computer",
    ]


# Backups ---------------------------------------------------------------------------------------


@pytest.fixture
def other_url(templates: Templates, tmp_path: Path) -> Iterator[Callable[[str], str]]:
    """The URL of a database on an engine that is not there yet (SQLite) or is not set up."""
    made = []

    def make(engine: str) -> str:
        if engine == "sqlite":
            return f"sqlite:///{tmp_path / 'restored.db'}"
        made.append(templates.new())
        return made[-1]

    yield make
    for url in made:
        templates.drop(url)


def alone(path: Path) -> bool:
    """Whether nothing lies beside a SQLite file: no log, no half-written file."""
    return [
        p.name for p in path.parent.iterdir() if p.name.startswith((".kitting", path.name))
    ] == [path.name]


@pytest.mark.parametrize("engine", ["sqlite", "postgresql"])
def test_a_backup_of_either_engine_is_restored_to_either_with_every_row(
    worked: Engine, tmp_path: Path, other_url: Callable[[str], str], engine: str
) -> None:
    before = everything(worked)
    target = tmp_path / "kept" / "backup.db"
    target.parent.mkdir()
    made = back_up(url_of(worked), target, NOW)
    rows = sum(map(len, before.values()))
    assert (made.rows, made.tables, made.revision, made.fine) == (rows, len(before), HEAD, True)
    assert made.size == target.stat().st_size
    assert alone(target)
    assert everything(worked) == before
    content = target.read_bytes()
    # One file without a log: bytes 18 and 19 are 1 (2 is WAL; SQLite's file format, 1.3.2).
    assert content[18:20] == b"\x01\x01"
    url = other_url(engine)
    back = restore(url, target, NOW)
    assert (back.rows, back.tables, back.now, back.fine) == (rows, len(before), HEAD, True)
    assert back.kept_as is None
    assert target.read_bytes() == content
    restored = make_engine(url)
    assert everything(restored) == before
    # New rows are numbered after the old ones.
    number = book(restored, BookingRequest("PELL 001", ["X2"], ON, "canal", again=True), NOW).number
    assert number == "B0006"
    assert audit(restored, NOW).fine
    restored.dispose()


def test_the_whole_demo_garage_goes_there_and_back(
    garage: Engine, tmp_path: Path, other_url: Callable[[str], str]
) -> None:
    other = "postgresql" if garage.dialect.name == "sqlite" else "sqlite"
    target = tmp_path / "backup of garage?.db"
    back_up(url_of(garage), target, NOW)
    url = other_url(other)
    restore(url, target, NOW)
    restored = make_engine(url)
    assert everything(restored) == everything(garage)
    restored.dispose()


def test_a_backup_is_of_one_moment_whatever_others_write_meanwhile(
    worked: Engine, tmp_path: Path
) -> None:
    before = everything(worked)
    other = make_engine(url_of(worked))
    heard: list[str] = []

    def meanwhile(connection: Connection, _cursor: object, statement: str, *_: object) -> None:
        # Lots are copied before their movements: just then somebody moves something.
        server = connection.dialect.name == "postgresql"
        if server and "FROM lot" in statement and not heard:
            heard.append(statement)
            count_lot(other, LotName("upper", "GASKET", "G2"), each(1), NOW)

    if worked.dialect.name == "sqlite":
        # Half done, it is in the log, and in no backup.
        connection = other.connect().execution_options(kitting_writing=True)
        connection.execute(sql("UPDATE lot SET on_hand = on_hand + 1000"))
        view = back_up(url_of(worked), tmp_path / "b.db", NOW)
        connection.rollback()
        connection.close()
    else:
        event.listen(Engine, "after_cursor_execute", meanwhile)
        try:
            view = back_up(url_of(worked), tmp_path / "b.db", NOW)
        finally:
            event.remove(Engine, "after_cursor_execute", meanwhile)
        assert heard
        assert everything(worked) != before
    assert view.fine is True
    copy = make_engine(f"sqlite:///{tmp_path / 'b.db'}")
    assert everything(copy) == before
    copy.dispose()
    other.dispose()


def test_a_backup_takes_the_place_of_nothing_unless_it_is_said(
    worked: Engine, tmp_path: Path
) -> None:
    target = tmp_path / "b.db"
    target.write_text("mine")
    with pytest.raises(KittingError) as caught:
        back_up(url_of(worked), target, NOW)
    assert str(caught.value) == f"{target} is there already. Choose another name, or replace it"
    assert caught.value.then == (next_step(Action.REPLACE),)
    with pytest.raises(KittingError, match="is there already, and is no SQLite database"):
        back_up(url_of(worked), target, NOW, replace=True)
    assert target.read_text() == "mine"
    target.unlink()
    back_up(url_of(worked), target, NOW)
    back_up(url_of(worked), target, NOW, replace=True)
    assert target.read_bytes().startswith(b"SQLite format 3\0")
    with pytest.raises(KittingError, match=r"is a folder\. Name a file in it"):
        back_up(url_of(worked), tmp_path, NOW, replace=True)
    with pytest.raises(KittingError, match="there is no folder"):
        back_up(url_of(worked), tmp_path / "none" / "b.db", NOW)
    if worked.dialect.name == "sqlite":
        with pytest.raises(KittingError, match="is the database itself"):
            back_up(url_of(worked), Path(str(worked.url.database)), NOW, replace=True)


def test_books_with_a_fault_are_backed_up_all_the_same_and_it_is_told(
    worked: Engine, tmp_path: Path
) -> None:
    tampered(worked, TAMPERINGS["balances"])
    view = back_up(url_of(worked), tmp_path / "b.db", NOW)
    assert (view.fine, backup_verdict(view)) == (False, "1 fault in balances")
    back = restore(f"sqlite:///{tmp_path / 'new.db'}", tmp_path / "b.db", NOW)
    assert (back.fine, verdict(back.audit)) == (False, "1 fault in balances")


def old_database(engine: Engine, revision: str) -> None:
    """A database of an older revision with a branch in it."""
    migrate(engine, revision)
    with engine.begin() as connection:
        connection.execute(sql("INSERT INTO branch (code, name) VALUES ('upper', 'Upper Yard')"))


@pytest.mark.parametrize("engine", ["sqlite", "postgresql"])
@pytest.mark.parametrize("source", ["sqlite", "postgresql"])
def test_a_backup_of_an_older_revision_is_brought_up_to_date_when_it_is_restored(
    tmp_path: Path, templates: Templates, other_url: Callable[[str], str], source: str, engine: str
) -> None:
    folder = tmp_path / "old"
    folder.mkdir()
    url = f"sqlite:///{folder / 'old.db'}" if source == "sqlite" else other_url(source)
    old = make_engine(url)
    old_database(old, "0003")
    view = back_up(url, tmp_path / "b.db", NOW)
    assert (view.revision, view.rows, view.audit) == ("0003", 1, None)
    assert backup_verdict(view) == "not audited: revision 0003 is older"
    assert current_revision(old) == "0003"
    old.dispose()
    target = other_url(engine)
    back = restore(target, tmp_path / "b.db", NOW)
    assert (back.revision, back.now, back.rows, back.fine) == ("0003", HEAD, 1, True)
    new = make_engine(target)
    assert current_revision(new) == HEAD
    # What later revisions added comes after it, and is not stated.
    (branch,) = everything(new)["branch"]
    assert branch[:8] == (1, "upper", "Upper Yard", None, None, None, "GBP", "ISO 2230")
    assert set(branch[8:]) == {None}
    new.dispose()


def renumber(path: Path, revision: str) -> None:
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("UPDATE alembic_version SET version_num = ?", (revision,))
        connection.commit()


@pytest.mark.parametrize("engine", ["sqlite", "postgresql"])
def test_a_backup_of_a_newer_program_is_refused_and_nothing_is_made(
    lite: Engine, tmp_path: Path, other_url: Callable[[str], str], engine: str
) -> None:
    back_up(url_of(lite), tmp_path / "b.db", NOW)
    renumber(tmp_path / "b.db", "9999")
    url = other_url(engine)
    with pytest.raises(StoreError) as caught:
        restore(url, tmp_path / "b.db", NOW)
    assert str(caught.value) == (
        f"it is of revision 9999; this program knows none after {HEAD}. Nothing was written; use"
        " the newer program that made it"
    )
    if engine == "sqlite":
        assert not (tmp_path / "restored.db").exists()
    else:
        there = make_engine(url)
        assert current_revision(there) is None
        there.dispose()
    lite.dispose()
    renumber(tmp_path / "kitting.db", "9999")
    with pytest.raises(StoreError, match="it is of revision 9999"):
        back_up(url_of(lite), tmp_path / "c.db", NOW)
    assert not (tmp_path / "c.db").exists()


def test_a_database_that_holds_something_is_left_alone_and_the_next_step_is_told(
    store: Engine, tmp_path: Path
) -> None:
    back_up(url_of(store), tmp_path / "b.db", NOW)
    racing.furnish(store, tmp_path)
    before = everything(store)
    with pytest.raises(KittingError) as caught:
        restore(url_of(store), tmp_path / "b.db", NOW)
    told = str(caught.value)
    if store.dialect.name == "sqlite":
        assert told.endswith(
            "kitting.db holds data. Replace it (the old file is kept under another name), or"
            " restore into another database"
        )
        assert caught.value.then == (next_step(Action.REPLACE), next_step(Action.NAME_DATABASE))
    else:
        assert told.endswith(
            "holds data already. Nothing was restored; make a new database (CREATE DATABASE) and"
            " restore into that"
        )
        assert caught.value.then == (next_step(Action.NAME_DATABASE),)
        with pytest.raises(KittingError, match="on PostgreSQL nothing is replaced"):
            restore(url_of(store), tmp_path / "b.db", NOW, replace=True)
    assert everything(store) == before


@pytest.mark.parametrize("engine", ["sqlite", "postgresql"])
def test_a_database_that_is_set_up_but_has_no_row_is_restored_into(
    lite: Engine, tmp_path: Path, other_url: Callable[[str], str], engine: str
) -> None:
    before = everything(lite)
    back_up(url_of(lite), tmp_path / "b.db", NOW)
    url = other_url(engine)
    bare = make_engine(url)
    migrate(bare)
    bare.dispose()
    assert restore(url, tmp_path / "b.db", NOW).kept_as is None
    filled = make_engine(url)
    assert everything(filled) == before
    filled.dispose()


def test_what_is_replaced_is_kept_beside_and_can_be_read(lite: Engine, tmp_path: Path) -> None:
    empty = everything(lite)
    back_up(url_of(lite), tmp_path / "b.db", NOW)
    racing.furnish(lite, tmp_path)
    full = everything(lite)
    lite.dispose()
    view = restore(url_of(lite), tmp_path / "b.db", NOW, replace=True)
    kept = tmp_path / "kitting-kept-20260407-090000.db"
    assert view.kept_as == str(kept)
    assert everything(lite) == empty
    old = make_engine(f"sqlite:///{kept}")
    assert everything(old) == full
    old.dispose()
    lite.dispose()
    again = restore(url_of(lite), tmp_path / "b.db", NOW, replace=True)
    assert again.kept_as == str(tmp_path / "kitting-kept-20260407-090000-2.db")


def test_a_database_that_others_have_open_is_not_replaced_under_them(
    lite: Engine, tmp_path: Path
) -> None:
    back_up(url_of(lite), tmp_path / "b.db", NOW)
    racing.furnish(lite, tmp_path)
    with reading(lite) as session:
        session.execute(sql("SELECT count(*) FROM lot")).all()
        with pytest.raises(StoreError, match=r"other programs have .* open. Nothing was changed"):
            restore(url_of(lite), tmp_path / "b.db", NOW, replace=True)
    assert len(everything(lite)["lot"]) == 5
    assert not list(tmp_path.glob("*kept*"))
    assert not list(tmp_path.glob(".kitting*"))


def test_a_damaged_database_is_replaced_and_kept_with_its_log(lite: Engine, tmp_path: Path) -> None:
    before = everything(lite)
    back_up(url_of(lite), tmp_path / "b.db", NOW)
    lite.dispose()
    database = tmp_path / "kitting.db"
    garbage = b"\xa5" * 9000
    database.write_bytes(garbage)
    (tmp_path / "kitting.db-wal").write_bytes(b"log")
    view = restore(url_of(lite), tmp_path / "b.db", NOW, replace=True)
    assert everything(lite) == before
    kept = Path(str(view.kept_as))
    assert kept.read_bytes() == garbage
    assert Path(f"{kept}-wal").read_bytes() == b"log"


def corrupt(path: Path) -> None:
    """Overwrite pages in the middle, as a bad disk does; the first page stays."""
    content = bytearray(path.read_bytes())
    for start in range(3 * 4096, len(content) - 4096, 4 * 4096):
        content[start : start + 4096] = b"\xa5" * 4096
    path.write_bytes(content)


@pytest.mark.parametrize("engine", ["sqlite", "postgresql"])
def test_a_damaged_or_foreign_backup_is_refused_and_nothing_is_made(
    lite_garage: Engine, tmp_path: Path, other_url: Callable[[str], str], engine: str
) -> None:
    good = tmp_path / "b.db"
    back_up(url_of(lite_garage), good, NOW)
    corrupted, short, foreign = tmp_path / "x.db", tmp_path / "s.db", tmp_path / "f.db"
    shutil.copy(good, corrupted)
    corrupt(corrupted)
    short.write_bytes(good.read_bytes()[: good.stat().st_size // 2])
    with closing(sqlite3.connect(foreign)) as connection:
        connection.execute("CREATE TABLE mine (x)")
    (tmp_path / "t.db").write_text("some text")
    (tmp_path / "e.db").write_bytes(b"")
    url = other_url(engine)
    for path, told in (
        (corrupted, "is damaged: "),
        (short, "is damaged: "),
        (foreign, "is no backup of this program"),
        (tmp_path / "t.db", "is no SQLite database"),
        (tmp_path / "e.db", r"is empty \(0 bytes\)"),
        (tmp_path / "none.db", "there is no file"),
    ):
        content = path.read_bytes() if path.exists() else None
        with pytest.raises(KittingError, match=told):
            restore(url, path, NOW)
        assert content is None or path.read_bytes() == content
    if engine == "sqlite":
        assert not (tmp_path / "restored.db").exists()
        assert not list(tmp_path.glob(".kitting*"))
    else:
        there = make_engine(url)
        assert current_revision(there) is None
        there.dispose()


def corrupt_table(path: Path, table: str) -> None:
    """Overwrite the first page of one table; everything else stays as it is."""
    with closing(sqlite3.connect(path)) as connection:
        (page,) = connection.execute(
            "SELECT rootpage FROM sqlite_master WHERE name = ?", (table,)
        ).fetchone()
    content = bytearray(path.read_bytes())
    content[(page - 1) * 4096 : page * 4096] = b"\xa5" * 4096
    path.write_bytes(content)


@pytest.mark.parametrize("where", ["alembic_version", "offer"])
def test_a_damaged_database_is_not_backed_up_as_if_it_were_whole(
    lite_garage: Engine, tmp_path: Path, where: str
) -> None:
    lite_garage.dispose()
    path = tmp_path / "kitting.db"
    corrupt_table(path, where)
    content = path.read_bytes()
    with pytest.raises(StoreError, match=r"the database is damaged: .* restore the newest backup"):
        back_up(url_of(lite_garage), tmp_path / "b.db", NOW)
    assert not (tmp_path / "b.db").exists()
    assert not list(tmp_path.glob(".kitting*"))
    assert path.read_bytes() == content


def test_what_a_server_cannot_hold_stops_the_restore_and_leaves_nothing(
    lite: Engine, tmp_path: Path, other_url: Callable[[str], str]
) -> None:
    """SQLite keeps no lengths; PostgreSQL does."""
    racing.furnish(lite, tmp_path)
    with lite.begin() as connection:
        connection.execute(sql("UPDATE lot SET held = :text"), {"text": "w" * 201})
    back_up(url_of(lite), tmp_path / "b.db", NOW)
    url = other_url("postgresql")
    with pytest.raises(StoreError, match=r"value too long .* Nothing was recorded"):
        restore(url, tmp_path / "b.db", NOW)
    there = make_engine(url)
    assert current_revision(there) is None
    there.dispose()


def test_a_login_that_sees_a_part_makes_no_backup_that_would_be_a_part(
    templates: Templates, tmp_path: Path
) -> None:
    url = templates.copy("postgresql", "garage", tmp_path)
    owner = make_engine(url)
    with owner.begin() as connection:
        part_of(connection)
    owner.dispose()
    branch = make_engine(url)
    event.listen(branch, "connect", as_part)
    told = "sees only the rows of its own branches"
    with pytest.raises(StoreError, match=told):
        audit(branch, NOW)
    branch.dispose()
    templates.drop(url)


def part_of(connection: Connection) -> None:
    connection.execute(
        sql("DO $$ BEGIN CREATE ROLE part_login; EXCEPTION WHEN duplicate_object THEN NULL; END $$")
    )
    connection.execute(sql("GRANT SELECT ON ALL TABLES IN SCHEMA public TO part_login"))


def as_part(connection: Any, _record: object) -> None:
    connection.execute("SET ROLE part_login")
    connection.commit()


@pytest.fixture
def heavy(store: Engine, tmp_path: Path) -> Engine:
    """60 MB of notes on offers."""
    racing.furnish(store, tmp_path)
    series = (
        "SELECT value AS n FROM generate_series(1, 20000) AS g(value)"
        if store.dialect.name == "postgresql"
        else "WITH RECURSIVE g(value) AS (SELECT 1 UNION ALL SELECT value + 1 FROM g"
        " WHERE value < 20000) SELECT value AS n FROM g"
    )
    with store.begin() as connection:
        connection.execute(
            sql(
                "INSERT INTO offer (supplier_id, part, pack, unit, minimum, multiple, returnable,"
                " note, load) SELECT 1, 'N-' || n, 1000, 'each', 1, 1, true,"
                f" :note, 1 FROM ({series}) AS numbers"
            ),
            {"note": "x" * 3000},
        )
    return store


def test_memory_does_not_grow_with_the_rows(
    heavy: Engine, tmp_path: Path, other_url: Callable[[str], str]
) -> None:
    other = "postgresql" if heavy.dialect.name == "sqlite" else "sqlite"
    url = other_url(other)
    tracemalloc.start()
    made = back_up(url_of(heavy), tmp_path / "b.db", NOW)
    back = restore(url, tmp_path / "b.db", NOW)
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert made.rows == back.rows > 20_000
    assert made.size > 60_000_000
    # A chunk of 2,000 such rows is 6 MB, held as read and as handed on.
    assert peak < 30_000_000
