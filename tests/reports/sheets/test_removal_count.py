"""The removal count read by pypdfium2. All names and figures are invented."""

from __future__ import annotations

from dataclasses import replace
from io import BytesIO

import pytest
from paper import MM, characters, drawn, opened, require_clear, squares, words

from factory import CAUTION, HOSTILE, ON
from kitting.errors import KittingError
from kitting.facts.reasons import Reason, because
from kitting.reports.sheets.removal_count import draw_removal
from kitting.reports.stationery import PAPERS
from kitting.views.counted import RemovalJointView, RemovalPlaceView, RemovalView
from kitting.views.kit import SealReason


def joint(bag: int, seals: int, counted: int | None = None) -> RemovalJointView:
    """A joint with a position for every seal."""
    places = tuple(f"groove {bag}.{number}" for number in range(1, seals + 1))
    return RemovalJointView(bag, f"joint-{bag}", f"coolant pipe {bag}", seals, counted, places)


def still_in(bag: int, missing: int) -> Reason:
    """That seals of a joint are missing; the first two positions are named."""
    return because(
        SealReason.STILL_IN_THERE, joint=f"joint-{bag}", name=f"coolant pipe {bag}",
        missing=missing, positions=(f"groove {bag}.1", f"groove {bag}.2"),
    )  # fmt: skip


VIEW = RemovalView(
    "B0002", "KBTGAB27", ON, "Ulvander Pell …117", ("J1 rear coolant pipe seals",),
    (joint(1, 2, 2), joint(2, 5, 3), joint(3, 1)),
    (still_in(2, 2),), (CAUTION,),
)  # fmt: skip
LONG = replace(VIEW, joints=tuple(joint(bag, 3) for bag in range(1, 81)), withheld=())
DEEP = replace(VIEW, joints=(joint(1, 80),), withheld=())
BAD_JOINT = RemovalJointView(1, HOSTILE, HOSTILE, 10**9, 10**9 - 1, (HOSTILE,) * 7)
BAD = RemovalView(
    "B0002", "KBTGAB27", ON, HOSTILE, (HOSTILE,) * 3, (BAD_JOINT,) * 5,
    (because(SealReason.NOT_COUNTED, joints=(HOSTILE,), joint=HOSTILE),) * 9,
    (replace(CAUTION, title=HOSTILE, text=HOSTILE, applies_to=(HOSTILE,)),) * 3,
)  # fmt: skip


def texts(view: RemovalView, paper: str = "A4") -> list[str]:
    """The characters of each page."""
    return [words(page) for page in characters(drawn(draw_removal, view, paper=paper))]


def test_the_head_names_booking_kit_car_date_jobs_and_all_seals() -> None:
    (text,) = texts(VIEW)
    assert "REMOVALCOUNTB0002·kitKBTGAB27UlvanderPell…117·fittingdate2026-04-15" in text
    assert (
        "J1rearcoolantpipesealsOldsealstocomeout:8.Joints:3.Whatcomesofffirststandsfirst." in text
    )
    for blank in ("countedby", "date", "checkedby"):
        assert blank in text
    assert "Coolant(A2)Capoffcoldonly;themaker'sdatadecide." in text


def test_a_joint_shows_bag_expected_counted_and_positions() -> None:
    (text,) = texts(VIEW)
    assert "BAG1expected2countOLDoutcoolantpipe1(joint-1)counted2:asexpected" in text
    assert "BAG2expected5countOLDoutcoolantpipe2(joint-2)counted3:DIFFERS" in text
    # What nobody counted is left blank, never told as 0.
    assert "BAG3expected1countOLDoutcoolantpipe3(joint-3)portsthatstayopen:plugged" in text
    assert "groove2.1groove2.2groove2.3groove2.4groove2.5" in text
    assert text.count("portsthatstayopen:pluggedunpluggedbeforerefithowmanyplugs") == 3


def test_joints_stand_in_the_order_that_is_given_whatever_their_bags() -> None:
    stopped = replace(joint(9, 1), bag=None)
    given = (joint(3, 1), stopped, joint(2, 2), joint(1, 2))
    text = "".join(texts(replace(VIEW, joints=given)))
    found = [text.index(f"{bag}expected") for bag in ("BAG3", "NOBAG", "BAG2", "BAG1")]
    assert found == sorted(found)


def test_what_withholds_the_refit_is_framed_with_all_likely_positions() -> None:
    (text,) = texts(VIEW)
    assert (
        "REFITWITHHELDcoolantpipe2:2stillinthere;lookfirstatgroove2.1,groove2.2"
        "BAG2,coolantpipe2:thenlookatgroove2.3;groove2.4;groove2.5" in text
    )
    assert "BAG1,coolantpipe1:lookat" not in text
    (text,) = texts(replace(VIEW, joints=(joint(2, 2, 1),), withheld=(still_in(2, 1),)))
    assert "lookfirstatgroove2.1,groove2.2" in text
    assert "BAG2,coolantpipe2:thenlookat" not in text


def test_every_old_seal_of_a_position_has_a_box_and_each_bag_its_number() -> None:
    places = (
        RemovalPlaceView("both sides of the banjo", 2, 5), RemovalPlaceView("upper stub", 1, 6),
    )  # fmt: skip
    split = RemovalJointView(
        5, "pipe", "pipe", 3, None, tuple(place.position for place in places), places
    )
    view = replace(VIEW, joints=(split,), withheld=())
    (text,) = texts(view)
    assert "BAGS5,6expected3" in text
    assert "BAG5:2new·BAG6:1new" in text
    assert "2×bothsidesofthebanjo·BAG5upperstub·BAG6" in text
    assert sum(map(len, squares(drawn(draw_removal, view), 7))) == 3 + 2


def test_without_a_difference_nothing_is_withheld() -> None:
    (text,) = texts(replace(VIEW, withheld=()))
    assert "WITHHELD" not in text


def test_every_position_has_a_box_and_every_joint_a_pair() -> None:
    # 2 + 5 + 1 positions, and two boxes for the ports of each of the three joints.
    assert sum(map(len, squares(drawn(draw_removal, VIEW), 7))) == 8 + 2 * 3


@pytest.mark.parametrize("paper", PAPERS)
def test_eighty_joints_run_over_pages_that_all_say_whose_they_are(paper: str) -> None:
    found = texts(LONG, paper)
    assert len(found) > 5
    for number, text in enumerate(found, 1):
        assert "RemovalcountB0002·kitKBTGAB27" in text
        assert f"page{number}/{len(found)}" in text
        assert "CAUTIONS(infullattheend):Coolant" in text
        assert ("Planninginformation,notaprocedure" in text) == (number == 1)
        assert ("Planninginformation:themaker'sdatagoesfirst" in text) == (number > 1)
    whole = "".join(found)
    assert all(whole.count(f"BAG{bag}expected3") == 1 for bag in range(1, 81))
    assert sum(map(len, squares(drawn(draw_removal, LONG, paper=paper), 7))) == 80 * 5


def test_a_joint_that_runs_over_is_named_again() -> None:
    found = texts(DEEP)
    assert len(found) > 1
    assert all("BAG1coolantpipe1·continued" in text for text in found[1:-1])
    whole = "".join(found)
    assert "BAG1coolantpipe1·continued" in whole
    assert "".join(f"groove1.{number}" for number in (1, 2)) in whole
    assert "groove1.80" in whole
    assert sum(map(len, squares(drawn(draw_removal, DEEP), 7))) == 82


@pytest.mark.parametrize("view", [VIEW, DEEP, BAD], ids=["plain", "deep", "hostile"])
@pytest.mark.parametrize("paper", PAPERS)
def test_nothing_is_printed_outside_the_margins_and_lines_do_not_overlap(
    paper: str, view: RemovalView
) -> None:
    width, height = PAPERS[paper]
    pdf = drawn(draw_removal, view, paper=paper)
    for page in opened(pdf):
        assert page.get_size() == pytest.approx((width * MM, height * MM), abs=0.5)
    require_clear(pdf, width, height)


@pytest.mark.parametrize("view", [LONG, DEEP, BAD], ids=["long", "deep", "hostile"])
def test_boxes_to_tick_do_not_overlap(view: RemovalView) -> None:
    for boxes in squares(drawn(draw_removal, view), 7):
        for number, one in enumerate(boxes):
            for other in boxes[:number]:
                assert not one.overlaps(other, by=0.0), (one, other)


def test_a_booking_without_seals_says_so() -> None:
    (text,) = texts(replace(VIEW, joints=(), withheld=(), cautions=()))
    assert "Nooldsealisexpected." in text
    assert "BAG" not in text


def test_the_number_of_pages_is_returned_and_an_unknown_paper_refused() -> None:
    assert draw_removal(LONG, BytesIO()) == len(texts(LONG))
    with pytest.raises(KittingError, match="no paper 'A3'"):
        drawn(draw_removal, VIEW, paper="A3")
