"""Scanned packets at goods-in, counts and picks. Items and numbers of items are invented.

The numbers are GS1 examples of the tests of `kitting.facts.gs1`.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest
from sqlalchemy import Engine, select, update
from sqlalchemy.orm import Session

from helpers import NOW, booked, load, shop, stock
from kitting.errors import FigureError, FileProblemsError, KittingError, UnknownNameError
from kitting.facts.gs1 import read_scan, upc_of
from kitting.facts.making import parse_making_days
from kitting.facts.packets import Said
from kitting.facts.units import Quantity
from kitting.services.bookings.pick import pick
from kitting.services.bookings.scanned import not_on_record
from kitting.services.bookings.states import find_booking
from kitting.services.bookings.view import booking_view
from kitting.services.stock.holds import put_on_hold, release
from kitting.services.stock.lots import find_item
from kitting.services.stock.missing import Missing, record_missing
from kitting.services.stock.scans import NotOnRecord, Packet, with_typed
from kitting.services.stock.shelves import LotName, count_lot, find_scanned, scrap
from kitting.services.stock.stock_lists import Unused, load_stock
from kitting.services.stock.storage_extension import Inspection, extend_lot
from kitting.services.stock.transfers import send
from kitting.store import reading, writing
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
        known = Packet("SEALED", "L7", date(2023, 6, 30), date(2030, 6, 30))
        quarter = parse_making_days("2Q23")
        assert with_typed(session, scan, None, Said()) == known
        assert with_typed(session, scan, "SEALED", Said("L7", quarter, known.expires)) == known
        assert with_typed(session, scan, RING, Said()) == known
        for item, typed, what in (
            ("SPARE", Said(), "item"), (OTHER, Said(), "item"), (None, Said(lot="L8"), "lot"),
            (None, Said(made=parse_making_days("3Q23")), "day of making"),
            (None, Said(expires=date(2030, 7, 1)), "last day"),
        ):  # fmt: skip
            with pytest.raises(FigureError, match=f"the {what} was typed as"):
                with_typed(session, scan, item, typed)
        with pytest.raises(UnknownNameError, match="is a whole delivery"):
            with_typed(session, read_scan("00106141412345678908"), None, Said())


def test_the_day_of_a_scan_counts_where_its_quarter_was_typed(yard: Engine) -> None:
    scan, typed = read_scan(f"(01)0{RING}(11)250101"), Said("L1", parse_making_days("1Q25"))
    with reading(yard) as session:
        assert with_typed(session, scan, None, typed) == Packet("SEALED", "L1", date(2025, 1, 1))
        bare = with_typed(session, read_scan(RING), None, typed)
    assert bare == Packet("SEALED", "L1", date(2025, 3, 31))


def test_a_stock_list_takes_scans(yard: Engine, tmp_path: Path) -> None:
    path = tmp_path / "scans.csv"
    path.write_text(f"branch,scan,quantity\nyard,{PACKET},5 each\n", encoding="utf-8")
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


@pytest.mark.parametrize(
    ("scan", "lot", "message"),
    [
        (f"(01)0{RING}(10)L1", "L2", "the lot was typed as L2 and scanned as L1"),
        (f"(01)0{RING}(17)310630", "L1", "the last day of the packet is 2031-06-30, on record is"),
        (f"(01)0{RING}(15)300101", "L1", "the last day of the packet is 2030-01-01, on record is"),
        (f"(01)0{RING}(11)240401", "L1", "the day of making of the packet is 2024-04-01, on"),
        (f"(01)0{RING}(10)L1(17)310630", "-", "the last day of the packet is 2031-06-30"),
        (RING, "-", "the scan says no lot: name it"),
        ("SEALED", "-", "the scan says no lot: name it"),
        (f"(01)0{RING}(10)L1(17)310231", "-", "is a date, and '310231' is none"),
    ],
)
def test_a_lot_is_only_changed_by_its_own_packet(
    yard: Engine, tmp_path: Path, scan: str, lot: str, message: str
) -> None:
    rows = "yard,SEALED,L1,5 each,1Q24,2030-06-30", "yard,SEALED,L2,5 each,1Q24,2030-06-30"
    stock(yard, tmp_path, *rows)
    before, name, one = lots(yard), LotName("yard", scan, lot), Quantity(1000, "each")
    changes: list[Callable[[], object]] = [
        lambda: count_lot(yard, name, one, NOW),
        lambda: scrap(yard, name, one, NOW, "torn"),
        lambda: record_missing(yard, name, Missing(one, scrapped=False), NOW),
        lambda: send(yard, name, one, "canal", NOW),
        lambda: put_on_hold(yard, name, "wrong colour", NOW),
        lambda: release(yard, name, NOW),
        lambda: extend_lot(yard, name, Inspection(NOW.date(), "no crack"), NOW.date()),
    ]
    for change in changes:
        with pytest.raises(KittingError, match=message):
            change()
    assert lots(yard) == before


def test_what_is_of_the_batch_of_a_packet_is_named_where_there_are_several(
    yard: Engine, tmp_path: Path
) -> None:
    stock(yard, tmp_path, "yard,SEALED,L1,5 each,1Q24,", "yard,SEALED,L1-B,2 each,1Q24,")
    with writing(yard) as session:
        session.execute(update(Lot).where(Lot.code == "L1-B").values(batch="L1"))
        session.commit()
    scan, three = f"(01)0{RING}(10)L1", Quantity(3000, "each")
    with pytest.raises(KittingError, match="lot L1 lies there as L1 and L1-B: name which of them"):
        count_lot(yard, LotName("yard", scan, "-"), three, NOW)
    count_lot(yard, LotName("yard", scan, "L1-B"), three, NOW)
    assert [(row[0], row[3]) for row in lots(yard)] == [("L1", 5000), ("L1-B", 3000)]
    count_lot(yard, LotName("yard", "SEALED", "L1-B"), Quantity(0, "each"), NOW)
    count_lot(yard, LotName("yard", scan, "-"), three, NOW)
    assert [(row[0], row[3]) for row in lots(yard)] == [("L1", 3000), ("L1-B", 0)]


def test_a_packet_is_picked_of_the_lot_that_comes_from_its_batch(
    yard: Engine, tmp_path: Path
) -> None:
    stock(yard, tmp_path, "yard,SEALED,P1-SEALED,2 each,1Q24,")
    with writing(yard) as session:
        session.execute(update(Lot).values(batch="L1"))
        session.commit()
    number = booked(yard, "X1").number
    with pytest.raises(KittingError, match="type what is printed without the lot, so that"):
        pick(yard, number, NOW, scans=[read_scan(f"(01)0{RING}(10)L2")])
    pick(yard, number, NOW, scans=[read_scan(f"(01)0{RING}(10)L1(11)240215")])
    assert lots(yard)[0][3] == 0


def test_a_count_takes_the_lot_and_a_day_of_its_quarter_from_the_scan(
    yard: Engine, tmp_path: Path
) -> None:
    stock(yard, tmp_path, "yard,SEALED,L1,5 each,1Q24,")
    scan = f"(01)0{RING}(10)L1(11)240215(17)300630(21)S9(30)2"
    count_lot(yard, LotName("yard", scan, "-"), Quantity(4000, "each"), NOW)
    assert lots(yard) == [("L1", date(2024, 3, 31), None, 4000)]
    with reading(yard) as session:
        found = find_scanned(session, LotName("yard", scan, "-"))
    assert (found.name.item, found.name.lot, found.unused) == ("SEALED", "L1", "(30)2 (21)S9")
    assert found.not_on_record == (
        NotOnRecord("SEALED", "L1", "last day", date(2030, 6, 30)),
    )  # fmt: skip


def test_a_stock_list_holds_its_scans_against_its_columns(yard: Engine, tmp_path: Path) -> None:
    path = tmp_path / "scans.csv"
    head = "branch,item,scan,lot,made,expires,quantity"
    made = f"(01)0{RING}(10)L1(11)250101(17)300630(30)5(99)X"
    path.write_text(f"{head}\nyard,{RING},{made},,1Q25,,5 each\nyard,{OTHER},,S1,,,2 each\n")
    report = load_stock(yard, [path], NOW)
    assert lots(yard) == [
        ("L1", date(2025, 1, 1), date(2030, 6, 30), 5000), ("S1", None, None, 2000),
    ]  # fmt: skip
    assert report.unused == (Unused(str(path), 2, "(99)X"),)
    path.write_text(f"{head}\nyard,,{made},,,,4 each\n")
    assert load_stock(yard, [path], NOW).unused[0].text == "(30)5 (99)X"
    rows = (
        f"yard,,{made},L2,,,5 each", f"yard,,{made},,2Q25,,5 each",
        f"yard,,{made},,,2030-07-01,5 each", f"yard,{UNKNOWN},,L1,,,5 each",
    )  # fmt: skip
    path.write_text("\n".join([head, *rows]))
    with pytest.raises(FileProblemsError) as caught:
        load_stock(yard, [path], NOW)
    told = str(caught.value)
    for line, what in (
        (2, "'scan': the lot was typed as L2"), (3, "'scan': the day of making was typed as"),
        (4, "'scan': the last day was typed as"), (5, f"'item': no item has the number {UNKNOWN}"),
    ):  # fmt: skip
        assert f"scans.csv:{line}: column {what}" in told


def test_a_scanned_day_of_the_quarter_on_record_is_no_other_age(
    yard: Engine, tmp_path: Path
) -> None:
    stock(yard, tmp_path, "yard,SEALED,L1,5 each,1Q24,")
    path = tmp_path / "scans.csv"
    path.write_text(f"branch,scan,quantity\nyard,(01)0{RING}(10)L1(11)240215,5 each\n")
    load_stock(yard, [path], NOW)
    assert lots(yard) == [("L1", date(2024, 2, 15), None, 5000)]
    path.write_text(f"branch,scan,quantity\nyard,(01)0{RING}(10)L1(11)240701,5 each\n")
    with pytest.raises(FileProblemsError, match="made 2024-07-01, but the lot that is known"):
        load_stock(yard, [path], NOW)


def test_eight_digits_are_the_item_that_has_them_either_way(yard: Engine) -> None:
    either = "01234565"  # made for the tests of `kitting.facts.gs1`: an EAN-8 and a UPC-E
    long = upc_of(either)
    item = "items: [{code: %s, name: %s, kind: o-ring, gtins: ['%s']}]"
    load(yard, item % ("SHORT", "S", either))
    with reading(yard) as session:
        assert find_item(session, either).code == "SHORT"
    load(yard, item % ("LONG", "L", long))
    with reading(yard) as session:
        assert find_item(session, f"]E0{either}").code == "LONG"
        assert find_item(session, f"]E4{either}").code == "SHORT"
        with pytest.raises(UnknownNameError, match="is LONG or SHORT: its 8 digits may be an"):
            find_item(session, either)


def test_only_what_was_scanned_is_picked_and_nothing_else_goes_in(
    yard: Engine, tmp_path: Path
) -> None:
    stock(
        yard, tmp_path, "yard,SEALED,L7,2 each,1Q24,2031-03-31", "yard,SPARE,S1,2 each,1Q24,",
    )  # fmt: skip
    number = booked(yard, "X1", "X2").number
    wrong = {
        f"(01)0{RING}(10)L8": "scanned lot L8 of SEALED: B0001 takes lot L7. Put the packet back",
        f"(01)0{RING}(10)L7(17)300101": "last day of the packet is 2030-01-01, on record is 2031-",
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


@pytest.mark.parametrize(
    ("packet", "message"),
    [
        ("(17)250101", "the packet says last day 2025-01-01, which is not on record, and may not"),
        ("(15)250101", "the packet says last day 2025-01-01, which is not on record, and may not"),
        ("(11)200101", "the day of making of the packet is 2020-01-01, on record is 2026-01-01"),
    ],
)
def test_a_packet_with_other_dates_is_not_picked(
    yard: Engine, tmp_path: Path, packet: str, message: str
) -> None:
    stock(yard, tmp_path, "yard,SEALED,M1,2 each,2026-01-01,")
    number = booked(yard, "X1").number
    with pytest.raises(KittingError, match=message):
        pick(yard, number, NOW, scans=[read_scan(f"(01)0{RING}(10)M1{packet}")])
    with reading(yard) as session:
        assert find_need(session, number) == 0


def test_a_date_that_is_not_on_record_is_told(yard: Engine, tmp_path: Path) -> None:
    stock(yard, tmp_path, "yard,SEALED,M1,2 each,2026-01-01,")
    number = booked(yard, "X1").number
    scans = [read_scan(f"(01)0{RING}(10)M1(11)260101(17)400101")]
    pick(yard, number, NOW, scans=scans)
    with reading(yard) as session:
        assert find_need(session, number) == 2000
        assert not_on_record(session, number, scans) == (
            NotOnRecord("SEALED", "M1", "last day", date(2040, 1, 1)),
        )
        assert not_on_record(session, number, [read_scan(RING)]) == ()


def test_of_two_lots_the_one_with_the_dates_of_the_packet_is_picked(
    yard: Engine, tmp_path: Path
) -> None:
    rows = "yard,SEALED,M1,1 each,2026-01-01,", "yard,SEALED,M2,1 each,2026-02-02,"
    stock(yard, tmp_path, *rows)
    number = booked(yard, "X1").number
    pick(yard, number, NOW, scans=[read_scan(f"(01)0{RING}(11)260202")])
    assert [row[3] for row in lots(yard)] == [1000, 0]


def find_need(session: Session, number: str) -> int:
    """How much of a booking is in its kit (thousandths)."""
    booking = find_booking(session, number)
    return sum(need.picked for need in booking_view(session, booking).needs)
