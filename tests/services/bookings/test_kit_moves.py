"""The kit as a thing: the rows of workshop life that were missing. All stock is invented."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from pathlib import Path

import pytest
from kits import at, contents, kit, lying, piece, shown, sound, to_the_ramp, why, yard
from sqlalchemy import Engine, select

from helpers import NOW, ON, balances, booked, needed
from kitting.actions import Action
from kitting.errors import KittingError, UnknownNameError
from kitting.facts.words import BookingState, KitEventKind, KitWhy, LotState, NeedRule
from kitting.services.bookings.booking import step_to
from kitting.services.bookings.change import Change
from kitting.services.bookings.close import Closing, close
from kitting.services.bookings.kit_labels import read_label
from kitting.services.bookings.kit_moves import (
    Exchange,
    Loan,
    Moment,
    Told,
    draw,
    give_back,
    lend,
    swap,
)
from kitting.services.bookings.kit_place import move_kit
from kitting.services.bookings.kit_sheets import labels_of, pick_of
from kitting.services.bookings.pick import cancel, pick
from kitting.services.purchasing.booking_change import make_change
from kitting.services.stock.holds import put_on_hold
from kitting.services.stock.recall import recall
from kitting.services.stock.shelves import LotName
from kitting.store import reading
from kitting.tables.stock import Movement
from kitting.views.stock import RecallBookingView

RINGS_A, RINGS_B = "RING,A,6 each,1Q25", "RING,B,6 each,2Q25"


def recalled(engine: Engine, lot: str) -> dict[str, RecallBookingView]:
    with reading(engine) as session:
        return {one.booking: one for one in recall(session, lot, NOW.date()).bookings}


def kinds(engine: Engine, number: str) -> list[KitEventKind]:
    return [event.kind for event in contents(engine, number).events]


# --- one more piece drawn, lost seal ----------------------------------------------------------


def test_a_lost_seal_is_written_off_with_its_reason_and_one_more_is_drawn(
    store: Engine, tmp_path: Path
) -> None:
    number = kit(yard(store, tmp_path, RINGS_A), "RINGS")
    view = draw(store, number, piece("RING", 1), why(), at())
    assert [(p.kind, p.quantity, p.lot) for p in view.parts] == [
        (KitEventKind.GONE, 1000, "A"), (KitEventKind.DRAWN, 1000, "A"),
    ]  # fmt: skip
    assert (view.short, view.coming, view.taken_back) == (0, 0, ())
    assert lying(store, number) == {("RING", "A"): 4}
    assert balances(store)["yard", "RING", "A"] == (1000, 0)
    gone, drawn = contents(store, number).events
    assert (gone.why, gone.note, gone.told_by, gone.at) == (
        KitWhy.DROPPED, "rolled under the ramp", "Ann", NOW,
    )  # fmt: skip
    assert drawn.kind is KitEventKind.DRAWN
    assert needed(shown(store, number), "RING").picked == 4000
    sound(store)


def test_what_was_lost_is_named_by_a_recall_and_is_in_no_car(store: Engine, tmp_path: Path) -> None:
    number = kit(yard(store, tmp_path, RINGS_A), "RINGS")
    draw(store, number, piece("RING", 2), why(KitWhy.LOST), at())
    found = recalled(store, "A")[number]
    assert (found.picked, found.lost, found.used) == (4000, 2000, 0)
    cancel(store, number, NOW)
    assert recalled(store, "A")[number].lost == 2000
    assert balances(store)["yard", "RING", "A"] == (4000, 0)
    sound(store)


def test_without_another_on_the_shelf_the_booking_is_short_and_provisional_again(
    store: Engine, tmp_path: Path
) -> None:
    number = kit(yard(store, tmp_path, "RING,A,4 each,1Q25"), "RINGS")
    assert step_to(store, number, BookingState.CONFIRMED).state is BookingState.CONFIRMED
    view = draw(store, number, piece("RING", 1), why(), at())
    assert (view.short, view.taken_back) == (1000, (number,))
    found = shown(store, number)
    assert (found.state, needed(found, "RING").short) == (BookingState.PROVISIONAL, 1000)
    sound(store)


def test_one_more_is_taken_of_what_expires_first_and_may_be_fitted(
    lite: Engine, tmp_path: Path
) -> None:
    yard(lite, tmp_path, "RING,A,4 each,1Q25", "RING,OLD,2 each,1Q00", RINGS_B)
    number = kit(lite, "RINGS")
    put_on_hold(lite, LotName("yard", "RING", "A"), "wrong hardness", NOW)
    view = draw(lite, number, piece("RING", 1), why(KitWhy.FAULTY), at())
    assert [part.lot for part in view.parts] == ["A", "B"]
    sound(lite)


def test_of_which_lot_a_piece_was_has_to_be_said_where_it_can_be_of_several(
    lite: Engine, tmp_path: Path
) -> None:
    number = kit(yard(lite, tmp_path, "RING,A,2 each,1Q25", RINGS_B), "RINGS")
    with pytest.raises(KittingError, match="Say which it is: --lot A"):
        draw(lite, number, piece("RING", 1), why(), at())
    draw(lite, number, piece("RING", 1, "B"), why(), at())
    assert lying(lite, number) == {("RING", "A"): 2, ("RING", "B"): 2}
    assert recalled(lite, "B")[number].lost == 1000
    sound(lite)


@pytest.mark.parametrize(
    ("what", "told", "message"),
    [
        (piece("RING", 1), Told(" ", None, KitWhy.LOST), "a reason is required"),
        (piece("RING", 1), Told("gone"), "a reason is required"),
        (piece("RING", 5), why(), "does not hold 5 RING. It has 4 of lot A"),
        (piece("RING", 1, "C"), why(), "does not hold 1 RING of lot C"),
        (piece("SEAL", 1), why(), "It has none"),
        (piece("RING", 0), why(), "more than nothing"),
        (piece("RING", 1, None, "ml"), why(), "given in ml"),
        (piece("RING", 9), why(KitWhy.EXTRA), "7 RING more than is free on the shelf"),
    ],
)
def test_what_cannot_be_drawn_is_refused_and_nothing_is_changed(
    lite: Engine, tmp_path: Path, what: object, told: Told, message: str
) -> None:
    number = kit(yard(lite, tmp_path, RINGS_A), "RINGS")
    before = balances(lite)
    with pytest.raises(KittingError, match=message):
        draw(lite, number, what, told, at())  # type: ignore[arg-type]
    assert (balances(lite), contents(lite, number).events) == (before, ())
    with pytest.raises(UnknownNameError):
        draw(lite, "B9", piece("RING", 1), why(), at())


def test_a_sheared_bolt_is_drawn_beyond_the_plan_with_its_reason(
    store: Engine, tmp_path: Path
) -> None:
    """Nothing of the plan needs it: it is told as such, and is no fault of the books."""
    number = kit(yard(store, tmp_path, RINGS_A, "BOLT,K,9 each"), "RINGS")
    draw(store, number, piece("BOLT", 1), why(KitWhy.EXTRA, "one sheared"), at())
    (bolt,) = (line for line in contents(store, number).lines if line.item == "BOLT")
    assert (bolt.rule, bolt.quantity, bolt.extra) == (NeedRule.KEEP, 1000, 1000)
    assert needed(shown(store, number), "BOLT").extra == 1000
    sound(store)


def test_an_extra_piece_covers_no_need_while_the_others_wait(lite: Engine, tmp_path: Path) -> None:
    """Picking takes four more: what is to be picked must not be told as three."""
    yard(lite, tmp_path, "RING,A,9 each,1Q25")
    number = booked(lite, "RINGS").number
    draw(lite, number, piece("RING", 1), why(KitWhy.EXTRA), at())
    rows = {need.rule: need for need in shown(lite, number).needs}
    assert (rows[NeedRule.RENEW].picked, rows[NeedRule.RENEW].to_pick) == (0, 4000)
    assert (rows[NeedRule.KEEP].picked, rows[NeedRule.KEEP].extra) == (1000, 1000)
    pick(lite, number, NOW)
    rows = {need.rule: need for need in shown(lite, number).needs}
    assert (rows[NeedRule.RENEW].picked, rows[NeedRule.KEEP].picked) == (4000, 1000)


def test_of_what_nothing_needs_no_other_is_fetched(lite: Engine, tmp_path: Path) -> None:
    number = kit(yard(lite, tmp_path, RINGS_A, "BOLT,K,9 each"), "RINGS")
    draw(lite, number, piece("BOLT", 2), why(KitWhy.EXTRA, "one sheared"), at())
    view = draw(lite, number, piece("BOLT", 1), why(), at())
    assert [part.kind for part in view.parts] == [KitEventKind.GONE]
    assert lying(lite, number)["BOLT", "K"] == 1
    sound(lite)


def test_paste_drawn_anew_is_not_as_old_as_what_dried_up(store: Engine, tmp_path: Path) -> None:
    """Opened life counts from the tube in the kit, not from the one that is gone."""
    number = kit(yard(store, tmp_path, "PASTE,P,1500 ml,,2028-01-01"), "STICK")
    later = datetime(2026, 6, 1, 9, 0)  # noqa: DTZ001
    before = needed(shown(store, number, later.date()), "PASTE").sources
    assert [source.state for source in before] == [LotState.EXPIRED]
    told = why(KitWhy.DAMAGED, "dried up")
    view = draw(store, number, piece("PASTE", 300, None, "ml"), told, at(later))
    assert [part.lot for part in view.parts] == ["P", "P"]
    (source,) = needed(shown(store, number, later.date()), "PASTE").sources
    assert (source.state, source.keeps_to) == (LotState.GOOD, date(2026, 7, 1))
    sound(store)


# --- put back, wrong ring picked --------------------------------------------------------------


def test_put_back_what_is_needed_stays_promised_and_the_rest_is_free(
    store: Engine, tmp_path: Path
) -> None:
    number = kit(yard(store, tmp_path, RINGS_A, "BOLT,K,9 each"), "RINGS")
    draw(store, number, piece("BOLT", 2), why(KitWhy.EXTRA, "two sheared"), at())
    view = give_back(store, number, piece("RING", 3), Told("later"), at())
    assert (view.promised, view.short) == (3000, 0)
    give_back(store, number, piece("BOLT", 2), Told(), at())
    assert balances(store)["yard", "RING", "A"] == (5000, 3000)
    assert balances(store)["yard", "BOLT", "K"] == (9000, 0)
    assert lying(store, number) == {("RING", "A"): 1}
    pick(store, number, NOW)
    assert lying(store, number) == {("RING", "A"): 4}
    sound(store)


def test_all_of_it_put_back_leaves_an_empty_kit(store: Engine, tmp_path: Path) -> None:
    number = kit(yard(store, tmp_path, RINGS_A), "RINGS")
    give_back(store, number, piece("RING", 4), Told(), at())
    assert lying(store, number) == {}
    assert contents(store, number).to_pick == 1
    sound(store)


def test_what_was_opened_comes_back_opened(store: Engine, tmp_path: Path) -> None:
    number = kit(yard(store, tmp_path, "PASTE,P,1500 ml,,2028-01-01"), "STICK")
    day = at(NOW + timedelta(days=3))
    view = give_back(store, number, piece("PASTE", 300, None, "ml"), Told(), day)
    # It is named where it lies, not where it came from.
    assert [(part.kind, part.lot, part.quantity) for part in view.parts] == [
        (KitEventKind.RETURNED, "P-OPEN-260402", 300_000)
    ]
    found = balances(store)
    assert found["yard", "PASTE", "P"] == (1_000_000, 0)
    assert found["yard", "PASTE", "P-OPEN-260402"] == (500_000, 300_000)
    sound(store)


def test_the_wrong_packet_goes_back_and_another_lot_comes(store: Engine, tmp_path: Path) -> None:
    number = kit(yard(store, tmp_path, RINGS_A, RINGS_B), "RINGS")
    view = swap(store, number, Exchange(piece("RING", 4)), Told("older ones"), at())
    assert [(part.kind, part.lot) for part in view.parts] == [
        (KitEventKind.RETURNED, "A"), (KitEventKind.DRAWN, "B"),
    ]  # fmt: skip
    assert lying(store, number) == {("RING", "B"): 4}
    swap(store, number, Exchange(piece("RING", 2), "A"), Told(), at())
    assert lying(store, number) == {("RING", "A"): 2, ("RING", "B"): 2}
    assert {key[2]: amount for key, amount in balances(store).items()} == {
        "A": (4000, 0), "B": (4000, 0),
    }  # fmt: skip
    sound(store)


def test_paste_is_exchanged_for_another_lot_and_not_for_another_tube_of_it(
    lite: Engine, tmp_path: Path
) -> None:
    """What was opened goes back to a lot of its own: the one that it came of is barred all the same."""
    yard(lite, tmp_path, "PASTE,P,1500 ml,,2028-01-01", "PASTE,Q,1500 ml,,2028-06-01")
    number = kit(lite, "STICK")
    assert lying(lite, number) == {("PASTE", "P"): 300}
    swap(lite, number, Exchange(piece("PASTE", 300, unit="ml")), Told(), at())
    assert lying(lite, number) == {("PASTE", "Q"): 300}


def test_for_nothing_that_is_free_nothing_is_exchanged(lite: Engine, tmp_path: Path) -> None:
    number = kit(yard(lite, tmp_path, RINGS_A), "RINGS")
    with pytest.raises(KittingError, match="4 RING more than is free on the shelf"):
        swap(lite, number, Exchange(piece("RING", 4)), Told(), at())
    with pytest.raises(KittingError, match="there is no lot Z of RING"):
        swap(lite, number, Exchange(piece("RING", 4), "Z"), Told(), at())
    assert lying(lite, number) == {("RING", "A"): 4}
    sound(lite)


# --- borrow from another kit ------------------------------------------------------------------


def two(
    engine: Engine, folder: Path, *rows: str, first: date = ON, second: date = ON
) -> tuple[str, str]:
    """Two bookings for the same rings: the first has its kit, the second not all of it."""
    yard(engine, folder, *rows)
    giver = kit(engine, "RINGS", on=first)
    return giver, booked(engine, "RINGS", on=second).number


def test_a_kit_lends_pieces_with_their_lots_and_recall_follows(
    store: Engine, tmp_path: Path
) -> None:
    giver, taker = two(store, tmp_path, "RING,A,5 each,1Q25")
    view = lend(store, Loan(giver, taker, piece("RING", 3)), Told("goes first", "Ann"), at())
    assert (view.booking, view.short) == (giver, 3000)
    assert (lying(store, giver), lying(store, taker)) == ({("RING", "A"): 1}, {("RING", "A"): 3})
    found = recalled(store, "A")
    assert (found[giver].picked, found[taker].picked) == (1000, 3000)
    assert (kinds(store, giver), kinds(store, taker)) == (
        [KitEventKind.LENT], [KitEventKind.BORROWED],
    )  # fmt: skip
    with reading(store) as session:
        notes = session.scalars(select(Movement.note).where(Movement.note.is_not(None))).all()
    assert {f"lent to {taker}", f"borrowed from {giver}"} <= set(notes)
    sound(store)


def test_what_waited_for_the_taker_goes_to_the_giver_in_turn(store: Engine, tmp_path: Path) -> None:
    giver, taker = two(store, tmp_path, "RING,A,8 each,1Q25")
    view = lend(store, Loan(giver, taker, piece("RING", 4)), Told(), at())
    assert (view.promised, view.short) == (4000, 0)
    assert needed(shown(store, taker), "RING").picked == 4000
    assert needed(shown(store, giver), "RING").on_shelf == 4000
    sound(store)


def test_the_confirmation_of_the_giver_is_taken_back_if_it_lacks_it_then(
    store: Engine, tmp_path: Path
) -> None:
    giver, taker = two(store, tmp_path, "RING,A,4 each,1Q25")
    step_to(store, giver, BookingState.CONFIRMED)
    view = lend(store, Loan(giver, taker, piece("RING", 1)), Told(), at())
    assert view.taken_back == (giver,)
    assert shown(store, giver).state is BookingState.PROVISIONAL


def test_what_does_not_keep_until_the_takers_day_stays(store: Engine, tmp_path: Path) -> None:
    stale = "PASTE,P,1500 ml,,2026-05-01"
    yard(store, tmp_path, stale)
    giver = kit(store, "STICK")
    taker = booked(store, "STICK", on=date(2026, 8, 3)).number
    loan = Loan(giver, taker, piece("PASTE", 300, None, "ml"))
    with pytest.raises(KittingError, match="keeps to 2026-05-01 only; B0002 is fitted on"):
        lend(store, loan, Told(), at())
    assert lying(store, giver) == {("PASTE", "P"): 300}
    sound(store)


def test_opened_paste_that_is_lent_keeps_its_day(store: Engine, tmp_path: Path) -> None:
    yard(store, tmp_path, "PASTE,P,500 ml,,2028-01-01")
    giver = kit(store, "STICK")
    taker = booked(store, "STICK", on=date(2026, 4, 28)).number
    later = at(datetime(2026, 4, 20, 9, 0))  # noqa: DTZ001
    lend(store, Loan(giver, taker, piece("PASTE", 300, None, "ml")), Told(), later)
    (line,) = contents(store, taker).lines
    assert line.keeps_to == date(2026, 5, 2)  # 30 days after 2 April, not after the 20th
    sound(store)


def test_held_goods_another_branch_and_more_than_lacks_are_not_lent(
    lite: Engine, tmp_path: Path
) -> None:
    giver, taker = two(lite, tmp_path, "RING,A,5 each,1Q25")
    elsewhere = booked(lite, "RINGS", branch="quay").number
    for loan, message in (
        (Loan(giver, giver, piece("RING", 1)), "cannot lend to itself"),
        (Loan(giver, elsewhere, piece("RING", 1)), "what lies there is not here"),
        (Loan(giver, taker, piece("RING", 5)), "lacks 4 RING, not 5"),
        (Loan(taker, giver, piece("RING", 1)), "lacks 0 RING, not 1"),
    ):
        with pytest.raises(KittingError, match=message):
            lend(lite, loan, Told(), at())
    put_on_hold(lite, LotName("yard", "RING", "A"), "recalled", NOW)
    with pytest.raises(KittingError, match="is on hold: recalled"):
        lend(lite, Loan(giver, taker, piece("RING", 1)), Told(), at())
    assert lying(lite, giver) == {("RING", "A"): 4}


# --- common to all ----------------------------------------------------------------------------


def test_looking_only_changes_nothing(store: Engine, tmp_path: Path) -> None:
    giver, taker = two(store, tmp_path, "RING,A,5 each,1Q25", RINGS_B)
    before, look = balances(store), at(keep=False)
    assert not draw(store, giver, piece("RING", 1), why(), look).kept
    assert not give_back(store, giver, piece("RING", 1), Told(), look).kept
    assert not swap(store, giver, Exchange(piece("RING", 1), "B"), Told(), look).kept
    assert not lend(store, Loan(giver, taker, piece("RING", 1)), Told(), look).kept
    assert balances(store) == before
    assert kinds(store, giver) == kinds(store, taker) == []


def test_a_request_that_is_sent_again_is_done_once(store: Engine, tmp_path: Path) -> None:
    number = kit(yard(store, tmp_path, RINGS_A), "RINGS")
    for _ in range(2):
        draw(store, number, piece("RING", 1), why(), Moment(NOW, "t-1"))
        give_back(store, number, piece("RING", 1), Told(), Moment(NOW, "t-2"))
    assert kinds(store, number) == [
        KitEventKind.GONE, KitEventKind.DRAWN, KitEventKind.RETURNED,
    ]  # fmt: skip
    sound(store)


def test_a_kit_that_is_over_is_not_changed_any_more(lite: Engine, tmp_path: Path) -> None:
    number = kit(yard(lite, tmp_path, RINGS_A), "RINGS")
    cancel(lite, number, NOW)
    for change in (
        lambda: draw(lite, number, piece("RING", 1), why(), at()),
        lambda: give_back(lite, number, piece("RING", 1), Told(), at()),
        lambda: swap(lite, number, Exchange(piece("RING", 1)), Told(), at()),
    ):
        with pytest.raises(KittingError, match="is cancelled"):
            change()
    view = contents(lite, number)
    assert (view.state, view.lines) == (BookingState.CANCELLED, ())


def test_a_kit_says_where_each_piece_goes(lite: Engine, tmp_path: Path) -> None:
    yard(lite, tmp_path, RINGS_A, "SEAL,S,2 each,1Q25", "CAP,C,9 each", "OIL,O,500 ml,,2028-01-01")
    number = kit(lite, "RINGS", "LOOK", "OPEN")
    found = {line.item: line for line in contents(lite, number).lines}
    assert found["RING"].joints == ("x1",)
    assert (found["SEAL"].joints, found["SEAL"].rule) == (("x2",), NeedRule.INSPECT)
    assert (found["CAP"].joints, found["CAP"].rule) == ((), NeedRule.USE)
    assert len(found["RING"].bags) == 1


def test_the_next_step_of_what_is_not_in_the_kit_is_to_look_into_it(
    lite: Engine, tmp_path: Path
) -> None:
    number = to_the_ramp(lite, kit(yard(lite, tmp_path, RINGS_A), "RINGS"))
    with pytest.raises(KittingError) as caught:
        give_back(lite, number, piece("RING", 9), Told(), at())
    assert [step.action for step in caught.value.then] == [Action.SHOW_KIT]


# --- the kit moved whole ----------------------------------------------------------------------


def test_a_kit_is_moved_whole_and_back_and_stays_that_of_its_booking(
    store: Engine, tmp_path: Path
) -> None:
    number = kit(yard(store, tmp_path, RINGS_A), "RINGS")
    before, shelves = shown(store, number), balances(store)
    assert move_kit(store, number, "quay", Told("fitted there", "Ann"), NOW) == "quay"
    there = shown(store, number)
    assert there.kit_in == "quay"
    assert (there.needs, there.verdict, there.branch) == (before.needs, before.verdict, "yard")
    assert balances(store) == shelves
    with reading(store) as session:
        assert labels_of(session, number).kit_in == pick_of(session, number).kit_in == "quay"
        code = labels_of(session, number).reference
        (now,) = read_label(session, code).kits
    assert now.kit_in == "quay"
    sound(store)
    with pytest.raises(KittingError, match="lies in quay: name another branch"):
        move_kit(store, number, "quay", Told(), NOW)
    assert move_kit(store, number, "yard", Told(), NOW) == "yard"
    assert shown(store, number).kit_in is None
    assert kinds(store, number) == [KitEventKind.MOVED, KitEventKind.MOVED]
    assert [event.place for event in contents(store, number).events] == ["quay", "yard"]
    sound(store)


def test_of_a_kit_that_is_away_nothing_goes_to_a_shelf_that_it_is_not_at(
    store: Engine, tmp_path: Path
) -> None:
    giver, taker = two(store, tmp_path, RINGS_A)
    move_kit(store, giver, "quay", Told(), NOW)
    shelves, lies = balances(store), lying(store, giver)
    away = f"the kit of {giver} lies in quay"
    one = piece("RING", 1)
    for attempt in (
        lambda: give_back(store, giver, one, Told(), at()),
        lambda: swap(store, giver, Exchange(one), Told(), at()),
        lambda: lend(store, Loan(giver, taker, one), Told(), at()),
        lambda: cancel(store, giver, NOW),
        lambda: make_change(store, giver, Change(branch="quay"), NOW),
    ):
        with pytest.raises(KittingError, match=away):
            attempt()
        assert (balances(store), lying(store, giver)) == (shelves, lies)
    to_the_ramp(store, giver, {"x1": 4})
    with pytest.raises(KittingError, match=away):
        close(store, giver, Closing(returned={"RING": 4000}), NOW, "so")
    assert (balances(store), lying(store, giver)) == (shelves, lies)
    close(store, giver, Closing(), NOW)
    sound(store)


def test_what_is_gone_from_a_kit_that_is_away_is_written_off(store: Engine, tmp_path: Path) -> None:
    number = kit(yard(store, tmp_path, RINGS_A), "RINGS")
    move_kit(store, number, "quay", Told(), NOW)
    draw(store, number, piece("RING", 1), why(), at())
    assert lying(store, number) == {("RING", "A"): 4}
    assert shown(store, number).kit_in == "quay"
    sound(store)


def test_an_empty_kit_and_one_that_is_over_are_not_moved(lite: Engine, tmp_path: Path) -> None:
    number = booked(yard(lite, tmp_path, RINGS_A), "RINGS").number
    with pytest.raises(KittingError, match="there is nothing to move") as empty:
        move_kit(lite, number, "quay", Told(), NOW)
    assert [step.action for step in empty.value.then] == [Action.PICK]
    with pytest.raises(UnknownNameError, match="Known: quay, yard"):
        move_kit(lite, number, "nowhere", Told(), NOW)
    cancel(lite, number, NOW)
    with pytest.raises(KittingError, match="its kit is accounted for"):
        move_kit(lite, number, "quay", Told(), NOW)


def test_a_move_that_is_sent_again_is_done_once(lite: Engine, tmp_path: Path) -> None:
    number = kit(yard(lite, tmp_path, RINGS_A), "RINGS")
    for _ in range(2):
        assert move_kit(lite, number, "quay", Told(), NOW, "once") == "quay"
    assert kinds(lite, number) == [KitEventKind.MOVED]
