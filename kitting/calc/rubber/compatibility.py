"""Chemistry: how a rubber stands what touches it, who says so, and how sure that is.

Only what is certain stops a plan; what is likely, doubtful or unknown is said as such and never
becomes "fine".
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from kitting.calc.planning.renewal import Overruled, Statement, settle_voices
from kitting.facts.rubber_media import (
    MEDIA,
    RATINGS,
    SERVICE_RANGE,
    TABLE_SOURCE,
    TableRating,
    compatibility,
)

STATES = ("clash", "ask", "unknown", "suits")
"""What a contact comes to, the worst first; only a clash stops anything."""

_STRICTNESS = {rating: place for place, rating in enumerate((*RATINGS, "unknown"))}
# Where the table has no row, any source that speaks decides.
_SILENCE = Statement("none", "unknown", "no source rates it", relaxed_by="workshop")


@dataclass(frozen=True, slots=True)
class Stands:
    """How a rubber stands one medium: one of STATES, the rating, and who says so."""

    state: str
    rating: str
    certainty: str
    said_by: str
    note: str | None = None
    overruled: tuple[Overruled, ...] = ()


@dataclass(frozen=True, slots=True)
class MediumWord:
    """What a source says of one compound in one medium (a rating of RATINGS)."""

    medium: str
    statement: Statement


def stands(elastomer: str, medium: str, said: Iterable[MediumWord] = ()) -> Stands:
    """How an elastomer stands a medium: the table, and sources that speak of this compound.

    A row that says "not suitable" with certainty is relaxed only by the maker. A source that
    speaks of the compound is taken as certain; the table only where its certainty is high.

    >>> stands("EPDM", "petroleum-grease").state
    'clash'
    >>> stands("FKM", "glycol-coolant").state
    'ask'
    """
    row = compatibility().get((medium, elastomer))
    base = _SILENCE if row is None else _of_table(row)
    words = [word.statement for word in said if word.medium == medium]
    winner, overruled = settle_voices(base, words, _STRICTNESS)
    if winner is not base:
        state = _state(winner.rule, "high")
        if state == "suits" and _certain(row):
            state = (
                "ask"  # the maker may say so, but whoever fits it shall see who and against what
            )
        return Stands(state, winner.rule, "stated", winner.said_by, None, overruled)
    if row is None:
        return Stands("unknown", "unknown", "none", base.said_by)
    state = _state(row.rating, row.certainty)
    return Stands(state, row.rating, row.certainty, base.said_by, row.note, overruled)


def _of_table(row: TableRating) -> Statement:
    also = f"; also {row.also_stated_in}" if row.also_stated_in else ""
    return Statement(
        "general",
        row.rating,
        f"{TABLE_SOURCE}, certainty {row.certainty}{also}",
        relaxed_by="maker" if _certain(row) else "workshop",
    )


def _certain(row: TableRating | None) -> bool:
    return row is not None and row.rating == RATINGS[-1] and row.certainty == "high"


def _state(rating: str, certainty: str) -> str:
    if certainty != "high":
        return "ask"
    return {RATINGS[0]: "suits", RATINGS[-1]: "clash"}.get(rating, "ask")


@dataclass(frozen=True, slots=True)
class Lubricated:
    """What a position is assembled with: item code, its medium if known, who names it."""

    item: str
    medium: str | None
    source: str | None = None
    reference: str | None = None


@dataclass(frozen=True, slots=True)
class Touching:
    """What touches the rubber of one position.

    `fluids` are (name, medium or None); `temperature` is the hottest in °C with its source;
    `goes_dry` says that this material of this kind goes on dry; `near` is what may be spoiled.
    """

    elastomer: str
    fluids: tuple[tuple[str, str | None], ...] = ()
    lubricant: Lubricated | None = None
    goes_dry: bool = False
    temperature: tuple[int, str] | None = None
    near: tuple[str, ...] = ()
    said: tuple[MediumWord, ...] = ()


@dataclass(frozen=True, slots=True)
class Contact:
    """One judgement: `against` is fluid, lubricant or temperature, `what` names which."""

    against: str
    what: str
    state: str
    rating: str
    certainty: str
    because: str


def judge_contacts(touching: Touching) -> tuple[Contact, ...]:
    """Every contact of a position, the worst first.

    Each fluid on either side counts for itself; so do the lubricant, the heat, and what the
    lubricant may spoil nearby.
    """
    found = [_fluid(touching, name, medium) for name, medium in touching.fluids]
    if touching.lubricant is not None:
        found += _lubricant(touching, touching.lubricant)
    if touching.temperature is not None:
        found.append(_heat(touching.elastomer, *touching.temperature))
    return tuple(sorted(found, key=lambda contact: STATES.index(contact.state)))


def _fluid(touching: Touching, name: str, medium: str | None) -> Contact:
    if medium is None:
        return _unknown("fluid", name, f"nobody says what medium {name} is")
    rubber = touching.elastomer
    return _rated("fluid", name, rubber, medium, stands(rubber, medium, touching.said))


def _rated(against: str, what: str, rubber: str, medium: str, answer: Stands) -> Contact:
    note = f" ({answer.note})" if answer.note else ""
    because = f"{rubber} in {MEDIA[medium].name}: {answer.rating}{note}. {answer.said_by}"
    return Contact(against, what, answer.state, answer.rating, answer.certainty, because)


def _unknown(against: str, what: str, because: str) -> Contact:
    return Contact(against, what, "unknown", "unknown", "none", because)


def _lubricant(touching: Touching, product: Lubricated) -> Sequence[Contact]:
    by_maker = product.source == "maker"
    if touching.goes_dry and not by_maker:
        because = f"{touching.elastomer} lips go on dry unless the maker names a lubricant"
        return [
            Contact(
                "lubricant", product.item, "clash", RATINGS[-1], "high",
                f"{because} (common practice, no source)",
            )
        ]  # fmt: skip
    if product.medium is None:
        return [_unknown("lubricant", product.item, f"nobody says what medium {product.item} is")]
    said = list(touching.said)
    if product.source is not None:
        # Naming a product for a position is saying that it suits there.
        names = Statement(
            product.source, RATINGS[0], f"{product.source}: {product.reference}", relaxed_by="maker"
        )
        said.append(MediumWord(product.medium, names))
    rubber, medium = touching.elastomer, product.medium
    found = [_rated("lubricant", product.item, rubber, medium, stands(rubber, medium, said))]
    for thing in MEDIA[medium].spoils:
        if thing in touching.near:
            because = (
                f"{MEDIA[medium].name} near {thing}: keep it away (common practice, no source)"
            )
            found.append(Contact("lubricant", product.item, "ask", RATINGS[2], "medium", because))
    return found


def _heat(elastomer: str, hottest: int, source: str) -> Contact:
    what, limits = f"{hottest} °C", SERVICE_RANGE.get(elastomer)
    if limits is None:
        return _unknown("temperature", what, f"no service temperature of {elastomer} is held")
    inside = limits[0] <= hottest <= limits[1]
    because = (
        f"{elastomer} at {hottest} °C ({source}): general-purpose grades serve from {limits[0]} to"
        f" {limits[1]} °C (from memory)"
    )
    return Contact("temperature", what, "ask", RATINGS[1] if inside else RATINGS[2], "low", because)
