"""The catalogue files that come with the program: general rules and the demo garage."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest
from ruamel.yaml import YAML

from kitting.facts.heads import STANDARDS, Head, standard_size
from kitting.facts.threads import preload_for_torque, proof_load
from kitting.facts.units import Quantity
from kitting.files.catalogue import (
    Catalogue,
    Fit,
    Item,
    Joint,
    Kind,
    KindRule,
    Step,
    Tightening,
    Unit,
    Use,
)
from kitting.files.source import parse_catalogue
from kitting.services.checking import Known, check

SEEDS = Path(__file__).parents[2] / "seeds"
FILES = [
    "demo_garage.yaml",
    "demo_grebe_4t.yaml",
    "demo_hask_d4.yaml",
    "demo_items.yaml",
    "demo_nib_3.yaml",
    "general.yaml",
]


def read(name: str) -> Catalogue:
    raw = YAML(typ="safe").load((SEEDS / name).read_text(encoding="utf-8"))
    return Catalogue.model_validate(raw)


CATALOGUES = {name: read(name) for name in FILES}
GENERAL = CATALOGUES["general.yaml"]
ITEMS: dict[str, Item] = {i.code: i for c in CATALOGUES.values() for i in c.items}
UNITS: dict[str, Unit] = {u.code: u for c in CATALOGUES.values() for u in c.units}
KINDS: dict[str, Kind] = {k.code: k for k in GENERAL.kinds}
STEPS: dict[str, Step] = {s.code: s for u in UNITS.values() for s in u.steps}
JOBS = {j.code: j for u in UNITS.values() for j in u.jobs}


def joints() -> Iterator[tuple[str, Joint]]:
    for unit in UNITS.values():
        for joint in unit.joints:
            yield unit.code, joint


def fits() -> Iterator[tuple[str, Fit]]:
    for unit, joint in joints():
        for fit in joint.fits:
            yield f"{unit}/{joint.code}", fit


def uses() -> Iterator[Use]:
    for unit in UNITS.values():
        for part in (*unit.joints, *unit.steps):
            yield from part.uses


def joint(unit: str, code: str) -> Joint:
    return next(j for j in UNITS[unit].joints if j.code == code)


def fitted(unit: str, code: str) -> dict[str, int]:
    """How many of each item a joint holds, over all options."""
    count: Counter[str] = Counter()
    for fit in joint(unit, code).fits:
        count[fit.item] += len(fit.all_positions) * fit.quantity.thousandths // 1000
    return dict(count)


def stages(unit: str, code: str, item: str) -> list[list[str]]:
    return [
        [str(stage) for stage in fit.tightening.stages]
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


# --- the files as a whole


def test_the_folder_holds_exactly_these_catalogue_files() -> None:
    assert sorted(path.name for path in SEEDS.glob("*.yaml")) == FILES


def test_no_fault_of_meaning_is_found_when_all_files_are_checked_together() -> None:
    sources = []
    for name in FILES:
        source, faults = parse_catalogue(name, (SEEDS / name).read_text(encoding="utf-8"))
        assert faults == []
        assert source is not None
        sources.append(source)
    assert [str(problem) for problem in check(sources, Known())] == []


def _references_of_words() -> Iterator[tuple[str, str]]:
    for entry in (*GENERAL.fluids, *GENERAL.systems, *GENERAL.kinds, *ITEMS.values()):
        yield from (("cautions", code) for code in entry.cautions)
    for kind in GENERAL.kinds:
        yield from (("tools", code) for code in kind.tools)
        yield from (("fluids", rule.fluid) for rule in kind.rules if rule.fluid)
        yield from (("systems", rule.system) for rule in kind.rules if rule.system)


def _references_of_items_and_cars() -> Iterator[tuple[str, str]]:
    for item in ITEMS.values():
        yield "kinds", item.kind
        yield from (("items", other.item) for other in (*item.contents, *item.alternatives))
        if item.replaced is not None:
            yield from (("items", other.item) for other in item.replaced.by)
    for catalogue in CATALOGUES.values():
        for model in catalogue.models:
            yield from (("units", code) for code in model.units)
        for vehicle in catalogue.vehicles:
            yield "models", vehicle.model
            yield from (("joints", removal.joint) for removal in vehicle.history)


def _references_of_joints() -> Iterator[tuple[str, str]]:
    for _, part in joints():
        yield "systems", part.system
        yield from (("fluids", code) for code in part.fluids)
        yield from (("cautions", code) for code in part.cautions)
    for _, fit in fits():
        yield "items", fit.item
        if fit.lubricant is not None and fit.lubricant != "dry":
            yield "items", fit.lubricant.item
    yield from (("items", use.item) for use in uses())


def _references_of_work() -> Iterator[tuple[str, str]]:
    for unit in UNITS.values():
        for step in unit.steps:
            yield from (("steps", code) for code in step.needs)
            yield from (("joints", f"{unit.code}/{o.joint}") for o in step.openings)
            yield from (("tools", code) for code in step.tools)
            yield from (("cautions", code) for code in step.cautions)
            yield from (("licences", code) for code in (step.licence,) if code)
        for job in unit.jobs:
            yield from (("steps", code) for code in job.needs)
            yield from (("licences", s.licence) for s in job.services if s.licence)


def test_every_code_that_is_referred_to_is_described() -> None:
    sections = ("cautions", "fluids", "systems", "licences", "tools", "kinds", "items", "units")
    known = {
        section: {entry.code for c in CATALOGUES.values() for entry in getattr(c, section)}
        for section in (*sections, "models")
    }
    known["steps"] = set(STEPS)
    known["joints"] = {f"{unit}/{part.code}" for unit, part in joints()}
    references = [
        *_references_of_words(),
        *_references_of_items_and_cars(),
        *_references_of_joints(),
        *_references_of_work(),
    ]
    assert len(references) > 300
    assert [(s, code) for s, code in references if code not in known[s]] == []


def test_every_joint_is_opened_by_a_step_and_every_step_is_asked_for_by_a_job() -> None:
    opened = {f"{u.code}/{o.joint}" for u in UNITS.values() for s in u.steps for o in s.openings}
    assert opened == {f"{unit}/{part.code}" for unit, part in joints()}
    needed = {code for job in JOBS.values() for code in job.needs}
    assert needed == set(STEPS)


# --- general rules


def test_every_caution_defers_to_the_maker_local_rules_and_licensed_practice() -> None:
    deference = (
        "Planning information, not a procedure: the maker's data, local rules and licensed"
        " practice decide."
    )
    assert len(GENERAL.cautions) == 15
    assert [c.code for c in GENERAL.cautions if not c.text.endswith(deference)] == []


def test_no_caution_prints_a_wait_a_pressure_or_any_other_figure() -> None:
    assert [c.code for c in GENERAL.cautions if re.search(r"\d", c.text)] == []


def test_label_words_are_one_or_two_words_in_capitals() -> None:
    words = [caution.word for caution in GENERAL.cautions if caution.word is not None]
    assert [word for word in words if word != word.upper() or len(word.split()) > 2] == []
    assert "FLAMMABLE" in words


def test_no_general_torque_may_stand_in_for_brakes_steering_and_the_like() -> None:
    # Common practice, no source.
    assert {system.code for system in GENERAL.systems if not system.general_torque} == {
        "brakes",
        "steering",
        "suspension",
        "wheels",
        "restraints",
        "high-pressure-fuel",
        "high-voltage",
    }


# Common practice, no source (locking nuts: ISO 2320 says that the grip falls with each reuse).
# Kind → default rule, assumed chance of failing the look (None: none assumed). The chances are
# invented and stand in the general rules to be replaced by findings.
DEFAULT_RULES = {
    "o-ring": ("renew", 0.60),
    "moulded-ring": ("inspect", 0.15),
    "moulded-gasket": ("inspect", 0.15),
    "intake-gasket": ("inspect", 0.25),
    "paper-gasket": ("renew", None),
    "multilayer-gasket": ("renew", None),
    "copper-washer": ("renew", 0.50),
    "crush-washer": ("renew", 0.70),
    "bonded-washer": ("inspect", 0.30),
    "sealant": ("renew", 1),
    "shaft-seal": ("renew", 0.50),
    "caliper-seal": ("renew", None),
    "spring-band-clamp": ("keep", 0.08),
    "worm-drive-clamp": ("inspect", 0.15),
    "ear-clamp": ("renew", 1),
    "wire-clip": ("inspect", 0.10),
    "trim-clip": ("inspect", 0.25),
    "locking-nut": ("inspect", 0.30),
    "stretch-bolt": ("renew", None),
    "patch-bolt": ("renew", None),
    "bolt": ("keep", 0.03),
    "roll-pin": ("renew", None),
    "tab-washer": ("renew", None),
    "split-pin": ("renew", None),
    "circlip": ("inspect", 0.20),
    "exhaust-stud": ("inspect", 0.20),
    "exhaust-nut": ("renew", 0.35),
    "hose": ("inspect", 0.12),
}


def plain_rule(kind: Kind) -> KindRule:
    return next(rule for rule in kind.rules if rule.fluid is None and rule.system is None)


@pytest.mark.parametrize("code", DEFAULT_RULES)
def test_each_kind_has_the_rule_of_common_practice(code: str) -> None:
    kind = KINDS[code]
    assert (plain_rule(kind).rule, kind.chance) == DEFAULT_RULES[code]


# Common practice, no source. (kind, fluid, system) → rule and who may relax it.
SPECIAL_RULES = {
    ("o-ring", "petrol", None): ("renew", "nobody"),
    ("o-ring", "diesel", None): ("renew", "nobody"),
    ("o-ring", "refrigerant", None): ("renew", "nobody"),
    ("copper-washer", None, "high-pressure-fuel"): ("renew", "nobody"),
    ("copper-washer", None, "brakes"): ("renew", "nobody"),
    ("locking-nut", None, "brakes"): ("renew", "maker"),
    ("locking-nut", None, "steering"): ("renew", "maker"),
    ("locking-nut", None, "suspension"): ("renew", "maker"),
    ("locking-nut", None, "driveline"): ("renew", "maker"),
}


def test_special_rules_by_fluid_and_system_are_exactly_these() -> None:
    special = {
        (kind.code, rule.fluid, rule.system): (rule.rule, rule.relaxed_by)
        for kind in GENERAL.kinds
        for rule in kind.rules
        if rule.fluid is not None or rule.system is not None
    }
    assert special == SPECIAL_RULES


@pytest.mark.parametrize(
    ("code", "relaxed_by"),
    # Common practice, no source.
    [("stretch-bolt", "maker"), ("patch-bolt", "maker"), ("caliper-seal", "nobody")],
)
def test_rules_that_only_the_maker_or_nobody_may_relax(code: str, relaxed_by: str) -> None:
    assert plain_rule(KINDS[code]).relaxed_by == relaxed_by


def test_every_kind_that_may_go_back_says_what_the_look_is_for() -> None:
    rules = [(kind.code, rule) for kind in GENERAL.kinds for rule in kind.rules]
    assert [c for c, rule in rules if rule.rule != "renew" and not rule.criterion] == []


def test_every_rule_names_common_practice_or_a_standard_as_its_source() -> None:
    rules = [(kind.code, rule) for kind in GENERAL.kinds for rule in kind.rules]
    lacking = [c for c, r in rules if not r.reference.startswith(("common practice", "ISO 2320"))]
    assert lacking == []
    nut = [rule.reference for rule in KINDS["locking-nut"].rules]
    assert all("ISO 2320" in reference for reference in nut)


def test_every_kind_that_is_fitted_has_a_rule() -> None:
    assert [k.code for k in GENERAL.kinds if k.family != "consumable" and not k.rules] == []


def test_kinds_that_need_a_tightening_figure_are_exactly_these() -> None:
    assert {kind.code for kind in GENERAL.kinds if kind.threaded} == {
        "bolt",
        "nut",
        "stud",
        "locking-nut",
        "stretch-bolt",
        "patch-bolt",
        "exhaust-stud",
        "exhaust-nut",
        "drain-plug",
        "union",
        "banjo-bolt",
        "bleed-screw",
        "screw-cap",
    }


# --- items


def test_the_demo_has_about_sixty_items() -> None:
    assert 50 <= len(ITEMS) <= 75


# Item → standard that gives its head, and the head written out. Sizes of ISO 4014 (ISO 4032 for
# nuts: the same ISO 272 widths), ISO 4162 (small flange) and ISO 14579; external six-lobe drives
# after DIN 34800 are from memory.
STANDARD_HEADS = {
    "BOLT-FLANGE-M6X25": ("ISO 4162", "hexagon", "8 mm"),
    "BOLT-FLANGE-M8X40": ("ISO 4162", "hexagon", "10 mm"),
    "BOLT-HEX-M8X30": ("ISO 4014", "hexagon", "13 mm"),
    "BOLT-GUIDE-M8X25": ("ISO 4014", "hexagon", "13 mm"),
    "NUT-EXH-M8": ("ISO 4014", "hexagon", "13 mm"),
    "NUT-SHIELD-M6": ("ISO 4014", "hexagon", "10 mm"),
    "BOLT-SIXLOBE-M8X35": ("ISO 14579", "six-lobe", "T45"),
    "BOLT-EXT-M6X20": ("DIN 34800", "external six-lobe", "E8"),
    "BOLT-EXT-M8X25": ("DIN 34800", "external six-lobe", "E10"),
    "BOLT-HUB-M10X60": ("DIN 34800", "external six-lobe", "E12"),
}
# Heads that no table here gives: maker's own choice of drive.
OWN_HEADS = {"BOLT-MOUNT-M10X70"}


@pytest.mark.parametrize("code", STANDARD_HEADS)
def test_a_standard_fastener_has_the_head_its_standard_gives_its_thread(code: str) -> None:
    standard, profile, size = STANDARD_HEADS[code]
    item = ITEMS[code]
    assert item.thread is not None
    assert item.head == Head(profile, size)
    assert standard_size(standard, item.thread.name) == size.removesuffix(" mm")


def test_no_bolt_or_nut_of_the_demo_escapes_the_check_of_heads() -> None:
    kinds = {"bolt", "nut", "locking-nut", "exhaust-nut", "patch-bolt", "stretch-bolt"}
    assert {i.code for i in ITEMS.values() if i.kind in kinds} == {*STANDARD_HEADS, *OWN_HEADS}
    assert {standard for standard, _, _ in STANDARD_HEADS.values()} <= set(STANDARDS)


def test_two_green_rings_of_one_size_are_two_items_of_different_rubber() -> None:
    same = [
        i
        for i in ITEMS.values()
        if (i.ring_inside, i.ring_section, i.colour) == (10_800, 1_800, "green")
    ]
    assert {(i.code, i.elastomer) for i in same} == {
        ("RING-FKM-10.8X1.8", "FKM"),
        ("RING-HNBR-10.8X1.8", "HNBR"),
    }


def test_an_inch_ring_stands_beside_the_metric_one_it_is_mistaken_for() -> None:
    # 17.12 × 2.62 mm is dash size 115 of SAE AS568 (0.674 × 0.103 in).
    inch, metric = ITEMS["RING-FKM-17.12X2.62"], ITEMS["RING-FKM-17X2.5"]
    assert (inch.ring_inside, inch.ring_section) == (17_120, 2_620)
    assert (metric.ring_inside, metric.ring_section) == (17_000, 2_500)


def test_an_old_gasket_is_replaced_by_a_gasket_and_a_bracket() -> None:
    replaced = ITEMS["GASKET-DRAIN-A"].replaced
    assert replaced is not None
    assert [(part.item, part.quantity) for part in replaced.by] == [
        ("GASKET-DRAIN-B", Quantity(1000, "each")),
        ("BRACKET-DRAIN", Quantity(1000, "each")),
    ]
    assert "GASKET-DRAIN-A" in fitted("grebe-4t", "turbo-drain")


def test_two_belts_are_said_to_replace_each_other() -> None:
    by = {c: [s.item for s in i.replaced.by] for c, i in ITEMS.items() if i.replaced is not None}
    assert by["BELT-ACC-A"] == ["BELT-ACC-B"]
    assert by["BELT-ACC-B"] == ["BELT-ACC-A"]


def test_packs_and_lives_that_the_demo_turns_on() -> None:
    ring, sealant = ITEMS["RING-NBR-11X2"], ITEMS["SEALANT-COVER-70"]
    # ISO 2230:2002 puts NBR into group B: 7 years.
    assert (ring.pack, ring.shelf_life) == (Quantity(10_000, "each"), 84)
    assert (sealant.pack, sealant.opened_life) == (Quantity(70_000, "ml"), 60)
    assert sealant.nozzle_waste == Quantity(5_000, "ml")


def test_caliper_seals_come_only_in_a_kit_for_the_axle() -> None:
    kit = {part.item: part.quantity.thousandths for part in ITEMS["KIT-CALIPER-AXLE"].contents}
    assert kit == {"SEAL-CALIPER-PISTON": 2000, "BOOT-CALIPER": 2000}
    assert {c for c, item in ITEMS.items() if not item.sold_singly} == set(kit)


@pytest.mark.parametrize("option", ["early", "late"])
def test_a_new_cooler_brings_exactly_the_rings_its_joint_takes(option: str) -> None:
    cooler = ITEMS[f"COOLER-OIL-{option.upper()}"]
    rings: Counter[str] = Counter()
    for fit in joint("grebe-4t", "cooler").fits:
        if fit.option == f"cooler/{option}" and KINDS[ITEMS[fit.item].kind].family == "ring":
            rings[fit.item] += len(fit.all_positions)
    assert {part.item: part.quantity.thousandths // 1000 for part in cooler.contents} == rings


def test_petroleum_never_lubricates_epdm_and_epdm_safe_products_do() -> None:
    # Petroleum on EPDM never (common practice, no source).
    safe = {"FLUID-ASSEMBLY", "GREASE-BRAKE-RUBBER"}
    used = {
        fit.lubricant.item
        for _, fit in fits()
        if ITEMS[fit.item].elastomer == "EPDM"
        and fit.lubricant is not None
        and fit.lubricant != "dry"
    }
    assert used == safe


def test_the_lip_seal_of_ptfe_goes_on_dry() -> None:
    # Common practice, no source.
    assert [fit.lubricant for _, fit in fits() if ITEMS[fit.item].elastomer == "PTFE"] == ["dry"]


def test_every_item_that_is_sold_singly_has_a_home_bin_of_its_own() -> None:
    bins = [item.bin for item in ITEMS.values() if item.sold_singly]
    assert None not in bins
    assert len(set(bins)) == len(bins)


# --- steps, jobs, joints


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
    }


def test_two_jobs_that_share_access_save_the_shared_hours() -> None:
    assert hours("J1") == Decimal("3.4")
    assert hours("J2") == Decimal("3.9")
    assert hours("J1", "J2") == Decimal("5.7")
    assert hours("J1") + hours("J2") - hours("J1", "J2") == Decimal("1.6")


def test_the_two_ends_of_the_rear_pipe_take_two_different_rings() -> None:
    ends = {fit.end: fit.item for fit in joint("grebe-4t", "rear-pipe").fits if fit.end}
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
    assert found == {("grebe-4t/rear-pipe", "75 lbf·in")}


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
    assert [str(stage) for stage in union.tightening.stages] == ["22 N·m"]
    assert union.tightening.pattern is not None
    assert "crowfoot" in union.tightening.pattern


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


# --- tightenings


def threaded() -> Iterator[tuple[str, Fit, Tightening | None]]:
    for place, fit in fits():
        if KINDS[ITEMS[fit.item].kind].threaded:
            yield place, fit, fit.tightening


def test_only_the_bleed_screws_have_no_figure() -> None:
    unknown = [(place, fit.item) for place, fit, how in threaded() if how is None or not how.stages]
    assert unknown == [
        ("pell-front-brakes/caliper-left", "SCREW-BLEED-M8"),
        ("pell-front-brakes/caliper-right", "SCREW-BLEED-M8"),
    ]


def test_every_figure_says_that_it_is_invented() -> None:
    sources = {how.source for _, _, how in threaded() if how is not None and how.stages}
    assert sources == {"demo figure, invented"}


def test_no_torque_loads_a_bolt_beyond_its_proof_load() -> None:
    # T = K·F·d with K 0.20 (a usual nut factor, from memory); proof loads ISO 898-1:2013.
    checked = {}
    for place, fit, how in threaded():
        item = ITEMS[fit.item]
        if item.thread is None or item.property_class is None or how is None:
            continue
        largest = max(s.torque.newton_metres for s in how.stages if s.torque is not None)
        preload = preload_for_torque(float(largest), float(item.thread.diameter), 0.20)
        checked[place, fit.item] = preload / proof_load(item.thread, item.property_class)
    assert len(checked) >= 12
    assert {place: share for place, share in checked.items() if not 0.1 < share < 1} == {}


# --- sources that disagree, cars


def spoken(code: str, item: str) -> dict[str, str]:
    """Who says what of an item in a joint UNIT/JOINT: its leaflet and the position's own rules."""
    said = {rule.source: rule.rule for rule in ITEMS[item].rules}
    for place, fit in fits():
        if place == code and fit.item == item:
            said |= {rule.source: rule.rule for rule in fit.rules}
    return said | {"general": plain_rule(KINDS[ITEMS[item].kind]).rule}


@pytest.mark.parametrize(
    ("place", "item", "said"),
    [
        (
            "grebe-4t/intake",
            "SEAL-INTAKE",
            {"general": "inspect", "leaflet": "inspect", "maker": "renew"},
        ),
        (
            "grebe-4t/rear-pipe",
            "HOSE-HEATER",
            {"general": "inspect", "workshop": "inspect", "maker": "keep"},
        ),
        (
            "pell-gearbox/cooler-lines",
            "CLIP-LINE",
            {"general": "inspect", "workshop": "renew", "maker": "inspect"},
        ),
        (
            "pell-front-brakes/caliper-left",
            "BOLT-GUIDE-M8X25",
            {"general": "renew", "leaflet": "inspect"},
        ),
        (
            "hask-d4/pump-banjos",
            "WASHER-CU-12X16",
            {"general": "renew", "leaflet": "inspect"},
        ),
    ],
)
def test_sources_disagree_so_that_there_is_a_why_to_tell(
    place: str, item: str, said: dict[str, str]
) -> None:
    assert spoken(place, item) == said


def test_every_statement_of_the_demo_says_that_it_is_invented() -> None:
    rules = [
        *(r for i in ITEMS.values() for r in i.rules),
        *(r for _, f in fits() for r in f.rules),
    ]
    assert {rule.reference for rule in rules} == {
        "demo maker's instruction (invented)",
        "demo workshop policy (invented)",
        "demo leaflet in the packet (invented)",
    }


def test_the_cars_of_the_demo() -> None:
    cars = {v.registration: v for c in CATALOGUES.values() for v in c.vehicles}
    assert {r: (v.model, v.build_date, v.vin) for r, v in cars.items()} == {
        "PELL 042": ("pell", None, None),
        "PELL 117": ("pell", date(2021, 3, 14), None),
        "PELD 207": ("pell-d", date(2020, 9, 30), None),
        "TANS 311": ("tansy", date(2022, 2, 7), None),
    }


def test_history_names_positions_that_exist_and_one_nut_has_reached_its_limit() -> None:
    positions = {(place, p): f.refit_limit for place, f in fits() for p in f.all_positions}
    history = [r for c in CATALOGUES.values() for v in c.vehicles for r in v.history]
    assert [r for r in history if (r.joint, r.position) not in positions] == []
    refitted = [(r.joint, r.position) for r in history if r.outcome == "refitted"]
    assert refitted == [("grebe-4t/heat-shields", "front shield, nut 1")]
    assert positions[refitted[0]] == 1
