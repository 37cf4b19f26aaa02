"""Which lot goes into which bag of a booking, and which bag lacks its ring. All invented."""

from __future__ import annotations

from pathlib import Path

from sqlalchemy import Engine

from helpers import NOW, SUPPLY, booked, load, planned, shop, stock, unit
from kitting.services.bookings.findings import Found, record_findings
from kitting.services.bookings.kit_sheets import labels_of
from kitting.services.bookings.pick import pick
from kitting.services.kit.bags import kit_view
from kitting.store import reading
from kitting.views.kit import Bag
from kitting.wording.labels import lacking_texts

JOBS = {"X1": {"RING": 2}, "X2": {"RING": 2, "BOLT": 1}}


def bags(engine: Engine, number: str) -> tuple[Bag, ...]:
    with reading(engine) as session:
        return labels_of(session, number).bags


def told(bag: Bag) -> list[tuple[str, list[tuple[str | None, int, int]], int]]:
    """Item, lots with quantity and what of them is picked, and what is short, of each line."""
    return [
        (line.content.item, [(lot.lot, lot.quantity, lot.picked) for lot in line.lots], line.short)
        for line in bag.lines
    ]


def test_lots_go_to_the_bags_in_the_order_of_refitting_and_the_last_bag_lacks_the_rest(
    lite: Engine, tmp_path: Path
) -> None:
    load(lite, shop(JOBS))
    stock(
        lite, tmp_path, "yard,RING,A,1 each,1Q25", "yard,RING,B,2 each,2Q25", "yard,BOLT,C,9 each"
    )
    number = booked(lite, "X1", "X2").number
    pick(lite, number, NOW)
    first, last = bags(lite, number)
    assert ("RING", [("A", 1000, 1000), ("B", 1000, 1000)], 0) in told(first)
    short = {item: (lots, lacking) for item, lots, lacking in told(last)}
    assert short["RING"] == ([("B", 1000, 1000)], 1000)
    (end,) = last.ends
    assert ([(lot.lot, lot.quantity) for lot in end.lots], end.short) == ([("B", 1000)], 1000)
    assert [line.here for line in last.lines if line.content.item == "RING"] == [1000]


def test_a_bag_of_a_plan_that_nobody_booked_lacks_nothing_and_names_no_lot(lite: Engine) -> None:
    load(lite, shop(JOBS))
    for bag in kit_view(planned(lite, "PELL 001", "X1", "X2")).bags:
        assert all((line.lots, line.short) == ((), 0) for line in bag.lines)
        assert all((end.lots, end.short) == ((), 0) for end in bag.ends)


def test_two_lines_of_an_item_in_a_bag_share_what_is_there_and_lose_none_of_what_is_short(
    lite: Engine, tmp_path: Path
) -> None:
    look = "rules: [{rule: inspect, source: workshop, criterion: whole, reference: test}]"
    fits = (
        f"\n      - {{code: a, name: A, system: engine, fits: [{{item: RING, position: p1,"
        f" quantity: 3 each, {look}}}, {{item: RING, position: p2, {look}}}]}}"
    )
    steps = "      - {code: S1, name: One, hours: 1 h, opens: [a]}"
    load(lite, unit(fits, steps, "      - {code: X1, name: One, needs: [S1]}") + SUPPLY)
    stock(lite, tmp_path, "yard,RING,A,2 each,1Q25")
    number = booked(lite, "X1").number
    failed = [Found("a", place, "failed", "cut") for place in ("p1", "p2")]
    record_findings(lite, number, failed, NOW)
    pick(lite, number, NOW)
    (bag,) = bags(lite, number)
    assert len(bag.lines) == 2
    assert sum(line.short for line in bag.lines) == 2000
    assert lacking_texts(bag.lines) == ["SHORT: 2 × RING"]
    assert sum(end.short for end in bag.ends) == 2000
    assert sum(lot.quantity for end in bag.ends for lot in end.lots) == 2000
