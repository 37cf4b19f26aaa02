"""What several tests need: catalogues from text, plans in one call, statements counted."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from datetime import date, datetime
from functools import lru_cache
from pathlib import Path
from typing import Any

from sqlalchemy import Engine, event, select

from kitting.errors import FileProblemsError
from kitting.facts.reasons import Reason
from kitting.facts.words import ShelfPolicy
from kitting.files.catalogue.source import Source, parse_catalogue
from kitting.services.bookings.booking import BookingRequest, book
from kitting.services.bookings.close import Closing
from kitting.services.bookings.states import find_booking
from kitting.services.bookings.view import booking_view
from kitting.services.catalogue.load import LoadReport, load_sources
from kitting.services.planning.plan import plan
from kitting.services.planning.request import PlanRequest
from kitting.services.purchasing.price_lists import PriceReport, load_prices
from kitting.services.stock.stock_lists import StockReport, load_stock
from kitting.store import reading
from kitting.tables.bookings import Promise
from kitting.tables.items import Item
from kitting.tables.stock import Lot, Movement
from kitting.tables.supply import Branch, OrderLine
from kitting.views.bookings import BookingView, NeededView
from kitting.views.plan import LineView, PlanView, UseView
from kitting.wording.reasons import say

ON = date(2026, 4, 15)
# Why a booking is closed where a test is not about its seals.
UNCOUNTED = "old seals not counted"


@lru_cache(maxsize=256)
def source(text: str, name: str = "test.yaml") -> Source:
    """A catalogue from text that must be well shaped; read once, for loading changes none."""
    found, problems = parse_catalogue(name, text)
    if found is None:
        raise FileProblemsError(problems)
    return found


def load(engine: Engine, text: str) -> LoadReport:
    """Load a catalogue from text."""
    return load_sources(engine, [source(text)])


def planned(
    engine: Engine,
    registration: str,
    *jobs: str,
    on: date = ON,
    assumed: Mapping[str, str] | None = None,
) -> PlanView:
    """A plan in one call."""
    with reading(engine) as session:
        return plan(session, PlanRequest(registration, jobs, on, assumed or {}))


def lines_of(view: PlanView, item: str) -> list[LineView]:
    """Every line of an item."""
    return [line for line in view.lines if line.item == item]


def line_of(view: PlanView, item: str) -> LineView:
    """The only line of an item."""
    (line,) = lines_of(view, item)
    return line


def use_of(view: PlanView, item: str) -> UseView:
    """The only use of an item."""
    (use,) = (use for use in view.uses if use.item == item)
    return use


@contextmanager
def counted(engine: Engine) -> Iterator[list[str]]:
    """The SQL statements sent while inside."""
    sent: list[str] = []

    def note(_c: object, _cursor: object, statement: str, *_rest: object) -> None:
        sent.append(statement)

    event.listen(engine, "before_cursor_execute", note)
    try:
        yield sent
    finally:
        event.remove(engine, "before_cursor_execute", note)


CAR = """
models:
  - {code: pell, name: Ulvander Pell, units: [grebe]}
vehicles:
  - {registration: PELL 001, model: pell, build_date: 2021-03-14}
"""


def unit(joints: str, steps: str, jobs: str, items: str = "", splits: str = "") -> str:
    """A catalogue of one unit and one car, from the parts that matter to a test."""
    return f"""
items:
  - {{code: RING, name: Ring, kind: o-ring, elastomer: FKM}}
  - {{code: BOLT, name: Bolt, kind: bolt, thread: M6, property_class: "8.8", head: hexagon 8 mm}}
{items}
units:
  - code: grebe
    name: Grebe
    splits: [{splits}]
    joints:
{joints}
    steps:
{steps}
    jobs:
{jobs}
{CAR}
"""


def preload(torque: float, diameter: float, nut_factor: float) -> float:
    """F = T/(K·d) in newtons, for a torque in N·m and a diameter in mm."""
    return torque * 1000 / (nut_factor * diameter)


# A yard, a second one and two suppliers, all invented: `prompt` comes the next day without
# carriage, `slow` three days later, nine of ten within five, carriage free over £50.
SUPPLY = """
branches:
  - {code: yard, name: Yard, country: GB, subdivision: ENG, van_cutoff: "15:00"}
  - {code: quay, name: Quay, country: GB, subdivision: ENG, van_cutoff: "15:00"}
suppliers:
  - code: prompt
    name: Prompt
    cutoffs: ["16:00"]
    lead_days: 1
    late_days: 1
    country: GB
    subdivision: ENG
  - code: slow
    name: Slow
    carriage: 6.95 GBP
    carriage_free: 50.00 GBP
    cutoffs: ["12:00"]
    lead_days: 3
    late_days: 5
    country: GB
    subdivision: ENG
"""
# The demo's today: a Thursday afternoon, closed on Good Friday and Easter Monday after it.
NOW = datetime(2026, 4, 2, 14, 20)  # noqa: DTZ001  (wall clock of the garage)
STOCK_HEADING = "branch,item,lot,quantity,made,expires,opened,on hold"
PRICE_HEADING = "part,item,price,pack,break 1 from,break 1 price,returns"


def shop(jobs: Mapping[str, Mapping[str, int]], items: str = "", supply: str = SUPPLY) -> str:
    """A catalogue of one car, two yards and two suppliers; each job renews so many of each item.

    `items` are further items; RING and BOLT are there. Nothing of it is unknown: the rubbers stand
    the fluid of the joints, and every BOLT has a figure.
    """
    figure = ", tightening: {stages: [8 N·m], thread: dry, source: test}"
    joints = "".join(
        f"\n      - code: {job.lower()}\n        name: {job}\n        system: engine"
        "\n        fluids: [diesel]\n        fits:"
        + "".join(
            f"\n          - {{item: {item}, position: {item}, quantity: {count} each, rules:"
            f" [{{rule: renew, source: workshop, reference: test}}]"
            f"{figure if item.startswith('BOLT') else ''}}}"
            for item, count in fits.items()
        )
        for job, fits in jobs.items()
    )
    steps = "".join(
        f"\n      - {{code: S-{job}, name: {job}, hours: 1 h, opens: [{job.lower()}]}}"
        for job in jobs
    )
    named = "".join(f"\n      - {{code: {job}, name: {job}, needs: [S-{job}]}}" for job in jobs)
    return unit(joints, steps, named, items=items) + supply


def listed(folder: Path, heading: str, *rows: str, name: str = "list.csv") -> Path:
    """A list in a file; short rows are filled up."""
    commas = heading.count(",")
    full = [row + "," * (commas - row.count(",")) for row in rows]
    path = folder / name
    path.write_text("\n".join([heading, *full]) + "\n", encoding="utf-8")
    return path


def stock(engine: Engine, folder: Path, *rows: str, at: datetime = NOW) -> StockReport:
    """Load stock rows under STOCK_HEADING."""
    return load_stock(engine, [listed(folder, STOCK_HEADING, *rows)], at)


def priced(
    engine: Engine, folder: Path, supplier: str, *rows: str, heading: str = PRICE_HEADING
) -> PriceReport:
    """Load a supplier's price rows under PRICE_HEADING."""
    return load_prices(engine, supplier, listed(folder, heading, *rows))


def booked(
    engine: Engine, *jobs: str, on: date = ON, at: datetime = NOW, branch: str = "yard",
    policy: ShelfPolicy | None = None,
) -> BookingView:  # fmt: skip
    """A booking of the only car of a `shop`."""
    return book(
        engine,
        BookingRequest("PELL 001", jobs, on, branch, again=True, shelf_policy=policy),
        at,
    )


def all_told(
    engine: Engine, number: str, returned: Mapping[str, int] | None = None, **told: Any
) -> Closing:
    """What closing asks, where a test is not about it: spares came back, consumables are used up."""
    with reading(engine) as session:
        view = booking_view(session, find_booking(session, number))
    spares: dict[str, int] = {}
    for need in view.needs:
        if amount := need.picked if need.spare else need.extra:
            spares[need.item] = spares.get(need.item, 0) + amount
    return Closing({**spares, **(returned or {})}, used_up=True, **told)


def said(reasons: Iterable[Reason]) -> list[str]:
    """Reasons as a person reads them."""
    return [say(reason) for reason in reasons]


def needed(view: BookingView, item: str, rule: str | None = None) -> NeededView:
    """The only need of an item (and rule)."""
    (found,) = (n for n in view.needs if n.item == item and rule in (None, n.rule))
    return found


def balances(engine: Engine) -> dict[tuple[str, str, str], tuple[int, int]]:
    """On hand and promised of every lot, whole thousandths, by branch, item and lot."""
    with engine.connect() as connection:
        rows = connection.execute(
            select(Branch.code, Item.code, Lot.code, Lot.on_hand, Lot.promised)
            .join(Branch, Lot.branch_id == Branch.id)
            .join(Item, Lot.item_id == Item.id)
        )
        return {(branch, item, lot): (there, kept) for branch, item, lot, there, kept in rows}


def assert_ledger(engine: Engine) -> None:
    """Every balance is the sum of its movements, every promised amount that of what waits.

    The last movement's balance is the lot's; nothing may have been set without a movement.
    """
    with engine.connect() as connection:
        lots = {
            key: (there, kept)
            for key, there, kept in connection.execute(select(Lot.id, Lot.on_hand, Lot.promised))
        }
        lines = dict(connection.execute(select(OrderLine.id, OrderLine.promised)).all())
        moved = dict.fromkeys(lots, 0)
        for key, quantity, balance in connection.execute(
            select(Movement.lot_id, Movement.quantity, Movement.balance).order_by(Movement.id)
        ):
            moved[key] += quantity
            assert moved[key] == balance
        waits, coming = dict.fromkeys(lots, 0), dict.fromkeys(lines, 0)
        for lot, line, waiting in connection.execute(
            select(Promise.lot_id, Promise.order_line_id, Promise.waiting)
        ):
            if lot is not None:
                waits[lot] += waiting
            elif line is not None:
                coming[line] += waiting
    assert moved == {key: there for key, (there, _) in lots.items()}
    assert waits == {key: kept for key, (_, kept) in lots.items()}
    assert coming == lines
