"""Messages of errors: English as plain text, each told in the language as a whole."""

from __future__ import annotations

import pickle
from datetime import date

import pytest
from pseudo import pseudo, stretched

from kitting.errors import FigureError, FileProblemsError, KittingError, Message, Problem, joined
from kitting.facts.bounds import one_line
from kitting.facts.reasons import RefusedError
from kitting.wording.language import Language, message_text, speaking, told


def test_a_message_is_english_and_knows_its_parts() -> None:
    message = Message("no stock {code!r}. Known: {known}", code="A{1", known="B, C")
    assert message == "no stock 'A{1'. Known: B, C"
    assert message.template == "no stock {code!r}. Known: {known}"
    assert message.values == {"code": "A{1", "known": "B, C"}


def test_a_message_without_values_keeps_its_braces_and_a_message_stays_itself() -> None:
    plain = Message("write {one} or {}")
    assert plain == "write {one} or {}"
    assert Message(plain) is plain
    assert KittingError(plain).message is plain


def test_a_name_that_nobody_hands_over_is_an_error() -> None:
    with pytest.raises(KeyError, match="known"):
        Message("{code}: {known}", code=1)


def test_a_message_survives_being_copied_to_another_process() -> None:
    message = Message("no stock {code!r}", code="A")
    again = pickle.loads(pickle.dumps(message))
    assert (again, again.template, again.values) == (message, message.template, message.values)


def test_an_error_is_told_in_english_as_it_stands() -> None:
    error = KittingError("nothing on {day} of {share}", day=date(2026, 4, 2), share=0.5)
    assert str(error) == told(error) == "nothing on 2026-04-02 of 0.5"


def test_an_error_is_told_in_the_language_with_its_days_and_figures() -> None:
    error = KittingError("nothing on {day} of {share}", day=date(2026, 4, 2), share=0.5)
    with speaking(Language("de", pseudo().texts)):
        assert told(error) == stretched(error.message.template).format(
            day="02.04.2026", share="0,5"
        )
    assert str(error) == "nothing on 2026-04-02 of 0.5"


def test_an_error_inside_another_is_told_too() -> None:
    inner = FigureError("{text!r} is no price", text="x")
    outer = KittingError("lot {lot} cannot be extended: {why}", lot="L1", why=inner)
    assert str(outer) == "lot L1 cannot be extended: 'x' is no price"
    with speaking(pseudo()):
        assert told(outer) == stretched(outer.message.template).format(
            lot="L1", why=stretched("{text!r} is no price").format(text="x")
        )


def test_joined_messages_are_told_each_for_itself() -> None:
    both = joined((Message("one {a}", a=1), Message("two {a}", a=2)), "; ")
    assert both == "one 1; two 2"
    with speaking(pseudo()):
        told_one, told_two = (stretched(f"{word} {{a}}") for word in ("one", "two"))
        assert message_text(both) == f"{told_one.format(a=1)}; {told_two.format(a=2)}"


@pytest.mark.parametrize(
    ("problem", "english"),
    [
        (Problem("a.yaml", 3, "item X", "no unit", "Give one"), "a.yaml:3: item X: no unit. Give one"),
        (Problem("a.yaml", 0, "file", "empty", "Fill it"), "a.yaml: file: empty. Fill it"),
        (
            Problem("a.xlsx", 3, "item X", "no unit", "Give one", "items", "unit"),
            "a.xlsx, sheet 'items', row 3, column 'unit': item X: no unit. Give one",
        ),
        (
            Problem("a.xlsx", 0, "sheet", "no rows", "Fill it", "items"),
            "a.xlsx, sheet 'items': sheet: no rows. Fill it",
        ),
    ],
)  # fmt: skip
def test_a_fault_of_a_file_is_told_with_reason_and_next_step(
    problem: Problem, english: str
) -> None:
    assert str(problem) == english
    with speaking(pseudo()):
        shown = told(FileProblemsError([problem, problem])).splitlines()
    assert len(set(shown)) == 1
    assert shown[0].endswith(f"{stretched(problem.reason)}. {stretched(problem.next_step)}")
    assert problem.thing in shown[0]


def test_what_was_refused_is_told_with_its_name() -> None:
    error = RefusedError("{booking} cannot be closed", [], booking="K1")
    assert error.what == "K1 cannot be closed"
    with speaking(pseudo()):
        assert told(error.what) == stretched("{booking} cannot be closed").format(booking="K1")


def test_a_rule_of_the_trade_is_told_from_where_it_is_raised() -> None:
    with pytest.raises(FigureError) as raised:
        one_line("x" * 30, 20)
    with speaking(pseudo()):
        assert told(raised.value) == stretched(raised.value.message.template).format(most=20)
