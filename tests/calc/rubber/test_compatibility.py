"""Chemistry: what is certain stops, what is not certain is never called fine."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kitting.calc.rubber.compatibility import (
    STATES,
    Contact,
    Lubricated,
    SourceStatement,
    Touching,
    judge_contacts,
    source_statement,
    stands,
)
from kitting.facts.elastomers import ELASTOMERS
from kitting.facts.rubber_media import MEDIA, compatibility
from kitting.facts.words import RATINGS, Rating, Source
from kitting.wording.reasons import as_text, say


def word(source: str, medium: str, rating: str) -> SourceStatement:
    return source_statement(medium, Source(source), Rating(rating), "page 1")


def states(touching: Touching) -> list[tuple[str, str, str]]:
    return [(c.against, c.what, c.state) for c in judge_contacts(touching)]


WORDS = st.lists(
    st.builds(
        word,
        st.sampled_from(["maker", "leaflet", "workshop"]),
        st.sampled_from(sorted(MEDIA)),
        st.sampled_from(RATINGS),
    ),
    max_size=4,
)


@given(st.sampled_from(sorted(ELASTOMERS)), st.sampled_from(sorted(MEDIA)), WORDS)
def test_only_certainty_suits_and_no_word_below_the_maker_frees_a_certain_clash(
    elastomer: str, medium: str, said: list[SourceStatement]
) -> None:
    answer, row = stands(elastomer, medium, said), compatibility().get((medium, elastomer))
    spoken = [one.statement for one in said if one.medium == medium]
    makers = [one for one in spoken if one.source == "maker"]
    if answer.state == "suits":
        assert spoken or (row is not None and row.certainty == "high")
    if row is not None and row.certainty == "high" and row.rating == "not suitable":
        assert answer.state in ("clash", "ask")
        assert makers or answer.state == "clash"
    if any(one.rule == "not suitable" for one in makers):
        assert answer.state == "clash"
    if not spoken and row is None:
        assert answer.state == "unknown"


@given(st.sampled_from(sorted(ELASTOMERS)), st.sampled_from(sorted(MEDIA)), WORDS)
def test_the_order_in_which_sources_speak_does_not_matter(
    elastomer: str, medium: str, said: list[SourceStatement]
) -> None:
    one_each = list({one.statement.source: one for one in said}.values())
    assert stands(elastomer, medium, one_each) == stands(elastomer, medium, one_each[::-1])


def test_the_maker_may_allow_what_the_table_forbids_and_it_is_still_said() -> None:
    answer = stands("EPDM", "petroleum-grease", [word("maker", "petroleum-grease", "suitable")])
    assert (answer.state, as_text(answer.said_by)) == ("ask", "maker: page 1")
    assert [one.statement.rule for one in answer.overruled] == ["not suitable"]


def test_a_leaflet_may_not_and_is_told_why() -> None:
    answer = stands("EPDM", "petroleum-grease", [word("leaflet", "petroleum-grease", "suitable")])
    assert answer.state == "clash"
    assert say(answer.overruled[0].because) == (
        "the general rule for the kind may be relaxed only by the vehicle maker"
    )


def test_a_leaflet_settles_what_is_only_an_opinion() -> None:
    assert stands("FKM", "glycol-coolant").state == "ask"
    said = [word("leaflet", "glycol-coolant", "suitable")]
    assert stands("FKM", "glycol-coolant", said).state == "suits"


def test_the_workshop_may_be_stricter_than_the_maker() -> None:
    said = [word("maker", "engine-oil", "suitable"), word("workshop", "engine-oil", "not suitable")]
    assert stands("NBR", "engine-oil", said).state == "clash"


def test_each_side_of_a_joint_counts_for_itself() -> None:
    """Fuel on one side, coolant on the other: EPDM stands one, nitrile is doubtful on neither."""
    both = (("petrol", "petrol"), ("coolant", "glycol-coolant"))
    assert states(Touching("EPDM", both)) == [
        ("fluid", "petrol", "clash"),
        ("fluid", "coolant", "suits"),
    ]
    assert states(Touching("FKM", both)) == [
        ("fluid", "coolant", "ask"),
        ("fluid", "petrol", "suits"),
    ]


def test_a_fluid_or_product_of_which_nobody_says_what_it_is_is_unknown() -> None:
    touching = Touching("FKM", (("air", None),), (Lubricated("GREASE-X", None),))
    assert states(touching) == [("fluid", "air", "unknown"), ("lubricant", "GREASE-X", "unknown")]


def test_a_ptfe_lip_goes_on_dry_unless_the_maker_names_a_product() -> None:
    """Common practice, no source."""
    oil = Lubricated("OIL", "engine-oil")
    dry = Touching("PTFE", lubricants=(oil,), goes_dry=True)
    assert states(dry) == [("lubricant", "OIL", "clash")]
    named = Lubricated("OIL", "engine-oil", "maker", "page 7")
    assert states(Touching("PTFE", lubricants=(named,), goes_dry=True)) == [
        ("lubricant", "OIL", "suits")
    ]
    assert states(Touching("PTFE", lubricants=(oil,))) == [("lubricant", "OIL", "suits")]


@pytest.mark.parametrize(
    ("elastomer", "hottest", "state", "rating", "certainty", "who"),
    [
        ("NBR", 95, "suits", "usually suitable", "high", "bodeseal"),
        ("NBR", 140, "ask", "doubtful", "high", "bodeseal"),
        ("FKM", 140, "suits", "usually suitable", "high", "bodeseal"),
        ("ACM", 140, "ask", "usually suitable", "low", "from memory"),
        ("ACM", 160, "ask", "doubtful", "low", "from memory"),
    ],
)
def test_heat_suits_within_a_range_that_was_read_and_is_a_question_elsewhere(
    elastomer: str, hottest: int, state: str, rating: str, certainty: str, who: str
) -> None:
    (contact,) = judge_contacts(Touching(elastomer, temperature=(hottest, "measured")))
    assert (contact.state, contact.rating, contact.certainty) == (state, rating, certainty)
    assert "measured" in say(contact.because)
    assert who in say(contact.because)


def test_heat_on_a_rubber_whose_limits_nobody_holds_is_unknown() -> None:
    (contact,) = judge_contacts(Touching("FEPM", temperature=(90, "measured")))
    assert replace(contact, because=None) == Contact(
        "temperature", "90 °C", "unknown", "unknown", "none", None
    )
    assert say(contact.because) == "no service temperature of FEPM is held"


@given(
    st.sampled_from(sorted(ELASTOMERS)),
    st.lists(st.sampled_from(sorted(MEDIA)), unique=True, max_size=4),
)
def test_contacts_come_the_worst_first(elastomer: str, media: list[str]) -> None:
    found = judge_contacts(Touching(elastomer, tuple((medium, medium) for medium in media)))
    order = [STATES.index(contact.state) for contact in found]
    assert order == sorted(order)
    assert {contact.what for contact in found} == set(media)
