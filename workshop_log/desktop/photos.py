"""Photos: added from files, by pasting and by dropping; shown as small pictures with their captions."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from PySide6.QtCore import QBuffer, QIODevice, QMimeData, QSize, Qt, Signal, Slot
from PySide6.QtGui import QDragEnterEvent, QDropEvent, QGuiApplication, QIcon, QImage, QKeySequence, QPixmap
from PySide6.QtWidgets import QFileDialog, QListWidget, QListWidgetItem, QPushButton, QVBoxLayout, QWidget

from workshop_log.desktop import theme
from workshop_log.desktop.desk import now
from workshop_log.desktop.fields import label, tip
from workshop_log.desktop.flow import FlowLayout
from workshop_log.desktop.workers import run_in_background
from workshop_log.errors import WorkshopLogError

if TYPE_CHECKING:
    from datetime import datetime

    from workshop_log.book.opening import Book
    from workshop_log.desktop.desk import Desk
    from workshop_log.exchange.records import Photo
    from workshop_log.progress import Progress

THUMBNAIL = QSize(132, 99)
PICTURES = "Pictures (*.jpg *.jpeg *.png *.webp *.heic *.tif *.tiff *.bmp)"
# A picture larger than this is refused before it is read. [bytes]
LARGEST_FILE = 80_000_000
# As many files that could not be taken in are named.
_MOST_PROBLEMS = 6


# Which picture an item of the list shows.
_FINGERPRINT = Qt.ItemDataRole.UserRole + 1


class _Source(NamedTuple):
    """Where a picture comes from: a file, or its bytes."""

    name: str
    path: Path | None
    data: bytes = b""

    def read(self) -> bytes:
        """Return the picture's bytes; a file that is too large is not even read."""
        if self.path is None:
            return self.data
        try:
            if self.path.stat().st_size > LARGEST_FILE:
                raise PhotoFileError(f"{self.name} is larger than {LARGEST_FILE // 1_000_000} MB. Make it smaller, "
                                     "then add it again.")
            return self.path.read_bytes()
        except OSError as error:
            raise PhotoFileError(f"{self.name} could not be read: {error.strerror}.") from error


class PhotoFileError(WorkshopLogError):
    """A file that could not be read."""


class _Taken(NamedTuple):
    """What came of taking in some pictures: how many were kept, and what was wrong with the others."""

    count: int
    problems: tuple[str, ...]


def _take_in(book: Book, number: str, sources: tuple[_Source, ...], step: str | None, moment: datetime,
             progress: Progress) -> _Taken:
    """Keep pictures with a job, each in its turn."""
    from workshop_log.jobs.photos import keep_photo, prepare_photo

    count, problems = 0, []
    for done, source in enumerate(sources):
        progress(done, len(sources))
        try:
            keep_photo(book, number, prepare_photo(source.read(), source.name), moment, step=step, name=source.name)
            count += 1
        except WorkshopLogError as error:
            problems.append(str(error))
    return _Taken(count, tuple(problems))


def _small(book: Book, sha256: str) -> bytes:
    """Return a picture as the list shows it; empty where the book no longer has it."""
    from workshop_log.jobs.photos import small_picture

    if not book.files.has(sha256):
        return b""
    return small_picture(book.files.get(sha256), 2 * THUMBNAIL.width(), 2 * THUMBNAIL.height())


def _blank() -> QIcon:
    """Return what stands in the place of a picture until it is there."""
    blank = QPixmap(THUMBNAIL)
    blank.fill(Qt.GlobalColor.lightGray)
    return QIcon(blank)


class PhotoShelf(QWidget):
    """The photos of a job, or of one step.

    Signals
    -------
    photo_opened : str
        The id of a photo that was double-clicked.
    """

    photo_opened = Signal(str)

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.desk = desk
        # The step that new photos belong to, if any.
        self.step: str | None = None
        self._shown: tuple[tuple[str, str], ...] | None = None
        # Small pictures by their fingerprint.
        self._pictures: dict[str, QIcon] = {}
        # Fingerprints of those that are still to be read.
        self._awaited: list[str] = []
        self._is_reading = False
        self.setAcceptDrops(True)
        self.view = QListWidget()
        self.view.setViewMode(QListWidget.ViewMode.IconMode)
        self.view.setResizeMode(QListWidget.ResizeMode.Adjust)
        self.view.setMovement(QListWidget.Movement.Static)
        self.view.setIconSize(THUMBNAIL)
        self.view.setGridSize(QSize(THUMBNAIL.width() + 16, THUMBNAIL.height() + 46))
        self.view.setWordWrap(True)
        self.view.setAccessibleName("Photos")
        self.view.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.view.setAcceptDrops(False)
        self.view.setFixedHeight(THUMBNAIL.height() + 56)
        self.hint = label(
            "Drop pictures here, paste one, or add files. The place where they were taken is removed.", "faint")
        self.add = QPushButton("Add photos…")
        self.paste = QPushButton("Paste")
        self.caption = QPushButton("Caption…")
        self.caption.setEnabled(False)
        buttons = QWidget()
        row = FlowLayout(buttons)
        for button in (self.add, self.paste, self.caption):
            button.setMinimumHeight(theme.TARGET_PX)
            row.addWidget(button)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self.hint)
        column.addWidget(self.view)
        column.addWidget(buttons)
        self.view.hide()
        self.add.clicked.connect(self.on_add)
        self.paste.clicked.connect(self.on_paste)
        self.caption.clicked.connect(self.on_caption)
        self.view.itemSelectionChanged.connect(self.on_selection)
        self.view.itemActivated.connect(self.on_activated)

    def show_photos(self, photos: tuple[Photo, ...]) -> None:
        """Show `photos`; their pictures follow when they are read, those shown before at once."""
        key = tuple((p.id, p.caption) for p in photos)
        if key == self._shown:
            return
        self._shown = key
        self.view.clear()
        self.view.setVisible(bool(photos))
        for photo in photos:
            words = photo.caption or photo.name or photo.id
            item = QListWidgetItem(self._pictures.get(photo.sha256) or _blank(), words)
            item.setData(Qt.ItemDataRole.UserRole, photo.id)
            item.setData(_FINGERPRINT, photo.sha256)
            item.setToolTip(tip(photo.caption or photo.name))
            self.view.addItem(item)
        self._awaited = [photo.sha256 for photo in photos if photo.sha256 not in self._pictures]
        if not self._is_reading:
            self._read_next()

    def _read_next(self) -> None:
        """Read one picture after the other: what the person does meanwhile comes first."""
        self._is_reading = bool(self._awaited)
        if not self._awaited:
            return
        sha256 = self._awaited[0]

        def read(data: bytes) -> None:
            self._show_picture(sha256, data)
            self._awaited = [other for other in self._awaited if other != sha256]
            self._read_next()

        def could_not(words: str) -> None:
            self.desk.problem.emit(words)
            read(b"")

        run_in_background(_small, self.desk.book, sha256, parent=self, finished=read, failed=could_not)

    def _show_picture(self, sha256: str, data: bytes) -> None:
        picture = QPixmap()
        self._pictures[sha256] = QIcon(picture) if data and picture.loadFromData(data) else _blank()
        for row in range(self.view.count()):
            if self.view.item(row).data(_FINGERPRINT) == sha256:
                self.view.item(row).setIcon(self._pictures[sha256])

    # --- adding ------------------------------------------------------------------------------------------------------

    @Slot()
    def on_add(self) -> None:
        """Ask for files."""
        with self.desk.resting():
            names, _ = QFileDialog.getOpenFileNames(self, "Add photos", "", PICTURES)
        self.add_files([Path(name) for name in names])

    def add_files(self, paths: list[Path]) -> None:
        """Take in the pictures at `paths`; what cannot be read is said, the others are kept."""
        self._take([_Source(path.name, path) for path in paths])

    @Slot()
    def on_paste(self) -> None:
        """Take the picture, or the picture files, from the clipboard."""
        content = QGuiApplication.clipboard().mimeData()
        if not self._take_content(content, "pasted.png"):
            self.desk.problem.emit("There is no picture in the clipboard. Copy one, then paste it.")

    def _take_content(self, content: QMimeData, name: str) -> bool:
        """Take the files, or else the picture itself, that come from another program; return whether there were any."""
        paths = [Path(url.toLocalFile()) for url in content.urls() if url.isLocalFile()]
        if paths:
            # The file itself rather than the small picture that some programs send along with it.
            self.add_files(paths)
            return True
        image = QImage(content.imageData()) if content.hasImage() else QImage()
        if image.isNull():
            return False
        buffer = QBuffer()
        buffer.open(QIODevice.OpenModeFlag.WriteOnly)
        # Not compressed: it is read again at once, and the window waits for this.
        image.save(buffer, "PNG", 100)
        self._take([_Source(name, None, bytes(buffer.data()))])
        return True

    def _take(self, sources: list[_Source]) -> None:
        """Turn, strip, scale and keep the pictures, beside the window."""
        if self.desk.job is None or not sources:
            return
        number, step = self.desk.job.number, self.step

        def taken(outcome: _Taken) -> None:
            if outcome.problems:
                more = len(outcome.problems) - _MOST_PROBLEMS
                self.desk.problem.emit("\n".join((*outcome.problems[:_MOST_PROBLEMS],
                                                  *([f"And {more} more could not be taken in."] if more > 0 else []))))
            if outcome.count:
                self.desk.told.emit("Photo kept." if outcome.count == 1 else f"{outcome.count} photos kept.")
            if outcome.count:
                self.desk.look_again(number)

        def ended() -> None:
            self.desk.told.emit("Taking in photos: ended; those that were taken in stay.")
            self.desk.look_again(number)

        self.desk.work.begin("Taking in photos", _take_in, self.desk.book, number, tuple(sources), step, now(),
                             finished=taken, cancelled=ended)

    @Slot()
    def on_caption(self) -> None:
        """Write under the chosen photo."""
        from PySide6.QtWidgets import QInputDialog

        item = self.view.currentItem()
        if item is None:
            return
        from workshop_log.jobs.photos import standing_photos

        photo = next(p for p in standing_photos(self.desk.job) if p.id == item.data(Qt.ItemDataRole.UserRole))
        words, wanted = QInputDialog.getText(self, "Caption", "What the photo shows:", text=photo.caption)
        if wanted:
            from workshop_log.jobs.photos import caption_photo

            self.desk.do(caption_photo, photo.id, words, now())

    @Slot()
    def on_selection(self) -> None:
        self.caption.setEnabled(bool(self.view.selectedItems()))

    @Slot(QListWidgetItem)
    def on_activated(self, item: QListWidgetItem) -> None:
        self.photo_opened.emit(item.data(Qt.ItemDataRole.UserRole))

    def keyPressEvent(self, event: object) -> None:
        """Paste with Ctrl+V."""
        if event.matches(QKeySequence.StandardKey.Paste):
            self.on_paste()
            return
        super().keyPressEvent(event)

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        if event.mimeData().hasUrls() or event.mimeData().hasImage():
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:
        if not self._take_content(event.mimeData(), "dropped.png"):
            self.desk.problem.emit("No picture came with that. Save it as a file, then add the file.")
        event.acceptProposedAction()
