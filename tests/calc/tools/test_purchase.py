"""Tool buying: the cheapest purchase, the next cheapest, tools bought together, free ones."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import combinations

from hypothesis import given, settings
from hypothesis import strategies as st

from kitting.calc.tools.purchase import (
    Purchase,
    ToolOffer,
    Ways,
    _minimal,
    _needed,
    cheapest,
)

# Sockets, bits and sets of an invented dealer, in pence.
SHOP = [
    ToolOffer("E8", 700, frozenset({"E8"})),
    ToolOffer("E10", 700, frozenset({"E10"})),
    ToolOffer("E12", 800, frozenset({"E12"})),
    ToolOffer("T45-LONG", 900, frozenset({"T45 long"})),
    ToolOffer("M10", 900, frozenset({"M10"})),
    ToolOffer("SET-A", 1900, frozenset({"E8", "E10", "E12"})),
    ToolOffer("SET-B", 2800, frozenset({"T45 long", "M10"})),
    ToolOffer("SET-C", 4400, frozenset({"E8", "E10", "E12", "T45 long", "M10"})),
]
ALL_FIVE = {tool: [frozenset({tool})] for tool in ("E8", "E10", "E12", "T45 long", "M10")}
# The case in which buying whatever gives most for its money first goes wrong.
TRAP = [
    ToolOffer("A", 900, frozenset("123")),
    ToolOffer("B", 700, frozenset("12")),
    ToolOffer("C", 700, frozenset("34")),
    ToolOffer("D", 800, frozenset("4")),
]
TRAP_GAPS = {tool: [frozenset({tool})] for tool in "1234"}


def closes(offers: Sequence[ToolOffer], gaps: Mapping[str, Ways]) -> bool:
    brought = frozenset[str]().union(*(offer.brings for offer in offers))
    return all(any(way <= brought for way in ways) for ways in gaps.values())


def test_a_set_and_two_singles_are_cheaper_than_all_singles_and_than_the_large_set() -> None:
    assert cheapest(SHOP, ALL_FIVE) == Purchase(("M10", "SET-A", "T45-LONG"), 3700)


def test_the_next_cheapest_is_found_by_forbidding_the_cheapest() -> None:
    best = cheapest(SHOP, ALL_FIVE)
    assert best is not None
    # Three singles instead of set A: 7 + 7 + 8 = 22 instead of 19 pounds.
    second = cheapest(SHOP, ALL_FIVE, [frozenset(best.offers)])
    assert second == Purchase(("E10", "E12", "E8", "M10", "T45-LONG"), 4000)
    third = cheapest(SHOP, ALL_FIVE, [frozenset(best.offers), frozenset(second.offers)])
    assert third == Purchase(("SET-C",), 4400)


def greedy(offers: Sequence[ToolOffer], tools: frozenset[str]) -> int:
    """What it costs to buy, again and again, whatever gives the most missing tools per penny."""
    missing, cost = set(tools), 0
    while missing:
        useful = [offer for offer in offers if offer.brings & missing]
        best = min(useful, key=lambda offer: (offer.cost / len(offer.brings & missing), offer.code))
        missing -= best.brings
        cost += best.cost
    return cost


def test_the_best_purchase_beats_buying_the_best_value_first() -> None:
    assert greedy(TRAP, frozenset("1234")) == 1600
    assert cheapest(TRAP, TRAP_GAPS) == Purchase(("B", "C"), 1400)


def test_a_wrench_is_bought_with_the_adaptor_it_needs_where_the_two_are_cheaper() -> None:
    wrench = ToolOffer("WRENCH-38", 6000, frozenset({"wrench 3/8"}))
    adaptor = ToolOffer("ADAPTOR", 500, frozenset({"3/8 to 1/4"}))
    straight = ToolOffer("WRENCH-14", 6400, frozenset({"wrench 1/4"}))
    gap: dict[str, Ways] = {
        "8 N·m": [frozenset({"wrench 1/4"}), frozenset({"wrench 3/8", "3/8 to 1/4"})]
    }
    offers = [wrench, adaptor, straight]
    assert cheapest(offers, gap) == Purchase(("WRENCH-14",), 6400)
    # A second figure that only the larger wrench reaches turns it round.
    both = gap | {"45 N·m": [frozenset({"wrench 3/8"})]}
    assert cheapest(offers, both) == Purchase(("ADAPTOR", "WRENCH-38"), 6500)
    assert cheapest([wrench, adaptor], gap) == Purchase(("ADAPTOR", "WRENCH-38"), 6500)


def test_a_wrench_without_its_adaptor_closes_nothing() -> None:
    wrench = ToolOffer("WRENCH", 6000, frozenset({"wrench"}))
    assert cheapest([wrench], {"8 N·m": [frozenset({"wrench", "adaptor"})]}) is None


def test_a_gap_that_nothing_on_offer_closes_has_no_purchase() -> None:
    assert cheapest(SHOP, ALL_FIVE | {"crowfoot": [frozenset({"crowfoot"})]}) is None
    assert cheapest(SHOP, ALL_FIVE | {"no way at all": []}) is None
    assert cheapest([], ALL_FIVE) is None


def test_when_every_purchase_is_known_there_is_no_next() -> None:
    gaps = {"E8": [frozenset({"E8"})]}
    assert cheapest(SHOP[:1], gaps, [frozenset({"E8"})]) is None


def test_without_gaps_nothing_is_bought() -> None:
    assert cheapest([], {}) == Purchase((), 0)
    assert cheapest(SHOP, {}) == Purchase((), 0)
    assert cheapest(SHOP, {"closed already": [frozenset()]}) == Purchase((), 0)
    assert cheapest(SHOP, {}, [frozenset()]) is None


def test_what_is_lent_for_nothing_is_taken_only_where_it_is_needed() -> None:
    free = [ToolOffer(f"BORROW-{n}", 0, frozenset({"E8", f"other {n}"})) for n in range(4)]
    found = cheapest([*SHOP, *free], {"E8": [frozenset({"E8"})]})
    assert found is not None
    assert (len(found.offers), found.cost) == (1, 0)


def test_the_order_of_offers_and_gaps_does_not_change_the_purchase() -> None:
    turned = dict(reversed(ALL_FIVE.items()))
    assert cheapest(SHOP[::-1], turned) == cheapest(SHOP, ALL_FIVE)


TOOLS = st.frozensets(st.sampled_from("uvwxyz"), min_size=1, max_size=3)
WAYS = st.lists(st.frozensets(st.sampled_from("uvwxyz"), min_size=1, max_size=2), max_size=3)
OFFERS = st.lists(st.tuples(st.integers(0, 40), TOOLS), max_size=7).map(
    lambda drawn: [ToolOffer(f"O{n}", cost, tools) for n, (cost, tools) in enumerate(drawn)]
)
GAPS = st.dictionaries(st.sampled_from("123"), WAYS, max_size=3)


@given(offers=OFFERS, gaps=GAPS)
@settings(deadline=None)
def test_no_purchase_of_any_kind_is_cheaper(offers: list[ToolOffer], gaps: dict[str, Ways]) -> None:
    possible = [
        chosen
        for size in range(len(offers) + 1)
        for chosen in combinations(offers, size)
        if closes(chosen, gaps)
    ]
    found = cheapest(offers, gaps)
    if not possible:
        assert found is None
        return
    assert found is not None
    assert found.cost == min(sum(offer.cost for offer in chosen) for chosen in possible)
    bought = [offer for offer in offers if offer.code in found.offers]
    assert closes(bought, gaps)
    assert sum(offer.cost for offer in bought) == found.cost
    assert not any(closes([o for o in bought if o is not left_out], gaps) for left_out in bought)


@given(offers=OFFERS, gaps=GAPS)
@settings(deadline=None)
def test_the_next_cheapest_is_the_cheapest_that_does_not_contain_the_first(
    offers: list[ToolOffer], gaps: dict[str, Ways]
) -> None:
    first = cheapest(offers, gaps)
    if first is None:
        return
    others = [
        sum(offer.cost for offer in chosen)
        for size in range(len(offers) + 1)
        for chosen in combinations(offers, size)
        if closes(chosen, gaps) and not {o.code for o in chosen} >= set(first.offers)
    ]
    following = cheapest(offers, gaps, [frozenset(first.offers)])
    assert (following.cost if following else None) == min(others, default=None)


def test_what_costs_nothing_is_left_out_where_the_others_close_every_gap() -> None:
    one, other = ToolOffer("A", 900, frozenset("1")), ToolOffer("B", 700, frozenset("2"))
    free = ToolOffer("FREE", 0, frozenset("3"))
    gaps = {"x": [frozenset("1"), frozenset("3")], "y": [frozenset("2")]}
    assert _needed([one, other, free], gaps) == [one, other]
    assert _needed([free, other], gaps) == [free, other]


def test_a_way_that_contains_another_is_not_asked_for() -> None:
    ways = [frozenset("12"), frozenset("1"), frozenset("23")]
    assert _minimal(ways) == [frozenset("1"), frozenset("23")]
