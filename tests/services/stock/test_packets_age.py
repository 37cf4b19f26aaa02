"""A packet ages as what is in it does: the weakest of its contents decides."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from sqlalchemy import Engine

from helpers import ON, SUPPLY, booked, load, needed, stock, unit
from kitting.calc.stock.storage import Content, Stored, shelf_of
from kitting.facts.verdicts import Aspect, Verdict
from kitting.facts.words import LotState, ShelfPolicy
from kitting.services.stock.shelves import list_stock
from kitting.store import reading

MADE = date(2020, 3, 31)
ITEMS = """
  - {code: SEAL, name: Seal, kind: o-ring, elastomer: NBR, sold_singly: false}
  - {code: CLIP, name: Clip, kind: wire-clip}
  - {code: SET, name: Set, kind: wire-clip, contents: [{item: SEAL, quantity: 1 each}, {item: CLIP, quantity: 1 each}]}
  - {code: BOX, name: Box, kind: wire-clip, contents: [{item: SET, quantity: 1 each}]}
  - {code: CRATE, name: Crate, kind: wire-clip, contents: [{item: BOX, quantity: 1 each}]}
  - {code: TRUCK, name: Truck, kind: wire-clip, contents: [{item: CRATE, quantity: 1 each}]}
  - {code: CLIPS, name: Clips, kind: wire-clip, contents: [{item: CLIP, quantity: 9 each}]}
"""
FIT = (
    "\n          - {item: SEAL, position: a,"
    " rules: [{rule: renew, source: maker, reference: test}]}"
)


def garage(engine: Engine) -> None:
    joint = (
        "\n      - code: x1\n        name: X1\n        system: lubrication"
        f"\n        fluids: [engine-oil]\n        fits:{FIT}"
    )
    step = "\n      - {code: S1, name: S, hours: 1 h, opens: [x1]}"
    load(engine, unit(joint, step, "\n      - {code: X1, name: X1, needs: [S1]}", ITEMS) + SUPPLY)


def states(engine: Engine) -> dict[str, LotState]:
    with reading(engine) as session:
        return {lot.item: lot.state for lot in list_stock(session, "yard", (), ON)}


@pytest.mark.parametrize(
    ("made", "state"),
    [("", LotState.AGE_UNKNOWN), ("1Q10", LotState.EXPIRED), ("1Q26", LotState.GOOD)],
)
def test_a_packet_is_as_old_as_the_rubber_in_it(
    store: Engine, tmp_path: Path, made: str, state: LotState
) -> None:
    """Also a packet in a packet; what holds no rubber does not age."""
    garage(store)
    packets = ("SET", "BOX", "CRATE", "CLIPS")
    stock(store, tmp_path, *(f"yard,{item},{item}-1,3 each,{made}" for item in packets))
    assert states(store) == {
        "SET": state, "BOX": state, "CRATE": state, "CLIPS": LotState.GOOD,
    }  # fmt: skip


def test_what_lies_deeper_than_anybody_looks_is_of_unknown_age(
    store: Engine, tmp_path: Path
) -> None:
    garage(store)
    stock(store, tmp_path, "yard,TRUCK,T,1 each,1Q26")
    assert states(store) == {"TRUCK": LotState.AGE_UNKNOWN}


def test_a_booking_with_an_undated_packet_of_rubber_is_not_ready(
    store: Engine, tmp_path: Path
) -> None:
    garage(store)
    stock(store, tmp_path, "yard,SET,S,1 each")
    view = booked(store, "X1")
    assert [(doubt.verdict, doubt.aspect) for doubt in view.doubts] == [
        (Verdict.UNKNOWN, Aspect.AGE)
    ]
    assert needed(view, "SET").on_shelf == 1000


def test_the_weakest_of_the_contents_decides() -> None:
    nbr, fkm = Content("NBR", rubber=True), Content("FKM", rubber=True)
    policy = ShelfPolicy.ISO_2230
    apart = [shelf_of(Stored(MADE, elastomer=code), policy).limit for code in ("NBR", "FKM")]
    packet = shelf_of(Stored(MADE, contents=(fkm, nbr)), policy)
    assert packet.limit == min(limit for limit in apart if limit is not None)
    assert packet.known
    unknown = shelf_of(Stored(MADE, contents=(nbr, Content(rubber=True))), policy)
    assert (unknown.limit, unknown.known) == (packet.limit, False)
