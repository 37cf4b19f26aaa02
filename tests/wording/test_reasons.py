"""A reason has a form for the bench, and on a screen what who keeps the catalogue needs too."""

from __future__ import annotations

import re

import pytest

from kitting.facts.doubt_reasons import DoubtReason
from kitting.facts.reasons import because
from kitting.facts.torque_reasons import TorqueRemark
from kitting.wording import reasons
from kitting.wording.reasons import at_the_bench, say, texts_of_reasons

# A field of a catalogue as it is named in a sentence: "head: of the item", "cure: in the times:".
_FIELD = re.compile(r"\b[a-z_]+:( of\b| in\b| or\b|[,)]|$)")
_VALUE = re.compile(r"\{[^{}]*\}")


def test_no_text_for_the_bench_names_a_field_of_the_catalogue() -> None:
    list(texts_of_reasons())
    found = {
        str(code): text
        for texts in reasons._TEXTS.values()
        for code, text in texts.items()
        if _FIELD.search(_VALUE.sub("X", text))
    }
    assert found == {}


def test_every_entry_is_of_a_reason_that_has_a_text() -> None:
    list(texts_of_reasons())
    entries = {kind: set(told) for kind, told in reasons._ENTRIES.items()}
    assert any(entries.values())
    assert all(codes <= set(reasons._TEXTS[kind]) for kind, codes in entries.items())
    told = set(texts_of_reasons())
    assert all(set(texts.values()) <= told for texts in reasons._ENTRIES.values())


def test_a_screen_names_the_entry_that_settles_it_and_the_bench_does_not() -> None:
    doubt = because(DoubtReason.NO_HEAD, joint="j", position="bolt", item="B")
    assert say(doubt) == "the head of j: bolt (B) is not stated (head: of the item)"
    with at_the_bench():
        assert say(doubt) == "the head of j: bolt (B) is not stated"
    assert say(doubt).endswith("(head: of the item)")


@pytest.mark.parametrize("code", [TorqueRemark.VERY_LITTLE, TorqueRemark.HARDLY_ANY])
def test_a_figure_that_is_only_guessed_is_told_on_a_screen_and_never_at_the_bench(
    code: TorqueRemark,
) -> None:
    odd = because(code, torque="75 N·m", thread="M24", usual="700 N·m", meant=("735.5 N·m",))
    place = {"joint": "j", "position": "nut", "item": "N"}
    doubt = because(DoubtReason.ODD_FIGURE, why=odd, **place)
    assert "700 N·m" in say(doubt)
    assert "?." not in say(doubt)
    with at_the_bench():
        told = say(doubt)
    assert "75 N·m is very little for M24" in told
    assert "700" not in told
    assert "735.5" not in told
