"""What has to set on a plan. Times of the demo are invented; amounts are common practice."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest
from sqlalchemy import Engine

from helpers import ON, counted, load, planned, said, source, unit, use_of
from kitting.errors import FigureError, FileProblemsError
from kitting.facts.doubt_reasons import DoubtReason
from kitting.facts.plan_reasons import AmountReason
from kitting.facts.reasons import because
from kitting.facts.tightening_reasons import LayingRemark
from kitting.facts.units import Quantity
from kitting.facts.words import CureVerdict
from kitting.services.planning.request import PlanRequest, ToolRequest
from kitting.services.tightening.cure_times import curing
from kitting.services.tightening.sheet import tighten
from kitting.store import reading
from kitting.views.tightening import (
    CureTimes,
    CuringView,
    LaidView,
    ProductView,
    PutOnView,
    TightenView,
)
from kitting.wording.figures import NOT_STATED
from kitting.wording.reasons import say
from kitting.wording.tightening import amount_text, put_on_text, times_text, verdict_text

TOLD = (
    "close within 10 min of putting it on; wait 24 h before fluids come in or the engine runs"
    " (demo data sheet, invented; holds at 23 °C)"
)
BEAD = "bead 3 mm × 1.64 m × 1.2 + 5 ml nozzle (one bead inside the bolt holes)"
HOW = because(
    AmountReason.NOTED,
    how=because(
        AmountReason.BEAD,
        diameter=Quantity(3_000, "mm"),
        length=Quantity(1_640_000, "mm"),
        allowance=Decimal("1.2"),
        nozzle=Quantity(5_000, "ml"),
    ),
    note="one bead inside the bolt holes",
)
LAYING = because(
    LayingRemark.IN_TIME,
    length=Quantity(1_640_000, "mm"),
    speed=Quantity(1_000, "m/min"),
    takes=2,
    minutes=10,
)
DAY = 24 * 60
SEALANT_TIMES = CureTimes(10, DAY, "demo data sheet, invented", 23)


def in_words(laid: PutOnView) -> tuple[str, str, str]:
    """What the sheet prints of a product."""
    return (f"{laid.item} {laid.name}", amount_text(laid), times_text(laid.times))


def asked(
    engine: Engine, *jobs: str, parked: int | None = None, car: str = "PELL 117", on: date = ON
) -> CuringView:
    with reading(engine) as session:
        return curing(session, PlanRequest(car, jobs, on), parked)


def tightened(engine: Engine, *jobs: str, car: str = "PELL 117") -> TightenView:
    with reading(engine) as session:
        return tighten(session, ToolRequest(PlanRequest(car, jobs, ON)))


def test_the_sealant_of_the_demo_tells_where_how_much_and_both_times(garage: Engine) -> None:
    # 3 mm × 1.64 m → 18.9 ml: common practice, no source.
    view = asked(garage, "J3", parked=3 * 60)
    assert view.products == (
        ProductView(
            item="SEALANT-COVER-70",
            name="form-in-place sealant, tube",
            kind="form-in-place sealant",
            unit="ml",
            quantity=18_911,
            places=(
                LaidView(
                    "joint timing-cover", "timing cover to cylinder block", HOW, 18_911, LAYING
                ),
            ),
            open_minutes=10,
            cure_minutes=DAY,
            source="demo data sheet, invented",
            verdict=CureVerdict.NOT_ENOUGH,
            celsius=23,
        ),
    )
    assert times_text(SEALANT_TIMES) == TOLD
    assert verdict_text(view.products[0], 3 * 60) == "NOT ENOUGH (needs 24 h, parked 3 h)"
    assert (view.verdict, view.stopped) == (CureVerdict.NOT_ENOUGH, ())


@pytest.mark.parametrize(
    ("jobs", "parked", "verdict"),
    [
        (("J3",), DAY - 1, "not enough"),
        (("J3",), DAY, "enough"),
        (("J3",), None, None),
        (("J4",), 100 * DAY, "unknown"),
        (("J3", "J4"), DAY, "unknown"),
        (("J3", "J4"), DAY - 1, "not enough"),
        (("J1",), 1, "nothing to set"),
    ],
)
def test_the_worst_product_decides_and_what_is_not_stated_is_never_enough(
    garage: Engine, jobs: tuple[str, ...], parked: int | None, verdict: str | None
) -> None:
    assert asked(garage, *jobs, parked=parked).verdict == verdict


def test_a_threadlocker_without_times_says_look_it_up(garage: Engine) -> None:
    (product,) = asked(garage, "J4", parked=60).products
    assert (product.item, product.quantity) == ("THREADLOCK-MEDIUM", 50)
    assert product.times == CureTimes(None, None, None)
    assert times_text(product.times) == "open time and cure time NOT STATED: LOOK IT UP"
    assert verdict_text(product, 60) == "UNKNOWN (cure time NOT STATED: LOOK IT UP, parked 1 h)"


def test_what_has_to_set_in_a_time_that_nobody_states_is_not_fine_in_the_plan(
    garage: Engine,
) -> None:
    plan = planned(garage, "PELL 117", "J3", "J4")
    found = [say(doubt.because) for doubt in plan.doubts if "has to set" in say(doubt.because)]
    # The sealant of J3 has its times.
    assert len(found) == 1
    assert found[0].startswith("how long THREADLOCK-MEDIUM at turbo-feed has to set is not stated")


def test_a_stopped_job_leaves_the_answer_unknown_and_names_the_check(garage: Engine) -> None:
    view = asked(garage, "J2", parked=100 * DAY, car="PELL 042")
    assert (view.verdict, view.jobs) == ("unknown", ("J2 oil cooler reseal",))
    assert "J2: Which type of oil cooler" in said(view.stopped)[0]


def test_no_time_to_stand_is_refused(garage: Engine) -> None:
    with pytest.raises(FigureError, match="a waiting time must be more than zero"):
        asked(garage, "J3", parked=0)


ITEMS = """
  - {code: PASTE, name: Paste, kind: sealant, unit: ml}
  - {code: GLUE, name: Glue, kind: sealant, unit: ml, times: {cure: 90 min, source: leaflet}}
  - {code: FILM, name: Film, kind: cleaner, unit: ml, times: {open: 2 min, source: leaflet}}
  - {code: WIPE, name: Wipe, kind: cleaner, unit: ml}"""
USES = unit(
    """
      - code: a
        name: Lid
        system: engine
        fits: [{item: BOLT, position: b1}]
        uses:
          - {item: PASTE, amount: 5 ml}
          - {item: WIPE, amount: 5 ml}
      - code: b
        name: Flange
        system: engine
        fits: [{item: RING, position: r1}]
        uses:
          - {item: GLUE, film: {area: 6500 mm², thickness: 0.1 mm}}""",
    """
      - {code: S1, name: Open, hours: 1 h, opens: [{joint: a, reopened: 1}]}
      - {code: S2, name: Part, hours: 1 h, opens: [b], uses: [{item: FILM, amount: 2 ml}]}""",
    """
      - {code: X1, name: One, needs: [S1]}
      - {code: X2, name: Two, needs: [S2]}""",
    ITEMS,
)


def test_a_kind_that_is_laid_by_bead_film_or_drop_anywhere_counts_by_any_measure(
    store: Engine,
) -> None:
    load(store, USES)
    (paste,) = asked(store, "X1", parked=DAY, car="PELL 001").products
    assert (paste.item, paste.verdict) == ("PASTE", "unknown")
    (place,) = paste.places
    assert (place.where, say(place.how), place.quantity) == ("joint a", "5 ml, 2 times", 10_000)


def test_one_time_that_is_stated_does_not_stand_for_the_other(store: Engine) -> None:
    load(store, USES)
    view = asked(store, "X2", parked=90, car="PELL 001")
    assert {p.item: (times_text(p.times), p.verdict) for p in view.products} == {
        "GLUE": (
            f"open time {NOT_STATED}; wait 1 h 30 min before fluids come in or the engine runs"
            " (leaflet; temperature not stated)",
            "unknown",
        ),
        "FILM": (
            f"close within 2 min of putting it on; cure time {NOT_STATED} (leaflet; temperature not stated)",
            "unknown",
        ),
    }
    # 6,500 mm² × 0.1 mm = 0.65 ml: common practice, no source.
    assert {p.item: p.quantity for p in view.products} == {"GLUE": 650, "FILM": 2000}
    assert view.verdict == "unknown"


def test_it_takes_one_statement_more_than_the_draft(garage: Engine) -> None:
    from kitting.services.planning.draft import draft

    with counted(garage) as drafted, reading(garage) as session:
        draft(session, PlanRequest("PELL 117", ("J3", "J4"), ON))
    with counted(garage) as sent:
        asked(garage, "J3", "J4", parked=DAY)
    assert len(sent) == len(drafted) + 1


def test_the_tightening_sheet_tells_it_at_the_joint(garage: Engine) -> None:
    view = tightened(garage, "J3", "J4")
    found = {joint.joint: tuple(map(in_words, joint.put_on)) for joint in view.joints}
    assert {joint: laid for joint, laid in found.items() if laid} == {
        "timing-cover": (
            ("SEALANT-COVER-70 form-in-place sealant, tube", f"{BEAD} → 18.9 ml", TOLD),
        ),
    }
    rows = [row for joint in view.joints for row in joint.rows]
    assert {row.position: tuple(map(in_words, row.put_on)) for row in rows if row.put_on} == {
        "bracket of the feed pipe": (
            (
                "THREADLOCK-MEDIUM threadlocker, medium strength",
                "1 × 1 drop on M6 → 0.05 ml",
                "open time and cure time NOT STATED: LOOK IT UP",
            ),
        ),
    }
    shown = [amount_text(laid) for told in (*view.joints, *rows) for laid in told.put_on]
    assert sorted(shown) == ["1 × 1 drop on M6 → 0.05 ml", f"{BEAD} → 18.9 ml"]
    assert (view.put_on, view.sets) == ((), True)
    assert not tightened(garage, "J1").sets


def test_where_nothing_is_tightened_the_sheet_tells_it_apart(store: Engine) -> None:
    load(store, USES)
    view = tightened(store, "X1", "X2", car="PELL 001")
    assert [(joint.joint, [amount_text(p) for p in joint.put_on]) for joint in view.joints] == [
        ("a", ["5 ml, 2 times → 10 ml (no source stated)"])
    ]
    assert tuple(map(put_on_text, view.put_on)) == (
        "joint b: GLUE Glue, film 6500 mm² × 0.1 mm → 0.65 ml (no source stated): open time NOT"
        " STATED: LOOK IT UP; wait 1 h 30 min before fluids come in or the engine runs (leaflet; temperature not stated)",
        "step S2: FILM Film, 2 ml (no source stated): close within 2 min of putting it on; cure time"
        " NOT STATED: LOOK IT UP (leaflet; temperature not stated)",
    )


SEALANTS = (Path(__file__).parents[2] / "cases/r-s.yaml").read_text(encoding="utf-8")
PLAIN_TIMES = "pack: 70 ml, times: {open: 10 min, cure: 24 h, source: sheet}"


def timed(times: str) -> str:
    """The sealants with other times of the 70 ml tube."""
    assert PLAIN_TIMES in SEALANTS
    return SEALANTS.replace(PLAIN_TIMES, f"pack: 70 ml, times: {{{times}, source: sheet}}")


def laid_of(engine: Engine, job: str) -> list[str]:
    """What is said of the beads of a job, on the list of what has to set."""
    (product,) = asked(engine, job, car="SS 1").products
    return [say(place.laying) for place in product.places if place.laying is not None]


def unproven(engine: Engine) -> list[str]:
    """What keeps the one use of job S6 from being fine; it cannot be proven."""
    use = use_of(planned(engine, "SS 1", "S6"), "SL-70")
    assert use.verdict == "cannot be proven"
    return said(doubt.because for doubt in use.doubts)


def test_a_bead_that_is_laid_slower_than_its_product_stays_open_is_told(store: Engine) -> None:
    load(store, timed("open: 10 min, cure: 24 h, laying: 1.5 m/min"))
    told = (
        "TOO LONG FOR ITS OPEN TIME: 30 m of bead take 20 min at 1.5 m/min, and have to be"
        " closed within 10 min"
    )
    assert laid_of(store, "S6") == [told]
    (line,) = map(put_on_text, tightened(store, "S6", car="SS 1").put_on)
    assert line.endswith(f"; {told}")
    with reading(store) as session:
        late = curing(session, PlanRequest("SS 1", ("S6",), ON), 100_000)
    assert late.verdict == "unknown"
    use = use_of(planned(store, "SS 1", "S6"), "SL-70")
    assert use.verdict == "cannot be proven"
    assert f"SL-70 at s6: {told} (times: of the item, bead: of the use)" in said(
        doubt.because for doubt in use.doubts
    )
    # Both beads of a joint are laid before it is closed.
    assert laid_of(store, "S1") == [
        "2.14 m of bead take 2 min at 1.5 m/min, of 10 min open time",
        "2.14 m of bead take 2 min at 1.5 m/min, of 10 min open time",
    ]


def test_what_a_step_uses_is_laid_with_the_joint_that_it_opens(store: Engine) -> None:
    step = "{code: s1, name: s1, hours: 1 h, opens: [s1]"
    bead = f"{step}, uses: [{{item: SL-70, bead: {{diameter: 3 mm, length: 13 m}}}}]"
    text = timed("open: 10 min, cure: 24 h, laying: 1.5 m/min")
    assert step in text
    load(store, text.replace(step, bead))
    # 1.64 m + 0.5 m of the joint and 13 m of the step have to be closed together.
    assert (
        laid_of(store, "S1")
        == [
            "TOO LONG FOR ITS OPEN TIME: 15.14 m of bead take 11 min at 1.5 m/min, and have to be"
            " closed within 10 min"
        ]
        * 3
    )


def test_the_sheet_tells_what_a_step_uses_at_the_one_joint_that_it_opens(store: Engine) -> None:
    text = USES.replace(
        "opens: [{joint: a, reopened: 1}]}",
        "opens: [{joint: a, reopened: 1}], uses: [{item: FILM, amount: 2 ml}]}",
    )
    load(store, text)
    view = tightened(store, "X1", "X2", car="PELL 001")
    assert [[p.where for p in joint.put_on] for joint in view.joints] == [["joint a", "step S1"]]
    assert [p.where for p in view.put_on] == ["joint b", "step S2"]


def test_without_a_speed_the_least_is_told_and_without_an_open_time_nothing(lite: Engine) -> None:
    load(lite, SEALANTS)
    assert laid_of(lite, "S6") == [
        "30 m of bead have to be laid faster than 3 m/min to be closed within 10 min; how fast"
        " it is laid is not stated"
    ]
    assert unproven(lite) == [
        "SL-70 at s6: 30 m of bead have to be laid faster than 3 m/min to be closed within 10 min;"
        " how fast it is laid is not stated (open: and laying: in the times: of the item)"
    ]
    assert asked(lite, "S6", parked=100 * DAY, car="SS 1").verdict == "unknown"
    load(lite, timed("cure: 24 h"))
    assert laid_of(lite, "S6") == ["whether 30 m of bead can be laid in time is not known"]
    assert unproven(lite) == [
        "SL-70 at s6: whether 30 m of bead can be laid in time is not known (open: and laying: in"
        " the times: of the item)"
    ]
    assert all(laid.laying is None for laid in tightened(lite, "S5", car="SS 1").put_on)


def test_the_temperature_that_times_hold_at_stands_with_them(store: Engine) -> None:
    load(store, timed("open: 10 min, cure: 24 h, at: 23 °C"))
    (product,) = asked(store, "S2", car="SS 1").products
    assert times_text(product.times) == (
        "close within 10 min of putting it on; wait 24 h before fluids come in or the engine runs"
        " (sheet; holds at 23 °C)"
    )


def test_a_bead_of_several_tubes_counts_the_nozzle_of_each(lite: Engine) -> None:
    # 5 mm × 30 m × 1.2 = 706.9 ml; 65 ml of each tube of 70: 11 tubes, 55 ml in their nozzles.
    load(lite, SEALANTS)
    use = use_of(planned(lite, "SS 1", "S6"), "SL-70")
    assert use.packs is not None
    assert use.packs * 65_000 >= 706_859
    assert (use.packs, use.quantity) == (2 * 11, 2 * (706_859 + 11 * 5_000))


def test_a_bead_thicker_than_any_is_refused() -> None:
    thick = SEALANTS.replace(
        "bead: {diameter: 5 mm, length: 30 m}", "bead: {diameter: 3 m, length: 4 m}"
    )
    with pytest.raises(FileProblemsError, match="no bead is thicker than 20 mm"):
        source(thick)
    source(SEALANTS.replace("{diameter: 5 mm", "{diameter: 20 mm"))
    with pytest.raises(FileProblemsError, match=r"no bead is thinner than 0\.5 mm"):
        source(SEALANTS.replace("{diameter: 5 mm", "{diameter: 0.3 mm"))


@pytest.mark.parametrize(
    ("times", "told"),
    [
        ("open: 30 h, cure: 24 h", "it cannot be worked longer than it takes to cure"),
        ("open: 10 min, cure: 24 h, laying: 100 m/min", "no speed to lay a bead at"),
    ],
)
def test_times_that_no_sealant_has_are_refused(times: str, told: str) -> None:
    item = (
        "items:\n  - {code: A, name: a, kind: sealant, unit: ml, times: {%s, source: data sheet}}"
    )
    source(item % "open: 10 min, cure: 24 h, laying: 1.5 m/min")
    with pytest.raises(FileProblemsError, match=told):
        source(item % times)


def test_a_tube_that_its_nozzle_holds_wholly_is_refused() -> None:
    with pytest.raises(FileProblemsError, match="nozzle"):
        source(SEALANTS.replace("pack: 70 ml,", "pack: 70 ml, nozzle_waste: 70 ml,"))
    source(SEALANTS.replace("pack: 70 ml,", "pack: 70 ml, nozzle_waste: 69 ml,"))


@pytest.mark.parametrize(
    ("tube", "taken"),
    [
        ("pack: 5 ml,", False),
        ("pack: 5.1 ml,", True),
        ("pack: 5 ml, nozzle_waste: 1 ml,", True),
        ("pack: 5 ml, nozzle_waste: 0 ml,", True),
    ],
)
def test_a_tube_that_the_usual_nozzle_holds_wholly_is_refused_where_a_bead_asks_for_it(
    lite: Engine, tube: str, taken: bool
) -> None:
    small = SEALANTS.replace("pack: 70 ml,", tube)
    if taken:
        load(lite, small)
    else:
        with pytest.raises(FileProblemsError, match="5 ml counted for a nozzle where none is"):
            load(lite, small)


SEAM = """
  - code: SEAM
    name: Seam
    kind: sealant
    unit: ml
    pack: 300 ml
    nozzle_waste: 5 ml
    times: {open: 10 min, cure: 24 h, laying: 1 m/min, source: leaflet}"""


@pytest.mark.parametrize(("metres", "late"), [(6, False), (7, True)])
def test_the_plan_and_the_list_count_the_same_beads(lite: Engine, metres: int, late: bool) -> None:
    """Three metres at the joint, the others by the step that opens it: ten take ten minutes."""
    bead = "{{item: SEAM, bead: {{diameter: 3 mm, length: {} m}}}}"
    load(
        lite,
        unit(
            "\n      - code: a\n        name: Lid\n        system: engine\n"
            f"        fits: [{{item: BOLT, position: b1}}]\n        uses: [{bead.format(3)}]",
            f"      - {{code: S1, name: One, hours: 1 h, opens: [a], uses: [{bead.format(metres)}]}}",
            "      - {code: X1, name: One, needs: [S1]}",
            SEAM,
        ),
    )
    (product,) = asked(lite, "X1", car="PELL 001").products
    told = {place.laying.code is LayingRemark.TOO_LONG for place in product.places if place.laying}
    doubts = [d.because for d in planned(lite, "PELL 001", "X1").doubts]
    in_plan = [reason for reason in doubts if reason.code is DoubtReason.BEAD_TOO_LONG]
    assert (len(product.places), told, len(in_plan)) == (2, {late}, 2 * late)
