"""What other processes do to a database in tests: work at random, race for one lot, die half-way.

Everything here is importable in a process of its own and opens its own connections.
"""

from __future__ import annotations

import os
import random
import signal
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Any

from sqlalchemy import Engine, event, select

from helpers import UNCOUNTED, source
from kitting import store
from kitting.errors import KittingError
from kitting.facts.units import Quantity
from kitting.facts.words import BookingState
from kitting.services.bookings.booking import (
    BookingRequest,
    book,
    renew_promises,
    step_to,
    take_from,
)
from kitting.services.bookings.close import Closing, close
from kitting.services.bookings.pick import cancel, pick
from kitting.services.bookings.states import find_booking
from kitting.services.catalogue.load import load_sources
from kitting.services.catalogue.setup import set_up
from kitting.services.purchasing.goods_in import receive
from kitting.services.purchasing.orders import place
from kitting.services.purchasing.price_lists import load_prices
from kitting.services.stock.shelves import LotName, count_lot, scrap
from kitting.services.stock.stock_lists import load_stock
from kitting.services.stock.transfers import arrive, send
from kitting.store import make_engine, reading
from kitting.tables.bookings import Booking, BookingNeed, Promise
from kitting.tables.items import Item
from kitting.tables.stock import Transfer
from kitting.tables.supply import PurchaseOrder
from kitting.views.bookings import BookingView

NOW = datetime(2026, 4, 7, 9, 0)  # noqa: DTZ001 - times of the garage are local
ON = date(2026, 4, 15)
LOTS = (("GASKET", "G1"), ("GASKET", "G2"), ("RING", "R1"))

CATALOGUE = """
branches:
  - {code: upper, name: Upper Yard, country: GB, subdivision: ENG, van_cutoff: "15:00"}
  - {code: canal, name: Canal Yard, country: GB, subdivision: ENG, van_cutoff: "15:00"}
suppliers:
  - code: quandrel
    name: Quandrel Seals
    cutoffs: ["12:00"]
    lead_days: 2
    late_days: 3
    country: GB
    subdivision: ENG
items:
  - {code: RING, name: Ring, kind: o-ring, elastomer: FKM}
  - {code: GASKET, name: Gasket, kind: paper-gasket}
units:
  - code: grebe
    name: Grebe
    joints:
      - code: a
        name: A
        system: engine
        fluids: [diesel]
        fits:
          - {item: RING, position: groove, quantity: 2 each}
      - code: b
        name: B
        system: engine
        fits:
          - {item: GASKET, position: face}
    steps:
      - {code: S1, name: One, hours: 1 h, opens: [a]}
      - {code: S2, name: Two, hours: 1 h, opens: [b]}
    jobs:
      - {code: X1, name: One, needs: [S1]}
      - {code: X2, name: Two, needs: [S2]}
      - {code: X3, name: Both, needs: [S1, S2]}
models:
  - {code: pell, name: Ulvander Pell, units: [grebe]}
vehicles:
  - {registration: PELL 001, model: pell, build_date: 2021-03-14}
"""
PRICES = (
    "item,part,price,pack,returns\nGASKET,Q-1,6.00 GBP,1 each,no\nRING,Q-2,4.00 GBP,5 each,no\n"
)
STOCK = (
    "branch,item,lot,quantity,made\n"
    "upper,GASKET,G1,6 each,1Q25\nupper,GASKET,G2,5 each,1Q25\nupper,RING,R1,9 each,1Q25\n"
    "canal,GASKET,G1,4 each,1Q25\ncanal,RING,R1,5 each,1Q25\n"
)


def furnish(engine: Engine, folder: Path) -> None:
    """Two branches with a few lots, one supplier, one car."""
    load_sources(engine, [source(CATALOGUE, "racing.yaml")])
    prices, stock = folder / "prices.csv", folder / "stock.csv"
    prices.write_text(PRICES, encoding="utf-8")
    stock.write_text(STOCK, encoding="utf-8")
    load_prices(engine, "quandrel", prices)
    load_stock(engine, [stock], NOW)


@dataclass(frozen=True)
class Outcome:
    """How one operation ended: done, refused (a KittingError) or broken (anything else)."""

    operation: str
    things: tuple[str, ...]
    ending: str
    message: str = ""


_start: Any = None


def meet(barrier: Any) -> None:
    """Give a pool's process the barrier at which all of them start, and time to wait its turn.

    On a busy machine eight writers may keep a ninth waiting longer than a person would; which of
    them are told so is another test's business.
    """
    global _start
    _start = barrier
    store.BUSY_TIMEOUT_MS = 120_000


Step = tuple[tuple[str, ...], Callable[[], object]]


class Hand:
    """Somebody who works on the garage's stock at random."""

    def __init__(self, engine: Engine, seed: int) -> None:
        self.engine = engine
        self.rng = random.Random(seed)

    def _one_of(self, column: Any, *where: Any) -> Any:
        with reading(self.engine) as session:
            known = session.scalars(select(column).where(*where).order_by(column)).all()
        # The newest are most worth a quarrel.
        return self.rng.choice(known[-12:]) if known else None

    def _number(self) -> str:
        return self._one_of(Booking.number) or "B0001"

    def _lot(self) -> tuple[str, str, str]:
        return (self.rng.choice(("upper", "canal")), *self.rng.choice(LOTS))

    def book(self) -> Step:
        branch, job = self.rng.choice(("upper", "canal")), self.rng.choice(("X1", "X2", "X3"))
        return ("PELL 001",), lambda: book(
            self.engine, BookingRequest("PELL 001", [job], ON, branch, again=True), NOW
        )

    def promise(self) -> Step:
        number = self._number()
        return (number,), lambda: renew_promises(self.engine, number)

    def take(self) -> Step:
        code = self.rng.choice(("RING", "GASKET"))
        item = select(Item.id).where(Item.code == code).scalar_subquery()
        needing = select(BookingNeed.booking_id).where(BookingNeed.item_id == item)
        having = select(Promise.booking_id).where(Promise.item_id == item)
        one = self._one_of(
            Booking.number, Booking.id.in_(needing), Booking.id.not_in(having),
            Booking.state == "provisional",
        ) or self._number()  # fmt: skip
        other = self._one_of(
            Booking.number, Booking.id.in_(having.where(Promise.waiting > 0))
        ) or self._number()  # fmt: skip
        return (one, other, code), lambda: take_from(self.engine, one, code, other)

    def pick(self) -> Step:
        number = self._number()
        return (number,), lambda: pick(self.engine, number, NOW)

    def ramp(self) -> Step:
        number = self._number()

        def both() -> None:
            step_to(self.engine, number, BookingState.CONFIRMED, "the customer waits")
            step_to(self.engine, number, BookingState.ON_THE_RAMP)

        return (number,), both

    def close(self) -> Step:
        on_the_ramp = self._one_of(Booking.number, Booking.state == "on the ramp")
        number, item = on_the_ramp or self._number(), self.rng.choice(("RING", "GASKET"))
        told = Closing({item: self.rng.choice((0, 0, 1000))}, {})
        return (number,), lambda: close(self.engine, number, told, NOW, despite=UNCOUNTED)

    def cancel(self) -> Step:
        number = self._number()
        return (number,), lambda: cancel(self.engine, number, NOW)

    def count(self) -> Step:
        branch, item, lot = self._lot()
        amount = Quantity(self.rng.randrange(0, 9) * 1000, "each")
        return (lot, item), lambda: count_lot(self.engine, LotName(branch, item, lot), amount, NOW)

    def scrap(self) -> Step:
        branch, item, lot = self._lot()
        amount = Quantity(self.rng.randrange(0, 3) * 1000, "each")
        return (lot, item), lambda: scrap(
            self.engine, LotName(branch, item, lot), amount, NOW, "torn"
        )

    def send(self) -> Step:
        branch, item, lot = self._lot()
        other = "canal" if branch == "upper" else "upper"
        amount = Quantity(self.rng.randrange(0, 4) * 1000, "each")
        return (lot, item, other), lambda: send(
            self.engine, LotName(branch, item, lot), amount, other, NOW
        )

    def arrive(self) -> Step:
        number = self._one_of(Transfer.id) or 1
        return (f"transfer {number}",), lambda: arrive(self.engine, number, NOW)

    def place(self) -> Step:
        number = self._number()
        return (number,), lambda: place(self.engine, [number], NOW)

    def receive(self) -> Step:
        number = self._one_of(PurchaseOrder.number) or "P0001"
        return (number,), lambda: receive(self.engine, number, None, NOW)


# How often each is done, of a hundred.
OPERATIONS = {
    Hand.book: 20, Hand.promise: 8, Hand.take: 12, Hand.pick: 9, Hand.ramp: 6, Hand.close: 4,
    Hand.cancel: 7, Hand.count: 7, Hand.scrap: 3, Hand.send: 6, Hand.arrive: 5, Hand.place: 7,
    Hand.receive: 6,
}  # fmt: skip


def work(url: str, seed: int, operations: int) -> list[Outcome]:
    """Do so many things at random, starting when everybody is ready; tell how each ended."""
    engine = make_engine(url)
    hand = Hand(engine, seed)
    choices = hand.rng.choices(list(OPERATIONS), list(OPERATIONS.values()), k=operations)
    outcomes = []
    _start.wait(120)
    for choice in choices:
        things, do = choice(hand)
        outcomes.append(_ended(choice.__name__, things, do))
    engine.dispose()
    return outcomes


def _ended(name: str, things: tuple[str, ...], do: Callable[[], object]) -> Outcome:
    try:
        do()
    except KittingError as error:
        return Outcome(name, things, "refused", str(error))
    except Exception as error:  # whatever escapes is what the test looks for
        return Outcome(name, things, "broken", f"{type(error).__name__}: {error}")
    return Outcome(name, things, "done")


def book_last(url: str) -> BookingView:
    """Book a car that needs one gasket, at the same moment as another."""
    engine = make_engine(url)
    with engine.connect():  # so that both are at the door, not on the way to it
        pass
    _start.wait(120)
    view = book(engine, BookingRequest("PELL 001", ["X2"], ON, "upper", again=True), NOW)
    engine.dispose()
    return view


def promise_last(url: str, number: str) -> BookingView:
    """Ask again for what a booking lacks, at the same moment as another."""
    engine = make_engine(url)
    with reading(engine) as session:
        find_booking(session, number)
    _start.wait(120)
    view = renew_promises(engine, number)
    engine.dispose()
    return view


def die(
    url: str, after: int | None, noted: Path, service: Callable[..., object], *given: Any
) -> None:
    """Run a service and be killed, as by a power cut, once so many statements are done.

    With None it gets as far as its commit, and the number of its statements is noted in a file.
    """
    engine = make_engine(url)
    sent: list[str] = []

    def note(_c: object, _cursor: object, statement: str, *_rest: object) -> None:
        sent.append(statement)
        if len(sent) == after:
            os.kill(os.getpid(), signal.SIGKILL)

    def committing(_connection: object) -> None:
        if after is None:
            noted.write_text(str(len(sent)), encoding="utf-8")
            os.kill(os.getpid(), signal.SIGKILL)

    event.listen(engine, "after_cursor_execute", note)
    event.listen(engine, "commit", committing)
    service(engine, *given)


def cut_off(moment: str, service: Callable[..., object], *given: Any) -> None:
    """Run a service in a process that is killed when it is about to do something."""
    from kitting.services.upkeep import backup as backing_up
    from kitting.services.upkeep import copying
    from kitting.services.upkeep import restore as restoring

    def die(*_given: object, **_more: object) -> None:
        os.kill(os.getpid(), signal.SIGKILL)

    places: dict[str, tuple[Any, str]] = {
        "copying": (copying, "make_single"),
        "looking": (backing_up, "held"),
        "naming": (backing_up, "put"),
        "swapping": (restoring, "_swap"),
        "linking": (os, "link"),
        "replacing": (Path, "replace"),
        "syncing": (restoring, "sync_folder"),
    }
    owner, name = places[moment]
    setattr(owner, name, die)
    if owner is copying:
        backing_up.make_single = die
    service(*given)


def set_up_together(url: str) -> str:
    """Set a database up at the same moment as others; tell how it ended."""
    _start.wait(120)
    try:
        set_up(url)
    except Exception as error:  # whatever escapes is what the test looks for
        return f"{type(error).__name__}: {error}"
    return "done"


def numbers_of(engine: Engine, column: Any) -> Sequence[Any]:
    """Every value of a column, in order."""
    with reading(engine) as session:
        return session.scalars(select(column).order_by(column)).all()
