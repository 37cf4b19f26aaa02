"""Hard knocks at the command line: what befalls any program ends with a sentence, harms nothing."""

from __future__ import annotations

import os
import resource
import shutil
import signal
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from datetime import datetime
from pathlib import Path
from typing import Any

import psutil
import pytest

from conftest import Templates
from kitting.cli.options import moment, write_file
from kitting.errors import KittingError
from kitting.schema import HEAD

Run = Callable[..., Any]
PLAN = ("plan", "PELL 117", "J1", "--on", "2026-04-15")
RESTORE = "Next: kitting restore FILE --replace"
# A shell has what it runs in the background ignore Ctrl-C, and so would what the tests start.
START = """
import signal
signal.signal(signal.SIGINT, signal.default_int_handler)
from kitting.cli.main import main
main()
"""


def command(*words: str, before: str = "") -> list[str]:
    """A command line of a process of its own; `before` is done in it first."""
    return [sys.executable, "-c", f"{before}{START}", *words]


def ran(*words: str, before: str = "", **how: Any) -> subprocess.CompletedProcess[str]:
    # Output waits in its buffer until the end, as it does for people.
    buffered = {k: v for k, v in os.environ.items() if k != "PYTHONUNBUFFERED"}
    how = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE, "env": buffered} | how
    return subprocess.run(command(*words, before=before), text=True, timeout=60, check=False, **how)


def page_of(path: Path, table: str) -> int:
    with closing(sqlite3.connect(path)) as connection:
        (page,) = connection.execute(
            "SELECT rootpage FROM sqlite_master WHERE name = ?", (table,)
        ).fetchone()
    return int(page)


def harm(path: Path, how: str) -> None:
    """Damage a database, or put something else in its place."""
    if how == "empty":
        path.write_bytes(b"")
    elif how == "text":
        path.write_text("dear diary\n" * 900)
    elif how == "beginning":
        path.write_bytes(b"\xa5" * 512 + path.read_bytes()[512:])
    elif how == "short":
        path.write_bytes(path.read_bytes()[:20_000])
    else:
        start = (page_of(path, how) - 1) * 4096
        content = path.read_bytes()
        path.write_bytes(content[:start] + b"\xa5" * 4096 + content[start + 4096 :])


@pytest.mark.parametrize(
    ("how", "told"),
    [
        ("empty", "is empty (0 bytes): it is no database, or lost all that was in it"),
        ("text", "is no SQLite database, or its beginning is damaged"),
        ("beginning", "is no SQLite database, or its beginning is damaged"),
        ("short", "the database is damaged: database disk image is malformed. Stop writing to it"),
        ("alembic_version", "the database is damaged: database disk image is malformed"),
        ("vehicle", "the database is damaged: database disk image is malformed"),
    ],
)
def test_a_damaged_database_is_told_with_what_to_do_and_no_byte_of_it_changes(
    run: Run, garage_folder: Path, how: str, told: str
) -> None:
    path = garage_folder / "kitting.db"
    harm(path, how)
    content = path.read_bytes()
    for words in (PLAN, ("settle", "PELL 042", "cooler", "late"), ("backup", "b.db")):
        if how == "vehicle" and words[0] == "backup":
            continue
        ended = run(*words)
        assert ended.code == 1
        assert told in ended.err
        assert " ".join(ended.err.split()).endswith(RESTORE)
        assert ended.out == ""
        assert path.read_bytes() == content
    assert not (garage_folder / "b.db").exists()


@pytest.mark.parametrize("how", ["text", "beginning", "alembic_version"])
def test_setting_up_does_not_write_over_what_is_no_database(
    run: Run, garage_folder: Path, how: str
) -> None:
    path = garage_folder / "kitting.db"
    harm(path, how)
    content = path.read_bytes()
    ended = run("setup")
    assert ended.code == 1
    assert "the database is damaged" in ended.err
    assert path.read_bytes() == content


def test_a_database_of_another_program_is_not_touched(run: Run, empty_folder: Path) -> None:
    path = empty_folder / "kitting.db"
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("CREATE TABLE theirs (x)")
    content = path.read_bytes()
    ended = run(*PLAN)
    assert (ended.code, "is not set up" in ended.err) == (1, True)
    assert path.read_bytes() == content


def test_a_damaged_database_is_replaced_by_its_backup_and_work_goes_on(
    run: Run, garage_folder: Path
) -> None:
    assert run("backup", "b.db").code == 0
    before = run(*PLAN).out
    harm(garage_folder / "kitting.db", "beginning")
    ended = run("restore", "b.db", "--replace")
    assert ended.code == 0, ended.err
    assert run(*PLAN).out == before
    assert "what was there before: kitting-kept-" in ended.err


# Places that cannot be written ------------------------------------------------------------------


def test_a_database_with_a_log_needs_its_folder_and_says_so(run: Run, public_garage: Path) -> None:
    with nobody(public_garage):
        ended = run(*PLAN)
    assert (ended.code, ended.out) == (1, "")
    assert ended.err.endswith(
        " SQLite keeps a log beside the file, so it needs to write in its folder even to read. Get"
        " the right to it, or copy the file to another folder\n"
    )


def test_a_backup_is_read_where_nothing_can_be_written(run: Run, public_garage: Path) -> None:
    before = run(*PLAN).out
    assert run("backup", "b.db").code == 0
    content = (public_garage / "b.db").read_bytes()
    with nobody(public_garage):
        ended = run(*PLAN, "--database", "sqlite:///b.db")
    assert (ended.code, ended.out) == (0, before)
    assert (public_garage / "b.db").read_bytes() == content


@contextmanager
def nobody(folder: Path) -> Iterator[None]:
    """As somebody who may read a folder, and not write it: even where tests are run by root."""
    folder.chmod(0o555)
    for path in folder.iterdir():
        path.chmod(0o444)
    root = os.geteuid() == 0
    if root:
        os.seteuid(65534)
    try:
        yield
    finally:
        if root:
            os.seteuid(0)
        folder.chmod(0o755)


@pytest.fixture
def public_garage(
    templates: Templates, run: Run, monkeypatch: pytest.MonkeyPatch
) -> Iterator[Path]:
    """A folder with the garage that everybody can reach, entered; modules are loaded already."""
    folder = Path(tempfile.mkdtemp(prefix="kitting-"))
    folder.chmod(0o755)
    shutil.copy(templates.file("garage"), folder / "kitting.db")
    monkeypatch.chdir(folder)
    # Whoever may not write may not read our Python files either, perhaps.
    for words in (PLAN, ("sheet", "pick", *PLAN[1:], "--out", "x.pdf"), ("backup", "x.db")):
        assert run(*words).code == 0
    run("setup", "--database", "sqlite:///y.db")
    for path in folder.iterdir():
        if path.name != "kitting.db":
            path.unlink()
    yield folder
    shutil.rmtree(folder)


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (
            ("sheet", "pick", *PLAN[1:], "--out", "pick.pdf"),
            "kitting: pick.pdf: cannot be written (Permission denied). Choose another place",
        ),
        (("backup", "b.db"), "kitting: no backup was made: unable to open database file"),
        (
            ("setup", "--database", "sqlite:///new.db"),
            "kitting: the database refused the change: unable to open database file. Nothing was",
        ),
        (
            ("restore", "kitting.db", "--database", "sqlite:///new.db"),
            "kitting: nothing was restored: unable to open database file",
        ),
        (
            ("settle", "PELL 042", "cooler", "late"),
            "attempt to write a readonly database",
        ),
    ],
)
def test_a_folder_that_cannot_be_written_is_told_without_a_traceback(
    run: Run, public_garage: Path, words: tuple[str, ...], told: str
) -> None:
    if words[0] in ("sheet", "backup", "settle", "restore"):
        # A database in WAL needs its folder; here it is the target that cannot be written.
        with closing(sqlite3.connect("kitting.db")) as connection:
            connection.execute("PRAGMA journal_mode = DELETE")
    content = (public_garage / "kitting.db").read_bytes()
    with nobody(public_garage):
        ended = run(*words)
    assert ended.code == 1
    assert told in ended.err
    assert "Traceback" not in ended.err
    assert [path.name for path in public_garage.iterdir()] == ["kitting.db"]
    assert (public_garage / "kitting.db").read_bytes() == content


def test_what_is_no_ordinary_file_is_written_to_and_never_replaced(
    run: Run, garage_folder: Path
) -> None:
    pipe = garage_folder / "pipe"
    os.mkfifo(pipe)
    # Opened both ways, the pipe takes what is written although nobody reads yet.
    reader = os.open(pipe, os.O_RDWR | os.O_NONBLOCK)
    write_file(pipe, b"a sheet")
    assert os.read(reader, 100) == b"a sheet"
    assert pipe.is_fifo()
    for words in (("backup", "pipe", "--replace"), ("restore", "pipe")):
        ended = run(*words)
        assert (ended.code, ended.err) == (
            1, "kitting: pipe is a device or a pipe. Name an ordinary file\n",
        )  # fmt: skip
    assert run("backup", "b.db").code == 0
    refused = run("restore", "b.db", "--database", "sqlite:///pipe", "--replace")
    assert refused.err == "kitting: pipe is a device or a pipe. Name an ordinary file\n"
    assert pipe.is_fifo()
    os.close(reader)


def test_a_database_that_is_a_pipe_is_refused_and_never_waited_for(
    run: Run, empty_folder: Path
) -> None:
    os.mkfifo(empty_folder / "pipe")
    for words in (("branch", "show"), ("--language", "de", "stock", "list")):
        refused = run(*words, "--database", "sqlite:///pipe")
        assert refused.code == 1
        assert "pipe is a device or a pipe, no database" in refused.err


def test_a_dash_is_no_name_of_a_file(empty_folder: Path) -> None:
    with pytest.raises(
        KittingError, match=r"'-' is no name of a file\. Name one, such as out\.pdf"
    ):
        write_file(Path("-"), b"%PDF-1.4")
    assert list(empty_folder.iterdir()) == []


def test_a_link_stays_a_link_and_what_it_names_is_written(empty_folder: Path) -> None:
    (empty_folder / "real.pdf").write_bytes(b"%PDF-1.4 old")
    (empty_folder / "link.pdf").symlink_to("real.pdf")
    write_file(Path("link.pdf"), b"%PDF-1.4 new")
    assert (empty_folder / "link.pdf").is_symlink()
    assert (empty_folder / "real.pdf").read_bytes() == b"%PDF-1.4 new"


@pytest.mark.parametrize(
    "words",
    [
        ("sheet", "pick", *PLAN[1:]),
        ("sheet", "labels", *PLAN[1:]),
        ("sheet", "seals", *PLAN[1:]),
        ("sheet", "tools", *PLAN[1:]),
        ("sheet", "tighten", *PLAN[1:]),
    ],
)
def test_no_sheet_takes_the_place_of_what_is_no_sheet(
    run: Run, garage_folder: Path, words: tuple[str, ...]
) -> None:
    (garage_folder / "garage.yaml").write_text("items: []\n")
    (garage_folder / "stock.csv").write_text("branch,item\n")
    (garage_folder / "link.pdf").symlink_to("kitting.db")
    shutil.copy("kitting.db", "other.db")
    # A PDF and a file without a byte may be replaced.
    (garage_folder / "old.pdf").write_bytes(b"%PDF-1.4 old")
    (garage_folder / "none.pdf").touch()
    in_use = "is the database in use. Choose another place"
    other = "is there already, and is no PDF: it was left as it is. Choose another place, or move"
    for name, told in {
        "kitting.db": in_use, "./kitting.db": in_use, "link.pdf": in_use, "kitting.db-wal": in_use,
        "kitting.db-journal": in_use,
        "other.db": other, "garage.yaml": other, "stock.csv": other,
    }.items():  # fmt: skip
        path = garage_folder / name
        before = path.read_bytes() if path.exists() else None
        ended = run(*words, "--out", name)
        assert (ended.code, ended.out) == (1, "")
        assert f"kitting: {Path(name)} {told}" in ended.err
        assert (path.read_bytes() if path.exists() else None) == before
    for name in ("old.pdf", "none.pdf", "new.pdf"):
        assert run(*words, "--out", name).code in (0, 3)
        assert len((garage_folder / name).read_bytes()) > 1000
    assert run(*PLAN).code == 0


@pytest.mark.parametrize(
    ("there", "content", "may"),
    [
        (b"", b"part,packs\r\nA,1\r\n", True),
        (b"part,packs\nB,2\n", b"part,packs\r\nA,1\r\n", True),
        (b"branch,item\nB,2\n", b"part,packs\r\nA,1\r\n", False),
        (b"SQLite format 3\0", b"part,packs\r\nA,1\r\n", False),
        (b"%PDF-1.4", b"part,packs\r\nA,1\r\n", False),
        (b'{"a": 1}', b'{"b": 2}', True),
        (b"items: []", b'{"b": 2}', False),
        (b"PK\3\4", b"%PDF-1.4", False),
        (b"SQLite format 3\0 old", b"SQLite format 3\0 new", True),
        (b"%PDF-1.4", b"SQLite format 3\0", False),
    ],
)
def test_a_file_is_written_over_by_its_own_kind_only(
    tmp_path: Path, there: bytes, content: bytes, may: bool
) -> None:
    path = tmp_path / "x"
    path.write_bytes(there)
    if may:
        write_file(path, content)
    else:
        with pytest.raises(KittingError, match="is there already"):
            write_file(path, content)
    assert path.read_bytes() == (content if may else there)


@pytest.mark.parametrize(
    ("out", "told"),
    [
        (".", "kitting: .: cannot be written (Is a directory). Choose another place with --out"),
        ("kitting.db/x.pdf", "kitting: kitting.db/x.pdf: cannot be written (Not a directory)."),
        ("a" * 260, "cannot be written (File name too long). Choose another place with --out"),
        ("none/x.pdf", "cannot be written (No such file or directory). Choose another place"),
    ],
)
def test_a_place_for_a_sheet_that_is_none_is_told_by_name(
    run: Run, garage_folder: Path, out: str, told: str
) -> None:
    ended = run("sheet", "pick", *PLAN[1:], "--out", out)
    assert ended.code == 1
    assert told in ended.err
    assert not list(garage_folder.glob(".kitting*"))


def test_the_longest_name_that_a_file_may_have_can_be_written(
    run: Run, garage_folder: Path
) -> None:
    name = "a" * 251 + ".pdf"
    assert run("sheet", "pick", *PLAN[1:], "--out", name).code == 0
    assert (garage_folder / name).read_bytes().startswith(b"%PDF")


# A full disk ------------------------------------------------------------------------------------


def limited(size: int) -> Callable[[], None]:
    """No file of the process may grow beyond so many bytes: then writing fails, as on a full disk."""
    return lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (size, size))


def test_a_sheet_that_finds_no_room_leaves_the_old_one_whole(garage_folder: Path) -> None:
    old = b"%PDF of yesterday"
    (garage_folder / "pick.pdf").write_bytes(old)
    with closing(sqlite3.connect("kitting.db")) as connection:
        connection.execute("PRAGMA journal_mode = DELETE")
    ended = ran(
        "sheet", "pick", *PLAN[1:], "--out", "pick.pdf", "--database", "sqlite:///kitting.db",
        preexec_fn=limited(20_000), cwd=garage_folder,
    )  # fmt: skip
    assert ended.returncode == 1, ended.stderr
    assert "Traceback" not in ended.stderr
    assert (garage_folder / "pick.pdf").read_bytes() == old
    assert not list(garage_folder.glob(".kitting*"))


@pytest.mark.parametrize(
    "words",
    [
        ("setup", "--database", "sqlite:///new.db"),
        ("backup", "b.db", "--replace"),
        ("demo", "new"),
        ("restore", "b.db", "--replace"),
    ],
    ids=lambda words: words[0],
)
def test_a_database_or_backup_that_finds_no_room_ends_with_a_sentence(
    run: Run, garage_folder: Path, words: tuple[str, ...]
) -> None:
    assert run("backup", "b.db").code == 0
    kept = {p.name: p.read_bytes() for p in garage_folder.glob("*.db")}
    ended = ran(*words, preexec_fn=limited(200_000), cwd=garage_folder)
    assert ended.returncode == 1
    assert "Traceback" not in ended.stderr
    assert ended.stderr.startswith("kitting: ")
    assert not list(garage_folder.glob(".kitting*"))
    for name, content in kept.items():
        assert (garage_folder / name).read_bytes() == content, name
    assert run("audit").code == 0


@pytest.mark.parametrize("words", [PLAN, (*PLAN, "--json"), ("--version",)])
def test_output_that_finds_no_room_is_told_and_fails(
    garage_folder: Path, words: tuple[str, ...]
) -> None:
    with Path("/dev/full").open("w") as full:
        ended = ran(*words, stdout=full, cwd=garage_folder)
    assert ended.returncode == 1
    assert ended.stderr == (
        "kitting: no space left on device. Make room on the disk, then try again; no file was left"
        " half-written\n"
    )


# Readers that go, keys that are pressed ---------------------------------------------------------


@pytest.mark.parametrize("words", [PLAN, (*PLAN, "--json"), ("--version",), ("jobs", "--json")])
def test_a_reader_that_has_gone_ends_the_command_without_a_word(
    garage_folder: Path, words: tuple[str, ...]
) -> None:
    reader, writer = os.pipe()
    os.close(reader)
    ended = ran(*words, stdout=writer, cwd=garage_folder)
    os.close(writer)
    assert (ended.returncode, ended.stderr) == (141, "")


def test_a_closed_output_is_no_fault_of_the_command(garage_folder: Path) -> None:
    closed = ran(*PLAN, preexec_fn=lambda: os.close(1), cwd=garage_folder)
    assert (closed.returncode, closed.stderr) == (0, "")


def test_ctrl_c_ends_with_130_and_nothing_is_recorded(run: Run, garage_folder: Path) -> None:
    # The key is pressed while the third of several changes is on its way.
    pressed = """
import os, signal, sqlalchemy.event, sqlalchemy.engine
changes = []
def press(_c, _cursor, statement, *_rest):
    if statement.startswith(("INSERT", "UPDATE")):
        changes.append(statement)
        if len(changes) == 3:
            os.kill(os.getpid(), signal.SIGINT)
sqlalchemy.event.listen(sqlalchemy.engine.Engine, "after_cursor_execute", press)
"""
    words = ("book", "PELL 117", "J1", "--on", "2026-04-15", "--branch", "upper")
    ended = ran(*words, "--now", "2026-04-02 14:20", before=pressed, cwd=garage_folder)
    assert (ended.returncode, ended.stdout, ended.stderr) == (
        130, "", "kitting: interrupted. What was not finished has not been recorded\n",
    )  # fmt: skip
    assert "B0002" not in run("booking", "list").out
    assert run("audit").code == 0


def test_ctrl_c_while_a_backup_is_written_leaves_no_part_of_it(
    run: Run, garage_folder: Path
) -> None:
    pressed = """
import os, signal
from kitting.services.upkeep import backup as backing_up
def press(*_given):
    os.kill(os.getpid(), signal.SIGINT)
backing_up.held = press
"""
    ended = ran("backup", "b.db", before=pressed, cwd=garage_folder)
    assert ended.returncode == 130
    assert sorted(path.name for path in garage_folder.iterdir()) == ["kitting.db"]


# How long it waits for others: SQLite hears nothing meanwhile.
PATIENT = "import kitting.store\nkitting.store.BUSY_TIMEOUT_MS = 2000\n"


def has_begun(process: int) -> bool:
    """Whether a process has the log of the database open, as from its first statement on."""
    return any(f.path.endswith("kitting.db-shm") for f in psutil.Process(process).open_files())


def test_an_interruption_is_heard_while_others_hold_the_database(garage_folder: Path) -> None:
    with closing(sqlite3.connect("kitting.db", isolation_level=None)) as holder:
        holder.execute("BEGIN IMMEDIATE")
        words = command("settle", "PELL 042", "cooler", "late", before=PATIENT)
        waiting = subprocess.Popen(words, stderr=subprocess.PIPE, text=True)
        deadline = time.monotonic() + 60
        while not has_begun(waiting.pid):
            assert waiting.poll() is None
            assert time.monotonic() < deadline
            time.sleep(0.01)
        waiting.send_signal(signal.SIGINT)
        _, told = waiting.communicate(timeout=15)
    assert waiting.returncode == 130
    assert "Traceback" not in told


# Two versions of the program --------------------------------------------------------------------


def revise(path: Path, revision: str) -> None:
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("UPDATE alembic_version SET version_num = ?", (revision,))
        connection.commit()


@pytest.mark.parametrize("newer", ["9999", "a1b2c3d4e5f6"])
def test_an_older_program_leaves_a_newer_database_alone(
    run: Run, garage_folder: Path, newer: str
) -> None:
    revise(garage_folder / "kitting.db", newer)
    content = (garage_folder / "kitting.db").read_bytes()
    for words in (PLAN, ("setup",), ("settle", "PELL 042", "cooler", "late"), ("demo", ".")):
        ended = run(*words)
        assert (ended.code, ended.err) == (
            1,
            f"kitting: the database is of revision {newer}, this program needs {HEAD}. Nothing was"
            " changed; use the newer program that upgraded it\n",
        )
    assert (garage_folder / "kitting.db").read_bytes() == content


def test_a_newer_program_asks_for_a_backup_before_it_changes_an_older_database(
    run: Run, empty_folder: Path
) -> None:
    from kitting.store import make_engine, migrate

    engine = make_engine("sqlite:///kitting.db")
    migrate(engine, "0003")
    engine.dispose()
    ended = run("jobs")
    assert (ended.code, ended.err) == (
        1,
        f"kitting: the database is of revision 0003, this program needs {HEAD}. Back it up,"
        " then bring it up to date. Next: kitting backup FILE, then kitting setup\n",
    )
    assert run("backup", "b.db").code == 0
    assert run("setup").code == 0
    assert run("jobs").code == 0


# Clocks -----------------------------------------------------------------------------------------


@pytest.fixture
def london(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """The clock of a computer in London: on 25 October 2026 01:00 to 02:00 runs twice."""
    monkeypatch.setenv("TZ", "Europe/London")
    time.tzset()
    yield
    monkeypatch.undo()
    time.tzset()


@pytest.mark.usefixtures("london")
def test_a_time_of_elsewhere_is_told_by_the_clock_on_the_wall() -> None:
    # British Summer Time is an hour ahead of UTC (common knowledge; the computer's own tables).
    assert moment("2026-04-02T13:20Z") == datetime(2026, 4, 2, 14, 20)  # noqa: DTZ001
    assert moment("2026-04-02 14:20") == datetime(2026, 4, 2, 14, 20)  # noqa: DTZ001
    first, second = moment("2026-10-25T00:10Z"), moment("2026-10-25T01:10Z")
    assert (first.hour, first.minute, first.fold) == (1, 10, 0)
    assert (second.hour, second.minute, second.fold) == (1, 10, 1)
    assert second.tzinfo is None


@pytest.mark.usefixtures("london")
def test_a_wall_clock_time_that_does_not_exist_writes_nothing(
    run: Run, garage_folder: Path
) -> None:
    # On 29 March 2026 the clock goes from 01:00 to 02:00 (IANA database of time zones).
    words = ("stock", "count", "upper", "WASHER-AL-14X20", "WA-01", "24 each")
    before = run("recall", "WA-01", "--json").out
    ended = run(*words, "--now", "2026-03-29 01:30")
    assert ended.code == 2
    assert "does not exist" in " ".join(ended.err.replace("│", " ").split())
    assert run("recall", "WA-01", "--json").out == before
    assert run(*words, "--now", "2026-03-29 02:00").code == 0
    assert "2026-03-29T02:00:00" in run("recall", "WA-01", "--json").out


def test_what_the_program_has_no_word_for_keeps_its_traceback(
    run: Run, garage_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_given: object) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr("kitting.services.planning.jobs.list_cars", broken)
    with pytest.raises(ZeroDivisionError):
        run("jobs")


def test_any_refusal_of_the_system_ends_with_a_sentence(
    run: Run, garage_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refused(*_given: object) -> None:
        raise PermissionError(13, "Permission denied", "/some/where")

    monkeypatch.setattr("kitting.services.planning.jobs.list_cars", refused)
    ended = run("jobs")
    assert (ended.code, ended.err) == (
        1,
        "kitting: /some/where: permission denied. Ask for the right to it, or choose another place,"
        " then try again; no file was left half-written\n",
    )


def test_a_file_is_written_whole_or_not_at_all(
    empty_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (empty_folder / "x.csv").write_bytes(b"part\nold")

    def interrupted(_path: Path, _content: bytes) -> int:
        _path.open("wb").close()
        raise KeyboardInterrupt

    monkeypatch.setattr(Path, "write_bytes", interrupted)
    with pytest.raises(KeyboardInterrupt):
        write_file(Path("x.csv"), b"part\nnew")
    monkeypatch.undo()
    assert [path.name for path in empty_folder.iterdir()] == ["x.csv"]
    assert (empty_folder / "x.csv").read_bytes() == b"part\nold"
    with pytest.raises(KittingError, match="cannot be written"):
        write_file(empty_folder, b"new")
