"""What closing has to ask of a booking, and the table in which it is asked."""

from __future__ import annotations

from dataclasses import dataclass

from kitting.facts.amounts import Thousandths
from kitting.facts.reasons import Reason, ReasonCode
from kitting.facts.words import Word


class Ask(ReasonCode):
    """What nobody has said yet of the kit of a booking that shall be closed."""

    SPARE = "spare"
    EXTRA = "extra"
    COUNTED = "counted"
    MEASURED = "measured"
    SEALS = "seals"
    LOOK = "look"
    WHY = "why"


class AskAbout(Word):
    """What a row of the table asks for, and so how its answer is read."""

    SEALS = "old seals"
    LOOK = "look"
    LEFT = "left over"
    WHY = "why"


@dataclass(frozen=True, slots=True)
class AskRow:
    """A row of the table that is filled in to close a booking.

    `position` is a joint (old seals), or a position of a joint (a look). `in_kit` is in thousandths
    of `unit`, None where the question is not about an amount. Without an answer to what is
    `required` nothing is closed; of the rest it counts as used up as planned.
    """

    about: AskAbout
    item: str | None
    joint: str | None
    position: str | None
    in_kit: Thousandths | None
    unit: str | None
    question: Reason
    required: bool
