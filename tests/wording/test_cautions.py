"""Cautions in another language: what is of the general rules is told, what is a workshop's stays."""

from __future__ import annotations

from gettext import NullTranslations

import pytest
from ruamel.yaml import YAML
from translations import ROOT

from kitting.views.kit import HazardView
from kitting.views.plan import CautionView
from kitting.wording.cautions import (
    CAUTION_DEFERS,
    own_text,
    own_words,
    titled_text,
    titles_text,
    whole_text,
)
from kitting.wording.labels import hazard_texts
from kitting.wording.language import GENERAL, Language, speaking

OF_PROGRAM = CautionView(
    "lifting", "Lifting", f"A jack lifts. {CAUTION_DEFERS}", ("J1",), "ON STANDS"
)
OF_WORKSHOP = CautionView("pit", "Our pit", "Close the pit.", ("J1",), "PIT")
TOLD = {
    "Lifting": "Heben",
    "A jack lifts.": "Ein Heber hebt.",
    "ON STANDS": "AUF BÖCKE",
    "Coolant": "Kühlmittel",
    "POISONOUS": "GIFTIG",
}


class Some(NullTranslations):
    """Only these texts of the general rules, and how cautions end."""

    def gettext(self, message: str) -> str:
        return "Der Hersteller entscheidet." if message == CAUTION_DEFERS else message

    def pgettext(self, context: str, message: str) -> str:
        return TOLD.get(message, message) if context == GENERAL else message


OTHER = Language("de", Some())


def test_a_caution_of_the_program_is_told_and_what_it_defers_to_stands_apart() -> None:
    with speaking(OTHER):
        assert own_text(OF_PROGRAM) == "Ein Heber hebt."
        assert whole_text(OF_PROGRAM) == "Ein Heber hebt. Der Hersteller entscheidet."
        assert titled_text(OF_PROGRAM) == "Heben (AUF BÖCKE)"
    assert whole_text(OF_PROGRAM) == OF_PROGRAM.text
    assert own_text(OF_PROGRAM) == "A jack lifts."


def test_a_caution_of_a_workshop_stays_as_it_is() -> None:
    with speaking(OTHER):
        assert whole_text(OF_WORKSHOP) == own_text(OF_WORKSHOP) == "Close the pit."
        assert titles_text((OF_PROGRAM, OF_WORKSHOP)) == "Heben, Our pit"


def test_a_word_of_warning_says_what_it_comes_of_in_the_language() -> None:
    with speaking(OTHER):
        told = hazard_texts(["POISONOUS"], [HazardView("POISONOUS", "Coolant")])
    assert told == ["Kühlmittel: GIFTIG"]


def test_every_caution_of_the_program_ends_with_what_it_defers_to() -> None:
    general = YAML(typ="safe").load((ROOT / "seeds" / "general.yaml").read_text("utf-8"))
    assert general["cautions"]
    for one in general["cautions"]:
        text = str(one["text"])
        assert text.endswith(CAUTION_DEFERS), one["code"]
        assert own_words(text), one["code"]


@pytest.mark.parametrize("caution", [OF_PROGRAM, OF_WORKSHOP])
def test_in_english_nothing_changes(caution: CautionView) -> None:
    assert (titles_text((caution,)), whole_text(caution)) == (caution.title, caution.text)
