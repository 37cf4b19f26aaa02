"""What a finished file may take the place of: only an older one of the same kind."""

from __future__ import annotations

from pathlib import Path

from kitting.errors import KittingError

# The first bytes of a file of each kind: PDF (ISO 32000-1, 7.5.2), SQLite (its file format, 1.3).
PDF, SQLITE = b"%PDF-", b"SQLite format 3\0"
# A workbook is a ZIP file (ECMA-376 part 2; its first bytes from memory).
WORKBOOK = b"PK\x03\x04"
_KINDS = {PDF: "PDF", SQLITE: "SQLite database"}
# SQLite keeps its logs beside the database under these names.
_LOGS = ("-wal", "-shm", "-journal")
_MOST = 4096  # of the first line, in bytes


def refuse_other_kind(path: Path, content: bytes, databases: tuple[Path, ...] = ()) -> None:
    """Raise KittingError where a file that begins with `content` may not be written to `path`.

    It may not take the place of a database in use or its logs, nor of any file that is not of its
    kind; a workbook takes the place of none, for people type into it. A PDF and a SQLite database
    are known by their first bytes, JSON by its bracket, other text by its first line. A file
    without a byte may be replaced. Raises OSError too.
    """
    target = path.resolve()
    if any(target in _files_of(database.resolve()) for database in databases):
        raise KittingError("{path} is the database in use. Choose another place", path=path)
    if not target.is_file():
        return
    with target.open("rb") as file:
        there = file.read(_MOST)
    if there and content.startswith(WORKBOOK):
        raise KittingError(
            "{path} is there already, and what was typed into it would be lost: it was left as it"
            " is. Choose another name, or move that file away",
            path=path,
        )
    if there and not _alike(there, content[:_MOST]):
        kind = next((name for start, name in _KINDS.items() if content.startswith(start)), None)
        raise KittingError(
            f"{path} is there already, and is {f'no {kind}' if kind else 'another kind of file'}:"
            " it was left as it is. Choose another place, or move that file away"
        )


def _files_of(database: Path) -> tuple[Path, ...]:
    return (database, *(database.with_name(database.name + end) for end in _LOGS))


def _alike(there: bytes, content: bytes) -> bool:
    for start in _KINDS:
        if content.startswith(start) or there.startswith(start):
            return content.startswith(start) and there.startswith(start)
    if content[:1] in (b"{", b"["):
        return there[:1] == content[:1]
    return _first_line(there) == _first_line(content)


def _first_line(text: bytes) -> bytes:
    return text.partition(b"\n")[0].rstrip()
