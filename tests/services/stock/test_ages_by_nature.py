"""What ages by its nature and has no stated shelf life is of unknown age, and no booking is ready."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from sqlalchemy import Engine

from helpers import NOW, ON, SUPPLY, booked, listed, load, stock, unit
from kitting.calc.stock.storage import Content, Stored, judge, shelf_of
from kitting.facts.verdicts import Aspect, Verdict
from kitting.facts.words import LotState, ShelfPolicy
from kitting.services.stock.shelves import list_stock
from kitting.services.stock.stock_lists import load_stock
from kitting.store import reading
from kitting.wording.reasons import say

OWN_KIND = "\nkinds:\n  - {code: own-paste, name: own paste, family: consumable}"
ITEMS = """
  - {code: BF, name: Fluid, kind: brake-fluid, medium: glycol-brake-fluid, unit: ml, pack: 500 ml}
  - {code: BF-24, name: Fluid, kind: brake-fluid, medium: glycol-brake-fluid, unit: ml, pack: 500 ml, shelf_life: 24 months}
  - {code: BEAD, name: Sealant, kind: sealant, unit: ml, pack: 80 ml}
  - {code: BELT, name: Belt, kind: timing-belt}
  - {code: PASTE, name: Paste, kind: own-paste, unit: g, pack: 100 g}
  - {code: GREASE, name: Grease, kind: brake-lubricant, unit: g, pack: 5 g, sold_singly: false}
  - {code: PINS, name: Pins, kind: wire-clip, contents: [{item: GREASE, quantity: 5 g}]}
  - {code: WATER, name: Water, kind: water, unit: ml, pack: 5 L}
  - {code: CLIP, name: Clip, kind: wire-clip}
"""
USES = "\n        uses: [{{item: {item}, amount: 300 ml}}]"


def garage(engine: Engine, used: str = "BF") -> None:
    joint = (
        "\n      - code: x1\n        name: X1\n        system: brakes\n        fluids: [brake-fluid]"
        "\n        fits: []" + USES.format(item=used)
    )
    step = "\n      - {code: S1, name: S, hours: 1 h, opens: [x1]}"
    jobs = "\n      - {code: X1, name: X1, needs: [S1]}"
    load(engine, unit(joint, step, jobs, ITEMS) + OWN_KIND + SUPPLY)


def states(engine: Engine) -> dict[str, LotState]:
    with reading(engine) as session:
        return {lot.item: lot.state for lot in list_stock(session, "yard", (), ON)}


def test_silence_about_the_shelf_life_of_what_ages_is_an_unknown_age(
    store: Engine, tmp_path: Path
) -> None:
    """Also of a kind of consumable that a catalogue adds, and of what a packet brings."""
    garage(store)
    amounts = {"BEAD": "80 ml", "BF": "500 ml", "BF-24": "500 ml", "PASTE": "100 g", "WATER": "5 L"}
    items = (*amounts, "BELT", "PINS", "CLIP")
    rows = (f"yard,{item},L,{amounts.get(item, '1 each')},2026-02-01" for item in items)
    stock(store, tmp_path, *rows)
    unknown = dict.fromkeys(("BF", "BEAD", "BELT", "PASTE", "PINS"), LotState.AGE_UNKNOWN)
    assert states(store) == unknown | dict.fromkeys(("BF-24", "WATER", "CLIP"), LotState.GOOD)


def test_when_it_was_received_is_told(store: Engine, tmp_path: Path) -> None:
    garage(store)
    heading = "branch,item,lot,quantity,bin,made,expires,opened,received,on hold"
    load_stock(store, [listed(tmp_path, heading, "yard,BF,OLD,500 ml,A,,,,2010-01-01,")], NOW)
    with reading(store) as session:
        (lot,) = list_stock(session, "yard", (), ON)
    assert say(lot.keeps_why) == "age not known: no shelf life stated, received 01 Jan 2010"


@pytest.mark.parametrize(("used", "ready"), [("BF", False), ("BF-24", True)])
def test_a_booking_that_it_covers_cannot_be_proven(
    store: Engine, tmp_path: Path, used: str, ready: bool
) -> None:
    garage(store, used)
    stock(store, tmp_path, f"yard,{used},L,500 ml,2026-02-01")
    found = [(doubt.verdict, doubt.aspect) for doubt in booked(store, "X1").doubts]
    assert found == ([] if ready else [(Verdict.UNKNOWN, Aspect.AGE)])


def test_a_printed_date_tells_the_age() -> None:
    shelf = shelf_of(Stored(expires_on=date(2027, 1, 1), ages=True), ShelfPolicy.ISO_2230)
    assert (shelf.limit, shelf.known) == (date(2027, 1, 1), True)
    packet = Stored(expires_on=date(2027, 1, 1), contents=(Content(ages=True),))
    assert shelf_of(packet, ShelfPolicy.ISO_2230).known


def test_opening_a_pack_does_not_make_its_age_known() -> None:
    opened = Stored(opened_on=date(2026, 4, 1), opened_life_days=30, ages=True)
    shelf = shelf_of(opened, ShelfPolicy.ISO_2230)
    assert (shelf.limit, shelf.known) == (date(2026, 5, 1), False)


def test_once_opened_it_keeps_as_sealed_at_most_where_no_opened_life_is_stated() -> None:
    sealed = Stored(expires_on=date(2027, 1, 1), ages=True)
    assert shelf_of(sealed, ShelfPolicy.PACKET).known
    shelf = shelf_of(replace(sealed, opened_on=date(2026, 4, 1)), ShelfPolicy.PACKET)
    assert (shelf.limit, shelf.known) == (date(2027, 1, 1), False)
    found = [
        judge(replace(sealed, opened_on=date(2026, 4, 1)), ShelfPolicy.PACKET, day).state
        for day in (date(2027, 1, 1), date(2027, 1, 2))
    ]
    assert found == [LotState.AGE_UNKNOWN, LotState.EXPIRED]


def test_what_bears_threadlocker_ages(store: Engine, tmp_path: Path) -> None:
    """Common practice, no source."""
    load(store, "items: [{code: PATCH, name: Bolt, kind: patch-bolt, thread: M8}]" + SUPPLY)
    stock(store, tmp_path, "yard,PATCH,L,4 each,2026-02-01")
    assert states(store) == {"PATCH": LotState.AGE_UNKNOWN}
