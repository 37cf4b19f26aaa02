"""Time zones by name, of the IANA database, and the clocks of two places.

Wall clocks jump: in spring an hour is left out, in autumn one runs twice. A time that is left out
stands for the moment of the jump, one that comes twice for its first run (our choice: a cut-off is
never taken to be later than it may be).
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import cache
from zoneinfo import ZoneInfo, available_timezones

from kitting.errors import FigureError
from kitting.facts.names import nearest


@cache
def zone_of(name: str) -> ZoneInfo:
    """A time zone by its name ("Europe/Paris"). Raises FigureError naming near ones."""
    try:
        return ZoneInfo(name)
    except (KeyError, ValueError, OSError) as error:
        alike = nearest(name[:40], sorted(available_timezones()), loosely=True)
        hint = f". Did you mean {' or '.join(alike)}?" if alike else ""
        raise FigureError(
            "{name!r} is no time zone; write a name such as Europe/London{hint}",
            name=name[:40],
            hint=hint,
        ) from error


@dataclass(frozen=True, slots=True)
class Clock:
    """The clocks of a branch (`here`) and of its supplier (`there`), by zone; None: not stated.

    Where one is not stated it is taken to run as the other; where neither is, by one plain clock.
    All times are without a zone: the time on the wall of the place.
    """

    here: str | None = None
    there: str | None = None

    @property
    def same(self) -> bool:
        """Whether both show the same time."""
        return self.here is None or self.there is None or self.here == self.there

    def at_supplier(self, here: datetime) -> datetime:
        """What the supplier's clock shows when ours shows a time."""
        if self.same or self.here is None or self.there is None:
            return here
        return _wall(instant(here, self.here), self.there)

    def at_branch(self, there: datetime) -> datetime:
        """What our clock shows when the supplier's shows a time."""
        if self.same or self.here is None or self.there is None:
            return there
        return _wall(instant(there, self.there), self.here)

    def minutes(self, start: datetime, end: datetime) -> int:
        """Whole minutes that really pass between two times of our clock."""
        zone = self.here or self.there
        if zone is None:
            return int((end - start).total_seconds() // 60)
        return int((instant(end, zone) - instant(start, zone)).total_seconds() // 60)


def instant(wall: datetime, zone: str) -> datetime:
    """The moment (UTC) of a time on the wall; with fold 1 the second run of one that comes twice.

    >>> instant(datetime.fromisoformat("2026-03-29T01:30"), "Europe/London").isoformat()
    '2026-03-29T01:00:00+00:00'
    """
    place = zone_of(zone)
    moment = wall.replace(tzinfo=place).astimezone(UTC)
    if _wall(moment, zone).replace(fold=0) == wall.replace(fold=0):
        return moment
    # It is left out: the first moment after the jump lies between its two readings.
    early, late = sorted(wall.replace(tzinfo=place, fold=fold).astimezone(UTC) for fold in (0, 1))
    after = late.astimezone(place).utcoffset()
    while late - early > timedelta(seconds=1):
        middle = (early + (late - early) / 2).replace(microsecond=0)
        if middle == early:
            break
        if middle.astimezone(place).utcoffset() == after:
            late = middle
        else:
            early = middle
    return late


def left_out(wall: datetime, zone: str) -> tuple[datetime, datetime] | None:
    """From which time to which the clock jumps over a time on the wall; None if it does not.

    >>> left_out(datetime.fromisoformat("2026-03-29T01:30"), "Europe/London")
    (datetime.datetime(2026, 3, 29, 1, 0), datetime.datetime(2026, 3, 29, 2, 0))
    """
    jump = instant(wall, zone)
    after = _wall(jump, zone)
    if after.replace(fold=0) == wall.replace(fold=0):
        return None
    minute = timedelta(minutes=1)
    return _wall(jump - minute, zone) + minute, after


def second_run(wall: datetime, zone: str) -> datetime | None:
    """The second run, with its offset, of a time that comes twice; None if it comes once.

    >>> second_run(datetime.fromisoformat("2026-10-25T01:30"), "Europe/London").isoformat()
    '2026-10-25T01:30:00+00:00'
    """
    first, second = (wall.replace(tzinfo=zone_of(zone), fold=fold) for fold in (0, 1))
    # In a gap the offsets differ too, with the earlier one second.
    return second if first.astimezone(UTC) < second.astimezone(UTC) else None


def _wall(moment: datetime, zone: str) -> datetime:
    return moment.astimezone(zone_of(zone)).replace(tzinfo=None)
