"""Scans of packets: numbers, element strings, what a reader of symbols reads.

Numbers marked *from memory* are examples that GS1 publishes, remembered and not looked up.
"""

from __future__ import annotations

from datetime import date

import pytest
import zxingcpp
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from kitting.errors import FigureError
from kitting.facts.element_strings import SEPARATOR
from kitting.facts.gs1 import read_gtin, read_scan, shortest_gtin, unread_text, upc_of

# A number, its 14 digits, and where the example is from.
PUBLISHED = [
    (
        "6291041500213",
        "06291041500213",
        "GS1, How to calculate a check digit manually; from memory",
    ),
    ("4006381333931", "04006381333931", "encyclopaedia article on EAN"),
    ("73513537", "00000073513537", "encyclopaedia article on EAN-8"),
    ("036000291452", "00036000291452", "encyclopaedia article on UPC"),
    ("10614141000415", "10614141000415", "GS1 US, example of a GTIN-14; from memory"),
]
SSCC = "106141412345678908"  # GS1 US, example of an SSCC; from memory
GTIN = "06291041500213"


@pytest.mark.parametrize(("number", "digits", "_source"), PUBLISHED)
def test_published_numbers_are_read_and_any_wrong_digit_is_found(
    number: str, digits: str, _source: str
) -> None:
    assert read_gtin(number) == digits
    assert read_scan(number).gtin == digits
    assert shortest_gtin(digits) == number
    for place, digit in enumerate(number):
        for other in set("0123456789") - {digit}:
            wrong = number[:place] + other + number[place + 1 :]
            with pytest.raises(FigureError, match="its check digit does not go with the rest"):
                read_gtin(wrong)


def test_a_swap_of_two_digits_beside_each_other_is_found() -> None:
    with pytest.raises(FigureError, match="some digit is wrong"):
        read_gtin("6291041500231")  # made here: the last two before the check digit swapped


@pytest.mark.parametrize(
    "text", ["", "12345", "123456789012345", "40063813339é1", "4006381333931a"]
)
def test_what_has_not_the_digits_of_a_number_is_none(text: str) -> None:
    with pytest.raises(FigureError, match="is no GTIN"):
        read_gtin(text)


@pytest.mark.parametrize(
    "text",
    [
        f"01{GTIN}1727123110AB12{SEPARATOR}3712",
        f"]d201{GTIN}1727123110AB12{SEPARATOR}3712",
        f"]C101{GTIN}1727123110AB12{SEPARATOR}3712",
        f"01{GTIN}1727123110AB12{SEPARATOR}3712\r\n",
        f"(01){GTIN}(17)271231(10)AB12(37)12",
    ],
)
def test_element_strings_are_read_with_and_without_brackets(text: str) -> None:
    scan = read_scan(text)
    assert (scan.gtin, scan.expires, scan.lot, scan.count) == (GTIN, date(2027, 12, 31), "AB12", 12)


def test_every_identifier_that_is_used_is_read_and_others_are_kept() -> None:
    scan = read_scan(f"(01){GTIN}(11)250315(15)290400(10)L-7(30)4(240)OEM-7(241)C9(21)S1(99)XYZ")
    assert (scan.made, scan.expires, scan.best_before) == (
        date(2025, 3, 15), date(2029, 4, 30), True,  # day 00: the last of the month
    )  # fmt: skip
    assert (scan.count, scan.counts) == (4, (("30", "4"),))
    assert unread_text(scan.unread) == "(240)OEM-7 (241)C9 (21)S1 (99)XYZ"


@pytest.mark.parametrize(
    ("days", "expires", "best", "unread"),
    [
        ("(15)270101(17)261231", date(2026, 12, 31), False, "(15)270101"),
        ("(17)300630(15)290101", date(2029, 1, 1), True, "(17)300630"),
        ("(17)300630(15)300630", date(2030, 6, 30), False, ""),
        ("(17)300630(7003)2906010800", date(2029, 6, 1), False, "(17)300630"),
        ("(7003)2906010800", date(2029, 6, 1), False, ""),
    ],
)
def test_of_two_last_days_the_earlier_counts_and_the_other_is_told(
    days: str, expires: date, best: bool, unread: str
) -> None:
    scan = read_scan(f"(01){GTIN}{days}")
    assert (scan.expires, scan.best_before) == (expires, best)
    assert unread_text(scan.unread) == unread


def test_a_packet_of_a_delivery_tells_the_number_of_the_delivery() -> None:
    assert read_scan(f"(00){SSCC}(02){GTIN}(37)12").unread == (("00", SSCC),)


def test_a_delivery_is_no_packet() -> None:
    scan = read_scan(f"00{SSCC}")
    assert (scan.sscc, scan.gtin) == (SSCC, None)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("4006381333932", "its check digit does not go with the rest"),
        ("hello", "is no scan of a packet"),
        ("", "is no scan of a packet"),
        (f"(01){GTIN[:-1]}4", "check digit"),
        (f"(01){GTIN}(17)271399", "is no scan of a packet"),
        (f"(01){GTIN}(11)270101(17)260101", "one of them is wrong"),
        (f"(01){GTIN}(30)4(37)5", "two numbers of pieces"),
        (f"(01){GTIN}(02)04006381333931(37)2", "names two packets"),
        (f"(01){GTIN}(10)A(10)B", "twice"),
        ("1" * 300, "is no scan of a packet"),
    ],
)
def test_what_is_no_scan_or_contradicts_itself_is_refused(text: str, message: str) -> None:
    with pytest.raises(FigureError, match=message):
        read_scan(text)


LOTS = st.text("ABCDEFGHJKLMNPQRSTUVWXYZ0123456789-/", min_size=1, max_size=20)
DAYS = st.dates(date(2000, 1, 1), date(2049, 12, 31))


@given(LOTS, DAYS, DAYS, st.integers(1, 99_999_999))
@settings(max_examples=100)
def test_what_is_written_is_read(lot: str, made: date, expires: date, count: int) -> None:
    assume(made <= expires)
    text = f"01{GTIN}11{made:%y%m%d}17{expires:%y%m%d}10{lot}{SEPARATOR}30{count}"
    scan = read_scan(text)
    assert (scan.gtin, scan.lot, scan.made, scan.expires, scan.count) == (
        GTIN, lot, made, expires, count,
    )  # fmt: skip
    bracketed = f"(01){GTIN}(11){made:%y%m%d}(17){expires:%y%m%d}(10){lot}(30){count}"
    assert read_scan(bracketed).lot == lot


@given(st.text(max_size=60))
@settings(max_examples=200)
def test_any_text_is_read_or_refused(text: str) -> None:
    try:
        scan = read_scan(text)
    except FigureError:
        return
    assert scan.gtin is None or read_gtin(scan.gtin) == scan.gtin


def test_what_a_reader_of_symbols_reads_of_a_data_matrix_is_read() -> None:
    """The symbol is written and read by zxing-cpp, which knows nothing of this program."""
    printed = f"(01){GTIN}(17)271231(10)AB12"
    symbol = zxingcpp.write_barcode_to_image(
        zxingcpp.create_barcode(printed, zxingcpp.BarcodeFormat.DataMatrix, gs1=True),
        scale=8,
    )
    (found,) = zxingcpp.read_barcodes(symbol)
    raw = found.bytes.decode()
    assert found.content_type == zxingcpp.ContentType.GS1
    for text in (raw, f"{found.symbology_identifier}{raw}", found.text):
        scan = read_scan(text)
        assert (scan.gtin, scan.expires, scan.lot) == (GTIN, date(2027, 12, 31), "AB12"), text


# A UPC-E and the UPC-A that it stands for.
UPC_E = [
    ("04252614", "042100005264", "example of the library biip"),
    ("06543217", "065100004327", "encyclopaedia article on UPC; from memory"),
]
EITHER = "01234565"  # made here: its check digit goes with an EAN-8 and with a UPC-E


@pytest.mark.parametrize(("short", "long", "_source"), UPC_E)
def test_a_upc_e_stands_for_its_upc_a(short: str, long: str, _source: str) -> None:
    assert upc_of(short) == long
    for text in (short, f"]E0{short}"):
        assert (read_scan(text).gtin, read_scan(text).or_gtin) == (long.zfill(14), None)
    with pytest.raises(FigureError, match=f"if it is a UPC-E, it stands for {long}: write that"):
        read_gtin(short)
    with pytest.raises(FigureError, match="its check digit does not go with the rest"):
        read_scan(f"]E4{short}")


def test_of_eight_digits_the_kind_of_symbol_decides() -> None:
    long = upc_of(EITHER)
    assert long is not None
    upc, ean = long.zfill(14), read_gtin(EITHER)
    assert (read_scan(EITHER).gtin, read_scan(EITHER).or_gtin) == (ean, upc)
    assert (read_scan(f"]E4{EITHER}").gtin, read_scan(f"]E4{EITHER}").or_gtin) == (ean, None)
    assert (read_scan(f"]E0{EITHER}").gtin, read_scan(f"]E0{EITHER}").or_gtin) == (upc, None)
    with pytest.raises(FigureError, match="8 digits of this symbol are a UPC-E"):
        read_scan("]E073513537")
    assert read_scan("]E04006381333931").gtin == "04006381333931"
