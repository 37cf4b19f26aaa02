"""Age: how long a ring of an elastomer keeps by each policy, from the day it was made."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True)
class PolicyAgeView:
    """What one policy says of fitting a ring on a day.

    `fit` is yes, after a look (its storage can be extended once, `extended` is then the limit), no,
    or not known. `limit` None with fit "yes" is unlimited. `extension` is in years.
    """

    policy: str
    fit: str
    limit: date | None
    extension: int | None
    extended: date | None
    reason: str
    source: str | None
    dispute: str | None


@dataclass(frozen=True, slots=True)
class RingAgeView:
    """A ring of an elastomer, made up to `made`, judged on a day; and how it should have lain."""

    elastomer: str
    made: date
    on: date
    policies: tuple[PolicyAgeView, ...]
    storing: tuple[str, ...]
    storing_source: str
    warning: str
