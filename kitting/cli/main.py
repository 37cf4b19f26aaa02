"""The command line: one thin command per use case. Exit codes: 0 done, 1 failed, 2 usage, 3 no."""

from __future__ import annotations

import sys
from typing import Annotated

import typer

from kitting.cli import (
    booking,
    catalogue,
    curing,
    demo,
    plan,
    ring_age,
    ring_media,
    rings,
    sheet,
    stock,
    supply,
    sureness,
    toolbox,
)
from kitting.errors import FileProblemsError, KittingError

app = typer.Typer(
    name="kitting",
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
) -> None:
    """Parts-and-consumables kits for strip-and-refit work on cars.

    Describe the joints of a unit once, then ask for any jobs on a car.
    """
    if version:
        from kitting import __version__

        print(f"kitting {__version__}")
        raise typer.Exit
    if context.invoked_subcommand is None:
        print(context.get_help())
        raise typer.Exit(2)


catalogue.register(app)
plan.register(app)
app.add_typer(sheet.app, name="sheet")
app.add_typer(toolbox.app, name="toolbox")
rings.app.command("suits")(ring_media.suits)
rings.app.command("age")(ring_age.age)
app.add_typer(rings.app, name="rings")
curing.register(app)
booking.register(app)
supply.register(app)
stock.register(app)
sureness.register(app)
demo.register(app)


def main() -> None:
    """Run a command; anything the program can explain ends without a traceback."""
    try:
        app(prog_name="kitting")
    except FileProblemsError as error:
        count = len(error.problems)
        print(error, file=sys.stderr)
        print(f"{count} fault{'s' * (count != 1)}; nothing was loaded", file=sys.stderr)
        sys.exit(1)
    except KittingError as error:
        print(f"kitting: {error}", file=sys.stderr)
        sys.exit(1)
    except BrokenPipeError:
        # The reader of our output has gone; that is its right.
        sys.stderr.close()
        sys.exit(1)
    except Exception as error:
        reason = database_trouble(error)
        if reason is None:
            raise
        print(f"kitting: {reason}", file=sys.stderr)
        sys.exit(1)


def database_trouble(error: Exception) -> str | None:
    """A database error in a sentence; None for anything else."""
    database_errors = sys.modules.get("sqlalchemy.exc")
    if database_errors is None or not isinstance(error, database_errors.DBAPIError):
        return None
    reason = str(getattr(error, "orig", None) or error).strip().splitlines()[0]
    return (
        f"the database refused: {reason}. Nothing was changed. Check that its file is writable"
        " or its server up, and that nobody holds it locked, then try again"
    )


if __name__ == "__main__":
    main()
