"""Heads: read, refused with the nearest that exist, and the tool that turns them."""

from __future__ import annotations

from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kitting.errors import FigureError
from kitting.facts.heads import (
    PROFILES,
    STANDARDS,
    Head,
    driver,
    parse_head,
    standard_size,
)


@pytest.mark.parametrize(
    ("text", "head", "tool"),
    [
        ("hexagon 10 mm", Head("hexagon", "10 mm"), "socket 10 mm"),
        ("hexagon 10mm", Head("hexagon", "10 mm"), "socket 10 mm"),
        ("Hexagon 10.0 mm", Head("hexagon", "10 mm"), "socket 10 mm"),
        ("hexagon 5.50 mm", Head("hexagon", "5.5 mm"), "socket 5.5 mm"),
        ("hexagon 3/8 in", Head("hexagon", "3/8 in"), "socket 3/8 in"),
        ('hexagon 3/8"', Head("hexagon", "3/8 in"), "socket 3/8 in"),
        ("hexagon socket 6 mm", Head("hexagon socket", "6 mm"), "hexagon bit 6 mm"),
        ("six-lobe T45", Head("six-lobe", "T45"), "six-lobe bit T45"),
        ("six-lobe t45", Head("six-lobe", "T45"), "six-lobe bit T45"),
        (
            "external six-lobe E10",
            Head("external six-lobe", "E10"),
            "external six-lobe socket E10",
        ),
        ("triple-square M10", Head("triple-square", "M10"), "triple-square bit M10"),
        ("twelve-point 10 mm", Head("twelve-point", "10 mm"), "twelve-point socket 10 mm"),
        ("cross PH2", Head("cross", "PH2"), "cross-head bit PH2"),
        ("slot 5.5 mm", Head("slot", "5.5 mm"), "flat bit 5.5 mm"),
        ('hexagon 1-1/8"', Head("hexagon", "1 1/8 in"), "socket 1 1/8 in"),
        ("square socket 3/8 in", Head("square socket", "3/8 in"), "square bit 3/8 in"),
        ("pinned six-lobe T20", Head("pinned six-lobe", "T20"), "hollow six-lobe bit T20"),
    ],
)
def test_a_head_is_read_and_names_its_tool(text: str, head: Head, tool: str) -> None:
    assert parse_head(text) == head
    assert driver(head) == tool
    assert parse_head(str(head)) == head


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        (
            "hexagon 9.6 mm",
            "'hexagon 9.6 mm': hexagon does not come in 9.6 mm. Nearest: 10 mm, 9 mm, 11 mm",
        ),
        (
            "hexagon 3/5 in",
            "'hexagon 3/5 in': hexagon does not come in 3/5 in. Nearest: 5/8 in, 9/16 in, 11/16 in",
        ),
        (
            "six-lobe T46",
            "'six-lobe T46': six-lobe does not come in T46. Nearest: T45, T47, T50",
        ),
        (
            "external six-lobe E9",
            "'external six-lobe E9': external six-lobe does not come in E9. Nearest: E8, E10, E7",
        ),
        (
            "triple-square M11",
            "'triple-square M11': triple-square does not come in M11. Nearest: M10, M12, M9",
        ),
        (
            "cross",
            "'cross': the size is missing. Sizes begin: PH0, PH1, PH2, PH3, PH4",
        ),
        (
            "hexagon 10",
            "'hexagon 10' is a size without unit; write for example 'hexagon 10 mm'",
        ),
        (
            "six lobe T45",
            "'six lobe T45' is no head known here; write 'six-lobe T45' or 'pinned six-lobe T45',"
            " whichever it is",
        ),
        (
            "external sixlobe E10",
            "'external sixlobe E10' is no head known here; write 'external six-lobe E10'",
        ),
        (
            "square 8.5 mm",
            "'square 8.5 mm': square does not come in 8.5 mm. Nearest: 8 mm, 9 mm, 7 mm",
        ),
        (
            "?",
            "'?' is no head known here. Profiles: hexagon, twelve-point, hexagon socket,"
            " square, square socket, six-lobe, pinned six-lobe, external six-lobe, triple-square,"
            " splined, cross, slot; write for example 'hexagon 13 mm'",
        ),
        (
            "17mm",
            "'17mm' is a size, and does not say of which profile; write 'hexagon 17 mm' or"
            " 'twelve-point 17 mm' or 'hexagon socket 17 mm' or 'square 17 mm' or"
            " 'square socket 17 mm', whichever it is",
        ),
        (
            "hex 17",
            "'hex 17' is no head known here; write 'hexagon 17 mm' or 'hexagon socket 17 mm',"
            " whichever it is",
        ),
        (
            "hex",
            "'hex' is no head known here. Profiles: hexagon, hexagon socket; write for example"
            " 'hexagon 13 mm'",
        ),
        (
            "E10",
            "'E10' is a size, and does not say of which profile; write 'external six-lobe E10'",
        ),
    ],
)
def test_a_head_that_does_not_exist_is_refused_with_the_nearest(text: str, reason: str) -> None:
    with pytest.raises(FigureError) as caught:
        parse_head(text)
    assert str(caught.value) == reason


@given(st.one_of(st.text(max_size=70), st.sampled_from(PROFILES).flatmap(
    lambda profile: st.text(st.sampled_from("0123456789/. mMinTEPHZ\"٣"), max_size=10).map(
        lambda size: f"{profile} {size}"))))  # fmt: skip
def test_any_text_at_all_is_a_head_or_an_explained_error(text: str) -> None:
    with suppress(FigureError):
        head = parse_head(text)
        assert parse_head(str(head)) == head


def test_a_head_read_from_a_text_of_any_length_must_be_the_whole_text() -> None:
    with pytest.raises(FigureError):
        parse_head("hexagon 10 mm" + " " * 60 + "or so")


def test_every_size_of_the_standards_can_be_typed_as_a_head() -> None:
    profile_of = {"ISO 4762": "hexagon socket", "ISO 7380-1": "hexagon socket",
                  "ISO 10642": "hexagon socket", "ISO 14579": "six-lobe", "ISO 14580": "six-lobe",
                  "ISO 14583": "six-lobe", "DIN 34800": "external six-lobe"}  # fmt: skip
    for standard, sizes in STANDARDS.items():
        profile = profile_of.get(standard, "hexagon")
        for size in sizes.values():
            written = size if size[0] in "TE" else f"{size} mm"
            assert parse_head(f"{profile} {written}") == Head(profile, written)


def test_a_thread_that_a_standard_does_not_list_has_no_size() -> None:
    assert standard_size("JIS small hexagon", "M6") is None
    assert standard_size("ISO 4014", "M7") is None
    assert standard_size("ISO 272", "M7") == "11"


def test_an_unknown_standard_is_refused_with_the_known_ones() -> None:
    with pytest.raises(FigureError, match=r"no table of 'ISO 1'; known: ISO 272, ISO 4014, "):
        standard_size("ISO 1", "M8")
