"""How rubbers stand media, against statements that were read elsewhere (data/README.md)."""

from __future__ import annotations

from collections import defaultdict

import pytest
from published import rows

from kitting.calc.rubber.compatibility import stands
from kitting.facts.elastomers import ELASTOMERS
from kitting.facts.rubber_media import MEDIA, compatibility, service_ranges
from kitting.facts.words import Certainty, ContactState, Rating
from kitting.wording.reasons import as_text

LINES = rows("compatibility.csv")
FOR = {
    "excellent", "good", "suitable", "recommended", "best choice", "can be used", "resists",
    "unaffected",
}  # fmt: skip
AGAINST = {
    "not suitable", "unsuitable", "unsatisfactory", "must not be used", "swells", "poor",
    "very little resistance",
}  # fmt: skip
CERTAIN = [pair for pair, row in compatibility().items() if row.certainty == Certainty.HIGH]


def test_every_line_speaks_for_or_against() -> None:
    assert {line["says"] for line in LINES} == FOR | AGAINST


@pytest.mark.parametrize(
    "line", LINES, ids=lambda line: f"{line['elastomer']}-{line['medium']}-{line['source'][:12]}"
)
def test_no_line_is_contradicted(line: dict[str, str]) -> None:
    """Who advises against is never answered with "suits", who recommends never with a clash."""
    answer = stands(line["elastomer"], line["medium"])
    if line["says"] in AGAINST:
        assert answer.rating in (Rating.NOT_SUITABLE, Rating.DOUBTFUL)
        assert answer.state in (ContactState.CLASH, ContactState.ASK)
    else:
        assert answer.rating in (Rating.SUITABLE, Rating.USUALLY_SUITABLE)
        assert answer.state in (ContactState.SUITS, ContactState.ASK)


def test_what_the_table_is_certain_of_is_said_twice_and_was_read() -> None:
    """By a line of another source, or by the line that a rating from memory was held against."""
    spoken = defaultdict(set)
    for line in LINES:
        spoken[line["medium"], line["elastomer"], line["says"] in FOR].add(line["source"])
    assert len(CERTAIN) > 30
    for medium, elastomer in CERTAIN:
        row = compatibility()[medium, elastomer]
        remembered = "memory" in (row.also_stated_in or "")
        agree = spoken[medium, elastomer, row.rating == Rating.SUITABLE]
        assert agree if remembered else agree - {row.source}, (medium, elastomer)


def test_an_opinion_neither_stops_nor_comforts_anybody() -> None:
    for (medium, elastomer), row in compatibility().items():
        if row.certainty != Certainty.HIGH:
            answer = stands(elastomer, medium)
            assert (answer.state, answer.certainty) == (ContactState.ASK, row.certainty)


@pytest.mark.parametrize(
    ("elastomer", "medium", "system"),
    [
        ("NBR", "glycol-brake-fluid", "brakes"),
        ("FKM", "glycol-brake-fluid", "brakes"),
        ("FKM", "r134a-pag", "air-conditioning"),
        ("VMQ", "r134a-pag", "air-conditioning"),
    ],
)
def test_where_brakes_or_refrigerant_are_at_stake_an_opinion_against_stops(
    elastomer: str, medium: str, system: str
) -> None:
    """Common practice, no source; elsewhere it is asked about."""
    assert stands(elastomer, medium).state == ContactState.ASK
    assert stands(elastomer, medium, system=system).state == ContactState.CLASH


def test_petroleum_grease_on_epdm_is_certain_to_be_wrong() -> None:
    """Encyclopaedia article "O-ring": unsuitable with mineral-oil products."""
    answer = stands("EPDM", "petroleum-grease")
    assert (answer.state, answer.rating, answer.certainty) == ("clash", "not suitable", "high")
    assert as_text(answer.said_by) == (
        """general table, encyclopaedia article "O-ring", citing a seal maker's handbook, certainty"""
        " high; also from memory of seal makers' handbooks"
    )


@pytest.mark.parametrize("elastomer", ["CR", "SBR", "NR", "AEM", "ECO", "IIR", "FFKM"])
def test_rubbers_of_hoses_and_boots_are_rated_in_engine_oil(elastomer: str) -> None:
    assert stands(elastomer, "engine-oil").rating != Rating.UNKNOWN


def test_what_no_line_rates_is_unknown() -> None:
    assert stands("FEPM", "petrol").state == "unknown"
    assert stands("AEM", "r134a-pag").state == "unknown"


def test_the_table_speaks_only_of_media_and_materials_that_are_named() -> None:
    assert {medium for medium, _ in compatibility()} <= set(MEDIA)
    assert {elastomer for _, elastomer in compatibility()} <= set(ELASTOMERS)
    assert set(service_ranges()) <= set(ELASTOMERS)
    assert all(one.coldest < one.hottest for one in service_ranges().values())


def test_a_range_that_proves_something_is_the_narrowest_of_what_was_read() -> None:
    published: dict[str, list[tuple[int, int]]] = {}
    for line in rows("service_ranges.csv"):
        published.setdefault(line["elastomer"], []).append(
            (int(line["coldest"]), int(line["hottest"]))
        )
    proving = {
        rubber: (one.coldest, one.hottest)
        for rubber, one in service_ranges().items()
        if one.certainty is Certainty.HIGH
    }
    assert proving == {
        rubber: (max(cold for cold, _ in some), min(hot for _, hot in some))
        for rubber, some in published.items()
    }
