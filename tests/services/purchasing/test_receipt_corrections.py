"""Event "correct a receipt": a counter-entry, as long as what came still lies in its lot."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path

import pytest
from sqlalchemy import Engine, select

from helpers import NOW, assert_ledger, balances, booked, load, needed, priced, shop
from kitting.cli.actions import command
from kitting.errors import KittingError, UnknownNameError
from kitting.facts.money import Money
from kitting.facts.units import Quantity
from kitting.facts.words import ClaimKind
from kitting.services.bookings.pick import cancel, pick
from kitting.services.bookings.states import find_booking
from kitting.services.bookings.view import booking_view
from kitting.services.purchasing.announcements import Announcement, announce
from kitting.services.purchasing.claims import NewClaim, claim
from kitting.services.purchasing.corrections import take_back_receipt
from kitting.services.purchasing.credit_notes import Credit, credit
from kitting.services.purchasing.goods_in import GoodsReceived, receive
from kitting.services.purchasing.order_view import find_order, order_view
from kitting.services.purchasing.orders import place
from kitting.services.purchasing.supplier_terms import read_suppliers
from kitting.services.stock.shelves import LotName, count_lot
from kitting.services.upkeep.audit import audit
from kitting.store import reading
from kitting.tables.stock import Movement
from kitting.views.bookings import NeededView
from kitting.views.orders import OrderView

TUESDAY = datetime(2026, 4, 7, 9, 0)  # noqa: DTZ001  (wall clock of the garage)
FRESH = date(2026, 3, 31)


@pytest.fixture
def ordered(store: Engine, tmp_path: Path) -> Engine:
    """P0001 of ten rings, for B0001 (6) and B0002 (4)."""
    load(store, shop({"X1": {"RING": 6}, "X2": {"RING": 4}}))
    priced(store, tmp_path, "prompt", "P-R,RING,0.40 GBP,1 each,yes",
           heading="part,item,price,pack,returns")  # fmt: skip
    numbers = [booked(store, f"X{no}", on=date(2026, 6, no)).number for no in (1, 2)]
    assert place(store, numbers, NOW).orders == ("P0001",)
    return store


def came(engine: Engine, good: int, damaged: int = 0, lot: str = "R1") -> OrderView:
    goods = GoodsReceived("RING", good * 1000, damaged * 1000, made=FRESH, lot=lot)
    return receive(engine, "P0001", [goods], TUESDAY)


def undone(engine: Engine, why: str = "miscounted", token: str | None = None) -> OrderView:
    return take_back_receipt(engine, "P0001", "RING", why, TUESDAY, token)


def ring(engine: Engine, number: str) -> NeededView:
    with reading(engine) as session:
        return needed(booking_view(session, find_booking(session, number), TUESDAY.date()), "RING")


def test_it_is_as_if_it_had_not_come_and_both_entries_stay(ordered: Engine) -> None:
    with reading(ordered) as session:
        before = order_view(session, find_order(session, "P0001"), TUESDAY.date())
    came(ordered, 9, damaged=1)
    assert undone(ordered) == before
    assert balances(ordered) == {("yard", "RING", "R1"): (0, 0)}
    for number, amount in (("B0001", 6000), ("B0002", 4000)):
        assert (ring(ordered, number).coming, ring(ordered, number).on_shelf) == (amount, 0)
    with reading(ordered) as session:
        moves = session.execute(select(Movement.quantity, Movement.note).order_by(Movement.id))
        assert moves.all() == [
            (9000, "P0001"), (-9000, "P0001, receipt taken back: miscounted"),
        ]  # fmt: skip
    assert_ledger(ordered)
    assert audit(ordered, TUESDAY).fine
    came(ordered, 10)
    assert ring(ordered, "B0002").on_shelf == 4000
    assert audit(ordered, TUESDAY).fine


def test_only_the_newest_receipt_is_taken_back_then_the_one_before(ordered: Engine) -> None:
    came(ordered, 6, lot="R1")
    came(ordered, 4, lot="R2")
    undone(ordered)
    assert balances(ordered) == {
        ("yard", "RING", "R1"): (6000, 6000),
        ("yard", "RING", "R2"): (0, 0),
    }
    undone(ordered)
    assert balances(ordered)["yard", "RING", "R1"] == (0, 0)
    with pytest.raises(UnknownNameError, match="nothing came of 'RING'"):
        undone(ordered)


def test_what_came_too_much_is_taken_back_with_it(ordered: Engine) -> None:
    came(ordered, 12)
    assert balances(ordered)["yard", "RING", "R1-OVER"] == (2000, 0)
    undone(ordered)
    assert balances(ordered)["yard", "RING", "R1-OVER"] == (0, 0)
    assert audit(ordered, TUESDAY).fine


def test_of_what_was_used_already_it_is_refused_with_the_way(ordered: Engine) -> None:
    came(ordered, 10)
    pick(ordered, "B0001", TUESDAY)
    with pytest.raises(
        KittingError,
        match=r"of lot R1 4 still lie there, 10 came\. It is in the kits of B0001: put",
    ):
        undone(ordered)
    assert balances(ordered) == {("yard", "RING", "R1"): (4000, 4000)}
    cancel(ordered, "B0001", TUESDAY)
    undone(ordered)
    assert balances(ordered) == {("yard", "RING", "R1"): (0, 0)}
    assert audit(ordered, TUESDAY).fine


def test_after_a_replacement_was_announced_it_is_refused(ordered: Engine) -> None:
    came(ordered, 8, damaged=2)
    again = Announcement(date(2026, 4, 13), "RING", Quantity(2000, "each"))
    announce(ordered, "P0001", again, TUESDAY)
    with pytest.raises(KittingError, match="sent once more"):
        undone(ordered)


def test_a_reason_is_asked_for_and_a_receipt_taken_back_teaches_no_lead_time(
    ordered: Engine,
) -> None:
    came(ordered, 10)
    with pytest.raises(KittingError, match="a reason is required"):
        undone(ordered, " ")
    with reading(ordered) as session:
        supplier = find_order(session, "P0001").supplier_id
        assert read_suppliers(session, [supplier], NOW)[supplier].terms.lead.observed
    undone(ordered)
    with reading(ordered) as session:
        assert not read_suppliers(session, [supplier], NOW)[supplier].terms.lead.observed


def test_sent_twice_one_receipt_is_taken_back(ordered: Engine) -> None:
    came(ordered, 6, lot="R1")
    came(ordered, 4, lot="R2")
    assert undone(ordered, token="t") == undone(ordered, token="t")
    assert balances(ordered)["yard", "RING", "R1"] == (6000, 6000)


def claimed(engine: Engine, kind: ClaimKind, much: int, lot: str | None = None) -> OrderView:
    new = NewClaim(kind, "RING", Quantity(much * 1000, "each"), "cracked", lot)
    return claim(engine, "P0001", new, TUESDAY)


def test_what_went_back_damaged_came_so_its_receipt_stands(ordered: Engine) -> None:
    came(ordered, 8, damaged=2)
    claimed(ordered, ClaimKind.RETURN, 2)
    credit(ordered, "P0001", Credit(1, Money(80, "GBP"), "CN-1"), TUESDAY)
    with pytest.raises(KittingError, match=r"claim 1 \(return of 2, credited\)") as refused:
        undone(ordered)
    assert [command(step) for step in refused.value.then] == [
        'kitting stock count yard RING R1 "8 each"'
    ]
    assert balances(ordered)["yard", "RING", "R1"] == (8000, 8000)


def test_of_two_receipts_the_claim_is_of_the_one_that_is_left(ordered: Engine) -> None:
    """What was not claimed may be taken back; the last that bears the claim may not."""
    came(ordered, 3, damaged=1, lot="R1")
    came(ordered, 3, damaged=1, lot="R2")
    claimed(ordered, ClaimKind.RETURN, 1)
    undone(ordered)
    with pytest.raises(KittingError, match=r"claim 1 \(return of 1, not answered yet\)"):
        undone(ordered)


@pytest.mark.parametrize("kind", [ClaimKind.RETURN, ClaimKind.WARRANTY])
def test_a_lot_that_other_goods_fill_up_hides_no_claim(ordered: Engine, kind: ClaimKind) -> None:
    came(ordered, 10)
    for number in ("B0001", "B0002"):
        cancel(ordered, number, TUESDAY)
    claimed(ordered, kind, 4, "R1")
    count_lot(ordered, LotName("yard", "RING", "R1"), Quantity(30_000, "each"), TUESDAY)
    with pytest.raises(KittingError, match=f"claim 1 \\({kind} of 4, not answered yet"):
        undone(ordered)


def test_what_a_supplier_refused_binds_nothing(ordered: Engine) -> None:
    came(ordered, 8, damaged=2)
    claimed(ordered, ClaimKind.RETURN, 2)
    credit(ordered, "P0001", Credit(1, None, "CN-1", "not from us"), TUESDAY)
    undone(ordered)
    assert balances(ordered)["yard", "RING", "R1"] == (0, 0)


def test_what_went_back_of_what_came_too_much_came(ordered: Engine) -> None:
    came(ordered, 12)
    claimed(ordered, ClaimKind.RETURN, 2, "R1-OVER")
    with pytest.raises(KittingError, match="claim 1"):
        undone(ordered)
    assert balances(ordered)["yard", "RING", "R1"] == (10_000, 10_000)
