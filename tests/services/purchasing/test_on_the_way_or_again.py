"""What is on its way is relied on or bought again, whichever is best: `dates` and `buy` alike."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from itertools import combinations, product
from math import prod
from pathlib import Path

import numpy as np
import pytest
from sqlalchemy import Engine, text

from helpers import NOW, booked, load, priced, shop, stock
from kitting.calc.purchasing.awaited import Coming, Offered, Sought
from kitting.calc.purchasing.sourcing import Delivery, Offer, Price
from kitting.facts.money import Money
from kitting.facts.words import DateState
from kitting.services.branches import find_branch
from kitting.services.day.today import TodayRequest, today
from kitting.services.purchasing.by_hand import HandOrder, place_by_hand
from kitting.services.purchasing.market import read_market
from kitting.services.purchasing.purchase import buy
from kitting.services.purchasing.safe_dates import BookedRequest, dates_booked
from kitting.services.stock.lots import find_items
from kitting.store import reading
from kitting.views.possible_dates import DatesView, DateView
from kitting.views.today import TodayKind

LATER = date(2026, 6, 1)
# Slow ordered on Thu 2 April counts from Tue 7: half by Fri 10, nine tenths by Tue 14.
TUESDAY = datetime(2026, 4, 7, 14, 20)  # noqa: DTZ001  (wall clock of the garage)
WEDNESDAY = datetime(2026, 4, 8, 9, 0)  # noqa: DTZ001


@pytest.fixture
def waiting(lite: Engine, tmp_path: Path) -> Engine:
    """Three rings on their way from Slow; two bolts, that Prompt has, are not ordered yet."""
    load(lite, shop({"X1": {"RING": 3, "BOLT": 2}}))
    priced(lite, tmp_path, "slow", "S-R,RING,0.40 GBP,1 each")
    priced(lite, tmp_path, "prompt", "P-B,BOLT,0.50 GBP,1 each")
    booked(lite, "X1", on=LATER)
    place_by_hand(lite, HandOrder("slow", {"RING": 3}, "yard", ("B0001",)), NOW)
    return lite


def dated(engine: Engine, now: datetime, target: float = 0.95, days: int = 8) -> DatesView:
    with reading(engine) as session:
        return dates_booked(session, BookedRequest(["B0001"]), now, target, days)


def on(view: DatesView, day: date) -> DateView:
    return next(one for one in view.dates if one.on == day)


def test_a_day_counts_what_is_on_its_way_though_something_else_is_still_to_be_bought(
    waiting: Engine,
) -> None:
    """By hand, for Wed 15 April: the rings by Tue 14 with 0.9, the bolts ordered on Wed 8 too.

    Prompt has nine tenths by Thu 9; what is outstanding is a fifth of that of the day before: by
    Tue 14, three working days later, 1 - 0.1 * 0.2 ** 3 = 0.9992.
    """
    day = on(dated(waiting, WEDNESDAY), date(2026, 4, 15))
    assert day.state is DateState.RISKY
    assert day.chance == pytest.approx(0.9 * 0.9992)
    assert day.cost == Money(100, "GBP")


def test_what_is_on_its_way_is_not_bought_again_for_a_worse_chance(
    waiting: Engine, tmp_path: Path
) -> None:
    """Rings ordered on Wed 8 before noon: half by Mon 13, so 1 - 0.5 * 0.2 ** 0.5 by Tue 14."""
    again = 1 - 0.5 * 0.2**0.5
    assert again < 0.9
    days = {one.on: one.cost for one in dated(waiting, WEDNESDAY, days=12).dates if one.chance}
    assert set(days.values()) == {Money(100, "GBP")}


def test_what_is_on_its_way_too_late_is_bought_again_where_that_is_surer(
    waiting: Engine, tmp_path: Path
) -> None:
    """Prompt sells rings too: 3 at 2.90 beside 2 bolts at 0.50, all of it in one delivery."""
    priced(waiting, tmp_path, "prompt", "P-B,BOLT,0.50 GBP,1 each", "P-R,RING,2.90 GBP,1 each")
    view = dated(waiting, WEDNESDAY)
    soon, late = on(view, date(2026, 4, 13)), on(view, date(2026, 4, 16))
    assert (soon.state, soon.cost) == (DateState.SAFE, Money(970, "GBP"))
    assert soon.chance == pytest.approx(0.98)
    # By Wed 15 the rings of Slow are there with 1 - 0.5 * 0.2 ** 1.5.
    assert (late.state, late.cost) == (DateState.SAFE, Money(100, "GBP"))
    assert late.chance == pytest.approx((1 - 0.5 * 0.2**1.5) * (1 - 0.1 * 0.2**4))


def test_all_ways_to_ask_name_the_same_first_day_and_chance(waiting: Engine) -> None:
    view = dated(waiting, WEDNESDAY)
    assert view.earliest is not None
    before = [one for one in view.dates if one.on < view.earliest and one.chance]
    assert before
    for day in before:
        with reading(waiting) as session:
            bought = buy(session, ["B0001"], WEDNESDAY, day.on)
        assert bought.would_do == view.earliest
        assert bought.best_chance == pytest.approx(day.chance)
    with reading(waiting) as session:
        bought = buy(session, ["B0001"], WEDNESDAY, view.earliest)
    assert (bought.lacking, bought.total) == ((), on(view, view.earliest).cost)
    assert bought.chance == pytest.approx(on(view, view.earliest).chance)


def test_today_tells_the_chance_that_dates_tells(lite: Engine, tmp_path: Path) -> None:
    load(lite, shop({"X1": {"RING": 3, "BOLT": 2}}))
    priced(lite, tmp_path, "slow", "S-R,RING,0.40 GBP,1 each", "S-B,BOLT,0.50 GBP,1 each")
    booked(lite, "X1", on=date(2026, 4, 15))
    place_by_hand(lite, HandOrder("slow", {"RING": 3}, "yard", ("B0001",)), NOW)
    day = on(dated(lite, WEDNESDAY), date(2026, 4, 15))
    # All of it ordered again is one parcel: surer than two, of which one has nine tenths.
    again = 1 - 0.5 * 0.2**0.5
    assert day.chance == pytest.approx(again)
    assert day.cost == Money(120 + 100 + 695, "GBP")
    with reading(lite) as session:
        rows = today(session, TodayRequest(), WEDNESDAY).rows
    (row,) = (one for one in rows if one.kind is TodayKind.NOT_IN_TIME)
    assert dict(row.why[0].values)["chance"] == pytest.approx(day.chance)


def test_goods_that_expire_are_bought_anew_on_the_first_day_that_buy_names(
    lite: Engine, tmp_path: Path
) -> None:
    """The washer on the shelf keeps to the 12th; the first day all can be had is after it."""
    items = "\n  - {code: WASHER, name: Washer, kind: copper-washer}"
    load(lite, shop({"X1": {"WASHER": 1, "RING": 1}}, items))
    stock(lite, tmp_path, "yard,WASHER,A,1 each,,2026-04-12")
    priced(lite, tmp_path, "prompt", "P-W,WASHER,0.50 GBP,1 each")
    priced(lite, tmp_path, "slow", "S-R,RING,0.40 GBP,1 each")
    booked(lite, "X1", on=date(2026, 4, 10))
    view = dated(lite, NOW, days=12)
    with reading(lite) as session:
        bought = buy(session, ["B0001"], NOW)
    assert view.earliest is not None
    assert view.earliest > date(2026, 4, 12)
    assert bought.would_do == view.earliest


def test_the_chance_of_the_whole_comes_first_where_nobody_offers_a_part(
    lite: Engine, tmp_path: Path
) -> None:
    load(lite, shop({"X1": {"RING": 3, "BOLT": 2}}))
    priced(lite, tmp_path, "slow", "S-R,RING,0.40 GBP,1 each")
    booked(lite, "X1", on=LATER)
    place_by_hand(lite, HandOrder("slow", {"RING": 3}, "yard", ("B0001",)), NOW)
    day = on(dated(lite, WEDNESDAY), date(2026, 4, 15))
    assert (day.state, day.chance) == (DateState.RISKY, 0.0)
    assert day.rest == pytest.approx(0.9)


LINES = text(
    "SELECT order_line.part FROM order_line JOIN purchase_order ON"
    " purchase_order.id = order_line.order_id WHERE purchase_order.number = :number"
)


def test_a_pack_that_holds_enough_for_all_is_surer_than_an_order_beside_it() -> None:
    """One ring of three is short; the pack of ten that brings it brings the other two as well."""
    pack = Offer(1, 7, 1, 10_000, (Price(1, 500),))
    offered = Offered([pack], [Delivery(1, chance=0.999)], {1: (0.999,)})
    answer = Sought([{7: 1000}], [Coming(0, ({7: 2000},), (0.99,))], offered, 0.95).answer()
    assert (answer.late, answer.chances) == ((frozenset({0}),), (0.999,))


# Every choice of what to rely on and what to buy, counted one by one.

ITEMS = ("RING", "BOLT", "CLIP")
CLIP = "\n  - {code: CLIP, name: Clip, kind: copper-washer}"


@dataclass(frozen=True)
class Way:
    """A choice: what it costs, minor units, and how surely all is there."""

    cost: int
    chance: float


@dataclass(frozen=True)
class Sale:
    """What a supplier sells of an item, how surely it comes, and its carriage."""

    item: str
    supplier: str
    pack: int
    price: int
    chance: float


CARRIAGE = {"prompt": (0, 0), "slow": (695, 5000)}


def ways(
    lacks: Mapping[str, int],
    waits: Mapping[str, tuple[Mapping[str, int], float]],
    sales: list[Sale],
) -> Iterator[Way]:
    """All choices; `waits` are orders with what they bring and how surely, by number."""
    for count in range(len(waits) + 1):
        for relied in combinations(sorted(waits), count):
            needs = dict(lacks)
            for number in waits.keys() - set(relied):
                for item, amount in waits[number][0].items():
                    needs[item] = needs.get(item, 0) + amount
            useful = [sale for sale in sales if needs.get(sale.item)]
            counts = [range(-(-needs[sale.item] // sale.pack) + 1) for sale in useful]
            for packs in product(*counts):
                brought = dict.fromkeys(needs, 0)
                goods: dict[str, int] = {}
                chances = {}
                for sale, number_of in zip(useful, packs, strict=True):
                    if number_of:
                        brought[sale.item] += number_of * sale.pack
                        goods[sale.supplier] = goods.get(sale.supplier, 0) + number_of * sale.price
                        chances[sale.supplier] = sale.chance
                if all(brought[item] >= some for item, some in needs.items()):
                    paid = sum(
                        CARRIAGE[one][0] for one, value in goods.items() if value < CARRIAGE[one][1]
                    )
                    surely = [waits[number][1] for number in relied]
                    yield Way(sum(goods.values()) + paid, prod([*surely, *chances.values()]))


def best_of(found: list[Way], target: float) -> tuple[bool, float, int]:
    """Whether the chance asked for can be had, the chance, and what it costs at least."""
    reached = [way for way in found if way.chance >= target - 1e-12]
    if reached:
        least = min(way.cost for way in reached)
        return True, max(way.chance for way in reached if way.cost == least), least
    possible = [way for way in found if way.chance]
    best = max((way.chance for way in possible), default=0.0)
    return False, best, min((w.cost for w in possible if w.chance >= best * 0.999), default=0)


@pytest.mark.parametrize("seed", range(10))
def test_every_day_is_the_best_of_all_choices(lite: Engine, tmp_path: Path, seed: int) -> None:
    rng = np.random.default_rng(seed)
    needs = {item: int(rng.integers(1, 4)) for item in ITEMS}
    load(lite, shop({"X1": needs}, CLIP))
    for supplier in CARRIAGE:
        priced(
            lite,
            tmp_path,
            supplier,
            *(
                f"{supplier}-{item},{item},{rng.integers(20, 400) / 100:.2f} GBP,"
                f"{rng.integers(1, 3)} each"
                for item in ITEMS
            ),
        )
    booked(lite, "X1", on=LATER)
    ordered: dict[str, dict[str, int]] = {}
    left = dict(needs)
    for item in ITEMS[: int(rng.integers(1, 4))]:
        supplier, at = ("slow", "prompt")[int(rng.integers(2))], (NOW, TUESDAY)[seed % 2]
        wanted = HandOrder(supplier, {item: 1}, "yard", ("B0001",))
        number = place_by_hand(lite, wanted, at).order
        assert number is not None
        ordered[number] = {item: 0}
    now = (TUESDAY, WEDNESDAY, datetime(2026, 4, 10, 9, 0))[seed % 3]  # noqa: DTZ001
    target = (0.95, 0.9, 0.8)[int(rng.integers(3))]
    with reading(lite) as session:
        items = {one.id: code for code, one in find_items(session, ITEMS).items()}
        market = read_market(session, find_branch(session, "yard"), list(items), now)
        packs = {quote.part: quote.pack // 1000 for quote in market.offers.values()}
        for number, some in ordered.items():
            (item,) = some
            part = next(line.part for line in session.execute(LINES, {"number": number}))
            some[item] = min(left[item], packs[part])
            left[item] -= some[item]
        lacks = {item: amount for item, amount in left.items() if amount}
        view = dates_booked(session, BookedRequest(["B0001"]), now, target, 8)
        for day in view.dates:
            told = buy(session, ["B0001"], now, day.on, target)
            chances = {one.order: one.chance or 0.0 for one in told.awaited}
            assert chances.keys() == ordered.keys()
            coming = {one.key: one.chance for one in market.deliveries(day.by)}
            sales = [
                Sale(
                    items[quote.item],
                    market.parcels[market.priced[key].delivery].supplier.code,
                    quote.pack // 1000,
                    market.priced[key].prices[0].minor,
                    coming[market.priced[key].delivery],
                )
                for key, quote in market.offers.items()
            ]
            waits = {number: (some, chances[number]) for number, some in ordered.items()}
            safe, chance, cost = best_of(list(ways(lacks, waits, sales)), target)
            assert (day.state is DateState.SAFE) is safe, day
            assert day.chance == pytest.approx(chance, abs=2e-5), day
            assert (0 if day.cost is None else day.cost.minor) == cost, day
            assert bool(told.lacking or told.best_chance is not None) is not safe
            if safe:
                assert (0 if told.total is None else told.total.minor) == cost
                assert told.chance == pytest.approx(day.chance)
            else:
                assert told.best_chance == pytest.approx(day.chance)
