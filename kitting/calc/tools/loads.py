"""Loads: what driving parts must bear, stated or reckoned, and what their squares are rated for.

A torque that nobody states is reckoned from thread and class as the most that the fastener can have
been tightened to. All of it is common practice or from memory: see each figure.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from kitting.calc.tightening.bolting import breaking_torque, highest_friction
from kitting.errors import FigureError
from kitting.facts.heads import SQUARE_DRIVES
from kitting.facts.reasons import Reason, because
from kitting.facts.stages import Stage
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


@dataclass(frozen=True, slots=True)
class Bolt:
    """What a torque that nobody states is reckoned from: None where it is not stated.

    `state` is how its thread is left for tightening.
    """

    thread: str | None = None
    property_class: str | None = None
    state: ThreadState = ThreadState.UNKNOWN


NOT_STATED = Bolt()


def by_hand(length: int) -> Decimal:
    """The torque in N·m that a hand does with a lever of a length in thousandths of a mm.

    >>> by_hand(100_000)
    Decimal('40')
    """
    return Decimal(HAND_FORCE) * length / 1_000_000


def stated(torque: Decimal) -> Load:
    """The load of a torque that is stated."""
    return Load(torque, torque)


def strained_torque(bolt: Bolt) -> Decimal | Reason:
    """The torque in N·m that strains a bolt to its breaking load, or why it cannot be told.

    `breaking_torque` of the class with the highest friction of its state. No tightening of the
    bolt, by torque or by angle, is reckoned to end above it: common practice, no source. Of
    stainless steel no highest friction is known.
    """
    if bolt.thread is None:
        return because(LoadReason.THREAD_NOT_STATED)
    if bolt.property_class is None:
        return because(LoadReason.CLASS_NOT_STATED)
    if bolt.property_class in STAINLESS:
        return because(LoadReason.FRICTION_NOT_KNOWN)
    size = parse_thread(bolt.thread)
    if not size.reckoned:
        return because(LoadReason.THREAD_NOT_RECKONED, thread=size.name)
    try:
        torque = breaking_torque(size, bolt.property_class, highest_friction(bolt.state))
    except FigureError:
        return because(LoadReason.CLASS_NOT_STATED)
    return significant(Decimal(torque), 3)


def undoing(stages: Sequence[Stage], old: Bolt) -> Load:
    """What undoing takes: twice what the old fastener was tightened to in its stages."""
    largest = _largest(stages)
    least = UNDOING * (largest or 0)
    if largest is not None and not any(stage.turn for stage in stages):
        return stated(least)
    return _reckoned(least, UNDOING, LoadReason.UNDOING_ESTIMATED, old)


def tightening(stages: Sequence[Stage], bolt: Bolt) -> Iterator[Load]:
    """What each stage takes: its torque, or what turning by an angle may come to.

    Turning back takes what undoing does that was tightened so far.
    """
    for place, stage in enumerate(stages):
        if stage.torque is not None:
            yield stated(stage.torque.newton_metres)
        elif stage.back:
            yield undoing(stages[:place], bolt)
        else:
            least = _largest(stages[:place]) or Decimal(0)
            yield _reckoned(least, Decimal(1), LoadReason.TURNING_ESTIMATED, bolt)


def smallest_square(stages: Sequence[Stage], bolt: Bolt, old: Bolt) -> tuple[str, bool]:
    """The smallest square that bears undoing and every stage, and whether all of it is known.

    Beyond all squares the largest is named, as there is no larger one.
    """
    loads = list(tightening(stages, bolt))
    asked = [(undoing(stages, old), TEST_TORQUE)]
    asked += [
        (load, TEST_TORQUE if stage.torque is None else WRENCH_LIMIT)
        for load, stage in zip(loads, stages, strict=True)
    ]
    for square in TEST_TORQUE:
        if all(limits[square] >= (load.most or load.least) for load, limits in asked):
            break
    return square, all(load.most is not None for load, _ in asked)


def _largest(stages: Sequence[Stage]) -> Decimal | None:
    torques = [
        stage.torque.newton_metres + (stage.allowed or 0)
        for stage in stages
        if stage.torque is not None
    ]
    return max(torques, default=None)


def _reckoned(least: Decimal, times: Decimal, code: LoadReason, bolt: Bolt) -> Load:
    found = strained_torque(bolt)
    if isinstance(found, Reason):
        return Load(least, None, found)
    most = max(least, times * found)
    basis = because(
        code,
        torque=Torque(most, "N·m"),
        thread=bolt.thread,
        property_class=bolt.property_class,
        friction=Decimal(str(highest_friction(bolt.state))),
    )
    return Load(least, most, basis)
