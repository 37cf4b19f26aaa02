"""What is said of photos."""

from __future__ import annotations

from kitting.views.photos import PhotoView
from kitting.wording.language import _


def photo_text(view: PhotoView) -> str:
    """A photo in one line: "1  grebe-4t/intake, port 1: seen from below, 1200 × 900, 84 kB"."""
    noted = (
        None
        if view.note is None
        else _("note {note} of {registration}", note=view.note, registration=view.registration)
    )
    of = ", ".join(text for text in (view.item, view.joint, view.position, noted) if text)
    told = f": {view.caption}" if view.caption else ""
    size = _(
        "{width} × {height} pixels, {value:.0f} kB",
        width=view.width,
        height=view.height,
        value=view.size / 1000,
    )
    by = _(", by {told_by}", told_by=view.told_by) if view.told_by else ""
    lost = _("NOT IN THE CATALOGUE ANY MORE") if view.note is None else _("NOTE TAKEN BACK")
    gone = "" if view.known else f" ({lost})"
    return f"{view.number}  {of}{told}; {size}, {view.at:%Y-%m-%d}{by}{gone}"
