"""Element strings as they are sent and printed; what is none is told in words of our own.

The number is a GS1 example of the tests of `kitting.facts.gs1`; lots are made here.
"""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kitting.errors import FigureError
from kitting.facts.element_strings import SEPARATOR, printed_elements, sent_elements

GTIN = "06291041500213"


def printed(text: str) -> list[tuple[str, str]]:
    return [(one.code, one.value) for one in printed_elements(text)]


def sent(text: str) -> list[tuple[str, str]]:
    return [(one.code, one.value) for one in sent_elements(text)]


@pytest.mark.parametrize("lot", ["L(6)", "L6)(B", "(", "L(123456)", "A(B)C"])
def test_brackets_of_a_last_lot_are_its_own(lot: str) -> None:
    assert printed(f"(01){GTIN}(17)300630(10){lot}")[-1] == ("10", lot)
    assert sent(f"01{GTIN}17300630" + f"10{lot}")[-1] == ("10", lot)


@pytest.mark.parametrize(
    ("text", "cause"),
    [
        (f"(01){GTIN}(10)L6)(B(17)300630", r"it is not clear where \(10\) ends"),
        (f"(01){GTIN}(10)L(6)(17)300630", r"it is not clear where \(10\) ends"),
        (f"(01){GTIN}(10)L(88)", r"\(88\) is no identifier of GS1"),
        (f"(01){GTIN}(10)L(99)", r"\(99\) says nothing"),
    ],
)
def test_a_lot_whose_end_is_not_clear_is_refused_with_the_way_out(text: str, cause: str) -> None:
    with pytest.raises(FigureError, match=cause) as caught:
        printed(text)
    assert "scan the symbol itself, or scan no lot and type it" in str(caught.value)


@pytest.mark.parametrize(
    ("text", "cause"),
    [
        ("hello", "'hello' begins with no identifier of GS1"),
        (f"01{GTIN}hello", "'hello' begins with no identifier of GS1"),
        ("0112", r"\(01\) cannot be '12', its form is N2\+N14"),
        (f"01{GTIN}17271399", r"\(17\) is a date, and '271399' is none of the calendar"),
        (f"01{GTIN}17270231", r"\(17\) is a date, and '270231' is none of the calendar"),
        (f"01{GTIN}30", r"\(30\) says nothing"),
        (f"01{GTIN}30{SEPARATOR}10A", r"\(30\) says nothing"),
        (f"01{GTIN}10{'A' * 20}17300630", r"\(10\) is longer than it may be"),
        (f"01{GTIN}10A#1", r"\(10\) is longer than it may be, or has a sign that it may not have"),
    ],
)
def test_what_is_no_scan_is_told_in_own_words(text: str, cause: str) -> None:
    with pytest.raises(FigureError, match=f"is no scan of a packet: {cause}"):
        sent(text)


def test_a_printed_date_that_is_none_is_told() -> None:
    with pytest.raises(FigureError, match=r"\(17\) is a date, and '271399' is none"):
        printed(f"(01){GTIN}(17)271399")


def test_what_is_not_between_brackets_is_not_passed_over() -> None:
    with pytest.raises(FigureError, match="it begins with no identifier in brackets"):
        printed(f"X(01){GTIN}")


@given(st.text("(01)7AB" + SEPARATOR, max_size=40))
@settings(max_examples=200)
def test_every_refusal_is_in_own_words(text: str) -> None:
    told = []
    for read in (printed, sent):
        try:
            read(text)
        except FigureError as error:
            told.append(str(error))
    assert all("is no scan of a packet" in one and "Failed" not in one for one in told)
