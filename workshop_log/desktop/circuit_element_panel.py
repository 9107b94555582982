"""What is chosen in the drawing: an element with the fields of its kind, or a point with what lies at it."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import Qt, Slot
from PySide6.QtWidgets import (
    QCompleter,
    QHBoxLayout,
    QMenu,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from workshop_log.desktop import theme
from workshop_log.desktop.fields import ChoiceField, Form, LineField, label, set_part
from workshop_log.jobs import circuit_editing as editing
from workshop_log.jobs import circuit_fields
from workshop_log.jobs.labels import point_words

if TYPE_CHECKING:
    from PySide6.QtGui import QAction

    from workshop_log.exchange.records import Circuit
    from workshop_log.jobs.circuit_fields import FieldOfKind

    Edit = Callable[..., str]

# In the order in which they are usually wanted.
_MENU = ("wire", "fuse", "contact", "switch", "relay", "ground point", "lamp", "motor", "heater", "coil", "sensor",
         "control unit", "load", "diode", "source", "battery")
_POINT_KEYS = ("first", "second", "coil_first", "coil_second", "common", "normally_open", "normally_closed")
_WIDE = ("title", "faults")
# Below all fields.
_LAST_ROW = 200


def words_of_kind(kind: str) -> str:
    """Return a kind as it stands in a list: "Ground point"."""
    return f"{kind[0].upper()}{kind[1:]}"


class ElementPanel(QWidget):
    """The chosen element or point, and what can be done with it.

    Parameters
    ----------
    edit : callable
        Takes a function of the circuit with its further arguments; returns what is wrong, or nothing.
    remove : callable
        Takes the chosen element out.
    used_by : callable
        Returns the test steps that name an element or a point, by "element" or "point" and its name.
    """

    def __init__(self, edit: Edit, remove: Callable[[], object], used_by: Callable[[str, str], tuple[str, ...]],
                 parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._edit = edit
        self._used_by = used_by
        self._circuit: Circuit | None = None
        self._place: tuple[str, str] | None = None
        # The form is made again where other fields are needed: for another kind, or for a point.
        self._form_for = ""
        self.heading, self.between = label("", "heading"), label("", "faint")
        self.form = _PanelForm()
        self.scroll = QScrollArea()
        self.scroll.setWidgetResizable(True)
        self.scroll.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.before = self._menu_button("Insert before", self.on_insert_before)
        self.after = self._menu_button("Insert after", self.on_insert_after)
        self.branch = self._menu_button("Branch here", self.on_branch)
        self.split = self._button("Split at a connector", self.on_split)
        self.remove = self._button("Remove", remove)
        self.split.setToolTip("The wire becomes two, with a pin between them")
        self.branch.setToolTip("A new element from this point; for an element, from where it leads to")
        self.remove.setToolTip("Delete; what only leads current is bridged")
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 6, 0, 0)
        column.addWidget(self.heading)
        column.addWidget(self.between)
        column.addWidget(self.scroll, 1)
        for buttons in ((self.before, self.after, self.branch), (self.split, self.remove)):
            row = QHBoxLayout()
            row.setSpacing(6)
            for button in buttons:
                row.addWidget(button, 2 if button is self.split else 1)
            column.addLayout(row)

    def _button(self, words: str, act: Callable[[], object]) -> QPushButton:
        button = QPushButton(words)
        button.setMinimumHeight(theme.TARGET_PX)
        button.setAutoDefault(False)
        button.clicked.connect(act)
        return button

    def _menu_button(self, words: str, act: Callable[[QAction], object]) -> QPushButton:
        button = QPushButton(words)
        button.setMinimumHeight(theme.TARGET_PX)
        button.setAutoDefault(False)
        menu = QMenu(button)
        menu.setAccessibleName(words)
        for kind in _MENU:
            menu.addAction(words_of_kind(kind)).setData(kind)
        menu.triggered.connect(act)
        button.setMenu(menu)
        return button

    # --- showing -----------------------------------------------------------------------------------------------------

    def show_place(self, circuit: Circuit, place: tuple[str, str] | None) -> None:
        """Show a place of the circuit: ("point" or "element", name)."""
        if place != self._place:
            self.form.forget_refused()
        self._circuit, self._place = circuit, place
        is_element = place is not None and place[0] == "element"
        for button in (self.before, self.after, self.remove):
            button.setVisible(is_element)
        self.branch.setVisible(place is not None)
        self.split.setVisible(is_element and editing.element_of(circuit, place[1]).kind == "wire")
        if place is None:
            self._show_nothing()
        elif is_element:
            self._show_element(place[1])
        else:
            self._show_point(place[1])

    def _show_nothing(self) -> None:
        self.heading.setText("Nothing chosen")
        self.between.setText("Press an element or a point of the drawing, or go there with the arrow keys and press "
                             "Enter.")
        self._use_form("", lambda _form: None)

    def _show_element(self, name: str) -> None:
        element = editing.element_of(self._circuit, name)
        self.heading.setText(f"{words_of_kind(element.kind)} {name}")
        way = element.between or tuple(filter(None, (element.common, element.normally_open
                                                     or element.normally_closed)))
        self.between.setText(f"from {point_words(way[0])} to {point_words(way[1])}"
                             f"{self._evidence_words('element', name)}")
        self._use_form(element.kind, self._fill_element_form)
        values = {"id": name, "kind": element.kind}
        values |= {key: circuit_fields.text_of(element, key) for key in self.form.fields if key not in values}
        assumed = circuit_fields.assumed(self._circuit, name)
        for key, field in self.form.fields.items():
            field.show_value(point_words(values[key]) if key in _POINT_KEYS else values[key])
            if isinstance(field, LineField):
                self._show_assumed(field, assumed.get(key, ""))
            elif key != "kind":
                field.setItemText(0, f"{assumed[key]} (assumed)" if key in assumed else "not said")
        self._offer_points()

    def _evidence_words(self, what: str, name: str) -> str:
        steps = self._used_by(what, name)
        if not steps:
            return ""
        return f"; tested in {', '.join(steps)}, so the name stays"

    def _show_assumed(self, field: LineField, words: str) -> None:
        field.setPlaceholderText(words)
        field.setAccessibleDescription(f"Assumed: {words}" if words else "")

    def _fill_element_form(self, form: _PanelForm) -> None:
        kind = self._form_for
        # A relay has more ends than the others and becomes none of them.
        kinds = ("relay",) if kind == "relay" else tuple(k for k in _MENU if k != "relay")
        form.add_field("Name", LineField("id"))
        form.add_field("Kind", ChoiceField("kind", tuple((k, words_of_kind(k)) for k in kinds)), column=1,
                       same_row=True)
        self._add_fields(form, circuit_fields.fields_of(kind))
        form.add_heading("For the case")
        self._add_fields(form, circuit_fields.CASE_FIELDS)

    def _add_fields(self, form: _PanelForm, fields: tuple[FieldOfKind, ...]) -> None:
        column = 0
        for field in fields:
            is_wide = field.key in _WIDE
            # The two ends of something stand beside each other.
            column = 0 if is_wide or field.key in ("first", "coil_first") else column
            widget = (ChoiceField(field.key, tuple((c, c or "not said") for c in field.choices)) if field.choices
                      else LineField(field.key))
            form.add_field(field.title, widget, column=column, same_row=column == 1, span=2 if is_wide else 1)
            column = 0 if is_wide else 1 - column

    def _offer_points(self) -> None:
        points = sorted(map(point_words, editing.names_of(self._circuit).points))
        for key in _POINT_KEYS:
            field = self.form.fields.get(key)
            if field is not None:
                completer = QCompleter(points, field)
                completer.setCaseSensitivity(Qt.CaseSensitivity.CaseInsensitive)
                field.setCompleter(completer)

    def _show_point(self, name: str) -> None:
        self.heading.setText(f"Point {point_words(name)}")
        at = [element.id for element in self._circuit.elements if name in editing.points_of(element)]
        where = f"the end of {at[0]}" if len(at) == 1 else f"where {', '.join(at[:-1])} and {at[-1]} meet"
        self.between.setText(f"{where}{self._evidence_words('point', name)}")
        self._use_form("point", lambda form: form.add_field("Name", LineField("id"), span=2))
        self.form.fields["id"].show_value(point_words(name))
        # Everything is measured against battery negative.
        self.form.fields["id"].setEnabled(name != editing.REFERENCE)

    def _use_form(self, wanted: str, fill: Callable[[_PanelForm], object]) -> None:
        """Show a new form, filled, unless the one that is shown is such a one."""
        if wanted == self._form_for and self.scroll.widget() is not None:
            return
        self._form_for = wanted
        old = self.scroll.takeWidget()
        if old is not None:
            # One of its fields may be what is reporting just now.
            old.hide()
            old.deleteLater()
        self.form = _PanelForm()
        fill(self.form)
        self.form.grid.setRowStretch(_LAST_ROW, 1)
        self.form.edited.connect(self.on_edited)
        self.scroll.setWidget(self.form)
        self.form.show()

    def first_field(self) -> QWidget | None:
        """Return the field of the name."""
        return self.form.fields.get("id")

    # --- editing -----------------------------------------------------------------------------------------------------

    @Slot(str, str)
    def on_edited(self, key: str, text: str) -> None:
        """Put what was typed into the circuit."""
        if self._place is None or self.sender() is not self.form:
            return
        what, name = self._place
        field = self.form.fields[key]
        if key == "id":
            act = editing.rename_point if what == "point" else editing.rename_element
            wrong = self._edit(act, name, text, chosen=(what, " ".join(text.split())))
        else:
            wrong = self._edit(circuit_fields.change, name, **{key: text})
        if field is not self.form.fields.get(key):
            return
        if wrong and isinstance(field, LineField):
            field.refuse()
        elif wrong:
            field.show_value(self._value_of(name, key))
        set_part(field, "problem", bool(wrong) and isinstance(field, LineField))

    def _value_of(self, name: str, key: str) -> str:
        element = editing.element_of(self._circuit, name)
        return element.kind if key == "kind" else circuit_fields.text_of(element, key)

    def _with_new(self, act: Callable[..., Any], *args: Any) -> None:
        """Make an edit that returns the circuit and the name of what is new in it, and choose that."""
        self._edit(act, *args, has_new=True)

    @Slot(object)
    def on_insert_before(self, action: QAction) -> None:
        self._with_new(editing.insert_in_series, self._place[1], action.data(), False)

    @Slot(object)
    def on_insert_after(self, action: QAction) -> None:
        self._with_new(editing.insert_in_series, self._place[1], action.data(), True)

    @Slot(object)
    def on_branch(self, action: QAction) -> None:
        what, name = self._place
        if what == "element":
            name = editing.point_behind(editing.element_of(self._circuit, name))
        self._with_new(editing.branch, name, action.data())

    @Slot()
    def on_split(self) -> None:
        self._with_new(editing.split_wire, self._place[1])


class _PanelForm(Form):
    """A form with headings between its fields."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.grid.setContentsMargins(1, 2, 10, 4)
        self.grid.setVerticalSpacing(5)
        self.grid.setColumnStretch(0, 1)
        self.grid.setColumnStretch(1, 1)

    def add_heading(self, words: str) -> None:
        """Set a heading across both columns."""
        self._row += 3
        heading = label(words, "section")
        heading.setContentsMargins(0, 12, 0, 0)
        self.grid.addWidget(heading, self._row, 0, 1, 2)
