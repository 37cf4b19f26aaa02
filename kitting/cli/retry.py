"""Changes that are sent again by themselves when the connection to the server is lost."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, TypeVar

from kitting.cli.options import open_database, remark

if TYPE_CHECKING:
    from sqlalchemy import Engine

_Answer = TypeVar("_Answer")


def insisted(database: str | None, attempt: Callable[[Engine, str], _Answer]) -> _Answer:
    """Open the database and make a change of it, given the engine and a token of its own.

    After a loss of the connection the same change goes out again, twice at most and with the same
    token, so that it is recorded once; every loss is reported on standard error. Raises what the
    last attempt raises. A server that is not there to begin with is not waited for.
    """
    from kitting.services.db.idempotency import insist

    engine = open_database(database)
    return insist(lambda token: attempt(engine, token), remark)
