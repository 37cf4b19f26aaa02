"""The age of a ring by every policy: published years (tests/facts/test_shelf_life.py)."""

from __future__ import annotations

from datetime import date

import pytest

from kitting.errors import FigureError
from kitting.services.rubber.storage_life import ring_age
from kitting.wording.rubber import STORING, STORING_SOURCE

ON = date(2026, 4, 15)


def told(elastomer: str, made: str, on: date = ON) -> dict[str, tuple[str, date | None]]:
    return {
        one.policy: (one.fit, one.extended or one.limit)
        for one in ring_age(elastomer, made, on).policies
    }


def test_nitrile_of_2q18_needs_an_inspection_by_one_policy_and_not_by_the_other() -> None:
    assert told("nbr", "2Q18") == {
        "ISO 2230": ("after an inspection", date(2028, 6, 30)),
        "ARP5316": ("yes", date(2033, 6, 30)),
    }


@pytest.mark.parametrize(
    ("on", "fit"),
    [
        (date(2025, 6, 30), "yes"),
        (date(2025, 7, 1), "after an inspection"),
        (date(2028, 6, 30), "after an inspection"),
        (date(2028, 7, 1), "no"),
    ],
)
def test_the_verdict_changes_the_day_after_each_limit(on: date, fit: str) -> None:
    assert told("NBR", "2Q18", on)["ISO 2230"][0] == fit


def test_a_dispute_between_sources_and_the_source_of_each_policy_are_told() -> None:
    iso, arp = ring_age("SBR", "2Q18", ON).policies
    assert (iso.dispute, arp.dispute) == (None, "another table of it has 15 years")
    assert iso.source == "ISO 2230:2002, read in a seal maker's extract of BS ISO 2230:2002"
    assert arp.source == "SAE ARP5316 / AS5316, read in two vendors' tables"
    assert (iso.extension, arp.extension) == (2, None)


def test_what_a_policy_does_not_speak_of_is_not_known_and_without_limit_is_yes() -> None:
    assert told("PTFE", "2Q18") == {"ISO 2230": ("not known", None), "ARP5316": ("yes", None)}


def test_storing_is_told_as_from_memory_and_the_packet_is_not_asked() -> None:
    view = ring_age("FKM", "2018-06-30", ON)
    assert STORING_SOURCE == "ISO 2230:2002, from memory"
    assert STORING[0] == "below 25 °C, away from heaters, and dry"
    assert any("ozone" in text for text in STORING)
    assert [one.policy for one in view.policies] == ["ISO 2230", "ARP5316"]


def test_the_quarter_that_the_day_lies_in_is_taken_a_later_one_refused() -> None:
    assert told("NBR", "2Q26")["ISO 2230"][0] == "yes"
    with pytest.raises(FigureError, match="made 3Q26 is after 2026-04-15; check both dates"):
        ring_age("NBR", "3Q26", ON)
