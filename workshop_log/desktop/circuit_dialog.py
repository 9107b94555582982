"""A circuit described: begun from what is usual or known, and changed in the drawing until it is the vehicle's."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, NamedTuple

from msgspec.structs import replace
from PySide6.QtCore import Qt, Slot
from PySide6.QtGui import QKeySequence, QShortcut
from PySide6.QtWidgets import (
    QComboBox,
    QDialog,
    QHBoxLayout,
    QPushButton,
    QStackedWidget,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from workshop_log.desktop import theme
from workshop_log.desktop.circuit_begin import BeginPage, beginnings
from workshop_log.desktop.circuit_element_panel import ElementPanel
from workshop_log.desktop.circuit_panel import state_in
from workshop_log.desktop.circuit_setup_panel import SetupPanel
from workshop_log.desktop.circuit_view import CircuitView
from workshop_log.desktop.fields import LineField, label
from workshop_log.jobs import circuit_editing as editing
from workshop_log.jobs.circuit_editing import AS_FOUND, EditRefusedError

if TYPE_CHECKING:
    from workshop_log.desktop.desk import Desk
    from workshop_log.exchange.records import Circuit

_PANEL_WIDTH = 440
_SIZE = (1260, 690)


class _Moment(NamedTuple):
    """What one undoes to: the circuit, what was chosen in it, and in which setup it was drawn."""

    circuit: Circuit
    place: tuple[str, str] | None
    setup: str


class CircuitDialog(QDialog):
    """Begin, change, save. Nothing reaches the job before Save.

    Attributes
    ----------
    saved : str
        The id of the circuit as it was saved; blank before.
    """

    def __init__(self, parent: QWidget | None, desk: Desk, circuit: Circuit | None = None) -> None:
        super().__init__(parent)
        self.desk = desk
        self.saved = ""
        # The job's circuit as it stood when this began; None for a new one.
        self._original = circuit
        self._moments: list[_Moment] = []
        self._now = -1
        self._drawn: tuple[Circuit, str] | None = None
        # Escape was pressed once with something unsaved.
        self._is_warned = False
        self.setWindowTitle("Circuit")
        self.resize(*_SIZE)
        self.pages = QStackedWidget()
        self.editor = self._editor()
        self.begin_page: BeginPage | None = None
        column = QVBoxLayout(self)
        column.setContentsMargins(14, 12, 14, 12)
        column.addWidget(self.pages)
        self.pages.addWidget(self.editor)
        for keys, act in ((QKeySequence.StandardKey.Undo, self.on_undo), (QKeySequence("Ctrl+Shift+Z"), self.on_redo),
                          (QKeySequence("Ctrl+S"), self.on_save), (QKeySequence("F2"), self.on_rename)):
            QShortcut(QKeySequence(keys), self, act)
        away = QShortcut(QKeySequence(Qt.Key.Key_Delete), self.view, self.on_remove)
        away.setContext(Qt.ShortcutContext.WidgetShortcut)
        self.desk.problem.connect(self.say)
        if circuit is None:
            self._offer()
        else:
            self._begin(circuit)

    @classmethod
    def ask(cls, parent: QWidget | None, desk: Desk, circuit: Circuit | None = None) -> str:
        """Change a circuit of the open job, or describe a new one; return the id under which it was saved, or ""."""
        dialog = cls(parent, desk, circuit)
        dialog.exec()
        saved = dialog.saved
        dialog.deleteLater()
        return saved

    # --- the page ----------------------------------------------------------------------------------------------------

    def _editor(self) -> QWidget:
        self.title = LineField("title")
        self.title.setAccessibleName("Title of the circuit")
        self.title.setPlaceholderText("Title of the circuit")
        self.title.edited.connect(self.on_title)
        self.setups = QComboBox()
        self.setups.setAccessibleName("Setup that is drawn")
        self.setups.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        self.setups.setMinimumContentsLength(17)
        self.setups.activated.connect(self.on_setup)
        self.undo, self.redo, self.fit = (self._button(words, act) for words, act in (
            ("Undo", self.on_undo), ("Redo", self.on_redo), ("Fit", self.on_fit)))
        self.undo.setToolTip("Ctrl+Z")
        self.redo.setToolTip("Ctrl+Shift+Z")
        self.fit.setToolTip("The whole circuit; + and − zoom, dragging moves")
        self.view = CircuitView()
        self.view.setAccessibleDescription("Arrow keys go from place to place, Enter chooses, Delete removes.")
        self.view.point_pressed.connect(self.on_point)
        self.view.second_pressed.connect(self.on_point)
        self.view.element_pressed.connect(self.on_element)
        self.problem, self.remarks = label("", "problem"), label("", "faint")
        self.element = ElementPanel(self.edit, self.on_remove, self._used_by)
        self.setup_panel = SetupPanel(self.edit)
        self.panels = QStackedWidget()
        self.panels.setFixedWidth(_PANEL_WIDTH)
        self.element_tab, self.setup_tab = (self._tab(panel, words) for panel, words in (
            (self.element, "Element or point"), (self.setup_panel, "Setup")))
        self.element_tab.setChecked(True)
        cancel, self.save = self._button("Cancel", self.close), self._button("Save circuit", self.on_save)
        self.save.setProperty("part", "main")
        self.save.setToolTip("Ctrl+S")
        for widget in (self.title, self.setups):
            widget.setMinimumHeight(theme.TARGET_PX)
        top = QHBoxLayout()
        top.addWidget(self.title, 1)
        for widget in (self.setups, self.fit, self.undo, self.redo):
            top.addWidget(widget)
        left = QVBoxLayout()
        left.addLayout(top)
        left.addWidget(self.view, 1)
        # Keeps its room, so that the drawing does not jump.
        said = QWidget()
        said.setFixedHeight(2 * self.fontMetrics().lineSpacing() + 8)
        lines = QVBoxLayout(said)
        lines.setContentsMargins(2, 2, 2, 0)
        lines.setSpacing(2)
        lines.addWidget(self.problem)
        lines.addWidget(self.remarks)
        lines.addStretch(1)
        left.addWidget(said)
        right = QVBoxLayout()
        tabs = QHBoxLayout()
        tabs.addWidget(self.element_tab)
        tabs.addWidget(self.setup_tab)
        tabs.addStretch(1)
        right.addLayout(tabs)
        right.addWidget(self.panels, 1)
        buttons = QHBoxLayout()
        buttons.addWidget(cancel)
        buttons.addWidget(self.save, 1)
        right.addLayout(buttons)
        page = QWidget()
        row = QHBoxLayout(page)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(14)
        row.addLayout(left, 1)
        row.addLayout(right)
        return page

    def _tab(self, panel: QWidget, words: str) -> QToolButton:
        tab = QToolButton()
        tab.setText(words)
        tab.setProperty("part", "page")
        tab.setCheckable(True)
        tab.setAutoExclusive(True)
        tab.setMinimumHeight(theme.TARGET_PX)
        tab.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        tab.toggled.connect(self.on_tab)
        self.panels.addWidget(panel)
        return tab

    def _button(self, words: str, act: Callable[[], object]) -> QPushButton:
        button = QPushButton(words)
        button.setMinimumHeight(theme.TARGET_PX)
        button.setAutoDefault(False)
        button.clicked.connect(act)
        return button

    # --- beginning ---------------------------------------------------------------------------------------------------

    def _offer(self) -> None:
        self.setWindowTitle("Describe a circuit")
        self.begin_page = BeginPage(beginnings(self.desk))
        self.begin_page.chosen.connect(self.on_begin)
        self.begin_page.left.connect(self.reject)
        self.pages.addWidget(self.begin_page)
        self.pages.setCurrentWidget(self.begin_page)
        self.begin_page.find.setFocus()

    @Slot(object)
    def on_begin(self, circuit: Circuit) -> None:
        """Go on with a circuit to begin with, under an id that the job does not have yet."""
        self._begin(replace(circuit, id=editing.free_circuit_id(self.desk.job, circuit.id)))

    def _begin(self, circuit: Circuit) -> None:
        self.setWindowTitle(f"Circuit: {circuit.title or circuit.id}")
        self.pages.setCurrentWidget(self.editor)
        self._moments, self._now = [], -1
        self._keep(_Moment(circuit, ("element", circuit.elements[0].id) if circuit.elements else None, AS_FOUND))
        self.view.fit()
        self.view.setFocus()

    # --- what is shown -----------------------------------------------------------------------------------------------

    @property
    def circuit(self) -> Circuit:
        """The circuit as it stands in this window."""
        return self._moments[self._now].circuit

    def _keep(self, moment: _Moment) -> None:
        """Show a new state of things; what was undone before can no longer be redone."""
        self._moments[self._now + 1:] = [moment]
        self._now += 1
        self._show()

    def _turn_to(self, place: tuple[str, str] | None = None, setup: str | None = None) -> None:
        """Choose another place or setup: no edit, and nothing that is undone."""
        now = self._moments[self._now]
        self._moments[self._now] = _Moment(now.circuit, place or now.place, setup or now.setup)
        self._show()

    def _show(self) -> None:
        circuit, place, setup_id = self._moments[self._now]
        self.title.show_value(circuit.title)
        self.setups.clear()
        self.setups.addItem("as found", AS_FOUND)
        for setup in circuit.setups:
            if setup.id != AS_FOUND:
                self.setups.addItem(setup.title or setup.id, setup.id)
        self.setups.setCurrentIndex(max(0, self.setups.findData(setup_id)))
        self._draw(circuit, setup_id)
        self.view.mark(*([place] if place else []))
        if place is not None:
            self.view.stand_on(*place)
        self.element.show_place(circuit, place)
        self.setup_panel.show_setup(circuit, setup_id)
        self.undo.setEnabled(self._now > 0)
        self.redo.setEnabled(self._now + 1 < len(self._moments))

    def _draw(self, circuit: Circuit, setup_id: str) -> None:
        # Choosing another place draws nothing new.
        if self._drawn == (circuit, setup_id):
            return
        self._drawn = circuit, setup_id
        setup = next((setup for setup in circuit.setups if setup.id == setup_id), None)
        state, words = state_in(circuit, setup_id)
        self.remarks.setText(words)
        self.remarks.setVisible(bool(words))
        self.view.show_circuit(circuit, setup, state)

    @Slot(str)
    def say(self, words: str) -> None:
        """Say what is wrong, under the drawing."""
        self.problem.setText(words)
        self.problem.setVisible(bool(words))

    # --- editing -----------------------------------------------------------------------------------------------------

    def edit(self, act: Callable[..., Any], *args: Any, chosen: tuple[str, str] | None = None,
             setup: str | None = None, has_new: bool = False, **fields: Any) -> str:
        """Change the circuit by `act(circuit, ...)`; return what is wrong, or nothing.

        Parameters
        ----------
        act : callable
            Returns the changed circuit; with `has_new` also the name of the new element, which is then chosen.
        args, fields
            Further arguments of `act`.
        chosen : tuple[str, str], optional
            The place that is chosen afterwards.
        setup : str, optional
            The setup that is drawn afterwards.
        has_new : bool
            Whether `act` also returns the name of something new.
        """
        now = self._moments[self._now]
        try:
            changed = act(now.circuit, *args, **fields)
            if has_new:
                changed, name = changed
                chosen = ("element", name)
            if self._original is not None:
                editing.require_evidence(self.desk.job, changed)
        except EditRefusedError as error:
            self.say(str(error))
            return str(error)
        self.say("")
        self._is_warned = False
        if changed != now.circuit:
            place = chosen or now.place
            self._keep(_Moment(changed, place if _is_in(place, changed) else None, setup or now.setup))
        return ""

    @Slot()
    def on_remove(self) -> None:
        """Take the chosen element out, and choose what it hung on."""
        place = self._moments[self._now].place
        if place is None or place[0] != "element":
            self.say("Choose the element that is to go.")
            return
        kept = editing.names_in_evidence(self.desk.job, self.circuit)
        point = editing.points_of(editing.element_of(self.circuit, place[1]))[0]
        self.edit(editing.remove, place[1], kept, chosen=("point", point))

    @Slot(str, str)
    def on_title(self, _path: str, text: str) -> None:
        """Give the circuit another title."""
        self.edit(editing.with_title, text)

    @Slot(str)
    def on_point(self, name: str) -> None:
        """Choose a point."""
        self.element_tab.setChecked(True)
        self._turn_to(("point", name))

    @Slot(str)
    def on_element(self, name: str) -> None:
        """Choose an element."""
        self.element_tab.setChecked(True)
        self._turn_to(("element", name))

    @Slot()
    def on_setup(self) -> None:
        """Draw the circuit in another setup."""
        self._turn_to(setup=self.setups.currentData())

    @Slot()
    def on_rename(self) -> None:
        """Go to the name of what is chosen."""
        if self.pages.currentWidget() is not self.editor:
            return
        field = self.setup_panel.names.fields["id"]
        if self.panels.currentWidget() is self.element:
            field = self.element.first_field()
        if field is not None:
            field.setFocus()
            field.selectAll()

    @Slot()
    def on_tab(self) -> None:
        """Show the chosen place, or the setup."""
        self.panels.setCurrentWidget(self.element if self.element_tab.isChecked() else self.setup_panel)

    @Slot()
    def on_fit(self) -> None:
        self.view.fit()

    @Slot()
    def on_undo(self) -> None:
        """Go back to before the last edit."""
        if self._now > 0:
            self._now -= 1
            self._show_afresh()

    @Slot()
    def on_redo(self) -> None:
        """Make the edit again that was undone."""
        if self._now + 1 < len(self._moments):
            self._now += 1
            self._show_afresh()

    def _show_afresh(self) -> None:
        self.say("")
        for form in (self.element.form, self.setup_panel.names):
            form.forget_refused()
        self._show()

    def _used_by(self, what: str, name: str) -> tuple[str, ...]:
        """Return the test steps of the job that name a place; a new circuit has none."""
        if self._original is None:
            return ()
        return editing.used_by_steps(self.desk.job, self._original, name, what)

    # --- the end -----------------------------------------------------------------------------------------------------

    @Slot()
    def on_save(self) -> None:
        """Keep the circuit with the job."""
        if self.pages.currentWidget() is not self.editor:
            return
        self._hand_over()
        if self.problem.text():
            # What was typed last does not fit: it is put right before anything is kept.
            return
        if self._original is not None and self._stands() != self._original:
            self.say("Another bay changed this circuit meanwhile: close this window, look at it, and change it again.")
            return
        from workshop_log.jobs.testing import save_circuit

        circuit = self.circuit
        if self._original == circuit or self.desk.do(save_circuit, circuit):
            self.saved = circuit.id
            self.accept()

    def _hand_over(self) -> None:
        self.say("")
        for field in (self.title, *self.element.form.fields.values(), *self.setup_panel.names.fields.values()):
            if isinstance(field, LineField):
                field.hand_over()
                field.try_again()

    def _stands(self) -> Circuit | None:
        """Return the circuit as it stands in the job."""
        return next((c for c in self.desk.job.circuits if c.id == self._original.id), None)

    def reject(self) -> None:
        """Close; where something is not saved, only when it is said a second time."""
        is_changed = self._moments and (self._now > 0 or self._original is None)
        if is_changed and not self._is_warned and self.pages.currentWidget() is self.editor:
            self._is_warned = True
            self.say("This circuit is not saved yet: save it, or close once more to leave it as it was.")
            return
        super().reject()


def _is_in(place: tuple[str, str] | None, circuit: Circuit) -> bool:
    names = editing.names_of(circuit)
    return place is not None and place[1] in (names.points if place[0] == "point" else names.elements)
