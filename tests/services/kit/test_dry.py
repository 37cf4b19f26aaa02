"""What goes together dry, and what nobody says so of. All data is invented."""

from __future__ import annotations

from dataclasses import replace

from kitting.facts.plan_reasons import LubricantReason
from kitting.facts.reasons import because
from kitting.facts.words import NeedRule
from kitting.views.kit import BagLine, ContentView
from kitting.wording.kit import lubricants_texts

LINE = BagLine(
    ContentView("RING", "ring one", NeedRule.RENEW, 2000, "each"),
    ("port 1", "port 3"),
    (because(LubricantReason.DRY),),
)


def test_what_is_dry_at_some_places_only_is_not_told_as_dry_at_all() -> None:
    assert LINE.goes_dry
    assert lubricants_texts(LINE) == ("FIT DRY, no lubricant",)
    half = replace(LINE, unstated=True)
    assert not half.goes_dry
    assert lubricants_texts(half) == ("FIT DRY, no lubricant", "NOT STATED for all of it")
    assert lubricants_texts(replace(half, lubricants=())) == ()
