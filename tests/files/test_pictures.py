"""Pictures are checked, turned upright, made small, and lose where they were taken."""

from __future__ import annotations

import hashlib
import struct
import zlib
from io import BytesIO
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from kitting.errors import KittingError
from kitting.files import pictures
from kitting.files.pictures import LONGEST, read_picture

# Tags of EXIF 2.32 (CIPA DC-008): orientation, maker of the camera, GPS.
ORIENTATION, MAKE, GPS = 0x0112, 0x010F, 0x8825


def picture(path: Path, form: str, size: tuple[int, int] = (60, 40), **more: object) -> Path:
    Image.new("RGB", size, "navy").save(path, form, **more)
    return path


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP"])
def test_a_picture_is_kept_as_jpeg_with_its_hash(tmp_path: Path, form: str) -> None:
    kept = read_picture(picture(tmp_path / "a", form))
    with Image.open(BytesIO(kept.jpeg)) as again:
        assert (again.format, again.size) == ("JPEG", (60, 40))
        red, green, blue = again.convert("RGB").getpixel((30, 20))  # type: ignore[misc]
    assert (kept.width, kept.height) == (60, 40)
    assert blue > 100 > max(red, green)
    assert kept.sha256 == hashlib.sha256(kept.jpeg).hexdigest()


def test_a_large_one_is_made_small_and_keeps_its_shape(tmp_path: Path) -> None:
    kept = read_picture(picture(tmp_path / "a.png", "PNG", (3000, 1500)))
    assert (kept.width, kept.height) == (LONGEST, LONGEST // 2)


def test_it_is_turned_upright_and_where_it_was_taken_is_not_kept(tmp_path: Path) -> None:
    exif = Image.Exif()
    exif[ORIENTATION] = 6
    exif[MAKE] = "SECRET CAMERA"
    exif.get_ifd(GPS)[1] = "N"
    exif.get_ifd(GPS)[2] = (51.0, 30.0, 0.0)
    path = picture(tmp_path / "a.jpg", "JPEG", (60, 40), exif=exif.tobytes(), comment=b"HIDDEN")
    assert b"SECRET CAMERA" in path.read_bytes()
    kept = read_picture(path)
    assert (kept.width, kept.height) == (40, 60)
    with Image.open(BytesIO(kept.jpeg)) as again:
        assert dict(again.getexif()) == {}
    for word in (b"SECRET CAMERA", b"HIDDEN", b"Exif"):
        assert word not in kept.jpeg


def test_what_shows_through_is_white(tmp_path: Path) -> None:
    path = tmp_path / "a.png"
    Image.new("RGBA", (20, 20), (0, 0, 0, 0)).save(path)
    with Image.open(BytesIO(read_picture(path).jpeg)) as kept:
        assert min(kept.getpixel((10, 10))) > 245  # type: ignore[type-var, arg-type]


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (b"", "no picture, or a damaged one"),
        (b"plain text", "no picture, or a damaged one"),
        (b"GIF89a" + bytes(20), "Name a JPEG, PNG or WebP file"),
        (b"\xff\xd8\xff\xe0" + bytes(200), "no picture, or a damaged one"),
    ],
)
def test_what_is_no_picture_is_refused(tmp_path: Path, content: bytes, message: str) -> None:
    path = tmp_path / "a.jpg"
    path.write_bytes(content)
    with pytest.raises(KittingError, match=message):
        read_picture(path)


def test_a_picture_cut_short_is_refused(tmp_path: Path) -> None:
    path = picture(tmp_path / "a.png", "PNG", (400, 400))
    path.write_bytes(path.read_bytes()[:-40])
    with pytest.raises(KittingError, match="damaged"):
        read_picture(path)


def test_a_file_that_would_fill_the_memory_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = picture(tmp_path / "a.png", "PNG", (200, 200))
    monkeypatch.setattr(pictures, "MOST_PIXELS", 39_999)
    with pytest.raises(KittingError, match="200 × 200 pixels are more than"):
        read_picture(path)
    monkeypatch.setattr(pictures, "MOST_BYTES", 10)
    with pytest.raises(KittingError, match="MB is more than"):
        read_picture(path)


@pytest.mark.parametrize("size", [(16320, 12240), (20000, 20000), (12000, 10001)])
def test_a_picture_of_too_many_pixels_is_told_with_how_many_it_may_have(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    path = tmp_path / "a.png"
    header = struct.pack(">II5B", *size, 1, 0, 0, 0, 0)  # PNG: one bit of grey a pixel
    chunk = b"IHDR" + header
    start = b"\x89PNG\r\n\x1a\n" + struct.pack(">I", len(header)) + chunk
    data = struct.pack(">I4s", 0, b"IDAT") + struct.pack(">I", zlib.crc32(b"IDAT"))
    path.write_bytes(start + struct.pack(">I", zlib.crc32(chunk)) + data)
    with pytest.raises(KittingError) as caught:
        read_picture(path)
    told = str(caught.value)
    assert "pixels are more than a photo may have, 120 million. Save it smaller" in told


def test_a_file_that_is_not_there_is_named(tmp_path: Path) -> None:
    with pytest.raises(KittingError, match=r"none\.jpg: cannot be read"):
        read_picture(tmp_path / "none.jpg")


@given(st.binary(max_size=300))
@settings(max_examples=60)
def test_any_bytes_end_in_a_picture_or_a_clear_refusal(
    tmp_path_factory: pytest.TempPathFactory, content: bytes
) -> None:
    path = tmp_path_factory.getbasetemp() / "any.jpg"
    path.write_bytes(content)
    with pytest.raises(KittingError, match=r"any\.jpg"):
        read_picture(path)
