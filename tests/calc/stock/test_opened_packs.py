"""Opened packs: the earlier limit holds, with the reason of that limit."""

from __future__ import annotations

from datetime import date

import pytest

from kitting.calc.stock.storage import Stored, shelf_of
from kitting.facts.words import ShelfPolicy
from kitting.wording.reasons import say

MADE, OPENED = date(2025, 1, 1), date(2026, 1, 1)


@pytest.mark.parametrize(
    ("days", "limit", "reason"),
    [
        (60, date(2026, 3, 2), "opened 01 Jan 2026 + 60 days"),
        (900, date(2027, 1, 1), "01 Jan 2025 + 24 months"),
        (
            None,
            date(2027, 1, 1),
            "01 Jan 2025 + 24 months; opened life not known: opened 01 Jan 2026, and no opened life"
            " is given",
        ),
    ],
)
def test_a_limit_by_making_and_shelf_life_is_never_said_to_be_printed(
    days: int | None, limit: date, reason: str
) -> None:
    lot = Stored(MADE, opened_on=OPENED, shelf_life_months=24, opened_life_days=days)
    shelf = shelf_of(lot, ShelfPolicy.ISO_2230)
    assert (shelf.limit, say(shelf.reason)) == (limit, reason)
