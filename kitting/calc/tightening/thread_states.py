"""Whether what is put on a thread goes with the state for which its figure was given."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from kitting.facts.reasons import Reason, because
from kitting.facts.tightening_reasons import ThreadRemark
from kitting.facts.words import ThreadState


@dataclass(frozen=True, slots=True)
class PutOnThread:
    """What comes to the thread of one position, by code of item.

    `own` is the lubricant that the position names, `own_locks` whether that locks threads; `dry`
    says that it names none on purpose. `coated` is a new fastener that brings its own locker.
    `beside` are products of the joint that nobody states another place for: those that lock, and
    those that oil. `oiled_by` says whether anything at the joint would oil it.
    """

    own: str | None = None
    own_locks: bool = False
    dry: bool = False
    coated: bool = False
    lockers: Collection[str] = ()
    oils: Collection[str] = ()
    oiled_by: bool = False


def contradiction(state: ThreadState, there: PutOnThread) -> Reason | None:
    """How a thread is put together against the state of its figure; None where it is not.

    Of an unknown state nothing can be told. That nothing locks a thread is told elsewhere.

    >>> contradiction(ThreadState.DRY, PutOnThread(own="GREASE")).code
    'figure for dry, something is put on'
    """
    if state is ThreadState.DRY:
        return _dry(there)
    if state is ThreadState.OILED:
        return _oiled(there)
    if state is ThreadState.LOCKED and there.own is not None and not there.own_locks:
        return because(ThreadRemark.LOCKED_BUT_OILED, what=there.own)
    return None


def _dry(there: PutOnThread) -> Reason | None:
    if there.own is not None:
        return because(ThreadRemark.DRY_BUT_PUT_ON, what=there.own)
    if there.coated:
        return because(ThreadRemark.DRY_BUT_COATED)
    beside = () if there.dry else (*there.lockers, *there.oils)
    if beside:
        return because(ThreadRemark.DRY_BUT_USED, what=tuple(beside))
    return None


def _oiled(there: PutOnThread) -> Reason | None:
    if there.dry:
        return because(ThreadRemark.OILED_BUT_DRY)
    if there.own is not None and there.own_locks:
        return because(ThreadRemark.OILED_BUT_LOCKED, what=there.own)
    if there.own is not None:
        return None
    if there.lockers:
        return because(ThreadRemark.OILED_BUT_LOCKED, what=tuple(there.lockers))
    return None if there.oiled_by else because(ThreadRemark.NOTHING_OILS)
