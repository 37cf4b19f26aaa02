"""Closing asks for what it does not know, all in one go (P4, P8, N11). All stock is invented."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import pytest
from kits import at, contents, kit, piece, shown, sound, to_the_ramp, why, yard
from sqlalchemy import Engine

from helpers import NOW, assert_ledger, balances
from kitting.actions import Action
from kitting.errors import FileProblemsError, KittingError
from kitting.facts.reasons import RefusedError
from kitting.facts.units import Quantity
from kitting.facts.words import BookingState, FindingResult, KitEventKind, KitWhy
from kitting.files.output.ask_csv import ask_csv
from kitting.services.bookings.close import Closing, close
from kitting.services.bookings.closing_table import ask_rows, read_answers
from kitting.services.bookings.correct import Became, Correction, correct
from kitting.services.bookings.findings import Found, record_findings
from kitting.services.bookings.kit_moves import draw
from kitting.services.stock.recall import recall
from kitting.store import reading
from kitting.views.bookings import Lack
from kitting.views.closing import Ask, AskAbout, AskRow
from kitting.views.kit import SealReason
from kitting.wording.closing import ask_cells

STOCK = (
    "RING,A,9 each,1Q25", "SEAL,S,4 each,1Q25", "CAP,C,9 each", "OIL,O,1000 ml,,2028-01-01",
    "BOLT,K,9 each", "PASTE,P,1500 ml,,2028-01-01",
)  # fmt: skip
COUNTS = {"LOOK": {"x2": 2}, "RINGS": {"x1": 4}}


def on_the_ramp(engine: Engine, folder: Path, *jobs: str) -> str:
    yard(engine, folder, *STOCK)
    counts = {joint: n for job in jobs for joint, n in COUNTS.get(job, {}).items()}
    return to_the_ramp(engine, kit(engine, *jobs), counts)


def refused(engine: Engine, number: str, closing: Closing | None = None) -> RefusedError:
    with pytest.raises(RefusedError) as caught:
        close(engine, number, closing or Closing(), NOW)
    return caught.value


def became(engine: Engine, lot: str) -> tuple[int, int]:
    """What of a lot is in the car, and what is on its shelf, in whole units."""
    with reading(engine) as session:
        view = recall(session, lot, NOW.date())
    used = sum(one.used for one in view.bookings)
    return used // 1000, sum(shelf.on_hand for shelf in view.shelves) // 1000


# --- P8, N11: spares --------------------------------------------------------------------------


def test_p8_spares_of_positions_that_nobody_looked_at_are_never_counted_as_fitted(
    store: Engine, tmp_path: Path
) -> None:
    number = on_the_ramp(store, tmp_path, "LOOK")
    error = refused(store, number)
    (question,) = error.reasons
    assert question.code is Ask.SPARE
    assert question["quantity"] == Quantity(2000, "each")
    assert question["positions"] == ("x2: upper", "x2: lower")
    assert [step.action for step in question.then] == [
        Action.RECORD_FINDING, Action.TELL_BACK, Action.TELL_USED,
    ]  # fmt: skip
    assert [step.action for step in error.then] == [Action.CLOSE_BY_TABLE]
    # No reason stands for where they are.
    with pytest.raises(RefusedError):
        close(store, number, Closing(), NOW, "in a hurry")
    assert shown(store, number).state is BookingState.ON_THE_RAMP


@pytest.mark.parametrize(
    ("told", "used"),
    [
        (Closing({"SEAL": 2000}), 0),
        (Closing({"SEAL": 0}), 2),
        (Closing({"SEAL": 1000}, {"SEAL": 1000}), 0),
        (Closing(used={"SEAL": 1000}), 1),
        (Closing({"SEAL": 1000}, used={"SEAL": 1000}), 1),
        (Closing(found=[Found("x2", "upper", "passed"), Found("x2", "lower", "passed")]), 0),
        (Closing(found=[Found("x2", "upper", "passed"), Found("x2", "lower", "failed", "cut")]), 1),
    ],
)
def test_p8_every_way_to_answer_accounts_for_each_of_them(
    lite: Engine, tmp_path: Path, told: Closing, used: int
) -> None:
    number = on_the_ramp(lite, tmp_path, "LOOK")
    close(lite, number, told, NOW)
    scrapped = told.scrapped.get("SEAL", 0) // 1000
    assert became(lite, "S") == (used, 4 - used - scrapped)
    sound(lite)


def test_spares_of_positions_that_passed_go_back_by_themselves(
    store: Engine, tmp_path: Path
) -> None:
    number = on_the_ramp(store, tmp_path, "LOOK")
    record_findings(store, number, [Found("x2", "upper", FindingResult.PASSED)], NOW)
    (question,) = refused(store, number).reasons
    assert question["positions"] == ("x2: lower",)
    record_findings(store, number, [Found("x2", "lower", FindingResult.PASSED)], NOW)
    close(store, number, Closing(), NOW)
    assert became(store, "S") == (0, 4)
    sound(store)


def test_a_spare_that_was_fitted_without_a_look_does_not_go_back_because_another_passed(
    lite: Engine, tmp_path: Path
) -> None:
    scarce = tuple("SEAL,S,1 each,1Q25" if row.startswith("SEAL") else row for row in STOCK)
    yard(lite, tmp_path, *scarce)
    number = to_the_ramp(lite, kit(lite, "LOOK"), COUNTS["LOOK"])
    unseen = Found("x2", "upper", FindingResult.NOT_INSPECTED)
    record_findings(lite, number, [unseen, Found("x2", "lower", FindingResult.PASSED)], NOW)
    close(lite, number, Closing(), NOW)
    assert became(lite, "S") == (1, 0)
    sound(lite)


@pytest.mark.parametrize(
    "told",
    [
        Closing(used={"SEAL": 3000}),
        Closing({"SEAL": 1000}, used={"SEAL": 2000}),
        Closing({"SEAL": 1000}, used={"SEAL": 0}),
        Closing(used={"BOLT": 1000}, returned={"SEAL": 2000}),
    ],
)
def test_what_does_not_add_up_is_refused_and_nothing_is_recorded(
    lite: Engine, tmp_path: Path, told: Closing
) -> None:
    number = on_the_ramp(lite, tmp_path, "LOOK")
    before = balances(lite)
    with pytest.raises(KittingError, match="Nothing was recorded; count again"):
        close(lite, number, told, NOW)
    assert (balances(lite), shown(lite, number).state) == (before, BookingState.ON_THE_RAMP)


# --- P4, and consumables ----------------------------------------------------------------------


def test_p4_everything_that_is_wrong_or_not_said_is_told_in_one_go(
    store: Engine, tmp_path: Path
) -> None:
    """No pick of the rings, spares not told, caps not counted, old seals not counted."""
    yard(store, tmp_path, *STOCK[1:])
    number = to_the_ramp(store, kit(store, "RINGS", "LOOK", "OPEN"))
    # Confirmed with a reason for the rings: that holds; what is not said has none.
    error = refused(store, number)
    assert [reason.code for reason in error.reasons] == [
        SealReason.NOT_COUNTED, Ask.COUNTED, Ask.SPARE,
    ]  # fmt: skip


def test_caps_may_all_come_off_again_so_that_they_are_asked_for(
    store: Engine, tmp_path: Path
) -> None:
    number = on_the_ramp(store, tmp_path, "OPEN")
    (question,) = refused(store, number).reasons
    assert (question.code, question["item"]) == (Ask.COUNTED, "CAP")
    assert question.then[-1].action is Action.TELL_USED_UP
    close(store, number, Closing({"CAP": 4000}), NOW)
    assert became(store, "C") == (0, 9)
    sound(store)


@pytest.mark.parametrize(
    ("told", "used"), [(Closing(used_up=True), 4), (Closing(used={"CAP": 1000}), 1)]
)
def test_caps_that_were_used_leave_the_rest_on_the_shelf(
    lite: Engine, tmp_path: Path, told: Closing, used: int
) -> None:
    number = on_the_ramp(lite, tmp_path, "OPEN")
    close(lite, number, told, NOW)
    assert became(lite, "C") == (used, 9 - used)
    sound(lite)


@pytest.mark.parametrize(
    "told",
    [Closing({"OIL": 300_000}, used_up=True), Closing({}, {"OIL": 300_000}, used_up=True),
     Closing({"OIL": 100_000}, {"OIL": 200_000}, used_up=True),
     Closing(used={"OIL": 0}, used_up=True)],
)  # fmt: skip
def test_a_fluid_that_came_back_whole_though_the_work_uses_it_up_is_refused(
    store: Engine, tmp_path: Path, told: Closing
) -> None:
    number = on_the_ramp(store, tmp_path, "OPEN")
    error = refused(store, number, told)
    assert [reason.code for reason in error.reasons] == [Lack.NOT_USED]
    assert [step.action for step in error.then] == [Action.CLOSE_DESPITE]
    assert close(store, number, told, NOW, "filled from the drum").override == (
        "filled from the drum"
    )
    assert_ledger(store)


def test_a_fluid_of_which_some_is_left_is_closed_without_a_word(
    lite: Engine, tmp_path: Path
) -> None:
    number = on_the_ramp(lite, tmp_path, "OPEN")
    assert close(lite, number, Closing({"OIL": 50_000}, used_up=True), NOW).override is None
    sound(lite)


def test_what_was_drawn_beyond_the_plan_is_asked_for_by_name(store: Engine, tmp_path: Path) -> None:
    number = on_the_ramp(store, tmp_path, "RINGS")
    draw(store, number, piece("BOLT", 2), why(KitWhy.EXTRA, "two sheared"), at())
    (question,) = refused(store, number).reasons
    assert (question.code, question["quantity"]) == (Ask.EXTRA, Quantity(2000, "each"))
    close(store, number, Closing(used={"BOLT": 1000}), NOW)
    assert became(store, "K") == (1, 8)
    told = contents(store, number).events[-1]
    assert (told.kind, told.item, told.quantity) == (KitEventKind.TOLD_USED, "BOLT", 1000)
    sound(store)


def test_a_lost_seal_is_not_fitted_and_not_back(store: Engine, tmp_path: Path) -> None:
    number = on_the_ramp(store, tmp_path, "RINGS")
    draw(store, number, piece("RING", 2), why(KitWhy.LOST), at())
    close(store, number, Closing(), NOW)
    assert became(store, "A") == (4, 3)
    sound(store)


# --- the table --------------------------------------------------------------------------------


def asked(engine: Engine, number: str) -> tuple[AskRow, ...]:
    with reading(engine) as session:
        return ask_rows(session, number, NOW.date())


def filled(engine: Engine, number: str, path: Path, answers: Mapping[str, str]) -> Path:
    """The table with answers, each by what a row is about and its item or joint."""
    rows = []
    for row in asked(engine, number):
        cells = ask_cells(row)
        rows.append((*cells, answers.get(f"{cells[0]} {cells[1] or cells[2]}", "")))
        if row.about is AskAbout.LOOK:
            rows[-1] = (*cells, answers.get(row.position or "", ""))
    lines = ask_csv([]).splitlines() + [",".join(f'"{cell}"' for cell in row) for row in rows]
    path.write_text("\n".join(lines), encoding="utf-8")
    return path


def told_by(engine: Engine, number: str, path: Path, closing: Closing | None = None):  # type: ignore[no-untyped-def]
    with reading(engine) as session:
        return read_answers(session, number, path, closing or Closing(), NOW.date())


ANSWERS = {
    "old seals x1": "4", "old seals x2": "2", "upper": "passed", "lower": "failed: cut at the lip",
    "left over CAP": "back 3", "left over OIL": "50 ml",
}  # fmt: skip


def test_one_table_asks_everything_and_closes(store: Engine, tmp_path: Path) -> None:
    yard(store, tmp_path, *STOCK)
    number = to_the_ramp(store, kit(store, "RINGS", "LOOK", "OPEN"))
    rows = asked(store, number)
    assert [(row.about, row.required) for row in rows] == [
        (AskAbout.SEALS, True), (AskAbout.SEALS, True), (AskAbout.LOOK, True),
        (AskAbout.LOOK, True), (AskAbout.LEFT, True), (AskAbout.LEFT, False),
    ]  # fmt: skip
    path = filled(store, number, tmp_path / "told.csv", ANSWERS)
    told = told_by(store, number, path)
    close(store, number, told.closing, NOW)
    assert (became(store, "S"), became(store, "C")) == ((1, 3), (1, 8))
    assert became(store, "O")[0] == 250
    sound(store)


def test_what_is_not_in_the_kit_needs_a_word_in_the_table(store: Engine, tmp_path: Path) -> None:
    number = on_the_ramp(store, tmp_path, "LOOK")
    record_findings(store, number, [Found("x2", "upper", FindingResult.PASSED)], NOW)
    draw(store, number, piece("SEAL", 2), why(KitWhy.LOST), at())
    draw(store, number, piece("SEAL", 2), why(KitWhy.LOST), at())
    record_findings(store, number, [Found("x2", "lower", FindingResult.FAILED, "cut")], NOW)
    (row,) = asked(store, number)
    assert (row.about, row.item) == (AskAbout.WHY, "SEAL")
    path = filled(store, number, tmp_path / "told.csv", {"why SEAL": "the old one was turned"})
    told = told_by(store, number, path)
    assert told.reasons == ["SEAL: the old one was turned"]
    with pytest.raises(RefusedError):
        close(store, number, told.closing, NOW)
    close(store, number, told.closing, NOW, told.reasons[0])
    assert_ledger(store)


@pytest.mark.parametrize(
    ("change", "line", "reason"),
    [
        ({"old seals x1": "four"}, 2, "'four' is no count"),
        ({"old seals x1": ""}, 2, "no answer"),
        ({"upper": "fine"}, 4, "'fine' is none of passed"),
        ({"lower": "failed"}, 5, "failed without a reason"),
        ({"left over CAP": "3 bags"}, 6, "has no unit known here"),
        ({"left over CAP": "1.5"}, 6, "is no whole number of pieces"),
        ({"left over CAP": "back 1, back 2"}, 6, "cannot be read"),
        ({"left over OIL": "3 mm"}, 7, "it is counted in ml"),
    ],
)
def test_a_table_is_taken_whole_or_not_at_all_and_each_fault_has_its_line(
    lite: Engine, tmp_path: Path, change: Mapping[str, str], line: int, reason: str
) -> None:
    yard(lite, tmp_path, *STOCK)
    number = to_the_ramp(lite, kit(lite, "RINGS", "LOOK", "OPEN"))
    path = filled(lite, number, tmp_path / "told.csv", ANSWERS | change)
    with pytest.raises(FileProblemsError) as caught:
        told_by(lite, number, path)
    (problem,) = caught.value.problems
    assert (problem.file, problem.line) == (str(path), line)
    assert reason in problem.reason
    assert problem.next_step
    assert [row.required for row in asked(lite, number)].count(True) == 5


def test_a_row_that_nothing_asks_and_one_that_is_left_out_are_told(
    lite: Engine, tmp_path: Path
) -> None:
    number = on_the_ramp(lite, tmp_path, "OPEN")
    path = filled(lite, number, tmp_path / "told.csv", {})
    text = path.read_text(encoding="utf-8").replace('"CAP"', '"CUP"')
    path.write_text(text, encoding="utf-8")
    with pytest.raises(FileProblemsError) as caught:
        told_by(lite, number, path)
    assert [(p.line, p.reason) for p in caught.value.problems] == [
        (2, "nothing asks this of the booking (any more)"), (0, "the table has no row for it"),
    ]  # fmt: skip


def test_an_option_may_answer_what_the_table_leaves_blank_but_not_say_it_twice(
    lite: Engine, tmp_path: Path
) -> None:
    number = on_the_ramp(lite, tmp_path, "OPEN")
    path = filled(lite, number, tmp_path / "told.csv", {})
    option = Closing({"CAP": 2000})
    assert told_by(lite, number, path, option).closing == option
    twice = filled(lite, number, tmp_path / "twice.csv", {"left over CAP": "1"})
    with pytest.raises(FileProblemsError, match="an option of the command tells it too"):
        told_by(lite, number, twice, option)


def test_a_text_that_begins_like_a_formula_is_no_formula_in_the_table() -> None:
    assert ask_csv([("look", "=A1", "a,b", "1", "?")]).splitlines()[1] == ('look,\'=A1,"a,b",1,?,')


# --- correct a close --------------------------------------------------------------------------

ONE = Quantity(1000, "each")


@pytest.mark.parametrize(
    ("was", "now", "fitted", "shelf"),
    [
        (Became.USED, Became.BACK, 2, 6),
        (Became.USED, Became.SPOILT, 2, 5),
        (Became.BACK, Became.USED, 4, 4),
        (Became.BACK, Became.SPOILT, 3, 4),
        (Became.SPOILT, Became.BACK, 3, 6),
        (Became.SPOILT, Became.USED, 4, 5),
    ],
)
def test_correct_a_close_puts_right_everything_that_a_close_can_say(
    lite: Engine, tmp_path: Path, was: Became, now: Became, fitted: int, shelf: int
) -> None:
    """Of 9 rings 5 were in the kit: 3 were used, 1 came back, 1 was scrapped."""
    number = on_the_ramp(lite, tmp_path, "RINGS")
    draw(lite, number, piece("RING", 1), why(KitWhy.EXTRA, "to try"), at())
    close(lite, number, Closing({"RING": 1000}, {"RING": 1000}), NOW, "one stayed in")
    assert became(lite, "A") == (3, 5)
    correct(lite, number, Correction("RING", ONE, was, now, "counted again", "Ann"), NOW)
    assert became(lite, "A") == (fitted, shelf)
    event = contents(lite, number).events[-1]
    assert (event.kind, event.told_by) == (KitEventKind.CORRECTED, "Ann")
    assert_ledger(lite)


def test_a_correction_of_more_than_was_recorded_and_of_nothing_is_refused(
    lite: Engine, tmp_path: Path
) -> None:
    number = on_the_ramp(lite, tmp_path, "RINGS")
    close(lite, number, Closing(), NOW)
    for change, message in (
        (Correction("RING", ONE, Became.SPOILT, Became.BACK, "so"), "more than was recorded as"),
        (Correction("RING", ONE, Became.USED, Became.USED, "so"), "it is recorded as used"),
        (Correction("RING", ONE, Became.USED, Became.BACK, " "), "a reason is required"),
    ):
        with pytest.raises(KittingError, match=message):
            correct(lite, number, change, NOW)
    sound(lite)
