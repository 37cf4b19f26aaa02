"""What is in doubt of a part that is turned: its head, its figure, the state of its thread."""

from __future__ import annotations

from collections.abc import Iterator

from kitting.calc.tightening.torque_plausibility import not_proven, odd, remarks
from kitting.facts.doubt_reasons import DoubtReason
from kitting.facts.verdicts import Aspect, Doubt
from kitting.facts.words import Rule, ThreadedInto, ThreadState
from kitting.services.planning.facts import TighteningFacts
from kitting.services.planning.question import Question, unknown_of


def turning_doubts(question: Question) -> Iterator[Doubt]:
    """Head and figure of what is turned."""
    item, known = question.item, question.facts.contents.tightenings.get(question.fit.key)
    described = known is not None and not question.exchanged
    if not item.kind.threaded and not described:
        return
    if item.kind.threaded and item.head is None:
        yield unknown_of(Aspect.HEAD, DoubtReason.NO_HEAD, question)
    if question.exchanged and known is not None and known.stages:
        asked = question.asked.code
        yield unknown_of(Aspect.FIGURE, DoubtReason.FIGURE_OF_ANOTHER, question, asked=asked)
    elif known is None or not known.stages:
        yield unknown_of(Aspect.FIGURE, DoubtReason.NO_FIGURE, question)
    else:
        yield from _of_figure(question, known)
    coated = question.rule is Rule.RENEW and item.kind.locks_threads
    locked = question.locked or coated
    if known is not None and known.thread_state is ThreadState.LOCKED and not locked:
        yield unknown_of(Aspect.FIGURE, DoubtReason.NOT_LOCKED, question)
    if question.contradiction is not None and not question.exchanged:
        why = question.contradiction
        yield unknown_of(Aspect.FIGURE, DoubtReason.THREAD_STATE_CONTRADICTED, question, why=why)


def _of_figure(question: Question, known: TighteningFacts) -> Iterator[Doubt]:
    """What is not stated of a figure, and what is odd about it."""
    turned = question.item.kind.threaded or question.item.thread is not None
    if known.thread_state is ThreadState.UNKNOWN and turned:
        yield unknown_of(Aspect.FIGURE, DoubtReason.THREAD_STATE_NOT_STATED, question)
    by_angle = any(stage.turn for stage in known.stages)
    if by_angle and question.rule is Rule.KEEP and not question.by_maker:
        yield unknown_of(Aspect.FIGURE, DoubtReason.TURNED_BY_ANGLE, question)
    yield from _in_plastic(question)
    held = question.item.held_at(question.fit.reach)
    found = remarks(known.stages, held, known.thread_state)
    for why in odd(found):
        yield unknown_of(Aspect.FIGURE, DoubtReason.ODD_FIGURE, question, why=why)
    for why in not_proven(found):
        yield unknown_of(Aspect.FIGURE, DoubtReason.FIGURE_NOT_PROVEN, question, why=why)


def _in_plastic(question: Question) -> Iterator[Doubt]:
    """That a thread in plastic holds what no general figure is good enough for."""
    if question.fit.reach.into is not ThreadedInto.PLASTIC:
        return
    contents = question.facts.contents
    here = contents.systems[contents.joints[question.fit.joint].system]
    strict = [] if here.general_torque else [here.name]
    systems = tuple(dict.fromkeys((*strict, *contents.strict.get(question.item.kind.key, ()))))
    if systems:
        yield unknown_of(Aspect.FIGURE, DoubtReason.PLASTIC_IN_SYSTEM, question, systems=systems)
