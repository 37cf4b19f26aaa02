"""Text on paper: shrinks, then wraps, then is cut; never leaves its box."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kitting.reports.text import ELLIPSIS, Fitted, fit, printable, width_of, wrap


def test_short_text_keeps_its_size() -> None:
    assert fit("RING", (200, 50), (12, 6)) == Fitted(("RING",), 12, False)


def test_text_a_little_too_long_shrinks_on_one_line() -> None:
    found = fit("RING FOR THE PUMP END", (width_of("RING FOR THE PUMP END", 10), 50), (12, 6))
    assert found.lines == ("RING FOR THE PUMP END",)
    assert 9.9 < found.size <= 10


def test_longer_text_wraps_before_it_gets_small() -> None:
    found = fit("ring for the pump end", (width_of("ring for the", 12), 50), (12, 6))
    assert found.lines == ("ring for the", "pump end")
    assert found.size == 12


def test_text_that_cannot_fit_is_cut_with_an_ellipsis_and_says_so() -> None:
    found = fit("word " * 200, (100, 30), (12, 6))
    assert found.size == 6
    assert found.cut
    assert found.lines[-1].endswith(ELLIPSIS)


def test_a_box_too_low_for_any_text_gets_none() -> None:
    assert fit("RING", (200, 5), (12, 6)).lines == ()


def test_every_character_that_the_trade_uses_is_in_the_font() -> None:
    text = "½ ° · μ € Ł ő ■ ◪ □ × – … → ± ″ ö ß"
    assert printable(text) == text


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("a\x00b\tc\nd", "a b c d"),
        ("a\u202eb\u200bc", "abc"),
        ("\U0001f600 ok", "\ufffd ok"),
        ("<b>&amp;[red]", "<b>&amp;[red]"),
    ],
)
def test_text_from_data_is_shown_as_it_is_and_controls_are_not(text: str, shown: str) -> None:
    assert printable(text) == shown


@settings(deadline=None)
@given(
    st.text(max_size=200),
    st.floats(5, 300),
    st.floats(1, 200),
    st.floats(6, 20),
    st.booleans(),
    st.integers(1, 6),
)
def test_fitted_text_never_leaves_its_box(
    text: str, width: float, height: float, largest: float, bold: bool, lines: int
) -> None:
    found = fit(text, (width, height), (largest, 6.0), bold=bold, lines=lines)
    assert len(found.lines) <= lines
    assert found.height <= height + 1e-6
    assert found.size <= largest
    for line in found.lines:
        assert width_of(line, found.size, bold) <= width + 1e-5


@settings(deadline=None)
@given(st.text(max_size=200), st.floats(20, 300))
def test_text_that_is_not_cut_is_there_in_full(text: str, width: float) -> None:
    found = fit(text, (width, 1e6), (10, 10), lines=10_000)
    assert not found.cut
    assert "".join(found.lines).replace(" ", "") == printable(text).replace(" ", "")


def test_a_box_narrower_than_a_letter_gets_none_and_says_so() -> None:
    assert fit("RING", (2, 50), (12, 6)) == Fitted((), 6, False, cut=True)


def test_a_figure_is_never_parted_from_its_unit() -> None:
    text = "bolts 1 to 6: 22 N·m (16.2 lbf·ft), then 0.2 ml"
    for width in range(60, 200, 5):
        lines = list(wrap(text, width, 8))
        for pair in ("22 N·m", "16.2 lbf·ft", "0.2 ml"):
            assert sum(pair in line for line in lines) == 1


def test_a_name_of_ten_thousand_letters_ends_in_an_ellipsis() -> None:
    assert printable("x" * 10_000) == "x" * 1499 + ELLIPSIS
