"""What is said of photos."""

from __future__ import annotations

from kitting.views.photos import PhotoView


def photo_text(view: PhotoView) -> str:
    """A photo in one line: "1  grebe-4t/intake, port 1: seen from below, 1200 × 900, 84 kB"."""
    noted = None if view.note is None else f"note {view.note} of {view.registration}"
    of = ", ".join(text for text in (view.item, view.joint, view.position, noted) if text)
    told = f": {view.caption}" if view.caption else ""
    size = f"{view.width} × {view.height} pixels, {view.size / 1000:.0f} kB"
    by = f", by {view.told_by}" if view.told_by else ""
    lost = "NOT IN THE CATALOGUE ANY MORE" if view.note is None else "NOTE TAKEN BACK"
    gone = "" if view.known else f" ({lost})"
    return f"{view.number}  {of}{told}; {size}, {view.at:%Y-%m-%d}{by}{gone}"
