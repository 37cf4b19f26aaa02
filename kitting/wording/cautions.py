"""Cautions, licences and words of warning: those of the general rules told in the language.

How a general caution ends is kept apart from what it says of its own: a sheet says it once.
"""

from __future__ import annotations

from collections.abc import Iterable

from kitting.views.plan import CautionView
from kitting.wording.language import N_, _, general_text

CAUTION_DEFERS = N_(
    "Planning information, not a procedure: the maker's data, local rules and licensed practice"
    " decide."
)


def title_text(caution: CautionView) -> str:
    """What a caution is of: "Coolant"."""
    return general_text(caution.title)


def titles_text(cautions: Iterable[CautionView], between: str = ", ") -> str:
    """What several cautions are of, in one line."""
    return between.join(map(title_text, cautions))


def titled_text(caution: CautionView) -> str:
    """What a caution is of, with its word of warning where that is another."""
    title, word = title_text(caution), general_text(caution.word or "")
    return f"{title} ({word})" if word and word != title else title


def own_words(text: str) -> str:
    """What a caution says of its own, without the sentence that defers to the maker's data.

    >>> own_words(f"A jack lifts, stands hold. {CAUTION_DEFERS}")
    'A jack lifts, stands hold.'
    """
    return text.removesuffix(CAUTION_DEFERS).strip()


def own_text(caution: CautionView) -> str:
    """What a caution says of its own, in the language."""
    return general_text(own_words(caution.text))


def whole_text(caution: CautionView) -> str:
    """A caution in full, in the language."""
    if not caution.text.endswith(CAUTION_DEFERS):
        return general_text(caution.text)
    return f"{own_text(caution)} {_(CAUTION_DEFERS)}".strip()


def general_names(names: Iterable[str], between: str = ", ") -> str:
    """Names of the vocabulary in one line: words of warning, licences, tools."""
    return between.join(map(general_text, names))


_PLACES = {"step": N_("step {code}"), "joint": N_("joint {code}")}


def places_text(caution: CautionView) -> str:
    """The steps, joints and items that a caution goes with."""
    return ", ".join(map(_place, caution.applies_to))


def _place(place: str) -> str:
    sort, _blank, code = place.partition(" ")
    return _(_PLACES[sort], code=code) if code and sort in _PLACES else place
