"""From a letter and its attachments to the bytes of an email: the same bytes at every try.

The head is written here and not by the library's newer classes: up to Python 3.12 those break long names apart and
leave commas of a name bare, where another address could begin. What is no plain word goes through `email.header`.
"""

from __future__ import annotations

import hashlib
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from workshop_log.delivery.addresses import address_of, has_controls, parts_of, shown
from workshop_log.errors import WorkshopLogError

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime
    from email.mime.base import MIMEBase

    from workshop_log.exchange.letter import Letter

# What most servers take. [bytes of the whole message, as it travels]
MAX_BYTES = 25_000_000
# Base64 makes four letters of three bytes, in lines of 76 that each end with two more.
_GROWTH = 4 / 3 * 78 / 76
# As long may a line of the head be before it is folded.
_LINE = 76
_LONGEST_SUBJECT, _LONGEST_NAME = 400, 150
_PLAIN = re.compile(r"[ !-~]*")
_MEDIA_TYPE = re.compile(r"[a-z]+/[a-z0-9.+-]+")
# Of what a person may paste, what is no letter and would be lost or worse on the way; tabs and line ends stay.
_CONTROLS = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f]")


class MessageError(WorkshopLogError, ValueError):
    """A message that cannot be sent as it is."""


@dataclass(frozen=True, slots=True)
class Attachment:
    """A file that travels with a message.

    Attributes
    ----------
    name : str
        As the receiver sees it, without a folder.
    media_type : str
        `application/pdf`.
    data : bytes
        The file.
    """

    name: str
    media_type: str
    data: bytes


def new_message_id(sender: str) -> str:
    """Return a name that no other message has, in the sender's domain.

    Raises
    ------
    MessageError
        If no sender is named.
    AddressError
        If the sender is no address.
    """
    import uuid

    if not sender:
        raise MessageError("From which address it comes is not known yet: type it in the settings, under Email.")
    return f"<{uuid.uuid4().hex}@{address_of(sender).rpartition('@')[2]}>"


def check_letter(letter: Letter) -> None:
    """Refuse a letter that cannot be sent.

    Raises
    ------
    AddressError
        If an address is none.
    MessageError
        If nobody is to get it, or its subject cannot be one.
    """
    for address in (*letter.recipients, *letter.copies):
        parts_of(address)
    if not letter.recipients:
        raise MessageError("Nobody is named to get this message: type an address behind “To”.")
    if has_controls(letter.subject):
        raise MessageError("The subject has a line break or another sign that cannot be seen: type it anew, on one "
                           "line.")
    if not letter.subject.strip():
        raise MessageError("The subject is blank: say in a few words what is sent.")
    if len(letter.subject) > _LONGEST_SUBJECT:
        raise MessageError(f"The subject has {len(letter.subject)} letters: shorten it, and write the rest as text.")


def message_bytes(letter: Letter, attachments: Sequence[Attachment], message_id: str, written_at: datetime, *,
                  is_draft: bool = False) -> bytes:
    """Return the message as it travels: the same bytes for the same input.

    Parameters
    ----------
    letter : Letter
        From whom, to whom, what.
    attachments : Sequence[Attachment]
        In their order.
    message_id : str
        The message's own name, as `new_message_id` gives it.
    written_at : datetime
        When it was written, with its zone.
    is_draft : bool
        Whether it is for the person's own mail program, which opens it as one that is still to be sent and gives it
        sender, date and name of its own.

    Raises
    ------
    AddressError, MessageError
        If it cannot be sent as it is; the sentence says what and what to do.
    """
    from email.utils import format_datetime

    check_letter(letter)
    if letter.sender or not is_draft:
        parts_of(letter.sender)
    for attachment in attachments:
        _check_attachment(attachment)
    _check_size(sum(len(attachment.data) for attachment in attachments) * _GROWTH)
    if not re.fullmatch(r"<[!-;=?-~]+@[!-;=?-~]+>", message_id):
        raise ValueError(f"{message_id!r} is no name of a message")
    head = [_address_line("From", (letter.sender,))] if letter.sender else []
    head.append(_address_line("To", letter.recipients))
    if letter.copies:
        head.append(_address_line("Cc", letter.copies))
    head.append(f"Subject: {_words(letter.subject.strip(), 'Subject')}")
    head += ["X-Unsent: 1"] if is_draft else [f"Date: {format_datetime(written_at)}", f"Message-ID: {message_id}"]
    message = "".join(f"{line}\r\n" for line in head).encode("ascii") + _content(letter.body, attachments, message_id)
    _check_size(len(message))
    return message


def plain_text(body: str) -> str:
    """Return a text without what nobody sees; half of a sign, as a broken copy leaves it, becomes a question mark."""
    lines = _CONTROLS.sub(" ", body.replace("\r\n", "\n").replace("\r", "\n"))
    return lines.encode("utf-8", "replace").decode()


def megabytes(size: float) -> str:
    """Return a size as people say it: "3.4 MB", "45 kB"."""
    return f"{size / 1e6:.1f} MB" if size >= 1e6 else f"{max(size / 1e3, 1):.0f} kB"


# --- the head -------------------------------------------------------------------------------------------------------


def _words(text: str, header: str) -> str:
    """Return a text for the head: as it is where it is plain, else in words of letters that mean nothing there."""
    from email.header import Header

    if _PLAIN.fullmatch(text) and "=?" not in text and len(text) + len(header) + 2 <= _LINE:
        return text
    return Header(text, "utf-8", header_name=header, maxlinelen=_LINE).encode(linesep="\r\n")


def _address_line(header: str, addresses: Sequence[str]) -> str:
    return f"{header}: " + ",\r\n ".join(_address(one, header) for one in addresses)


def _address(text: str, header: str) -> str:
    from email.utils import quote

    name, address = parts_of(text)
    if not name:
        return address
    words = _words(name, header)
    return f'"{quote(words)}"\r\n <{address}>' if words == name else f"{words}\r\n <{address}>"


# --- what it holds --------------------------------------------------------------------------------------------------


def _content(body: str, attachments: Sequence[Attachment], message_id: str) -> bytes:
    from email.mime.multipart import MIMEMultipart
    from email.policy import compat32

    text = _text_part(body)
    if not attachments:
        return text.as_bytes(policy=compat32.clone(linesep="\r\n", mangle_from_=False))
    # By the message's own name, so that it is the same at every try; = begins no line of what is inside.
    boundary = f"={hashlib.sha256(message_id.encode()).hexdigest()[:40]}"
    whole = MIMEMultipart("mixed", boundary=boundary)
    whole.attach(text)
    for attachment in attachments:
        whole.attach(_file_part(attachment))
    return whole.as_bytes(policy=compat32.clone(linesep="\r\n", mangle_from_=False))


def _text_part(body: str) -> MIMEBase:
    from email.charset import QP, Charset
    from email.mime.text import MIMEText

    charset = Charset("utf-8")
    charset.body_encoding = QP
    return MIMEText(plain_text(body) + "\n", "plain", charset)


def _file_part(attachment: Attachment) -> MIMEBase:
    from email.encoders import encode_base64
    from email.mime.base import MIMEBase

    part = MIMEBase(*attachment.media_type.split("/"))
    part.set_payload(attachment.data)
    encode_base64(part)
    name = attachment.name
    part.add_header("Content-Disposition", "attachment",
                    filename=name if _PLAIN.fullmatch(name) else ("utf-8", "", name))
    return part


def _check_attachment(attachment: Attachment) -> None:
    name = attachment.name
    if not name.strip() or has_controls(name) or any(sign in name for sign in "/\\"):
        raise MessageError(f"“{shown(name)}” cannot be the name of an attachment: use letters, digits and spaces.")
    if len(name) > _LONGEST_NAME:
        raise MessageError(f"The name of the attachment “{shown(name)}” has {len(name)} letters: shorten it to "
                           f"{_LONGEST_NAME}.")
    if not _MEDIA_TYPE.fullmatch(attachment.media_type):
        raise ValueError(f"{attachment.media_type!r} is no media type")


def _check_size(size: float) -> None:
    if size > MAX_BYTES:
        raise MessageError(f"With what is attached the message has {megabytes(size)}, and most servers take "
                           f"{megabytes(MAX_BYTES)} at most: attach less, or save the PDF and hand it over another "
                           "way.")
