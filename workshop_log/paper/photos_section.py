"""Photos, two in a row, with captions: turned upright, without positions, as fine as print needs."""

from __future__ import annotations

import hashlib
import io
import warnings
from typing import TYPE_CHECKING

from workshop_log.jobs.photos import standing_photos
from workshop_log.paper import sentences
from workshop_log.paper.sections import heading
from workshop_log.paper.tables import CELL_LIMIT, CellTexts, side_by_side
from workshop_log.paper.tagging import figure
from workshop_log.paper.text import para
from workshop_log.paper.wording import say
from workshop_log.progress import Progress, untold

if TYPE_CHECKING:
    from PIL import Image
    from reportlab.pdfgen.canvas import Canvas
    from reportlab.platypus import Flowable

    from workshop_log.exchange.records import Photo
    from workshop_log.paper.report_input import ReportInput

_PRINT_DPI = 200
_POINTS_PER_INCH = 72
_QUALITY = 82
_SPACE_BETWEEN = 16.0
# A tall picture gets no more than this of a page. [pt]
_LARGEST_HEIGHT = 235.0
# Pictures kept as they were made ready for print, so that a page shown again is quick.
_KEPT_PICTURES = 128


def photos(content: ReportInput, width: float, progress: Progress = untold) -> list[Flowable]:
    """Return the photos two by two; each pair stays together with its captions."""
    from reportlab.platypus import KeepTogether, Spacer

    photos = standing_photos(content.job)
    if not photos:
        return []
    column = (width - _SPACE_BETWEEN) / 2
    texts = CellTexts()
    cells = []
    for number, photo in enumerate(photos, start=1):
        progress(number - 1, len(photos))
        cells.append(_cell(content, number, photo, column, texts))
    made = heading("photos.heading", space=_LARGEST_HEIGHT)
    for first in range(0, len(cells), 2):
        row = [cells[first], "", cells[first + 1] if first + 1 < len(cells) else ""]
        made += [KeepTogether(side_by_side([row], [column, _SPACE_BETWEEN, column])), Spacer(0, 13)]
    return made + texts.flowables()


def _cell(content: ReportInput, number: int, photo: Photo, column: float, texts: CellTexts) -> list[Flowable]:
    name = photo.name or say("photos.untitled", number=number)
    caption = photo.caption.strip() or name
    if photo.step:
        caption = say("photos.of_test", number=sentences.number_of(photo.step), caption=caption)
    data = content.photos.get(photo.sha256) or photo.data
    if not data:
        return [para(say("photos.missing", name=name), style="caption")]
    picture = print_picture(data, column, _LARGEST_HEIGHT)
    if picture is None:
        return [para(say("photos.broken", name=name), style="caption")]
    caption = texts.fit(caption, say("photos.further", number=number))
    return [drawn_picture(picture, column, _LARGEST_HEIGHT, caption[:CELL_LIMIT]), para(caption, style="caption")]


def drawn_picture(jpeg: bytes, width: float, height: float, alternative: str) -> Flowable:
    """Return a picture as large as the box lets it be, with a text that stands for it; lengths in points."""
    from reportlab.lib.utils import ImageReader

    image = ImageReader(io.BytesIO(jpeg))
    wide, high = image.getSize()
    scale = min(width / wide, height / high)

    def draw(canvas: Canvas) -> None:
        canvas.drawImage(image, 0, 0, wide * scale, high * scale)

    return figure(wide * scale, high * scale, alternative, draw)


# Pictures made ready for print before, the latest last; used by one report at a time.
_ready: dict[tuple[bytes, float, float], bytes | None] = {}


def print_picture(data: bytes, width: float, height: float) -> bytes | None:
    """Return a picture as a JPEG of at most print resolution for the box, or None if it is no picture.

    Orientation is applied and nothing but the picture is kept: no position, no camera, no thumbnail.
    """
    key = (hashlib.sha256(data).digest(), width, height)
    picture = _ready.pop(key, None) or _made_ready(data, width, height)
    _ready[key] = picture
    if len(_ready) > _KEPT_PICTURES:
        del _ready[next(iter(_ready))]
    return picture


def _made_ready(data: bytes, width: float, height: float) -> bytes | None:
    from PIL import Image, ImageOps

    pixels = round(width / _POINTS_PER_INCH * _PRINT_DPI), round(height / _POINTS_PER_INCH * _PRINT_DPI)
    file = io.BytesIO()
    try:
        with warnings.catch_warnings():
            # Pillow warns of a picture large enough to be an attack; it is taken for no picture.
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            with Image.open(io.BytesIO(data)) as opened:
                # A JPEG is read at a coarser grid where that is fine enough: several times quicker.
                opened.draft("RGB", (2 * max(pixels), 2 * max(pixels)))
                image = _on_white(ImageOps.exif_transpose(opened))
                image.thumbnail(pixels, Image.Resampling.LANCZOS)
                image.save(file, "JPEG", quality=_QUALITY, optimize=True, exif=b"")
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError, Image.DecompressionBombWarning):
        return None
    return file.getvalue()


def _on_white(image: Image.Image) -> Image.Image:
    """Return the picture in plain colour; what is transparent shows the paper."""
    from PIL import Image

    if image.mode in ("RGBA", "LA", "PA") or "transparency" in image.info:
        layer = image.convert("RGBA")
        paper = Image.new("RGBA", layer.size, "white")
        return Image.alpha_composite(paper, layer).convert("RGB")
    return image.convert("RGB")
