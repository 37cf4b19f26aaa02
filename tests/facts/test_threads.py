"""Threads: names, strengths and the plain torque formula."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from helpers import preload
from kitting.errors import FigureError
from kitting.facts.threads import (
    COARSE_PITCH,
    GRADES,
    NUT_CLASSES,
    PROPERTY_CLASSES,
    STAINLESS,
    Strength,
    Thread,
    breaking_load,
    parse_thread,
    proof_load,
    require_class,
    strength,
    stress_area,
)


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("M6", "M6"),
        ("m6", "M6"),
        ("M6x1", "M6"),
        ("M6 × 1.0", "M6"),
        ("M12x1.25", "M12×1.25"),
        ("M12X1.5", "M12×1.5"),
        ("M12*1.5", "M12×1.5"),
        ("M12x1.25 LH", "M12×1.25 LH"),
        ("M10x1.25-LH", "M10×1.25 LH"),
        ("M10 - LH", "M10 LH"),
        ("M10 left", "M10 LH"),
        ("M10 left-hand", "M10 LH"),
        ("M20", "M20"),
        ("M1.6", "M1.6"),
        ("M9 x 1.25", "M9×1.25"),
        ("M3x0.6", "M3×0.6"),
    ],
)
def test_a_thread_is_named_with_its_pitch_only_where_it_is_not_coarse(text: str, name: str) -> None:
    assert parse_thread(text).name == name


@pytest.mark.parametrize(
    ("text", "name", "reckoned"),
    [
        ("1/4-20", "1/4-20 UNC", True),
        ('5/16" UNF', "5/16-24 UNF", True),
        ("7/16 UNF LH", "7/16-20 UNF LH", True),
        ("#10-32", "#10-32 UNF", True),
        ("1/2-28 UNEF", "1/2-28 UNEF", True),
        ("5/16 BSF", "5/16-22 BSF", False),
        ("1/4 BSW-LH", "1/4-20 BSW LH", False),
        ("G1/8", "G 1/8", False),
        ("g 1/4 left", "G 1/4 LH", False),
        ("Rp 1/2", "Rp 1/2", False),
        ("1/8 NPT", "1/8-27 NPT", False),
        ("1/8-27 NPT LH", "1/8-27 NPT LH", False),
    ],
)
def test_a_thread_in_inches_keeps_its_name_and_its_hand(
    text: str, name: str, reckoned: bool
) -> None:
    thread = parse_thread(text)
    assert (thread.name, thread.reckoned) == (name, reckoned)
    assert thread.left_hand == name.endswith("LH")
    assert parse_thread(name) == thread


@pytest.mark.parametrize(
    ("text", "square_inches"),
    [
        # Stress areas of ASME B1.1 in square inches, from memory.
        ("1/4-20", 0.0318), ("1/4-28", 0.0364), ("5/16-18", 0.0524), ("5/16-24", 0.0580),
        ("3/8-16", 0.0775), ("3/8-24", 0.0878), ("7/16-14", 0.1063), ("7/16-20", 0.1187),
        ("1/2-13", 0.1419), ("1/2-20", 0.1599), ("#10-24", 0.0175), ("#10-32", 0.0200),
    ],
)  # fmt: skip
def test_the_stress_area_of_a_unified_thread(text: str, square_inches: float) -> None:
    assert stress_area(parse_thread(text)) / 645.16 == pytest.approx(square_inches, rel=0.005)


def test_a_thread_holds_diameter_pitch_and_hand() -> None:
    assert parse_thread("M12x1.25 LH") == Thread(Decimal(12), Decimal("1.25"), left_hand=True)


NOT_KNOWN = (
    "is no thread that is known here (metric ISO, unified such as '1/4-20 UNC', Whitworth such as"
    " '1/4 BSF', pipe threads such as 'G 1/4' or '1/8 NPT'): leave 'thread' out and write it into"
    " the name of the item, with LEFT-HAND where it is"
)
TOLERANCE = "names a tolerance class, which is not held here: leave that out, and keep the rest"
PIPES = (
    "may be either of two pipe threads: write 'G 1/4' for a parallel one (ISO 228-1), 'R 1/4' for a"
    " tapered one (ISO 7-1)"
)
LEFT = "a left-hand thread is written with LH behind it (ISO 965-1), as in 'M10 x 1.25 LH'"


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        *((other, f"{other!r} {NOT_KNOWN}") for other in ("Tr 12x3", "BSF 5/16", "1/4", "#10")),
        ("BSP 1/4", f"'BSP 1/4' {PIPES}"),
        *(
            (other, f"{other!r} {TOLERANCE}")
            for other in ("G 1/8 A", "1/4-20 UNC-2A", "1/4 UNF 2B")
        ),
        (
            "1/4-19",
            "'1/4-19' has a pitch that no such thread of this size has; known are 1/4-20 UNC,"
            " 1/4-28 UNF",
        ),
        (
            "1/8-28 NPT",
            "'1/8-28 NPT' has a pitch that no such thread of this size has; known is 1/8-27 NPT",
        ),
        ("#0 UNC", "'#0 UNC' has no pitch; write it in turns to an inch, as in #0-80 UNF"),
        (
            "G 7/16",
            "'G 7/16' has a size that is not known here: 1/16, 1/8, 1/4, 3/8, 1/2, 5/8, 3/4, 1 are",
        ),
        ("8", "'8' is no thread; write for example 'M8 x 1.25' or '1/4-20 UNC'"),
        (
            "M10x1.25 L",
            f"'M10x1.25 L' ends with L, which stands for a long engagement; {LEFT}",
        ),
        ("LH M10", f"'LH M10' is not read; {LEFT}"),
        ("left M10 x 1.25", f"'left M10 x 1.25' is not read; {LEFT}"),
        (
            "M8x1.25-6g",
            "'M8x1.25-6g' names a tolerance class (ISO 965-1), which is not held here: leave that out,"
            " and keep size and pitch",
        ),
        (
            "M10x1 6H",
            "'M10x1 6H' names a tolerance class (ISO 965-1), which is not held here: leave that out,"
            " and keep size and pitch",
        ),
        (
            "M100x1",
            "'M100x1' is larger than the threads that are checked here (below M100)",
        ),
        ("", "'' is no thread; write for example 'M8 x 1.25' or '1/4-20 UNC'"),
        ("M9", "'M9' has no coarse pitch; write it, for example 'M9 x 1.25'"),
        (
            "M6x1.25",
            "'M6x1.25' has a pitch that no metric thread of this diameter has (ISO 261);"
            " the coarse one is 1",
        ),
        (
            "M9x4",
            "'M9x4' has a pitch that no metric thread of this diameter has (ISO 261); measure it",
        ),
        (
            "M8x0.1",
            "'M8x0.1' has a pitch that no metric thread of this diameter has (ISO 261);"
            " the coarse one is 1.25",
        ),
    ],
)
def test_what_is_no_thread_is_refused_with_the_reason(text: str, reason: str) -> None:
    with pytest.raises(FigureError) as caught:
        parse_thread(text)
    assert str(caught.value) == reason


@given(st.sampled_from(sorted(COARSE_PITCH)), st.sampled_from(["0.2", "0.35", "0"]), st.booleans())
def test_a_thread_read_back_from_its_name_is_the_same(
    diameter: Decimal, finer: str, left: bool
) -> None:
    thread = Thread(diameter, Decimal(finer) or COARSE_PITCH[diameter], left)
    assert parse_thread(thread.name) == thread


@given(st.sampled_from(sorted(COARSE_PITCH)))
def test_the_stress_area_lies_between_the_core_and_the_full_shank(diameter: Decimal) -> None:
    thread = Thread(diameter, COARSE_PITCH[diameter])
    shank = 3.14159265 / 4 * float(diameter) ** 2
    core = 3.14159265 / 4 * (float(diameter) - 1.226869 * float(thread.pitch)) ** 2
    assert core < stress_area(thread) < shank


def test_a_finer_pitch_leaves_a_larger_stress_area() -> None:
    coarse, fine = parse_thread("M12"), parse_thread("M12x1.25")
    assert stress_area(fine) > stress_area(coarse)


def test_class_8_8_changes_above_16_mm() -> None:
    assert strength(parse_thread("M16"), "8.8") == Strength(proof=580, yielding=640, tensile=800)
    assert strength(parse_thread("M18"), "8.8") == Strength(proof=600, yielding=660, tensile=830)


@pytest.mark.parametrize("property_class", sorted(PROPERTY_CLASSES))
def test_a_bolt_bears_its_proof_load_before_it_yields_and_yields_before_it_breaks(
    property_class: str,
) -> None:
    for text in ("M6", "M20"):
        thread = parse_thread(text)
        found = strength(thread, property_class)
        assert found.proof < found.yielding < found.tensile
        assert proof_load(thread, property_class) < breaking_load(thread, property_class)


def test_an_unknown_property_class_is_refused_with_the_known_ones() -> None:
    with pytest.raises(FigureError) as caught:
        proof_load(parse_thread("M8"), "8.9")
    assert str(caught.value) == (
        "'8.9' is no property class of ISO 898-1; known:"
        " 4.6, 4.8, 5.6, 5.8, 6.8, 8.8, 9.8, 10.9, 12.9"
    )


def test_oil_on_the_thread_raises_the_preload_of_one_torque() -> None:
    # Nut factors 0.20 dry and 0.15 oiled: common practice, no source.
    dry, oiled = preload(25, 8, 0.20), preload(25, 8, 0.15)
    assert round(dry) == 15_625
    assert round(oiled) == 20_833


@pytest.mark.parametrize("text", [*PROPERTY_CLASSES, *STAINLESS, *GRADES])
def test_a_known_class_is_taken_and_has_a_strength(text: str) -> None:
    assert require_class(text) == text
    found = strength(parse_thread("M8"), text)
    assert found.proof <= found.yielding < found.tensile


def test_stainless_classes_are_named_by_a_tenth_of_their_tensile_strength() -> None:
    # ISO 3506-1, from memory.
    for name, found in STAINLESS.items():
        assert found.tensile == 10 * int(name.partition("-")[2])
    assert STAINLESS["A2-70"] == STAINLESS["A4-70"] == Strength(450, 450, 700)


@pytest.mark.parametrize("text", NUT_CLASSES)
def test_a_class_of_nuts_sends_to_the_bolt(text: str) -> None:
    with pytest.raises(
        FigureError, match=r"is a class of nuts \(ISO 898-2\).*leave property_class"
    ):
        require_class(text)


def test_another_class_is_refused_with_the_known_ones() -> None:
    with pytest.raises(FigureError, match=r"'8.9' is no property class; known are 4.6, .*SAE 8$"):
        require_class("8.9")


def test_some_grades_are_weaker_in_large_sizes() -> None:
    """SAE J429, from memory: grade 2 yields at 57 ksi up to 3/4 in, above that at 36 ksi."""
    yields = {
        size: strength(parse_thread(size), "SAE 2").yielding for size in ("3/4-10 UNC", "7/8-9 UNC")
    }
    assert yields == {"3/4-10 UNC": 393, "7/8-9 UNC": 248}
    assert strength(parse_thread("1-8 UNC"), "SAE 5").yielding == 634
