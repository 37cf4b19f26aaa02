"""Vehicle numbers against 49 CFR 565.15(c) and published examples (data/README.md)."""

from __future__ import annotations

from contextlib import nullcontext

import pytest
from hypothesis import given
from hypothesis import strategies as st
from published import column, rows

from kitting.errors import FigureError
from kitting.facts.vin import check_character, check_vin

VALUES = {
    letter: int(value) for letter, value in column("vin_values.csv", "letter", "value").items()
}
VALUES |= {str(digit): digit for digit in range(10)}
WEIGHTS = [int(row["weight"]) for row in rows("vin_weights.csv")]


def weighted_sum(vin: str) -> int:
    """The sum of 49 CFR 565.15(c), straight from the published tables."""
    return sum(VALUES[char] * WEIGHTS[place] for place, char in enumerate(vin))


@pytest.mark.parametrize("row", rows("vin.csv"), ids=lambda row: row["vin"])
def test_a_published_number_is_judged_as_published(row: dict[str, str]) -> None:
    vin = row["vin"]
    assert weighted_sum(vin) == int(row["weighted_sum"])
    assert check_character(vin) == row["check_character"]
    refused = pytest.raises(FigureError, match="in position 9")
    with nullcontext() if row["accepted"] == "yes" else refused:
        check_vin(vin)


@given(st.text(st.sampled_from(sorted(VALUES)), min_size=17, max_size=17))
def test_the_check_character_of_loosely_follows_from_the_published_tables(vin: str) -> None:
    assert check_character(vin) == "0123456789X"[weighted_sum(vin) % 11]


@pytest.mark.parametrize("letter", "IOQ")
def test_letters_that_have_no_published_value_are_refused(letter: str) -> None:
    assert letter not in VALUES
    with pytest.raises(FigureError, match=f"holds '{letter}'"):
        check_vin(letter * 17)
