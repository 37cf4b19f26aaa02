"""Dates, texts and figures of commands and of lists lie within the bounds that catalogues take."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime
from typing import Any

import pytest
import typer

from kitting.cli.main import COMMANDS, _made
from kitting.cli.options import code_text, fitting_date, moment, word_text
from kitting.errors import FigureError
from kitting.facts.money import parse_money
from kitting.facts.units import parse_length, parse_quantity, parse_torque
from kitting.files.lists.cells import code, day, name, word
from kitting.tables.items import Item

BEYOND = ("0001-01-01", "1884-12-31", "2100-01-01", "9999-12-31")


@pytest.mark.parametrize("text", BEYOND)
def test_a_date_of_a_year_out_of_reason_is_named_with_the_years_known(text: str) -> None:
    with pytest.raises(typer.BadParameter, match="1885 to 2099") as option:
        fitting_date(text, "--until")
    assert option.value.param_hint == "--until"
    for now in (text, f"{text} 08:00", f"{text}T08:00+14:00"):
        with pytest.raises(typer.BadParameter, match="1885 to 2099") as time:
            moment(now)
        assert time.value.param_hint == "--now"
    with pytest.raises(FigureError, match="1885 to 2099"):
        day(text)


@pytest.mark.parametrize("text", ["1885-01-01", "2099-12-31"])
def test_the_first_and_the_last_day_are_taken(text: str) -> None:
    found = date.fromisoformat(text)
    assert fitting_date(text) == found == day(text)
    assert moment(f"{text} 08:00") == datetime(found.year, found.month, found.day, 8)  # noqa: DTZ001


@pytest.mark.parametrize("text", ["2026-02-30", "soon", ""])
def test_what_is_no_date_is_told_as_before(text: str) -> None:
    with pytest.raises(typer.BadParameter, match="is no date"):
        fitting_date(text)
    with pytest.raises(FigureError, match="is no date"):
        day(text)


def test_texts_of_options_cells_and_columns_have_the_same_most() -> None:
    table = Item.__table__.c
    assert (table.code.type.length, table.name.type.length) == (40, 200)
    assert (code("c" * 40), name("n" * 200), word("w" * 20)) == ("c" * 40, "n" * 200, "w" * 20)
    assert (code_text("c" * 40), word_text("w" * 20)) == ("c" * 40, "w" * 20)
    assert (code_text(None), word_text(None)) == (None, None)
    for read, text in ((code, "c" * 41), (name, "n" * 201), (word, "w" * 21), (name, "a\nb")):
        with pytest.raises(FigureError, match=r"at most|longer than|cannot be printed"):
            read(text)
    for kept, text, most in ((code_text, "c" * 41, 40), (word_text, "w" * 21, 20)):
        with pytest.raises(typer.BadParameter, match=f"longer than {most}"):
            kept(text)


def _commands(command: Any, words: tuple[str, ...]) -> Iterator[tuple[tuple[str, ...], Any]]:
    parts = getattr(command, "commands", None)
    if parts is None:
        yield words, command
        return
    for own, part in parts.items():
        yield from _commands(part, (*words, own))


def _every_text() -> Iterator[Any]:
    """Each parameter that takes text, of each command: `kitting order place --why`."""
    for module in COMMANDS:
        for own, made in _made(module).items():
            for words, command in _commands(made, (own,)):
                for parameter in command.params:
                    of = str(parameter.type_descriptor.annotation)
                    if "str" in of and parameter.name != "database":
                        yield pytest.param(command, parameter, id=f"{words} {parameter.opts[-1]}")


@pytest.mark.parametrize(("command", "parameter"), [*_every_text()])
def test_no_text_of_a_command_is_longer_than_what_keeps_it(command: Any, parameter: Any) -> None:
    """Before the command does anything, and the option is named: on SQLite nothing else would."""
    for text, reason in (("x" * 201, "longer than"), ("two\nlines", "cannot be printed")):
        given = {each.name: None for each in command.params}
        given[parameter.name] = [text] if parameter.multiple or parameter.nargs != 1 else text
        with pytest.raises(typer.BadParameter, match=reason) as error:
            command.callback(**given)
        assert error.value.param is parameter


@pytest.mark.parametrize("figure", ["nan", "sNaN", "inf", "-inf", "1e308", "1e999999999", "-1"])
def test_figures_that_are_none_or_out_of_reach_are_refused(figure: str) -> None:
    for read, unit in (
        (parse_quantity, "each"),
        (parse_quantity, "L"),
        (parse_length, "mm"),
        (parse_torque, "N·m"),
        (parse_money, "GBP"),
    ):
        with pytest.raises(FigureError):
            read(f"{figure} {unit}")
