"""Opening a PDF: the same for every sheet and label."""

from __future__ import annotations

from typing import Any, BinaryIO

from kitting.reports.text import MM, printable
from kitting.wording.language import current


def new_canvas(target: BinaryIO, width: float, height: float, title: str) -> Any:
    """A canvas with pages of `width` × `height` mm.

    The same data gives the same bytes: no date and no random mark is written. The document names
    what it is and the program, and no person.
    """
    from reportlab.pdfgen.canvas import Canvas

    language = current()
    tag = "en-GB" if language.is_source and "-" not in language.tag else language.tag
    canvas = Canvas(target, pagesize=(width * MM, height * MM), invariant=1, lang=tag)
    canvas.setTitle(printable(title))
    canvas.setAuthor("")
    canvas.setSubject("")
    canvas.setCreator("kitting")
    return canvas
