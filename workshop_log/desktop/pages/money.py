"""Time and money: what was worked and what is charged, parts, the estimate, what was agreed, and what it comes to."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, Slot
from PySide6.QtWidgets import (
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QMessageBox,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from workshop_log.desktop.desk import now
from workshop_log.desktop.fields import (
    Card,
    LineField,
    PlainLine,
    QuietBox,
    TextField,
    empty,
    in_tab_order,
    label,
    tip,
)
from workshop_log.desktop.money_rows import OptionRow, PartRow, RowTable
from workshop_log.desktop.pages.page import Page, scrolling

if TYPE_CHECKING:
    from workshop_log.exchange.records import Job, TimeLine

HOW = (("in person", "in person"), ("telephone", "by telephone"), ("email", "by email"), ("message", "by message"),
       ("signed", "signed"))


class MoneyPage(Page):
    """The bill in the making."""

    def __init__(self, desk: object, parent: QWidget | None = None) -> None:
        super().__init__(desk, parent)
        left, right = QVBoxLayout(), QVBoxLayout()
        left.addWidget(self._time_card())
        left.addWidget(self._parts_card())
        left.addWidget(self._charges_card())
        right.addWidget(self._totals_card())
        right.addWidget(self._estimate_card())
        right.addWidget(self._approval_card())
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(scrolling((left, right), (3, 2)))

    # --- building ----------------------------------------------------------------------------------------------------

    def _time_card(self) -> Card:
        card = Card("Time")
        self.time_rows = RowTable(("Who", "From to", "Worked", "Charged, min", "What for"), (3, 1, 1, 2, 6), self)
        self.time_note = label("", "faint")
        card.body.addWidget(self.time_rows)
        card.body.addWidget(self.time_note)
        self.person = QuietBox()
        self.person.setEditable(True)
        self.person.setAccessibleName("Person at this machine")
        self.person.lineEdit().setPlaceholderText("who works here")
        row = QHBoxLayout()
        row.addWidget(label("At this machine works", "faint"))
        row.addWidget(self.person, 1)
        card.body.addLayout(row)
        self.person.lineEdit().editingFinished.connect(self.on_person)
        self.person.activated.connect(self.on_person)
        self.time_rows.before = self.person
        return card

    def _parts_card(self) -> Card:
        card = Card("Parts")
        self.part_rows = QVBoxLayout()
        self.part_rows.setSpacing(12)
        card.body.addLayout(self.part_rows)
        self._part_cards: dict[str, PartRow] = {}
        self._part_keys: tuple[str, ...] | None = None
        row = QHBoxLayout()
        self.part_name = PlainLine()
        self.part_name.setPlaceholderText("another part, then Enter")
        self.part_name.setAccessibleName("New part")
        row.addWidget(self.part_name, 1)
        card.body.addLayout(row)
        self.part_name.returnPressed.connect(self.on_part)
        return card

    def _charges_card(self) -> Card:
        card = Card("Anything else on the bill")
        self.charge_rows = RowTable(("What", "Amount without tax", ""), (6, 3, 1), self)
        card.body.addWidget(self.charge_rows)
        self.charge_name = PlainLine()
        self.charge_name.setPlaceholderText("cleaning material, disposal… then Enter")
        self.charge_name.setAccessibleName("New charge")
        card.body.addWidget(self.charge_name)
        self.charge_name.returnPressed.connect(self.on_charge)
        self.charge_rows.before = self.charge_name
        return card

    def _totals_card(self) -> Card:
        card = Card("What it comes to")
        self.totals = QGridLayout()
        self.totals.setColumnStretch(0, 1)
        card.body.addLayout(self.totals)
        self.beyond = label("", "caution")
        self.open_questions = label("", "faint")
        card.body.addWidget(self.beyond)
        card.body.addWidget(self.open_questions)
        buttons = QHBoxLayout()
        self.handed_back = QPushButton("Vehicle handed back")
        self.settled = QPushButton("Bill settled")
        buttons.addWidget(self.handed_back)
        buttons.addWidget(self.settled)
        card.body.addLayout(buttons)
        self.handed_back.clicked.connect(self.on_handed_back)
        self.settled.clicked.connect(self.on_settled)
        return card

    def _estimate_card(self) -> Card:
        card = Card("Estimate: ways to go on")
        self.option_rows = QVBoxLayout()
        self.option_rows.setSpacing(10)
        card.body.addLayout(self.option_rows)
        self.option_name = PlainLine()
        self.option_name.setPlaceholderText("another way to go on, then Enter")
        self.option_name.setAccessibleName("New option")
        card.body.addWidget(self.option_name)
        self.option_name.returnPressed.connect(self.on_option)
        self._options: tuple[str, ...] | None = None
        self._option_cards: dict[str, OptionRow] = {}
        return card

    def _approval_card(self) -> Card:
        card = Card("What the customer agreed to")
        # The way to go on whose approval is being written down.
        self._option: str | None = None
        self._option_of = ""
        self.approvals = label("", "")
        card.body.addWidget(self.approvals)
        self.approval_hint = label("", "hint")
        self.approval_hint.hide()
        card.body.addWidget(self.approval_hint)
        row = QHBoxLayout()
        self.amount = QLineEdit()
        self.amount.setPlaceholderText("up to how much, tax included")
        self.amount.setAccessibleName("Approved up to")
        self.by = QLineEdit()
        self.by.setPlaceholderText("by whom")
        self.by.setAccessibleName("Approved by")
        row.addWidget(self.amount, 1)
        row.addWidget(self.by, 1)
        card.body.addLayout(row)
        foot = QHBoxLayout()
        self.how = QuietBox()
        self.how.setAccessibleName("How it was approved")
        for value, words in HOW:
            self.how.addItem(words, value)
        self.approve = QPushButton("Record approval")
        foot.addWidget(self.how, 1)
        foot.addWidget(self.approve)
        card.body.addLayout(foot)
        self.words = QLineEdit()
        self.words.setPlaceholderText("in which words")
        self.words.setAccessibleName("Words of the approval")
        card.body.addWidget(self.words)
        self.approve.clicked.connect(self.on_approve)
        return card

    # --- showing -----------------------------------------------------------------------------------------------------

    def show_job(self, job: Job | None) -> None:
        """Show times, parts and money."""
        if job is None:
            return
        from workshop_log.jobs.money import beyond_approval, totals

        moment = now()
        if self._option is not None and (
                job.number != self._option_of or self._option not in {option.id for option in job.estimate}):
            self._forget_option()
        bill = totals(job, moment)
        self._lines = {line.id: line for line in job.clock}
        self.time_rows.show_rows(
            tuple((line.id, line.end) for line in job.clock), lambda key: self._time_row(self._lines[key[0]]), job
        )
        self.time_note.setText("" if job.clock else "No time yet: the clock is in the strip above.")
        self.time_note.setVisible(not job.clock)
        self._show_parts(job)
        self.charge_rows.show_rows(tuple(c.id for c in job.charges), self._charge_row, job)
        self._show_totals(bill)
        beyond = beyond_approval(job, moment)
        self.beyond.setVisible(beyond is not None)
        self.beyond.setText(beyond.words if beyond else "")
        self.open_questions.setText("\n".join(bill.open_questions))
        self.open_questions.setVisible(bool(bill.open_questions))
        self._show_options(job)
        self._show_approvals(job)
        self._show_person()
        self.handed_back.setEnabled(job.handed_back is None)
        self.settled.setEnabled(job.settled is None)

    def _time_row(self, line: TimeLine) -> tuple[QWidget | None, ...]:
        from workshop_log.jobs.labels import minutes_words
        from workshop_log.jobs.money import worked_minutes

        start = line.start.astimezone()
        end = f"{line.end.astimezone():%H:%M}" if line.end else "now"
        worked = minutes_words(float(worked_minutes(line, now()))) if line.end else "runs"
        when, for_how_long = QLabel(f"{start:%d %b}, {start:%H:%M} to {end}"), QLabel(worked)
        return (label(line.person), when, for_how_long,
                LineField(f"clock/{line.id}/billed_minutes"), LineField(f"clock/{line.id}/what"))

    def _show_parts(self, job: Job) -> None:
        self._parts = {part.id: part for part in job.parts}
        keys = (job.number, *self._parts)
        if keys != self._part_keys:
            self._part_keys = keys
            empty(self.part_rows)
            self._part_cards = {part_id: PartRow(part_id, self) for part_id in self._parts}
            for card in self._part_cards.values():
                self.part_rows.addWidget(card)
            in_tab_order(self.part_name, self._part_cards.values())
        for part in job.parts:
            self._part_cards[part.id].show_part(part, job)

    def _charge_row(self, charge_id: str) -> tuple[QWidget | None, ...]:
        remove = QPushButton("✕")
        remove.setProperty("part", "quiet")
        remove.setAccessibleName("Remove this charge")
        remove.clicked.connect(lambda: self.remove("charges", charge_id))
        return LineField(f"charges/{charge_id}/what"), LineField(f"charges/{charge_id}/amount"), remove

    def _show_totals(self, bill: object) -> None:
        from workshop_log.jobs.labels import minutes_words
        from workshop_log.jobs.money import show_money

        empty(self.totals)

        def money(amount: object) -> str:
            return show_money(amount, bill.currency)

        charged, worked = minutes_words(float(bill.billed_minutes)), minutes_words(float(bill.worked_minutes))
        rows = (
            (f"Labour, {charged} charged of {worked} worked", money(bill.labour_net), ""),
            ("Parts", money(bill.parts_net), ""),
            ("Other", money(bill.other_net), ""),
            ("Without tax", money(bill.net), ""),
            (f"Tax {bill.tax_rate.normalize():f} %", money(bill.tax), ""),
            ("To pay", money(bill.gross), "figure"),
        )
        for row, (what, amount, part) in enumerate(rows):
            left, right = label(what, part or "faint"), label(amount, part)
            right.setAlignment(Qt.AlignmentFlag.AlignRight)
            self.totals.addWidget(left, row, 0)
            self.totals.addWidget(right, row, 1)

    def _show_options(self, job: Job) -> None:
        ids = tuple(option.id for option in job.estimate)
        if (job.number, *ids) != self._options:
            self._options = (job.number, *ids)
            empty(self.option_rows)
            self._option_cards = {}
            for option in job.estimate:
                card = self._option_cards[option.id] = OptionRow(option.id, self)
                self.option_rows.addWidget(card)
            in_tab_order(self.option_name, self._option_cards.values())
        for option in job.estimate:
            self._option_cards[option.id].show_option(option, job)

    def _show_approvals(self, job: Job) -> None:
        from workshop_log.jobs.money import show_money, standing_approvals

        lines = []
        for approval in standing_approvals(job):
            what = next((f" for “{o.title}”" for o in job.estimate if o.id == approval.option), "")
            amount = f" up to {show_money(approval.up_to, job.workshop.currency)}" if approval.up_to is not None else ""
            verb = "agreed" if approval.agreed else "refused"
            words = f": “{approval.words}”" if approval.words else ""
            lines.append(
                f"{approval.at.astimezone():%d %b %H:%M}  {approval.by} {verb}{amount}{what}, {approval.how}{words}"
            )
        self.approvals.setText("\n".join(lines) or "Nothing yet.")
        self.by.setPlaceholderText(f"by whom ({job.customer.name})" if job.customer.name else "by whom")

    def _show_person(self) -> None:
        known = [self.person.itemText(i) for i in range(self.person.count())]
        wanted = list(dict.fromkeys([*self.desk.settings.persons, *([self.desk.person] if self.desk.person else [])]))
        if known != wanted:
            self.person.clear()
            self.person.addItems(wanted)
        if not self.person.lineEdit().hasFocus():
            self.person.setCurrentText(self.desk.person)

    def hand_over(self) -> None:
        """Save whatever is still being typed."""
        for rows in (self.time_rows, self.charge_rows):
            rows.hand_over()
        for card in (*self._option_cards.values(), *self._part_cards.values()):
            card.hand_over()

    def first_focus(self) -> QWidget:
        """Begin with a new part."""
        return self.part_name

    # --- what the person does ----------------------------------------------------------------------------------------

    @Slot(str, str)
    def on_row_edited(self, path: str, text: str) -> None:
        """Save a field of a row; what is wrong with it is told, and the book keeps the earlier value."""
        problem = self.desk.edit(path, text)
        if problem:
            if isinstance(self.sender(), LineField | TextField):
                self.sender().refuse()
            self.desk.problem.emit(problem)

    @Slot()
    def on_person(self) -> None:
        """Change who works at this machine."""
        self.desk.set_person(self.person.currentText().strip())

    def remove(self, collection: str, item_id: str) -> None:
        """Take a part, a charge or an option off the job; the cursor goes to where another is added."""
        {"parts": self.part_name, "charges": self.charge_name, "estimate": self.option_name}[collection].setFocus()
        if self.desk.remove(collection, item_id):
            self.desk.told.emit("Taken off; Undo brings it back.")

    @Slot()
    def on_part(self) -> None:
        """Add a part."""
        from workshop_log.jobs.parts import add_part

        if self.part_name.text().strip() and self.desk.add("parts", add_part, self.part_name.text().strip()):
            self.part_name.clear()

    @Slot()
    def on_charge(self) -> None:
        """Add a charge."""
        from workshop_log.jobs.parts import add_charge

        if self.charge_name.text().strip() and self.desk.add("charges", add_charge, self.charge_name.text().strip()):
            self.charge_name.clear()

    def on_part_state(self, part_id: str, state: str) -> None:
        """Take the part a step further; what goes beyond the approval is said before it is ordered."""
        from workshop_log.jobs.money import would_exceed
        from workshop_log.jobs.parts import mark_part

        if state == "ordered":
            beyond = would_exceed(self.desk.job, self._parts[part_id], now())
            if beyond is not None and not self.confirm_beyond(beyond.words):
                return
        self.desk.do(mark_part, part_id, state, now())

    def confirm_beyond(self, words: str) -> bool:
        """Ask whether to go on beyond what was agreed."""
        answer = QMessageBox.question(
            self, "Beyond what was agreed", f"{words}\n\nOrder it all the same?",
            QMessageBox.StandardButton.Yes | QMessageBox.StandardButton.No, QMessageBox.StandardButton.No)
        return answer == QMessageBox.StandardButton.Yes

    @Slot()
    def on_option(self) -> None:
        """Add an option to the estimate."""
        from workshop_log.jobs.approving import add_option

        if self.option_name.text().strip() and self.desk.add("estimate", add_option, self.option_name.text().strip()):
            self.option_name.clear()

    @Slot()
    def on_approve(self) -> None:
        """Record what the customer agreed to."""
        self.approve_option(self._option, self.amount.text())

    def propose_option(self, option: str, gross: str) -> None:
        """Prepare the approval of one option: how and in which words is asked before it is recorded."""
        self._option, self._option_of = option, self.desk.job.number
        title = next(o.title for o in self.desk.job.estimate if o.id == option)
        if not self.amount.text():
            self.amount.setText(gross)
        self.approve.setText("Record approval of this way")
        self.approve.setToolTip(tip(title))
        self.approval_hint.setText(f"Agreed to “{title}”: how, by whom, in which words? Then record it.")
        self.approval_hint.show()
        self.words.setFocus()

    def approve_option(self, option: str | None, amount: str) -> None:
        """Record an approval, for one option or for the job."""
        from workshop_log.jobs.approving import approve_up_to

        by = self.by.text().strip() or self.desk.job.customer.name
        if self.desk.do(approve_up_to, amount, by, now(), how=self.how.currentData(), words=self.words.text().strip(),
                        option=option):
            for field in (self.amount, self.by, self.words):
                field.clear()
            self._forget_option()

    def _forget_option(self) -> None:
        self._option = None
        self.approve.setText("Record approval")
        self.approve.setToolTip("")
        self.approval_hint.hide()

    @Slot()
    def on_handed_back(self) -> None:
        from workshop_log.jobs.handing import hand_back

        self.desk.do(hand_back, now())

    @Slot()
    def on_settled(self) -> None:
        from workshop_log.jobs.handing import settle

        self.desk.do(settle, now())
