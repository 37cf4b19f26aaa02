"""Start-up: commands as whole processes, against importing what any such program imports."""

from __future__ import annotations

import os
import re
import shlex
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

from .harness import Name, Row, by_turns
from .setting import Setting

HELP_GOAL, COMMAND_GOAL = 1.3, 1.5
BARE = "import typer, rich, sqlalchemy"
PLAN = '"PELL 117" J1 J2 --on 2026-04-15'
NOW = '--now "2026-04-02 14:20"'
COMMANDS = (
    ("--help", HELP_GOAL),
    ("plan --help", HELP_GOAL),
    (f"plan {PLAN}", COMMAND_GOAL),
    (f"plan {PLAN} --json", COMMAND_GOAL),
    ('jobs "PELL 117"', COMMAND_GOAL),
    (f"why {PLAN} --about HOSE-HEATER", COMMAND_GOAL),
    ('meanwhile "PELL 117" J1 --on 2026-04-15', COMMAND_GOAL),
    ("booking list", COMMAND_GOAL),
    ("stock list --on 2026-04-02", COMMAND_GOAL),
    ('rings find --inside "17.0 mm" --section "2.5 mm"', COMMAND_GOAL),
    ("rings age NBR --made 2Q18 --on 2026-04-15", COMMAND_GOAL),
    ('toolbox check "PELL 117" J3 --box bay --on 2026-04-15', COMMAND_GOAL),
    (f'sure "PELL 117" J1 J2 --on 2026-04-20 --branch upper {NOW}', COMMAND_GOAL),
    (f"dates B0001 {NOW}", COMMAND_GOAL),
    (f"buy B0001 {NOW}", COMMAND_GOAL),
    (f"sheet pick {PLAN} --out pick.pdf", COMMAND_GOAL),
    (f"sheet labels {PLAN} --out labels.pdf", COMMAND_GOAL),
)
# Done, or an honest no: anything else would time a failure.
_FINE = (0, 3)


def _asked(setting: Setting) -> Iterator[tuple[str, float, Name]]:
    for command, goal in COMMANDS[1:3] if setting.quick else COMMANDS:
        # Dates and times are given so that answers stay the same; they say nothing of the work.
        said = re.sub(r' --(?:on|now|out) (?:"[^"]*"|\S+)', "", command)
        yield command, goal, (f"kitting {said}", "the demo", BARE)


def names(setting: Setting) -> Iterator[Name]:
    """What the rows are called."""
    return (name for _, _, name in _asked(setting))


def run(setting: Setting) -> Iterator[Row]:
    """Each command on the demo, by turns with a bare import."""
    folder = setting.folder / "startup"
    folder.mkdir()
    _done(_program("demo demo"), folder)
    garage = folder / "demo"
    for command, goal, name in _asked(setting):
        pairs = by_turns(_process(_program(command), garage), bare(garage), setting.runs)
        yield pairs.row(*name, goal)


def _program(command: str) -> list[str]:
    return [
        sys.executable,
        "-c",
        "from kitting.cli.main import main; main()",
        *shlex.split(command),
    ]


def bare(folder: Path) -> Callable[[], None]:
    """A process that imports what any command line of this kind imports."""
    return _process([sys.executable, "-c", BARE], folder)


def _process(words: list[str], folder: Path) -> Callable[[], None]:
    return lambda: _done(words, folder)


def _done(words: list[str], folder: Path) -> None:
    environment = {
        name: value for name, value in os.environ.items() if name != "KITTING_DATABASE_URL"
    }
    done = subprocess.run(words, cwd=folder, env=environment, capture_output=True, check=False)
    if done.returncode not in _FINE:
        raise RuntimeError(
            f"{words[3:]} ended with {done.returncode}: {done.stderr.decode()[-500:]}"
        )
