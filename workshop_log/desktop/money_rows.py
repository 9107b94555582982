"""The rows of the money page: bound fields in a table, a part, a way to go on."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, Slot
from PySide6.QtWidgets import QGridLayout, QPushButton, QWidget

from workshop_log.desktop.fields import ChoiceField, Field, LineField, TextField, TickField, empty, in_tab_order, label

if TYPE_CHECKING:
    from workshop_log.desktop.pages.money import MoneyPage
    from workshop_log.exchange.records import EstimateOption, Job, Part

RETURNABLE = (("", "returnable?"), ("yes", "can be returned"), ("no", "cannot be returned"))
# What the next step of a part is called, by the step it is at.
NEXT_STEP = {"": ("ordered", "Order"), "ordered": ("arrived", "Arrived"), "arrived": ("fitted", "Fitted")}


class RowTable(QWidget):
    """A heading and rows of bound fields; rows are made anew only when other things are listed.

    The desk saves what is typed into any of them.
    """

    def __init__(self, headings: tuple[str, ...], stretches: tuple[int, ...], page: MoneyPage) -> None:
        super().__init__()
        self.grid = QGridLayout(self)
        self.grid.setContentsMargins(0, 0, 0, 0)
        self.grid.setHorizontalSpacing(8)
        self.grid.setVerticalSpacing(4)
        self.headings, self.page = headings, page
        # What stands below the rows: the cursor comes to them before it.
        self.before: QWidget | None = None
        self.fields: dict[str, Field] = {}
        self._keys: tuple[str, tuple[object, ...]] | None = None
        for column, stretch in enumerate(stretches):
            self.grid.setColumnStretch(column, stretch)

    def show_rows(self, keys: tuple[object, ...], make: object, job: Job) -> None:
        """Show one row for each of `keys`; `make(key)` returns the row's widgets."""
        from workshop_log.jobs.intake import text_at

        # The number, too: another job may have items of the same names.
        if (job.number, keys) != self._keys:
            self._keys = (job.number, keys)
            self.fields = {}
            empty(self.grid)
            if keys:
                for column, heading in enumerate(self.headings):
                    self.grid.addWidget(label(heading, "faint"), 0, column)
            for row, key in enumerate(keys, 1):
                for column, widget in enumerate(make(key)):
                    if widget is None:
                        continue
                    self.grid.addWidget(widget, row, column, Qt.AlignmentFlag.AlignVCenter)
                    if isinstance(widget, LineField | TickField):
                        self.fields[widget.path] = widget
                        widget.setAccessibleName(f"{self.headings[column]}, row {row}")
                        widget.edited.connect(self.page.on_row_edited)
            if self.before is not None:
                in_tab_order(self.before, [item.widget() for item in map(self.grid.itemAt, range(self.grid.count()))])
        for path, field in self.fields.items():
            field.show_value(text_at(job, path))
        self.setVisible(bool(keys))

    def hand_over(self) -> None:
        """Save whatever is still being typed."""
        for field in self.fields.values():
            if isinstance(field, LineField):
                field.hand_over()


class PartRow(QWidget):
    """One part: what it is, from whom, what it costs, whether it can go back, and how far it has come."""

    def __init__(self, part_id: str, page: MoneyPage) -> None:
        super().__init__()
        self.part_id, self.page = part_id, page
        start = f"parts/{part_id}"
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setVerticalSpacing(4)
        titles = {"name": "Part", "number": "Number", "supplier": "Supplier", "quantity": "How many",
                  "price": "Price each", "cost": "Bought for"}
        self.fields: dict[str, Field] = {name: LineField(f"{start}/{name}") for name in titles}
        for name, title in titles.items():
            self.fields[name].setPlaceholderText(title.lower())
            self.fields[name].setAccessibleName(title)
        self.fields["cost"].setToolTip("What the workshop pays for one; never printed")
        self.fields["returnable"] = ChoiceField(f"{start}/returnable", RETURNABLE)
        self.fields["returnable"].setAccessibleName("Whether it can be returned")
        self.step = QPushButton("")
        self.state = label("", "faint")
        remove = QPushButton("✕")
        remove.setProperty("part", "quiet")
        remove.setAccessibleName("Remove this part")
        grid.addWidget(self.fields["name"], 0, 0, 1, 3)
        grid.addWidget(self.fields["number"], 0, 3)
        grid.addWidget(self.fields["supplier"], 0, 4)
        grid.addWidget(remove, 0, 5)
        for column, name in enumerate(("quantity", "price", "cost")):
            grid.addWidget(label(titles[name], "faint"), 1, column)
            grid.addWidget(self.fields[name], 2, column)
        grid.addWidget(self.fields["returnable"], 2, 3)
        grid.addWidget(self.state, 1, 4)
        grid.addWidget(self.step, 2, 4)
        for column, stretch in enumerate((2, 3, 3, 4, 5)):
            grid.setColumnStretch(column, stretch)
        for field in self.fields.values():
            field.edited.connect(page.on_row_edited)
        self.step.clicked.connect(self.on_step)
        remove.clicked.connect(lambda: page.remove("parts", part_id))

    def show_part(self, part: Part, job: Job) -> None:
        """Show the part as it stands."""
        from workshop_log.jobs.intake import text_at

        for field in self.fields.values():
            field.show_value(text_at(job, field.path))
        state = _part_state(part)
        self.state.setText(f"{state} {getattr(part, state).astimezone():%d %b}" if state else "not ordered")
        self.step.setVisible(state in NEXT_STEP)
        self._following, words = NEXT_STEP.get(state, ("", ""))
        self.step.setText(words)
        self.step.setAccessibleName(f"{part.name}: {self._following}")

    @Slot()
    def on_step(self) -> None:
        self.page.on_part_state(self.part_id, self._following)

    def hand_over(self) -> None:
        """Save what is being typed."""
        for field in self.fields.values():
            if isinstance(field, LineField):
                field.hand_over()


class OptionRow(QWidget):
    """One way to go on: what it is, what it would tell, what it costs."""

    def __init__(self, option_id: str, page: MoneyPage) -> None:
        super().__init__()
        self.option_id, self.page = option_id, page
        start = f"estimate/{option_id}"
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setVerticalSpacing(4)
        self.fields = {
            name: LineField(f"{start}/{name}") for name in ("title", "tells", "labour_minutes", "parts", "other")
        }
        hints = {"title": "what is done", "tells": "what it would tell or mend",
                 "labour_minutes": "minutes", "parts": "without tax", "other": "without tax"}
        kinds = {"parts": "parts, ", "other": "other costs, "}
        self.fields["tells"] = TextField(f"{start}/tells", lines=2)
        for name, field in self.fields.items():
            field.setPlaceholderText(hints[name])
            field.setAccessibleName(f"Option: {kinds.get(name, '')}{hints[name]}")
            field.edited.connect(page.on_row_edited)
        self.total = label("", "figure")
        self.total.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        self.agree = QPushButton("Agreed")
        self.remove = QPushButton("✕")
        self.remove.setProperty("part", "quiet")
        self.remove.setAccessibleName("Remove this option")
        grid.addWidget(self.fields["title"], 0, 0, 1, 3)
        grid.addWidget(self.remove, 0, 3)
        grid.addWidget(self.fields["tells"], 1, 0, 1, 4)
        for column, (name, title) in enumerate(
            (("labour_minutes", "Labour, min"), ("parts", "Parts"), ("other", "Other"))
        ):
            grid.addWidget(label(title, "faint"), 2, column)
            grid.addWidget(self.fields[name], 3, column)
        grid.addWidget(self.total, 2, 3)
        grid.addWidget(self.agree, 3, 3)
        self.agree.clicked.connect(self.on_agree)
        self.remove.clicked.connect(lambda: page.remove("estimate", option_id))
        self._gross = ""

    def show_option(self, option: EstimateOption, job: Job) -> None:
        """Show the option with what it comes to."""
        from workshop_log.jobs.intake import text_at
        from workshop_log.jobs.money import option_totals, show_money

        for field in self.fields.values():
            field.show_value(text_at(job, field.path))
        gross = option_totals(option, job.workshop).gross
        self._gross = str(gross)
        self.total.setText(show_money(gross, job.workshop.currency))
        self.total.setToolTip("tax included")

    @Slot()
    def on_agree(self) -> None:
        self.page.propose_option(self.option_id, self._gross)

    def hand_over(self) -> None:
        for field in self.fields.values():
            field.hand_over()


def _part_state(part: Part) -> str:
    for state in ("returned", "fitted", "arrived", "ordered"):
        if getattr(part, state) is not None:
            return state
    return ""
