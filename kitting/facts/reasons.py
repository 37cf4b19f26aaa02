"""Reasons as data: a code and what fills it in. `kitting.wording` puts them into words.

Each part of the trade has codes of its own: an enum that derives from `ReasonCode`, beside the
calculation or the view that gives them, and a text for each code in `kitting.wording`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import TypeAlias

from kitting.actions import NextStep
from kitting.errors import KittingError, Message, joined
from kitting.facts.money import Money
from kitting.facts.units import Quantity, Torque
from kitting.facts.words import Word


class ReasonCode(Word):
    """The base of every list of reasons."""


Value: TypeAlias = (
    "str | int | float | Decimal | date | datetime | timedelta | Quantity | Torque"
    " | Money | Reason | tuple[str, ...] | tuple[Reason, ...] | None"
)


@dataclass(frozen=True, slots=True)
class Reason:
    """Why something is as it is: which reason, what fills it in, what can be done about it."""

    code: ReasonCode
    values: tuple[tuple[str, Value], ...] = ()
    then: tuple[NextStep, ...] = ()

    def __getitem__(self, name: str) -> Value:
        """The value of a name; raises KeyError."""
        return dict(self.values)[name]


def because(code: ReasonCode, *then: NextStep, **values: Value) -> Reason:
    """A reason: `because(StockReason.EXPIRED, limit=date(2026, 5, 10))`."""
    return Reason(code, tuple(values.items()), then)


class RefusedError(KittingError):
    """Something that was not done, with every reason as data; `what` names it.

    Whoever shows the error puts the reasons into words; as plain text it has their codes.
    """

    def __init__(
        self,
        what: str,
        reasons: Sequence[Reason],
        /,
        *,
        then: Sequence[NextStep] = (),
        **values: object,
    ) -> None:
        self.what = Message(what, **values)
        codes = "; ".join(reason.code for reason in reasons)
        super().__init__(joined((self.what, codes), ": "), then=then)
        self.reasons = tuple(reasons)
