"""Shortages: needs less what covers them, by hand and against counting piece by piece."""

from __future__ import annotations

from collections import Counter

from hypothesis import given
from hypothesis import strategies as st

from kitting.calc.purchasing.shortage import Cover, Need, lacking

RING, BOLT = 1, 2


def test_what_nothing_covers_is_lacking_item_by_item() -> None:
    needs = [Need(RING, 3000), Need(RING, 2000), Need(BOLT, 1000)]
    assert lacking(needs, [Cover(RING, 4000)]) == {RING: 1000, BOLT: 1000}


def test_what_is_covered_whole_is_left_out() -> None:
    assert lacking([Need(RING, 3000)], [Cover(RING, 2000), Cover(RING, 1000)]) == {}


def test_what_may_not_be_fitted_covers_nothing() -> None:
    assert lacking([Need(RING, 3000)], [Cover(RING, 3000, fit=False)]) == {RING: 3000}
    some = [Cover(RING, 1000, fit=False), Cover(RING, 2000)]
    assert lacking([Need(RING, 3000)], some) == {RING: 1000}


def test_spares_are_never_lacking_and_what_covers_them_comes_last() -> None:
    needs = [Need(RING, 2000, spare=True), Need(RING, 3000)]
    assert lacking(needs, []) == {RING: 3000}
    # Of what is promised the first 3 are for what has to be there; only a spare has the unfit ones.
    assert lacking(needs, [Cover(RING, 3000), Cover(RING, 2000, fit=False)]) == {}


def test_nothing_of_an_item_that_is_not_needed_is_lacking() -> None:
    assert lacking([Need(RING, 1000)], [Cover(BOLT, 5000, fit=False), Cover(RING, 1000)]) == {}


_NEEDS = st.lists(st.builds(Need, st.integers(1, 3), st.integers(1, 4), st.booleans()), max_size=6)
_COVERS = st.lists(
    st.builds(Cover, st.integers(1, 3), st.integers(0, 4), st.booleans()), max_size=6
)


@given(_NEEDS, _COVERS)
def test_it_is_what_counting_piece_by_piece_finds(needs: list[Need], covers: list[Cover]) -> None:
    pieces = {item: [c.fit for c in covers if c.item == item for _ in range(c.quantity)]
              for item in (1, 2, 3)}  # fmt: skip
    wanted = Counter(dict.fromkeys((1, 2, 3), 0))
    for need in needs:
        wanted[need.item] += 0 if need.spare else need.quantity
    expected = {}
    for item, count in wanted.items():
        good = sum(pieces[item][:count])
        if count - good:
            expected[item] = count - good
    assert lacking(needs, covers) == expected
