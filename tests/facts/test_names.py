"""Near names and the order that people expect."""

from __future__ import annotations

import re
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kitting.facts import names
from kitting.facts.names import hint, natural_key, nearest

TEXTS = st.text(st.sampled_from("aAbB019- é٣"), max_size=8)


def test_a_misspelt_name_finds_the_name_meant_first() -> None:
    names = ["six-lobe", "external six-lobe", "hexagon", "hexagon socket"]
    assert nearest("hexagn", names) == ["hexagon", "hexagon socket"]


def test_capitals_do_not_hide_a_near_name() -> None:
    assert nearest("nbr", ["NBR", "EPDM"]) == ["NBR"]


def test_no_more_names_than_asked_for_are_given() -> None:
    known = ["A11", "A13", "A14", "A15"]
    assert nearest("A12", known, n=2, loosely=True) == ["A15", "A14"]
    assert nearest("A12", known) == []


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


SIDES = ("L", "R", "LH", "RH", "left", "right", "front", "rear", "upper", "lower", "inner", "outer")
CODES = st.builds(
    "-".join,
    st.tuples(
        st.sampled_from(["SEAL", "hose", "BOLT-CARRIER", "RING-FKM", "caliper"]),
        st.sampled_from(["14X2", "17X2.5", "M8", "M10", "280", "300", "A"]),
        st.sampled_from(SIDES),
    ),
)


@st.composite
def misspelt(draw: st.DrawFn) -> tuple[str, str]:
    """A code, and how a person might get it wrong: a sign lost, doubled, swapped or another."""
    code = draw(CODES)
    at = draw(st.integers(0, len(code) - 2))
    way = draw(st.sampled_from(["lost", "twice", "swapped", "other"]))
    other = draw(st.sampled_from("abcxyz019"))
    parts = {
        "lost": code[:at] + code[at + 1 :],
        "twice": code[:at] + code[at] + code[at:],
        "swapped": code[:at] + code[at + 1] + code[at] + code[at + 2 :],
        "other": code[:at] + other + code[at + 1 :],
    }
    return code, parts[way]


def told(code: str) -> tuple[list[str], list[str]]:
    """The numbers and the sides of a code that was made here, taken from how it was made."""
    *_, size, side = code.rsplit("-", 2)
    hands = {"L": "left", "LH": "left", "R": "right", "RH": "right"}
    return [size], [hands.get(side, side)]


@given(misspelt(), st.lists(CODES, min_size=1, max_size=12))
@settings(max_examples=400)
def test_what_is_proposed_for_a_misspelt_code_is_never_of_another_side(
    asked: tuple[str, str], known: list[str]
) -> None:
    code, written = asked
    for one in nearest(written, [*known, code]):
        said = {token.casefold() for token in re.findall(r"[A-Za-z]+", written)}
        side = told(one)[1][0]
        opposite = {"left": {"r", "rh", "right"}, "right": {"l", "lh", "left"},
                    "front": {"rear"}, "rear": {"front"}, "upper": {"lower"}, "lower": {"upper"},
                    "inner": {"outer"}, "outer": {"inner"}}[side]  # fmt: skip
        assert not said & opposite, (written, one)
        numbers, others = (re.findall(r"\d+(?:\.\d+)?", text) for text in (written, one))
        assert sorted(map(float, numbers)) == sorted(map(float, others)), (written, one)


@pytest.mark.parametrize(
    ("asked", "known", "near"),
    [
        ("SEAL-SHAFT-RR", ["SEAL-SHAFT-L", "SEAL-SHAFT-R"], []),
        ("SAEL-SHAFT-L", ["SEAL-SHAFT-L", "SEAL-SHAFT-R"], ["SEAL-SHAFT-L"]),
        ("SEAL-SHAFT-LH", ["SEAL-SHAFT-L", "SEAL-SHAFT-R"], ["SEAL-SHAFT-L"]),
        ("caliper-lfet", ["caliper-left", "caliper-right"], ["caliper-left"]),
        ("caliper-rihgt", ["caliper-left", "caliper-right"], ["caliper-right"]),
        ("hose-frnt", ["hose-front", "hose-rear"], ["hose-front"]),
        ("RING-FKM-14X3", ["RING-FKM-14X2"], []),
        ("RNIG-FKM-14X2", ["RING-FKM-14X2", "RING-FKM-17X2"], ["RING-FKM-14X2"]),
        ("RING-17x2,5", ["RING-17X2.5", "RING-17X2"], ["RING-17X2.5"]),
        ("BOLT-M8", ["BOLT-M10", "BOLT-M6"], []),
        ("RING-FKM-17X2", ["RING-EPDM-17X2", "RING-FKM-17X2.5"], []),
        ("RING-FKN-17X2", ["RING-EPDM-17X2", "RING-FKM-17X2"], ["RING-FKM-17X2"]),
        ("RING-17X2", ["RING-EPDM-17X2"], []),
    ],
)
def test_no_name_of_another_side_or_size_is_proposed(
    asked: str, known: list[str], near: list[str]
) -> None:
    assert nearest(asked, known) == near


def test_what_is_only_of_another_side_is_told_as_that() -> None:
    assert hint("SEAL-RR", ["SEAL-L", "SEAL-R"], "Describe the item first") == (
        "Describe the item first. SEAL-R and SEAL-L are of another side, size or rubber"
    )


def test_where_numbers_only_count_they_may_differ() -> None:
    assert nearest("PELL 118", ["PELL 117"], loosely=True) == ["PELL 117"]


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("oil-drain", "Which is meant: grebe-4t/oil-drain or hask/oil-drain?"),
        ("axles/hose", "Which is meant: axles/hose-left or axles/hose-right?"),
        ("hose", "Which is meant: axles/hose-left or axles/hose-right?"),
        ("CAP", "Say hask/cap"),
        ("axles/hose-lift", "Did you mean axles/hose-left"),
        ("grebe-5t/oil-drain", "Say UNIT/JOINT. grebe-4t/oil-drain and hask/oil-drain are of another"),
        ("axles/arm", "Say UNIT/JOINT. axles/arm-left is of another side, size or rubber"),
        ("axles/hos", "Say UNIT/JOINT. axles/hose-left and axles/hose-right are of another side"),
    ],
)  # fmt: skip
def test_a_name_that_lacks_its_unit_or_its_side_is_completed(name: str, told: str) -> None:
    known = [
        "grebe-4t/oil-drain", "hask/oil-drain", "hask/cap", "axles/hose-left", "axles/hose-right",
        "axles/arm-left",
    ]  # fmt: skip
    assert hint(name, known, "Say UNIT/JOINT").startswith(told)
