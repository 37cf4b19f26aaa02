"""How long a ring keeps by every policy, side by side; no database is asked."""

from __future__ import annotations

from datetime import date

from kitting.errors import FigureError
from kitting.facts.elastomers import require_elastomer
from kitting.facts.making import parse_made
from kitting.facts.shelf_life import (
    POLICIES,
    SHELF_YEARS,
    NoExtensionError,
    Shelf,
    best_before,
    extension,
)
from kitting.facts.words import ShelfPolicy
from kitting.views.rubber import PolicyAgeView, RingAgeView, StorageVerdict


def ring_age(elastomer: str, made: str, on: date) -> RingAgeView:
    """What each policy says of fitting a ring on a day; the packet's own date is not asked.

    Raises FigureError for an unknown elastomer, a date of making that cannot be read, and one in a
    later quarter than the day.
    """
    code, counted = require_elastomer(elastomer), parse_made(made)
    if (counted.year, (counted.month - 1) // 3) > (on.year, (on.month - 1) // 3):
        raise FigureError("made {made} is after {on}; check both dates", made=made.strip(), on=on)
    return RingAgeView(
        elastomer=code,
        made=counted,
        on=on,
        policies=tuple(
            _judged(code, counted, on, policy)
            for policy in POLICIES
            if policy is not ShelfPolicy.PACKET
        ),
    )


def _judged(code: str, made: date, on: date, policy: ShelfPolicy) -> PolicyAgeView:
    shelf = best_before(made, code, policy)
    storage = SHELF_YEARS[policy].get(code)
    try:
        # An inspection on the last day of the first period extends wherever anything does.
        years = extension(made, code, policy, shelf.limit or made)
    except NoExtensionError:
        years = None
    extended = None
    if years is not None:
        extended = best_before(made, code, policy, inspected=shelf.limit).limit
    return PolicyAgeView(
        policy=policy,
        fit=_fit(shelf, extended, on),
        limit=shelf.limit,
        extension=years,
        extended=extended,
        reason=shelf.reason,
        source=None if storage is None else storage.source,
        dispute=None if storage is None else storage.dispute,
    )


def _fit(shelf: Shelf, extended: date | None, on: date) -> StorageVerdict:
    over = shelf.limit is not None and on > shelf.limit
    inspected = extended is not None and on <= extended
    if over and not inspected:
        return StorageVerdict.NO
    if not shelf.known:
        return StorageVerdict.NOT_KNOWN
    return StorageVerdict.AFTER_INSPECTION if over else StorageVerdict.YES
