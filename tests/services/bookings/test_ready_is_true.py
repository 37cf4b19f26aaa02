"""READY is never said while something is missing, barred, unknown or stopped.

A garage lives through random days; an independent little model, written from the words of the
trade and not from the program, says what each kit lacks by what lies in the lots.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest
from examples import MANY
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)
from sqlalchemy import Engine, text

from helpers import NOW, SUPPLY, all_told, booked, load, stock, unit
from kitting.errors import KittingError
from kitting.facts.words import BookingState, FindingResult
from kitting.services.bookings.booking import renew_promises, step_to
from kitting.services.bookings.close import close
from kitting.services.bookings.exchange import exchange
from kitting.services.bookings.findings import Found, record_findings
from kitting.services.bookings.pick import cancel, pick
from kitting.services.bookings.seal_count import count_seals, removal_view
from kitting.services.bookings.states import find_booking
from kitting.services.bookings.view import booking_view
from kitting.services.stock.holds import put_on_hold, release
from kitting.services.stock.shelves import LotName
from kitting.store import make_engine, reading

# NBR and HNBR stand engine oil, EPDM does not: the general table says both with high certainty.
ITEMS = """
  - {code: LIP, name: Lip, kind: o-ring, elastomer: NBR}
  - {code: BEFORE, name: Before, kind: o-ring, elastomer: NBR, replaced: {by: [{item: AFTER, quantity: 1 each}], old_stock: scrap}}
  - {code: AFTER, name: After, kind: o-ring, elastomer: NBR}
  - {code: FIRST, name: First, kind: o-ring, elastomer: HNBR, alternatives: [{item: LIKE}, {item: SECOND}, {item: WRONG}]}
  - {code: LIKE, name: Like, kind: o-ring, elastomer: HNBR}
  - {code: SECOND, name: Second, kind: o-ring, elastomer: NBR}
  - {code: WRONG, name: Wrong, kind: o-ring, elastomer: EPDM}
"""
RENEW = "rules: [{rule: renew, source: maker, reference: test}]"
LOOK = "rules: [{rule: inspect, source: maker, criterion: no cut, reference: test}]"
JOINT = f"""
      - code: x1
        name: X1
        system: lubrication
        fluids: [engine-oil]
        fits:
          - {{item: LIP, position: always, {RENEW}}}
          - {{item: LIP, position: one, group: pair, {LOOK}}}
          - {{item: LIP, position: two, group: pair, {LOOK}}}
          - {{item: LIP, position: alone, {LOOK}}}
          - {{item: BEFORE, position: replaced, {RENEW}}}
          - {{item: FIRST, position: chosen, {RENEW}}}
"""
STEP = "\n      - {code: S1, name: S, hours: 1 h, opens: [x1]}"
JOB = "\n      - {code: X1, name: X1, needs: [S1]}"
LOOKED_AT = ("one", "two", "alone")
STOCKED = ("LIP", "BEFORE", "AFTER", "FIRST", "LIKE", "SECOND", "WRONG")
# What is bad about a lot that came so: nothing, expired, of unknown age.
AGES = {"fresh": "1Q26", "old": "1Q10", "undated": ""}
MOSTLY = ("fresh", "fresh", "fresh", "fresh", "fresh", "old", "undated")
SHELF = (("LIP", 3), ("AFTER", 2), ("FIRST", 1), ("LIKE", 1), ("SECOND", 1), ("WRONG", 1))
_PROMISES = text(
    "SELECT b.number, i.code, l.code AS lot, p.waiting, p.picked, p.used, p.returned, p.scrapped"
    " FROM promise p JOIN booking b ON b.id = p.booking_id JOIN item i ON i.id = p.item_id"
    " JOIN lot l ON l.id = p.lot_id"
)


class Garage(RuleBasedStateMachine):
    """A yard with lots that come, are held and released, and cars that are booked and worked on."""

    def __init__(self) -> None:
        super().__init__()
        self.folder = TemporaryDirectory(prefix="garage-", dir=None)
        self.engine = opened(Path(self.folder.name))
        self.lots: dict[str, str] = {}
        self.held: set[str] = set()
        self.failed: dict[str, set[str]] = defaultdict(set)
        self.chosen: dict[str, str] = {}
        self.state: dict[str, str] = {}

    def teardown(self) -> None:
        self.engine.dispose()
        self.folder.cleanup()

    @initialize(ages=st.lists(st.sampled_from(MOSTLY), min_size=len(SHELF), max_size=len(SHELF)))
    def the_shelf_is_filled(self, ages: list[str]) -> None:
        rows = []
        for (item, pieces), age in zip(SHELF, ages, strict=True):
            lot = f"L{len(self.lots)}"
            rows.append(f"yard,{item},{lot},{pieces} each,{AGES[age]}")
            self.lots[lot] = age
        stock(self.engine, Path(self.folder.name), *rows)
        self.state[booked(self.engine, "X1").number] = "open"

    # --- what happens -------------------------------------------------------------------------

    @rule(
        item=st.sampled_from(STOCKED), age=st.sampled_from(sorted(AGES)), pieces=st.integers(1, 4)
    )
    def goods_come(self, item: str, age: str, pieces: int) -> None:
        lot = f"L{len(self.lots)}"
        stock(self.engine, Path(self.folder.name), f"yard,{item},{lot},{pieces} each,{AGES[age]}")
        self.lots[lot] = age

    @precondition(lambda self: set(self.lots) - self.held)
    @rule(data=st.data())
    def a_lot_is_held(self, data: Any) -> None:
        lot = data.draw(st.sampled_from(sorted(set(self.lots) - self.held)))
        put_on_hold(self.engine, LotName("yard", self.item_of(lot), lot), "recalled", NOW)
        self.held.add(lot)

    @precondition(lambda self: self.held)
    @rule(data=st.data())
    def a_lot_is_released(self, data: Any) -> None:
        lot = data.draw(st.sampled_from(sorted(self.held)))
        release(self.engine, LotName("yard", self.item_of(lot), lot), NOW)
        self.held.discard(lot)

    @precondition(lambda self: len(self.state) < 3)
    @rule()
    def a_car_is_booked(self) -> None:
        self.state[booked(self.engine, "X1").number] = "open"

    @precondition(lambda self: self.open)
    @rule(data=st.data())
    def it_is_planned_again(self, data: Any) -> None:
        renew_promises(self.engine, self.some(data))

    @precondition(lambda self: self.open)
    @rule(data=st.data())
    def the_kit_is_picked(self, data: Any) -> None:
        pick(self.engine, self.some(data), NOW)

    @precondition(lambda self: self.open)
    @rule(data=st.data(), position=st.sampled_from(LOOKED_AT), passed=st.booleans())
    def a_seal_is_looked_at(self, data: Any, position: str, passed: bool) -> None:
        number = self.some(data)
        result = FindingResult.PASSED if passed else FindingResult.FAILED
        record_findings(self.engine, number, [Found("x1", position, result, "cut")], NOW)
        (self.failed[number].discard if passed else self.failed[number].add)(position)

    @precondition(lambda self: self.open)
    @rule(data=st.data(), instead=st.sampled_from(["FIRST", "LIKE", "SECOND", "WRONG"]))
    def something_else_is_chosen(self, data: Any, instead: str) -> None:
        number = self.some(data)
        exchange(self.engine, number, "FIRST", instead)
        self.chosen[number] = instead

    @precondition(lambda self: self.open)
    @rule(data=st.data())
    def it_is_cancelled(self, data: Any) -> None:
        number = self.some(data)
        try:
            cancel(self.engine, number, NOW)
        except KittingError:
            return  # it stands on the ramp
        self.state[number] = "over"

    @precondition(lambda self: self.open)
    @rule(data=st.data())
    def it_is_closed(self, data: Any) -> None:
        number = self.some(data)
        for state in (BookingState.CONFIRMED, BookingState.ON_THE_RAMP):
            try:
                step_to(self.engine, number, state, "goes on all the same")
            except KittingError:
                continue
        with reading(self.engine) as session:
            removal = removal_view(session, find_booking(session, number))
        count_seals(self.engine, number, {j.joint: j.expected for j in removal.joints}, NOW)
        lacking = self.lacking(number, picked_only=True)
        try:
            close(self.engine, number, all_told(self.engine, number), NOW)
        except KittingError:
            close(self.engine, number, all_told(self.engine, number), NOW, "goes out all the same")
        else:
            missing_after_failing = {what for what in lacking if what.startswith("failed ")}
            assert not missing_after_failing, (number, lacking)
        self.state[number] = "over"

    # --- the model ------------------------------------------------------------------------------

    @property
    def open(self) -> list[str]:
        return sorted(number for number, state in self.state.items() if state == "open")

    def some(self, data: Any) -> str:
        return str(data.draw(st.sampled_from(self.open)))

    def item_of(self, lot: str) -> str:
        with self.engine.connect() as connection:
            found = connection.execute(
                text("SELECT i.code FROM lot l JOIN item i ON i.id = l.item_id WHERE l.code = :l"),
                {"l": lot},
            )
            return str(found.scalar_one())

    def promises(self) -> list[Any]:
        with self.engine.connect() as connection:
            return list(connection.execute(_PROMISES))

    def needs(self, number: str) -> Counter[str]:
        """What must be in the kit: by the words of the joint, what failed, what was chosen."""
        failed = set(self.failed[number])
        if failed & {"one", "two"}:
            failed |= {"one", "two"}
        wanted = Counter({"LIP": 1 + len(failed), "AFTER": 1})
        wanted[self.chosen.get(number, "FIRST")] += 1
        return wanted

    def lacking(self, number: str, picked_only: bool = False) -> list[str]:
        """Everything for which a kit is not fit to go into a car."""
        there: Counter[str] = Counter()
        doubtful: Counter[str] = Counter()
        for row in self.promises():
            if row.number != number:
                continue
            amount = (row.picked if picked_only else row.picked + row.waiting) // 1000
            bad = row.lot in self.held or self.lots[row.lot] != "fresh"
            (doubtful if bad else there)[row.code] += amount
        found = []
        for item, pieces in self.needs(number).items():
            if there[item] < pieces:
                word = "failed " if item == "LIP" and self.failed[number] else ""
                # On hold, expired or undated pieces are there, and are not fit.
                covered = there[item] + doubtful[item] >= pieces
                found.append(f"unfit {item}" if covered else f"{word}{item} missing")
        chosen = self.chosen.get(number, "FIRST")
        if chosen in ("SECOND", "WRONG"):
            found.append(f"{chosen} is not proven to stand in")
        return found

    @invariant()
    def ready_is_never_said_of_a_kit_that_lacks_something(self) -> None:
        for number in self.open:
            with reading(self.engine) as session:
                view = booking_view(session, find_booking(session, number))
            lacking = self.lacking(number)
            assert not (view.ready and lacking), (number, lacking)

    @invariant()
    def nothing_that_was_picked_is_unaccounted_for(self) -> None:
        for row in self.promises():
            ended = row.used + row.returned + row.scrapped
            if self.state[row.number] == "over":
                assert (row.waiting, ended) == (0, row.picked), row
            else:
                assert ended == 0, row
        with self.engine.connect() as connection:
            rows = connection.execute(
                text(
                    "SELECT l.code, l.on_hand, l.promised,"
                    " (SELECT sum(quantity) FROM movement m WHERE m.lot_id = l.id) AS moved,"
                    " (SELECT sum(waiting) FROM promise p WHERE p.lot_id = l.id) AS waiting"
                    " FROM lot l"
                )
            )
            for lot in rows:
                assert (lot.on_hand, lot.promised) == (lot.moved, lot.waiting or 0), lot


def opened(folder: Path) -> Engine:
    """A copy of the garage, which is made once."""
    target = folder / "garage.db"
    target.write_bytes(_made())
    return make_engine(f"sqlite:///{target}")


_KEPT: list[bytes] = []


def _made() -> bytes:
    from kitting.services.catalogue.setup import set_up

    if not _KEPT:
        with TemporaryDirectory(prefix="garage-") as name:
            path = Path(name) / "made.db"
            set_up(f"sqlite:///{path}")
            engine = make_engine(f"sqlite:///{path}")
            load(engine, unit(JOINT, STEP, JOB, items=ITEMS) + SUPPLY)
            with engine.connect() as connection:
                connection.exec_driver_sql("PRAGMA wal_checkpoint(TRUNCATE)")
            engine.dispose()
            _KEPT.append(path.read_bytes())
    return _KEPT[0]


@pytest.mark.slow
def test_a_kit_is_never_called_ready_that_is_not() -> None:
    run_state_machine_as_test(
        Garage,
        settings=settings(
            max_examples=150 if MANY else 12,
            stateful_step_count=30,
            deadline=None,
            suppress_health_check=list(HealthCheck),
        ),
    )
