"""Pictures made ready for print: upright, on white, without anything hidden in them, as fine as they need to be."""

from __future__ import annotations

import hashlib
import io
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from functools import lru_cache
from typing import TYPE_CHECKING

from workshop_log.paper.tagging import figure

if TYPE_CHECKING:
    from PIL import Image
    from reportlab.pdfgen.canvas import Canvas
    from reportlab.platypus import Flowable

# All pictures of a paper together. A file under 5 MB goes through every mail server. [bytes]
ALL_PICTURES = 3_800_000
_POINTS_PER_INCH = 72
# Each is tried until a picture fits its share: how fine it is printed, and JPEG's quality. [dots per inch, of 100]
_FINENESS = ((200, 82), (200, 70), (160, 66), (130, 60), (110, 50), (90, 40))
# Edges of a logo are sharp: finer than a photo, and never as a JPEG. [dots per inch]
_LOGO_DPI = 300
# Pictures kept as they were made ready for print, so that a page shown again is quick.
_KEPT_PICTURES = 128
# Used by one paper at a time; the latest last.
_ready: dict[tuple[bytes, float, float, int], bytes | None] = {}


def drawn_picture(data: bytes, width: float, height: float, alternative: str) -> Flowable:
    """Return a picture as large as the box lets it be, with a text that stands for it; lengths in points."""
    from reportlab.lib.utils import ImageReader

    image = ImageReader(io.BytesIO(data))
    wide, high = image.getSize()
    scale = min(width / wide, height / high)

    def draw(canvas: Canvas) -> None:
        canvas.drawImage(image, 0, 0, wide * scale, high * scale)

    return figure(wide * scale, high * scale, alternative, draw)


def print_picture(data: bytes, width: float, height: float, share: int) -> bytes | None:
    """Return a picture as a JPEG of at most print resolution for the box, or None if it is no picture.

    Orientation is applied and nothing but the picture is kept: no position, no camera, no thumbnail.

    Parameters
    ----------
    data : bytes
        The picture as it lies in the book.
    width, height : float
        The box. [pt]
    share : int
        It is drawn coarser until it takes no more than this, or as coarse as it still tells something. [bytes]
    """
    key = (hashlib.sha256(data).digest(), width, height, share)
    picture = _ready.pop(key, None) or _made_ready(data, width, height, share)
    _ready[key] = picture
    if len(_ready) > _KEPT_PICTURES:
        del _ready[next(iter(_ready))]
    return picture


@lru_cache(maxsize=4)
def logo_picture(data: bytes, width: float, height: float) -> bytes | None:
    """Return a logo as a PNG of print resolution for the box; None where it cannot be read, or there is none."""
    file = io.BytesIO()
    try:
        with _opened(data, _pixels(width, height, _LOGO_DPI)) as image:
            image.save(file, "PNG")
    except _NO_PICTURE:
        return None
    return file.getvalue()


def _made_ready(data: bytes, width: float, height: float, share: int) -> bytes | None:
    try:
        with _opened(data, _pixels(width, height, _FINENESS[0][0])) as image:
            return _within(image, width, height, share)
    except _NO_PICTURE:
        return None


# What `_opened` raises of something that is no picture; Pillow's own errors are among these.
_NO_PICTURE = (OSError, ValueError, SyntaxError)


@contextmanager
def _opened(data: bytes, pixels: tuple[int, int]) -> Iterator[Image.Image]:
    """Give the picture upright, in plain colours on white, no larger than `pixels`."""
    from PIL import Image, ImageOps

    try:
        with warnings.catch_warnings():
            # Pillow warns of a picture large enough to be an attack; it is taken for no picture.
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            with Image.open(io.BytesIO(data)) as opened:
                # A JPEG is read at a coarser grid where that is fine enough: several times quicker.
                opened.draft("RGB", (2 * max(pixels), 2 * max(pixels)))
                image = _on_white(ImageOps.exif_transpose(opened))
                image.thumbnail(pixels, Image.Resampling.LANCZOS)
                yield image
    except (Image.DecompressionBombError, Image.DecompressionBombWarning) as error:
        raise ValueError("too large") from error


def _within(image: Image.Image, width: float, height: float, share: int) -> bytes:
    """Return the picture as a JPEG that takes no more than its share, if any fineness does."""
    from PIL import Image

    made = b""
    for dots, quality in _FINENESS:
        image.thumbnail(_pixels(width, height, dots), Image.Resampling.LANCZOS)
        file = io.BytesIO()
        image.save(file, "JPEG", quality=quality, optimize=True, exif=b"")
        made = file.getvalue()
        if len(made) <= share:
            break
    return made


def _pixels(width: float, height: float, dots: int) -> tuple[int, int]:
    return round(width / _POINTS_PER_INCH * dots), round(height / _POINTS_PER_INCH * dots)


def _on_white(image: Image.Image) -> Image.Image:
    """Return the picture in plain colour; what is transparent shows the paper."""
    from PIL import Image

    if image.mode in ("RGBA", "LA", "PA") or "transparency" in image.info:
        layer = image.convert("RGBA")
        paper = Image.new("RGBA", layer.size, "white")
        return Image.alpha_composite(paper, layer).convert("RGB")
    return image.convert("RGB")
