"""How long a ring keeps by every policy, told side by side; no database is asked."""

from __future__ import annotations

from datetime import date

from kitting.errors import FigureError
from kitting.facts.elastomers import require_elastomer
from kitting.facts.shelf_life import (
    POLICIES,
    SHELF_YEARS,
    STORING,
    STORING_SOURCE,
    best_before,
    extension,
    parse_made,
)
from kitting.views.rubber import PolicyAgeView, RingAgeView

WARNING = (
    "Years count only for seals stored as the standard asks; an extension needs a look, and how and"
    " by whom is a matter of the standard and of the customer. The maker's data come first."
)


def ring_age(elastomer: str, made: str, on: date) -> RingAgeView:
    """What each policy says of fitting a ring on a day; the packet's own date is not asked.

    Raises FigureError for an unknown elastomer, a date of making that is none, and one in a later
    quarter than the day.
    """
    code, counted = require_elastomer(elastomer), parse_made(made)
    if (counted.year, (counted.month - 1) // 3) > (on.year, (on.month - 1) // 3):
        raise FigureError(f"made {made.strip()} is after {on}; check both dates")
    return RingAgeView(
        elastomer=code,
        made=counted,
        on=on,
        policies=tuple(
            _judged(code, counted, on, policy) for policy in POLICIES if policy != "packet"
        ),
        storing=STORING,
        storing_source=STORING_SOURCE,
        warning=WARNING,
    )


def _judged(code: str, made: date, on: date, policy: str) -> PolicyAgeView:
    shelf = best_before(made, code, policy)
    storage = SHELF_YEARS[policy].get(code)
    try:
        # A look on the last day of the first period extends wherever anything does.
        years = extension(made, code, policy, shelf.limit or made)
    except FigureError:
        years = None
    extended = None
    if years is not None:
        extended = best_before(made, code, policy, inspected=shelf.limit).limit
    return PolicyAgeView(
        policy=policy,
        fit=_fit(shelf.known, shelf.limit, extended, on),
        limit=shelf.limit,
        extension=years,
        extended=extended,
        reason=shelf.reason,
        source=None if storage is None else storage.source,
        dispute=None if storage is None else storage.dispute,
    )


def _fit(known: bool, limit: date | None, extended: date | None, on: date) -> str:
    if not known:
        return "not known"
    if limit is None or on <= limit:
        return "yes"
    return "after a look" if extended is not None and on <= extended else "no"
