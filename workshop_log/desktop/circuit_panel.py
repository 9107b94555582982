"""The circuit of the open job: drawn in a setup that is chosen, with its readings, ready to be pressed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, Signal, Slot
from PySide6.QtWidgets import QComboBox, QPushButton, QVBoxLayout, QWidget

from workshop_log.desktop import theme
from workshop_log.desktop.circuit_view import CircuitView
from workshop_log.desktop.fields import QuietBox, label
from workshop_log.errors import WorkshopLogError

if TYPE_CHECKING:
    from workshop_log.exchange.records import Circuit, Job, Setup
    from workshop_log.jobs.evaluation import Evaluation
    from workshop_log.jobs.places import Place
    from workshop_log.jobs.suspicion import Share
    from workshop_log.paper.circuit_drawing import DrawnState
    from workshop_log.paper.circuit_layout import Shade

AS_FOUND = "as found"


class CircuitPanel(QWidget):
    """Circuit, setup, and the drawing.

    Signals
    -------
    place_chosen : object
        A point or an element was pressed: the `Place` where the next test is made.
    edit_wanted : object
        The circuit shall be changed; the `Circuit`, or None for a new one.
    circuit_chosen : str
        Another circuit of the job is shown.
    """

    place_chosen = Signal(object)
    edit_wanted = Signal(object)
    circuit_chosen = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._job: Job | None = None
        self._evaluation: Evaluation | None = None
        self._place: Place | None = None
        # What the elements are shaded by, and the element that is spoken of elsewhere.
        self._shares: tuple[Share, ...] = ()
        self._pointed_out = ""
        # Whether the drawing is behind what was last shown; it is not drawn while nobody sees it.
        self._is_stale = True
        self.circuits, self.setups = QuietBox(), QuietBox()
        for box, name in ((self.circuits, "Circuit"), (self.setups, "Setup")):
            box.setAccessibleName(name)
            box.setMinimumHeight(theme.TARGET_PX)
            box.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
            box.setMinimumContentsLength(14)
        self.edit = QPushButton("Change…")
        self.add = QPushButton("Another…")
        self.fit = QPushButton("Fit")
        for button in (self.edit, self.add, self.fit):
            button.setMinimumHeight(theme.TARGET_PX)
        self.fit.setToolTip("The whole circuit; + and − zoom, dragging moves")
        self.remarks = label("", "faint")
        self.view = CircuitView()
        # Stand in the row of the page, to leave the room below to the drawing.
        self.controls = (self.circuits, self.setups, self.fit, self.edit, self.add)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(6)
        column.addWidget(self.view, 1)
        column.addWidget(self.remarks)
        self.circuits.activated.connect(self.on_circuit)
        self.setups.activated.connect(self.on_setup)
        self.fit.clicked.connect(self.view.fit)
        self.edit.clicked.connect(self.on_edit)
        self.add.clicked.connect(self.on_add)
        self.view.point_pressed.connect(self.on_point)
        self.view.second_pressed.connect(self.on_second)
        self.view.element_pressed.connect(self.on_element)

    # --- showing -----------------------------------------------------------------------------------------------------

    def show_job(self, job: Job, evaluation: Evaluation) -> None:
        """Show the job's circuit; the chosen circuit and setup stay."""
        is_another = self._job is None or job.number != self._job.number
        self._job, self._evaluation = job, evaluation
        if is_another:
            self.forget_place()
        wanted = "" if is_another else self.circuits.currentData()
        self.circuits.clear()
        for circuit in job.circuits:
            self.circuits.addItem(circuit.title or circuit.id, circuit.id)
        self.circuits.setCurrentIndex(max(0, self.circuits.findData(wanted)))
        self._list_setups(keep=not is_another)
        self._is_stale = True
        if self.isVisible():
            self._draw()

    def showEvent(self, event: object) -> None:
        """Draw what was not drawn while nobody saw it."""
        super().showEvent(event)
        if self._is_stale:
            self._draw()

    def circuit(self) -> Circuit | None:
        """Return the circuit that is shown."""
        if self._job is None:
            return None
        return next((c for c in self._job.circuits if c.id == self.circuits.currentData()), None)

    def setup(self) -> Setup | None:
        """Return the setup that is chosen; None for as found."""
        circuit = self.circuit()
        return next((s for s in circuit.setups if s.id == self.setups.currentData()), None) if circuit else None

    def _list_setups(self, *, keep: bool) -> None:
        circuit = self.circuit()
        wanted = self.setups.currentData() if keep else ""
        if not wanted and circuit is not None and self._job is not None:
            # Where the last test of this circuit was made.
            wanted = next((s.setup for s in reversed(self._job.steps) if s.circuit == circuit.id and s.setup), "")
        self.setups.clear()
        self.setups.addItem(AS_FOUND, AS_FOUND)
        for setup in circuit.setups if circuit else ():
            if setup.id != AS_FOUND:
                self.setups.addItem(setup.title or setup.id, setup.id)
        self.setups.setCurrentIndex(max(0, self.setups.findData(wanted)))

    def _draw(self) -> None:
        circuit = self.circuit()
        if circuit is None:
            return
        from dataclasses import replace

        from workshop_log.paper.circuit_marks import marks_of

        self._is_stale = False
        marks, readings = marks_of(self._job, self._evaluation, circuit, _numbers_words)
        marks = replace(marks, shades=self._shades(circuit))
        state, words = self._state(circuit)
        self.remarks.setText(words)
        self.remarks.setVisible(bool(words))
        self.view.show_circuit(circuit, self.setup(), state, marks, readings)
        self._mark_place()
        self.view.point_out(self._pointed_out)

    def _shades(self, circuit: Circuit) -> dict[str, Shade]:
        from workshop_log.paper.circuit_marks import shades_of

        return shades_of(circuit, self._shares, _numbers_words)

    def show_shares(self, shares: tuple[Share, ...]) -> None:
        """Shade the elements by how suspect they are."""
        self._shares = shares
        circuit = self.circuit()
        if circuit is not None and not self._is_stale:
            self.view.show_shades(self._shades(circuit))

    def point_out(self, element: str) -> None:
        """Show which element is spoken of elsewhere; none with no id."""
        self._pointed_out = element
        if not self._is_stale:
            self.view.point_out(element)

    def _state(self, circuit: Circuit) -> tuple[DrawnState | None, str]:
        return state_in(circuit, self.setups.currentData() or AS_FOUND)

    # --- pressing ----------------------------------------------------------------------------------------------------

    def go_to(self, place: Place) -> None:
        """Choose a place from elsewhere, in its circuit and its setup."""
        if place.circuit != self.circuits.currentData():
            self.circuits.setCurrentIndex(max(0, self.circuits.findData(place.circuit)))
            self._list_setups(keep=False)
            self.circuit_chosen.emit(self.circuits.currentData())
        self.setups.setCurrentIndex(max(0, self.setups.findData(place.setup)))
        self._place = place
        self._draw()

    def forget_place(self) -> None:
        """Let go of the place that was chosen."""
        self._place = None
        self._mark_place()

    def _mark_place(self) -> None:
        place = self._place
        if place is None:
            self.view.mark()
        elif place.element:
            self.view.mark(("element", place.element))
        else:
            self.view.mark(("point", place.point), ("point", place.black))

    def _choose(self, place: Place) -> None:
        self._place = place
        self._mark_place()
        self.place_chosen.emit(place)

    @Slot(str)
    def on_point(self, point: str) -> None:
        """Lay the red lead to this point."""
        from workshop_log.jobs.places import Place

        self._choose(Place(self.circuits.currentData(), self.setups.currentData() or AS_FOUND, point=point))

    @Slot(str)
    def on_second(self, point: str) -> None:
        """Lay the black lead to this point."""
        from dataclasses import replace

        if self._place is not None and self._place.point and self._place.point != point:
            self._choose(replace(self._place, black=point))
        else:
            self.on_point(point)

    @Slot(str)
    def on_element(self, element: str) -> None:
        """Make the next test at this element."""
        from workshop_log.jobs.places import Place

        self._choose(Place(self.circuits.currentData(), self.setups.currentData() or AS_FOUND, element=element))

    @Slot()
    def on_circuit(self) -> None:
        self.forget_place()
        self._list_setups(keep=False)
        self.circuit_chosen.emit(self.circuits.currentData())
        self._draw()

    @Slot()
    def on_setup(self) -> None:
        """Show the circuit in another setup; the place stays, under the new condition."""
        from dataclasses import replace

        self._draw()
        if self._place is not None:
            self._choose(replace(self._place, setup=self.setups.currentData() or AS_FOUND))

    @Slot()
    def on_edit(self) -> None:
        self.edit_wanted.emit(self.circuit())

    @Slot()
    def on_add(self) -> None:
        self.edit_wanted.emit(None)

    def keyPressEvent(self, event: object) -> None:
        """Let go of the place with Escape."""
        if event.key() == Qt.Key.Key_Escape and self._place is not None:
            self.forget_place()
            self.place_chosen.emit(None)
            return
        super().keyPressEvent(event)


# Less is what a meter's own resistance takes. [A]
_LEAST_CURRENT_A = 1e-5


def state_in(circuit: Circuit, setup: str) -> tuple[DrawnState | None, str]:
    """Return what is live, floating and dead in a setup, and what flows; or why that cannot be computed."""
    from workshop_log.jobs.circuit_table import circuit_state
    from workshop_log.measuring.entry import show
    from workshop_log.paper.circuit_drawing import DrawnState

    try:
        state = circuit_state(circuit, setup)
    except WorkshopLogError as error:
        return None, str(error)
    points = {p.point: "floating" if p.voltage_v is None else "live" if p.is_live else "dead" for p in state.points}
    # A relay has two currents and one place for words: its contact's stands at what it feeds.
    relays = {element.id for element in circuit.elements if element.kind == "relay"}
    currents = {name: show(current, "A", digits=3) for name, current in state.currents.items()
                if abs(current) >= _LEAST_CURRENT_A and name not in relays}
    words = "; ".join(remark for remark in state.remarks if "lamp" not in remark)
    return DrawnState(points, currents, state.pulled_in, state.blown), words


def _numbers_words(numbers: list[str]) -> str:
    return ", ".join(f"s{number}" if number.isdigit() else number for number in numbers)
