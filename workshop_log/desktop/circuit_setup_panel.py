"""The setup that is drawn: what is on, pulled, unplugged and disconnected in it, and what is bridged."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, Slot
from PySide6.QtWidgets import (
    QComboBox,
    QGridLayout,
    QHBoxLayout,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from workshop_log.desktop import theme
from workshop_log.desktop.fields import Form, LineField, TickField, label, set_part
from workshop_log.exchange.records import Bridge
from workshop_log.jobs import circuit_editing as editing
from workshop_log.jobs.labels import point_words

if TYPE_CHECKING:
    from workshop_log.exchange.records import Circuit, Setup

# The list in the setup, its heading, and which kinds of element it offers; connectors come with `unplugged`.
_LISTS = (("on", "Switched on", ("switch", "relay")), ("pulled", "Pulled", ("fuse",)),
          ("unplugged", "Unplugged", ("relay",)),
          ("disconnected", "Disconnected", ("battery", "source", "wire", "ground point", "lamp", "motor", "heater",
                                            "coil", "sensor", "control unit", "load", "diode")))
_THROUGH = ("lamp", "fused lead")


class SetupPanel(QWidget):
    """Ticks for everything that a setup can say."""

    def __init__(self, edit: Callable[..., str], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._edit = edit
        self._circuit: Circuit | None = None
        self._setup = editing.AS_FOUND
        # What the ticks were made for: they are made again when there is something else to tick.
        self._made_for: object = None
        self.heading, self.words = label("", "heading"), label("", "faint")
        self.names = Form()
        self.names.add_field("Name", LineField("id"), span=2)
        self.names.add_field("In words", LineField("title"), "as the report says it", span=2)
        self.names.edited.connect(self.on_name)
        self.ticks: dict[tuple[str, str], TickField] = {}
        self.scroll = QScrollArea()
        self.scroll.setWidgetResizable(True)
        self.scroll.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.add, self.remove = QPushButton("Add a setup"), QPushButton("Remove this setup")
        for button in (self.add, self.remove):
            button.setMinimumHeight(theme.TARGET_PX)
            button.setAutoDefault(False)
        self.add.clicked.connect(self.on_add)
        self.remove.clicked.connect(self.on_remove)
        buttons = QHBoxLayout()
        buttons.addWidget(self.add)
        buttons.addWidget(self.remove)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 6, 0, 0)
        for widget in (self.heading, self.words, self.names):
            column.addWidget(widget)
        column.addWidget(self.scroll, 1)
        column.addLayout(buttons)

    # --- showing -----------------------------------------------------------------------------------------------------

    def show_setup(self, circuit: Circuit, setup_id: str) -> None:
        """Show what the circuit's setup says."""
        if setup_id != self._setup:
            self.names.forget_refused()
        self._circuit, self._setup = circuit, setup_id
        setup = self.setup()
        self.heading.setText(f"Setup: {setup.title or setup.id}" if setup else "Setup: as found")
        self.words.setText("" if setup else "Nothing is on and nothing pulled: every circuit has this setup. Choose "
                                            "another one above the drawing, or add one.")
        for widget in (self.names, self.scroll):
            widget.setVisible(setup is not None)
        self.words.setVisible(setup is None)
        self.remove.setEnabled(setup is not None)
        self.layout().setStretch(1, 0 if setup else 1)
        self.words.setAlignment(Qt.AlignmentFlag.AlignTop)
        if setup is None:
            return
        self.names.fields["id"].show_value(setup.id)
        self.names.fields["title"].show_value(setup.title)
        self._make_ticks(setup)
        for (key, name), tick in self.ticks.items():
            tick.show_value("yes" if name in getattr(setup, key) else "no")

    def setup(self) -> Setup | None:
        """Return the setup that is shown; None for as found."""
        return next((s for s in self._circuit.setups if s.id == self._setup and s.id != editing.AS_FOUND), None)

    def _offered(self, setup: Setup) -> dict[str, list[str]]:
        """Return what each list of a setup could name, and does name."""
        offered: dict[str, list[str]] = {}
        for key, _, kinds in _LISTS:
            names = [element.id for element in self._circuit.elements if element.kind in kinds]
            if key == "unplugged":
                connectors = dict.fromkeys(e.connector for e in self._circuit.elements if e.connector)
                names = [*connectors, *(name for name in names if name not in connectors)]
            offered[key] = [*names, *(name for name in getattr(setup, key) if name not in names)]
        return offered

    def _make_ticks(self, setup: Setup) -> None:
        offered = self._offered(setup)
        points = sorted(editing.names_of(self._circuit).points)
        wanted = (setup.id, offered, setup.bridges, points)
        if wanted == self._made_for:
            return
        self._made_for = wanted
        self.ticks = {}
        body = QWidget()
        column = QVBoxLayout(body)
        column.setContentsMargins(1, 4, 10, 4)
        column.setSpacing(2)
        titles = {element.id: element.title for element in self._circuit.elements}
        for key, heading, _ in _LISTS:
            if offered[key]:
                column.addWidget(_section(heading))
                column.addLayout(self._ticks_of(key, heading, offered[key], titles))
        column.addWidget(_section("Bridged for the test"))
        self._add_bridges(column, setup, points)
        column.addStretch(1)
        old = self.scroll.takeWidget()
        at = self.scroll.verticalScrollBar().value()
        if old is not None:
            old.hide()
            old.deleteLater()
        self.scroll.setWidget(body)
        self.scroll.verticalScrollBar().setValue(at)

    def _ticks_of(self, key: str, heading: str, names: list[str], titles: dict[str, str]) -> QGridLayout:
        grid = QGridLayout()
        grid.setSpacing(0)
        for index, name in enumerate(names):
            # An ampersand would mark a key.
            tick = TickField(f"{key}/{name}", name.replace("&", "&&"))
            tick.setAccessibleName(f"{heading}: {name}{', ' if titles.get(name) else ''}{titles.get(name, '')}")
            if titles.get(name):
                tick.setToolTip(titles[name].replace("&", "&amp;").replace("<", "&lt;"))
            tick.setMinimumHeight(34)
            tick.edited.connect(self.on_tick)
            grid.addWidget(tick, *divmod(index, 3))
            self.ticks[key, name] = tick
        for number in range(3):
            grid.setColumnStretch(number, 1)
        return grid

    def _add_bridges(self, column: QVBoxLayout, setup: Setup, points: list[str]) -> None:
        for number, bridge in enumerate(setup.bridges):
            ends = " to ".join(map(point_words, bridge.between))
            words = f"{bridge.through}{' ' + bridge.rating if bridge.rating else ''}, {ends}"
            take = QPushButton("Take away")
            take.setAccessibleName(f"Take away the bridge: {words}")
            take.setAutoDefault(False)
            take.setProperty("bridge", number)
            take.clicked.connect(self.on_take_bridge)
            row = QHBoxLayout()
            row.addWidget(label(words), 1)
            row.addWidget(take)
            column.addLayout(row)
        self.ends = (QComboBox(), QComboBox())
        self.through = QComboBox()
        for box, name in zip(self.ends, ("Bridge from point", "Bridge to point"), strict=True):
            box.setAccessibleName(name)
            for point in points:
                box.addItem(point_words(point), point)
        self.ends[1].setCurrentIndex(min(1, len(points) - 1))
        self.through.setAccessibleName("Bridged by")
        for through in _THROUGH:
            self.through.addItem(f"a {through}", through)
        for box in (*self.ends, self.through):
            box.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
            box.setMinimumContentsLength(6)
        lay = QPushButton("Lay")
        lay.setAccessibleName("Lay the bridge")
        lay.setAutoDefault(False)
        lay.clicked.connect(self.on_lay_bridge)
        first, second = QHBoxLayout(), QHBoxLayout()
        for box in self.ends:
            first.addWidget(box, 1)
        second.addWidget(self.through, 1)
        second.addWidget(lay)
        column.addLayout(first)
        column.addLayout(second)

    # --- editing -----------------------------------------------------------------------------------------------------

    @Slot(str, str)
    def on_name(self, key: str, text: str) -> None:
        """Name the setup, or say it in words."""
        field = self.names.fields[key]
        wanted = " ".join(text.split())
        wrong = self._edit(editing.change_setup, self._setup, **{key: text}, setup=wanted if key == "id" else None)
        if wrong:
            field.refuse()
        set_part(field, "problem", bool(wrong))

    @Slot(str, str)
    def on_tick(self, path: str, answer: str) -> None:
        """Switch something on in the setup, pull, unplug or disconnect it; or undo that."""
        key, _, name = path.partition("/")
        if self._edit(editing.set_in_setup, self._setup, key, name, answer == "yes"):
            self.ticks[key, name].show_value("no" if answer == "yes" else "yes")

    @Slot()
    def on_add(self) -> None:
        """Add a setup and name it next."""
        name = editing.free_setup(self._circuit)
        if not self._edit(editing.add_setup, name, setup=name):
            self.names.fields["id"].setFocus()
            self.names.fields["id"].selectAll()

    @Slot()
    def on_remove(self) -> None:
        self._edit(editing.remove_setup, self._setup, setup=editing.AS_FOUND)

    @Slot()
    def on_lay_bridge(self) -> None:
        """Lay a lamp or a fused lead between two points."""
        bridge = Bridge(between=tuple(box.currentData() for box in self.ends), through=self.through.currentData())
        self._edit(editing.change_setup, self._setup, bridges=(*self.setup().bridges, bridge))

    @Slot()
    def on_take_bridge(self) -> None:
        """Take a bridge away."""
        number = self.sender().property("bridge")
        bridges = self.setup().bridges
        self._edit(editing.change_setup, self._setup, bridges=(*bridges[:number], *bridges[number + 1:]))


def _section(words: str) -> QWidget:
    heading = label(words, "section")
    heading.setContentsMargins(0, 8, 0, 0)
    return heading
