"""Planning: verdicts with their source, variants that stop, stable JSON, a fixed number of SQL."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from sqlalchemy import Engine, event

from helpers import counted, line_of, lines_of, load, planned, unit, use_of
from kitting.errors import CatalogueCycleError, UnknownNameError
from kitting.facts.plan_reasons import StopReason
from kitting.facts.reasons import because
from kitting.facts.verdicts import Verdict
from kitting.files.output.plain import as_plain
from kitting.services.kit.bags import kit_view
from kitting.services.kit.pick import pick_view
from kitting.services.planning import rows
from kitting.services.planning.variants import settle_variant
from kitting.wording.reasons import say
from kitting.wording.tightening import stages_text

KEYS = {
    "plan": {
        "reference", "on", "vehicle", "jobs", "steps", "hours", "joints", "lines", "uses",
        "tightenings", "tools", "services", "cautions", "licences", "unresolved",
        "unknown_figures",
        "contacts", "verdict", "doubts", "tally",
    },
    "doubts": {"verdict", "aspect", "because"},
    "tally": {"no", "stopped", "cannot be proven", "fine"},
    "vehicle": {"registration", "model", "vin", "build_date", "units"},
    "jobs": {"code", "name", "unit", "hours", "needs", "stopped_by"},
    "steps": {"code", "name", "unit", "hours", "needs", "asked_by", "cautions", "stopped_by"},
    "hours": {"total", "apart", "saved"},
    "joints": {
        "code", "name", "unit", "system", "fluids", "opened", "opened_by", "asked_by", "cautions", "hazards", "doubts",
    },
    "lines": {
        "item", "name", "kind", "family", "rule", "quantity", "unit", "positions", "source",
        "relaxed_by", "said_by", "criterion", "overruled", "chance", "group", "reasons", "covered", "to_take",
        "pack", "packs", "bin", "size", "material", "colour", "notes", "hazards", "stopped_by", "ring",
        "elastomer", "hardness", "verdict", "doubts", "stands_for",
    },
    "uses": {
        "item", "name", "kind", "quantity", "unit", "pack", "packs", "bin", "how", "reasons",
        "covered", "to_take", "notes", "hazards", "stopped_by", "verdict", "doubts", "stands_for",
    },
    "tightenings": {
        "joint", "position", "item", "quantity", "rule", "head", "stages",
        "thread_state", "pattern", "source", "stopped_by", "withheld_for",
        "left_hand", "remarks", "stage_order",
    },
    "tools": {"sort", "tool", "wanted_for"},
    "services": {"name", "timing", "licence", "asked_by", "stopped_by"},
    "cautions": {"code", "title", "text", "applies_to", "word"},
    "licences": {"code", "name", "text", "asked_by"},
    "unresolved": {
        "split", "unit", "question", "check", "why_open", "options", "joints", "stops",
        "settled_by", "only_looks",
    },
    "unknown_figures": {"joint", "position", "item", "what"},
    "contacts": {
        "joint", "position", "end", "item", "elastomer", "against", "what", "state", "rating",
        "certainty", "because", "instead", "perhaps", "packet",
    },
}  # fmt: skip


def test_the_keys_of_the_json_are_the_documented_ones(lite_garage: Engine) -> None:
    found: dict[str, set[str]] = {}
    for car, jobs in (("PELL 117", ("J1", "J2", "J5", "J7")), ("PELL 042", ("J2",))):
        plain = as_plain(planned(lite_garage, car, *jobs))
        found["plan"] = set(plain)
        for key, value in plain.items():
            for entry in value if isinstance(value, list) else [value]:
                if isinstance(entry, dict):
                    found[key] = set(entry)
            if isinstance(value, dict) and key == "tally":
                found[key] = set(value)
    assert found == KEYS


def test_amounts_in_the_json_are_numbers_in_their_unit(lite_garage: Engine) -> None:
    plain = as_plain(planned(lite_garage, "PELL 117", "J1"))
    coolant = next(use for use in plain["uses"] if use["item"] == "COOLANT-NEAT")
    assert (coolant["quantity"], coolant["unit"], coolant["pack"]) == (1600, "ml", 5000)
    assert plain["on"] == "2026-04-15"
    bolts = next(row for row in plain["tightenings"] if row["position"] == "manifold bolts 1 to 6")
    assert bolts["quantity"] == 6


def test_an_open_variant_stops_its_job_and_nothing_is_ordered_past_it(garage: Engine) -> None:
    view = planned(garage, "PELL 042", "J1", "J2")
    assert {job.code: job.stopped_by for job in view.jobs} == {"J1": (), "J2": ("cooler",)}
    (open_split,) = view.unresolved
    assert say(open_split.why_open) == "the build date is not known"
    assert open_split.check.startswith("Look at the cooler from above")
    assert open_split.stops == ("J2",)
    assert {option.code: option.items for option in open_split.options}["late"] == (
        "BOLT-FLANGE-M8X40",
        "COOLER-OIL-LATE",
        "SEAL-COOLER-LATE",
    )
    # What is the same under either option goes on; what differs waits.
    assert line_of(view, "SEAL-INTAKE").verdict is Verdict.FINE
    assert (line_of(view, "FILTER-OIL").stopped_by, line_of(view, "FILTER-OIL").to_take) == (
        (), 1000,
    )  # fmt: skip
    late = line_of(view, "SEAL-COOLER-LATE")
    assert late.stopped_by == (because(StopReason.VARIANT, variant="cooler"),)
    assert (late.verdict, late.to_take) == (Verdict.STOPPED, 0)
    picked = {line.content.item for line in pick_view(view).lines}
    assert {"SEAL-INTAKE", "FILTER-OIL"} <= picked
    assert "SEAL-COOLER-LATE" not in picked
    joints = [bag.joint for bag in kit_view(view).bags]
    assert set(joints) >= {"rear-pipe-heater", "intake", "oil-filter"}


def test_what_every_option_asks_for_is_picked_though_the_job_waits(garage: Engine) -> None:
    view = planned(garage, "PELL 042", "J2")
    assert view.verdict is Verdict.STOPPED
    assert {line.content.item for line in pick_view(view).lines} & {"FILTER-OIL", "SEAL-INTAKE"}
    assert pick_view(view).doubts[0].verdict is Verdict.STOPPED


def test_settling_the_variant_lets_the_job_go_on(garage: Engine) -> None:
    settle_variant(garage, "pell 042", "cooler", "early", dry_run=True)
    assert planned(garage, "PELL 042", "J2").unresolved != ()
    assert settle_variant(garage, "pell 042", "cooler", "early").before is None
    view = planned(garage, "PELL 042", "J2")
    assert view.unresolved == ()
    assert line_of(view, "RING-FKM-10.8X1.8").quantity == 2000
    assert settle_variant(garage, "pell 042", "grebe-4t/cooler", "late").before == "early"
    assert lines_of(planned(garage, "PELL 042", "J2"), "RING-FKM-10.8X1.8") == []


def test_an_assumption_settles_a_variant_for_one_answer_only(garage: Engine) -> None:
    assert planned(garage, "PELL 042", "J2", assumed={"cooler": "late"}).unresolved == ()
    assert planned(garage, "PELL 042", "J2").unresolved != ()


def test_the_workshop_that_is_stricter_than_the_maker_is_followed(garage: Engine) -> None:
    hose = line_of(planned(garage, "PELL 117", "J1"), "HOSE-HEATER")
    assert (hose.rule, hose.source) == ("inspect", "workshop")
    assert [(o.source, o.rule) for o in hose.overruled] == [
        ("maker", "keep"),
        ("general", "inspect"),
    ]


def test_a_licence_and_a_service_are_named(garage: Engine) -> None:
    view = planned(garage, "PELL 117", "J5")
    assert [licence.code for licence in view.licences] == ["refrigerant"]
    assert any("A7" in place for place in view.licences[0].asked_by)


def test_staged_tightening_keeps_its_order_and_asks_for_an_angle_gauge(garage: Engine) -> None:
    view = planned(garage, "PELL 117", "J3")
    staged = [row for row in view.tightenings if len(row.stages) == 4]
    assert stages_text(staged[0].stages) == "20 N·m → 60 N·m → +90° → +90°"
    second = stages_text(staged[0].stages, second=True)
    assert second == "14.8 lbf·ft → 44.3 lbf·ft → +90° → +90°"
    assert "angle" in {tool.sort for tool in view.tools}


def test_the_bead_of_the_timing_cover_is_18_9_ml_in_one_tube(garage: Engine) -> None:
    # Common practice, no source: π/4·3² × 1640 mm × 1.2 + 5 ml nozzle.
    sealant = use_of(planned(garage, "PELL 117", "J3"), "SEALANT-COVER-70")
    assert (sealant.quantity, sealant.packs) == (18_911, 1)


def test_a_kind_without_any_rule_is_renewed_because_nobody_allows_less(lite: Engine) -> None:
    load(
        lite,
        "kinds: [{code: odd, name: Odd, family: part}]"
        + unit(
            "      - {code: a, name: A, system: engine, fits: [{item: ODD, position: p1}]}",
            "      - {code: S1, name: One, hours: 1 h, opens: [a]}",
            "      - {code: X1, name: One, needs: [S1]}",
            "  - {code: ODD, name: Odd, kind: odd}",
        ),
    )
    line = line_of(planned(lite, "PELL 001", "X1"), "ODD")
    assert (line.rule, line.source) == ("renew", "none")


def test_a_step_is_looked_for_in_its_own_unit_first(garage: Engine) -> None:
    view = planned(garage, "TANS 311", "J9")
    assert {step.unit for step in view.steps} == {"nib-3"}


def test_a_job_that_needs_a_step_no_unit_of_the_car_has_is_refused(lite: Engine) -> None:
    load(
        lite,
        unit(
            "      - {code: a, name: A, system: engine}",
            "      - {code: S1, name: One, hours: 1 h, needs: [S2]}",
            "      - {code: X1, name: One, needs: [S1]}",
        ).replace(
            "models:",
            "  - {code: other, name: Other, steps: [{code: S2, name: Two, hours: 1 h}]}\nmodels:",
        ),
    )
    with pytest.raises(
        UnknownNameError, match="S1 needs step S2, which none of its units describes"
    ):
        planned(lite, "PELL 001", "X1")


def test_a_ring_across_units_is_refused_when_planned(lite: Engine) -> None:
    load(
        lite,
        unit(
            "      - {code: a, name: A, system: engine}",
            "      - {code: S1, name: One, hours: 1 h, needs: [S2]}",
            "      - {code: X1, name: One, needs: [S1]}",
        )
        .replace(
            "models:",
            "  - {code: o, name: O, steps: [{code: S2, name: Two, hours: 1 h, needs: [S1]}]}\nmodels:",
        )
        .replace("units: [grebe]", "units: [grebe, o]"),
    )
    with pytest.raises(CatalogueCycleError, match="S1 → S2 → S1"):
        planned(lite, "PELL 001", "X1")


@pytest.mark.parametrize(
    ("car", "job", "message"),
    [
        ("PELL 118", "J1", "no vehicle 'PELL 118' in the catalogue. Did you mean PELL 117"),
        ("PELL 117", "J11", r"no job 'J11' for PELL 117 \(Ulvander Pell\). Known for this car: J1"),
        ("PELL 117", "J8", "no job 'J8' for PELL 117"),
    ],
)
def test_an_unknown_name_tells_the_nearest(
    lite_garage: Engine, car: str, job: str, message: str
) -> None:
    with pytest.raises(UnknownNameError, match=message):
        planned(lite_garage, car, job)


def test_names_are_found_whatever_their_capitals_and_spaces(garage: Engine) -> None:
    assert planned(garage, "pell-117", "j1", "grebe-4t/J1").jobs[0].code == "J1"


def test_the_reference_belongs_to_car_jobs_and_date(lite_garage: Engine) -> None:
    one = planned(lite_garage, "PELL 117", "J1", "J2").reference
    assert one == planned(lite_garage, "PELL117", "J2", "J1").reference
    assert one != planned(lite_garage, "PELL 117", "J1").reference
    assert one != planned(lite_garage, "PELL 117", "J1", "J2", on=date(2026, 4, 16)).reference
    assert len(one) == 8
    assert one.isalnum()
    assert one.isupper()


def test_kits_of_different_variants_never_share_a_reference(lite_garage: Engine) -> None:
    plans = [
        planned(lite_garage, "PELL 042", "J1", "J2", assumed=assumed)
        for assumed in (None, {"cooler": "early"}, {"cooler": "late"})
    ]
    assert len({view.reference for view in plans}) == 3


def many(joints: int) -> str:
    """A unit with so many joints, each with a ring and a bolt, all opened by one job."""
    return unit(
        "\n".join(
            f"      - {{code: j{n}, name: J{n}, system: engine, fluids: [coolant], fits:"
            f" [{{item: RING, position: p}}, {{item: BOLT, position: b, tightening:"
            f" {{stages: [10 N·m], source: x}}}}], uses: [{{item: BOLT, amount: 1 each}}]}}"
            for n in range(joints)
        ),
        "\n".join(
            f"      - {{code: S{n}, name: S{n}, hours: 1 h, opens: [j{n}]}}" for n in range(joints)
        ),
        f"      - {{code: X1, name: One, needs: [{', '.join(f'S{n}' for n in range(joints))}]}}",
    )


def test_a_plan_sends_the_same_number_of_statements_whatever_its_size(store: Engine) -> None:
    counts = {}
    for joints in (1, 3, 120):
        load(store, many(joints))
        with counted(store) as sent:
            view = planned(store, "PELL 001", "X1")
        assert len(view.lines) == 2
        assert line_of(view, "RING").quantity == joints * 1000
        counts[joints] = len(sent)
    assert len(set(counts.values())) == 1


def rows_read(engine: Engine) -> int:
    """How many rows a plan reads of the database: each of its questions is asked again."""
    sent: list[tuple[str, Any]] = []

    def note(_c: object, _cursor: object, text: str, given: Any, *_rest: object) -> None:
        if text != "BEGIN":
            sent.append((text, given))

    event.listen(engine, "before_cursor_execute", note)
    planned(engine, "PELL 001", "X1")
    event.remove(engine, "before_cursor_execute", note)
    with engine.connect() as connection:
        return sum(len(connection.exec_driver_sql(text, given).all()) for text, given in sent)


def test_a_plan_reads_no_row_of_what_other_units_carry(store: Engine) -> None:
    load(store, many(3))
    before = rows_read(store)
    other = many(40).replace("grebe", "dipper").replace("PELL 001", "PELL 002")
    load(store, other.replace("code: pell", "code: other").replace("model: pell", "model: other"))
    assert len(planned(store, "PELL 002", "X1").joints) == 40
    assert rows_read(store) == before > 10


def test_what_would_do_instead_is_asked_only_where_something_clashes(garage: Engine) -> None:
    with counted(garage) as calm:
        assert planned(garage, "PELL 117", "J6").clashes == ()
    with counted(garage) as clashing:
        assert planned(garage, "PELL 117", "J7").clashes != ()
    assert len(clashing) == len(calm) + 4


def test_lubricant_for_a_reopened_joint_is_used_each_time(lite: Engine) -> None:
    load(
        lite,
        unit(
            """
      - code: a
        name: A
        system: engine
        fits: [{item: RING, position: p1, lubricant: {item: SOAP, amount: 0.2 ml}}]""",
            "      - {code: S1, name: One, hours: 1 h, opens: [{joint: a, reopened: 1}]}",
            "      - {code: X1, name: One, needs: [S1]}",
            "  - {code: SOAP, name: Soap, kind: assembly-lubricant, unit: ml, pack: 100 ml}",
        ),
    )
    assert use_of(planned(lite, "PELL 001", "X1"), "SOAP").quantity == 400


def test_lists_of_keys_that_are_too_long_for_one_statement_are_sent_in_parts(
    garage: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = planned(garage, "PELL 117", *(f"J{n}" for n in range(1, 8)))
    with counted(garage) as sent:
        planned(garage, "PELL 117", "J7")
    monkeypatch.setattr(rows, "MOST_KEYS", 3)
    assert planned(garage, "PELL 117", *(f"J{n}" for n in range(1, 8))) == whole
    with counted(garage) as in_parts:
        planned(garage, "PELL 117", "J7")
    assert len(in_parts) > len(sent)
