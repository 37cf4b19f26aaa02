"""Vehicle numbers: form everywhere, check digit only where it is law. All numbers here invented."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kitting.errors import FigureError
from kitting.facts.vin import check_character, check_digit_missing, check_vin

CHARACTERS = "ABCDEFGHJKLMNPRSTUVWXYZ0123456789"
NUMBERS = st.text(st.sampled_from(CHARACTERS), min_size=17, max_size=17)


@pytest.mark.parametrize(
    ("vin", "reason"),
    [
        ("XYZ", "VIN 'XYZ' has 3 characters; it must have 17, read it again"),
        ("", "VIN '' has 0 characters; it must have 17, read it again"),
        (
            "XX0ULV00P0000000O",
            "VIN 'XX0ULV00P0000000O' holds 'O'; only capitals without I, O and Q, and digits,"
            " may stand",
        ),
        (
            "xX0ULV00P00000001",
            "VIN 'xX0ULV00P00000001' holds 'x'; only capitals without I, O and Q, and digits,"
            " may stand",
        ),
        (
            "XX0ULV00P0000000٣",
            "VIN 'XX0ULV00P0000000٣' holds '٣'; only capitals without I, O and Q, and digits,"
            " may stand",
        ),
        (
            "11111111211111111",
            "VIN '11111111211111111' has '2' in position 9, but '1' follows from the rest:"
            " a character was misread, compare it with the plate",
        ),
    ],
)
def test_a_wrong_number_is_refused_with_the_reason(vin: str, reason: str) -> None:
    with pytest.raises(FigureError) as caught:
        check_vin(vin)
    assert str(caught.value) == reason


def test_position_9_is_free_outside_north_america() -> None:
    check_vin("XX0ULV00P00000001")
    assert check_character("XX0ULV00P00000001") != "P"


@pytest.mark.parametrize(
    ("vin", "follows"),
    [
        # Beginnings 1 to 5: a filler is of the European pattern, another letter may be a misreading.
        ("3XXZZZ00Z00000001", None),
        ("11111111S11111111", "1"),
        # Elsewhere a digit may be a check digit; a letter other than X cannot.
        ("XX0ULV00P00000001", None),
        ("XX0ULV00500000001", check_character("XX0ULV00500000001")),
        # 7A to 7E is New Zealand (ISO 3780, from memory).
        ("7A000000500000001", check_character("7A000000500000001")),
    ],
)
def test_a_check_digit_that_is_no_law_is_told_not_refused(vin: str, follows: str | None) -> None:
    assert check_digit_missing(vin) == follows


@pytest.mark.parametrize("start", ["7F", "7Z", "70", "79"])
def test_the_second_block_of_the_united_states_is_checked_too(start: str) -> None:
    """ISO 3780, from memory."""
    number = f"{start}000000000000001"
    right = number[:8] + check_character(number) + number[9:]
    assert check_digit_missing(right) is None
    with pytest.raises(FigureError, match="in position 9"):
        check_vin(number[:8] + str((int(right[8].replace("X", "9")) + 1) % 10) + number[9:])


def test_the_check_character_of_a_malformed_number_is_not_guessed() -> None:
    with pytest.raises(FigureError):
        check_character("XX0ULV00P0000000O")


@given(NUMBERS, st.sampled_from("12345"))
def test_a_number_with_its_own_check_character_passes(rest: str, region: str) -> None:
    vin = region + rest[1:]
    vin = vin[:8] + check_character(vin) + vin[9:]
    check_vin(vin)


@given(
    NUMBERS,
    st.sampled_from([place for place in range(1, 17) if place != 8]),
    st.integers(0, 9),
    st.integers(1, 9),
)
def test_one_digit_misread_as_another_is_found(rest: str, place: int, digit: int, off: int) -> None:
    vin = "1" + rest[1:]
    vin = vin[:place] + str(digit) + vin[place + 1 :]
    vin = vin[:8] + check_character(vin) + vin[9:]
    with pytest.raises(FigureError, match="in position 9"):
        check_vin(vin[:place] + str((digit + off) % 10) + vin[place + 1 :])
