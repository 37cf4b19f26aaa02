"""What is said of photos."""

from __future__ import annotations

from kitting.views.photos import PhotoView


def photo_text(view: PhotoView) -> str:
    """A photo in one line: "1  grebe-4t/intake, port 1: seen from below, 1200 × 900, 84 kB"."""
    of = ", ".join(text for text in (view.item, view.joint, view.position) if text)
    told = f": {view.caption}" if view.caption else ""
    size = f"{view.width} × {view.height} pixels, {view.size / 1000:.0f} kB"
    by = f", by {view.told_by}" if view.told_by else ""
    gone = "" if view.known else " (NOT IN THE CATALOGUE ANY MORE)"
    return f"{view.number}  {of}{told}; {size}, {view.at:%Y-%m-%d}{by}{gone}"
