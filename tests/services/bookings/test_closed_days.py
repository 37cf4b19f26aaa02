"""A booking on a day on which its branch is closed (P19)."""

from __future__ import annotations

from datetime import date

import pytest
from sqlalchemy import Engine

from helpers import booked, load, shop
from kitting.wording.reasons import say


@pytest.mark.parametrize(
    ("day", "told"),
    [
        (date(2026, 4, 5), "yard is closed on Sun 05 Apr 2026: booked all the same"),
        (date(2026, 4, 3), "yard is closed on Fri 03 Apr 2026 (Good Friday): booked all the same"),
        (date(2026, 4, 8), None),
    ],
)
def test_p19_a_closed_day_is_told_and_not_forbidden(
    lite: Engine, day: date, told: str | None
) -> None:
    load(lite, shop({"X1": {"RING": 1}}))
    view = booked(lite, "X1", on=day)
    assert view.fit_on == day
    assert view.day is not None
    found = [say(one.because) for one in view.day.remarks if one.certain]
    assert found == ([told] if told else [])
