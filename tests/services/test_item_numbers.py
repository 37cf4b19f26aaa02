"""A number (GTIN) stands for its item wherever a service is told of one.

Numbers are GS1 examples of the tests of `kitting.facts.gs1`; items are invented.
"""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path

import pytest
from kits import kit, to_the_ramp, yard
from sqlalchemy import Engine, select

from helpers import booked, load, priced, shop, stock
from kitting.errors import FigureError, KittingError, UnknownNameError
from kitting.services.advice.learned_rates import learned
from kitting.services.advice.low_stock import low_stock
from kitting.services.bookings.close import Closing, close
from kitting.services.bookings.pick import pick
from kitting.services.item_numbers import code_of
from kitting.store import reading, writing
from kitting.tables.items import Item, ItemGtin

NOW = datetime(2026, 4, 2, 14, 20)  # noqa: DTZ001
LATER = datetime(2026, 4, 10, 9, 0)  # noqa: DTZ001

ON = date(2026, 4, 9)
NUMBER, OTHER = "4006381333931", "036000291452"


def numbered(engine: Engine, code: str) -> None:
    """Give an item the number."""
    with writing(engine) as session:
        item = session.scalars(select(Item.id).where(Item.code == code)).one()
        session.add(ItemGtin(gtin=NUMBER.zfill(14), item_id=item))
        session.commit()


def test_a_code_stays_as_it_is_and_a_number_is_its_item(store: Engine) -> None:
    load(store, shop({"X1": {"RING": 2}}))
    numbered(store, "RING")
    with reading(store) as session:
        for text, code in ((NUMBER, "RING"), ("RING", "RING"), ("4711", "4711")):
            assert code_of(session, text) == code
        with pytest.raises(UnknownNameError, match=f"no item has the number {OTHER}"):
            code_of(session, OTHER)
        with pytest.raises(FigureError, match="is no scan of a packet"):
            code_of(session, f"(01)0{NUMBER}(17)271399")


def test_digits_that_are_a_code_are_never_read_as_a_number(store: Engine) -> None:
    load(store, shop({"X1": {"RING": 2}}))
    numbered(store, "RING")
    load(store, f'items: [{{code: "{NUMBER}", name: Own, kind: o-ring}}]')
    with reading(store) as session:
        assert code_of(session, NUMBER) == NUMBER


def test_what_is_low_is_told_of_the_item_of_a_number(store: Engine, tmp_path: Path) -> None:
    load(store, shop({"X1": {"RING": 2}}))
    numbered(store, "RING")
    priced(store, tmp_path, "prompt", "P-R,RING,0.40 GBP,1 each")
    stock(store, tmp_path, "yard,RING,A,2 each,1Q25")
    pick(store, booked(store, "X1", on=ON).number, NOW)
    with reading(store) as session:
        named, numbers = (
            low_stock(session, "yard", LATER, [one], days=30) for one in ("RING", NUMBER)
        )
    assert [line.item for line in numbers.lines] == ["RING"]
    assert numbers == named


def test_what_was_learned_is_told_of_the_item_of_a_number(garage: Engine) -> None:
    numbered(garage, "SEAL-COOLER-LATE")
    with reading(garage) as session:
        assert learned(session, [NUMBER]) == learned(session, ["SEAL-COOLER-LATE"]) != ()


def test_what_came_back_of_a_kit_may_be_told_by_its_number(store: Engine, tmp_path: Path) -> None:
    yard(store, tmp_path, "SEAL,S,4 each,1Q25", "BOLT,K,9 each")
    numbered(store, "SEAL")
    number = to_the_ramp(store, kit(store, "LOOK"), {"x2": 2})
    with pytest.raises(KittingError, match="SEAL is told twice, by its code and by a number"):
        close(store, number, Closing({NUMBER: 1000, "SEAL": 1000}), NOW)
    assert close(store, number, Closing({NUMBER: 2000}), NOW).state == "closed"
    with reading(store) as session:
        assert code_of(session, NUMBER) == "SEAL"
