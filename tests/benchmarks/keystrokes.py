"""Keystrokes of the ten commonest actions: as they were typed before, and as they are typed now.

`python tests/benchmarks keystrokes` prints the table. Counted is what is typed, with the Enter at the
end of each line; completion and history of the shell are not. *Before* is how it was done on 25
November 2026, before bookings could be changed: the commands of the README of that day. *Now* is how
it is done today: a line that the program does not have yet is named so, and its count is left open.
"""

from __future__ import annotations

import shlex
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import typer.main

from kitting.cli.main import app

NOTE = "note.csv"


@dataclass(frozen=True)
class Action:
    """What somebody does: the lines typed before and now, for so many pieces of work (`per`).

    `halved` are those that were to take at most half of the keys.
    """

    what: str
    before: tuple[str, ...]
    now: tuple[str, ...]
    per: int = 1
    halved: bool = False


# The parts of one order: item, the supplier's number on the packet, how many, batch, cure date.
PARTS = (
    ("SEAL-INTAKE", "OM-4417-0", 4, "SI-2606", "1Q26"),
    ("RING-FKM-17X2.5", "OM-4402-1", 1, "F17-26", "1Q26"),
    ("RING-EPDM-17X2", "OM-4402-2", 1, "E17-26", "1Q26"),
    ("SEAL-COOLER-LATE", "OM-4431-0", 3, "CL-26", "1Q26"),
)
LOOKS = ("port 1", "port 2", "port 3", "port 4")
ACTIONS = (
    Action(
        "a new customer's car",
        (
            "vehicles:",
            "  - {registration: PELL 200, model: pell, build_date: 2019-05-07}",
            "kitting check pell200.yaml",
            "kitting load pell200.yaml",
        ),
        ('kitting car add "PELL 200" --model pell --built 2019-05-07',),
        halved=True,
    ),
    Action(
        '"which day?" on the telephone',
        (
            'kitting book "PELL 117" J1 J2 --on 2026-04-15 --branch upper',
            "kitting dates B0002",
            "kitting booking cancel B0002",
        ),
        ('kitting dates "PELL 117" J1 J2 --branch upper',),
        halved=True,
    ),
    Action(
        "goods in with dates, a line of a delivery of four",
        tuple(
            f'kitting receive P0001 --item {item} --good "{count} each" --made {made} --lot {lot}'
            for item, _, count, lot, made in PARTS
        ),
        (
            "part,good,lot,made",
            *(f"{part},{count} each,{lot},{made}" for _, part, count, lot, made in PARTS),
            f"kitting receive 1 --file {NOTE}",
        ),
        per=len(PARTS),
        halved=True,
    ),
    Action(
        "close a job of which three spares passed their look",
        (
            'kitting close B0002 --back "CLIP-CONNECTOR=2 each" --back "HOSE-HEATER=1 each"'
            ' --back "CLAMP-WORM-25=1 each"',
        ),
        ("kitting close 2 --used-up",),
        halved=True,
    ),
    Action(
        "a finding, of four at a joint",
        tuple(f'kitting findings B0002 intake "{look}" passed' for look in LOOKS),
        ("kitting findings 2 " + " ".join(f'"intake:{look}=passed"' for look in LOOKS),),
        per=len(LOOKS),
    ),
    Action(
        "one job more, found on the ramp",
        (
            "kitting booking cancel B0002",
            'kitting book "PELL 117" J1 J2 J5 --on 2026-04-15 --branch upper',
            "kitting pick B0003",
        ),
        ("kitting booking change 2 --add J5 --make", "kitting pick 2"),
    ),
    Action(
        "another day",
        (
            "kitting booking cancel B0002",
            'kitting book "PELL 117" J1 J2 --on 2026-04-16 --branch upper',
            "kitting pick B0003",
        ),
        ("kitting booking change 2 --on 2026-04-16 --make",),
    ),
    Action(
        "what slips today",
        (
            "kitting booking list --branch upper",
            "kitting order list --branch upper",
            "kitting stock list --branch upper",
            "kitting stock list --on-the-way",
        ),
        ("kitting today",),
    ),
    Action(
        "pick a kit",
        ("kitting pick B0002",),
        ("kitting pick 2",),
    ),
    Action(
        "count the old seals",
        ("kitting count B0002 intake=4 rear-pipe-pump=1",),
        ("kitting count 2 intake=4 rear-pipe-pump=1",),
    ),
)  # fmt: skip


def typed(lines: Sequence[str]) -> int:
    """The keys of some lines, Enter included."""
    return sum(len(line) + 1 for line in lines)


def missing(line: str) -> str | None:
    """What of a line the program does not have: a command or an option; None if it has it all."""
    first, *words = shlex.split(line)
    if first != "kitting":
        return None
    command: Any = typer.main.get_command(app)
    while hasattr(command, "list_commands"):
        name = words.pop(0)
        command = command.get_command(None, name)
        if command is None:
            return name
    known = {option for one in command.params for option in (*one.opts, *one.secondary_opts)}
    return next((word for word in words if word.startswith("--") and word not in known), None)


def lacking(action: Action) -> str | None:
    """What of an action is not there yet."""
    return next((word for line in action.now if (word := missing(line))), None)


def main(_words: Sequence[str] = ()) -> int:
    """Print the table; 1 if an action that was to be halved is not."""
    width = max(len(action.what) for action in ACTIONS)
    print(f"{'keystrokes':{width}}  before    now  share")
    wrong = 0
    for action in ACTIONS:
        before = typed(action.before) / action.per
        if word := lacking(action):
            print(f"{action.what:{width}}  {before:6.0f}      –  not there yet: {word}")
            continue
        now = typed(action.now) / action.per
        verdict = ""
        if action.halved:
            verdict = "  at most half: yes" if 2 * now <= before else "  at most half: NO"
            wrong += 2 * now > before
        print(f"{action.what:{width}}  {before:6.0f} {now:6.0f}  {now / before:4.0%}{verdict}")
    return min(wrong, 1)
