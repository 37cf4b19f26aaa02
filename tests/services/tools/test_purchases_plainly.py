"""Purchases of tools against plain enumeration: sets, hire, certificates, several currencies.

Tools, prices and bolts are invented.
"""

from __future__ import annotations

import random
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

from plain_trains import subsets, verdict
from sqlalchemy import Engine, delete

from helpers import ON, listed, load, unit
from kitting.calc.tools.loads import stated
from kitting.calc.tools.toolkit import Requirement, Tool
from kitting.facts.heads import parse_head
from kitting.facts.reasons import because
from kitting.facts.tool_reasons import ToolReason
from kitting.facts.tool_words import ToolSort, ToolTask
from kitting.facts.verdicts import Verdict
from kitting.services.planning.request import PlanRequest, ToolRequest
from kitting.services.tools.purchase import buy_tools
from kitting.services.tools.toolboxes import load_offers, load_tools
from kitting.store import reading
from kitting.tables import toolbox as tables
from kitting.views.tools import BuyView

CASES = 200
TOOL = "code,sort,turns,takes,gives,length,from,to,resolution,calibrated to,deviation"
OWNED, OFFERED = f"box,{TOOL}", f"offer,supplier,way,price,{TOOL}"
SQUARES = ("1/4", "3/8", "1/2")
HEADS = ("hexagon 10 mm", "hexagon 16 mm")
# Head, N·m, and how deep the head sits, in mm.
BOLTS = ((HEADS[0], 8, 0), (HEADS[1], 40, 0), (HEADS[1], 45, 110))
UNCERTIFIED = because(ToolReason.CALIBRATION_NOT_STATED)
ENDED = because(ToolReason.CALIBRATION_ENDED, ended=date(2026, 1, 31))


@dataclass(frozen=True)
class Piece:
    """A tool as a list writes it, and as the plain search sees it."""

    cells: str
    facts: tuple[tuple[str, Any], ...]

    def tool(self, code: str) -> Tool:
        facts = dict(self.facts)
        return Tool(0, code, code, facts.pop("sort"), **facts)


def piece(luck: random.Random, way: str) -> Piece:
    """A tool that a box holds, or that is to buy or to hire."""
    sort = ToolSort(luck.choice(("socket", "socket", "ratchet", "adaptor", "extension", "extension", "torque wrench", "torque wrench")))  # fmt: skip
    facts: dict[str, Any] = {"sort": sort}
    first, second = luck.sample(SQUARES, 2)
    if sort == "socket":
        facts |= {"turns": luck.choice(HEADS), "takes": first, "length": 30_000}
    elif sort == "adaptor":
        facts |= {"takes": first, "gives": second}
    elif sort == "extension":
        facts |= {"takes": first, "gives": first, "length": 60_000}
    else:
        facts["gives"] = first
    certificate = ","
    if sort == "torque wrench":
        low, high = luck.choice(((5, 25), (20, 100), (40, 200)))
        facts |= {"low": Decimal(low), "high": Decimal(high)}
        if luck.random() < 0.9:
            facts["resolution"] = Decimal("0.5")
        certificate = luck.choice(("2027-01-01", "2027-12-31", "2026-01-31", ""))
        missing = None if way == "buy" else UNCERTIFIED
        facts["away"] = {"2026-01-31": ENDED, "": missing}.get(certificate)
        percent = luck.choice((4, 4, 25, None))
        facts["deviation"] = None if percent is None else Decimal(percent) / 100
        certificate += "," if percent is None else f",{percent} %"
    cells = _cells(facts, certificate)
    if "turns" in facts:
        facts["turns"] = parse_head(facts["turns"])
    return Piece(cells, tuple(facts.items()))


def _cells(facts: dict[str, Any], certificate: str) -> str:
    length = f"{facts['length'] // 1000} mm" if "length" in facts else ""
    scale = [f"{facts[end]} N·m" if end in facts else "" for end in ("low", "high", "resolution")]
    plain = [facts.get(name, "") for name in ("sort", "turns", "takes", "gives")]
    return ",".join([*map(str, plain), length, *scale, certificate])


@dataclass(frozen=True)
class Offer:
    code: str
    way: str
    pounds: int
    currency: str
    brings: tuple[Piece, ...]

    def rows(self) -> Iterable[str]:
        head = f"{self.code},Shop,{self.way},{self.pounds}.00 {self.currency}"
        return (f"{head},{self.code}{n},{one.cells}" for n, one in enumerate(self.brings))


def offers(luck: random.Random) -> list[Offer]:
    """Up to eight offers, of one piece or a set, to buy or to hire, in two currencies."""
    found = []
    for number in range(luck.randint(4, 8)):
        way = luck.choice(("buy", "buy", "hire"))
        brings = tuple(piece(luck, way) for _ in range(luck.choice((1, 1, 2, 3))))
        currency = luck.choice(("GBP", "GBP", "EUR"))
        found.append(Offer(f"O{number}", way, luck.randint(0, 9), currency, brings))
    return found


def asked() -> list[Requirement]:
    """What the bolts ask for: undoing takes twice the torque (common practice, no source)."""
    found = []
    for head, torque, recess in BOLTS:
        where = {"head": parse_head(head), "recess": recess * 1000}
        load_of = stated(Decimal(2 * torque))
        found.append(Requirement(ToolTask.UNDO, load=load_of, **where))
        found.append(Requirement(ToolTask.TORQUE, torque=Decimal(torque), **where))
    return found


def able(wanted: Requirement, owned: Sequence[Piece], bought: Iterable[Offer]) -> Verdict:
    pieces = [*owned, *(one for offer in bought for one in offer.brings)]
    return verdict(wanted, [one.tool(f"P{n}") for n, one in enumerate(pieces)])


def closed_by(owned: Sequence[Piece], bought: Iterable[Offer]) -> list[Requirement]:
    """What the tools that are there cannot do for certain, and can with some offers."""
    gaps = [one for one in asked() if able(one, owned, ()) is not Verdict.FINE]
    return [one for one in gaps if able(one, owned, bought) is Verdict.FINE]


def least(owned: Sequence[Piece], on_offer: Sequence[Offer]) -> int | None:
    """What the cheapest set of offers costs that closes every gap it can, None if none is closed."""
    closable = closed_by(owned, on_offer)
    if not closable:
        return None
    by_code = {offer.code: offer for offer in on_offer}
    costs = []
    for codes in subsets(list(by_code)):
        chosen = [by_code[code] for code in codes]
        cost = sum(offer.pounds for offer in chosen)
        if costs and cost >= min(costs):
            continue
        if all(able(one, owned, chosen) is Verdict.FINE for one in closable):
            costs.append(cost)
    return min(costs)


def catalogue() -> str:
    items = "".join(
        f"\n  - {{code: B{n}, name: B, kind: bolt, thread: M10, head: {head}}}"
        for n, (head, _, _) in enumerate(BOLTS)
    )
    fits = "".join(
        f"\n          - {{item: B{n}, position: b{n}, recess: {recess} mm,"
        f" tightening: {{stages: [{torque} N·m], thread: dry, source: test}}}}"
        for n, (_, torque, recess) in enumerate(BOLTS)
    ).replace(" recess: 0 mm,", "")
    return unit(
        f"""
      - code: a
        name: A
        system: engine
        fits:{fits}""",
        "      - {code: S1, name: One, hours: 1 h, opens: [a]}",
        "      - {code: X1, name: One, needs: [S1]}",
        items=items,
    )


def stocked(engine: Engine, folder: Path, owned: Sequence[Piece], on_offer: list[Offer]) -> None:
    """Only these tools and these offers."""
    with engine.begin() as connection:
        for table in (tables.Tool, tables.ToolOffer):
            connection.execute(delete(table.__table__))
    rows = [f"bay,C{n},{one.cells}" for n, one in enumerate(owned)]
    load_tools(engine, [listed(folder, OWNED, "bay,GAUGE,angle gauge", *rows)])
    lines = [row for offer in on_offer for row in offer.rows()]
    load_offers(engine, [listed(folder, OFFERED, *lines, name="offers.csv")])


def bought(engine: Engine, currency: str | None) -> BuyView:
    with reading(engine) as session:
        return buy_tools(
            session, ToolRequest(PlanRequest("PELL 001", ("X1",), ON), currency=currency)
        )


def test_two_hundred_purchases_cost_what_trying_every_set_of_offers_costs(
    lite: Engine, tmp_path: Path
) -> None:
    load(lite, catalogue())
    luck = random.Random(4711)
    closed = 0
    for case in range(CASES):
        owned = [piece(luck, "owned") for _ in range(luck.randint(2, 7))]
        on_offer = offers(luck)
        stocked(lite, tmp_path, owned, on_offer)
        currency = luck.choice(sorted({offer.currency for offer in on_offer}))
        mine = [offer for offer in on_offer if offer.currency == currency]
        view = bought(lite, currency)
        cost = least(owned, mine)
        found = None if view.total is None else (view.total.minor, view.total.currency)
        assert found == (None if cost is None else (cost * 100, currency)), (case, owned, mine)
        assert {one.offer for one in view.bought} <= {offer.code for offer in mine}
        closed += cost is not None
    assert closed > CASES // 4


def test_one_offer_more_never_raises_the_cost_of_what_it_closed_before(
    lite: Engine, tmp_path: Path
) -> None:
    load(lite, catalogue())
    luck = random.Random(4712)
    compared = 0
    for case in range(40):
        owned = [piece(luck, "owned") for _ in range(luck.randint(3, 7))]
        on_offer = [offer for offer in offers(luck) if offer.currency == "GBP"]
        if len(on_offer) < 2:
            continue
        stocked(lite, tmp_path, owned, on_offer[:-1])
        fewer = bought(lite, None)
        stocked(lite, tmp_path, owned, on_offer)
        more = bought(lite, None)
        if fewer.total and closed_by(owned, on_offer) == closed_by(owned, on_offer[:-1]):
            assert more.total is not None
            assert more.total.minor <= fewer.total.minor, (case, owned, on_offer)
            compared += 1
    assert compared > 5
