"""Settling a variant: what is known of the car may speak against what was seen."""

from __future__ import annotations

import pytest
from sqlalchemy import Engine, select

from helpers import load, planned
from kitting.actions import Action
from kitting.errors import KittingError
from kitting.services.planning.variants import settle_variant
from kitting.store import reading
from kitting.tables.vehicles import SettledVariant
from kitting.wording.reasons import say

PARTS = """
items: [{code: A, name: a, kind: bolt}, {code: B, name: b, kind: bolt}]
units:
  - code: u
    name: U
    splits:
      - code: cooler
        question: which
        check: look
        options: [{code: early, name: early, EARLY}, {code: late, name: late, LATE}]
    joints:
      - code: j
        name: J
        system: engine
        fits: [{item: A, position: p, option: cooler/early}, {item: B, position: p, option: cooler/late}]
    steps: [{code: S, name: s, hours: 1 h, opens: [j]}]
    jobs: [{code: J, name: job, needs: [S]}]
models: [{code: m, name: M, units: [u]}]
vehicles: [{registration: C 1, model: m, build_date: 2021-03-14, equipment: {towbar: true} SETTLED}]
"""
BY_DATE = ("built_before: 2019-06-01", "built_from: 2019-06-01")


def loaded(engine: Engine, early: str, late: str, settled: str = "") -> list[str]:
    text = PARTS.replace("EARLY", early).replace("LATE", late).replace("SETTLED", settled)
    return [say(remark) for remark in load(engine, text).remarks]


def recorded(engine: Engine) -> list[str | None]:
    with reading(engine) as session:
        return list(session.scalars(select(SettledVariant.reason)))


@pytest.mark.parametrize(
    ("early", "late", "known"),
    [
        (*BY_DATE, "built 2021-03-14"),
        ("without: towbar", "seen: s", "with towbar"),
    ],
)
def test_an_option_that_the_car_cannot_have_is_recorded_only_with_a_reason(
    store: Engine, early: str, late: str, known: str
) -> None:
    loaded(store, early, late)
    told = rf"^C 1 cannot have cooler early by what is known of it \({known}\)\."
    for despite in (None, "  "):
        with pytest.raises(KittingError, match=told) as caught:
            settle_variant(store, "C 1", "cooler", "early", despite=despite)
        assert [step.action for step in caught.value.then] == [Action.SETTLE_DESPITE]
    assert recorded(store) == []
    done = settle_variant(store, "C 1", "cooler", "early", despite="engine of an older car")
    assert done.despite == "engine of an older car"
    assert recorded(store) == ["engine of an older car"]
    assert [line.item for line in planned(store, "C 1", "J").lines] == ["A"]


def test_what_agrees_with_the_car_needs_no_reason_and_clears_the_former_one(lite: Engine) -> None:
    loaded(lite, *BY_DATE)
    settle_variant(lite, "C 1", "cooler", "early", despite="older engine")
    assert settle_variant(lite, "C 1", "cooler", "late", despite="no need").despite is None
    assert recorded(lite) == [None]


def test_an_option_of_which_nothing_is_known_needs_no_reason(lite: Engine) -> None:
    loaded(lite, "equipment: sunroof", "without: sunroof")
    assert settle_variant(lite, "C 1", "cooler", "early").despite is None


def test_a_file_that_settles_against_what_is_known_is_remarked(lite: Engine) -> None:
    settled = ", settled: {u/cooler: early}"
    assert loaded(lite, *BY_DATE, settled) == [
        "C 1: cooler is settled as early, which it cannot have by what is known of it"
        " (built 2021-03-14): look at the car again"
    ]
    assert loaded(lite, *BY_DATE, settled.replace("early", "late")) == []
    settle_variant(lite, "C 1", "cooler", "early", despite="older engine")
    assert loaded(lite, *BY_DATE) == []
