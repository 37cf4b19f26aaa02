"""What comes to the threads of a plan, and where it contradicts the state of a figure.

What a joint uses is put on its threads unless its place is stated: a product that another position
asks for (a figure for locked or oiled threads), or one for rubber where there is rubber, goes
there, and a position that goes together dry gets nothing.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Set
from dataclasses import dataclass

from kitting.calc.planning.needs import FitFacts, UseFacts
from kitting.calc.planning.open_variants import Outcome
from kitting.calc.planning.renewal import Ruling
from kitting.calc.tightening.thread_states import PutOnThread, contradiction
from kitting.facts.conditions import CarFacts
from kitting.facts.reasons import Reason
from kitting.facts.rubber_media import MEDIA
from kitting.facts.words import KindRubber, Rule, ThreadState
from kitting.services.planning.facts import ItemFacts, PlanFacts
from kitting.services.planning.rubber_touching import is_a_fluid_of, joints_of_use, may_meet


@dataclass(frozen=True, slots=True)
class ThreadStates:
    """`locked` are the positions that something locks; what contradicts a state, by fit key."""

    locked: frozenset[int]
    contradictions: Mapping[int, Reason]


@dataclass(frozen=True, slots=True)
class _Used:
    """A product with the joints that it comes to; `is_a_fluid` that they hold it anyway."""

    use: UseFacts
    item: ItemFacts
    joints: Set[int]
    is_a_fluid: bool


def thread_states(
    facts: PlanFacts,
    known: CarFacts,
    outcomes: tuple[Outcome, Outcome],
    rulings: Mapping[int, Ruling],
) -> ThreadStates:
    """Judge every position of a stated state; `outcomes` are those of the fits and of the uses.

    What a step uses to lock threads is for the joint of it that has threads to lock; where several
    have, nobody says which of them gets it.
    """
    contents, locked, found = facts.contents, set[int](), dict[int, Reason]()
    products = list(_products(facts))
    fits, uses = outcomes
    asking = _asking(facts, fits)
    for fit in contents.fits:
        item, state = contents.items[fit.item], _state(facts, fit)
        if state is ThreadState.UNKNOWN:
            continue
        own = contents.items[fit.lubricant] if fit.lubricant is not None else None
        coated = item.kind.locks_threads and rulings[fit.key].rule is Rule.RENEW
        used = [
            one for one in products if fit.joint in one.joints and may_meet(fit, one.use, known)
        ]
        lockers = [one for one in used if one.item.kind.locks_threads]
        oils = [one for one in used if lubricates(one.item)]
        own_locks = own is not None and own.kind.locks_threads
        if (
            coated
            or own_locks
            or any(
                one.use.key in uses.certain and _is_for_one_joint(one, asking) for one in lockers
            )
        ):
            locked.add(fit.key)
        there = PutOnThread(
            own=own.code if own else None,
            own_locks=own_locks,
            dry=fit.dry,
            coated=coated,
            lockers=[one.item.code for one in lockers if not _has_its_place(facts, one, fit)],
            oils=[one.item.code for one in oils if not _has_its_place(facts, one, fit)],
            oiled_by=bool(oils) or _beside(facts, fit),
        )
        reason = contradiction(state, there)
        if reason is not None:
            found[fit.key] = reason
    return ThreadStates(frozenset(locked), found)


def lubricates(item: ItemFacts) -> bool:
    """Whether a product makes a thread slippery, by its medium."""
    return item.medium is not None and MEDIA[item.medium].lubricant


def _state(facts: PlanFacts, fit: FitFacts) -> ThreadState:
    known = facts.contents.tightenings.get(fit.key)
    return ThreadState.UNKNOWN if known is None else known.thread_state


def _products(facts: PlanFacts) -> Iterator[_Used]:
    contents = facts.contents
    for use in contents.uses:
        joints, item = joints_of_use(facts, use.joint, use.step), contents.items[use.item]
        fluid = is_a_fluid_of(item, [contents.joints[key] for key in joints])
        yield _Used(use, item, joints, fluid)


def _asking(facts: PlanFacts, fits: Outcome) -> Set[int]:
    """The joints that have threads to lock on this car, as far as it is settled."""
    return {
        fit.joint
        for fit in facts.contents.fits
        if _state(facts, fit) is ThreadState.LOCKED
        and (fit.key in fits.certain or fit.key in fits.waiting)
    }


def _is_for_one_joint(used: _Used, asking: Set[int]) -> bool:
    return used.use.joint is not None or len(used.joints & asking) == 1


def _has_its_place(facts: PlanFacts, used: _Used, fit: FitFacts) -> bool:
    """Whether it is known what a product is for: a fluid of the joint, or for other positions."""
    if used.is_a_fluid:
        return True
    items, item = facts.contents.items, used.item
    wanted = ThreadState.LOCKED if item.kind.locks_threads else ThreadState.OILED
    for_rubber = item.kind.rubber is KindRubber.TOUCHES
    for other in facts.contents.fits:
        if other.joint not in used.joints or other.key == fit.key:
            continue
        there = items[other.item]
        of_rubber = there.kind.of_rubber or there.elastomer is not None
        if _state(facts, other) is wanted or (for_rubber and of_rubber):
            return True
    return False


def _beside(facts: PlanFacts, fit: FitFacts) -> bool:
    """Whether another position of the joint is assembled with something that oils."""
    items = facts.contents.items
    return any(
        other.lubricant is not None and lubricates(items[other.lubricant])
        for other in facts.contents.fits
        if other.joint == fit.joint and other.key != fit.key
    )
