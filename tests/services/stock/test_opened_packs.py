"""Opened packs: the remainder is a lot of its own that keeps only its opened life."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path

from sqlalchemy import Engine, func, select

from kitting.services.bookings.booking import BookingRequest, book
from kitting.services.bookings.pick import pick
from kitting.services.stock.shelves import list_stock
from kitting.services.stock.stock_lists import load_stock
from kitting.store import reading
from kitting.tables.stock import Lot, Movement
from kitting.views.stock import LotView

NOW = datetime(2026, 4, 2, 9, 0)  # noqa: DTZ001


def sealants(engine: Engine, on: date) -> dict[str, LotView]:
    with reading(engine) as session:
        return {lot.lot: lot for lot in list_stock(session, "upper", ["SEALANT-COVER-70"], on)}


def picked(engine: Engine, folder: Path, amount: str, fit_on: date) -> str:
    path = folder / "s.csv"
    path.write_text(
        "branch,item,lot,quantity,expires\n"
        f"upper,SEALANT-COVER-70,NEW,{amount},2027-06-30\n"
        "upper,SEALANT-COVER-70,ST-2503,0 ml,2026-03-31\n"
    )
    load_stock(engine, [path], NOW)
    number = book(
        engine, BookingRequest("PELL 117", ["J3"], fit_on, "upper", again=True), NOW
    ).number
    pick(engine, number, NOW)
    return number


def test_two_tubes_leave_one_whole_and_an_opened_remainder(garage: Engine, tmp_path: Path) -> None:
    """Invented stock; 18.9 ml of a 70 ml tube that keeps 60 days once opened."""
    picked(garage, tmp_path, "140 ml", date(2026, 4, 15))
    lots = sealants(garage, date(2026, 4, 15))
    assert {code: lot.on_hand for code, lot in lots.items()} == {
        "NEW": 70_000, "NEW-OPEN-260402": 70_000 - 18_911,
    }  # fmt: skip
    assert lots["NEW"].keeps_to == date(2027, 6, 30)
    assert lots["NEW-OPEN-260402"].keeps_to == date(2026, 6, 1)
    with reading(garage) as session:
        sums = dict(
            session.execute(
                select(Lot.code, func.sum(Movement.quantity))
                .join(Movement, Movement.lot_id == Lot.id)
                .group_by(Lot.code)
            ).all()
        )
    assert sums["NEW"] == 70_000
    assert sums["NEW-OPEN-260402"] == 70_000 - 18_911


def test_the_last_tube_becomes_the_opened_one(garage: Engine, tmp_path: Path) -> None:
    picked(garage, tmp_path, "70 ml", date(2026, 4, 15))
    (lot,) = sealants(garage, date(2026, 4, 15)).values()
    assert (lot.lot, lot.on_hand, lot.keeps_to) == ("NEW", 70_000 - 18_911, date(2026, 6, 1))


def test_an_opened_tube_serves_the_next_job_within_its_opened_life_and_not_later(
    garage: Engine, tmp_path: Path
) -> None:
    """Common practice, no source: 5 days apart share a tube, 100 days apart need two."""
    picked(garage, tmp_path, "70 ml", date(2026, 4, 15))
    soon = book(
        garage, BookingRequest("PELL 042", ["J3"], date(2026, 4, 20), "upper", again=True), NOW
    )
    late = book(
        garage, BookingRequest("PELL 117", ["J3"], date(2026, 7, 24), "upper", again=True), NOW
    )
    short = {
        view.fit_on: next(n.short for n in view.needs if n.item == "SEALANT-COVER-70")
        for view in (soon, late)
    }
    assert short == {date(2026, 4, 20): 0, date(2026, 7, 24): 18_911}
