"""Spares that are taken into a booking: needed there, bought, counted, asked for. All invented.

Seals fail 15 times in 100, clips 10 times, each believed as firmly as ten inspections.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from sqlalchemy import Engine, select

from conftest import Templates
from helpers import NOW, SUPPLY, booked, load, needed, priced, said, stock, unit
from kitting.errors import KittingError
from kitting.facts.verdicts import Verdict
from kitting.facts.words import NeedRule
from kitting.services.advice.completion import completion_chance
from kitting.services.advice.taken_spares import take_anew, take_spares
from kitting.services.advice.weighed_case import work_of_booking
from kitting.services.bookings.booking import step_to
from kitting.services.bookings.change import Change
from kitting.services.bookings.findings import Found, record_findings
from kitting.services.bookings.listing import list_bookings
from kitting.services.bookings.pick import pick
from kitting.services.bookings.states import find_booking
from kitting.services.bookings.view import booking_view
from kitting.services.purchasing.booking_change import Advice, make_change
from kitting.services.purchasing.orders import place
from kitting.services.purchasing.purchase import buy
from kitting.store import make_engine, reading
from kitting.tables.bookings import BookingSpare, BookingSure
from kitting.views.bookings import BookingView
from kitting.views.completion import SpareView

ASKS = unit(
    """
      - {code: a, name: A, system: engine, fits: [{item: SEAL, position: seals, quantity: 4 each}]}
      - {code: b, name: B, system: engine, fits: [{item: CLIP, position: clips, quantity: 2 each}]}""",
    """      - {code: S1, name: One, hours: 1 h, opens: [a]}
      - {code: S2, name: Two, hours: 1 h, opens: [b]}""",
    """      - {code: X1, name: One, needs: [S1]}
      - {code: X2, name: Two, needs: [S2]}""",
    items="""  - {code: SEAL, name: Seal, kind: moulded-ring, elastomer: NBR}
  - {code: CLIP, name: Clip, kind: wire-clip}""",
)


def furnish(engine: Engine, folder: Path) -> None:
    load(engine, ASKS + SUPPLY)
    priced(engine, folder, "prompt", "P1,SEAL,2.00 GBP,1 each,,,no", "P2,CLIP,1.00 GBP,1 each,,,no")


@pytest.fixture
def lite(templates: Templates, tmp_path: Path) -> Engine:
    return make_engine(templates.copy("sqlite", ("empty", furnish), tmp_path))


def shown(engine: Engine, number: str) -> BookingView:
    with reading(engine) as session:
        return booking_view(session, find_booking(session, number))


def taken(engine: Engine, number: str, target: float = 0.9) -> tuple[dict[str, int], bool]:
    view = take_spares(engine, number, NOW, target).taken
    assert view is not None
    return {one.item: one.pieces for one in view.spares}, view.changed


def ordered(engine: Engine, number: str) -> dict[str, int]:
    with reading(engine) as session:
        view = buy(session, [number], NOW)
    return {line.item: line.packs for parcel in view.parcels for line in parcel.lines}


def test_what_sure_proposes_is_taken_as_spares_bought_and_counted(lite: Engine) -> None:
    number = booked(lite, "X1").number
    assert ordered(lite, number) == {}
    with reading(lite) as session:
        before = completion_chance(session, work_of_booking(session, number), NOW, 0.9)
    proposed = sum(risk.spares for risk in before.risks)
    assert 0 < proposed < 4
    assert taken(lite, number) == ({"SEAL": proposed}, True)
    seal = needed(shown(lite, number), "SEAL")
    assert (seal.rule, seal.needed, seal.taken) == (NeedRule.INSPECT, 4000, proposed * 1000)
    assert ordered(lite, number) == {"SEAL": proposed}
    place(lite, [number], NOW)
    after = take_spares(lite, number, NOW, 0.9)
    assert after.taken is not None
    assert (after.taken.spares, after.taken.changed) == ((SpareView("SEAL", proposed),), False)
    assert sum(risk.in_stock for risk in after.risks) == proposed
    assert (after.chance >= 0.9, str(after.cost)) == (True, "£0.00")
    assert ordered(lite, number) == {}


def test_a_booking_is_not_ready_without_the_spares_it_took(lite: Engine, tmp_path: Path) -> None:
    number = booked(lite, "X1").number
    before = shown(lite, number).doubts  # nobody says what touches the seal
    (count,) = taken(lite, number)[0].values()
    view = shown(lite, number)
    assert view.verdict is Verdict.NO
    assert said(doubt.because for doubt in view.doubts if doubt not in before) == [
        f"SEAL: {count} short of the spares that were taken"
    ]
    with reading(lite) as session:
        assert [line.short for line in list_bookings(session, None, ["provisional"])] == [1]
    stock(lite, tmp_path, "yard,SEAL,S1,4 each,1Q25")
    assert taken(lite, number) == ({"SEAL": count}, False)


def test_what_failed_used_one_up_and_the_ramp_asks_for_no_more(
    lite: Engine, tmp_path: Path
) -> None:
    stock(lite, tmp_path, "yard,SEAL,S1,4 each,1Q25")
    number = booked(lite, "X1").number
    taken(lite, number)
    pick(lite, number, NOW)
    step_to(lite, number, "confirmed", "test")
    step_to(lite, number, "on the ramp", "test")
    assert needed(shown(lite, number), "SEAL").taken == 0
    record_findings(lite, number, [Found("a", "seals", "failed", "cut")], NOW)
    assert needed(shown(lite, number), "SEAL").rule is NeedRule.RENEW
    with pytest.raises(KittingError, match="on the ramp"):
        take_spares(lite, number, NOW, 0.5)


def test_a_changed_booking_takes_anew_and_another_chance_too(lite: Engine) -> None:
    number = booked(lite, "X1").number
    first, _ = taken(lite, number)
    view = make_change(lite, number, Change(add=("X2",)), NOW, advice=Advice(take_anew))
    assert {row.item for row in view.short} == {"SEAL", "CLIP"}
    more = {need.item: need.taken // 1000 for need in shown(lite, number).needs}
    assert more["CLIP"] > 0
    make_change(lite, number, Change(drop=("X2",)), NOW, advice=Advice(take_anew))
    assert taken(lite, number) == (first, False)
    assert taken(lite, number, 0.99)[0]["SEAL"] > first["SEAL"]
    assert taken(lite, number, 0.1) == ({}, True)
    with lite.connect() as connection:
        assert connection.execute(select(BookingSpare)).all() == []
        assert connection.execute(select(BookingSure.target)).scalars().all() == [10_000]


def test_a_chance_that_no_spares_reach_takes_nothing(lite: Engine) -> None:
    number = booked(lite, "X1").number
    with lite.begin() as connection:
        connection.exec_driver_sql("DELETE FROM offer_price")
        connection.exec_driver_sql("DELETE FROM offer")
    with pytest.raises(KittingError, match="the most that can be had is"):
        take_spares(lite, number, NOW, 0.99)
    assert needed(shown(lite, number), "SEAL").taken == 0
