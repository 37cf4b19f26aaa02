"""Several branches on one PostgreSQL server: each sees and changes its own rows, and no more."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
import racing
from alembic import command
from racing import NOW, ON
from sqlalchemy import Engine, event, insert, select
from sqlalchemy import text as sql
from sqlalchemy.engine import make_url
from sqlalchemy.orm import Session

from conftest import Templates
from helpers import UNCOUNTED
from kitting import store as store_module
from kitting.actions import Action, next_step
from kitting.cli.commands.group import list_command
from kitting.cli.commands.group import member as member_command
from kitting.cli.commands.group import roles as role_command
from kitting.errors import KittingError, StoreError, UnknownNameError
from kitting.facts.units import Quantity
from kitting.facts.words import BookingState, ClaimKind, KitWhy, ShelfPolicy
from kitting.files.catalogue.source import parse_catalogue
from kitting.services.advice.additional_work import decline
from kitting.services.advice.learned_rates import load_findings
from kitting.services.bookings.booking import BookingRequest, book, judge_by, step_to, take_from
from kitting.services.bookings.change import Change
from kitting.services.bookings.close import Closing, close
from kitting.services.bookings.findings import Found, record_findings
from kitting.services.bookings.kit_moves import Loan, Moment, Piece, Told, draw, give_back, lend
from kitting.services.bookings.pick import cancel, pick
from kitting.services.bookings.seal_count import count_seals
from kitting.services.bookings.set_aside import SetAside, set_aside, take_up
from kitting.services.bookings.states import find_booking
from kitting.services.bookings.trays import split
from kitting.services.cars.add import CarEntry, add_car
from kitting.services.cars.notes import note_car
from kitting.services.cars.owners import forget_owner, set_owner, show_owner
from kitting.services.cars.view import car_view
from kitting.services.catalogue.load import load_sources
from kitting.services.group.privileges import (
    BY_BRANCH,
    HAND,
    KEEPER,
    OWNERS,
    PERSONAL,
    READER,
    SHARED,
    writes,
)
from kitting.services.group.roles import make_roles, members, set_member
from kitting.services.planning.plan import plan
from kitting.services.planning.request import PlanRequest
from kitting.services.purchasing.booking_change import make_change, show_change
from kitting.services.purchasing.goods_in import GoodsReceived, receive
from kitting.services.purchasing.kept_goods import Kept, keep
from kitting.services.purchasing.order_view import find_order, list_orders
from kitting.services.purchasing.orders import place
from kitting.services.purchasing.price_lists import load_prices
from kitting.services.stock.holds import put_on_hold
from kitting.services.stock.recall import recall
from kitting.services.stock.shelves import LotName, count_lot, list_stock, scrap
from kitting.services.stock.stock_lists import load_stock
from kitting.services.stock.transfers import arrive, arrived_as, on_the_way, send
from kitting.services.upkeep.audit import audit
from kitting.store import (
    alembic_config,
    current_revision,
    make_engine,
    migrate,
    open_existing,
    reading,
    writing,
)
from kitting.tables.all import Base
from kitting.tables.bookings import (
    Booking,
    BookingChoice,
    BookingDoubt,
    BookingLicence,
    BookingNeed,
    BookingSpare,
    BookingStandIn,
    BookingSure,
    Finding,
    FindingCorrection,
)
from kitting.tables.order_history import (
    Claim,
    CreditNote,
    CreditUndone,
    OrderNotice,
    ReceiptGoods,
    ReceiptUndone,
)
from kitting.tables.ramps import BookingPrice, BookingSlot, BookingTechnician
from kitting.tables.stock import CustomerLot, Lot, Movement
from kitting.tables.supply import OrderLine, Receipt
from kitting.tables.units import SplitOption
from kitting.tables.vocabulary import Licence

LOGINS = {"anna": HAND, "carl": HAND, "rita": READER, "kim": KEEPER, "stray": HAND}
BRANCHES = {"anna": "upper", "carl": "canal", "rita": "upper"}
QUAY = """
branches: [{code: quay, name: Quay Yard}]
licences: [{code: air, name: Air, text: T}]
units:
  - code: lamp
    name: Lamp
    splits:
      - code: glass
        question: Which glass?
        check: Ask.
        settled_by: customer
        options: [{code: clear, name: clear}, {code: tinted, name: tinted}]
"""
# The branch of a row, as the owner of the tables can tell it.
OF_BOOKING = "(SELECT branch_id FROM booking b WHERE b.id = t.booking_id)"
BRANCH_OF = {
    **dict.fromkeys(("booking", "lot", "purchase_order", "handled"), "t.branch_id"),
    **dict.fromkeys(
        (
            "booking_job", "booking_licence", "booking_doubt", "booking_stand_in", "booking_need", "promise",
            "booking_sure", "booking_spare", "seal_count", "finding", "kit_event", "kit_tray",
            "booking_slot", "booking_technician", "booking_price", "booking_choice",
        ),
        OF_BOOKING,
    ),
    "movement": "(SELECT branch_id FROM lot WHERE lot.id = t.lot_id)",
    "transfer": "(SELECT branch_id FROM lot WHERE lot.id = t.from_lot_id)",
    "order_line": "(SELECT branch_id FROM purchase_order o WHERE o.id = t.order_id)",
    "receipt": (
        "(SELECT branch_id FROM purchase_order o JOIN order_line l ON l.order_id = o.id"
        " WHERE l.id = t.order_line_id)"
    ),
    **dict.fromkeys(
        ("order_notice", "claim"),
        "(SELECT branch_id FROM purchase_order o JOIN order_line l ON l.order_id = o.id"
        " WHERE l.id = t.order_line_id)",
    ),
    **dict.fromkeys(
        ("receipt_goods", "receipt_undone"),
        "(SELECT branch_id FROM purchase_order o JOIN order_line l ON l.order_id = o.id"
        " JOIN receipt r ON r.order_line_id = l.id WHERE r.id = t.receipt_id)",
    ),
    "credit_note": (
        "(SELECT branch_id FROM purchase_order o JOIN order_line l ON l.order_id = o.id"
        " JOIN claim c ON c.order_line_id = l.id WHERE c.id = t.claim_id)"
    ),
    "credit_undone": (
        "(SELECT branch_id FROM purchase_order o JOIN order_line l ON l.order_id = o.id"
        " JOIN claim c ON c.order_line_id = l.id JOIN credit_note n ON n.claim_id = c.id"
        " WHERE n.id = t.note_id)"
    ),
    "finding_correction": (
        "(SELECT b.branch_id FROM booking b JOIN finding f ON f.booking_id = b.id"
        " WHERE f.id = t.finding_id)"
    ),
    "customer_lot": "(SELECT branch_id FROM lot WHERE lot.id = t.lot_id)",
}  # fmt: skip


AT = Moment(NOW)


def one(count: int) -> Quantity:
    return Quantity(count * 1000, "each")


@dataclass
class Group:
    """A database that several logins share."""

    owner: Engine
    url: str
    engines: dict[str, Engine] = field(default_factory=dict)

    def of(self, login: str) -> Engine:
        """The engine of a login."""
        if login not in self.engines:
            url = make_url(self.url).set(username=login)
            self.engines[login] = make_engine(url.render_as_string(hide_password=False))
        return self.engines[login]

    def dispose(self) -> None:
        for engine in (self.owner, *self.engines.values()):
            engine.dispose()


def furnished(templates: Templates, folder: Path) -> Group:
    """A group of three branches with its roles and logins; nothing booked yet."""
    url = templates.copy("postgresql", "empty", folder)
    owner = make_engine(url)
    racing.furnish(owner, folder)
    source, problems = parse_catalogue("quay.yaml", QUAY)
    assert source is not None, problems
    load_sources(owner, [source])
    make_roles(owner)
    with owner.begin() as connection:
        for login, role in LOGINS.items():
            # The server is shared by every test of this process.
            known = sql("SELECT count(*) FROM pg_roles WHERE rolname = :login")
            if not connection.scalar(known, {"login": login}):
                connection.execute(sql(f"CREATE ROLE {login} LOGIN IN ROLE {role}"))
    for login, branch in BRANCHES.items():
        set_member(owner, login, branch)
    return Group(owner, url)


def work_through(engine: Engine, branch: str) -> None:
    """Something of everything in a branch: bought, received, picked, counted, found, sent."""
    # Two gaskets are had, so the third booking has to buy one.
    for lot, item, left in (("R1", "RING", 9), ("G1", "GASKET", 2)):
        count_lot(engine, LotName(branch, item, lot), one(left), NOW, token=f"{branch} {lot}")
    if branch == "upper":
        count_lot(engine, LotName(branch, "GASKET", "G2"), one(0), NOW)
    numbers = [
        book(engine, BookingRequest("PELL 001", ["X3"], ON, branch, again=True), NOW).number
        for _ in range(3)
    ]
    (order,) = place(engine, numbers[2:], NOW).orders
    receive(engine, order, None, NOW)
    pick(engine, numbers[0], NOW)
    count_seals(engine, numbers[0], {"a": 1}, NOW)
    record_findings(engine, numbers[0], [Found("a", "groove", "passed")], NOW)
    draw(engine, numbers[0], Piece("RING", one(1)), Told("rolled away", "Ann", KitWhy.LOST), AT)
    split(engine, numbers[0], {"a": 2})
    send(engine, LotName(branch, "RING", "R1"), one(1), "quay", NOW)
    with writing(engine) as session:
        booking = find_booking(session, numbers[1])
        licence = session.scalars(select(Licence.id).where(Licence.code == "air")).one()
        session.execute(
            insert(BookingLicence).values(
                booking_id=booking.id, licence_id=licence, asked_by="S1"
            )
        )  # fmt: skip
        session.execute(
            insert(BookingDoubt).values(
                booking_id=booking.id, seq=99, verdict="no", aspect="rubber", reason="none"
            )
        )
        glass, clear = session.execute(
            select(SplitOption.split_id, SplitOption.id).where(SplitOption.code == "clear")
        ).one()
        chosen = {"booking_id": booking.id, "split_id": glass, "option_id": clear}
        session.execute(insert(BookingChoice).values(chosen))
        item = session.scalars(select(BookingNeed.item_id)).first()
        session.execute(
            insert(BookingStandIn).values(
                booking_id=booking.id, asked_id=item, item_id=item, rule="keep"
            )
        )
        seen = session.scalars(
            select(Finding.id)
            .join(Booking, Finding.booking_id == Booking.id)
            .where(Booking.number == numbers[0])
        ).one()
        session.add(FindingCorrection(finding_id=seen, at=NOW, found="passed", why="test"))
        session.add_all(
            [
                BookingSure(booking_id=booking.id, target=95_000, at=NOW),
                BookingSpare(booking_id=booking.id, item_id=item, quantity=1000, looked_at=1000),
                BookingSlot(booking_id=booking.id, starts="08:30", ramp="R1"),
                BookingTechnician(booking_id=booking.id, technician="T1"),
                BookingPrice(booking_id=booking.id, at=NOW, currency="GBP", agreed=100),
            ]
        )
        _after_the_order(session, order, booking.id)
        session.commit()


def _after_the_order(session: Session, number: str, booking: int) -> None:
    """A row in every table of what happens to an order afterwards."""
    order = find_order(session, number)
    receipt = session.scalars(
        select(Receipt)
        .join(OrderLine, Receipt.order_line_id == OrderLine.id)
        .where(OrderLine.order_id == order.id)
    ).first()
    assert receipt is not None
    lot = session.scalars(select(Lot).where(Lot.branch_id == order.branch_id)).first()
    assert lot is not None
    claim = Claim(order_line_id=receipt.order_line_id, at=NOW, kind=ClaimKind.RETURN,
                  quantity=1000, why="test")  # fmt: skip
    session.add(claim)
    session.flush()
    note = CreditNote(claim_id=claim.id, at=NOW, amount=1, document="C1")
    session.add(note)
    session.flush()
    session.add_all(
        [
            CreditUndone(note_id=note.id, at=NOW, why="test"),
            OrderNotice(order_line_id=receipt.order_line_id, at=NOW, due=ON, due_late=ON, again=0),
            ReceiptUndone(receipt_id=receipt.id, at=NOW, why="test"),
            CustomerLot(lot_id=lot.id, booking_id=booking),
        ]
    )
    if session.get(ReceiptGoods, receipt.id) is None:
        session.add(ReceiptGoods(receipt_id=receipt.id, lost=0))


@pytest.fixture(scope="module")
def busy(templates: Templates, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Group]:
    """A group in which two branches have rows in every table; tests leave it as it is."""
    group = furnished(templates, tmp_path_factory.mktemp("busy"))
    for branch in ("upper", "canal"):
        work_through(group.owner, branch)
    yield group
    group.dispose()
    templates.drop(group.url)


@pytest.fixture
def group(templates: Templates, tmp_path: Path) -> Iterator[Group]:
    """A group of which nothing is booked yet."""
    made = furnished(templates, tmp_path)
    yield made
    made.dispose()
    templates.drop(made.url)


def rows(engine: Engine, table: str, where: str = "true") -> list[str]:
    with engine.connect() as connection:
        return sorted(connection.scalars(sql(f'SELECT t::text FROM "{table}" t WHERE {where}')))


def of_branch(table: str, branch: str) -> str:
    return f"{BRANCH_OF[table]} = (SELECT id FROM branch WHERE code = '{branch}')"


def test_every_table_is_decided_and_the_database_agrees_with_the_decision(busy: Group) -> None:
    shared = [table for group in SHARED for table in group.tables]
    decided = [*BY_BRANCH, *shared, *OWNERS, *PERSONAL]
    assert len(decided) == len(set(decided))
    assert set(decided) == set(Base.metadata.tables)
    assert all(group.because and set(group.hand) <= set(group.tables) for group in SHARED)
    with busy.owner.connect() as connection:
        kept_apart = set(
            connection.scalars(sql("SELECT relname FROM pg_class WHERE relrowsecurity"))
        )
        forced = connection.scalar(sql("SELECT count(*) FROM pg_class WHERE relforcerowsecurity"))
    assert kept_apart == {*BY_BRANCH, "branch_member"}
    assert set(BRANCH_OF) == set(BY_BRANCH)
    assert forced == 0
    # Whatever names a branch, directly, is kept apart or listed with its reason.
    naming = {
        name
        for name, table in Base.metadata.tables.items()
        if any(column.name.endswith("branch_id") for column in table.columns)
    }
    # A hold tells where it was said, and holds everywhere.
    apart = {
        "branch_member", "branch_licence", "branch_tax", "batch_hold", "ramp", "technician",
    }  # fmt: skip
    assert naming - set(BY_BRANCH) == apart


@pytest.mark.parametrize("table", BY_BRANCH)
@pytest.mark.parametrize("login", ["anna", "rita"])
def test_who_works_for_a_branch_sees_its_rows_and_no_others(
    busy: Group, table: str, login: str
) -> None:
    mine, theirs = (rows(busy.owner, table, of_branch(table, b)) for b in ("upper", "canal"))
    assert mine
    assert theirs
    assert rows(busy.of(login), table) == mine
    assert rows(busy.of("stray"), table) == []


@pytest.mark.parametrize("table", BY_BRANCH)
def test_it_is_the_policy_that_hides_the_rows_of_others(
    templates: Templates, busy: Group, table: str
) -> None:
    """The check above is not one that always holds: without the policy all is seen."""
    engine = busy.of("anna")
    with busy.owner.begin() as connection:
        connection.execute(sql(f'ALTER TABLE "{table}" DISABLE ROW LEVEL SECURITY'))
    try:
        seen = rows(engine, table)
    finally:
        with busy.owner.begin() as connection:
            connection.execute(sql(f'ALTER TABLE "{table}" ENABLE ROW LEVEL SECURITY'))
    assert seen == rows(busy.owner, table)
    assert len(seen) > len(rows(engine, table))


def copy_of(owner: Engine, table: str, branch: str) -> dict[str, Any]:
    """A row of a branch with a key of its own, as somebody might write it again."""
    with owner.connect() as connection:
        row = dict(
            connection.execute(
                sql(f'SELECT t.* FROM "{table}" t WHERE {of_branch(table, branch)} LIMIT 1')
            )
            .mappings()
            .one()
        )
    row.pop("id", None)
    fresh = {"code": "NEW", "number": "B9999", "token": "new", "seq": 77, "joint": "other"}
    return row | {name: value for name, value in fresh.items() if name in row}


@pytest.mark.parametrize("table", BY_BRANCH)
def test_a_row_for_another_branch_is_refused_in_words(busy: Group, table: str) -> None:
    row = copy_of(busy.owner, table, "canal")
    with pytest.raises(StoreError) as caught, writing(busy.of("anna")) as session:
        session.execute(insert(Base.metadata.tables[table]).values(row))
    assert str(caught.value) == (
        "this login may not write for another branch (new row violates row-level security policy"
        f' for table "{table}"). Nothing was recorded; look which branches it works for'
    )
    assert caught.value.then == (next_step(Action.LIST_BRANCH_MEMBERS),)


def allowed(table: str, command: str) -> bool:
    return command in BY_BRANCH[table]


@pytest.mark.parametrize(
    "table", [t for t in BY_BRANCH if allowed(t, "UPDATE") and t != "transfer"]
)
def test_a_change_reaches_rows_of_the_own_branch_only(busy: Group, table: str) -> None:
    column = re.findall(r"UPDATE \(([a-z_]+)", BY_BRANCH[table])[0]
    with busy.of("anna").connect() as connection:
        changed = connection.execute(sql(f'UPDATE "{table}" SET {column} = {column}'))
        assert changed.rowcount == len(rows(busy.owner, table, of_branch(table, "upper")))
        theirs = connection.execute(
            sql(f'UPDATE "{table}" t SET {column} = {column} WHERE {of_branch(table, "canal")}')
        )
        assert theirs.rowcount == 0


@pytest.mark.parametrize("table", [t for t in BY_BRANCH if allowed(t, "DELETE")])
def test_removing_reaches_rows_of_the_own_branch_only(busy: Group, table: str) -> None:
    with busy.of("anna").connect() as connection:
        gone = connection.execute(sql(f'DELETE FROM "{table}"'))
        assert gone.rowcount == len(rows(busy.owner, table, of_branch(table, "upper")))


WORDS = {
    "INSERT": 'INSERT INTO "{table}" DEFAULT VALUES',
    "UPDATE": 'UPDATE "{table}" SET {column} = {column}',
    "DELETE": 'DELETE FROM "{table}"',
    "TRUNCATE": 'TRUNCATE "{table}" CASCADE',
}
EVERY_TABLE = sorted(Base.metadata.tables)


@pytest.mark.parametrize("role", [READER, HAND, KEEPER])
@pytest.mark.parametrize("table", EVERY_TABLE)
def test_what_is_not_granted_is_refused(busy: Group, role: str, table: str) -> None:
    login = next(name for name, its in LOGINS.items() if its == role)
    column = next(iter(Base.metadata.tables[table].c)).name
    granted = writes(role).get(table, "")
    with busy.of(login).connect() as connection:
        for command, words in WORDS.items():
            if command in granted.replace("UPDATE (", ""):
                continue
            with pytest.raises(Exception, match=r"permission denied|no privileges") as caught:
                connection.execute(sql(words.format(table=table, column=column)))
            assert "InsufficientPrivilege" in str(caught.value)
            connection.rollback()


@pytest.mark.parametrize(
    "words",
    [
        "DROP TABLE lot",
        "ALTER TABLE lot DISABLE ROW LEVEL SECURITY",
        "ALTER TABLE lot ADD COLUMN mine INTEGER",
        "CREATE TABLE mine (id INTEGER)",
        "DROP POLICY own ON lot",
        "CREATE POLICY mine ON lot USING (true)",
        "CREATE OR REPLACE FUNCTION own_branches() RETURNS integer[] LANGUAGE sql AS 'SELECT NULL::integer[]'",
        "DROP TRIGGER movement_kept ON movement",
        "INSERT INTO branch_member VALUES ('anna', 2)",
        "UPDATE branch_member SET branch_id = 2",
        "UPDATE alembic_version SET version_num = '0001'",
        "GRANT kitting_keeper TO anna",
        "SET ROLE kitting_keeper",
        "SET SESSION AUTHORIZATION carl",
        "SET ROLE carl",
    ],
)
def test_a_hand_alters_no_table_and_lets_itself_in_nowhere(busy: Group, words: str) -> None:
    with (
        pytest.raises(StoreError, match="this login may not do that"),
        writing(busy.of("anna")) as session,
    ):
        session.execute(sql(words))


def test_membership_in_others_is_not_even_seen(busy: Group) -> None:
    engine = busy.of("anna")
    assert rows(engine, "branch_member") == [
        f"(anna,{upper})" for upper in ids(busy.owner, "branch", "code = 'upper'")
    ]
    assert [(m.login, m.branches) for m in members(engine) if m.branches] == [("anna", ("upper",))]


def ids(engine: Engine, table: str, where: str) -> list[int]:
    with engine.connect() as connection:
        return list(connection.scalars(sql(f"SELECT id FROM {table} WHERE {where} ORDER BY id")))


def test_a_temporary_table_does_not_slip_under_the_function_that_tells_the_branches(
    busy: Group,
) -> None:
    (canal,) = ids(busy.owner, "branch", "code = 'canal'")
    with busy.of("anna").connect() as connection:
        connection.execute(sql("CREATE TEMP TABLE branch_member (login text, branch_id integer)"))
        connection.execute(sql(f"INSERT INTO branch_member VALUES ('anna', {canal})"))
        seen = set(connection.scalars(sql("SELECT branch_id FROM lot")))
    assert seen == set(ids(busy.owner, "branch", "code = 'upper'"))


def test_the_lot_of_another_branch_is_not_made_elsewhere_by_who_may_not_see_it(
    busy: Group,
) -> None:
    (quay,) = ids(busy.owner, "branch", "code = 'quay'")
    theirs = ids(busy.owner, "lot", of_branch("lot", "canal").replace("t.", "lot."))[0]
    with (
        pytest.raises(StoreError, match="may not write for another branch"),
        writing(busy.of("anna")) as session,
    ):
        session.execute(sql(f"SELECT * FROM lot_in_branch({theirs}, {quay}, '2026-04-07')"))


def test_the_branches_of_a_login_are_asked_for_once_in_a_statement(busy: Group) -> None:
    words = "EXPLAIN (ANALYZE, COSTS OFF, TIMING OFF, SUMMARY OFF) SELECT * FROM lot"
    with busy.of("anna").connect() as connection:
        lines = list(connection.scalars(sql(words)))
    told = "\n".join(lines)
    assert "own_branches" not in told
    (asked,) = [line for line in lines if "Result" in line]
    assert "loops=1" in asked
    assert told.count("InitPlan 1") >= 1


def test_a_plan_costs_a_branch_the_same_statements_and_says_the_same(busy: Group) -> None:
    told = []
    for engine in (busy.owner, busy.of("anna")):
        sent: list[str] = []
        event.listen(
            engine, "before_cursor_execute", lambda c, cu, words, *_, sent=sent: sent.append(words)
        )
        with reading(engine) as session:
            told.append((plan(session, PlanRequest("PELL 001", ("X3",), ON)), sent))
    assert told[0] == told[1]
    assert told[0][1]


def test_a_branch_goes_through_its_day_and_sees_its_own(group: Group) -> None:
    anna, carl = group.of("anna"), group.of("carl")
    # Who works for one branch need not name it.
    first = book(anna, BookingRequest("PELL 001", ["X3"], ON), NOW)
    # Numbers are drawn for the group, though neither sees the bookings of the other.
    second = book(carl, BookingRequest("PELL 001", ["X3"], ON, "canal"), NOW)
    assert (first.number, second.number, first.ready) == ("B0001", "B0002", True)
    assert [line.on_shelf for line in first.needs] == [1000, 2000]
    with reading(anna) as session:
        assert {view.branch for view in list_stock(session, None, (), ON)} == {"upper"}
        with pytest.raises(UnknownNameError, match=r"booking 'B0002': unknown name\. Known: B0001"):
            find_booking(session, "B0002")
    with pytest.raises(UnknownNameError, match="booking 'B0002': unknown name"):
        pick(anna, "B0002", NOW)
    with pytest.raises(UnknownNameError, match="booking 'B0002': unknown name"):
        take_from(anna, "B0001", "RING", "B0002")
    assert pick(anna, "B0001", NOW, token="t1").needs[0].picked == 1000
    assert pick(anna, "B0001", NOW, token="t1").needs[0].picked == 1000
    count_seals(anna, "B0001", {"a": 1}, NOW)
    record_findings(anna, "B0001", [Found("a", "groove", "passed")], NOW)
    gone = Told("rolled away", "Anna", KitWhy.LOST)
    draw(anna, "B0001", Piece("RING", one(1)), gone, AT)
    give_back(anna, "B0001", Piece("RING", one(1)), Told(), AT)
    assert pick(anna, "B0001", NOW).needs[0].picked == 1000
    assert [tray.tray for tray in split(anna, "B0001", {"a": 2})] == [1, 2]
    with pytest.raises(UnknownNameError, match="booking 'B0002': unknown name"):
        lend(anna, Loan("B0001", "B0002", Piece("RING", one(1))), Told(), AT)
    step_to(anna, "B0001", BookingState.CONFIRMED)
    step_to(anna, "B0001", BookingState.ON_THE_RAMP)
    set_aside(anna, "B0001", SetAside("bay 4", "waits"), NOW)
    assert take_up(anna, "B0001", NOW) == "bay 4"
    assert (
        close(anna, "B0001", Closing({"GASKET": 1000}, {}), NOW, despite=UNCOUNTED).state
        == "closed"
    )
    assert cancel(carl, "B0002", NOW).state == "cancelled"
    assert decline(anna, "PELL 001", "X1", ON) == "X1 One"
    assert scrap(anna, LotName("upper", "GASKET", "G1"), one(1), NOW, "torn") == 5000
    put_on_hold(anna, LotName("upper", "GASKET", "G2"), "being looked at", NOW)


def test_a_branch_changes_its_bookings_and_moves_none_to_where_it_does_not_work(
    group: Group,
) -> None:
    anna = group.of("anna")
    book(anna, BookingRequest("PELL 001", ["X1"], ON), NOW)
    added = make_change(anna, "B0001", Change(add=("X2",)), NOW, "t1")
    assert added.after.jobs == ("X1", "X2")
    pick(anna, "B0001", NOW)
    dropped = make_change(anna, "B0001", Change(drop=("X2",)), NOW, "t2")
    assert [(one.item, one.booked_back) for one in dropped.out_of_kit] == [("GASKET", True)]
    for call in (show_change, make_change):
        with pytest.raises(StoreError, match="this login may not write for another branch"):
            call(anna, "B0001", Change(branch="canal"), NOW)
    judge_by(anna, "B0001", ShelfPolicy.PACKET)
    with reading(anna) as session:
        assert find_booking(session, "B0001").shelf_policy is ShelfPolicy.PACKET


def test_a_branch_buys_and_receives_for_itself(group: Group) -> None:
    anna, carl = group.of("anna"), group.of("carl")
    orders = []
    for engine, branch in ((anna, "upper"), (carl, "canal")):
        for lot in ids(group.owner, "lot", of_branch("lot", branch).replace("t.", "lot.")):
            with reading(group.owner) as session:
                row = session.get_one(Lot, lot)
                item = {"G1": "GASKET", "G2": "GASKET", "R1": "RING"}[row.code]
            count_lot(engine, LotName(branch, item, row.code), one(0), NOW)
        number = book(engine, BookingRequest("PELL 001", ["X3"], ON, branch), NOW).number
        orders += place(engine, [number], NOW).orders
    assert orders == ["P0001", "P0002"]
    with reading(anna) as session:
        assert [view.number for view in list_orders(session)] == ["P0001"]
        with pytest.raises(UnknownNameError, match="order 'P0002': unknown name"):
            find_order(session, "P0002")
    assert receive(anna, "P0001", None, NOW).state == "complete"
    with pytest.raises(UnknownNameError, match="order 'P0002': unknown name"):
        receive(anna, "P0002", None, NOW)
    assert receive(carl, "P0002", None, NOW).state == "complete"
    item = receive(anna, "P0001", [GoodsReceived("GASKET", 2000, lot="N1")], NOW).lines[0].item
    kept = keep(anna, "P0001", Kept(item, one(1)), NOW)
    assert [(line.item, line.received, line.over) for line in kept.lines][-1] == (item, 1000, 0)


def test_both_ends_see_what_is_on_the_way_and_only_where_it_goes_does_it_arrive(
    group: Group,
) -> None:
    anna, carl = group.of("anna"), group.of("carl")
    number, due = send(anna, LotName("upper", "GASKET", "G2"), one(2), "canal", NOW)
    for engine in (anna, carl):
        with reading(engine) as session:
            (going,) = on_the_way(session)
            assert recall(session, "G2", ON).on_the_way == 2000
        assert (going.item, going.lot, going.source, going.to, going.quantity, going.due) == (
            "GASKET", "G2", "upper", "canal", 2000, due,
        )  # fmt: skip
    for engine in (group.of("rita"), group.of("stray")):
        with reading(engine) as session:
            assert len(on_the_way(session)) == (1 if "rita" in str(engine.url) else 0)
    with pytest.raises(KittingError, match=f"transfer {number} goes to canal, who records it"):
        arrive(anna, number, NOW)
    # What it is cannot be talked up on the way.
    with pytest.raises(StoreError, match="may not do that"), writing(carl) as session:
        session.execute(sql("UPDATE transfer SET quantity = 9000"))
    assert arrive(carl, number, NOW) == 2000
    with pytest.raises(KittingError, match=f"transfer {number} has arrived already"):
        arrive(carl, number, NOW)
    with reading(carl) as session:
        assert [
            (view.branch, view.lot, view.on_hand)
            for view in list_stock(session, None, ["GASKET"], ON)
        ] == [("canal", "G1", 4000), ("canal", "G2", 2000)]
        made = session.scalars(select(Lot.made_on).where(Lot.code == "G2")).one()
    with reading(anna) as session:
        assert session.scalars(select(Lot.made_on).where(Lot.code == "G2")).one() == made
    # Into the lot that is there by now, and one that is there already.
    number, _ = send(anna, LotName("upper", "GASKET", "G2"), one(1), "canal", NOW)
    assert arrive(carl, number, NOW) == 3000


def test_a_hold_and_another_age_go_with_goods_to_who_may_not_see_where_they_came_from(
    group: Group,
) -> None:
    anna, carl = group.of("anna"), group.of("carl")
    g1 = LotName("upper", "GASKET", "G1")
    with group.owner.begin() as connection:
        connection.execute(sql("UPDATE lot SET made_on = '2012-03-31' WHERE code = 'G1'"
                               " AND branch_id = (SELECT id FROM branch WHERE code = 'upper')"))  # fmt: skip
    numbers = [send(anna, g1, one(1), "canal", NOW)[0] for _ in range(2)]
    arrive(carl, numbers[0], NOW)
    held = put_on_hold(anna, g1, "recalled", NOW)
    assert [(going.to, going.quantity) for going in held.on_the_way] == [("canal", 1000)]
    with (
        pytest.raises(StoreError, match="may not write for another branch"),
        writing(anna) as session,
    ):
        session.execute(sql(f"SELECT held_at_origin({numbers[1]})"))
    arrive(carl, numbers[1], NOW)
    with reading(carl) as session:
        told = [arrived_as(session, number) for number in numbers]
        there = {
            view.lot: (view.on_hand, view.on_hold)
            for view in list_stock(session, None, ["GASKET"], ON)
        }
    # A hold said in one branch holds the batch in the other too.
    assert there == {"G1": (4000, "recalled"), "G1-2": (2000, "recalled")}
    assert [(one.lot, one.batch, one.on_hold) for one in told] == [
        ("G1-2", "G1", "recalled"), ("G1-2", "G1", "recalled"),
    ]  # fmt: skip
    assert audit(group.owner, NOW).fine


def test_a_list_that_names_another_branch_is_refused_whole(group: Group, tmp_path: Path) -> None:
    path = tmp_path / "stock.csv"
    path.write_text("branch,item,lot,quantity\nupper,RING,N1,3 each\ncanal,RING,N2,3 each\n")
    before = rows(group.owner, "lot")
    with pytest.raises(StoreError, match="may not write for another branch"):
        load_stock(group.of("anna"), [path], NOW)
    assert rows(group.owner, "lot") == before


def test_the_keeper_changes_catalogue_and_prices_and_no_stock(group: Group, tmp_path: Path) -> None:
    kim, anna = group.of("kim"), group.of("anna")
    source, _ = parse_catalogue("more.yaml", "items: [{code: CLIP, name: Clip, kind: wire-clip}]")
    assert source is not None
    for engine in (anna, group.of("rita")):
        with pytest.raises(StoreError) as caught:
            load_sources(engine, [source])
        assert str(caught.value) == (
            "this login may not do that (permission denied for table item). Nothing was recorded;"
            " look what each role may do"
        )
        assert caught.value.then == (next_step(Action.SET_UP_ROLES),)
    load_sources(kim, [source])
    assert ids(kim, "item", "code = 'CLIP'") != []
    path = tmp_path / "new.csv"
    path.write_text("item,part,price,pack,returns\nGASKET,Q-1,6.50 GBP,1 each,no\n")
    with pytest.raises(StoreError, match="permission denied for table offer"):
        load_prices(anna, "quandrel", path)
    load_prices(kim, "quandrel", path)
    found = tmp_path / "found.csv"
    found.write_text("on,unit,joint,position,item,found\n2026-01-05,grebe,a,groove,RING,passed\n")
    with pytest.raises(StoreError, match="may not write for another branch"):
        load_findings(anna, [found])
    assert load_findings(kim, [found]) == 1
    with pytest.raises(UnknownNameError, match="upper has no lot 'G1' of GASKET"):
        scrap(kim, LotName("upper", "GASKET", "G1"), one(1), NOW, "torn")
    # What was found before there were bookings is known to all.
    assert len(rows(anna, "finding")) == len(rows(group.of("carl"), "finding")) == 1


def test_who_kept_the_catalogue_keeps_who_wrote_it_after_a_migration(group: Group) -> None:
    config = alembic_config()
    with group.owner.begin() as connection:
        config.attributes["connection"] = connection
        command.downgrade(config, "0034")
    migrate(group.owner)
    text = "about: {author: A. Sample}\nitems: [{code: CLIP, name: Clip, kind: wire-clip}]"
    source, _ = parse_catalogue("shared.yaml", text)
    assert source is not None
    load_sources(group.of("kim"), [source])
    for login in ("anna", "rita"):
        assert len(rows(group.of(login), "catalogue_origin")) == 1
        assert len(rows(group.of(login), "origin_of")) == 1
        with pytest.raises(StoreError, match="permission denied"):
            load_sources(group.of(login), [source])


def test_a_reader_of_a_branch_plans_and_changes_nothing(group: Group) -> None:
    rita = group.of("rita")
    with reading(rita) as session:
        assert plan(session, PlanRequest("PELL 001", ("X3",), ON)).lines
    with pytest.raises(StoreError, match="permission denied for table lot"):
        count_lot(rita, LotName("upper", "GASKET", "G1"), one(1), NOW)
    with pytest.raises(StoreError, match="permission denied for"):
        book(rita, BookingRequest("PELL 001", ["X3"], ON, "upper"), NOW)


def test_who_worked_for_a_branch_and_does_no_longer_sees_nothing_of_it(group: Group) -> None:
    assert rows(group.of("anna"), "lot") != []
    assert set_member(group.owner, "anna", "upper", remove=True).branches == ()
    assert rows(group.of("anna"), "lot") == []
    with pytest.raises(KittingError, match="anna does not work for upper"):
        set_member(group.owner, "anna", "upper", remove=True)
    with pytest.raises(UnknownNameError, match="which branch"):
        book(group.of("anna"), BookingRequest("PELL 001", ["X3"], ON), NOW)
    set_member(group.owner, "anna", "canal")
    assert set_member(group.owner, "anna", "quay").branches == ("canal", "quay")
    assert rows(group.of("anna"), "lot") == rows(group.owner, "lot", of_branch("lot", "canal"))


def test_members_are_listed_with_roles_and_branches(group: Group) -> None:
    found = {m.login: (m.roles, m.branches, m.known) for m in members(group.owner)}
    assert found == {
        "anna": ((HAND,), ("upper",), True),
        "carl": ((HAND,), ("canal",), True),
        "kim": ((KEEPER,), (), True),
        "rita": ((READER,), ("upper",), True),
        "stray": ((HAND,), (), True),
    }
    with pytest.raises(UnknownNameError, match=r"login 'ana': unknown name. Did you mean anna"):
        set_member(group.owner, "ana", "upper")
    with pytest.raises(UnknownNameError, match=r"branch 'uper': unknown name. Did you mean upper"):
        set_member(group.owner, "anna", "uper")
    with pytest.raises(StoreError, match="may not do that"):
        set_member(group.of("anna"), "anna", "canal")


def privileges(engine: Engine) -> list[str]:
    with engine.connect() as connection:
        return sorted(
            connection.scalars(
                sql(
                    "SELECT relname || ' ' || coalesce(relacl::text, '') FROM pg_class"
                    " UNION ALL SELECT attrelid::regclass || '.' || attname || ' ' || attacl::text"
                    " FROM pg_attribute WHERE attacl IS NOT NULL"
                    " UNION ALL SELECT proname || ' ' || proacl::text FROM pg_proc"
                    " WHERE proacl IS NOT NULL"
                    " UNION ALL SELECT polname || ' ' || polrelid::regclass FROM pg_policy"
                )
            )
        )


def test_making_the_roles_again_changes_nothing_and_takes_back_what_was_added(
    group: Group,
) -> None:
    before = privileges(group.owner)
    assert [role.made for role in make_roles(group.owner)] == [False, False, False]
    assert privileges(group.owner) == before
    with group.owner.begin() as connection:
        connection.execute(sql(f"GRANT DELETE ON lot TO {HAND}"))
        connection.execute(sql(f"GRANT UPDATE (code) ON item TO {HAND}"))
    assert privileges(group.owner) != before
    make_roles(group.owner)
    assert privileges(group.owner) == before
    with pytest.raises(StoreError, match="may not do that"):
        make_roles(group.of("anna"))


def test_the_commands_make_roles_and_members_and_list_them(
    group: Group, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    # A command leaves its connections to the end of the process, which is not the end of the test.
    monkeypatch.setattr(store_module, "open_existing", lambda _url: group.owner)
    role_command(group.url)
    assert capsys.readouterr().out == (
        "kitting_reader (was there): reads the catalogue and prices, and what belongs to its"
        " branches\n"
        "kitting_hand (was there): reads as a reader; books, picks, counts, sends, orders, receives"
        " for its branches\n"
        "kitting_keeper (was there): reads as a reader; changes the catalogue, cars, toolboxes,"
        " suppliers and prices\n"
    )
    member_command("anna", "canal", False, group.url)
    assert capsys.readouterr().out == "anna: canal, upper\n"
    member_command("anna", "upper", True, group.url)
    assert capsys.readouterr().out == "anna: canal\n"
    with group.owner.begin() as connection:
        connection.execute(sql("DROP ROLE IF EXISTS newt"))
        connection.execute(sql("CREATE ROLE newt LOGIN"))
    member_command("newt", "quay", False, group.url)
    assert capsys.readouterr().err == (
        'newt has no role of the group yet: GRANT kitting_hand TO "newt"\n'
    )
    with group.owner.begin() as connection:
        connection.execute(sql("DROP ROLE newt"))
    list_command(group.url)
    told = [re.split(r"  +", line.strip()) for line in capsys.readouterr().out.splitlines()]
    assert told == [
        ["login", "roles", "branches"],
        ["anna", "kitting_hand", "canal"],
        ["carl", "kitting_hand", "canal"],
        ["kim", "kitting_keeper", "none"],
        ["newt (no such login any more)", "none", "quay"],
        ["rita", "kitting_reader", "upper"],
        ["stray", "kitting_hand", "none"],
    ]


def test_the_revision_goes_down_and_up_again_with_roles_made(group: Group) -> None:
    config = alembic_config()
    with group.owner.begin() as connection:
        config.attributes["connection"] = connection
        command.downgrade(config, "0004")
        policies = connection.scalar(sql("SELECT count(*) FROM pg_policy"))
        apart = connection.scalar(sql("SELECT count(*) FROM pg_class WHERE relrowsecurity"))
    assert (policies, apart) == (0, 0)
    migrate(group.owner)
    make_roles(group.owner)
    assert rows(group.of("anna"), "lot") == []
    set_member(group.owner, "anna", "upper")
    assert rows(group.of("anna"), "lot") == rows(group.owner, "lot", of_branch("lot", "upper"))


def test_who_takes_bookings_adds_cars_and_calls_their_owners_and_nobody_else_reads_them(
    group: Group,
) -> None:
    """As the roles are made, and as the migration leaves those of a group that was there before."""
    anna, config = group.of("anna"), alembic_config()
    with group.owner.connect() as connection:
        model = connection.scalar(sql("SELECT code FROM model"))
    for number in (1, 2):
        car = f"NEW {number}"
        add_car(anna, CarEntry(car, model=model), NOW)
        note_car(anna, car, "thread repaired", "Anna", NOW)
        set_owner(anna, car, "Zarathea Quillfeather", "00 555 7719 004", NOW)
        assert show_owner(group.of("carl"), car).name == "Zarathea Quillfeather"
        for login in ("rita", "kim"):
            with reading(group.of(login)) as session:
                assert [one.text for one in car_view(session, car).notes] == ["thread repaired"]
            with pytest.raises(StoreError, match="may not"):
                show_owner(group.of(login), car)
        note_car(group.of("kim"), car, "seen by kim", "Kim", NOW)
        forget_owner(anna, car)
        if number == 1:
            with group.owner.begin() as connection:
                config.attributes["connection"] = connection
                command.downgrade(config, "0017")
            migrate(group.owner)


def test_a_file_has_no_roles_and_says_so(lite: Engine) -> None:
    for ask in (
        lambda: make_roles(lite),
        lambda: set_member(lite, "anna", "upper"),
        lambda: members(lite),
    ):
        with pytest.raises(StoreError, match="roles and members belong to a PostgreSQL server"):
            ask()


def test_a_hand_opens_the_database_and_queues_with_other_writers(
    group: Group, monkeypatch: pytest.MonkeyPatch
) -> None:
    anna = group.of("anna")
    opened = open_existing(anna.url.render_as_string(hide_password=False))
    assert current_revision(opened) == current_revision(group.owner)
    with writing(group.owner) as session:
        session.execute(sql("SELECT 1"))
        monkeypatch.setattr(store_module, "BUSY_TIMEOUT_MS", 200)
        with pytest.raises(StoreError, match="others were writing to the database for"):
            count_lot(anna, LotName("upper", "GASKET", "G1"), one(1), NOW)
    opened.dispose()


def test_books_of_a_group_agree_whoever_wrote_them(group: Group) -> None:
    for login, branch in (("anna", "upper"), ("carl", "canal")):
        engine = group.of(login)
        number = book(engine, BookingRequest("PELL 001", ["X3"], ON, branch), NOW).number
        pick(engine, number, NOW)
    with reading(group.owner) as session:
        assert session.scalars(select(Booking.number).order_by(Booking.id)).all() == [
            "B0001",
            "B0002",
        ]
        balances = {lot.id: lot.on_hand for lot in session.scalars(select(Lot))}
        for movement in session.scalars(select(Movement)):
            balances[movement.lot_id] -= movement.quantity
    assert set(balances.values()) == {0}
