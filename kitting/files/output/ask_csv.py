"""The table of what is asked when a booking is closed, as CSV to fill in."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence

from kitting.files.output.order_csv import safe

HEADINGS = ("about", "item", "position", "in kit", "question", "answer")


def ask_csv(rows: Iterable[Sequence[str]]) -> str:
    """Rows of the table as CSV (RFC 4180), headings first; the answers are left blank.

    A text that a spreadsheet would take for a formula gets a leading apostrophe.
    """
    target = io.StringIO()
    writer = csv.writer(target)
    writer.writerow(HEADINGS)
    writer.writerows([*map(safe, row), ""] for row in rows)
    return target.getvalue()
