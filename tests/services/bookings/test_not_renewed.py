"""What has to be renewed and came back or was scrapped was not renewed: nobody closes over it."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from sqlalchemy import Engine, delete, func, select

from helpers import NOW, ON, SUPPLY, assert_ledger, booked, load, planned, said, stock, unit
from kitting.actions import Action
from kitting.errors import KittingError
from kitting.facts.reasons import RefusedError
from kitting.facts.units import Quantity
from kitting.facts.verdicts import Aspect
from kitting.facts.words import BookingState, FindingResult, RefitOutcome
from kitting.services.bookings.booking import step_to
from kitting.services.bookings.close import Closing, close
from kitting.services.bookings.correct import Became, Correction, correct
from kitting.services.bookings.correct_finding import correct_finding
from kitting.services.bookings.findings import Found, record_findings
from kitting.services.bookings.findings_sheet import findings_view
from kitting.services.bookings.kit_events import Told
from kitting.services.bookings.kit_sheets import labels_of, pick_of
from kitting.services.bookings.pick import pick
from kitting.services.bookings.seal_count import count_seals, refit_of
from kitting.services.bookings.states import find_booking
from kitting.services.bookings.view import booking_view
from kitting.store import reading
from kitting.tables.bookings import Finding, FindingCorrection
from kitting.tables.vehicles import Refit
from kitting.views.bookings import BookingView, Lack

LATER = ON + timedelta(days=1)
RENEW = "rules: [{rule: renew, source: maker, reference: test}]"
LOOK = "rules: [{rule: inspect, source: maker, criterion: no cut, reference: test}]"
ITEMS = """
  - {code: SEAL, name: Seal, kind: o-ring, elastomer: NBR}
  - {code: ONLY, name: Only, kind: o-ring, elastomer: NBR, sold_singly: false}
  - {code: SET, name: Set, kind: o-ring, elastomer: NBR, contents: [{item: ONLY, quantity: 1 each}]}
"""


def on_the_ramp(engine: Engine, folder: Path, fits: str, seals: int) -> str:
    """A booking of one joint with everything in its kit and the old seals counted out."""
    joint = (
        "\n      - code: x1\n        name: X1\n        system: lubrication"
        f"\n        fluids: [engine-oil]\n        fits:{fits}"
    )
    step = "\n      - {code: S1, name: S, hours: 1 h, opens: [x1]}"
    load(engine, unit(joint, step, "\n      - {code: X1, name: X1, needs: [S1]}", ITEMS) + SUPPLY)
    stock(engine, folder, "yard,SEAL,A,9 each,1Q26", "yard,SET,S,2 each,1Q26")
    number = booked(engine, "X1").number
    pick(engine, number, NOW)
    step_to(engine, number, BookingState.CONFIRMED)
    step_to(engine, number, BookingState.ON_THE_RAMP)
    count_seals(engine, number, {"x1": seals}, NOW)
    return number


def fit(item: str, position: str, rule: str = RENEW) -> str:
    return f"\n          - {{item: {item}, position: {position}, {rule}}}"


def outcomes(engine: Engine) -> dict[str, RefitOutcome]:
    with engine.connect() as connection:
        return dict(connection.execute(select(Refit.position, Refit.outcome)).all())


@pytest.mark.parametrize("told", ["back", "spoilt"])
def test_closing_is_refused_when_what_has_to_be_renewed_was_not_fitted(
    store: Engine, tmp_path: Path, told: str
) -> None:
    number = on_the_ramp(store, tmp_path, fit("SEAL", "a"), 1)
    closing = Closing({"SEAL": 1000}, {}) if told == "back" else Closing({}, {"SEAL": 1000})
    with pytest.raises(RefusedError) as refused:
        close(store, number, closing, NOW)
    assert [reason.code for reason in refused.value.reasons] == [Lack.NOT_FITTED]
    assert said(refused.value.reasons)[0].startswith("SEAL: 1")
    # Neither promising nor picking makes it fitted.
    assert [step.action for step in refused.value.then] == [Action.CLOSE_DESPITE]
    view = close(store, number, closing, NOW, "the old one was new last week")
    assert view.override == "the old one was new last week"
    assert outcomes(store) == {"a": RefitOutcome.REFITTED}
    assert_ledger(store)


def test_what_failed_its_inspection_and_was_not_renewed_is_told(
    store: Engine, tmp_path: Path
) -> None:
    number = on_the_ramp(store, tmp_path, fit("SEAL", "a", LOOK), 1)
    record_findings(store, number, [Found("x1", "a", FindingResult.FAILED, "cut")], NOW)
    with pytest.raises(RefusedError) as refused:
        close(store, number, Closing({"SEAL": 1000}, {}), NOW)
    assert [reason.code for reason in refused.value.reasons] == [Lack.NOT_FITTED]
    close(store, number, Closing({"SEAL": 1000}, {}), NOW, "agreed with the customer")
    assert outcomes(store) == {"a": RefitOutcome.REFITTED}


def test_a_spare_may_come_back_and_what_is_renewed_is_written(
    store: Engine, tmp_path: Path
) -> None:
    number = on_the_ramp(store, tmp_path, fit("SEAL", "a") + fit("SEAL", "b", LOOK), 2)
    close(store, number, Closing({"SEAL": 1000}, {}), NOW)
    assert outcomes(store)["a"] is RefitOutcome.RENEWED


def test_of_two_of_which_one_came_back_neither_is_written_as_renewed(
    lite: Engine, tmp_path: Path
) -> None:
    """Nobody said which of them the new one sits in."""
    number = on_the_ramp(lite, tmp_path, fit("SEAL", "a") + fit("SEAL", "b"), 2)
    close(lite, number, Closing({"SEAL": 1000}, {}), NOW, "one was new")
    assert set(outcomes(lite).values()) == {RefitOutcome.REFITTED}


def test_what_a_packet_brings_is_not_renewed_when_the_packet_came_back(
    lite: Engine, tmp_path: Path
) -> None:
    number = on_the_ramp(lite, tmp_path, fit("ONLY", "a"), 1)
    with pytest.raises(RefusedError):
        close(lite, number, Closing({"SET": 1000}, {}), NOW)
    close(lite, number, Closing({"SET": 1000}, {}), NOW, "wrong one")
    assert outcomes(lite) == {"a": RefitOutcome.REFITTED}


def test_what_was_never_in_the_kit_is_not_written_as_renewed_either(
    lite: Engine, tmp_path: Path
) -> None:
    number = on_the_ramp(lite, tmp_path, fit("SEAL", "a"), 1)
    close(lite, number, Closing({}, {}), NOW)
    assert outcomes(lite) == {"a": RefitOutcome.RENEWED}
    with lite.begin() as connection:
        connection.execute(delete(Refit))
    other = booked(lite, "X1", on=LATER).number
    step_to(lite, other, BookingState.CONFIRMED)
    step_to(lite, other, BookingState.ON_THE_RAMP)
    close(lite, other, Closing({}, {}), NOW, "the customer brought none")
    assert outcomes(lite) == {"a": RefitOutcome.REFITTED}


def test_what_waits_on_the_shelf_is_cured_by_picking(store: Engine, tmp_path: Path) -> None:
    number = on_the_ramp(store, tmp_path, fit("SEAL", "a"), 1)
    close(store, number, Closing({}, {}), NOW)
    other = booked(store, "X1").number
    step_to(store, other, BookingState.CONFIRMED)
    step_to(store, other, BookingState.ON_THE_RAMP)
    count_seals(store, other, {"x1": 1}, NOW)
    with pytest.raises(RefusedError) as refused:
        close(store, other, Closing({}, {}), NOW)
    assert [reason.code for reason in refused.value.reasons] == [Lack.NOT_IN_KIT]
    assert [step.action for step in refused.value.then] == [Action.PICK, Action.CLOSE_DESPITE]
    pick(store, other, NOW)
    close(store, other, Closing({}, {}), NOW)
    assert outcomes(store) == {"a": RefitOutcome.RENEWED}


def test_a_doubt_stands_once_on_the_sheets_of_a_booking(lite: Engine, tmp_path: Path) -> None:
    joint = (
        "\n      - code: x1\n        name: X1\n        system: lubrication"
        f"\n        fluids: [engine-oil]\n        fits:{fit('WRONG', 'a')}{fit('BOLT', 'b')}"
        f"{fit('SEAL', 'c')}"
    )
    step = "\n      - {code: S1, name: S, hours: 1 h, opens: [x1]}"
    items = ITEMS + "\n  - {code: WRONG, name: Wrong, kind: o-ring, elastomer: EPDM}"
    load(lite, unit(joint, step, "\n      - {code: X1, name: X1, needs: [S1]}", items) + SUPPLY)
    stock(lite, tmp_path, "yard,SEAL,A,9 each,1Q26", "yard,BOLT,B,9 each")
    number = booked(lite, "X1").number
    with reading(lite) as session:
        sheets = pick_of(session, number).doubts, labels_of(session, number).doubts
    for doubts in sheets:
        # The ring clashes, the bolt has no figure.
        assert [doubt.aspect for doubt in doubts] == ["rubber", "figure"]


def history(engine: Engine, *jobs: str) -> dict[str, str]:
    """By which rule each position is planned for the next visit."""
    view = planned(engine, "PELL 001", *jobs, on=LATER)
    return {place.position: str(line.rule) for line in view.lines for place in line.positions}


def shown(engine: Engine, number: str) -> BookingView:
    with reading(engine) as session:
        return booking_view(session, find_booking(session, number))


def put_back_one(engine: Engine, number: str, back: bool = True) -> BookingView:
    one = Quantity(1000, "each")
    ways = (Became.USED, Became.BACK) if back else (Became.BACK, Became.USED)
    return correct(engine, number, Correction("SEAL", one, *ways, "it was forgotten"), NOW)


def test_a_correction_that_takes_back_what_was_renewed_puts_the_history_right(
    store: Engine, tmp_path: Path
) -> None:
    """It may go back once: the old one went back, so that it may not any more."""
    place = fit("SEAL", "a", LOOK + ", refit_limit: 1")
    number = on_the_ramp(store, tmp_path, place, 1)
    record_findings(store, number, [Found("x1", "a", FindingResult.FAILED, "cut")], NOW)
    close(store, number, Closing({}, {}), NOW)
    assert history(store, "X1") == {"a": "inspect"}
    assert shown(store, number).ready
    view = put_back_one(store, number)
    assert history(store, "X1") == {"a": "renew"}
    assert [doubt.because.code for doubt in view.doubts] == [Lack.NOT_RENEWED]
    assert not shown(store, number).ready
    # What was written first stays.
    with store.connect() as connection:
        said = connection.execute(select(Refit.outcome).order_by(Refit.correction)).scalars().all()
    assert said == [RefitOutcome.RENEWED, RefitOutcome.REFITTED]
    assert_ledger(store)


def test_a_correction_taken_back_restores_the_history(store: Engine, tmp_path: Path) -> None:
    number = on_the_ramp(store, tmp_path, fit("SEAL", "a", LOOK + ", refit_limit: 1"), 1)
    record_findings(store, number, [Found("x1", "a", FindingResult.FAILED, "cut")], NOW)
    close(store, number, Closing({}, {}), NOW)
    put_back_one(store, number)
    assert put_back_one(store, number, back=False).ready
    assert history(store, "X1") == {"a": "inspect"}
    put_back_one(store, number)
    assert history(store, "X1") == {"a": "renew"}


def test_a_spare_that_is_corrected_leaves_the_history_alone(lite: Engine, tmp_path: Path) -> None:
    number = on_the_ramp(lite, tmp_path, fit("SEAL", "a") + fit("SEAL", "b", LOOK), 2)
    close(lite, number, Closing(used={"SEAL": 1000}), NOW)
    before = outcomes(lite)
    with lite.connect() as connection:
        assert connection.scalar(select(func.count()).select_from(Refit)) == 2
    view = put_back_one(lite, number)
    assert (outcomes(lite), view.ready) == (before, True)


def test_the_sheets_of_another_booking_say_that_the_history_changed_since_it_was_planned(
    store: Engine, tmp_path: Path
) -> None:
    """It may go back once, and did at the closing of the first booking."""
    number = on_the_ramp(store, tmp_path, fit("SEAL", "a", LOOK + ", refit_limit: 1"), 1)
    other = booked(store, "X1", on=LATER).number

    def changed() -> list[bool]:
        with reading(store) as session:
            sheets = [
                booking_view(session, find_booking(session, other)).doubts,
                pick_of(session, other).doubts,
                labels_of(session, other).doubts,
                refit_of(session, other).doubts,
                findings_view(session, other).doubts,
            ]
        return [any(doubt.aspect is Aspect.CATALOGUE for doubt in doubts) for doubts in sheets]

    assert changed() == [False] * 5
    record_findings(store, number, [Found("x1", "a", FindingResult.PASSED)], NOW)
    close(store, number, Closing({}, {}), NOW)
    assert changed() == [True] * 5


FAILED = Found("x1", "a", FindingResult.FAILED, "cut")
PASSED = Found("x1", "a", FindingResult.PASSED)
WHY = Told("the wrong seal was looked at", "ana")
ONE = Quantity(1000, "each")


def told_of_a(engine: Engine) -> list[str]:
    """What the history of the car says of the position, the last of it last."""
    with engine.connect() as connection:
        told = select(Refit.outcome).where(Refit.position == "a").order_by(Refit.correction)
        return [str(outcome) for outcome in connection.scalars(told)]


def test_a_finding_is_corrected_after_a_close_and_nothing_is_erased(
    store: Engine, tmp_path: Path
) -> None:
    number = on_the_ramp(store, tmp_path, fit("SEAL", "a", LOOK), 1)
    record_findings(store, number, [FAILED], NOW)
    with pytest.raises(KittingError, match="is on the ramp; record what was found again"):
        correct_finding(store, number, PASSED, WHY, NOW)
    close(store, number, Closing({}, {}), NOW)
    assert told_of_a(store) == [RefitOutcome.RENEWED]
    correct(store, number, Correction("SEAL", ONE, Became.USED, Became.BACK, "not fitted"), NOW)
    correct_finding(store, number, PASSED, WHY, NOW)
    with store.connect() as connection:
        assert connection.execute(
            select(Finding.first_found, Finding.first_reason, Finding.found, Finding.reason)
        ).all() == [(FindingResult.FAILED, "cut", FindingResult.PASSED, None)]
        correction = connection.execute(
            select(FindingCorrection.why, FindingCorrection.told_by, FindingCorrection.at)
        ).one()
    assert correction == (WHY.note, "ana", NOW)
    assert told_of_a(store) == [RefitOutcome.RENEWED, RefitOutcome.REFITTED]
    with pytest.raises(KittingError, match="is recorded as passed already"):
        correct_finding(store, number, PASSED, WHY, NOW)
    with pytest.raises(KittingError, match="a reason is required"):
        correct_finding(store, number, FAILED, Told(" "), NOW)
    with pytest.raises(KittingError, match="nothing was recorded of 'b' in 'x1'"):
        correct_finding(store, number, Found("x1", "b", "passed"), WHY, NOW)


def test_how_many_pieces_failed_is_corrected_after_a_close(store: Engine, tmp_path: Path) -> None:
    three = fit("SEAL", "a, quantity: 3 each", LOOK)
    number = on_the_ramp(store, tmp_path, three, 3)
    record_findings(store, number, [replace(FAILED, failed=1, pieces=3)], NOW)
    close(store, number, Closing({}, {}), NOW)
    assert told_of_a(store) == [RefitOutcome.REFITTED]
    for failed, pieces, text in ((4, None, "4 failed, 3 are there"), (1, 2, "2 pieces are told")):
        with pytest.raises(KittingError, match=text):
            correct_finding(store, number, replace(FAILED, failed=failed, pieces=pieces), WHY, NOW)
    correct_finding(store, number, replace(FAILED, failed=2), WHY, NOW)
    with store.connect() as connection:
        kept = select(Finding.first_failed, Finding.failed)
        assert connection.execute(kept).all() == [(1000, 2000)]
    with pytest.raises(KittingError, match="is recorded as failed already"):
        correct_finding(store, number, replace(FAILED, failed=2), WHY, NOW)


def test_a_spare_that_was_fitted_after_all_is_new_from_then_on(
    lite: Engine, tmp_path: Path
) -> None:
    """Who had passed it threw it away and fitted the spare: said after the car had left."""
    number = on_the_ramp(lite, tmp_path, fit("SEAL", "a", LOOK), 1)
    record_findings(lite, number, [FAILED], NOW)
    record_findings(lite, number, [PASSED], NOW)
    close(lite, number, Closing({"SEAL": 1000}, {}), NOW)
    assert told_of_a(lite) == [RefitOutcome.REFITTED]
    # A failure found later changes nothing of what is in the car.
    correct_finding(lite, number, FAILED, WHY, NOW)
    assert told_of_a(lite) == [RefitOutcome.REFITTED]
    correct(lite, number, Correction("SEAL", ONE, Became.BACK, Became.USED, "fitted"), NOW)
    assert told_of_a(lite) == [RefitOutcome.REFITTED, RefitOutcome.RENEWED]
    correct(lite, number, Correction("SEAL", ONE, Became.USED, Became.BACK, "no"), NOW)
    assert told_of_a(lite)[-1] == RefitOutcome.REFITTED
