"""Scanned packets at goods-in, counts and picks. Items and numbers of items are invented.

The numbers are GS1 examples of the tests of `kitting.facts.gs1`.
"""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from sqlalchemy import Engine, select

from helpers import NOW, booked, load, shop, stock
from kitting.errors import FigureError, FileProblemsError, KittingError, UnknownNameError
from kitting.facts.gs1 import read_scan
from kitting.facts.units import Quantity
from kitting.services.bookings.pick import pick
from kitting.services.stock.lots import find_item
from kitting.services.stock.scans import Typed, with_typed
from kitting.services.stock.shelves import LotName, count_lot
from kitting.store import reading
from kitting.tables.stock import Lot

RING, OTHER, UNKNOWN = "4006381333931", "06291041500213", "036000291452"
ITEMS = f"""
  - {{code: SEALED, name: Seal, kind: o-ring, elastomer: FKM, shelf_life: 7 years, gtins: ["{RING}"]}}
  - {{code: SPARE, name: Spare, kind: o-ring, elastomer: FKM, shelf_life: 7 years, gtins: ["{OTHER}"]}}
"""
SHOP = shop({"X1": {"SEALED": 2}, "X2": {"SPARE": 1}}, ITEMS)
PACKET = f"(01)0{RING}(17)300630(10)L7"


@pytest.fixture
def yard(store: Engine) -> Engine:
    load(store, SHOP)
    return store


def lots(engine: Engine) -> list[tuple[str, date | None, date | None, int]]:
    with reading(engine) as session:
        rows = session.execute(select(Lot.code, Lot.made_on, Lot.expires_on, Lot.on_hand))
        return sorted(tuple(row) for row in rows)  # type: ignore[misc]


def test_a_number_stands_for_its_item_wherever_one_is_named(yard: Engine) -> None:
    with reading(yard) as session:
        for text in (RING, f"0{RING}", PACKET):
            assert find_item(session, text).code == "SEALED"
        with pytest.raises(UnknownNameError, match=f"no item has the number {UNKNOWN}. Compare it"):
            find_item(session, UNKNOWN)
        with pytest.raises(UnknownNameError, match="unknown name"):
            find_item(session, "4006381333932")  # a wrong digit: no number at all


def test_one_number_is_that_of_one_item(yard: Engine) -> None:
    third = f'items: [{{code: THIRD, name: T, kind: o-ring, gtins: ["0{RING}"]}}]'
    with pytest.raises(FileProblemsError) as caught:
        load(yard, third)
    assert (
        "item THIRD: the number 04006381333931 is that of SEALED already: a scan would not tell"
        " which it is. Leave it at one of them"
    ) in str(caught.value)
    two = 'items: [{code: A, name: A, kind: o-ring, gtins: ["%s"]}, {code: B, name: B, kind: o-ring, gtins: [%s]}]'
    with pytest.raises(FileProblemsError, match="is that of A already"):
        load(yard, two % (UNKNOWN, f'"0{UNKNOWN}"'))


def test_a_wrong_digit_in_a_file_is_refused(yard: Engine) -> None:
    with pytest.raises(FileProblemsError, match="its check digit does not go with the rest"):
        load(yard, "items: [{code: A, name: A, kind: o-ring, gtins: [4006381333932]}]")


def test_a_number_that_is_taken_out_of_the_file_is_no_more(yard: Engine) -> None:
    load(yard, SHOP.replace(f', gtins: ["{OTHER}"]', ""))
    with reading(yard) as session, pytest.raises(UnknownNameError):
        find_item(session, OTHER)


def test_the_scan_says_item_lot_and_dates_and_what_is_typed_has_to_agree(yard: Engine) -> None:
    scan = read_scan(f"{PACKET}(11)230630")
    with reading(yard) as session:
        said = Typed("SEALED", "L7", date(2023, 6, 30), date(2030, 6, 30))
        assert with_typed(session, scan, Typed()) == said
        assert with_typed(session, scan, said) == said
        for typed, what in (
            (Typed(item="SPARE"), "item"), (Typed(lot="L8"), "lot"),
            (Typed(made=date(2023, 7, 1)), "day of making"),
            (Typed(expires=date(2030, 7, 1)), "last day"),
        ):  # fmt: skip
            with pytest.raises(FigureError, match=f"the {what} was typed as"):
                with_typed(session, scan, typed)
        with pytest.raises(UnknownNameError, match="is a whole delivery"):
            with_typed(session, read_scan("00106141412345678908"), Typed())


def test_a_stock_list_takes_scans(yard: Engine, tmp_path: Path) -> None:
    path = tmp_path / "scans.csv"
    path.write_text(f"branch,scan,quantity\nyard,{PACKET},5 each\n", encoding="utf-8")
    from kitting.services.stock.stock_lists import load_stock

    load_stock(yard, [path], NOW)
    assert lots(yard) == [("L7", None, date(2030, 6, 30), 5000)]
    path.write_text(
        f"branch,item,scan,quantity,lot\nyard,SPARE,{PACKET},5 each,\nyard,,{RING},1 each,\n"
        f"yard,,{UNKNOWN},1 each,L1\nyard,,hello,1 each,L1\n",
        encoding="utf-8",
    )
    with pytest.raises(FileProblemsError) as caught:
        load_stock(yard, [path], NOW)
    told = str(caught.value)
    assert "scans.csv:2: column 'scan': the item was typed as SPARE and scanned as SEALED" in told
    assert "scans.csv:3: column 'lot': it is empty. Fill it in" in told
    assert f"scans.csv:4: column 'scan': no item has the number {UNKNOWN}" in told
    assert "scans.csv:5: column 'scan': 'hello' is no scan of a packet" in told
    assert lots(yard) == [("L7", None, date(2030, 6, 30), 5000)]


def test_a_count_takes_the_scan_as_its_item(yard: Engine, tmp_path: Path) -> None:
    stock(yard, tmp_path, "yard,SEALED,L7,5 each,,2030-06-30")
    count_lot(yard, LotName("yard", PACKET, "L7"), Quantity(4000, "each"), NOW)
    assert lots(yard) == [("L7", None, date(2030, 6, 30), 4000)]


def test_only_what_was_scanned_is_picked_and_nothing_else_goes_in(
    yard: Engine, tmp_path: Path
) -> None:
    stock(
        yard, tmp_path, "yard,SEALED,L7,2 each,1Q24,2031-03-31", "yard,SPARE,S1,2 each,1Q24,",
    )  # fmt: skip
    number = booked(yard, "X1", "X2").number
    wrong = {
        f"(01)0{RING}(10)L8": "scanned lot L8 of SEALED: B0001 takes lot L7. Put the packet back",
        f"(01)0{RING}(10)L7(17)300101": "the packet says 2030-01-01, on record is 2031-03-31",
        f"(01){UNKNOWN.zfill(14)}": "no item has the number",
    }
    for text, message in wrong.items():
        with pytest.raises(KittingError, match=message.replace("(", r"\(")):
            pick(yard, number, NOW, scans=[read_scan(text)])
    view = pick(yard, number, NOW, scans=[read_scan(f"(01)0{RING}(10)L7")])
    assert {need.item: need.picked for need in view.needs} == {"SEALED": 2000, "SPARE": 0}
    with pytest.raises(
        KittingError, match=r"B0001 takes none of it from the shelf. It takes SPARE"
    ):
        pick(yard, number, NOW, scans=[read_scan(RING)])
    view = pick(yard, number, NOW)
    assert {need.item: need.picked for need in view.needs} == {"SEALED": 2000, "SPARE": 1000}
