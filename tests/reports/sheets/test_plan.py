"""The plan sheet of the demo garage, read by pypdfium2. All names and figures are invented."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from io import BytesIO

import pytest
from paper import characters, codes, drawn, pages, require_clear, words
from sqlalchemy import Engine

from factory import HOSTILE, pick
from kitting.errors import KittingError
from kitting.facts.verdicts import Verdict
from kitting.reports.sheets.plan import OfBooking, draw_plan
from kitting.reports.stationery import PAPERS
from kitting.services.planning.plan import plan
from kitting.services.planning.request import PlanRequest
from kitting.store import reading
from kitting.views.bookings import PromisedView, SourceKind
from kitting.views.plan import PlanView
from kitting.wording.figures import NO_FIGURE, percent
from kitting.wording.tightening import remark_text, stage_text

ON = date(2026, 4, 15)


def planned(engine: Engine, *jobs: str) -> PlanView:
    with reading(engine) as session:
        return plan(session, PlanRequest("PELL 117", jobs, ON))


def text(view: PlanView, booking: OfBooking | None = None, *, public: bool = False) -> str:
    pdf = drawn_plan(view, booking=booking, public=public)
    return "".join(map(words, characters(pdf)))


def drawn_plan(
    view: PlanView, paper: str = "A4", booking: OfBooking | None = None, public: bool = False
) -> bytes:
    return drawn(draw_plan, view, paper=paper, booking=booking, public=public)


def packed(words: str) -> str:
    return "".join(words.split())


def test_every_line_stands_in_every_joint_where_it_sits_with_its_rule_and_why(
    lite_garage: Engine,
) -> None:
    view = planned(lite_garage, "J1", "J2")
    told = text(view)
    for line in view.lines:
        joints = {place.joint for place in line.positions}
        assert told.count(f"{line.rule.upper()}") >= 1
        assert told.count(packed(line.item)) >= len(joints)
        for place in line.positions:
            assert packed(place.position) in told
        if line.criterion:
            assert packed(line.criterion) in told or line.rule == "renew"
        if line.chance is not None:
            assert f"{percent(line.chance, 0)}assumedtofail" in told
    ring = "■RENEW1RING-FKM-14X2O-ring,vacuumstub·14×2mm·FKM75·coloursupplied:black"
    assert ring.replace("coloursupplied", "colourassupplied") in told
    stub = told[told.index("vacuumstub[thinpipewiththewhiteband]rubberassemblyfluid") :]
    assert stub.index("itnevergoesback;forJ1andJ2") < stub.index("■RENEW")


def test_joints_and_steps_stand_in_the_order_of_stripping_down(lite_garage: Engine) -> None:
    view = planned(lite_garage, "J1", "J2")
    told = text(view)
    steps = [told.index(packed(f"{n}. {step.code} {step.name}"))
             for n, step in enumerate(view.steps, 1)]  # fmt: skip
    joints = [told.index(packed(f"{joint.name}({joint.code})")) for joint in view.joints
              if any(place.joint == joint.code for line in view.lines
                     for place in line.positions)]  # fmt: skip
    assert steps == sorted(steps)
    assert joints == sorted(joints)
    assert steps[-1] < joints[0]


def test_consumables_tools_and_cautions_in_full_follow(lite_garage: Engine) -> None:
    view = planned(lite_garage, "J1", "J2")
    told = text(view)
    end = told.index("USEDUP")
    assert all(packed(use.item) in told[end:] for use in view.uses)
    assert "torquewrenchat3.5N·m" in told
    assert "Ahotsystemisunderpressureandscalds:thecapcomesoffcoldonly." in told[end:]
    assert told.count("Planninginformation,notaprocedure") == 1


def test_what_is_stopped_and_cannot_be_proven_stands_before_the_first_line(
    lite_garage: Engine,
) -> None:
    told = text(planned(lite_garage, "J7"))
    start = told.index("STRIPDOWN")
    assert "GREASE-MULTIandEPDMCLASH:leftoff" in told[:start]
    assert "CANNOTBEPROVEN:notighteningfigureforcaliper-left" in told[:start]
    assert "NOFIGURE:LOOKITUP:caliper-left" in told[:start]


def test_of_a_booking_it_names_it_and_what_is_short(lite_garage: Engine) -> None:
    view = planned(lite_garage, "J1")
    short = OfBooking("B0002", (replace(pick(1).lines[0], lacks=2000),))
    pdf = drawn_plan(view, booking=short)
    told = "".join(map(words, characters(pdf)))
    assert f"PLANB0002·kit{view.reference}" in told
    assert told.index("SHORT") < told.index("STRIPDOWN")
    assert [code.text for code in codes(pages(pdf)[0])] == ["B0002"]


def test_what_is_short_is_never_headed_fine(lite_garage: Engine) -> None:
    view = replace(planned(lite_garage, "J1"), verdict=Verdict.FINE)
    short = OfBooking("B0002", (replace(pick(1).lines[0], lacks=2000),))
    assert "Verdict:FINE(" in text(view)
    told = text(view, short)
    assert "Verdict:SHORT,1line(" in told
    assert "Verdict:FINE" not in told
    worse = text(replace(view, verdict=Verdict.NO), short)
    assert "Verdict:NO;SHORT,1line(" in worse


def test_what_is_on_its_way_is_no_shortage_and_never_headed_fine(lite_garage: Engine) -> None:
    view = replace(planned(lite_garage, "J1"), verdict=Verdict.FINE)
    coming = PromisedView(SourceKind.ORDER, 2000, 0, order="P0003", supplier="Ombrith",
                          due=date(2026, 4, 10), overdue=True)  # fmt: skip
    line = replace(pick(1).lines[0], sources=(coming,), awaited=2000)
    told = text(view, OfBooking("B0002", (line,)))
    assert "Verdict:FINEonceallisthere(" in told
    assert "NOTHERETOFIT:1line" in told
    assert "SHORT" not in told.split("STRIPDOWN")[0]
    said = "ITEM-0: NOT HERE YET 2: order P0003 from Ombrith, OVERDUE: was due 2026-04-10"
    assert said.replace(" ", "") in told


def test_fasteners_carry_their_published_figures_stage_by_stage_and_what_is_odd(
    lite_garage: Engine,
) -> None:
    view = planned(lite_garage, "J1", "J2", "J3")
    assert any(len(row.stages) > 1 for row in view.tightenings)
    unknown = replace(view.tightenings[0], stages=())
    view = replace(view, tightenings=(unknown, *view.tightenings[1:]))
    told = text(view)
    for row in view.tightenings:
        count = len(row.stages)
        for number, stage in enumerate(row.stages, 1):
            shown = packed(stage_text(stage))
            assert (f"STAGE{number}of{count}{shown}" if count > 1 else shown) in told
        if not row.stages:
            assert packed(f"{row.position}: {NO_FIGURE}") in told
        for remark in row.remarks:
            assert packed(remark_text(remark)) in told


def test_the_plate_is_whole_unless_anyone_may_see_it(lite_garage: Engine) -> None:
    view = planned(lite_garage, "J1")
    assert "PELL117" in text(view)
    shortened = text(view, public=True)
    assert "PELL117" not in shortened
    assert "…117" in shortened


@pytest.mark.parametrize("paper", PAPERS)
def test_nothing_leaves_the_margins_and_lines_do_not_overlap(
    lite_garage: Engine, paper: str
) -> None:
    view = planned(lite_garage, "J1", "J2", "J7")
    hostile = replace(
        view,
        lines=tuple(replace(line, item=HOSTILE, name=HOSTILE) for line in view.lines),
        joints=tuple(replace(joint, name=HOSTILE) for joint in view.joints),
    )
    for one in (view, hostile):
        require_clear(drawn_plan(one, paper), *PAPERS[paper])


def test_the_number_of_pages_is_returned_and_an_unknown_paper_refused(lite_garage: Engine) -> None:
    view = planned(lite_garage, "J1")
    assert draw_plan(view, BytesIO()) == len(pages(drawn_plan(view)))
    with pytest.raises(KittingError, match="no paper 'A3'"):
        drawn_plan(view, "A3")


def test_what_goes_on_a_seal_or_that_it_goes_in_dry_stands_at_its_joint(garage: Engine) -> None:
    found = text(planned(garage, "J1", "J3"))
    assert "SEAL-CRANK-FRONT" in found
    crank = found[found.index("SEAL-CRANK-FRONTcrankshaftfrontseal") :]
    assert crank.index("FITDRY,nolubricant") < crank.index("itnevergoesback")


def test_a_stopped_job_says_that_it_is_and_which_variant_comes_first(garage: Engine) -> None:
    view = planned(garage, "J1")
    job = replace(view.jobs[0], stopped_by=("cooler",))
    found = text(replace(view, jobs=(job,)))
    assert "halone:STOPPED,settlecoolerfirst" in found
