"""Why a lot keeps as long as it does: the date that decides is the one that is named."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from sqlalchemy import Engine

from helpers import ON, load, shop, stock
from kitting.services.stock.shelves import list_stock
from kitting.store import reading
from kitting.wording.reasons import say

PASTE = "  - {code: PASTE, name: P, kind: sealant, unit: ml, pack: 70 ml, shelf_life: 24 months}"


@pytest.mark.parametrize(
    ("dates", "keeps_to", "why"),
    [
        ("2025-01-31,", date(2027, 1, 31), "31 Jan 2025 + 24 months"),
        ("2025-01,2027-06-30", date(2027, 1, 31), "31 Jan 2025 + 24 months"),
        ("2025-01,2026-06-30", date(2026, 6, 30), "printed on the packet: 30 Jun 2026"),
        (",2026-06-30", date(2026, 6, 30), "printed on the packet: 30 Jun 2026"),
        (",", None, "not known: no date of making and none printed"),
    ],
)
def test_the_date_that_decides_is_named(
    lite: Engine, tmp_path: Path, dates: str, keeps_to: date | None, why: str
) -> None:
    load(lite, shop({"X1": {"RING": 1}}, PASTE))
    stock(lite, tmp_path, f"yard,PASTE,A,70 ml,{dates}")
    with reading(lite) as session:
        (lot,) = list_stock(session, None, (), ON)
    assert (lot.keeps_to, say(lot.keeps_why)) == (keeps_to, why)
