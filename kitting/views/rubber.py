"""Rubber: what a measured ring may be, what suits a gland, what rubber stands and for how long."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from kitting.facts.amounts import Thousandths
from kitting.facts.reasons import Reason
from kitting.facts.ring_reasons import DecidedBy, GlandShare
from kitting.facts.words import ContactState, ShelfPolicy, Word


class StorageVerdict(Word):
    """Whether a policy lets a ring be fitted on a day."""

    YES = "yes"
    AFTER_INSPECTION = "after an inspection"
    NO = "no"
    NOT_KNOWN = "not known"


@dataclass(frozen=True, slots=True)
class ShareView:
    """A share in percent: least and most in the worst cases, and nominal."""

    least: float
    most: float
    nominal: float


@dataclass(frozen=True, slots=True)
class OffView:
    """What was measured less a nominal size, in mm.

    `stretched`: its inside is larger than tolerance explains, it being used. `within`: both lengths
    are within reach of tolerance and error of measuring.
    """

    inside: float
    section: float
    stretched: bool
    within: bool


@dataclass(frozen=True, slots=True)
class InGlandView:
    """What a gland does to a ring in the worst cases; what rules it out, what is remarked."""

    squeeze: ShareView
    stretch: ShareView
    fill: ShareView | None
    ruled_out: tuple[Reason, ...]
    remarks: tuple[Reason, ...] = ()


@dataclass(frozen=True, slots=True)
class TolerancesView:
    """Tolerances (± mm) borrowed from a standard ring, where the maker's are not held."""

    inside: float
    section: float


@dataclass(frozen=True, slots=True)
class FreeView:
    """Pieces of an item that are free in a branch: not on hold, not promised."""

    branch: str
    quantity: Thousandths


@dataclass(frozen=True, slots=True)
class RingItemView:
    """A ring of the catalogue: mm, elastomer and hardness; `colour` is only as supplied.

    `stock` is what is free in each branch. In a gland, `gland` tells what it would do there;
    `measured` is how far the measured ring is off it. `differs` tells why it is not the same ring.
    """

    item: str
    name: str
    inside: float
    section: float
    elastomer: str | None
    hardness: int | None
    colour: str | None
    stock: tuple[FreeView, ...]
    gland: InGlandView | None = None
    measured: OffView | None = None
    borrowed: TolerancesView | None = None
    differs: Reason | None = None


@dataclass(frozen=True, slots=True)
class RingMatchView:
    """A size, standard or of the catalogue, that may have been measured or suits a gland.

    `distance` grows with how far it is off; `note` tells where sources disagree; `borrowed` are its
    tolerances where it is no standard size.
    """

    size: str
    distance: float
    gland: InGlandView | None
    measured: OffView | None
    borrowed: TolerancesView | None
    note: str | None


@dataclass(frozen=True, slots=True)
class RingDeciderView:
    """What tells the first from the second: its two lengths, how close (±mm), and why."""

    what: DecidedBy
    first: float | None
    second: float | None
    within: float | None
    settled: bool
    reason: Reason


@dataclass(frozen=True, slots=True)
class RingsView:
    """What a ring may be: sizes, likeliest first, and items; as far as it was asked.

    `inside` and `section` are as measured, ± `error`, `fitted_before` if it was used; `groove`,
    `bore`, `width`, `depth` and `purpose` (static, reciprocating, rotary) are of the gland; `item`
    is the item asked for. `near_misses` are sizes that the gland rules out, `items` what suits (the
    same ring, if an item was asked for), `not_the_same` items of its size of another rubber or
    hardness.
    """

    item: str | None
    inside: float | None
    section: float | None
    error: float | None
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
class GlandVerdictView:
    """A share against the limits of a source, in percent; `broken` has the cases that leave them.

    Only sources that `decides` make the answer a no; `certainty` says how the figure came here.
    """

    quantity: GlandShare
    least: float | None
    most: float | None
    about: str
    decides: bool
    broken: tuple[Reason, ...]
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


@dataclass(frozen=True, slots=True)
class RingSetView:
    """How far a used ring has set, in percent, from sections and gland depth in mm."""

    new_section: float
    used_section: float
    depth: float
    compression_set: float


@dataclass(frozen=True, slots=True)
class StandsView:
    """One medium: what it comes to, the rating, who says so."""

    medium: str
    name: str
    state: ContactState
    rating: str
    certainty: str
    said_by: str | Reason
    note: str | None


@dataclass(frozen=True, slots=True)
class SuitsView:
    """A rubber and the media asked about.

    `serves` is coldest and hottest in °C of general-purpose grades, `serves_said_by` who says so;
    both None where no range is held.
    """

    elastomer: str
    serves: tuple[int, int] | None
    media: tuple[StandsView, ...]
    serves_said_by: Reason | None = None


@dataclass(frozen=True, slots=True)
class PolicyAgeView:
    """What one policy says of fitting a ring on a day.

    Where `fit` is "after an inspection", its storage can be extended once, and `extended` is then
    the limit. `limit` None with fit "yes" is unlimited. `extension` is in years.
    """

    policy: ShelfPolicy
    fit: StorageVerdict
    limit: date | None
    extension: int | None
    extended: date | None
    reason: Reason
    source: str | None
    dispute: str | None


@dataclass(frozen=True, slots=True)
class RingAgeView:
    """A ring of an elastomer, made up to `made`, judged on a day."""

    elastomer: str
    made: date
    on: date
    policies: tuple[PolicyAgeView, ...]
