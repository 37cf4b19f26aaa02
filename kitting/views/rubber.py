"""Rubber: what a measured ring may be, what suits a gland, what rubber stands and for how long."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from kitting.facts.reasons import Reason


@dataclass(frozen=True, slots=True)
class RingItemView:
    """A ring of the catalogue: mm, elastomer and hardness; `colour` is only as supplied.

    `stock` is what is free in each branch; `why` tells what it would do in a gland, or why it is
    not the same ring.
    """

    item: str
    name: str
    inside: float
    section: float
    elastomer: str | None
    hardness: int | None
    colour: str | None
    stock: tuple[str, ...]
    why: str | None = None


@dataclass(frozen=True, slots=True)
class RingMatchView:
    """A size, standard or of the catalogue, that may have been measured or suits a gland.

    `distance` grows with how far it is off; `note` tells where sources disagree, or
    that its tolerances are borrowed.
    """

    size: str
    distance: float
    why: str
    note: str | None


@dataclass(frozen=True, slots=True)
class RingDeciderView:
    """What tells the first from the second: `what`, its two lengths, how close (±mm), in words."""

    what: str
    first: float | None
    second: float | None
    within: float | None
    settled: bool
    words: str


@dataclass(frozen=True, slots=True)
class RingsView:
    """What a ring may be: sizes, likeliest first, and items; as far as it was asked.

    `inside` and `section` are as measured, `fitted_before` if it was used; `groove`, `bore`,
    `width`, `depth` and `purpose` (static, reciprocating, rotary) are of the gland; `item` is the
    item asked for. `near_misses` are sizes that the gland rules out, `items` what suits (the same
    ring, if an item was asked for), `not_the_same` items of its size of another rubber or hardness.
    """

    item: str | None
    inside: float | None
    section: float | None
    fitted_before: bool
    groove: float | None
    bore: float | None
    width: float | None
    depth: float | None
    purpose: str | None
    sizes: tuple[RingMatchView, ...]
    near_misses: tuple[RingMatchView, ...]
    decider: RingDeciderView | None
    items: tuple[RingItemView, ...]
    not_the_same: tuple[RingItemView, ...]


@dataclass(frozen=True, slots=True)
class ShareView:
    """A share in percent: least and most in the worst cases, and nominal."""

    least: float
    most: float
    nominal: float


@dataclass(frozen=True, slots=True)
class GlandVerdictView:
    """A share against what a source says; `broken` tells which case leaves it, None if kept.

    Only sources that `decides` make the answer a no; `certainty` says how the figure came here.
    """

    quantity: str
    limits: str
    about: str
    decides: bool
    broken: str | None
    source: str
    certainty: str


@dataclass(frozen=True, slots=True)
class RingGlandView:
    """A ring in a gland: its sizes (mm), its shares (percent), and the verdicts.

    A share whose lengths were not given is None: unknown. `swell` is percent by volume.
    """

    size: str | None
    purpose: str
    section: float
    section_tolerance: float
    inside: float | None
    inside_tolerance: float | None
    groove: float | None
    shallowest: float
    deepest: float
    width: float | None
    swell: float
    squeeze: ShareView
    stretch: ShareView | None
    fill: ShareView | None
    verdicts: tuple[GlandVerdictView, ...]
    within: bool
    caution: str


@dataclass(frozen=True, slots=True)
class RingSetView:
    """How far a used ring has set, in percent, from sections and gland depth in mm."""

    new_section: float
    used_section: float
    depth: float
    compression_set: float
    caution: str


@dataclass(frozen=True, slots=True)
class StandsView:
    """One medium: what it comes to (clash, ask, unknown, suits), the rating, who says so."""

    medium: str
    name: str
    state: str
    rating: str
    certainty: str
    said_by: str | Reason
    note: str | None


@dataclass(frozen=True, slots=True)
class SuitsView:
    """A rubber and the media asked about; `serves` is coldest and hottest in °C, from memory."""

    elastomer: str
    serves: tuple[int, int] | None
    media: tuple[StandsView, ...]


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
