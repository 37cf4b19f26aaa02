"""What is asked of a part that is found while a car is stripped, and how it is told."""

from __future__ import annotations

from collections.abc import Mapping

from kitting.facts.found_fields import FoundField
from kitting.views.cars import FoundPartView
from kitting.wording.language import N_, _

_UNKNOWN = N_("empty: not known")
QUESTIONS: Mapping[FoundField, str] = {
    FoundField.JOINT: N_("what was opened, such as rear hub left (empty: that was all)"),
    FoundField.POSITION: N_("the part's place in it, such as hub nut (empty: the next joint)"),
    FoundField.KIND: f"kind of part, such as hub-nut ({_UNKNOWN})",
    FoundField.COUNT: f"how many there are ({_UNKNOWN})",
    FoundField.THREAD: f"thread, such as M12 x 1.5 ({_UNKNOWN})",
    FoundField.HEAD: f"head and size, such as hexagon 17 mm ({_UNKNOWN})",
    FoundField.FIGURE: f"tightening figure, such as 60 N·m; +90° ({_UNKNOWN})",
    FoundField.SOURCE: (
        N_(
            "where that figure was read, such as a page of the maker's data (empty:"
            " not known; then it is kept as seen only)"
        )
    ),
    FoundField.SIZE: N_("size, such as 17 × 2.5 mm (empty: not known)"),
    FoundField.SEEN: N_("what else was seen: colour, marks, number, damage (empty: nothing)"),
}

PHOTO_QUESTION = N_("a photo of it, a JPEG, PNG or WebP file (empty: none)")


def found_part_text(part: FoundPartView) -> str:
    """A part in one line: "rear hub left, hub nut: 1, hub-nut, M22×1.5, 180 N·m (page 12)"."""
    source = f" ({part.source})" if part.source else ""
    told = (
        None if part.count is None else str(part.count),
        part.kind or _("kind not known"),
        part.thread,
        part.head,
        part.size,
        None if part.figure is None else f"{part.figure}{source}",
        None if part.seen is None else _("seen: {seen}", seen=part.seen),
        None if part.photo is None else _("photo {photo}", photo=part.photo),
    )
    return f"{part.joint}, {part.position}: {', '.join(one for one in told if one)}"
