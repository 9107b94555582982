"""A circuit described, changed, measured by pressing its points, and found in the report."""

from __future__ import annotations

import io
from collections.abc import Callable

from journeys.driver import Person
from pypdf import PdfReader
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from workshop_log.desktop.circuit_dialog import CircuitDialog

# By hand for a motor of 4 Ω at 12.6 V behind a fused wire: near the supply on its way, near nothing after it. The
# joint X4.2 is bad: 1.9 V are lost there.
READINGS = (
    ("B+", "12.45"), ("K1.30", "12.42"), ("K1.87", "12.40"), ("X4.1a", "12.34"), ("33", "12.33"), ("32", "1.98"),
    ("X4.2a", "0.06"), ("G4.stud", "0.01"), ("15", "12.44"), ("K1.86", "12.43"))


def test_ten_readings_on_a_circuit_from_starter_to_report(begin: Callable[[], Person]):
    """Starter, change, ten points pressed, each judged with its reason, and all of it on paper."""
    person = begin()
    window = person.window
    person.shortcut(Qt.Key.Key_N)
    person.keys("ZZ00 FAN")
    window.desk.edit("complaints/c1/words", "The blower runs slowly, and the louder I turn it the slower it is.")
    person.turn_to(1)

    def describe(dialog: CircuitDialog) -> None:
        """Begin with the motor driven by a relay, adapt it, save it."""
        starters = dialog.begin_page.list
        person.keys("driven by a relay")
        row = next(row for row in range(starters.count()) if not starters.item(row).isHidden())
        assert starters.item(row).text().startswith("Motor driven by a relay")
        starters.setCurrentRow(row)
        person.press(dialog.begin_page.begin)
        # A wire of this vehicle is longer than the starter's: the element is chosen in the drawing, its length typed.
        view = dialog.view
        QTest.mouseClick(view, Qt.MouseButton.LeftButton, pos=view.position_of("element", "W1").toPoint())
        person.fill(person.field("Length", dialog), "4.5 m")
        QTest.keyClick(dialog, Qt.Key.Key_S, Qt.KeyboardModifier.ControlModifier)

    with person.answering(CircuitDialog, describe):
        person.press("Describe the circuit…")
    circuit = window.desk.job.circuits[0]
    assert next(element.length for element in circuit.elements if element.id == "W1") == "4.5 m"

    panel = window.testing.circuit
    assert panel.isVisible()
    person.choose(panel.setups, next(s.title for s in circuit.setups if s.id == "running"))
    for point, reading in READINGS:
        view = panel.view
        view.fit()
        QTest.mouseClick(view, Qt.MouseButton.LeftButton, pos=view.position_of("point", point).toPoint())
        assert window.testing.entry.line.hasFocus()
        assert "Healthy" in person.understood, person.understood
        person.keys(reading)
        person.key(Qt.Key.Key_Return)
    steps = window.desk.job.steps
    assert [(step.red, step.reading) for step in steps] == [(point, f"{reading} V") for point, reading in READINGS]
    judged = {reading.step.red: reading for reading in window.desk.evaluation.readings}
    assert all(reading.verdict is not None for reading in judged.values())
    assert all(reading.expected.source.startswith("computed: ") for reading in judged.values())
    assert judged["32"].verdict.value == "outside"
    assert judged["B+"].verdict.value != "outside"

    person.turn_to(4)
    pages = PdfReader(io.BytesIO(person.wait_for_the_report())).pages
    text = " ".join(" ".join(page.extract_text() for page in pages).split())
    assert "The circuit" in text
    assert "Test 6" in text
    assert "1.98 V" in text
    assert "computed" in text
