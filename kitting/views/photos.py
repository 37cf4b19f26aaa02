"""Photos that a garage keeps of items, joints and positions."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime


@dataclass(frozen=True, slots=True)
class PhotoView:
    """A photo as it is kept, without the picture itself: what it is of, how large, its hash.

    It is of an `item`, of a `joint` (UNIT/JOINT) or of a `position` of one, by code, or of the part
    that a `note` at a car (`registration`) is about. `known` says that the catalogue still has what
    it is of, or that the note is not taken back. `width` and `height` are in pixels, `size` in
    bytes.
    """

    number: int
    item: str | None
    joint: str | None
    position: str | None
    note: int | None
    registration: str | None
    caption: str | None
    told_by: str | None
    at: datetime
    width: int
    height: int
    size: int
    sha256: str
    known: bool


@dataclass(frozen=True, slots=True)
class PhotosView:
    """Photos in the order in which they were added."""

    photos: tuple[PhotoView, ...]


@dataclass(frozen=True, slots=True)
class Photograph:
    """A picture for paper: JPEG bytes, its size in pixels, and what it shows in words."""

    jpeg: bytes
    width: int
    height: int
    caption: str


@dataclass(frozen=True, slots=True)
class Photographs:
    """The pictures of a plan: by item code, and by joint and position as the plan names them.

    A position is None where the picture is of the whole joint.
    """

    items: Mapping[str, Photograph] = field(default_factory=dict)
    places: Mapping[tuple[str, str | None], Photograph] = field(default_factory=dict)


NO_PHOTOGRAPHS = Photographs()
