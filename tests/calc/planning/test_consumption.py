"""Consumption: worked figures of the trade, common practice, no source."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kitting.calc.planning.consumption import bead, drops, film, one_session, packs
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


@pytest.mark.parametrize(
    ("length", "pack", "amount"),
    [
        # 3 mm × 1.12 m × 1.2 = 9.501 ml; of a tube of 15 ml, 10 ml come out of the nozzle.
        (1_120_000, 15_000, 14_501),
        # 1.64 m take 13.911 ml: one tube of 20 ml, two of 15 ml, four of 9 ml (4 ml each).
        (1_640_000, 20_000, 18_911),
        (1_640_000, 15_000, 23_911),
        (1_640_000, 9_000, 33_911),
        # Without a pack, or of one that the nozzle holds wholly, one nozzle is counted.
        (1_640_000, None, 18_911),
        (1_640_000, 5_000, 18_911),
    ],
)
def test_each_tube_that_a_bead_opens_leaves_its_nozzle_full(
    length: int, pack: int | None, amount: int
) -> None:
    assert bead(3000, length, pack=pack).amount == amount


def test_the_packs_of_a_bead_hold_it_after_the_waste_of_each() -> None:
    # 5 mm × 1.28 m × 1.2 = 30.16 ml: two tubes of 20 ml give only 30 ml through their nozzles.
    found = bead(5000, 1_280_000, pack=20_000)
    assert (found.amount - 3 * 5_000, packs(found.amount, 20_000)) == (30_160, 3)
    assert say(found.how) == "bead 5 mm × 1.28 m × 1.2 + 3 × 5 ml nozzle, one for each tube"


@given(st.integers(500, 12_000), st.integers(10_000, 60_000_000), st.integers(5_100, 400_000))
def test_what_comes_out_of_the_tubes_bought_is_never_less_than_the_bead(
    diameter: int, length: int, pack: int
) -> None:
    laid = bead(diameter, length, nozzle=0).amount
    bought = packs(bead(diameter, length, pack=pack).amount, pack)
    assert bought is not None
    assert bought * (pack - 5_000) >= laid
    assert bought == 1 or (bought - 1) * (pack - 5_000) < laid


def test_beads_of_one_session_share_the_nozzle_while_it_is_open() -> None:
    # 13.911 ml and 1.885 ml of bead, and one nozzle of 5 ml.
    two = [bead(3000, 1_640_000), bead(2000, 500_000)]
    shared = one_session(two, 2_140_000)
    assert [one.amount for one in shared] == [18_911, 1_885]
    assert say(shared[1].how) == (
        "bead 2 mm × 500 mm × 1.2 + 5 ml nozzle, less 1 × 5 ml: the nozzle of the bead before is"
        " still open"
    )
    assert one_session(two, 2_139_999) == tuple(two)
    assert one_session(two[:1], None) == (two[0],)


def test_where_the_open_time_is_not_known_each_bead_keeps_its_nozzle_and_says_so() -> None:
    two = [bead(3000, 1_640_000), bead(2000, 500_000)]
    found = one_session(two, None)
    assert [one.amount for one in found] == [one.amount for one in two]
    assert all("is not known (times: open and laying" in say(one.how) for one in found)


@given(st.lists(st.integers(10_000, 3_000_000), min_size=1, max_size=5), st.integers(5_100, 90_000))
def test_beads_of_one_session_take_the_tubes_of_one_long_bead(
    lengths: list[int], pack: int
) -> None:
    beads = [bead(3000, length, pack=pack) for length in lengths]
    laid = sum(one.laid.amount for one in beads if one.laid)
    tubes = -(-laid // (pack - 5_000))
    found = one_session(beads, sum(lengths))
    assert sum(one.amount for one in found) == laid + tubes * 5_000
