"""What a colleague would read, before it is given away: what was taken out, what was masked, what is left to choose."""

from __future__ import annotations

import html
import re
from collections.abc import Iterable
from typing import TYPE_CHECKING

from PySide6.QtCore import QSize, Qt, Slot
from PySide6.QtGui import QImage, QPixmap
from PySide6.QtWidgets import (
    QCheckBox,
    QDialog,
    QDialogButtonBox,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from workshop_log.desktop import theme
from workshop_log.desktop.desk import now
from workshop_log.desktop.fields import empty, label
from workshop_log.exchange.opinion import MASKED, QUESTION_ID
from workshop_log.progress import part_of

if TYPE_CHECKING:
    from workshop_log.book.opening import Book
    from workshop_log.desktop.desk import Desk
    from workshop_log.exchange.free_text import Place
    from workshop_log.exchange.records import Job
    from workshop_log.jobs.asking import Asked, Choice
    from workshop_log.progress import Progress

# Large enough to see a plate in it.
PICTURE = QSize(320, 240)
PICTURE_WORDS = ("A plate, a face or a name that is seen in a picture is not found by the program. Look at each "
                 "picture and untick what shows one.")
LEFT_WORDS = ("These names give people or the vehicle away. They stay, because tests refer to them: give them other "
              "names before you send it:")
READ_WORDS = ("Read it before you give it away: a name that is noted nowhere else is not found. Untick what shall not "
              "go, or write the name above.")
# The places of sentences in words.
_PLACES = {
    "words": "", "conditions": "when it shows", "note": "remark", "because": "why it was corrected",
    "finding": "finding", "others_cleared": "what cleared the others", "unproved": "what is unproved",
    "all_the_same": "why all the same", "what_was_done": "what was done", "caption": "caption",
}
_KINDS = {"complaints": "Complaint", "fault_codes": "Fault code", "steps": "Step", "condemned": "Part",
          "photos": "Photo", "notes": "Note", "not_tested": "Not tested"}


class OpinionAskDialog(QDialog):
    """Asks what a colleague may read, and what they are asked."""

    def __init__(self, parent: QWidget | None, desk: Desk) -> None:
        super().__init__(parent)
        self.setWindowTitle("Ask a colleague")
        self.resize(1080, 660)
        self._desk = desk
        # What was written when the copy was last made.
        self._made_of: tuple[str, str] | None = None
        # The job as it is shown here: another bay may go on with it meanwhile.
        self._read: Job | None = None
        self._texts: dict[Place, QCheckBox] = {}
        self._photos: dict[str, QCheckBox] = {}
        self.question = QLineEdit()
        self.question.setAccessibleName("What you ask")
        self.question.setPlaceholderText("Is it the pump, or its ground? What would you test next?")
        self.also = QLineEdit()
        self.also.setAccessibleName("More names to take out")
        self.also.setPlaceholderText("names that are noted nowhere else, with commas between")
        self.state = label("", "problem")
        self.left, self.right = _Column("What was taken out"), _Column("What the colleague will read")
        self.left.setFixedWidth(360)
        self.buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Save | QDialogButtonBox.StandardButton.Cancel)
        self.save = self.buttons.button(QDialogButtonBox.StandardButton.Save)
        self.save.setText("Save the question…")
        self.save.setProperty("part", "main")
        for button in self.buttons.buttons():
            button.setMinimumHeight(theme.TARGET_PX)
        self._lay_out()
        self.buttons.accepted.connect(self.accept)
        self.buttons.rejected.connect(self.reject)
        self.question.editingFinished.connect(self.refresh)
        self.also.editingFinished.connect(self.refresh)
        self.question.setFocus()
        # Nothing is given away that could not be read before.
        self.save.setEnabled(False)
        self.refresh()

    def _lay_out(self) -> None:
        column = QVBoxLayout(self)
        column.setContentsMargins(18, 14, 18, 14)
        column.setSpacing(6)
        for title, field in (("What you ask", self.question), ("More names to take out", self.also)):
            caption = label(title, "faint")
            caption.setBuddy(field)
            column.addWidget(caption)
            column.addWidget(field)
        row = QHBoxLayout()
        row.setSpacing(18)
        row.addWidget(self.left)
        row.addWidget(self.right, 1)
        column.addSpacing(6)
        column.addLayout(row, 1)
        foot = QHBoxLayout()
        foot.addWidget(self.state, 1)
        foot.addWidget(self.buttons)
        column.addLayout(foot)

    @classmethod
    def ask(cls, parent: QWidget, desk: Desk) -> Choice | None:
        """Return what was chosen, or None."""
        dialog = cls(parent, desk)
        accepted = dialog.exec() == QDialog.DialogCode.Accepted
        choice = dialog.choice()
        dialog.deleteLater()
        return choice if accepted else None

    def choice(self) -> Choice:
        """Return what is chosen now."""
        from workshop_log.jobs.asking import Choice

        return Choice(self.question.text().strip(),
                      tuple(name.strip() for name in self.also.text().split(",") if name.strip()),
                      frozenset(place for place, tick in self._texts.items() if not tick.isChecked()),
                      frozenset(id_ for id_, tick in self._photos.items() if not tick.isChecked()),
                      self._read)

    # --- the copy ----------------------------------------------------------------------------------------------------

    @Slot()
    def refresh(self) -> None:
        """Make the copy, beside the window, if what is written asks for another one."""
        written = (self.question.text(), self.also.text())
        if written == self._made_of:
            return
        self._made_of = written
        self.state.setText("Making the copy…")
        self._piece = self._desk.work.begin(
            "Making the copy", _prepared, self._desk.book, self._desk.job.number, self.choice(),
            finished=lambda made: self._show(written, *made), failed=self._could_not, cancelled=lambda: None,
            whose=self)

    def done(self, result: int) -> None:
        """Close; a copy that is still being made is not waited for."""
        self._piece.cancel()
        super().done(result)

    def _could_not(self, words: str) -> None:
        if not self._piece.is_cancelled:
            self.state.setText(words)

    def _show(self, written: tuple[str, str], asked: Asked, pictures: dict[str, QImage]) -> None:
        # Something else was written meanwhile, and that copy is on its way; or nobody waits any more.
        if self._piece.is_cancelled or written != self._made_of:
            return
        chosen = self.choice()
        self._read = asked.job
        self.state.setText("")
        self.save.setEnabled(True)
        self._show_taken_out(asked, pictures, chosen.photos_left_out)
        self._show_texts(asked.whole, chosen.left_out)

    def _show_taken_out(self, asked: Asked, pictures: dict[str, QImage], left_out: frozenset[str]) -> None:
        self.left.clear()
        self.left.add(label("Taken out", "section"))
        for line in asked.taken_out.lines():
            self.left.add(label(line))
        if asked.taken_out.left:
            self.left.add(label(f"{LEFT_WORDS} {', '.join(f'“{name}”' for name in asked.taken_out.left)}", "caution"))
        self._photos = {}
        if asked.whole.photos:
            self.left.add(label("Photos that go along", "section"))
            self.left.add(label(PICTURE_WORDS, "caution"))
        for photo in asked.whole.photos:
            tick = QCheckBox(f"Photo {photo.id}")
            tick.setAccessibleName(f"Photo {photo.id} goes along")
            tick.setChecked(photo.id not in left_out)
            self._photos[photo.id] = tick
            self.left.add(tick)
            picture = QPixmap.fromImage(pictures.get(photo.id, QImage()))
            picture.setDevicePixelRatio(2)
            shown = QLabel()
            shown.setPixmap(picture)
            self.left.add(shown)
        self.left.end()

    def _show_texts(self, copy: Job, left_out: frozenset[str]) -> None:
        from workshop_log.exchange.free_text import free_texts, labels_of

        self.right.clear()
        self.right.add(label("What the colleague will read", "section"))
        self.right.add(label(READ_WORDS, "hint"))
        self._texts = {}
        for text in sorted(free_texts(copy), key=lambda text: text.place.item != QUESTION_ID):
            if text.place.item == QUESTION_ID:
                self.right.add(label("Your question", "strong"))
                self.right.add(_masked(text.words), indent=26)
                continue
            where = place_words(copy, text.place)
            tick = QCheckBox(where)
            tick.setAccessibleName(f"{where} goes along")
            tick.setChecked(text.place not in left_out)
            self._texts[text.place] = tick
            self.right.add(tick)
            self.right.add(_masked(text.words), indent=26)
        names = labels_of(copy)
        if names:
            self.right.add(label("Names of parts, points and conditions", "strong"))
            self.right.add(_masked("  ·  ".join(names)), indent=26)
        self.right.end()


class _Column(QScrollArea):
    """Widgets under each other that scroll."""

    def __init__(self, name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(name)
        self.setWidgetResizable(True)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        inside = QWidget()
        self._column = QVBoxLayout(inside)
        self._column.setContentsMargins(0, 0, 10, 0)
        self._column.setSpacing(5)
        self.setWidget(inside)

    def clear(self) -> None:
        """Take everything out."""
        empty(self._column)

    def add(self, widget: QWidget, indent: int = 0) -> None:
        """Put a widget at the end."""
        if isinstance(widget, QLabel) and indent:
            widget.setContentsMargins(indent, 0, 0, 4)
        self._column.addWidget(widget)

    def end(self) -> None:
        """Leave the rest of the height free."""
        rest = QWidget()
        self._column.addWidget(rest, 1)


def place_words(copy: Job, place: Place) -> str:
    """Return where a sentence stands, as a person says it: "Step s3, remark"."""
    if place.kind == "not_tested":
        return _KINDS[place.kind]
    items = getattr(copy, place.kind)
    item = items[int(place.item)] if place.kind == "fault_codes" else next(i for i in items if i.id == place.item)
    if place.kind == "notes":
        named = f"from {item.who}" if item.who else ""
    else:
        named = item.code if place.kind == "fault_codes" else item.part if place.kind == "condemned" else item.id
    return ", ".join(word for word in (f"{_KINDS[place.kind]} {named}".rstrip(), _PLACES[place.field]) if word)


def _masked(words: str) -> QLabel:
    """Return the words with what was masked in them set off, by weight and by its brackets as well as by colour."""
    shown = QLabel(_marked(words, MASKED.finditer(words)))
    shown.setTextFormat(Qt.TextFormat.RichText)
    shown.setWordWrap(True)
    return shown


def _marked(words: str, found: Iterable[re.Match[str]]) -> str:
    colours = theme.current()
    parts, end = [], 0
    for match in found:
        parts += [html.escape(words[end:match.start()]),
                  f'<span style="background:{colours.picked};color:{colours.accent};font-weight:600">',
                  html.escape(match[0]), "</span>"]
        end = match.end()
    return "".join((*parts, html.escape(words[end:]))).replace("\n", "<br>")


def _prepared(book: Book, number: str, choice: Choice, progress: Progress) -> tuple[Asked, dict[str, QImage]]:
    """Return the copy and its pictures made small."""
    from workshop_log.jobs.asking import ask

    asked = ask(book, number, now(), choice, part_of(progress, 0, 2, 3))
    pictures = {}
    for done, photo in enumerate(asked.whole.photos):
        part_of(progress, 2, 3, 3)(done, len(asked.whole.photos))
        image = QImage.fromData(photo.data)
        pictures[photo.id] = image.scaled(PICTURE * 2, Qt.AspectRatioMode.KeepAspectRatio,
                                          Qt.TransformationMode.SmoothTransformation)
    return asked, pictures
