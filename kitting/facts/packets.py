"""What a scan says of a packet, held against what was typed of it or is on record of its lot.

The one place where the two are compared; who refuses what, and with which next step, is with the
uses.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from kitting.errors import FigureError
from kitting.facts.gs1 import Scan
from kitting.facts.making import MakingDays, recorded_days
from kitting.facts.words import Word


class PacketFact(Word):
    """What a packet says, as it is called."""

    ITEM = "item"
    LOT = "lot"
    MADE = "day of making"
    LAST_DAY = "last day"


@dataclass(frozen=True, slots=True)
class Said:
    """What was typed of a packet, or is on record of a lot; None where nothing is."""

    lot: str | None = None
    made: MakingDays | None = None
    expires: date | None = None


@dataclass(frozen=True, slots=True)
class Compared:
    """One thing that a scan says, beside what was typed or is on record of it."""

    what: PacketFact
    said: str | date | MakingDays | None
    scanned: str | date

    @property
    def differs(self) -> bool:
        """Whether both are known and are not the same; a day may be one of a quarter."""
        if isinstance(self.said, MakingDays):
            return not (isinstance(self.scanned, date) and self.scanned in self.said)
        return self.said is not None and self.said != self.scanned


def recorded(made: date | None, expires: date | None) -> Said:
    """The days that are on record of a lot."""
    return Said(made=None if made is None else recorded_days(made), expires=expires)


def compared(scan: Scan, said: Said) -> tuple[Compared, ...]:
    """Everything that a scan says, beside what else is said of it."""
    found = []
    if scan.lot is not None:
        found.append(Compared(PacketFact.LOT, said.lot, scan.lot))
    if scan.made is not None:
        found.append(Compared(PacketFact.MADE, said.made, scan.made))
    if scan.expires is not None:
        found.append(Compared(PacketFact.LAST_DAY, said.expires, scan.expires))
    return tuple(found)


def require_agreed(scan: Scan, typed: Said) -> None:
    """Raise FigureError where what was typed is not what was scanned."""
    for one in compared(scan, typed):
        if one.differs:
            raise typed_otherwise(one.what, one.said, one.scanned)


def typed_otherwise(what: PacketFact, typed: object, scanned: object) -> FigureError:
    """The error for what was typed one way and scanned another."""
    of_its_own = "; for a lot of its own, type what is printed without the lot"
    own = of_its_own if what is PacketFact.LOT else ""
    return FigureError(
        "the {what} was typed as {typed} and scanned as {scanned}. Look at the packet, and leave"
        " the wrong one out{own}",
        what=what,
        typed=typed,
        scanned=scanned,
        own=own,
    )
