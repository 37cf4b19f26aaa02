"""Event "substitute delivered": taken over with its verdict, or refused where it would be NO."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path

import pytest
from sqlalchemy import Engine

from helpers import NOW, assert_ledger, balances, booked, load, needed, priced, shop, stock
from kitting.errors import KittingError
from kitting.facts.money import Money
from kitting.facts.units import Quantity
from kitting.facts.verdicts import Aspect, Verdict
from kitting.facts.words import ClaimKind
from kitting.services.bookings.states import find_booking
from kitting.services.bookings.view import booking_view
from kitting.services.purchasing.claims import NewClaim, claim
from kitting.services.purchasing.corrections import take_back_receipt
from kitting.services.purchasing.credit_notes import Credit, credit
from kitting.services.purchasing.goods_in import GoodsReceived, receive
from kitting.services.purchasing.order_view import find_order, order_view
from kitting.services.purchasing.orders import place
from kitting.services.purchasing.substitutes import receive_substitute
from kitting.services.upkeep.audit import audit
from kitting.store import reading
from kitting.views.bookings import BookingView
from kitting.views.orders import OrderView
from kitting.wording.orders import taken_over

TUESDAY = datetime(2026, 4, 7, 9, 0)  # noqa: DTZ001  (wall clock of the garage)
FRESH = date(2026, 3, 31)
# Invented; NBR stands diesel oil, EPDM does not (kitting/facts/compatibility.csv).
CHOICE = """
  - {code: FIRST, name: F, kind: o-ring, elastomer: HNBR, alternatives: [{item: SECOND}, {item: WRONG}]}
  - {code: SECOND, name: S, kind: o-ring, elastomer: NBR}
  - {code: WRONG, name: W, kind: o-ring, elastomer: EPDM}
  - {code: OTHER, name: O, kind: o-ring, elastomer: HNBR}
"""


@pytest.fixture
def ordered(store: Engine, tmp_path: Path) -> Engine:
    """P0001 of five FIRST, for B0001 (2) and B0002 (3)."""
    load(store, shop({"X1": {"FIRST": 2}, "X2": {"FIRST": 3}}, items=CHOICE))
    priced(store, tmp_path, "prompt", "P-F,FIRST,0.40 GBP,1 each")
    numbers = [booked(store, f"X{no}", on=date(2026, 6, no)).number for no in (1, 2)]
    assert place(store, numbers, NOW).orders == ("P0001",)
    return store


def came(
    engine: Engine, instead: str, good: int, token: str | None = None, **more: int
) -> OrderView:
    goods = GoodsReceived("FIRST", good * 1000, made=FRESH, lot="S1", **more)
    return receive_substitute(engine, "P0001", goods, instead, TUESDAY, token)


def shown(engine: Engine, number: str) -> BookingView:
    with reading(engine) as session:
        return booking_view(session, find_booking(session, number), TUESDAY.date())


def test_an_alternative_is_taken_over_with_its_verdict(ordered: Engine) -> None:
    view = came(ordered, "SECOND", 5)
    (line,) = view.lines
    assert (view.state, line.received) == ("complete", 5000)
    assert [(one.item, one.quantity) for one in line.substitutes] == [("SECOND", 5000)]
    for number in ("B0001", "B0002"):
        booking = shown(ordered, number)
        need = needed(booking, "SECOND")
        assert (need.stands_for, need.short) == (("FIRST",), 0)
        # Another rubber than the joint asks for: there, and not proven.
        assert (Verdict.UNKNOWN, Aspect.RUBBER) in {(d.verdict, d.aspect) for d in booking.doubts}
    assert balances(ordered) == {("yard", "SECOND", "S1"): (5000, 5000)}
    assert_ledger(ordered)
    assert audit(ordered, TUESDAY).fine


def test_who_it_is_not_enough_for_is_short_and_two_kinds_are_not_mixed(ordered: Engine) -> None:
    came(ordered, "SECOND", 3)
    assert needed(shown(ordered, "B0001"), "SECOND").on_shelf == 2000
    second = needed(shown(ordered, "B0002"), "FIRST")
    assert (second.coming, second.short) == (2000, 1000)
    assert balances(ordered) == {("yard", "SECOND", "S1"): (3000, 2000)}
    assert_ledger(ordered)
    assert audit(ordered, TUESDAY).fine


def test_where_it_would_be_no_nothing_is_taken_in(ordered: Engine) -> None:
    with pytest.raises(KittingError, match="B0001: WRONG in place of FIRST would be NO"):
        came(ordered, "WRONG", 5)
    with pytest.raises(KittingError, match="OTHER is not listed as an alternative of FIRST"):
        came(ordered, "OTHER", 5)
    with pytest.raises(KittingError, match="of FIRST 5 are to come"):
        came(ordered, "SECOND", 6)
    with pytest.raises(KittingError, match="taken in as good"):
        came(ordered, "SECOND", 1, damaged=1000)
    assert balances(ordered) == {}
    assert needed(shown(ordered, "B0001"), "FIRST").coming == 2000
    with reading(ordered) as session:
        assert order_view(session, find_order(session, "P0001")).state == "placed"


def test_a_successor_is_taken_over_without_being_listed(store: Engine, tmp_path: Path) -> None:
    items = "\n  - {code: OLD, name: O, kind: o-ring, elastomer: FKM}\n  - {code: NEW, name: N, kind: o-ring, elastomer: FKM}\n"
    load(store, shop({"X1": {"OLD": 2}}, items=items))
    priced(store, tmp_path, "prompt", "P-O,OLD,0.40 GBP,1 each")
    number = booked(store, "X1", on=date(2026, 6, 1)).number
    place(store, [number], NOW)
    replaced = items.replace(
        "elastomer: FKM}",
        "elastomer: FKM, replaced: {by: [{item: NEW, quantity: 1 each}], old_stock: scrap}}",
        1,
    )
    load(store, shop({"X1": {"OLD": 2}}, items=replaced))
    goods = GoodsReceived("OLD", 2000, made=FRESH)
    receive_substitute(store, "P0001", goods, "NEW", TUESDAY)
    need = needed(shown(store, number), "NEW")
    assert (need.stands_for, need.on_shelf, need.short) == (("OLD",), 2000, 0)
    assert audit(store, TUESDAY).fine


def test_sent_twice_it_is_taken_in_once(ordered: Engine) -> None:
    assert came(ordered, "SECOND", 5, "t") == came(ordered, "SECOND", 5, "t")


def test_of_a_line_that_came_in_two_kinds_each_booking_has_its_verdict(ordered: Engine) -> None:
    """Two of five came as ordered, for the first car; then three as the alternative."""
    receive(ordered, "P0001", [GoodsReceived("FIRST", 2000, made=FRESH)], TUESDAY)
    view = came(ordered, "SECOND", 3)
    (second,) = view.taken_over
    assert (second.booking, second.item, second.needed, second.taken) == (
        "B0002", "SECOND", 3000, True,
    )  # fmt: skip
    assert second.verdict is Verdict.UNKNOWN
    assert Aspect.RUBBER in {doubt.aspect for doubt in second.doubts}
    assert needed(shown(ordered, "B0001"), "FIRST").on_shelf == 2000
    assert needed(shown(ordered, "B0002"), "SECOND").on_shelf == 3000
    assert taken_over(second, "FIRST")[0] == ("B0002: 3 SECOND go in for FIRST: CANNOT BE PROVEN")
    assert_ledger(ordered)
    assert audit(ordered, TUESDAY).fine


def test_who_a_part_of_it_is_not_enough_for_is_told_that_kinds_are_not_mixed(
    ordered: Engine,
) -> None:
    receive(ordered, "P0001", [GoodsReceived("FIRST", 3000, made=FRESH)], TUESDAY)
    (second,) = came(ordered, "SECOND", 2).taken_over
    assert (second.booking, second.taken, second.lacks, second.verdict) == (
        "B0002", False, 2000, None,
    )  # fmt: skip
    assert taken_over(second, "FIRST") == [
        "B0002: SECOND DOES NOT GO IN: 2 of 3 FIRST are lacking, and two kinds are not mixed in one"
        " kit"
    ]
    assert balances(ordered)["yard", "SECOND", "S1"] == (2000, 0)
    assert audit(ordered, TUESDAY).fine


@pytest.mark.parametrize("name", ["FIRST", "SECOND"])
def test_a_substitute_that_was_recorded_wrongly_is_taken_back(ordered: Engine, name: str) -> None:
    """By either name; who it went to is planned with what was ordered again, and waits for it."""
    before = [needed(shown(ordered, number), "FIRST") for number in ("B0001", "B0002")]
    came(ordered, "SECOND", 5)
    view = take_back_receipt(ordered, "P0001", name, "FIRST came", TUESDAY)
    (line,) = view.lines
    assert (view.state, line.received, line.substitutes) == ("placed", 0, ())
    assert [needed(shown(ordered, number), "FIRST") for number in ("B0001", "B0002")] == before
    assert balances(ordered) == {("yard", "SECOND", "S1"): (0, 0)}
    assert_ledger(ordered)
    assert audit(ordered, TUESDAY).fine
    receive(ordered, "P0001", [GoodsReceived("FIRST", 5000, made=FRESH)], TUESDAY)
    assert needed(shown(ordered, "B0002"), "FIRST").on_shelf == 3000


def test_who_has_the_substitute_from_elsewhere_keeps_it(ordered: Engine, tmp_path: Path) -> None:
    came(ordered, "SECOND", 5)
    stock(ordered, tmp_path, "yard,SECOND,S2,2 each,1Q26")
    take_back_receipt(ordered, "P0001", "FIRST", "FIRST came", TUESDAY)
    kinds = [
        next(need for need in shown(ordered, number).needs if need.item in ("FIRST", "SECOND"))
        for number in ("B0001", "B0002")
    ]
    assert [(one.item, one.on_shelf, one.coming) for one in kinds] == [
        ("SECOND", 2000, 0), ("FIRST", 0, 3000),
    ]  # fmt: skip
    assert audit(ordered, TUESDAY).fine


def asked_back(kind: ClaimKind, item: str, much: int, lot: str | None = "S1") -> NewClaim:
    return NewClaim(kind, item, Quantity(much * 1000, "each"), "test", lot)


def test_a_substitute_is_sent_back_and_claimed_as_what_it_is(ordered: Engine) -> None:
    """Three SECOND came for FIRST at £0.40: one goes back, one fails, one is left."""
    came(ordered, "SECOND", 3)
    view = claim(ordered, "P0001", asked_back(ClaimKind.RETURN, "SECOND", 1), TUESDAY)
    assert [(c.item, c.lot, c.expected) for c in view.claims] == [("SECOND", "S1", None)]
    assert balances(ordered) == {("yard", "SECOND", "S1"): (2000, 2000)}
    view = claim(ordered, "P0001", asked_back(ClaimKind.WARRANTY, "SECOND", 1), TUESDAY)
    assert (view.claims[1].item, view.claims[1].expected) == ("SECOND", Money(40, "GBP"))
    view = credit(ordered, "P0001", Credit(view.claims[0].number, Money(40, "GBP"), "C1"), TUESDAY)
    assert view.credited == Money(40, "GBP")
    with pytest.raises(KittingError, match="1 of it came usable"):
        claim(ordered, "P0001", asked_back(ClaimKind.WARRANTY, "SECOND", 2), TUESDAY)
    assert_ledger(ordered)
    assert audit(ordered, TUESDAY).fine


def test_a_return_of_a_substitute_names_its_lot(ordered: Engine) -> None:
    came(ordered, "SECOND", 3)
    with pytest.raises(KittingError, match="SECOND came in place of what was ordered, as good"):
        claim(ordered, "P0001", asked_back(ClaimKind.RETURN, "SECOND", 1, None), TUESDAY)
    with pytest.raises(KittingError, match="nothing came with P0001"):
        claim(ordered, "P0001", asked_back(ClaimKind.RETURN, "FIRST", 1), TUESDAY)
