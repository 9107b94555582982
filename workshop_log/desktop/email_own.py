"""A message saved as a file, or handed to the person's own mail program; each says what came of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QIODevice, QSaveFile, QUrl
from PySide6.QtGui import QDesktopServices
from PySide6.QtWidgets import QApplication

if TYPE_CHECKING:
    from pathlib import Path

    from workshop_log.exchange.letter import Letter

_HAS_IT = "Your mail program has the message: send it from there."


def file_name(subject: str) -> str:
    """Return a subject as a name that every system takes for a file."""
    kept = "".join(c if c.isalnum() or c in " -_.," else " " for c in subject)
    return " ".join(kept.split())[:80] or "Message"


def save_message(name: str, data: bytes) -> tuple[bool, str]:
    """Save a message, whole or not at all; return whether it is there, and a sentence."""
    path = name if name.lower().endswith(".eml") else f"{name}.eml"
    file = QSaveFile(path)
    if file.open(QIODevice.OpenModeFlag.WriteOnly) and file.write(data) == len(data) and file.commit():
        return True, f"Saved as {path}. Open it with your mail program and send it from there."
    return False, f"The message could not be saved as {path}: {file.errorString()}. Choose another place."


def hand_over(letter: Letter, paths: tuple[Path, ...], is_attached: bool) -> tuple[bool, str]:
    """Open the letter in the mail program unless it is open there already; return whether it is, and what to do."""
    if is_attached:
        where = f" If the files are not attached, take them from {paths[0].parent}." if paths else ""
        return True, _HAS_IT + where
    from workshop_log.delivery.own_program import mailto_url

    url, has_text = mailto_url(letter)
    is_open = QDesktopServices.openUrl(QUrl(url, QUrl.ParsingMode.StrictMode))
    said = [_HAS_IT if is_open else "No mail program answered on this machine: save the message as a file instead."]
    if paths:
        QDesktopServices.openUrl(QUrl.fromLocalFile(str(paths[0].parent)))
        names = ", ".join(path.name for path in paths)
        said.append(f"It cannot be given files this way: attach {names} from {paths[0].parent}.")
    if not has_text:
        QApplication.clipboard().setText(letter.body)
        said.append("The text is too long to hand over: paste it, it is copied already.")
    return is_open, " ".join(said)
