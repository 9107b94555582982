"""What a report carries for whoever checks it: the job file, and the fingerprint among its properties.

The PDF comes from outside, so nothing in it is believed: neither that it is whole, nor how large its parts become.
"""

from __future__ import annotations

import io
import zlib
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from workshop_log.errors import WorkshopLogError
from workshop_log.paper.finishing import FINGERPRINT

if TYPE_CHECKING:
    import pikepdf

# No report comes near it: its photos are scaled down. [bytes]
MAX_REPORT = 300 * 2**20
# The attached job has no pictures: its words alone are never as much. A small stream can unpack to gigabytes. [bytes]
MAX_ATTACHED = 50 * 2**20
_ENDING = ".job.json"
# A PDF ends with this, within its last 1024 bytes.
_END, _END_WITHIN = b"%%EOF", 1024


class NoJobFileError(WorkshopLogError, ValueError):
    """A PDF that cannot be read, or that carries no job file."""


@dataclass(frozen=True, slots=True)
class Carried:
    """What a report carries.

    Attributes
    ----------
    name : str
        The job file's name.
    data : bytes
        The job file.
    fingerprint : str
        What the document's properties give as the fingerprint; empty where they give none.
    created : str
        When the document says it was made, as PDF spells it.
    pages : int
        How many there are.
    others : tuple[str, ...]
        Names of files that are attached beside it: no report has any.
    """

    name: str
    data: bytes
    fingerprint: str
    created: str
    pages: int
    others: tuple[str, ...] = ()


def report_bytes(path: Path) -> bytes:
    """Return the bytes of a report's file.

    Raises
    ------
    NoJobFileError
        If it cannot be read, or is larger than any report.
    """
    try:
        if path.stat().st_size > MAX_REPORT:
            raise NoJobFileError(f"{path.name} is larger than {MAX_REPORT // 2**20} MB, which no report is.")
        return path.read_bytes()
    except OSError as error:
        raise NoJobFileError(f"{path.name} cannot be read: {error.strerror or error}.") from error


def carried_by(pdf: bytes, name: str) -> Carried:
    """Return what a report carries.

    Parameters
    ----------
    pdf : bytes
        The report.
    name : str
        Its name, for the messages.

    Raises
    ------
    NoJobFileError
        If it is no PDF, is encrypted or cut off, or carries no job file, several, or one that is too large.
    """
    import pikepdf

    if b"%PDF-" not in pdf[:_END_WITHIN]:
        raise NoJobFileError(f"{name} is no PDF that can be read: take the report as it was handed over.")
    if _END not in pdf[-_END_WITHIN:]:
        raise NoJobFileError(f"{name} is cut off, its end is missing: it is no PDF that can be read; copy it again.")
    try:
        with pikepdf.open(io.BytesIO(pdf)) as opened:
            return _carried(opened, name)
    except pikepdf.PasswordError as error:
        raise NoJobFileError(f"{name} is locked with a password: take the report as it was handed over.") from error
    except (pikepdf.PdfError, pikepdf.DataDecodingError, zlib.error) as error:
        raise NoJobFileError(
            f"{name} is damaged and no PDF that can be read: take the report as it was handed over.") from error
    except (TypeError, ValueError, KeyError, AttributeError, RuntimeError) as error:
        # Its parts are not what the format says: a number where a dictionary belongs, and the like.
        if isinstance(error, NoJobFileError):
            raise
        raise NoJobFileError(f"{name} is built wrongly inside: take the report as it was handed over.") from error


def _carried(pdf: pikepdf.Pdf, name: str) -> Carried:
    if pdf.is_encrypted:
        raise NoJobFileError(f"{name} is encrypted: take the report as it was handed over.")
    everything = list(pdf.attachments.items())
    found = [(title, attached) for title, attached in everything if title.endswith(_ENDING)]
    if not found:
        raise NoJobFileError(
            f"{name} carries no job file: it is not a report of this program, or was made anew since.")
    if len(found) > 1:
        raise NoJobFileError(f"{name} carries {len(found)} job files, a report has one: something was put in. Take "
                             f"the report as it was handed over.")
    title, attached = found[0]
    data = _unpacked(attached.get_file().obj, f"{name}, {title}")
    return Carried(title, data, _property(pdf, FINGERPRINT), _property(pdf, "/CreationDate"), len(pdf.pages),
                   tuple(one for one, _ in everything if one != title))


def _property(pdf: pikepdf.Pdf, key: str) -> str:
    info = pdf.trailer.get("/Info")
    return "" if info is None else str(info.get(key, ""))


def _unpacked(stream: pikepdf.Stream, name: str) -> bytes:
    """Return a stream's bytes, unpacked no further than any job file reaches."""
    filters = stream.get("/Filter")
    named = [] if filters is None else [str(filters)] if not _is_array(filters) else [str(one) for one in filters]
    packed = stream.read_raw_bytes()
    if not named:
        data = packed
    elif named == ["/FlateDecode"] and stream.get("/DecodeParms") is None:
        unpacker = zlib.decompressobj()
        data = unpacker.decompress(packed, MAX_ATTACHED + 1)
        if len(data) <= MAX_ATTACHED and not unpacker.eof:
            raise NoJobFileError(f"{name} ends in the middle: the report is damaged; copy it again.")
    else:
        raise NoJobFileError(f"{name} is packed in a way that no report uses: take it as it was handed over.")
    if len(data) > MAX_ATTACHED:
        raise NoJobFileError(f"{name} is larger than {MAX_ATTACHED // 2**20} MB, which no job in a report is.")
    return data


def _is_array(value: pikepdf.Object) -> bool:
    import pikepdf

    return isinstance(value, pikepdf.Array)
