"""Upkeep: what an audit found, what a backup holds, what a restore brought."""

from __future__ import annotations

from dataclasses import dataclass

from kitting.facts.amounts import Thousandths


@dataclass(frozen=True, slots=True)
class AuditFaultView:
    """One fault: what it is of, what is written down, what the records it hangs on come to.

    `recorded` and `recomputed` are thousandths of `unit`; all three are None where the fault is no
    matter of amounts.
    """

    thing: str
    item: str | None
    lot: str | None
    place: str | None
    unit: str | None
    recorded: Thousandths | None
    recomputed: Thousandths | None
    told: str


@dataclass(frozen=True, slots=True)
class AuditCheckView:
    """One check: how many of what it looked at, how many faults, the first of them.

    `faults` counts all; `shown` has no more than 20 of them. `next_step` is None without a fault.
    """

    check: str
    meaning: str
    looked_at: int
    of: str
    faults: int
    shown: tuple[AuditFaultView, ...]
    next_step: str | None


@dataclass(frozen=True, slots=True)
class AuditView:
    """Every check in turn; `remarks` are worth reading and no faults.

    `engine` is SQLite or PostgreSQL. After a damaged file nothing else can be judged: then
    `checks` has only that one.
    """

    engine: str
    revision: str
    fine: bool
    verdict: str
    checks: tuple[AuditCheckView, ...]
    remarks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class BackupView:
    """A backup that was made: one SQLite file, whichever engine it is of.

    `size` is in bytes. `audit` is None, and `verdict` says why, where the database is of an older
    revision than this program.
    """

    file: str
    engine: str
    revision: str
    tables: int
    rows: int
    size: int
    fine: bool
    verdict: str
    audit: AuditView | None


@dataclass(frozen=True, slots=True)
class RestoreView:
    """What was restored; `kept_as` is where the SQLite file that was there before lies now.

    `revision` is the backup's, `now` what the database is of after bringing it up to date.
    """

    file: str
    into: str
    engine: str
    revision: str
    now: str
    tables: int
    rows: int
    kept_as: str | None
    fine: bool
    verdict: str
    audit: AuditView
