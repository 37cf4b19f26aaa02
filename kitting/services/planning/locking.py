"""What locks threads: at which joints of a plan something is put on that holds them."""

from __future__ import annotations

from collections.abc import Iterator, Set

from kitting.calc.planning.open_variants import Outcome
from kitting.facts.words import ThreadState
from kitting.services.planning.facts import PlanFacts
from kitting.services.planning.rubber_touching import joints_of_use


def locked_joints(facts: PlanFacts, fits: Outcome, uses: Outcome) -> frozenset[int]:
    """The joints at which something that locks threads is used for certain.

    What a step uses is for the joint of it that has threads to lock; where several have, nobody
    says which of them gets it.
    """
    contents = facts.contents
    locked = set(_by_positions(facts, fits))
    of_steps = []
    for use in contents.uses:
        if use.key not in uses.certain or not contents.items[use.item].kind.locks_threads:
            continue
        if use.joint is not None:
            locked.add(use.joint)
        else:
            of_steps.append(joints_of_use(facts, None, use.step))
    asking = _asking(facts, fits)
    for joints in of_steps:
        if len(here := joints & asking) == 1:
            locked |= here
    return frozenset(locked)


def _by_positions(facts: PlanFacts, fits: Outcome) -> Iterator[int]:
    """The joints of which every thread to lock is put in with a product that locks it."""
    contents = facts.contents
    lacking: set[int] = set()
    found: set[int] = set()
    for fit in contents.fits:
        if not _to_lock(facts, fits, fit.key):
            continue
        product = None if fit.lubricant is None else contents.items[fit.lubricant]
        at = found if product is not None and product.kind.locks_threads else lacking
        at.add(fit.joint)
    yield from found - lacking


def _asking(facts: PlanFacts, fits: Outcome) -> Set[int]:
    """The joints that have threads to lock on this car, as far as it is settled."""
    return {fit.joint for fit in facts.contents.fits if _to_lock(facts, fits, fit.key)}


def _to_lock(facts: PlanFacts, fits: Outcome, fit: int) -> bool:
    known = facts.contents.tightenings.get(fit)
    taken = fit in fits.certain or fit in fits.waiting
    return taken and known is not None and known.thread_state is ThreadState.LOCKED
