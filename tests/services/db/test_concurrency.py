"""Several processes at the same lots: nothing is promised twice, every refusal is explained."""

from __future__ import annotations

from collections import Counter, defaultdict
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import pytest
import racing
from processes import processes
from racing import NOW, ON, Outcome
from sqlalchemy import Engine, func, select
from sqlalchemy import text as sql

from conftest import Templates, opened
from helpers import UNCOUNTED, said
from kitting import store as store_module
from kitting.errors import KittingError, StoreError
from kitting.facts.units import Quantity
from kitting.facts.words import BookingState
from kitting.services.bookings.booking import BookingRequest, book, step_to
from kitting.services.bookings.close import Closing, close
from kitting.services.bookings.pick import cancel, pick
from kitting.services.purchasing.goods_in import GoodsReceived, receive
from kitting.services.purchasing.orders import place
from kitting.services.stock.holds import put_on_hold, release
from kitting.services.stock.ledger import TakenError, set_aside
from kitting.services.stock.shelves import LotName, count_lot
from kitting.services.stock.transfers import send
from kitting.store import reading, writing
from kitting.tables.bookings import Booking, Promise
from kitting.tables.stock import Lot, Movement, Transfer
from kitting.tables.supply import OrderLine, PurchaseOrder
from kitting.wording.bookings import elsewhere_text

WORKERS = 8
EACH = 25
ROUNDS = 5


def url_of(engine: Engine) -> str:
    return engine.url.render_as_string(hide_password=False)


def pool(workers: int) -> ProcessPoolExecutor:
    context = processes()
    return ProcessPoolExecutor(
        workers, mp_context=context, initializer=racing.meet, initargs=(context.Barrier(workers),)
    )


def audit(engine: Engine) -> None:
    """The books agree with themselves: balances, promises, kits, arrivals, transfers."""
    with reading(engine) as session:
        waiting = dict(
            session.execute(
                select(Promise.lot_id, func.sum(Promise.waiting)).group_by(Promise.lot_id)
            ).all()
        )
        moved: dict[int, list[Movement]] = defaultdict(list)
        for movement in session.scalars(select(Movement).order_by(Movement.id)):
            moved[movement.lot_id].append(movement)
        for lot in session.scalars(select(Lot)):
            assert 0 <= lot.promised <= lot.on_hand, lot.code
            assert lot.promised == waiting.get(lot.id, 0), lot.code
            balance = 0
            for movement in moved[lot.id]:
                balance += movement.quantity
                assert movement.balance == balance, (lot.code, movement.id)
            assert lot.on_hand == balance, lot.code
        arrivals = dict(
            session.execute(
                select(Promise.order_line_id, func.sum(Promise.waiting)).group_by(
                    Promise.order_line_id
                )
            ).all()
        )
        for line in session.scalars(select(OrderLine)):
            assert line.promised == arrivals.get(line.id, 0), line.id
            assert line.received + line.lost + line.promised <= line.quantity, line.id
        # Nobody is promised what lies in another branch, or comes to it.
        assert not session.execute(
            select(Booking.number, Lot.code)
            .join(Promise, Promise.booking_id == Booking.id)
            .join(Lot, Promise.lot_id == Lot.id)
            .where(Lot.branch_id != Booking.branch_id)
        ).all()
        assert not session.execute(
            select(Booking.number, PurchaseOrder.number)
            .join(Promise, Promise.booking_id == Booking.id)
            .join(OrderLine, Promise.order_line_id == OrderLine.id)
            .join(PurchaseOrder, OrderLine.order_id == PurchaseOrder.id)
            .where(PurchaseOrder.branch_id != Booking.branch_id)
        ).all()
        kits = dict(
            session.execute(
                select(Movement.booking_id, -func.sum(Movement.quantity))
                .where(Movement.kind.in_(("picked", "put back")))
                .group_by(Movement.booking_id)
            ).all()
        )
        told = dict(
            session.execute(
                select(Promise.booking_id, func.sum(Promise.picked - Promise.returned)).group_by(
                    Promise.booking_id
                )
            ).all()
        )
        assert {k: v for k, v in kits.items() if v} == {k: v for k, v in told.items() if v}
        sums = dict(
            session.execute(
                select(Movement.kind, func.sum(Movement.quantity)).group_by(Movement.kind)
            ).all()
        )
        sent = session.scalar(select(func.coalesce(func.sum(Transfer.quantity), 0)))
        there = session.scalar(
            select(func.coalesce(func.sum(Transfer.quantity), 0)).where(
                Transfer.arrived_at.is_not(None)
            )
        )
        assert (-sums.get("sent", 0), sums.get("arrived", 0)) == (sent, there)


def test_eight_processes_at_the_same_lots_leave_books_that_agree(yards: Engine) -> None:
    url = url_of(yards)
    names = {operation.__name__ for operation in racing.OPERATIONS}
    outcomes: list[Outcome] = []
    # What little lies there is quarrelled about: a round may leave one of the rarer operations
    # nothing to do. Nothing here is agreed upon because nothing happened.
    for start in range(0, ROUNDS * WORKERS, WORKERS):
        seeds = range(start, start + WORKERS)
        with pool(WORKERS) as workers:
            asked = [workers.submit(racing.work, url, seed, EACH) for seed in seeds]
            outcomes += [one for future in asked for one in future.result(300)]
        if names == {one.operation for one in outcomes if one.ending == "done"}:
            break
    assert len(outcomes) % (WORKERS * EACH) == 0
    assert [one for one in outcomes if one.ending == "broken"] == []
    refused = [one for one in outcomes if one.ending == "refused"]
    assert [one for one in refused if not any(t in one.message for t in one.things)] == []
    endings = Counter((one.operation, one.ending) for one in outcomes)
    assert names == {name for name, ending in endings if ending == "done"}
    assert refused
    # Nobody drew a number that another has, and none was left out.
    booked = endings["book", "done"]
    assert [*racing.numbers_of(yards, Booking.number)] == [
        f"B{n:04d}" for n in range(1, booked + 1)
    ]
    orders = racing.numbers_of(yards, PurchaseOrder.number)
    assert [*orders] == [f"P{n:04d}" for n in range(1, len(orders) + 1)]
    audit(yards)


def one_gasket(engine: Engine) -> None:
    """Every booking is cancelled; one gasket is left in the whole branch, free for all."""
    for number in racing.numbers_of(engine, Booking.number):
        with reading(engine) as session:
            state = session.scalar(select(Booking.state).where(Booking.number == number))
        if state == "provisional":
            cancel(engine, number, NOW)
    for lot, left in (("G1", 1000), ("G2", 0)):
        count_lot(engine, LotName("upper", "GASKET", lot), Quantity(left, "each"), NOW)


@pytest.mark.parametrize("how", ["book", "promise"])
def test_of_two_that_want_the_last_gasket_one_gets_it_and_the_other_is_told_who(
    yards: Engine, how: str
) -> None:
    url = url_of(yards)
    with pool(2) as workers:
        for _ in range(5):
            one_gasket(yards)
            if how == "book":
                asked = [workers.submit(racing.book_last, url) for _ in range(2)]
            else:
                put_on_hold(yards, LotName("upper", "GASKET", "G1"), "being looked at", NOW)
                numbers = [
                    book(
                        yards, BookingRequest("PELL 001", ["X2"], ON, "upper", again=True), NOW
                    ).number
                    for _ in range(2)
                ]
                release(yards, LotName("upper", "GASKET", "G1"), NOW)
                asked = [workers.submit(racing.promise_last, url, number) for number in numbers]
            views = [future.result(300) for future in asked]
            winner, loser = sorted(views, key=lambda view: not view.ready)
            (had,), (lacked,) = winner.needs, loser.needs
            assert (had.item, had.on_shelf, had.short) == ("GASKET", 1000, 0)
            assert (lacked.item, lacked.on_shelf, lacked.short) == ("GASKET", 0, 1000)
            assert loser.ready is False
            assert said(loser.lacking) == ["GASKET: 1 short"]
            assert [elsewhere_text(found, "each") for found in lacked.elsewhere] == [
                f"1 promised to {winner.number}", "4 free in canal",
            ]  # fmt: skip
    audit(yards)


def test_who_waits_too_long_for_other_writers_is_told_so(
    yards: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(store_module, "BUSY_TIMEOUT_MS", 200)
    other = store_module.make_engine(url_of(yards))
    with writing(yards) as session:
        session.execute(sql("SELECT 1"))
        with pytest.raises(StoreError) as caught:
            send(other, LotName("upper", "GASKET", "G1"), Quantity(1000, "each"), "canal", NOW)
    other.dispose()
    assert str(caught.value) == (
        "others were writing to the database for 0.2 seconds. Nothing was recorded; try again"
    )


def test_a_reader_sees_one_state_while_others_write(yards: Engine) -> None:
    wanted = select(Lot.on_hand).where(Lot.code == "G2")
    with reading(yards) as session:
        before = session.scalar(wanted)
        count_lot(yards, LotName("upper", "GASKET", "G2"), Quantity(2000, "each"), NOW)
        assert (before, session.scalar(wanted)) == (5000, 5000)
    with reading(yards) as session:
        assert session.scalar(wanted) == 2000


def test_what_the_database_itself_finds_too_long_is_told_without_a_traceback(
    templates: Templates, tmp_path: Path
) -> None:
    """SQLite keeps no lengths; PostgreSQL does."""
    for engine in opened(templates, "postgresql", "empty", tmp_path):
        racing.furnish(engine, tmp_path)
        with pytest.raises(StoreError) as caught:
            put_on_hold(engine, LotName("upper", "GASKET", "G1"), "w" * 201, NOW)
    assert str(caught.value) == (
        "the database refused the change: value too long for type character varying(200)."
        " Nothing was recorded; write it shorter"
    )


def ordered_gasket(engine: Engine, folder: Path) -> tuple[str, str]:
    """A booking that lacks a gasket, and the order of one gasket for it."""
    racing.furnish(engine, folder)
    one_gasket(engine)
    count_lot(engine, LotName("upper", "GASKET", "G1"), Quantity(0, "each"), NOW)
    number = book(engine, BookingRequest("PELL 001", ["X2"], ON, "upper", again=True), NOW).number
    (order,) = place(engine, [number], NOW).orders
    return number, order


def test_two_packets_of_one_item_are_judged_one_after_the_other(
    lite: Engine, tmp_path: Path
) -> None:
    _, order = ordered_gasket(lite, tmp_path)
    long = "L" * 38
    came = [GoodsReceived("GASKET", 1000, lot=long), GoodsReceived("GASKET", 2000, lot=long)]
    view = receive(lite, order, came, NOW)
    assert (view.state, view.lines[0].received) == ("complete", 1000)
    # More still, on another day: it lies with what was too much before.
    receive(lite, order, [GoodsReceived("GASKET", 1000, lot=long)], NOW)
    with reading(lite) as session:
        lots = session.execute(
            select(Lot.code, Lot.on_hand, Lot.promised, Lot.held.is_(None)).where(
                Lot.code.startswith("LLL")
            )
        ).all()
    assert sorted(map(tuple, lots)) == [
        ("L" * 35 + "-OVER", 3000, 0, False),
        (long, 1000, 1000, True),
    ]
    audit(lite)


@pytest.mark.parametrize(
    ("came", "told"),
    [
        (
            GoodsReceived("GASKET", 1000, lot="L" * 41),
            f"GASKET: lot '{'L' * 41}' is longer than 40 characters",
        ),
        (
            GoodsReceived("GASKET", 1000, bin="B" * 21),
            f"GASKET: bin '{'B' * 21}' is longer than 20 characters",
        ),
    ],
)
def test_a_lot_or_bin_that_is_too_long_is_refused_by_name(
    lite: Engine, tmp_path: Path, came: GoodsReceived, told: str
) -> None:
    _, order = ordered_gasket(lite, tmp_path)
    with pytest.raises(KittingError) as caught:
        receive(lite, order, [came], NOW)
    assert str(caught.value) == told


def test_less_than_nothing_does_not_come_back_into_a_lot(lite_yards: Engine) -> None:
    number = book(
        lite_yards, BookingRequest("PELL 001", ["X2"], ON, "upper", again=True), NOW
    ).number
    pick(lite_yards, number, NOW)
    step_to(lite_yards, number, BookingState.CONFIRMED)
    step_to(lite_yards, number, BookingState.ON_THE_RAMP)
    with pytest.raises(KittingError) as less:
        close(lite_yards, number, Closing({"GASKET": -1000}, {}), NOW, despite=UNCOUNTED)
    assert str(less.value) == "GASKET: the amount must not be negative. Count again"
    audit(lite_yards)


def test_a_promise_of_what_is_held_or_no_longer_free_names_the_lot_and_why(yards: Engine) -> None:
    one_gasket(yards)
    number = book(yards, BookingRequest("PELL 001", ["X2"], ON, "upper", again=True), NOW).number

    def refused() -> str:
        with writing(yards) as session:
            lot = session.scalars(
                select(Lot).where(Lot.code == "G1").order_by(Lot.branch_id)
            ).first()
            assert lot is not None
            booking = session.scalars(select(Booking).where(Booking.number == number)).one()
            with pytest.raises(TakenError) as caught:
                set_aside(session, booking.id, lot.item_id, lot.id, 1000)
        return str(caught.value)

    assert refused() == "lot G1: 1 asked for, 0 free (1 of 1 promised)"
    put_on_hold(yards, LotName("upper", "GASKET", "G1"), "torn packet", NOW)
    assert refused() == "lot G1 is on hold: torn packet. Release it before it is promised"
