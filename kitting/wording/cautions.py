"""Cautions in the language that is told: those that come with the program have translations."""

from __future__ import annotations

from collections.abc import Iterable

from kitting.views.plan import CautionView
from kitting.wording.language import N_, _, general_text

# How each general caution ends; a sheet says so once.
DEFERS = N_(
    "Planning information, not a procedure: the maker's data, local rules and licensed practice"
    " decide."
)
_PLACES = {"step": N_("step {code}"), "joint": N_("joint {code}")}


def caution_title(caution: CautionView) -> str:
    """What a caution is about."""
    return general_text(caution.title)


def caution_titles(cautions: Iterable[CautionView]) -> str:
    """What to beware of, in one line."""
    return ", ".join(map(caution_title, cautions))


def caution_text(caution: CautionView) -> str:
    """A caution in its own words, without the sentence that all end with."""
    return general_text(caution.text).removesuffix(_(DEFERS)).strip()


def caution_places(caution: CautionView) -> str:
    """The steps, joints and items that a caution goes with."""
    return ", ".join(map(_place, caution.applies_to))


def _place(place: str) -> str:
    sort, _blank, code = place.partition(" ")
    return _(_PLACES[sort], code=code) if code and sort in _PLACES else place
