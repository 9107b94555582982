"""Photos: added from files, by pasting and by dropping; shown as small pictures with their captions."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QBuffer, QIODevice, QMimeData, QSize, Qt, Signal, Slot
from PySide6.QtGui import QDragEnterEvent, QDropEvent, QGuiApplication, QIcon, QImage, QKeySequence, QPixmap
from PySide6.QtWidgets import QFileDialog, QListWidget, QListWidgetItem, QPushButton, QVBoxLayout, QWidget

from workshop_log.desktop import theme
from workshop_log.desktop.desk import now
from workshop_log.desktop.fields import label, tip
from workshop_log.desktop.flow import FlowLayout
from workshop_log.desktop.workers import run_in_background

if TYPE_CHECKING:
    from workshop_log.desktop.desk import Desk
    from workshop_log.exchange.records import Photo

THUMBNAIL = QSize(132, 99)
PICTURES = "Pictures (*.jpg *.jpeg *.png *.webp *.heic *.tif *.tiff *.bmp)"
# A picture larger than this is refused before it is read. [bytes]
LARGEST_FILE = 80_000_000


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
        """Show `photos`; pictures already shown are not read again."""
        key = tuple((p.id, p.caption) for p in photos)
        if key == self._shown:
            return
        self._shown = key
        self.view.clear()
        self.view.setVisible(bool(photos))
        for photo in photos:
            item = QListWidgetItem(self._picture(photo), photo.caption or photo.name or photo.id)
            item.setData(Qt.ItemDataRole.UserRole, photo.id)
            item.setToolTip(tip(photo.caption or photo.name))
            self.view.addItem(item)

    def _picture(self, photo: Photo) -> QIcon:
        done, data = self.desk.attempt(self.desk.book.files.get, photo.sha256)
        image = QImage.fromData(data) if done and data else QImage()
        if image.isNull():
            blank = QPixmap(THUMBNAIL)
            blank.fill(Qt.GlobalColor.lightGray)
            return QIcon(blank)
        return QIcon(QPixmap.fromImage(image.scaled(
            THUMBNAIL * 2, Qt.AspectRatioMode.KeepAspectRatio, Qt.TransformationMode.SmoothTransformation)))

    # --- adding ------------------------------------------------------------------------------------------------------

    @Slot()
    def on_add(self) -> None:
        """Ask for files."""
        with self.desk.resting():
            names, _ = QFileDialog.getOpenFileNames(self, "Add photos", "", PICTURES)
        self.add_files([Path(name) for name in names])

    def add_files(self, paths: list[Path]) -> None:
        """Take in the pictures at `paths`; what cannot be read is said, the others are kept."""
        for path in paths:
            try:
                if path.stat().st_size > LARGEST_FILE:
                    self.desk.problem.emit(
                        f"{path.name} is larger than {LARGEST_FILE // 1_000_000} MB. Make it smaller, "
                        "then add it again."
                    )
                    continue
                data = path.read_bytes()
            except OSError as error:
                self.desk.problem.emit(f"{path.name} could not be read: {error.strerror}.")
                continue
            self._take(data, path.name)

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
        image.save(buffer, "PNG")
        self._take(bytes(buffer.data()), name)
        return True

    def _take(self, data: bytes, name: str) -> None:
        """Turn, strip and scale the picture off the window's thread, then keep it."""
        from workshop_log.jobs.photos import prepare_photo

        if self.desk.job is None:
            return
        self.desk.told.emit(f"Reading {name} …")
        number, step = self.desk.job.number, self.step
        run_in_background(prepare_photo, data, name, parent=self, failed=self.desk.problem.emit,
                          finished=lambda prepared: self._keep(number, prepared, step, name))

    def _keep(self, number: str, prepared: object, step: str | None, name: str) -> None:
        from workshop_log.jobs.photos import keep_photo

        done, job = self.desk.attempt(keep_photo, self.desk.book, number, prepared, now(), step=step, name=name)
        if done:
            self.desk.told.emit("Photo kept.")
            if self.desk.job is not None and self.desk.job.number == number:
                self.desk.show(job)

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
