"""Event "return, credit note, core returned, warranty": rows with date, reason and money."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path

import pytest
from sqlalchemy import Engine

from helpers import NOW, UNCOUNTED, assert_ledger, balances, booked, load, priced, shop
from kitting.errors import KittingError, UnknownNameError
from kitting.facts.money import Money
from kitting.facts.units import Quantity
from kitting.facts.words import BookingState, ClaimKind
from kitting.services.bookings.booking import step_to
from kitting.services.bookings.close import Closing, close
from kitting.services.bookings.pick import pick
from kitting.services.purchasing.announcements import Announcement, announce
from kitting.services.purchasing.by_hand import HandOrder, place_by_hand
from kitting.services.purchasing.claims import NewClaim, claim
from kitting.services.purchasing.credit_notes import (
    Credit,
    TakeBack,
    credit,
    take_back_credit,
)
from kitting.services.purchasing.goods_in import GoodsReceived, receive
from kitting.services.purchasing.kept_goods import Kept, keep
from kitting.services.stock.ledger import TakenError
from kitting.services.upkeep.audit import audit
from kitting.views.orders import OrderView
from kitting.wording.orders import claim_text
from kitting.wording.purchasing import sums

TUESDAY = datetime(2026, 4, 7, 9, 0)  # noqa: DTZ001  (wall clock of the garage)
FIT = date(2026, 6, 1)
RETURN, CORE, WARRANTY = ClaimKind.RETURN, ClaimKind.CORE, ClaimKind.WARRANTY
# Invented: £2.00 a ring, £5.00 for the old one; a tenth is kept of what is sent back.
KEPT = "    lead_days: 1\n    late_days: 1\n    restocking: 10%\n"


def furnished(engine: Engine, folder: Path, returns: str = "yes", kept: bool = True) -> Engine:
    """P0001 of ten rings: six in lot R1, two damaged, one more to come; one over in R1-OVER."""
    text = shop({"X1": {"RING": 4}})
    if kept:
        text = text.replace("    lead_days: 1\n    late_days: 1\n", KEPT, 1)
    load(engine, text)
    heading = "part,item,price,pack,returns,core"
    priced(
        engine, folder, "prompt", f"P-R,RING,2.00 GBP,1 each,{returns},5.00 GBP", heading=heading
    )
    place_by_hand(engine, HandOrder("prompt", {"RING": 8}, "yard"), NOW)
    came = GoodsReceived("RING", 7000, damaged=2000, made=date(2026, 3, 31), lot="R1")
    receive(engine, "P0001", [came], TUESDAY)
    return engine


@pytest.fixture
def here(store: Engine, tmp_path: Path) -> Engine:
    return furnished(store, tmp_path)


def claimed(engine: Engine, kind: ClaimKind, much: int, lot: str | None = None,
            booking: str | None = None, token: str | None = None) -> OrderView:  # fmt: skip
    new = NewClaim(kind, "RING", Quantity(much * 1000, "each"), "test", lot, booking)
    return claim(engine, "P0001", new, TUESDAY, token)


def pounds(minor: int) -> Money:
    return Money(minor, "GBP")


def test_what_is_sent_back_leaves_its_lot_and_the_restocking_share_is_kept(here: Engine) -> None:
    """3 × £2.00 less a tenth, and three cores of £5.00: £20.40.

    The total falls by what is credited, not by the claim. It is that of seven rings with their
    cores: £49.00.
    """
    view = claimed(here, RETURN, 3, lot="R1")
    (one,) = view.claims
    assert (one.kind, one.quantity, one.lot, one.expected, one.credits) == (
        "return", 3000, "R1", pounds(2040), (),
    )  # fmt: skip
    assert balances(here)["yard", "RING", "R1"] == (4000, 0)
    assert (view.total, view.credited) == (pounds(4900), pounds(0))
    after = credit(here, "P0001", Credit(one.number, pounds(2040), "CN-1"), TUESDAY)
    assert (after.total, after.credited) == (pounds(2860), pounds(2040))
    assert (after.claims[0].credits[0].document, after.lines[0].received) == ("CN-1", 7000)
    assert_ledger(here)
    assert audit(here, TUESDAY).fine


def test_what_came_damaged_goes_back_whole_and_off_no_shelf(here: Engine) -> None:
    """One of the two is the eighth ring, £2.00 with a core of £5.00; the other was never charged."""
    (one,) = claimed(here, RETURN, 2).claims
    assert (one.lot, one.expected, one.not_owed) == (None, pounds(700), 1000)
    assert balances(here)["yard", "RING", "R1"] == (7000, 0)
    with pytest.raises(KittingError, match="0 came damaged or as another part"):
        claimed(here, RETURN, 1)


def test_what_came_damaged_is_off_the_total_once_credited_or_not(here: Engine) -> None:
    """Eight rings with cores are £56.00; one did not come usable, £7.00, and nobody pays it."""
    view = claimed(here, RETURN, 2)
    assert (view.total, view.lost) == (pounds(4900), pounds(700))
    view = credit(here, "P0001", Credit(view.claims[0].number, pounds(400), "CN-3"), TUESDAY)
    assert (view.total, view.lost, view.credited) == (pounds(4900), pounds(300), pounds(400))


def test_what_is_promised_or_more_than_there_is_is_not_sent_back(
    store: Engine, tmp_path: Path
) -> None:
    furnished(store, tmp_path)
    booked(store, "X1", on=FIT)
    with pytest.raises(TakenError, match="3 free"):
        claimed(store, RETURN, 4, lot="R1")
    with pytest.raises(KittingError, match="7 of it came usable"):
        claimed(store, RETURN, 8, lot="R1")
    with pytest.raises(KittingError, match=r"X9: nothing came with P0001\. It brought: R1"):
        claimed(store, RETURN, 1, lot="X9")
    assert balances(store)["yard", "RING", "R1"] == (7000, 4000)


def test_sold_without_return_it_stays_and_an_unstated_share_is_unknown(
    store: Engine, tmp_path: Path
) -> None:
    furnished(store, tmp_path, returns="no")
    with pytest.raises(KittingError, match="sells RING without return"):
        claimed(store, RETURN, 1, lot="R1")


def test_where_nobody_says_what_is_kept_the_credit_is_unknown(
    store: Engine, tmp_path: Path
) -> None:
    furnished(store, tmp_path, kept=False)
    assert claimed(store, RETURN, 1, lot="R1").claims[0].expected is None


def test_a_core_is_handed_in_and_refunded_once_for_each_part(here: Engine) -> None:
    (one,) = claimed(here, CORE, 5).claims
    assert (one.kind, one.expected) == ("core", pounds(2500))
    with pytest.raises(KittingError, match="2 have a core that is not handed in yet"):
        claimed(here, CORE, 3)
    view = credit(here, "P0001", Credit(one.number, pounds(2500), "CN-2"), TUESDAY)
    assert view.total == pounds(2400)  # seven rings with their cores, £49.00, less five cores


def test_a_warranty_claim_names_the_lot_and_the_car(store: Engine, tmp_path: Path) -> None:
    furnished(store, tmp_path)
    number = booked(store, "X1", on=FIT).number
    pick(store, number, TUESDAY)
    for state in (BookingState.CONFIRMED, BookingState.ON_THE_RAMP):
        step_to(store, number, state, "test")
    close(store, number, Closing({}, {}), TUESDAY, UNCOUNTED)
    (one,) = claimed(store, WARRANTY, 1, booking=number).claims
    assert (one.lot, one.booking, one.vehicle, one.expected) == (
        "R1", number, "PELL 001", pounds(200),
    )  # fmt: skip
    assert balances(store)["yard", "RING", "R1"] == (3000, 0)
    other = booked(store, "X1", on=FIT).number
    with pytest.raises(KittingError, match=f"nothing in the kit of {other} came with P0001"):
        claimed(store, WARRANTY, 1, booking=other)
    assert audit(store, TUESDAY).fine


def test_what_was_sent_back_is_not_claimed_under_warranty(here: Engine) -> None:
    """Seven came usable and three went back: four are left to fail."""
    claimed(here, RETURN, 3, lot="R1")
    with pytest.raises(KittingError, match="4 of it came usable and are neither sent back nor"):
        claimed(here, WARRANTY, 5, lot="R1")
    claimed(here, WARRANTY, 4, lot="R1")
    with pytest.raises(KittingError, match="0 of it came usable"):
        claimed(here, WARRANTY, 1, lot="R1")
    claimed(here, RETURN, 2)  # what came damaged is of others


def test_what_is_claimed_under_warranty_is_sent_back_only_once_that_is_refused(
    here: Engine,
) -> None:
    (one,) = claimed(here, WARRANTY, 5, lot="R1").claims
    with pytest.raises(KittingError, match="2 of it came usable and are neither sent back nor"):
        claimed(here, RETURN, 3, lot="R1")
    credit(here, "P0001", Credit(one.number, None, "L-1", "not faulty"), TUESDAY)
    assert len(claimed(here, RETURN, 6, lot="R1").claims) == 2
    with pytest.raises(KittingError, match=r"claim 1 of P0001 is worth £2\.00 at most"):
        credit(here, "P0001", Credit(one.number, pounds(1000), "CN-2"), TUESDAY)
    credit(here, "P0001", Credit(one.number, pounds(200), "CN-2"), TUESDAY)
    with pytest.raises(KittingError, match="0 of it came usable"):
        claimed(here, WARRANTY, 1, lot="R1")


def test_nothing_is_owed_under_warranty_for_what_came_too_much(
    store: Engine, tmp_path: Path
) -> None:
    furnished(store, tmp_path)
    more = GoodsReceived("RING", 3000, made=date(2026, 3, 31), lot="R2")
    receive(store, "P0001", [more], TUESDAY)
    with pytest.raises(KittingError, match="lot R2-OVER came too much and was not charged"):
        claimed(store, WARRANTY, 1, lot="R2-OVER")
    keep(store, "P0001", Kept("RING", Quantity(2000, "each")), TUESDAY)
    assert claimed(store, WARRANTY, 1, lot="R2").claims[0].expected == pounds(200)


def test_a_refusal_stays_on_record_with_its_reason(here: Engine) -> None:
    (one,) = claimed(here, WARRANTY, 1, lot="R1").claims
    with pytest.raises(KittingError, match="needs the reason"):
        credit(here, "P0001", Credit(one.number, pounds(0), "L-1"), TUESDAY)
    view = credit(here, "P0001", Credit(one.number, pounds(0), "L-1", "fitted dry"), TUESDAY)
    assert [(c.amount, c.why) for c in view.claims[0].credits] == [(pounds(0), "fitted dry")]
    assert view.total == pounds(4900)


def test_what_cannot_be_credited_is_refused(here: Engine) -> None:
    (one,) = claimed(here, WARRANTY, 1, lot="R1").claims
    with pytest.raises(UnknownNameError, match=r"no claim 99\. It has: 1"):
        credit(here, "P0001", Credit(99, pounds(1), "C"), TUESDAY)
    with pytest.raises(KittingError, match="is paid in GBP, not in EUR"):
        credit(here, "P0001", Credit(one.number, Money(1, "EUR"), "C"), TUESDAY)
    with pytest.raises(KittingError, match=r"worth £2\.00 at most: no more than that is credited"):
        credit(here, "P0001", Credit(one.number, pounds(201), "C"), TUESDAY)


def test_sent_twice_it_is_claimed_and_credited_once(here: Engine) -> None:
    both = [claimed(here, RETURN, 3, lot="R1", token="t") for _ in range(2)]
    assert both[0] == both[1]
    number = both[0].claims[0].number
    for _ in range(2):
        view = credit(here, "P0001", Credit(number, pounds(1), "C"), TUESDAY, "u")
    assert view.credited == pounds(1)


def test_more_than_was_ordered_goes_back_for_nothing(store: Engine, tmp_path: Path) -> None:
    furnished(store, tmp_path)
    more = GoodsReceived("RING", 3000, made=date(2026, 3, 31), lot="R2")
    receive(store, "P0001", [more], TUESDAY)
    over = balances(store)["yard", "RING", "R2-OVER"][0]
    (one,) = claimed(store, RETURN, over // 1000, lot="R2-OVER").claims
    assert (over, one.expected) == (2000, pounds(0))
    assert balances(store)["yard", "RING", "R2-OVER"] == (0, 0)
    assert audit(store, TUESDAY).fine


def test_a_credit_note_is_booked_once_for_a_claim_and_for_several_claims(here: Engine) -> None:
    """Of three rings sent back £5.40 of their price and £15.00 of cores: £21.00 at the very most."""
    claimed(here, RETURN, 3, lot="R1")
    (first, second) = claimed(here, RETURN, 2).claims
    credit(here, "P0001", Credit(first.number, pounds(1000), "CN-1"), TUESDAY)
    for again in ("CN-1", " cn-1", "CN -1"):
        with pytest.raises(KittingError, match=r"CN-1 is booked for claim 1 already: £10\.00 on"):
            credit(here, "P0001", Credit(first.number, pounds(1000), again), TUESDAY)
    with pytest.raises(KittingError, match=r"£21\.00 at most, of which £10\.00 is credited"):
        credit(here, "P0001", Credit(first.number, pounds(1101), "CN-2"), TUESDAY)
    credit(here, "P0001", Credit(first.number, pounds(1040), "CN-2"), TUESDAY)
    view = credit(here, "P0001", Credit(second.number, pounds(700), "CN-1"), TUESDAY)
    assert (view.credited, view.total) == (pounds(2740), pounds(4900 - 2040))


def test_a_claim_is_refused_without_naming_a_currency(here: Engine) -> None:
    (one,) = claimed(here, WARRANTY, 1, lot="R1").claims
    view = credit(here, "P0001", Credit(one.number, None, "L-1", "fitted dry"), TUESDAY)
    assert [(c.amount, c.why) for c in view.claims[0].credits] == [(pounds(0), "fitted dry")]


def sent_again(engine: Engine, much: int) -> OrderView:
    said = Announcement(date(2026, 4, 9), "RING", Quantity(much * 1000, "each"))
    return announce(engine, "P0001", said, TUESDAY)


@pytest.mark.parametrize("first", [True, False])
def test_nothing_is_expected_for_what_is_sent_once_more(here: Engine, first: bool) -> None:
    """Eight rings with their cores are charged, £56.00: seven that came, and the one sent again."""
    view = claimed(here, RETURN, 1) if first else sent_again(here, 1)
    view = sent_again(here, 1) if first else claimed(here, RETURN, 1)
    assert (view.claims[0].expected, view.claims[0].not_owed) == (pounds(0), 1000)
    assert view.total == pounds(5600)
    assert "nothing is owed" in claim_text(view.claims[0])


@pytest.mark.parametrize("first", [True, False])
def test_what_is_credited_and_sent_once_more_is_charged_once_more(
    here: Engine, first: bool
) -> None:
    """Either way eight rings are paid, £56.00: one of them was credited, and its like is charged."""
    (one,) = claimed(here, RETURN, 1).claims
    note = Credit(one.number, pounds(700), "CN-1")
    view = credit(here, "P0001", note, TUESDAY) if first else sent_again(here, 1)
    assert view.total == pounds(4900 if first else 5600)
    view = sent_again(here, 1) if first else credit(here, "P0001", note, TUESDAY)
    assert (view.lost, view.credited, view.again, view.total) == (
        pounds(0), pounds(700), pounds(700), pounds(5600),
    )  # fmt: skip
    assert sums(view)[-1] == ("sent once more for what was credited", pounds(700))


def test_a_core_is_refunded_once_handed_in_or_sent_back_with_its_part(here: Engine) -> None:
    """Seven came: five cores are handed in, so that of three sent back two have theirs."""
    claimed(here, CORE, 5)
    (_, back) = claimed(here, RETURN, 3, lot="R1").claims
    assert back.expected == pounds(540 + 1000)
    with pytest.raises(KittingError, match="0 have a core that is not handed in yet"):
        claimed(here, CORE, 1)


def test_the_core_that_comes_back_is_that_of_old_parts_not_handed_in(
    store: Engine, tmp_path: Path
) -> None:
    """Of eight rings one came damaged: seven cores; five are handed in, one goes back with its ring."""
    furnished(store, tmp_path)

    def left(view: OrderView) -> Money | None:
        return view.lines[0].core

    assert left(claimed(store, CORE, 5)) == pounds(1000)
    assert left(claimed(store, RETURN, 1, lot="R1")) == pounds(500)
    assert left(claimed(store, CORE, 1)) is None


def test_what_is_credited_in_full_is_not_refused(here: Engine) -> None:
    (one,) = claimed(here, WARRANTY, 1, lot="R1").claims
    credit(here, "P0001", Credit(one.number, pounds(200), "CN-1"), TUESDAY)
    with pytest.raises(KittingError, match=r"credited in full, £2\.00: there is nothing left"):
        credit(here, "P0001", Credit(one.number, None, "L-1", "fitted dry"), TUESDAY)


def test_a_wrong_credit_is_taken_back_and_stays_on_record(here: Engine) -> None:
    before = claimed(here, RETURN, 3, lot="R1")
    (one,) = before.claims
    credit(here, "P0001", Credit(one.number, pounds(1000), "CN-1"), TUESDAY)
    wrong = TakeBack(one.number, " cn-1", "it was of P0002")
    view = take_back_credit(here, "P0001", wrong, TUESDAY)
    assert (view.credited, view.total) == (before.credited, before.total)
    (told,) = view.claims[0].credits
    assert (told.undone, view.claims[0].answers) == ("it was of P0002", ())
    text = claim_text(view.claims[0])
    assert "NOT ANSWERED YET; booked wrongly: £10.00 credited by CN-1" in text
    with pytest.raises(UnknownNameError, match=r"has no credit note 'CN-1'\. It has: none"):
        take_back_credit(here, "P0001", TakeBack(one.number, "CN-1", "again"), TUESDAY)
    # The paper may be booked anew, up to all that the claim is worth.
    view = credit(here, "P0001", Credit(one.number, pounds(2100), "CN-1"), TUESDAY)
    assert (view.credited, len(view.claims[0].answers)) == (pounds(2100), 1)


def test_a_refusal_that_was_booked_wrongly_is_taken_back(here: Engine) -> None:
    (one,) = claimed(here, WARRANTY, 1, lot="R1").claims
    credit(here, "P0001", Credit(one.number, None, "L-1", "fitted dry"), TUESDAY)
    back = TakeBack(one.number, "L-1", "they meant another claim")
    view = take_back_credit(here, "P0001", back, TUESDAY)
    assert "NOT ANSWERED YET; booked wrongly: REFUSED by L-1" in claim_text(view.claims[0])
    # Not refused any more, it bars the same piece from being sent back.
    with pytest.raises(KittingError):
        claimed(here, RETURN, 7, lot="R1")


def test_what_came_damaged_is_owed_again_once_its_credit_is_taken_back(here: Engine) -> None:
    before = claimed(here, RETURN, 1)
    number = before.claims[0].number
    credit(here, "P0001", Credit(number, pounds(700), "CN-1"), TUESDAY)
    view = take_back_credit(here, "P0001", TakeBack(number, "CN-1", "not ours"), TUESDAY)
    assert (view.total, view.claims[0].not_owed) == (before.total, before.claims[0].not_owed)


@pytest.mark.parametrize("why", ["", "  "])
def test_nothing_is_taken_back_without_a_reason(here: Engine, why: str) -> None:
    (one,) = claimed(here, RETURN, 1).claims
    credit(here, "P0001", Credit(one.number, pounds(700), "CN-1"), TUESDAY)
    with pytest.raises(KittingError, match="a reason is required"):
        take_back_credit(here, "P0001", TakeBack(one.number, "CN-1", why), TUESDAY)
