"""The catalogue: what a load or an export tells, who wrote what, how files differ from it."""

from __future__ import annotations

from dataclasses import dataclass

from kitting.facts.reasons import ReasonCode
from kitting.facts.words import Word


class LoadRemark(ReasonCode):
    """What stops no load and should be looked into."""

    OVERWRITTEN = "overwritten"
    OVERWRITTEN_TOO = "overwritten too"
    WAS_OTHERWISE = "was otherwise"
    NO_LONGER_CARRIED = "no longer carried"
    GONE_OF_UNIT = "gone of a unit"
    PHOTO_OF_NOTHING = "photo of what is gone"
    REPLACED_IN_A_RING = "replaced in a ring"
    ODD_TORQUE = "odd torque"
    TORQUES_NOT_CHECKED = "torques not checked"
    TORQUES_WITHOUT_CLASS = "torques without class"
    TORQUES_OF_NO_BOLT = "torques of no bolt"
    TORQUES_INTO_PLASTIC = "torques into plastic"
    TORQUES_NOT_RECKONED = "torques of threads that are not reckoned"
    TORQUES_THAT_MAY_STRIP = "torques that may strip"
    BARS_DROPPED = "bars dropped"
    SETTLED_AGAINST = "settled against what is known"
    CHECK_DIGIT = "check digit of a vehicle number"
    TOLD_OTHERWISE = "told otherwise at the garage"
    STILL_UNKNOWN = "still unknown of a patterned joint"
    FLUIDS_UNKNOWN = "fluids of a patterned joint unknown"
    STEP_NEEDS_UNKNOWN = "step needs unknown"
    JOB_NEEDS_UNKNOWN = "job needs unknown"
    WRITTEN_BY_ANOTHER = "written by another author"
    MORE_BY_ANOTHER = "more that was written by another author"


class OriginReason(ReasonCode):
    """Who wrote something."""

    AUTHOR = "author"
    VERSION = "author and version"
    NOBODY = "nobody says"


@dataclass(frozen=True, slots=True)
class OriginView:
    """The head of a shared file: who wrote it, what it is taken from, what may be done with it."""

    author: str
    source: str | None = None
    version: str | None = None
    licence: str | None = None


class ChangeOfThing(Word):
    """How something of a file differs from what the database holds."""

    ADDED = "added"
    CHANGED = "changed"
    REMOVED = "removed"
    ORIGIN = "origin"


@dataclass(frozen=True, slots=True)
class FieldView:
    """A field as it is and as the file states it, in the words of a file; None: not stated."""

    field: str
    old: str | None
    new: str | None


@dataclass(frozen=True, slots=True)
class PartView:
    """Something of a thing that differs; `place` leads to it, and is empty for the thing itself."""

    place: tuple[str, ...]
    change: ChangeOfThing
    fields: tuple[FieldView, ...]


@dataclass(frozen=True, slots=True)
class ThingView:
    """A unit, an item, a word or a car that differs; `was` and `now` are who wrote it.

    `change` is origin where nothing but that differs.
    """

    sort: str
    code: str
    change: ChangeOfThing
    parts: tuple[PartView, ...]
    was: OriginView | None
    now: OriginView | None


@dataclass(frozen=True, slots=True)
class CompareView:
    """How files differ from the database.

    `terms` are sorts of terms of trade (branches, suppliers) that differ: those are not set side
    by side.
    """

    things: tuple[ThingView, ...]
    terms: tuple[str, ...]

    @property
    def differs(self) -> bool:
        """Whether loading would change anything."""
        return bool(self.things or self.terms)


class ExportRemark(ReasonCode):
    """What an export holds beside what was named, and what it does not hold."""

    WRITTEN_ALONG = "written along"
    MODEL_LEFT_OUT = "model left out"
