"""Is a workbook safe to open? Its unpacked size and its XML, checked before anything parses it."""

from __future__ import annotations

from copy import copy
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from zipfile import ZipFile, ZipInfo

# A page of a million rows and twelve columns takes some 600 MiB of XML and is read as a stream;
# its texts are held in memory, and the other parts as trees that take ten times their size.
_MIB = 1024 * 1024
MOST_UNPACKED = 1024 * _MIB
_MOST_TEXTS = 128 * _MIB
_MOST_OTHER = 16 * _MIB
_CHUNK = 256 * 1024
# Parts of a workbook may hold no document type (ECMA-376 part 2 forbids it, from memory), so no
# entities either: what would grow without end or fetch other files is refused unseen.
_DOCTYPES = tuple("<!DOCTYPE".encode(code) for code in ("ascii", "utf-16-le", "utf-16-be"))
_OVERLAP = max(map(len, _DOCTYPES)) - 1


def check_workbook(path: Path, most: int = MOST_UNPACKED) -> None:
    """Unpack every part of a workbook once, a chunk at a time, without keeping it.

    Raises ValueError for what is no ZIP file, is damaged, unpacks to more than `most` bytes in
    sum or more than it states, or holds a document type. OSError where the file cannot be read.
    """
    from zipfile import BadZipFile, ZipFile

    try:
        archive = ZipFile(path)
    except (BadZipFile, ValueError, NotImplementedError) as error:
        raise ValueError("it is no XLSX workbook") from error
    with archive:
        parts = archive.infolist()
        too_large = sum(part.file_size for part in parts) > most
        if too_large or any(part.file_size > _most_of(part) for part in parts):
            raise ValueError("the workbook unpacks to more than is sensible")
        for part in parts:
            _check_part(archive, part)


def _most_of(part: ZipInfo) -> int:
    if part.filename.startswith("xl/worksheets/"):
        return MOST_UNPACKED
    if part.filename.startswith(("xl/sharedStrings", "xl/media/")):
        return _MOST_TEXTS
    return _MOST_OTHER


def _check_part(archive: ZipFile, part: ZipInfo) -> None:
    import zlib
    from zipfile import ZIP_DEFLATED, ZIP_STORED, BadZipFile

    if part.compress_type not in (ZIP_STORED, ZIP_DEFLATED):
        raise ValueError("it is no XLSX workbook")
    # The stated size is what a reader stops at, after having unpacked more than it: a copy that
    # states one byte more shows whether there is more, be the check sum forged or not.
    stated = copy(part)
    stated.file_size = part.file_size + 1
    picture = part.filename.startswith("xl/media/") and part.filename.endswith(".svg")
    size, tail = 0, b""
    try:
        with archive.open(stated) as file:
            while chunk := file.read(_CHUNK):
                size += len(chunk)
                if size > part.file_size:
                    raise BadZipFile(part.filename)  # noqa: TRY301 - one fault with all others
                seen = tail + chunk
                if not picture and any(doctype in seen for doctype in _DOCTYPES):
                    raise ValueError("the workbook holds a document type, which none may")
                tail = seen[-_OVERLAP:]
    except (BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError) as error:
        raise ValueError("the workbook is damaged") from error
