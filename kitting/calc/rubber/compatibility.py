"""Chemistry: how a rubber stands what touches it, who says so, and how sure that is.

Only what is certain stops a plan, and what a row of the table stops in one system; what is likely,
doubtful or unknown is said as such and never becomes "fine". What the maker allows against a
certain "not suitable" is asked about, with who says what.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TypeAlias

from kitting.calc.planning.renewal import Overruled, Reference, Statement, resolve_sources
from kitting.facts.plan_reasons import ContactReason
from kitting.facts.reasons import Reason, Value, because
from kitting.facts.rubber_media import (
    FAR_BEYOND,
    MEDIA,
    ServiceRange,
    TableRating,
    compatibility,
    service_ranges,
)
from kitting.facts.words import Certainty, ContactAgainst, ContactState, Rating, RelaxedBy, Source

STATES = tuple(ContactState)
"""What a contact comes to, the worst first; only a clash stops anything."""

_STRICTNESS: Mapping[Rating, int] = {rating: place for place, rating in enumerate(Rating)}
RatingStatement: TypeAlias = Statement[Rating]


# Where the table has no row, any source that speaks decides.
_SILENCE = Statement(Source.NONE, Rating.UNKNOWN, because(ContactReason.NOBODY_RATES))


@dataclass(frozen=True, slots=True)
class Stands:
    """How a rubber stands one medium: what it comes to, the rating, and who says so.

    `against` is the row that forbids it where the maker allows it.
    """

    state: ContactState
    rating: Rating
    certainty: Certainty
    said_by: Reference
    note: str | None = None
    overruled: tuple[Overruled[Rating], ...] = ()
    against: TableRating | None = None


@dataclass(frozen=True, slots=True)
class SourceStatement:
    """What a source says of one compound in one medium."""

    medium: str
    statement: RatingStatement


def source_statement(
    medium: str,
    source: Source,
    rating: Rating,
    reference: str,
    relaxed_by: RelaxedBy = RelaxedBy.WORKSHOP,
) -> SourceStatement:
    """What a source with a reference says of one compound in one medium."""
    said_by = because(ContactReason.REFERENCE, source=source, reference=reference)
    return SourceStatement(medium, Statement(source, rating, said_by, relaxed_by=relaxed_by))


def stands(
    elastomer: str,
    medium: str,
    stated: Iterable[SourceStatement] = (),
    system: str | None = None,
) -> Stands:
    """How an elastomer stands a medium: the table, and sources that speak of this compound.

    A row that says "not suitable" with certainty, or that stops in this system, is relaxed only by
    the maker. A source that speaks of the compound is taken as certain; the table only where its
    certainty is high.

    >>> stands("EPDM", "petroleum-grease").state
    'clash'
    >>> stands("FKM", "glycol-coolant").state
    'ask'
    >>> stands("NBR", "glycol-brake-fluid", system="brakes").state
    'clash'
    """
    row = compatibility().get((medium, elastomer))
    stops = row is not None and row.stops(system)
    base = _SILENCE if row is None else _of_table(row, stops)
    statements = [one.statement for one in stated if one.medium == medium]
    winner, overruled = resolve_sources(base, statements, _STRICTNESS)
    if winner is not base:
        state = _state(winner.rule, Certainty.HIGH)
        against = row if stops and winner.rule != Rating.NOT_SUITABLE else None
        if state == ContactState.SUITS and against:
            # The maker may say so, but whoever fits it shall see who and against what.
            state = ContactState.ASK
        return Stands(
            state, winner.rule, Certainty.STATED, winner.said_by, None, overruled, against
        )
    if row is None:
        return Stands(ContactState.UNKNOWN, Rating.UNKNOWN, Certainty.NONE, base.said_by)
    state = ContactState.CLASH if stops else _state(row.rating, row.certainty)
    return Stands(state, row.rating, row.certainty, base.said_by, row.note, overruled)


def _of_table(row: TableRating, stops: bool) -> RatingStatement:
    return Statement(
        Source.GENERAL,
        row.rating,
        _said_by(row),
        relaxed_by=RelaxedBy.MAKER if stops else RelaxedBy.WORKSHOP,
    )


def range_said_by(limits: ServiceRange) -> Reason:
    """Who gives a range of temperature."""
    return _said_by(limits)


def _said_by(row: TableRating | ServiceRange) -> Reason:
    table = {"source": row.source, "certainty": row.certainty}
    if row.also_stated_in:
        return because(ContactReason.TABLE_AND_OTHERS, **table, others=row.also_stated_in)
    return because(ContactReason.TABLE, **table)


def _state(rating: Rating, certainty: Certainty) -> ContactState:
    if certainty == Certainty.HIGH and rating == Rating.SUITABLE:
        return ContactState.SUITS
    if certainty == Certainty.HIGH and rating == Rating.NOT_SUITABLE:
        return ContactState.CLASH
    return ContactState.ASK


@dataclass(frozen=True, slots=True)
class Lubricated:
    """What a position is assembled with: item code, its medium if known, who names it."""

    item: str
    medium: str | None
    source: Source | None = None
    reference: str | None = None


@dataclass(frozen=True, slots=True)
class Used:
    """A product that is put on or filled in at the joint of a position.

    `placed` says whether it is stated that it comes to this position, not only to the work;
    `for_another` that it is named for another rubber beside it, which only what is certain reaches.
    `packet` is the code of what brings it, where nobody says what it is for; `may_come` says that
    the packet comes only if old stock is not enough.
    """

    item: str
    medium: str | None
    placed: bool = True
    for_another: bool = False
    packet: str | None = None
    may_come: bool = False


@dataclass(frozen=True, slots=True)
class Touching:
    """What touches the rubber of one position.

    `fluids` are (name, medium or None); `temperature` is the hottest in °C with its source;
    `lubricants` are what it is assembled with, or what stands for that;
    `goes_dry` says that this material of this kind goes on dry; `system` is the part of the car, in
    which some rows of the table stop.
    """

    elastomer: str
    fluids: tuple[tuple[str, str | None], ...] = ()
    lubricants: tuple[Lubricated, ...] = ()
    used: tuple[Used, ...] = ()
    goes_dry: bool = False
    temperature: tuple[int, str] | None = None
    stated: tuple[SourceStatement, ...] = ()
    system: str | None = None


@dataclass(frozen=True, slots=True)
class Contact:
    """One judgement: `what` names the fluid, the product or the temperature it is against.

    `packet` is the code of what brings it, where nobody says what it is for.
    """

    against: ContactAgainst
    what: str
    state: ContactState
    rating: Rating
    certainty: Certainty
    because: Reason
    packet: str | None = None


def judge_contacts(touching: Touching) -> tuple[Contact, ...]:
    """Every contact of a position, the worst first.

    Each fluid on either side counts for itself; so do each lubricant, what is used at the joint
    and the heat.
    """
    found = [_fluid(touching, name, medium) for name, medium in touching.fluids]
    for lubricant in touching.lubricants:
        found += _lubricant(touching, lubricant)
    for used in touching.used:
        found += _used(touching, used)
    if touching.temperature is not None:
        found.append(_heat(touching.elastomer, *touching.temperature))
    return tuple(sorted(found, key=lambda contact: STATES.index(contact.state)))


def _fluid(touching: Touching, name: str, medium: str | None) -> Contact:
    if medium is None:
        return _medium_unknown(ContactAgainst.FLUID, name)
    answer = stands(touching.elastomer, medium, touching.stated, touching.system)
    return _rated(ContactAgainst.FLUID, name, touching.elastomer, medium, answer)


def _rated(against: ContactAgainst, what: str, rubber: str, medium: str, answer: Stands) -> Contact:
    values = {
        "rubber": rubber,
        "medium": MEDIA[medium].name,
        "rating": answer.rating,
        "said_by": answer.said_by,
    }
    reason = because(ContactReason.RATED, **values)
    if answer.against is not None:
        reason = because(
            ContactReason.RATED_AGAINST,
            **values,
            other=answer.against.rating,
            other_said_by=_said_by(answer.against),
        )
    elif answer.note:
        reason = because(ContactReason.RATED_WITH_NOTE, **values, note=answer.note)
    return Contact(against, what, answer.state, answer.rating, answer.certainty, reason)


def _unknown(against: ContactAgainst, what: str, reason: Reason) -> Contact:
    return Contact(against, what, ContactState.UNKNOWN, Rating.UNKNOWN, Certainty.NONE, reason)


def _medium_unknown(against: ContactAgainst, what: str) -> Contact:
    code = ContactReason.PRODUCT_UNKNOWN if against.on_rubber else ContactReason.MEDIUM_UNKNOWN
    return _unknown(against, what, because(code, what=what))


def _lubricant(touching: Touching, product: Lubricated) -> Sequence[Contact]:
    against, rubber, medium = ContactAgainst.LUBRICANT, touching.elastomer, product.medium
    if touching.goes_dry and product.source != Source.MAKER:
        # Common practice: it stops, for a lip that went on dry is oiled sooner than cleaned.
        reason = because(ContactReason.GOES_ON_DRY, rubber=rubber)
        clash, worst = ContactState.CLASH, Rating.NOT_SUITABLE
        return [Contact(against, product.item, clash, worst, Certainty.LOW, reason)]
    if medium is None:
        return [_medium_unknown(against, product.item)]
    stated = list(touching.stated)
    if product.source is not None:
        # Naming a product for a position is saying that it suits there.
        stated.append(
            source_statement(
                medium, product.source, Rating.SUITABLE, product.reference or "", RelaxedBy.MAKER
            )
        )
    answer = stands(rubber, medium, stated, touching.system)
    return [_rated(against, product.item, rubber, medium, answer)]


def _used(touching: Touching, product: Used) -> Sequence[Contact]:
    """A product of the joint; where its place is not stated a clash is a question."""
    against, rubber, medium = ContactAgainst.USE, touching.elastomer, product.medium
    if medium is None:
        unknown = _brought(product, _medium_unknown(against, product.item))
        return [] if product.for_another else [unknown]
    answer = stands(rubber, medium, touching.stated, touching.system)
    contact = _rated(against, product.item, rubber, medium, answer)
    if product.for_another and contact.state is not ContactState.CLASH:
        return []
    if not product.placed and contact.state == ContactState.CLASH:
        why = because(ContactReason.PLACE_NOT_STATED, item=product.item, why=contact.because)
        contact = replace(contact, state=ContactState.ASK, because=why)
    return [_brought(product, contact)]


def _brought(product: Used, contact: Contact) -> Contact:
    """A contact that names the packet; what only may come clashes with nothing yet."""
    if product.packet is None:
        return contact
    code = ContactReason.MAY_BE_BROUGHT if product.may_come else ContactReason.BROUGHT
    why = because(code, packet=product.packet, item=product.item, why=contact.because)
    clashes = product.may_come and contact.state is ContactState.CLASH
    state = ContactState.ASK if clashes else contact.state
    return replace(contact, state=state, because=why, packet=product.packet)


def _heat(elastomer: str, hottest: int, source: str) -> Contact:
    """How a rubber stands the heat of its place; a range from memory proves nothing."""
    against, what, limits = (
        ContactAgainst.TEMPERATURE, f"{hottest} °C", service_ranges().get(elastomer),
    )  # fmt: skip
    if limits is None:
        return _unknown(against, what, because(ContactReason.TEMPERATURE_UNKNOWN, rubber=elastomer))
    inside = limits.coldest <= hottest <= limits.hottest
    values: dict[str, Value] = {
        "rubber": elastomer,
        "celsius": hottest,
        "source": source,
        "coldest": limits.coldest,
        "hottest": limits.hottest,
        "said_by": range_said_by(limits),
    }
    if hottest > limits.hottest + FAR_BEYOND:
        reason = because(ContactReason.TEMPERATURE_FAR_BEYOND, **values, margin=FAR_BEYOND)
        clash, worst = ContactState.CLASH, Rating.NOT_SUITABLE
        return Contact(against, what, clash, worst, Certainty.LOW, reason)
    reason = because(ContactReason.TEMPERATURE, **values)
    state = ContactState.ASK
    if inside and limits.certainty is Certainty.HIGH:
        state = ContactState.SUITS
    rating = Rating.USUALLY_SUITABLE if inside else Rating.DOUBTFUL
    return Contact(against, what, state, rating, limits.certainty, reason)
