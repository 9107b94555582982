"""The workshop's own facts: letterhead, rates, people, instruments, ranges, and when a reading is inside or outside."""

from __future__ import annotations

import itertools
from decimal import Decimal, InvalidOperation
from typing import TYPE_CHECKING

from msgspec.structs import replace
from PySide6.QtCore import QSignalBlocker, Qt, Slot
from PySide6.QtWidgets import (
    QComboBox,
    QDialog,
    QDialogButtonBox,
    QHBoxLayout,
    QHeaderView,
    QLineEdit,
    QListWidget,
    QPushButton,
    QTableWidget,
    QTableWidgetItem,
    QTabWidget,
    QVBoxLayout,
    QWidget,
)

from workshop_log.desktop.fields import ChoiceField, Form, LineField, TextField, label, tip
from workshop_log.desktop.settings_mail import MailPage
from workshop_log.desktop.settings_papers import PapersPage
from workshop_log.errors import WorkshopLogError

if TYPE_CHECKING:
    from workshop_log.desktop.desk import Desk
    from workshop_log.exchange.records import Instrument

TAX_RULES = (
    ("total half up", "on the total, rounded half up"),
    ("total down", "on the total, rounded down to a whole penny"),
    ("line half up", "on each line, rounded half up"),
    ("line tenth down", "on each line, down to a tenth of a penny, then the total down"),
)
RANGE_HEADINGS = ("Quantity", "Up to", "± %", "+ counts", "One count")
RULE_HEADINGS = ("What", "Lowest", "Highest", "Unit", "Condition")
KINDS = ("multimeter", "clamp", "test lamp", "thermometer", "gauge", "battery tester", "oscilloscope")


class SettingsDialog(QDialog):
    """Everything saves when the cursor leaves it; closing is all that is left to do."""

    def __init__(self, parent: QWidget, desk: Desk) -> None:
        super().__init__(parent)
        self.desk = desk
        self.setWindowTitle("Workshop and instruments")
        self.resize(860, 620)
        self.problem = label("", "problem")
        self.problem.hide()
        self.tabs = QTabWidget()
        self.tabs.addTab(self._workshop_page(), "Workshop")
        self.people = _PeoplePage(self)
        self.tabs.addTab(self.people, "People")
        self.tabs.addTab(_InstrumentsPage(self), "Instruments")
        self.tabs.addTab(_RulesPage(self), "Ranges")
        self.tabs.addTab(self._verdict_page(), "Verdicts")
        self.papers = PapersPage(self)
        self.tabs.addTab(self.papers, "Papers")
        self.mail = MailPage(self)
        self.tabs.addTab(self.mail, "Email")
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
        buttons.rejected.connect(self.reject)
        column = QVBoxLayout(self)
        column.addWidget(self.tabs, 1)
        column.addWidget(self.problem)
        column.addWidget(buttons)

    @classmethod
    def ask(cls, parent: QWidget, desk: Desk, page: str = "Workshop") -> None:
        """Show a page of the settings until they are closed; jobs taken in from then on use them."""
        dialog = cls(parent, desk)
        dialog.workshop.fields["name"].setFocus()
        titles = [dialog.tabs.tabText(number) for number in range(dialog.tabs.count())]
        dialog.tabs.setCurrentIndex(titles.index(page))
        dialog.exec()
        dialog.deleteLater()
        desk.forget_settings()

    # --- workshop ----------------------------------------------------------------------------------------------------

    def _workshop_page(self) -> QWidget:
        form = self.workshop = Form()
        form.add_field("&Name", LineField("name"), span=2)
        form.add_field("&Address", TextField("address", lines=3), span=2)
        form.add_field("Tele&phone", LineField("phone"))
        form.add_field("&Email", LineField("email"), column=1, same_row=True)
        form.add_field("&Tax number", LineField("tax_number"))
        form.add_field("&Currency", LineField("currency"), "three letters", column=1, same_row=True)
        form.add_field("&Labour, per hour without tax", LineField("labour_rate"), "for example 64.00")
        form.add_field("Ta&x, %", LineField("tax_rate"), "for example 20", column=1, same_row=True)
        form.add_field("Tax is &rounded", ChoiceField("tax_rule", TAX_RULES), span=2)
        form.add_field(
            "What a come-&back costs", LineField("come_back"), "added to what being wrong would cost", span=2
        )
        for name, field in form.fields.items():
            value = self.desk.settings.come_back if name == "come_back" else getattr(self.desk.settings.workshop, name)
            field.show_value("" if value is None else str(value))
        form.edited.connect(self.on_workshop)
        form.grid.setRowStretch(100, 1)
        return _padded(form)

    @Slot(str, str)
    def on_workshop(self, name: str, text: str) -> None:
        """Save one fact of the workshop."""
        from workshop_log.exchange.records import Job
        from workshop_log.jobs.fields import read_field

        workshop = self.desk.settings.workshop
        # What a come-back costs is money, as a rate is.
        path = f"workshop.{'labour_rate' if name == 'come_back' else name}"
        try:
            value = read_field(path, text, Job(workshop=workshop))
            if name == "currency" and not (len(value) == 3 and value.isascii() and value.isalpha()):
                raise WorkshopLogError(f"A currency has three letters, as GBP or EUR; “{text.strip()}” has not.")
        except WorkshopLogError as error:
            self.workshop.show_note(name, str(error), problem=True)
            return
        self.workshop.show_note(name, "", problem=False)
        if name == "come_back":
            self.save("come_back", value)
        else:
            self.save("workshop", replace(workshop, **{name: value}))

    def save(self, key: str, value: object) -> bool:
        """Keep one setting in the book."""
        from workshop_log.book.settings import save_setting

        def keep() -> None:
            with self.desk.book.session() as session:
                save_setting(session, key, value)

        done, _ = self.desk.attempt(keep)
        if done:
            self.desk.forget_settings()
        return done

    def say(self, words: str) -> None:
        """Say what is wrong with what was typed last."""
        self.problem.setText(words)
        self.problem.setVisible(bool(words))

    # --- verdicts ----------------------------------------------------------------------------------------------------

    def _verdict_page(self) -> QWidget:
        form = self.verdicts = Form()
        form.add_field("A reading is &inside from a probability of, %", LineField("inside"))
        form.add_field("A reading is &outside up to a probability of, %", LineField("outside"), column=1, same_row=True)
        limits = self.desk.settings.limits
        form.fields["inside"].show_value(f"{limits.inside * 100:g}")
        form.fields["outside"].show_value(f"{limits.outside * 100:g}")
        form.edited.connect(self.on_limits)
        form.grid.setRowStretch(100, 1)
        return _padded(form)

    @Slot(str, str)
    def on_limits(self, name: str, _text: str) -> None:
        """Save from when on a reading is inside or outside."""
        from workshop_log.measuring.verdict import VerdictLimits

        try:
            inside, outside = (float(_amount(self.verdicts.fields[n].text())) / 100 for n in ("inside", "outside"))
            limits = VerdictLimits(inside, outside)
        except WorkshopLogError as error:
            self.verdicts.show_note(name, str(error), problem=True)
            return
        for field in ("inside", "outside"):
            self.verdicts.show_note(field, "", problem=False)
        self.save("limits", limits)

    def done(self, result: int) -> None:
        """Save what is still being typed before the window closes."""
        for form in (self.workshop, self.people.form, self.verdicts, self.papers.form, self.mail.form):
            form.hand_over()
        super().done(result)


class _PeoplePage(QWidget):
    """Who works here: one name in each line."""

    def __init__(self, dialog: SettingsDialog) -> None:
        super().__init__()
        self.dialog = dialog
        form = self.form = Form()
        form.add_field("One &name in each line", TextField("persons", lines=8))
        form.fields["persons"].show_value("\n".join(dialog.desk.settings.persons))
        form.edited.connect(self.on_edited)
        column = QVBoxLayout(self)
        column.addWidget(form)
        column.addStretch(1)

    @Slot(str, str)
    def on_edited(self, _name: str, text: str) -> None:
        self.dialog.save("persons", tuple(dict.fromkeys(line.strip() for line in text.splitlines() if line.strip())))


class _InstrumentsPage(QWidget):
    """The workshop's instruments with their accuracy by range."""

    def __init__(self, dialog: SettingsDialog) -> None:
        super().__init__()
        self.dialog = dialog
        self.list = QListWidget()
        self.list.setAccessibleName("Instruments")
        self.list.setFixedWidth(210)
        self.add, self.remove = QPushButton("Add"), QPushButton("Remove")
        self.title, self.short = QLineEdit(), QLineEdit()
        self.title.setPlaceholderText("what it is called here")
        self.title.setAccessibleName("Title of the instrument")
        self.short.setPlaceholderText("short name, as typed: meter")
        self.short.setAccessibleName("Short name of the instrument")
        self.kind = QComboBox()
        self.kind.addItems(KINDS)
        self.kind.setAccessibleName("Kind of instrument")
        self.ranges = _table(RANGE_HEADINGS, "Ranges of the instrument")
        left, right, row = QVBoxLayout(), QVBoxLayout(), QHBoxLayout(self)
        left.addWidget(self.list)
        buttons = QHBoxLayout()
        buttons.addWidget(self.add)
        buttons.addWidget(self.remove)
        left.addLayout(buttons)
        for widget in (self.title, self.short, self.kind):
            right.addWidget(widget)
        right.addWidget(
            label(
                "Accuracy by range, from the instrument's data: ±(percent of the reading + counts of the last digit). "
                "The last line is for a further range.",
                "faint",
            )
        )
        right.addWidget(self.ranges, 1)
        row.addLayout(left)
        row.addLayout(right, 1)
        self.add.clicked.connect(self.on_add)
        self.remove.clicked.connect(self.on_remove)
        self.list.currentRowChanged.connect(self.on_chosen)
        self.title.editingFinished.connect(self.on_edited)
        self.short.editingFinished.connect(self.on_edited)
        self.kind.activated.connect(self.on_edited)
        self.ranges.cellChanged.connect(self.on_edited)
        self._list(0)

    @property
    def _instruments(self) -> tuple[Instrument, ...]:
        return self.dialog.desk.settings.instruments

    def _list(self, row: int) -> None:
        with QSignalBlocker(self.list):
            self.list.clear()
            self.list.addItems([i.title or i.id for i in self._instruments])
            self.list.setCurrentRow(min(row, self.list.count() - 1))
        self.on_chosen()

    @Slot()
    def on_chosen(self) -> None:
        """Show the chosen instrument."""
        row = self.list.currentRow()
        there = 0 <= row < len(self._instruments)
        for widget in (self.title, self.short, self.kind, self.ranges, self.remove):
            widget.setEnabled(there)
        if not there:
            return
        instrument = self._instruments[row]
        self.title.setText(instrument.title)
        self.short.setText(instrument.id)
        self.kind.setCurrentText(instrument.kind)
        with QSignalBlocker(self.ranges):
            self.ranges.setRowCount(len(instrument.ranges) + 1)
            for number, r in enumerate(instrument.ranges):
                for column, text in enumerate((r.quantity, r.up_to, f"{r.percent:g}", f"{r.counts:g}", r.resolution)):
                    self.ranges.setItem(number, column, QTableWidgetItem(text))
            for column in range(len(RANGE_HEADINGS)):
                self.ranges.setItem(len(instrument.ranges), column, QTableWidgetItem(""))

    @Slot()
    def on_add(self) -> None:
        """Add an instrument with the accuracy of an ordinary one, to be changed."""
        from workshop_log.exchange.records import Instrument, InstrumentRange

        taken = {i.id for i in self._instruments}
        name = next(n for n in ("meter", *(f"meter{k}" for k in range(2, 1000))) if n not in taken)
        ranges = (InstrumentRange(quantity="voltage", up_to="60 V", percent=0.8, counts=2, resolution="0.01 V"),
                  InstrumentRange(quantity="resistance", up_to="600 ohm", percent=0.8, counts=2, resolution="0.1 ohm"),
                  InstrumentRange(quantity="current", up_to="10 A", percent=0.8, counts=2, resolution="0.01 A"))
        new = Instrument(id=name, title="New multimeter", ranges=ranges)
        if self.dialog.save("instruments", (*self._instruments, new)):
            self._list(len(self._instruments) - 1)

    @Slot()
    def on_remove(self) -> None:
        row = self.list.currentRow()
        if self.dialog.save("instruments", tuple(i for n, i in enumerate(self._instruments) if n != row)):
            self._list(row)

    @Slot()
    def on_edited(self) -> None:
        """Save the instrument as it stands, or say what is wrong with it."""
        from workshop_log.exchange.records import InstrumentRange
        from workshop_log.exchange.values import instrument_of

        row = self.list.currentRow()
        if not 0 <= row < len(self._instruments):
            return
        before = self._instruments[row]
        try:
            short = self.short.text().strip()
            if not short or (short != before.id and short in {i.id for i in self._instruments}):
                raise WorkshopLogError("An instrument needs a short name of its own.")
            ranges = []
            for number in range(self.ranges.rowCount()):
                texts = [
                    (self.ranges.item(number, c).text().strip() if self.ranges.item(number, c) else "")
                    for c in range(5)
                ]
                if all(texts[i] for i in (0, 1, 4)):
                    ranges.append(
                        InstrumentRange(
                            quantity=texts[0],
                            up_to=texts[1],
                            percent=float(_amount(texts[2] or "0")),
                            counts=float(_amount(texts[3] or "0")),
                            resolution=texts[4],
                        )
                    )
            new: Instrument = replace(before, id=short, title=self.title.text().strip(), kind=self.kind.currentText(),
                                      ranges=tuple(ranges))
            instrument_of(new)
        except WorkshopLogError as error:
            self.dialog.say(str(error))
            return
        self.dialog.say("")
        if new != before and self.dialog.save(
            "instruments", tuple(new if n == row else i for n, i in enumerate(self._instruments))
        ):
            self._list(row)


class _RulesPage(QWidget):
    """The workshop's own list of ranges; it begins with the rules of thumb of the trade."""

    def __init__(self, dialog: SettingsDialog) -> None:
        super().__init__()
        self.dialog = dialog
        self.table = _table(RULE_HEADINGS, "Ranges")
        column = QVBoxLayout(self)
        column.addWidget(
            label(
                "Ranges to choose from while testing. Those the program came with are common practice without a "
                "source, and say so in the report; what you change or add becomes the workshop's own.",
                "faint",
            )
        )
        column.addWidget(self.table, 1)
        self._show()
        self.table.cellChanged.connect(self.on_edited)

    def _show(self) -> None:
        rules = self.dialog.desk.settings.rules
        with QSignalBlocker(self.table):
            self.table.setRowCount(len(rules) + 1)
            for row, rule in enumerate(rules):
                texts = (
                    rule.what,
                    "" if rule.low is None else f"{rule.low:g}",
                    "" if rule.high is None else f"{rule.high:g}",
                    rule.unit,
                    rule.condition,
                )
                for col, text in enumerate(texts):
                    item = QTableWidgetItem(text)
                    item.setToolTip(tip(rule.source))
                    self.table.setItem(row, col, item)
            for col in range(len(RULE_HEADINGS)):
                self.table.setItem(len(rules), col, QTableWidgetItem(""))

    @Slot(int, int)
    def on_edited(self, row: int, _column: int) -> None:
        """Save the changed range, or say what is wrong with it; a line without its text is taken away."""
        from workshop_log.measuring.rules import Rule

        rules = list(self.dialog.desk.settings.rules)
        what, low, high, unit, condition = (self.table.item(row, c).text().strip() for c in range(5))
        if not what and row < len(rules):
            rules.pop(row)
        elif what and unit and (low or high):
            try:
                new = Rule(
                    rules[row].id if row < len(rules) else _free_id({rule.id for rule in rules}),
                    what,
                    float(_amount(low)) if low else None,
                    float(_amount(high)) if high else None,
                    unit,
                    condition,
                    "the workshop's own list",
                )
            except WorkshopLogError as error:
                self.dialog.say(str(error))
                return
            rules[row:row + 1] = [new]
        else:
            return
        self.dialog.say("")
        if self.dialog.save("rules", tuple(rules)):
            self._show()


def _free_id(taken: set[str]) -> str:
    return next(name for name in (f"own-{number}" for number in itertools.count(1)) if name not in taken)


def _table(headings: tuple[str, ...], name: str) -> QTableWidget:
    table = QTableWidget(0, len(headings))
    table.setHorizontalHeaderLabels(headings)
    table.setAccessibleName(name)
    table.verticalHeader().hide()
    # Tab leaves the table; the arrows go through it.
    table.setTabKeyNavigation(False)
    table.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
    table.horizontalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Stretch)
    return table


def _padded(widget: QWidget) -> QWidget:
    box = QWidget()
    column = QVBoxLayout(box)
    column.addWidget(widget)
    column.addStretch(1)
    return box


def _amount(text: str) -> Decimal:
    """Return the number typed into a settings field."""
    try:
        number = Decimal(text.strip().replace(",", "."))
    except InvalidOperation:
        raise WorkshopLogError(f"“{text}” is not a number: type it as 64.00.") from None
    if not number.is_finite() or number < 0:
        raise WorkshopLogError(f"“{text}” cannot be used here: type a number from zero up.")
    return number
