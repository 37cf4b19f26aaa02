"""What a scanned packet says, beside what was typed of it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Annotated

import typer

from kitting.cli.options import amount, fitting_date, open_database, remark
from kitting.wording.language import _

if TYPE_CHECKING:
    from kitting.facts.gs1 import Scan
    from kitting.services.stock.scans import NotOnRecord
    from kitting.services.stock.shelves import LotName

ScannedItem = Annotated[str, typer.Argument(help="The item, or its packet as scanned.")]
ScannedLot = Annotated[
    str, typer.Argument(help="The lot, as its packet says; '-' for the lot that was scanned.")
]


@dataclass(frozen=True, slots=True)
class Stated:
    """What is stated of a packet, as options say it; None where nothing is.

    `unusable` is what came damaged or as another part, `instead` the item that came in its place:
    then the packet is of that.
    """

    item: str | None
    lot: str | None
    made: str | None
    expires: str | None
    good: str | None = None
    unusable: tuple[str | None, ...] = ()
    instead: str | None = None


def with_scan(database: str | None, text: str | None, typed: Stated) -> Stated:
    """A scanned packet with what was typed of it; what is not used of the scan is told.

    Without `text` the item may be named by a scan, which then says the rest too. Raises FigureError
    for what is no scan or contradicts what was typed, UnknownNameError for a packet that no item
    has the number of.
    """
    from kitting.facts.gs1 import looks_scanned, read_scan, unread_text
    from kitting.facts.making import parse_making_days
    from kitting.facts.packets import Said
    from kitting.services.item_numbers import scan_named
    from kitting.services.stock.scans import with_typed
    from kitting.store import reading

    named = typed.item if typed.instead is None else typed.instead
    if text is None and not looks_scanned(named or ""):
        return typed
    said = Said(
        lot=typed.lot,
        made=parse_making_days(typed.made) if typed.made else None,
        expires=fitting_date(typed.expires, "--expires") if typed.expires else None,
    )
    with reading(open_database(database)) as session:
        if text is None:
            scan, item = scan_named(session, named or ""), None
        else:
            scan, item = read_scan(text), named
        if scan is None:
            return typed
        read = with_typed(session, scan, item, said)
    if scan.best_before:
        remark(
            _("the packet says best before {expires}: taken as its last day", expires=scan.expires)
        )
    say_unused([unread_text(scan.unread)])
    return replace(
        typed,
        item=read.item if typed.instead is None else typed.item,
        instead=None if typed.instead is None else read.item,
        lot=read.lot,
        made=None if read.made is None else read.made.isoformat(),
        expires=None if read.expires is None else read.expires.isoformat(),
        good=_pieces(scan, typed),
    )


def _pieces(scan: Scan, typed: Stated) -> str | None:
    """How much came usable: as typed, else the number that the scan says.

    What was typed may be several packets, or the rest of one; any other number is told.
    """
    stated = [text for text in (typed.good, *typed.unusable) if text is not None]
    if scan.count is None:
        return typed.good
    if not stated:
        return f"{scan.count} each"
    amounts = [amount(text) for text in stated]
    packet, came = 1000 * scan.count, sum(one.thousandths for one in amounts)
    if any(one.unit != "each" for one in amounts) or not packet or came % packet:
        remark(
            _(
                "the packet says {count} pieces, {stated} was typed: taken as typed. If it "
                "was typed wrongly, take this receipt back",
                count=scan.count,
                stated=" + ".join(stated),
            )
        )
    return typed.good


def named_lot(database: str | None, branch: str, item: str, lot: str) -> LotName:
    """A lot with the codes of its item and itself, whether typed or scanned.

    What its packet says and is not used is told. Raises FigureError where neither names the lot or
    they contradict each other, KittingError where the packet has other dates than the lot.
    """
    from kitting.facts.gs1 import looks_scanned
    from kitting.services.stock.shelves import AS_SCANNED, LotName, find_scanned
    from kitting.store import reading

    name = LotName(branch, item, lot)
    if not looks_scanned(item) and lot != AS_SCANNED:
        return name
    with reading(open_database(database)) as session:
        found = find_scanned(session, name)
    say_unused([found.unused], found.not_on_record)
    return found.name


def say_unused(texts: Iterable[str], missing: Iterable[NotOnRecord] = ()) -> None:
    """Tell what of scans is not used, and what they say that is not on record of the lots."""
    unused = " ".join(text for text in texts if text)
    if unused:
        remark(_("not used of the scan: {unused}", unused=unused))
    for one in missing:
        remark(
            _(
                "{item}, lot {lot}: its packet says {what} {day}, which is not on record and "
                "not used. Write it into a stock list: columns branch, scan, quantity",
                item=one.item,
                lot=one.lot,
                what=one.what,
                day=one.day,
            )
        )
