"""Awkward cases of the trade, by number. All are common practice, no source, unless named."""

from __future__ import annotations

from decimal import Decimal

import pytest
from sqlalchemy import Engine, select

from helpers import line_of, lines_of, load, planned, source, unit, use_of
from kitting.errors import FileProblemsError
from kitting.facts.units import parse_torque
from kitting.files.output.plain import as_plain
from kitting.services.catalogue.load import load_sources
from kitting.services.kit.bags import kit_view
from kitting.store import reading
from kitting.tables.units import Stage
from kitting.wording.figures import NO_FIGURE
from kitting.wording.reasons import as_text
from kitting.wording.tightening import second_text, stage_text, tightening_text


def test_case_1_two_jobs_that_disturb_the_same_four_positions_need_four(garage: Engine) -> None:
    view = planned(garage, "PELL 117", "J1", "J2")
    seals = line_of(view, "SEAL-INTAKE")
    assert seals.quantity == 4000
    assert [p.position for p in seals.positions] == ["port 1", "port 2", "port 3", "port 4"]
    assert [reason.jobs for reason in seals.reasons] == [("J1", "J2")]
    assert as_plain(view)["hours"] == {"total": 5.7, "apart": 7.3, "saved": 1.6}


def test_case_2_one_part_number_at_different_positions_adds_up(store: Engine) -> None:
    load(
        store,
        unit(
            """
      - {code: a, name: A, system: engine, fits: [{item: RING, positions: [p1, p2]}]}
      - {code: b, name: B, system: engine, fits: [{item: RING, positions: [q1, q2, q3]}]}""",
            """
      - {code: S1, name: One, hours: 1 h, opens: [a]}
      - {code: S2, name: Two, hours: 1 h, opens: [b]}""",
            """
      - {code: X1, name: One, needs: [S1]}
      - {code: X2, name: Two, needs: [S2]}""",
        ),
    )
    view = planned(store, "PELL 001", "X1", "X2")
    assert line_of(view, "RING").quantity == 5000
    assert [(r.jobs, r.joint, r.positions) for r in line_of(view, "RING").reasons] == [
        (("X1",), "a", ("p1", "p2")),
        (("X2",), "b", ("q1", "q2", "q3")),
    ]


def test_case_3_a_joint_reopened_after_a_test_run_takes_two(store: Engine) -> None:
    load(
        store,
        unit(
            """
      - {code: a, name: A, system: engine, fits: [{item: RING, position: p1}, {item: BOLT, position: b1}]}""",
            """
      - {code: S1, name: One, hours: 1 h, opens: [{joint: a, reopened: 1}]}""",
            "      - {code: X1, name: One, needs: [S1]}",
        ),
    )
    view = planned(store, "PELL 001", "X1")
    assert line_of(view, "RING").quantity == 2000
    assert line_of(view, "RING").reasons[0].opened == 2
    # What goes back is not needed twice.
    assert line_of(view, "BOLT").quantity == 1000


TORQUE = """
      - code: a
        name: A
        system: engine
        fits:
          - {{item: BOLT, position: b1, tightening: {{stages: [{stage}], thread: dry, source: test}}}}"""


def test_case_5_96_lbf_in_typed_as_newton_metres_stops_the_load(store: Engine) -> None:
    def text(stage: str) -> str:
        return unit(
            TORQUE.format(stage=stage),
            "      - {code: S1, name: One, hours: 1 h, opens: [a]}",
            "      - {code: X1, name: One, needs: [S1]}",
        )

    with pytest.raises(FileProblemsError) as refused:
        load_sources(store, [source(text("96 N·m"))])
    (problem,) = refused.value.problems
    assert problem.thing == "unit grebe joint a position b1"
    assert "would break a M6 bolt of class 8.8" in problem.reason
    assert "96 lbf·in (10.85 N·m)" in problem.next_step
    assert text("96 N·m").splitlines()[problem.line - 1].strip().startswith("- {item: BOLT")
    load(store, text("96 lbf·in"))
    view = planned(store, "PELL 001", "X1")
    (stage,) = view.tightenings[0].stages
    assert (stage_text(stage), second_text(stage)) == ("96 lbf·in", "10.8 N·m")


def test_case_6_kilogram_force_figures_equal_24_5_newton_metres_and_stay_as_published(
    store: Engine,
) -> None:
    # NIST SP 811 (2008), appendix B: kilogram-force metre = 9.806 65 N·m (exact).
    assert round(parse_torque("250 kgf·cm").newton_metres, 1) == Decimal("24.5")
    assert parse_torque("250 kgf·cm").newton_metres == parse_torque("2.5 kgf·m").newton_metres
    load(
        store,
        unit(
            TORQUE.format(stage="2.5 kgf·m").replace("BOLT", "BIG"),
            "      - {code: S1, name: One, hours: 1 h, opens: [a]}",
            "      - {code: X1, name: One, needs: [S1]}",
            '  - {code: BIG, name: Big, kind: bolt, thread: M10, property_class: "8.8"}',
        ),
    )
    with reading(store) as session:
        stage = session.scalars(select(Stage)).one()
    assert (stage.torque, stage.torque_unit) == (2500, "kgf·m")
    (shown,) = planned(store, "PELL 001", "X1").tightenings[0].stages
    assert (stage_text(shown), second_text(shown)) == ("2.5 kgf·m", "24.5 N·m")


def test_case_7_a_torque_that_nobody_published_is_flagged_not_nought(store: Engine) -> None:
    load(
        store,
        unit(
            "      - {code: a, name: A, system: engine, fits: [{item: BOLT, position: b1}]}",
            "      - {code: S1, name: One, hours: 1 h, opens: [a]}",
            "      - {code: X1, name: One, needs: [S1]}",
        ),
    )
    view = planned(store, "PELL 001", "X1")
    assert [(f.joint, f.position, f.what) for f in view.unknown_figures] == [
        ("a", "b1", "tightening figure")
    ]
    assert view.tightenings[0].stages == ()
    (row,) = kit_view(view).bags[0].tightening
    assert tightening_text(row) == f"b1: {NO_FIGURE}, thread state not stated"
    assert [tool.sort for tool in view.tools] == ["turn"]


def test_case_10_a_new_cooler_comes_with_its_rings(store: Engine) -> None:
    load(
        store,
        unit(
            """
      - code: a
        name: A
        system: lubrication
        fits:
          - {item: COOLER, position: body, rules: [{rule: renew, source: maker, reference: test}]}
          - {item: RING, positions: [in, out]}""",
            "      - {code: S1, name: One, hours: 1 h, opens: [a]}",
            "      - {code: X1, name: One, needs: [S1]}",
            "  - {code: COOLER, name: Cooler, kind: oil-cooler,"
            " contents: [{item: RING, quantity: 2 each}]}",
        ),
    )
    rings = line_of(planned(store, "PELL 001", "X1"), "RING")
    assert (rings.quantity, rings.to_take) == (2000, 0)
    assert [(c.packet, c.quantity) for c in rings.covered] == [("COOLER", 2000)]


def test_a_packet_of_packets_names_the_jobs_and_joints_of_all_that_is_in_it(lite: Engine) -> None:
    renew = "rules: [{rule: renew, source: maker, reference: test}]"
    load(
        lite,
        unit(
            f"""
      - code: a
        name: A
        system: lubrication
        fits: [{{item: R, position: a, {renew}}}]
      - code: b
        name: B
        system: lubrication
        fits: [{{item: INNER, position: b, {renew}}}]""",
            "      - {code: S1, name: One, hours: 1 h, opens: [a]}\n"
            "      - {code: S2, name: Two, hours: 1 h, opens: [b]}",
            "      - {code: X1, name: One, needs: [S1]}\n      - {code: X2, name: Two, needs: [S2]}",
            "  - {code: R, name: Ring, kind: o-ring, sold_singly: false}\n"
            "  - {code: INNER, name: Inner, kind: oil-cooler, sold_singly: false,"
            " contents: [{item: R, quantity: 1 each}]}\n"
            "  - {code: OUTER, name: Outer, kind: oil-cooler,"
            " contents: [{item: INNER, quantity: 1 each}]}",
        ),
    )
    for jobs, joints in ((("X1",), ["a"]), (("X2",), ["b"]), (("X1", "X2"), ["a", "b"])):
        outer = line_of(planned(lite, "PELL 001", *jobs), "OUTER")
        assert outer.source == "packet"
        assert sorted(reason.joint for reason in outer.reasons) == joints
        assert {job for reason in outer.reasons for job in reason.jobs} == set(jobs)


def test_case_11_two_calipers_take_one_kit_sold_per_axle(garage: Engine) -> None:
    view = planned(garage, "PELL 117", "J7")
    kits = [line for line in view.lines if line.source == "packet"]
    assert [(line.quantity, line.to_take) for line in kits] == [(1000, 1000)]
    inside = [line for line in view.lines if line.covered]
    assert [(line.quantity, line.to_take) for line in inside] == [(2000, 0), (2000, 0)]


def test_case_13_green_hnbr_and_green_fkm_of_one_size_are_two_items(store: Engine) -> None:
    ring = "ring_inside: 15.0 mm, ring_section: 2.5 mm, colour: green"
    load(
        store,
        unit(
            """
      - {code: a, name: A, system: engine, fits: [{item: G1, position: p1}, {item: G2, position: p2}]}""",
            "      - {code: S1, name: One, hours: 1 h, opens: [a]}",
            "      - {code: X1, name: One, needs: [S1]}",
            f"""
  - {{code: G1, name: Ring, kind: o-ring, elastomer: HNBR, {ring}}}
  - {{code: G2, name: Ring, kind: o-ring, elastomer: FKM, {ring}}}""",
        ),
    )
    view = planned(store, "PELL 001", "X1")
    assert len(lines_of(view, "G1")) == len(lines_of(view, "G2")) == 1
    # They could be swapped and nobody would feel it: each has a bag of its own.
    bags = [
        [(e.content.item, e.content.material, e.content.colour) for e in bag.ends]
        for bag in kit_view(view).bags
    ]
    assert bags == [[("G1", "HNBR", "green")], [("G2", "FKM", "green")]]


def test_case_19_a_lock_nut_that_has_gone_back_as_often_as_allowed_is_renewed(
    store: Engine,
) -> None:
    text = unit(
        """
      - {code: a, name: A, system: engine, fits: [{item: NUT, position: n1, refit_limit: 1}]}""",
        "      - {code: S1, name: One, hours: 1 h, opens: [a]}",
        "      - {code: X1, name: One, needs: [S1]}",
        '  - {code: NUT, name: Nut, kind: locking-nut, thread: M8, property_class: "8.8"}',
    )
    load(store, text)
    assert line_of(planned(store, "PELL 001", "X1"), "NUT").rule == "inspect"
    once = "{joint: grebe/a, position: n1, on: 2025-01-10, outcome: refitted}"
    load(store, text.replace("2021-03-14}", f"2021-03-14, history: [{once}]}}"))
    nut = line_of(planned(store, "PELL 001", "X1"), "NUT")
    assert (nut.rule, nut.source, as_text(nut.said_by)) == (
        "renew",
        "history",
        "has gone back once, limit once",
    )


def test_sharing_a_step_shares_its_fluid(garage: Engine) -> None:
    # Intake gaskets, drained fluid and drain washer are needed once (common practice, no source).
    both = planned(garage, "PELL 117", "J1", "J2")
    alone = planned(garage, "PELL 117", "J1")
    assert (
        use_of(both, "COOLANT-NEAT").quantity == use_of(alone, "COOLANT-NEAT").quantity == 1_600_000
    )


def refits(store: Engine, *history: str, limit: int = 2) -> str:
    """The rule of a lock nut that may go back so often, after what happened on earlier days."""
    text = unit(
        f"""
      - {{code: a, name: A, system: engine, fits: [{{item: NUT, position: n1, refit_limit: {limit}}}]}}""",
        "      - {code: S1, name: One, hours: 1 h, opens: [a]}",
        "      - {code: X1, name: One, needs: [S1]}",
        '  - {code: NUT, name: Nut, kind: locking-nut, thread: M8, property_class: "8.8"}',
    )
    happened = ", ".join(
        f"{{joint: grebe/a, position: n1, on: {day}, outcome: {outcome}}}"
        for day, outcome in (entry.split() for entry in history)
    )
    load(store, text.replace("2021-03-14}", f"2021-03-14, history: [{happened}]}}"))
    return line_of(planned(store, "PELL 001", "X1"), "NUT").rule


@pytest.mark.parametrize(
    ("history", "rule"),
    [
        (("2025-01-10 refitted",), "inspect"),
        (("2025-01-10 refitted", "2025-06-01 refitted"), "renew"),
        (("2025-01-10 refitted", "2025-06-01 refitted", "2025-09-01 renewed"), "inspect"),
        (("2024-09-01 renewed", "2025-01-10 refitted", "2025-06-01 refitted"), "renew"),
    ],
)
def test_each_earlier_removal_counts_and_a_new_part_begins_anew(
    lite: Engine, history: tuple[str, ...], rule: str
) -> None:
    assert refits(lite, *history) == rule


@pytest.mark.parametrize(
    ("day", "rule"),
    [("2026-04-14", "renew"), ("2026-04-15", "inspect"), ("2026-04-16", "inspect")],
)
def test_what_happens_on_the_fitting_date_itself_or_later_does_not_count_yet(
    lite: Engine, day: str, rule: str
) -> None:
    # The plan is of 2026-04-15: what is refitted that day is what the plan itself is for.
    assert refits(lite, f"{day} refitted", limit=1) == rule
