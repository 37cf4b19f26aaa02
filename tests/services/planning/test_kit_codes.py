"""The code of a kit: one part of the car, one of what is in it, read back as a person types it."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sqlalchemy import Engine

from helpers import load, planned, unit
from kitting.services.planning.kit_code import LabelCode, car_part, read_code, same_car

RING = "item: RING, position: p, quantity: 1 each"
BOLT = "item: BOLT, position: b, tightening: {stages: [8 N·m], thread: dry, source: s}"
GREASE = "  - {code: GREASE, name: Grease, kind: joint-grease, medium: silicone-grease, unit: g}"
JOB = "X1, name: One, needs: [S1]"


def code(engine: Engine, was: str = "", now: str = "") -> str:
    """The code of a kit, of a catalogue in which something is stated otherwise."""
    text = unit(
        f"\n      - {{code: a, name: A, system: engine, fluids: [diesel], fits: [{{{RING}}},"
        f" {{{BOLT}}}], uses: [{{item: GREASE, amount: 2 g, note: on it}}]}}",
        "      - {code: S1, name: One, hours: 1 h, opens: [a]}",
        f"      - {{code: {JOB}}}",
        GREASE,
    )
    assert was in text
    load(engine, text.replace(was, now) if was else text)
    return planned(engine, "PELL 001", "X1").reference


@pytest.mark.parametrize(
    ("was", "now"),
    [
        ("quantity: 1 each", "quantity: 2 each"),
        ("position: p", "position: q"),
        ("8 N·m", "9 N·m"),
        ("amount: 2 g", "amount: 3 g"),
        ("elastomer: FKM", "elastomer: NBR"),
        ("elastomer: FKM", "elastomer: FKM, hardness: 80"),
        ("thread: M6", "thread: M8"),
        (BOLT, f"{BOLT}, rules: [{{rule: renew, source: maker, reference: r}}]"),
        (RING, f"{RING}, lubricant: {{item: GREASE, amount: 1 g}}"),
        (RING, f"{RING}, end: long leg"),
        ("elastomer: FKM", "elastomer: EPDM"),  # which is not fine in diesel
    ],
)
def test_what_a_label_says_of_the_contents_changes_the_code(
    lite: Engine, was: str, now: str
) -> None:
    before = code(lite)
    after = code(lite, was, now)
    assert before != after
    assert before[:5] == after[:5]
    assert code(lite) == before


@pytest.mark.parametrize(("was", "now"), [("name: Ring", "name: A ring"), ("name: A,", "name: B,")])
def test_other_names_of_the_same_contents_leave_it(lite: Engine, was: str, now: str) -> None:
    assert code(lite) == code(lite, was, now)


def test_another_day_or_job_changes_all_but_the_part_of_the_car(lite_garage: Engine) -> None:
    plans = [
        planned(lite_garage, "PELL 117", "J1"),
        planned(lite_garage, "PELL 117", "J1", "J2"),
        planned(lite_garage, "PELL 117", "J1", on=date(2026, 4, 16)),
    ]
    codes = [plan.reference for plan in plans]
    assert len(set(codes)) == 3
    assert {one[:5] for one in codes} == {car_part("PELL 117")}
    assert all(same_car(one, "pell-117") for one in codes)
    assert not same_car(codes[0], "PELL 042")


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("K0123ABC", LabelCode("K0123ABC")),
        (" k0123abc-07 ", LabelCode("K0123ABC", 7)),
        ("KOI23ABC-1", LabelCode("K0123ABC", 1)),
        ("k0123abc-07-2", LabelCode("K0123ABC", 7, 2)),
        ("K0123ABC-07-", None),
        ("K0123ABC-07-x", None),
        ("K0123ABC-07-2-1", None),
        ("K012ABC", None),
        ("K0123ABCD", None),
        ("B0123ABC", None),
        ("K0123ABU", None),
        ("K0123ABC-", None),
        ("K0123ABC-x", None),
        ("", None),
    ],
)
def test_a_code_is_read_as_it_is_typed(text: str, found: LabelCode | None) -> None:
    assert read_code(text) == found


@given(st.text(max_size=12))
def test_no_text_breaks_it(text: str) -> None:
    found = read_code(text)
    assert found is None or len(found.kit) == 8
