"""The command line: exit codes, JSON, errors without traceback, nothing half-written."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import typer.main
from commands import every_command
from PIL import Image

from kitting.cli.commands import bookings
from kitting.cli.commands.demo import program_from
from kitting.cli.main import COMMANDS as TABLE
from kitting.cli.main import _made, app

Run = Callable[..., Any]


# Commands that ask something: their example may be answered with no.
ASKING = {
    ("today",),
    ("toolbox", "check"), ("toolbox", "buy"), ("sheet", "tools"), ("book",), ("booking", "show"),
    ("booking", "promise"), ("booking", "take"), ("booking", "brought"), ("booking", "handed-back"), ("pick",), ("buy",), ("dates",), ("van",),
    ("recall",), ("sure",), ("cure",), ("plan",), ("sheet", "plan"), ("sheet", "pick"), ("sheet", "labels"),
    ("sheet", "seals"), ("sheet", "tighten"), ("sheet", "strip"), ("sheet", "refit"), ("booking", "exchange"), ("booking", "change"),
    ("sheet", "removal"), ("sheet", "findings"),
    ("findings",), ("booking", "park"), ("booking", "resume"), ("kit", "draw"), ("kit", "lend"),
}  # fmt: skip
# What has to be done in the demo garage before an example can be copied.
NOW = ("--now", "2026-04-02 14:20")
ORDERED = [("buy", "B0001", "--place", "--on", "2026-04-15", *NOW)]
ON_THE_RAMP = [
    ("booking", "confirm", "B0001", "--incomplete", "test", *NOW),
    ("booking", "ramp", "B0001"),
]
IN_HAND = [
    (
        "order", "place", "ombrith", "NUT-EXH-M8=4", "COOLER-OIL-LATE=1", "--branch", "upper",
        "--place", *NOW,
    ),
    ("receive", "P0001", "--now", "2026-04-07 11:00"),
]  # fmt: skip
TOO_MUCH = [
    *IN_HAND,
    ("receive", "P0001", "--item", "NUT-EXH-M8", "--good", "1 each", "--now", "2026-04-07 11:30"),
]
SENT_BACK = [
    *IN_HAND,
    (
        "order", "return", "P0001", "NUT-EXH-M8", "1 each", "--lot", "P0001-NUT-EXH-M8", "--why",
        "too many",
    ),
]  # fmt: skip
COUNTED = (
    "count", "B0001", "rear-pipe-heater=1", "rear-pipe-pump=1", "coolant-drain=1", "intake=5",
)  # fmt: skip
TOLD = ("close", "B0001", "--used-up", "--back", "CLIP-CONNECTOR=3 each")
PARKED = ("booking", "park", "B0001", "--where", "bay 4", "--why", "waits", *NOW)
FROM_CANAL = [
    ("stock", "send", "canal", "SEAL-INTAKE", "SI-2503", "4 each", "--to", "upper", *NOW),
    ("stock", "arrive", "1", *NOW),
]
KEPT_PHOTO = [("photo", "add", "my-plug.png", "--item", "PLUG-OIL-M14", *NOW)]
OWNED = [("owner", "set", "PELL 117", "--name", "A. Sample")]
BEFORE: dict[tuple[str, ...], list[tuple[str, ...]]] = {
    **dict.fromkeys([("order", "show"), ("order", "cancel"), ("order", "announce"), ("receive",), ("sheet", "order")], ORDERED),
    **dict.fromkeys([("order", name) for name in ("return", "core", "warranty", "correct")], IN_HAND),
    ("order", "credit"): SENT_BACK,
    ("order", "keep"): TOO_MUCH,
    ("booking", "take"): [("book", "PELL 117", "J1", "--on", "2026-04-15", "--branch", "upper", *NOW)],
    ("booking", "ramp"): ON_THE_RAMP[:1],
    ("booking", "handed-back"): [
        ("booking", "brought", "B0001", "SEAL-INTAKE", "2 each", "--shown", "on the bag", *NOW)
    ],
    ("close",): [("pick", "B0001"), *ON_THE_RAMP, COUNTED],
    ("correct",): [("pick", "B0001"), *ON_THE_RAMP, COUNTED, TOLD],
    ("booking", "park"): [("pick", "B0001"), *ON_THE_RAMP],
    ("booking", "resume"): [("pick", "B0001"), *ON_THE_RAMP, PARKED],
    ("kit", "draw"): [("pick", "B0001", *NOW)],
    ("kit", "move"): [("pick", "B0001", *NOW)],
    ("kit", "return"): [("pick", "B0001", *NOW)],
    ("kit", "swap"): [("pick", "B0001", *NOW), *FROM_CANAL],
    ("kit", "lend"): [
        ("pick", "B0001", *NOW),
        ("book", "PELL 117", "J1", "--on", "2026-04-15", "--branch", "upper", *NOW),
    ],
    ("levels",): [("pick", "B0001", *NOW)],
    ("photo", "save"): KEPT_PHOTO,
    ("photo", "copy"): KEPT_PHOTO,
    ("photo", "remove"): KEPT_PHOTO,
    ("owner", "show"): OWNED,
    ("owner", "forget"): OWNED,
    ("restore",): [("backup", "kitting-backup.db")],
    ("stock", "release"): [
        ("stock", "hold", "upper", "RING-NBR-11X2", "N11-24", "--why", "wrong colour", *NOW)
    ],
    ("stock", "arrive"): [
        ("stock", "send", "canal", "RING-FKM-17X2.5", "F17-25", "1 each", "--to", "upper", *NOW)
    ],
}  # fmt: skip
NO = 3
COMMANDS = every_command()


def test_the_commands_are_the_documented_ones() -> None:
    assert set(COMMANDS) == {
        ("guide",),
        ("note",),
        ("words",),
        ("export",),
        ("workbook",),
        ("photo", "add"),
        ("photo", "copy"),
        ("photo", "list"),
        ("photo", "save"),
        ("photo", "remove"),
        ("order", "place"),
        ("order", "counter"),
        ("order", "announce"),
        ("order", "keep"),
        ("order", "return"),
        ("order", "core"),
        ("order", "warranty"),
        ("order", "credit"),
        ("order", "correct"),
        ("booking", "brought"),
        ("booking", "handed-back"),
        ("setup",),
        ("check",),
        ("load",),
        ("jobs",),
        ("settle",),
        ("branch", "ramps"),
        ("branch", "technicians"),
        ("branch", "show"),
        ("car", "add"),
        ("car", "note"),
        ("car", "show"),
        ("owner", "set"),
        ("owner", "show"),
        ("owner", "forget"),
        ("plan",),
        ("why",),
        ("meanwhile",),
        ("sheet", "plan"),
        ("sheet", "pick"),
        ("sheet", "tools"),
        ("sheet", "tighten"),
        ("sheet", "refit"),
        ("sheet", "labels"),
        ("sheet", "ruler"),
        ("sheet", "stocks"),
        ("sheet", "order"),
        ("sheet", "removal"),
        ("sheet", "dates"),
        ("sheet", "findings"),
        ("sheet", "strip"),
        ("rings", "find"),
        ("rings", "gland"),
        ("rings", "set"),
        ("rings", "suits"),
        ("rings", "age"),
        ("cure",),
        ("stock", "extend"),
        ("sheet", "seals"),
        ("sure",),
        ("learned",),
        ("levels",),
        ("declined",),
        ("today",),
        ("book",),
        ("booking", "list"),
        ("booking", "show"),
        ("booking", "promise"),
        ("booking", "exchange"),
        ("booking", "take"),
        ("booking", "confirm"),
        ("booking", "ramp"),
        ("booking", "cancel"),
        ("booking", "park"),
        ("booking", "resume"),
        ("kit", "show"),
        ("kit", "draw"),
        ("kit", "return"),
        ("kit", "swap"),
        ("kit", "lend"),
        ("kit", "split"),
        ("kit", "move"),
        ("kit", "label"),
        ("booking", "change"),
        ("prices",),
        ("buy",),
        ("dates",),
        ("order", "list"),
        ("order", "show"),
        ("order", "cancel"),
        ("receive",),
        ("pick",),
        ("count",),
        ("findings",),
        ("close",),
        ("correct",),
        ("van",),
        ("stock", "load"),
        ("stock", "list"),
        ("stock", "count"),
        ("stock", "hold"),
        ("stock", "release"),
        ("stock", "scrap"),
        ("stock", "send"),
        ("stock", "arrive"),
        ("recall",),
        ("toolbox", "load"),
        ("toolbox", "offers"),
        ("toolbox", "list"),
        ("toolbox", "lend"),
        ("toolbox", "away"),
        ("toolbox", "back"),
        ("toolbox", "resolution"),
        ("toolbox", "check"),
        ("toolbox", "buy"),
        ("toolbox", "reach"),
        ("demo",),
        ("audit",),
        ("backup",),
        ("restore",),
        ("group", "roles"),
        ("group", "member"),
        ("group", "list"),
    }


@pytest.mark.parametrize("path", COMMANDS, ids=" ".join)
def test_every_help_begins_with_a_sentence_and_has_an_example(path: tuple[str, ...]) -> None:
    text = COMMANDS[path].help
    assert re.match(r"[A-Z][^\n]*\.|[A-Z][^\n]*\n[^\n]*\.", text), text
    assert f"Example: kitting {' '.join(path)}" in text


@pytest.mark.parametrize("path", COMMANDS, ids=" ".join)
def test_every_example_can_be_copied(path: tuple[str, ...], run: Run, garage_folder: Path) -> None:
    import shlex

    (garage_folder / "my-items.yaml").write_text("items: []\n")
    (garage_folder / "my-engine.yaml").write_text("units: []\n")
    (garage_folder / "my-tools.csv").write_text("box,code,sort\nmine,G-1,angle gauge\n")
    (garage_folder / "my-offers.csv").write_text(
        "offer,supplier,way,price,code,sort\nG-1,Fennimuth,buy,16.00 GBP,G-1,angle gauge\n"
    )
    (garage_folder / "my-stock.csv").write_text(
        "branch,item,lot,quantity\nupper,WASHER-AL-14X20,WA-09,3 each\n"
    )
    (garage_folder / "my-findings.csv").write_text(
        "on,unit,joint,position,item,found\n"
        "2026-01-05,grebe-4t,intake,connectors on the manifold,CLIP-CONNECTOR,passed\n"
    )
    (garage_folder / "my-ramps.csv").write_text("branch,ramp,takes,hours\nupper,R1,to 3.5 t,8 h\n")
    (garage_folder / "my-technicians.csv").write_text(
        "branch,technician,mon,licences\nupper,T1,8 h,refrigerant to 2027-03-31\n"
    )
    (garage_folder / "my-prices.csv").write_text("part,price\nX-1,2.00 GBP\n")
    Image.new("RGB", (40, 30)).save(garage_folder / "my-plug.png")
    for words in BEFORE.get(path, ()):
        run(*words)
    example = COMMANDS[path].help.split("Example: kitting ")[1].splitlines()[0]
    ended = run(*shlex.split(example))
    if path[0] == "group":
        # These run for real in tests/services/test_roles.py; this garage is a file.
        assert (ended.code, "belong to a PostgreSQL server" in ended.err) == (1, True)
        return
    assert ended.code in (0, NO if path in ASKING else 0), ended.err


def test_the_version_is_told_and_no_command_is_a_usage_fault(run: Run, empty_folder: Path) -> None:
    told = run("--version")
    assert (told.code, told.out.split()[0]) == (0, "kitting")
    nothing = run()
    assert nothing.code == 2
    assert "Usage: kitting" in nothing.out + nothing.err


def test_setup_then_load_then_plan_on_a_new_folder(run: Run, empty_folder: Path) -> None:
    ended = run("plan", "PELL 001", "X1")
    assert ended.code == 1
    assert "Next: kitting setup, or the same command with --database URL" in ended.err
    assert run("setup").code == 0
    assert run("setup").out.strip() != ""
    (empty_folder / "x.yaml").write_text("items: [{code: R, name: R, kind: o-ring}]")
    assert "items" in run("load", "x.yaml").out
    assert run("load", "x.yaml", "--json").code == 0


def test_a_plan_prints_its_json_on_stdout_only(run: Run, garage_folder: Path) -> None:
    ended = run("plan", "PELL 117", "J1", "J2", "--on", "2026-04-15", "--json")
    assert (ended.code, ended.err) == (0, "")
    plain = json.loads(ended.out)
    assert plain["hours"] == {"total": 5.7, "apart": 7.3, "saved": 1.6}


def test_an_open_variant_ends_with_3_and_says_which_check_decides(
    run: Run, garage_folder: Path
) -> None:
    ended = run("plan", "PELL 042", "J1", "J2")
    assert ended.code == 3
    assert "STOPPED: settle 'cooler' first" in ended.out
    assert "Look at the cooler from above" in ended.out
    assumed = run("plan", "PELL 042", "J2", "--assume", "cooler=late")
    assert ("STOPPED" in assumed.out, "Verdict: FINE" in assumed.out) == (False, True)
    assert run("settle", "PELL 042", "cooler", "late").out == "PELL 042: cooler is late\n"
    assert "STOPPED" not in run("plan", "PELL 042", "J1", "J2").out


def test_sheets_of_a_partly_stopped_plan_end_with_3_but_are_written(
    run: Run, garage_folder: Path
) -> None:
    ended = run("sheet", "pick", "PELL 042", "J1", "J2", "--out", "pick.pdf")
    assert ended.code == 3
    assert (garage_folder / "pick.pdf").read_bytes().startswith(b"%PDF")
    labels = run("sheet", "labels", "PELL 042", "J2", "--out", "labels.pdf")
    assert (labels.code, "1 STOPPED" in labels.err) == (NO, True)
    assert (garage_folder / "labels.pdf").read_bytes().startswith(b"%PDF")


@pytest.mark.parametrize(
    ("words", "code", "message"),
    [
        (("plan", "PELL 118", "J1"), 1, "Did you mean PELL 117"),
        (("plan", "PELL 117", "J1", "--on", "15.4.2026"), 2, "is no date"),
        (("plan", "PELL 042", "J2", "--assume", "cooler"), 2, "is no VARIANT=OPTION"),
        (("plan", "PELL 042", "J2", "--assume", "cooler=round"), 1, "has no option 'round'"),
        (("plan", "PELL 117"), 2, "Missing argument"),
        (("settle", "PELL 042", "coolr", "late"), 1, "no variant 'coolr'"),
        (("check",), 2, "name at least one file"),
        (("check", "none.yaml"), 1, "No such file"),
        (("sheet", "labels", "PELL 117", "J1", "--stock", "none"), 1, "none"),
        (("sheet", "labels", "PELL 117", "J1", "--start", "99"), 1, "99"),
        (("sheet", "labels", "PELL 117", "J1", "--offset", "a"), 2, "is no offset"),
        (("sheet", "pick", "PELL 117", "J1", "--paper", "A5"), 1, "A5"),
        (("sheet", "pick", "PELL 117", "J1", "--out", "no/where/x.pdf"), 1, "cannot be written"),
        (("why", "PELL 117", "J1", "--about", "zzz"), 1, "nothing in this plan is called"),
        (("jobs", "--database", "mysql://x/y"), 1, "only sqlite and postgresql"),
        (("nonsense",), 2, "No such command"),
    ],
)  # fmt: skip
def test_bad_input_is_told_in_a_sentence(
    run: Run, garage_folder: Path, words: tuple[str, ...], code: int, message: str
) -> None:
    ended = run(*words)
    assert ended.code == code, ended
    assert message in " ".join(ended.err.replace("│", " ").split())
    assert "Traceback" not in ended.err
    assert sorted(path.suffix for path in garage_folder.iterdir()) in (
        [".db"],
        [".db", ".db-shm", ".db-wal"],
    )


def test_check_tells_every_fault_and_needs_no_database(run: Run, empty_folder: Path) -> None:
    (empty_folder / "x.yaml").write_text(
        "items:\n  - {code: A, name: A, kind: o-rng}\n  - {code: B, name: B, kind: bol}\n"
    )
    ended = run("check", "x.yaml")
    assert ended.code == 1
    assert ended.err.splitlines() == [
        "x.yaml:2: item A: kind 'o-rng': unknown name. Did you mean o-ring?",
        "x.yaml:3: item B: kind 'bol': unknown name. Did you mean bolt?",
        "2 faults; nothing was loaded",
    ]
    (empty_folder / "x.yaml").write_text("items: [{code: A, name: A, kind: o-ring}]")
    assert run("check", "x.yaml").code == 0


def test_check_prints_the_published_schema(run: Run, empty_folder: Path) -> None:
    from importlib.resources import files

    published = (files("kitting.files.catalogue") / "catalogue.schema.json").read_text("utf-8")
    assert run("check", "--schema").out == published


def test_hostile_text_is_shown_as_it_is(run: Run, garage_folder: Path) -> None:
    (garage_folder / "x.yaml").write_text(
        "models: [{code: m, name: '[bold red]m[/] \\u202e', units: [nib-3]}]\n"
        "vehicles: [{registration: '[/x] 1', model: m}]\n"
    )
    assert run("load", "x.yaml").code == 0
    ended = run("plan", "[/x] 1", "J9")
    assert ended.code == 0
    assert "[bold red]m[/]" in ended.out


def test_the_demo_makes_its_folder_and_leaves_other_folders_alone(
    run: Run, empty_folder: Path
) -> None:
    ended = run("demo", "here")
    assert ended.code == 0, ended.err
    assert {path.name for path in (empty_folder / "here").iterdir()} >= {
        "kitting.db",
        "plan.txt",
        "plan.json",
        "pick-list.pdf",
        "labels.pdf",
    }
    assert "1.6 h saved by sharing" in ended.out
    assert ended.err.splitlines()[-6:] == [
        "Open first: here/labels.pdf, a label for every bag and ring end.",
        "Then: here/pick-list.pdf, what to fetch from which bin.",
        "Next: copy these lines:",
        "  cd here",
        "  kitting jobs",
        '  kitting plan "PELL 042" J1 J2',
    ]
    assert json.loads((empty_folder / "here" / "plan.json").read_text())["hours"]["saved"] == 1.6
    assert run("demo", "here").code == 0
    (empty_folder / "other").mkdir()
    (empty_folder / "other" / "mine.txt").write_text("mine")
    refused = run("demo", "other")
    assert refused.code == 1
    assert "holds other things" in refused.err
    assert [path.name for path in (empty_folder / "other").iterdir()] == ["mine.txt"]


def test_the_lines_of_the_demo_name_the_program_as_it_is_found_from_the_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    programs = tmp_path / ".venv" / "bin"
    programs.mkdir(parents=True)
    program = programs / "kitting"
    program.write_text("#!/bin/sh\n")
    program.chmod(0o755)
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("PATH", str(tmp_path))
    assert program_from(Path("a demo"), ".venv/bin/kitting") == "../.venv/bin/kitting"
    assert program_from(tmp_path / "x" / "y", str(program)) == "../../.venv/bin/kitting"
    assert program_from(Path("here"), "/nowhere/kitting") == "kitting"
    assert program_from(Path("here"), "python -m") == "kitting"
    monkeypatch.setenv("PATH", str(programs))
    assert program_from(Path("here"), ".venv/bin/kitting") == "kitting"


def test_a_locked_database_is_told_in_a_sentence(
    run: Run, garage_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import sqlite3

    monkeypatch.setattr("kitting.store.BUSY_TIMEOUT_MS", 50)
    holder = sqlite3.connect(garage_folder / "kitting.db", isolation_level=None)
    holder.execute("BEGIN IMMEDIATE")
    ended = run("settle", "PELL 042", "cooler", "late")
    holder.close()
    assert ended.code == 1
    assert "others were writing to the database" in ended.err
    assert "Nothing was recorded; try again" in ended.err


def test_starting_the_program_imports_nothing_heavy() -> None:
    import subprocess
    import sys

    code = "import sys, kitting.cli.main; print(*sys.modules)"
    loaded = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True
    ).stdout.split()
    heavy = {"sqlalchemy", "alembic", "pydantic", "ruamel", "reportlab", "psycopg", "numpy"}
    assert heavy.isdisjoint(loaded)


def test_every_module_registers_the_commands_that_the_start_expects_of_it() -> None:
    made = {module: tuple(_made(module)) for module in TABLE}
    assert {m: set(names) for m, names in made.items()} == {m: set(n) for m, n in TABLE.items()}


def test_commands_are_made_once_in_a_process() -> None:
    """Made again, a group would have each of its commands once more, and take ever longer."""
    groups: list[Any] = [typer.main.get_command(app) for _ in range(2)]
    assert groups[0].get_command(None, "booking") is groups[1].get_command(None, "booking")
    added = [command.callback for command in bookings.app.registered_commands]
    assert len(added) == len(set(added))


def test_a_plan_maps_only_the_tables_it_reads() -> None:
    import subprocess
    import sys

    reads = "import sys, kitting.services.planning.plan; print(*sys.modules)"
    loaded = subprocess.run(
        [sys.executable, "-c", reads], capture_output=True, text=True, check=True
    ).stdout.split()
    assert "kitting.tables.units" in loaded
    assert not {"kitting.tables.all", "kitting.tables.bookings", "kitting.tables.toolbox"} & set(
        loaded
    )


def test_goods_put_on_hold_on_the_way_are_told_so_where_they_arrive(
    run: Run, garage_folder: Path
) -> None:
    lot = ("SEAL-INTAKE", "SI-2503")
    assert run("stock", "send", "canal", *lot, "1 each", "--to", "upper").code == 0
    assert run("stock", "hold", "canal", *lot, "--why", "recalled").out.splitlines() == [
        "SEAL-INTAKE SI-2503: on hold (number 1), recalled",
        "  on the way  1 to upper: it arrives as SI-2503 stands then",
    ]
    assert run("stock", "arrive", "1").out.splitlines() == [
        "transfer 1: arrived",
        "  SEAL-INTAKE SI-2503 is ON HOLD: recalled",
    ]


def test_a_count_below_what_is_promised_says_how_it_goes_and_who_is_short_then(
    run: Run, garage_folder: Path
) -> None:
    lots = json.loads(run("stock", "list", "--json").out)
    lot = next(one for one in lots if one["promised"] and one["unit"] == "each")
    count = ("stock", "count", lot["branch"], lot["item"], lot["lot"], "0 each")
    refused = run(*count)
    assert refused.code == 1
    assert "or the same command with --give-up" in refused.err
    first, *short = run(*count, "--give-up").out.splitlines()
    assert first.endswith(", 0 left")
    assert short
    assert all("it is SHORT. Next: kitting booking promise B" in line for line in short)
