"""By which clock a command goes: that of the branch it is about.

An instant is an instant: the time of this machine, or one that is given with its offset from UTC.
The branch's own time zone turns it into the time on the wall there. A time without an offset is
the time on the wall of the branch already: one that its clock jumps over in spring is refused, of
one that comes twice in autumn the first is taken, which is told.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

from kitting.cli.given import stated_by_branches
from kitting.errors import FigureError


def now() -> datetime:
    """The time on the wall of the branch, to the minute."""
    return on_the_wall(datetime.now(UTC)).replace(second=0, microsecond=0)


def today() -> date:
    """What day it is at the branch."""
    return now().date()


def on_the_wall(instant: datetime) -> datetime:
    """What the clock of the branch shows at an instant; of this machine where no zone is stated.

    Of an hour that runs twice in autumn, `fold` tells the second run.
    """
    zone = _zone()
    if zone is None:
        return _of_machine(instant)
    from kitting.facts.time_zones import zone_of

    return instant.astimezone(zone_of(zone)).replace(tzinfo=None)


def on_this_wall(wall: datetime) -> datetime:
    """A time that was read off the branch's clock; raises FigureError if it never shows that.

    Nothing is known of it where no zone is stated, or where several would do.
    """
    zones = _zones()
    zone = next(iter(zones)) if len(zones) == 1 else None
    if zone is None:
        return wall
    from kitting.cli.options import remark
    from kitting.facts.time_zones import left_out, second_run

    jump = left_out(wall, zone)
    if jump is not None:
        start, end = jump
        raise FigureError(
            f"{wall:%Y-%m-%d %H:%M} does not exist in {zone}: the clock goes from {start:%H:%M}"
            f" to {end:%H:%M} then. Write '{start - timedelta(minutes=1):%Y-%m-%d %H:%M}' or"
            f" '{end:%Y-%m-%d %H:%M}'"
        )
    second = second_run(wall, zone)
    if second is not None:
        remark(
            f"{wall:%Y-%m-%d %H:%M} comes twice in {zone}: the first is taken; write"
            f" '{second.isoformat(timespec='minutes')}' for the second"
        )
    return wall


def machine() -> datetime:
    """The time on the wall where this machine stands, to the minute: no branch is asked."""
    return _of_machine(datetime.now(UTC)).replace(second=0, microsecond=0)


def _of_machine(instant: datetime) -> datetime:
    return datetime.fromtimestamp(instant.timestamp())  # noqa: DTZ006  (wall clock)


def _zone() -> str | None:
    """The time zone of the branch; None where none is stated, or several would do."""
    zones = _zones()
    if len(zones) > 1:
        from kitting.cli.options import remark

        remark(
            "the branches go by different clocks: taken by the clock of this machine. Name a"
            " branch, or give the time on its wall without an offset"
        )
        return None
    return next(iter(zones), None)


def _zones() -> frozenset[str | None]:
    """The time zones of the branches that a command is about; none where there is no database."""
    from kitting.services.of_branch import zones_of

    return stated_by_branches(zones_of)
