"""An email from a job: proposed, checked, put into the outbox, saved, or handed to the person's own mail program."""

from __future__ import annotations

import stat
from email import message_from_bytes
from email.policy import SMTP
from pathlib import Path

import pytest
from desktop.looking import settle, work_done
from msgspec.structs import replace
from PySide6.QtCore import QStandardPaths, Qt, QUrl
from PySide6.QtGui import QDesktopServices
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QFileDialog, QWidget

from workshop_log.desktop.desk import Desk
from workshop_log.desktop.email_dialog import AttachmentOffer, EmailDialog
from workshop_log.desktop.settings_dialog import SettingsDialog
from workshop_log.exchange.stationery import MailAccount
from workshop_log.jobs import outgoing
from workshop_log.progress import Progress

NUMBER = "2031-0003"
PDF = b"%PDF-1.7 the very bytes"
# Nobody listens there.
ACCOUNT = MailAccount(server="127.0.0.1", port=1, sender="desk@example.org")


def set_up(desk: Desk, account: MailAccount = ACCOUNT) -> None:
    from workshop_log.book.settings import save_setting

    with desk.book.session() as session:
        save_setting(session, "mail", account)
    desk.forget_settings()


class Offers:
    """A report and a job file, and how often each was drawn."""

    def __init__(self) -> None:
        self.drawn = {"report": 0, "file": 0}
        self.all = (AttachmentOffer("Report & more.pdf", "application/pdf", self.report, True, "customer"),
                    AttachmentOffer("2031-0003.job.json", "application/json", self.file, False))

    def report(self, progress: Progress) -> bytes:
        progress(1, 2)
        self.drawn["report"] += 1
        return PDF

    def file(self, _progress: Progress) -> bytes:
        self.drawn["file"] += 1
        return b"{}"


@pytest.fixture
def offers() -> Offers:
    return Offers()


@pytest.fixture
def host(samples: None, desk: Desk, qtbot: object) -> QWidget:
    """Show a window over a real job, as the report page is one."""
    assert desk.open(NUMBER)
    made = QWidget()
    qtbot.addWidget(made)
    made.show()
    return made


@pytest.fixture
def opened(host: QWidget, desk: Desk, offers: Offers) -> EmailDialog:
    set_up(desk)
    dialog = EmailDialog.ask(host, desk, offers.all, "report")
    yield dialog
    work_done()
    wait_for_post(desk)


def wait_for_post(desk: Desk) -> None:
    thread = desk.post._thread
    if thread is not None:
        thread.join(10)
    settle()
    assert not desk.post.is_at_work


def press(button: QWidget) -> None:
    QTest.mouseClick(button, Qt.MouseButton.LeftButton)
    work_done()


def test_the_letter_is_proposed_from_the_job(opened: EmailDialog):
    """To the customer, about the vehicle, with what was found and the total; nothing is drawn before it is sent."""
    assert opened.to.text() == "Prue Tansley <prue@example.org>"
    assert opened.subject.text() == "Report 2031-0003: Tamber Causey 2027, ZZ00 RDW"
    text = opened.text.toPlainText()
    assert text.startswith("Dear Prue Tansley,")
    for words in ("it only clicks", "The joint between the engine's ground strap", "£236.96", "Tallow Lane"):
        assert words in text
    assert [tick.isChecked() for tick in opened.ticks] == [True, False]


def test_sending_puts_the_message_into_the_outbox(opened: EmailDialog, desk: Desk, offers: Offers):
    """With the chosen files alone, and the dialog is done."""
    press(opened.send)
    (message,) = outgoing.messages(desk.book)
    assert message.number == NUMBER
    assert message.letter.recipients == ("Prue Tansley <prue@example.org>",)
    assert message.letter.sender == "Tallow Lane Vehicle Electrics <desk@example.org>"
    assert [(one.name, one.reader, desk.book.files.get(one.sha256)) for one in message.attached] == [
        ("Report & more.pdf", "customer", PDF)]
    assert offers.drawn == {"report": 1, "file": 0}
    wait_for_post(desk)
    assert not any(isinstance(w, EmailDialog) and w.isVisible() for w in QApplication.topLevelWidgets())


def test_enter_in_a_line_sends_nothing(opened: EmailDialog, desk: Desk):
    """Only the button does."""
    QTest.keyClick(opened.to, Qt.Key.Key_Return)
    work_done()
    assert opened.isVisible()
    assert outgoing.messages(desk.book) == ()


@pytest.mark.parametrize(("field", "typed", "words"), [
    ("to", "prue", "“prue” is no email address"), ("to", "", "Nobody is named"), ("copy", "a@b", "“a@b”"),
    ("subject", "", "subject is blank"), ("subject", "x" * 401, "401 letters")])
def test_what_cannot_be_sent_is_said_and_nothing_is_lost(opened: EmailDialog, desk: Desk, offers: Offers, field: str,
                                                          typed: str, words: str):
    """In one sentence, before anything is drawn; what was typed stays."""
    getattr(opened, field).setText(typed)
    before = opened.text.toPlainText()
    press(opened.send)
    assert words in opened.problem.text()
    assert opened.isVisible()
    assert opened.text.toPlainText() == before
    assert offers.drawn["report"] == 0
    assert outgoing.messages(desk.book) == ()


def test_a_huge_attachment_is_refused_with_its_size(host: QWidget, desk: Desk):
    """And what to do; the size of each file is then known."""
    set_up(desk)
    large = AttachmentOffer("Photos.zip", "application/zip", lambda _progress: bytes(20_000_000))
    dialog = EmailDialog.ask(host, desk, (large,), "report")
    press(dialog.send)
    assert "attach less" in dialog.problem.text()
    assert dialog.ticks[0].text() == "Photos.zip, 20.0 MB"
    assert outgoing.messages(desk.book) == ()
    dialog.ticks[0].setChecked(False)
    press(dialog.send)
    assert len(outgoing.messages(desk.book)) == 1
    wait_for_post(desk)


def test_a_report_that_cannot_be_drawn_is_said(host: QWidget, desk: Desk):
    """The dialog stays, with all that was typed."""
    from workshop_log.errors import WorkshopLogError

    def fail(_progress: Progress) -> bytes:
        raise WorkshopLogError("The photo strap.jpg is damaged: take it off the job.")

    set_up(desk)
    dialog = EmailDialog.ask(host, desk, (AttachmentOffer("Report.pdf", "application/pdf", fail),), "report")
    press(dialog.send)
    assert dialog.problem.text() == "The photo strap.jpg is damaged: take it off the job."
    assert dialog.send.isEnabled()
    dialog.reject()


def test_without_an_account_the_dialog_says_how_to_set_one_up(host: QWidget, desk: Desk, offers: Offers,
                                                               monkeypatch: pytest.MonkeyPatch):
    """Sending waits for it; all else works; once it is set up, Send can be pressed."""
    dialog = EmailDialog.ask(host, desk, offers.all, "report")
    assert not dialog.send.isEnabled()
    assert dialog.account.isVisible()
    assert dialog.account_words.text().startswith("Email is not set up here yet.")
    pages = []

    def fill_in(settings: SettingsDialog) -> int:
        pages.append(settings.tabs.tabText(settings.tabs.currentIndex()))
        settings.mail.on_edited("server", "mail.example.org")
        return 0

    monkeypatch.setattr(SettingsDialog, "exec", fill_in)
    press(dialog.account)
    assert pages == ["Email"]
    assert dialog.send.isEnabled()
    assert not dialog.account.isVisible()
    dialog.reject()


def test_escape_ends_what_is_being_drawn_and_then_the_dialog(host: QWidget, desk: Desk, qtbot: object):
    """Nothing is put into the outbox."""
    import threading

    set_up(desk)
    is_drawing, go_on = threading.Event(), threading.Event()

    def slow(progress: Progress) -> bytes:
        is_drawing.set()
        go_on.wait(10)
        progress(1, 2)
        return PDF

    dialog = EmailDialog.ask(host, desk, (AttachmentOffer("Report.pdf", "application/pdf", slow),), "report")
    QTest.mouseClick(dialog.send, Qt.MouseButton.LeftButton)
    assert is_drawing.wait(10)
    assert not dialog.send.isEnabled()
    QTest.keyClick(dialog, Qt.Key.Key_Escape)
    assert dialog.isVisible()
    go_on.set()
    work_done()
    assert outgoing.messages(desk.book) == ()
    assert not any(isinstance(w, EmailDialog) and w.isVisible() for w in QApplication.topLevelWidgets())


def test_what_was_begun_is_there_again(host: QWidget, desk: Desk, offers: Offers, qtbot: object):
    """After Escape, and after a crash a moment later; until it is sent, or proposed anew."""
    set_up(desk)
    dialog = EmailDialog.ask(host, desk, offers.all, "report")
    assert not dialog.anew.isVisible()
    dialog.copy.setText("a@b, half an addr")
    dialog.text.setPlainText("Dear Prue,\nhalf a")
    QTest.keyClick(dialog, Qt.Key.Key_Escape)
    settle()
    again = EmailDialog.ask(host, desk, offers.all, "report")
    assert (again.copy.text(), again.text.toPlainText()) == ("a@b, half an addr", "Dear Prue,\nhalf a")
    estimate = EmailDialog(host, desk, offers.all, "estimate")
    assert estimate.copy.text() == ""
    again.text.setPlainText("Dear Prue,\nhalf a sentence")
    qtbot.waitUntil(lambda: "half a sentence" in kept_draft(desk), timeout=5000)
    again.copy.setText("")
    press(again.send)
    wait_for_post(desk)
    assert kept_draft(desk) == ""
    third = EmailDialog.ask(host, desk, offers.all, "report")
    assert third.text.toPlainText().startswith("Dear Prue Tansley,")
    third.text.setPlainText("x")
    third.reject()
    settle()
    fourth = EmailDialog.ask(host, desk, offers.all, "report")
    settle()
    press(fourth.anew)
    assert fourth.text.toPlainText().startswith("Dear Prue Tansley,")
    assert not fourth.anew.isVisible()
    fourth.reject()
    assert kept_draft(desk) == ""


def kept_draft(desk: Desk) -> str:
    from workshop_log.book.drafts import load_draft

    with desk.book.read() as session:
        return load_draft(session, f"{NUMBER}/email report") or ""


# --- without a server -----------------------------------------------------------------------------------------------


def test_a_message_is_saved_as_a_file_that_mail_programs_open(opened: EmailDialog, offers: Offers, tmp_path: Path,
                                                              monkeypatch: pytest.MonkeyPatch):
    """As one that is still to be sent, with its files."""
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(tmp_path / "letter"), ""))
    press(opened.save)
    message = message_from_bytes((tmp_path / "letter.eml").read_bytes(), policy=SMTP)
    assert message["X-Unsent"] == "1"
    assert message["Subject"] == opened.subject.text()
    assert [part.get_content() for part in message.iter_attachments()] == [PDF]
    assert "letter.eml" in opened.problem.text()
    # Drawn once for all.
    press(opened.save)
    assert offers.drawn["report"] == 1
    opened.reject()


def test_cancelled_too_late_asks_for_no_place(opened: EmailDialog, host: QWidget, monkeypatch: pytest.MonkeyPatch):
    """The message was made before the work heard of the end: nobody is asked where to save what nobody wants."""
    asked: list[object] = []
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *args: asked.append(args) or ("", ""))
    for tick in opened.ticks:
        tick.setChecked(False)
    QTest.mouseClick(opened.save, Qt.MouseButton.LeftButton)
    opened.reject()
    work_done()
    assert asked == []
    assert not host.findChildren(EmailDialog)


def test_a_file_that_cannot_be_saved_is_said(opened: EmailDialog, tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    """With the place."""
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(tmp_path / "no" / "letter.eml"), ""))
    press(opened.save)
    assert "could not be saved" in opened.problem.text()
    opened.reject()


@pytest.fixture
def downloads(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Give the folder that files are saved to, and a machine without the command that attaches."""
    folder = tmp_path / "Downloads"
    monkeypatch.setattr(QStandardPaths, "writableLocation", lambda _place: str(folder))
    monkeypatch.setenv("PATH", str(tmp_path / "bin"))
    return folder


def test_the_own_mail_program_gets_the_letter_and_the_person_the_files(
        opened: EmailDialog, downloads: Path, monkeypatch: pytest.MonkeyPatch):
    """An address cannot carry files: that is said, and their folder is shown."""
    shown: list[QUrl] = []
    monkeypatch.setattr(QDesktopServices, "openUrl", lambda url: bool(shown.append(url)) or True)
    opened.text.setPlainText("Dear Prue,\n100 % & fine?")
    press(opened.own)
    letter, folder = shown
    assert letter.toEncoded().data().decode() == (
        "mailto:prue@example.org?subject=Report%202031-0003%3A%20Tamber%20Causey%202027%2C%20ZZ00%20RDW"
        "&body=Dear%20Prue%2C%0D%0A100%20%25%20%26%20fine%3F")
    assert Path(folder.toLocalFile()) == downloads
    assert (downloads / "Report & more.pdf").read_bytes() == PDF
    assert "It cannot be given files this way" in opened.problem.text()
    assert str(downloads) in opened.problem.text()
    opened.reject()


def test_a_text_that_is_too_long_for_an_address_is_copied(opened: EmailDialog, downloads: Path,
                                                           monkeypatch: pytest.MonkeyPatch):
    """Nothing is cut without a word."""
    shown: list[QUrl] = []
    monkeypatch.setattr(QDesktopServices, "openUrl", lambda url: bool(shown.append(url)) or True)
    opened.text.setPlainText("word " * 1000)
    press(opened.own)
    assert "body" not in shown[0].toString()
    assert QApplication.clipboard().text() == "word " * 1000
    assert "paste it" in opened.problem.text()
    opened.reject()


def test_a_machine_without_a_mail_program_says_so(opened: EmailDialog, downloads: Path,
                                                  monkeypatch: pytest.MonkeyPatch):
    """And what to do instead."""
    monkeypatch.setattr(QDesktopServices, "openUrl", lambda url: url.scheme() != "mailto")
    press(opened.own)
    assert "No mail program answered" in opened.problem.text()
    opened.reject()


@pytest.mark.parametrize("status", [0, 3])
def test_where_the_system_can_attach_the_files_it_does(opened: EmailDialog, downloads: Path, tmp_path: Path,
                                                       status: int):
    """Each argument whole; a command that fails is said."""
    command = tmp_path / "bin" / "xdg-email"
    command.parent.mkdir()
    command.write_text(f"#!/bin/sh\nfor one in \"$@\"; do /bin/echo \"$one\"; done > {tmp_path}/said\nexit {status}\n")
    command.chmod(command.stat().st_mode | stat.S_IXUSR)
    opened.text.setPlainText("one line")
    opened.copy.setText("second@example.org")
    press(opened.own)
    assert (tmp_path / "said").read_text().splitlines() == [
        "--utf8", "--subject", opened.subject.text(), "--body", "one line", "--cc", "second@example.org", "--attach",
        str(downloads / "Report & more.pdf"), "mailto:prue@example.org"]
    assert ("did not start" if status else "Your mail program has the message") in opened.problem.text()
    opened.reject()


def test_a_job_without_an_address_begins_with_it(host: QWidget, desk: Desk, offers: Offers):
    """The cursor stands where something has to be typed."""
    set_up(desk)
    desk.edit("customer.email", "")
    dialog = EmailDialog.ask(host, desk, offers.all, "report")
    dialog.activateWindow()
    settle()
    assert dialog.to.text() == ""
    assert dialog.focusWidget() is dialog.to
    dialog.reject()


def test_an_address_of_the_job_that_is_none_is_shown_as_it_is(host: QWidget, desk: Desk, offers: Offers):
    """To be corrected there."""
    set_up(desk, replace(ACCOUNT, sender=""))
    desk.edit("customer.email", "prue at example")
    dialog = EmailDialog.ask(host, desk, offers.all, "report")
    assert dialog.to.text() == "prue at example"
    press(dialog.send)
    assert "“prue at example” is no email address" in dialog.problem.text()
    dialog.reject()
