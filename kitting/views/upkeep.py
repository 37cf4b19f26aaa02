"""Upkeep: what an audit found, what a backup holds, what a restore brought."""

from __future__ import annotations

from dataclasses import dataclass

from kitting.facts.amounts import Thousandths
from kitting.facts.reasons import Reason, ReasonCode
from kitting.facts.words import Word


class DatabaseKind(Word):
    """The kind of database."""

    SQLITE = "SQLite"
    POSTGRESQL = "PostgreSQL"


class AuditCheck(Word):
    """What the books must agree on, in the order in which it is checked."""

    FILE = "file"
    RULES = "rules"
    REFERENCES = "references"
    BALANCES = "balances"
    RUNNING_BALANCES = "running balances"
    PROMISED = "promised"
    THERE = "there"
    ARRIVALS = "arrivals"
    GOODS_IN = "goods in"
    ORDERS = "orders"
    KITS = "kits"
    STATES = "states"
    PLACES = "places"
    TRANSFERS = "transfers"
    ENDS_OF_TRANSFERS = "ends of transfers"
    OPENED_PACKS = "opened packs"
    LOST = "lost"
    NOT_NEEDED = "not needed"
    UNMET = "unmet needs"
    STAYS_OPENED = "stays opened"
    CAUSES = "causes"


class Audited(Word):
    """What a check counts."""

    PAGES = "pages"
    TABLES = "tables"
    LOTS = "lots"
    MOVEMENTS = "movements"
    ORDER_LINES = "order lines"
    PROMISES = "promises"
    TRANSFERS = "transfers"
    BOOKINGS = "bookings"


class AuditSubject(Word):
    """What a fault is of."""

    DATABASE = "database"
    TABLE = "table"
    LOT = "lot"
    MOVEMENT = "movement"
    ORDER_LINE = "order line"
    BOOKING = "booking"
    TRANSFER = "transfer"
    SENT = "transfers sent"
    ARRIVED = "transfers arrived"
    OPENED_PACKS = "opened packs"


class AuditFault(ReasonCode):
    """What is wrong."""

    DAMAGED = "damaged"
    RULE_BROKEN = "rule broken"
    MOVEMENTS_UNGUARDED = "movements unguarded"
    PARENT_LOST = "parent lost"
    PARENTS_LOST = "parents lost"
    BALANCE = "balance"
    RUNNING_BALANCE = "running balance"
    PROMISED = "promised"
    OVER_PROMISED = "over-promised"
    ARRIVAL_PROMISED = "arrival promised"
    RECEIVED = "received"
    OVER_ORDERED = "over-ordered"
    KIT = "kit"
    KIT_STATE = "kit state"
    PLACE = "place"
    MOVED = "moved"
    TRANSFER_ENDS = "transfer ends"
    OPENED = "opened"
    LOST = "lost"
    PROMISED_NEEDLESSLY = "promised needlessly"
    USED_NEEDLESSLY = "used needlessly"
    UNMET = "unmet"
    SEALED_AGAIN = "sealed again"
    SENT_SEALED = "sent sealed"
    BEFORE_PICKING = "before its picking"


class AuditAdvice(ReasonCode):
    """What to do about the faults of a check; the steps come with it."""

    RESTORE = "restore"
    STOP_WRITING = "stop writing"
    RECOUNT = "recount"
    COMPARE_NOTES = "compare delivery notes"
    CHECK_KIT = "check kit"
    ASK_BRANCHES = "ask branches"
    CHECK_BOOKING = "check booking"


class AuditRemark(ReasonCode):
    """What is worth reading and no fault."""

    CLOCK_SET_BACK = "clock set back"
    TIME_TO_COME = "time to come"
    BEFORE_CAUSE = "before its cause"


@dataclass(frozen=True, slots=True)
class AuditFaultView:
    """One fault: what it is of, what is recorded, what the records it rests on come to.

    `name` tells which of the subject: a code or a number; `part` the supplier's part of an order
    line. `recorded` and `recomputed` are thousandths of `unit`; all three are None where the fault
    is not about amounts.
    """

    subject: AuditSubject
    fault: Reason
    name: str | None = None
    part: str | None = None
    item: str | None = None
    lot: str | None = None
    place: str | None = None
    unit: str | None = None
    recorded: Thousandths | None = None
    recomputed: Thousandths | None = None


@dataclass(frozen=True, slots=True)
class AuditCheckView:
    """One check: how many of what it looked at, how many faults, the first of them.

    `faults` counts all; `shown` has no more than 20 of them. `advice` is None without a fault.
    """

    check: AuditCheck
    looked_at: int
    of: Audited
    faults: int
    shown: tuple[AuditFaultView, ...]
    advice: Reason | None


@dataclass(frozen=True, slots=True)
class AuditView:
    """Every check in turn; `remarks` are worth reading and no faults.

    After a damaged file nothing else can be judged: then `checks` has only that one.
    """

    engine: DatabaseKind
    revision: str
    fine: bool
    checks: tuple[AuditCheckView, ...]
    remarks: tuple[Reason, ...]


@dataclass(frozen=True, slots=True)
class BackupView:
    """A backup that was made: one SQLite file, whichever engine it is of.

    `size` is in bytes. `audit` is None where the database is of an older revision than this
    program: then nothing was found wrong with the file, and its books were not checked.
    """

    file: str
    engine: DatabaseKind
    revision: str
    tables: int
    rows: int
    size: int
    fine: bool
    audit: AuditView | None


@dataclass(frozen=True, slots=True)
class RestoreView:
    """What was restored; `kept_as` is where the SQLite file that was there before lies now.

    `revision` is the backup's, `now` what the database is of after bringing it up to date.
    """

    file: str
    into: str
    engine: DatabaseKind
    revision: str
    now: str
    tables: int
    rows: int
    kept_as: str | None
    fine: bool
    audit: AuditView
