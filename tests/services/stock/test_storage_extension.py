"""Looks at lots: storage extended once, by ISO 2230 only, for what was looked at and nothing else.

Years and extensions: ISO 2230:2002 and SAE ARP5316, sources in tests/facts/test_shelf_life.py.
"""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path

import pytest
from sqlalchemy import Engine, select, update
from sqlalchemy.exc import IntegrityError

from helpers import (
    NOW,
    ON,
    assert_ledger,
    balances,
    booked,
    load,
    needed,
    priced,
    shop,
    stock,
)
from kitting.actions import Action, next_step
from kitting.errors import KittingError, UnknownNameError
from kitting.facts.reasons import because
from kitting.facts.units import Quantity
from kitting.facts.words import LotState, ShelfPolicy
from kitting.services.bookings.booking import renew_promises
from kitting.services.bookings.pick import pick
from kitting.services.purchasing.goods_in import GoodsReceived, receive
from kitting.services.purchasing.orders import place
from kitting.services.stock.holds import put_on_hold
from kitting.services.stock.recall import recall
from kitting.services.stock.shelves import LotName, list_stock
from kitting.services.stock.storage_extension import Inspection, extend_lot
from kitting.services.stock.transfers import arrive, send
from kitting.store import reading
from kitting.tables.stock import Lot, Movement
from kitting.tables.supply import Branch
from kitting.views.stock import ExtendedView, LotView, StorageReason
from kitting.wording.reasons import say

ITEMS = """  - {code: NBR, name: N, kind: o-ring, elastomer: NBR}
  - {code: TEF, name: T, kind: o-ring, elastomer: PTFE}
  - {code: MISC, name: M, kind: o-ring}"""
LOOKED = date(2025, 5, 2)
SEEN = "no crack, no flat"
TUESDAY = datetime(2026, 4, 7, 9, 0)  # noqa: DTZ001  (wall clock of the garage)


def each(count: int) -> Quantity:
    return Quantity(count * 1000, "each")


def looked(
    engine: Engine, lot: str = "N18", item: str = "NBR", branch: str = "yard", on: date = LOOKED,
    seen: str = SEEN, dry_run: bool = False,
) -> ExtendedView:  # fmt: skip
    return extend_lot(engine, LotName(branch, item, lot), Inspection(on, seen), NOW.date(), dry_run)


def lots(engine: Engine) -> dict[tuple[str, str], LotView]:
    with reading(engine) as session:
        return {(v.branch, v.lot): v for v in list_stock(session, None, (), ON)}


def filled(engine: Engine, folder: Path, *rows: str) -> Engine:
    load(engine, shop({"X1": {"NBR": 2}}, items=ITEMS))
    stock(engine, folder, *rows)
    return engine


@pytest.fixture
def old(store: Engine, tmp_path: Path) -> Engine:
    """Seven rings of 2Q18, too old by ISO 2230 for the fitting date."""
    return filled(store, tmp_path, "yard,NBR,N18,7 each,2Q18")


def test_nitrile_of_2q18_is_refused_then_extended_to_2028_and_by_arp5316_keeps_to_2033(
    old: Engine,
) -> None:
    before = lots(old)["yard", "N18"]
    assert (before.keeps_to, before.state, before.free) == (date(2025, 6, 30), "expired", 0)
    view = looked(old)
    assert view == ExtendedView(
        branch="yard",
        item="NBR",
        lot="N18",
        inspected_on=LOOKED,
        inspection=SEEN,
        before=date(2025, 6, 30),
        before_why=view.before_why,
        after=date(2028, 6, 30),
        after_why=view.after_why,
        still=(),
    )
    assert [say(view.before_why), say(view.after_why)] == [
        "30 Jun 2018 + 7 years (ISO 2230:2002 group B)",
        "30 Jun 2018 + 7 + 3 years (ISO 2230:2002 group B, inspected 2025-05-02)",
    ]
    after = lots(old)["yard", "N18"]
    assert (after.keeps_to, after.state, after.free) == (date(2028, 6, 30), "good", 7000)
    assert (after.inspected_on, after.inspection) == (LOOKED, SEEN)
    with old.begin() as connection:
        connection.execute(update(Branch).values(shelf_policy=ShelfPolicy.ARP5316))
    by_arp = lots(old)["yard", "N18"]
    assert (by_arp.keeps_to, by_arp.state) == (date(2033, 6, 30), "good")
    assert "not extended: ARP5316 has no extension for NBR" in say(by_arp.keeps_why)


def test_an_extended_lot_is_promised_again_and_the_ledger_stays_as_it_was(old: Engine) -> None:
    refused = needed(view := booked(old, "X1"), "NBR")
    assert (refused.on_shelf, refused.short) == (0, 2000)
    looked(old)
    with old.connect() as connection:
        moved = connection.execute(select(Movement.kind, Movement.quantity)).all()
    assert [tuple(row) for row in moved] == [("counted", 7000)]
    promised = needed(renew_promises(old, view.number), "NBR")
    assert (promised.on_shelf, promised.short) == (2000, 0)
    assert [(s.lot, s.keeps_to, s.state) for s in promised.sources] == [
        ("N18", date(2028, 6, 30), LotState.GOOD)
    ]
    assert balances(old) == {("yard", "NBR", "N18"): (7000, 2000)}
    assert_ledger(old)


def test_after_the_extended_limit_it_is_refused_again(old: Engine) -> None:
    looked(old)
    last, late = (needed(booked(old, "X1", on=day), "NBR") for day in (
        date(2028, 6, 30), date(2028, 7, 1)
    ))  # fmt: skip
    assert (last.on_shelf, last.short) == (2000, 0)
    assert (late.on_shelf, late.short) == (0, 2000)


def test_a_dry_run_tells_the_same_and_keeps_nothing(old: Engine) -> None:
    view = looked(old, dry_run=True)
    assert view.after == date(2028, 6, 30)
    assert lots(old)["yard", "N18"].inspected_on is None
    assert looked(old) == view


def test_a_lot_is_extended_once(old: Engine) -> None:
    looked(old)
    with pytest.raises(KittingError) as caught:
        looked(old, on=date(2026, 3, 1), seen="another look")
    assert str(caught.value) == (
        "lot N18 was inspected on 2025-05-02 already (no crack, no flat); its storage is"
        " extended once"
    )
    assert lots(old)["yard", "N18"].inspected_on == LOOKED


@pytest.mark.parametrize(
    ("row", "item", "on", "seen", "message"),
    [
        ("MISC,L,5 each,2Q18", "MISC", LOOKED, SEEN, r"MISC is not rubber \(no elastomer is stated"),
        ("NBR,L,5 each", "NBR", LOOKED, SEEN, "lot L has no cure date, so no period to extend"),
        ("TEF,L,5 each,2Q18", "TEF", LOOKED, SEEN, "ISO 2230 gives no years for PTFE"),
        ("NBR,L,5 each,2Q18", "NBR", date(2026, 4, 3), SEEN, "2026-04-03 is to come"),
        ("NBR,L,5 each,2Q18", "NBR", LOOKED, " \n ", "what was seen must not be empty"),
        ("NBR,L,5 each,2Q18", "NBR", date(2018, 6, 29), SEEN, "is before it was made"),
        ("NBR,L,5 each,2Q15", "NBR", date(2025, 7, 1), SEEN, "is after the longest storage"),
        (
            "NBR,L,5 each,2Q18,2024-03-31", "NBR", LOOKED, SEEN,
            "the inspection gains nothing: printed not extended",
        ),
    ],
)  # fmt: skip
def test_a_look_that_extends_nothing_is_refused_with_the_reason(
    lite: Engine, tmp_path: Path, row: str, item: str, on: date, seen: str, message: str
) -> None:
    filled(lite, tmp_path, f"yard,{row}")
    with pytest.raises(KittingError, match=message):
        looked(lite, "L", item, on=on, seen=seen)
    assert lots(lite)["yard", "L"].inspected_on is None


def test_an_unknown_lot_is_told_with_those_that_are_there(old: Engine) -> None:
    with pytest.raises(UnknownNameError, match=r"yard has no lot 'N19' of NBR\. Known: N18"):
        looked(old, "N19")


def test_a_printed_date_between_both_limits_is_the_new_limit(lite: Engine, tmp_path: Path) -> None:
    filled(lite, tmp_path, "yard,NBR,N18,7 each,2Q18,2026-12-31")
    view = looked(lite)
    assert (view.before, view.after) == (date(2025, 6, 30), date(2026, 12, 31))
    assert say(view.after_why) == (
        "printed on the packet: 31 Dec 2026, which the inspection of 2025-05-02 does not extend"
    )


def test_a_lot_on_hold_stays_so_and_what_lies_in_kits_has_to_be_inspected_too(
    store: Engine, tmp_path: Path
) -> None:
    filled(store, tmp_path, "yard,NBR,N22,7 each,2Q22")
    number = booked(store, "X1").number
    pick(store, number, NOW)
    put_on_hold(store, LotName("yard", "NBR", "N22"), "wrong bag", NOW)
    view = looked(store, "N22", on=date(2026, 3, 1))
    assert view.still == (
        because(StorageReason.STILL_ON_HOLD, reason="wrong bag"),
        because(StorageReason.IN_A_KIT, booking=number, quantity=each(2)),
    )
    assert [say(reason) for reason in view.still] == [
        "on hold: wrong bag",
        f"2 of it in the kit of {number}: inspect those too",
    ]
    lot = lots(store)["yard", "N22"]
    assert (lot.state, lot.on_hold) == (LotState.ON_HOLD, "wrong bag")


def test_a_look_travels_with_the_lot_to_another_branch(old: Engine) -> None:
    looked(old)
    number, _ = send(old, LotName("yard", "NBR", "N18"), each(3), "quay", NOW)
    arrive(old, number, NOW)
    there = lots(old)["quay", "N18"]
    assert (there.keeps_to, there.inspected_on, there.inspection) == (
        date(2028, 6, 30),
        LOOKED,
        SEEN,
    )
    with reading(old) as session:
        shelves = recall(session, "N18", ON).shelves
    assert [(v.branch, v.inspection) for v in shelves] == [("quay", SEEN), ("yard", SEEN)]
    assert_ledger(old)


@pytest.mark.parametrize("branch", ["yard", "quay"])
def test_what_was_looked_over_is_not_mixed_with_what_was_not(
    store: Engine, tmp_path: Path, branch: str
) -> None:
    filled(store, tmp_path, "yard,NBR,N18,7 each,2Q18", "quay,NBR,N18,2 each,2Q18")
    looked(store, branch=branch)
    number, _ = send(store, LotName("yard", "NBR", "N18"), each(3), "quay", NOW)
    arrive(store, number, NOW)
    there = {lot: view for (at, lot), view in lots(store).items() if at == "quay"}
    assert {lot: view.on_hand for lot, view in there.items()} == {"N18": 2000, "N18-2": 3000}
    assert (there["N18"].inspected_on, there["N18-2"].inspected_on) == (
        (None, LOOKED) if branch == "yard" else (LOOKED, None)
    )
    looked(store, branch={"yard": "quay", "quay": "yard"}[branch])
    number, _ = send(store, LotName("yard", "NBR", "N18"), each(2), "quay", NOW)
    arrive(store, number, NOW)
    there = {lot: view for (at, lot), view in lots(store).items() if at == "quay"}
    assert {lot: view.on_hand for lot, view in there.items()} == {"N18": 4000, "N18-2": 3000}


def test_a_look_waits_for_what_is_on_the_way(old: Engine) -> None:
    number, _ = send(old, LotName("yard", "NBR", "N18"), each(3), "quay", NOW)
    with pytest.raises(KittingError, match="on the way here") as caught:
        looked(old, branch="quay")
    assert caught.value.then == (next_step(Action.ARRIVE_STOCK, transfer=number),)
    looked(old, branch="yard")
    arrive(old, number, NOW)
    looked(old, branch="quay")
    assert {view.keeps_to for view in lots(old).values()} == {date(2028, 6, 30)}


def test_nothing_is_received_into_a_lot_that_was_looked_over(store: Engine, tmp_path: Path) -> None:
    filled(store, tmp_path, "yard,NBR,N18,1 each,2Q18")
    looked(store)
    priced(store, tmp_path, "prompt", "P-N,NBR,0.40 GBP,1 each")
    assert place(store, [booked(store, "X1").number], NOW).orders == ("P0001",)
    with pytest.raises(KittingError) as caught:
        receive(
            store, "P0001", [GoodsReceived("NBR", 1000, lot="N18", made=date(2018, 6, 30))], TUESDAY
        )
    assert str(caught.value) == (
        "NBR: lot N18 was inspected on 2025-05-02, so it keeps longer. Give this packet a lot of"
        " its own"
    )
    receive(
        store, "P0001", [GoodsReceived("NBR", 1000, lot="N25", made=date(2025, 6, 30))], TUESDAY
    )
    assert {lot: view.on_hand for (_, lot), view in lots(store).items()} == {
        "N18": 1000, "N25": 1000,
    }  # fmt: skip


def test_the_database_refuses_a_look_without_what_was_seen(old: Engine) -> None:
    with pytest.raises(IntegrityError), old.begin() as connection:
        connection.execute(Lot.__table__.update().values(inspected_on=LOOKED))  # type: ignore[attr-defined]
