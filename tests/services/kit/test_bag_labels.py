"""What a bag's label says beside its contents: every word of warning, and what is applied there."""

from __future__ import annotations

import pytest
from sqlalchemy import Engine

from helpers import load, planned, unit
from kitting.services.kit.bags import kit_view
from kitting.views.kit import KitView

CAUTION = """
cautions:
  - {code: spring, title: Coil spring, word: UNDER TENSION, text: Compress it; the maker decides.}
"""
ITEMS = """
  - {code: SEAL, name: flange sealant, kind: sealant, unit: ml, pack: 20 ml}
  - {code: LOCK, name: threadlocker, kind: threadlocker, unit: ml, pack: 10 ml}
  - {code: OIL, name: assembly oil, kind: assembly-lubricant, unit: ml, pack: 100 ml}
"""
JOINTS = """
      - code: x1
        name: Cover
        system: engine
        uses: [{item: SEAL, amount: 2 ml}]
        fits:
          - item: BOLT
            position: b
            quantity: 4 each
            rules: [{rule: renew, source: maker, reference: test}]
            lubricant: {item: OIL, amount: 1 ml}
      - code: x2
        name: Other
        system: engine
        fits:
          - {item: RING, position: r, rules: [{rule: renew, source: maker, reference: test}]}
"""
STEPS = """
      - {code: S1, name: S, hours: 1 h, opens: [x1], cautions: [spring]}
      - {code: S2, name: S, hours: 1 h, opens: [x2], uses: [{item: LOCK, amount: 1 ml}]}
"""
JOBS = "\n      - {code: X1, name: X1, needs: [S1, S2]}"


@pytest.fixture
def kit(lite: Engine) -> KitView:
    load(lite, CAUTION + unit(JOINTS, STEPS, JOBS, items=ITEMS))
    return kit_view(planned(lite, "PELL 001", "X1"))


def test_the_word_of_a_step_stands_on_the_kit_and_on_the_bags_of_the_joints_it_opens(
    kit: KitView,
) -> None:
    assert "UNDER TENSION" in kit.hazards
    found = {bag.joint: bag.hazards for bag in kit.bags}
    assert "UNDER TENSION" in found["x1"]
    assert "UNDER TENSION" not in found["x2"]


def test_a_bag_names_what_is_applied_at_its_joint_but_lies_loose_in_the_kit(kit: KitView) -> None:
    found = {bag.joint: [(use.name, use.positions) for use in bag.uses] for bag in kit.bags}
    # The oil stands beside the bolts; what a step takes belongs to no joint.
    assert found == {"x1": [("flange sealant", ())], "x2": []}


ALIKE = """
      - code: x1
        name: Manifold
        system: engine
        fits:
          - {item: RING, position: port 1, lubricant: dry, rules: [{rule: renew, source: maker, reference: test}]}
          - {item: RING, position: stub, end: thin pipe, rules: [{rule: renew, source: maker, reference: test}]}
          - {item: RING, position: port 2, lubricant: dry, rules: [{rule: renew, source: maker, reference: test}]}
"""


def test_like_positions_of_one_item_share_a_code_and_every_other_end_has_its_own(
    lite: Engine,
) -> None:
    steps = "\n      - {code: S1, name: S, hours: 1 h, opens: [x1]}"
    load(lite, unit(ALIKE, steps, "\n      - {code: X1, name: X1, needs: [S1]}"))
    (bag,) = kit_view(planned(lite, "PELL 001", "X1")).bags
    assert {end.position: end.code.removeprefix(bag.code) for end in bag.ends} == {
        "port 1": "-1",
        "stub": "-2",
        "port 2": "-1",
    }


def test_a_word_of_warning_says_what_it_comes_of(kit: KitView) -> None:
    found = {(one.word, one.of) for bag in kit.bags for one in bag.warnings}
    assert found == {("UNDER TENSION", "Coil spring")}
    assert found < {(one.word, one.of) for one in kit.warnings}


CLASH = """
      - code: x1
        name: Brake line
        system: brakes
        fluids: [brake-fluid]
        fits:
          - {item: RING, position: r, lubricant: dry, rules: [{rule: renew, source: maker, reference: test}]}
          - {item: EP, position: s, lubricant: dry, rules: [{rule: renew, source: maker, reference: test}]}
"""


def test_a_bag_names_what_is_left_off_there_and_counts_its_old_seal_too(lite: Engine) -> None:
    items = "  - {code: EP, name: EPDM ring, kind: o-ring, elastomer: EPDM}"
    jobs = "\n      - {code: X1, name: X1, needs: [S1]}"
    steps = "\n      - {code: S1, name: S, hours: 1 h, opens: [x1]}"
    load(lite, unit(CLASH, steps, jobs, items=items))
    (bag,) = kit_view(planned(lite, "PELL 001", "X1")).bags
    # FKM does not stand brake fluid: its ring is left off, the old one comes out all the same.
    assert [line.content.item for line in bag.lines] == ["EP"]
    assert [(line.content.item, line.positions) for line in bag.left_off] == [("RING", ("r",))]
    assert bag.count_out == 2
