"""Shelf life: how long seals keep from the day they were made, by the policy chosen.

Two published tables disagree by a factor of two for nitrile rubber, so neither is built in.
"""

from __future__ import annotations

import re
from calendar import monthrange
from dataclasses import dataclass, replace
from datetime import date, timedelta

from kitting.errors import FigureError
from kitting.facts.elastomers import require_elastomer

POLICIES = ("ISO 2230", "ARP5316", "packet")

_ISO_READ = "ISO 2230:2002, read in a seal maker's extract of BS ISO 2230:2002"
_ISO_MEMORY = "ISO 2230:2002, group from memory"
_ARP_READ = "SAE ARP5316 / AS5316, read in two vendors' tables"
_ARP_MEMORY = "SAE ARP5316 / AS5316, from memory"


@dataclass(frozen=True, slots=True)
class Storage:
    """How long an elastomer keeps packed and stored as its standard asks.

    `years` None means unlimited. `extension` is what an inspection may add in years, once; without
    one it is never added. `dispute` names another published figure where there is one.
    """

    years: int | None
    source: str
    group: str | None = None
    extension: int | None = None
    dispute: str | None = None


def _iso(group: str, years: int, extension: int, read: str, memory: str = "") -> dict[str, Storage]:
    entry = Storage(years, _ISO_READ, group, extension)
    unsure = replace(entry, source=_ISO_MEMORY)
    return dict.fromkeys(read.split(), entry) | dict.fromkeys(memory.split(), unsure)


# Per policy and code of ISO 1629. What is missing is not in the standard or was not found: PTFE
# in ISO 2230; NR, IR, BR and ECO in ARP5316 (one summary of it groups ECO with nitrile).
# The edition of 2002: a new one was being voted on in January 2026.
SHELF_YEARS: dict[str, dict[str, Storage]] = {
    "ISO 2230": {
        **_iso("A", 5, 2, read="NR IR BR SBR AU EU"),
        **_iso("B", 7, 3, read="NBR HNBR ACM CR ECO IIR", memory="AEM"),
        **_iso("C", 10, 5, read="CSM EPDM FKM FFKM VMQ FVMQ", memory="EPM FEPM"),
    },
    "ARP5316": {
        "SBR": Storage(3, _ARP_READ, dispute="another table of it has 15 years"),
        **dict.fromkeys(("AU", "EU"), Storage(5, _ARP_READ)),
        **dict.fromkeys(("NBR", "HNBR", "ACM", "AEM", "CR"), Storage(15, _ARP_READ)),
        "CSM": Storage(15, _ARP_MEMORY),
        **dict.fromkeys(
            ("IIR", "EPDM", "EPM", "FKM", "FFKM", "VMQ", "FVMQ", "FEPM", "PTFE"),
            Storage(None, _ARP_READ),
        ),
    },
}
# How seals have to lie for the years to count: ISO 2230:2002, from memory, in our own words.
STORING = (
    "below 25 °C, away from heaters, and dry",
    "dark: no sunlight, no strong lamps, packets that let no light through",
    "away from ozone: no motors or switches that spark, no chargers, no welding",
    "without strain: not stretched, bent, pressed or hung on hooks",
    "in closed packets one by one, away from oil, fuel, solvent and bare copper",
    "each packet with its date; first in, first out",
)
STORING_SOURCE = "ISO 2230:2002, from memory"

_EDITION = {"ISO 2230": "ISO 2230:2002", "ARP5316": "SAE ARP5316"}

_QUARTER = re.compile(r"([1-4])Q([0-9]{2}|[0-9]{4})", re.IGNORECASE)
_MONTH = re.compile(r"([0-9]{4})-([0-9]{2})")
_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
# Two figures of a year from here on are of the last century; other years are slips of the pen.
_CENTURY = 70
_YEARS = range(1900 + _CENTURY, 2000 + _CENTURY)


@dataclass(frozen=True, slots=True)
class Shelf:
    """The last day on which something may be fitted, and why that day.

    `limit` None with `known`: it keeps without limit. None without: it is not known, and
    `reason` begins "not known" and says what is missing.
    """

    limit: date | None
    reason: str
    known: bool = True


def parse_made(text: str) -> date:
    """The day from which shelf life counts, the last of the period written.

    Reads a quarter ("2Q18"), a month ("2018-06") or a day ("2018-06-30"). That a cure quarter
    counts from its last day is as in ARP5316, from memory. Raises FigureError for anything else.

    >>> parse_made("2Q18")
    datetime.date(2018, 6, 30)
    """
    written = text.strip()
    try:
        made = _last_day(written)
    except ValueError as error:
        raise FigureError(f"{written!r} is no day or month of the calendar") from error
    if made is None:
        raise FigureError(
            f"{text[:40]!r} is no date of making;"
            " write for example '2Q18', '2018-06' or '2018-06-30'"
        )
    if made.year not in _YEARS:
        raise FigureError(f"{written!r} is of the year {made.year}; check the year")
    return made


def best_before(
    made: date | None,
    elastomer: str | None,
    policy: str,
    printed: date | None = None,
    inspected: date | None = None,
) -> Shelf:
    """The last day on which a seal may be fitted, by one of POLICIES.

    The years of the policy count from `made` (parse_made). The printed date binds when it is
    earlier or the only one; by the policy "packet" nothing else counts. A policy limit that is
    not known stays in the reason beside the printed date. `inspected` is the day on which the
    seals were looked over: where the policy has an extension it is added once (see extension).
    The maker's data come first, and years count only for what was stored as the standard asks.

    Raises FigureError for an unknown policy or elastomer code.

    >>> best_before(date(2018, 6, 30), "NBR", "ISO 2230").reason
    '30 Jun 2018 + 7 years (ISO 2230:2002 group B)'
    >>> best_before(date(2018, 6, 30), "NBR", "ISO 2230", inspected=date(2025, 5, 2)).reason
    '30 Jun 2018 + 7 + 3 years (ISO 2230:2002 group B, looked over 2025-05-02)'
    """
    require_policy(policy)
    by_policy = _by_policy(made, elastomer, policy, inspected)
    if printed is None:
        return by_policy
    on_packet = f"printed on the packet: {printed:%d %b %Y}"
    if not by_policy.known and policy != "packet":
        return Shelf(printed, f"{on_packet}; by {policy} {by_policy.reason}")
    if by_policy.limit is None or printed < by_policy.limit:
        if inspected is not None:
            on_packet += f", which the look of {inspected} does not extend"
        return Shelf(printed, on_packet)
    return by_policy


def require_policy(policy: str) -> None:
    """Raise FigureError for anything but one of POLICIES."""
    if policy not in POLICIES:
        raise FigureError(f"{policy!r} is no shelf life policy; use one of {', '.join(POLICIES)}")


def extension(made: date, elastomer: str, policy: str, inspected: date) -> int:
    """The years that looking seals over on a day adds to their storage, by one of POLICIES.

    ISO 2230 adds them once, at the end of the first period (from memory); any day from `made` to
    the end of the extended storage is taken here. Raises FigureError saying why there are none.

    >>> extension(date(2018, 6, 30), "NBR", "ISO 2230", date(2025, 5, 2))
    3
    """
    require_policy(policy)
    code = require_elastomer(elastomer)
    if policy == "packet":
        raise FigureError("by the packet only its printed date counts")
    storage = SHELF_YEARS[policy].get(code)
    if storage is None:
        raise FigureError(f"{policy} gives no years for {code}, and none to add")
    if storage.years is None or storage.extension is None:
        raise FigureError(f"{policy} has no extension for {code}")
    if inspected < made:
        raise FigureError(f"{inspected} is before it was made ({made})")
    last = _years_on(made, storage.years + storage.extension)
    if inspected > last:
        raise FigureError(f"{inspected} is after the longest storage, which ended {last}")
    return storage.extension


def opened_limit(printed: date | None, opened_on: date | None, opened_days: int | None) -> Shelf:
    """The last day for a pack: the earlier of the printed date and opened + opened life.

    A pack that was not opened (None) has the printed date only. If an opened pack's life is not
    known, that stays in the reason beside the printed date. Raises FigureError for negative days.
    """
    if opened_days is not None and opened_days < 0:
        raise FigureError(f"an opened life of {opened_days} days is negative")
    if opened_on is None:
        return best_before(None, None, "packet", printed)
    opened = f"opened {opened_on:%d %b %Y}"
    if opened_days is None:
        gap = f"not known: {opened}, and no opened life is given"
        if printed is None:
            return Shelf(None, gap, known=False)
        return Shelf(printed, f"printed on the packet: {printed:%d %b %Y}; opened life {gap}")
    limit = opened_on + timedelta(days=opened_days)
    if printed is not None and printed < limit:
        return Shelf(printed, f"printed on the packet: {printed:%d %b %Y}")
    return Shelf(limit, f"{opened} + {opened_days} {'day' if opened_days == 1 else 'days'}")


def _by_policy(
    made: date | None, elastomer: str | None, policy: str, inspected: date | None
) -> Shelf:
    code = None if elastomer is None else require_elastomer(elastomer)
    if policy == "packet":
        return _unknown("no date is printed on the packet")
    if code is None:
        return _unknown("no material is given")
    storage = SHELF_YEARS[policy].get(code)
    if storage is None:
        return _unknown(f"{policy} gives no years for {code}")
    edition = _EDITION[policy] + (f" group {storage.group}" if storage.group else "")
    edition += f"; {storage.dispute}" if storage.dispute else ""
    if storage.years is None:
        return Shelf(None, f"unlimited ({edition})")
    if made is None:
        return _unknown(f"no date of making is given, for {storage.years} years ({edition})")
    counted, added = f"{made:%d %b %Y} + {storage.years}", 0
    if inspected is not None:
        try:
            added = extension(made, code, policy, inspected)
            counted += f" + {added}"
            edition += f", looked over {inspected}"
        except FigureError as error:
            edition += f"; looked over {inspected}, not extended: {error}"
    return Shelf(_years_on(made, storage.years + added), f"{counted} years ({edition})")


def _unknown(gap: str) -> Shelf:
    return Shelf(None, f"not known: {gap}", known=False)


def _last_day(written: str) -> date | None:
    if quarter := _QUARTER.fullmatch(written):
        return _month_end(_full_year(quarter[2]), 3 * int(quarter[1]))
    if month := _MONTH.fullmatch(written):
        return _month_end(int(month[1]), int(month[2]))
    return date.fromisoformat(written) if _DAY.fullmatch(written) else None


def _full_year(text: str) -> int:
    if len(text) == 4:
        return int(text)
    return int(text) + (1900 if int(text) >= _CENTURY else 2000)


def _month_end(year: int, month: int) -> date:
    return date(year, month, 1).replace(day=monthrange(year, month)[1])


def _years_on(day: date, years: int) -> date:
    try:
        return day.replace(year=day.year + years)
    except ValueError:  # 29 February: the day before, never a day more
        return day.replace(year=day.year + years, day=28)
