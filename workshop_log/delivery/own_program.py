"""A letter handed to the person's own mail program, where the workshop has no mail server set up here."""

from __future__ import annotations

import shutil
import subprocess
import uuid
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import quote

from workshop_log.delivery.addresses import address_of, shown
from workshop_log.delivery.messages import check_letter, message_bytes, plain_text
from workshop_log.errors import WorkshopLogError

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from workshop_log.delivery.messages import Attachment
    from workshop_log.exchange.letter import Letter

# Longer addresses are cut by some systems without a word.
_LONGEST_URL = 1900
# A desktop that does not start its mail program must not hold up anybody. [s]
_PATIENCE_S = 20


class OwnProgramError(WorkshopLogError, OSError):
    """A file that could not be written, or a program that did not start."""

    def __str__(self) -> str:
        return self.args[0]


def draft_bytes(letter: Letter, attachments: Sequence[Attachment], now: datetime) -> bytes:
    """Return the letter as an `.eml` file that a mail program opens as one that is still to be sent."""
    return message_bytes(letter, attachments, f"<{uuid.uuid4().hex}@draft>", now, is_draft=True)


def save_files(folder: Path, attachments: Sequence[Attachment]) -> tuple[Path, ...]:
    """Write the files into a folder under names that are free there, and return them.

    Raises
    ------
    OwnProgramError
        If one cannot be written.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
        return tuple(_save(folder, attachment) for attachment in attachments)
    except OSError as error:
        if isinstance(error, OwnProgramError):
            raise
        raise OwnProgramError(f"Nothing could be written into {folder} ({error.strerror}): free some space, or save "
                              "the PDF from the report page.") from error


def _save(folder: Path, attachment: Attachment) -> Path:
    name = Path(attachment.name)
    for count in range(1, 1000):
        path = folder / (name.name if count == 1 else f"{name.stem} ({count}){name.suffix}")
        try:
            with path.open("xb") as file:
                file.write(attachment.data)
        except FileExistsError:
            continue
        return path
    raise OwnProgramError(f"{folder} has a thousand files of the name {shown(attachment.name)}: tidy it up first.")


def mailto_url(letter: Letter) -> tuple[str, bool]:
    """Return the address that opens the letter in a mail program, and whether the text had room in it.

    Raises
    ------
    AddressError, MessageError
        If the letter cannot be sent as it is.
    """
    check_letter(letter)
    to = ",".join(quote(address_of(one), safe="@") for one in letter.recipients)
    copies = ",".join(address_of(one) for one in letter.copies)
    facts = {"cc": copies, "subject": letter.subject.strip(), "body": plain_text(letter.body).replace("\n", "\r\n")}

    def url(*names: str) -> str:
        told = "&".join(f"{name}={quote(facts[name], safe='')}" for name in names if facts[name])
        return f"mailto:{to}?{told}"

    whole = url("cc", "subject", "body")
    return (whole, True) if len(whole) <= _LONGEST_URL else (url("cc", "subject"), False)


def can_attach() -> bool:
    """Return whether this machine has a command that opens the mail program with files attached."""
    return shutil.which("xdg-email") is not None


def open_with_files(letter: Letter, paths: Sequence[Path]) -> None:
    """Open the letter in the mail program with files attached.

    Raises
    ------
    OwnProgramError
        If it did not open.
    """
    check_letter(letter)
    command = [shutil.which("xdg-email") or "xdg-email", "--utf8", "--subject", letter.subject.strip(), "--body",
               plain_text(letter.body)]
    for one in letter.copies:
        command += ["--cc", address_of(one)]
    for path in paths:
        command += ["--attach", str(path)]
    # As an address of its own kind, so that none of them is taken for an option.
    command += [f"mailto:{quote(address_of(one), safe='@')}" for one in letter.recipients]
    try:
        done = subprocess.run(command, capture_output=True, text=True, check=False, timeout=_PATIENCE_S)
    except (OSError, subprocess.TimeoutExpired) as error:
        raise OwnProgramError("Your mail program did not start: open it yourself, and attach the files from "
                              f"{paths[0].parent if paths else 'where you saved them'}.") from error
    if done.returncode:
        raise OwnProgramError(f"Your mail program did not start ({shown(done.stderr or str(done.returncode))}): open "
                              f"it yourself, and attach the files from {paths[0].parent if paths else 'your folder'}.")
