"""Audits, backups and restores on the screen."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kitting.cli.actions import with_steps
from kitting.cli.options import remark
from kitting.views.upkeep import AuditView, BackupView, RestoreView
from kitting.wording.language import _, in_figures, word_text
from kitting.wording.reasons import say
from kitting.wording.upkeep import MEANINGS, backup_verdict, fault_text, verdict

if TYPE_CHECKING:
    from rich.console import Console


def show_audit(screen: Console, view: AuditView) -> None:
    """One row per check, then each fault with what to do."""
    from kitting.cli.render import headings
    from kitting.cli.render.tables import plain_table

    table = plain_table(headings.CHECK, headings.THAT, headings.LOOKED_AT, headings.FAULTS)
    for check in view.checks:
        counted = f"{check.looked_at} {word_text(check.of)}"
        table.add_row(check.check, _(MEANINGS[check.check]), counted, str(check.faults))
    screen.print(table)
    _faults(view)
    for reason in view.remarks:
        remark(_("note: {reason}", reason=say(reason)))
    print(
        _(
            "{engine}, revision {revision}: {verdict}",
            engine=view.engine,
            revision=view.revision,
            verdict=verdict(view),
        )
    )


def show_backup(view: BackupView) -> None:
    """What the file holds, and how its books stand."""
    print(
        _(
            "{file}: {rows} rows of {tables} tables from {engine}, revision {revision}, {size} MB",
            file=view.file,
            rows=view.rows,
            tables=view.tables,
            engine=view.engine,
            revision=view.revision,
            size=in_figures(f"{view.size / 1_000_000:.1f}"),
        )
    )
    print(_("audit: {backup_verdict}", backup_verdict=backup_verdict(view)))
    if view.audit is not None:
        _faults(view.audit)


def show_restore(view: RestoreView) -> None:
    """What was restored, and how its books stand."""
    print(
        _(
            "{into}: {rows} rows of {tables} tables from {file}, revision {now}",
            into=view.into,
            rows=view.rows,
            tables=view.tables,
            file=view.file,
            now=view.now,
        )
    )
    print(_("audit: {verdict}", verdict=verdict(view.audit)))
    _faults(view.audit)


def _faults(view: AuditView) -> None:
    for check in view.checks:
        if check.advice is None:
            continue
        print(
            f"{word_text(check.check).upper()}: {with_steps(say(check.advice), check.advice.then)}"
        )
        for fault in check.shown:
            print(f"  {fault_text(fault)}")
        if check.faults > len(check.shown):
            print("  " + _("and {faults} more", faults=check.faults - len(check.shown)))
