"""Open variants: what is the same under every option goes on; the rest waits for what decides it."""

from __future__ import annotations

from itertools import product

from hypothesis import given
from hypothesis import strategies as st

from kitting.calc.planning.open_variants import Entry, outcome
from kitting.calc.planning.variants import OptionFacts, SplitFacts
from kitting.facts.conditions import CarFacts, OptionChosen

CAR = CarFacts(None, {}, {})
# Two questions with two and three answers.
SPLITS = (
    SplitFacts(1, 1, "a", "?", "look", (OptionFacts(11, "x", "x"), OptionFacts(12, "y", "y"))),
    SplitFacts(
        2, 1, "b", "?", "look",
        (OptionFacts(21, "x", "x"), OptionFacts(22, "y", "y"), OptionFacts(23, "z", "z")),
    ),
)  # fmt: skip
WAYS = list(product((11, 12), (21, 22, 23)))


def entry(key: int, place: str, what: str, *options: int) -> Entry:
    return Entry(key, place, what, tuple(OptionChosen(option // 10, option) for option in options))


def test_the_same_part_under_either_option_is_taken() -> None:
    found = outcome([entry(1, "p", "ring", 11), entry(2, "p", "ring", 12)], CAR, SPLITS)
    assert (found.certain, dict(found.waiting)) == ({1}, {})


def test_what_differs_waits_for_the_split_that_decides_it_and_for_no_other() -> None:
    found = outcome(
        [entry(1, "p", "ring", 11), entry(2, "p", "other", 12), entry(3, "q", "bolt")], CAR, SPLITS
    )
    assert (found.certain, dict(found.waiting)) == ({3}, {1: (1,), 2: (1,)})


def test_a_part_that_only_one_option_has_waits() -> None:
    found = outcome([entry(1, "p", "ring", 11)], CAR, SPLITS)
    assert (found.certain, dict(found.waiting)) == (frozenset(), {1: (1,)})


def test_a_settled_split_decides_at_once() -> None:
    known = CAR.settling(1, 11)
    found = outcome([entry(1, "p", "a", 11), entry(2, "p", "b", 12)], known, SPLITS[1:])
    assert (found.certain, dict(found.waiting)) == ({1}, {})


entries = st.lists(
    st.tuples(
        st.sampled_from("pq"),
        st.sampled_from("abc"),
        st.sampled_from([(), (11,), (12,), (21,), (22,), (23,), (11, 21), (12, 23)]),
    ),
    max_size=6,
)


@given(entries)
def test_every_way_of_answering_agrees(drawn: list[tuple[str, str, tuple[int, ...]]]) -> None:
    """By enumeration: in every world it is taken, in some, or in none."""
    some = [entry(key, place, what, *opts) for key, (place, what, opts) in enumerate(drawn)]
    found = outcome(some, CAR, SPLITS)

    def worlds(place: str, what: str) -> int:
        return sum(
            any(
                e.place == place and e.what == what and set(drawn[e.key][2]) <= set(way)
                for e in some
            )
            for way in WAYS
        )

    taken = {(e.place, e.what) for e in some if e.key in found.certain}
    waits = {(e.place, e.what) for e in some if e.key in found.waiting}
    for one in some:
        count = worlds(str(one.place), str(one.what))
        here = (one.place, one.what)
        assert (here in taken) == (count == len(WAYS)), (one, count)
        assert (here in waits) == (0 < count < len(WAYS)), (one, count)
