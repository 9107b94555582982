"""Where an expected range comes from, when it is not typed: a rule, a sensor, a conductor, a battery."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from PySide6.QtCore import QSize, Qt, Slot
from PySide6.QtWidgets import (
    QComboBox,
    QDialog,
    QDialogButtonBox,
    QFormLayout,
    QHBoxLayout,
    QLineEdit,
    QListWidget,
    QListWidgetItem,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from workshop_log.desktop import theme
from workshop_log.desktop.fields import label, set_part
from workshop_log.errors import WorkshopLogError

if TYPE_CHECKING:
    from workshop_log.book.settings import Settings
    from workshop_log.exchange.records import Expected
    from workshop_log.measuring.ranges import ExpectedRange

SOURCES = ("Workshop's list and common practice", "Temperature sensor", "Conductor", "Battery at rest", "Typed")
# No length, resistance or temperature of a vehicle comes near it; own estimate.
LARGEST = 1e9
# Each kind of sensor with the lines that belong to it alone.
SENSORS = {
    "NTC, R25 and Beta": ("r25", "beta", "tolerance"),
    "NTC, Steinhart–Hart": ("a", "b", "c", "tolerance"),
    "Pt100": ("class",),
    "Thermocouple type K": ("junction",),
}


class RangeDialog(QDialog):
    """Choose or compute an expected range, with its source in words."""

    def __init__(self, parent: QWidget, settings: Settings) -> None:
        super().__init__(parent)
        self.setWindowTitle("Expected range of the next reading")
        self.setMinimumSize(720, 480)
        self._settings = settings
        self.sources = QListWidget()
        self.sources.setAccessibleName("Source of the expected range")
        for source in SOURCES:
            item = QListWidgetItem(source)
            item.setSizeHint(QSize(0, theme.TARGET_PX))
            self.sources.addItem(item)
        self.sources.setFixedWidth(270)
        self.sources.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.pages = QStackedWidget()
        for page in (self._rules_page(), self._sensor_page(), self._conductor_page(), self._battery_page(),
                     self._typed_page()):
            self.pages.addWidget(page)
        self.words = label("", "figure")
        self.source = label("", "faint")
        self.buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Ok | QDialogButtonBox.StandardButton.Cancel)
        self.ok = self.buttons.button(QDialogButtonBox.StandardButton.Ok)
        self.ok.setText("Use this range")
        for button in self.buttons.buttons():
            button.setMinimumHeight(theme.TARGET_PX)
        row = QHBoxLayout()
        row.addWidget(self.sources)
        row.addWidget(self.pages, 1)
        column = QVBoxLayout(self)
        column.addLayout(row, 1)
        column.addWidget(self.words)
        column.addWidget(self.source)
        column.addWidget(self.buttons)
        self.buttons.accepted.connect(self.accept)
        self.buttons.rejected.connect(self.reject)
        self.sources.currentRowChanged.connect(self.pages.setCurrentIndex)
        self.sources.currentRowChanged.connect(self.refresh)
        self.range: ExpectedRange | None = None
        self.sources.setCurrentRow(0)
        self.refresh()

    @classmethod
    def ask(cls, parent: QWidget, settings: Settings) -> tuple[Expected, str] | None:
        """Return the chosen range for the job file with its words, or None."""
        dialog = cls(parent, settings)
        accepted = dialog.exec() == QDialog.DialogCode.Accepted
        dialog.deleteLater()
        if not accepted or dialog.range is None:
            return None
        from workshop_log.jobs.testing import expected_record

        return expected_record(dialog.range), dialog.range.words()

    # --- pages -------------------------------------------------------------------------------------------------------

    def _rules_page(self) -> QWidget:
        page = QWidget()
        column = QVBoxLayout(page)
        column.setContentsMargins(0, 0, 0, 0)
        self.find = QLineEdit()
        self.find.setPlaceholderText("Search: ground, cranking, sleep…")
        self.find.setAccessibleName("Search the list of ranges")
        self.rules = QListWidget()
        self.rules.setAccessibleName("Ranges")
        self.rules.setWordWrap(True)
        self.rules.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        for rule in self._settings.rules:
            expected = rule.expected_range()
            condition = f", {rule.condition}" if rule.condition else ""
            item = QListWidgetItem(f"{rule.what}{condition}\n{expected.words()}")
            item.setData(Qt.ItemDataRole.UserRole, rule.id)
            self.rules.addItem(item)
        column.addWidget(self.find)
        column.addWidget(self.rules)
        self.find.textChanged.connect(self.on_find)
        self.rules.currentRowChanged.connect(self.refresh)
        self.rules.itemDoubleClicked.connect(self.accept)
        return page

    def _fields_page(
        self, fields: dict[str, tuple[str, str]], extra: QComboBox | None = None
    ) -> tuple[QWidget, dict[str, QLineEdit]]:
        page = QWidget()
        form = QFormLayout(page)
        form.setVerticalSpacing(8)
        if extra is not None:
            form.addRow(extra)
            extra.currentIndexChanged.connect(self.refresh)
        lines = {}
        for name, (title, value) in fields.items():
            line = lines[name] = QLineEdit(value)
            line.setAccessibleName(title)
            form.addRow(title, line)
            line.textChanged.connect(self.refresh)
        return page, lines

    def _sensor_page(self) -> QWidget:
        self.sensor = QComboBox()
        self.sensor.addItems(tuple(SENSORS))
        self.sensor.setAccessibleName("Kind of sensor")
        page, self.sensor_lines = self._fields_page(
            {
                "temperature": ("Temperature, °C", "20"),
                "known": ("Known to ±, °C", "1"),
                "r25": ("R at 25 °C, Ω", "2500"),
                "beta": ("Beta, K", "3468"),
                "a": ("Coefficient A, 1/K", ""),
                "b": ("Coefficient B, 1/K", ""),
                "c": ("Coefficient C, 1/K", ""),
                "tolerance": ("Tolerance of R, %", "3"),
                "class": ("Class: AA, A or B", "B"),
                "junction": ("Cold junction, °C", "20"),
            },
            self.sensor,
        )
        return page

    def _conductor_page(self) -> QWidget:
        self.material = QComboBox()
        self.material.addItems(("copper", "aluminium"))
        self.material.setAccessibleName("Material")
        page, self.conductor_lines = self._fields_page(
            {
                "length": ("Length, m", "2"),
                "section": ("Section, mm²", "2.5"),
                "current": ("Current, A (none: resistance)", "10"),
                "temperature": ("Conductor temperature, °C", "20"),
            },
            self.material,
        )
        return page

    def _battery_page(self) -> QWidget:
        page, self.battery_lines = self._fields_page(
            {
                "charge": ("State of charge at least, %", "75"),
                "nominal": ("Nominal voltage, V", "12"),
                "rested": ("Rested voltage read, V", ""),
                "capacity": ("Capacity, Ah", ""),
                "drain": ("Drain while parked, A", ""),
            }
        )
        self.battery_words = label("", "faint")
        page.layout().addRow(self.battery_words)
        return page

    def _typed_page(self) -> QWidget:
        page, self.typed_lines = self._fields_page(
            {
                "low": ("Lowest, with unit", ""),
                "high": ("Highest, with unit", ""),
                "source": ("Where it comes from", ""),
            }
        )
        return page

    # --- computing ---------------------------------------------------------------------------------------------------

    @Slot(str)
    def on_find(self, words: str) -> None:
        """Show the ranges that have all the words."""
        wanted = words.lower().split()
        for row in range(self.rules.count()):
            item = self.rules.item(row)
            item.setHidden(not all(word in item.text().lower() for word in wanted))
        self.refresh()

    @Slot()
    def refresh(self) -> None:
        """Compute the range from what is typed now."""
        makers = (self._from_rule, self._from_sensor, self._from_conductor, self._from_battery, self._from_typed)
        problem = ""
        try:
            self.range = makers[max(0, self.sources.currentRow())]()
        except WorkshopLogError as error:
            self.range, problem = None, str(error)
        except ValueError as error:
            self.range, problem = None, str(error)
        except ArithmeticError:
            self.range, problem = None, "These numbers lie too far apart to compute with: check each of them."
        self.words.setText(f"Expected: {self.range.words()}" if self.range else "")
        self.source.setText(self.range.source if self.range else problem)
        set_part(self.source, "part", "problem" if problem else "faint")
        self.ok.setEnabled(self.range is not None)

    def _from_rule(self) -> ExpectedRange | None:
        item = self.rules.currentItem()
        # What the search hides cannot be meant.
        if item is None or item.isHidden():
            return None
        return next(r for r in self._settings.rules if r.id == item.data(Qt.ItemDataRole.UserRole)).expected_range()

    def _from_sensor(self) -> ExpectedRange:
        from workshop_log.measuring import sensors

        lines = self.sensor_lines
        temperature, known = _number(lines["temperature"]), _number(lines["known"])
        kind = self.sensor.currentText()
        form = self.pages.currentWidget().layout()
        for name in {name for names in SENSORS.values() for name in names}:
            form.setRowVisible(lines[name], name in SENSORS[kind])
        numbers = {name: _number(lines[name]) for name in SENSORS[kind] if name != "class"}
        if kind == "NTC, R25 and Beta":
            sensor = sensors.NtcBeta(numbers["r25"], numbers["beta"], r25_percent=numbers["tolerance"])
            return sensor.expected_range(temperature, known)
        if kind == "NTC, Steinhart–Hart":
            curve = sensors.SteinhartHart(numbers["a"], numbers["b"], numbers["c"], percent=numbers["tolerance"])
            return curve.expected_range(temperature, known)
        if kind == "Pt100":
            return sensors.pt100_expected_range(temperature, known, lines["class"].text().strip().upper())
        return sensors.type_k_expected_range(temperature, known, numbers["junction"])

    def _from_conductor(self) -> ExpectedRange:
        from workshop_log.measuring import conductors

        lines = self.conductor_lines
        length, section, temperature = (_number(lines[n]) for n in ("length", "section", "temperature"))
        material = self.material.currentText()
        if not lines["current"].text().strip():
            return conductors.expected_resistance(length, section, material, temperature)
        return conductors.expected_drop(length, section, _number(lines["current"]), material, temperature)

    def _from_battery(self) -> ExpectedRange:
        from workshop_log.measuring.batteries import expected_rested_voltage

        self.battery_words.setText(self._about_the_battery())
        return expected_rested_voltage(_number(self.battery_lines["charge"]),
                                       nominal_v=_number(self.battery_lines["nominal"]))

    def _about_the_battery(self) -> str:
        """Return what the rested voltage says of the charge, and how long a drain takes to flatten the battery."""
        from workshop_log.measuring.batteries import charge_from_rested_voltage, drain_time

        lines, words = self.battery_lines, []
        if lines["rested"].text().strip():
            charge = charge_from_rested_voltage(_number(lines["rested"]), nominal_v=_number(lines["nominal"]))
            words.append(f"Rested at {lines['rested'].text().strip()} V: about {charge.percent:.0f} % charged "
                         f"({charge.source}). {charge.caution}")
        if lines["capacity"].text().strip() and lines["drain"].text().strip():
            time = drain_time(_number(lines["capacity"]), _number(lines["drain"]))
            long = f"{time.hours:.0f} hours" if time.hours < 48 else f"{time.hours / 24:.0f} days"
            words.append(f"From full to flat in about {long} ({time.method}). {time.caution}")
        return " ".join(words)

    def _from_typed(self) -> ExpectedRange | None:
        from workshop_log.exchange.records import Expected
        from workshop_log.exchange.values import expected_of

        low, high, source = (self.typed_lines[n].text().strip() for n in ("low", "high", "source"))
        if not low and not high:
            return None
        return expected_of(Expected(low=low or None, high=high or None, source=source or "typed by the technician"))


def _number(line: QLineEdit) -> float:
    """Return the number typed into a line."""
    text = line.text().strip().replace(",", ".").replace("−", "-")
    try:
        number = float(text)
    except ValueError:
        number = math.nan
    if not math.isfinite(number):
        raise ValueError(f"{line.accessibleName()}: “{line.text()}” is not a number.")
    if abs(number) > LARGEST:
        raise ValueError(f"{line.accessibleName()}: “{line.text()}” is larger than anything on a vehicle.")
    return number
