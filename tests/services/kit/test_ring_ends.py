"""Bags and labels that keep rings apart which could be swapped. All catalogues are invented."""

from __future__ import annotations

from collections import defaultdict
from itertools import combinations

import pytest
from sqlalchemy import Engine

from helpers import NOW, ON, SUPPLY, booked, load, planned, unit
from kitting.calc.rubber.ring_ends import RingEnd, swappable
from kitting.services.bookings.findings_sheet import findings_view
from kitting.services.bookings.seal_count import count_seals, removal_view
from kitting.services.bookings.states import find_booking
from kitting.services.kit.bags import kit_view
from kitting.services.kit.pick import pick_view
from kitting.services.planning.request import PlanRequest, ToolRequest
from kitting.services.tightening.sheet import tighten
from kitting.store import reading
from kitting.views.kit import Bag, KitView
from kitting.wording.kit import differs_text, part_text

ITEMS = """
  - {code: THICK, name: Thick ring, kind: o-ring, elastomer: FKM, hardness: 75, ring_inside: 17 mm, ring_section: 2.5 mm, colour: brown}
  - {code: THIN, name: Thin ring, kind: o-ring, elastomer: EPDM, hardness: 70, ring_inside: 17 mm, ring_section: 2 mm, colour: black}
  - {code: SMALL, name: Small ring, kind: o-ring, elastomer: FKM, hardness: 75, ring_inside: 7.6 mm, ring_section: 1.8 mm}
  - {code: VAGUE, name: Vague ring, kind: o-ring, elastomer: FKM}
  - {code: GASKET, name: Gasket, kind: moulded-gasket}
"""
JOINTS = """
      - code: pipe
        name: pipe to block
        system: cooling
        fits:
          - {item: THICK, position: upper stub, end: short leg}
          - {item: BOLT, position: pipe bolts, quantity: 2 each, tightening: {stages: [9 N·m], thread: dry, source: test}}
          - {item: THIN, position: lower stub, end: long leg}
          - {item: SMALL, position: sensor}
          - {item: THICK, position: bypass stub, end: bent leg}
          - {item: GASKET, position: cover}
      - code: drain
        name: drain
        system: cooling
        fits:
          - {item: THIN, position: drain plug}
"""
STEPS = """
      - {code: S1, name: pipe off, hours: 1 h, opens: [pipe, drain]}
"""
JOBS = """
      - {code: X1, name: pipe seals, needs: [S1]}
"""


@pytest.fixture
def pipes(lite: Engine) -> Engine:
    """A car with a joint whose rings could be swapped."""
    load(lite, unit(JOINTS, STEPS, JOBS, items=ITEMS) + SUPPLY)
    return lite


def rings(bag: Bag) -> list[RingEnd]:
    """The rings of a bag as they are told apart."""
    return [
        RingEnd(bag.joint, end.position, end.end, end.content.item, kind=end.kind)
        if end.ring is None
        else RingEnd(
            bag.joint,
            end.position,
            end.end,
            end.content.item,
            end.ring.inside,
            end.ring.section,
            end.elastomer,
            end.hardness,
            kind=end.kind,
        )
        for end in bag.ends
    ]


def kit(engine: Engine, *jobs: str) -> KitView:
    """The kit of some jobs on the only car."""
    return kit_view(planned(engine, "PELL 001", *jobs))


def test_rings_that_could_be_swapped_lie_in_two_bags_and_all_else_in_the_first(
    pipes: Engine,
) -> None:
    drain, first, second = kit(pipes, "X1").bags
    assert (drain.joint, drain.part, drain.parts, part_text(drain)) == ("drain", 1, 1, "")
    assert (first.number, first.code[-3:], part_text(first)) == (
        2,
        "-02",
        "bag 1 of 2 of this joint",
    )
    assert (second.number, second.code[-3:], part_text(second)) == (
        3,
        "-03",
        "bag 2 of 2 of this joint",
    )
    assert first.joint_name == second.joint_name == "pipe to block"
    assert [end.position for end in first.ends] == ["sensor", "upper stub", "bypass stub"]
    assert [end.position for end in second.ends] == ["lower stub"]
    assert {line.content.item for line in first.lines} == {"THICK", "SMALL", "BOLT", "GASKET"}
    assert {line.content.item for line in second.lines} == {"THIN"}
    assert len(first.tightening) == 1
    assert second.tightening == ()


def test_each_bag_counts_its_own_old_seals_and_the_joint_all_of_them(pipes: Engine) -> None:
    _, first, second = kit(pipes, "X1").bags
    # Three rings and the gasket; one ring.
    assert (first.count_out, second.count_out) == (4, 1)


def test_a_label_says_how_its_ring_is_told_from_every_other_of_the_kit(pipes: Engine) -> None:
    told = {
        end.position: tuple(map(differs_text, end.differs))
        for bag in kit(pipes, "X1").bags
        for end in bag.ends
    }
    assert told == {
        "sensor": (),
        "upper stub": (
            "not drain plug / long leg (17 × 2 mm, EPDM 70): section 2.5 mm, not 2 mm;"
            " FKM, not EPDM; hardness 75, not 70; as supplied brown, the other black",
        ),
        "bypass stub": told["upper stub"],
        "lower stub": (
            "not short leg / bent leg (17 × 2.5 mm, FKM 75): section 2 mm, not 2.5 mm;"
            " EPDM, not FKM; hardness 70, not 75; as supplied black, the other brown",
        ),
        "drain plug": told["lower stub"],
    }


def test_the_pick_list_names_the_bag_in_which_each_ring_lies(pipes: Engine) -> None:
    view = pick_view(planned(pipes, "PELL 001", "X1"))
    assert {
        line.content.item: line.bags for line in view.lines if line.content.rule != "use"
    } == {
        "THICK": (2,), "THIN": (1, 3), "SMALL": (2,), "GASKET": (2,),
    }  # fmt: skip


def test_a_joint_of_two_bags_is_tightened_once(pipes: Engine) -> None:
    with reading(pipes) as session:
        view = tighten(session, ToolRequest(PlanRequest("PELL 001", ("X1",), ON)))
    assert [(joint.bag, joint.joint, len(joint.rows)) for joint in view.joints] == [(2, "pipe", 1)]


def test_old_seals_are_counted_by_joint_whatever_the_bags(pipes: Engine) -> None:
    booking = booked(pipes, "X1")
    with reading(pipes) as session:
        view = removal_view(session, find_booking(session, booking.number))
    assert [(joint.bag, joint.joint, joint.joint_name, joint.expected) for joint in view.joints] == [
        (2, "pipe", "pipe to block", 5), (1, "drain", "drain", 1),
    ]  # fmt: skip
    counted = count_seals(pipes, booking.number, {"pipe": 5, "drain": 1}, NOW)
    assert counted.withheld == ()


def test_a_ring_to_inspect_is_found_in_its_own_bag(lite: Engine) -> None:
    rule = "rules: [{rule: inspect, source: workshop, criterion: whole, reference: test}]"
    joints = f"""
      - code: pipe
        name: pipe
        system: engine
        fits:
          - {{item: THICK, position: upper, {rule}}}
          - {{item: THIN, position: lower, {rule}}}
"""
    steps, jobs = STEPS.replace("[pipe, drain]", "[pipe]"), JOBS
    load(lite, unit(joints, steps, jobs, items=ITEMS) + SUPPLY)
    booking = booked(lite, "X1")
    with reading(lite) as session:
        view = findings_view(session, booking.number)
    assert [(row.bag, row.item) for row in view.rows] == [(1, "THICK"), (2, "THIN")]


def test_a_ring_of_unknown_size_lies_apart_and_its_label_says_so(lite: Engine) -> None:
    joints = """
      - code: cover
        name: cover
        system: engine
        fits:
          - {item: VAGUE, position: groove}
          - {item: SMALL, position: sensor}
      - code: other
        name: other
        system: engine
        fits:
          - {item: THIN, position: stub}
"""
    load(lite, unit(joints, STEPS.replace("pipe, drain", "cover, other"), JOBS, items=ITEMS))
    bags = kit(lite, "X1").bags
    assert [(bag.joint, [end.position for end in bag.ends]) for bag in bags] == [
        ("other", ["stub"]), ("cover", ["sensor"]), ("cover", ["groove"]),
    ]  # fmt: skip
    assert [tuple(map(differs_text, end.differs)) for bag in bags for end in bag.ends] == [
        (),
        ("not groove (size not stated, FKM): the other's size not stated; the other's hardness not"
         " stated: ask before fitting",),
        ("not sensor (7.6 × 1.8 mm, FKM 75): size not stated; hardness not stated:"
         " ask before fitting",),
    ]  # fmt: skip


def test_an_end_name_that_two_ends_bear_is_given_with_its_position(lite: Engine) -> None:
    joints = """
      - code: one
        name: one
        system: engine
        fits:
          - {item: THIN, position: into the pump, end: thin line}
      - code: two
        name: two
        system: engine
        fits:
          - {item: THICK, position: into the block, end: thin line}
"""
    load(lite, unit(joints, STEPS.replace("pipe, drain", "one, two"), JOBS, items=ITEMS))
    texts = [differs_text(end.differs[0]) for bag in kit(lite, "X1").bags for end in bag.ends]
    assert [text.split(":")[0] for text in texts] == [
        "not thin line (into the pump) (17 × 2 mm, EPDM 70)",
        "not thin line (into the block) (17 × 2.5 mm, FKM 75)",
    ]


DEMO = (
    ("PELL 117", ("J1", "J2", "J3", "J4", "J5", "J6", "J7")),
    ("PELL 042", ("J1", "J2", "J3", "J4", "J5", "J6", "J7")),
    ("PELD 207", ("J8",)),
    ("TANS 311", ("J9",)),
)


@pytest.mark.parametrize("cooler", ["early", "late"])
@pytest.mark.parametrize(("car", "jobs"), [
    (car, chosen)
    for car, jobs in DEMO
    for chosen in (*((job,) for job in jobs), *((jobs,) if len(jobs) > 1 else ()))
])  # fmt: skip
def test_no_two_rings_of_a_demo_bag_could_be_swapped(
    lite_garage: Engine, car: str, jobs: tuple[str, ...], cooler: str
) -> None:
    assumed = {"cooler": cooler} if car.startswith("PELL") else {}
    plan = planned(lite_garage, car, *jobs, assumed=assumed)
    bags = kit_view(plan).bags
    assert bags
    for bag in bags:
        assert not any(swappable(a, b) for a, b in combinations(rings(bag), 2)), bag.joint
    assert [bag.number for bag in bags] == list(range(1, len(bags) + 1))
    assert len({bag.code for bag in bags}) == len(bags)
    # Whatever the bags, every position of the plan is in one, and each ring has its label.
    expected = defaultdict(list)
    for line in plan.lines:
        for position in line.positions:
            if not line.stopped_by and line.family == "ring":
                expected[position.joint].append(position.position)
    found = defaultdict(list)
    for bag in bags:
        found[bag.joint] += [end.position for end in bag.ends]
    found = defaultdict(list, {joint: ends for joint, ends in found.items() if ends})
    assert {j: sorted(p) for j, p in found.items()} == {j: sorted(p) for j, p in expected.items()}


@pytest.mark.parametrize("cooler", ["early", "late"])
def test_every_swappable_pair_of_the_demo_is_told_on_both_labels(
    lite_garage: Engine, cooler: str
) -> None:
    bags = kit_view(planned(lite_garage, "PELL 117", *DEMO[0][1], assumed={"cooler": cooler})).bags
    ends = [(end, ring) for bag in bags for end, ring in zip(bag.ends, rings(bag), strict=True)]
    pairs = [(a, b) for a, b in combinations(ends, 2) if swappable(a[1], b[1])]
    assert pairs
    for one, other in [*pairs, *((b, a) for a, b in pairs)]:
        name = other[0].end or other[0].position
        assert any(name in "".join(found.ends) for found in one[0].differs), (one, name)


def test_the_two_ends_of_the_rear_coolant_pipe_are_told_apart(lite_garage: Engine) -> None:
    bags = kit_view(planned(lite_garage, "PELL 117", "J1")).bags
    (pump,) = (end for bag in bags for end in bag.ends if end.end == "pump end, short leg")
    assert tuple(map(differs_text, pump.differs)) == (
        "not heater end, long leg (17 × 2 mm, EPDM 70): section 2.5 mm, not 2 mm; FKM, not EPDM;"
        " hardness 75, not 70; as supplied brown, the other black",
    )


def test_the_removal_count_names_each_bag_that_a_joint_lies_in_with_its_own_seals(
    pipes: Engine,
) -> None:
    number = booked(pipes, "X1").number
    with reading(pipes) as session:
        joints = {
            one.joint: one for one in removal_view(session, find_booking(session, number)).joints
        }
    labelled: dict[int, int] = defaultdict(int)
    for bag in kit_view(planned(pipes, "PELL 001", "X1")).bags:
        if bag.joint == "pipe" and bag.count_out:
            labelled[bag.number] += bag.count_out
    assert len(labelled) > 1
    assert joints["pipe"].bags == labelled
    assert joints["drain"].bags == {}
