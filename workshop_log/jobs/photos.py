"""Pictures as they enter the book: turned upright, stripped of positions and everything else hidden in them, small.

A report goes to the customer and perhaps to a warranty desk; where a picture was taken and with which telephone is
nobody's business there. The picture is drawn anew, so that nothing of the old file but its pixels is left.
"""

from __future__ import annotations

import hashlib
import io
import warnings
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from msgspec.structs import replace

from workshop_log.errors import WorkshopLogError
from workshop_log.exchange.records import Photo
from workshop_log.jobs.change import changing
from workshop_log.jobs.ids import next_id

if TYPE_CHECKING:
    from datetime import datetime

    from PIL.Image import Image

    from workshop_log.book.opening import Book
    from workshop_log.exchange.records import Job

LONGEST_SIDE_PX = 2000
JPEG_QUALITY = 85
# A picture with so few colours is a screenshot or a drawing: sharp edges that JPEG would smear.
SCREENSHOT_COLOURS = 4096
MAX_NAME = 400
MAX_BYTES = 60 * 1024 * 1024
# A telephone makes up to 200 million pixels; unpacked that is 600 MB. Own estimate of what a small computer bears.
MAX_PIXELS = 120_000_000

_HEIF_BRANDS = (b"heic", b"heix", b"hevc", b"heim", b"heis", b"mif1", b"msf1")


class PhotoError(WorkshopLogError, ValueError):
    """A picture that cannot be taken in; `name` is its file name."""

    def __init__(self, name: str, reason: str) -> None:
        self.name = name
        super().__init__(f"{name or 'The picture'} {reason}")


@dataclass(frozen=True, slots=True)
class PreparedPhoto:
    """A picture ready for the book.

    Attributes
    ----------
    data : bytes
        The new file.
    media_type : str
        What it is.
    sha256 : str
        Of `data`, in hexadecimal.
    width, height : int
        As seen. [px]
    """

    data: bytes
    media_type: Literal["image/jpeg", "image/png"]
    sha256: str
    width: int
    height: int


def prepare_photo(data: bytes, name: str) -> PreparedPhoto:
    """Return a picture turned upright, at most 2000 pixels long, without anything hidden in it.

    Raises
    ------
    PhotoError
        If it is no picture, broken, too large, or of a kind that needs a further package.
    """
    if len(data) > MAX_BYTES:
        raise PhotoError(name, f"is larger than {MAX_BYTES // 1024**2} MB: save it smaller and take it in again.")
    if data[4:8] == b"ftyp" and data[8:12] in _HEIF_BRANDS:
        data = _heif_as_png(data, name)
    image = _opened(data, name)
    if _is_drawing(image):
        return _saved(_smaller(image), "PNG")
    return _saved(_smaller(_without_alpha(image)), "JPEG")


def _opened(data: bytes, name: str) -> Image:
    """Return the picture, upright and in plain colours."""
    from PIL import Image, ImageOps, UnidentifiedImageError

    try:
        with warnings.catch_warnings():
            # Pillow's warning about many pixels is replaced by the check below, which says what to do.
            warnings.simplefilter("ignore")
            with Image.open(io.BytesIO(data)) as opened:
                if opened.width * opened.height > MAX_PIXELS:
                    raise PhotoError(name, _too_many_pixels(opened.width, opened.height))
                if opened.format == "JPEG":
                    # Read at a fraction of the size where that is enough: several times as quick.
                    opened.draft("RGB", (LONGEST_SIDE_PX, LONGEST_SIDE_PX))
                format_ = opened.format
                opened.load()
                upright = ImageOps.exif_transpose(opened)
                image = _in_plain_colours(upright)
    except Image.DecompressionBombError:
        raise PhotoError(name, "has more pixels than can be unpacked safely: save it smaller and take it in again.") \
            from None
    except UnidentifiedImageError:
        raise PhotoError(name, "is not a picture that can be read: use JPEG, PNG or WebP.") from None
    except PhotoError:
        raise
    # Pillow's decoders raise many kinds of error on broken data; for the person they are one.
    except (OSError, ValueError, TypeError, SyntaxError, EOFError, LookupError, ArithmeticError, AttributeError,
            MemoryError) as error:
        raise PhotoError(name, "is broken and cannot be read: take the picture from the camera again.") from error
    image.info = {"format": format_}
    return image


def _too_many_pixels(width: int, height: int) -> str:
    return (f"has {width} × {height} pixels, more than {MAX_PIXELS // 1_000_000} million: save it smaller and take it "
            f"in again.")


def _in_plain_colours(image: Image) -> Image:
    """Return the picture in RGB or RGBA of the screen's colour space."""
    profile = image.info.get("icc_profile")
    has_alpha = image.mode in ("RGBA", "LA", "PA") or "transparency" in image.info
    plain = image.convert("RGBA" if has_alpha else "RGB")
    return _in_srgb(plain, profile) if profile and not has_alpha and image.mode == "RGB" else plain


def _in_srgb(image: Image, profile: bytes) -> Image:
    """Return the picture with its camera's colour profile applied, because the profile itself is left out."""
    from PIL import ImageCms

    try:
        return ImageCms.profileToProfile(image, ImageCms.ImageCmsProfile(io.BytesIO(profile)),
                                         ImageCms.createProfile("sRGB"))
    except (ImageCms.PyCMSError, OSError, ValueError):
        # A broken profile only shifts the colours a little.
        return image


def _is_drawing(image: Image) -> bool:
    return image.info.get("format") == "PNG" and image.getcolors(SCREENSHOT_COLOURS) is not None


def _without_alpha(image: Image) -> Image:
    """Return the picture on white paper."""
    from PIL import Image

    if image.mode != "RGBA":
        return image
    paper = Image.new("RGB", image.size, "white")
    paper.paste(image, mask=image.getchannel("A"))
    return paper


def _smaller(image: Image) -> Image:
    image.thumbnail((LONGEST_SIDE_PX, LONGEST_SIDE_PX))
    return image


def _saved(image: Image, kind: Literal["JPEG", "PNG"]) -> PreparedPhoto:
    # Comments, profiles and positions would be written from here.
    image.info = {}
    out = io.BytesIO()
    if kind == "JPEG":
        image.save(out, "JPEG", quality=JPEG_QUALITY, optimize=True)
    else:
        image.save(out, "PNG", optimize=True)
    data = out.getvalue()
    return PreparedPhoto(data, "image/jpeg" if kind == "JPEG" else "image/png", hashlib.sha256(data).hexdigest(),
                         image.width, image.height)


def _heif_as_png(data: bytes, name: str) -> bytes:
    """Return a HEIC picture unpacked, where the extra package for it is installed."""
    try:
        import pillow_heif
    except ImportError:
        raise PhotoError(name, "is a HEIC picture, which this installation cannot read: set the telephone to JPEG "
                               "(“most compatible”), or install the package pillow-heif.") from None
    try:
        image = pillow_heif.open_heif(io.BytesIO(data)).to_pillow()
        image.info = {}
        out = io.BytesIO()
        image.save(out, "PNG", compress_level=1)
    except (OSError, ValueError, RuntimeError, SyntaxError, EOFError) as error:
        raise PhotoError(name, "is broken and cannot be read: take the picture from the camera again.") from error
    return out.getvalue()


def small_picture(data: bytes, width: int, height: int) -> bytes:
    """Return a picture of at most so many pixels as a PNG, for a list of pictures; empty where it cannot be read."""
    from PIL import Image

    try:
        with Image.open(io.BytesIO(data)) as opened:
            opened.draft("RGB", (width, height))
            image = _in_plain_colours(opened)
            image.thumbnail((width, height), Image.Resampling.BILINEAR, reducing_gap=2.0)
            out = io.BytesIO()
            image.save(out, "PNG", compress_level=1)
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError):
        return b""
    return out.getvalue()


# --- in the book ----------------------------------------------------------------------------------------------------


def add_photo(book: Book, number: str, data: bytes, name: str, now: datetime, step: str | None = None,
              caption: str = "") -> Job:
    """Take a picture into a job.

    Raises
    ------
    PhotoError
        If it cannot be taken in.
    UnknownItemError
        If the step that it belongs to is not in the job.
    """
    return keep_photo(book, number, prepare_photo(data, name), now, step=step, caption=caption, name=name)


def keep_photo(book: Book, number: str, prepared: PreparedPhoto, now: datetime, *, step: str | None = None,
               caption: str = "", name: str = "") -> Job:
    """Keep a prepared picture with a job; the same picture at the same place is kept once."""
    # The file first: a photo without its file would be worse than a file that nothing names.
    book.files.put(prepared.data)
    with changing(book, number) as change:
        if step is not None:
            change.find("steps", step)
        known = any(p.sha256 == prepared.sha256 and p.step == step for p in change.job.photos)
        if not known:
            photo = Photo(id=next_id(change.job.photos, "f"), name=name[:MAX_NAME], caption=caption.strip(), taken=now,
                          media_type=prepared.media_type, sha256=prepared.sha256, step=step)
            change.append("photo", photo)
    return change.job


def caption_photo(book: Book, number: str, photo_id: str, words: str, now: datetime) -> Job:
    """Write what a photo shows; it is evidence, so this is a new entry for the same picture, which then counts."""
    with changing(book, number) as change:
        before = change.find("photos", photo_id)
        if before.caption != words.strip():
            entry = replace(before, id=next_id(change.job.photos, "f"), caption=words.strip(), taken=now)
            change.append("photo", entry)
    return change.job


def standing_photos(job: Job) -> tuple[Photo, ...]:
    """Return each picture once, with the last caption that was written for it."""
    last = {(photo.sha256, photo.step): photo for photo in job.photos}
    return tuple(last.values())
