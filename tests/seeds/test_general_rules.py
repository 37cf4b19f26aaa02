"""The general rules that come with the program: what goes back, cautions, systems."""

from __future__ import annotations

import re

import pytest
from catalogues import read

from kitting.files.catalogue.vocabulary_shapes import Kind, KindRule, Where

GENERAL = read("general.yaml")
KINDS: dict[str, Kind] = {k.code: k for k in GENERAL.kinds}


def test_every_caution_defers_to_the_maker_local_rules_and_licensed_practice() -> None:
    deference = (
        "Planning information, not a procedure: the maker's data, local rules and licensed"
        " practice decide."
    )
    assert len(GENERAL.cautions) == 16
    assert [c.code for c in GENERAL.cautions if not c.text.endswith(deference)] == []


def test_no_caution_prints_a_wait_a_pressure_or_any_other_figure() -> None:
    assert [c.code for c in GENERAL.cautions if re.search(r"\d", c.text)] == []


def test_every_caution_has_its_word_for_labels_one_or_two_in_capitals() -> None:
    words = [caution.word or "" for caution in GENERAL.cautions]
    assert "" not in words
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
        "exhaust",
        "driveline",
    }


def test_no_general_torque_may_stand_in_for_hollow_bolts_plugs_and_exhaust_studs() -> None:
    # Common practice, no source: a bore, a washer, heat or plastic, none of which a general table
    # of threads knows.
    threaded = {kind.code: kind.general_torque for kind in GENERAL.kinds if kind.threaded}
    assert [code for code, general in threaded.items() if general] == [
        "bolt",
        "mild-or-stainless",
        "nut",
        "stud",
        "locking-nut",
    ]
    assert {"banjo-bolt", "union", "bleed-screw", "drain-plug", "screw-cap"} <= set(threaded)
    assert {"exhaust-stud", "exhaust-nut"} <= set(threaded)


def test_every_threaded_kind_says_between_which_property_classes_it_is_made() -> None:
    # Common practice, no source; the classes themselves: ISO 898-1.
    lacking = [kind.code for kind in GENERAL.kinds if kind.threaded and kind.classes is None]
    # Of which class such a one is, the item has to say.
    assert lacking == ["mild-or-stainless"]
    classes = {kind.code: kind.classes for kind in GENERAL.kinds}
    assert classes["bolt"] == ("8.8", "12.9")
    assert classes["drain-plug"] == ("4.6", "8.8")


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
    "gudgeon-pin-circlip": ("renew", None),
    "hub-nut": ("renew", None),
    "wheel-nut": ("keep", None),
    "wheel-bolt": ("keep", None),
    "timing-belt": ("renew", None),
    "belt": ("inspect", None),
    "exhaust-stud": ("inspect", 0.20),
    "exhaust-nut": ("renew", 0.35),
    "hose": ("inspect", 0.12),
}


def plain_rule(kind: Kind) -> KindRule:
    return next(rule for rule in kind.rules if rule.situations == (Where(),))


@pytest.mark.parametrize("code", DEFAULT_RULES)
def test_each_kind_has_the_rule_of_common_practice(code: str) -> None:
    kind = KINDS[code]
    assert (plain_rule(kind).rule, kind.chance) == DEFAULT_RULES[code]


# Common practice, no source (locking nuts: ISO 2320). Kind → where it is renewed for all that, and
# who may relax it. What holds back fuel, refrigerant and brake fluid is told by fluid, by medium,
# and by the system where no fluid is listed.
FUELS = ("petrol", "e85", "diesel", "biodiesel")
COLD = ("refrigerant", "r134a-pag", "r1234yf-pag", "r134a-ester", "r1234yf-ester", "r744-pag")
BRAKE_FLUIDS = ("glycol-brake-fluid", "silicone-brake-fluid")
FUEL_COLD_AND_BRAKES = {
    *(
        (code, None, None)
        for code in (*FUELS, "refrigerant", "brake-fluid", "silicone-brake-fluid")
    ),
    *((None, medium, None) for medium in (*FUELS, *COLD, *BRAKE_FLUIDS)),
    *(
        (None, None, system)
        for system in ("fuel", "high-pressure-fuel", "air-conditioning", "brakes")
    ),
}
UNDER_PRESSURE = {
    ("brake-fluid", None, None), ("silicone-brake-fluid", None, None), (None, None, "brakes"),
    (None, None, "high-pressure-fuel"), *((None, medium, None) for medium in BRAKE_FLUIDS),
}  # fmt: skip


# Common practice, no source: there only the maker's data let a plain fastener go back.
HELD_BY_MAKER = (
    "restraints", "brakes", "driveline", "steering", "suspension", "high-voltage",
    "high-pressure-fuel",
)  # fmt: skip


def systems(*codes: str) -> set[tuple[str | None, str | None, str | None]]:
    return {(None, None, code) for code in codes}


RENEWED_WHERE = {
    "o-ring": ("nobody", FUEL_COLD_AND_BRAKES),
    "moulded-ring": ("maker", FUEL_COLD_AND_BRAKES),
    "moulded-gasket": ("maker", FUEL_COLD_AND_BRAKES),
    "intake-gasket": ("maker", FUEL_COLD_AND_BRAKES),
    "bonded-washer": ("maker", FUEL_COLD_AND_BRAKES),
    "copper-washer": ("nobody", UNDER_PRESSURE),
    "crush-washer": ("nobody", UNDER_PRESSURE),
    "union": ("maker", systems("high-pressure-fuel")),
    "stud": ("maker", systems(*HELD_BY_MAKER)),
    "locking-nut": ("maker", systems("wheels", *HELD_BY_MAKER)),
    "circlip": ("workshop", systems("engine")),
}


@pytest.mark.parametrize("code", RENEWED_WHERE)
def test_where_a_kind_is_renewed_and_who_may_relax_it(code: str) -> None:
    relaxed_by, where = RENEWED_WHERE[code]
    special = [rule for rule in KINDS[code].rules if rule.situations != (Where(),)]
    assert {(rule.rule, rule.relaxed_by) for rule in special} == {("renew", relaxed_by)}
    assert {tuple(place) for rule in special for place in rule.situations} == where


@pytest.mark.parametrize("code", ["bolt", "nut"])
def test_one_of_wheels_is_renewed_unless_somebody_says_that_it_is_none_of_a_hub(code: str) -> None:
    rules = {
        place: (rule.rule, rule.relaxed_by)
        for rule in KINDS[code].rules
        for place in rule.situations
    }
    assert rules == {
        Where(): ("keep", "workshop"),
        Where(system="wheels"): ("renew", "workshop"),
        **dict.fromkeys(
            [Where(system=system) for system in HELD_BY_MAKER],
            ("renew", "maker"),
        ),
    }


# Common practice, no source: what a plain fastener of these systems lets go can kill.
DANGEROUS = (*HELD_BY_MAKER, "wheels")
# Common practice, no source: what may go back there by a general rule, and why.
GOES_BACK = {
    "drain-plug": "it seals, and carries nothing",
    "screw-cap": "it seals, and carries nothing",
    "plain-washer": "it has no thread, and carries nothing by itself",
    "wheel-bolt": "it is undone for every puncture",
    "wheel-nut": "it is undone for every puncture",
    "union": "it is looked at, and stays with its pipe",
    "banjo-bolt": "it is looked at, and its washers are renewed",
    "bleed-screw": "it is looked at, and undone at every bleeding",
    "exhaust-stud": "it is looked at, and is none of these systems",
    "spark-plug": "it is looked at, and is none of these systems",
    "glow-plug": "it is looked at, and is none of these systems",
}


@pytest.mark.parametrize("system", DANGEROUS)
def test_every_kind_of_fastener_is_renewed_where_it_holds_something_dangerous(system: str) -> None:
    """No kind is kept there in silence: it is renewed, or named above with the reason."""
    back = set()
    for kind in GENERAL.kinds:
        if kind.family != "fastener":
            continue
        rules = [
            rule for rule in kind.rules if {Where(), Where(system=system)} & {*rule.situations}
        ]
        if "renew" not in {rule.rule for rule in rules}:
            back.add(kind.code)
    renewed = {"union"} if system == "high-pressure-fuel" else set()
    # A stud of a wheel stays in its hub.
    stays = {"stud"} if system == "wheels" else set()
    assert back == set(GOES_BACK) - renewed | stays


def test_no_other_kind_has_a_special_rule() -> None:
    special = {k.code for k in GENERAL.kinds if any(r.situations != (Where(),) for r in k.rules)}
    assert special == {*RENEWED_WHERE, "bolt", "nut", "bearing-adjuster", "mild-or-stainless"}


def test_systems_that_ask_for_a_licence_are_exactly_these() -> None:
    # Common practice, no source.
    assert {s.code: s.licences for s in GENERAL.systems if s.licences} == {
        "air-conditioning": ("refrigerant",),
        "restraints": ("restraints",),
        "high-voltage": ("high-voltage",),
    }


def test_systems_that_hold_something_dangerous_carry_its_caution() -> None:
    # Common practice, no source.
    carried = {system.code: set(system.cautions) for system in GENERAL.systems}
    assert carried["fuel"] == {"fuel"}
    assert carried["high-pressure-fuel"] == {"fuel", "fuel-pressure"}
    assert carried["air-conditioning"] == {"refrigerant"}
    assert carried["cooling"] == {"coolant"}


@pytest.mark.parametrize(
    ("code", "relaxed_by"),
    # Common practice, no source.
    [
        ("stretch-bolt", "maker"),
        ("patch-bolt", "maker"),
        ("caliper-seal", "nobody"),
        ("multilayer-gasket", "maker"),
        ("ear-clamp", "nobody"),
        ("split-pin", "nobody"),
        ("tab-washer", "maker"),
        ("roll-pin", "maker"),
        ("gudgeon-pin-circlip", "maker"),
        ("hub-nut", "maker"),
        ("timing-belt", "maker"),
        ("sealant", "nobody"),
    ],
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
        "mild-or-stainless",
        "bearing-adjuster",
        "stretch-bolt",
        "patch-bolt",
        "exhaust-stud",
        "exhaust-nut",
        "drain-plug",
        "union",
        "banjo-bolt",
        "bleed-screw",
        "screw-cap",
        "wheel-bolt",
        "wheel-nut",
        "hub-nut",
        "restraint-bolt",
        "suspension-bolt",
        "caliper-bolt",
        "captive-washer-plug",
        "plastic-drain-plug",
        "spark-plug",
        "glow-plug",
    }
