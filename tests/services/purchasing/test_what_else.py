"""What else could be done about a shortage: successors, alternatives, transfers. All invented."""

from __future__ import annotations

from datetime import date
from io import StringIO
from pathlib import Path

import pytest
from rich.console import Console
from sqlalchemy import Engine, select

from helpers import NOW, ON, SUPPLY, booked, load, priced, shop, stock
from kitting.cli.render.purchasing import show_purchase
from kitting.facts.units import Quantity
from kitting.services.branches import find_branch
from kitting.services.purchasing.alternatives import alternatives
from kitting.services.purchasing.purchase import buy
from kitting.services.purchasing.short_facts import Shortage
from kitting.services.purchasing.shortages import shortage
from kitting.services.purchasing.transfer_advice import transfer_advice
from kitting.services.stock.lots import find_items
from kitting.services.stock.shelves import LotName
from kitting.services.stock.transfers import arrive, on_the_way, send
from kitting.store import reading
from kitting.tables.items import Item
from kitting.views.purchasing import (
    AlternativeView,
    BarredView,
    OtherPacketsView,
    TransferAdviceView,
)
from kitting.wording.purchasing import alternative, transfer

LATER = date(2026, 6, 1)
OLD = """  - code: OLD
    name: Old
    kind: bracket
    replaced: {by: [{item: NEW, quantity: 1 each}, {item: PIN, quantity: 2 each}], old_stock: use up}
  - {code: NEW, name: New, kind: bracket}
  - {code: PIN, name: Pin, kind: bracket}"""
OTHERS = """  - code: SEAL
    name: Seal
    kind: o-ring
    elastomer: FKM
    alternatives: [{item: SECOND}, {item: THIRD, note: dearer}]
  - {code: SECOND, name: Second, kind: o-ring, elastomer: FKM}
  - {code: THIRD, name: Third, kind: o-ring, elastomer: FKM}"""


def short(engine: Engine, *numbers: str) -> dict[str, int]:
    """What bookings lack, by item code."""
    with reading(engine) as session:
        found = shortage(session, numbers)
        codes = dict(session.execute(select(Item.id, Item.code)).all())
    return {codes[item]: amount for item, amount in found.needs.items()}


def test_what_replaces_a_part_is_short_and_not_the_part(store: Engine) -> None:
    load(store, shop({"X1": {"OLD": 3}}, items=OLD))
    booked(store, "X1", on=LATER)
    assert short(store, "B0001") == {"NEW": 3000, "PIN": 6000}


def test_old_stock_that_is_enough_finishes_the_job_and_nothing_is_short(
    store: Engine, tmp_path: Path
) -> None:
    load(store, shop({"X1": {"OLD": 3}}, items=OLD))
    stock(store, tmp_path, "yard,OLD,A,3 each")
    booked(store, "X1", on=LATER)
    assert short(store, "B0001") == {}


def test_old_stock_that_is_not_enough_is_not_mixed_with_the_new(
    store: Engine, tmp_path: Path
) -> None:
    load(store, shop({"X1": {"OLD": 3}}, items=OLD))
    stock(store, tmp_path, "yard,OLD,A,2 each", "yard,PIN,B,5 each")
    booked(store, "X1", on=LATER)
    assert short(store, "B0001") == {"NEW": 3000, "PIN": 1000}


def test_before_the_day_of_replacement_the_part_itself_is_short(store: Engine) -> None:
    items = OLD.replace("old_stock: use up", "old_stock: use up, since: 2026-06-01")
    load(store, shop({"X1": {"OLD": 3}}, items=items))
    booked(store, "X1", on=date(2026, 5, 29))
    booked(store, "X1", on=LATER)
    assert short(store, "B0001") == {"OLD": 3000}
    assert short(store, "B0002") == {"NEW": 3000, "PIN": 6000}


def test_what_several_bookings_lack_is_added_up_and_names_them(store: Engine) -> None:
    load(store, shop({"X1": {"RING": 3, "BOLT": 1}, "X2": {"RING": 4}}))
    booked(store, "X1", on=LATER)
    booked(store, "X2", on=date(2026, 5, 29))
    with reading(store) as session:
        found = shortage(session, ["b0001 ", "B0002", "B0001"])
        items = find_items(session, ["RING", "BOLT"])
    assert found.needs == {items["RING"].id: 7000, items["BOLT"].id: 1000}
    assert found.wanted_by == {
        items["RING"].id: ("B0001", "B0002"), items["BOLT"].id: ("B0001",),
    }  # fmt: skip
    assert (found.branch.code, found.branch.currency) == ("yard", "GBP")
    assert found.fit_on == date(2026, 5, 29)


@pytest.mark.parametrize(
    ("expires", "lacking"), [("2026-06-01", {}), ("2026-05-31", {"RING": 3000})]
)
def test_what_does_not_keep_until_the_fitting_date_is_short_though_it_is_promised(
    lite: Engine, tmp_path: Path, expires: str, lacking: dict[str, int]
) -> None:
    """The day of expiry is the last on which it may be fitted."""
    load(lite, shop({"X1": {"RING": 3}}))
    stock(lite, tmp_path, "yard,RING,A,3 each,1Q25,2026-06-01")
    booked(lite, "X1", on=LATER)
    with lite.begin() as connection:
        # As if the packet had been read wrongly: a list can't rewrite it.
        connection.exec_driver_sql("UPDATE lot SET expires_on = ?", (expires,))
    assert short(lite, "B0001") == lacking


def choices(
    engine: Engine, item: str, branch: str = "yard"
) -> tuple[tuple[AlternativeView, ...], tuple[BarredView, ...]]:
    with reading(engine) as session:
        key = find_items(session, [item])[item].id
        return alternatives(session, find_branch(session, branch).id, [key])


def test_alternatives_come_in_order_with_what_is_free_in_this_branch(
    store: Engine, tmp_path: Path
) -> None:
    load(store, shop({"X1": {"SEAL": 1}, "X2": {"SECOND": 2}}, items=OTHERS))
    stock(
        store, tmp_path, "yard,SECOND,A,5 each,1Q25", "yard,SECOND,B,9 each,1Q25,,,recalled",
        "quay,THIRD,C,4 each,1Q25",
    )  # fmt: skip
    booked(store, "X2", on=LATER)
    found, barred = choices(store, "SEAL")
    # Of 5 on the shelf 2 are promised; what is on hold and what lies elsewhere is not counted.
    assert found == (
        AlternativeView("SEAL", 1, "SECOND", "each", 3000, None),
        AlternativeView("SEAL", 2, "THIRD", "each", 0, "dearer"),
    )
    assert barred == ()
    assert [alternative(one) for one in found] == [
        "SEAL: choice 1 instead is SECOND, 3 free here, not judged at its place yet",
        "SEAL: choice 2 instead is THIRD, 0 free here, not judged at its place yet (dearer)",
    ]
    assert choices(store, "SECOND") == ((), ())


@pytest.mark.parametrize("system", ["brakes", "steering"])
def test_where_only_the_makers_part_goes_there_is_no_alternative(lite: Engine, system: str) -> None:
    """One place in such a system is enough, whatever else the item is fitted to."""
    text = shop({"X1": {"SEAL": 1}, "X2": {"SEAL": 1}}, items=OTHERS)
    load(lite, text.replace("system: engine", f"system: {system}", 1))
    assert choices(lite, "SEAL") == ((), (BarredView("SEAL", system),))


def advised(engine: Engine, number: str, bought: date | None) -> tuple[TransferAdviceView, ...]:
    with reading(engine) as session:
        lacking: Shortage = shortage(session, [number])
        comes = {} if bought is None else dict.fromkeys(lacking.needs, bought)
        return transfer_advice(session, lacking, comes, ON, NOW)


def test_another_branch_sends_only_what_is_free_good_and_needed(
    store: Engine, tmp_path: Path
) -> None:
    """NOW is Thursday 2 April, 14:20; the van leaves at 15:00."""
    load(store, shop({"X1": {"RING": 6}, "X2": {"RING": 3}}))
    stock(
        store, tmp_path, "quay,RING,A,7 each,1Q25", "quay,RING,B,2 each,1Q25,2026-04-14",
        "quay,RING,C,2 each,1Q25,,,recalled",
    )  # fmt: skip
    booked(store, "X2", branch="quay")
    booked(store, "X1")
    (one,) = advised(store, "B0002", date(2026, 4, 7))
    assert one == TransferAdviceView(
        "RING", "each", 4000, "quay", date(2026, 4, 2), "15:00", date(2026, 4, 7)
    )
    assert transfer(one) == (
        "4 × RING free in quay: by van here Thu 02 Apr (leaves 15:00), bought Tue 07 Apr: the van"
        " is earlier"
    )


@pytest.mark.parametrize(
    ("bought", "told"),
    [
        (date(2026, 4, 2), "bought Thu 02 Apr: buying is no later"),
        (None, "not to be bought in time"),
    ],
)
def test_buying_that_is_no_later_is_said(
    lite: Engine, tmp_path: Path, bought: date | None, told: str
) -> None:
    load(lite, shop({"X1": {"RING": 2}}))
    stock(lite, tmp_path, "quay,RING,A,9 each,1Q25")
    booked(lite, "X1")
    (one,) = advised(lite, "B0001", bought)
    assert one.quantity == 2000
    assert transfer(one).endswith(told)


def test_what_is_there_in_no_other_branch_is_not_spoken_of(lite: Engine, tmp_path: Path) -> None:
    load(lite, shop({"X1": {"RING": 2}}))
    priced(lite, tmp_path, "prompt", "P-R,RING,0.40 GBP,1 each")
    booked(lite, "X1")
    with reading(lite) as session:
        view = buy(session, ["B0001"], NOW)
    assert (view.transfers, view.alternatives, view.barred) == ((), (), ())


def test_a_van_of_which_nobody_says_when_it_goes_is_not_promised(
    store: Engine, tmp_path: Path
) -> None:
    unknown = SUPPLY.replace(', van_cutoff: "15:00"}', "}")
    load(store, shop({"X1": {"RING": 2}}, supply=unknown))
    stock(store, tmp_path, "quay,RING,A,9 each,1Q25")
    booked(store, "X1")
    (one,) = advised(store, "B0001", ON)
    assert (one.arrives, one.leaves) == (None, None)
    assert transfer(one) == (
        "2 × RING free in quay: when its van goes is UNKNOWN, ask there; bought Wed 15 Apr"
    )
    number, due = send(store, LotName("quay", "RING", "A"), Quantity(1000, "each"), "yard", NOW)
    assert due is None
    with reading(store) as session:
        (going,) = on_the_way(session)
    assert (going.number, going.due) == (number, None)
    arrive(store, number, NOW)


PACKETS = """  - {code: PLAIN, name: Plain, kind: bracket}
  - {code: EXTRA, name: Extra, kind: bracket}
  - {code: KIT-1, name: Two, kind: bracket, contents: [{item: PLAIN, quantity: 2 each}]}
  - code: KIT-2
    name: Two and one
    kind: bracket
    contents: [{item: PLAIN, quantity: 2 each}, {item: EXTRA, quantity: 1 each}]
  - {code: KIT-3, name: One, kind: bracket, contents: [{item: PLAIN, quantity: 1 each}]}"""


def test_packets_that_were_not_compared_are_named_and_nothing_more_is_claimed(
    store: Engine, tmp_path: Path
) -> None:
    load(store, shop({"X1": {"KIT-1": 1}}, items=PACKETS))
    rows = ("A,KIT-1,20.00 GBP,1 each", "B,KIT-2,5.00 GBP,1 each", "C,KIT-3,1.00 GBP,1 each")
    priced(store, tmp_path, "prompt", *rows)
    booked(store, "X1", on=LATER)
    with reading(store) as session:
        view = buy(session, ["B0001"], NOW)
    assert view.other_packets == (OtherPacketsView("KIT-1", ("KIT-2", "KIT-3")),)
    out = StringIO()
    show_purchase(Console(file=out, width=400, markup=False), view)
    assert "The least cost with the packets of the plan, proven." in out.getvalue()
    assert (
        "KIT-1: the plan chose this packet; others hold some of it, not compared" in out.getvalue()
    )


def test_a_packet_without_another_of_its_kind_is_compared_with_all_there_is(
    store: Engine, tmp_path: Path
) -> None:
    alone = PACKETS.split("  - code: KIT-2")[0]
    load(store, shop({"X1": {"KIT-1": 1}}, items=alone))
    priced(store, tmp_path, "prompt", "A,KIT-1,20.00 GBP,1 each")
    booked(store, "X1", on=LATER)
    with reading(store) as session:
        view = buy(session, ["B0001"], NOW)
    assert view.other_packets == ()
