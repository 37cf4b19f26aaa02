"""Bookings: promises, states, picking, closing, recalls, replaced parts."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime
from pathlib import Path

import pytest
from sqlalchemy import Engine, func, select

from helpers import (
    NOW,
    ON,
    UNCOUNTED,
    all_told,
    assert_ledger,
    balances,
    booked,
    load,
    needed,
    priced,
    said,
    shop,
    stock,
    unit,
)
from helpers import SUPPLY as YARDS
from kitting.errors import KittingError, UnknownNameError
from kitting.facts.units import Quantity
from kitting.facts.verdicts import Verdict
from kitting.facts.words import BookingState, LotState
from kitting.services.bookings.booking import (
    BookingRequest,
    book,
    renew_promises,
    step_to,
    take_from,
)
from kitting.services.bookings.change import Change
from kitting.services.bookings.close import Closing, close
from kitting.services.bookings.listing import list_bookings
from kitting.services.bookings.pick import cancel, pick
from kitting.services.bookings.states import find_booking
from kitting.services.bookings.view import booking_view
from kitting.services.purchasing.booking_change import make_change
from kitting.services.purchasing.orders import place
from kitting.services.stock.holds import put_on_hold
from kitting.services.stock.recall import recall
from kitting.services.stock.shelves import LotName, count_lot
from kitting.services.stock.transfers import arrive, send
from kitting.store import reading
from kitting.tables.bookings import Booking, Promise
from kitting.tables.stock import Movement
from kitting.views.bookings import BookingView, ElsewhereKind, ElsewhereView, SourceKind
from kitting.wording.bookings import elsewhere_text

YARD = ("yard", "RING", "A")
NOTHING = Closing({}, {})


def shown(engine: Engine, number: str) -> BookingView:
    with reading(engine) as session:
        return booking_view(session, find_booking(session, number))


def six(engine: Engine, folder: Path, needs: int = 4) -> None:
    """Six rings on the shelf of the yard, a job X1 that takes some."""
    load(engine, shop({"X1": {"RING": needs}}))
    stock(engine, folder, "yard,RING,A,6 each,1Q25")


def on_the_ramp(engine: Engine, number: str) -> None:
    pick(engine, number, NOW)
    step_to(engine, number, BookingState.CONFIRMED)
    step_to(engine, number, BookingState.ON_THE_RAMP)


def test_a_second_booking_never_gets_what_the_first_was_promised(
    store: Engine, tmp_path: Path
) -> None:
    six(store, tmp_path)
    first, second = booked(store, "X1"), booked(store, "X1")
    assert (first.number, first.state, first.ready, first.lacking) == (
        "B0001", "provisional", True, (),
    )  # fmt: skip
    line = needed(first, "RING")
    assert (line.needed, line.on_shelf, line.short) == (4000, 4000, 0)
    assert [(s.kind, s.lot, s.quantity, s.keeps_to, s.state) for s in line.sources] == [
        (SourceKind.LOT, "A", 4000, date(2035, 3, 31), LotState.GOOD)
    ]
    line = needed(second, "RING")
    assert (second.ready, said(second.lacking)) == (False, ["RING: 2 short"])
    assert (line.on_shelf, line.short, line.elsewhere) == (
        2000, 2000, (ElsewhereView(ElsewhereKind.PROMISED, 4000, booking="B0001"),),
    )  # fmt: skip
    assert balances(store) == {YARD: (6000, 6000)}
    assert_ledger(store)
    with reading(store) as session:
        listed = list_bookings(session, None, ["provisional"])
    assert [(row.number, row.short) for row in listed] == [("B0001", 0), ("B0002", 1)]


def test_what_is_free_elsewhere_is_named_and_promised_only_once_it_has_come(
    store: Engine, tmp_path: Path
) -> None:
    load(store, shop({"X1": {"RING": 4}}))
    stock(store, tmp_path, "quay,RING,Q,5 each,1Q25")
    view = booked(store, "X1")
    line = needed(view, "RING")
    assert (line.short, line.elsewhere) == (
        4000, (ElsewhereView(ElsewhereKind.FREE, 5000, branch="quay"),),
    )  # fmt: skip
    number, _ = send(store, LotName("quay", "RING", "Q"), Quantity(4000, "each"), "yard", NOW)
    assert needed(renew_promises(store, view.number), "RING").short == 4000
    arrive(store, number, NOW)
    with reading(store) as session:
        line = needed(booking_view(session, find_booking(session, view.number)), "RING")
    assert [elsewhere_text(one, "each") for one in line.elsewhere] == [
        "4 free here: not promised to it yet", "1 free in quay",
    ]  # fmt: skip
    assert needed(renew_promises(store, view.number), "RING").on_shelf == 4000
    assert_ledger(store)


def test_take_moves_promises_by_name_and_only_what_lacks(store: Engine, tmp_path: Path) -> None:
    six(store, tmp_path)
    booked(store, "X1")
    booked(store, "X1")
    with pytest.raises(KittingError, match="B0002 has no RING waiting that B0001 lacks"):
        take_from(store, "B0001", "RING", "B0002")
    taken = needed(take_from(store, "B0002", "RING", "B0001").taker, "RING")
    assert (taken.on_shelf, taken.short) == (4000, 0)
    left = needed(shown(store, "B0001"), "RING")
    assert (left.on_shelf, left.short) == (2000, 2000)
    assert balances(store) == {YARD: (6000, 6000)}
    with pytest.raises(UnknownNameError, match=r"item 'RIGN': unknown name\. Did you mean RING"):
        take_from(store, "B0002", "RIGN", "B0001")
    assert_ledger(store)


def test_what_is_picked_already_is_not_taken(store: Engine, tmp_path: Path) -> None:
    six(store, tmp_path)
    booked(store, "X1")
    booked(store, "X1")
    pick(store, "B0001", NOW)
    with pytest.raises(KittingError, match="B0001 has no RING waiting"):
        take_from(store, "B0002", "RING", "B0001")
    assert_ledger(store)


def test_promises_of_another_yard_are_not_taken(store: Engine, tmp_path: Path) -> None:
    six(store, tmp_path)
    booked(store, "X1")
    booked(store, "X1", branch="quay")
    with pytest.raises(KittingError, match="B0001 is of yard, B0002 of quay"):
        take_from(store, "B0002", "RING", "B0001")
    assert needed(shown(store, "B0001"), "RING").on_shelf == 4000
    assert_ledger(store)


def test_what_does_not_keep_until_the_takers_date_is_not_taken(
    store: Engine, tmp_path: Path
) -> None:
    load(store, shop({"X1": {"RING": 4}}))
    stock(store, tmp_path, "yard,RING,A,6 each,,2026-04-20")
    booked(store, "X1")
    booked(store, "X1", on=date(2026, 4, 21))
    with pytest.raises(KittingError, match="B0001 has no RING waiting that B0002 lacks"):
        take_from(store, "B0002", "RING", "B0001")
    assert_ledger(store)


def test_free_to_promise_is_3_on_tuesday_and_9_on_wednesday(store: Engine, tmp_path: Path) -> None:
    """Common practice, no source: 9 on hand, 6 promised, 10 due on Wednesday, 4 of them promised."""
    load(store, shop({"SIX": {"RING": 6}, "FOUR": {"RING": 4}, "NINE": {"RING": 9}}))
    priced(store, tmp_path, "prompt", "P-R,RING,8.40 GBP,10 each")
    stock(store, tmp_path, "yard,RING,A,6 each,1Q25")
    tuesday, wednesday = date(2026, 4, 14), date(2026, 4, 15)
    now = datetime(2026, 4, 14, 9, 0)  # noqa: DTZ001
    booked(store, "SIX", on=date(2026, 4, 17), at=now)
    waiting = booked(store, "FOUR", on=date(2026, 4, 17), at=now)
    (number,) = place(store, [waiting.number], now, target=0.9).orders
    assert needed(shown(store, waiting.number), "RING").sources[0].due == wednesday
    count_lot(store, LotName("yard", "RING", "A"), Quantity(9000, "each"), now)
    asked = booked(store, "NINE", on=tuesday, at=now)
    line = needed(asked, "RING")
    assert (line.on_shelf, line.coming, line.short) == (3000, 0, 6000)
    cancel(store, asked.number, now)
    line = needed(booked(store, "NINE", on=wednesday, at=now), "RING")
    assert (line.on_shelf, line.coming, line.short) == (3000, 6000, 0)
    assert [(s.lot, s.order, s.supplier) for s in line.sources] == [
        ("A", None, None), (None, number, "Prompt"),
    ]  # fmt: skip
    assert_ledger(store)


def mixed() -> str:
    """A unit with two clips to be inspected and three to be renewed, one item."""
    return unit(
        """
      - code: a
        name: A
        system: engine
        fits:
          - {item: CLIP, position: looked at, quantity: 2 each}
          - item: CLIP
            position: renewed
            quantity: 3 each
            rules: [{rule: renew, source: workshop, reference: test}]""",
        "      - {code: S1, name: One, hours: 1 h, opens: [a]}",
        "      - {code: X1, name: One, needs: [S1]}",
        items="  - {code: CLIP, name: Clip, kind: wire-clip}",
    ) + YARDS  # fmt: skip


@pytest.mark.parametrize(
    ("there", "renew", "spare"), [(5, (3000, 0), (2000, 0)), (4, (3000, 0), (1000, 1000)),
                                  (2, (2000, 1000), (0, 2000))],
)  # fmt: skip
def test_one_promise_covers_what_is_renewed_first_and_its_spares_with_the_rest(
    lite: Engine, tmp_path: Path, there: int, renew: tuple[int, int], spare: tuple[int, int]
) -> None:
    load(lite, mixed())
    stock(lite, tmp_path, f"yard,CLIP,C,{there} each")
    view = booked(lite, "X1")
    must, may = needed(view, "CLIP", "renew"), needed(view, "CLIP", "inspect")
    assert ((must.on_shelf, must.short), (may.on_shelf, may.short)) == (renew, spare)
    picked = pick(lite, view.number, NOW)
    assert needed(picked, "CLIP", "renew").picked == renew[0]
    assert needed(picked, "CLIP", "inspect").picked == spare[0]
    assert_ledger(lite)


def test_a_booking_is_not_confirmed_while_something_lacks_but_with_a_reason(
    store: Engine, tmp_path: Path
) -> None:
    six(store, tmp_path, needs=8)
    booked(store, "X1")
    refused = step_to(store, "B0001", BookingState.CONFIRMED)
    assert (refused.state, said(refused.lacking)) == ("provisional", ["RING: 2 short"])
    assert shown(store, "B0001").state == "provisional"
    agreed = step_to(store, "B0001", BookingState.CONFIRMED, "customer brings two")
    assert (agreed.state, agreed.override, agreed.ready) == (
        "confirmed", "customer brings two", False,
    )  # fmt: skip
    assert step_to(store, "B0001", BookingState.ON_THE_RAMP).override == "customer brings two"


def test_a_reason_that_is_not_needed_is_not_recorded(store: Engine, tmp_path: Path) -> None:
    six(store, tmp_path)
    booked(store, "X1")
    view = step_to(store, "B0001", BookingState.CONFIRMED, "to be sure")
    assert (view.state, view.override) == ("confirmed", None)


def test_what_is_still_to_come_does_not_make_a_booking_ready(store: Engine, tmp_path: Path) -> None:
    six(store, tmp_path, needs=8)
    priced(store, tmp_path, "prompt", "P-R,RING,0.42 GBP,1 each")
    booked(store, "X1")
    place(store, ["B0001"], NOW)
    view = step_to(store, "B0001", BookingState.CONFIRMED)
    assert (view.state, said(view.lacking)) == (
        "provisional", ["RING: 2 not here yet, due 2026-04-07"],
    )  # fmt: skip
    assert_ledger(store)


def test_stock_held_after_it_was_promised_is_not_ready_nor_picked_and_is_replaced(
    store: Engine, tmp_path: Path
) -> None:
    six(store, tmp_path)
    booked(store, "X1")
    put_on_hold(store, LotName("yard", "RING", "A"), "recalled", NOW)
    view = step_to(store, "B0001", BookingState.CONFIRMED)
    assert (view.state, view.ready, said(view.lacking)) == (
        "provisional", False, ["RING: 4 from lot A ON HOLD: recalled"],
    )  # fmt: skip
    assert needed(pick(store, "B0001", NOW), "RING").picked == 0
    stock(store, tmp_path, "yard,RING,NEW,9 each,1Q26")
    renewed = needed(renew_promises(store, "B0001"), "RING")
    assert [(s.lot, s.quantity) for s in renewed.sources] == [("NEW", 4000)]
    assert balances(store) == {YARD: (6000, 0), ("yard", "RING", "NEW"): (9000, 4000)}
    assert pick(store, "B0001", NOW).ready is True
    assert_ledger(store)


def test_two_lots_of_one_name_are_held_apart(store: Engine, tmp_path: Path) -> None:
    load(store, shop({"X1": {"RING": 1, "BOLT": 1}}))
    stock(store, tmp_path, "yard,RING,L1,1 each,1Q25", "yard,BOLT,L1,1 each")
    booked(store, "X1")
    put_on_hold(store, LotName("yard", "RING", "L1"), "recalled", NOW)
    view = pick(store, "B0001", NOW)
    assert (needed(view, "RING").picked, needed(view, "BOLT").picked) == (0, 1000)


@pytest.mark.parametrize(
    ("done", "then", "told"),
    [
        (["confirmed"], "confirmed", "is confirmed; only what is provisional can become confirmed"),
        ([], "on the ramp", "is provisional; only what is confirmed can become on the ramp"),
        ([], "closed", "is provisional; only what is on the ramp can become closed"),
        (["confirmed"], "closed", "is confirmed; only what is on the ramp can become closed"),
        (
            ["confirmed", "on the ramp"], "cancelled",
            "is on the ramp; only what is provisional or confirmed can become cancelled",
        ),
    ],
)  # fmt: skip
def test_a_booking_goes_from_state_to_state_in_order(
    lite: Engine, tmp_path: Path, done: list[str], then: str, told: str
) -> None:
    six(lite, tmp_path)
    booked(lite, "X1")
    for state in done:
        step_to(lite, "B0001", state)
    ways: dict[str, Callable[[], object]] = {
        "closed": lambda: close(lite, "B0001", NOTHING, NOW, despite=UNCOUNTED),
        "cancelled": lambda: cancel(lite, "B0001", NOW),
    }
    with pytest.raises(KittingError, match=f"B0001 {told}"):
        ways.get(then, lambda: step_to(lite, "B0001", then))()
    assert shown(lite, "B0001").state == (done[-1] if done else "provisional")


@pytest.mark.parametrize("end", ["closed", "cancelled"])
def test_of_a_booking_that_is_over_nothing_is_changed(
    store: Engine, tmp_path: Path, end: str
) -> None:
    six(store, tmp_path)
    booked(store, "X1")
    if end == "closed":
        on_the_ramp(store, "B0001")
        close(store, "B0001", NOTHING, NOW, despite=UNCOUNTED)
    else:
        cancel(store, "B0001", NOW)
    booked(store, "X1")
    for change in (
        lambda: pick(store, "B0001", NOW),
        lambda: renew_promises(store, "B0001"),
        lambda: take_from(store, "B0001", "RING", "B0002"),
        lambda: step_to(store, "B0001", BookingState.CONFIRMED),
        lambda: cancel(store, "B0001", NOW),
        lambda: close(store, "B0001", NOTHING, NOW, despite=UNCOUNTED),
        lambda: place(store, ["B0001"], NOW),
    ):
        with pytest.raises(KittingError, match=f"B0001 is {end}"):
            change()
    assert_ledger(store)


def test_cancelling_frees_promises_and_puts_back_what_was_picked(
    store: Engine, tmp_path: Path
) -> None:
    six(store, tmp_path, needs=8)
    booked(store, "X1")
    pick(store, "B0001", NOW)
    assert balances(store) == {YARD: (0, 0)}
    stock(store, tmp_path, "yard,RING,B,9 each,1Q25")
    renew_promises(store, "B0001")
    assert balances(store)["yard", "RING", "B"] == (9000, 2000)
    assert cancel(store, "B0001", NOW).state == "cancelled"
    assert balances(store) == {YARD: (6000, 0), ("yard", "RING", "B"): (9000, 0)}
    with reading(store) as session:
        (row,) = recall(session, "A", ON).bookings
    assert (row.booking, row.state, row.waiting, row.picked, row.used) == (
        "B0001", "cancelled", 0, 0, 0,
    )  # fmt: skip
    assert_ledger(store)


def test_picking_takes_from_the_shelf_what_waits_and_a_second_time_nothing(
    store: Engine, tmp_path: Path
) -> None:
    six(store, tmp_path)
    booked(store, "X1")
    line = needed(pick(store, "B0001", NOW), "RING")
    assert (line.picked, line.on_shelf, line.short) == (4000, 0, 0)
    pick(store, "B0001", NOW)
    assert balances(store) == {YARD: (2000, 0)}
    with reading(store) as session:
        moves = session.execute(select(Movement.kind, Movement.quantity, Movement.balance)).all()
        waits = session.execute(select(Promise.waiting, Promise.picked)).all()
    assert [tuple(move) for move in moves] == [("counted", 6000, 6000), ("picked", -4000, 2000)]
    assert [tuple(wait) for wait in waits] == [(0, 4000)]
    assert_ledger(store)


def test_closing_accounts_for_used_returned_and_spoilt(store: Engine, tmp_path: Path) -> None:
    load(store, shop({"X1": {"RING": 5}}))
    stock(store, tmp_path, "yard,RING,A,3 each,1Q24", "yard,RING,B,9 each,1Q25")
    booked(store, "X1")
    on_the_ramp(store, "B0001")
    view = close(store, "B0001", Closing({"RING": 1000}, {"RING": 2000}), NOW, despite=UNCOUNTED)
    assert view.state == "closed"
    with reading(store) as session:
        rows = session.execute(
            select(
                func.sum(Promise.picked), func.sum(Promise.used), func.sum(Promise.returned),
                func.sum(Promise.scrapped),
            )
        ).one()  # fmt: skip
        assert tuple(int(amount) for amount in rows) == (5000, 2000, 1000, 2000)
        assert session.scalars(select(Booking.closed_at)).one() == NOW
    assert sum(there for there, _ in balances(store).values()) == 12_000 - 5000 + 1000
    assert all(kept == 0 for _, kept in balances(store).values())
    assert_ledger(store)


@pytest.mark.parametrize(
    ("closing", "told"),
    [
        (Closing({"RING": 5000}, {}), "returns and scrap exceed what was picked by 1 RING"),
        (Closing({"RING": 3000}, {"RING": 2000}), "exceed what was picked by 1 RING"),
        (Closing({}, {"BOLT": 1000}), "exceed what was picked by 1 BOLT"),
    ],
)
def test_more_back_than_was_picked_is_refused_and_nothing_recorded(
    store: Engine, tmp_path: Path, closing: Closing, told: str
) -> None:
    six(store, tmp_path)
    booked(store, "X1")
    on_the_ramp(store, "B0001")
    with pytest.raises(KittingError, match=told):
        close(store, "B0001", closing, NOW, despite=UNCOUNTED)
    assert shown(store, "B0001").state == "on the ramp"
    assert balances(store) == {YARD: (2000, 0)}
    with reading(store) as session:
        row = session.execute(select(Promise.used, Promise.returned, Promise.scrapped)).one()
    assert tuple(row) == (0, 0, 0)
    assert_ledger(store)


def test_a_recall_answers_shelves_kits_and_closed_jobs(store: Engine, tmp_path: Path) -> None:
    load(store, shop({"X1": {"RING": 2}}))
    stock(store, tmp_path, "yard,RING,A,9 each,1Q25", "quay,RING,A,3 each,1Q25")
    for _ in range(3):
        booked(store, "X1")
    on_the_ramp(store, "B0001")
    close(store, "B0001", Closing({"RING": 1000}, {}), NOW, despite=UNCOUNTED)
    pick(store, "B0002", NOW)
    send(store, LotName("quay", "RING", "A"), Quantity(1000, "each"), "yard", NOW)
    with reading(store) as session:
        view = recall(session, "A", ON)
        with pytest.raises(UnknownNameError, match="lot 'AB': unknown name"):
            recall(session, "AB", ON)
    assert [(lot.branch, lot.on_hand) for lot in view.shelves] == [("quay", 2000), ("yard", 6000)]
    assert view.on_the_way == 1000
    assert [
        (b.booking, b.vehicle, b.state, b.waiting, b.picked, b.used) for b in view.bookings
    ] == [
        ("B0001", "PELL 001", "closed", 0, 1000, 1000),
        ("B0002", "PELL 001", "provisional", 0, 2000, 0),
        ("B0003", "PELL 001", "provisional", 2000, 0, 0),
    ]
    assert [(m.kind, m.quantity, m.booking) for m in view.movements] == [
        ("counted", 9000, None), ("counted", 3000, None), ("picked", -2000, "B0001"),
        ("put back", 1000, "B0001"), ("picked", -2000, "B0002"), ("sent", -1000, None),
    ]  # fmt: skip
    assert_ledger(store)


OLD_NEW = """
  - code: OLD
    name: Old
    kind: multilayer-gasket
    replaced:
      by: [{item: NEW, quantity: 1 each}, {item: BRACKET, quantity: 1 each}]
      old_stock: %s
  - {code: NEW, name: New, kind: multilayer-gasket}
  - {code: BRACKET, name: Bracket, kind: bracket}"""


def taken(view: BookingView) -> list[tuple[str, int, int, str | None]]:
    return [(n.item, n.needed, n.on_shelf, n.stands_for) for n in view.needs]


def test_case_14_old_stock_finishes_the_job_if_it_is_enough_else_new_and_bracket(
    store: Engine, tmp_path: Path
) -> None:
    load(store, shop({"X1": {"OLD": 1}}, items=OLD_NEW % "use up"))
    stock(store, tmp_path, "yard,OLD,O,1 each")
    assert taken(booked(store, "X1")) == [("OLD", 1000, 1000, ())]
    assert taken(booked(store, "X1")) == [
        ("BRACKET", 1000, 0, ("OLD",)), ("NEW", 1000, 0, ("OLD",)),
    ]  # fmt: skip


def test_old_stock_that_is_not_enough_is_not_mixed_with_the_new(
    lite: Engine, tmp_path: Path
) -> None:
    load(lite, shop({"X1": {"OLD": 2}}, items=OLD_NEW % "use up"))
    stock(lite, tmp_path, "yard,OLD,O,1 each")
    assert taken(booked(lite, "X1")) == [
        ("BRACKET", 2000, 0, ("OLD",)), ("NEW", 2000, 0, ("OLD",)),
    ]  # fmt: skip


CHAIN = """
  - code: A
    name: A
    kind: multilayer-gasket
    replaced: {by: [{item: B, quantity: 2 each}], old_stock: %s}
  - code: B
    name: B
    kind: multilayer-gasket
    replaced: {by: [{item: C, quantity: 3 each}, {item: BRACKET, quantity: 1 each}], old_stock: %s}
  - {code: C, name: C, kind: multilayer-gasket}
  - {code: BRACKET, name: Bracket, kind: bracket}"""
ALL_NEW = [("BRACKET", 2000, 0, ("A",)), ("C", 6000, 0, ("A",))]


@pytest.mark.parametrize(
    ("first", "second", "shelf", "found"),
    [
        ("use up", "use up", {"A": 1, "B": 2}, [("A", 1000, 1000, ())]),
        ("use up", "use up", {"B": 2}, [("B", 2000, 2000, ("A",))]),
        ("scrap", "use up", {"A": 1, "B": 2}, [("B", 2000, 2000, ("A",))]),
        ("use up", "scrap", {"B": 2}, ALL_NEW),
        ("use up", "use up", {"B": 1}, ALL_NEW),
    ],
)
def test_old_stock_of_each_in_a_chain_is_used_up_if_it_is_enough(
    lite: Engine, tmp_path: Path, first: str, second: str, shelf: dict[str, int],
    found: list[tuple[str, int, int, tuple[str, ...]]],
) -> None:  # fmt: skip
    load(lite, shop({"X1": {"A": 1}}, items=CHAIN % (first, second)))
    stock(lite, tmp_path, *(f"yard,{item},{item},{n} each" for item, n in shelf.items()))
    assert taken(booked(lite, "X1")) == found
    # What was promised to it stays when it is planned again.
    make_change(lite, "B0001", Change(on=date(2026, 4, 16)), NOW)
    with reading(lite) as session:
        assert taken(booking_view(session, find_booking(session, "B0001"))) == found


def test_old_stock_to_be_scrapped_is_not_used(lite: Engine, tmp_path: Path) -> None:
    load(lite, shop({"X1": {"OLD": 1}}, items=OLD_NEW % "scrap"))
    stock(lite, tmp_path, "yard,OLD,O,9 each")
    assert [n.item for n in booked(lite, "X1").needs] == ["BRACKET", "NEW"]


def test_a_replacement_counts_from_its_day_on(lite: Engine) -> None:
    items = (OLD_NEW % "scrap").replace("old_stock:", "since: 2026-04-15\n      old_stock:")
    load(lite, shop({"X1": {"OLD": 1}}, items=items))
    assert [n.item for n in booked(lite, "X1", on=date(2026, 4, 14)).needs] == ["OLD"]
    assert [n.item for n in booked(lite, "X1", on=date(2026, 4, 15)).needs] == ["BRACKET", "NEW"]


def test_a_part_replaced_twice_is_followed_to_the_end_with_its_amounts(lite: Engine) -> None:
    items = """
  - code: ONE
    name: One
    kind: clip
    replaced: {by: [{item: TWO, quantity: 2 each}], old_stock: scrap}
  - code: TWO
    name: Two
    kind: clip
    replaced: {by: [{item: THREE, quantity: 3 each}], old_stock: scrap}
  - {code: THREE, name: Three, kind: clip}""".replace("kind: clip", "kind: wire-clip")
    load(lite, shop({"X1": {"ONE": 2, "THREE": 1}}, items=items))
    assert taken(booked(lite, "X1")) == [("THREE", 13_000, 0, ("ONE",))]


def test_a_ring_of_replacements_is_said_and_the_part_stays(garage: Engine) -> None:
    belt = needed(
        book(garage, BookingRequest("PELL 117", ["J3"], ON, "upper", again=True), NOW), "BELT-ACC-A"
    )
    assert belt.verdict is Verdict.UNKNOWN
    assert said(doubt.because for doubt in belt.doubts)[-1] == (
        "BELT-ACC-A and its replacements run in a ring: ask the supplier which is current"
        " (correct replaced: of the items)"
    )


def test_old_stock_enough_for_one_need_is_not_counted_for_two(lite: Engine, tmp_path: Path) -> None:
    text = mixed().replace("kind: wire-clip}", "kind: wire-clip, replaced: {by: [{item: NEXT, quantity: 1 each}], old_stock: use up}}\n  - {code: NEXT, name: Next, kind: wire-clip}")  # fmt: skip
    load(lite, text)
    stock(lite, tmp_path, "yard,CLIP,C,3 each")
    view = booked(lite, "X1")
    assert {(n.item, n.rule, n.needed) for n in view.needs} == {
        ("CLIP", "renew", 3000), ("NEXT", "inspect", 2000),
    }  # fmt: skip


def test_a_variant_that_is_not_settled_cannot_be_booked(garage: Engine) -> None:
    with garage.connect() as connection:
        before = connection.scalar(select(func.count()).select_from(Booking))
    with pytest.raises(KittingError, match=r"PELL 042 cannot be booked for these jobs yet: .*"):
        book(garage, BookingRequest("PELL 042", ["J2"], ON, "upper", again=True), NOW)
    with garage.connect() as connection:
        assert connection.scalar(select(func.count()).select_from(Booking)) == before


def test_unknown_branches_and_bookings_are_told_with_near_ones(lite: Engine) -> None:
    load(lite, shop({"X1": {"RING": 1}}))
    with pytest.raises(
        UnknownNameError, match=r"branch 'yrad': unknown name\. Did you mean yard\?"
    ):
        book(lite, BookingRequest("PELL 001", ["X1"], ON, "yrad", again=True), NOW)
    with pytest.raises(UnknownNameError, match=r"which branch\? There are yard, quay"):
        book(lite, BookingRequest("PELL 001", ["X1"], ON, again=True), NOW)
    with pytest.raises(UnknownNameError, match=r"booking 'B0007': unknown name\. None is made"):
        pick(lite, "B0007", NOW)


def test_the_demo_ledger_explains_every_balance_through_a_whole_job(garage: Engine) -> None:
    assert_ledger(garage)
    view = book(garage, BookingRequest("PELL 117", ["J1", "J2"], ON, "upper", again=True), NOW)
    assert view.number == "B0002"
    place(garage, ["B0002"], NOW)
    assert_ledger(garage)
    pick(garage, "B0002", NOW)
    step_to(garage, "B0002", BookingState.CONFIRMED, "ordered, due on the 7th")
    step_to(garage, "B0002", BookingState.ON_THE_RAMP)
    close(garage, "B0002", all_told(garage, "B0002", {"CAP-PLUG": 2000}), NOW, despite=UNCOUNTED)
    assert_ledger(garage)
    with reading(garage) as session:
        kits = [b for b in recall(session, "SI-2411", ON).bookings if b.booking == "B0002"]
    assert [(b.state, b.used) for b in kits] == [("closed", 2000)]


def test_what_a_booking_of_another_yard_is_promised_is_not_named(
    lite: Engine, tmp_path: Path
) -> None:
    load(lite, shop({"X1": {"RING": 4}}))
    stock(lite, tmp_path, "quay,RING,Q,4 each,1Q25")
    booked(lite, "X1", branch="quay")
    line = needed(booked(lite, "X1"), "RING")
    assert (line.short, line.elsewhere) == (4000, ())


@pytest.mark.parametrize(("fit_on", "late"), [(14, False), (13, True)])
def test_an_arrival_is_late_only_if_it_may_come_after_the_fitting_date(
    lite: Engine, tmp_path: Path, fit_on: int, late: bool
) -> None:
    load(lite, shop({"X1": {"RING": 4}}))
    priced(lite, tmp_path, "slow", "S-R,RING,0.40 GBP,1 each")
    number = booked(lite, "X1", on=date(2026, 4, fit_on)).number
    place(lite, [number], NOW, date(2026, 4, 16))
    (source,) = needed(shown(lite, number), "RING").sources
    assert (source.due_late, source.late) == (date(2026, 4, 14), late)
