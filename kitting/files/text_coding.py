"""How the text of a file is coded: UTF-8, or UTF-16 where its first bytes say so."""

from __future__ import annotations

from codecs import BOM_UTF16_BE, BOM_UTF16_LE, getincrementaldecoder
from pathlib import Path

SAVE_STEP = "Save the file as UTF-8 (a spreadsheet may call it CSV UTF-8), and read it again"
BEGIN = 40  # first bytes of a file that tell how it is coded
_OTHER = (
    "this line is no text in UTF-8: its accents or money signs are of another coding, such as"
    " Windows-1252"
)
_DAMAGED = "this line is no text in UTF-16, which the file says it is: it is damaged or cut short"
_UNMARKED = "it seems to be UTF-16 without the mark at its start that says so"
_AT_ONCE = 1024 * 1024


class CodingError(ValueError):
    """A file that seems to be of a coding which it does not name."""

    def __init__(self) -> None:
        super().__init__(_UNMARKED)


def coding_of(begin: bytes) -> str:
    """The coding that a file of these first bytes is read in: no other is guessed.

    Raises CodingError where every other byte is nothing, as in UTF-16 without its mark.
    """
    if begin.startswith((BOM_UTF16_LE, BOM_UTF16_BE)):
        return "utf-16"
    halves = (begin[:BEGIN:2], begin[1:BEGIN:2])
    if len(begin) > 3 and any(set(half) == {0} for half in halves):
        raise CodingError
    return "utf-8-sig"


def undecodable(path: Path) -> tuple[int, str]:
    """The line (from 1) of a file with the first bytes that its coding does not have, and why.

    Line 0 where there are none.
    """
    line = 1
    with path.open("rb") as file:
        content = file.read(_AT_ONCE)
        coding = coding_of(content)
        reason = _DAMAGED if coding == "utf-16" else _OTHER
        decoder = getincrementaldecoder(coding)()
        while True:
            try:
                line += decoder.decode(content, final=not content).count("\n")
            except UnicodeDecodeError as error:
                good = error.object[: error.start]
                return line + good.decode(error.encoding, "replace").count("\n"), reason
            if not content:
                return 0, reason
            content = file.read(_AT_ONCE)
