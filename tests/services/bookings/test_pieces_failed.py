"""Some of the pieces at one position fail: these are renewed, the others go back."""

from __future__ import annotations

import pytest
from sqlalchemy import Engine, select

from helpers import NOW, SUPPLY, booked, load, unit
from kitting.errors import KittingError
from kitting.services.advice.learned_rates import learned
from kitting.services.bookings.findings import Found, as_told, record_findings
from kitting.services.bookings.findings_sheet import findings_view
from kitting.services.bookings.kit_sheets import labels_of
from kitting.services.bookings.states import find_booking
from kitting.services.bookings.view import booking_view
from kitting.store import reading
from kitting.tables.bookings import Finding
from kitting.wording.kit import amount_text
from kitting.wording.refit import line_text, rule_text

LOOK = "rules: [{rule: inspect, source: workshop, criterion: whole, reference: test}]"


def catalogue(group: str = "") -> str:
    return (
        unit(
            f"""
      - code: duct
        name: duct
        system: intake
        fits:
          - {{item: CLIP, position: clips, quantity: 3 each, {group}{LOOK}}}
          - {{item: CLIP, position: tail, quantity: 1 each, {group}{LOOK}}}
          - {{item: TAPE, position: seam, quantity: 300 mm, {LOOK}}}
""",
            "      - {code: S1, name: duct off, hours: 1 h, opens: [{joint: duct, reopened: 1}]}",
            "      - {code: X1, name: duct, needs: [S1]}",
            "  - {code: CLIP, name: clip, kind: circlip}\n"
            "  - {code: TAPE, name: tape, kind: hose, unit: mm}",
        )
        + SUPPLY
    )


def needs(engine: Engine, number: str) -> dict[tuple[str, str], int]:
    with reading(engine) as session:
        view = booking_view(session, find_booking(session, number))
    return {(need.item, need.rule.value): need.needed for need in view.needs}


def clips(why: str, found: str = "failed") -> Found:
    return as_told(("duct", "clips"), found, why)


def test_what_failed_is_renewed_and_the_rest_goes_back(store: Engine) -> None:
    load(store, catalogue())
    number = booked(store, "X1").number
    record_findings(store, number, [clips("1 of 3, spread")], NOW)
    found = needs(store, number)
    assert (found["CLIP", "renew"], found["CLIP", "inspect"]) == (1000, 1000)
    with reading(store) as session:
        row = session.execute(select(Finding.quantity, Finding.failed, Finding.reason)).one()
        (rate,) = (one for one in learned(session) if one.item == "CLIP")
    assert tuple(row) == (3000, 1000, "spread")
    assert (rate.inspected, rate.failed, rate.reasons) == (3, 1, ("spread",))


def test_without_a_number_all_pieces_failed(store: Engine) -> None:
    load(store, catalogue())
    number = booked(store, "X1").number
    record_findings(store, number, [clips("spread")], NOW)
    assert needs(store, number)["CLIP", "renew"] == 3000
    with reading(store) as session:
        (rate,) = (one for one in learned(session) if one.item == "CLIP")
    assert (rate.inspected, rate.failed) == (3, 3)


def test_a_second_finding_takes_the_place_of_the_first(lite: Engine) -> None:
    load(lite, catalogue())
    number = booked(lite, "X1").number
    for why, failed, renewed in (("1 of 3, spread", 1000, 1000), ("2 of 3, cut", 2000, 2000)):
        record_findings(lite, number, [clips(why)], NOW)
        with reading(lite) as session:
            assert session.execute(select(Finding.quantity, Finding.failed)).all() == [
                (3000, failed)
            ]
        assert needs(lite, number)["CLIP", "renew"] == renewed
    record_findings(lite, number, [Found("duct", "clips", "passed")], NOW)
    assert ("CLIP", "renew") not in needs(lite, number)


def test_of_a_group_all_are_renewed_together(lite: Engine) -> None:
    load(lite, catalogue("group: pair, "))
    number = booked(lite, "X1").number
    record_findings(lite, number, [clips("1 of 3, spread")], NOW)
    assert needs(lite, number)["CLIP", "renew"] == 4000


@pytest.mark.parametrize(
    ("one", "said"),
    [
        (clips("4 of 3, cut"), "4 failed, 3 are there"),
        (clips("0 of 3, cut"), "0 of 3 failed. Tell it as passed"),
        (clips("1 of 4, cut"), "4 pieces are told, 3 are there"),
        (clips("1 of 3"), "say why it failed"),
        (as_told(("duct", "seam"), "failed", "1 of 3, cut"), "nobody counts pieces there"),
        (Found("duct", "clips", "passed", failed=1), "how many is told of what failed"),
    ],
)
def test_a_count_that_cannot_be_is_refused_and_nothing_is_recorded(
    lite: Engine, one: Found, said: str
) -> None:
    load(lite, catalogue())
    number = booked(lite, "X1").number
    before = needs(lite, number)
    with pytest.raises(KittingError, match=said):
        record_findings(lite, number, [one], NOW)
    assert needs(lite, number) == before


@pytest.mark.parametrize(
    ("found", "why", "said"),
    [
        ("passed", "2 of 3", "how many is told of what failed"),
        ("failed", "cut, 1 of 3", "write how many first: failed: 1 of 3, and why"),
        ("failed", "cut (1/3)", "write how many first"),
    ],
)
def test_a_number_that_would_be_lost_is_refused(
    lite: Engine, found: str, why: str, said: str
) -> None:
    load(lite, catalogue())
    number = booked(lite, "X1").number
    with pytest.raises(KittingError, match=said):
        record_findings(lite, number, [clips(why, found)], NOW)


@pytest.mark.parametrize("why", ["1 of 3 cut", "1/3, cut", "1 of 3: cut"])
def test_a_number_is_read_however_it_is_parted_from_the_reason(lite: Engine, why: str) -> None:
    load(lite, catalogue())
    number = booked(lite, "X1").number
    record_findings(lite, number, [clips(why)], NOW)
    assert needs(lite, number)["CLIP", "renew"] == 1000


def test_a_position_that_is_told_twice_is_refused(lite: Engine) -> None:
    load(lite, catalogue())
    number = booked(lite, "X1").number
    with pytest.raises(KittingError, match="duct, clips: told twice"):
        record_findings(lite, number, [clips("cut"), clips("", "passed")], NOW)


def test_the_sheet_keeps_what_a_position_has_to_show_and_says_how_many_failed(
    lite: Engine,
) -> None:
    load(lite, catalogue())
    number = booked(lite, "X1").number
    record_findings(lite, number, [clips("1 of 3, spread")], NOW)
    with reading(lite) as session:
        rows = {row.position: row for row in findings_view(session, number).rows}
    row = rows["clips"]
    assert (row.quantity, row.criterion, row.said_by) == (3000, "whole", "test")
    assert (row.recorded_quantity, row.recorded_failed) == (3000, 1000)
    assert rows["tail"].recorded is None


def test_label_and_refit_sheet_say_how_many_old_ones_go_back_beside_the_new(lite: Engine) -> None:
    load(lite, catalogue())
    number = booked(lite, "X1").number
    record_findings(lite, number, [clips("1 of 3, spread")], NOW)
    with reading(lite) as session:
        (bag,) = labels_of(session, number).bags
    (line,) = (one for one in bag.lines if one.kept)
    assert (line.positions, line.content.quantity, line.kept) == (("clips",), 1000, 2000)
    assert line_text(line) == "1 × CLIP clip, 2 PASSED: GO BACK"


def test_what_passed_is_told_so_on_label_and_refit_sheet(lite: Engine) -> None:
    load(lite, catalogue())
    number = booked(lite, "X1").number
    record_findings(lite, number, [Found("duct", "clips", "passed")], NOW)
    with reading(lite) as session:
        (bag,) = labels_of(session, number).bags
    found = {line.positions: line.content for line in bag.lines if line.content.item == "CLIP"}
    assert {places: one.passed for places, one in found.items()} == {
        ("clips",): True, ("tail",): False
    }  # fmt: skip
    assert [amount_text(found[places]) for places in (("clips",), ("tail",))] == ["3", "up to 1"]
    assert rule_text(found["clips",]) == "PASSED, THE OLD ONE GOES BACK"
    assert rule_text(found["tail",]) == "AFTER A LOOK"
    # What the kit has to hold stays as it was: what passed goes back when the booking is closed.
    assert needs(lite, number)["CLIP", "inspect"] == 4000
