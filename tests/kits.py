"""A yard for tests of kits: rings to renew, seals to look at, caps, oil and paste. All invented."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, timedelta
from pathlib import Path

from sqlalchemy import Engine

from helpers import NOW, ON, SUPPLY, assert_ledger, booked, load, stock, unit
from kitting.facts.units import Quantity
from kitting.facts.words import BookingState, KitWhy
from kitting.services.bookings.booking import step_to
from kitting.services.bookings.kit_contents import kit_contents
from kitting.services.bookings.kit_moves import Moment, Piece, Told
from kitting.services.bookings.pick import pick
from kitting.services.bookings.seal_count import count_seals
from kitting.services.bookings.states import find_booking
from kitting.services.bookings.view import booking_view
from kitting.services.upkeep.audit import audit
from kitting.store import reading
from kitting.views.bookings import BookingView
from kitting.views.kit_life import KitContentsView
from kitting.views.upkeep import AuditCheck

SURE = "it is only a test"
LATER = NOW + timedelta(days=1)
ITEMS = """
  - {code: SEAL, name: Seal, kind: o-ring, elastomer: NBR}
  - {code: CAP, name: Cap, kind: caps-and-plugs}
  - {code: OIL, name: Oil, kind: engine-oil, unit: ml, pack: 500 ml}
  - {code: PASTE, name: Paste, kind: sealant, unit: ml, pack: 500 ml, opened_life: 30 days}
"""
_RENEW = "rules: [{rule: renew, source: workshop, reference: test}]"
_LOOK = "rules: [{rule: inspect, source: maker, criterion: no cut, reference: test}]"
_JOINTS = f"""
      - code: x1
        name: X1
        system: engine
        fluids: [diesel]
        fits:
          - {{item: RING, position: groove, quantity: 4 each, {_RENEW}}}
      - code: x2
        name: X2
        system: lubrication
        fluids: [engine-oil]
        fits:
          - {{item: SEAL, position: upper, {_LOOK}}}
          - {{item: SEAL, position: lower, {_LOOK}}}
      - code: x3
        name: X3
        system: engine
        fits:
          - {{item: BOLT, position: ear}}
"""
_STEPS = """
      - {code: S1, name: S, hours: 1 h, opens: [x1]}
      - {code: S2, name: S, hours: 1 h, opens: [x2]}
      - {code: S3, name: S, hours: 1 h, uses: [{item: CAP, amount: 4 each}, {item: OIL, amount: 300 ml}]}
      - {code: S4, name: S, hours: 1 h, uses: [{item: PASTE, amount: 300 ml}]}
"""
_JOBS = """
      - {code: RINGS, name: rings, needs: [S1]}
      - {code: LOOK, name: look, needs: [S2]}
      - {code: OPEN, name: open, needs: [S3]}
      - {code: STICK, name: stick, needs: [S4]}
"""
CATALOGUE = unit(_JOINTS, _STEPS, _JOBS, ITEMS) + SUPPLY


def yard(engine: Engine, folder: Path, *rows: str) -> Engine:
    """The yard with rows of stock, each "ITEM,LOT,quantity,made,expires"."""
    load(engine, CATALOGUE)
    stock(engine, folder, *(f"yard,{row}" for row in rows))
    return engine


def kit(engine: Engine, *jobs: str, on: date = ON) -> str:
    """A booking of some jobs with its kit picked."""
    number = booked(engine, *jobs, on=on).number
    pick(engine, number, NOW)
    return number


def to_the_ramp(engine: Engine, number: str, counts: dict[str, int] | None = None) -> str:
    """Confirm a booking, put it on the ramp, count its old seals."""
    for state in (BookingState.CONFIRMED, BookingState.ON_THE_RAMP):
        step_to(engine, number, state, SURE)
    if counts:
        count_seals(engine, number, counts, NOW)
    return number


def piece(item: str, amount: int, lot: str | None = None, unit: str = "each") -> Piece:
    return Piece(item, Quantity(amount * 1000, unit), lot)


def why(word: KitWhy = KitWhy.DROPPED, note: str = "rolled under the ramp") -> Told:
    return Told(note, "Ann", word)


def at(moment: datetime = NOW, *, keep: bool = True) -> Moment:
    return Moment(moment, keep=keep)


def shown(engine: Engine, number: str, today: date | None = None) -> BookingView:
    with reading(engine) as session:
        return booking_view(session, find_booking(session, number), today)


def contents(engine: Engine, number: str, today: date | None = None) -> KitContentsView:
    with reading(engine) as session:
        return kit_contents(session, number, today or NOW.date())


def lying(engine: Engine, number: str) -> dict[tuple[str, str | None], int]:
    """What lies in a kit by item and lot, in whole units."""
    found: dict[tuple[str, str | None], int] = {}
    for line in contents(engine, number).lines:
        key = (line.item, line.lot)
        found[key] = found.get(key, 0) + line.quantity // 1000
    return found


def faults(engine: Engine, moment: datetime = LATER) -> dict[AuditCheck, Sequence[str]]:
    """The checks of the audit that found something, with what."""
    return {
        check.check: [str(fault.fault.code) for fault in check.shown]
        for check in audit(engine, moment).checks
        if check.faults
    }


def sound(engine: Engine) -> None:
    """The books agree: by the test's own sums, and by the audit."""
    assert_ledger(engine)
    assert faults(engine) == {}
