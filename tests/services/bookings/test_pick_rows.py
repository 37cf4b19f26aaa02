"""Rows of the pick list of a booking: its own to take, what is not here, what was picked."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from io import StringIO
from pathlib import Path

import pytest
from rich.console import Console
from sqlalchemy import Engine

from factory import pick as listed
from helpers import NOW, ON, booked, load, priced, shop, stock
from kitting.cli.render.bookings import show_booking
from kitting.facts.verdicts import Verdict
from kitting.facts.words import LotState, NeedRule
from kitting.services.bookings.booking import BookingRequest, book
from kitting.services.bookings.change import Change
from kitting.services.bookings.kit_sheets import labels_of, pick_of
from kitting.services.bookings.pick import pick
from kitting.services.bookings.pick_rows import Picked, rows_of
from kitting.services.bookings.states import find_booking
from kitting.services.bookings.view import booking_view
from kitting.services.purchasing.booking_change import make_change
from kitting.services.purchasing.orders import place
from kitting.store import reading
from kitting.views.bookings import NeededView, PromisedView, SourceKind
from kitting.wording.labels import lacking_texts
from kitting.wording.pick_list import awaited_texts

NOBODY = Picked({}, {})


def lot(code: str, **changes: object) -> PromisedView:
    """Two pieces of a lot."""
    good = PromisedView(SourceKind.LOT, 2000, 0, lot=code, bin="A-00", state=LotState.GOOD)
    return replace(good, **changes)  # type: ignore[arg-type]


def need(*sources: PromisedView, needed: int = 4000, **changes: object) -> NeededView:
    """What a booking needs of an item, covered by these; the rest is short."""
    covered = sum(source.quantity for source in sources)
    whole = NeededView(
        item="ITEM-0", name="ring", rule=NeedRule.RENEW, unit="each", needed=needed, picked=0,
        on_shelf=0, coming=0, short=needed - covered, sources=sources, elsewhere=(),
        stands_for=(), verdict=Verdict.FINE, doubts=(),
    )  # fmt: skip
    return replace(whole, **changes)  # type: ignore[arg-type]


LINE = listed(1).lines[0]


def test_lots_come_in_the_order_in_which_they_expire() -> None:
    later, keeps = lot("L", keeps_to=date(2034, 1, 1)), lot("K")
    sooner = lot("S", keeps_to=date(2030, 1, 1))
    (row,) = rows_of(LINE, need(later, keeps, sooner, needed=6000), NOBODY)
    assert [source.lot for source in row.sources] == ["S", "L", "K"]
    assert (row.take, row.lacks) == (6000, 0)


def test_lots_in_several_places_make_a_row_each_and_what_lacks_is_told_once() -> None:
    rows = list(rows_of(LINE, need(lot("B", bin="B-01"), lot("A"), needed=6000), NOBODY))
    assert [(row.bin, row.take, row.lacks) for row in rows] == [
        ("B-01", 2000, 2000), ("A-00", 2000, 0),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("source", "awaited", "unfit"),
    [
        (PromisedView(SourceKind.ORDER, 2000, 0, order="P0003"), 2000, 0),
        (lot("H", state=LotState.ON_HOLD, on_hold="recall"), 0, 2000),
        (lot("E", state=LotState.EXPIRED, picked=2000), 0, 2000),
    ],
)
def test_what_is_on_its_way_on_hold_or_expired_is_not_short_and_not_to_take(
    source: PromisedView, awaited: int, unfit: int
) -> None:
    (row,) = rows_of(LINE, need(source, lot("A")), NOBODY)
    assert (row.take, row.picked, row.lacks, row.short) == (2000, 0, 0, 0)
    assert (row.awaited, row.unfit, row.complete) == (awaited, unfit, False)


def test_of_spares_only_what_was_taken_has_to_be_there() -> None:
    spare = need(lot("A"), rule=NeedRule.INSPECT, needed=6000, taken=3000)
    (row,) = rows_of(LINE, spare, NOBODY)
    assert (row.take, row.lacks, row.spares_lacking) == (2000, 1000, 3000)


def test_what_the_booking_never_knew_of_is_lacking_as_a_whole() -> None:
    (row,) = rows_of(LINE, None, NOBODY)
    assert (row.take, row.lacks) == (0, 4000)


def test_a_list_that_is_printed_after_picking_knows_what_was_picked_and_when(
    lite_garage: Engine,
) -> None:
    request = BookingRequest("PELL 117", ["J1", "J2"], ON, "upper", again=True)
    number = book(lite_garage, request, NOW).number
    with reading(lite_garage) as session:
        before = pick_of(session, number).lines
    assert sum(line.take for line in before) > 0
    assert all(line.picked == 0 and line.picked_at is None for line in before)
    pick(lite_garage, number, NOW)
    with reading(lite_garage) as session:
        after = pick_of(session, number).lines
    assert [line.picked for line in after] == [line.take for line in before]
    assert all(line.take == 0 for line in after)
    assert {line.picked_at for line in after if line.picked} == {NOW}
    assert [line.lacks for line in after] == [line.lacks for line in before]


def test_when_and_who_are_told_only_of_what_lies_in_the_kit() -> None:
    picked = Picked({"ITEM-0": NOW}, {"ITEM-0": "Ann"})
    (row,) = rows_of(LINE, need(lot("A", picked=1000)), picked)
    assert (row.picked_at, row.picked_by, row.take) == (NOW, "Ann", 1000)
    (row,) = rows_of(LINE, need(lot("A")), picked)
    assert (row.picked_at, row.picked_by) == (None, None)


def test_every_sheet_of_a_kit_and_the_screen_count_and_name_alike_what_is_not_here(
    lite: Engine, tmp_path: Path
) -> None:
    """Of four of RING two lie here and two come; nobody sells BOLT."""
    load(lite, shop({"X1": {"RING": 4}, "X2": {"BOLT": 4}}))
    stock(lite, tmp_path, "yard,RING,A,2 each,1Q25")
    priced(lite, tmp_path, "slow", "S-R,RING,0.40 GBP,1 each")
    number = booked(lite, "X1").number
    (order,) = place(lite, [number], NOW, date(2026, 4, 16)).orders
    make_change(lite, number, Change(add=("X2",)), NOW)
    late = date(2026, 5, 4)
    with reading(lite) as session:
        listed, kit = pick_of(session, number, NOW.date()), labels_of(session, number, NOW.date())
        overdue = labels_of(session, number, late)
        view = booking_view(session, find_booking(session, number), late)
    awaited = {line.content.item: line.awaited for line in listed.lines if line.awaited}
    assert awaited == {"RING": 2000}
    assert (
        {line.content.item: line.lacks for line in listed.short_lines}
        == {short.item: short.quantity for short in kit.shortages}
        == {"BOLT": 4000}
    )
    told = [text for line in listed.lines for text in awaited_texts(line)]
    assert told == [f"NOT HERE YET 2: order {order} from Slow, due 2026-04-10"]
    label = lacking_texts([line for bag in kit.bags for line in bag.lines])
    assert f"NOT HERE YET: 2 × RING (order {order}, due 2026-04-10)" in label
    label = lacking_texts([line for bag in overdue.bags for line in bag.lines])
    assert f"NOT HERE YET: 2 × RING (order {order}, OVERDUE: was due 2026-04-10)" in label
    console = Console(file=StringIO(), width=200)
    show_booking(console, view)
    shown = console.file.getvalue()
    heads = [line for line in shown.splitlines() if line in ("SHORT", "COMING", "NOT HERE YET")]
    assert heads == ["SHORT", "NOT HERE YET"]
    assert f"2 order {order} from Slow, OVERDUE: was due 2026-04-10" in shown
