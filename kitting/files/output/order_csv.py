"""An order as CSV to send to the supplier."""

from __future__ import annotations

import csv
import io

from kitting.views.orders import OrderView

HEADINGS = ("part", "packs", "item", "description", "order")
_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def order_csv(view: OrderView) -> str:
    """The lines of an order as CSV (RFC 4180: comma, CRLF, quotes doubled), headings first.

    What was kept of what came too much is left out: nobody ordered it, and it is here.

    Columns: the supplier's part number, how many packs of it, our item code, its name, the number
    of the order. Every text that begins with = + - @, a tab or a carriage return gets a leading
    apostrophe, since a spreadsheet would run it as a formula: whoever reads the file by program
    takes that apostrophe off again.
    """
    target = io.StringIO()
    writer = csv.writer(target)
    writer.writerow(HEADINGS)
    for line in (one for one in view.lines if not one.kept):
        writer.writerow(
            [safe(line.part), line.packs, safe(line.item), safe(line.name), safe(view.number)]
        )
    return target.getvalue()


def safe(text: str) -> str:
    """A text that no spreadsheet takes for a formula; csv cannot hold a NUL, which goes."""
    text = text.replace("\0", "")
    return f"'{text}" if text.startswith(_FORMULA) else text
