"""Cautions in the language that is told."""

from __future__ import annotations

from gettext import NullTranslations
from typing import ClassVar

from kitting.views.plan import CautionView
from kitting.wording.cautions import DEFERS, caution_places, caution_text, caution_title
from kitting.wording.language import GENERAL, Language, speaking

OWN = "A jack lifts, stands hold."
CAUTION = CautionView(
    "lifting", "Lifting", f"{OWN} {DEFERS}", ("step A3", "joint sump", "RING-A"), "HEAVY"
)


class Texts(NullTranslations):
    """A few texts in another language."""

    GENERAL_RULES: ClassVar = {
        "Lifting": "Heben",
        CAUTION.text: "Heber heben. Der Hersteller entscheidet.",
    }
    TOLD: ClassVar = {DEFERS: "Der Hersteller entscheidet.", "step {code}": "Schritt {code}",
            "joint {code}": "Verbindung {code}"}  # fmt: skip

    def gettext(self, message: str) -> str:
        return self.TOLD[message]

    def pgettext(self, context: str, message: str) -> str:
        assert context == GENERAL
        return self.GENERAL_RULES[message]


def test_a_caution_is_told_in_english_without_the_sentence_that_all_share() -> None:
    assert caution_title(CAUTION) == "Lifting"
    assert caution_text(CAUTION) == OWN
    assert caution_places(CAUTION) == "step A3, joint sump, RING-A"


def test_a_caution_of_the_general_rules_is_told_in_another_language() -> None:
    with speaking(Language("de", Texts())):
        assert caution_title(CAUTION) == "Heben"
        assert caution_text(CAUTION) == "Heber heben."
        assert caution_places(CAUTION) == "Schritt A3, Verbindung sump, RING-A"
