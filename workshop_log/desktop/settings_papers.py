"""How the workshop's papers look: logo, colours, terms, closing line; shown as they will print while they change."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from msgspec.structs import replace
from PySide6.QtCore import QBuffer, QByteArray, QIODevice, QSize, Qt, QTimer, Slot
from PySide6.QtGui import QColor, QIcon, QImage, QPainter, QPixmap, QResizeEvent
from PySide6.QtWidgets import QColorDialog, QFileDialog, QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from workshop_log.desktop import theme
from workshop_log.desktop.fields import Form, LineField, QuietBox, TextField
from workshop_log.desktop.photos import LARGEST_FILE, PICTURES
from workshop_log.desktop.workers import run_in_background
from workshop_log.errors import WorkshopLogError

if TYPE_CHECKING:
    from workshop_log.desktop.settings_dialog import SettingsDialog
    from workshop_log.exchange.records import Workshop
    from workshop_log.exchange.stationery import Stationery

# Text on white paper is read from this contrast on (WCAG 2.2, success criterion 1.4.3).
LEAST_CONTRAST = 4.5
_PAPER_WHITE = "#FFFFFF"
_REDRAW_PAUSE_MS = 200
_COLOUR = re.compile(r"#?([0-9A-Fa-f]{6})")
_COLOURS = {"accent": "Colour of &headings", "ink": "Colour of the te&xt"}
_SHOWN = (("report", "Report"), ("estimate", "Estimate"), ("invoice", "Invoice summary"), ("label", "Label of a part"))
_SWATCH = QSize(22, 22)


class _Wanted(NamedTuple):
    """What the preview shows."""

    kind: str
    workshop: Workshop
    stationery: Stationery
    logo: bytes


def _example(wanted: _Wanted) -> bytes:
    """Return a paper of the example job, drawn beside the window."""
    from workshop_log.paper.example import ISSUED, example_job

    job = example_job(wanted.workshop)
    if wanted.kind == "report":
        from workshop_log.jobs.evaluation import evaluate
        from workshop_log.paper.look import look_of
        from workshop_log.paper.report import make_report
        from workshop_log.paper.report_input import report_input

        return make_report(report_input(job, evaluate(job), {}, reader="customer", issued=ISSUED,
                                        look=look_of(wanted.stationery, wanted.logo)))
    from workshop_log.paper.papers import make_paper, paper_input

    sheet = "label" if wanted.kind == "label" else "A4"
    return make_paper(wanted.kind, paper_input(wanted.kind, job, {}, ISSUED, paper=sheet,
                                               stationery=wanted.stationery, logo=wanted.logo))


class PapersPage(QWidget):
    """What makes the papers the workshop's own, beside a page that shows it."""

    def __init__(self, dialog: SettingsDialog) -> None:
        super().__init__()
        self.dialog = dialog
        self.logo_shown = QLabel("No logo yet")
        self.logo_shown.setAccessibleName("The logo")
        self.logo_shown.setFixedHeight(52)
        self.choose, self.remove = QPushButton("Choose a &logo…"), QPushButton("&No logo")
        logo = QHBoxLayout()
        logo.addWidget(self.logo_shown, 1)
        logo.addWidget(self.choose)
        logo.addWidget(self.remove)
        form = self.form = Form()
        self.pick: dict[str, QPushButton] = {}
        for name, title in _COLOURS.items():
            form.add_field(title, LineField(name), "as #0B5D5E, or chosen from all colours")
            button = self.pick[name] = QPushButton("Choose…")
            button.setAccessibleName(f"Choose the {title.replace('&', '').lower()}")
            button.setIconSize(_SWATCH)
            button.clicked.connect(lambda _checked=False, name=name: self.on_pick(name))
            form.grid.addWidget(button, form.grid.rowCount() - 2, 1)
        form.add_field("&Terms, below an estimate and an invoice summary", TextField("terms", lines=3), span=2)
        form.add_field("Last line of a &report's first page", LineField("closing"), span=2)
        form.add_field("Removed parts are &kept for, days", LineField("keep_days"))
        form.edited.connect(self.on_edited)
        self.shown = QuietBox()
        self.shown.setAccessibleName("Paper in the preview")
        for kind, words in _SHOWN:
            self.shown.addItem(words, kind)
        self.preview = _Preview()
        left, right, row = QVBoxLayout(), QVBoxLayout(), QHBoxLayout(self)
        left.addLayout(logo)
        left.addSpacing(6)
        left.addWidget(form)
        left.addStretch(1)
        right.addWidget(self.shown)
        right.addWidget(self.preview, 1)
        row.setSpacing(18)
        row.addLayout(left, 1)
        row.addLayout(right, 1)
        self._logo = b""
        self._wanted: _Wanted | None = None
        self._pause = QTimer(self)
        self._pause.setSingleShot(True)
        self._pause.setInterval(_REDRAW_PAUSE_MS)
        self._pause.timeout.connect(self.redraw)
        self.choose.clicked.connect(self.on_choose)
        self.remove.clicked.connect(self.on_remove)
        self.shown.activated.connect(self.redraw)
        self._read_logo()
        self.show_values()

    @property
    def stationery(self) -> Stationery:
        """What is set."""
        return self.dialog.desk.settings.stationery

    def show_values(self) -> None:
        """Show what is set, and a page that looks so."""
        for name, field in self.form.fields.items():
            field.show_value(str(getattr(self.stationery, name)))
        for name, button in self.pick.items():
            swatch = QImage(_SWATCH, QImage.Format.Format_RGB32)
            swatch.fill(QColor(getattr(self.stationery, name)))
            _paint(swatch)
            button.setIcon(QIcon(QPixmap.fromImage(swatch)))
        picture = QImage.fromData(self._logo)
        if picture.isNull():
            self.logo_shown.setText("No logo yet")
        else:
            height = self.logo_shown.height()
            small = picture.scaled(4 * height, height, Qt.AspectRatioMode.KeepAspectRatio,
                                   Qt.TransformationMode.SmoothTransformation)
            # As on paper, in a dark window too.
            shown = QImage(small.size(), QImage.Format.Format_RGB32)
            shown.fill(Qt.GlobalColor.white)
            _paint(shown, small)
            self.logo_shown.setPixmap(QPixmap.fromImage(shown))
        self.remove.setEnabled(bool(self.stationery.logo))
        self._pause.start()

    # --- the preview -------------------------------------------------------------------------------------------------

    @Slot()
    def redraw(self) -> None:
        """Draw the page that shows how it looks."""
        settings = self.dialog.desk.settings
        wanted = self._wanted = _Wanted(self.shown.currentData(), settings.workshop, settings.stationery, self._logo)
        run_in_background(_example, wanted, parent=self, failed=self.dialog.say,
                          finished=lambda pdf: self.preview.show_page(pdf) if wanted is self._wanted else None)

    # --- what the person does ----------------------------------------------------------------------------------------

    @Slot(str, str)
    def on_edited(self, name: str, text: str) -> None:
        """Keep one value, or say what is wrong with it."""
        try:
            value = _read(name, text)
        except WorkshopLogError as error:
            self.form.show_note(name, str(error), problem=True)
            return
        self.form.show_note(name, "", problem=False)
        self._keep(**{name: value})

    def on_pick(self, name: str) -> None:
        """Choose a colour from all."""
        colour = QColorDialog.getColor(QColor(getattr(self.stationery, name)), self, _COLOURS[name].replace("&", ""))
        if colour.isValid():
            self.form.fields[name].show_value(colour.name())
            self.on_edited(name, colour.name())

    @Slot()
    def on_choose(self) -> None:
        """Take a picture as the logo."""
        with self.dialog.desk.resting():
            name, _ = QFileDialog.getOpenFileName(self, "Choose a logo", "", PICTURES)
        if name:
            self.take_logo(Path(name))

    def take_logo(self, path: Path) -> None:
        """Take the picture at `path` as the logo: made ready beside the window, then kept in the book."""
        run_in_background(_logo_at, path, self.dialog.desk.book, parent=self, failed=self.dialog.say,
                          finished=self._take_logo)

    def _take_logo(self, taken: tuple[str, bytes]) -> None:
        sha256, self._logo = taken
        self.dialog.say("")
        self._keep(logo=sha256)

    @Slot()
    def on_remove(self) -> None:
        """Go on without a logo."""
        self._logo = b""
        self._keep(logo="")

    def _read_logo(self) -> None:
        from workshop_log.jobs.handing import logo_of

        done, data = self.dialog.desk.attempt(logo_of, self.dialog.desk.book, self.stationery)
        self._logo = data if done else b""

    def _keep(self, **values: object) -> None:
        if self.dialog.save("stationery", replace(self.stationery, **values)):
            self.show_values()


class _Preview(QLabel):
    """The first page of a paper, as large as the room allows."""

    def __init__(self) -> None:
        super().__init__()
        self.setAccessibleName("How a paper looks")
        self.setAlignment(Qt.AlignmentFlag.AlignTop | Qt.AlignmentFlag.AlignHCenter)
        self.setMinimumSize(300, 400)
        self._document: object = None
        self._buffer = QBuffer(self)

    def show_page(self, pdf: bytes) -> None:
        """Show the first page of this paper."""
        from PySide6.QtPdf import QPdfDocument

        if self._document is None:
            self._document = QPdfDocument(self)
        self._document.close()
        self._buffer.close()
        self._buffer.setData(QByteArray(pdf))
        self._buffer.open(QIODevice.OpenModeFlag.ReadOnly)
        self._document.load(self._buffer)
        self._draw()

    def _draw(self) -> None:
        if self._document is None or not self._document.pageCount():
            return
        points = self._document.pagePointSize(0)
        room = self.size() - QSize(4, 4)
        scale = min(room.width() / points.width(), room.height() / points.height())
        ratio = self.devicePixelRatioF()
        size = QSize(int(points.width() * scale * ratio), int(points.height() * scale * ratio))
        page = QImage(size, QImage.Format.Format_RGB32)
        page.fill(Qt.GlobalColor.white)
        _paint(page, self._document.render(0, size))
        page.setDevicePixelRatio(ratio)
        self.setPixmap(QPixmap.fromImage(page))

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Draw the page as large as the room is now."""
        super().resizeEvent(event)
        self._draw()


def _paint(page: QImage, drawn: QImage | None = None) -> None:
    """Put what was drawn on the page, and a hairline around it: on a window of its own colour it has no edge."""
    painter = QPainter(page)
    if drawn is not None:
        painter.drawImage(0, 0, drawn)
    painter.setPen(QColor("#B9BDC4"))
    painter.drawRect(page.rect().adjusted(0, 0, -1, -1))
    painter.end()


def _read(name: str, text: str) -> object:
    """Return what was typed as the value of a setting."""
    if name in _COLOURS:
        return _read_colour(text)
    if name == "keep_days":
        if not (text.strip().isascii() and text.strip().isdigit() and int(text) <= 3650):
            raise WorkshopLogError(f"Days are a whole number up to 3650; “{text.strip()}” is not.")
        return int(text)
    return text.strip()


def _read_colour(text: str) -> str:
    found = _COLOUR.fullmatch(text.strip())
    if found is None:
        raise WorkshopLogError(f"A colour is six digits and letters as #0B5D5E; “{text.strip()}” is not.")
    colour = f"#{found[1].upper()}"
    contrast = theme.contrast(colour, _PAPER_WHITE)
    if contrast < LEAST_CONTRAST:
        raise WorkshopLogError(f"{colour} is too pale to be read on white paper: its contrast is {contrast:.1f}, and "
                               f"{LEAST_CONTRAST} is the least. Choose a darker one.")
    return colour


def _logo_at(path: Path, book: object) -> tuple[str, bytes]:
    """Return the fingerprint and the bytes of a logo, kept in the book's store."""
    from workshop_log.jobs.photos import prepare_photo

    try:
        if path.stat().st_size > LARGEST_FILE:
            raise WorkshopLogError(f"{path.name} is larger than {LARGEST_FILE // 1_000_000} MB. Make it smaller first.")
        data = path.read_bytes()
    except OSError as error:
        raise WorkshopLogError(f"{path.name} could not be read: {error.strerror}.") from error
    # Anything hidden in it is left out, as with a photo.
    prepared = prepare_photo(data, path.name)
    return book.files.put(prepared.data), prepared.data
