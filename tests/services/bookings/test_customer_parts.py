"""Event "customer's own part": theirs, for their booking only, judged as what it is."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from kits import contents
from kits import yard as yard_of_kits
from sqlalchemy import Engine, select

from helpers import NOW, assert_ledger, balances, booked, load, needed, shop, stock
from kitting.cli.actions import command
from kitting.errors import KittingError
from kitting.facts.units import Quantity
from kitting.facts.verdicts import Aspect, Verdict
from kitting.services.bookings.booking import renew_promises, take_from
from kitting.services.bookings.customer_parts import CustomerPart, bring_part
from kitting.services.bookings.handed_back import HandBack, hand_back
from kitting.services.bookings.kit_moves import Loan, Moment, Piece, Told, give_back, lend
from kitting.services.bookings.kit_sheets import pick_of
from kitting.services.bookings.pick import cancel, pick
from kitting.services.day.today import TodayRequest, today
from kitting.services.stock.ledger import Claim, TakenError, set_all_aside
from kitting.services.stock.shelves import LotName, list_stock
from kitting.services.stock.transfers import send
from kitting.services.upkeep.audit import audit
from kitting.store import reading, writing
from kitting.tables.stock import Lot, Movement
from kitting.views.bookings import BookingView
from kitting.views.today import TodayKind
from kitting.wording.bookings import source_text
from kitting.wording.kit_life import line_state
from kitting.wording.pick_list import lot_texts

FIT = date(2026, 6, 1)
FRESH = date(2026, 3, 31)
OWN = ("yard", "RING", "B0001-OWN")


@pytest.fixture
def yard(store: Engine, tmp_path: Path) -> Engine:
    """B0001 and B0002 need four rings each; three of ours lie here, promised to B0001."""
    load(store, shop({"X1": {"RING": 4}, "X2": {"RING": 4}}))
    stock(store, tmp_path, "yard,RING,A,3 each,1Q26")
    for job in ("X1", "X2"):
        booked(store, job, on=FIT)
    return store


def brought(engine: Engine, much: int, made: date | None = FRESH, number: str = "B0001",
            token: str | None = None, shown: str = "number on the bag") -> BookingView:  # fmt: skip
    part = CustomerPart("RING", Quantity(much * 1000, "each"), shown, made)
    return bring_part(engine, number, part, NOW, token)


def test_it_is_in_their_kit_and_what_was_promised_of_ours_is_free_again(yard: Engine) -> None:
    view = brought(yard, 4)
    assert (needed(view, "RING").on_shelf, view.ready) == (4000, True)
    assert balances(yard) == {OWN: (4000, 4000), ("yard", "RING", "A"): (3000, 0)}
    with reading(yard) as session:
        shown = {lot.lot: (lot.customer_of, lot.free) for lot in list_stock(session, None, [], FIT)}
    assert shown == {"B0001-OWN": ("B0001", 0), "A": (None, 3000)}
    assert_ledger(yard)
    assert audit(yard, NOW).fine


def test_it_is_named_as_theirs_wherever_it_is_shown(yard: Engine) -> None:
    """On the booking, on the pick list and in the kit; ours is not."""
    brought(yard, 3)
    renewed = renew_promises(yard, "B0001")
    texts = [source_text(source) for source in needed(renewed, "RING").sources]
    assert sorted(texts) == ["lot A", "lot B0001-OWN, the customer's own part"]
    pick(yard, "B0001", NOW)
    with reading(yard) as session:
        picked = pick_of(session, "B0001", FIT)
    (line,) = (line for line in picked.lines if line.content.item == "RING")
    told = [lot_texts(source, line.content) for source in line.sources]
    theirs = {lot: "the customer's own part" in rest for _, lot, rest in told}
    assert theirs == {"B0001-OWN": True, "A": False}
    assert all("IN THE KIT" in before for before, _, _ in told)
    states = {one.lot: line_state(one) for one in contents(yard, "B0001").lines}
    assert states["B0001-OWN"] == "the customer's own part, keeps to 2036-03-31"
    assert not states["A"].startswith("the customer's")


def test_what_of_it_is_left_is_promised_to_no_other(yard: Engine) -> None:
    brought(yard, 6)
    other = renew_promises(yard, "B0002")
    assert (needed(other, "RING").on_shelf, needed(other, "RING").short) == (3000, 1000)
    assert balances(yard)[OWN] == (6000, 4000)
    with pytest.raises(KittingError, match="has no RING waiting that B0002 lacks"):
        take_from(yard, "B0002", "RING", "B0001")
    with writing(yard) as session:
        lot = session.query(Lot).filter_by(code="B0001-OWN").one()
        with pytest.raises(TakenError):
            set_all_aside(session, 2, [Claim(lot.item_id, 1000, lot=lot.id)])
        session.rollback()
    with pytest.raises(KittingError, match="a customer's own"):
        send(yard, LotName(*OWN), Quantity(1000, "each"), "quay", NOW)
    assert balances(yard)[OWN] == (6000, 4000)


def test_it_is_not_lent_to_another_kit(yard: Engine) -> None:
    brought(yard, 4)
    pick(yard, "B0001", NOW)
    what = Piece("RING", Quantity(1000, "each"))
    why = "lot B0001-OWN was brought by the customer of B0001 and goes into that car alone"
    with pytest.raises(KittingError, match=why):
        lend(yard, Loan("B0001", "B0002", what), Told(), Moment(NOW))
    (line,) = (one for one in contents(yard, "B0001").lines if one.item == "RING")
    assert (line.lot, line.quantity) == ("B0001-OWN", 4000)
    assert audit(yard, NOW).fine


def test_after_the_booking_is_over_it_is_still_theirs(yard: Engine) -> None:
    brought(yard, 4)
    pick(yard, "B0001", NOW)
    cancel(yard, "B0001", NOW)
    assert balances(yard)[OWN] == (4000, 0)
    assert needed(renew_promises(yard, "B0002"), "RING").on_shelf == 3000
    assert audit(yard, NOW).fine


def test_without_dates_its_age_cannot_be_proven(yard: Engine) -> None:
    view = brought(yard, 4, made=None)
    assert [(d.aspect, d.verdict) for d in view.doubts] == [(Aspect.AGE, Verdict.UNKNOWN)]


def test_it_comes_before_ours_and_ours_fills_up(yard: Engine) -> None:
    view = brought(yard, 2)
    assert needed(view, "RING").on_shelf == 4000
    assert balances(yard) == {OWN: (2000, 2000), ("yard", "RING", "A"): (3000, 2000)}
    brought(yard, 1)
    assert balances(yard)["yard", "RING", "B0001-OWN-2"] == (1000, 1000)
    assert_ledger(yard)


def test_what_cannot_be_is_refused(yard: Engine) -> None:
    with pytest.raises(KittingError, match="cannot be proven, and it goes into no car"):
        brought(yard, 1, shown=" ")
    bolt = CustomerPart("BOLT", Quantity(1000, "each"), "head marking")
    with pytest.raises(KittingError, match="does not ask for BOLT"):
        bring_part(yard, "B0001", bolt, NOW)
    with pytest.raises(KittingError, match="still to come"):
        brought(yard, 1, made=date(2027, 1, 1))
    assert balances(yard) == {("yard", "RING", "A"): (3000, 3000)}


def test_sent_twice_it_is_taken_in_once(yard: Engine) -> None:
    assert brought(yard, 4, token="t") == brought(yard, 4, token="t")
    assert balances(yard)[OWN] == (4000, 4000)


def test_what_of_it_is_left_is_offered_to_no_other_branch(yard: Engine) -> None:
    """Of six that the customer brought two are left: only the three of ours are free there."""
    brought(yard, 6)
    view = booked(yard, "X2", on=FIT, branch="quay")
    free = [one for one in needed(view, "RING").elsewhere if one.kind == "free"]
    assert [(one.branch, one.quantity) for one in free] == [("yard", 3000)]


def test_what_was_opened_of_it_is_theirs_too(lite: Engine, tmp_path: Path) -> None:
    """Of three packs that they brought one was begun: its rest is free for nobody."""
    yard_of_kits(lite, tmp_path)
    number = booked(lite, "STICK", on=FIT).number
    bring_part(lite, number, CustomerPart("PASTE", Quantity(1_500_000, "ml"), "label"), NOW)
    pick(lite, number, NOW)
    with reading(lite) as session:
        rest = {lot.lot: (lot.customer_of, lot.free) for lot in list_stock(session, None, [], FIT)}
    assert set(rest.values()) == {(number, 0)}
    assert len(rest) == 2


def handed(engine: Engine, item: str | None = "RING", much: int | None = None) -> BookingView:
    quantity = None if much is None else Quantity(much * 1000, "each")
    return hand_back(engine, "B0001", HandBack(item, quantity, "not fitted", "Ann"), NOW)


def test_what_is_handed_back_is_gone_and_ours_takes_its_place(yard: Engine) -> None:
    brought(yard, 4)
    view = handed(yard, much=3)
    assert balances(yard) == {OWN: (1000, 1000), ("yard", "RING", "A"): (3000, 3000)}
    assert (needed(view, "RING").on_shelf, needed(view, "RING").short) == (4000, 0)
    assert [(one.lot, one.quantity) for one in view.theirs] == [("B0001-OWN", 1000)]
    assert handed(yard, None).theirs == ()
    assert needed(renew_promises(yard, "B0001"), "RING").short == 1000
    with reading(yard) as session:
        notes = session.scalars(select(Movement.note).order_by(Movement.id)).all()
    assert notes[-1] == "handed back to the customer of B0001: not fitted (by Ann)"
    assert_ledger(yard)
    assert audit(yard, NOW).fine


def test_what_is_in_the_kit_is_put_back_first(yard: Engine) -> None:
    brought(yard, 4)
    pick(yard, "B0001", NOW)
    with pytest.raises(KittingError, match="in its kit: 4 of RING") as refused:
        handed(yard)
    (step,) = refused.value.then
    assert command(step) == 'kitting kit return B0001 "RING=4 each"'
    assert balances(yard)[OWN] == (0, 0)
    give_back(yard, "B0001", Piece("RING", Quantity(4000, "each")), Told(), Moment(NOW))
    handed(yard)
    assert balances(yard)[OWN] == (0, 0)
    assert audit(yard, NOW).fine


@pytest.mark.parametrize("much", [5, 4])
def test_no_more_is_handed_back_than_lies_here(yard: Engine, much: int) -> None:
    brought(yard, 3)
    with pytest.raises(KittingError, match="brought, 3 of RING is on the shelf"):
        handed(yard, much=much)
    assert balances(yard)[OWN] == (3000, 3000)


def test_after_its_booking_is_over_the_day_tells_what_is_still_here(yard: Engine) -> None:
    brought(yard, 4)
    assert cancel(yard, "B0001", NOW).theirs[0].quantity == 4000
    with reading(yard) as session:
        rows = today(session, TodayRequest(), NOW).rows
    (row,) = (row for row in rows if row.kind is TodayKind.HAND_BACK)
    assert [(item.item, item.quantity) for item in row.items] == [("RING", 4000)]
    assert (row.slips, command(row.then)) == (False, "kitting booking handed-back B0001")
    assert handed(yard, None).theirs == ()
    with reading(yard) as session:
        left = today(session, TodayRequest(), NOW).rows
    assert not [one for one in left if one.kind is TodayKind.HAND_BACK]
    assert audit(yard, NOW).fine


def test_handed_back_twice_by_one_request_is_handed_back_once(yard: Engine) -> None:
    brought(yard, 4)
    asked = HandBack("RING", Quantity(1000, "each"))
    for _ in range(2):
        hand_back(yard, "B0001", asked, NOW, "t1")
    assert balances(yard)[OWN] == (3000, 3000)
