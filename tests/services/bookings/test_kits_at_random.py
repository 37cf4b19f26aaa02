"""Kits through a random life: the audit after each step, and the test's own books beside it."""

from __future__ import annotations

from collections import Counter
from datetime import date, datetime, timedelta
from pathlib import Path
from random import Random

import pytest
from kits import at, faults, lying, piece, yard
from sqlalchemy import Engine, select

from helpers import NOW, UNCOUNTED, all_told, assert_ledger, booked
from kitting.errors import KittingError
from kitting.facts.units import Quantity
from kitting.facts.words import BookingState, FindingResult, KitWhy
from kitting.services.bookings.booking import renew_promises, step_to, take_from
from kitting.services.bookings.close import close
from kitting.services.bookings.correct import Became, Correction, correct
from kitting.services.bookings.findings import Found, record_findings
from kitting.services.bookings.kit_moves import (
    Exchange,
    Loan,
    Moment,
    Piece,
    Told,
    draw,
    give_back,
    lend,
    swap,
)
from kitting.services.bookings.pick import cancel, pick
from kitting.services.bookings.set_aside import SetAside, set_aside, take_up
from kitting.services.stock.recall import recall
from kitting.store import reading
from kitting.tables.items import Item
from kitting.tables.stock import Lot

STOCK = (
    "RING,A,12 each,1Q25", "RING,B,12 each,2Q25", "SEAL,S,6 each,1Q25", "CAP,C,30 each",
    "OIL,O,2000 ml,,2028-01-01", "PASTE,P,2500 ml,,2028-01-01", "BOLT,K,9 each",
)  # fmt: skip
ITEMS = {"RING": "each", "SEAL": "each", "CAP": "each", "PASTE": "ml", "BOLT": "each", "OIL": "ml"}
STEPS = {
    "book": 3, "pick": 6, "draw": 6, "extra": 3, "back": 5, "swap": 4, "lend": 14, "look": 3,
    "plan": 1, "take": 1, "ramp": 4, "aside": 2, "close": 4, "correct": 3, "cancel": 1,
}  # fmt: skip


class Shop:
    """A yard whose clock runs on."""

    def __init__(self, engine: Engine, seed: int) -> None:
        self.engine, self.rng, self.day = engine, Random(seed), NOW
        self.open: list[str] = []
        self.closed: list[str] = []

    def some(self) -> str:
        return self.rng.choice(self.open)

    def when(self) -> Moment:
        return at(self.day)

    def piece(self, number: str | None = None) -> Piece:
        """Some of an item, mostly of what lies in the kit."""
        there = sorted({item for item, _ in lying(self.engine, number)}) if number else []
        item = self.rng.choice(there if there and self.rng.random() < 0.8 else list(ITEMS))
        lots = [None, None, "A", "B"] if item == "RING" else [None]
        amount = self.rng.choice([1, 2, 4] if ITEMS[item] == "each" else [100, 300])
        return piece(item, amount, self.rng.choice(lots), ITEMS[item])

    def step(self, what: str) -> None:
        getattr(self, f"_{what}")()
        self.day += timedelta(hours=self.rng.choice([0, 1, 30]))

    def _book(self) -> None:
        jobs = self.rng.sample(["RINGS", "LOOK", "OPEN", "STICK"], 2)
        on = date(2026, 4, 15) + timedelta(days=self.rng.randrange(60))
        self.open.append(
            booked(self.engine, *jobs, on=max(on, self.day.date()), at=self.day).number
        )

    def _pick(self) -> None:
        pick(self.engine, self.some(), self.day)

    def _draw(self) -> None:
        words = [KitWhy.LOST, KitWhy.DROPPED, KitWhy.DAMAGED, KitWhy.FAULTY]
        told, number = Told("random", None, self.rng.choice(words)), self.some()
        draw(self.engine, number, self.piece(number), told, self.when())

    def _extra(self) -> None:
        told = Told("random", None, KitWhy.EXTRA)
        draw(self.engine, self.some(), self.piece(), told, self.when())

    def _back(self) -> None:
        number = self.some()
        give_back(self.engine, number, self.piece(number), Told(), self.when())

    def _swap(self) -> None:
        instead, number = self.rng.choice([None, "A", "B"]), self.some()
        exchange = Exchange(self.piece(number), instead)
        swap(self.engine, number, exchange, Told(), self.when())

    def _lend(self) -> None:
        if len(self.open) < 2:
            raise IndexError
        giver, taker = self.rng.sample(self.open, 2)
        lend(self.engine, Loan(giver, taker, self.piece(giver)), Told(), self.when())

    def _look(self) -> None:
        result = self.rng.choice([FindingResult.PASSED, FindingResult.FAILED])
        seen = Found("x2", self.rng.choice(["upper", "lower"]), result, "random")
        record_findings(self.engine, self.some(), [seen], self.day)

    def _plan(self) -> None:
        renew_promises(self.engine, self.some(), self.day.date())

    def _take(self) -> None:
        take_from(self.engine, self.some(), self.rng.choice(list(ITEMS)), self.some())

    def _ramp(self) -> None:
        number = self.some()
        for state in (BookingState.CONFIRMED, BookingState.ON_THE_RAMP):
            step_to(self.engine, number, state, "random", self.day.date())

    def _aside(self) -> None:
        number = self.some()
        set_aside(self.engine, number, SetAside("bay 4", "random"), self.day)
        if self.rng.random() < 0.7:
            take_up(self.engine, number, self.day)

    def _close(self) -> None:
        number = self.some()
        close(self.engine, number, all_told(self.engine, number), self.day, UNCOUNTED)
        self._ended(number)
        self.closed.append(number)

    def _cancel(self) -> None:
        number = self.some()
        cancel(self.engine, number, self.day)
        self._ended(number)

    def _ended(self, number: str) -> None:
        self.open.remove(number)

    def _correct(self) -> None:
        was, now = self.rng.sample(list(Became), 2)
        item = self.rng.choice(list(ITEMS))
        amount = Quantity(1000 if ITEMS[item] == "each" else 50_000, ITEMS[item])
        number = self.rng.choice(self.closed)
        self.day += timedelta(minutes=1)  # a correction comes after what it corrects
        correct(self.engine, number, Correction(item, amount, was, now, "random"), self.day)


def shelves(engine: Engine) -> Counter[str]:
    with reading(engine) as session:
        rows = session.execute(select(Item.code, Lot.on_hand).join(Item, Lot.item_id == Item.id))
        found: Counter[str] = Counter()
        for code, amount in rows:
            found[code] += amount
    return found


def all_of_it(engine: Engine) -> Counter[str]:
    """What is on shelves, in kits, in cars, scrapped and lost, by item: nothing may vanish."""
    found = shelves(engine)
    with engine.connect() as connection:
        for code, amount in connection.exec_driver_sql(
            "SELECT i.code, p.picked - p.returned FROM promise p JOIN item i ON i.id = p.item_id"
        ):
            found[code] += amount
    return found


@pytest.mark.parametrize("seed", [1, 2, 3, 4])
def test_whatever_becomes_of_kits_the_audit_agrees_after_each_step(
    lite: Engine, tmp_path: Path, seed: int
) -> None:
    yard(lite, tmp_path, *STOCK)
    shop = Shop(lite, seed)
    had, done = all_of_it(lite), Counter[str]()
    for what in ["book", "book", *shop.rng.choices(list(STEPS), list(STEPS.values()), k=90)]:
        try:
            shop.step(what)
        except (KittingError, IndexError):
            continue  # refused, or there is no booking for it
        done[what] += 1
        assert_ledger(lite)
        assert faults(lite, shop.day + timedelta(days=1)) == {}, (what, done)
        assert all_of_it(lite) == had
    assert {"pick", "back"} <= set(done)
    assert sum(done.values()) > 20


def test_in_a_longer_life_every_step_goes_through(lite: Engine, tmp_path: Path) -> None:
    """A sequence that only refuses proves nothing."""
    yard(lite, tmp_path, *STOCK)
    shop, done = Shop(lite, 11), Counter[str]()
    for what in ["book"] * 3 + shop.rng.choices(list(STEPS), list(STEPS.values()), k=300):
        if what == "book" and len(shop.open) > 3:
            continue
        try:
            shop.step(what)
        except (KittingError, IndexError):
            continue
        done[what] += 1
    assert set(done) >= set(STEPS) - {"take", "cancel"}, done
    with reading(lite) as session:
        view = recall(session, "A", date(2026, 4, 2))
    assert sum(one.picked + one.lost for one in view.bookings)
    assert {key for number in shop.open for key in lying(lite, number)}
    assert datetime(2026, 4, 2) < shop.day  # noqa: DTZ001
