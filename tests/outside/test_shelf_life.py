"""Shelf life against ISO 2230:2002 and SAE ARP5316 as others print them (data/README.md)."""

from __future__ import annotations

from datetime import date

import pytest
from published import rows

from kitting.facts.elastomers import FROM_MEMORY
from kitting.facts.making import parse_made
from kitting.facts.shelf_life import SHELF_YEARS, best_before

# 2Q18, the example of a cure date: it counts from 30 June 2018.
MADE = parse_made("2Q18")
PUBLISHED = rows("shelf_life.csv")


def test_groups_years_and_extensions_of_iso_2230_are_the_published_ones() -> None:
    published = {
        row["code"]: (row["group"], int(row["iso2230_years"]), int(row["iso2230_extension"]))
        for row in PUBLISHED
        if row["group"]
    }
    ours = {
        code: (entry.group, entry.years, entry.extension)
        for code, entry in SHELF_YEARS["ISO 2230"].items()
        if code not in FROM_MEMORY
    }
    assert ours == published


def test_years_of_arp5316_are_the_published_ones() -> None:
    published = {row["code"]: row["arp5316_years"] for row in PUBLISHED if row["arp5316_years"]}
    ours = {
        code: "unlimited" if entry.years is None else str(entry.years)
        for code, entry in SHELF_YEARS["ARP5316"].items()
    }
    assert ours == published


def test_what_was_written_from_memory_says_so() -> None:
    """Those whose very codes were, have no line to be compared with."""
    iso = {row["code"] for row in PUBLISHED if row["iso2230_read"] == "memory"} | FROM_MEMORY
    arp = {row["code"] for row in PUBLISHED if "ARP5316 figure from memory" in row["note"]}
    for policy, remembered in (("ISO 2230", iso), ("ARP5316", arp)):
        ours = {c for c, entry in SHELF_YEARS[policy].items() if "from memory" in entry.source}
        assert ours == remembered, policy
    assert (iso, arp) == ({"AEM", "EPM", "FEPM"} | FROM_MEMORY, {"CSM"})


@pytest.mark.parametrize("row", rows("shelf_life_ranges.csv"), ids=lambda row: row["code"])
def test_years_are_the_lower_end_of_the_ranges_that_another_maker_prints(
    row: dict[str, str],
) -> None:
    entry = SHELF_YEARS["ISO 2230"][row["code"]]
    assert (entry.years, entry.extension) == (int(row["years_from"]), int(row["extension_from"]))


@pytest.mark.parametrize(
    ("policy", "limit"), [("ISO 2230", date(2025, 6, 30)), ("ARP5316", date(2033, 6, 30))]
)
def test_nitrile_of_2q18_keeps_seven_years_by_one_table_and_fifteen_by_the_other(
    policy: str, limit: date
) -> None:
    assert best_before(MADE, "NBR", policy).limit == limit


@pytest.mark.parametrize("row", PUBLISHED, ids=lambda row: row["code"])
@pytest.mark.parametrize(
    ("policy", "heading"), [("ISO 2230", "iso2230_years"), ("ARP5316", "arp5316_years")]
)
def test_every_material_of_2q18_keeps_until_the_published_year(
    row: dict[str, str], policy: str, heading: str
) -> None:
    shelf = best_before(MADE, row["code"], policy)
    years = row[heading]
    if years in ("", "unlimited"):
        assert (shelf.limit, shelf.known) == (None, years == "unlimited")
    else:
        assert shelf.limit == date(2018 + int(years), 6, 30)
        # A figure from memory stops, and proves no age.
        remembered = {
            "ISO 2230": row["iso2230_read"] == "memory",
            "ARP5316": row["note"] == "ARP5316 figure from memory",
        }
        assert shelf.known is not remembered[policy]
