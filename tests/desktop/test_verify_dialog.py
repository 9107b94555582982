"""A report is checked in the window: chosen or dropped, against what is typed, with every answer in words."""

from __future__ import annotations

import gc
import re
import sqlite3
import weakref
from collections.abc import Callable, Iterator
from datetime import datetime, timedelta, timezone
from pathlib import Path

import pikepdf
import pytest
from desktop.looking import LONG, named, seen, settle, work_done
from desktop.test_accessibility import missed, unnamed
from PySide6.QtCore import QMimeData, QPoint, QPointF, Qt, QUrl
from PySide6.QtGui import QDragEnterEvent, QDropEvent, QFontInfo, QGuiApplication
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton, QApplication, QDialog, QFileDialog, QFrame, QLabel
from pytestqt.qtbot import QtBot

from workshop_log.desktop import theme
from workshop_log.desktop.desk import Desk
from workshop_log.desktop.main_window import MainWindow
from workshop_log.desktop.verify_dialog import VerifyDialog
from workshop_log.exchange.seal import short

ISSUED = datetime(2031, 4, 3, 16, 40, tzinfo=timezone(timedelta(hours=1)))


@pytest.fixture
def report(samples: None, desk: Desk, tmp_path: Path) -> Path:
    """Hand the report of the longest job over, and return its file."""
    from workshop_log.jobs.evaluation import evaluate
    from workshop_log.jobs.handing import issue_report
    from workshop_log.paper.report import make_report
    from workshop_log.paper.report_input import report_input

    desk.open(LONG)
    pdf = make_report(report_input(desk.job, evaluate(desk.job), {}, reader="customer", issued=ISSUED))
    desk.do(issue_report, pdf, "customer", ISSUED)
    path = tmp_path / "came back.pdf"
    path.write_bytes(pdf)
    return path


@pytest.fixture
def forged(report: Path, tmp_path: Path) -> Path:
    """Return the same report with a reading changed in the job that it carries."""
    path = tmp_path / "forged.pdf"
    with pikepdf.open(report) as pdf:
        ((name, attached),) = pdf.attachments.items()
        data = re.sub(rb'"reading": "[^"]+ V"', b'"reading": "9.99 V"', attached.get_file().read_bytes(), count=1)
        pdf.attachments[name] = pikepdf.AttachedFileSpec(pdf, data, filename=name)
        pdf.save(path)
    return path


@pytest.fixture
def dialog(desk: Desk, qtbot: QtBot, qapp: QApplication) -> Iterator[VerifyDialog]:
    """Show the dialog."""
    made = VerifyDialog(None, desk)
    made.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose, False)
    made.show()
    made.activateWindow()
    qtbot.waitUntil(lambda: qapp.activeWindow() is made)
    yield made
    made.done(0)
    made.deleteLater()
    settle()


def shown(dialog: VerifyDialog) -> dict[str, str]:
    """Return what each row says below its title."""
    rows = [row for row in dialog.area.widget().findChildren(QFrame) if row.property("part") in ("card", "doubt")
            and row.isVisible()]
    texts = [[label.text() for label in row.findChildren(QLabel)] for row in rows]
    return dict(texts)


def choose(monkeypatch: pytest.MonkeyPatch, path: Path | str) -> None:
    monkeypatch.setattr(QFileDialog, "getOpenFileName", lambda *_: (str(path), ""))


def drop(dialog: VerifyDialog, *urls: str) -> None:
    """Drop files as the system does: they enter first."""
    carried = QMimeData()
    carried.setUrls([QUrl(url) for url in urls])
    action, button, key = Qt.DropAction.CopyAction, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
    enter = QDragEnterEvent(QPoint(60, 200), action, carried, button, key)
    QApplication.sendEvent(dialog, enter)
    assert enter.isAccepted()
    QApplication.sendEvent(dialog, QDropEvent(QPointF(60, 200), action, carried, button, key))
    work_done()


def test_a_report_is_chosen_and_whole(report: Path, dialog: VerifyDialog, desk: Desk, monkeypatch: pytest.MonkeyPatch):
    """Every check in words, beside the window's thread."""
    choose(monkeypatch, report)
    QTest.mouseClick(dialog.choose, Qt.MouseButton.LeftButton)
    assert dialog.headline.text() == "Checking came back.pdf …"
    work_done()
    last = desk.job.seal.entries[-2].fingerprint
    assert dialog.headline.text() == f"The seal is intact: {short(last)}"
    told = shown(dialog)
    assert all(title.endswith(": checked, whole") for title in told)
    assert "for the customer" in told["The file as a whole: checked, whole"]
    assert dialog.file.text() == "came back.pdf"


def test_a_forged_report_is_dropped_and_the_entry_named(report: Path, forged: Path, dialog: VerifyDialog):
    """Which test, when, what it says here and in the book; what differs stands on another ground."""
    drop(dialog, forged.as_uri())
    assert dialog.headline.text() == "forged.pdf is not as it was sealed."
    told = shown(dialog)
    assert re.search(r"^The first entry that differs is entry \d+ of \d+, test \d+ \(.*2031, \d\d:\d\d\)",
                     told["Evidence: differs"])
    assert "“9.99 V” in this report" in told["The book: differs"]
    doubts = [row for row in dialog.area.widget().findChildren(QFrame) if row.property("part") == "doubt"]
    assert len(doubts) == sum(": differs" in title for title in told)
    # Who hears the window hears it all.
    assert all(words[1:] in dialog.area.accessibleDescription() for words in told.values())


def test_the_fingerprint_on_the_paper_is_typed_and_checked_with_enter(report: Path, dialog: VerifyDialog, desk: Desk):
    """First another one, then the right one."""
    drop(dialog, report.as_uri())
    dialog.typed.setFocus()
    QTest.keyClicks(dialog.typed, "0000 0000 0000 0000")
    QTest.keyClick(dialog.typed, Qt.Key.Key_Return)
    work_done()
    assert "Fingerprint as typed: differs" in shown(dialog)
    assert dialog.isVisible()
    dialog.typed.selectAll()
    QTest.keyClicks(dialog.typed, short(desk.job.seal.entries[-2].fingerprint).upper())
    QTest.mouseClick(dialog.again, Qt.MouseButton.LeftButton)
    work_done()
    assert shown(dialog)["Fingerprint as typed: checked, whole"] == "All 16 digits agree."


def test_what_cannot_be_checked_is_one_sentence(report: Path, dialog: VerifyDialog, tmp_path: Path):
    """A letter, a mistyped fingerprint, two files, a link; what was found before is gone."""
    drop(dialog, report.as_uri())
    letter = tmp_path / "letter.pdf"
    letter.write_bytes(b"Dear Sir")
    for urls, said in (([letter.as_uri()], "letter.pdf is no PDF"),
                       ([report.as_uri(), letter.as_uri()], "one file"),
                       (["https://workshop.example.org/report.pdf"], "no file of this machine")):
        drop(dialog, *urls)
        assert said in dialog.headline.text()
        assert shown(dialog) == {}
        assert not dialog.copy.isEnabled()
    dialog.typed.setText("12345")
    drop(dialog, report.as_uri())
    assert "this has 5" in dialog.headline.text()


def test_the_findings_are_copied_as_text(report: Path, dialog: VerifyDialog):
    """For the answer to whoever sent the report."""
    drop(dialog, report.as_uri())
    QTest.mouseClick(dialog.copy, Qt.MouseButton.LeftButton)
    text = QGuiApplication.clipboard().text()
    assert text.startswith("came back.pdf\nThe seal is intact: ")
    assert "\nThe book: checked, whole: entry for entry the same" in text


def test_a_second_file_takes_the_place_of_the_first(report: Path, forged: Path, dialog: VerifyDialog):
    """Chosen while the first is still being checked: only the second is shown."""
    dialog.check(report)
    dialog.check(forged)
    work_done()
    assert dialog.headline.text() == "forged.pdf is not as it was sealed."


@pytest.mark.parametrize("ground", [theme.LIGHT, theme.DARK], ids=["light", "dark"])
def test_every_control_has_a_name_and_is_reached_by_key(report: Path, forged: Path, dialog: VerifyDialog,
                                                         qapp: QApplication, ground: theme.Theme):
    """Before and after a check; nothing small, nothing cut off, nothing to scroll sideways."""
    theme.apply(qapp, ground)
    for act in (lambda: None, lambda: drop(dialog, forged.as_uri())):
        act()
        dialog.activateWindow()
        settle()
        assert not unnamed(dialog)
        assert not missed(dialog, qapp)
        assert not [named(w) for w in seen(dialog) if QFontInfo(w.font()).pointSizeF() < theme.TEXT_PT - 0.01]
        assert not [named(w) for w in seen(dialog) if isinstance(w, QAbstractButton) and w.text()
                    and w.width() < w.sizeHint().width()]
        assert dialog.area.horizontalScrollBar().maximum() == 0
    assert dialog.height() <= 700
    QTest.keyClick(dialog, Qt.Key.Key_Escape)
    assert not dialog.isVisible()


def test_the_open_jobs_own_seal_is_told_in_words(samples: None, window: MainWindow, book_path: Path):
    """In passing while it is intact; above the page, with the entry, when somebody wrote past the program."""
    window.open_job(LONG)
    window.actions_by_id["job.verify"].trigger()
    work_done()
    assert re.match(r"The seal is intact: ([0-9a-f]{4} ){3}[0-9a-f]{4}: \d+ entries, each as it was entered",
                    window.statusBar().currentMessage())
    assert window.bar_row.isHidden()
    connection = sqlite3.connect(book_path)
    for (name,) in connection.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
        connection.execute(f"DROP TRIGGER {name}")
    connection.execute("UPDATE entries SET body = replace(body, ' V\"', '7 V\"') WHERE kind = 'step'")
    connection.commit()
    connection.close()
    window.actions_by_id["job.verify"].trigger()
    work_done()
    assert re.match(r"Job 2031-0003 is not as it was sealed\. The first entry that differs is entry \d+ of \d+, test "
                    r"\d+", window.bar.text())


def test_it_opens_from_the_menu_without_a_job_and_is_freed(window: MainWindow, qtbot: QtBot):
    """Nothing waits for it: the window goes on."""
    window.actions_by_id["job.check-report"].trigger()
    settle()
    (opened,) = window.findChildren(VerifyDialog)
    assert opened.isVisible()
    gone = weakref.ref(opened)
    opened.reject()
    del opened
    settle()
    gc.collect()
    assert gone() is None
    assert not window.findChildren(QDialog)


def test_closed_while_it_checks_nothing_is_left(samples: None, window: MainWindow, tmp_path: Path,
                                                problems: Callable):
    """The answer comes to nobody, and nobody minds."""
    path = tmp_path / "a.pdf"
    path.write_bytes(b"%PDF-1.7 no\n%%EOF")
    window.actions_by_id["job.check-report"].trigger()
    (opened,) = window.findChildren(VerifyDialog)
    opened.check(path)
    opened.reject()
    work_done()
    assert window.bar_row.isHidden()
    assert not window.desk.work.pieces
