"""Draw the pictures of the README anew: the real window on the practice book, and a page of a real report.

Run with the project's own Python: .venv/bin/python packaging/pictures.py
"""

from __future__ import annotations

import os
import sys
import tempfile
import time
from pathlib import Path

PROJECT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(PROJECT))
PICTURES = PROJECT / "resources" / "pictures"
SIZE = (1366, 768)
# The pages that the README shows: file name, theme, page, job.
SHOWN = (
    ("intake-light", "light", 0, "2031-0003"),
    ("testing-light", "light", 1, "2031-0003"),
    ("suspects-light", "light", 1, "2031-0099"),
    ("circuit-dark", "dark", 1, "2031-0005"),
    ("case-dark", "dark", 2, "2031-0001"),
    ("money-light", "light", 3, "2031-0010"),
)


def main() -> int:
    os.environ["QT_QPA_PLATFORM"] = "offscreen"
    with tempfile.TemporaryDirectory() as folder:
        os.environ["XDG_CONFIG_HOME"] = folder
        draw(Path(folder))
    return 0


def draw(folder: Path) -> None:
    """Draw every picture; `folder` is for what is needed meanwhile."""
    from workshop_log.commands import main as workshop_log
    from workshop_log.desktop import theme
    from workshop_log.desktop.app import make_application
    from workshop_log.desktop.desk import Desk
    from workshop_log.desktop.main_window import MainWindow

    PICTURES.mkdir(exist_ok=True)
    path = folder / "book.db"
    workshop_log(["--book", str(path), "import", *sorted(str(p) for p in (PROJECT / "sample_jobs").glob("*.job.json"))])
    workshop_log(["--book", str(path), "import", str(half_way(folder))])
    app = make_application(["pictures"])
    window = MainWindow(Desk(str(path)), path)
    window.resize(*SIZE)
    window.show()
    for name, colours, page, number in SHOWN:
        theme.apply(app, theme.DARK if colours == "dark" else theme.LIGHT)
        window.open_job(number)
        window.turn_to(page)
        if name.startswith(("circuit", "suspects")):
            window.testing.circuit_tab.click()
        elif page == 1:
            window.testing.steps_tab.click()
            window.testing.table.selectRow(11)
            window.testing.table.scrollTo(window.testing.table.steps.index(11, 0))
        until = time.monotonic() + 0.5
        while time.monotonic() < until or (window.testing.suspicion.worker.is_busy and time.monotonic() < until + 20):
            app.processEvents()
        save(window.grab().toImage(), name)
    theme.apply(app, theme.LIGHT)
    save(second_opinion(window, folder, app).toImage(), "opinion-light")
    window.close()
    report = folder / "report.pdf"
    workshop_log(["report", str(PROJECT / "sample_jobs" / "ground-strap.job.json"), "-o", str(report)])
    from PySide6.QtCore import QSize
    from PySide6.QtPdf import QPdfDocument

    document = QPdfDocument(None)
    document.load(str(report))
    points = document.pagePointSize(0)
    save(document.render(0, QSize(820, round(820 * points.height() / points.width()))), "report-page")


def second_opinion(window: object, folder: Path, app: object) -> object:
    """Ask a colleague about the job half way, answer as one, and return how that looks beside the job."""
    from datetime import UTC, datetime

    from workshop_log.book.opening import open_book
    from workshop_log.desktop.opinion_dialog import OpinionDialog
    from workshop_log.exchange.records import LookStep
    from workshop_log.jobs import asking, intake, opinions, testing

    asked, answered = datetime(2031, 3, 12, 11, 0, tzinfo=UTC), datetime(2031, 3, 12, 15, 40, tzinfo=UTC)
    window.open_job("2031-0099")
    book, away = window.desk.book, open_book(str(folder / "away.db"))
    question, answer = folder / "question.job.json", folder / "answer.job.json"
    question.write_bytes(asking.ask(book, "2031-0099", asked, asking.Choice("Battery or starter?")).data())
    number = opinions.take_in_file(away, question, asked).number
    testing.record_step(away, number, LookStep(id="s90", circuit="start", elements=("J2",), result="damage"), answered)
    intake.add_note(away, number, "Neither, I think. Look under the paint at the strap's joint on the body before you "
                                  "take the starter out.", answered, who="Ostrel Venn")
    answer.write_bytes(asking.answer_bytes(away, number))
    away.close()
    opinions.lay_beside(book, opinions.receive(answer), answered, by="Ostrel Venn")
    dialog = OpinionDialog(window, window.desk, opinions.opinions_on(book, "2031-0099"))
    dialog.show()
    while window.desk.work.pieces:
        app.processEvents()
    until = time.monotonic() + 0.5
    while time.monotonic() < until:
        app.processEvents()
    picture = dialog.grab()
    dialog.reject()
    return picture


def half_way(folder: Path) -> Path:
    """Write the main sample as it stood after six tests, under a number of its own; return where."""
    from msgspec.structs import replace

    from workshop_log.exchange.reading import read_job
    from workshop_log.exchange.writing import write_job

    sample = PROJECT / "sample_jobs" / "ground-strap.job.json"
    job = read_job(sample.read_bytes(), sample.name)
    path = folder / "half-way.job.json"
    path.write_bytes(write_job(replace(
        job, number="2031-0099", steps=job.steps[:6], condemned=(), estimate=(), approvals=(), parts=(), clock=(),
        charges=(), photos=(), notes=(), not_tested=(), handed_back=None, settled=None)))
    return path


def save(image: object, name: str) -> None:
    """Save a picture as small as it goes without changing a colour."""
    from PIL import Image

    path = PICTURES / f"{name}.png"
    image.save(str(path))
    with Image.open(path) as picture:
        flat = Image.new("RGB", picture.size, "white")
        flat.paste(picture, mask=picture.getchannel("A") if "A" in picture.getbands() else None)
    flat.save(path, optimize=True)
    print(f"{path.relative_to(PROJECT)}  {path.stat().st_size // 1024} kB")


if __name__ == "__main__":
    sys.exit(main())
