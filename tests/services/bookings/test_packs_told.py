"""What a pick list tells to take is what is there: whole packs only where the lot holds them."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest
from kits import yard
from sqlalchemy import Engine

from helpers import NOW, ON, booked
from kitting.services.bookings.kit_sheets import pick_of
from kitting.services.bookings.pick import pick
from kitting.store import reading
from kitting.wording.pick_list import take_text


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
