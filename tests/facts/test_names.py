"""Near names and the order that people expect."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kitting.facts import names
from kitting.facts.names import natural_key, nearest

TEXTS = st.text(st.sampled_from("aAbB019- é٣"), max_size=8)


def test_a_misspelt_name_finds_the_name_meant_first() -> None:
    names = ["six-lobe", "external six-lobe", "hexagon", "hexagon socket"]
    assert nearest("hexagn", names) == ["hexagon", "hexagon socket"]


def test_capitals_do_not_hide_a_near_name() -> None:
    assert nearest("nbr", ["NBR", "EPDM"]) == ["NBR"]


def test_no_more_names_than_asked_for_are_given() -> None:
    assert nearest("A12", ["A11", "A13", "A14", "A15"], n=2) == ["A15", "A14"]


def test_a_name_like_none_finds_none() -> None:
    assert nearest("washer", ["NBR", "FKM"]) == []


def test_numbers_within_codes_are_ordered_as_numbers() -> None:
    codes = ["B1", "A10", "A2", "A2-10", "A2-9", "a3", "10", "9", "A"]
    assert sorted(codes, key=natural_key) == [
        "9", "10", "A", "A2", "A2-9", "A2-10", "a3", "A10", "B1",
    ]  # fmt: skip


@given(TEXTS, TEXTS)
def test_two_different_texts_never_tie(a: str, b: str) -> None:
    assert (natural_key(a) == natural_key(b)) == (a == b)


@given(st.lists(TEXTS, unique=True))
def test_the_order_does_not_depend_on_the_order_given(texts: list[str]) -> None:
    ordered = sorted(texts, key=natural_key)
    backwards = texts[::-1]
    assert sorted(backwards, key=natural_key) == ordered
    assert all(natural_key(a) < natural_key(b) for a, b in pairwise(ordered))


@given(st.integers(0, 10**30), st.integers(0, 10**30))
def test_two_numbers_after_one_prefix_are_ordered_by_their_value(a: int, b: int) -> None:
    assert (natural_key(f"A{a}") < natural_key(f"A{b}")) == (a < b)


def test_a_number_of_any_length_has_a_key() -> None:
    assert natural_key("A9") < natural_key("A" + "9" * 5000)


def test_among_very_many_names_only_those_that_begin_alike_are_compared(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    compared: list[int] = []
    real = names.get_close_matches

    def counted(name: str, pool: list[str], **how: object) -> list[str]:
        compared.append(len(pool))
        return real(name, pool, **how)  # type: ignore[arg-type]

    monkeypatch.setattr(names, "get_close_matches", counted)
    many = [f"RING-{number:05}" for number in range(20_000)]
    assert nearest("ring-01230x", many, n=1) == ["RING-01230"]
    assert nearest("seal", many) == []
    assert nearest("", many) == []
    assert compared == [1_000, 0, 2_000]
