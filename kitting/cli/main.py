"""The command line: one thin command per use case. Exit codes: 0 done, 1 failed, 2 usage, 3 no."""

from __future__ import annotations

import atexit
import gc
import os
import sys
from functools import cache
from importlib import import_module
from typing import Annotated, Any

import typer
from typer.core import TyperGroup

from kitting.cli.help import NEW_HERE, help_text, helped, usage
from kitting.cli.text_bounds import bound_texts

_LANGUAGE = "KITTING_LANGUAGE"
# Which module of this package has which commands, in the order of the help. A command loads only
# its own module: making all of them costs more than most of them take.
COMMANDS = {
    "guide": ("guide",),
    "catalogue": ("setup", "check", "load", "jobs", "settle"),
    "words": ("words",),
    "export": ("export", "workbook"),
    "cars": ("car", "owner"),
    "found_parts": ("note",),
    "photos": ("photo",),
    "plan": ("plan", "why", "meanwhile", "declined"),
    "sheets": ("sheet",),
    "today": ("today",),
    "bookings": ("book", "booking"),
    "branch": ("branch",),
    "kit": ("kit",),
    "at_work": ("pick", "count", "van"),
    "closing": ("close", "correct"),
    "purchasing": ("prices", "buy", "order", "dates", "receive"),
    "stock": ("stock", "recall"),
    "tools": ("toolbox",),
    "rings": ("rings",),
    "curing": ("cure",),
    "advice": ("sure", "learned", "levels", "findings"),
    "upkeep": ("audit", "backup", "restore"),
    "group": ("group",),
    "demo": ("demo",),
}

# What a command was called before, and what it is called now; the former name goes in the next
# version.
FORMER_NAMES = {"found": "findings"}
# Words that people type for several commands, with what each is.
TWO_MEANINGS = {
    "hold": "'kitting stock hold' keeps a batch from being taken; 'kitting booking park' sets a car"
    " aside with its kit",
}


class Commands(TyperGroup):
    """The commands of `COMMANDS`, each made when it is asked for."""

    def get_help(self, ctx: Any) -> str:
        """Where to begin, then every command by the order of work."""
        from kitting.cli.spoken import choose
        from kitting.wording.language import _

        choose(ctx.params.get("language") or os.environ.get(_LANGUAGE))
        return f"{_(NEW_HERE)}\n\n{help_text(self, ctx)}"

    def get_usage(self, ctx: Any) -> str:
        """How the program is called."""
        return usage(self, ctx)

    def resolve_command(self, ctx: Any, args: list[str]) -> Any:
        """The command that is meant, a former name of one included."""
        from kitting.cli.options import remark

        if args and (meant := TWO_MEANINGS.get(args[0])):
            raise typer.BadParameter(meant, param_hint=repr(args[0]))
        if args and (now := FORMER_NAMES.get(args[0])):
            remark(f"note: 'kitting {args[0]}' is now 'kitting {now}'; write that from now on")
            args = [now, *args[1:]]
        return super().resolve_command(ctx, args)

    def list_commands(self, ctx: Any) -> list[str]:
        """Every name, in the order of the help."""
        return [name for names in COMMANDS.values() for name in names]

    def get_command(self, ctx: Any, cmd_name: str) -> Any:
        """The command of a name; None if there is none (then all are made, to suggest one)."""
        module = next((m for m, names in COMMANDS.items() if cmd_name in names), None)
        for needed in COMMANDS if module is None else (module,):
            if COMMANDS[needed][0] not in self.commands:
                self.commands.update(_made(needed))
        return self.commands.get(cmd_name)


@cache
def _made(module: str) -> dict[str, Any]:
    """The commands that a module of this package registers, made once per process.

    A group would gain the commands that its module adds to it each time they are made.
    """
    part = typer.Typer(rich_markup_mode=None, add_completion=False)
    part.callback()(lambda: None)  # a single command stays a command of a group
    import_module(f"kitting.cli.commands.{module}").register(part)
    commands = dict(typer.main.get_group(part).commands)
    for command in commands.values():
        bound_texts(command)
        helped(command)
    return commands


app = typer.Typer(
    name="kitting",
    cls=Commands,
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)


@app.callback(invoke_without_command=True)
def common(
    context: typer.Context,
    version: Annotated[
        bool, typer.Option("--version", help="Show the version and exit.", is_eager=True)
    ] = False,
    language: Annotated[
        str | None,
        typer.Option(
            "--language",
            metavar="TAG",
            envvar=_LANGUAGE,
            is_eager=True,
            show_envvar=False,
            help="Answer in this language: en, de, en-US (that of the branch).",
        ),
    ] = None,
) -> None:
    """Parts-and-consumables kits for strip-and-refit work on cars.

    Describe the joints of a unit once, then ask for any jobs on a car.
    """
    from kitting.cli.spoken import choose

    choose(language)
    if version:
        from kitting import __version__

        print(f"kitting {__version__}")
        raise typer.Exit
    if context.invoked_subcommand is None:
        print(context.get_help())
        raise typer.Exit(2)


def main() -> None:
    """Run a command; anything the program can explain ends without a traceback."""
    from kitting.cli.exit_codes import ended

    # A command is short and makes few cycles: collecting while it loads finds nothing.
    gc.set_threshold(50_000, 20, 20)
    # Nor is there anything to find at the end, where it would look at every object once more.
    atexit.register(gc.freeze)
    sys.exit(ended(lambda: app(prog_name="kitting")))


if __name__ == "__main__":
    main()
