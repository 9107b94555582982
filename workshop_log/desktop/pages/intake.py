"""Intake: the vehicle, the customer, the complaint in the customer's words, what was agreed at the desk."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QSignalBlocker, Qt, Signal, Slot
from PySide6.QtWidgets import QHBoxLayout, QLineEdit, QPushButton, QVBoxLayout, QWidget

from workshop_log.desktop.desk import now
from workshop_log.desktop.fields import (
    Card,
    ChoiceField,
    Form,
    LineField,
    PlainLine,
    TextField,
    TickField,
    empty,
    in_tab_order,
    label,
)
from workshop_log.desktop.pages.page import Page, scrolling
from workshop_log.desktop.photos import PhotoShelf

if TYPE_CHECKING:
    from workshop_log.exchange.records import Complaint, FaultCode, Job

# Each system of the vehicle has a tick of its own; together they are one field of the record.
SYSTEMS = "vehicle.systems/"
APPEARS = (("", "not known yet"), ("always", "always there"), ("comes and goes", "comes and goes"))
SUPPLIES = (("6 V", "6 V"), ("12 V", "12 V"), ("24 V", "24 V"), ("48 V", "48 V"))
# Words for the conditions of a complaint, to press instead of type.
CONDITIONS = ("cold", "hot", "wet", "on bumps", "while cranking", "engine running", "reversing", "parked overnight")
CODE_STATES = (("", "state not known"), ("stored", "stored"), ("pending", "pending"), ("present", "present"),
               ("history", "history"))


class IntakePage(Page):
    """Everything that is asked at the service desk."""

    def __init__(self, desk: object, parent: QWidget | None = None) -> None:
        super().__init__(desk, parent)
        self._complaint_ids: tuple[str, ...] = ()
        self._known: object = None
        left, right = QVBoxLayout(), QVBoxLayout()
        left.addWidget(self._vehicle_card())
        left.addWidget(self._customer_card())
        self.complaints = Card("Complaint, in the customer's words")
        self.complaint_rows = QVBoxLayout()
        self.complaints.body.addLayout(self.complaint_rows)
        self.add_complaint = QPushButton("Another complaint")
        self.add_complaint.setProperty("part", "quiet")
        self.complaints.body.addWidget(self.add_complaint, 0, Qt.AlignmentFlag.AlignLeft)
        right.addWidget(self.complaints)
        right.addWidget(self._codes_card())
        right.addWidget(self._agreed_card())
        photos = Card("Photos")
        self.photos = PhotoShelf(desk)
        photos.body.addWidget(self.photos)
        right.addWidget(photos)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(scrolling((left, right), (1, 1)))
        self.add_complaint.clicked.connect(self.on_add_complaint)

    # --- building ----------------------------------------------------------------------------------------------------

    def _vehicle_card(self) -> Card:
        card = Card("Vehicle")
        form = self.vehicle = self.register(Form())
        form.add_field("&Registration", LineField("vehicle.registration"), "plate")
        form.add_field("&Odometer", LineField("vehicle.odometer"), "61250 mi or 98 000 km", column=1, same_row=True)
        form.add_field("&VIN", LineField("vehicle.vin"), "17 characters", span=2)
        form.add_field("Ma&ke", LineField("vehicle.make"))
        form.add_field("&Model", LineField("vehicle.model"), column=1, same_row=True)
        form.add_field("&Year", LineField("vehicle.year"), "2027")
        form.add_field("Su&pply", ChoiceField("vehicle.nominal_supply", SUPPLIES), column=1, same_row=True)
        form.add_field(
            "", TickField(f"{SYSTEMS}pyrotechnic", "Pyrotechnic restraints (airbags, tensioners)"), span=2
        )
        form.add_field("", TickField(f"{SYSTEMS}high voltage", "High-voltage system"), span=2)
        form.grid.setColumnStretch(0, 1)
        form.grid.setColumnStretch(1, 1)
        card.body.addWidget(form)
        self.known = QPushButton("")
        self.known.hide()
        self.known.clicked.connect(self.on_known)
        card.body.addWidget(self.known)
        return card

    def _customer_card(self) -> Card:
        card = Card("Customer")
        form = self.customer = self.register(Form())
        form.add_field("&Name", LineField("customer.name"))
        form.add_field("Telep&hone", LineField("customer.phone"), column=1, same_row=True)
        form.add_field("Email", LineField("customer.email"), span=2)
        form.add_field("&Address", TextField("customer.address", lines=3), span=2)
        form.grid.setColumnStretch(0, 1)
        form.grid.setColumnStretch(1, 1)
        card.body.addWidget(form)
        return card

    def _codes_card(self) -> Card:
        card = Card("Fault codes read")
        row = QHBoxLayout()
        self.code_line = PlainLine()
        self.code_line.setPlaceholderText("B1234-11, then Enter")
        self.code_line.setAccessibleName("Fault code")
        self.code_state = ChoiceField("", CODE_STATES)
        self.code_state.setAccessibleName("State of the fault code")
        row.addWidget(self.code_line, 1)
        row.addWidget(self.code_state)
        card.body.addLayout(row)
        self.code_note = label("", "problem")
        self.code_note.hide()
        card.body.addWidget(self.code_note)
        self.code_rows = QVBoxLayout()
        self.code_rows.setSpacing(2)
        card.body.addLayout(self.code_rows)
        self.code_line.returnPressed.connect(self.on_code_entered)
        self.code_line.textEdited.connect(self.on_code_typed)
        return card

    def _agreed_card(self) -> Card:
        card = Card("Agreed at the desk")
        row = QHBoxLayout()
        self.agreed_amount = QLineEdit()
        self.agreed_amount.setPlaceholderText("up to how much, tax included")
        self.agreed_amount.setAccessibleName("Agreed up to")
        self.agreed_by = QLineEdit()
        self.agreed_by.setPlaceholderText("by whom")
        self.agreed_by.setAccessibleName("Agreed by")
        self.agree = QPushButton("Record")
        row.addWidget(self.agreed_amount, 2)
        row.addWidget(self.agreed_by, 2)
        row.addWidget(self.agree)
        card.body.addLayout(row)
        self.agreed_so_far = label("", "faint")
        card.body.addWidget(self.agreed_so_far)
        self.agree.clicked.connect(self.on_agreed)
        self.agreed_amount.returnPressed.connect(self.on_agreed)
        return card

    # --- showing -----------------------------------------------------------------------------------------------------

    def show_job(self, job: Job | None) -> None:
        """Show what is known at the desk."""
        if job is None:
            return
        from workshop_log.jobs.intake import text_at
        from workshop_log.jobs.photos import standing_photos

        self._build_complaints(job)
        for form in self.forms:
            for path, field in form.fields.items():
                if path.startswith(SYSTEMS):
                    field.show_value("yes" if path.removeprefix(SYSTEMS) in job.vehicle.systems else "no")
                else:
                    field.show_value(text_at(job, path))
        self._show_vin(job.vehicle.vin)
        self._show_codes(job.fault_codes)
        self._show_agreed(job)
        self.photos.show_photos(tuple(p for p in standing_photos(job) if p.step is None))

    def _build_complaints(self, job: Job) -> None:
        ids = tuple(c.id for c in job.complaints)
        if ids == self._complaint_ids:
            return
        self._complaint_ids = ids
        keep = {id(form) for form in (self.vehicle, self.customer)}
        self.forms = [form for form in self.forms if id(form) in keep]
        empty(self.complaint_rows)
        boxes = [self._complaint_form(complaint, number, len(ids))
                 for number, complaint in enumerate(job.complaints, 1)]
        for box in boxes:
            self.complaint_rows.addWidget(box)
        in_tab_order(self.add_complaint, boxes)

    def _complaint_form(self, complaint: Complaint, number: int, of: int) -> QWidget:
        box = QWidget()
        column = QVBoxLayout(box)
        column.setContentsMargins(0, 0, 0, 0)
        form = self.register(Form())
        start = f"complaints/{complaint.id}"
        which = f" {number}" if of > 1 else ""
        words = form.add_field(f"&What is wrong{which}", TextField(f"{start}/words", lines=3),
                               "as the customer says it", span=2)
        words.setObjectName(f"complaint-{complaint.id}")
        form.add_field("&It is", ChoiceField(f"{start}/appears", APPEARS))
        form.add_field("When, un&der what conditions", LineField(f"{start}/conditions"), "cold, wet, after an hour…",
                       column=1, same_row=True)
        form.grid.setColumnStretch(0, 2)
        form.grid.setColumnStretch(1, 3)
        column.addWidget(form)
        column.addWidget(_ConditionChips(form.fields[f"{start}/conditions"]))
        foot = QHBoxLayout()
        ticks = self.register(Form())
        ticks.add_field("", TickField(f"{start}/confirmed", "Confirmed: I have seen it myself"))
        foot.addWidget(ticks, 1)
        if of > 1:
            remove = QPushButton("Remove")
            remove.setProperty("part", "quiet")
            remove.setAccessibleName(f"Remove complaint {number}")
            remove.clicked.connect(lambda: self.desk.remove("complaints", complaint.id))
            foot.addWidget(remove)
        column.addLayout(foot)
        return box

    def _show_vin(self, vin: str) -> None:
        if not vin:
            self.vehicle.show_note("vehicle.vin", "", problem=False)
            return
        from workshop_log.exchange.vin import check_vin

        checked = check_vin(vin)
        years = " or ".join(str(year) for year in checked.model_years)
        good = f"Well formed{f', model year {years}' if years else ''}."
        self.vehicle.show_note("vehicle.vin", " ".join(checked.findings) or good, problem=bool(checked.findings))

    def _show_codes(self, codes: tuple[FaultCode, ...]) -> None:
        from workshop_log.exchange.fault_codes import read_fault_code

        empty(self.code_rows)
        for code in codes:
            self.code_rows.addWidget(_CodeRow(code, read_fault_code(code.code).words(), self))

    def _show_agreed(self, job: Job) -> None:
        from workshop_log.jobs.money import approved, show_money

        agreed = approved(job)
        if agreed is None:
            self.agreed_so_far.setText(
                "Nothing agreed yet. What goes beyond an agreed amount is flagged before it is done."
            )
            return
        limit = (
            f"up to {show_money(agreed.up_to, job.workshop.currency)}"
            if agreed.up_to is not None
            else "without a limit"
        )
        self.agreed_so_far.setText(f"Agreed {limit} by {agreed.by or 'the customer'}, {agreed.how}, "
                                   f"{agreed.at.astimezone():%d %b %H:%M}.")
        if not self.agreed_by.text():
            with QSignalBlocker(self.agreed_by):
                self.agreed_by.setPlaceholderText(f"by whom ({job.customer.name})" if job.customer.name else "by whom")

    def first_focus(self) -> QWidget:
        """Begin with the plate."""
        return self.vehicle.fields["vehicle.registration"]

    # --- what the person does ----------------------------------------------------------------------------------------

    @Slot(str, str)
    def on_edited(self, path: str, text: str) -> None:
        """Save a field; a plate or VIN that the book knows offers its facts."""
        if path.startswith(SYSTEMS):
            there = [system for system in self.desk.job.vehicle.systems if system != path.removeprefix(SYSTEMS)]
            if text == "yes":
                there.append(path.removeprefix(SYSTEMS))
            path, text = SYSTEMS.removesuffix("/"), "\n".join(there)
        super().on_edited(path, text)
        if path == "vehicle.vin" and self.desk.job:
            self._show_vin(self.desk.job.vehicle.vin)
        if path in ("vehicle.registration", "vehicle.vin", "customer.name", "customer.phone"):
            self._offer_known(path, text)

    def _offer_known(self, path: str, text: str) -> None:
        from workshop_log.book.known import known_customers, known_vehicles

        look_up = known_vehicles if path.startswith("vehicle") else known_customers
        with self.desk.book.read() as session:
            found = [k for k in look_up(session, text) if k.number != self.desk.job.number] if text.strip() else []
        self._known = found[0] if found else None
        self.known.setVisible(bool(found))
        if found:
            self.known.setText(f"Known: {found[0].words}. Take over what the book knows")

    @Slot()
    def on_known(self) -> None:
        """Take over the facts of the known vehicle or customer."""
        if self._known is not None:
            self.desk.do(_intake().recognise, self._known)
        self.known.hide()

    @Slot()
    def on_add_complaint(self) -> None:
        """Add a complaint and put the cursor into it."""
        if self.desk.add("complaints", _intake().add_complaint) and self.desk.job:
            field = self.findChild(TextField, f"complaint-{self.desk.job.complaints[-1].id}")
            if field is not None:
                field.setFocus()

    @Slot(str)
    def on_code_typed(self, _text: str) -> None:
        self.code_note.hide()

    @Slot()
    def on_code_entered(self) -> None:
        """Take the code down, or say what is wrong with it."""
        from workshop_log.exchange.fault_codes import FaultCodeError, read_fault_code

        text = self.code_line.text().strip()
        if not text:
            return
        try:
            read_fault_code(text)
        except FaultCodeError as error:
            self.code_note.setText(str(error))
            self.code_note.show()
            return
        if self.desk.add("fault_codes", _intake().add_fault_code, text, state=self.code_state.currentData()):
            self.code_line.clear()

    @Slot()
    def on_agreed(self) -> None:
        """Record what the customer agreed to."""
        from workshop_log.jobs.approving import approve_up_to

        by = self.agreed_by.text().strip() or self.desk.job.customer.name
        if self.desk.do(approve_up_to, self.agreed_amount.text(), by, now()):
            self.agreed_amount.clear()
            self.agreed_by.clear()


def _intake() -> object:
    from workshop_log.jobs import intake

    return intake


class _ConditionChips(QWidget):
    """Words for the conditions, to press instead of type."""

    pressed = Signal(str)

    def __init__(self, field: LineField, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        from workshop_log.desktop.flow import FlowLayout

        self._field = field
        flow = FlowLayout(self, spacing=4)
        for words in CONDITIONS:
            chip = QPushButton(words)
            chip.setProperty("part", "quiet")
            chip.setFocusPolicy(Qt.FocusPolicy.TabFocus)
            chip.setAccessibleName(f"Add condition {words}")
            chip.clicked.connect(lambda _=False, w=words: self._add(w))
            flow.addWidget(chip)

    def _add(self, words: str) -> None:
        there = [part.strip() for part in self._field.text().split(",") if part.strip()]
        if words in there:
            there.remove(words)
        else:
            there.append(words)
        self._field.setText(", ".join(there))
        self._field.on_finished()


class _CodeRow(QWidget):
    """One fault code with what its structure says."""

    def __init__(self, code: FaultCode, words: str, page: IntakePage) -> None:
        super().__init__()
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        state = f", {code.state}" if code.state else ""
        row.addWidget(label(f"{code.code}{state}: {words}"), 1)
        remove = QPushButton("Remove")
        remove.setProperty("part", "quiet")
        remove.setAccessibleName(f"Remove fault code {code.code}")
        remove.clicked.connect(lambda: page.desk.remove("fault_codes", code.code))
        row.addWidget(remove)
