"""Photos without what cameras write into them besides the picture: positions, times, serial numbers."""

from __future__ import annotations

import io
import warnings
from typing import Literal

MediaType = Literal["image/jpeg", "image/png", "image/webp"]

_FORMATS = {"image/jpeg": "JPEG", "image/png": "PNG", "image/webp": "WEBP"}
# Of 100: no difference that an eye sees, two thirds of the bytes.
_QUALITY = 90
# The part of what cameras write that says where (Exif 2.32, tag GPSInfo).
_POSITION = 0x8825


def has_position(data: bytes) -> bool:
    """Return whether a picture says where it was taken; of one that cannot be read nothing is known."""
    from PIL import Image, UnidentifiedImageError

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            with Image.open(io.BytesIO(data), formats=tuple(_FORMATS.values())) as picture:
                return bool(picture.getexif().get_ifd(_POSITION))
    except (UnidentifiedImageError, OSError, ValueError, SyntaxError, Image.DecompressionBombError,
            Image.DecompressionBombWarning):
        return False


def without_metadata(data: bytes, media_type: MediaType) -> bytes | None:
    """Return the picture drawn anew, turned upright, with nothing but its pixels; None where it cannot be read."""
    from PIL import Image, ImageOps, UnidentifiedImageError

    kind = _FORMATS[media_type]
    try:
        with warnings.catch_warnings():
            # A picture of a hundred million points from a few bytes is refused, not unfolded.
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            with Image.open(io.BytesIO(data), formats=(kind,)) as picture:
                upright = ImageOps.exif_transpose(picture)
                pixels = upright.convert("RGBA" if upright.has_transparency_data and kind != "JPEG" else "RGB")
    except (UnidentifiedImageError, OSError, ValueError, SyntaxError, Image.DecompressionBombError,
            Image.DecompressionBombWarning):
        return None
    # A new image: the opened one carries its metadata along into the file.
    clean = Image.frombytes(pixels.mode, pixels.size, pixels.tobytes())
    buffer = io.BytesIO()
    clean.save(buffer, kind, quality=_QUALITY)
    return buffer.getvalue()
