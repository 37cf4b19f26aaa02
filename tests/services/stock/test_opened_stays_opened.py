"""What a kit took of an opened pack is never sealed again. Invented stock and opened life."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime
from pathlib import Path

import pytest
from sqlalchemy import Engine, update

from helpers import NOW, assert_ledger, load, needed, stock
from kitting.facts.units import Quantity
from kitting.facts.words import BookingState
from kitting.services.bookings.booking import BookingRequest, book, step_to
from kitting.services.bookings.close import Closing, close
from kitting.services.bookings.correct import Became, Correction, correct
from kitting.services.bookings.pick import cancel, pick
from kitting.services.stock.holds import put_on_hold, release
from kitting.services.stock.recall import recall
from kitting.services.stock.shelves import LotName, list_stock
from kitting.services.upkeep.audit import audit
from kitting.store import reading
from kitting.tables.stock import Lot
from kitting.views.bookings import BookingView
from kitting.views.stock import HeldLotView

PICKED = datetime(2026, 4, 14, 9, 0)  # noqa: DTZ001
LATER = datetime(2026, 4, 16, 9, 0)  # noqa: DTZ001
SHOP = """
items:
  - {code: PASTE, name: paste, kind: sealant, unit: ml, pack: 500 ml, opened_life: 30 days}
  - {code: LOOSE, name: paste, kind: sealant, unit: ml, opened_life: 30 days}
units:
  - code: u
    name: U
    joints:
      - {code: j, name: J, system: engine, uses: [{item: PASTE, amount: 300 ml}]}
      - {code: k, name: K, system: engine, uses: [{item: PASTE, amount: 700 ml}]}
      - {code: l, name: L, system: engine, uses: [{item: LOOSE, amount: 10 ml}]}
    steps:
      - {code: S, name: s, hours: 1 h, opens: [j]}
      - {code: T, name: t, hours: 1 h, opens: [k]}
      - {code: V, name: v, hours: 1 h, opens: [l]}
    jobs:
      - {code: J, name: job, needs: [S]}
      - {code: K, name: job, needs: [T]}
      - {code: L, name: job, needs: [V]}
models: [{code: m, name: M, units: [u]}]
vehicles: [{registration: C 1, model: m}, {registration: C 2, model: m}]
branches: [{code: yard, name: Yard}]
"""


@pytest.fixture
def pasting(store: Engine, tmp_path: Path) -> Engine:
    load(store, SHOP)
    stock(store, tmp_path, "yard,PASTE,F1,1500 ml,,2028-01-01", "yard,LOOSE,L1,90 ml,,2028-01-01")
    return store


def kit(
    engine: Engine, job: str = "J", on: date = date(2026, 4, 15), at: datetime = PICKED
) -> BookingView:
    number = book(engine, BookingRequest("C 1", [job], on, "yard", again=True), NOW).number
    return pick(engine, number, at)


def closed(engine: Engine, returned: dict[str, int]) -> str:
    number = kit(engine).number
    for state in (BookingState.CONFIRMED, BookingState.ON_THE_RAMP):
        step_to(engine, number, state, "it is only paste")
    close(engine, number, Closing(returned, {}), LATER, despite="no seals in it")
    return number


def on_shelves(engine: Engine) -> dict[str, tuple[int, date | None]]:
    with reading(engine) as session:
        return {
            lot.lot: (lot.on_hand // 1000, lot.keeps_to)
            for lot in list_stock(session, None, [], date(2026, 4, 20))
        }


def sound(engine: Engine) -> None:
    assert_ledger(engine)
    assert audit(engine, LATER).fine


SEALED, OPENED = date(2028, 1, 1), date(2026, 5, 14)


def test_a_cancelled_kit_puts_the_opened_part_to_the_opened_remainder(pasting: Engine) -> None:
    number = kit(pasting).number
    assert on_shelves(pasting)["F1-OPEN-260414"] == (200, OPENED)
    cancel(pasting, number, LATER)
    assert on_shelves(pasting) == {
        "F1": (1000, SEALED), "F1-OPEN-260414": (500, OPENED), "L1": (90, SEALED),
    }  # fmt: skip
    sound(pasting)


def test_whole_packs_of_a_cancelled_kit_are_sealed_as_before(pasting: Engine) -> None:
    cancel(pasting, kit(pasting, "K").number, LATER)
    assert on_shelves(pasting) == {
        "F1": (1000, SEALED), "F1-OPEN-260414": (500, OPENED), "L1": (90, SEALED),
    }  # fmt: skip
    sound(pasting)


def test_what_comes_back_of_a_closed_kit_is_opened(pasting: Engine) -> None:
    closed(pasting, {"PASTE": 100_000})
    assert on_shelves(pasting) == {
        "F1": (1000, SEALED), "F1-OPEN-260414": (300, OPENED), "L1": (90, SEALED),
    }  # fmt: skip
    sound(pasting)


def test_of_a_pack_of_unknown_size_everything_comes_back_opened(pasting: Engine) -> None:
    cancel(pasting, kit(pasting, "L").number, LATER)
    assert on_shelves(pasting) == {
        "F1": (1500, SEALED), "L1": (80, SEALED), "L1-OPEN-260414": (10, OPENED),
    }  # fmt: skip
    sound(pasting)


def test_a_correction_puts_opened_paste_back_opened_and_takes_it_from_there_again(
    pasting: Engine,
) -> None:
    number = closed(pasting, {})
    amount = Quantity(100_000, "ml")
    correct(
        pasting,
        number,
        Correction("PASTE", amount, Became.USED, Became.BACK, why="left over"),
        LATER,
    )
    assert on_shelves(pasting)["F1"] == (1000, SEALED)
    assert on_shelves(pasting)["F1-OPEN-260414"] == (300, OPENED)
    correct(
        pasting, number, Correction("PASTE", amount, Became.BACK, Became.USED, why="used"), LATER
    )
    assert on_shelves(pasting)["F1"] == (1000, SEALED)
    assert on_shelves(pasting)["F1-OPEN-260414"] == (200, OPENED)
    sound(pasting)


def test_an_opened_part_does_not_go_to_a_lot_that_was_opened_later(
    pasting: Engine, tmp_path: Path
) -> None:
    stock(pasting, tmp_path, "yard,PASTE,F1,1000 ml,,2028-01-01")
    first = kit(pasting).number
    kit(pasting, on=date(2026, 6, 15), at=datetime(2026, 6, 14, 9, 0))  # noqa: DTZ001
    assert on_shelves(pasting)["F1"] == (200, date(2026, 7, 14))
    cancel(pasting, first, LATER)
    assert on_shelves(pasting)["F1"] == (200, date(2026, 7, 14))
    assert on_shelves(pasting)["F1-OPEN-260414"] == (500, OPENED)


def test_a_part_of_a_pack_in_a_kit_keeps_only_its_opened_life(pasting: Engine) -> None:
    (source,) = needed(kit(pasting), "PASTE").sources
    assert (source.lot, source.picked, source.keeps_to) == ("F1", 300_000, OPENED)
    assert source.may_be_fitted


def test_a_part_of_a_pack_that_was_picked_too_early_may_not_be_fitted(pasting: Engine) -> None:
    need = needed(kit(pasting, on=date(2026, 5, 15)), "PASTE")
    assert [(one.picked, one.keeps_to) for one in need.unfit] == [(300_000, OPENED)]


F1 = LotName("yard", "PASTE", "F1")


def held(engine: Engine) -> dict[str, str | None]:
    with reading(engine) as session:
        return {
            lot.lot: lot.on_hold for lot in list_stock(session, None, ["PASTE"], date(2026, 4, 20))
        }


def test_a_hold_takes_the_opened_remainder_with_it_and_a_release_lets_it_go(
    pasting: Engine,
) -> None:
    kit(pasting)
    with_it = HeldLotView("yard", "F1-OPEN-260414", "recalled")
    assert put_on_hold(pasting, F1, "recalled", NOW).others == (with_it,)
    assert held(pasting) == {"F1": "recalled", "F1-OPEN-260414": "recalled"}
    again = book(pasting, BookingRequest("C 2", ["J"], date(2026, 4, 20), "yard"), NOW)
    assert needed(again, "PASTE").short == 300_000
    assert release(pasting, F1, NOW).others == (replace(with_it, on_hold=None),)
    assert held(pasting) == {"F1": None, "F1-OPEN-260414": None}


def test_a_release_lets_nothing_go_that_is_on_hold_for_another_reason(pasting: Engine) -> None:
    kit(pasting)
    put_on_hold(pasting, LotName("yard", "PASTE", "F1-OPEN-260414"), "the lid is lost", NOW)
    stays = (HeldLotView("yard", "F1-OPEN-260414", "the lid is lost"),)
    assert put_on_hold(pasting, F1, "recalled", NOW).others == stays
    assert release(pasting, F1, NOW).others == stays
    assert held(pasting) == {"F1": None, "F1-OPEN-260414": "the lid is lost"}


@pytest.mark.parametrize("former", [False, True])
def test_a_recall_follows_a_lot_to_its_opened_remainder_and_the_kit_that_took_of_it(
    pasting: Engine, former: bool
) -> None:
    """Of a remainder of a former revision only its movements tell the lot it came from."""
    first = kit(pasting).number
    stock_only = book(pasting, BookingRequest("C 2", ["L"], date(2026, 4, 20), "yard"), NOW).number
    if former:
        with pasting.begin() as connection:
            connection.execute(update(Lot).values(batch=None))
    second = kit(pasting, "K", on=date(2026, 4, 16)).number
    with reading(pasting) as session:
        view = recall(session, "F1", date(2026, 4, 20))
    assert {lot.lot for lot in view.shelves} >= {"F1", "F1-OPEN-260414"}
    assert {lot.lot for lot in view.shelves} & {"L1"} == set()
    assert {one.booking for one in view.bookings} == {first, second}
    assert stock_only not in {one.booking for one in view.bookings}
    assert {move.lot for move in view.movements} >= {"F1", "F1-OPEN-260414"}
