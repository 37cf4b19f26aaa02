"""What comes damaged, is claimed, credited, sent once more and comes damaged again.

The ledger of the test counts single pieces: each is lacking or not, and lacking pieces are claimed,
credited or neither. A piece that is owed is claimed, lacking and not credited.
"""

from __future__ import annotations

from datetime import date, datetime, timedelta
from pathlib import Path
from random import Random

import pytest
from sqlalchemy import Engine

from helpers import NOW, load, priced, shop
from kitting.facts.money import Money
from kitting.facts.units import Quantity
from kitting.facts.words import ClaimKind
from kitting.services.purchasing.announcements import Announcement, announce
from kitting.services.purchasing.by_hand import HandOrder, place_by_hand
from kitting.services.purchasing.claims import NewClaim, claim
from kitting.services.purchasing.credit_notes import Credit, credit
from kitting.services.purchasing.goods_in import GoodsReceived, receive
from kitting.views.orders import OrderView
from kitting.wording.purchasing import discrepancies

TUESDAY = datetime(2026, 4, 7, 9, 0)  # noqa: DTZ001  (wall clock of the garage)
PENCE = 120  # invented
CARRIAGE = 695  # of this supplier in the shop of the tests


class Shop:
    """An order P0001 of some bolts, in which each event is an hour after the one before."""

    def __init__(self, engine: Engine, folder: Path, ordered: int) -> None:
        self.engine, self.hour, self.papers = engine, 0, 0
        load(engine, shop({"X1": {"BOLT": 1}}))
        priced(engine, folder, "slow", "S-B,BOLT,1.20 GBP,1 each")
        place_by_hand(engine, HandOrder("slow", {"BOLT": ordered}, "yard"), NOW)

    @property
    def at(self) -> datetime:
        self.hour += 1
        return TUESDAY + timedelta(hours=self.hour)

    def damaged(self, much: int) -> OrderView:
        came = GoodsReceived("BOLT", 0, damaged=much * 1000)
        return receive(self.engine, "P0001", [came], self.at)

    def claimed(self, much: int) -> OrderView:
        new = NewClaim(ClaimKind.RETURN, "BOLT", Quantity(much * 1000, "each"), "bent")
        return claim(self.engine, "P0001", new, self.at)

    def credited(self, number: int, pieces: int) -> OrderView:
        self.papers += 1
        note = Credit(number, Money(PENCE * pieces, "GBP"), f"CN{self.papers}")
        return credit(self.engine, "P0001", note, self.at)

    def sent_again(self, much: int) -> OrderView:
        said = Announcement(date(2026, 6, 9), "BOLT", Quantity(much * 1000, "each"))
        return announce(self.engine, "P0001", said, self.at)


@pytest.mark.parametrize("settled", ["credited", "sent again only"])
def test_what_comes_damaged_again_is_owed_again(
    store: Engine, tmp_path: Path, settled: str
) -> None:
    """One bolt for £1.20: no more than the carriage is to be paid while it is lacking, whatever was credited."""
    order = Shop(store, tmp_path, 1)
    order.damaged(1)
    first = order.claimed(1).claims[0].number
    if settled == "credited":
        order.credited(first, 1)
    assert order.sent_again(1).total == Money(CARRIAGE + PENCE, "GBP")
    view = order.damaged(1)
    assert discrepancies(view.lines[0]) == ("1 damaged",)
    view = order.claimed(1)
    assert (view.claims[1].not_owed, view.claims[1].expected) == (0, Money(PENCE, "GBP"))
    assert (view.total, discrepancies(view.lines[0])) == (Money(CARRIAGE, "GBP"), ())
    view = order.credited(view.claims[1].number, 1)
    assert (view.total, discrepancies(view.lines[0])) == (Money(CARRIAGE, "GBP"), ())


def test_the_supplier_is_to_be_told_until_all_is_claimed_or_sent_again(
    store: Engine, tmp_path: Path
) -> None:
    order = Shop(store, tmp_path, 3)
    assert discrepancies(order.damaged(3).lines[0]) == ("3 damaged",)
    assert discrepancies(order.claimed(1).lines[0]) == ("2 damaged",)
    view = order.sent_again(1)  # perhaps for the one that was claimed
    assert discrepancies(view.lines[0]) == ("2 damaged",)
    assert view.lines[0].damaged == 3000


@pytest.mark.parametrize("seed", range(8))
def test_each_sequence_of_damaged_claimed_credited_and_sent_again_adds_up(
    lite: Engine, tmp_path: Path, seed: int
) -> None:
    luck, pieces = Random(seed), 4
    order = Shop(lite, tmp_path, pieces)
    coming, unclaimed, told = pieces, 0, 0
    lacking: list[list[object]] = []  # [claim or None, credited] of each piece that is lacking
    claims: dict[int, int] = {}
    credited: set[int] = set()
    done = 0
    for _ in range(40):
        event, much = luck.choice(["damaged", "claim", "credit", "again"]), luck.randint(1, 2)
        if event == "damaged" and much <= coming:
            view = order.damaged(much)
            coming, unclaimed = coming - much, unclaimed + much
            lacking += [[None, False] for _ in range(much)]
        elif event == "claim" and much <= unclaimed:
            view = order.claimed(much)
            number = max(one.number for one in view.claims)
            claims[number], unclaimed, told = much, unclaimed - much, told + much
            for piece in [one for one in lacking if one[0] is None][:much]:
                piece[0] = number
        elif event == "credit" and set(claims) - credited:
            number = luck.choice(sorted(set(claims) - credited))
            view = order.credited(number, claims[number])
            credited.add(number)
            for piece in lacking:
                piece[1] = piece[1] or piece[0] == number
        elif event == "again" and much <= len(lacking):
            view = order.sent_again(much)
            coming += much
            open_first = sorted(
                lacking, key=lambda one: (bool(one[1]), one[0] is None, int(str(one[0] or 0)))
            )
            for piece in open_first[:much]:
                lacking.remove(piece)
        else:
            continue
        done += 1
        assert view.total == Money(CARRIAGE + PENCE * coming, "GBP")
        for one in view.claims:
            owed = sum(piece[0] == one.number and not piece[1] for piece in lacking)
            owed = claims[one.number] if one.number in credited else owed
            assert one.quantity - one.not_owed == owed * 1000, (seed, done, one.number)
    assert done > 12
