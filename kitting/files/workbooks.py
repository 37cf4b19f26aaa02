"""Is a workbook safe to open? Its unpacked size and its XML, checked before anything parses it.

openpyxl holds a row of a page at a time, and every other part as a whole in a tree that takes ten
to fifty times its size. So what is a page, and what the texts of its cells, is looked up first:
only these may be large, and only their rows and texts may be many.
"""

from __future__ import annotations

import re
import warnings
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from copy import copy
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from zipfile import ZipFile, ZipInfo

# A page of a million rows and twelve columns takes some 600 MiB of XML and is read as a stream;
# its texts are held in memory.
_MIB = 1024 * 1024
MOST_UNPACKED = 1024 * _MIB
_MOST_TEXTS = 128 * _MIB
_MOST_OTHER = 16 * _MIB
# A row of a page has 16,384 cells at most (from memory), each a handful of tags; what is not cut
# into rows or texts is held as a whole.
_MOST_TAGS = 300_000
_MOST_UNITS = 2 * 1_048_576
_CHUNK = 256 * 1024
# The text of a cell has 32,767 letters at most (from memory), each six bytes at most when written
# as an entity. A longer stretch without a tag is one value of an attribute, over which a parser
# takes time that grows with its square (expat before 2.6, CVE-2023-52425).
_LONGEST_STRETCH = 256 * 1024
_PAGE, _TEXTS = "page", "texts"
_UNITS: Mapping[str | None, re.Pattern[bytes]] = {
    _PAGE: re.compile(rb"<(?:[\w.-]+:)?row[\s/>]"),
    _TEXTS: re.compile(rb"<(?:[\w.-]+:)?si[\s/>]"),
}
# Parts of a workbook may hold no document type (ECMA-376 part 2 forbids it, from memory), so no
# entities either: what would grow without end or fetch other files is refused unseen.
_DOCTYPES = tuple("<!DOCTYPE".encode(code) for code in ("ascii", "utf-16-le", "utf-16-be"))
_OVERLAP = max(map(len, _DOCTYPES)) - 1
_MOST_OF: Mapping[str | None, int] = {_PAGE: MOST_UNPACKED, _TEXTS: _MOST_TEXTS}
_CONTENT = "[Content_Types].xml"
_MERGED = re.compile(rb"<(?:[\w.-]+:)?mergeCell\s[^>]*?ref=[\"']([A-Z]+[0-9]+:[A-Z]+([0-9]+))[\"']")
_MERGED_BYTES = 200  # more than such a tag has
_NO_WORKBOOK = "it is no XLSX workbook"
_TOO_LARGE = "the workbook unpacks to more than is sensible"
DAMAGED = "the workbook is damaged, or one of its pages is no table"


@contextmanager
def opened(path: Path, *, formulas: bool = False) -> Iterator[Any]:
    """A workbook of openpyxl, checked, to be read row by row; `formulas` instead of their values.

    Raises ValueError as `check_workbook`, OSError where the file cannot be read. In a damaged page
    openpyxl stumbles over whatever comes first, and raises just that.
    """
    from zipfile import BadZipFile

    from openpyxl import load_workbook
    from openpyxl.utils.exceptions import InvalidFileException

    check_workbook(path)
    # openpyxl warns of what it leaves aside (styles, drop-down lists): no matter for what is read.
    warnings.filterwarnings("ignore", category=UserWarning, module="openpyxl")
    # Opened here, for openpyxl does not close what it stumbles over.
    with path.open("rb") as file:
        try:
            book = load_workbook(
                file, read_only=True, data_only=not formulas, keep_links=False, rich_text=True
            )
        except OSError:
            raise
        except (BadZipFile, InvalidFileException, KeyError) as error:
            raise ValueError(_NO_WORKBOOK) from error
        except Exception as error:
            raise ValueError(DAMAGED) from error
        yield book


def merged_cells(page: Any) -> str | None:
    """A range of merged cells below the first row of a page, such as "A2:A3"; None without one.

    Only the first cell of such a range keeps what is seen in all of them.
    """
    tail = b""
    with page.parent._archive.open(page._worksheet_path) as part:
        while chunk := part.read(_CHUNK):
            for found in _MERGED.finditer(tail + chunk):
                if int(found[2]) > 1:
                    return found[1].decode()
            tail = (tail + chunk)[-_MERGED_BYTES:]
    return None


def check_workbook(path: Path, most: int = MOST_UNPACKED) -> None:
    """Unpack every part of a workbook once, a chunk at a time, without keeping it.

    Raises ValueError for what is no ZIP file, is damaged, unpacks to more than `most` bytes in
    sum or more than it states, holds a document type, or would fill the memory when it is parsed.
    OSError where the file cannot be read.
    """
    from zipfile import BadZipFile, ZipFile

    try:
        archive = ZipFile(path)
    except (BadZipFile, ValueError, NotImplementedError) as error:
        raise ValueError(_NO_WORKBOOK) from error
    with archive:
        parts = archive.infolist()
        if sum(part.file_size for part in parts) > most:
            raise ValueError(_TOO_LARGE)
        for part in parts:
            if part.filename == _CONTENT or part.filename.endswith(".rels"):
                _check_part(archive, part, None)
        roles = _roles(archive)
        for part in parts:
            _check_part(archive, part, roles.get(part.filename))


def _roles(archive: ZipFile) -> dict[str, str]:
    """Which parts are pages and which holds the texts, found as openpyxl finds them.

    A part that is something else besides has no role, so that it has to be small.
    """
    from openpyxl.packaging.manifest import Manifest
    from openpyxl.packaging.relationship import get_dependents, get_rels_path
    from openpyxl.xml.constants import ARC_WORKBOOK, SHARED_STRINGS, XLSM, XLSX, XLTM, XLTX
    from openpyxl.xml.functions import fromstring

    try:
        package = Manifest.from_tree(fromstring(archive.read(_CONTENT)))
        kinds = (XLTM, XLTX, XLSM, XLSX)
        found = [part.PartName[1:] for kind in kinds for part in package.findall(kind)]
        book = found[0] if found else ARC_WORKBOOK
        related = list(get_dependents(archive, get_rels_path(book)))
    except Exception:
        return {}  # of what is no workbook nothing may be large
    pages = {rel.target for rel in related if rel.Type.endswith("/worksheet")}
    others = {rel.target for rel in related if not rel.Type.endswith("/worksheet")}
    texts = {part.PartName[1:] for part in package.findall(SHARED_STRINGS)}
    return dict.fromkeys(pages - others - texts - {book}, _PAGE) | dict.fromkeys(
        texts - pages - {book}, _TEXTS
    )


def _check_part(archive: ZipFile, part: ZipInfo, role: str | None) -> None:
    import zlib
    from zipfile import ZIP_DEFLATED, ZIP_STORED, BadZipFile

    if part.compress_type not in (ZIP_STORED, ZIP_DEFLATED):
        raise ValueError(_NO_WORKBOOK)
    if part.file_size > _MOST_OF.get(role, _MOST_TEXTS):
        raise ValueError(_TOO_LARGE)
    # The stated size is what a reader stops at, after having unpacked more than it: a copy that
    # states one byte more shows whether there is more, be the check sum forged or not.
    stated = copy(part)
    stated.file_size = part.file_size + 1
    picture = part.filename.startswith("xl/media/") and part.filename.endswith(".svg")
    size, tail = 0, b""
    markup: _Markup | None = None
    try:
        with archive.open(stated) as file:
            while chunk := file.read(_CHUNK):
                if not size and _is_markup(chunk):
                    markup = _Markup(_UNITS.get(role))
                size += len(chunk)
                if size > part.file_size:
                    raise BadZipFile(part.filename)  # noqa: TRY301 - one fault with all others
                seen = tail + chunk
                if not picture and any(doctype in seen for doctype in _DOCTYPES):
                    raise ValueError("the workbook holds a document type, which none may")
                if markup is not None:
                    if role is None and part.file_size > _MOST_OTHER:
                        raise ValueError(_TOO_LARGE)
                    markup.weigh(chunk, seen)
                tail = seen[-_OVERLAP:]
    except (BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError) as error:
        raise ValueError("the workbook is damaged") from error


def _is_markup(begin: bytes) -> bool:
    """Whether a part may be read as XML, whatever it is called: that begins with a tag."""
    return begin.lstrip(b"\xef\xbb\xbf\xff\xfe \t\r\n\0")[:1] in (b"<", b"")


@dataclass(slots=True)
class _Markup:
    """XML passing by: what a parser would have to hold at once, counted in tags."""

    unit: re.Pattern[bytes] | None
    tags: int = 0  # since the last row or text began
    units: int = 0
    stretch: int = 0  # bytes since the last tag began

    def weigh(self, chunk: bytes, seen: bytes) -> None:
        """Count a chunk; `seen` is the same with the end of the chunk before it."""
        first = chunk.find(b"<")
        if self.stretch + (len(chunk) if first < 0 else first) > _LONGEST_STRETCH:
            raise ValueError("the workbook holds a text that is longer than any cell may be")
        self.stretch = self.stretch + len(chunk) if first < 0 else len(chunk) - chunk.rfind(b"<")
        # A chunk alone holds fewer tags than are allowed between two units.
        begun = len(self.unit.findall(seen)) if self.unit else 0
        self.units += begun
        self.tags += seen.count(b"<", len(seen) - len(chunk), self._first(seen, begun))
        if self.tags > _MOST_TAGS or self.units > _MOST_UNITS:
            raise ValueError(_TOO_LARGE)
        if begun:
            self.tags = seen.count(b"<", self._last(seen))

    def _first(self, seen: bytes, begun: int) -> int:
        found = self.unit.search(seen) if self.unit and begun else None
        return len(seen) if found is None else found.start()

    def _last(self, seen: bytes) -> int:
        place = seen.rfind(b"<")
        while place > 0 and self.unit and not self.unit.match(seen, place):
            place = seen.rfind(b"<", 0, place)
        return max(place, 0)
