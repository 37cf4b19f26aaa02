"""Bars: whatever order rules stand in, no verdict is laxer than the strongest that applies."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kitting.calc.planning.needs import FitFacts, JointFacts, judge
from kitting.calc.planning.renewal import STRICTNESS, Ruling, SituationRule, Statement
from kitting.facts.words import RelaxedBy, Rule, Source
from kitting.wording.reasons import say

# The model knows words and numbers only.
LAX = ["keep", "inspect", "renew"]
LADDER = ["general", "workshop", "leaflet", "maker", "nobody"]


def rule(
    said: str,
    relaxed_by: str = "workshop",
    source: str = "general",
    criterion: str | None = None,
    **where: str,
) -> SituationRule:
    statement = Statement(
        Source(source), Rule(said), "page 1", criterion, relaxed_by=RelaxedBy(relaxed_by)
    )
    return SituationRule(statement, **where)


def says(source: str, said: str) -> Statement:
    return Statement(Source(source), Rule(said), f"{source} page")


def judged(
    rules: list[SituationRule],
    *stated: Statement,
    system: str = "engine",
    touches: tuple[tuple[str, str | None], ...] = (),
) -> Ruling:
    joint = JointFacts(
        1, "j", "J", 1, system, tuple(f for f, _ in touches), media=tuple(m for _, m in touches)
    )
    return judge(FitFacts(1, 1, "p", 1, 1000, stated=stated), joint, rules, (), 0)


@pytest.mark.parametrize("order", list(itertools.permutations(range(3))))
def test_a_bar_by_fluid_holds_beside_a_rule_by_system_in_any_order(order: tuple[int, ...]) -> None:
    rules = [rule("renew"), rule("renew", system="fuel"), rule("renew", "nobody", fluid="petrol")]
    found = judged(
        [rules[place] for place in order],
        says("workshop", "keep"),
        system="fuel",
        touches=(("petrol", "petrol"),),
    )
    assert (found.rule, found.source) == ("renew", "general")
    (lost,) = found.overruled
    assert "may not be relaxed by anybody" in say(lost.because)


def test_a_more_exact_rule_refines_one_that_bars_nobody() -> None:
    rules = [rule("renew"), rule("inspect", system="cooling")]
    assert judged(rules, system="cooling").rule == "inspect"


def test_a_more_exact_rule_does_not_loosen_one_that_only_the_maker_relaxes() -> None:
    rules = [rule("renew", "maker"), rule("inspect", system="cooling")]
    assert judged(rules, system="cooling").rule == "renew"
    assert judged(rules, says("leaflet", "keep"), system="cooling").rule == "renew"
    assert judged(rules, says("maker", "keep"), system="cooling").rule == "keep"


def test_a_rule_names_a_medium_and_holds_for_every_fluid_of_it() -> None:
    rules = [rule("inspect"), rule("renew", "nobody", medium="petrol")]
    for fluid in ("petrol", "e85"):
        found = judged(rules, says("maker", "keep"), touches=((fluid, "petrol"),))
        assert found.rule == "renew"
    assert judged(rules, touches=(("e85", None),)).rule == "inspect"


def test_each_fluid_of_a_joint_counts_for_itself() -> None:
    rules = [rule("renew"), rule("inspect", fluid="coolant")]
    assert judged(rules, touches=(("coolant", None),)).rule == "inspect"
    assert judged(rules, touches=(("coolant", None), ("oil", None))).rule == "renew"


def test_a_fluid_without_any_rule_is_not_covered_by_the_rule_of_another() -> None:
    found = judged([rule("keep", fluid="air")], touches=(("air", None), ("oil", None)))
    assert (found.rule, found.source) == ("renew", "none")


def test_the_policy_of_a_workshop_counts_for_the_fluid_that_it_names() -> None:
    rules = [rule("keep"), rule("inspect", source="workshop", fluid="oil")]
    assert judged(rules, touches=(("air", None), ("oil", None))).rule == "inspect"


def test_what_a_barred_source_asks_for_still_counts_where_the_maker_allows_less() -> None:
    found = judged([rule("renew", "maker")], says("maker", "keep"), says("leaflet", "inspect"))
    assert (found.rule, found.source) == ("inspect", "leaflet")


@pytest.mark.parametrize(
    ("rules", "relaxed_by"),
    [
        ([rule("renew")], "workshop"),
        ([rule("renew", "maker")], "maker"),
        ([rule("renew"), rule("renew", "nobody", system="engine")], "nobody"),
        ([rule("renew", "leaflet"), rule("renew", system="engine")], "leaflet"),
        ([rule("renew"), rule("inspect", "nobody")], "workshop"),
    ],
)
def test_a_verdict_names_the_lowest_source_that_may_allow_less(
    rules: list[SituationRule], relaxed_by: str
) -> None:
    assert judged(rules).relaxed_by == relaxed_by


def test_a_source_that_decides_itself_is_relaxed_by_no_other() -> None:
    assert judged([rule("inspect")], says("maker", "renew")).relaxed_by is None


def test_of_several_bars_the_strongest_is_told() -> None:
    rules = [rule("renew", "leaflet"), rule("inspect", "nobody")]
    for order in (rules, rules[::-1]):
        (lost,) = judged(order, says("workshop", "keep")).overruled
        assert "may not be relaxed by anybody" in say(lost.because)


def test_of_rules_that_differ_by_their_look_only_the_order_does_not_choose() -> None:
    ways = [rule("inspect", criterion=look) for look in ("no cut", "springs back")]
    assert judged(ways).criterion == judged(ways[::-1]).criterion == "springs back"
    here = [
        rule("inspect", criterion=look, fluid=fluid)
        for look, fluid in (("no cut", "oil"), ("springs back", "air"))
    ]
    touches = (("oil", None), ("air", None))
    for order in (touches, touches[::-1]):
        assert judged(here, touches=order).criterion == "springs back"


def test_of_two_statements_of_one_source_the_stricter_holds() -> None:
    for order in (("keep", "renew"), ("renew", "keep")):
        found = judged([rule("inspect")], *(says("leaflet", said) for said in order))
        assert found.rule == "renew"
        assert [(lost.statement.rule, say(lost.because)) for lost in found.overruled] == [
            ("keep", "the leaflet in the packet is stricter, which it may be"),
            ("inspect", "the leaflet in the packet speaks of this very case"),
        ]


def test_a_source_that_is_not_heard_is_told_why_where_it_asks_for_no_more() -> None:
    found = judged([rule("renew", "maker")], says("maker", "inspect"), says("leaflet", "inspect"))
    assert (found.rule, found.source) == ("inspect", "maker")
    assert say(found.overruled[0].because) == (
        "the general rule for the kind may be relaxed only by the vehicle maker"
    )


def test_of_several_fluids_the_general_rule_speaks_where_nobody_is_stricter() -> None:
    rules = [rule("renew"), rule("inspect", fluid="oil")]
    found = judged(rules, says("leaflet", "renew"), touches=(("oil", None), ("air", None)))
    assert (found.rule, found.source) == ("renew", "leaflet")
    policy = [
        rule("renew", fluid="air"),
        rule("inspect"),
        rule("renew", source="workshop", fluid="oil"),
    ]
    found = judged(policy, touches=(("oil", None), ("air", None)))
    assert (found.rule, found.source, found.relaxed_by) == ("renew", "general", "workshop")


FLUIDS, SYSTEMS = ["petrol", "e85", "oil"], ["fuel", "engine"]
OF = {"petrol": "petrol", "e85": "petrol", "oil": None}
RULES = st.builds(
    rule,
    st.sampled_from(LAX),
    st.sampled_from(LADDER[1:]),
    st.sampled_from(["general", "workshop"]),
    fluid=st.none() | st.sampled_from(FLUIDS),
    medium=st.none() | st.just("petrol"),
    system=st.none() | st.sampled_from(SYSTEMS),
)
STATED = st.lists(
    st.builds(says, st.sampled_from(LADDER[1:4]), st.sampled_from(LAX)),
    max_size=3,
    unique_by=lambda statement: statement.source,
)
TOUCHED = st.lists(st.sampled_from(FLUIDS), max_size=2, unique=True)


def floor(
    rules: list[SituationRule], stated: list[Statement], system: str, touched: list[str]
) -> int:
    """What no verdict may fall below, counted rule by rule and fluid by fluid.

    A general rule that names whom it yields to stands, unless one of those says less.
    """
    lowest = 0
    for fluid in touched or [None]:
        for one in rules:
            names = (one.fluid, one.medium, one.system)
            here = (fluid, OF.get(fluid or ""), system)
            if any(n is not None and n != h for n, h in zip(names, here, strict=True)):
                continue
            if one.statement.source != "general" or one.statement.relaxed_by == "workshop":
                continue
            may = LADDER.index(one.statement.relaxed_by)
            least = [LAX.index(s.rule) for s in stated if LADDER.index(s.source) >= may]
            lowest = max(lowest, min([LAX.index(one.statement.rule), *least]))
    return lowest


@given(st.lists(RULES, max_size=5), STATED, st.sampled_from(SYSTEMS), TOUCHED)
def test_no_verdict_is_laxer_than_what_any_rule_bars(
    rules: list[SituationRule], stated: list[Statement], system: str, touched: list[str]
) -> None:
    found = judged(rules, *stated, system=system, touches=tuple((f, OF[f]) for f in touched))
    assert LAX.index(found.rule) >= floor(rules, stated, system, touched)


@given(st.lists(RULES, max_size=5), RULES, STATED, st.sampled_from(SYSTEMS), TOUCHED)
def test_one_rule_more_never_loosens_what_the_others_bar(
    rules: list[SituationRule],
    more: SituationRule,
    stated: list[Statement],
    system: str,
    touched: list[str],
) -> None:
    touches = tuple((f, OF[f]) for f in touched)
    found = judged([*rules, more], *stated, system=system, touches=touches)
    assert LAX.index(found.rule) >= floor(rules, stated, system, touched)


@given(st.lists(RULES, max_size=4), STATED, st.sampled_from(SYSTEMS), TOUCHED)
def test_the_order_of_rules_sources_and_fluids_does_not_matter(
    rules: list[SituationRule], stated: list[Statement], system: str, touched: list[str]
) -> None:
    touches = [(f, OF[f]) for f in touched]
    one = judged(rules, *stated, system=system, touches=tuple(touches))
    other = judged(rules[::-1], *stated[::-1], system=system, touches=tuple(touches[::-1]))
    assert (one.rule, one.source, one.said_by) == (other.rule, other.source, other.said_by)
    assert (one.criterion, one.relaxed_by) == (other.criterion, other.relaxed_by)


@given(st.lists(RULES, max_size=5), STATED, st.sampled_from(SYSTEMS), TOUCHED)
def test_one_fluid_more_never_makes_a_verdict_laxer(
    rules: list[SituationRule], stated: list[Statement], system: str, touched: list[str]
) -> None:
    if not touched:
        return
    touches = tuple((f, OF[f]) for f in touched)
    fewer = judged(rules, *stated, system=system, touches=touches[:1])
    more = judged(rules, *stated, system=system, touches=touches)
    assert STRICTNESS[more.rule] >= STRICTNESS[fewer.rule]
