"""Deliveries: when an order arrives, with what chance, and when it has to be placed.

Moments are times of the branch's clock, cut-offs and days are by the supplier's (`Terms.clock`).
Lead times are working days of the supplier's calendar.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from functools import cache
from math import exp, lgamma, nextafter

from kitting.calc.purchasing.workdays import WorkCalendar
from kitting.errors import FigureError
from kitting.facts.time_zones import Clock

_TYPICAL = 0.5
_LATE = 0.9
# As how many receipts the supplier's word may count; beforehand each is as likely. Our choice.
WORD_COUNTS_AS = (4, 16, 64)
# How far rounding may move a chance that equals the one asked for.
_ROUNDING = 1e-12
_NEARLY = nextafter(1.0, 0.0)


@dataclass(frozen=True, slots=True)
class LeadTime:
    """Working days from day 0 to arrival.

    `typical` is the median and `late` the 90th percentile, as the supplier states them; `observed`
    what past orders took, kept in order. Raises FigureError for negative days or `late` before
    `typical`.
    """

    typical: int
    late: int
    observed: tuple[int, ...] = ()

    def __post_init__(self) -> None:
        if not 0 <= self.typical <= self.late or min(self.observed, default=0) < 0:
            raise FigureError(
                "lead time of {typical} days, late {late}, observed {listed}: days are never"
                " negative, and late is not before typical",
                typical=self.typical,
                late=self.late,
                listed=list(self.observed),
            )
        object.__setattr__(self, "observed", tuple(sorted(self.observed)))

    @property
    def stated_days(self) -> tuple[int, int]:
        """The usual and the late days, as they are stated."""
        return self.typical, self.late

    def stated(self, days: int) -> float:
        """The chance of arrival within so many working days, by the supplier's word alone.

        Our model, from two figures only: nothing comes before `typical`; half has come on that
        day; from there what is outstanding shrinks by the same factor each day, down to a tenth
        at `late`, and on beyond it. 1 − ½·q^(days − typical) with q^(late − typical) = ⅕. If
        `late` is `typical`, nine tenths come on that day and q is ⅕.

        >>> [round(LeadTime(3, 5).stated(days), 3) for days in (2, 3, 4, 5, 7)]
        [0.0, 0.5, 0.776, 0.9, 0.98]
        """
        if days < self.typical:
            return 0.0
        fifths = (days - self.late) if self.late == self.typical else self._fifths(days)
        outstanding = 1 - (_LATE if self.late == self.typical else _TYPICAL)
        return 1 - outstanding * ((1 - _LATE) / (1 - _TYPICAL)) ** fifths

    def chance(self, days: int) -> float:
        """The chance that an order has arrived so many working days after day 0.

        Of n receipts k took no longer. If the supplier's word counts as s receipts, the chance is
        (k + s·stated)/(n + s): the mean of a Beta belief, as of all days together (a Dirichlet
        process whose base is the stated law, Ferguson 1973). s is one of WORD_COUNTS_AS; how
        likely each is, the receipts tell (`_weights`): a supplier that keeps its word is taken at
        its word, of one that does not the receipts soon count most. There is no ceiling: what
        nobody saw come later than a day comes, beyond it, as the stated law has it.

        >>> [round(LeadTime(3, 5, (3,) * 10).chance(days), 2) for days in (2, 3, 5)]
        [0.0, 0.82, 0.96]
        """
        stated = self.stated(days)
        if not self.observed:
            return stated
        quick, count = bisect_right(self.observed, days), len(self.observed)
        each = sum(w / (count + s) for s, w in zip(WORD_COUNTS_AS, self._weights(), strict=True))
        return min(1.0, quick * each + stated * (1.0 - count * each))

    def _weights(self) -> tuple[float, ...]:
        """How likely the supplier's word counts as so many receipts, given what was seen.

        By the spans up to `typical`, up to `late` and beyond, whose stated chances are known; the
        chance of their counts is that of a Dirichlet-multinomial.
        """
        ends = [bisect_right(self.observed, end) for end in (self.typical, self.late)]
        counts = (ends[0], ends[1] - ends[0], len(self.observed) - ends[1])
        by_typical, by_late = self.stated(self.typical), self.stated(self.late)
        return _likely(counts, (by_typical, by_late - by_typical, 1 - by_late))

    def _fifths(self, days: int) -> float:
        return (days - self.typical) / (self.late - self.typical)

    def quantile(self, p: float) -> int:
        """The fewest working days within which an order arrives with chance `p`, 0 < p < 1.

        Raises FigureError for another `p`.
        """
        if not 0 < p < 1:
            raise FigureError(
                "chance {chance} must lie between 0 and 1; certainty is not to be had", chance=p
            )
        days = min((self.typical, *self.observed))
        while self.chance(days) < p - _ROUNDING:
            days += 1
        return days


@cache
def _likely(counts: tuple[int, ...], stated: tuple[float, ...]) -> tuple[float, ...]:
    """The weight of each of WORD_COUNTS_AS, by the counts per span and their stated chances."""
    logs = [
        lgamma(strength)
        - lgamma(strength + sum(counts))
        + sum(
            lgamma(strength * share + count) - lgamma(strength * share)
            for count, share in zip(counts, stated, strict=True)
            if share > 0
        )
        for strength in WORD_COUNTS_AS
    ]
    likely = [exp(log - max(logs)) for log in logs]
    return tuple(one / sum(likely) for one in likely)


@dataclass(frozen=True, slots=True)
class Terms:
    """How a supplier delivers: daily cut-off times, calendar and lead time, and by which clock.

    What comes on a day on which the branch that gets it is closed is here on its next open day
    (`receiving`; None: not known, any day of the supplier's will do).

    Raises FigureError without a cut-off: an unknown one is not guessed.
    """

    cutoffs: tuple[time, ...]
    calendar: WorkCalendar
    lead: LeadTime
    clock: Clock = field(default_factory=Clock)
    receiving: WorkCalendar | None = None

    def __post_init__(self) -> None:
        if not self.cutoffs:
            raise FigureError("no cut-off time is known; ask the supplier and give at least one")


def before(now: datetime, cutoff: time) -> bool:
    """Whether a time of day has not come yet, by the clock on the wall.

    In autumn an hour runs twice: a cut-off in it counts the first time, so in the second run
    (`now.fold` 1) it is past. In spring an hour is left out: a cut-off in it is past when the
    clock has jumped over it.

    >>> before(datetime.fromisoformat("2026-04-02T15:59"), time(16))
    True
    """
    if now.fold and cutoff.hour == now.hour:
        return False
    return now.time() < cutoff


def day_zero(now: datetime, terms: Terms) -> date:
    """The day that counts as 0 for an order placed now.

    Before the last cut-off of a working day it is that day, at or after it the supplier's next
    working day. Common practice, no source.
    """
    there = terms.clock.at_supplier(now)
    if terms.calendar.is_open(there.date()) and before(there, max(terms.cutoffs)):
        return there.date()
    return terms.calendar.next_open(there.date() + timedelta(days=1))


def arrival(now: datetime, terms: Terms, days: int) -> date:
    """The day on which an order placed now arrives if it takes so many working days.

    The worked example of our rules: Thursday 2 April 2026, 14:20, closed on Friday and Monday,
    cut-off 16:00.

    >>> closed = {date(2026, 4, 3): "Good Friday", date(2026, 4, 6): "Easter Monday"}
    >>> terms = Terms((time(16),), WorkCalendar(closed), LeadTime(1, 1))
    >>> arrival(datetime.fromisoformat("2026-04-02T14:20"), terms, 1)
    datetime.date(2026, 4, 7)
    """
    day = terms.calendar.add(day_zero(now, terms), days)
    return day if terms.receiving is None else terms.receiving.next_open(day)


def chance_by(now: datetime, terms: Terms, by: date) -> float:
    """The chance that an order placed now has arrived by the end of a day (LeadTime.chance)."""
    zero = day_zero(now, terms)
    # On a day on which the branch is closed nothing is taken in.
    by = by if terms.receiving is None else terms.receiving.last_open(by)
    if by < zero:
        return 0.0
    return terms.lead.chance(terms.calendar.between(zero, by + timedelta(days=1)) - 1)


def chance_still(placed: datetime, terms: Terms, now: date, by: date) -> float:
    """The chance that an order that has not come by now arrives by the end of a day.

    Of the chances by the model, what is left of it after every day that has passed without it. What
    is still on its way is never certain.
    """
    if by < now:
        return 0.0
    gone = chance_by(placed, terms, now - timedelta(days=1))
    if gone >= 1.0:
        return 0.0
    return min(_NEARLY, (chance_by(placed, terms, by) - gone) / (1.0 - gone))


def order_by(terms: Terms, by: date, days: int) -> datetime:
    """The cut-off before which to order, so that `days` working days still arrive by a day.

    An order placed at that very moment is too late. Raises FigureError for negative days.
    """
    if days < 0:
        raise FigureError("a lead time of {days} days is negative", days=days)
    calendar = terms.calendar
    day = calendar.add(calendar.last_open(by), -days)
    return terms.clock.at_branch(datetime.combine(day, max(terms.cutoffs)))


def next_cutoff(now: datetime, terms: Terms) -> datetime:
    """The first cut-off after now: today's next, else the first of the next working day."""
    there = terms.clock.at_supplier(now)
    if terms.calendar.is_open(there.date()):
        left = [cutoff for cutoff in terms.cutoffs if before(there, cutoff)]
        if left:
            day, at = there.date(), min(left)
            return terms.clock.at_branch(datetime.combine(day, at, tzinfo=there.tzinfo))
    day = terms.calendar.next_open(there.date() + timedelta(days=1))
    return terms.clock.at_branch(datetime.combine(day, min(terms.cutoffs), tzinfo=there.tzinfo))
