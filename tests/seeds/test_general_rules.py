"""The general rules that come with the program: what goes back, cautions, systems."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from ruamel.yaml import YAML

from kitting.files.catalogue.document import Catalogue
from kitting.files.catalogue.vocabulary_shapes import Kind, KindRule

SEEDS = Path(__file__).parents[2] / "seeds"


def read(name: str) -> Catalogue:
    raw = YAML(typ="safe").load((SEEDS / name).read_text(encoding="utf-8"))
    return Catalogue.model_validate(raw)


GENERAL = read("general.yaml")
KINDS: dict[str, Kind] = {k.code: k for k in GENERAL.kinds}


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
