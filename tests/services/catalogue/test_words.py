"""The words of a catalogue: listed with what they bring, found by what people call them."""

from __future__ import annotations

import pytest
from sqlalchemy import Engine, update

from helpers import load, source
from kitting.errors import FileProblemsError, UnknownNameError
from kitting.facts.elastomers import ALSO_CALLED, ELASTOMERS
from kitting.facts.heads import parse_head
from kitting.services.catalogue.load import load_sources
from kitting.services.catalogue.setup import GENERAL, seeds
from kitting.services.catalogue.words import LISTS, word_lists
from kitting.store import reading
from kitting.tables.vocabulary import OtherWord
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
    ("called", "code"),
    [("antifreeze", "coolant"), ("ATF", "automatic-transmission-fluid"),
     ("PAS-fluid", "power-steering-fluid"), ("diff-oil", "axle-oil")],
)  # fmt: skip
def test_a_joint_that_holds_a_fluid_as_people_call_it_is_told_the_code(
    store: Engine, called: str, code: str
) -> None:
    assert code in words(store, "fluids", called)
    unit = (
        f"{{code: u, name: u, joints: [{{code: j, name: j, system: engine, fluids: [{called}]}}]}}"
    )
    with pytest.raises(FileProblemsError) as caught:
        load(store, f"units: [{unit}]")
    assert f"fluid '{called}': unknown name. Did you mean {code}?" in str(caught.value)


@pytest.mark.parametrize(
    ("text", "answer"),
    [
        ("fluids: [{code: f, name: f, cautions: [HV]}]", "caution 'HV': unknown name. Did you mean high-voltage?"),
        ("systems: [{code: s, name: s, licences: [F-gas]}]", "licence 'F-gas': unknown name. Did you mean refrigerant?"),
        ("kinds: [{code: k, name: k, family: part, tools: [jack-stands]}]", "tool 'jack-stands': unknown name. Did you mean axle-stands?"),
        ("kinds: [{code: k, name: k, family: part, systems: [SRS]}]", "system 'SRS': unknown name. Did you mean restraints?"),
    ],
)  # fmt: skip
def test_words_of_every_list_are_answered_with_the_code_of_that_list(
    store: Engine, text: str, answer: str
) -> None:
    with pytest.raises(FileProblemsError) as caught:
        load(store, text)
    assert answer in str(caught.value)


TWICE = "fluids: [{code: my-blue, name: blue stuff, also: [%s]}]"


@pytest.mark.parametrize(
    ("text", "other", "word"),
    [
        (TWICE % "Anti-Freeze, antifreeze", "coolant", "antifreeze"),
        (TWICE % "Engine Oils", "engine-oil", "Engine Oils"),
        (f"{TWICE % 'juice'}\n".replace("}]", "}, {code: b, name: b, also: [Juice]}]"), "b", "juice"),
    ],
)  # fmt: skip
def test_a_word_may_not_mean_two_things_of_one_list(
    store: Engine, text: str, other: str, word: str
) -> None:
    with pytest.raises(FileProblemsError) as caught:
        load(store, text)
    said = f"fluid my-blue: people would mean {other} by {word!r} too. Say it of one of them only"
    assert said in str(caught.value)


def test_a_word_may_mean_a_thing_of_each_list_and_move_from_one_to_another(store: Engine) -> None:
    load(store, TWICE % "juice" + "\ntools: [{code: t, name: t, also: [juice]}]")
    moved = "fluids: [{code: my-blue, name: blue stuff}, {code: b, name: b, also: [juice]}]"
    load(store, moved)
    assert list(words(store, "fluids", "juice")) == ["b"]
    assert list(words(store, "tools", "juice")) == ["t"]


def test_a_word_of_ones_own_stops_no_newer_general_rules(store: Engine) -> None:
    own = "tools: [{code: thread-chaser, name: ours}]\n" + TWICE % "juice"
    load(store, own)
    with store.begin() as connection:
        connection.execute(
            update(OtherWord).where(OtherWord.word == "juice").values(word="antifreeze")
        )
    load_sources(store, seeds(GENERAL), general=True)
    assert list(words(store, "fluids", "antifreeze")) == ["coolant", "my-blue"]
    with pytest.raises(FileProblemsError, match="Did you mean coolant or my-blue"):
        load(
            store,
            "kinds: [{code: k, name: k, family: part, rules: [{rule: renew, fluid: antifreeze}]}]",
        )


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
