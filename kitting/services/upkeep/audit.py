"""The audit: every balance and promise recomputed from what it rests on, and where it differs.

Each check is one statement, so a large database costs time but neither memory nor round trips. The
statements depend on nothing but the tables; each is made once per process.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from functools import cache
from typing import Any

from sqlalchemy import Connection, Engine, Select, and_, func, literal, or_, select, union_all
from sqlalchemy import text as sql
from sqlalchemy.exc import DBAPIError

from kitting.errors import StoreError
from kitting.facts.reasons import Reason, because
from kitting.services.upkeep.audit_checks import CHECKS, RESTORE, STOP_WRITING, Check
from kitting.services.upkeep.audit_kit_checks import early_times
from kitting.store import reading
from kitting.tables.stock import Movement
from kitting.views.upkeep import (
    AuditCheck,
    AuditCheckView,
    Audited,
    AuditFault,
    AuditFaultView,
    AuditRemark,
    AuditSubject,
    AuditView,
    DatabaseKind,
)

SHOWN = 20
KINDS = {"sqlite": DatabaseKind.SQLITE, "postgresql": DatabaseKind.POSTGRESQL}
# What SQLite's own check says of a row that breaks a rule; all else is damage of the file.
_RULE_WORDS = ("CHECK constraint failed", "NULL value in", "non-unique entry")
_KEPT = {
    "sqlite": (
        "SELECT count(*) FROM sqlite_master WHERE type = 'trigger' AND tbl_name = 'movement'"
        " AND name IN ('movement_kept_UPDATE', 'movement_kept_DELETE')",
        2,
    ),
    "postgresql": (
        "SELECT count(*) FROM pg_trigger WHERE tgrelid = to_regclass('movement')"
        " AND tgname = 'movement_kept' AND tgenabled <> 'D'",
        1,
    ),
}
_UNCHECKED = (
    "SELECT conrelid::regclass || ': ' || conname FROM pg_constraint"
    " WHERE connamespace = current_schema()::regnamespace AND NOT convalidated ORDER BY 1"
)


def audit(engine: Engine, now: datetime) -> AuditView:
    """Audit a database on one snapshot. Raises StoreError where the login sees only a part."""
    with reading(engine) as session:
        return audit_on(session.connection(), now)


def audit_on(connection: Connection, now: datetime) -> AuditView:
    """Audit what a connection sees, in a fixed number of statements; changes nothing."""
    engine = connection.dialect.name
    see_everything(connection)
    revision = connection.scalar(sql("SELECT version_num FROM alembic_version")) or ""
    if engine == "sqlite":
        damage, broken = file_faults(connection)
        pages = connection.scalar(sql("PRAGMA page_count")) or 0
        faults = [_of_database(AuditFault.DAMAGED, text) for text in damage]
        whole = _stated(AuditCheck.FILE, (pages, Audited.PAGES), faults, STOP_WRITING)
        if damage:
            return _view(engine, revision, [whole], [])
        first = [whole]
    else:
        first, broken = [], list(connection.scalars(sql(_UNCHECKED)))
    looked_at = _counts(connection)
    checks = [
        *first,
        _rules(connection, engine, broken, len(looked_at)),
        _references(connection, engine, len(looked_at)),
        *(_run(connection, check, looked_at) for check in CHECKS),
    ]
    return _view(engine, revision, checks, _clock(connection, now))


def see_everything(connection: Connection) -> None:
    """On PostgreSQL: refuse, instead of leaving out, what row-level security would hide.

    Raises StoreError if this login is bound by it on any table.
    """
    if connection.dialect.name != "postgresql":
        return
    bound = connection.scalar(
        sql(
            "SELECT count(*) FROM pg_class WHERE relnamespace = current_schema()::regnamespace"
            " AND relrowsecurity AND row_security_active(oid)"
        )
    )
    if bound:
        raise StoreError(
            "this login sees only the rows of its own branches, and part of the books proves"
            " nothing. Ask the owner of the tables to do it"
        )
    connection.execute(sql("SET LOCAL row_security = off"))


def file_faults(connection: Connection) -> tuple[list[str], list[str]]:
    """What SQLite finds wrong: damage of the file, and rows that break a rule of the schema."""
    try:
        found = [
            str(text)
            for text in connection.scalars(sql(f"PRAGMA integrity_check({SHOWN})"))
            if text != "ok"
        ]
    except DBAPIError as error:
        found = [str(error.orig)]
    broken = [text for text in found if text.startswith(_RULE_WORDS)]
    return [text for text in found if text not in broken], broken


def count_rows(connection: Connection, tables: Sequence[Any]) -> dict[str, int]:
    """Rows of each table, in one statement."""
    if not tables:
        return {}
    return _numbers(connection, _of_each(tables))


def _numbers(connection: Connection, counting: Any) -> dict[str, int]:
    return {name: int(number) for name, number in connection.execute(counting)}


def _of_each(tables: Sequence[Any]) -> Any:
    return union_all(
        *(
            select(literal(table.name), func.count()).select_from(table).order_by(None)
            for table in tables
        )
    )


def _counts(connection: Connection) -> dict[str, int]:
    return _numbers(connection, _counted())


@cache
def _counted() -> Any:
    from kitting.tables.all import Base

    return _of_each(list(Base.metadata.tables.values()))


def _of_database(fault: AuditFault, text: str) -> AuditFaultView:
    """A fault that the database itself found, in its own words."""
    return AuditFaultView(AuditSubject.DATABASE, because(fault, text=text))


def _stated(
    check: AuditCheck,
    counted: tuple[int, Audited],
    faults: Sequence[AuditFaultView],
    advice: Reason,
) -> AuditCheckView:
    """A check whose faults are all known."""
    return AuditCheckView(
        check=check,
        looked_at=counted[0],
        of=counted[1],
        faults=len(faults),
        shown=tuple(faults[:SHOWN]),
        advice=advice if faults else None,
    )


def _rules(
    connection: Connection, engine: str, broken: Sequence[str], tables: int
) -> AuditCheckView:
    statement, needed = _KEPT[engine]
    faults = [_of_database(AuditFault.RULE_BROKEN, text) for text in broken]
    if connection.scalar(sql(statement)) != needed:
        faults.append(
            AuditFaultView(AuditSubject.DATABASE, because(AuditFault.MOVEMENTS_UNGUARDED))
        )
    return _stated(AuditCheck.RULES, (tables, Audited.TABLES), faults, RESTORE)


def _references(connection: Connection, engine: str, tables: int) -> AuditCheckView:
    if engine == "sqlite":
        rows = connection.execute(
            sql('SELECT "table", rowid, parent FROM pragma_foreign_key_check')
        ).fetchmany(SHOWN + 1)
        reasons = [
            (table, because(AuditFault.PARENT_LOST, row=f"{table} {row}", parent=parent))
            for table, row, parent in rows
        ]
    else:
        reasons = [
            (table, because(AuditFault.PARENTS_LOST, table=table, rows=lost, parent=parent))
            for table, parent, lost in connection.execute(_lost_parents())
        ]
    faults = [AuditFaultView(AuditSubject.TABLE, reason, name=name) for name, reason in reasons]
    return _stated(AuditCheck.REFERENCES, (tables, Audited.TABLES), faults, RESTORE)


@cache
def _lost_parents() -> Any:
    """For every foreign key, how many rows have lost what they refer to; only where some have."""
    from kitting.tables.all import Base

    asked = []
    for table in Base.metadata.sorted_tables:
        for key in sorted(table.foreign_key_constraints, key=lambda k: str(k.name)):
            parent = key.referred_table.alias("parent")
            pairs = [(e.parent, parent.c[e.column.name]) for e in key.elements]
            asked.append(
                select(
                    literal(table.name),
                    literal(key.referred_table.name),
                    func.count().label("lost"),
                )
                .select_from(table.outerjoin(parent, and_(*(own == other for own, other in pairs))))
                .where(
                    *(own.is_not(None) for own, _ in pairs),
                    or_(*(other.is_(None) for _, other in pairs)),
                )
                .having(func.count() > 0)
            )
    return union_all(*asked)


def _run(connection: Connection, check: Check, looked_at: dict[str, int]) -> AuditCheckView:
    rows = connection.execute(_with_total(check)).all()
    total = int(rows[0].total) if rows else 0
    return AuditCheckView(
        check=check.check,
        looked_at=looked_at[check.counted.__tablename__],
        of=check.of,
        faults=total,
        shown=tuple(map(_fault, rows)),
        advice=check.advice if total else None,
    )


@cache
def _with_total(check: Check) -> Select[Any]:
    """The first faults of a check, each with the number of all."""
    return check.faults().add_columns(func.count().over().label("total")).limit(SHOWN)


def _fault(row: Any) -> AuditFaultView:
    return AuditFaultView(
        subject=AuditSubject(row.subject),
        fault=because(AuditFault(row.fault)),
        name=row.name,
        part=row.part,
        item=row.item,
        lot=row.lot,
        place=row.place,
        unit=row.unit if row.recorded is not None else None,
        recorded=row.recorded,
        recomputed=row.recomputed,
    )


def _clock(connection: Connection, now: datetime) -> list[Reason]:
    """Movements that have an earlier time than one before them or than their cause, or to come."""
    newest = func.max(Movement.at).over(order_by=Movement.id, rows=(None, -1))
    before = select(Movement.at, newest.label("newest")).subquery()
    late, coming = connection.execute(
        select(
            func.count().filter(before.c.at < before.c.newest),
            func.count().filter(before.c.at > now),
        ).select_from(before)
    ).one()
    counts = {
        AuditRemark.CLOCK_SET_BACK: late,
        AuditRemark.TIME_TO_COME: coming,
        AuditRemark.BEFORE_CAUSE: connection.scalar(early_times()),
    }
    return [because(code, movements=count) for code, count in counts.items() if count]


def _view(
    engine: str, revision: str, checks: Sequence[AuditCheckView], remarks: Sequence[Reason]
) -> AuditView:
    return AuditView(
        engine=KINDS[engine],
        revision=revision,
        fine=not any(check.faults for check in checks),
        checks=tuple(checks),
        remarks=tuple(remarks),
    )


__all__ = ["SHOWN", "audit", "audit_on", "count_rows", "file_faults", "see_everything"]
