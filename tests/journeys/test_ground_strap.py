"""A whole job, from the first telephone call to the settled bill, with nothing but keys and mouse."""

from __future__ import annotations

import io
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pypdf
import pytest
from journeys.driver import CTRL, NO_MODIFIER, PLATFORM_NOISE, Person
from PIL import Image, ImageDraw
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QDialogButtonBox, QFileDialog, QInputDialog, QMessageBox

from workshop_log import commands
from workshop_log.desktop.range_dialog import RangeDialog
from workshop_log.desktop.settings_dialog import SettingsDialog
from workshop_log.exchange.seal import short, verify_seal

pytestmark = PLATFORM_NOISE

COMPLAINT = "It turns over as if it were the middle of winter, and some mornings it only clicks."
RIGHT_VIN, WRONG_VIN = "4ZZRD2KA6VT003112", "4ZZRD2KA5VT003112"
FINDING = "The strap that joins the engine to the body has rotted through: the starter gets too little current."
LABOUR_MINUTES = 90
# 90 min at 64.00 an hour are 96.00; the strap 38.60: 134.60 net, 26.92 tax of 20 %, 161.52 to pay.
NET, TAX, GROSS = "£134.60", "£26.92", "£161.52"

# What any reader of the report must find.
ON_PAPER = ("Tallow Lane Vehicle Electrics", "ZZ00 RDW", "Prue Tansley", "some mornings it only clicks", "P0562",
            "Inside", "Outside", "Too close to call", "480 mV", "40 mV", "after the repair", "The strap, engine end",
            "Ground strap, engine to body", "rotted through", "The starter itself was not taken apart", NET, TAX, GROSS,
            "not a penny more")


def set_the_workshop_up(person: Person) -> None:
    """Give the workshop its letterhead, rates, people and a meter."""

    def act(dialog: SettingsDialog) -> None:
        def tab(number: int) -> None:
            bar = dialog.tabs.tabBar()
            QTest.mouseClick(bar, Qt.MouseButton.LeftButton, pos=bar.tabRect(number).center())
            assert dialog.tabs.currentIndex() == number

        for name, text in (("Name", "Tallow Lane Vehicle Electrics"), ("Address", "3 Tallow Lane\nPellinbrook"),
                           ("Telephone", "01632 960147"), ("Email", "bench@tallowlane.example.org"),
                           ("Labour, per hour without tax", "sixty"), ("Tax, %", "20")):
            person.fill(person.field(name, dialog), text)
        assert "“sixty” is not an amount of money" in person.words(dialog)
        person.fill(person.field("Labour, per hour without tax", dialog), "64.00")
        assert "is not an amount of money" not in person.words(dialog)
        tab(1)
        person.fill(person.field("One name in each line", dialog), "Ines Harrow\nTom Weld")
        tab(2)
        person.press(person.button("Add", dialog))
        person.fill(person.field("Title of the instrument", dialog), "Bench meter, 6000 counts")
        person.press(dialog.findChild(QDialogButtonBox).button(QDialogButtonBox.StandardButton.Close))

    with person.answering(SettingsDialog, act):
        person.shortcut(Qt.Key.Key_Comma)
    settings = person.window.desk.settings
    assert settings.workshop.name == "Tallow Lane Vehicle Electrics"
    assert str(settings.workshop.labour_rate) == "64.00"
    assert settings.persons == ("Ines Harrow", "Tom Weld")
    assert [i.title for i in settings.instruments] == ["Bench meter, 6000 counts"]


def take_the_vehicle_in(person: Person) -> None:
    """Type the intake; the VIN with a mistake first."""
    person.shortcut(Qt.Key.Key_N)
    assert person.waits == "Waits for the complaint to be described"
    assert person.focus.accessibleName() == "Registration"
    person.keys("ZZ00 RDW")
    person.key(Qt.Key.Key_Tab)
    person.keys("74,903 mi")
    person.key(Qt.Key.Key_Tab)
    person.keys(WRONG_VIN)
    person.key(Qt.Key.Key_Tab)
    assert person.window.desk.job.vehicle.vin == WRONG_VIN
    assert "check digit" in person.words()
    person.fill("VIN", RIGHT_VIN)
    assert "check digit" not in person.words()
    assert "Well formed, model year 2027" in person.words()
    for name, text in (("Make", "Tamber"), ("Model", "Causey"), ("Year", "2027"), ("Name", "Prue Tansley"),
                       ("Telephone", "01632 960388"), ("Email", "prue@example.org"),
                       ("Address", "Fold Cottage\nPellinbrook"), ("What is wrong", COMPLAINT)):
        person.fill(name, text)
    assert person.waits == "Waits for the complaint to be confirmed"
    person.choose(person.field("It is"), "always there")
    person.press("Add condition wet")
    person.press("Add condition while cranking")
    person.press("Confirmed: I have seen it myself")
    job = person.window.desk.job
    complaint = job.complaints[0]
    assert (complaint.words, complaint.appears, complaint.conditions) == (COMPLAINT, "always", "wet, while cranking")
    assert complaint.confirmed is True
    assert (job.vehicle.odometer, job.vehicle.year) == ("74903 mi", 2027)
    assert job.customer.address == "Fold Cottage\nPellinbrook"
    assert person.waits == "Waits for the cause to be found"


def read_a_code_and_agree(person: Person) -> None:
    """Take a fault code down, the first time misread, and what may be spent at first."""
    person.click_into(person.field("Fault code"))
    person.keys("P05")
    person.key(Qt.Key.Key_Return)
    assert not person.window.desk.job.fault_codes
    assert "P05" in person.window.intake.code_note.text()
    person.key(Qt.Key.Key_A, CTRL)
    person.keys("P0562")
    person.choose(person.field("State of the fault code"), "stored")
    person.click_into(person.field("Fault code"))
    person.key(Qt.Key.Key_Return)
    assert [(c.code, c.state) for c in person.window.desk.job.fault_codes] == [("P0562", "stored")]

    person.click_into(person.field("Agreed up to"))
    person.keys("forty")
    person.press("Record")
    assert person.said.pop() == "“forty” is not an amount of money: write for example 18.40."
    assert person.window.bar.isVisible()
    person.press(person.window.bar_close)
    assert not person.window.bar_row.isVisible()
    person.click_into(person.field("Agreed up to"))
    person.key(Qt.Key.Key_A, CTRL)
    person.keys("40.00")
    person.press("Record")
    assert "Agreed up to £40.00 by Prue Tansley, in person" in person.words()


def make_the_tests(person: Person, answers: Callable[..., list[Any]], picture: Path) -> None:
    """Make the tests, one of them wrongly typed, and keep a photo."""
    window = person.window
    person.turn_to(1)
    assert "No test step yet." in person.words()
    person.choose(window.testing.instrument, "Bench meter, 6000 counts")
    assert "Not shown to work yet" in person.words()
    person.press("Just proved on a known supply")
    assert "Shown to work at" in person.words()

    assert "inside" in person.take_down("12.62 V battery + >= 12.4 V (maker's data)")
    assert "inside" in person.take_down("9.94 V battery + while cranking >= 9.6 V")

    def choose_the_rule(dialog: RangeDialog) -> None:
        person.click_into(dialog.find)
        person.keys("ground cranking")
        shown = [i for i in range(dialog.rules.count()) if not dialog.rules.item(i).isHidden()]
        assert len(shown) == 1
        QTest.mouseClick(dialog.rules.viewport(), Qt.MouseButton.LeftButton,
                         pos=dialog.rules.visualItemRect(dialog.rules.item(shown[0])).center())
        assert "common practice, no source" in dialog.source.text()
        person.press(dialog.ok)

    with person.answering(RangeDialog, choose_the_rule):
        person.press("Range…")
    assert window.testing.entry.chip.text().startswith("at most 0.3\N{NO-BREAK SPACE}V")
    assert "outside" in person.take_down("0.48 V strap body to engine while cranking")
    assert not window.testing.entry.chip.isVisible()

    assert "inside" in person.take_down("0.06 V B- to body while cranking <0.2 V")
    assert "inside" in person.take_down("0,31 V B+ to starter 30 while cranking max 0.6 V")
    assert "outside" in person.take_down("1.19 V starter 50 to B- while cranking at least 9 V")
    person.take_down("lamp starter 50 lit while cranking")
    person.take_down("look strap strong damage; green powder under the sleeve")
    person.take_down("move strap 4/5 watching body to engine")
    assert "outside" in person.take_down("2.4 ohm strap body to engine <0.5 ohm")
    assert "inside" in person.take_down("14.1 V alternator B+ to B- at idle 13.5..14.8 V")
    assert "Too close" in person.take_down("0.20 V terminal B- to clamp while cranking <0.2 V")
    person.take_down("works horn")
    assert len(window.desk.job.steps) == 13

    # A digit had slipped.
    person.choose_step("s6")
    person.shortcut(Qt.Key.Key_F3, NO_MODIFIER)
    assert "Corrects step s6" in person.understood
    person.keys("11.9 V")
    person.key(Qt.Key.Key_Return)
    assert "needs a reason" in person.understood
    person.keys("a digit slipped")
    person.key(Qt.Key.Key_Return)
    last = window.desk.job.steps[-1]
    assert (last.id, last.replaces, last.because, last.reading) == ("s14", "s6", "a digit slipped", "11.9 V")
    assert window.desk.evaluation.reading_of("s14").verdict.value == "inside"
    assert window.desk.evaluation.reading_of("s6").replaced
    row = next(r for r in window.testing.table.steps.rows if r.step.id == "s6")
    assert row.lower[4] == "replaced"

    asked = answers(QFileDialog, "getOpenFileNames", ([str(picture)], ""))
    person.choose_step("s8")
    person.press("Photo to this step")
    person.wait(lambda: bool(window.desk.job.photos))
    assert len(asked) == 1
    assert window.desk.job.photos[0].step == "s8"
    answers(QInputDialog, "getText", ("The strap, engine end", True))
    shelf = window.testing.photos
    item = shelf.view.item(0)
    person.click_into(shelf.view)
    QTest.mouseClick(shelf.view.viewport(), Qt.MouseButton.LeftButton, pos=shelf.view.visualItemRect(item).center())
    person.press(shelf.caption)
    assert shelf.view.item(0).text() == "The strap, engine end"


def make_the_case(person: Person) -> None:
    """Consider the strap because of the reading outside, and write the case."""
    window = person.window
    person.choose_step("s3")
    person.press("Consider a part")
    assert window.stack.currentIndex() == 2
    assert "Rests on step s3" in person.words()
    person.keys("Ground strap, engine to body")
    person.key(Qt.Key.Key_Return)
    assert len(window.desk.job.condemned) == 1
    assert "480 mV" in person.words()
    for name, text in (("Finding, as it could be read aloud to the customer", FINDING),
                       ("What every other cause was cleared by", "Battery and cables: each tested under load."),
                       ("What is still unproved", "The starter itself was not taken apart."),
                       ("Price", "thirty"), ("Fitting, minutes", "40")):
        person.fill(name, text)
    assert "“thirty” is not an amount of money" in person.words()
    person.fill("Price", "38.60")
    assert "is not an amount of money" not in person.words()
    person.choose(person.field("The part"), "can be returned")


def agree_and_order(person: Person, answers: Callable[..., list[Any]]) -> None:
    """Ask before ordering what goes beyond what was agreed; then estimate, call, and order."""
    window = person.window
    person.turn_to(3)
    person.click_into(person.field("New part"))
    person.keys("Ground strap 350 mm")
    person.key(Qt.Key.Key_Return)
    person.fill("Number", "GS-350")
    person.fill("Price each", "38.60")
    assert (window.desk.job.parts[0].number, str(window.desk.job.parts[0].price)) == ("GS-350", "38.60")
    asked = answers(QMessageBox, "question", QMessageBox.StandardButton.No)
    person.press("Order")
    assert len(asked) == 1
    # The clock runs: each minute adds to the bill.
    assert "With Ground strap 350 mm the job comes to £4" in asked[0][1]
    assert "more than the £40.00 that Prue Tansley approved" in asked[0][1]
    assert window.desk.job.parts[0].ordered is None

    person.click_into(person.field("New option"))
    person.keys("New strap, both ends cleaned")
    person.key(Qt.Key.Key_Return)
    person.fill("Option: what it would tell or mend", "The starter gets its full current again.")
    person.fill("Option: minutes", "1 h 30 min")
    person.fill("Option: parts, without tax", "38.60")
    option = window.desk.job.estimate[0]
    assert (option.labour_minutes, str(option.parts)) == (LABOUR_MINUTES, "38.60")
    assert GROSS in person.words()
    assert person.waits == "Waits for approval"
    person.choose(window.money.how, "by telephone")
    person.fill("Approved up to", "180")
    person.fill("Words of the approval", "Go ahead, but not a penny more.")
    person.press("Agreed")
    person.press("Record approval of this way")
    approval = window.desk.job.approvals[-1]
    assert (str(approval.up_to), approval.how, approval.option) == ("180", "telephone", "o1")
    assert "Prue Tansley agreed up to £180.00" in person.words()

    asked = answers(QMessageBox, "question", QMessageBox.StandardButton.No)
    person.press("Order")
    assert not asked, "what was approved is not asked for again"
    assert window.desk.job.parts[0].ordered is not None
    assert person.waits == "Waits for a part"
    person.press("Arrived")


def condemn_repair_and_prove(person: Person) -> None:
    """Condemn, repair, and make the tests again that failed."""
    window = person.window
    person.turn_to(2)
    person.press("Condemn: replace")
    condemned = window.desk.job.condemned[-1]
    assert (condemned.decision, condemned.finding, str(condemned.price)) == ("replace", FINDING, "38.60")
    assert "s3" in condemned.steps
    assert person.waits == "Waits for repair"
    person.turn_to(3)
    person.press("Fitted")
    person.turn_to(2)
    person.fill("What was done", "Strap replaced, both ends cleaned and greased.")
    person.press("The repair is done")
    assert person.waits == "Waits for the repair to be proved"
    assert "The tests that failed are to be made again" in person.words()

    person.turn_to(1)
    for step, reading, verdict in (("s3", "0.04 V", "inside"), ("s10", "0.1", "inside"), ("s9", "0/5", "")):
        before = len(window.desk.job.steps)
        person.choose_step(step)
        person.shortcut(Qt.Key.Key_F4, NO_MODIFIER)
        assert f"Again after the repair: step {step}" in person.understood
        person.keys(reading)
        person.key(Qt.Key.Key_Return)
        assert len(window.desk.job.steps) == before + 1, person.understood
        again = window.desk.job.steps[-1]
        assert (again.repeats, again.after_repair) == (step, True)
        if verdict:
            assert window.desk.evaluation.reading_of(again.id).verdict.value == verdict
    assert person.waits == "Waits for the report"
    person.turn_to(2)
    assert "0.48 V before, 0.04 V after" in person.words()
    person.press("Yes")
    assert window.desk.job.condemned[-1].was_the_cause is True


def decide_what_is_charged(person: Person) -> None:
    """Stop the clock and say what of it is charged."""
    window = person.window
    person.press(window.strip.clock)
    assert window.strip.clock.text() == "Start the clock"
    person.turn_to(3)
    assert "1 time line is not decided" in person.words()
    line = window.desk.job.clock[0]
    assert line.end is not None
    person.fill(window.money.time_rows.fields[f"clock/{line.id}/billed_minutes"], "1 h 30 min")
    person.fill(window.money.time_rows.fields[f"clock/{line.id}/what"], "Finding and mending the starting fault")
    assert window.desk.job.clock[0].billed_minutes == LABOUR_MINUTES
    for amount in (NET, TAX, GROSS):
        assert amount in person.words()
    assert not window.money.beyond.isVisible()


def check_the_paper(pdf: bytes, wanted: tuple[str, ...], folder: Path) -> None:
    """Read the report with readers that do not know the program; poppler's where it is installed."""
    reader = pypdf.PdfReader(io.BytesIO(pdf))
    texts = {"pypdf": " ".join(page.extract_text() for page in reader.pages)}
    if shutil.which("pdftotext"):
        path = folder / "read.pdf"
        path.write_bytes(pdf)
        texts["pdftotext"] = subprocess.run(["pdftotext", "-raw", str(path), "-"], check=True,
                                            capture_output=True, text=True, encoding="utf-8").stdout
    for name, text in texts.items():
        text = " ".join(text.split())
        missing = [words for words in wanted if words not in text]
        assert not missing, f"{missing} is not in what {name} reads:\n{text}"


@pytest.fixture
def picture(tmp_path: Path) -> Path:
    """Return the file of a picture with many colours."""
    path = tmp_path / "strap.jpg"
    image = Image.linear_gradient("L").resize((640, 480)).convert("RGB")
    ImageDraw.Draw(image).ellipse((100, 80, 400, 360), fill=(40, 120, 60))
    image.save(path, "JPEG")
    return path


def test_a_ground_strap_from_the_telephone_call_to_the_settled_bill(
        person: Person, answers: Callable[..., list[Any]], picture: Path, book_path: Path, tmp_path: Path,
        capsys: pytest.CaptureFixture[str]) -> None:
    """A whole job goes through the window; the report that comes out says what was done, sealed."""
    window = person.window
    set_the_workshop_up(person)
    take_the_vehicle_in(person)
    read_a_code_and_agree(person)

    asked = answers(QInputDialog, "getItem", ("Ines Harrow", True))
    person.press(window.strip.clock)
    assert len(asked) == 1
    assert "Stop" in window.strip.clock.text()

    make_the_tests(person, answers, picture)
    make_the_case(person)
    agree_and_order(person, answers)
    condemn_repair_and_prove(person)
    decide_what_is_charged(person)

    person.turn_to(4)
    person.wait_for_the_report()
    assert window.report.view.isVisible()
    assert window.report.view.document().pageCount() >= 2
    sealed = short(window.desk.job.seal.entries[-1].fingerprint)
    check_the_paper(window.report.pdf, (*ON_PAPER, "Corrects test 6", sealed), tmp_path)
    person.choose(window.report.kind, "Report for an expert")
    person.wait_for_the_report()
    check_the_paper(window.report.pdf, (*ON_PAPER, "a digit slipped", sealed), tmp_path)
    person.choose(window.report.kind, "Report for the customer")
    person.wait_for_the_report()

    saved = tmp_path / "report.pdf"
    answers(QFileDialog, "getSaveFileName", (str(saved), ""))
    person.press("Hand over")
    person.wait(lambda: bool(window.desk.job.reports))
    assert saved.read_bytes().startswith(b"%PDF-")
    assert len(window.desk.job.reports) == 1
    assert window.desk.book.files.get(window.desk.job.reports[0].sha256) == saved.read_bytes()
    assert person.waits == "Waits for hand-back"
    person.turn_to(3)
    person.press("Vehicle handed back")
    assert person.waits == "Waits for the bill to be settled"
    person.press("Bill settled")
    assert person.waits == "Finished"
    row = window.books.model.index(0).data()
    assert "Finished" in row
    assert not person.said

    number = window.desk.job.number
    assert verify_seal(window.desk.job).intact
    person.menu("Job", "Verify the seal")
    person.rest()
    assert window.statusBar().currentMessage().startswith("The seal is intact")
    person.rest()
    person.shortcut(Qt.Key.Key_Q)
    assert not window.isVisible()

    capsys.readouterr()
    for what in (number, str(saved)):
        assert commands.main(["verify", "--book", str(book_path), what]) == commands.DONE
        assert "intact" in capsys.readouterr().out
