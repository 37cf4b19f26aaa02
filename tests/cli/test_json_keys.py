"""Every key that a command writes as JSON, its type, and the unit of every amount.

The table is `json_keys.csv` beside this file. After a key was renamed on purpose:

    KITTING_JSON_KEYS=write pytest tests/cli/test_json_keys.py -n 0

writes commands, keys and types anew. `unit` and `spot` are kept by hand: the unit that an amount is
in, and a value that has to be among those of the key, which shows that it is in that unit.
"""

from __future__ import annotations

import csv
import json
import os
from collections import defaultdict
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
import typer.main
from PIL import Image
from sqlalchemy import text

from conftest import Templates
from kitting.cli.main import app
from kitting.store import make_engine

TABLE = Path(__file__).with_name("json_keys.csv")
HEADING = ("command", "key", "type", "unit", "spot")
WRITE = os.environ.get("KITTING_JSON_KEYS") == "write"
Run = Callable[..., Any]

NOW = ("--now", "2026-04-02 14:20")
ON = ("--on", "2026-04-15")
PELL = "PELL 117"
BOUGHT = ("buy", "B0001", "--place", *ON, *NOW)
CAME = ("receive", "P0001", "--now", "2026-04-07 11:00")
BY_HAND = ("order", "place", "quandrel", "RING-FKM-17X2.5=1", "--branch", "upper")
RAMP = (
    ("pick", "B0001", *NOW),
    ("booking", "confirm", "B0001", "--incomplete", "test", *NOW),
    ("booking", "ramp", "B0001", *NOW),
)
IN_HAND = (
    ("order", "place", "ombrith", "COOLER-OIL-LATE=1", "--branch", "upper", "--place", *NOW),
    CAME,
)
TOO_MUCH = (
    "receive", "P0001", "--item", "COOLER-OIL-LATE", "--good", "1 each", "--now",
    "2026-04-08 09:00",
)  # fmt: skip
CORE = ("order", "core", "P0001", "COOLER-OIL-LATE", "1 each", "--now", "2026-04-08 09:00")
OF_LOT = ("COOLER-OIL-LATE", "1 each", "--lot", "P0001-COOLER-OIL-LATE", "--why", "test")
SENT = ("stock", "send", "canal", "RING-FKM-17X2.5", "F17-25", "1 each", "--to", "upper", *NOW)


PICKED = RAMP[0]
TOLD = ("--back", "CLIP-CONNECTOR=3 each", "--used-up", "--despite", "test")
GONE = (
    "kit", "draw", "B0001", "CAP-PLUG=1 each", "--why", "dropped", "rolled away", "--by", "Ann",
    *NOW,
)  # fmt: skip
PUT_BACK = ("kit", "return", "B0001", "CAP-PLUG=2 each", "--note", "too many", *NOW)
SPLIT = ("kit", "split", "B0001", "intake=2")


@dataclass(frozen=True)
class Case:
    """A command line that prints JSON, and what is done in the demo garage before.

    `login` is made on the server for it, with a role, and removed afterwards.
    """

    words: tuple[str, ...]
    before: tuple[tuple[str, ...], ...] = ()
    server: bool = False
    login: str | None = None


FOUND = (
    "note", "AB 123", "--joint", "rear hub left", "--position", "hub nut", "--kind", "hub-nut",
    "--count", "1", "--figure", "180 N·m", "--source", "page 12", *NOW,
)  # fmt: skip
PHOTO = ("photo", "add", "kept.png", "--joint", "grebe-4t/oil-drain", "--by", "Ann", *NOW)
CASES = {
    "note": Case(FOUND),
    "words": Case(("words", "kinds", "--about", "hub nut")),
    "photo add": Case(PHOTO),
    "photo copy": Case(
        ("photo", "copy", "1", "--item", "RING-FKM-14X2", *NOW),
        ((*FOUND, "--photo", "kept.png"),),
    ),
    "photo list": Case(("photo", "list"), (PHOTO,)),
    "photo list noted": Case(("photo", "list"), ((*FOUND, "--photo", "kept.png"),)),
    "note shown": Case(("note", "AB 123"), ((*FOUND, "--photo", "kept.png"),)),
    "load": Case(("load", "own.yaml", "--dry-run")),
    "load compared": Case(
        ("load", "shared.yaml", "--compare"), (("load", "own.yaml"), ("load", "head.yaml"))
    ),
    "jobs": Case(("jobs", PELL)),
    "plan": Case(("plan", PELL, "J1", "J2", "J3", "J5", "J7", *ON)),
    "plan stopped": Case(("plan", "PELL 042", "J1", "J2", *ON)),
    "why": Case(("why", PELL, "J1", "J2", "--about", "SEAL-INTAKE", *ON)),
    "meanwhile": Case(("meanwhile", PELL, "J1", "--rate", "60 GBP", *ON)),
    "book": Case(("book", PELL, "J1", "J2", "J3", *ON, "--branch", "upper", *NOW)),
    "today": Case(
        ("today", "--now", "2026-04-07 15:20"),
        (
            ("book", PELL, "J1", "J2", *ON, "--branch", "upper", *NOW),
            ("book", PELL, "J7", "--on", "2026-04-10", "--branch", "upper", *NOW),
            ("buy", "B0002", "--place", *NOW),
            SENT,
            ("stock", "hold", "upper", "SEAL-INTAKE", "SI-2411", "--why", "recalled"),
        ),
    ),
    "booking list": Case(("booking", "list", *NOW)),
    "branch show": Case(("branch", "show")),
    "booking show": Case(("booking", "show", "B0001", *NOW)),
    "booking show ordered": Case(("booking", "show", "B0001", *NOW), (BOUGHT,)),
    "booking show judged": Case(
        ("booking", "show", "B0001", *NOW),
        (("booking", "promise", "B0001", "--shelf", "ARP5316", *NOW),),
    ),
    "booking change": Case(
        ("booking", "change", "B0002", "--drop", "J2", "--on", "2026-04-06", *NOW),
        (
            ("book", PELL, "J1", "J2", *ON, "--branch", "upper", *NOW),
            ("buy", "B0002", "--place", *ON, *NOW),
            ("pick", "B0002", *NOW),
        ),
    ),
    "booking change more": Case(("booking", "change", "B0001", "--add", "J3", *NOW)),
    "booking take": Case(
        ("booking", "take", "B0002", "SEAL-INTAKE", "--from", "B0001"),
        (("book", PELL, "J1", *ON, "--branch", "upper", *NOW),),
    ),
    "booking brought": Case(
        (
            "booking", "brought", "B0001", "SEAL-INTAKE", "1 each", "--shown", "number on the bag",
            "--made", "1Q26", *NOW,
        )
    ),
    "booking handed-back": Case(
        ("booking", "handed-back", "B0001", "SEAL-INTAKE", "1 each", "--why", "left over", *NOW),
        (
            (
                "booking", "brought", "B0001", "SEAL-INTAKE", "2 each", "--shown", "number on the bag",
                *NOW,
            ),
        ),
    ),
    "pick": Case(("pick", "B0001", *NOW)),
    "count": Case(("count", "B0001", "intake=4", *NOW)),
    "close": Case(("close", "B0001", *TOLD, *NOW), RAMP),
    "correct": Case(
        ("correct", "B0001", "--back", "CAP-PLUG=1 each", "--why", "one was left over", *NOW),
        (*RAMP, ("close", "B0001", *TOLD, *NOW)),
    ),
    "kit show": Case(("kit", "show", "B0001", *NOW), (PICKED, GONE, PUT_BACK, SPLIT)),
    "kit show set aside": Case(
        ("kit", "show", "B0001", *NOW),
        (
            *RAMP,
            ("booking", "park", "B0001", "--where", "bay 4", "--why", "waits", "--until",
             "2026-05-01", "--by", "Ann", *NOW),
        ),
    ),
    "kit draw": Case(GONE, (PICKED,)),
    "kit return": Case(PUT_BACK, (PICKED,)),
    "kit swap": Case(
        ("kit", "swap", "B0001", "SEAL-INTAKE=1 each", "--for", "SI-2503", "--dry-run", *NOW),
        (
            PICKED,
            ("stock", "send", "canal", "SEAL-INTAKE", "SI-2503", "2 each", "--to", "upper", *NOW),
            ("stock", "arrive", "1", *NOW),
        ),
    ),
    "kit lend": Case(
        ("kit", "lend", "B0001", "B0002", "CAP-PLUG=2 each", *NOW),
        (PICKED, ("book", PELL, "J1", *ON, "--branch", "upper", *NOW)),
    ),
    "kit split": Case(SPLIT, (PICKED,)),
    "kit move": Case(("kit", "move", "B0001", "van1", *NOW), (PICKED,)),
    "kit label": Case(("kit", "label", "KM324YC0-01")),
    "booking show set aside": Case(
        ("booking", "show", "B0001", *NOW),
        (*RAMP, ("booking", "park", "B0001", "--where", "bay 4", "--why", "waits", *NOW)),
    ),
    "van": Case(
        ("van", "van1", *ON, "--box", "van"),
        (
            ("book", PELL, "J6", *ON, "--branch", "van1", *NOW),
            ("pick", "B0002", *NOW),
        ),
    ),
    "buy": Case(("buy", "B0001", *NOW)),
    "dates": Case(("dates", "B0001", *NOW)),
    "car add": Case(("car", "add", "PELL 230", "--model", "pell", "--by", "Ann", *NOW)),
    "car show": Case(
        ("car", "show", "PELL 042"),
        (
            ("car", "note", "PELL 042", "thread repaired", "--by", "Ann", *NOW),
            ("car", "add", "PELL 042", "--vin", "1M8GDM9AXKP042788", *NOW),
            *RAMP, ("close", "B0001", *TOLD),
        ),
    ),
    "owner show": Case(
        ("owner", "show", PELL), (("owner", "set", PELL, "--name", "A. Sample", *NOW),)
    ),
    "order list": Case(("order", "list"), (BOUGHT,)),
    "order show": Case(("order", "show", "P0001"), (BOUGHT,)),
    "order place": Case((*BY_HAND, *NOW)),
    "order counter": Case(
        (
            "order", "counter", "ombrith", "RING-FKM-17X2.5", "2 each", "--paid", "6.40 GBP",
            "--bill", "4711", "--made", "1Q26", "--branch", "upper", "--for", "B0001", *NOW,
        )
    ),
    "order announce": Case(
        (
            "order", "announce", "P0001", "--due", "2026-04-14", "--why", "van broke down",
            "--now", "2026-04-08 09:00",
        ),
        (BOUGHT,),
    ),
    "order core": Case((*CORE,), IN_HAND),
    "order return": Case(("order", "return", "P0001", *OF_LOT), IN_HAND),
    "order warranty": Case(("order", "warranty", "P0001", *OF_LOT), IN_HAND),
    "order keep": Case(
        ("order", "keep", "P0001", "COOLER-OIL-LATE", "1 each"), (*IN_HAND, TOO_MUCH)
    ),
    "order correct": Case(
        ("order", "correct", "P0001", "COOLER-OIL-LATE", "--why", "test"), IN_HAND
    ),
    "order credit": Case(
        (
            "order", "credit", "P0001", "1", "35 GBP", "--note-no", "CN-1", "--now",
            "2026-04-20 09:00",
        ),
        (*IN_HAND, CORE),
    ),
    "receive": Case((*CAME,), (BOUGHT,)),
    "stock list": Case(("stock", "list", *ON)),
    "stock list low": Case(
        ("stock", "list", "--low", "--now", "2026-04-20 09:00"),
        (RAMP[0], ("stock", "count", "upper", "CAP-PLUG", "CP-01", "2 each", *NOW)),
    ),
    "stock list on the way": Case(("stock", "list", "--on-the-way"), (SENT,)),
    "stock extend": Case(
        (
            "stock", "extend", "upper", "RING-NBR-11X2", "N11-18", "--seen", "no crack",
            "--on", "2025-05-02",
        )
    ),
    "recall": Case(
        ("recall", "SI-2411", *ON),
        (*RAMP[:1], ("stock", "hold", "upper", "SEAL-INTAKE", "SI-2411", "--why", "recalled")),
    ),
    "toolbox list": Case(("toolbox", "list")),
    "toolbox check": Case(("toolbox", "check", PELL, "J3", "--box", "bay", *ON)),
    "toolbox buy": Case(("toolbox", "buy", PELL, "J2", "--box", "van", *ON)),
    "toolbox reach": Case(("toolbox", "reach", "--box", "van", *ON)),
    "rings find": Case(
        ("rings", "find", "--groove", "17.2 mm", "--bore", "21.3 mm", "--width", "3.4 mm")
    ),
    "rings gland": Case(
        (
            "rings", "gland", "--size", "214", "--shallowest", "2.79 mm", "--deepest", "2.95 mm",
            "--width", "4.6 mm",
        )
    ),
    "rings set": Case(
        ("rings", "set", "--new", "2.50 mm", "--used", "2.24 mm", "--depth", "1.95 mm")
    ),
    "rings suits": Case(("rings", "suits", "EPDM", "water-based-lubricant", "glycol-coolant")),
    "rings age": Case(("rings", "age", "NBR", "--made", "2Q18", *ON)),
    "cure": Case(("cure", PELL, "J3", "--parked", "3 h", *ON)),
    "sure": Case(("sure", PELL, "J1", "J2", *ON, "--branch", "upper", *NOW)),
    "learned": Case(("learned",)),
    "levels": Case(
        ("levels", "--branch", "upper", "--target", "95%", "--now", "2026-04-20 09:00"), RAMP[:1]
    ),
    "audit": Case(("audit",)),
    "backup": Case(("backup", "kitting-backup.db")),
    "restore": Case(
        ("restore", "kitting-backup.db", "--replace"), (("backup", "kitting-backup.db"),)
    ),
    "group roles": Case(("group", "roles"), server=True),
    "group list": Case(
        ("group", "list"), (("group", "roles"),), server=True, login="keeper_of_keys"
    ),
}  # fmt: skip


def keys(plain: Any, path: str = "") -> Iterator[tuple[str, Any]]:
    """Every key with each of its values: "needs[].sources[].lot", "A"."""
    if isinstance(plain, dict):
        for name, value in plain.items():
            here = f"{path}.{name}" if path else name
            yield here, value
            yield from keys(value, here)
    elif isinstance(plain, list):
        here = f"{path}[]"
        for value in plain:
            if not isinstance(value, dict | list):
                yield here, value
            yield from keys(value, here)


def sort_of(value: Any) -> str:
    """What a value is in JSON."""
    if value is None:
        return "null"
    names = {bool: "true or false", str: "text", list: "list", dict: "object"}
    return names.get(type(value), "number")


def gathered(plain: Any) -> tuple[dict[str, str], dict[str, list[Any]]]:
    """The type of each key ("null or text"), and its values."""
    values: dict[str, list[Any]] = defaultdict(list)
    for key, value in keys(plain):
        values[key].append(value)
    return (
        {key: " or ".join(sorted(set(map(sort_of, found)))) for key, found in values.items()},
        values,
    )


def read_table() -> list[dict[str, str]]:
    with TABLE.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def write_table(command: str, types: dict[str, str]) -> None:
    """Put the keys of a command into the table; units and spots of keys that stay are kept."""
    rows = read_table() if TABLE.exists() else []
    known = {row["key"]: row for row in rows if row["command"] == command}
    own = [
        {
            "command": command, "key": key, "type": sort,
            "unit": known.get(key, {}).get("unit", ""),
            "spot": known.get(key, {}).get("spot", ""),
        }
        for key, sort in types.items()
    ]  # fmt: skip
    order = list(CASES)
    others = [row for row in rows if row["command"] != command and row["command"] in CASES]
    everything = sorted([*others, *own], key=lambda row: order.index(row["command"]))
    with TABLE.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, HEADING, lineterminator="\n")
        writer.writeheader()
        writer.writerows(everything)


OWN = """
items:
  - {code: OWN-RING, name: Own ring, kind: o-ring, elastomer: FKM}
"""
HEAD = "about: {author: A. Sample, source: handbook, version: '1', licence: free}"
SHARED = OWN.replace("name: Own ring", "name: Shared ring, colour: green")


def printed(run: Run, case: Case, where: tuple[str, ...]) -> Any:
    """What a command prints, after what goes before it."""
    for words in case.before:
        assert run(*words, *where).code in (0, 3), words
    with logged_in(case.login, where):
        ended = run(*case.words, "--json", *where)
    assert ended.code in (0, 3), ended.err
    return json.loads(ended.out)


@contextmanager
def logged_in(login: str | None, where: tuple[str, ...]) -> Iterator[None]:
    """A login of the server of a database, for as long as it is asked for."""
    if login is None:
        yield
        return
    engine = make_engine(where[-1])
    with engine.begin() as connection:
        connection.execute(text(f"CREATE ROLE {login} LOGIN IN ROLE kitting_hand"))
    try:
        yield
    finally:
        with engine.begin() as connection:
            connection.execute(text(f"DROP ROLE {login}"))
        engine.dispose()


@pytest.mark.parametrize("command", CASES)
def test_the_keys_types_and_units_of_the_json_are_those_of_the_table(
    garage_folder: Path, templates: Templates, run: Run, command: str
) -> None:
    case = CASES[command]
    (garage_folder / "own.yaml").write_text(OWN, encoding="utf-8")
    (garage_folder / "head.yaml").write_text(HEAD + OWN, encoding="utf-8")
    (garage_folder / "shared.yaml").write_text(
        HEAD.replace("A. Sample", "B. Other") + SHARED, encoding="utf-8"
    )
    Image.new("RGB", (40, 30)).save(garage_folder / "kept.png")
    where: tuple[str, ...] = ()
    if case.server:
        where = ("--database", templates.copy("postgresql", "garage", garage_folder))
    types, values = gathered(printed(run, case, where))
    if WRITE:
        write_table(command, types)
    rows = [row for row in read_table() if row["command"] == command]
    assert types == {row["key"]: row["type"] for row in rows}
    for row in rows:
        if row["spot"]:
            assert row["unit"], row
            assert float(row["spot"]) in values[row["key"]], row


def leaves(command: Any, path: tuple[str, ...] = ()) -> Iterator[tuple[tuple[str, ...], Any]]:
    """Every command with its options."""
    if hasattr(command, "list_commands"):
        for name in command.list_commands(None):
            yield from leaves(command.get_command(None, name), (*path, name))
    else:
        yield path, command


def test_every_command_that_prints_json_is_in_the_table() -> None:
    printing = {
        " ".join(path)
        for path, command in leaves(typer.main.get_command(app))
        if any("--json" in parameter.opts for parameter in command.params)
    }
    shown = {" ".join(case.words[:2]) for case in CASES.values()} & printing
    shown |= {case.words[0] for case in CASES.values()} & printing
    # What it prints of a login depends on the server's logins; its keys are those of `group list`.
    assert printing - shown == {"group member"}


def test_every_number_has_a_unit() -> None:
    """A number is a count, a chance, or an amount in a unit: none goes without it.

    "stock unit" is the unit that the item is stocked in: pieces, ml, g or mm.
    """
    lacking = [
        f"{row['command']}: {row['key']}"
        for row in read_table()
        if "number" in row["type"] and not row["unit"]
    ]
    assert lacking == []
