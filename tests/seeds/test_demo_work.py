"""The work of the demo garage: steps, joints, jobs, and what the joints take."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from datetime import date
from decimal import Decimal

import pytest
from catalogues import CATALOGUE_FILES, read

from kitting.facts.units import Quantity
from kitting.files.catalogue.document import Fit, Joint, Unit
from kitting.files.catalogue.item_shapes import Item
from kitting.files.catalogue.vocabulary_shapes import Kind
from kitting.files.catalogue.work_shapes import Step
from kitting.wording.tightening import stage_text

CATALOGUES = [read(name) for name in CATALOGUE_FILES]
ITEMS: dict[str, Item] = {i.code: i for c in CATALOGUES for i in c.items}
KINDS: dict[str, Kind] = {k.code: k for c in CATALOGUES for k in c.kinds}
UNITS: dict[str, Unit] = {u.code: u for c in CATALOGUES for u in c.units}
STEPS: dict[str, Step] = {s.code: s for u in UNITS.values() for s in u.steps}
JOBS = {j.code: j for u in UNITS.values() for j in u.jobs}


def joint(unit: str, code: str) -> Joint:
    return next(j for j in UNITS[unit].joints if j.code == code)


def fits() -> Iterator[tuple[str, Fit]]:
    for unit in UNITS.values():
        for part in unit.joints:
            for fit in part.fits:
                yield f"{unit.code}/{part.code}", fit


def fitted(unit: str, code: str) -> dict[str, int]:
    """How many of each item a joint holds, over all options."""
    count: Counter[str] = Counter()
    for fit in joint(unit, code).fits:
        count[fit.item] += len(fit.all_positions) * fit.quantity.thousandths // 1000
    return dict(count)


def stages(unit: str, code: str, item: str) -> list[list[str]]:
    return [
        [stage_text(stage) for stage in fit.tightening.stages]
        for fit in joint(unit, code).fits
        if fit.item == item and fit.tightening is not None
    ]


def hours(*jobs: str) -> Decimal:
    """Hours of all steps that jobs need, each step once."""
    waiting = [step for job in jobs for step in JOBS[job].needs]
    seen: set[str] = set()
    while waiting:
        code = waiting.pop()
        if code not in seen:
            seen.add(code)
            waiting.extend(STEPS[code].needs)
    return sum((Decimal(STEPS[code].hours) for code in seen), Decimal(0)) / 1000


STEP_HOURS = {
    "A1": "1.2",
    "A2": "0.4",
    "A3": "0.4",
    "A4": "0.6",
    "A5": "1",
    "A6": "0.5",
    "A7": "0.8",
    "A8": "0.2",
    "A9": "0.3",
}


def test_access_steps_take_these_hours() -> None:
    shown = {code: Decimal(STEPS[code].hours) / 1000 for code in STEP_HOURS}
    assert shown == {code: Decimal(figure) for code, figure in STEP_HOURS.items()}


def test_access_steps_open_what_the_demo_says() -> None:
    assert fitted("grebe-4t", "intake") == {
        "SEAL-INTAKE": 4,
        "RING-FKM-14X2": 1,
        "BOLT-FLANGE-M6X25": 6,
        "CLIP-CONNECTOR": 3,
    }
    assert joint("grebe-4t", "intake").fits[0].all_positions == (
        "port 1",
        "port 2",
        "port 3",
        "port 4",
    )
    assert fitted("grebe-4t", "coolant-drain") == {"RING-EPDM-20X2.5": 1, "PLUG-COOLANT": 1}
    assert fitted("grebe-4t", "oil-drain") == {"WASHER-AL-14X20": 1, "PLUG-OIL-M14": 1}
    assert fitted("grebe-4t", "oil-filter") == {
        "RING-FKM-66X3": 1,
        "FILTER-OIL": 1,
        "CAP-FILTER": 1,
    }
    assert fitted("grebe-4t", "accessory-belt") == {"BELT-ACC-A": 1, "PIN-TENSIONER": 1}
    assert fitted("grebe-4t", "engine-mount") == {"BOLT-MOUNT-M10X70": 3}
    assert fitted("grebe-4t", "heat-shields") == {"NUT-SHIELD-M6": 5}
    assert fitted("grebe-4t", "service-ports") == {"RING-HNBR-7.6X1.8": 2}
    assert fitted("pell-body", "undertray") == {"CLIP-TRIM": 9}
    assert STEPS["A9"].openings == ()


def test_fluids_drained_are_filled_again() -> None:
    filled = {(step, use.item): use.amount for step in ("A2", "A3") for use in STEPS[step].uses}
    assert filled == {
        ("A2", "COOLANT-NEAT"): Quantity(1_600_000, "ml"),
        ("A2", "WATER-PURE"): Quantity(1_600_000, "ml"),
        ("A3", "OIL-ENGINE"): Quantity(4_600_000, "ml"),
    }


def test_jobs_need_these_steps() -> None:
    assert {code: job.needs for code, job in JOBS.items()} == {
        "J1": ("A1", "A2", "P1"),
        "J2": ("A1", "A2", "A3", "P2"),
        "J3": ("A3", "A4", "A5", "P3"),
        "J4": ("A3", "A6", "A8", "P4"),
        "J5": ("A4", "A7", "P5"),
        "J6": ("A8", "P6"),
        "J7": ("A9", "P7"),
        "J8": ("P8",),
        "J9": ("N1", "P9"),
        "J11": ("L3-left", "L3-right"),
        "J12": ("L3-left", "L3-right"),
        "J13": ("L6-left", "L6-right"),
        "J14": ("L7-left", "L7-right", "L9"),
        "J15": ("L8-left",),
        "J16": ("L8-right",),
    }


def test_two_jobs_that_share_access_save_the_shared_hours() -> None:
    assert hours("J1") == Decimal("3.4")
    assert hours("J2") == Decimal("3.9")
    assert hours("J1", "J2") == Decimal("5.7")
    assert hours("J1") + hours("J2") - hours("J1", "J2") == Decimal("1.6")


def test_the_two_ends_of_the_rear_pipe_take_two_different_rings() -> None:
    joints = ("rear-pipe-pump", "rear-pipe-heater")
    ends = {f.end: f.item for code in joints for f in joint("grebe-4t", code).fits if f.end}
    assert ends == {
        "pump end, short leg": "RING-FKM-17X2.5",
        "heater end, long leg": "RING-EPDM-17X2",
    }


def test_the_oil_cooler_is_split_by_build_date() -> None:
    (split,) = UNITS["grebe-4t"].splits
    assert [(o.code, o.built_from, o.built_before) for o in split.options] == [
        ("early", None, date(2019, 6, 1)),
        ("late", date(2019, 6, 1), None),
    ]


def test_hub_bolts_are_tightened_in_stages_and_by_angle_and_never_go_back() -> None:
    assert stages("grebe-4t", "crank-hub", "BOLT-HUB-M10X60") == [
        ["20 N·m", "60 N·m", "+90°", "+90°"]
    ]
    (fit,) = joint("grebe-4t", "crank-hub").fits
    assert [(rule.source, rule.rule) for rule in fit.rules] == [("maker", "renew")]


def test_one_figure_is_printed_in_pound_force_inches() -> None:
    found = {
        (place, str(stage.torque))
        for place, fit in fits()
        if fit.tightening is not None
        for stage in fit.tightening.stages
        if stage.torque is not None and stage.torque.unit != "N·m"
    }
    assert found == {("grebe-4t/rear-pipe-pump", "75 lbf·in")}


def test_the_cover_takes_a_bead_of_three_millimetres_over_one_metre_sixty_four() -> None:
    bead = joint("grebe-4t", "timing-cover").uses[0].bead
    assert bead is not None
    assert (bead.diameter, bead.length) == (3_000, 1_640_000)


def test_the_turbo_job_takes_four_washers_a_steel_gasket_and_hot_studs() -> None:
    assert fitted("grebe-4t", "turbo-feed")["WASHER-CU-14X20"] == 4
    assert fitted("grebe-4t", "turbo-drain") == {
        "GASKET-DRAIN-A": 1,
        "STUD-EXH-M8X35": 2,
        "NUT-EXH-M8": 2,
    }
    assert {fit.heat for fit in joint("grebe-4t", "turbo-drain").fits} == {"hot"}


def test_refrigerant_work_asks_for_a_licence_and_rings_for_the_refrigerant_oil() -> None:
    assert (STEPS["A7"].licence, STEPS["P5"].licence) == ("refrigerant", "refrigerant")
    assert [service.licence for service in JOBS["J5"].services] == ["refrigerant"]
    rings = [f for f in joint("grebe-4t", "ac-lines").fits if f.end is not None]
    lubricants = [
        f.lubricant.item for f in rings if f.lubricant is not None and f.lubricant != "dry"
    ]
    assert lubricants == ["OIL-REFRIGERANT", "OIL-REFRIGERANT"]


def test_the_union_that_wants_a_crowfoot_says_so() -> None:
    (union,) = (f for f in joint("pell-gearbox", "cooler-lines").fits if f.item == "UNION-LINE-M16")
    assert union.tightening is not None
    assert [stage_text(stage) for stage in union.tightening.stages] == ["22 N·m"]
    assert union.access == "side"


def test_caliper_positions_say_from_where_left_and_right_are_seen() -> None:
    for side in ("left", "right"):
        places = [
            p for f in joint("pell-front-brakes", f"caliper-{side}").fits for p in f.all_positions
        ]
        assert len(places) == 6
        assert [
            p for p in places if not p.startswith(f"{side} caliper seen from the driver's seat")
        ] == []


def test_left_and_right_are_said_nowhere_without_the_driver_s_seat() -> None:
    texts = [text for _, f in fits() for text in (*f.all_positions, f.end or "")]
    bare = [t for t in texts if re.search(r"\b(left|right)\b", t) and "driver's seat" not in t]
    assert bare == []


def test_an_old_gasket_is_replaced_by_a_gasket_and_a_bracket() -> None:
    replaced = ITEMS["GASKET-DRAIN-A"].replaced
    assert replaced is not None
    assert [(part.item, part.quantity) for part in replaced.by] == [
        ("GASKET-DRAIN-B", Quantity(1000, "each")),
        ("BRACKET-DRAIN", Quantity(1000, "each")),
    ]
    assert "GASKET-DRAIN-A" in fitted("grebe-4t", "turbo-drain")


@pytest.mark.parametrize("option", ["early", "late"])
def test_a_new_cooler_brings_exactly_the_rings_its_joint_takes(option: str) -> None:
    cooler = ITEMS[f"COOLER-OIL-{option.upper()}"]
    rings: Counter[str] = Counter()
    for fit in joint("grebe-4t", "cooler").fits:
        if fit.option == f"cooler/{option}" and KINDS[ITEMS[fit.item].kind].family == "ring":
            rings[fit.item] += len(fit.all_positions)
    assert {part.item: part.quantity.thousandths // 1000 for part in cooler.contents} == rings


def test_epdm_takes_safe_products_but_for_the_planted_grease_on_one_boot() -> None:
    safe = {"FLUID-ASSEMBLY", "GREASE-BRAKE-RUBBER"}
    used = {
        fit.lubricant.item
        for _, fit in fits()
        if ITEMS[fit.item].elastomer == "EPDM"
        and fit.lubricant is not None
        and fit.lubricant != "dry"
    }
    assert used == safe | {"GREASE-MULTI"}  # planted: the plan holds it back


def test_the_lip_seal_of_ptfe_goes_on_dry() -> None:
    # Common practice, no source.
    assert [fit.lubricant for _, fit in fits() if ITEMS[fit.item].elastomer == "PTFE"] == ["dry"]
