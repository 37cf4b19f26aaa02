"""What is put on a thread against the state of its figure, case by case."""

from __future__ import annotations

import pytest

from kitting.calc.tightening.thread_states import PutOnThread, contradiction
from kitting.facts.tightening_reasons import ThreadRemark
from kitting.facts.words import ThreadState

DRY, OILED, LOCKED = ThreadState.DRY, ThreadState.OILED, ThreadState.LOCKED


@pytest.mark.parametrize(
    ("state", "there", "code"),
    [
        (DRY, PutOnThread(), None),
        (DRY, PutOnThread(own="G"), ThreadRemark.DRY_BUT_PUT_ON),
        (DRY, PutOnThread(own="L", own_locks=True), ThreadRemark.DRY_BUT_PUT_ON),
        (DRY, PutOnThread(coated=True), ThreadRemark.DRY_BUT_COATED),
        (DRY, PutOnThread(coated=True, dry=True), ThreadRemark.DRY_BUT_COATED),
        (DRY, PutOnThread(lockers=["L"]), ThreadRemark.DRY_BUT_USED),
        (DRY, PutOnThread(oils=["G"]), ThreadRemark.DRY_BUT_USED),
        (DRY, PutOnThread(lockers=["L"], oils=["G"], dry=True), None),
        (OILED, PutOnThread(), ThreadRemark.NOTHING_OILS),
        (OILED, PutOnThread(oiled_by=True), None),
        (OILED, PutOnThread(own="G"), None),
        (OILED, PutOnThread(dry=True, oiled_by=True), ThreadRemark.OILED_BUT_DRY),
        (OILED, PutOnThread(own="L", own_locks=True), ThreadRemark.OILED_BUT_LOCKED),
        (OILED, PutOnThread(lockers=["L"], oiled_by=True), ThreadRemark.OILED_BUT_LOCKED),
        (LOCKED, PutOnThread(lockers=["L"]), None),
        (LOCKED, PutOnThread(dry=True, lockers=["L"]), None),
        (LOCKED, PutOnThread(own="L", own_locks=True), None),
        (LOCKED, PutOnThread(own="G"), ThreadRemark.LOCKED_BUT_OILED),
        (ThreadState.UNKNOWN, PutOnThread(own="G", lockers=["L"]), None),
    ],
)
def test_a_contradiction_is_told_by_its_kind(
    state: ThreadState, there: PutOnThread, code: ThreadRemark | None
) -> None:
    found = contradiction(state, there)
    assert (found.code if found else None) is code
