"""Text on paper: shrinks, then wraps, then is cut; never leaves its box."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kitting.reports.text import ELLIPSIS, Fitted, fit, printable, width_of


def test_short_text_keeps_its_size() -> None:
    assert fit("RING", 200, 50, 12, 6) == Fitted(("RING",), 12, False)


def test_text_a_little_too_long_shrinks_on_one_line() -> None:
    found = fit("RING FOR THE PUMP END", width_of("RING FOR THE PUMP END", 10), 50, 12, 6)
    assert found.lines == ("RING FOR THE PUMP END",)
    assert 9.9 < found.size <= 10


def test_longer_text_wraps_before_it_gets_small() -> None:
    found = fit("ring for the pump end", width_of("ring for the", 12), 50, 12, 6)
    assert found.lines == ("ring for the", "pump end")
    assert found.size == 12


def test_text_that_cannot_fit_is_cut_with_an_ellipsis_and_says_so() -> None:
    found = fit("word " * 200, 100, 30, 12, 6)
    assert found.size == 6
    assert found.cut
    assert found.lines[-1].endswith(ELLIPSIS)


def test_a_box_too_low_for_any_text_gets_none() -> None:
    assert fit("RING", 200, 5, 12, 6).lines == ()


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
    found = fit(text, width, height, largest, 6.0, bold=bold, lines=lines)
    assert len(found.lines) <= lines
    assert found.height <= height + 1e-6
    assert found.size <= largest
    for line in found.lines:
        # A single character wider than the box cannot be broken further.
        assert width_of(line, found.size, bold) <= width + 1e-6 or len(line) == 1
