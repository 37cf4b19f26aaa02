"""What a pick list tells to take is what is there: whole packs only where the lot holds them."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest
from kits import yard
from sqlalchemy import Engine

from helpers import NOW, ON, booked, stock
from kitting.services.bookings.booking import renew_promises
from kitting.services.bookings.kit_sheets import pick_of
from kitting.services.bookings.pick import pick
from kitting.store import reading
from kitting.wording.pick_list import lot_texts, take_text


def told(engine: Engine, number: str) -> list[str]:
    """What the pick list of a booking says to take of the oil, each lot's place a row."""
    with reading(engine) as session:
        listed = pick_of(session, number)
    return [take_text(row)[0] for row in listed.lines if row.content.item == "OIL"]


@pytest.mark.parametrize(
    ("there", "before", "after"),
    [
        # Two packs of 500 ml: one for each booking, before and after the other took its own.
        ("1000 ml", ["1 pack of 500 ml"], ["1 pack of 500 ml"]),
        # One whole pack and one begun, for twice 300 ml: nobody has a whole pack for itself.
        ("600 ml", ["300 ml"], ["300 ml"]),
    ],
)
def test_two_bookings_of_one_lot(
    lite: Engine, tmp_path: Path, there: str, before: list[str], after: list[str]
) -> None:
    yard(lite, tmp_path, f"OIL,O,{there}", "CAP,C,8 each")
    first, second = booked(lite, "OPEN").number, booked(lite, "OPEN", on=ON + timedelta(7)).number
    assert (told(lite, first), told(lite, second)) == (before, before)
    pick(lite, first, NOW)
    assert (told(lite, first), told(lite, second)) == (["PICKED"], after)
    pick(lite, second, NOW)
    assert told(lite, second) == ["PICKED"]


def test_a_second_pick_and_several_lots_are_told_in_the_packs_that_are_left(
    lite: Engine, tmp_path: Path
) -> None:
    """300 ml of packs of 500 ml: what came after the first pick is what is left to take."""
    yard(lite, tmp_path, "OIL,O,200 ml", "CAP,C,8 each")
    number = booked(lite, "OPEN").number
    assert told(lite, number) == ["200 ml"]
    pick(lite, number, NOW)
    assert told(lite, number) == ["PICKED"]
    stock(lite, tmp_path, "yard,OIL,P,1000 ml")
    renew_promises(lite, number, NOW.date())
    assert told(lite, number) == ["1 pack of 500 ml"]
    pick(lite, number, NOW)
    assert told(lite, number) == ["PICKED"]
    before = told(lite, number)
    pick(lite, number, NOW)
    assert told(lite, number) == before


def test_a_booking_over_several_lots_is_told_by_amount_what_each_gives(
    lite: Engine, tmp_path: Path
) -> None:
    yard(lite, tmp_path, "OIL,O,200 ml,,2030-01-01", "OIL,P,1000 ml,,2031-01-01", "CAP,C,8 each")
    number = booked(lite, "OPEN").number
    assert told(lite, number) == ["300 ml"]
    with reading(lite) as session:
        (row,) = (row for row in pick_of(session, number).lines if row.content.item == "OIL")
    assert [lot_texts(lot, row.content)[:2] for lot in row.lots] == [
        ("200 ml from lot", "O"), ("1 pack of 500 ml from lot", "P"),
    ]  # fmt: skip
    pick(lite, number, NOW)
    assert told(lite, number) == ["PICKED"]
