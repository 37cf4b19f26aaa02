"""Plausibility: would this torque break the bolt, and was another unit meant?"""

from __future__ import annotations

from decimal import Decimal

from kitting.calc.tightening.bolting import FRICTION, has_bearing, torque_at_yield
from kitting.facts.reasons import Reason, because
from kitting.facts.threads import breaking_load, parse_thread, proof_load, torque_for_preload
from kitting.facts.tightening_reasons import TorqueRemark
from kitting.facts.units import TORQUE_UNITS, Torque
from kitting.facts.words import ThreadState

STRONGEST = "12.9"
# Nut factors, from memory: 0.10 well lubricated to 0.30 dry and rough.
_ROUGH, _USUAL = 0.30, 0.20
# A figure between these shares of the usual torque at proof load is one that somebody would write.
_LIKELY = (0.15, 1.1)
# A last stage below this share of the usual torque holds hardly anything.
_LOOSE = 0.1


def doubt(torque: Torque, thread: str, property_class: str | None) -> tuple[str, str] | None:
    """Why a figure cannot be right for a thread, and what to do; None where it may be.

    Both are the text of an error, as of a figure that cannot be read.

    A figure is refused when even a dry, rough thread would load the bolt beyond its breaking load
    (T = K·F·d with K = 0.30, F from ISO 898-1; the strongest class where none is stated). Stretch
    bolts are tightened beyond their proof load, so that alone is no ground for refusal.
    """
    size = parse_thread(thread)
    strength = property_class or STRONGEST
    largest = torque_for_preload(breaking_load(size, strength), float(size.diameter), _ROUGH)
    given = float(torque.newton_metres)
    if given <= largest:
        return None
    usual = torque_for_preload(proof_load(size, strength), float(size.diameter), _USUAL)
    reason = (
        f"{torque} would break a {thread} bolt of class {strength}"
        f" (about {usual:.0f} N·m is usual at proof load, {largest:.0f} N·m breaks it)"
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


def remark(
    torque: Torque, thread: str, property_class: str | None, thread_state: ThreadState
) -> Reason | None:
    """What is odd about the last torque of an ordinary bolt, though it may be right; None if not.

    Remarked on are figures beyond the yield point (VDI 2230, where the thread state is known) and
    figures so low that another unit was probably meant; nothing without a property class, as of
    plugs and unions. Not for bolts that are meant to stretch.
    """
    if property_class is None:
        return None
    size = parse_thread(thread)
    given = float(torque.newton_metres)
    if thread_state in FRICTION and has_bearing(size):
        most = torque_at_yield(size, property_class, thread_state)
        if given > most:
            return because(
                TorqueRemark.BEYOND_YIELD,
                torque=torque,
                thread=thread,
                property_class=property_class,
                state=thread_state,
                yields_at=_whole_newton_metres(most),
            )
    usual = torque_for_preload(proof_load(size, property_class), float(size.diameter), _USUAL)
    meant = _likely_units(torque.figure, torque.unit, usual) if given < _LOOSE * usual else ()
    if not meant:
        return None
    return because(
        TorqueRemark.VERY_LITTLE,
        torque=torque,
        thread=thread,
        usual=_whole_newton_metres(usual),
        meant=tuple(meant),
    )


def _whole_newton_metres(value: float) -> Torque:
    return Torque(Decimal(round(value)), "N·m")
