"""Plausibility: would this torque break the bolt, and was another unit meant?"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise

from kitting.calc.tightening.bolting import (
    FRICTION,
    HIGHEST_FRICTION,
    ROUGH_FRICTION,
    USUAL_FRICTION,
    breaking_torque,
    torque_at_yield,
    usual_torque,
)
from kitting.facts.reasons import Reason, because
from kitting.facts.stages import Stage
from kitting.facts.threads import Thread, parse_thread
from kitting.facts.tightening_reasons import TorqueRemark
from kitting.facts.units import TORQUE_UNITS, Torque
from kitting.facts.words import ThreadedInto, ThreadState

STRONGEST, WEAKEST = "12.9", "4.6"
_CANNOT_TELL = {TorqueRemark.NO_THREAD, TorqueRemark.INTO_PLASTIC}
# Common practice, no source: a figure between these shares of the usual torque is one that somebody
# would write, and a last stage below a seventh of it holds hardly anything.
_LIKELY, _LOOSE = (0.2, 1.5), 1 / 7
# Common practice, no source: nobody turns on by more than a whole turn (in thousandths of a
# degree), or states a band of more than half the figure. A bolt that is meant to be stretched is
# taken to its yield point; friction scatters by a quarter.
_WHOLE_TURN, _WIDEST, _STRETCHED = 360_000, Decimal("0.5"), 1.25


def doubt(
    torque: Torque,
    thread: str,
    property_class: str | None,
    thread_state: ThreadState = ThreadState.UNKNOWN,
) -> tuple[str, str] | None:
    """Why a figure cannot be right for a thread, and what to do; None where it may be.

    Both are the text of an error, as of a figure that cannot be read.

    A figure is refused when even a dry, rough thread would load the bolt beyond its breaking load
    (`breaking_torque`, of the strongest class where none is stated). Stretch bolts are tightened
    beyond their yield point, so that alone is no ground for refusal.
    """
    size = parse_thread(thread)
    strength = property_class or STRONGEST
    largest = breaking_torque(size, strength, ROUGH_FRICTION)
    given = float(torque.newton_metres)
    if given <= largest:
        return None
    usual = _usual(size, strength, thread_state)
    reason = (
        f"{torque} would break a {thread} bolt of class {strength}"
        f" (about {usual:.0f} N·m is usual, {largest:.0f} N·m breaks it even dry and rough)"
    )
    meant = _likely_units(torque.figure, torque.unit, usual)
    step = f"Was it {' or '.join(meant)}?" if meant else "Look the figure up again"
    return reason, step


def _likely_units(figure: Decimal, unit: str, usual: float) -> list[str]:
    low, high = (share * usual for share in _LIKELY)
    return [
        f"{Torque(figure, other)} ({Torque(figure, other).newton_metres:.4g} N·m)"
        for other in TORQUE_UNITS
        if other != unit and low <= float(Torque(figure, other).newton_metres) <= high
    ]


@dataclass(frozen=True, slots=True)
class Held:
    """What a fastener's figures are checked by: its thread and class, and what its kind allows.

    `weakest` and `strongest` are the property classes that its kind is made in (None: any); one
    that is not `ordinary` is meant to be stretched, or has figures of its own. `into` is what
    its thread is cut into.
    """

    thread: str | None
    property_class: str | None
    weakest: str | None = None
    strongest: str | None = None
    ordinary: bool = True
    into: ThreadedInto | None = None


def remarks(stages: Sequence[Stage], held: Held, thread_state: ThreadState) -> tuple[Reason, ...]:
    """What is odd about the figures of a position, though they may be right.

    Remarked on are torques beyond the yield point (VDI 2230), without a stated class those beyond
    that of the strongest class of its kind; last torques so low that hardly anything is held, and
    which unit was probably meant; torques that fall from stage to stage; an angle without a torque
    before it; a torque that comes after an angle (nobody states what that gave); more than a whole
    turn; and a band wider than half its figure. That nothing can be told without a thread is said
    too, and that plastic gives way long before the bolt: what is usual for its class tells nothing
    there.
    """
    return tuple(_remarks(stages, held, thread_state))


def odd(found: Iterable[Reason]) -> tuple[Reason, ...]:
    """The remarks that say something is odd, without those that nothing can be told."""
    return tuple(reason for reason in found if reason.code not in _CANNOT_TELL)


def _remarks(stages: Sequence[Stage], held: Held, thread_state: ThreadState) -> Iterator[Reason]:
    torques = [(n, stage.torque) for n, stage in enumerate(stages, 1) if stage.torque is not None]
    if torques:
        yield from _of_thread([torque for _, torque in torques], stages[-1], held, thread_state)
    for (before, one), (after, other) in pairwise(torques):
        if other.newton_metres < one.newton_metres:
            yield because(
                TorqueRemark.FALLING, stage=after, torque=other, before=before, larger=one
            )
    yield from _about_angles(stages)
    turn = sum(stage.turn for stage in stages)
    if turn > _WHOLE_TURN:
        yield because(TorqueRemark.TURNS_FAR, degrees=Decimal(turn) / 1000)
    for torque, tolerance in [(stage.torque, stage.tolerance) for stage in stages]:
        if torque is not None and tolerance is not None and tolerance > _WIDEST * torque.figure:
            band = Torque(tolerance, torque.unit)
            yield because(TorqueRemark.WIDE_BAND, torque=torque, band=band)


def _about_angles(stages: Sequence[Stage]) -> Iterator[Reason]:
    """The first angle without a torque before it, and torques after an angle that do not fall."""
    largest, turned = Decimal(0), False
    for number, stage in enumerate(stages, 1):
        if stage.torque is None:
            if not largest and not turned:
                degrees = Decimal(stage.turn) / 1000
                yield because(TorqueRemark.NO_SNUG_TORQUE, stage=number, degrees=degrees)
            turned = True
            continue
        given = stage.torque.newton_metres
        if turned and given >= largest:
            yield because(TorqueRemark.AFTER_ANGLE, stage=number, torque=stage.torque)
        largest = max(largest, given)


def _of_thread(
    torques: Sequence[Torque], last: Stage, held: Held, thread_state: ThreadState
) -> Iterator[Reason]:
    """What a thread tells of the largest torque, and of the last where no angle follows it."""
    largest = max(torques, key=lambda torque: torque.newton_metres)
    plastic = held.into is ThreadedInto.PLASTIC
    if plastic:
        yield because(TorqueRemark.INTO_PLASTIC, torque=largest)
    if held.thread is None:
        if not plastic:
            yield because(TorqueRemark.NO_THREAD, torque=largest)
        return
    size = parse_thread(held.thread)
    beyond = _beyond_yield(largest, size, held, thread_state)
    if beyond is not None:
        yield beyond
    elif last.torque is not None and not plastic:
        yield from _very_little(last.torque, size, held, thread_state)


def _beyond_yield(
    torque: Torque, size: Thread, held: Held, thread_state: ThreadState
) -> Reason | None:
    """That a torque takes even the strongest bolt that may be meant beyond its yield point."""
    strength = held.property_class or held.strongest or STRONGEST
    friction = FRICTION.get(thread_state, HIGHEST_FRICTION)
    most = torque_at_yield(size, strength, friction) * (1 if held.ordinary else _STRETCHED)
    if float(torque.newton_metres) <= most:
        return None
    if held.property_class is None:
        code = TorqueRemark.BEYOND_STRONGEST
    elif thread_state in FRICTION:
        code = TorqueRemark.BEYOND_YIELD
    else:
        code = TorqueRemark.BEYOND_YIELD_ANY_STATE
    return because(
        code,
        torque=torque,
        thread=size.name,
        property_class=strength,
        state=thread_state,
        yields_at=_whole_newton_metres(most),
    )


def _usual(size: Thread, strength: str, thread_state: ThreadState) -> float:
    return usual_torque(size, strength, FRICTION.get(thread_state, USUAL_FRICTION))


def _very_little(
    torque: Torque, size: Thread, held: Held, thread_state: ThreadState
) -> Iterator[Reason]:
    usual = _usual(size, held.property_class or held.weakest or WEAKEST, thread_state)
    if float(torque.newton_metres) >= _LOOSE * usual:
        return
    meant = tuple(_likely_units(torque.figure, torque.unit, usual))
    about = _whole_newton_metres(usual)
    if meant:
        yield because(
            TorqueRemark.VERY_LITTLE, torque=torque, thread=size.name, usual=about, meant=meant
        )
    else:
        yield because(TorqueRemark.HARDLY_ANY, torque=torque, thread=size.name, usual=about)


def _whole_newton_metres(value: float) -> Torque:
    return Torque(Decimal(round(value)), "N·m")
