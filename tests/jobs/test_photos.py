"""Pictures as they enter the book."""

from __future__ import annotations

import io
import struct
import zlib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from workshop_log.jobs.photos import LONGEST_SIDE_PX, PhotoError, prepare_photo

_ORIENTATION, _GPS, _MAKER = 0x0112, 0x8825, 0x010F


def gradient(width: int = 300, height: int = 200) -> Image.Image:
    """Draw a picture with many colours: red grows to the right, green downwards."""
    image = Image.new("RGB", (width, height))
    image.putdata([(x * 255 // width, y * 255 // height, (x * y) % 256) for y in range(height) for x in range(width)])
    return image


def file_of(image: Image.Image, kind: str = "JPEG", **options) -> bytes:
    out = io.BytesIO()
    image.save(out, kind, **options)
    return out.getvalue()


def opened(data: bytes) -> Image.Image:
    image = Image.open(io.BytesIO(data))
    image.load()
    return image


def tagged_jpeg(orientation: int) -> bytes:
    exif = Image.Exif()
    exif[_ORIENTATION] = orientation
    exif[_MAKER] = "Telephone"
    exif.get_ifd(_GPS).update({1: "N", 2: (51.0, 30.0, 0.0), 3: "W", 4: (0.0, 7.0, 0.0)})
    return file_of(gradient(), exif=exif, comment=b"taken at home")


def test_position_maker_and_comment_are_gone() -> None:
    """Nothing of the old file but its pixels is left."""
    old = tagged_jpeg(1)
    assert b"Telephone" in old and b"taken at home" in old
    new = prepare_photo(old, "a.jpg").data
    assert not opened(new).getexif()
    assert b"Telephone" not in new and b"taken at home" not in new and b"Exif" not in new


@pytest.mark.parametrize(("orientation", "size", "red_corner"), [
    (1, (300, 200), (295, 5)), (3, (300, 200), (5, 195)), (6, (200, 300), (195, 295)), (8, (200, 300), (5, 5))])
def test_picture_is_turned_upright(orientation: int, size: tuple, red_corner: tuple) -> None:
    """The corner that is red and not green lies where the camera saw it.

    In the file it is top right. Orientation 3 turns by 180°, 6 clockwise by 90°, 8 counter-clockwise by 90°.
    """
    photo = prepare_photo(tagged_jpeg(orientation), "a.jpg")
    image = opened(photo.data)
    assert image.size == (photo.width, photo.height) == size
    red, green, _ = image.getpixel(red_corner)
    assert red > 200 > 60 > green


def test_large_picture_is_scaled_and_small_one_is_not() -> None:
    """The longest side is at most 2000 pixels; nothing is blown up."""
    photo = prepare_photo(file_of(gradient(3000, 500)), "a.jpg")
    assert (photo.width, photo.height) == (LONGEST_SIDE_PX, 333)
    assert prepare_photo(file_of(gradient()), "a.jpg").width == 300


def test_screenshot_stays_png_and_photograph_in_png_becomes_jpeg() -> None:
    """Few colours stay sharp; many colours stay small."""
    screen = Image.new("RGB", (100, 80), "white")
    screen.paste("navy", (10, 10, 60, 40))
    photo = prepare_photo(file_of(screen, "PNG"), "s.png")
    assert photo.media_type == "image/png"
    assert opened(photo.data).convert("RGB").getpixel((20, 20)) == (0, 0, 128)
    assert prepare_photo(file_of(gradient(), "PNG"), "p.png").media_type == "image/jpeg"


def test_transparent_picture_is_laid_on_white() -> None:
    """A JPEG has no transparency, and black where there was nothing would hide the part."""
    image = gradient(300, 300).convert("RGBA")
    image.putalpha(0)
    assert opened(prepare_photo(file_of(image, "WEBP", lossless=True), "t.webp").data).getpixel((5, 5)) == (255,) * 3


@pytest.mark.parametrize("mode", ["1", "L", "P", "LA", "CMYK", "I;16", "F"])
def test_every_mode_of_picture_is_taken_in(mode: str) -> None:
    """Grey, paletted, printing and scientific pictures become plain ones."""
    image = gradient().convert("L").convert(mode) if mode in ("I;16", "F") else gradient().convert(mode)
    photo = prepare_photo(file_of(image, "TIFF"), "m.tif")
    assert opened(photo.data).mode == "RGB"


def test_same_picture_gives_the_same_bytes() -> None:
    """What is stored by its fingerprint is stored once."""
    assert prepare_photo(tagged_jpeg(6), "a.jpg") == prepare_photo(tagged_jpeg(6), "b.jpg")


@pytest.mark.parametrize(("data", "reason"), [
    (b"", "is not a picture"), (b"%PDF-1.7 hello", "is not a picture"), (tagged_jpeg(1)[:2000], "is broken"),
    (b"\0\0\0\x18ftypheic" + bytes(40), "HEIC"), (bytes(60 * 1024 * 1024 + 1), "larger than 60 MB")])
def test_what_cannot_be_read_is_refused_in_one_sentence(data: bytes, reason: str) -> None:
    """The sentence names the file, what is wrong and what to do."""
    with pytest.raises(PhotoError, match=reason) as refused:
        prepare_photo(data, "x.jpg")
    assert str(refused.value).startswith("x.jpg ")


def _png_that_claims(width: int, height: int) -> bytes:
    """Make a PNG of a few bytes that would unpack into width x height pixels."""
    def chunk(kind: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))
    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(bytes(100))) + chunk(b"IEND", b"")


@pytest.mark.parametrize("side", [12_000, 60_000])
def test_bomb_is_refused_before_it_is_unpacked(side: int) -> None:
    """A file of a hundred bytes that claims gigabytes of pixels is refused by its head."""
    with pytest.raises(PhotoError, match="pixels"):
        prepare_photo(_png_that_claims(side, side), "bomb.png")


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 3000), st.binary(min_size=1, max_size=40))
def test_damaged_picture_is_read_or_refused(place: int, damage: bytes) -> None:
    """Whatever bytes a card lost, the answer is a picture or one sentence."""
    data = bytearray(_SMALL)
    place %= len(data)
    data[place:place + len(damage)] = damage
    try:
        assert opened(prepare_photo(bytes(data), "d.jpg").data).size
    except PhotoError as refused:
        assert str(refused).startswith("d.jpg ")


_SMALL = tagged_jpeg(6)
