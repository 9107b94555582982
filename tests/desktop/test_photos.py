"""The shelf of photos: added by file, by pasting and by dropping; what cannot be read is said."""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from desktop.looking import sample, settle, work_done
from PySide6.QtCore import QMimeData, QPoint, QPointF, Qt, QUrl
from PySide6.QtGui import QDragEnterEvent, QDropEvent, QGuiApplication, QImage, QKeySequence
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QInputDialog

from workshop_log.desktop import photos
from workshop_log.desktop.desk import Desk, now
from workshop_log.desktop.photos import PhotoShelf


@pytest.fixture
def shelf(desk: Desk, qtbot: object) -> PhotoShelf:
    """Show the photos of a new job, as a page does."""
    from workshop_log.jobs.photos import standing_photos

    assert desk.take_in()
    made = PhotoShelf(desk)
    desk.job_shown.connect(lambda job: made.show_photos(standing_photos(job)))
    qtbot.addWidget(made)
    made.show()
    yield made
    work_done()


@pytest.fixture
def picture() -> bytes:
    """Return a JPEG with a position in it."""
    from PIL import Image

    exif = Image.Exif()
    exif.get_ifd(0x8825).update({1: "N", 2: (51.0, 30.0, 0.0)})
    out = io.BytesIO()
    Image.linear_gradient("L").convert("RGB").save(out, "JPEG", exif=exif)
    return out.getvalue()


@pytest.fixture
def file(picture: bytes, tmp_path: Path) -> Path:
    path = tmp_path / "strap é.jpg"
    path.write_bytes(picture)
    return path


def test_a_file_is_kept_and_shown_without_its_position(shelf: PhotoShelf, desk: Desk, problems: list[str], file: Path):
    """The picture is in the record, and where it was taken is not."""
    assert not shelf.view.isVisible()
    shelf.add_files([file])
    work_done()
    photo, = desk.job.photos
    assert (problems, photo.name) == ([], file.name)
    assert (shelf.view.count(), shelf.view.isVisible()) == (1, True)
    from PIL import Image

    with Image.open(io.BytesIO(desk.book.files.get(photo.sha256))) as kept:
        assert not kept.getexif()


def test_several_files_are_all_kept(shelf: PhotoShelf, desk: Desk, tmp_path: Path, problems: list[str]):
    """Each gets an id of its own, even when they are read side by side."""
    from PIL import Image

    paths = []
    for number in range(5):
        path = tmp_path / f"{number}.png"
        Image.new("RGB", (40, 30), (number * 40, 10, 10)).save(path)
        paths.append(path)
    shelf.add_files(paths)
    work_done()
    assert problems == []
    assert len({photo.id for photo in desk.job.photos}) == shelf.view.count() == 5


def test_a_picture_is_pasted(shelf: PhotoShelf, desk: Desk, problems: list[str]):
    """With the button and with the key."""
    image = QImage(30, 20, QImage.Format.Format_RGB32)
    image.fill(Qt.GlobalColor.darkGreen)
    QGuiApplication.clipboard().setImage(image)
    shelf.paste.click()
    work_done()
    assert [photo.name for photo in desk.job.photos] == ["pasted.png"]
    image.fill(Qt.GlobalColor.darkRed)
    QGuiApplication.clipboard().setImage(image)
    QTest.keySequence(shelf, QKeySequence(QKeySequence.StandardKey.Paste))
    work_done()
    assert len(desk.job.photos) == 2
    assert problems == []


def test_copied_files_are_pasted(shelf: PhotoShelf, desk: Desk, file: Path):
    """As they come from the system's file window."""
    content = QMimeData()
    content.setUrls([QUrl.fromLocalFile(str(file))])
    QGuiApplication.clipboard().setMimeData(content)
    shelf.paste.click()
    work_done()
    assert [photo.name for photo in desk.job.photos] == [file.name]


def test_a_clipboard_without_a_picture_is_one_sentence(shelf: PhotoShelf, desk: Desk, problems: list[str]):
    """Words are no picture."""
    QGuiApplication.clipboard().setText("words")
    shelf.paste.click()
    work_done()
    assert desk.job.photos == ()
    assert problems == ["There is no picture in the clipboard. Copy one, then paste it."]


def drop(shelf: PhotoShelf, content: QMimeData) -> bool:
    """Drop as the system does: nothing is dropped where the entering was not accepted."""
    action, button, key = Qt.DropAction.CopyAction, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
    enter = QDragEnterEvent(QPoint(5, 5), action, content, button, key)
    enter.ignore()
    QApplication.sendEvent(shelf, enter)
    if not enter.isAccepted():
        return False
    QApplication.sendEvent(shelf, QDropEvent(QPointF(5, 5), action, content, button, key))
    work_done()
    return True


def test_files_are_dropped(shelf: PhotoShelf, desk: Desk, file: Path):
    """From a file window."""
    content = QMimeData()
    content.setUrls([QUrl.fromLocalFile(str(file)), QUrl("https://example.org/other.jpg")])
    assert drop(shelf, content)
    assert [photo.name for photo in desk.job.photos] == [file.name]


def test_a_picture_itself_is_dropped(shelf: PhotoShelf, desk: Desk, problems: list[str]):
    """From another program; what is accepted when it enters is also taken."""
    image = QImage(30, 20, QImage.Format.Format_RGB32)
    image.fill(Qt.GlobalColor.darkBlue)
    content = QMimeData()
    content.setImageData(image)
    assert drop(shelf, content)
    assert (len(desk.job.photos), problems) == (1, [])


def test_words_cannot_be_dropped(shelf: PhotoShelf, desk: Desk):
    """The pointer shows it before they fall."""
    content = QMimeData()
    content.setText("words")
    assert not drop(shelf, content)
    assert desk.job.photos == ()


def test_bad_files_are_said_and_the_good_ones_kept(shelf: PhotoShelf, desk: Desk, problems: list[str], file: Path,
                                                    tmp_path: Path, picture: bytes):
    """Broken, empty, no picture, not there, a folder: one sentence for each, with its name."""
    for name, content in (("cut.jpg", picture[:len(picture) // 3]), ("empty.png", b""), ("words.jpg", b"hello")):
        (tmp_path / name).write_bytes(content)
    (tmp_path / "folder.jpg").mkdir()
    names = ("cut.jpg", "empty.png", "words.jpg", "nowhere.jpg", "folder.jpg")
    shelf.add_files([*(tmp_path / name for name in names), file])
    work_done()
    assert [photo.name for photo in desk.job.photos] == [file.name]
    # Told at once: of several one after the other a person would read the last.
    (told,) = problems
    lines = told.splitlines()
    assert [name for name, line in zip(names, lines, strict=True) if not line.startswith(name)] == []
    assert "Error" not in told


def test_of_many_bad_files_a_few_are_named(shelf: PhotoShelf, problems: list[str], tmp_path: Path):
    """The others are counted: the bar stays small."""
    shelf.add_files([tmp_path / f"nowhere-{number}.jpg" for number in range(20)])
    work_done()
    (told,) = problems
    assert len(told.splitlines()) == 7
    assert told.endswith("And 14 more could not be taken in.")


def test_pictures_come_into_the_list_when_they_are_read(shelf: PhotoShelf, desk: Desk, file: Path):
    """An empty place first, then the picture; a second list of the same photos has it at once."""
    shelf.add_files([file])
    work_done()
    shown = shelf.view.item(0).icon().pixmap(photos.THUMBNAIL).toImage()
    assert len({shown.pixel(x, y) for x in range(0, shown.width(), 4) for y in range(0, shown.height(), 4)}) > 20
    shelf.show_photos(())
    shelf.show_photos(desk.job.photos)
    again = shelf.view.item(0).icon().pixmap(photos.THUMBNAIL).toImage()
    assert again == shown


def test_taking_in_can_be_ended_and_what_was_taken_in_stays(shelf: PhotoShelf, desk: Desk, file: Path, tmp_path: Path):
    """Nothing half done: each photo is there whole or not at all."""
    from workshop_log.desktop.photos import _Source, _take_in
    from workshop_log.progress import Cancelled

    def end_before_the_third(done: int, _total: int) -> None:
        if done == 2:
            raise Cancelled

    from PIL import Image

    sources = []
    for number in range(4):
        path = tmp_path / f"{number}.png"
        Image.new("RGB", (40, 30), (number * 40, 10, 10)).save(path)
        sources.append(_Source(path.name, path))
    with pytest.raises(Cancelled):
        _take_in(desk.book, desk.job.number, tuple(sources), None, now(), end_before_the_third)
    desk.reload()
    assert [photo.name for photo in desk.job.photos] == ["0.png", "1.png"]


def test_a_file_that_is_too_large_is_not_even_read(shelf: PhotoShelf, desk: Desk, problems: list[str], file: Path,
                                                    monkeypatch: pytest.MonkeyPatch):
    """Its size alone refuses it."""
    monkeypatch.setattr(photos, "LARGEST_FILE", 1_000_000)
    with file.open("ab") as out:
        out.truncate(1_000_001)
    monkeypatch.setattr(Path, "read_bytes", lambda path: pytest.fail(f"{path} was read"))
    shelf.add_files([file])
    work_done()
    assert problems == [f"{file.name} is larger than 1 MB. Make it smaller, then add it again."]
    monkeypatch.undo()
    work_done()
    assert desk.job.photos == ()


def test_a_photo_that_comes_late_goes_to_the_job_it_was_added_to(shelf: PhotoShelf, desk: Desk, file: Path):
    """Whoever turns to another job while a picture is read does not get it there."""
    first = desk.job.number
    shelf.add_files([file])
    assert desk.take_in()
    work_done()
    assert desk.job.number != first
    assert desk.job.photos == ()
    desk.open(first)
    assert len(desk.job.photos) == 1


def test_a_shelf_without_a_job_takes_nothing(desk: Desk, qtbot: object, file: Path, problems: list[str]):
    """There is nothing to which the picture could belong."""
    made = PhotoShelf(desk)
    qtbot.addWidget(made)
    made.add_files([file])
    work_done()
    assert problems == []


def test_a_caption_is_written_under_the_chosen_photo(shelf: PhotoShelf, desk: Desk, file: Path,
                                                      monkeypatch: pytest.MonkeyPatch):
    """Evidence is not edited: the caption is a further entry, and shown once."""
    shelf.add_files([file])
    work_done()
    assert not shelf.caption.isEnabled()
    shelf.view.setCurrentRow(0)
    assert shelf.caption.isEnabled()
    monkeypatch.setattr(QInputDialog, "getText", lambda *_, **__: ("the strap, cleaned", True))
    shelf.caption.click()
    settle()
    assert shelf.view.count() == 1
    assert shelf.view.item(0).text() == "the strap, cleaned"


def test_a_photo_whose_file_is_lost_leaves_an_empty_place(desk: Desk, qtbot: object):
    """The rest of the job is shown all the same."""
    made = PhotoShelf(desk)
    qtbot.addWidget(made)
    job = next(job for job in (sample("ground-strap"), sample("brake-disc")) if job.photos)
    made.show_photos(job.photos)
    assert made.view.count() == len(job.photos)
