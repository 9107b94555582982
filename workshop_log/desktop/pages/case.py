"""Case: for each part considered, what speaks for it, what being wrong would cost, and the proof after the repair."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Signal, Slot
from PySide6.QtWidgets import QHBoxLayout, QLabel, QLineEdit, QPushButton, QVBoxLayout, QWidget

from workshop_log.desktop import theme
from workshop_log.desktop.desk import now
from workshop_log.desktop.fields import Card, ChoiceField, Form, LineField, TextField, empty, in_tab_order, label
from workshop_log.desktop.pages.page import Page, scrolling
from workshop_log.desktop.range_glyph import RangeGlyph, has_glyph

if TYPE_CHECKING:
    from workshop_log.exchange.records import Condemned, Job
    from workshop_log.jobs.deciding import Case
    from workshop_log.jobs.evaluation import JudgedReading

RETURNABLE = (("", "not known"), ("yes", "can be returned"), ("no", "cannot be returned"))
# The facts of a case that are written before it is decided.
FACTS = ("finding", "others_cleared", "unproved", "price", "returnable", "fit_minutes", "all_the_same", "what_was_done")


class CasePage(Page):
    """One card for each part condemned or considered."""

    def __init__(self, desk: object, parent: QWidget | None = None) -> None:
        super().__init__(desk, parent)
        self._cards: dict[str, _CaseCard] = {}
        self._steps: tuple[str, ...] = ()
        self.column = QVBoxLayout()
        begin = Card("Consider a part")
        row = QHBoxLayout()
        self.part = QLineEdit()
        self.part.setPlaceholderText("which part: “front brake discs”, “ground strap, engine to body”")
        self.part.setAccessibleName("Part to consider")
        self.part.setMinimumHeight(theme.TARGET_PX)
        self.begin = QPushButton("Consider")
        self.begin.setMinimumHeight(theme.TARGET_PX)
        row.addWidget(self.part, 1)
        row.addWidget(self.begin)
        begin.body.addLayout(row)
        self.why = label("", "faint")
        begin.body.addWidget(self.why)
        self.cases = QVBoxLayout()
        self.cases.setSpacing(14)
        self.column.addWidget(begin)
        self.column.addLayout(self.cases)
        open_ends = Card("What was not tested, and why")
        self.open_ends = self.register(Form())
        self.open_ends.add_field("One sentence in each line; it is printed", TextField("not_tested", lines=3),
                                 "The rear lamps were not tested: not part of the complaint.")
        open_ends.body.addWidget(self.open_ends)
        self.column.addWidget(open_ends)
        outer = QVBoxLayout(self)
        outer.setContentsMargins(0, 0, 0, 0)
        outer.addWidget(scrolling((self.column,), (1,)))
        self.begin.clicked.connect(self.on_begin)
        self.part.returnPressed.connect(self.on_begin)

    def consider_step(self, step_id: str) -> None:
        """Begin a case that rests on the step `step_id`."""
        self._steps = (step_id,)
        self._say_why()
        self.part.setFocus()

    def _say_why(self) -> None:
        self.why.setText(f"Rests on step {', '.join(self._steps)}; every reading outside its range is listed as well."
                         if self._steps else "Every reading outside its range is listed as speaking for it.")

    def show_job(self, job: Job | None) -> None:
        """Show the cases; a card keeps what is being typed into it."""
        if job is None:
            return
        from workshop_log.jobs.deciding import case_of, current_cases
        from workshop_log.jobs.intake import text_at

        self._say_why()
        # What was condemned comes first, what was let off last.
        rank = {"replace": 0, "repair": 0, "considered": 1, "let off": 2}
        current = sorted(current_cases(job), key=lambda condemned: rank[condemned.decision])
        for key in [k for k in self._cards if k not in {_root(job, c) for c in current}]:
            card = self._cards.pop(key)
            card.hide()
            card.deleteLater()
        for condemned in current:
            root = _root(job, condemned)
            case = case_of(job, self.desk.evaluation, condemned, self.desk.settings)
            card = self._cards.get(root)
            is_new = card is None or card.number != job.number
            if card is None or card.number != job.number:
                if card is not None:
                    card.deleteLater()
                card = self._cards[root] = _CaseCard(self.desk, job.number, root)
            self.cases.addWidget(card)
            card.show_case(job, case)
            if is_new:
                in_tab_order(self.open_ends.fields["not_tested"], [card])
        self.open_ends.fields["not_tested"].show_value(text_at(job, "not_tested"))

    def hand_over(self) -> None:
        """Save what is being typed into any card."""
        super().hand_over()
        for card in self._cards.values():
            card.hand_over()

    def first_focus(self) -> QWidget:
        """Begin with the part to consider, unless a case is open."""
        return next(iter(self._cards.values())).first_field() if self._cards and not self._steps else self.part

    @Slot()
    def on_begin(self) -> None:
        """Consider the named part."""
        from workshop_log.jobs.deciding import consider

        if self.part.text().strip() and self.desk.do(consider, self.part.text().strip(), self._steps, now()):
            self._steps = ()
            self.part.clear()
            self._say_why()


def _root(job: Job, condemned: Condemned) -> str:
    """Return the id of the first entry of this case, which stays while later entries replace it."""
    by_id = {c.id: c for c in job.condemned}
    while condemned.replaces in by_id:
        condemned = by_id[condemned.replaces]
    return condemned.id


class _CaseCard(Card):
    """One part: what speaks for it, what does not, the decision, and the proof after the repair."""

    decided = Signal()

    def __init__(self, desk: object, number: str, root: str) -> None:
        super().__init__(" ")
        self.desk, self.number, self.root = desk, number, root
        self._case: Case | None = None
        self.state = label("", "faint")
        self.head.addWidget(self.state)
        columns = QHBoxLayout()
        columns.setSpacing(22)
        left, right = QVBoxLayout(), QVBoxLayout()
        columns.addLayout(left, 3)
        columns.addLayout(right, 2)
        self.body.addLayout(columns)

        left.addWidget(label("What speaks for it", "faint"))
        self.evidence = QVBoxLayout()
        self.evidence.setSpacing(4)
        left.addLayout(self.evidence)
        self.form = Form()
        self.form.edited.connect(self.on_edited)
        self.form.add_field(
            "&Finding, as it could be read aloud to the customer", TextField("finding", lines=3), span=2
        )
        self.form.add_field("What every &other cause was cleared by", TextField("others_cleared", lines=3), span=2)
        self.form.add_field("What is still &unproved", TextField("unproved", lines=2), span=2)
        left.addWidget(self.form)
        left.addStretch(1)

        right.addWidget(label("What being wrong would cost", "faint"))
        self.cost = label("", "figure")
        self.cost_words = label("", "faint")
        right.addWidget(self.cost)
        right.addWidget(self.cost_words)
        self.doubts = label("", "")
        right.addWidget(self.doubts)
        self.money = Form()
        self.money.edited.connect(self.on_edited)
        self.money.add_field("Price", LineField("price"), "without tax")
        self.money.add_field("Fitting, minutes", LineField("fit_minutes"), "45", column=1, same_row=True)
        self.money.add_field("The part", ChoiceField("returnable", RETURNABLE), span=2)
        self.money.add_field("Condemned all the same because", LineField("all_the_same"),
                             "your own reason; it is printed", span=2)
        right.addWidget(self.money)
        buttons = QHBoxLayout()
        self.replace = QPushButton("Condemn: replace")
        self.replace.setProperty("part", "main")
        self.repair = QPushButton("Condemn: repair")
        self.let_off = QPushButton("Let it off")
        for button in (self.replace, self.repair, self.let_off):
            button.setMinimumHeight(theme.TARGET_PX)
            buttons.addWidget(button)
        right.addLayout(buttons)

        self.after = QWidget()
        after = QVBoxLayout(self.after)
        after.setContentsMargins(0, 6, 0, 0)
        self.after_form = Form()
        self.after_form.edited.connect(self.on_edited)
        self.after_form.add_field("What was &done", TextField("what_was_done", lines=2))
        after.addWidget(self.after_form)
        self.repaired = QPushButton("The repair is done")
        self.repaired.setMinimumHeight(theme.TARGET_PX)
        after.addWidget(self.repaired)
        self.proof = QVBoxLayout()
        after.addLayout(self.proof)
        judge = QHBoxLayout()
        self.was_it = label("Was it the cause?", "")
        self.yes, self.no = QPushButton("Yes"), QPushButton("No")
        for button in (self.yes, self.no):
            button.setMinimumHeight(theme.TARGET_PX)
            button.setCheckable(True)
        judge.addWidget(self.was_it, 1)
        judge.addWidget(self.yes)
        judge.addWidget(self.no)
        after.addLayout(judge)
        right.addWidget(self.after)
        right.addStretch(1)

        self.replace.clicked.connect(lambda: self.decide("replace"))
        self.repair.clicked.connect(lambda: self.decide("repair"))
        self.let_off.clicked.connect(lambda: self.decide("let off"))
        self.repaired.clicked.connect(self.on_repaired)
        self.yes.clicked.connect(lambda: self.judge(True))
        self.no.clicked.connect(lambda: self.judge(False))

    def first_field(self) -> QWidget:
        """Return the field to begin with."""
        return self.form.fields["finding"]

    @property
    def _fields(self) -> dict[str, object]:
        return {**self.form.fields, **self.money.fields, **self.after_form.fields}

    # --- showing -----------------------------------------------------------------------------------------------------

    def show_case(self, job: Job, case: Case) -> None:
        """Show the case as it stands."""
        from workshop_log.jobs.labels import DECISIONS
        from workshop_log.jobs.money import show_money

        self._case = case
        condemned = case.condemned
        self.heading.setText(condemned.part)
        self.heading.show()
        self.state.setText(_state_words(condemned, DECISIONS[condemned.decision]))
        drafts = self._drafts()
        for name, field in self._fields.items():
            field.show_value(drafts.get(name, _fact_text(condemned, name)))
        self._show_evidence(job, case)
        known = case.cost.is_known
        self.cost.setText(show_money(case.cost.total, job.workshop.currency) if known else "not known yet")
        self.cost_words.setText(case.cost.words)
        self.doubts.setVisible(bool(case.doubts))
        self.doubts.setText("\n".join(f"·  {doubt}" for doubt in case.doubts))
        undecided = condemned.decision == "considered"
        self.replace.setEnabled(condemned.repaired is None)
        self.repair.setEnabled(condemned.repaired is None)
        self.let_off.setEnabled(condemned.repaired is None)
        self.after.setVisible(not undecided and condemned.decision != "let off")
        self.repaired.setVisible(condemned.repaired is None)
        self._show_proof(job, condemned)
        self.yes.setChecked(condemned.was_the_cause is True)
        self.no.setChecked(condemned.was_the_cause is False)
        for widget in (self.was_it, self.yes, self.no):
            widget.setVisible(condemned.repaired is not None)

    def _show_evidence(self, job: Job, case: Case) -> None:
        from workshop_log.jobs.labels import step_title

        empty(self.evidence)
        for reading in case.speaks_for:
            self.evidence.addWidget(reading_row(reading, job))
        for remark in case.remarks:
            self.evidence.addWidget(label(f"{remark.step.id}  {step_title(remark.step, job)}: {remark.words}"))
        if not case.speaks_for and not case.remarks:
            part = "faint" if case.condemned.decision == "let off" else "problem"
            self.evidence.addWidget(label("Nothing: no reading is outside its expected range.", part))
        if case.speaks_against:
            self.evidence.addWidget(label("What speaks against it", "faint"))
        for told in case.speaks_against:
            if has_glyph(told):
                self.evidence.addWidget(reading_row(told, job))
            else:
                self.evidence.addWidget(label(f"{told.step.id}  {step_title(told.step, job)}: {told.words}"))

    def _show_proof(self, job: Job, condemned: Condemned) -> None:
        empty(self.proof)
        if condemned.repaired is None:
            return
        from workshop_log.jobs.deciding import before_and_after

        pairs = before_and_after(job, self.desk.evaluation)
        self.proof.addWidget(label("Before and after the repair", "faint"))
        for pair in pairs:
            self.proof.addWidget(label(pair.words))
            # A look or a movement test has no range to draw.
            if has_glyph(pair.before) and has_glyph(pair.after):
                row = QWidget()
                line = QHBoxLayout(row)
                line.setContentsMargins(0, 0, 0, 0)
                line.addWidget(RangeGlyph(pair.before))
                line.addWidget(QLabel("→"))
                line.addWidget(RangeGlyph(pair.after))
                line.addStretch(1)
                self.proof.addWidget(row)
        if not pairs:
            self.proof.addWidget(
                label(
                    "The tests that failed are to be made again: on the Testing page, choose the step "
                    "and press “Again after the repair”.",
                    "problem",
                )
            )

    # --- what the person does ----------------------------------------------------------------------------------------

    def _key(self, name: str) -> str:
        return f"{self.number}/case {self.root}/{name}"

    def _drafts(self) -> dict[str, str]:
        from workshop_log.book.drafts import drafts

        with self.desk.book.read() as session:
            kept = drafts(session, f"{self.number}/case {self.root}/")
        return {name: kept[self._key(name)] for name in FACTS if self._key(name) in kept}

    @Slot(str, str)
    def on_edited(self, name: str, text: str) -> None:
        """Keep the fact until the case is decided; only a decision is an entry of the record."""
        from workshop_log.book.drafts import save_draft

        def keep() -> None:
            with self.desk.book.session() as session:
                save_draft(session, self._key(name), text)

        self.desk.attempt(keep)
        from workshop_log.jobs.deciding import FactError, check_fact

        try:
            check_fact(name, text, self.desk.job.workshop.currency)
            problem = ""
        except FactError as error:
            problem = error.reason
        for form in (self.form, self.money, self.after_form):
            form.show_note(name, problem, problem=True)

    def hand_over(self) -> None:
        """Save what is being typed."""
        for form in (self.form, self.money, self.after_form):
            form.hand_over()

    def _facts(self) -> dict[str, str]:
        self.hand_over()
        facts = {}
        for name, field in self._fields.items():
            facts[name] = field.currentData() if isinstance(field, ChoiceField) else (
                field.toPlainText() if isinstance(field, TextField) else field.text())
        return facts

    def _forget_drafts(self) -> None:
        from workshop_log.book.drafts import clear_draft

        with self.desk.book.session() as session:
            for name in FACTS:
                clear_draft(session, self._key(name))

    def decide(self, decision: str) -> None:
        """Record the decision with what is written on the card."""
        from workshop_log.jobs.deciding import decide

        facts = self._facts()
        facts.pop("what_was_done")
        if self.desk.do(decide, self._case.condemned.id, decision, facts, now()):
            self._forget_drafts()

    @Slot()
    def on_repaired(self) -> None:
        """Record that the repair is done."""
        from workshop_log.jobs.deciding import record_repair

        if self.desk.do(record_repair, self._case.condemned.id, self._facts()["what_was_done"], now()):
            self._forget_drafts()

    def judge(self, was_the_cause: bool) -> None:
        """Record whether the part was the cause."""
        from workshop_log.jobs.deciding import judge_repair

        self.desk.do(judge_repair, self._case.condemned.id, was_the_cause, now())


def reading_row(reading: JudgedReading, job: Job) -> QWidget:
    """Return one reading with its glyph and words in a line."""
    from workshop_log.jobs.labels import setup_words, step_title
    from workshop_log.measuring.entry import show_entry

    row = QWidget()
    line = QHBoxLayout(row)
    line.setContentsMargins(0, 0, 0, 0)
    line.addWidget(RangeGlyph(reading))
    condition = f", {setup_words(reading.step, job)}" if reading.step.setup else ""
    line.addWidget(label(f"{reading.step.id}  {step_title(reading.step, job)}{condition}: {show_entry(reading.entry)}, "
                         f"expected {reading.expected.words()}"), 1)
    return row


def _state_words(condemned: Condemned, decision: str) -> str:
    """Return how far a case has come."""
    if condemned.repaired is None:
        return decision
    proved = {True: ", was the cause", False: ", was not the cause", None: ""}[condemned.was_the_cause]
    return f"repaired {condemned.repaired.astimezone():%d %b}{proved}"


def _fact_text(condemned: Condemned, name: str) -> str:
    value = getattr(condemned, name)
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:g}" if isinstance(value, float) else str(value)
