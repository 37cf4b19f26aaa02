"""Idempotent requests: recorded one time, however often they are sent.

Whoever loses the connection while a change is being committed cannot know whether it was. The
sender makes up a token; the change and the token are recorded in one transaction. Sent again with
the same token, the request finds it and answers as before instead of doing it again.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from time import sleep
from typing import Any, TypeVar
from uuid import uuid4

from sqlalchemy import insert, select
from sqlalchemy.orm import Session

from kitting.errors import ConnectionLostError, KittingError
from kitting.tables.group import Handled

PAUSES = (1.0, 4.0)  # seconds before the same request is sent again
_Answer = TypeVar("_Answer")


@dataclass(frozen=True, slots=True)
class CarriedOut:
    """That a request was carried out before, and what was answered."""

    answer: Any


def earlier(session: Session, token: str | None, request: str) -> CarriedOut | None:
    """What was answered when this request was carried out before; None if it was not.

    To be asked in the writing transaction: whoever sent it first is through by then. Raises
    KittingError for the token of another request.
    """
    if token is None:
        return None
    answered = session.scalar(select(Handled.answer).where(Handled.token == token))
    if answered is None:
        return None
    known = json.loads(answered)
    if known["request"] != request:
        raise KittingError(
            "the token {token} is of another request ({request}). Make up a new one for every"
            " request",
            token=token,
            request=known["request"],
        )
    return CarriedOut(known["answer"])


def record(
    session: Session,
    token: str | None,
    request: str,
    branch_id: int,
    at: datetime,
    answer: Any = None,
) -> None:
    """Write down that a request is carried out, in the transaction that does it.

    `answer` is what JSON can hold. The key of the table refuses the same token a second time.
    """
    if token is None:
        return
    answered = json.dumps({"request": request, "answer": answer})
    session.execute(
        insert(Handled).values(token=token, branch_id=branch_id, at=at, answer=answered)
    )


def insist(
    attempt: Callable[[str], _Answer],
    listener: Callable[[str], None],
    pauses: Sequence[float] = PAUSES,
) -> _Answer:
    """Make an attempt with a token of its own, and again with the same one if the server goes away.

    `listener` is called before every pause. Raises what the last attempt raises.
    """
    token = uuid4().hex
    for pause in pauses:
        try:
            return attempt(token)
        except ConnectionLostError:
            listener(
                "the connection to the database was lost; the same request goes out again in"
                f" {pause:g} s, and is recorded once"
            )
            sleep(pause)
    return attempt(token)
