"""What an order comes to, after any events: what is charged, less what was credited, with its cores.

The sums are reckoned anew here, piece by piece: an item is sold singly, so that nothing is rounded.
A piece is charged with its core once it is here or while it is to come; what came unusable is not,
whether it was credited or never paid, and what is sent in its place is.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date, datetime
from pathlib import Path
from random import Random

import pytest
from sqlalchemy import Engine

from helpers import NOW, assert_ledger, load, priced, shop
from kitting.errors import KittingError
from kitting.facts.money import Money
from kitting.facts.units import Quantity
from kitting.facts.words import ClaimKind
from kitting.services.purchasing.announcements import Announcement, announce
from kitting.services.purchasing.by_hand import HandOrder, place_by_hand
from kitting.services.purchasing.cancellation import cancel_order
from kitting.services.purchasing.claims import NewClaim, claim
from kitting.services.purchasing.corrections import take_back_receipt
from kitting.services.purchasing.credit_notes import Credit, credit
from kitting.services.purchasing.goods_in import GoodsReceived, receive
from kitting.services.purchasing.kept_goods import Kept, keep
from kitting.services.purchasing.order_view import find_order, order_view
from kitting.services.upkeep.audit import audit
from kitting.store import reading
from kitting.views.orders import OrderView

TUESDAY = datetime(2026, 4, 7, 9, 0)  # noqa: DTZ001  (wall clock of the garage)
CARRIAGE = 695
PENCE = {"RING": (840, 150), "BOLT": (120, 0)}  # of a piece and its core, invented
RETURN, CORE, WARRANTY = ClaimKind.RETURN, ClaimKind.CORE, ClaimKind.WARRANTY


@dataclass
class Line:
    """Pieces of an item: `missing` will not come, `kept` came too much."""

    ordered: int
    good: int = 0
    missing: int = 0
    came: int = 0
    kept: int = 0
    receipts: list[tuple[str, int, int, int]] = field(default_factory=list)

    @property
    def coming(self) -> int:
        return self.ordered - self.good - self.missing


class Books:
    """An order in plain figures."""

    def __init__(self) -> None:
        self.lines = {"RING": Line(5), "BOLT": Line(4)}
        self.cancelled = False
        self.credited = 0  # but for what came unusable
        self.claims: dict[int, tuple[ClaimKind, str, bool, int]] = {}
        self.given: dict[int, int] = {}

    @property
    def total(self) -> int:
        found = 0
        for item, line in self.lines.items():
            charged = line.good + line.kept + (0 if self.cancelled else line.coming)
            found += charged * sum(PENCE[item])
        here = any(line.came for line in self.lines.values())
        awaited = not self.cancelled and any(line.coming for line in self.lines.values())
        return found + (CARRIAGE if here or awaited else 0) - self.credited


class Life:
    """Events at random; what the program refuses changes nothing."""

    def __init__(self, engine: Engine, seed: int) -> None:
        self.engine, self.luck, self.books, self.no = engine, Random(seed), Books(), 0
        self.lots: list[tuple[str, str]] = []

    def much(self, most: int = 3) -> int:
        return self.luck.randint(1, most)

    def item(self) -> str:
        return self.luck.choice(sorted(PENCE))

    def receive(self) -> None:
        item, self.no = self.item(), self.no + 1
        good, damaged, wrong = (self.luck.choice([0, 0, 1, 2, 3]) for _ in range(3))
        final, lot = self.luck.random() < 0.2, f"N{self.no}"
        receive(
            self.engine, "P0001",
            [GoodsReceived(item, good * 1000, damaged * 1000, wrong * 1000, lot,
                           date(2026, 3, 31), final=final)], TUESDAY,
        )  # fmt: skip
        line = self.books.lines[item]
        late = min(max(0, good - line.coming), line.missing)
        usable = min(good, line.coming + late)
        rest = line.coming + late - usable
        gone = rest if final else min(rest, damaged + wrong)
        line.good, line.missing = line.good + usable, line.missing + gone - late
        line.came += good + damaged + wrong
        if good + damaged + wrong:
            line.receipts.append(("came", usable, gone - late, good + damaged + wrong))
        self.lots += [(item, lot), (item, f"{lot}-OVER")]

    def take_back(self) -> None:
        item = self.item()
        take_back_receipt(self.engine, "P0001", item, "counted wrongly", TUESDAY)
        line = self.books.lines[item]
        what, good, missing, came = line.receipts.pop()
        if what == "kept":
            line.kept -= good
        else:
            line.good, line.missing = line.good - good, line.missing - missing
            line.came -= came

    def keep(self) -> None:
        item, lot = self.luck.choice(self.lots)
        much = self.much()
        keep(self.engine, "P0001", Kept(item, Quantity(much * 1000, "each"), lot), TUESDAY)
        self.books.lines[item].kept += much
        self.books.lines[item].receipts.append(("kept", much, 0, 0))

    def sent_again(self) -> None:
        item, much = self.item(), self.much()
        line = self.books.lines[item]
        if much > line.missing:
            raise KittingError("no more than is missing is sent once more in this test")
        said = Announcement(date(2026, 4, 9), item, Quantity(much * 1000, "each"))
        announce(self.engine, "P0001", said, TUESDAY)
        line.missing -= much

    def claim(self) -> None:
        item, lot = self.luck.choice(self.lots)
        kind, much = self.luck.choice([RETURN, RETURN, CORE, WARRANTY]), self.much()
        named = lot if kind is WARRANTY or (kind is RETURN and self.luck.random() < 0.5) else None
        new = NewClaim(kind, item, Quantity(much * 1000, "each"), "test", named)
        view = claim(self.engine, "P0001", new, TUESDAY)
        new = [one for one in view.claims if one.number not in self.books.claims]
        assert sum(one.quantity for one in new) == much * 1000
        for one in new:
            pieces = one.quantity // 1000
            self.books.claims[one.number] = (kind, item, named is None, pieces)

    def credit(self) -> None:
        number = self.luck.choice(sorted(self.books.claims))
        kind, item, loose, much = self.books.claims[number]
        price, core = PENCE[item]
        worth = {RETURN: price + core, CORE: core, WARRANTY: price}[kind] * much
        pence = self.luck.choice([1, worth // 2, worth, worth + 1])
        self.no += 1
        note = Credit(number, Money(pence, "GBP"), f"CN{self.no}", "as told")
        credit(self.engine, "P0001", note, TUESDAY)
        self.books.given[number] = self.books.given.get(number, 0) + pence
        assert self.books.given[number] <= worth
        if not (kind is RETURN and loose):
            self.books.credited += pence

    def cancel(self) -> None:
        if self.luck.random() < 0.3:
            cancel_order(self.engine, "P0001", TUESDAY)
            self.books.cancelled = True

    def events(self) -> list[Callable[[], None]]:
        return [
            self.receive, self.receive, self.receive, self.keep, self.take_back, self.sent_again,
            self.claim, self.claim, self.credit, self.credit, self.cancel,
        ]  # fmt: skip


def seen(engine: Engine) -> OrderView:
    with reading(engine) as session:
        return order_view(session, find_order(session, "P0001"))


@pytest.mark.parametrize("seed", range(6))
def test_the_total_is_what_is_charged_less_what_is_credited_after_any_events(
    lite: Engine, tmp_path: Path, seed: int
) -> None:
    load(lite, shop({"X1": {"RING": 1, "BOLT": 1}}))
    priced(lite, tmp_path, "slow", "S-R,RING,8.40 GBP,1 each,1.50 GBP,yes",
           "S-B,BOLT,1.20 GBP,1 each,,yes", heading="part,item,price,pack,core,returns")  # fmt: skip
    place_by_hand(lite, HandOrder("slow", {"RING": 5, "BOLT": 4}, "yard"), NOW)
    life, done = Life(lite, seed), []
    life.receive()
    for _ in range(40):
        event = life.luck.choice(life.events())
        before = seen(lite)
        try:
            event()
        except (KittingError, IndexError):
            assert seen(lite) == before, (event.__name__, done)
            continue
        done.append(event.__name__)
        view = seen(lite)
        assert (view.total.minor, done) == (life.books.total, done)
        parts = view.goods.minor + view.carriage.minor + view.cores.minor - view.lost.minor
        assert view.again is not None
        less = view.credited.minor if view.credited else 0
        assert parts - less + view.again.minor == view.total.minor
    assert len(set(done)) > 4
    assert_ledger(lite)
    assert audit(lite, TUESDAY).fine
