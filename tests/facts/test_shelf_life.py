"""Shelf life counts from the cure date, by a policy; what is not known is never "keeps"."""

from __future__ import annotations

from datetime import date
from typing import NamedTuple

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kitting.errors import FigureError
from kitting.facts.elastomers import ELASTOMERS
from kitting.facts.reasons import because
from kitting.facts.shelf_life import (
    POLICIES,
    SHELF_YEARS,
    Shelf,
    ShelfReason,
    best_before,
    extension,
    opened_limit,
)
from kitting.wording.reasons import say

MADE = date(2018, 6, 30)
PRINTED = date(2024, 3, 31)
DAYS = st.dates(date(1990, 1, 1), date(2060, 1, 1))


class Said(NamedTuple):
    """A limit with its reason in words."""

    limit: date | None
    reason: str
    known: bool = True


def said(shelf: Shelf) -> Said:
    return Said(shelf.limit, say(shelf.reason), shelf.known)


@pytest.mark.parametrize(
    ("elastomer", "policy", "shelf"),
    [
        (
            "NBR",
            "ISO 2230",
            Said(date(2025, 6, 30), "30 Jun 2018 + 7 years (ISO 2230:2002 group B)"),
        ),
        ("NBR", "ARP5316", Said(date(2033, 6, 30), "30 Jun 2018 + 15 years (SAE ARP5316)")),
        (
            "sbr",
            "ARP5316",
            Said(
                date(2021, 6, 30),
                "30 Jun 2018 + 3 years (SAE ARP5316; another table of it has 15 years)",
            ),
        ),
        ("FKM", "ARP5316", Said(None, "unlimited (SAE ARP5316)")),
        (
            "PTFE",
            "ISO 2230",
            Said(None, "not known: ISO 2230 gives no years for PTFE", known=False),
        ),
        (
            "ECO",
            "ARP5316",
            Said(None, "not known: ARP5316 gives no years for ECO", known=False),
        ),
        (
            "NBR",
            "packet",
            Said(None, "not known: no date is printed on the packet", known=False),
        ),
        (None, "ISO 2230", Said(None, "not known: no material is given", known=False)),
    ],
)
def test_the_limit_follows_the_policy_and_says_why(
    elastomer: str | None, policy: str, shelf: Said
) -> None:
    assert said(best_before(MADE, elastomer, policy)) == shelf


def test_a_seal_of_unknown_age_has_no_known_limit() -> None:
    assert said(best_before(None, "NBR", "ISO 2230")) == Said(
        None,
        "not known: no date of making is given, for 7 years (ISO 2230:2002 group B)",
        known=False,
    )


def test_what_keeps_without_limit_needs_no_date_of_making() -> None:
    assert best_before(None, "FKM", "ARP5316").known


@pytest.mark.parametrize("policy", POLICIES)
def test_an_earlier_printed_date_binds_by_every_policy(policy: str) -> None:
    for elastomer in ("NBR", "FKM"):
        assert said(best_before(MADE, elastomer, policy, PRINTED)) == Said(
            PRINTED, "printed on the packet: 31 Mar 2024"
        )


def test_a_later_printed_date_does_not_lengthen_the_policy() -> None:
    found = best_before(MADE, "NBR", "ISO 2230", date(2030, 1, 1))
    assert said(found) == Said(date(2025, 6, 30), "30 Jun 2018 + 7 years (ISO 2230:2002 group B)")


def test_by_the_packet_a_later_printed_date_is_the_only_one() -> None:
    assert best_before(MADE, "NBR", "packet", date(2030, 1, 1)).limit == date(2030, 1, 1)


def test_beside_a_printed_date_what_the_policy_lacks_is_still_said() -> None:
    assert said(best_before(None, None, "ISO 2230", PRINTED)) == Said(
        PRINTED,
        "printed on the packet: 31 Mar 2024; by ISO 2230 not known: no material is given",
    )


def test_a_leap_day_ages_to_the_day_before() -> None:
    assert best_before(date(2024, 2, 29), "NBR", "ISO 2230").limit == date(2031, 2, 28)


def test_an_unknown_policy_is_refused_with_those_there_are() -> None:
    with pytest.raises(FigureError) as caught:
        best_before(MADE, "NBR", "house")
    assert str(caught.value) == (
        "'house' is no shelf life policy; use one of ISO 2230, ARP5316, packet"
    )


@pytest.mark.parametrize("policy", POLICIES)
def test_a_colour_is_refused_as_material_by_every_policy(policy: str) -> None:
    with pytest.raises(FigureError, match="'green' is no elastomer code of ISO 1629"):
        best_before(MADE, "green", policy)


def test_the_table_speaks_of_known_materials_and_names_a_source_for_each() -> None:
    assert set(SHELF_YEARS) == set(POLICIES) - {"packet"}
    for table in SHELF_YEARS.values():
        assert set(table) <= set(ELASTOMERS)
        assert [code for code, entry in table.items() if not entry.source] == []


@given(
    st.none() | DAYS,
    st.none() | st.sampled_from(sorted(ELASTOMERS)),
    st.sampled_from(POLICIES),
    DAYS,
)
def test_a_printed_date_never_lengthens_and_always_gives_a_limit(
    made: date | None, elastomer: str | None, policy: str, printed: date
) -> None:
    without = best_before(made, elastomer, policy)
    limit = best_before(made, elastomer, policy, printed).limit
    assert limit == (printed if without.limit is None else min(printed, without.limit))
    told = say(without.reason)
    assert without.known is not (told.startswith("not known") or "from memory" in told)


# Extensions by group: ISO 2230:2002, read in a seal maker's extract of BS ISO 2230:2002.
INSPECTED = date(2025, 5, 2)


@pytest.mark.parametrize(
    ("elastomer", "shelf"),
    [
        (
            "NR",
            Said(
                date(2025, 6, 30),
                "30 Jun 2018 + 5 + 2 years (ISO 2230:2002 group A, inspected 2025-05-02)",
            ),
        ),
        (
            "NBR",
            Said(
                date(2028, 6, 30),
                "30 Jun 2018 + 7 + 3 years (ISO 2230:2002 group B, inspected 2025-05-02)",
            ),
        ),
        (
            "FKM",
            Said(
                date(2033, 6, 30),
                "30 Jun 2018 + 10 + 5 years (ISO 2230:2002 group C, inspected 2025-05-02)",
            ),
        ),
    ],
)
def test_an_inspection_adds_the_extension_of_the_group_once(elastomer: str, shelf: Said) -> None:
    assert said(best_before(MADE, elastomer, "ISO 2230", inspected=INSPECTED)) == shelf


@pytest.mark.parametrize(
    ("elastomer", "shelf"),
    [
        (
            "NBR",
            Said(
                date(2033, 6, 30),
                "30 Jun 2018 + 15 years (SAE ARP5316; inspected 2025-05-02, not extended:"
                " ARP5316 has no extension for NBR)",
            ),
        ),
        ("FKM", Said(None, "unlimited (SAE ARP5316)")),
        ("ECO", Said(None, "not known: ARP5316 gives no years for ECO", known=False)),
    ],
)
def test_arp5316_is_never_extended_and_says_so(elastomer: str, shelf: Said) -> None:
    assert said(best_before(MADE, elastomer, "ARP5316", inspected=INSPECTED)) == shelf


def test_by_the_packet_an_inspection_extends_nothing_and_is_told() -> None:
    assert said(best_before(MADE, "NBR", "packet", PRINTED, INSPECTED)) == Said(
        PRINTED,
        "printed on the packet: 31 Mar 2024, which the inspection of 2025-05-02 does not extend",
    )
    assert not best_before(MADE, "NBR", "packet", inspected=INSPECTED).known


@pytest.mark.parametrize("printed", [PRINTED, date(2027, 1, 31)])
def test_a_printed_date_binds_before_the_extended_limit_and_says_so(printed: date) -> None:
    assert said(best_before(MADE, "NBR", "ISO 2230", printed, INSPECTED)) == Said(
        printed,
        f"printed on the packet: {printed:%d %b %Y}, which the inspection of 2025-05-02 does not extend",
    )


def test_a_printed_date_after_the_extended_limit_does_not_lengthen_it() -> None:
    found = best_before(MADE, "NBR", "ISO 2230", date(2030, 1, 1), INSPECTED)
    assert found.limit == date(2028, 6, 30)


@pytest.mark.parametrize(
    ("day", "limit", "told"),
    [
        (
            date(2018, 6, 29),
            date(2025, 6, 30),
            "not extended: 2018-06-29 is before it was made (2018-06-30)",
        ),
        (MADE, date(2028, 6, 30), "+ 7 + 3 years"),
        (date(2028, 6, 30), date(2028, 6, 30), "+ 7 + 3 years"),
        (
            date(2028, 7, 1),
            date(2025, 6, 30),
            "not extended: 2028-07-01 is after the longest storage, which ended 2028-06-30",
        ),
    ],
)
def test_an_inspection_outside_the_whole_storage_extends_nothing(
    day: date, limit: date, told: str
) -> None:
    found = best_before(MADE, "NBR", "ISO 2230", inspected=day)
    assert found.limit == limit
    assert told in say(found.reason)


def test_without_a_date_of_making_an_inspection_extends_nothing() -> None:
    assert best_before(None, "NBR", "ISO 2230", inspected=INSPECTED) == best_before(
        None, "NBR", "ISO 2230"
    )


@pytest.mark.parametrize(
    ("elastomer", "policy", "reason"),
    [
        ("PTFE", "ISO 2230", "ISO 2230 gives no years for PTFE, and none to add"),
        ("NBR", "ARP5316", "ARP5316 has no extension for NBR"),
        ("FKM", "ARP5316", "ARP5316 has no extension for FKM"),
        ("NBR", "packet", "by the packet only its printed date counts"),
        ("NBR", "house", "'house' is no shelf life policy; use one of ISO 2230, ARP5316, packet"),
    ],
)
def test_where_there_is_no_extension_the_reason_is_told(
    elastomer: str, policy: str, reason: str
) -> None:
    with pytest.raises(FigureError) as caught:
        extension(MADE, elastomer, policy, INSPECTED)
    assert str(caught.value) == reason


@given(DAYS, st.sampled_from(sorted(ELASTOMERS)), st.sampled_from(POLICIES), DAYS, st.none() | DAYS)
def test_an_inspection_never_shortens_and_lengthens_by_the_extension_at_most(
    made: date, elastomer: str, policy: str, inspected: date, printed: date | None
) -> None:
    without = best_before(made, elastomer, policy, printed)
    found = best_before(made, elastomer, policy, printed, inspected)
    assert found.known is without.known
    if without.limit is None or found.limit is None:
        assert found.limit == without.limit
        return
    storage = SHELF_YEARS.get(policy, {}).get(elastomer)
    most = (storage and storage.extension) or 0
    assert without.limit <= found.limit
    assert found.limit.year - without.limit.year <= most
    if printed is not None:
        assert found.limit <= printed


OPENED = date(2026, 5, 4)


@pytest.mark.parametrize(
    ("printed", "opened_on", "days", "shelf"),
    [
        (
            None,
            OPENED,
            60,
            Said(date(2026, 7, 3), "not known: no date is printed on the packet", known=False),
        ),
        (date(2027, 1, 1), OPENED, 60, Said(date(2026, 7, 3), "opened 04 May 2026 + 60 days")),
        (
            date(2026, 5, 10),
            OPENED,
            60,
            Said(date(2026, 5, 10), "printed on the packet: 10 May 2026"),
        ),
        (
            date(2026, 5, 10),
            None,
            60,
            Said(date(2026, 5, 10), "printed on the packet: 10 May 2026"),
        ),
        (
            None,
            OPENED,
            None,
            Said(
                None,
                "not known: opened 04 May 2026, and no opened life is given",
                known=False,
            ),
        ),
        (
            date(2026, 5, 10),
            OPENED,
            None,
            Said(
                date(2026, 5, 10),
                "printed on the packet: 10 May 2026; opened life not known:"
                " opened 04 May 2026, and no opened life is given",
                known=False,
            ),
        ),
        (
            None,
            None,
            60,
            Said(None, "not known: no date is printed on the packet", known=False),
        ),
    ],
)
def test_an_opened_pack_keeps_to_the_earlier_of_two_dates(
    printed: date | None, opened_on: date | None, days: int | None, shelf: Said
) -> None:
    sealed = best_before(None, None, "packet", printed)
    assert said(opened_limit(sealed, opened_on, days)) == shelf


def test_a_negative_opened_life_is_refused() -> None:
    with pytest.raises(FigureError, match="an opened life of -1 days is negative"):
        opened_limit(best_before(None, None, "packet", None), OPENED, -1)


def test_an_opened_life_beyond_the_calendar_ends_with_it() -> None:
    # Such a figure may stand in a database that an older program filled.
    sealed = Shelf(None, because(ShelfReason.NO_PRINTED_DATE))
    assert opened_limit(sealed, date(2026, 4, 15), 99_999_999_999).limit == date.max


@pytest.mark.parametrize("printed", [date(2007, 1, 1), date(2008, 1, 1)])
def test_a_look_does_not_make_known_what_rests_on_memory(printed: date) -> None:
    """The years of AEM are from memory; a printed date within the extension does not prove them."""
    made = date(2000, 1, 1)
    for inspected in (None, made):
        assert not best_before(made, "AEM", "ISO 2230", printed, inspected).known
