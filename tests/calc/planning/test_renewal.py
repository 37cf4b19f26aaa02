"""Renewal: who is heard, who decides, and what is said of the rest."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kitting.calc.planning.refits import Refits
from kitting.calc.planning.renewal import (
    STRICTNESS,
    KindSays,
    Ruling,
    Situation,
    SituationRule,
    Statement,
    kind_says,
)
from kitting.calc.planning.renewal import ruling as settle
from kitting.facts.words import RelaxedBy, Rule, Source
from kitting.wording.reasons import as_text, say


def general(rule: str, relaxed_by: str = "workshop") -> Statement:
    return Statement(
        Source.GENERAL, Rule(rule), "common practice", relaxed_by=RelaxedBy(relaxed_by)
    )


def says(source: str, rule: str) -> Statement:
    return Statement(Source(source), Rule(rule), f"{source} page")


def verdict(
    base: Statement, stated: list[Statement], refits: int = 0, refit_limit: int | None = None
) -> Ruling:
    """The verdict where one general rule is all that a kind has, at one opening."""
    return settle(KindSays(base), stated, Refits(refits, refit_limit)).over(1)


def test_the_general_rule_holds_where_nobody_else_speaks() -> None:
    assert verdict(general("inspect"), []) == Ruling(
        "inspect", "general", "common practice", None, relaxed_by="workshop"
    )


def test_silence_of_every_source_means_renew() -> None:
    found = settle(kind_says([], Situation("engine")), [])
    assert (found.rule, found.source) == ("renew", "none")


def test_the_maker_may_relax_a_general_rule_that_yields_to_the_maker() -> None:
    assert verdict(general("renew", "maker"), [says("maker", "inspect")]).rule == "inspect"


def test_the_leaflet_may_not_relax_a_rule_that_yields_only_to_the_maker() -> None:
    found = verdict(general("renew", "maker"), [says("leaflet", "inspect")])
    assert (found.rule, found.source) == ("renew", "general")
    assert say(found.overruled[0].because) == (
        "the general rule for the kind may be relaxed only by the vehicle maker"
    )


def test_nobody_relaxes_a_rule_that_yields_to_nobody() -> None:
    found = verdict(general("renew", "nobody"), [says("maker", "keep")])
    assert (found.rule, found.source) == ("renew", "general")
    assert "may not be relaxed by anybody" in say(found.overruled[0].because)


def test_a_lower_source_counts_where_it_is_stricter() -> None:
    found = verdict(general("inspect"), [says("workshop", "renew"), says("maker", "inspect")])
    assert (found.rule, found.source) == ("renew", "workshop")
    assert [o.statement.source for o in found.overruled] == ["maker", "general"]


def test_a_lower_source_that_is_laxer_is_overruled_with_the_reason() -> None:
    found = verdict(general("inspect"), [says("leaflet", "keep"), says("maker", "renew")])
    assert (found.rule, found.source) == ("renew", "maker")
    assert say(found.overruled[0].because) == "the vehicle maker ranks above it"


def test_of_sources_as_strict_as_one_another_the_higher_decides() -> None:
    found = verdict(general("inspect"), [says("workshop", "renew"), says("maker", "renew")])
    assert (found.rule, found.source) == ("renew", "maker")
    assert [(o.statement.source, say(o.because)) for o in found.overruled] == [
        ("workshop", "the vehicle maker ranks above it"),
        ("general", "the vehicle maker speaks of this very case"),
    ]


def test_a_source_may_be_as_strict_as_a_rule_that_it_may_not_relax() -> None:
    found = verdict(general("renew", "maker"), [says("leaflet", "renew")])
    assert (found.rule, found.source) == ("renew", "leaflet")
    assert [o.statement.source for o in found.overruled] == ["general"]


@pytest.mark.parametrize(
    ("relaxed_by", "source", "decides"),
    [
        ("workshop", "workshop", "workshop"),
        ("leaflet", "workshop", "general"),
        ("leaflet", "leaflet", "leaflet"),
        ("maker", "leaflet", "general"),
        ("maker", "maker", "maker"),
        ("nobody", "maker", "general"),
    ],
)
def test_a_rule_is_relaxed_by_the_source_that_it_names_and_by_those_above(
    relaxed_by: str, source: str, decides: str
) -> None:
    assert verdict(general("renew", relaxed_by), [says(source, "keep")]).source == decides


def test_a_part_that_has_gone_back_as_often_as_allowed_is_renewed() -> None:
    found = verdict(general("inspect"), [], refits=1, refit_limit=1)
    assert (found.rule, found.source) == ("renew", "history")
    assert as_text(found.said_by) == "has gone back once, limit once"


def test_a_part_below_its_limit_may_go_back() -> None:
    assert verdict(general("inspect"), [], refits=1, refit_limit=2).rule == "inspect"


def test_the_most_exact_rule_of_a_kind_is_taken_then_the_strictest() -> None:
    plain = SituationRule(general("inspect"))
    brakes = SituationRule(general("renew"), system="brakes")
    keeps = SituationRule(general("keep"), system="brakes")
    engine, braking = Situation("engine"), Situation("brakes")
    assert kind_says([plain, brakes, keeps], braking).general == general("renew")
    assert kind_says([plain, keeps], braking).general == general("keep")
    assert kind_says([plain, brakes], engine).general == general("inspect")
    assert kind_says([brakes], engine).general.source == "none"
    assert kind_says([brakes], engine).policy is None


STATED = st.lists(
    st.builds(
        says, st.sampled_from(["maker", "leaflet", "workshop"]), st.sampled_from(list(STRICTNESS))
    ),
    max_size=3,
    unique_by=lambda s: s.source,
)
GENERAL = st.builds(
    general,
    st.sampled_from(list(STRICTNESS)),
    st.sampled_from(["workshop", "leaflet", "maker", "nobody"]),
)


@given(GENERAL, STATED)
def test_the_order_in_which_sources_speak_does_not_matter(
    base: Statement, stated: list[Statement]
) -> None:
    found = {verdict(base, list(order)).rule for order in itertools.permutations(stated)}
    assert len(found) == 1


@given(GENERAL, STATED)
def test_the_verdict_is_never_laxer_than_the_highest_source_allows(
    base: Statement, stated: list[Statement]
) -> None:
    found = verdict(base, stated)
    maker = [s for s in stated if s.source == "maker"]
    floor = STRICTNESS[maker[0].rule] if maker else 0
    assert STRICTNESS[found.rule] >= floor
    if base.relaxed_by == "nobody":
        assert STRICTNESS[found.rule] >= STRICTNESS[base.rule]


@given(GENERAL, STATED)
def test_every_source_that_lost_is_named_once(base: Statement, stated: list[Statement]) -> None:
    found = verdict(base, stated)
    heard = {found.source, *(o.statement.source for o in found.overruled)}
    assert heard == {"general", *(s.source for s in stated)}
    assert len(found.overruled) == len(stated)


@given(GENERAL, STATED, st.integers(0, 5), st.integers(0, 5))
def test_more_earlier_refits_never_make_a_verdict_laxer(
    base: Statement, stated: list[Statement], refits: int, limit: int
) -> None:
    now = STRICTNESS[verdict(base, stated, refits, limit).rule]
    later = STRICTNESS[verdict(base, stated, refits + 1, limit).rule]
    assert later >= now


@pytest.mark.parametrize(("lower", "decides"), [("inspect", "workshop"), ("keep", "maker")])
def test_an_inspection_is_stricter_than_keeping(lower: str, decides: str) -> None:
    found = verdict(general("keep"), [says("workshop", lower), says("maker", "keep")])
    assert (found.rule, found.source) == (lower, decides)


def test_a_part_of_which_no_removal_is_known_has_not_gone_back() -> None:
    assert verdict(general("inspect"), [], refit_limit=1).rule == "inspect"
    found = verdict(general("inspect"), [], refit_limit=0)
    assert (found.rule, found.source) == ("renew", "history")
