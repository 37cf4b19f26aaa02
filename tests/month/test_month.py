"""A month of workshop life through the command line, with books beside it: no difference.

A few days by default; with KITTING_EXAMPLES=many 20 working days and some 1,800 commands.
KITTING_MONTH=postgresql runs it on PostgreSQL, on this run's own server (by hand). Another month:
KITTING_MONTH_SEED=7.
"""

from __future__ import annotations

import os
from datetime import date
from pathlib import Path

import pytest
from commands import runner
from examples import MANY

from conftest import Templates
from month.evening import compare
from month.garage import PARTS, STOCK, Q, catalogue, price_list, stock_list
from month.life import Refused, Shop
from month.supply import Supply

START = date(2026, 6, 1)  # a Monday; no public holiday of England until August
DAYS, EACH_DAY = (20, 62) if MANY else (5, 26)
SEED = int(os.environ.get("KITTING_MONTH_SEED", "1"))
ENGINE = os.environ.get("KITTING_MONTH", "sqlite")
# How often each event is drawn.
EVENTS = {
    "book": 14, "pick": 8, "confirm": 4, "ramp": 4, "count": 2, "found": 4, "close": 4,
    "cancel": 2, "promise": 4, "take": 2, "brought": 2, "change": 9, "draw": 4, "extra": 3,
    "give_back": 4, "swap": 3, "lend": 4, "split": 1, "park": 2, "resume": 2, "correct": 3,
    "order": 5, "buy": 3, "counter": 2, "receive": 5, "receive_some": 5, "note": 3,
    "take_back": 2, "announce": 3, "cancel_order": 1, "claim": 3, "credit": 3, "send": 5,
    "arrive": 5, "count_lot": 3, "missing": 2, "scrap": 2, "hold": 2, "release": 3,
}  # fmt: skip


def opened(shop: Shop) -> None:
    """The garage, its prices and what lies there."""
    shop.run("setup", timed=False)
    for name, text in {
        "garage.yaml": catalogue(), "stock.csv": stock_list(),
        **{f"{seller}.csv": price_list(seller) for seller in PARTS},
    }.items():  # fmt: skip
        (shop.folder / name).write_text(text, encoding="utf-8")
    shop.run("load", "garage.yaml", timed=False)
    for seller in PARTS:
        shop.run("prices", seller, f"{seller}.csv", timed=False)
    shop.run("stock", "load", "stock.csv")
    for branch, item, lot, much, made in STOCK:
        shop.books.lot((branch, item, lot), date(2026, 5, 29), made=Q.get(made))
        shop.books.post((branch, item, lot), "counted", much)


def day_at_work(shop: Supply, events: int) -> None:
    """So many events, as they are drawn; cars that are due today go through the shop."""
    for what in shop.rng.choices(list(EVENTS), list(EVENTS.values()), k=events):
        try:
            getattr(shop, what)()
        except LookupError:
            continue  # nothing is there for it
        except Refused:
            shop.refused[what] += 1
            continue
        shop.done[what] += 1


@pytest.mark.slow
def test_after_every_evening_the_books_agree(
    templates: Templates, tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    monkeypatch.chdir(tmp_path)
    run = runner(monkeypatch, capsys)
    if ENGINE != "sqlite":
        monkeypatch.setenv("KITTING_DATABASE_URL", templates.new())
    shop = Supply(run, tmp_path, SEED, START)
    opened(shop)
    for day in range(DAYS):
        day_at_work(shop, EACH_DAY)
        compare(shop, every=day == DAYS - 1)
        shop.next_morning()
    # A month of refusals would prove nothing.
    assert sum(shop.done.values()) > 3 * sum(shop.refused.values()), (shop.done, shop.refused)
    if MANY:
        assert len(shop.commands) > 1500
        assert set(shop.done) == set(EVENTS), set(EVENTS) - set(shop.done)
