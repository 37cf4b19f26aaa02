"""Pairs: written once, they are what somebody would have typed for each side. All invented."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kitting.files.catalogue.document import Catalogue
from kitting.files.catalogue.sides import slug
from kitting.files.catalogue.source import parse_catalogue

PAIR = """
units:
  - code: front
    name: front
    joints:
      - code: caliper
        name: brake
        sides: [left, right]
        system: brakes
        fits:
          - {item: PAD, position: pads, quantity: 2 each, group: pads}
          - item: {left: HOSE-L, right: HOSE-R}
            position: hose
          - {item: WIRE, position: wear wire, sides: [left]}
        uses:
          - {item: GREASE, amount: {left: 1 ml, right: 2 ml}}
    steps:
      - {code: wheel, name: wheel off, hours: 0.2 h, sides: [left, right]}
      - {code: brake, name: brake off, hours: 0.4 h, sides: [left, right], needs: [wheel], opens: [caliper]}
      - {code: bleed, name: bleed, hours: 0.5 h, needs: [brake], opens: [{joint: caliper, reopened: 1}]}
    jobs:
      - {code: F, name: front, needs: [brake], renews: [{joint: caliper, position: pads}]}
      - {code: L, name: left only, needs: [brake-left]}
"""
BY_HAND = """
units:
  - code: front
    name: front
    joints:
      - code: caliper-left
        name: brake, left
        system: brakes
        fits:
          - {item: PAD, position: pads, quantity: 2 each, group: pads}
          - {item: HOSE-L, position: hose}
          - {item: WIRE, position: wear wire}
        uses: [{item: GREASE, amount: 1 ml}]
      - code: caliper-right
        name: brake, right
        system: brakes
        fits:
          - {item: PAD, position: pads, quantity: 2 each, group: pads}
          - {item: HOSE-R, position: hose}
        uses: [{item: GREASE, amount: 2 ml}]
    steps:
      - {code: wheel-left, name: "wheel off, left", hours: 0.2 h}
      - {code: wheel-right, name: "wheel off, right", hours: 0.2 h}
      - {code: brake-left, name: "brake off, left", hours: 0.4 h, needs: [wheel-left], opens: [caliper-left]}
      - {code: brake-right, name: "brake off, right", hours: 0.4 h, needs: [wheel-right], opens: [caliper-right]}
      - code: bleed
        name: bleed
        hours: 0.5 h
        needs: [brake-left, brake-right]
        opens: [{joint: caliper-left, reopened: 1}, {joint: caliper-right, reopened: 1}]
    jobs:
      - code: F
        name: front
        needs: [brake-left, brake-right]
        renews: [{joint: caliper-left, position: pads}, {joint: caliper-right, position: pads}]
      - {code: L, name: left only, needs: [brake-left]}
"""


def shaped(text: str) -> Catalogue:
    source, problems = parse_catalogue("pair.yaml", text)
    assert source is not None, problems
    return source.catalogue


def faults(text: str) -> list[str]:
    source, problems = parse_catalogue("pair.yaml", text)
    assert source is None
    return [str(one) for one in problems]


def test_a_pair_is_what_somebody_would_type_for_each_side() -> None:
    assert shaped(PAIR) == shaped(BY_HAND)


@given(
    st.lists(
        st.text("abcdefgh123 ", min_size=1, max_size=8).filter(lambda text: slug(text) != ""),
        min_size=2, max_size=12, unique_by=slug,
    ),
    st.integers(1, 5),
)  # fmt: skip
def test_any_sides_make_a_joint_and_a_step_each(sides: list[str], count: int) -> None:
    sides = [side.strip() for side in sides]
    listed = ", ".join(f'"{side}"' for side in sides)
    (unit,) = shaped(
        f"""
units:
  - code: u
    name: u
    joints:
      - {{code: j, name: J, sides: [{listed}], system: s, fits: [{{item: A, position: p, quantity: {count} each}}]}}
    steps:
      - {{code: t, name: T, hours: 1 h, sides: [{listed}], opens: [j]}}
    jobs: [{{code: x, name: X, needs: [t]}}]
"""
    ).units
    codes = [f"j-{slug(side)}" for side in sides]
    assert [joint.code for joint in unit.joints] == codes
    assert [joint.name for joint in unit.joints] == [f"J, {side}" for side in sides]
    assert [[one.joint for one in step.openings] for step in unit.steps] == [[c] for c in codes]
    assert unit.jobs[0].needs == tuple(step.code for step in unit.steps)
    assert {joint.fits[0].quantity.thousandths for joint in unit.joints} == {1000 * count}


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        (
            "sides: [left, right]\n        system", "sides: left\n        system",
            "pair.yaml:8: units front › joints caliper: sides are a list of 2 to 12 names. Write"
            " for example sides: [left, right]",
        ),
        (
            "sides: [left, right]\n        system", "sides: [left]\n        system",
            "pair.yaml:8: units front › joints caliper: sides are a list of 2 to 12 names. Write"
            " for example sides: [left, right]",
        ),
        (
            "sides: [left, right]\n        system", "sides: [a b, a-b]\n        system",
            "pair.yaml:8: units front › joints caliper: its sides 'a b', 'a-b' give no codes that"
            " differ. Name each side by other letters",
        ),
        (
            "right: HOSE-R", "rite: HOSE-R",
            "pair.yaml:12: units front › joints caliper: 'rite' stands among sides. Give one for"
            " each side: left, right",
        ),
        (
            ", right: HOSE-R", "",
            "pair.yaml:12: units front › joints caliper: nothing is given for 'right'. Give one for"
            " each side: left, right",
        ),
        (
            "sides: [left]}", "sides: [lift]}",
            "pair.yaml:14: units front › joints caliper: 'lift' is none of the sides of the whole:"
            " left, right. Name a list of some of them",
        ),
        (
            "    steps:\n", "      - {code: caliper-left, name: other, system: s}\n    steps:\n",
            "pair.yaml:8: units front › joints caliper: its side 'left' makes the code"
            " 'caliper-left', which line 17 has already. Give one of them another code",
        ),
    ],
)  # fmt: skip
def test_what_is_wrong_with_sides_is_told_once_with_its_line(old: str, new: str, told: str) -> None:
    assert PAIR.count(old) == 1
    assert told in faults(PAIR.replace(old, new))


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("quantity: 2 each, ", "quantity: 2 ech, ", "pair.yaml:11:"),
        ("position: hose", "positon: hose", "pair.yaml:13:"),
    ],
)
def test_a_fault_of_shape_is_told_once_for_all_sides(old: str, new: str, told: str) -> None:
    found = faults(PAIR.replace(old, new))
    assert len([one for one in found if one.startswith(told)]) == 1, found


def test_a_file_without_pairs_is_left_as_it_is() -> None:
    source, _ = parse_catalogue("x.yaml", BY_HAND)
    assert source is not None
    assert source.repeated == frozenset()
    kept: Any = source.raw["units"][0]["joints"][0]["fits"][1]
    assert dict(kept) == {"item": "HOSE-L", "position": "hose"}
