"""What stands on the refit sheet of a plan, joint by joint. All data are the demo's or invented."""

from __future__ import annotations

from sqlalchemy import Engine

from helpers import ON, load, unit
from kitting.services.kit.bags import kit_view
from kitting.services.planning.draft import draft
from kitting.services.planning.request import PlanRequest, ToolRequest
from kitting.services.planning.view import plan_view
from kitting.services.tightening.refit import refit
from kitting.store import reading
from kitting.views.refit import RefitView
from kitting.wording.refit import nothing_text, short_texts


def view_of(engine: Engine, *jobs: str, car: str = "PELL 117") -> RefitView:
    with reading(engine) as session:
        return refit(session, ToolRequest(PlanRequest(car, jobs, ON)))


def test_the_bags_come_in_the_order_of_refitting_with_all_that_goes_in(garage: Engine) -> None:
    view = view_of(garage, "J1")
    assert [(bag.bag, bag.joint) for bag in view.bags] == [
        (1, "rear-pipe-heater"), (2, "rear-pipe-pump"), (3, "coolant-drain"), (4, "intake"),
    ]  # fmt: skip
    heater = view.bags[0]
    assert [(end.label.end, end.code) for end in heater.ends] == [
        ("heater end, long leg", f"{view.reference}-01-1")
    ]
    assert [line.content.item for line in heater.parts] == ["HOSE-HEATER", "CLAMP-SPRING-25"]
    assert heater.ports
    assert heater.tightening is None
    pump = view.bags[1]
    assert pump.tightening is not None
    assert [row.item for row in pump.tightening.rows] == ["BOLT-FLANGE-M6X25"]
    assert pump.parts == ()


def test_like_ends_of_a_bag_share_the_code_of_their_label(garage: Engine) -> None:
    intake = view_of(garage, "J1").bags[3]
    numbers = [end.code.rpartition("-")[2] for end in intake.ends]
    assert numbers == ["1", "2", "2", "2", "2"]


def test_cautions_are_those_of_the_joint_of_its_steps_and_of_what_goes_in(garage: Engine) -> None:
    bags = {bag.joint: bag for bag in view_of(garage, "J1", "J7").bags}
    caliper = [caution.title for caution in bags["caliper-right"].cautions]
    assert "Brakes" in caliper
    assert "Coolant" not in caliper
    assert [caution.title for caution in bags["coolant-drain"].cautions] == ["Coolant"]


def test_a_bag_tells_the_doubts_of_its_own_positions_and_not_those_of_another(
    garage: Engine,
) -> None:
    view = view_of(garage, "J7")
    bags = {bag.joint: short_texts(view, bag) for bag in view.bags}
    for own, other in (("left", "right"), ("right", "left")):
        (figure,) = [text for text in bags[f"caliper-{own}"] if "no tightening figure" in text]
        assert f"caliper-{own}: " in figure
        assert not any(f"{other} front caliper" in text for text in bags[f"caliper-{own}"])
        assert not any(f"caliper-{other}" in text for text in bags[f"caliper-{own}"])
    told = " ".join(text for texts in bags.values() for text in texts)
    assert "GREASE-MULTI on EPDM" in told


def test_what_a_bag_warns_of_on_its_label_stands_at_it_on_the_refit_sheet(garage: Engine) -> None:
    jobs = ("J1", "J2", "J3", "J4")
    with reading(garage) as session:
        kit = kit_view(plan_view(draft(session, PlanRequest("PELL 117", jobs, ON))))
    told = {bag.bag: {one.title for one in bag.cautions} for bag in view_of(garage, *jobs).bags}
    labels = {bag.number: {one.of for one in bag.warnings} for bag in kit.bags}
    assert all(labels[number] <= told[number] for number in labels)
    (hub,) = (bag.number for bag in kit.bags if bag.joint == "crank-hub")
    assert {"Battery", "Lifting and supporting"} <= told[hub]  # both are cautions of the step alone


def test_fluids_are_filled_in_at_the_end_by_step_in_the_order_of_refitting(
    garage: Engine,
) -> None:
    view = view_of(garage, "J1", "J2")
    assert [(use.step, use.item, use.amount.thousandths) for use in view.fillings] == [
        ("A3", "OIL-ENGINE", 4_600_000),
        ("A2", "COOLANT-NEAT", 1_600_000),
        ("A2", "WATER-PURE", 1_600_000),
    ]
    assert view.step_uses == ()


def test_a_fluid_is_filled_in_by_a_step_that_opens_nothing_itself(garage: Engine) -> None:
    view = view_of(garage, "J14", car="LINN 230")
    assert [(use.step, use.item) for use in view.fillings] == [("L9", "FLUID-BRAKE")]


def test_what_else_steps_use_stands_at_the_joint_that_is_put_back_first(store: Engine) -> None:
    load(
        store,
        unit(
            """
      - {code: a, name: cover, system: engine, fits: [{item: RING, position: groove}]}
      - {code: b, name: pipe, system: engine, fits: [{item: RING, position: end}]}""",
            """
      - {code: S1, name: One, hours: 1 h, opens: [a, b], uses: [{item: CLOTH, amount: 2 each}]}
      - {code: S2, name: Two, hours: 1 h, needs: [S1], uses: [{item: CLOTH, amount: 1 each}]}""",
            "      - {code: X1, name: One, needs: [S2]}",
            items="  - {code: CLOTH, name: Cloth, kind: cleaner, unit: each}",
        ),
    )
    view = view_of(store, "X1", car="PELL 001")
    told = [(bag.joint, [use.step for use in bag.step_uses]) for bag in view.bags]
    assert told == [("b", ["S1"]), ("a", [])]
    assert [use.step for use in view.step_uses] == ["S2"]
    assert view.fillings == ()


def test_what_is_not_proven_stands_at_its_own_bag(garage: Engine) -> None:
    view = view_of(garage, "J1", "J4")
    bags = {bag.joint: bag for bag in view.bags}
    (told,) = short_texts(view, bags["turbo-feed"])
    assert told.startswith("CANNOT BE PROVEN: how long THREADLOCK-MEDIUM")
    assert short_texts(view, bags["rear-pipe-pump"]) == ()


def test_the_settings_are_those_of_the_tightening_sheet(garage: Engine) -> None:
    from kitting.services.tightening.sheet import tighten

    request = ToolRequest(PlanRequest("PELL 117", ("J3", "J4"), ON))
    with reading(garage) as session:
        sheet, view = tighten(session, request), refit(session, request)
    assert tuple(bag.tightening for bag in view.bags if bag.tightening) == sheet.joints


def test_a_joint_where_nothing_goes_in_is_only_closed(store: Engine) -> None:
    load(
        store,
        unit(
            """
      - {code: a, name: cover, system: engine, fits: []}
      - code: b
        name: pipe
        system: engine
        fits: [{item: RING, position: groove}]""",
            "      - {code: S1, name: One, hours: 1 h, opens: [a, b]}",
            "      - {code: X1, name: One, needs: [S1]}",
        ),
    )
    bags = {bag.joint: bag for bag in view_of(store, "X1", car="PELL 001").bags}
    assert (bags["a"].bag, bags["a"].code) == (None, "")
    assert nothing_text(bags["a"]) == "Nothing goes in; close cover."
    assert nothing_text(bags["b"]) is None
