"""Help on the screen: as wide as the screen is, nothing cut, in the words of a workshop.

Its texts are told in the language when they are shown; `texts_of_help` has them all. Examples and
names of options are the same in every language.
"""

from __future__ import annotations

import inspect
import re
from collections.abc import Iterator, Mapping, Sequence
from io import StringIO
from pathlib import Path
from typing import Any, get_args

from kitting.cli.screen import columns, console_on

NEW_HERE = "New here? Type kitting demo, then kitting guide first-job."
# The commands by the order of work, each panel with what it is for.
PANELS: Mapping[str, tuple[str, ...]] = {
    "Set up": ("demo", "guide", "setup"),
    "Describe cars, units and parts": (
        "check", "load", "words", "workbook", "export", "note", "photo", "car", "owner",
    ),
    "Plan a job": (
        "jobs", "plan", "why", "settle", "meanwhile", "declined", "sure", "sheet",
    ),
    "Order parts": ("prices", "buy", "order", "dates", "receive"),
    "Keep the store": ("stock", "levels", "learned", "recall"),
    "Book, and pick the kit": ("book", "booking", "pick", "kit"),
    "At the car": ("count", "findings", "close", "correct"),
    "Tools and rubber": ("toolbox", "rings", "cure"),
    "The day": ("today", "van", "branch"),
    "Upkeep": ("audit", "backup", "restore"),
    "Several branches on one server": ("group",),
}  # fmt: skip
_REST = "More"
_TITLES = ("Arguments", "Options", "Commands")
_EXAMPLE = "Example: "
# What Typer adds to the help of an option by itself.
_REQUIRED, _DEFAULT = "[required]", "[default: {value}]"
_USAGE = "Usage:"
_DEFAULT_SHOWN = re.compile(r"\[default: (?P<value>.*)\]")
_KINDS: Mapping[object, str] = {Path: "FILE", int: "NUMBER", float: "NUMBER"}


def helped(command: Any) -> Any:
    """A command, and each of a group, with the help and the usage line of this module."""
    for part in getattr(command, "commands", {}).values():
        helped(part)
    command.get_help = lambda context: help_text(command, context)
    command.get_usage = lambda context: usage(command, context)
    return command


def help_text(command: Any, context: Any) -> str:
    """The whole help of a command or of a group."""
    paper = StringIO()
    console = console_on(paper, columns(_screen()))
    # Where a line can be copied it stays one.
    console.print(usage(command, context), soft_wrap=True)
    for text in _paragraphs(command.help or ""):
        console.print()
        console.print(f"  {_in_language(text)}", soft_wrap=text.startswith(_EXAMPLE))
    if hasattr(command, "list_commands"):
        _commands(console, command, context)
    params = [one for one in command.get_params(context) if not getattr(one, "hidden", False)]
    arguments = [one for one in params if one.param_type_name == "argument"]
    options = [one for one in params if one.param_type_name == "option"]
    _listed(console, "Arguments", [(_argument(one), _told(one, context)) for one in arguments])
    _listed(console, "Options", [(_option(one), _told(one, context)) for one in options])
    return paper.getvalue().rstrip("\n")


def usage(command: Any, context: Any) -> str:
    """How a command is called: its arguments, and where one of two is asked, both."""
    arguments = [one for one in command.params if one.param_type_name == "argument"]
    pieces = [_in_usage(one) for one in arguments]
    names = {one.name: one for one in command.params}
    car = [one for one in arguments if one.name in ("registration", "jobs")]
    booking = names.get("booking")
    if booking is not None and booking.param_type_name == "option" and not _required(car):
        ways = [" ".join(map(_argument, car))]
        if "model" in names:
            ways.append("JOBS... --model MODEL")
        ways.append("--booking BOOKING")
        rest = [_in_usage(one) for one in arguments if one not in car]
        pieces = [f"({' | '.join(ways)})", *rest]
    if hasattr(command, "list_commands"):
        pieces.append("COMMAND ...")
    return " ".join((_in_language(_USAGE), context.command_path, *pieces, "[OPTIONS]"))


def _required(arguments: Sequence[Any]) -> bool:
    return not arguments or any(one.required for one in arguments)


def _screen() -> Any:
    import sys

    return getattr(sys.stdout, "stream", sys.stdout)


def _paragraphs(text: str) -> Iterator[str]:
    for paragraph in inspect.cleandoc(text).split("\n\n"):
        if told := " ".join(paragraph.split()):
            yield told


def _commands(console: Any, group: Any, context: Any) -> None:
    """The commands of a group with the sentence of each; of the program itself in panels."""
    names = group.list_commands(context)
    if context.parent is not None:
        _listed(console, "Commands", [(name, _sentence(group, context, name)) for name in names])
        return
    placed = {name for panel in PANELS.values() for name in panel}
    rest = tuple(name for name in names if name not in placed)
    for title, panel in {**PANELS, _REST: rest}.items():
        rows = [(name, _sentence(group, context, name)) for name in panel if name in names]
        _listed(console, title, rows, width=max(map(len, names)))


def _sentence(group: Any, context: Any, name: str) -> str:
    """The first sentence of a command's help, whole."""
    return _in_language(next(_paragraphs(group.get_command(context, name).help or ""), ""))


def _listed(console: Any, title: str, rows: Sequence[tuple[str, str]], *, width: int = 0) -> None:
    from kitting.cli.render.tables import Column, plain_table

    if not rows:
        return
    console.print()
    console.print(f"{_in_language(title)}:", style="bold")
    table = plain_table(Column(whole=True, least=width), Column(), indent=2)
    for name, text in rows:
        table.add_row(name, text)
    console.print(table)


def _in_usage(argument: Any) -> str:
    return _argument(argument) if argument.required else f"[{_argument(argument)}]"


def _argument(argument: Any) -> str:
    name = argument.metavar or argument.name.upper().replace("_", "-")
    return f"{name}..." if argument.nargs != 1 and not name.endswith("...") else name


def _option(option: Any) -> str:
    names = ", ".join([*option.opts, *option.secondary_opts])
    if option.is_flag or option.count:
        return names
    return f"{names} {_value(option)}"


def _value(option: Any) -> str:
    """What is written after an option: a word in capitals, or the words that it knows."""
    if option.metavar:
        return str(option.metavar)
    kind = option.type_descriptor
    if kind.choices:
        return "|".join(str(getattr(one, "value", one)) for one in kind.choices)
    (value, *_) = [one for one in get_args(kind.annotation) if one is not type(None)] or [
        kind.annotation
    ]
    return _KINDS.get(value) or str(option.opts[-1]).lstrip("-").upper()


def _told(parameter: Any, context: Any) -> str:
    record = parameter.get_help_record(context)
    if record is None:
        return ""
    text, said = str(record[1]), " ".join((parameter.help or "").split())
    more = text.removeprefix(said) if said else text
    told = f"{_in_language(said)}{more}" if said and more != text else text
    told = told.replace(_REQUIRED, _in_language(_REQUIRED))
    return _DEFAULT_SHOWN.sub(lambda found: _in_language(_DEFAULT, **found.groupdict()), told)


def _in_language(text: str, **values: str) -> str:
    """A text of the help in the language; an example stays as it is."""
    from kitting.wording.language import _

    if text.startswith(_EXAMPLE):
        return text
    return _(text, **values)


def texts_of_help(program: Any) -> Iterator[str]:
    """Every text of the help of a program, for whoever translates."""
    yield from (NEW_HERE, *PANELS, _REST, *_TITLES, _REQUIRED, _DEFAULT, _USAGE)
    yield from _texts_of(program)


def _texts_of(command: Any) -> Iterator[str]:
    yield from (text for text in _paragraphs(command.help or "") if not text.startswith(_EXAMPLE))
    for parameter in command.params:
        if said := " ".join((parameter.help or "").split()):
            yield said
    if hasattr(command, "list_commands"):
        for name in command.list_commands(None):
            yield from _texts_of(command.get_command(None, name))
