"""What goes back in whole plans: general rules as they come, own fluids, policy, licences."""

from __future__ import annotations

import pytest
from sqlalchemy import Engine, delete, select, update

from helpers import line_of, load, planned
from kitting.services.catalogue.load import load_sources
from kitting.services.catalogue.setup import GENERAL, seeds, set_up
from kitting.services.planning.explain import why
from kitting.store import reading
from kitting.tables.vocabulary import KindRule
from kitting.views.catalogue import LoadRemark
from kitting.views.plan import PlanView
from kitting.wording.reasons import say

KEEP = "rules: [{rule: keep, source: workshop, reference: our policy}]"


def plan_of(
    engine: Engine, kind: str, joint: str, extra: str = "", rules: str = KEEP, more: str = ""
) -> PlanView:
    """A plan that opens one joint with one part."""
    load(engine, plan_text(kind, joint, extra, rules, more))
    return planned(engine, "C 1", "J")


def plan_text(kind: str, joint: str, extra: str = "", rules: str = KEEP, more: str = "") -> str:
    """The catalogue of that plan."""
    return f"""
{extra}
items: [{{code: PART, name: part, kind: {kind}}}]
units:
  - code: u
    name: U
    joints:
      - {{code: j, name: J, {joint}, fits: [{{item: PART, position: p, {rules}}}]}}
    steps: [{{code: S, name: s, hours: 1 h, opens: [j]}}]
    jobs: [{{code: J, name: job, needs: [S]}}]
models: [{{code: m, name: M, units: [u] {more}}}]
vehicles: [{{registration: C 1, model: m}}]
"""


OWN_FLUID = "fluids: [{code: e85, name: E85, medium: petrol}]"


@pytest.mark.parametrize(
    ("joint", "extra"),
    [
        ("system: high-pressure-fuel", ""),
        ("system: fuel", ""),
        ("system: air-conditioning", ""),
        ("system: brakes", ""),
        ("system: engine, fluids: [e85]", OWN_FLUID),
        ("system: engine, fluids: [engine-oil, diesel]", ""),
        ("system: gearbox, fluids: [brake-fluid]", ""),
    ],
)
def test_no_policy_keeps_a_ring_of_fuel_cold_or_brakes_whether_the_fluid_is_listed_or_not(
    store: Engine, joint: str, extra: str
) -> None:
    line = line_of(plan_of(store, "o-ring", joint, extra), "PART")
    assert (line.rule, line.source, line.relaxed_by) == ("renew", "general", "nobody")


def test_what_a_fluid_is_on_this_car_bars_a_ring(store: Engine) -> None:
    extra = "fluids: [{code: charge, name: charge}]"
    car = ", fluids: [{fluid: charge, medium: r134a-pag, reference: maker}]"
    joint = "system: engine, fluids: [charge]"
    assert line_of(plan_of(store, "o-ring", joint, extra), "PART").rule == "keep"
    assert line_of(plan_of(store, "o-ring", joint, extra, more=car), "PART").rule == "renew"


def test_a_refrigerant_of_which_no_rating_is_known_bars_a_ring_and_proves_nothing(
    store: Engine,
) -> None:
    extra = "fluids: [{code: charge, name: charge}]"
    car = ", fluids: [{fluid: charge, medium: r744-pag, reference: maker}]"
    joint = "system: air-conditioning, fluids: [charge]"
    text = plan_text("o-ring", joint, extra, more=car)
    load(store, text.replace("kind: o-ring", "kind: o-ring, elastomer: HNBR"))
    view = planned(store, "C 1", "J")
    assert line_of(view, "PART").rule == "renew"
    assert view.verdict == "cannot be proven"


@pytest.mark.parametrize(
    ("kind", "system"),
    [
        ("split-pin", "steering"), ("tab-washer", "steering"), ("ear-clamp", "driveline"),
        ("crush-washer", "brakes"), ("multilayer-gasket", "engine"), ("bolt", "restraints"),
    ],
)  # fmt: skip
def test_the_workshop_keeps_nothing_that_only_the_maker_or_nobody_relaxes(
    store: Engine, kind: str, system: str
) -> None:
    assert line_of(plan_of(store, kind, f"system: {system}"), "PART").rule == "renew"


# Common practice, no source.
@pytest.mark.parametrize(
    "kind", ["brake-pad", "brake-disc", "brake-shoe", "brake-pipe", "brake-hose"]
)
def test_the_workshop_spares_no_brake_part_the_look_and_the_maker_may(
    store: Engine, kind: str
) -> None:
    line = line_of(plan_of(store, kind, "system: brakes"), "PART")
    assert (line.rule, line.source, line.relaxed_by) == ("inspect", "general", "maker")
    maker = KEEP.replace("workshop", "maker")
    assert line_of(plan_of(store, kind, "system: brakes", rules=maker), "PART").rule == "keep"


# Common practice, no source: none of these goes back unless somebody says so.
@pytest.mark.parametrize(
    ("kind", "joint"),
    [
        ("bonded-washer", "system: brakes"), ("bonded-washer", "system: high-pressure-fuel"),
        ("moulded-ring", "system: fuel"), ("moulded-gasket", "system: intake, fluids: [petrol]"),
        ("moulded-ring", "system: air-conditioning"), ("moulded-gasket", "system: brakes"),
        ("union", "system: high-pressure-fuel"), ("circlip", "system: engine"),
        ("gudgeon-pin-circlip", "system: engine"), ("timing-belt", "system: engine"),
        ("bolt", "system: restraints"), ("bolt", "system: brakes"), ("bolt", "system: driveline"),
        ("locking-nut", "system: wheels"), ("nut", "system: wheels"), ("hub-nut", "system: wheels"),
    ],
)  # fmt: skip
def test_what_holds_life_or_the_engine_is_renewed_where_nobody_speaks(
    store: Engine, kind: str, joint: str
) -> None:
    assert line_of(plan_of(store, kind, joint, rules="quantity: 1 each"), "PART").rule == "renew"


def test_wheel_nuts_and_ordinary_bolts_still_go_back(store: Engine) -> None:
    for kind, system in (("wheel-nut", "wheels"), ("wheel-bolt", "wheels"), ("bolt", "engine")):
        view = plan_of(store, kind, f"system: {system}", rules="quantity: 1 each")
        assert line_of(view, "PART").rule == "keep"


def rules_of(engine: Engine) -> set[tuple[object, ...]]:
    with reading(engine) as session:
        rows = session.execute(
            select(
                KindRule.kind_id, KindRule.source, KindRule.rule, KindRule.fluid_id,
                KindRule.medium, KindRule.system_id, KindRule.relaxed_by,
            )
        )  # fmt: skip
        return {tuple(row) for row in rows}


def test_setting_up_again_brings_the_general_rules_of_this_version(store: Engine) -> None:
    now = rules_of(store)
    with store.begin() as connection:
        connection.execute(delete(KindRule).where(KindRule.medium.is_not(None)))
        connection.execute(delete(KindRule).where(KindRule.system_id.is_not(None)))
        connection.execute(update(KindRule).values(relaxed_by="workshop", reference="old"))
    assert rules_of(store) != now
    set_up(store.url.render_as_string(hide_password=False))
    assert rules_of(store) == now
    assert line_of(plan_of(store, "o-ring", "system: fuel"), "PART").rule == "renew"


POLICY = """
kinds:
  - code: moulded-ring
    name: press-in-place moulded ring
    family: ring
    rules: [{rule: renew, source: workshop, reference: our policy}]
"""


def test_policy_of_a_workshop_leaves_the_general_rules_of_the_kind(store: Engine) -> None:
    before = rules_of(store)
    load(store, POLICY.replace("renew", "keep"))
    assert before < rules_of(store)
    for joint, rule in (("system: engine", "keep"), ("system: fuel", "renew")):
        view = plan_of(store, "moulded-ring", joint, rules="quantity: 1 each")
        assert line_of(view, "PART").rule == rule


def test_a_file_that_takes_out_a_bar_is_remarked(store: Engine) -> None:
    own = POLICY.replace("moulded-ring", "o-ring").replace("source: workshop", "source: general")
    assert [remark.code for remark in load(store, own).remarks] == [
        LoadRemark.OVERWRITTEN,
        LoadRemark.BARS_DROPPED,
    ]
    assert load(store, own).remarks == ()
    assert load(store, POLICY).remarks == ()


def test_setting_up_again_leaves_the_policy_of_the_workshop(store: Engine) -> None:
    load(store, POLICY)
    before = rules_of(store)
    load_sources(store, seeds(GENERAL), general=True)
    assert rules_of(store) == before
    view = plan_of(store, "moulded-ring", "system: engine", rules="quantity: 1 each")
    assert (line_of(view, "PART").rule, line_of(view, "PART").source) == ("renew", "workshop")


def test_policy_that_a_file_no_longer_tells_is_gone(store: Engine) -> None:
    before = rules_of(store)
    load(store, POLICY)
    load(
        store, POLICY.replace("rules: [{rule: renew, source: workshop, reference: our policy}]", "")
    )
    assert rules_of(store) == before


@pytest.mark.parametrize(
    ("joint", "caution", "word"),
    [
        ("system: fuel", "fuel", "FLAMMABLE"),
        ("system: fuel, fluids: [diesel]", "fuel", "FLAMMABLE"),
        ("system: engine, fluids: [diesel]", "fuel", "FLAMMABLE"),
        ("system: air-conditioning", "refrigerant", "QUALIFIED ONLY"),
        ("system: cooling", "coolant", "POISONOUS"),
    ],
)
def test_a_joint_warns_of_what_its_system_holds_where_no_fluid_is_listed(
    store: Engine, joint: str, caution: str, word: str
) -> None:
    view = plan_of(store, "bolt", joint)
    assert caution in [one.code for one in view.cautions]
    assert word in view.joints[0].hazards


@pytest.mark.parametrize(
    ("system", "licence"),
    [
        ("restraints", "restraints"),
        ("high-voltage", "high-voltage"),
        ("air-conditioning", "refrigerant"),
    ],
)
def test_the_licence_follows_the_system_of_the_joint(
    store: Engine, system: str, licence: str
) -> None:
    view = plan_of(store, "bolt", f"system: {system}")
    assert [(one.code, one.asked_by) for one in view.licences] == [(licence, ("joint j",))]
    assert plan_of(store, "bolt", "system: engine").licences == ()


def test_a_joint_is_not_named_where_its_step_asks_for_the_licence_already(store: Engine) -> None:
    text = plan_text("bolt", "system: restraints").replace(
        "opens: [j]", "opens: [j], licence: LICENCE"
    )
    for licence, asked in (
        ("restraints", {"restraints": ("step S",)}),
        ("refrigerant", {"refrigerant": ("step S",), "restraints": ("joint j",)}),
    ):
        load(store, text.replace("LICENCE", licence))
        view = planned(store, "C 1", "J")
        assert {one.code: one.asked_by for one in view.licences} == asked


def test_why_names_only_those_who_could_go_before_a_general_rule(store: Engine) -> None:
    def going_before(kind: str, joint: str) -> list[str]:
        (entry,) = why(plan_of(store, kind, joint, rules="quantity: 1 each"), "PART")
        return [text for text in map(say, entry.changes) if "go before" in text]

    everybody = "the vehicle maker, the leaflet or the workshop"
    assert going_before("o-ring", "system: fuel") == []
    assert going_before("o-ring", "system: engine") == [
        f"a rule of {everybody} would go before this one"
    ]
    assert going_before("stretch-bolt", "system: engine") == [
        "a rule of the vehicle maker would go before this one"
    ]
