"""Whether the stages of a tightening follow each other as they usually do."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal

from kitting.facts.reasons import Reason, because
from kitting.facts.stages import Stage
from kitting.facts.torque_reasons import TorqueRemark
from kitting.facts.units import Torque

# Common practice, no source: nobody turns on by more than a whole turn at once (in thousandths of a
# degree).
_WHOLE_TURN = 360_000


def order_remarks(stages: Sequence[Stage], *, may_end_loose: bool) -> Iterator[Reason]:
    """What is odd about the order of some stages, though it may be right.

    Odd are torques that fall, an angle without anything before it, a torque after an angle (nobody
    states what that gave), and more than a whole turn: each from one turning back to the next, as
    that loosens. Turning back is odd where nothing was tightened, and at the end, unless it
    `may_end_loose`.
    """
    spans = list(_spans(stages))
    for span in spans:
        yield from _falling(span)
    yield from _first_without_torque(stages)
    for span in spans:
        yield from _after_angles(span)
    turn = max((sum(stage.turn for _, stage in span) for span in spans), default=0)
    if turn > _WHOLE_TURN:
        yield because(TorqueRemark.TURNS_FAR, degrees=_degrees(turn))
    if stages and stages[-1].back and not may_end_loose:
        yield because(TorqueRemark.ENDS_LOOSE, degrees=_degrees(stages[-1].back))


def _degrees(turn: int) -> Decimal:
    return Decimal(turn) / 1000


def _spans(stages: Sequence[Stage]) -> Iterator[list[tuple[int, Stage]]]:
    """The stages between turning back and turning back, with their numbers."""
    span: list[tuple[int, Stage]] = []
    for number, stage in enumerate(stages, 1):
        if stage.back:
            yield span
            span = []
        else:
            span.append((number, stage))
    yield span


def _falling(span: Sequence[tuple[int, Stage]]) -> Iterator[Reason]:
    before: tuple[int, Torque] | None = None
    for number, stage in span:
        if stage.torque is None:
            continue
        if before is not None and stage.torque.newton_metres < before[1].newton_metres:
            yield because(
                TorqueRemark.FALLING, stage=number, torque=stage.torque, before=before[0],
                larger=before[1],
            )  # fmt: skip
        before = number, stage.torque


def _first_without_torque(stages: Sequence[Stage]) -> Iterator[Reason]:
    if not stages:
        return
    if stages[0].back:
        yield because(TorqueRemark.BACK_FIRST, degrees=_degrees(stages[0].back))
    elif stages[0].torque is None:
        degrees = _degrees(stages[0].turn)
        yield because(TorqueRemark.NO_SNUG_TORQUE, stage=1, degrees=degrees)


def _after_angles(span: Sequence[tuple[int, Stage]]) -> Iterator[Reason]:
    """Torques after an angle that do not fall."""
    largest, turned = Decimal(0), False
    for number, stage in span:
        if stage.torque is None:
            turned = True
            continue
        given = stage.torque.newton_metres
        if turned and given >= largest:
            yield because(TorqueRemark.AFTER_ANGLE, stage=number, torque=stage.torque)
        largest = max(largest, given)
