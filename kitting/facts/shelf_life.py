"""Storage life: how long seals keep from the day they were made, by the policy chosen.

Two published tables disagree by a factor of two for nitrile rubber, so neither is built in.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta

from kitting.errors import FigureError
from kitting.facts.elastomers import require_elastomer
from kitting.facts.reasons import Reason, ReasonCode, Value, because
from kitting.facts.words import ShelfPolicy

POLICIES = tuple(ShelfPolicy)

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

    @property
    def from_memory(self) -> bool:
        """Whether nobody has read it: it may stop, but proves no age."""
        return self.source in (_ISO_MEMORY, _ARP_MEMORY)


def _iso(group: str, years: int, extension: int, read: str, memory: str = "") -> dict[str, Storage]:
    entry = Storage(years, _ISO_READ, group, extension)
    unsure = replace(entry, source=_ISO_MEMORY)
    return dict.fromkeys(read.split(), entry) | dict.fromkeys(memory.split(), unsure)


# Per policy and code of ISO 1629. What is missing is not in the standard or was not found: PTFE
# in ISO 2230; in ARP5316 NR, IR, BR, ECO (one summary of it groups ECO with nitrile), XNBR, CO,
# CIIR, BIIR, CM and PVMQ.
# The edition of 2002: a new one was being voted on in January 2026.
SHELF_YEARS: dict[ShelfPolicy, dict[str, Storage]] = {
    ShelfPolicy.ISO_2230: {
        **_iso("A", 5, 2, read="NR IR BR SBR AU EU"),
        **_iso("B", 7, 3, read="NBR HNBR ACM CR ECO IIR", memory="AEM XNBR CO CIIR BIIR"),
        **_iso("C", 10, 5, read="CSM EPDM FKM FFKM VMQ FVMQ", memory="EPM FEPM CM PVMQ"),
    },
    ShelfPolicy.ARP5316: {
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
_EDITION = {ShelfPolicy.ISO_2230: "ISO 2230:2002", ShelfPolicy.ARP5316: "SAE ARP5316"}


class ShelfReason(ReasonCode):
    """Why something keeps until a day, without limit, or why that is not known."""

    STANDARD = "standard"
    STANDARD_GROUP = "standard and group"
    STANDARD_DISPUTED = "standard disputed"
    STANDARD_FROM_MEMORY = "standard from memory"
    YEARS = "years"
    YEARS_EXTENDED = "years extended"
    YEARS_NOT_EXTENDED = "years not extended"
    UNLIMITED = "unlimited"
    MONTHS = "months"
    AGELESS = "ageless"
    PRINTED = "printed"
    PRINTED_NOT_EXTENDED = "printed not extended"
    PRINTED_ONLY = "printed only"
    OPENED = "opened"
    SEALED_OPENED_LIFE_UNKNOWN = "as sealed, opened life unknown"
    OPENED_LIFE_UNKNOWN = "opened life unknown"
    OPENED_SINCE_UNKNOWN = "opened, nobody says when"
    NO_PRINTED_DATE = "no printed date"
    NO_MATERIAL = "no material"
    NO_YEARS = "no years"
    NO_CURE_DATE = "no cure date"
    NO_DATES = "no dates"
    NO_SHELF_LIFE = "no shelf life"
    NO_SHELF_LIFE_RECEIVED = "no shelf life, received"


class NoExtension(ReasonCode):
    """Why an inspection adds nothing to the storage of a seal."""

    PACKET = "packet"
    NO_YEARS = "no years"
    NONE = "none"
    BEFORE_MADE = "before made"
    TOO_LATE = "too late"


NO_EXTENSION_TEXTS: Mapping[ReasonCode, str] = {
    NoExtension.PACKET: "by the packet only its printed date counts",
    NoExtension.NO_YEARS: "{policy} gives no years for {elastomer}, and none to add",
    NoExtension.NONE: "{policy} has no extension for {elastomer}",
    NoExtension.BEFORE_MADE: "{inspected} is before it was made ({made})",
    NoExtension.TOO_LATE: "{inspected} is after the longest storage, which ended {last}",
}


class NoExtensionError(FigureError):
    """An inspection that adds nothing; `reason` says why, as data."""

    def __init__(self, reason: Reason) -> None:
        code = NoExtension(reason.code)
        super().__init__(NO_EXTENSION_TEXTS[code].format(**dict(reason.values)))
        self.reason = reason


@dataclass(frozen=True, slots=True)
class Shelf:
    """The last day on which something may be fitted, and why that day.

    `limit` None with `known`: it keeps without limit. None without: it is not known, and `reason`
    says what is missing.
    """

    limit: date | None
    reason: Reason
    known: bool = True


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
    seals were inspected: where the policy has an extension it is added once (see extension).
    The maker's data come first, and years count only for what was stored as the standard asks.

    Raises FigureError for an unknown policy or elastomer code.

    >>> best_before(date(2018, 6, 30), "NBR", "ISO 2230").limit
    datetime.date(2025, 6, 30)
    >>> best_before(date(2018, 6, 30), "NBR", "ISO 2230", inspected=date(2025, 5, 2)).limit
    datetime.date(2028, 6, 30)
    """
    chosen = require_policy(policy)
    by_policy = _by_policy(made, elastomer, chosen, inspected)
    if printed is None:
        return by_policy
    if by_policy.limit is None and not by_policy.known and chosen is not ShelfPolicy.PACKET:
        why = because(
            ShelfReason.PRINTED_ONLY, printed=printed, policy=chosen, why=by_policy.reason
        )
        return Shelf(printed, why)
    if by_policy.limit is None or printed < by_policy.limit:
        if inspected is None:
            return Shelf(printed, because(ShelfReason.PRINTED, printed=printed))
        without = best_before(made, elastomer, policy, printed)
        told = because(ShelfReason.PRINTED_NOT_EXTENDED, printed=printed, inspected=inspected)
        # What is not known for certain is not so by a look.
        return Shelf(printed, told) if without.known else replace(without, limit=printed)
    return by_policy


def require_policy(policy: str) -> ShelfPolicy:
    """One of POLICIES; raises FigureError for anything else."""
    if policy not in POLICIES:
        raise FigureError(
            "{policy!r} is no shelf life policy; use one of {known}",
            policy=policy,
            known=", ".join(POLICIES),
        )
    return ShelfPolicy(policy)


def extension(made: date, elastomer: str, policy: str, inspected: date) -> int:
    """The years that an inspection on a day adds to the storage of seals, by one of POLICIES.

    ISO 2230 adds them once, at the end of the first period (from memory); any day from `made` to
    the end of the extended storage is taken here. Raises NoExtensionError saying why there are
    none, FigureError for an unknown policy or elastomer code.

    >>> extension(date(2018, 6, 30), "NBR", "ISO 2230", date(2025, 5, 2))
    3
    """
    chosen, code = require_policy(policy), require_elastomer(elastomer)
    if chosen is ShelfPolicy.PACKET:
        raise NoExtensionError(because(NoExtension.PACKET))
    storage = SHELF_YEARS[chosen].get(code)
    if storage is None:
        raise NoExtensionError(because(NoExtension.NO_YEARS, policy=chosen, elastomer=code))
    if storage.years is None or storage.extension is None:
        raise NoExtensionError(because(NoExtension.NONE, policy=chosen, elastomer=code))
    if inspected < made:
        raise NoExtensionError(because(NoExtension.BEFORE_MADE, inspected=inspected, made=made))
    last = _years_on(made, storage.years + storage.extension)
    if inspected > last:
        raise NoExtensionError(because(NoExtension.TOO_LATE, inspected=inspected, last=last))
    return storage.extension


def opened_limit(sealed: Shelf, opened_on: date | None, opened_days: int | None) -> Shelf:
    """The last day for a pack: the earlier of its limit when sealed and opened + opened life.

    A pack that was not opened (None) keeps as sealed. If an opened pack's life is not known, its
    age is not: the limit when sealed is the most that it keeps. Opening a pack of unknown age does
    not make its age known. Raises FigureError for negative days.
    """
    if opened_days is not None and opened_days < 0:
        raise FigureError(
            "an opened life of {opened_days} days is negative", opened_days=opened_days
        )
    if opened_on is None:
        return sealed
    if opened_days is None:
        unknown = because(ShelfReason.OPENED_LIFE_UNKNOWN, opened=opened_on)
        if sealed.limit is None:
            return Shelf(None, unknown, known=False)
        why = because(ShelfReason.SEALED_OPENED_LIFE_UNKNOWN, sealed=sealed.reason, why=unknown)
        return replace(sealed, reason=why, known=False)
    limit = days_on(opened_on, opened_days)
    if sealed.limit is not None and sealed.limit < limit:
        return sealed
    if not sealed.known:
        return replace(sealed, limit=limit)
    return Shelf(limit, because(ShelfReason.OPENED, opened=opened_on, days=opened_days))


def _by_policy(
    made: date | None, elastomer: str | None, policy: ShelfPolicy, inspected: date | None
) -> Shelf:
    code = None if elastomer is None else require_elastomer(elastomer)
    if policy is ShelfPolicy.PACKET:
        return _unknown(because(ShelfReason.NO_PRINTED_DATE))
    if code is None:
        return _unknown(because(ShelfReason.NO_MATERIAL))
    storage = SHELF_YEARS[policy].get(code)
    if storage is None:
        return _unknown(because(ShelfReason.NO_YEARS, policy=policy, elastomer=code))
    standard = _standard(policy, storage)
    if storage.years is None:
        unlimited = because(ShelfReason.UNLIMITED, standard=standard)
        return Shelf(None, unlimited, known=not storage.from_memory)
    years, known = storage.years, not storage.from_memory
    if made is None:
        return _unknown(because(ShelfReason.NO_CURE_DATE, years=years, standard=standard))
    counted: dict[str, Value] = {"made": made, "years": years, "standard": standard}
    if inspected is None:
        return Shelf(_years_on(made, years), because(ShelfReason.YEARS, **counted), known=known)
    counted["inspected"] = inspected
    try:
        added = extension(made, code, policy, inspected)
    except NoExtensionError as error:
        reason = because(ShelfReason.YEARS_NOT_EXTENDED, **counted, why=error.reason)
        return Shelf(_years_on(made, years), reason, known=known)
    reason = because(ShelfReason.YEARS_EXTENDED, **counted, added=added)
    return Shelf(_years_on(made, years + added), reason, known=known)


def _standard(policy: ShelfPolicy, storage: Storage) -> Reason:
    edition = _EDITION[policy]
    if storage.from_memory:
        return because(ShelfReason.STANDARD_FROM_MEMORY, edition=edition)
    if storage.dispute:
        return because(ShelfReason.STANDARD_DISPUTED, edition=edition, dispute=storage.dispute)
    if storage.group:
        return because(ShelfReason.STANDARD_GROUP, edition=edition, group=storage.group)
    return because(ShelfReason.STANDARD, edition=edition)


def _unknown(reason: Reason) -> Shelf:
    return Shelf(None, reason, known=False)


def days_on(day: date, days: int) -> date:
    """So many days after a day; the last of the calendar where that is beyond it."""
    return day + timedelta(days=min(days, (date.max - day).days))


def _years_on(day: date, years: int) -> date:
    try:
        return day.replace(year=day.year + years)
    except ValueError:  # 29 February: the day before, never a day more
        return day.replace(year=day.year + years, day=28)
