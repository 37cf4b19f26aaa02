"""Findings of a booking from a list, one row per position, all or none."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

from sqlalchemy import Engine

from kitting.errors import FileProblemsError, Problem
from kitting.files.lists.findings import RAMP_FIELDS, read_findings
from kitting.services.bookings.seal_count import Found, record_findings


def load_ramp_findings(engine: Engine, number: str, paths: Sequence[Path], at: datetime) -> int:
    """Record what lists say of the positions of a booking.

    Raises FileProblemsError with every fault of the lists, a position that the booking does not
    open among them; nothing is recorded then.
    """
    seen: list[Found] = []
    problems: list[Problem] = []
    for path in paths:
        rows, faults = read_findings(path, RAMP_FIELDS)
        problems += faults
        seen += [
            Found(v["joint"], v["position"], v["found"], v.get("reason"), (str(path), row.line))
            for row, v in rows
        ]
    if problems:
        raise FileProblemsError(problems)
    return record_findings(engine, number, seen, at)
