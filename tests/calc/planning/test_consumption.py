"""Consumption: worked figures of the trade, common practice, no source."""

from __future__ import annotations

import pytest

from kitting.calc.planning.consumption import bead, drops, film, packs
from kitting.errors import FigureError
from kitting.wording.reasons import say


def test_a_bead_of_3_mm_over_1_64_m_takes_18_9_ml() -> None:
    # Common practice, no source: π/4·3² mm² × 1640 mm = 11.6 ml; × 1.2 + 5 ml nozzle = 18.9 ml.
    found = bead(3000, 1_640_000)
    assert (found.amount, say(found.how)) == (18_911, "bead 3 mm × 1.64 m × 1.2 + 5 ml nozzle")


def test_the_nozzle_of_the_product_replaces_the_usual_one() -> None:
    assert bead(3000, 1_640_000, nozzle=0).amount == 13_911


def test_a_film_takes_area_times_thickness() -> None:
    # Common practice, no source: 6,500 mm² × 0.1 mm = 0.65 ml.
    found = film(6_500_000, 100)
    assert (found.amount, say(found.how)) == (650, "film 6500 mm² × 0.1 mm")


@pytest.mark.parametrize(
    ("thread", "amount", "how"),
    [
        ("M6", 100, "2 × 1 drop on M6"),
        ("M8", 300, "2 × 3 drops on M8"),
        ("M12", 300, "2 × 3 drops on M12"),
    ],
)
def test_threadlocker_goes_by_the_drop(thread: str, amount: int, how: str) -> None:
    # From memory: a drop of about 0.05 ml; one to M6, two to three for M8 to M12.
    found = drops(thread, 2)
    assert (found.amount, say(found.how)) == (amount, how)


def test_no_number_of_drops_is_made_up_for_large_threads() -> None:
    with pytest.raises(FigureError, match="no number of drops is known"):
        drops("M16", 1)


def test_packs_are_whole_and_unknown_where_no_pack_is_stated() -> None:
    assert packs(18_911, 70_000) == 1
    assert packs(70_001, 70_000) == 2
    assert packs(5, None) is None


def test_a_film_is_reckoned_to_the_thousandth() -> None:
    # 99,000 mm² × 0.1 mm = 9,900 mm³ = 9.9 ml.
    assert film(99_000_000, 100).amount == 9_900


@pytest.mark.parametrize(("thread", "amount"), [("M7", 150), ("M14", None)])
def test_the_drops_of_a_size_end_with_it(thread: str, amount: int | None) -> None:
    # From memory: one drop to M6, three beyond it to M12.
    if amount is None:
        with pytest.raises(FigureError, match=f"for a thread of {thread}"):
            drops(thread, 1)
    else:
        assert drops(thread, 1).amount == amount


def test_a_note_of_the_catalogue_is_told_after_how_the_amount_arose() -> None:
    plain = film(6_500_000, 100)
    assert plain.noted(None) == plain
    assert plain.noted("") == plain
    noted = plain.noted("outer rim only")
    assert noted.amount == plain.amount
    assert say(noted.how) == "film 6500 mm² × 0.1 mm (outer rim only)"
