"""What the kit really holds is judged, and nothing unknown counts as fine."""

from __future__ import annotations

from typing import Any

import pytest
from bench import CAR, NOT_FINE, NOW, ON, Bench


def doubts(plan: Any) -> set[tuple[str, str, str]]:
    """What is not fine of a plan or booking: verdict, aspect, code of the reason."""
    return {(d["verdict"], d["aspect"], d["because"]["code"]) for d in plan["doubts"]}


def rules(plan: Any) -> dict[str, tuple[str, str]]:
    """By position, what becomes of it and who said so."""
    return {
        place["position"]: (line["rule"], line["source"])
        for line in plan["lines"]
        for place in line["positions"]
    }


@pytest.fixture
def oil_ring(bench: Bench) -> Bench:
    """An FKM ring whose successor is EPDM, at engine oil; all of it is on the shelf."""
    bench.load("s1.yaml")
    bench.must("stock", "load", "st.csv", *NOW)
    return bench


def test_c1_a_ring_that_replaces_another_is_judged_by_its_own_rubber(oil_ring: Bench) -> None:
    suits = oil_ring.run("rings", "suits", "EPDM", "engine-oil")
    assert "CLASH" in suits.out
    plan = oil_ring.plan("J")
    assert plan["verdict"] == "no"
    ended = oil_ring.run("plan", CAR, "J", *ON)
    assert "Instead: " not in ended.out  # the old ring would stand it, and it goes to scrap
    (clash,) = (line for line in plan["lines"] if line["item"] == "NEW-EPDM")
    assert (clash["stands_for"], clash["elastomer"], clash["verdict"]) == ("OLD-FKM", "EPDM", "no")
    assert clash["stopped_by"] != []
    assert [line["item"] for line in plan["lines"]].count("OLD-FKM") == 0


def test_c1_a_kit_with_a_ring_that_fails_there_is_not_ready_and_not_confirmed(
    oil_ring: Bench,
) -> None:
    number, booked = oil_ring.book("J")
    assert booked.code == NOT_FINE
    assert "NOT READY: NO" in booked.out
    assert "NO: EPDM in engine oil at a (NEW-EPDM)" in booked.said
    confirmed = oil_ring.run("booking", "confirm", number, *NOW)
    assert (confirmed.code, "stays provisional" in confirmed.said) == (NOT_FINE, True)


def test_c1_paper_never_names_the_old_ring_for_a_bag_with_the_new_one(oil_ring: Bench) -> None:
    number, _ = oil_ring.book("J")
    for sheet in ("labels", "pick"):
        ended, text = oil_ring.sheet(sheet, "--booking", number, *NOW)
        assert ended.code == NOT_FINE
        assert "OLD-FKM" not in text
        assert "20×2mmFKM" not in text
        assert "NEW-EPDM" in text


def test_c1_a_successor_takes_over_only_from_its_day(oil_ring: Bench) -> None:
    plan = oil_ring.plan("J")
    (later,) = (line for line in plan["lines"] if line["item"] == "OLD2")
    assert (later["stands_for"], later["notes"]) == (None, [])
    assert "replaced by" not in oil_ring.run("plan", CAR, "J", *ON, "--full").out.lower()
    after = oil_ring.plan("J", on=("--on", "2030-01-01"))
    assert {line["item"] for line in after["lines"]} == {"NEW-EPDM"}


def test_c1_a_bolt_that_replaces_another_brings_its_head_and_not_its_figure(bench: Bench) -> None:
    bench.load("s2.yaml")
    bench.must("toolbox", "load", "s2.csv")
    plan = bench.plan("J")
    (tightening,) = plan["tightenings"]
    assert tightening["item"] == "NEWB"
    assert tightening["head"] == "external six-lobe E14"
    assert (tightening["stages"], tightening["withheld_for"]) == ([], "OLDB")
    checked = bench.check()
    assert checked.ended.code == NOT_FINE
    heads = {
        (need["what"]["task"], need["what"]["head"]["size"]): need["state"]
        for need in checked.needs
        if need["what"]["head"]
    }
    assert heads == {("undo", "E12"): "unknown", ("torque", "E14"): "unknown"}
    assert [need["what"]["torque"] for need in checked.needs] == [None] * 3
    number, _ = bench.book("J")
    ended, text = bench.sheet("tighten", "--booking", number, "--box", "b", *NOW)
    assert ended.code == NOT_FINE
    assert "60N·m" not in text
    assert "NOFIGURE:LOOKITUP" in text


def test_c3_rings_of_fuel_and_refrigerant_are_renewed_whatever_fluid_is_listed(
    bench: Bench,
) -> None:
    bench.load("fu.yaml")
    # p1 no fluid at an injector, p2 none at a compressor, p3 an own fluid that is petrol.
    assert rules(bench.plan("J")) == dict.fromkeys(("p1", "p2", "p3"), ("renew", "general"))


@pytest.mark.parametrize("order", [(0, 1, 2), (2, 1, 0), (1, 2, 0)])
def test_c4_the_strongest_bar_wins_in_any_order_of_rules(
    bench: Bench, order: tuple[int, ...]
) -> None:
    text = (bench.folder / "tie.yaml").read_text(encoding="utf-8")
    stated = [line for line in text.splitlines(keepends=True) if line.startswith("      - {rule")]
    assert len(stated) == 3
    moved = text.replace("".join(stated), "".join(stated[n] for n in order))
    bench.load(bench.write("moved.yaml", moved))
    assert rules(bench.plan("J")) == {"p": ("renew", "general")}


def test_c4_a_rule_more_takes_no_bar_away(bench: Bench) -> None:
    bench.load(bench.changed("tie.yaml", ("      - {rule: renew, system: fuel}\n", "")))
    assert rules(bench.plan("J")) == {"p": ("renew", "general")}
    bench.load("tie.yaml")
    assert rules(bench.plan("J")) == {"p": ("renew", "general")}


def test_c10_the_workshop_keeps_no_ear_clamp_and_no_split_pin(bench: Bench) -> None:
    bench.load("r1.yaml")
    found = rules(bench.plan("J"))
    assert (found["ec"], found["sp"]) == (("renew", "general"), ("renew", "general"))


JOINT = """
items: [{code: HOSE-X, name: hose, kind: hose}]
units:
  - code: u
    name: U
    joints: [{code: j, name: J, system: %s, %s fits: [{item: HOSE-X, position: p}]}]
    steps: [{code: S, name: s, hours: 1 h, opens: [j]}]
    jobs: [{code: J, name: job, needs: [S]}]
models: [{code: m, name: M, units: [u]}]
vehicles: [{registration: C 1, model: m}]
"""


@pytest.mark.parametrize(
    ("system", "fluids", "said"),
    [
        ("fuel", "", "Fuel burns"),
        ("fuel", "fluids: [diesel],", "Fuel burns"),
        ("air-conditioning", "", "Refrigerant is under pressure"),
        ("cooling", "", "scald"),
    ],
)
def test_c10_a_system_has_its_caution_where_no_fluid_says_it(
    bench: Bench, system: str, fluids: str, said: str
) -> None:
    bench.load(bench.write("joint.yaml", JOINT % (system, fluids)))
    assert said in bench.run("plan", CAR, "J", *ON, "--full").said


@pytest.mark.parametrize(
    ("system", "licence"),
    [("restraints", "restraint"), ("high-voltage", "high-voltage"), ("air-conditioning", "refrig")],
)
def test_c10_a_joint_asks_for_its_licence_though_no_step_names_one(
    bench: Bench, system: str, licence: str
) -> None:
    bench.load(bench.write("joint.yaml", JOINT % (system, "")))
    (asked,) = bench.plan("J")["licences"]
    assert licence in str(asked).lower()


def test_c10_an_option_that_the_build_date_excludes_is_not_settled_without_a_word(
    bench: Bench,
) -> None:
    car = "vehicles: [{registration: C 1, model: m"
    bench.load(bench.changed("v1.yaml", (car, f"{car}, build_date: 2021-03-14")))
    refused = bench.run("settle", CAR, "s", "e")
    assert refused.code == 1
    assert "--despite" in refused.said
    assert "2021" in refused.said
    bench.must("settle", CAR, "s", "e", "--despite", "the unit was exchanged")
