"""Patterns: what is expected of a joint, by the parts that are named. All invented."""

from __future__ import annotations

import pytest
from sqlalchemy import Engine

from helpers import load, source
from kitting.errors import FileProblemsError
from kitting.files.catalogue.patterns import known_patterns
from kitting.files.catalogue.source import parse_catalogue
from kitting.services.catalogue.setup import GENERAL, seeds
from kitting.services.rubber.catalogue_rings import RingQuery, ring_rows
from kitting.store import reading
from kitting.wording.reasons import say

ITEMS = """
items:
  - {code: PLUG, name: Plug, kind: drain-plug, thread: M14x1.5, head: hexagon 17 mm}
  - {code: WASHER, name: Washer, kind: copper-washer}
  - {code: RING, name: Ring, kind: o-ring}
  - {code: BOLT, name: Bolt, kind: bolt}
  - {code: GASKET, name: Gasket, kind: paper-gasket}
  - {code: PASTE, name: Paste, kind: sealant, unit: ml}
  - {code: OWN, name: Own, kind: my-washer}
kinds:
  - {code: my-washer, name: a washer of our own, family: seal}
"""
JOINT = """
units:
  - code: u
    name: U
    joints:
      - code: j
        name: J
        system: engine
        like: %s
        parts: %s
"""


def joint_of(like: str, parts: str, more: str = "") -> str:
    return ITEMS + JOINT % (like, parts) + more


def shaped(text: str) -> list[tuple[str, str, int]]:
    (joint,) = source(text).catalogue.units[0].joints
    return [(fit.item, fit.all_positions[0], fit.quantity.thousandths) for fit in joint.fits]


def faults(text: str) -> list[str]:
    found, problems = parse_catalogue("p.yaml", text)
    assert found is None
    return [f"{one.line}: {one.reason}. {one.next_step}" for one in problems]


def test_the_parts_stand_where_the_pattern_puts_them() -> None:
    assert shaped(joint_of("plug-with-washer", "{plug: PLUG, washer: WASHER}")) == [
        ("PLUG", "plug", 1000),
        ("WASHER", "under the plug", 1000),
    ]


def test_what_the_file_says_goes_before_the_pattern_and_beside_it() -> None:
    parts = "{plug: {item: PLUG, position: lower plug, quantity: 2 each}, washer: none}"
    more = "        fits:\n          - {item: RING, position: lid}\n"
    assert shaped(joint_of("plug-with-washer", parts, more)) == [
        ("PLUG", "lower plug", 2000),
        ("RING", "lid", 1000),
    ]


def test_a_pattern_written_out_is_the_joint_that_somebody_would_type() -> None:
    patterned = source(
        joint_of("flange-with-gasket", "{gasket: GASKET, bolts: {item: BOLT, quantity: 4 each}}")
    )
    typed = source(
        ITEMS
        + """
units:
  - code: u
    name: U
    joints:
      - code: j
        name: J
        system: engine
        fits:
          - {item: GASKET, position: gasket}
          - {item: BOLT, position: flange bolts, quantity: 4 each}
"""
    )
    one, other = (
        found.catalogue.units[0]
        .joints[0]
        .model_dump(exclude={"like": True, "fits": {"__all__": {"role"}}})
        for found in (patterned, typed)
    )
    assert one == other


def test_a_use_of_a_pattern_needs_its_measure() -> None:
    bolts = "bolts: {item: BOLT, quantity: 6 each}"
    told = faults(joint_of("cover-with-sealant", f"{{{bolts}, sealant: PASTE}}"))
    assert any("give exactly one of amount, bead, film or drops" in one for one in told)
    full = f"{{{bolts}, sealant: {{item: PASTE, amount: 5 ml}}}}"
    (use,) = source(joint_of("cover-with-sealant", full)).catalogue.units[0].joints[0].uses
    assert (use.item, use.role) == ("PASTE", "sealant")


@pytest.mark.parametrize(
    ("like", "parts", "told"),
    [
        ("plug-with-wascher", "{plug: PLUG}", "20: unknown pattern 'plug-with-wascher'. Did you mean plug-with-washer or flange-with-gasket?"),
        ("plug-with-washer", "{plug: PLUG, wascher: WASHER}", "21: plug-with-washer has no part 'wascher'. Did you mean washer?"),
        ("plug-with-washer", "{washer: WASHER}", "21: plug-with-washer needs its plug (drain-plug, captive-washer-plug, plastic-drain-plug). Add 'plug: ITEM' to its parts; where there is none, 'plug: none'"),
        ("plug-with-washer", "{plug: {left: PLUG, right: PLUG}}", "21: its plug is given by side, and the joint has no sides. Add sides: [left, right] to the joint, or name one item"),
        ("plug-with-washer", "PLUG", "20: plug-with-washer needs its parts. Add parts: {plug: ITEM}"),
        ("flange-with-gasket", "{gasket: GASKET, bolts: BOLT}", "21: how many bolts there are differs from car to car, and none is given. Write 'bolts: {item: …, quantity: 4 each}' with their number"),
    ],
)  # fmt: skip
def test_what_a_pattern_cannot_take_is_refused_with_the_way_out(
    like: str, parts: str, told: str
) -> None:
    assert faults(joint_of(like, parts)) == [told]


def test_parts_without_a_pattern_are_refused() -> None:
    text = joint_of("x", "{plug: PLUG}").replace("        like: x\n", "")
    assert "20: parts need the pattern that they are of. Add 'like: …'" in faults(text)


def test_a_part_of_a_kind_that_nobody_expects_there_is_refused(store: Engine) -> None:
    with pytest.raises(FileProblemsError) as caught:
        load(store, joint_of("plug-with-washer", "{plug: PLUG, washer: BOLT}"))
    assert (
        "test.yaml:21: unit u joint j: BOLT is of the kind 'bolt', and the washer of"
        " plug-with-washer is one of copper-washer, crush-washer, bonded-washer, o-ring. Name"
        " another item; or write the joint out in 'fits', without the pattern"
    ) in str(caught.value)
    load(store, joint_of("plug-with-washer", "{plug: PLUG, washer: OWN}"))  # a kind of one's own


def test_what_a_pattern_cannot_know_is_asked(store: Engine) -> None:
    report = load(store, joint_of("plug-with-washer", "{plug: PLUG, washer: RING}"))
    assert [say(one) for one in report.remarks if "unknown" in say(one)] == [
        "still unknown: u/j: the fluids that it holds back",
        "still unknown: u/j 'plug': figure of PLUG",
        "still unknown: u/j 'under the plug': size, rubber of RING",
    ]
    again = load(
        store,
        joint_of(
            "plug-with-washer",
            "{plug: {item: PLUG, tightening: {stages: [25 N·m], source: page 1}}, washer: WASHER}",
            "        fluids: [engine-oil]\n",
        ),
    )
    assert [say(one) for one in again.remarks if "unknown" in say(one)] == [
        "still unknown: u/j 'under the plug': size of WASHER"
    ]


def test_the_size_of_a_washer_is_asked_until_it_is_stated(store: Engine) -> None:
    text = joint_of("plug-with-washer", "{plug: PLUG, washer: WASHER}")
    asked = "still unknown: u/j 'under the plug': size of WASHER"
    assert asked in [say(one) for one in load(store, text).remarks]
    sized = text.replace("code: WASHER,", "code: WASHER, ring_inside: 14 mm, ring_section: 1.5 mm,")
    assert sized != text
    assert asked not in [say(one) for one in load(store, sized).remarks]
    with reading(store) as session:
        assert ring_rows(session, RingQuery(14_000, 1_500)) == []  # a washer of metal is no ring


def test_every_kind_that_a_pattern_expects_is_one_of_the_general_rules() -> None:
    (general,) = seeds(GENERAL)
    kinds = {kind.code: kind for kind in general.catalogue.kinds}
    for pattern in known_patterns().values():
        for name, role in pattern.roles.items():
            assert set(role.kinds) <= set(kinds), (pattern.code, name)
            if "figure" in role.asks:
                assert all(kinds[kind].threaded for kind in role.kinds if kind != "v-band-clamp"), (
                    name
                )


def test_no_pattern_states_what_differs_from_car_to_car() -> None:
    for pattern in known_patterns().values():
        for name, role in pattern.parts.items():
            assert role.quantity in (None, "1 each", "2 each"), (pattern.code, name)
            assert role.position, (pattern.code, name)
