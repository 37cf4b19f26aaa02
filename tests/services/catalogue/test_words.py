"""The words of a catalogue: listed with what they bring, found by what people call them."""

from __future__ import annotations

import pytest
from sqlalchemy import Engine

from helpers import load, source
from kitting.errors import FileProblemsError, UnknownNameError
from kitting.facts.elastomers import ALSO_CALLED, ELASTOMERS
from kitting.facts.heads import parse_head
from kitting.services.catalogue.setup import GENERAL, seeds
from kitting.services.catalogue.words import LISTS, word_lists
from kitting.store import reading
from kitting.views.words import WordView

OWN = "kinds: [{code: my-clip, name: a clip of ours, also: [Jubilee thing], family: clip}]"


def words(engine: Engine, name: str, about: str | None = None) -> dict[str, WordView]:
    with reading(engine) as session:
        (found,) = word_lists(session, name, about).lists
    return {word.word: word for word in found.words}


def test_every_list_has_its_words_and_those_of_the_general_rules_are_not_own(store: Engine) -> None:
    (general,) = seeds(GENERAL)
    for name in LISTS:
        found = words(store, name)
        assert found, name
        assert not any(word.own for word in found.values()), name
        if hasattr(general.catalogue, name):
            assert set(found) == {entry.code for entry in getattr(general.catalogue, name)}


def test_a_kind_tells_what_it_brings_along(store: Engine) -> None:
    nut = words(store, "kinds")["hub-nut"]
    assert nut.brings[:3] == ("fastener", "threaded", "renew")
    assert "axle nut" in nut.also


def test_own_kinds_are_marked_and_their_words_go_with_them(store: Engine) -> None:
    load(store, OWN)
    kind = words(store, "kinds")["my-clip"]
    assert (kind.own, kind.also) == (True, ("Jubilee thing",))
    load(store, OWN.replace(", also: [Jubilee thing]", ""))
    assert words(store, "kinds")["my-clip"].also == ()


@pytest.mark.parametrize(
    ("about", "kind"), [("hub nut", "hub-nut"), ("CV-Nuts", "hub-nut"), ("oil seal", "shaft-seal")]
)
def test_a_kind_is_found_by_what_people_call_it(store: Engine, about: str, kind: str) -> None:
    assert kind in words(store, "kinds", about)


def test_an_unknown_list_names_those_there_are(store: Engine) -> None:
    with reading(store) as session, pytest.raises(UnknownNameError, match="Did you mean kinds"):
        word_lists(session, "kind")


@pytest.mark.parametrize(
    ("called", "kind"),
    [("CV-nut", "hub-nut"), ("axle-nut", "hub-nut"), ("lip-seal", "shaft-seal"),
     ("snap-ring", "circlip"), ("Jubilee-thing", "my-clip")],
)  # fmt: skip
def test_a_file_that_uses_such_a_word_is_told_the_kind(
    store: Engine, called: str, kind: str
) -> None:
    load(store, OWN)
    with pytest.raises(FileProblemsError) as caught:
        load(store, f"items: [{{code: A, name: A, kind: {called}}}]")
    assert str(caught.value).endswith(f"kind '{called}': unknown name. Did you mean {kind}?")


@pytest.mark.parametrize(
    ("called", "code"), [("viton", "FKM"), ("Nitrile", "NBR"), ("silicone", "VMQ")]
)
def test_what_people_call_a_rubber_is_answered_and_never_taken(called: str, code: str) -> None:
    with pytest.raises(FileProblemsError) as caught:
        source(f"items: [{{code: A, name: A, kind: o-ring, elastomer: {called}}}]")
    assert f"people mean {code} by it" in str(caught.value)
    assert "a trade name is not a material" in str(caught.value)


def test_every_such_word_is_of_a_rubber_there_is_and_none_is_a_code() -> None:
    assert set(ALSO_CALLED.values()) <= set(ELASTOMERS)
    assert not {word.upper() for word in ALSO_CALLED} & set(ELASTOMERS)


def test_every_head_is_shown_as_it_may_be_written(store: Engine) -> None:
    for word in words(store, "heads").values():
        assert parse_head(word.name).profile == word.word
