"""Pairs: written once, they are what somebody would have typed for each side. All invented."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sqlalchemy import Engine

from helpers import load
from kitting.files.catalogue.document import Catalogue
from kitting.files.catalogue.sides import slug
from kitting.files.catalogue.source import parse_catalogue
from kitting.services.catalogue.load import LoadReport

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
            "pair.yaml:12: units front › joints caliper: 'rite' is none of its sides. Did you mean"
            " right?",
        ),
        (
            "right: HOSE-R", "right: HOSE-R, rear: HOSE-X",
            "pair.yaml:12: units front › joints caliper: 'rear' is none of its sides. Give one for"
            " each side: left, right",
        ),
        (
            "{left: HOSE-L, right: HOSE-R}", "{lh: HOSE-L, rh: HOSE-R}",
            "pair.yaml:12: units front › joints caliper: 'lh' is none of its sides. Give one for"
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
    found = faults(PAIR.replace(old, new))
    assert found.count(told) == 1
    assert len(found) == len({one for one in found if "is none of its sides" in one} | {told})


def test_the_other_hand_is_never_what_was_meant() -> None:
    told = faults(PAIR.replace("{left: HOSE-L, right: HOSE-R}", "{left: HOSE-L, lefft: HOSE-R}"))
    assert told == [
        "pair.yaml:12: units front › joints caliper: 'lefft' is none of its sides. Give one for"
        " each side: left, right"
    ]


def test_a_slip_on_one_side_only_is_told_too() -> None:
    only = "{item: {left: WIRE-L, rihgt: WIRE-R}, position: wear wire, sides: [right]}"
    told = faults(PAIR.replace("{item: WIRE, position: wear wire, sides: [left]}", only))
    assert [one.partition("caliper: ")[2] for one in told] == [
        "'rihgt' is none of its sides. Did you mean right?"
    ]


@pytest.mark.parametrize(
    ("hose", "told"),
    [
        ("{left: HOSE-L, rihgt: HOSE-R}", "'rihgt' is none of its sides. Did you mean right?"),
        ("{left: HOSE-L}", "nothing is given for 'right'. Give one for each side: left, right"),
        (
            "{left: HOSE-L, right: HOSE-R, middle: X}",
            "'middle' is none of its sides. Give one for each side: left, right",
        ),
        (
            "{lef: HOSE-L, rihgt: HOSE-R}",
            "'lef' is none of its sides. Did you mean left?|"
            "'rihgt' is none of its sides. Did you mean right?",
        ),
    ],
)
def test_a_slip_in_a_part_of_a_pattern_is_one_fault_in_its_line(hose: str, told: str) -> None:
    text = f"""
units:
  - code: u
    name: U
    joints:
      - code: j
        name: J
        sides: [left, right]
        system: brakes
        like: hose-with-banjo
        parts:
          bolt: BANJO
          hose: {hose}
          washers: WASHER
"""
    assert faults(text) == [f"pair.yaml:13: units u › joints j: {one}" for one in told.split("|")]


def test_a_part_by_sides_that_the_joint_has_not_is_told_by_side() -> None:
    text = """
units:
  - code: u
    name: U
    joints:
      - code: j
        name: J
        sides: [front left, front right, rear left, rear right]
        system: brakes
        like: shaft-with-seal
        parts: {seal: {left: SEAL-L, right: SEAL-R}}
"""
    each = "Give one for each side: front left, front right, rear left, rear right"
    assert faults(text) == [
        f"pair.yaml:11: units u › joints j: '{side}' is none of its sides. {each}"
        for side in ("left", "right")
    ]


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


def test_a_key_of_a_joint_is_no_side_of_it() -> None:
    text = PAIR.replace("[left, right]", "[front, rear]").replace("sides: [left]", "sides: [front]")
    text = text.replace("left:", "front:").replace("right:", "rear:").replace("-left", "-front")
    text = text.replace("system: brakes\n", "system: brakes\n        front: the timing end\n", 1)
    (unit,) = shaped(text).units
    assert [joint.code for joint in unit.joints] == ["caliper-front", "caliper-rear"]
    assert {joint.front for joint in unit.joints} == {"the timing end"}


def test_a_name_may_be_given_by_side() -> None:
    (unit,) = shaped(
        PAIR.replace("name: brake\n", "name: {left: near one, right: far one}\n")
    ).units
    assert [joint.name for joint in unit.joints] == ["near one, left", "far one, right"]


def test_a_common_code_that_another_joint_has_is_refused() -> None:
    clash = PAIR.replace(
        "    steps:\n", "      - {code: caliper, name: other, system: s}\n    steps:\n"
    )
    assert (
        "pair.yaml:6: units front › joints caliper: its common code is also that of the one in line"
        " 17. Give one of them another code"
    ) in faults(clash)


def test_a_side_that_what_is_opened_has_not_is_refused() -> None:
    wrong = PAIR.replace(
        "name: brake off, hours: 0.4 h, sides: [left, right]",
        "name: brake off, hours: 0.4 h, sides: [lefft, right]",
    )
    told = faults(wrong)
    assert any(
        "steps brake: 'caliper' is on left, right, and not on 'lefft'. Name the same sides at both"
        in one
        for one in told
    ), told


def test_a_step_of_an_axle_opens_all_corners() -> None:
    text = """
units:
  - code: u
    name: u
    joints: [{code: c, name: C, system: s, sides: [front left, front right]}]
    steps: [{code: t, name: T, hours: 1 h, sides: [front, rear], opens: [c]}]
    jobs: [{code: x, name: X, needs: [t]}]
"""
    (unit,) = shaped(text).units
    for step in unit.steps:
        assert [one.joint for one in step.openings] == ["c-front-left", "c-front-right"]


def test_a_side_that_is_taken_out_of_the_file_goes_with_what_it_made(store: Engine) -> None:
    items = "items:\n" + "".join(
        f"  - {{code: {code}, name: {code}, kind: {kind}}}\n"
        for code, kind in (("PAD", "brake-pad"), ("HOSE-L", "brake-hose"), ("HOSE-R", "brake-hose"),
                           ("WIRE", "cable-tie"))
    )  # fmt: skip
    load(
        store,
        items + PAIR.split("        uses:\n")[0] + "    steps:\n" + PAIR.split("    steps:\n")[1],
    )
    three = (items + PAIR).replace(
        "        uses:\n          - {item: GREASE, amount: {left: 1 ml, right: 2 ml}}\n", ""
    )
    by_hand = BY_HAND.replace("        uses: [{item: GREASE, amount: 1 ml}]\n", "").replace(
        "        uses: [{item: GREASE, amount: 2 ml}]\n", ""
    )
    assert set(changes(load(store, three))) == set()
    assert changes(load(store, items + by_hand)) == {}  # what was typed out is the same rows
    mirrored = three.replace("[left, right]", "[left, other]").replace(
        "right: HOSE-R", "other: HOSE-R"
    )
    found = changes(load(store, mirrored))
    assert found["joints"] == (1, 0, 1)
    assert found["steps"] == (2, 0, 2)


def changes(report: LoadReport) -> dict[str, tuple[int, int, int]]:
    found = {sort: (c.added, c.changed, c.removed) for sort, c in report.counts.items()}
    return {sort: some for sort, some in found.items() if any(some)}


def test_a_file_without_pairs_is_left_as_it_is() -> None:
    source, _ = parse_catalogue("x.yaml", BY_HAND)
    assert source is not None
    assert source.repeated == frozenset()
    kept: Any = source.raw["units"][0]["joints"][0]["fits"][1]
    assert dict(kept) == {"item": "HOSE-L", "position": "hose"}
