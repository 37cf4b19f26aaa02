"""What is from memory says so and is never called certain, in every table that says how sure it is."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from importlib.resources import files

import pytest

from kitting.facts.words import Certainty

CALLED_CERTAIN = {Certainty.HIGH, Certainty.STATED}
MEMORY = "memory"


def _tables() -> Iterator[tuple[str, list[dict[str, str]]]]:
    """The tables of the package that have a column for how sure each row is."""
    for file in files("kitting.facts").iterdir():
        if file.name.endswith(".csv"):
            rows = list(csv.DictReader(file.read_text("utf-8").splitlines()))
            if "certainty" in rows[0]:
                yield file.name, rows


TABLES = dict(_tables())


def test_the_tables_that_say_how_sure_they_are() -> None:
    assert set(TABLES) == {"compatibility.csv", "glands.csv"}


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


def test_a_certain_rating_names_what_was_read_and_what_agrees() -> None:
    certain = [row for row in TABLES["compatibility.csv"] if row["certainty"] == Certainty.HIGH]
    assert certain
    assert all(row["also_stated_in"] for row in certain)
