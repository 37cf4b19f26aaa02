"""Everything that closing has to ask in one table, and the answers read from it, whole or not."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path

from sqlalchemy.orm import Session

from kitting.errors import FigureError, FileProblemsError, Problem
from kitting.facts.reasons import because
from kitting.facts.units import Quantity
from kitting.facts.words import BookingState, NeedRule
from kitting.files.lists.closing import Answer, Left, count_of, left_of, look_of, read_told
from kitting.services.bookings.close import Closing
from kitting.services.bookings.closing_faults import missing_parts
from kitting.services.bookings.closing_questions import counted, unlooked
from kitting.services.bookings.findings import as_told, read_inspected
from kitting.services.bookings.seal_count import removal_view
from kitting.services.bookings.states import find_booking, require_step
from kitting.services.bookings.view import booking_view
from kitting.views.bookings import BookingView, NeededView
from kitting.views.closing import Ask, AskAbout, AskRow

_Key = tuple[str, str, str]  # about, item, position


@dataclass(slots=True)
class Told:
    """What a table says: what is told to closing, and the reasons for what is not there."""

    closing: Closing
    reasons: list[str] = field(default_factory=list)


def ask_rows(session: Session, number: str, today: date) -> tuple[AskRow, ...]:
    """What closing a booking has to ask, row by row, and what may be told beside it.

    Raises UnknownNameError, and KittingError for a booking that is not on the ramp.
    """
    booking = find_booking(session, number)
    require_step(booking, BookingState.CLOSED)
    view = booking_view(session, booking, today)
    inspected = read_inspected(session, booking.id)
    seals = (
        AskRow(
            AskAbout.SEALS, None, joint.joint, None, None, None,
            because(Ask.SEALS, expected=joint.expected), required=joint.counted is None,
        )
        for joint in removal_view(session, booking).joints
        if joint.counted is None or joint.differs
    )  # fmt: skip
    looks = unlooked(session, booking, view)
    missing = (
        AskRow(
            AskAbout.WHY, str(fault["item"]), None, None, None, None,
            because(Ask.WHY, quantity=fault["quantity"]), required=True,
        )
        for fault in missing_parts(view, booking.override is not None, inspected)
    )  # fmt: skip
    return (*seals, *_looks(view, looks), *_left(view), *missing)


def _looks(
    view: BookingView, positions: Mapping[str, tuple[tuple[str, str], ...]]
) -> Iterator[AskRow]:
    for need in view.needs:
        if need.spare and need.picked:
            for joint, position in positions.get(need.item, ()):
                yield AskRow(
                    AskAbout.LOOK, need.item, joint, position, need.picked, need.unit,
                    because(Ask.LOOK), required=True,
                )  # fmt: skip


def _left(view: BookingView) -> Iterator[AskRow]:
    for need in view.needs:
        ask = _asks(need)
        if ask is not None:
            amount = need.extra or need.picked
            question = because(ask, item=need.item, quantity=Quantity(amount, need.unit))
            required = ask is not Ask.MEASURED
            yield AskRow(
                AskAbout.LEFT, need.item, None, None, amount, need.unit, question, required
            )


def _asks(need: NeededView) -> Ask | None:
    if need.extra:
        return Ask.EXTRA
    if not need.picked or need.rule is not NeedRule.USE:
        return None
    return Ask.COUNTED if counted(need) else Ask.MEASURED


def read_answers(session: Session, number: str, path: Path, closing: Closing, today: date) -> Told:
    """What a table that was filled in says, added to what else is told of the closing.

    Raises FileProblemsError with every fault: an answer that cannot be read, a question that is not
    answered, a row that nothing asks; nothing is told then.
    """
    answers, problems = read_told(path)
    rows = {_key(row): row for row in ask_rows(session, number, today)}
    told, answered = Told(closing), set()
    for answer in answers:
        row = rows.get((answer.about, answer.item, answer.position))
        if row is None:
            problems.append(_nothing_asks(path, answer))
            continue
        key = _key(row)
        if key in answered:
            problems.append(
                Problem(str(path), answer.line, _thing(answer), "it stands twice", "Keep one row")
            )
            continue
        answered.add(key)
        if not answer.text:
            if row.required and not _told_already(row, closing):
                problems.append(
                    Problem(str(path), answer.line, _thing(answer), "no answer", "Fill it in")
                )
            continue
        try:
            _read(told, row, answer, path)
        except FigureError as error:
            problems.append(
                Problem(
                    str(path), answer.line, _thing(answer), error.message, "Correct this answer"
                )
            )
    problems += _left_out(path, rows, answered, closing)
    if problems:
        raise FileProblemsError(problems)
    return told


def _key(row: AskRow) -> _Key:
    place = ": ".join(text for text in (row.joint, row.position) if text)
    return row.about, row.item or "", place


def _thing(answer: Answer) -> str:
    return " ".join(text for text in (answer.about, answer.item, answer.position) if text)


def _nothing_asks(path: Path, answer: Answer) -> Problem:
    return Problem(
        str(path), answer.line, _thing(answer), "nothing asks this of the booking (any more)",
        "Take the row out, or write the table again with --ask",
    )  # fmt: skip


def _left_out(
    path: Path, rows: Mapping[_Key, AskRow], answered: set[_Key], closing: Closing
) -> Sequence[Problem]:
    return [
        Problem(
            str(path), 0, " ".join(filter(None, key)), "the table has no row for it",
            "Write the table again with --ask",
        )
        for key, row in rows.items()
        if key not in answered and row.required and not _told_already(row, closing)
    ]  # fmt: skip


def _told_already(row: AskRow, closing: Closing) -> bool:
    """Whether an option answers what a row asks."""
    if row.about is not AskAbout.LEFT or row.item is None:
        return False
    named = row.item in {*closing.returned, *closing.scrapped, *closing.used}
    return named or (closing.used_up and row.question.code is Ask.COUNTED)


def _read(told: Told, row: AskRow, answer: Answer, path: Path) -> None:
    """Add one answer. Raises FigureError for one that cannot be read."""
    if row.about is AskAbout.SEALS:
        counts = {**told.closing.counts, row.joint or "": count_of(answer.text)}
        told.closing = replace(told.closing, counts=counts)
    elif row.about is AskAbout.LOOK:
        result, why = look_of(answer.text)
        place = (row.joint or "", row.position or "")
        found = as_told(place, result, why, (str(path), answer.line))
        told.closing = replace(told.closing, found=(*told.closing.found, found))
    elif row.about is AskAbout.WHY:
        told.reasons.append(f"{row.item}: {answer.text}")
    else:
        told.closing = _with_left(told.closing, row, left_of(answer.text, row.unit or "each"))


def _with_left(closing: Closing, row: AskRow, left: Left) -> Closing:
    item = row.item or ""
    if item in {*closing.returned, *closing.scrapped, *closing.used}:
        raise FigureError("an option of the command tells it too; keep one of the two")

    def with_it(known: Mapping[str, int], amount: int | None) -> Mapping[str, int]:
        return known if amount is None else {**known, item: amount}

    return replace(
        closing,
        returned=with_it(closing.returned, left.back),
        scrapped=with_it(closing.scrapped, left.spoilt),
        used=with_it(closing.used, left.used),
    )
