"""Goods in of an item on several lines of an order: by the pack and singly."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path

import pytest
from sqlalchemy import Engine

from helpers import NOW, assert_ledger, balances, booked, load, needed, priced, shop
from kitting.errors import KittingError
from kitting.facts.money import Money
from kitting.facts.units import Quantity
from kitting.facts.words import ClaimKind
from kitting.services.bookings.booking import renew_promises
from kitting.services.purchasing.by_hand import HandOrder, place_by_hand
from kitting.services.purchasing.claims import NewClaim, claim
from kitting.services.purchasing.corrections import take_back_receipt
from kitting.services.purchasing.goods_in import GoodsReceived, receive
from kitting.services.upkeep.audit import audit
from kitting.views.orders import OrderView

TUESDAY = datetime(2026, 4, 7, 9, 0)  # noqa: DTZ001  (wall clock of the garage)
FRESH = date(2026, 3, 31)


@pytest.fixture
def two_lines(store: Engine, tmp_path: Path) -> Engine:
    """P0001 of RING for B0001, which needs three: one singly, and a pack of two (invented)."""
    load(store, shop({"X1": {"RING": 3}}))
    priced(store, tmp_path, "prompt", "P-1,RING,1.00 GBP,1 each", "P-2,RING,1.80 GBP,2 each")
    booked(store, "X1", on=date(2026, 6, 1))
    place_by_hand(store, HandOrder("prompt", {"P-1": 1, "P-2": 1}, "yard", ("B0001",)), NOW)
    return store


def came(engine: Engine, good: int, damaged: int = 0, wrong: int = 0,
         part: str | None = None) -> OrderView:  # fmt: skip
    goods = GoodsReceived(
        "RING", good * 1000, damaged * 1000, wrong * 1000, lot="R1", made=FRESH, part=part
    )
    return receive(engine, "P0001", [goods], TUESDAY)


def lines(view: OrderView) -> list[tuple[str, int, int, int]]:
    """Of each line its part, in pieces what was ordered, came good, and will not come."""
    return [
        (line.part, line.ordered // 1000, line.received // 1000, line.lost // 1000)
        for line in view.lines
    ]


def test_what_came_damaged_is_lacking_of_the_line_that_lacks_it(two_lines: Engine) -> None:
    """Nobody waits for pieces that came unusable, whichever line they are of."""
    came(two_lines, 1)
    view = came(two_lines, 0, damaged=2)
    assert lines(view) == [("P-1", 1, 1, 0), ("P-2", 2, 0, 2)]
    ring = needed(renew_promises(two_lines, "B0001"), "RING")
    assert (ring.on_shelf, ring.coming, ring.short) == (1000, 0, 2000)
    assert_ledger(two_lines)
    assert audit(two_lines, TUESDAY).fine


def test_damaged_and_wrong_pieces_are_spread_over_the_lines(two_lines: Engine) -> None:
    view = came(two_lines, 0, damaged=2, wrong=1)
    assert lines(view) == [("P-1", 1, 0, 1), ("P-2", 2, 0, 2)]
    assert [(one.damaged, one.wrong) for one in view.lines] == [(1000, 0), (1000, 1000)]


def test_the_line_of_a_named_part_comes_first(two_lines: Engine) -> None:
    view = came(two_lines, 0, damaged=2, part="P-2")
    assert lines(view) == [("P-1", 1, 0, 0), ("P-2", 2, 0, 2)]


def test_what_is_sent_once_more_is_of_the_line_that_lacks_it(two_lines: Engine) -> None:
    """It is none of what came too much, though the last line is full."""
    came(two_lines, 0, damaged=1)
    came(two_lines, 2)
    view = came(two_lines, 1)
    assert lines(view) == [("P-1", 1, 1, 0), ("P-2", 2, 2, 0)]
    assert [line.over for line in view.lines] == [0, 0]
    assert_ledger(two_lines)


def test_more_than_all_lines_lack_stays_with_the_damaged(two_lines: Engine) -> None:
    view = came(two_lines, 1, damaged=5)
    assert lines(view) == [("P-1", 1, 1, 0), ("P-2", 2, 0, 2)]
    assert [line.damaged for line in view.lines] == [0, 5000]


def test_what_is_of_two_lines_is_claimed_of_each(two_lines: Engine) -> None:
    """One singly for £1.00, and the pack of two for £1.80."""
    came(two_lines, 0, damaged=3)

    def back(much: int) -> OrderView:
        new = NewClaim(ClaimKind.RETURN, "RING", Quantity(much * 1000, "each"), "bent")
        return claim(two_lines, "P0001", new, TUESDAY)

    with pytest.raises(KittingError, match="several lines of the order, which have 1 and 2"):
        back(4)
    told = [(one.line, one.quantity, one.expected) for one in back(3).claims]
    assert told == [(1, 1000, Money(100, "GBP")), (2, 2000, Money(180, "GBP"))]
    with pytest.raises(KittingError, match="0 came damaged or as another part"):
        back(1)


def test_what_one_line_has_left_is_claimed_of_that_line(two_lines: Engine) -> None:
    came(two_lines, 0, damaged=3)
    new = NewClaim(ClaimKind.RETURN, "RING", Quantity(2000, "each"), "bent")
    (one,) = claim(two_lines, "P0001", new, TUESDAY).claims
    assert (one.line, one.quantity, one.expected) == (2, 2000, Money(180, "GBP"))


def test_a_return_of_a_lot_of_two_lines_leaves_the_shelf_once(
    store: Engine, tmp_path: Path
) -> None:
    load(store, shop({"X1": {"RING": 3}}))
    priced(store, tmp_path, "prompt", "P-1,RING,1.00 GBP,1 each,yes", "P-2,RING,1.80 GBP,2 each,yes",
           heading="part,item,price,pack,returns")  # fmt: skip
    place_by_hand(store, HandOrder("prompt", {"P-1": 1, "P-2": 1}, "yard"), NOW)
    came(store, 3)
    new = NewClaim(ClaimKind.RETURN, "RING", Quantity(3000, "each"), "too many", "R1")
    view = claim(store, "P0001", new, TUESDAY)
    assert [(one.line, one.quantity) for one in view.claims] == [(1, 1000), (2, 2000)]
    assert_ledger(store)
    assert audit(store, TUESDAY).fine


def test_what_filled_two_lines_at_once_is_taken_back_whole(two_lines: Engine) -> None:
    """Taken back and received anew, only what really came lies there."""
    came(two_lines, 3)
    view = take_back_receipt(two_lines, "P0001", "RING", "two came", TUESDAY)
    assert lines(view) == [("P-1", 1, 0, 0), ("P-2", 2, 0, 0)]
    assert balances(two_lines) == {("yard", "RING", "R1"): (0, 0)}
    ring = needed(renew_promises(two_lines, "B0001"), "RING")
    assert (ring.on_shelf, ring.coming, ring.short) == (0, 3000, 0)
    assert lines(came(two_lines, 2)) == [("P-1", 1, 1, 0), ("P-2", 2, 1, 0)]
    assert balances(two_lines) == {("yard", "RING", "R1"): (2000, 2000)}
    assert_ledger(two_lines)
    assert audit(two_lines, TUESDAY).fine


def test_of_two_packets_of_one_moment_the_newest_is_taken_back(two_lines: Engine) -> None:
    came(two_lines, 1)
    goods = GoodsReceived("RING", 2000, lot="R2", made=FRESH)
    receive(two_lines, "P0001", [goods], TUESDAY)
    view = take_back_receipt(two_lines, "P0001", "RING", "not there", TUESDAY)
    assert lines(view) == [("P-1", 1, 1, 0), ("P-2", 2, 0, 0)]
    assert [(one.lot, one.good, one.lines) for one in view.receipts] == [("R1", 1000, (1,))]


def test_a_receipt_of_two_lines_with_pieces_too_much_and_unusable_is_shown_as_one(
    two_lines: Engine,
) -> None:
    (one,) = came(two_lines, 4, damaged=1).receipts
    assert (one.lines, one.good, one.over, one.damaged) == ((1, 2), 3000, 1000, 1000)
    assert (one.lot, one.over_lot) == ("R1", "R1-OVER")
    view = take_back_receipt(two_lines, "P0001", "RING", "another order", TUESDAY)
    assert view.receipts == ()
    assert set(balances(two_lines).values()) == {(0, 0)}
