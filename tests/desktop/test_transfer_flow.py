"""Files in and out of the window's book: beside the window, told when done, refused in one sentence."""

from __future__ import annotations

import threading
from pathlib import Path

import pytest
from desktop.looking import LONG, SAMPLES, work_done
from PySide6.QtWidgets import QFileDialog

from workshop_log.book.backup import restore
from workshop_log.desktop import transfer_flow
from workshop_log.desktop.main_window import MainWindow
from workshop_log.exchange.reading import read_job
from workshop_log.progress import Cancelled


def choose(monkeypatch: pytest.MonkeyPatch, *paths: Path) -> None:
    """Answer every file dialog with these."""
    monkeypatch.setattr(QFileDialog, "getOpenFileNames", lambda *_: ([str(path) for path in paths], ""))
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(paths[0]) if paths else "", ""))


def said(window: MainWindow) -> str:
    return window.bar.text() if not window.bar_row.isHidden() else ""


def test_files_are_imported_and_the_last_is_open(window: MainWindow, monkeypatch: pytest.MonkeyPatch,
                                                 tmp_path: Path) -> None:
    """Of several files those that cannot be read are named, and the others are taken all the same."""
    broken = tmp_path / "broken.job.json"
    broken.write_text("{")
    choose(monkeypatch, SAMPLES / "wiper.job.json", broken, tmp_path / "gone.job.json",
           SAMPLES / "ground-strap.job.json")
    window.import_files()
    work_done()
    assert window.desk.job.number == LONG
    assert window.books.model.rowCount() == 2
    assert window.statusBar().currentMessage() == f"Imported 2031-0011, {LONG}."
    lines = said(window).splitlines()
    assert [line.split(":")[0] for line in lines] == ["broken.job.json", "gone.job.json"]


def test_a_job_that_is_there_is_not_imported_twice(samples: None, window: MainWindow,
                                                   monkeypatch: pytest.MonkeyPatch) -> None:
    """It is said, and the job stays as it is."""
    choose(monkeypatch, SAMPLES / "wiper.job.json")
    before = window.books.model.rowCount()
    window.import_files()
    work_done()
    assert "2031-0011" in said(window)
    assert window.books.model.rowCount() == before


def test_nothing_chosen_is_nothing_done(samples: None, window: MainWindow, monkeypatch: pytest.MonkeyPatch) -> None:
    """The person thought better of it."""
    window.open_job(LONG)
    choose(monkeypatch)
    for act in (window.import_files, window.export_job, window.back_up, window.report.on_save, window.report.on_issue):
        act()
        work_done()
    assert said(window) == ""
    assert window.desk.job.reports == ()


def test_an_import_that_is_ended_keeps_what_was_imported(window: MainWindow) -> None:
    """Job by job: none is there by half."""
    def end_before_the_second(done: int, _total: int) -> None:
        if done == 1:
            raise Cancelled

    paths = (SAMPLES / "wiper.job.json", SAMPLES / "ground-strap.job.json")
    with pytest.raises(Cancelled):
        transfer_flow._taken_in(window.desk.book, paths, None, end_before_the_second)
    window.refresh_list()
    assert window.books.model.rowCount() == 1


@pytest.mark.parametrize("anonymous", [False, True])
def test_a_job_is_exported(samples: None, window: MainWindow, monkeypatch: pytest.MonkeyPatch, tmp_path: Path,
                           anonymous: bool) -> None:
    """The file is the job; where it cannot be written, that is said."""
    window.open_job(LONG)
    target = tmp_path / "out.job.json"
    choose(monkeypatch, target)
    window.export_job(anonymous=anonymous)
    work_done()
    job = read_job(target.read_bytes(), "out")
    assert len(job.steps) == len(window.desk.job.steps)
    assert bool(job.vehicle.registration) is not anonymous
    assert window.statusBar().currentMessage() == f"Written to {target}."
    choose(monkeypatch, tmp_path / "no folder" / "out.job.json")
    window.export_job(anonymous=anonymous)
    work_done()
    assert "cannot be written" in said(window)


def test_the_book_is_backed_up_while_a_job_is_worked_on(samples: None, window: MainWindow,
                                                        monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """What is typed meanwhile is kept, and the copy is whole."""
    window.open_job(LONG)
    target = tmp_path / "copy.backup.db"
    choose(monkeypatch, target)
    window.back_up()
    assert window.desk.edit("vehicle.odometer", "61251 mi") == ""
    work_done()
    assert window.desk.job.vehicle.odometer == "61251 mi"
    assert window.statusBar().currentMessage() == f"The book is copied to {target}."
    assert restore(target, tmp_path / "again.db").jobs == window.books.model.rowCount()


def test_the_seal_is_checked_beside_the_window(samples: None, window: MainWindow,
                                               monkeypatch: pytest.MonkeyPatch) -> None:
    """What was found is told in passing where all is well."""
    from workshop_log.delivery import verifying

    checked_on: list[int] = []
    check = verifying.verify_stored

    def noted(*arguments: object) -> object:
        checked_on.append(threading.get_ident())
        return check(*arguments)

    monkeypatch.setattr(verifying, "verify_stored", noted)
    window.open_job(LONG)
    window.verify()
    work_done()
    assert checked_on not in ([], [threading.get_ident()])
    assert window.statusBar().currentMessage().startswith("The seal is intact")
