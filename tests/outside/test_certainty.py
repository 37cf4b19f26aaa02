"""What is from memory says so and is never called certain, in every table that says how sure it is."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from datetime import date
from importlib.resources import files

import pytest

from kitting.calc.rubber.compatibility import Lubricated, Touching, judge_contacts, stands
from kitting.facts.ring_standards import USES, guidance, is_opinion
from kitting.facts.rubber_media import compatibility, service_ranges
from kitting.facts.shelf_life import SHELF_YEARS, best_before
from kitting.facts.words import Certainty, ContactState

CALLED_CERTAIN = {Certainty.HIGH, Certainty.STATED}
MEMORY, PRACTICE = "memory", "common practice"


def _tables() -> Iterator[tuple[str, list[dict[str, str]]]]:
    """The tables of the package that have a column for how sure each row is."""
    for file in files("kitting.facts").iterdir():
        if file.name.endswith(".csv"):
            rows = list(csv.DictReader(file.read_text("utf-8").splitlines()))
            if "certainty" in rows[0]:
                yield file.name, rows


TABLES = dict(_tables())


def test_the_tables_that_say_how_sure_they_are() -> None:
    assert set(TABLES) == {"compatibility.csv", "glands.csv", "service_ranges.csv"}


@pytest.mark.parametrize("name", TABLES)
def test_a_source_from_memory_is_never_certain_and_never_named_before_one_that_was_read(
    name: str,
) -> None:
    remembered = [row for row in TABLES[name] if MEMORY in row["source"] + row["certainty"]]
    assert remembered
    for row in remembered:
        assert row["certainty"] not in CALLED_CERTAIN, row
        assert not row.get("also_stated_in"), row
        read, memory = row["certainty"].find("read"), row["certainty"].find(MEMORY)
        assert read < memory or read == memory == -1, row


@pytest.mark.parametrize("name", TABLES)
def test_every_row_names_its_source_and_how_sure_it_is(name: str) -> None:
    for row in TABLES[name]:
        assert row["source"], row
        assert row["certainty"], row


@pytest.mark.parametrize("name", ["compatibility.csv", "service_ranges.csv"])
def test_a_certain_row_names_what_was_read_and_what_agrees(name: str) -> None:
    certain = [row for row in TABLES[name] if row["certainty"] == Certainty.HIGH]
    assert certain
    assert all(row["also_stated_in"] for row in certain)


def _unread(row: dict[str, str]) -> bool:
    """Whether a row is from memory or common practice, and nothing else."""
    told = row["source"] + row["certainty"]
    return (MEMORY in told or PRACTICE in told) and "read" not in row["certainty"]


def test_no_rating_from_memory_or_common_practice_is_high_or_proves_anything() -> None:
    unread = [row for row in TABLES["compatibility.csv"] if _unread(row)]
    assert len(unread) > 50
    for row in unread:
        assert row["certainty"] != Certainty.HIGH, row
        for system in (None, row["stops_in"] or None):
            found = stands(row["elastomer"], row["medium"], system=system)
            assert found.state is not ContactState.SUITS, row
    assert {(row["medium"], row["elastomer"]) for row in unread} <= set(compatibility())


def test_no_range_of_temperature_from_memory_proves_that_a_rubber_stands_the_heat() -> None:
    unread = [row["elastomer"] for row in TABLES["service_ranges.csv"] if _unread(row)]
    assert {"NR", "ACM"} <= set(unread)
    for rubber in service_ranges():
        (contact,) = judge_contacts(Touching(rubber, temperature=(60, "measured")))
        assert (contact.state is ContactState.SUITS) is (rubber not in unread), rubber


def test_no_row_of_glands_that_nobody_has_read_rules_a_ring_out() -> None:
    rows = TABLES["glands.csv"]
    assert [is_opinion(row["certainty"]) for row in rows] == [_unread(row) for row in rows]
    deciding = {one.certainty for use in USES for one in guidance(use) if one.decides}
    assert any(is_opinion(certainty) for certainty in deciding)
    assert any(not is_opinion(certainty) for certainty in deciding)


def test_no_storage_life_from_memory_proves_an_age() -> None:
    made, unread = date(2025, 1, 1), 0
    for policy, materials in SHELF_YEARS.items():
        for elastomer, storage in materials.items():
            shelf = best_before(made, elastomer, policy)
            assert shelf.known is (MEMORY not in storage.source), (policy, elastomer)
            assert shelf.known or shelf.limit is not None
            unread += not shelf.known
    assert unread > 5


def test_that_a_lip_goes_on_dry_is_not_called_certain() -> None:
    """Common practice, no source."""
    oiled = Touching("PTFE", lubricants=(Lubricated("OIL", "engine-oil"),), goes_dry=True)
    (contact,) = judge_contacts(oiled)
    assert contact.certainty not in CALLED_CERTAIN
