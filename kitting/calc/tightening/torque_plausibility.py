"""Plausibility: would this torque break the bolt, and was another unit meant?"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from kitting.calc.tightening.bolting import (
    FRICTION,
    ROUGH_FRICTION,
    USUAL_FRICTION,
    assembly_preload,
    breaking_torque,
    torque_at_yield,
    usual_torque,
)
from kitting.calc.tightening.held import STRONGEST, Held
from kitting.calc.tightening.stage_order import order_remarks
from kitting.calc.tightening.stripping import stripping_load, stripping_torque
from kitting.facts.fastener_kinds import ADJUSTED, LARGEST_PLUG, NO_BOLTS, PLUGS, STRETCHED
from kitting.facts.reasons import Reason, Value, because
from kitting.facts.soft_threads import LEAST_ENGAGEMENT, SHEAR_STRENGTH, WEAKEST
from kitting.facts.stages import Stage
from kitting.facts.threads import STAINLESS, Thread, parse_thread
from kitting.facts.torque_reasons import NO_RULE, NOT_PROVEN, TorqueRemark, TorqueShown
from kitting.facts.units import TORQUE_UNITS, Quantity, Torque, significant
from kitting.facts.words import ThreadedInto, ThreadState

# Common practice, no source: a figure between these shares of the usual torque is one that somebody
# would write, and a last stage below a seventh of it holds hardly anything.
_LIKELY, _LOOSE = (0.2, 1.5), 1 / 7
# Common practice, no source: nobody states a band of more than half the figure. A stretch bolt is
# taken to its yield point; friction scatters by a quarter.
_WIDEST, _STRETCHED = Decimal("0.5"), 1.25


def doubt(stage: Stage, held: Held, thread_state: ThreadState) -> tuple[str, str] | None:
    """Why a figure cannot be right for a thread, and what to do; None where it may be.

    Both are the text of an error, as of a figure that cannot be read.

    A figure is refused when its upper end would load even a dry, rough and solid bolt beyond its
    breaking load (`breaking_torque`, of the strongest class where none is stated). Stretch bolts
    are tightened beyond their yield point, so that alone is no ground for refusal. Nor is anything
    refused where nothing is reckoned: without a thread or of a pipe thread, of what is no bolt, of
    stainless steel, whose friction has no highest value here.
    """
    torque = stage.torque
    if torque is None or held.thread is None or held.kind in NO_BOLTS:
        return None
    size, strongest = parse_thread(held.thread), held.property_class or STRONGEST
    if strongest in STAINLESS or not size.reckoned:
        return None
    largest = breaking_torque(size, strongest, ROUGH_FRICTION)
    given = _upper(stage, torque)
    if float(given.newton_metres) <= largest:
        return None
    breaks = f"{largest:.0f} N·m breaks it even dry and rough"
    shown = f"{given}" if given == torque else f"{given}, the upper end of {stage},"
    reason = f"{shown} would break a {size.name} bolt of class {strongest}"
    again = "Look the figure up again"
    if held.into is ThreadedInto.PLASTIC:
        return f"{reason} ({breaks}), and the plastic that it goes into long before", again
    if held.bore(size):
        return f"{reason} if it were solid ({breaks}), and it is hollow", again
    usual = _usual(size, strongest, thread_state)
    meant = _likely_units(torque.figure, torque.unit, usual)
    step = f"Was it {' or '.join(meant)}?" if meant else again
    return f"{reason} (about {usual:.0f} N·m is usual, {breaks})", step


def _upper(stage: Stage, torque: Torque) -> Torque:
    """The most that a stage asks for: the upper end of its band."""
    return Torque(torque.figure + (stage.tolerance or 0), torque.unit)


def _shown(stage: Stage, torque: Torque) -> Torque | Reason:
    """The most that a stage asks for, told as what it is."""
    if stage.tolerance is None:
        return torque
    band = Torque(stage.tolerance, torque.unit)
    return because(TorqueShown.UPPER_END, most=_upper(stage, torque), torque=torque, band=band)


def _likely_units(figure: Decimal, unit: str, usual: float) -> list[str]:
    low, high = (share * usual for share in _LIKELY)
    return [
        f"{Torque(figure, other)} ({Torque(figure, other).newton_metres:.4g} N·m)"
        for other in TORQUE_UNITS
        if other != unit and low <= float(Torque(figure, other).newton_metres) <= high
    ]


def remarks(stages: Sequence[Stage], held: Held, thread_state: ThreadState) -> tuple[Reason, ...]:
    """What is odd about the figures of a position, though they may be right.

    Remarked on are torques whose upper end is beyond the yield point (VDI 2230), without a stated
    class those beyond that of the strongest class of its kind; last torques so low that hardly
    anything is held, and which unit was probably meant; an odd order of the stages
    (`order_remarks`); and a band wider than half its figure. What is hollow is reckoned with a wide
    bore. Said too is what is not proven (no thread, or no class on which it hangs), and what
    nothing here could prove (some kinds are no bolts). A thread is held against what strips it.
    """
    return tuple(_remarks(stages, held, thread_state))


def odd(found: Iterable[Reason]) -> tuple[Reason, ...]:
    """The remarks that say something is odd, without those that something cannot be told."""
    return tuple(reason for reason in found if reason.code not in NOT_PROVEN | NO_RULE)


def not_proven(found: Iterable[Reason]) -> tuple[Reason, ...]:
    """The remarks that say what cannot be told until an entry is made."""
    return tuple(reason for reason in found if reason.code in NOT_PROVEN)


def _remarks(stages: Sequence[Stage], held: Held, thread_state: ThreadState) -> Iterator[Reason]:
    if any(stage.torque is not None for stage in stages):
        yield from _of_thread(stages, held, thread_state)
    yield from order_remarks(stages, may_end_loose=held.kind in ADJUSTED)
    for torque, tolerance in [(stage.torque, stage.tolerance) for stage in stages]:
        if torque is not None and tolerance is not None and tolerance > _WIDEST * torque.figure:
            band = Torque(tolerance, torque.unit)
            yield because(TorqueRemark.WIDE_BAND, torque=torque, band=band)


def _of_thread(stages: Sequence[Stage], held: Held, thread_state: ThreadState) -> Iterator[Reason]:
    """What a thread tells of the largest torque, and of the last where no angle follows it."""
    most = max(
        (_Most(_upper(stage, stage.torque), _shown(stage, stage.torque)) for stage in stages
         if stage.torque is not None),
        key=lambda one: one.torque.newton_metres,
    )  # fmt: skip
    plastic = held.into is ThreadedInto.PLASTIC
    if plastic:
        yield because(TorqueRemark.INTO_PLASTIC, torque=most.shown)
    elif held.kind in NO_BOLTS:
        yield because(TorqueRemark.NO_BOLT, torque=most.shown)
    if held.kind in NO_BOLTS:
        return
    if held.thread is None:
        yield because(TorqueRemark.NO_THREAD, torque=most.shown)
        return
    by = _By(parse_thread(held.thread), held, thread_state)
    if not by.size.reckoned:
        yield from _not_reckoned(most, by)
        return
    last = None if plastic or held.kind in ADJUSTED else stages[-1].torque
    little = None if last is None else _very_little(last, by)
    found = _beyond_yield(most, by) or little or _without_class(most, last, by)
    if found is not None:
        yield found
    strips = _strips(most, by)
    if strips is not None and (found is None or held.into is not None):
        yield strips
    elif strips is None and any(stage.turn for stage in stages):
        yield from _strips_by_angle(by)


def _not_reckoned(most: _Most, by: _By) -> Iterator[Reason]:
    """That a thread is not reckoned, and that no solid screw of its outside diameter bears it."""
    yield because(TorqueRemark.NOT_RECKONED, torque=most.shown, thread=by.size.name)
    largest = breaking_torque(by.size, STRONGEST, ROUGH_FRICTION)
    if float(most.torque.newton_metres) > largest:
        yield because(
            TorqueRemark.BEYOND_ANY, torque=most.shown, thread=by.size.name,
            property_class=STRONGEST, breaks_at=_newton_metres(largest),
        )  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Most:
    """The most that is asked for, and how it is told."""

    torque: Torque
    shown: Torque | Reason


@dataclass(frozen=True, slots=True)
class _By:
    """What a figure is checked by: size, kind and class, and the state that it is given for."""

    size: Thread
    held: Held
    thread_state: ThreadState

    def yields_at(self, property_class: str, *, solid: bool = False) -> float:
        """The torque in N·m at the yield point; in a state that is not stated, at the latest.

        No highest friction of stainless steel is known here.
        """
        unknown = self.thread_state is ThreadState.UNKNOWN
        if unknown and property_class in STAINLESS:
            return math.inf
        friction = FRICTION.get(self.thread_state, USUAL_FRICTION)
        bore = 0 if solid else self.held.bore(self.size)
        reached = torque_at_yield(
            self.size, property_class, ROUGH_FRICTION if unknown else friction, bore
        )
        return reached * (_STRETCHED if self.held.kind in STRETCHED and not bore else 1)

    @property
    def engaged(self) -> int:
        """How far it is engaged in thousandths of a mm: the least that is usual if not stated."""
        return self.held.engagement or int(1000 * LEAST_ENGAGEMENT * self.size.diameter)

    @property
    def sealed_as(self) -> Thread:
        """The thread whose usual torque is asked for: of a plug, none that is too large."""
        largest = parse_thread(LARGEST_PLUG)
        plug = self.held.kind in PLUGS and self.size.diameter > largest.diameter
        return largest if plug else self.size

    def usual(self, property_class: str) -> float:
        """The torque in N·m that is usual, low where it is hollow."""
        return _usual(self.size, property_class, self.thread_state, self.held.bore(self.size))


def _beyond_yield(most: _Most, by: _By) -> Reason | None:
    """That a torque takes even the strongest bolt that may be meant beyond its yield point."""
    held, (_, strongest) = by.held, by.held.classes
    given, solid = float(most.torque.newton_metres), by.yields_at(strongest, solid=True)
    facts: dict[str, Value] = {
        "torque": most.shown, "thread": by.size.name, "property_class": strongest,
    }  # fmt: skip
    if given <= solid:
        reached = by.yields_at(strongest)
        if given <= reached:
            return None
        bore = Decimal(f"{held.bore(by.size):.3g}")
        about = _newton_metres(reached)
        return because(TorqueRemark.BEYOND_HOLLOW, yields_at=about, bore=bore, **facts)
    any_state = by.thread_state is ThreadState.UNKNOWN
    if held.property_class is None:
        strongest_any = TorqueRemark.BEYOND_STRONGEST_ANY_STATE
        code = strongest_any if any_state else TorqueRemark.BEYOND_STRONGEST
    else:
        code = TorqueRemark.BEYOND_YIELD_ANY_STATE if any_state else TorqueRemark.BEYOND_YIELD
    about = _newton_metres(solid)
    return because(code, state=by.thread_state, yields_at=about, **facts)


def _usual(size: Thread, strength: str, thread_state: ThreadState, bore: float = 0) -> float:
    return usual_torque(size, strength, FRICTION.get(thread_state, USUAL_FRICTION), bore)


def _very_little(torque: Torque, by: _By) -> Reason | None:
    """That a last torque holds hardly anything, even of the weakest that may be meant.

    What has figures of its own is held by the weakest of its kind, whatever its class is: a plug
    is tightened for its seal.
    """
    held = by.held if by.held.ordinary else replace(by.held, property_class=None)
    weakest = held.classes[0]
    size = by.sealed_as
    usual = _usual(size, weakest, by.thread_state, held.bore(size))
    # What is usual of a hollow screw is reckoned low: too low to find a slip of the unit by.
    if float(torque.newton_metres) >= _LOOSE * _usual(size, weakest, by.thread_state):
        return None
    # What is tightened for its seal, or for the play of a bearing, may be meant to be so loose.
    meant = tuple(_likely_units(torque.figure, torque.unit, usual)) if by.held.ordinary else ()
    about = _about(usual)
    if not meant:
        return because(TorqueRemark.HARDLY_ANY, torque=torque, thread=by.size.name, usual=about)
    return because(
        TorqueRemark.VERY_LITTLE, torque=torque, thread=by.size.name, usual=about, meant=meant
    )


def _without_class(most: _Most, last: Torque | None, by: _By) -> Reason | None:
    """That it hangs on the class, which is not stated, whether a torque is too much or too little.

    `last` is the last torque, None where it may be small.
    """
    if by.held.property_class is not None:
        return None
    (weakest, strongest), size = by.held.classes, by.size.name
    reached = by.yields_at(weakest)
    if float(most.torque.newton_metres) > reached:
        return because(
            TorqueRemark.NO_CLASS, torque=most.shown, thread=size, property_class=weakest,
            yields_at=_newton_metres(reached),
        )  # fmt: skip
    usual = by.usual(strongest)
    least = _LOOSE * _usual(by.size, strongest, by.thread_state)
    if last is None or not by.held.ordinary or float(last.newton_metres) >= least:
        return None
    return because(
        TorqueRemark.NO_CLASS_LITTLE, torque=last, thread=size, property_class=strongest,
        usual=_about(usual),
    )  # fmt: skip


def _strips_by_angle(by: _By) -> Iterator[Reason]:
    """That a turn by an angle, up to the yield point of a bolt, may strip a stated soft metal."""
    held, strongest = by.held, by.held.classes[1]
    if held.into not in (ThreadedInto.ALUMINIUM, ThreadedInto.MAGNESIUM):
        return
    engaged, strength = by.engaged, SHEAR_STRENGTH[held.into]
    strips = stripping_load(by.size, engaged / 1000, strength)
    bears = assembly_preload(by.size, strongest, USUAL_FRICTION, share=1, bore=held.bore(by.size))
    if bears > strips:
        yield because(
            TorqueRemark.ANGLE_STRIPS, thread=by.size.name, material=held.into, strength=strength,
            engaged=Quantity(engaged, "mm"), property_class=strongest,
            load=Decimal(round(bears / 1000)), strips_at=Decimal(round(strips / 1000)),
        )  # fmt: skip


def _strips(most: _Most, by: _By) -> Reason | None:
    """That a torque strips the thread that a fastener goes into, or may strip it.

    In a state that is not stated it is what strips it at the latest. Steel is only reckoned where
    it is stated how far it is engaged; plastic as the weakest metal, which bears more.
    """
    held, into = by.held, by.held.may_go_into
    plastic = into is ThreadedInto.PLASTIC
    material = WEAKEST if plastic else into
    if material is ThreadedInto.STEEL and held.engagement is None:
        return None
    engaged, strength = by.engaged, SHEAR_STRENGTH[material]
    unknown = by.thread_state is ThreadState.UNKNOWN
    friction = ROUGH_FRICTION if unknown else FRICTION.get(by.thread_state, USUAL_FRICTION)
    reached = stripping_torque(by.size, engaged / 1000, strength, friction)
    if float(most.torque.newton_metres) <= reached:
        return None
    if plastic:
        code = TorqueRemark.STRIPS_PLASTIC
    elif held.into is None and into is not ThreadedInto.STEEL:
        code = TorqueRemark.INTO_NOT_STATED
    else:
        known = held.engagement is not None
        code = TorqueRemark.STRIPS if known else TorqueRemark.ENGAGEMENT_NOT_STATED
    return because(
        code, torque=most.shown, thread=by.size.name, material=material, strength=strength,
        engaged=Quantity(engaged, "mm"), strips_at=_newton_metres(reached),
    )  # fmt: skip


def _newton_metres(value: float) -> Torque:
    """A limit that was reckoned, to three figures: it may lie close to what is compared with it."""
    return Torque(significant(Decimal(value), 3), "N·m")


def _about(value: float) -> Torque:
    """What is usual, in whole newton metres, below ten to two figures."""
    return Torque(Decimal(round(value)) if value >= 10 else significant(Decimal(value), 2), "N·m")
