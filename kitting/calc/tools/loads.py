"""Loads: what driving parts must bear, stated or reckoned, and what their squares are rated for.

A torque that nobody states is reckoned from thread and class as the most that the fastener can have
been tightened to. All of it is common practice or from memory: see each figure.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from kitting.calc.tightening.bolting import breaking_torque, highest_friction
from kitting.errors import FigureError
from kitting.facts.heads import SQUARE_DRIVES
from kitting.facts.reasons import Reason, because
from kitting.facts.threads import STAINLESS, parse_thread
from kitting.facts.tool_reasons import LoadReason
from kitting.facts.units import Torque, significant
from kitting.facts.words import ThreadState

# Common practice, no source: breaking loose takes up to twice the tightening torque.
UNDOING = Decimal(2)

# The largest torque of a torque wrench with a square (ISO 6789), and what the driving parts are
# tested to (ISO 3315); both from memory.
WRENCH_LIMIT = {drive.inch: drive.standard_limit for drive in SQUARE_DRIVES}
TEST_TORQUE = {drive.inch: drive.test_torque for drive in SQUARE_DRIVES}


# Common practice, no source: what a hand pulls with at the end of a spanner or key, in newtons.
HAND_FORCE = 400


@dataclass(frozen=True, slots=True)
class Load:
    """What driving parts must bear, in N·m.

    `least` is certain; `most` is what they must bear for certain, None where nobody can say.
    `basis` says what it was reckoned with, or why it cannot be; None where it is stated.
    """

    least: Decimal = Decimal(0)
    most: Decimal | None = None
    basis: Reason | None = None


UNKNOWN = Load()


def by_hand(length: int) -> Decimal:
    """The torque in N·m that a hand does with a lever of a length in thousandths of a mm.

    >>> by_hand(100_000)
    Decimal('40')
    """
    return Decimal(HAND_FORCE) * length / 1_000_000


def stated(torque: Decimal) -> Load:
    """The load of a torque that is stated."""
    return Load(torque, torque)


@dataclass(frozen=True, slots=True)
class Turned:
    """What is turned: its thread and property class (None: not stated), and how it was left."""

    thread: str | None
    property_class: str | None
    state: ThreadState = ThreadState.UNKNOWN


def strained_torque(turned: Turned) -> Decimal | Reason:
    """The torque in N·m that strains a bolt to its breaking load, or why it cannot be told.

    `breaking_torque` of the class with the highest friction of its state. No tightening of the
    bolt, by torque or by angle, is reckoned to end above it: common practice, no source. Of
    stainless steel no highest friction is known.
    """
    if turned.thread is None:
        return because(LoadReason.THREAD_NOT_STATED)
    if turned.property_class is None:
        return because(LoadReason.CLASS_NOT_STATED)
    if turned.property_class in STAINLESS:
        return because(LoadReason.FRICTION_NOT_KNOWN)
    size = parse_thread(turned.thread)
    try:
        torque = breaking_torque(size, turned.property_class, highest_friction(turned.state))
    except FigureError:
        return because(LoadReason.CLASS_NOT_STATED)
    return significant(Decimal(torque), 3)


def undoing(largest: Decimal | None, by_angle: bool, turned: Turned) -> Load:
    """What undoing takes: twice what the fastener was tightened to.

    `largest` is the largest torque stated, None without a figure; `by_angle` says that it was
    turned on from there.
    """
    least = UNDOING * (largest or 0)
    if largest is not None and not by_angle:
        return stated(least)
    return _reckoned(least, UNDOING, LoadReason.UNDOING_ESTIMATED, turned)


def turning(largest: Decimal | None, turned: Turned) -> Load:
    """What turning on by an angle takes, from the largest torque stated before it (if any)."""
    least = largest or Decimal(0)
    return _reckoned(least, Decimal(1), LoadReason.TURNING_ESTIMATED, turned)


def _reckoned(least: Decimal, times: Decimal, code: LoadReason, turned: Turned) -> Load:
    found = strained_torque(turned)
    if isinstance(found, Reason):
        return Load(least, None, found)
    most = max(least, times * found)
    basis = because(
        code,
        torque=Torque(most, "N·m"),
        thread=turned.thread,
        property_class=turned.property_class,
        friction=Decimal(str(highest_friction(turned.state))),
    )
    return Load(least, most, basis)
