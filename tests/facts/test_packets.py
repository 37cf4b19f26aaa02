"""What a scan says, beside what is typed or on record. The number is a GS1 example."""

from __future__ import annotations

from datetime import date

import pytest

from kitting.errors import FigureError
from kitting.facts.gs1 import read_scan
from kitting.facts.making import parse_making_days
from kitting.facts.packets import Said, compared, recorded, require_agreed

SCAN = read_scan("(01)06291041500213(10)A(11)250101(17)300630")
DAY = date(2030, 6, 30)


@pytest.mark.parametrize(
    "said",
    [
        Said(),
        Said("A"),
        Said("A", parse_making_days("1Q25"), DAY),
        Said("A", parse_making_days("2025-01"), DAY),
        Said("A", parse_making_days("2025-01-01"), DAY),
    ],
)
def test_what_is_the_same_agrees_and_a_day_is_one_of_its_quarter(said: Said) -> None:
    require_agreed(SCAN, said)
    assert not any(one.differs for one in compared(SCAN, said))


@pytest.mark.parametrize(
    ("said", "message"),
    [
        (Said("B"), "the lot was typed as B and scanned as A"),
        (
            Said(made=parse_making_days("2Q25")),
            "the day of making was typed as 2025-04-01 to 2025-06-30 and scanned as 2025-01-01",
        ),
        (
            Said(made=parse_making_days("2025-01-02")),
            "the day of making was typed as 2025-01-02 and scanned as 2025-01-01",
        ),
        (
            Said(expires=date(2030, 7, 1)),
            "the last day was typed as 2030-07-01 and scanned as 2030-06-30",
        ),
    ],
)
def test_what_was_typed_may_not_contradict_the_scan(said: Said, message: str) -> None:
    with pytest.raises(FigureError, match=message):
        require_agreed(SCAN, said)


def test_a_record_is_a_day_or_the_end_of_what_was_printed() -> None:
    def differ(made: date) -> list[str]:
        found = compared(SCAN, recorded(made, None))
        return [one.what for one in found if one.differs]

    assert differ(date(2025, 3, 31)) == []
    assert differ(date(2025, 1, 31)) == []
    assert differ(date(2025, 6, 30)) == ["day of making"]
    assert differ(date(2025, 3, 30)) == ["day of making"]


def test_only_what_the_scan_says_is_compared() -> None:
    bare = read_scan("4006381333931")
    assert compared(bare, Said("A", parse_making_days("1Q25"), DAY)) == ()
