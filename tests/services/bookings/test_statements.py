"""How many statements each action sends: a fixed number, whatever the lines, rows or stops.

Over a network each of them is a round trip. BEGIN, the lock of writers and savepoints count too.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest
from sqlalchemy import Engine

from conftest import Templates, opened
from helpers import NOW, ON, booked, counted, listed, load, shop, stock
from kitting.facts.words import BookingState
from kitting.services.bookings.booking import BookingRequest, book, renew_promises, step_to
from kitting.services.bookings.close import Closing, close
from kitting.services.bookings.pick import cancel, pick
from kitting.services.bookings.states import find_booking
from kitting.services.bookings.van_day import van
from kitting.services.bookings.view import booking_view
from kitting.services.stock.recall import recall
from kitting.services.stock.shelves import list_stock
from kitting.services.stock.stock_lists import load_stock
from kitting.store import reading

FEW, MANY = 3, 40


@dataclass(frozen=True)
class Garage:
    """A yard whose car has a job X1 that renews so many items, all of them there."""

    engine: Engine
    folder: Path
    size: int

    def rows(self, there: int = 9) -> list[str]:
        """A stock list of every item."""
        return [f"yard,I{n},L{n},{there} each,1Q25" for n in range(self.size)]


def furnished(engine: Engine, folder: Path, size: int) -> Garage:
    """A garage of a size."""
    made = Garage(engine, folder, size)
    items = "\n".join(
        f"  - {{code: I{n}, name: Item {n}, kind: o-ring, elastomer: FKM}}" for n in range(size)
    )
    load(engine, shop({"X1": {f"I{n}": 2 for n in range(size)}}, items=items))
    stock(engine, folder, *made.rows())
    return made


def ready(garage: Garage) -> str:
    """A booking on the ramp with everything in its kit."""
    number = booked(garage.engine, "X1").number
    pick(garage.engine, number, NOW)
    step_to(garage.engine, number, BookingState.CONFIRMED)
    step_to(garage.engine, number, BookingState.ON_THE_RAMP)
    return number


def show(garage: Garage) -> Callable[[], object]:
    booked(garage.engine, "X1")

    def run() -> None:
        with reading(garage.engine) as session:
            booking_view(session, find_booking(session, "B0001"))

    return run


def make(garage: Garage) -> Callable[[], object]:
    return lambda: book(garage.engine, BookingRequest("PELL 001", ["X1"], ON, "yard"), NOW)


def renew(garage: Garage) -> Callable[[], object]:
    booked(garage.engine, "X1")
    return lambda: renew_promises(garage.engine, "B0001")


def pick_all(garage: Garage) -> Callable[[], object]:
    booked(garage.engine, "X1")
    return lambda: pick(garage.engine, "B0001", NOW)


def close_all(garage: Garage) -> Callable[[], object]:
    number = ready(garage)
    back = {f"I{n}": 1000 for n in range(garage.size)}
    return lambda: close(garage.engine, number, Closing(back, {}), NOW, "not counted")


def cancel_all(garage: Garage) -> Callable[[], object]:
    booked(garage.engine, "X1")
    pick(garage.engine, "B0001", NOW)
    return lambda: cancel(garage.engine, "B0001", NOW)


def load_new(garage: Garage) -> Callable[[], object]:
    heading = "branch,item,lot,quantity,made"
    rows = [f"quay,I{n},N{n},4 each,1Q25" for n in range(garage.size)]
    path = listed(garage.folder, heading, *rows, name="new.csv")
    return lambda: load_stock(garage.engine, [path], NOW)


def load_again(garage: Garage) -> Callable[[], object]:
    path = listed(garage.folder, "branch,item,lot,quantity,made", *garage.rows(7), name="again.csv")
    return lambda: load_stock(garage.engine, [path], NOW)


def list_all(garage: Garage) -> Callable[[], object]:
    def run() -> None:
        with reading(garage.engine) as session:
            list_stock(session, "yard", (), ON)

    return run


def recall_one(garage: Garage) -> Callable[[], object]:
    ready(garage)

    def run() -> None:
        with reading(garage.engine) as session:
            recall(session, "L0", ON)

    return run


def van_day(garage: Garage) -> Callable[[], object]:
    for _ in range(garage.size // 3):
        booked(garage.engine, "X1")

    def run() -> None:
        with reading(garage.engine) as session:
            van(session, "yard", ON, ())

    return run


# Action, and the most statements it may send on either engine. Those that plan have the plan's.
LIMITS = (
    (show, 16),
    (make, 87),
    (renew, 70),
    (pick_all, 32),
    (close_all, 80),
    (cancel_all, 32),
    (load_new, 16),
    (load_again, 16),
    (list_all, 4),
    (recall_one, 9),
    (van_day, 16),
)


def sent(engine: Engine, folder: Path, size: int, action: Callable[[Garage], object]) -> list[str]:
    """The statements of an action in a garage of a size, made ready before."""
    run = action(furnished(engine, folder, size))
    assert callable(run)
    with counted(engine) as statements:
        run()
    return list(statements)


@pytest.mark.parametrize(("action", "limit"), LIMITS, ids=[a.__name__ for a, _ in LIMITS])
def test_an_action_sends_so_many_statements_at_most(
    store: Engine, tmp_path: Path, action: Callable[[Garage], object], limit: int
) -> None:
    assert len(sent(store, tmp_path, MANY, action)) <= limit


@pytest.mark.parametrize("action", [a for a, _ in LIMITS], ids=[a.__name__ for a, _ in LIMITS])
def test_the_number_does_not_grow_with_lines_rows_or_stops(
    templates: Templates, tmp_path: Path, action: Callable[[Garage], object]
) -> None:
    numbers = []
    for size in (FEW, MANY):
        folder = tmp_path / str(size)
        folder.mkdir()
        for engine in opened(templates, "sqlite", "empty", folder):
            numbers.append(len(sent(engine, folder, size, action)))
    assert numbers[0] == numbers[1]
