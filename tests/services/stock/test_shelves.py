"""Stock: lists, counts, holding back, sending, shelf life at the fitting date, the ledger."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path

import pytest
from sqlalchemy import Engine, delete, func, select, update
from sqlalchemy.exc import DBAPIError, IntegrityError

from helpers import (
    NOW,
    ON,
    STOCK_HEADING,
    SUPPLY,
    assert_ledger,
    balances,
    booked,
    listed,
    load,
    needed,
    planned,
    shop,
    stock,
    use_of,
)
from kitting.errors import FileProblemsError, KittingError, UnknownNameError
from kitting.facts.units import Quantity
from kitting.facts.words import LotState, MovementKind, ShelfPolicy
from kitting.services.bookings.booking import BookingRequest, book
from kitting.services.bookings.states import find_booking
from kitting.services.stock.holds import put_on_hold, release
from kitting.services.stock.ledger import (
    Claim,
    Move,
    TakenError,
    post,
    post_all,
    set_all_aside,
    set_aside,
)
from kitting.services.stock.recall import recall
from kitting.services.stock.shelves import LotName, count_lot, list_stock, scrap
from kitting.services.stock.stock_lists import load_stock
from kitting.services.stock.transfers import arrive, send
from kitting.store import reading, writing
from kitting.tables.stock import Lot, Movement
from kitting.views.stock import LotView

NITRILE = "  - {code: NBR, name: N, kind: o-ring, elastomer: NBR}"
YARD = ("yard", "RING", "A")
# Both yards judge storage life by the other table.
BY_ARP = SUPPLY.replace("country: GB, sub", "shelf_policy: ARP5316, country: GB, sub")


def each(count: int) -> Quantity:
    return Quantity(count * 1000, "each")


def shelf(engine: Engine, lot: str, on: date = ON) -> LotView:
    with reading(engine) as session:
        (found,) = (v for v in list_stock(session, None, (), on) if v.lot == lot)
    return found


def kinds(engine: Engine) -> list[tuple[str, int, int]]:
    with engine.connect() as connection:
        rows = connection.execute(
            select(Movement.kind, Movement.quantity, Movement.balance).order_by(Movement.id)
        )
        return [(kind, quantity, balance) for kind, quantity, balance in rows]


def test_every_fault_of_a_list_is_told_and_nothing_is_loaded(store: Engine, tmp_path: Path) -> None:
    load(store, shop({"X1": {"RING": 1}}))
    with pytest.raises(FileProblemsError) as caught:
        stock(
            store, tmp_path,
            "yard,RING,GOOD,5 each",
            "yrad,RING,A,5 each",
            "yard,RIGN,B,5 each",
            "yard,RING,C,5 ml",
            "yard,RING,D,5",
            "yard,RING,E,5 each,5Q24",
            "yard,RING,GOOD,6 each",
            "yard,RING,F,-1 each",
            "yard,RING,G,5 each,,30.4.26",
        )  # fmt: skip
    told = {p.line: (p.reason, p.next_step) for p in caught.value.problems}
    assert sorted(told) == [3, 4, 5, 6, 7, 8, 9, 10]
    assert told[3] == ("branch 'yrad': unknown name", "Did you mean yard?")
    assert told[4] == ("item 'RIGN': unknown name", "Did you mean RING?")
    assert told[5] == (
        "given in ml, but RING is stocked in each",
        "Give it in each; or, if the item is stocked in ml, state 'unit: ml' of it",
    )
    assert told[8] == ("this lot stands in line 2 already", "Keep one of the two")
    assert balances(store) == {}
    assert kinds(store) == []


def test_a_row_that_would_break_a_promise_stops_the_whole_list(
    store: Engine, tmp_path: Path
) -> None:
    load(store, shop({"X1": {"RING": 4}}))
    stock(store, tmp_path, "yard,RING,A,6 each")
    booked(store, "X1")
    with pytest.raises(FileProblemsError) as caught:
        stock(store, tmp_path, "yard,RING,NEW,9 each", "yard,RING,A,3 each")
    (problem,) = caught.value.problems
    assert (problem.line, problem.thing) == (3, "lot A")
    assert problem.reason.startswith("lot A: 3 asked for, 2 free (4 of 6 promised)")
    assert balances(store) == {YARD: (6000, 4000)}
    assert_ledger(store)


def test_p5_a_list_makes_nothing_on_a_shelf_younger(lite: Engine, tmp_path: Path) -> None:
    """Old rubber would keep for years more, without a line in the ledger; a first date is taken."""
    load(lite, shop({"X1": {"RING": 1}}))
    stock(lite, tmp_path, "yard,RING,A,6 each,2Q19", "yard,RING,B,2 each")
    with pytest.raises(FileProblemsError) as refused:
        stock(lite, tmp_path, "yard,RING,A,6 each,1Q26", "yard,RING,B,1 each,1Q26")
    (problem,) = refused.value.problems
    assert "2026-03-31" in problem.reason
    assert "2019-06-30" in problem.reason
    assert "a lot code of its own" in problem.next_step
    assert balances(lite)["yard", "RING", "B"] == (2000, 0)
    stock(lite, tmp_path, "yard,RING,B,2 each,1Q26")
    with lite.connect() as connection:
        made = dict(connection.execute(select(Lot.code, Lot.made_on)).all())
    assert made == {"A": date(2019, 6, 30), "B": date(2026, 3, 31)}


def test_loading_a_list_again_changes_nothing(store: Engine, tmp_path: Path) -> None:
    load(store, shop({"X1": {"RING": 1}}))
    rows = ("yard,RING,A,6 each,4Q24", "quay,RING,B,2 each", "yard,RING,NONE,0 each")
    first = stock(store, tmp_path, *rows)
    assert (first.lots, first.new, first.counted, first.same) == (3, 3, 2, 1)
    before = kinds(store)
    again = stock(store, tmp_path, *rows)
    assert (again.lots, again.new, again.counted, again.same) == (3, 0, 0, 3)
    assert kinds(store) == before == [("counted", 6000, 6000), ("counted", 2000, 2000)]
    changed = stock(store, tmp_path, "yard,RING,A,4 each,4Q24")
    assert (changed.new, changed.counted) == (0, 1)
    assert kinds(store)[-1] == ("counted", -2000, 4000)
    assert_ledger(store)


def test_a_dry_run_reports_and_keeps_nothing(store: Engine, tmp_path: Path) -> None:
    load(store, shop({"X1": {"RING": 1}}))
    path = listed(tmp_path, STOCK_HEADING, "yard,RING,A,6 each")
    report = load_stock(store, [path], NOW, dry_run=True)
    assert (report.new, report.counted, report.dry_run) == (1, 1, True)
    assert balances(store) == {}


def test_a_count_writes_the_difference_and_never_less_than_is_promised(
    store: Engine, tmp_path: Path
) -> None:
    load(store, shop({"X1": {"RING": 4}}))
    stock(store, tmp_path, "yard,RING,A,6 each")
    booked(store, "X1")
    assert count_lot(store, LotName("yard", "RING", "A"), each(5), NOW, "shelf count") == -1000
    assert count_lot(store, LotName("yard", "RING", "A"), each(5), NOW) == 0
    with pytest.raises(TakenError, match=r"lot A: 2 asked for, 1 free \(4 of 5 promised\)"):
        count_lot(store, LotName("yard", "RING", "A"), each(3), NOW)
    with pytest.raises(KittingError, match="given in ml, but RING is stocked in each"):
        count_lot(store, LotName("yard", "RING", "A"), Quantity(1000, "ml"), NOW)
    with pytest.raises(UnknownNameError, match=r"yard has no lot 'Z' of RING\. Known: A"):
        count_lot(store, LotName("yard", "RING", "Z"), each(1), NOW)
    assert kinds(store) == [("counted", 6000, 6000), ("counted", -1000, 5000)]
    assert balances(store) == {YARD: (5000, 4000)}
    assert_ledger(store)


def test_held_stock_is_promised_to_nobody_until_it_is_released(
    store: Engine, tmp_path: Path
) -> None:
    load(store, shop({"X1": {"RING": 4}}))
    stock(store, tmp_path, "yard,RING,A,6 each,1Q25")
    put_on_hold(store, LotName("yard", "RING", "A"), "supplier asks to check", NOW)
    assert (shelf(store, "A").state, shelf(store, "A").free) == (LotState.ON_HOLD, 0)
    assert needed(booked(store, "X1"), "RING").short == 4000
    release(store, LotName("yard", "RING", "A"), NOW)
    assert (shelf(store, "A").state, shelf(store, "A").free) == ("good", 6000)
    assert needed(booked(store, "X1"), "RING").on_shelf == 4000
    assert_ledger(store)


def test_held_stock_is_not_sent_to_another_yard_where_it_would_be_free(
    store: Engine, tmp_path: Path
) -> None:
    load(store, shop({"X1": {"RING": 4}}))
    stock(store, tmp_path, "yard,RING,A,6 each,1Q25", "quay,RING,A,1 each,1Q25")
    put_on_hold(store, LotName("yard", "RING", "A"), "recalled", NOW)
    with pytest.raises(KittingError, match="lot A is on hold: recalled"):
        send(store, LotName("yard", "RING", "A"), each(2), "quay", NOW)
    assert balances(store) == {YARD: (6000, 0), ("quay", "RING", "A"): (1000, 0)}


def test_scrap_takes_out_what_is_free_with_the_reason(store: Engine, tmp_path: Path) -> None:
    load(store, shop({"X1": {"RING": 4}}))
    stock(store, tmp_path, "yard,RING,A,6 each")
    booked(store, "X1")
    assert scrap(store, LotName("yard", "RING", "A"), each(2), NOW, "cut on a thread") == 4000
    with pytest.raises(TakenError, match="1 asked for, 0 free"):
        scrap(store, LotName("yard", "RING", "A"), each(1), NOW, "again")
    for nothing in (0, -1):
        with pytest.raises(KittingError, match="must be more than 0"):
            scrap(store, LotName("yard", "RING", "A"), each(nothing), NOW, "none")
    with reading(store) as session:
        moves = recall(session, "A", ON).movements
    assert [(m.kind, m.quantity, m.note) for m in moves] == [
        ("counted", 6000, "list"), ("scrapped", -2000, "cut on a thread"),
    ]  # fmt: skip
    assert_ledger(store)


def test_what_is_sent_is_on_neither_shelf_until_it_arrives_once(
    store: Engine, tmp_path: Path
) -> None:
    load(store, shop({"X1": {"RING": 4}}))
    stock(store, tmp_path, "yard,RING,A,6 each,4Q24")
    number, due = send(store, LotName("yard", "RING", "A"), each(2), "quay", NOW)
    assert due == date(2026, 4, 2)
    assert balances(store) == {YARD: (4000, 0), ("quay", "RING", "A"): (0, 0)}
    assert needed(booked(store, "X1", branch="quay"), "RING").short == 4000
    with reading(store) as session:
        view = recall(session, "A", ON)
    assert (view.on_the_way, [lot.on_hand for lot in view.shelves]) == (2000, [0, 4000])
    assert arrive(store, number, NOW) == 2000
    with pytest.raises(KittingError, match=f"transfer {number} has arrived already"):
        arrive(store, number, NOW)
    with pytest.raises(KittingError, match="transfer 99 is not known"):
        arrive(store, 99, NOW)
    assert balances(store) == {YARD: (4000, 0), ("quay", "RING", "A"): (2000, 0)}
    with reading(store) as session:
        there, here = recall(session, "A", ON).shelves
    assert (there.branch, there.keeps_to, here.keeps_to) == (
        "quay", date(2034, 12, 31), date(2034, 12, 31),
    )  # fmt: skip
    assert_ledger(store)


def test_promised_stock_stays_and_stock_is_not_sent_to_where_it_is(
    store: Engine, tmp_path: Path
) -> None:
    load(store, shop({"X1": {"RING": 4}}))
    stock(store, tmp_path, "yard,RING,A,6 each")
    booked(store, "X1")
    with pytest.raises(TakenError, match="3 asked for, 2 free"):
        send(store, LotName("yard", "RING", "A"), each(3), "quay", NOW)
    with pytest.raises(KittingError, match="yard is where it is"):
        send(store, LotName("yard", "RING", "A"), each(1), "yard", NOW)
    assert balances(store) == {YARD: (6000, 4000)}
    assert_ledger(store)


@pytest.mark.parametrize(
    ("at", "due"),
    [
        # Common practice, no source: what leaves before the van's cut-off is there the same day.
        (datetime(2026, 4, 15, 14, 59), date(2026, 4, 15)),  # noqa: DTZ001
        (datetime(2026, 4, 15, 15, 0), date(2026, 4, 16)),  # noqa: DTZ001
        # Good Friday, the weekend and Easter Monday lie between.
        (datetime(2026, 4, 2, 15, 5), date(2026, 4, 7)),  # noqa: DTZ001
        (datetime(2026, 4, 4, 9, 0), date(2026, 4, 7)),  # noqa: DTZ001
    ],
)
def test_a_transfer_is_due_by_the_cut_off_of_the_van(
    lite: Engine, tmp_path: Path, at: datetime, due: date
) -> None:
    load(lite, shop({"X1": {"RING": 4}}))
    stock(lite, tmp_path, "yard,RING,A,6 each")
    assert send(lite, LotName("yard", "RING", "A"), each(1), "quay", at)[1] == due


def test_nitrile_of_2018_is_refused_in_2026_by_one_table_and_usable_by_the_other(
    lite: Engine, tmp_path: Path
) -> None:
    """ISO 2230:2002 group B: 7 years; SAE ARP5316, read in two vendors' tables: 15 years."""
    load(lite, shop({"X1": {"NBR": 2}}, items=NITRILE))
    stock(lite, tmp_path, "yard,NBR,N18,7 each,2Q18")
    iso = shelf(lite, "N18")
    assert (iso.keeps_to, iso.state, iso.free) == (date(2025, 6, 30), "expired", 0)
    refused = needed(booked(lite, "X1"), "NBR")
    assert (refused.on_shelf, refused.short) == (0, 2000)
    usable = needed(booked(lite, "X1", policy=ShelfPolicy.ARP5316), "NBR")
    assert (usable.on_shelf, usable.short) == (2000, 0)
    load(lite, shop({"X1": {"NBR": 2}}, items=NITRILE, supply=BY_ARP))
    arp = shelf(lite, "N18")
    assert (arp.keeps_to, arp.state, arp.free) == (date(2033, 6, 30), "good", 5000)
    assert needed(booked(lite, "X1"), "NBR").on_shelf == 2000


def test_case_12_a_sealant_that_expires_on_10_may_is_refused_for_12_may(
    lite_garage: Engine, tmp_path: Path
) -> None:
    stock(lite_garage, tmp_path, "upper,SEALANT-COVER-70,S10,70 ml,,2026-05-10")

    def sealant(day: int) -> tuple[int, int, list[str]]:
        view = book(
            lite_garage,
            BookingRequest("PELL 117", ["J3"], date(2026, 5, day), "upper", again=True),
            NOW,
        )
        line = needed(view, "SEALANT-COVER-70")
        return (
            line.on_shelf,
            line.short,
            [f"{source.lot} in {source.bin}" for source in line.sources],
        )

    takes = use_of(planned(lite_garage, "PELL 117", "J3"), "SEALANT-COVER-70").to_take
    assert takes > 0
    assert sealant(10) == (takes, 0, ["S10 in K1-01"])
    assert sealant(12) == (0, takes, [])


def test_opened_life_ends_before_the_printed_date(lite_garage: Engine) -> None:
    """The demo's tube: printed 31 Mar 2026, opened 20 Jan 2026, 60 days (invented)."""
    assert shelf(lite_garage, "ST-2503").keeps_to == date(2026, 3, 21)
    assert shelf(lite_garage, "ST-2503", on=date(2026, 3, 21)).state == "good"
    assert shelf(lite_garage, "ST-2503", on=date(2026, 3, 22)).state == "expired"


def test_what_expires_first_goes_out_first(lite: Engine, tmp_path: Path) -> None:
    load(lite, shop({"X1": {"RING": 5}}))
    stock(
        lite, tmp_path,
        "yard,RING,LATE,2 each,1Q25", "yard,RING,NODATE,9 each", "yard,RING,EARLY,2 each,1Q20",
    )  # fmt: skip
    line = needed(booked(lite, "X1"), "RING")
    assert [(s.lot, s.quantity, s.state) for s in line.sources] == [
        ("EARLY", 2000, LotState.GOOD), ("LATE", 2000, LotState.GOOD),
        ("NODATE", 1000, LotState.AGE_UNKNOWN),
    ]  # fmt: skip


def test_movements_are_never_altered_nor_removed(store: Engine, tmp_path: Path) -> None:
    load(store, shop({"X1": {"RING": 1}}))
    stock(store, tmp_path, "yard,RING,A,6 each")
    with pytest.raises(DBAPIError, match="movement"), store.begin() as connection:
        connection.execute(update(Movement).values(quantity=1))
    with pytest.raises(DBAPIError, match="movement"), store.begin() as connection:
        connection.execute(delete(Movement))
    assert kinds(store) == [("counted", 6000, 6000)]


@pytest.mark.parametrize(
    "values",
    [{"on_hand": -1}, {"promised": 6001}, {"promised": -1}, {"on_hand": 3999, "promised": 4000}],
)
def test_the_database_refuses_less_than_nothing_and_a_double_promise(
    store: Engine, tmp_path: Path, values: dict[str, int]
) -> None:
    load(store, shop({"X1": {"RING": 1}}))
    stock(store, tmp_path, "yard,RING,A,6 each")
    with pytest.raises(IntegrityError), store.begin() as connection:
        connection.execute(update(Lot).values(**values))
    assert balances(store) == {YARD: (6000, 0)}


def test_the_ledger_refuses_what_is_promised_to_somebody_and_says_what_is_free(
    store: Engine, tmp_path: Path
) -> None:
    load(store, shop({"X1": {"RING": 4}}))
    stock(store, tmp_path, "yard,RING,A,6 each")
    booked(store, "X1")
    with writing(store) as session:
        lot = session.scalars(select(Lot)).one()
        with pytest.raises(TakenError, match=r"lot A: 2.001 asked for, 2 free \(4 of 6 promised\)"):
            post(session, Move(lot.id, MovementKind.PICKED, -2001), NOW)
        with pytest.raises(TakenError, match=r"lot A: 2.001 asked for, 2 free \(4 of 6"):
            set_aside(session, 1, lot.item_id, lot.id, 2001)
    with store.connect() as connection:
        assert connection.scalar(select(func.count()).select_from(Movement)) == 1
    assert_ledger(store)


def test_the_former_heading_of_a_stock_list_is_refused_and_the_new_one_named(
    lite: Engine, tmp_path: Path
) -> None:
    load(lite, shop({"X1": {"RING": 1}}))
    path = listed(tmp_path, "branch,item,lot,quantity,held", "yard,RING,A,6 each,torn packet")
    with pytest.raises(FileProblemsError) as caught:
        load_stock(lite, [path], NOW)
    (problem,) = caught.value.problems
    assert (problem.line, problem.thing, problem.next_step) == (
        1, "column 'held'", "Write 'on hold' instead",
    )  # fmt: skip
    assert balances(lite) == {}


def test_a_claim_of_many_lots_names_the_one_that_is_on_hold_and_claims_none(
    store: Engine, tmp_path: Path
) -> None:
    load(store, shop({"X1": {"RING": 1}}))
    stock(
        store, tmp_path,
        "yard,RING,A,6 each,1Q25", "yard,RING,B,6 each,1Q25,,,recalled", "yard,RING,C,1 each,1Q25",
    )  # fmt: skip
    number = booked(store, "X1").number
    before = balances(store)

    def claimed(*amounts: tuple[str, int]) -> str:
        with writing(store) as session:
            lots = {lot.code: lot for lot in session.scalars(select(Lot))}
            booking = find_booking(session, number)
            claims = [Claim(lots[code].item_id, n, lot=lots[code].id) for code, n in amounts]
            with pytest.raises(TakenError) as caught:
                set_all_aside(session, booking.id, claims)
            session.commit()
        return str(caught.value)

    assert claimed(("A", 1000), ("B", 1000)) == (
        "lot B is on hold: recalled. Release it before it is promised"
    )
    assert claimed(("B", 1000)).startswith("lot B is on hold")
    assert claimed(("A", 1000), ("C", 1001)) == "lot C: 1.001 asked for, 1 free (0 of 1 promised)"
    assert balances(store) == before
    assert_ledger(store)


def test_many_moves_go_through_together_or_not_at_all(store: Engine, tmp_path: Path) -> None:
    load(store, shop({"X1": {"RING": 4}}))
    stock(store, tmp_path, "yard,RING,A,6 each,1Q25", "yard,RING,B,3 each,1Q25")
    with writing(store) as session:
        lots = {lot.code: lot.id for lot in session.scalars(select(Lot))}
        out = [
            Move(lots["A"], MovementKind.SCRAPPED, -5000),
            Move(lots["B"], MovementKind.SCRAPPED, -3001),
        ]
        with pytest.raises(TakenError, match=r"lot B: 3.001 asked for, 3 free \(0 of 3 promised\)"):
            post_all(session, out, NOW)
        with pytest.raises(ValueError, match="two moves of one lot"):
            post_all(session, [out[0], out[0]], NOW)
        left = post_all(session, [out[0], Move(lots["B"], MovementKind.SCRAPPED, -3000)], NOW)
        session.commit()
    assert left == {lots["A"]: 1000, lots["B"]: 0}
    assert kinds(store)[-2:] == [("scrapped", -5000, 1000), ("scrapped", -3000, 0)]
    assert_ledger(store)


@pytest.mark.parametrize(
    ("rows", "usual", "wanted"),
    [
        (("yard,RING,OLD,2 each,Y-07,4Q25",), "U-01", "Y-07"),
        (("yard,RING,OLD,2 each,Y-07,4Q25", "yard,RING,NEW,2 each,Y-08,4Q25"), "U-01", "U-01"),
        ((), "U-01", "U-01"),
        ((), None, None),
        # The same goods lie there already: what comes is put to them.
        (("yard,RING,A,2 each,Y-09,1Q25",), "U-01", "Y-09"),
    ],
)
def test_a_lot_lies_in_a_bin_of_the_branch_that_it_came_to(
    store: Engine, tmp_path: Path, rows: tuple[str, ...], usual: str | None, wanted: str | None
) -> None:
    text = shop({"X1": {"BOLT": 1}}).replace(
        "kind: o-ring, elastomer: FKM}", f"kind: o-ring, elastomer: FKM, bin: {usual}}}"
        if usual else "kind: o-ring, elastomer: FKM}",
    )  # fmt: skip
    load(store, text)
    heading = "branch,item,lot,quantity,bin,made"
    load_stock(store, [listed(tmp_path, heading, "quay,RING,A,5 each,Q-01,1Q25", *rows)], NOW)
    number, _ = send(store, LotName("quay", "RING", "A"), Quantity(2000, "each"), "yard", NOW)
    arrive(store, number, NOW)
    with reading(store) as session:
        found = {lot.lot: lot.bin for lot in list_stock(session, "yard", [], NOW.date())}
        assert found["A"] == wanted
        assert {lot.bin for lot in list_stock(session, "quay", [], NOW.date())} == {"Q-01"}
