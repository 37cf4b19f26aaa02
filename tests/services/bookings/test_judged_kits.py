"""What a kit really holds is what is judged: stand-ins, findings, a changed catalogue, closing."""

from __future__ import annotations

from pathlib import Path

import pytest
from sqlalchemy import Engine, select

from helpers import (
    NOW,
    ON,
    SUPPLY,
    assert_ledger,
    balances,
    booked,
    load,
    needed,
    said,
    stock,
    unit,
)
from kitting.errors import KittingError
from kitting.facts.reasons import RefusedError
from kitting.facts.units import Quantity
from kitting.facts.verdicts import Aspect, Verdict
from kitting.facts.words import BookingState, FindingResult, RefitOutcome
from kitting.services.bookings.booking import renew_promises, step_to
from kitting.services.bookings.close import Closing, close
from kitting.services.bookings.correct import Became, Correction, correct
from kitting.services.bookings.exchange import exchange
from kitting.services.bookings.findings import Found, record_findings
from kitting.services.bookings.findings_sheet import findings_view
from kitting.services.bookings.kit_record import request_of
from kitting.services.bookings.kit_sheets import labels_of, pick_of
from kitting.services.bookings.pick import pick
from kitting.services.bookings.seal_count import count_seals, removal_view
from kitting.services.bookings.states import find_booking
from kitting.services.bookings.view import booking_view
from kitting.services.planning.draft import draft
from kitting.services.planning.request import ToolRequest
from kitting.services.planning.view import plan_view
from kitting.services.tightening.sheet import tighten
from kitting.services.tools.fasteners import fasteners
from kitting.services.tools.requirements import asked_of
from kitting.store import reading
from kitting.tables.stock import Movement
from kitting.tables.vehicles import Refit
from kitting.views.bookings import BookingView
from kitting.views.plan import PlanView

NOTHING = Closing({}, {})
FAILED, PASSED = FindingResult.FAILED, FindingResult.PASSED

OIL_RING = """
  - code: OLD-FKM
    name: oil ring of before
    kind: o-ring
    elastomer: FKM
    ring_inside: 20 mm
    ring_section: 2 mm
    replaced: {by: [{item: NEW-EPDM, quantity: 1 each}], old_stock: scrap, since: 2026-01-01}
  - code: NEW-EPDM
    name: oil ring of now
    kind: o-ring
    elastomer: EPDM
    ring_inside: 20 mm
    ring_section: 2 mm
"""
HUB_BOLT = """
  - code: OLDB
    name: hub bolt of before
    kind: stretch-bolt
    head: external six-lobe E12
    thread: M10
    property_class: "10.9"
    replaced: {by: [{item: NEWB, quantity: 1 each}], old_stock: scrap, since: 2026-01-01}
  - code: NEWB
    name: hub bolt of now
    kind: stretch-bolt
    head: external six-lobe E14
    thread: M12
    property_class: "10.9"
"""
RENEW = "rules: [{rule: renew, source: workshop, reference: test}]"
LOOK = "rules: [{rule: inspect, source: maker, criterion: no cut, reference: test}]"


SEAL = """
  - {code: SEAL, name: Seal, kind: o-ring, elastomer: NBR}
"""


def garage_of(engine: Engine, fits: str, items: str, opens: str = "x1") -> None:
    joint = (
        "\n      - code: x1\n        name: X1\n        system: lubrication"
        f"\n        fluids: [engine-oil]\n        fits:{fits}"
    )
    step = f"\n      - {{code: S1, name: S, hours: 1 h, opens: [{opens}]}}"
    job = "\n      - {code: X1, name: X1, needs: [S1]}"
    load(engine, unit(joint, step, job, items=SEAL + items) + SUPPLY)


def shown(engine: Engine, number: str) -> BookingView:
    with reading(engine) as session:
        return booking_view(session, find_booking(session, number))


def planned_of(engine: Engine, number: str) -> PlanView:
    with reading(engine) as session:
        return plan_view(draft(session, request_of(session, find_booking(session, number))))


def aspects(view: BookingView) -> set[tuple[Verdict, Aspect]]:
    return {(doubt.verdict, doubt.aspect) for doubt in view.doubts}


# --- what replaces an item ------------------------------------------------------------------------


def test_the_ring_that_replaces_another_is_the_one_that_is_judged(
    store: Engine, tmp_path: Path
) -> None:
    garage_of(store, f"\n          - {{item: OLD-FKM, position: a, {RENEW}}}", OIL_RING)
    stock(store, tmp_path, "yard,NEW-EPDM,L1,5 each,1Q26")
    view = booked(store, "X1")
    assert (view.verdict, view.ready) == (Verdict.NO, False)
    assert any("EPDM in" in text for text in said(view.lacking))
    assert step_to(store, view.number, BookingState.CONFIRMED).state == "provisional"
    (line,) = planned_of(store, view.number).lines
    assert (line.item, line.stands_for, line.material, line.verdict) == (
        "NEW-EPDM", "OLD-FKM", "EPDM", Verdict.NO,
    )  # fmt: skip


def test_a_replacement_that_is_not_yet_in_force_stands_nowhere(lite: Engine) -> None:
    later = OIL_RING.replace("2026-01-01", "2030-01-01")
    garage_of(lite, f"\n          - {{item: OLD-FKM, position: a, {RENEW}}}", later)
    view = booked(lite, "X1")
    (line,) = planned_of(lite, view.number).lines
    assert (line.item, line.stands_for, said(line.notes)) == ("OLD-FKM", None, [])


def test_the_label_of_a_kit_bears_the_ring_that_is_in_it(lite: Engine, tmp_path: Path) -> None:
    stands = OIL_RING.replace("elastomer: EPDM", "elastomer: FKM\n    hardness: 90")
    garage_of(lite, f"\n          - {{item: OLD-FKM, position: a, {RENEW}}}", stands)
    stock(lite, tmp_path, "yard,NEW-EPDM,L1,5 each,1Q26")
    number = booked(lite, "X1").number
    with reading(lite) as session:
        labels, listed = labels_of(session, number), pick_of(session, number)
    (end,) = labels.bags[0].ends
    assert (end.content.item, end.content.material) == ("NEW-EPDM", "FKM 90")
    (line,) = listed.lines
    assert (line.content.item, [source.lot for source in line.sources]) == ("NEW-EPDM", ["L1"])


def test_a_figure_given_for_another_part_is_withheld_and_both_heads_are_asked_for(
    store: Engine, tmp_path: Path
) -> None:
    fit = (
        "\n          - {item: OLDB, position: p, tightening: {stages: [60 N·m], thread: dry,"
        " source: x}}"
    )
    garage_of(store, fit, HUB_BOLT)
    stock(store, tmp_path, "yard,NEWB,B,5 each")
    view = booked(store, "X1")
    assert aspects(view) == {
        (Verdict.UNKNOWN, Aspect.FIGURE), (Verdict.UNKNOWN, Aspect.SIZE),
        (Verdict.UNKNOWN, Aspect.HEAD),
    }  # fmt: skip
    with reading(store) as session:
        request = request_of(session, find_booking(session, view.number))
        planned = draft(session, request)
        sheet = tighten(session, ToolRequest(request))
    (fastener,) = fasteners(planned)
    undo, *tightened = asked_of(fastener)
    assert (str(undo.view.head), {str(one.view.head) for one in tightened}) == (
        "external six-lobe E12", {"external six-lobe E14"},
    )  # fmt: skip
    ((row,),) = (joint.rows for joint in sheet.joints)
    assert (row.item, row.stages) == ("NEWB", ())
    (figure,) = plan_view(planned).tightenings
    assert (figure.stages, figure.withheld_for) == ((), "OLDB")


def test_old_stock_promised_to_a_booking_stays_when_it_is_planned_again(
    lite: Engine, tmp_path: Path
) -> None:
    usable = OIL_RING.replace("old_stock: scrap", "old_stock: use up")
    garage_of(lite, f"\n          - {{item: OLD-FKM, position: a, {RENEW}}}", usable)
    stock(lite, tmp_path, "yard,OLD-FKM,O,1 each,1Q26")
    number = booked(lite, "X1").number
    again = renew_promises(lite, number)
    assert [(need.item, need.on_shelf) for need in again.needs] == [("OLD-FKM", 1000)]


# --- a chosen alternative ------------------------------------------------------------------------

CHOICE = """
  - {code: FIRST, name: F, kind: o-ring, elastomer: HNBR, alternatives: [{item: SECOND}, {item: WRONG}]}
  - {code: SECOND, name: S, kind: o-ring, elastomer: NBR}
  - {code: WRONG, name: W, kind: o-ring, elastomer: EPDM}
  - {code: OTHER, name: O, kind: o-ring, elastomer: HNBR}
"""


def test_an_alternative_that_stands_in_is_judged_and_what_it_replaces_is_free_again(
    store: Engine, tmp_path: Path
) -> None:
    garage_of(store, f"\n          - {{item: FIRST, position: a, {RENEW}}}", CHOICE)
    stock(
        store, tmp_path, "yard,FIRST,F,1 each,1Q26", "yard,SECOND,S,1 each,1Q26",
        "yard,WRONG,W,1 each,1Q26",
    )  # fmt: skip
    number = booked(store, "X1").number
    taken = exchange(store, number, "FIRST", "SECOND")
    assert [(need.item, need.stands_for, need.on_shelf) for need in taken.needs] == [
        ("SECOND", ("FIRST",), 1000)
    ]
    # Another rubber than the joint asks for: whether it may is not proven.
    assert aspects(taken) == {(Verdict.UNKNOWN, Aspect.RUBBER)}
    assert balances(store)["yard", "FIRST", "F"] == (1000, 0)
    assert exchange(store, number, "FIRST", "WRONG").verdict is Verdict.NO
    assert exchange(store, number, "FIRST", "FIRST").ready
    with pytest.raises(KittingError, match=r"OTHER is not listed as an alternative of FIRST"):
        exchange(store, number, "FIRST", "OTHER")
    assert_ledger(store)


REPLACED_CHOICE = """
  - {code: FIRST, name: First, kind: o-ring, elastomer: NBR, alternatives: [{item: LIKE}, {item: PAIR}]}
  - code: LIKE
    name: Like
    kind: o-ring
    elastomer: NBR
    replaced: {by: [{item: AFTER, quantity: 1 each}], old_stock: scrap}
  - {code: AFTER, name: After, kind: o-ring, elastomer: EPDM}
  - code: PAIR
    name: Pair
    kind: o-ring
    elastomer: NBR
    replaced: {by: [{item: AFTER, quantity: 2 each}], old_stock: scrap}
"""


def test_of_an_alternative_that_is_replaced_itself_what_replaces_it_is_judged(
    store: Engine, tmp_path: Path
) -> None:
    garage_of(store, f"\n          - {{item: FIRST, position: a, {RENEW}}}", REPLACED_CHOICE)
    stock(
        store, tmp_path, "yard,FIRST,F,1 each,1Q26", "yard,LIKE,L,1 each,1Q26",
        "yard,AFTER,A,1 each,1Q26",
    )  # fmt: skip
    number = booked(store, "X1").number
    # Engine oil destroys EPDM: the general table says so with high certainty.
    taken = exchange(store, number, "FIRST", "LIKE")
    assert taken.verdict is Verdict.NO
    assert balances(store)["yard", "LIKE", "L"] == (1000, 0)
    assert renew_promises(store, number).verdict is Verdict.NO
    with pytest.raises(KittingError, match="PAIR is replaced itself, and not one for one"):
        exchange(store, number, "FIRST", "PAIR")
    assert exchange(store, number, "FIRST", "FIRST").ready
    assert_ledger(store)


def test_what_replaces_a_chosen_alternative_is_fetched_where_it_suits(
    lite: Engine, tmp_path: Path
) -> None:
    items = REPLACED_CHOICE.replace("elastomer: EPDM", "elastomer: NBR")
    garage_of(lite, f"\n          - {{item: FIRST, position: a, {RENEW}}}", items)
    stock(lite, tmp_path, "yard,LIKE,L,1 each,1Q26", "yard,AFTER,A,1 each,1Q26")
    number = booked(lite, "X1").number
    taken = exchange(lite, number, "FIRST", "LIKE")
    (need,) = taken.needs
    assert (need.item, need.stands_for, taken.ready) == ("AFTER", ("FIRST",), True)


def test_an_alternative_that_is_replaced_after_it_was_chosen_is_told(
    lite: Engine, tmp_path: Path
) -> None:
    replaced = "\n    replaced: {by: [{item: AFTER, quantity: 1 each}], old_stock: scrap}"
    fit = f"\n          - {{item: FIRST, position: a, {RENEW}}}"
    garage_of(lite, fit, REPLACED_CHOICE.replace(replaced, ""))
    stock(lite, tmp_path, "yard,LIKE,L,1 each,1Q26")
    number = booked(lite, "X1").number
    assert exchange(lite, number, "FIRST", "LIKE").ready
    garage_of(lite, fit, REPLACED_CHOICE)
    view = shown(lite, number)
    assert not view.ready
    assert "AFTER at x1: a" in " | ".join(said(view.changes))


def test_what_was_picked_and_is_no_longer_needed_stays_in_sight_until_it_goes_back(
    store: Engine, tmp_path: Path
) -> None:
    garage_of(store, f"\n          - {{item: FIRST, position: a, {RENEW}}}", CHOICE)
    stock(store, tmp_path, "yard,FIRST,F,1 each,1Q26", "yard,SECOND,S,1 each,1Q26")
    number = booked(store, "X1").number
    exchange(store, number, "FIRST", "SECOND")
    pick(store, number, NOW)
    back = exchange(store, number, "FIRST", "FIRST")
    lines = [(need.item, need.needed, need.picked) for need in back.needs]
    assert lines == [("FIRST", 1000, 0), ("SECOND", 0, 1000)]
    assert [source.lot for source in needed(back, "SECOND").sources] == ["S"]
    assert back.ready  # what is fitted is there and fine
    pick(store, number, NOW)
    step_to(store, number, BookingState.CONFIRMED)
    step_to(store, number, BookingState.ON_THE_RAMP)
    close(store, number, NOTHING, NOW, "not counted")
    assert balances(store)["yard", "SECOND", "S"] == (1000, 0)
    assert_ledger(store)


def test_what_was_chosen_stays_chosen_when_it_is_planned_again(
    lite: Engine, tmp_path: Path
) -> None:
    garage_of(lite, f"\n          - {{item: FIRST, position: a, {RENEW}}}", CHOICE)
    stock(lite, tmp_path, "yard,FIRST,F,1 each,1Q26", "yard,SECOND,S,1 each,1Q26")
    number = booked(lite, "X1").number
    exchange(lite, number, "FIRST", "SECOND")
    assert [need.item for need in renew_promises(lite, number).needs] == ["SECOND"]


# --- a failed inspection ---------------------------------------------------------------------------

SEALS = f"\n          - {{item: SEAL, position: a, {LOOK}}}\n          - {{item: SEAL, position: b, {LOOK}}}"
SPARES = "yard,SEAL,A,{} each,1Q26"


def test_a_failed_inspection_takes_the_spare_and_without_one_is_short(
    store: Engine, tmp_path: Path
) -> None:
    garage_of(store, SEALS, "")
    stock(store, tmp_path, SPARES.format(1))
    number = booked(store, "X1").number
    pick(store, number, NOW)
    assert shown(store, number).ready
    record_findings(store, number, [Found("x1", "a", FAILED, "cut")], NOW)
    taken = shown(store, number)
    assert (needed(taken, "SEAL", "renew").picked, taken.ready) == (1000, True)
    record_findings(store, number, [Found("x1", "b", FAILED, "cut too")], NOW)
    short = shown(store, number)
    assert (short.verdict, said(short.lacking)) == (Verdict.NO, ["SEAL: 1 short"])
    assert {line.rule for line in planned_of(store, number).lines} == {"renew"}
    with reading(store) as session:
        assert {row.position for row in findings_view(session, number).rows} == {"a", "b"}
    record_findings(store, number, [Found("x1", "b", PASSED)], NOW)
    assert shown(store, number).ready
    assert_ledger(store)


def test_what_fails_is_promised_what_lies_free_on_the_shelf(store: Engine, tmp_path: Path) -> None:
    garage_of(store, SEALS, "")
    number = booked(store, "X1").number
    stock(store, tmp_path, SPARES.format(2))
    record_findings(store, number, [Found("x1", "a", FAILED, "cut")], NOW)
    assert needed(shown(store, number), "SEAL", "renew").on_shelf == 1000


def test_one_of_a_group_that_fails_has_all_of_it_renewed(lite: Engine, tmp_path: Path) -> None:
    garage_of(lite, SEALS.replace("item: SEAL,", "item: SEAL, group: pair,"), "")
    stock(lite, tmp_path, SPARES.format(1))
    number = booked(lite, "X1").number
    record_findings(lite, number, [Found("x1", "b", FAILED, "hard")], NOW)
    view = shown(lite, number)
    assert (needed(view, "SEAL", "renew").needed, said(view.lacking)) == (2000, ["SEAL: 1 short"])


def on_the_ramp(engine: Engine, number: str) -> None:
    pick(engine, number, NOW)
    step_to(engine, number, BookingState.CONFIRMED)
    step_to(engine, number, BookingState.ON_THE_RAMP)
    with reading(engine) as session:
        removal = removal_view(session, find_booking(session, number))
    count_seals(engine, number, {one.joint: one.expected for one in removal.joints}, NOW)


def test_a_booking_is_not_closed_over_a_failed_part_that_is_not_there(
    store: Engine, tmp_path: Path
) -> None:
    garage_of(store, SEALS, "")
    number = booked(store, "X1").number
    on_the_ramp(store, number)
    record_findings(store, number, [Found("x1", "a", FAILED, "cut")], NOW)
    with pytest.raises(RefusedError) as caught:
        close(store, number, NOTHING, NOW)
    assert said(caught.value.reasons) == ["SEAL: 1 not in the kit, and has to be renewed"]
    closed = close(store, number, NOTHING, NOW, "a ring of the van was fitted")
    assert (closed.state, closed.override) == ("closed", "a ring of the van was fitted")


def test_spares_of_positions_that_passed_go_back_when_it_is_closed(
    store: Engine, tmp_path: Path
) -> None:
    garage_of(store, SEALS, "")
    stock(store, tmp_path, SPARES.format(2))
    number = booked(store, "X1").number
    on_the_ramp(store, number)
    assert balances(store)["yard", "SEAL", "A"] == (0, 0)
    seen = [Found("x1", "a", PASSED), Found("x1", "b", FAILED, "cut")]
    record_findings(store, number, seen, NOW)
    close(store, number, NOTHING, NOW)
    assert balances(store)["yard", "SEAL", "A"] == (1000, 0)
    assert_ledger(store)


# --- history and corrections ----------------------------------------------------------------------


def test_closing_writes_what_went_back_and_the_next_plan_counts_it(
    store: Engine, tmp_path: Path
) -> None:
    fits = f"\n          - {{item: SEAL, position: a, refit_limit: 1, {LOOK}}}"
    garage_of(store, fits, "")
    stock(store, tmp_path, SPARES.format(3))
    number = booked(store, "X1").number
    on_the_ramp(store, number)
    record_findings(store, number, [Found("x1", "a", PASSED)], NOW)
    close(store, number, NOTHING, NOW)
    with reading(store) as session:
        (row,) = session.execute(select(Refit.outcome, Refit.times, Refit.booking)).all()
    assert row == (RefitOutcome.REFITTED, 1, number)
    (line,) = planned_of(store, booked(store, "X1").number).lines
    assert (line.rule, said([line.said_by])) == ("renew", ["has gone back once, limit once"])


def test_a_new_part_that_went_back_in_the_same_job_is_at_its_limit(
    store: Engine, tmp_path: Path
) -> None:
    """Opened twice with a limit of one: the first failed, and nobody says at which opening."""
    fits = f"\n          - {{item: SEAL, position: a, refit_limit: 1, {LOOK}}}"
    garage_of(store, fits, "", opens="{joint: x1, times: 2}")
    stock(store, tmp_path, SPARES.format(5))
    number = booked(store, "X1").number
    on_the_ramp(store, number)
    record_findings(store, number, [Found("x1", "a", FAILED, "worn")], NOW)
    close(store, number, NOTHING, NOW)
    with reading(store) as session:
        (row,) = session.execute(select(Refit.outcome, Refit.times)).all()
    assert row == (RefitOutcome.RENEWED, 1)
    new, looked_at = planned_of(store, booked(store, "X1").number).lines
    assert (new.rule, new.quantity, said([new.said_by])) == (
        "renew",
        1000,
        ["has gone back once before, opened twice here, may go back once"],
    )
    assert (looked_at.rule, looked_at.quantity) == ("inspect", 1000)


def test_what_is_renewed_at_its_limit_within_a_job_begins_anew(
    store: Engine, tmp_path: Path
) -> None:
    fits = f"\n          - {{item: SEAL, position: a, refit_limit: 1, {LOOK}}}"
    garage_of(store, fits, "", opens="{joint: x1, times: 2}")
    stock(store, tmp_path, SPARES.format(5))
    number = booked(store, "X1").number
    on_the_ramp(store, number)
    record_findings(store, number, [Found("x1", "a", PASSED)], NOW)
    close(store, number, NOTHING, NOW)
    with reading(store) as session:
        (row,) = session.execute(select(Refit.outcome, Refit.times)).all()
    assert row == (RefitOutcome.RENEWED, 0)
    lines = planned_of(store, booked(store, "X1").number).lines
    assert {line.rule for line in lines} == {"inspect", "renew"}


def test_a_closed_booking_is_put_right_by_a_counter_entry(store: Engine, tmp_path: Path) -> None:
    garage_of(store, f"\n          - {{item: SEAL, position: a, {RENEW}}}", "")
    stock(store, tmp_path, SPARES.format(3))
    number = booked(store, "X1").number
    on_the_ramp(store, number)
    close(store, number, NOTHING, NOW)
    one = Quantity(1000, "each")
    correct(
        store,
        number,
        Correction("SEAL", one, Became.USED, Became.BACK, why="the old one went back"),
        NOW,
    )
    assert balances(store)["yard", "SEAL", "A"] == (3000, 0)
    with pytest.raises(KittingError, match="more than was recorded as used"):
        correct(store, number, Correction("SEAL", one, Became.USED, Became.BACK, why="again"), NOW)
    correct(
        store, number, Correction("SEAL", one, Became.BACK, Became.USED, why="it was used"), NOW
    )
    assert balances(store)["yard", "SEAL", "A"] == (2000, 0)
    with reading(store) as session:
        notes = session.scalars(
            select(Movement.note).where(Movement.note.is_not(None)).order_by(Movement.id)
        ).all()
    assert notes[-2:] == ["the old one went back", "it was used"]
    assert_ledger(store)


def test_only_what_is_closed_is_corrected_and_only_with_a_reason(
    lite: Engine, tmp_path: Path
) -> None:
    garage_of(lite, f"\n          - {{item: SEAL, position: a, {RENEW}}}", "")
    number = booked(lite, "X1").number
    one = Quantity(1000, "each")
    with pytest.raises(KittingError, match="only what is closed is corrected"):
        correct(lite, number, Correction("SEAL", one, Became.USED, Became.BACK, why="so"), NOW)
    with pytest.raises(KittingError, match="a reason is required"):
        correct(lite, number, Correction("SEAL", one, Became.USED, Became.BACK, why=" "), NOW)


# --- the catalogue changes ---------------------------------------------------------------------------


def test_a_booking_says_what_a_changed_catalogue_asks_for_and_takes_it_over_on_request(
    store: Engine, tmp_path: Path
) -> None:
    fit = f"\n          - {{item: SEAL, position: a, {RENEW}}}"
    garage_of(store, fit, "")
    stock(store, tmp_path, SPARES.format(3))
    number = booked(store, "X1").number
    assert shown(store, number).ready
    garage_of(store, fit, "")
    assert shown(store, number).ready  # loaded again, nothing changed
    garage_of(store, fit + f"\n          - {{item: SEAL, position: b, {RENEW}}}", "")
    changed = shown(store, number)
    assert (changed.verdict, changed.ready) == (Verdict.UNKNOWN, False)
    assert said(changed.changes) == [
        "NEW SEAL at x1: b: 1 renew (criterion –) and NBR and NBR suits engine oil"
    ]
    assert [need.needed for need in changed.needs] == [1000]
    taken = renew_promises(store, number)
    assert (taken.ready, taken.changes, needed(taken, "SEAL").needed) == (True, (), 2000)


def test_a_change_elsewhere_in_the_catalogue_is_none_of_a_booking_s(
    lite: Engine, tmp_path: Path
) -> None:
    fit = f"\n          - {{item: SEAL, position: a, {RENEW}}}"
    garage_of(lite, fit, "")
    stock(lite, tmp_path, SPARES.format(3))
    number = booked(lite, "X1").number
    garage_of(lite, fit, "\n  - {code: ELSE, name: E, kind: clip}".replace("clip}", "wire-clip}"))
    view = shown(lite, number)
    assert (view.changes, view.ready) == ((), True)


def test_a_booking_on_the_day_it_was_made_for(lite: Engine, tmp_path: Path) -> None:
    """A ring without a date of making cannot be proven: neither is it refused."""
    garage_of(lite, f"\n          - {{item: SEAL, position: a, {RENEW}}}", "")
    stock(lite, tmp_path, "yard,SEAL,A,1 each")
    view = booked(lite, "X1", on=ON)
    assert aspects(view) == {(Verdict.UNKNOWN, Aspect.AGE)}
    assert needed(view, "SEAL").on_shelf == 1000
